#include "desk/release.h"

#include <tallystone/base/file.h>
#include <tallystone/base/text.h>
#include <tallystone/book/audit.h>

#include <string.h>

/* `check`: every fault of the books and of all sheets in one run; changes nothing. */

/* A file that studio.csv names, which papers open only when they are made. */
static ts_status look_for(const ts_request *request, const ts_book *book, const char *field,
                          size_t most, ts_date day)
{
    static const char png[] = "\x89PNG\r\n\x1a\n";
    const ts_studio_row *row = ts_book_studio_row(book, field, day);
    char *bytes = NULL;
    size_t length = 0;

    if (row == NULL) {
        return TS_OK;
    }
    const ts_place place = ts_book_place(book, request->arena, &row->head, "value");
    const ts_status status = ts_file_read_beside(&bytes, &length, request->arena, book->folder,
                                                 row->value, most, &place, request->diag);
    if (status == TS_OK && strcmp(field, "logo") == 0 &&
        (length < sizeof png - 1 || memcmp(bytes, png, sizeof png - 1) != 0)) {
        ts_diag_add(request->diag, TS_FAULT_NOT_A_FILE, &place,
                    "the logo \"%s\" is no PNG, which papers take",
                    ts_text_show(request->arena, row->value, 60));
    }
    return status;
}

ts_status ts_errand_check(const ts_request *request)
{
    const ts_book *book = NULL;
    ts_status status = ts_book_load(&book, request->arena, request->books, request->diag);
    if (status == TS_OK) {
        ts_date day = ts_date_given(request->as_of) ? request->as_of : ts_date_today();
        ts_book_audit(book, day, request->arena, request->diag);
        ts_limits_audit(book, day, request->arena, request->diag);
        status = look_for(request, book, "logo", TS_LOGO_MOST_BYTES, day);
        status =
            ts_status_worse(status, look_for(request, book, "terms", TS_TERMS_MOST_BYTES, day));
    }
    for (int i = 0; i < request->operand_count; i++) {
        ts_commission_run run;
        ts_arena *arena = ts_arena_beside(request->arena);
        ts_status ended = ts_commission_of(&run, arena, request->operands[i], book, request->as_of,
                                           TS_DEPTH_COSTING, request->diag);
        status = ts_status_worse(status, ended);
        ts_arena_free(arena);
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
