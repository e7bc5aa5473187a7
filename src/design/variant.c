#include "design/variant.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* The header of a table of variants: each column becomes a part, a measure and its field,
 * once. Everything that can be said of a column is said here, before any row is read; the
 * words are read as in the rows of an option, since both say what replaces what. */

#define MOST_NEAR 256

typedef struct binder {
    ts_variant_columns *out;
    ts_sheet_reader in; /* at the header: a sheet of one row, whose every column is the cell */
    ts_sheet faked;
    ts_arena *arena;
    ts_diag *diag;
} binder;

static ts_place place_of(const binder *b)
{
    return ts_sheet_place(&b->faked, b->arena, b->in.row, TS_COLUMN_MEASURE);
}

/* ---- parts ---- */

/* The part's number, a new one where the sheet has none such; -1 beyond the limit. */
static int part_number(const binder *b, ts_part_named part)
{
    ts_sheet *sheet = &b->out->sheet;
    const int found = ts_sheet_part_find(sheet, part.kind, part.name);

    if (found >= 0 || sheet->part_count == TS_MOST_PARTS) {
        return found;
    }
    sheet->parts[sheet->part_count] = (ts_sheet_part){part.kind, part.name};
    return (int)sheet->part_count++;
}

static void add_no_part(const binder *b, ts_part_named part)
{
    const ts_place place = place_of(b);
    const char *title = ts_title_of(b->arena, part.kind, part.name);

    ts_diag_add(b->diag, TS_FAULT_NAME_UNKNOWN, &place, "the sheet has no part \"%s\" to leave out",
                ts_sheet_shown(b->arena, title));
    ts_sheet_suggest(&b->out->sheet, b->arena, title, b->diag);
}

/* A heading without a slash whose first word is no kind of part. */
static void add_unknown(const binder *b, const char *heading)
{
    const ts_place place = place_of(b);
    const ts_sheet *sheet = &b->out->sheet;

    ts_diag_add(b->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                "\"%s\" is no column of variants; `variant`, PART/MEASURE such as ring/alloy, and "
                "PART are",
                ts_sheet_shown(b->arena, heading));
    for (size_t i = 0; i < b->out->own_parts; i++) {
        const int position = ts_field_find(sheet->parts[i].kind, ts_claw_words(b->arena, heading));

        if (position >= 0 && sheet->layers[0].parts[i]->measures[position] != NULL) {
            ts_diag_hint(b->diag, "did you mean \"%s/%s\"?",
                         ts_title_shown(b->arena, sheet->parts[i].kind, sheet->parts[i].name),
                         ts_sheet_shown(b->arena, heading));
            return;
        }
    }
    static const char *const known[] = {"variant"};
    if (ts_nearest(heading, known, 1) == 0) {
        ts_diag_hint(b->diag, "did you mean \"variant\"?");
    } else {
        ts_sheet_suggest(sheet, b->arena, heading, b->diag);
    }
}

/* ---- columns ---- */

bool ts_row_is_station(const ts_sheet_row *row)
{
    return row->what == TS_ROW_WIDTH || row->what == TS_ROW_THICKNESS ||
           row->what == TS_ROW_PROFILE;
}

static const ts_sheet_row *own_row(const binder *b, const ts_variant_column *column)
{
    const ts_part_rows *own = b->out->sheet.layers[0].parts[column->part];

    if (own == NULL || column->row.what == TS_ROW_DROP) {
        return NULL;
    }
    if (column->row.what == TS_ROW_MEASURE) {
        return own->measures[column->row.position];
    }
    for (size_t i = 0; i < own->station_count; i++) {
        if (own->stations[i]->what == column->row.what &&
            own->stations[i]->angle.e6 == column->row.angle.e6) {
            return own->stations[i];
        }
    }
    return NULL;
}

static void set_field(const binder *b, ts_variant_column *column, ts_part_kind kind)
{
    size_t count = 0;
    const ts_sheet_row *own = own_row(b, column);

    if (column->row.what == TS_ROW_MEASURE) {
        column->field = ts_part_fields(kind, &count)[column->row.position];
    } else if (column->row.what == TS_ROW_LABEL) {
        column->field = *ts_label_field();
    } else if (ts_row_is_station(&column->row)) {
        column->field = ts_station_field(b->arena, &column->row);
    }
    column->unit = own == NULL ? "" : own->unit;
}

/* A column before this one that gives the same measure. */
static bool stands_already(const binder *b, const ts_variant_column *column)
{
    for (const ts_variant_column *other = b->out->columns; other < column; other++) {
        if (other->row.what == column->row.what && other->row.what != TS_ROW_NONE &&
            other->part == column->part && other->row.position == column->row.position &&
            other->row.angle.e6 == column->row.angle.e6) {
            return true;
        }
    }
    return false;
}

static void finish_column(binder *b, ts_variant_column *column, ts_part_named part)
{
    const ts_place place = place_of(b);

    column->part = part_number(b, part);
    if (column->part < 0) {
        ts_diag_add(b->diag, TS_FAULT_TOO_LARGE, &place, "a sheet has at most %d parts",
                    TS_MOST_PARTS);
        return;
    }
    if (stands_already(b, column)) {
        ts_diag_add(b->diag, TS_FAULT_COLUMN_TWICE, &place,
                    "the column `%s` stands twice; keep one", column->heading);
        return;
    }
    set_field(b, column, part.kind);
}

static void bind_measure(binder *b, ts_variant_column *column, const char *heading,
                         const char *slash)
{
    const char *left =
        ts_text_fold(b->arena, ts_arena_copy(b->arena, heading, (size_t)(slash - heading)));
    const char *right = ts_text_fold(b->arena, slash + 1);

    if (*left == '\0' || *right == '\0') {
        const ts_place place = place_of(b);

        ts_diag_add(b->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                    "\"%s\" is half of PART/MEASURE; both are expected, such as ring/alloy",
                    column->heading);
        return;
    }
    const ts_part_named part = ts_part_named_read(&b->in, left, TS_COLUMN_MEASURE, false);
    if (part.kind == TS_PART_NONE || !ts_measure_read(&b->in, &column->row, part, right) ||
        part.doubtful) {
        return;
    }
    finish_column(b, column, part);
}

static void bind_part(binder *b, ts_variant_column *column, const char *heading)
{
    const char *blank = strchr(heading, ' ');
    const size_t length = blank == NULL ? strlen(heading) : (size_t)(blank - heading);

    if (ts_part_find(ts_arena_copy(b->arena, heading, length)) == TS_PART_NONE) {
        add_unknown(b, heading);
        return;
    }
    const ts_part_named part = ts_part_named_read(&b->in, heading, TS_COLUMN_MEASURE, false);
    if (part.doubtful) {
        return;
    }
    const int number = ts_sheet_part_find(&b->out->sheet, part.kind, part.name);
    if (number < 0 || (size_t)number >= b->out->own_parts) {
        add_no_part(b, part);
        return;
    }
    if (part.kind == TS_PART_COMMISSION) {
        const ts_place place = place_of(b);

        ts_diag_add(b->diag, TS_FAULT_OPTION_ROW, &place,
                    "a variant can't leave the commission out");
        return;
    }
    column->row.what = TS_ROW_DROP;
    finish_column(b, column, part);
}

static void bind_column(binder *b, size_t cell)
{
    ts_variant_column *column = &b->out->columns[cell];
    const char *heading = ts_text_fold(b->arena, b->out->header->rows[0].cells[cell]);
    const char *slash = strrchr(heading, '/');

    for (int i = 0; i < TS_COLUMN_COUNT; i++) {
        b->faked.columns[i] = (int)cell;
    }
    *column = (ts_variant_column){.heading = ts_sheet_shown(b->arena, heading),
                                  .row = {.layer = TS_VARIANT_LAYER},
                                  .unit = ""};
    if (*heading == '\0') {
        return; /* its cells must be empty: judged row by row */
    }
    if (strcmp(heading, "variant") == 0) {
        if (b->out->name_cell < b->out->count) {
            const ts_place place = place_of(b);

            ts_diag_add(b->diag, TS_FAULT_COLUMN_TWICE, &place,
                        "the column `variant` stands twice; keep one");
        }
        b->out->name_cell = cell;
    } else if (slash != NULL) {
        bind_measure(b, column, heading, slash);
    } else {
        bind_part(b, column, heading);
    }
}

/* ---- after all columns ---- */

/* Parts that only the columns have: whole, or most likely a slip in a name. */
static void judge_new_parts(binder *b)
{
    const ts_sheet *sheet = &b->out->sheet;

    for (size_t number = b->out->own_parts; number < sheet->part_count; number++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields(sheet->parts[number].kind, &count);
        const char *missing = "";
        bool given[TS_PART_FIELDS] = {false};

        for (size_t i = b->out->count; i-- > 0;) {
            const ts_variant_column *column = &b->out->columns[i];

            if (column->row.what != TS_ROW_NONE && column->part == (int)number) {
                b->faked.columns[TS_COLUMN_MEASURE] = (int)i;
                given[column->row.position] =
                    given[column->row.position] || column->row.what == TS_ROW_MEASURE;
            }
        }
        for (size_t i = 0; i < count; i++) {
            if (fields[i].need == TS_NEED_YES && !given[i]) {
                missing = ts_text_joined(b->arena, missing, ", ", fields[i].word);
            }
        }
        if (*missing == '\0') {
            continue;
        }
        const ts_place place = place_of(b);
        const char *title =
            ts_title_of(b->arena, sheet->parts[number].kind, sheet->parts[number].name);
        ts_diag_add(b->diag, TS_FAULT_NAME_UNKNOWN, &place,
                    "the sheet has no part \"%s\", and as a new one it lacks %s",
                    ts_sheet_shown(b->arena, title), missing);
        ts_sheet_suggest(sheet, b->arena, title, b->diag);
    }
}

static void judge_name(const binder *b)
{
    if (b->out->name_cell == b->out->count) {
        const ts_place place = ts_csv_place(b->out->header, b->arena, b->in.row, -1);

        ts_diag_add(b->diag, TS_FAULT_COLUMN_MISSING, &place,
                    "the column `variant` is missing; the header is variant and what is replaced, "
                    "such as variant,ring/alloy,shank/width top");
    }
}

ts_status ts_variant_columns_of(const ts_variant_columns **out, ts_arena *arena,
                                const ts_sheet *sheet, const ts_csv *header, ts_diag *diag)
{
    const size_t mark = ts_diag_mark(diag);
    ts_variant_columns *columns = TS_NEW(arena, ts_variant_columns);
    binder *b = TS_NEW(arena, binder);

    columns->sheet = *sheet;
    columns->sheet.variants = header;
    columns->sheet.parts = TS_ARRAY(arena, ts_sheet_part, TS_MOST_PARTS);
    memcpy(columns->sheet.parts, sheet->parts, sheet->part_count * sizeof *sheet->parts);
    columns->own_parts = sheet->part_count;
    columns->header = header;
    columns->count = (size_t)header->rows[0].count;
    columns->name_cell = columns->count;
    columns->columns = TS_ARRAY(arena, ts_variant_column, columns->count + 1);
    *b = (binder){.out = columns, .arena = arena, .diag = diag};
    b->faked.csv = *header;
    b->in = (ts_sheet_reader){
        .sheet = &b->faked, .arena = arena, .diag = diag, .row = &header->rows[0]};
    for (size_t cell = 0; cell < columns->count; cell++) {
        bind_column(b, cell);
    }
    judge_name(b);
    judge_new_parts(b);
    ts_variant_mark_band(columns);
    *out = columns;
    return ts_diag_errors_since(diag, mark) > 0 ? TS_FAULTY : TS_OK;
}

bool ts_variant_gives(const ts_variant_columns *columns, const ts_variant_column *column,
                      ts_field_id field)
{
    return column->row.what == TS_ROW_MEASURE &&
           columns->sheet.parts[column->part].kind == ts_field_part(field) &&
           column->row.position == ts_field_position(field);
}

bool ts_variant_gives_one(const ts_variant_columns *columns, const ts_variant_column *column,
                          const ts_field_id *fields, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (ts_variant_gives(columns, column, fields[i])) {
            return true;
        }
    }
    return false;
}

size_t ts_variant_name_cell(const ts_variant_columns *columns)
{
    return columns->name_cell;
}

size_t ts_variant_cells(const ts_variant_columns *columns)
{
    return columns->count;
}
