#include "desk/commission.h"

/* `quantities`: the ring in numbers, of the sheet itself or of one option. */

static void say_cautions(const ts_request *request, const ts_quantities *quantities)
{
    for (int i = 0; i < quantities->caution_count; i++) {
        fprintf(request->result, "%scaution: %s\n", i == 0 ? "\n" : "",
                quantities->cautions[i].sentence);
    }
}

ts_status ts_errand_quantities(const ts_request *request)
{
    const ts_book *book = NULL;
    ts_commission_run run;
    ts_status status = ts_book_load(&book, request->arena, request->books, request->diag);
    ts_status ended =
        ts_commission_of(&run, request->arena, request->operands[0], status == TS_OK ? book : NULL,
                         request->as_of, TS_DEPTH_QUANTITIES, request->diag);
    status = ts_status_worse(status, ended);
    if (status != TS_OK) {
        return status;
    }
    int option = ts_commission_option(request, &run);
    if (option < 0) {
        return TS_FAULTY;
    }
    const ts_quantities *quantities = run.options[option].quantities;
    ts_table *table = ts_quantities_table(request->arena, quantities);
    if (request->csv) {
        ts_table_csv(table, request->result, true);
        return TS_OK;
    }
    ts_table_print(table, request->result, &request->screen);
    say_cautions(request, quantities);
    return TS_OK;
}
