#include "desk/again.h"

#include <string.h>

/* What `--reproduce` and `export` share: sheet, books and meshes come from the register, so that
 * the same program gives the same figures whatever has become of the files since. */

static void take_files(ts_commission_run *run, ts_book_text *texts, const ts_kept_file *files,
                       size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(files[i].role, "sheet") == 0) {
            run->text = files[i].bytes;
            run->length = files[i].length;
        }
        for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
            if (strcmp(files[i].role, "book") == 0 &&
                strcmp(files[i].name, ts_book_file_name((ts_book_file)file)) == 0) {
                texts[file] = (ts_book_text){files[i].bytes, files[i].length};
            }
        }
    }
}

ts_status ts_commission_again(ts_commission_run *run, ts_arena *arena, const ts_quote *quote,
                              const ts_kept_file *files, size_t count, ts_diag *diag)
{
    const ts_book *book = NULL;
    ts_book_text texts[TS_BOOK_FILE_COUNT] = {{NULL, 0}};
    *run = (ts_commission_run){.path = quote->sheet, .kept = files, .kept_count = count};
    take_files(run, texts, files, count);
    ts_status status = ts_book_parse(&book, arena, "the register", texts, diag);
    if (status == TS_OK && run->text != NULL) {
        status = ts_commission_run_on(run, arena, book, quote->as_of, TS_DEPTH_COSTING, diag);
    }
    return run->text == NULL ? TS_FAULTY : status;
}
