/* Any bytes as a table of variants over a demo sheet: header, then row after row, each through
 * every room. A row is priced or says why not, and no row hurts the next. */
#include "hold.h"

#include <stdlib.h>
#include <string.h>

#include <tallystone/base/csvlines.h>
#include <tallystone/design/variant.h>

#define ROWS 20
#define MOST_LINE 4096

static const ts_sheet *base_sheet(void)
{
    static ts_sheet *sheet;
    static ts_arena *arena;
    if (sheet == NULL) {
        arena = ts_arena_new(NULL, NULL);
        hold(ts_sheet_read(&sheet, arena, "demo/halo.csv", ts_diag_new(arena)) == TS_OK);
    }
    return sheet;
}

static ts_status price(ts_variant *variant, ts_arena *scratch, const char *const *cells,
                       ts_diag *diag)
{
    ts_design *design = NULL;
    ts_status status =
        ts_variant_design(&design, variant, scratch, cells, hold_books(), TS_DATE_NONE, diag);
    return status == TS_OK ? hold_price(scratch, design, ts_quantities_bare_of, diag) : status;
}

static void take_row(const ts_variant_columns *columns, ts_variant *variant, char *line,
                     char separator)
{
    ts_csv_record record;
    const size_t cells = ts_variant_cells(columns);
    const ts_record_kind kind = ts_csv_record_read(&record, line, strlen(line), separator);
    if (kind != TS_RECORD_ROW || record.filled > cells) {
        return;
    }
    for (size_t i = record.count; i < cells; i++) {
        record.cells[i] = "";
    }
    ts_arena *scratch = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(scratch);
    const ts_status status = price(variant, scratch, record.cells, diag);
    hold(status == TS_OK || status == TS_FAULTY);
    hold_said(status, diag);
    ts_arena_free(scratch);
}

static void take_rows(const ts_csv *head, const ts_variant_columns *columns, ts_arena *arena,
                      const char *text, size_t length)
{
    ts_variant *variant = ts_variant_new(arena, columns);
    char line[MOST_LINE];
    size_t at = 0;
    for (int row = 0; row < ROWS && at < length; row++) {
        const char *feed = memchr(text + at, '\n', length - at);
        const size_t stop = feed == NULL ? length : (size_t)(feed - text);
        if (stop - at < sizeof line && memchr(text + at, '\0', stop - at) == NULL) {
            memcpy(line, text + at, stop - at);
            line[stop - at] = '\0';
            take_row(columns, variant, line, head->separator);
        }
        at = stop + 1;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    static const char *const known[] = {"variant"};
    const char *text = (const char *)bytes;
    const char *feed = length == 0 ? NULL : memchr(text, '\n', length);
    const size_t first = feed == NULL ? length : (size_t)(feed - text) + 1;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    const ts_variant_columns *columns = NULL;
    ts_csv head;
    ts_status status = ts_csv_parse(&head, arena, "fuzz.csv", text, first, known, 1, diag);
    if (status == TS_OK && head.count > 0) {
        status = ts_variant_columns_of(&columns, arena, base_sheet(), &head, diag);
        if (status == TS_OK) {
            take_rows(&head, columns, arena, text + first, length - first);
        }
    }
    hold_said(status, diag);
    ts_arena_free(arena);
    return 0;
}
