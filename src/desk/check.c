#include "desk/release.h"

#include <tallystone/book/audit.h>

/* `check`: every fault of the books and of all sheets in one run; changes nothing. */

ts_status ts_errand_check(const ts_request *request)
{
    const ts_book *book = NULL;
    ts_status status = ts_book_load(&book, request->arena, request->books, request->diag);
    if (status == TS_OK) {
        ts_date day = ts_date_given(request->as_of) ? request->as_of : ts_date_today();
        ts_book_audit(book, day, request->arena, request->diag);
        status = ts_release_check(request, book, day);
    }
    for (int i = 0; i < request->operand_count; i++) {
        ts_commission_run run;
        ts_status ended = ts_commission_of(&run, request->arena, request->operands[i], book,
                                           request->as_of, TS_DEPTH_COSTING, request->diag);
        status = ts_status_worse(status, ended);
    }
    size_t errors = ts_diag_errors(request->diag);
    size_t warnings = ts_diag_warnings(request->diag);
    if (errors == 0 && status == TS_OK) {
        fprintf(request->result, "%d sheet%s and the books in %s: no fault", request->operand_count,
                request->operand_count == 1 ? "" : "s", request->books);
        if (warnings > 0) {
            fprintf(request->result, ", %zu warning%s", warnings, warnings == 1 ? "" : "s");
        }
        fputc('\n', request->result);
    }
    return errors > 0 && status == TS_OK ? TS_FAULTY : status;
}
