#include "design/sheet.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <string.h>

/* A sheet is rows of one measurement each, in any order. Here they are sorted by part and
 * measure, the sheet's own in one layer and each option's in another; what a value says is
 * read later, once for each design, because an option may replace it.
 *
 * A row that names nothing known is a fault, and is kept as what it meant most likely, so
 * that a misspelt measure is not also reported as missing. */

#define MOST_SHOWN 48

/* clang-format off */
static const char *const column_words[TS_COLUMN_COUNT] = {
    [TS_COLUMN_PART] = "part",
    [TS_COLUMN_MEASURE] = "measure",
    [TS_COLUMN_VALUE] = "value",
    [TS_COLUMN_UNIT] = "unit",
    [TS_COLUMN_NOTE] = "note",
};
/* clang-format on */

const char *ts_title_of(ts_arena *arena, ts_part_kind kind, const char *name)
{
    const char *word = ts_part_word(kind);

    return *name == '\0' ? word : ts_arena_format(arena, "%s %s", word, name);
}

const char *ts_title_shown(ts_arena *arena, ts_part_kind kind, const char *name)
{
    return ts_text_show(arena, ts_title_of(arena, kind, name), MOST_SHOWN);
}

const char *ts_sheet_shown(ts_arena *arena, const char *text)
{
    return ts_text_show(arena, text, MOST_SHOWN);
}

ts_place ts_sheet_place(const ts_sheet *sheet, ts_arena *arena, const ts_csv_row *row,
                        ts_column column)
{
    return ts_csv_place(&sheet->csv, arena, row, sheet->columns[column]);
}

ts_cell_at ts_sheet_cell_at(const ts_sheet *sheet, const ts_sheet_row *row)
{
    const bool own = sheet->variants == NULL || row->layer != TS_VARIANT_LAYER;

    return (ts_cell_at){
        .csv = own ? &sheet->csv : sheet->variants,
        .row = row->row,
        .value_cell = sheet->columns[TS_COLUMN_VALUE],
        .unit_cell = sheet->columns[TS_COLUMN_UNIT],
    };
}

const char *ts_sheet_cell(const ts_sheet *sheet, const ts_csv_row *row, ts_column column)
{
    const int cell = sheet->columns[column];

    return cell < 0 || cell >= row->count ? "" : row->cells[cell];
}

const char *ts_sheet_file(const ts_sheet *sheet)
{
    return sheet->csv.file;
}

ts_place ts_sheet_place_of_line(const ts_sheet *sheet, ts_arena *arena, int line)
{
    for (size_t i = 0; i < sheet->csv.count; i++) {
        if (sheet->csv.rows[i].line == line) {
            return ts_sheet_place(sheet, arena, &sheet->csv.rows[i], TS_COLUMN_VALUE);
        }
    }
    return (ts_place){.file = sheet->csv.file, .line = line};
}

int ts_sheet_options(const ts_sheet *sheet)
{
    return sheet->layer_count - 1;
}

/* ---- the header ---- */

static bool column_is_empty(const ts_sheet *sheet, int cell)
{
    for (size_t i = 1; i < sheet->csv.count; i++) {
        if (sheet->csv.rows[i].cells[cell][0] != '\0') {
            return false;
        }
    }
    return true;
}

static void read_column(ts_sheet_reader *in, int cell)
{
    ts_sheet *sheet = in->sheet;
    const ts_csv_row *header = &sheet->csv.rows[0];
    const char *word = header->cells[cell];
    const ts_place place = ts_csv_place(&sheet->csv, in->arena, header, cell);

    for (int i = 0; i < TS_COLUMN_COUNT; i++) {
        if (!ts_text_same(word, column_words[i])) {
            continue;
        }
        if (sheet->columns[i] >= 0) {
            ts_diag_add(in->diag, TS_FAULT_COLUMN_TWICE, &place,
                        "the column `%s` stands twice; keep one", column_words[i]);
            return;
        }
        sheet->columns[i] = cell;
        return;
    }
    if (*word == '\0') {
        if (!column_is_empty(sheet, cell)) {
            ts_diag_add(in->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                        "this column has no name; part, measure, value, unit or note is expected");
        }
        return;
    }
    ts_diag_add(in->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                "\"%s\" is no column of a sheet; part, measure, value, unit and note are",
                ts_sheet_shown(in->arena, word));
    const int nearest = ts_nearest(word, column_words, TS_COLUMN_COUNT);
    if (nearest >= 0) {
        ts_diag_hint(in->diag, "did you mean \"%s\"?", column_words[nearest]);
    }
}

/* False where the rows cannot be understood. */
static bool read_header(ts_sheet_reader *in)
{
    ts_sheet *sheet = in->sheet;
    const ts_csv_row *header = &sheet->csv.rows[0];
    bool whole = true;

    for (int i = 0; i < TS_COLUMN_COUNT; i++) {
        sheet->columns[i] = -1;
    }
    for (int cell = 0; cell < header->count; cell++) {
        read_column(in, cell);
    }
    const ts_place place = ts_csv_place(&sheet->csv, in->arena, header, -1);
    for (int i = TS_COLUMN_PART; i <= TS_COLUMN_VALUE; i++) {
        if (sheet->columns[i] < 0) {
            ts_diag_add(in->diag, TS_FAULT_COLUMN_MISSING, &place,
                        "the column `%s` is missing; the header is part,measure,value,unit,note",
                        column_words[i]);
            whole = false;
        }
    }
    return whole;
}

/* ---- rows ---- */

static bool holds_break(const char *text)
{
    return strpbrk(text, "\n\r") != NULL || strstr(text, "\xe2\x80\xa8") != NULL ||
           strstr(text, "\xe2\x80\xa9") != NULL;
}

/* False where a cell that names something holds a line break. */
static bool judge_breaks(const ts_sheet_reader *in)
{
    static const ts_column naming[] = {TS_COLUMN_PART, TS_COLUMN_MEASURE, TS_COLUMN_UNIT};
    bool well = true;

    for (size_t i = 0; i < TS_COUNT_OF(naming); i++) {
        if (holds_break(ts_sheet_cell(in->sheet, in->row, naming[i]))) {
            const ts_place place = ts_sheet_place(in->sheet, in->arena, in->row, naming[i]);

            ts_diag_add(in->diag, TS_FAULT_TEXT, &place,
                        "`%s` holds a line break; one line is expected", column_words[naming[i]]);
            well = false;
        }
    }
    return well;
}

static bool says_nothing(const ts_sheet_reader *in)
{
    for (int i = TS_COLUMN_PART; i <= TS_COLUMN_UNIT; i++) {
        if (*ts_sheet_cell(in->sheet, in->row, (ts_column)i) != '\0') {
            return false;
        }
    }
    return true;
}

static void add_empty(const ts_sheet_reader *in, ts_column column, const char *expected)
{
    const ts_place place = ts_sheet_place(in->sheet, in->arena, in->row, column);

    ts_diag_add(in->diag, TS_FAULT_CELL_EMPTY, &place, "`%s` is empty; %s", column_words[column],
                expected);
}

static void read_measure_row(ts_sheet_reader *in, const char *part)
{
    const char *measure = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_MEASURE);
    const ts_part_named named = ts_part_named_read(in, part, TS_COLUMN_PART, false);
    ts_sheet_row row = {
        .value = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_VALUE),
        .unit = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_UNIT),
        .row = in->row,
        .doubtful = named.doubtful,
    };

    if (*measure == '\0') {
        add_empty(in, TS_COLUMN_MEASURE,
                  "a measure of the part is expected, such as alloy or width top");
        row.doubtful = true;
    } else if (named.kind != TS_PART_NONE &&
               !ts_measure_read(in, &row, named, ts_text_fold(in->arena, measure))) {
        row.doubtful = true;
    }
    if (named.kind != TS_PART_NONE) {
        ts_sheet_keep(in, named, row);
    }
}

static void read_row(ts_sheet_reader *in)
{
    const char *part = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_PART);

    if (*part == '#' || says_nothing(in)) {
        return;
    }
    if (*part == '\0') {
        add_empty(in, TS_COLUMN_PART, "a part is expected, such as ring or stone centre");
        return;
    }
    if (!judge_breaks(in)) {
        return;
    }
    if (ts_text_same(part, "option") || ts_text_after_word(part, "option") != NULL) {
        ts_option_row_read(in, ts_text_after_word(part, "option"));
        return;
    }
    read_measure_row(in, part);
}

static ts_status read_sheet(ts_sheet **out, ts_arena *arena, ts_sheet *sheet, ts_diag *diag)
{
    ts_sheet_reader in = {.sheet = sheet, .arena = arena, .diag = diag};
    const size_t mark = ts_diag_mark(diag);

    if (sheet->csv.count == 0 || !read_header(&in)) {
        return TS_FAULTY;
    }
    sheet->layers[0].name = "base";
    sheet->layers[0].parts = TS_ARRAY(arena, ts_part_rows *, TS_MOST_PARTS);
    sheet->layer_count = 1;
    for (size_t i = 1; i < sheet->csv.count; i++) {
        in.row = &sheet->csv.rows[i];
        read_row(&in);
    }
    ts_options_judge(&in);
    sheet->faulty = sheet->faulty || ts_diag_errors_since(diag, mark) > 0;
    *out = sheet;
    return sheet->faulty ? TS_FAULTY : TS_OK;
}

ts_status ts_sheet_read(ts_sheet **out, ts_arena *arena, const char *path, ts_diag *diag)
{
    ts_sheet *sheet = TS_NEW(arena, ts_sheet);
    const ts_status status =
        ts_csv_read(&sheet->csv, arena, path, column_words, TS_COLUMN_COUNT, diag);

    *out = NULL;
    if (status != TS_OK && status != TS_FAULTY) {
        return status;
    }
    sheet->faulty = status != TS_OK;
    return read_sheet(out, arena, sheet, diag);
}

ts_status ts_sheet_parse(ts_sheet **out, ts_arena *arena, const char *name, const char *text,
                         size_t length, ts_diag *diag)
{
    ts_sheet *sheet = TS_NEW(arena, ts_sheet);
    const ts_status status =
        ts_csv_parse(&sheet->csv, arena, name, text, length, column_words, TS_COLUMN_COUNT, diag);

    *out = NULL;
    sheet->faulty = status != TS_OK;
    return read_sheet(out, arena, sheet, diag);
}
