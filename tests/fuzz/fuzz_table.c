/* Any bytes as a CSV table: rows within the stated limits, each with a place that exists; and
 * line by line as a stream is taken apart. */
#include "hold.h"

#include <string.h>

#include <tallystone/base/csvin.h>
#include <tallystone/base/csvlines.h>
#include <tallystone/base/csvout.h>

static const char *const known[] = {"part", "measure", "value", "unit", "note"};

static void hold_rows(const ts_csv *csv, ts_arena *arena)
{
    hold(csv->count <= TS_CSV_MOST_ROWS + 1);
    for (size_t i = 0; i < csv->count; i++) {
        const ts_csv_row *row = &csv->rows[i];
        hold(row->count >= 0 && (unsigned)row->count <= TS_CSV_MOST_CELLS);
        hold(row->raw_at + row->raw_length <= csv->length);
        for (int cell = -1; cell < row->count; cell++) {
            hold(cell < 0 || strlen(row->cells[cell]) <= TS_CSV_MOST_CELL);
            const ts_place at = ts_csv_place(csv, arena, row, cell);
            hold(at.line >= row->line && at.column >= 0 && at.width >= 0);
        }
    }
}

static void read_whole(const char *text, size_t length)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_csv csv;
    const ts_status status = ts_csv_parse(&csv, arena, "fuzz.csv", text, length, known,
                                          sizeof known / sizeof *known, diag);
    hold_said(status, diag);
    if (status == TS_OK) {
        hold_rows(&csv, arena);
    }
    ts_arena_free(arena);
}

/* A cell put out again is read back as it was, formulas and quotation marks included. */
static void hold_cell(const char *cell)
{
    static char line[2 * TS_CSV_MOST_CELL + 16]; /* too large for a small stack */
    ts_csv_record record;
    const size_t length = ts_csv_text_into(line, sizeof line - 1, cell);
    hold(length < sizeof line - 1);
    line[length] = '\0';
    hold(strchr("=+-@", line[line[0] == '"']) == NULL || *cell == '\0');
    if (ts_csv_record_read(&record, line, length, ',') == TS_RECORD_ROW) {
        hold(record.count == 1 && strcmp(record.cells[0], cell) == 0);
    }
}

static void read_lines(const char *text, size_t length)
{
    static char line[TS_CSV_BLOCK + 1];
    ts_csv_record record;
    size_t at = 0;
    while (at < length) {
        const char *feed = memchr(text + at, '\n', length - at);
        const size_t stop = feed == NULL ? length : (size_t)(feed - text);
        if (stop - at < TS_CSV_BLOCK) {
            memcpy(line, text + at, stop - at);
            line[stop - at] = '\0';
            const ts_record_kind kind = ts_csv_record_read(&record, line, stop - at, ',');
            hold((kind == TS_RECORD_BAD) == (record.why != NULL));
            for (size_t i = 0; kind == TS_RECORD_ROW && i < record.count; i++) {
                hold(strlen(record.cells[i]) <= TS_CSV_MOST_CELL);
                hold_cell(record.cells[i]);
            }
        }
        at = stop + 1;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    read_whole((const char *)bytes, length);
    read_lines((const char *)bytes, length);
    return 0;
}
