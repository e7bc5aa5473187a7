/* Any bytes as one of the price books; the first byte says which. The other books are the small
 * good set of the tests: the whole set is used or its faults are said, and what can be used is
 * audited and answers every lookup. */
#include "hold.h"

#include <tallystone/base/file.h>
#include <tallystone/book/audit.h>

/* The small good set; kept for the life of the program. */
static const ts_book_text *good_books(void)
{
    static ts_book_text texts[TS_BOOK_FILE_COUNT];
    static ts_arena *arena;
    if (arena != NULL) {
        return texts;
    }
    arena = ts_arena_new(NULL, NULL);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *path = ts_arena_format(arena, "tests/reference/books/%s",
                                           ts_book_file_name((ts_book_file)file));
        char *text = NULL;
        size_t length = 0;
        const ts_status status =
            ts_file_read(&text, &length, arena, path, TS_CSV_MOST_BYTES, ts_diag_new(arena));
        hold(status == TS_OK || status == TS_MISSING);
        texts[file] = (ts_book_text){status == TS_OK ? text : NULL, length};
    }
    return texts;
}

static void look_up(const ts_book *book, ts_arena *arena, ts_diag *diag)
{
    ts_date on;
    hold(ts_date_read(&on, "2026-11-25"));
    ts_book_audit(book, on, arena, diag);
    (void)ts_book_studio(book, "name", on);
    (void)ts_book_metal(book, (ts_metal_kind)1, on);
    (void)ts_book_alloy(book, "750 yellow", on);
    (void)ts_book_craft(book, "bench", on);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    if (length == 0) {
        return 0;
    }
    ts_book_text texts[TS_BOOK_FILE_COUNT];
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        texts[file] = good_books()[file];
    }
    texts[bytes[0] % TS_BOOK_FILE_COUNT] = (ts_book_text){(const char *)bytes + 1, length - 1};
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    const ts_book *book = NULL;
    const ts_status status = ts_book_parse(&book, arena, "fuzz", texts, diag);
    hold((status == TS_OK) == (book != NULL));
    hold(status == TS_OK || status == TS_FAULTY);
    if (book != NULL) {
        look_up(book, arena, diag);
    }
    hold_said(status, diag);
    ts_arena_free(arena);
    return 0;
}
