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
    ts_commission_run run;
    int option = 0;
    ts_status status = ts_commission_asked(&run, &option, request, TS_DEPTH_QUANTITIES);
    if (status != TS_OK) {
        return status;
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
