#include "design/build.h"

#include <tallystone/base/text.h>

#include "design/tables.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* From a sheet's rows to a design: the layer of an option is laid over the sheet's own, each
 * measure is read into the member that keeps it, defaults go through the same reader, and
 * what is missing is said. Then names are resolved and the rules across measures judged.
 *
 * A measure at fault is marked, so that nothing else is said of it. */

static uint32_t bit_at(int position)
{
    return UINT32_C(1) << position;
}

/* ---- what the stages share ---- */

const char *ts_build_title(const ts_build *b, const ts_part *part)
{
    return ts_title_shown(b->arena, part->kind, part->name);
}

bool ts_build_sound(const ts_part *part, ts_field_id field)
{
    return (part->bad & bit_at(ts_field_position(field))) == 0;
}

bool ts_build_has(const ts_part *part, ts_field_id field)
{
    return ts_part_has(part, field) && ts_build_sound(part, field);
}

void ts_build_spoil(ts_part *part, ts_field_id field)
{
    part->bad |= bit_at(ts_field_position(field));
}

void ts_build_fault(const ts_build *b, ts_fault code, const ts_part *part, ts_field_id field,
                    const char *format, ...)
{
    char sentence[1024];
    const ts_place place = ts_part_place(b->design, b->arena, part, field);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    ts_diag_add(b->diag, code, &place, "%s", sentence);
}

ts_field_id ts_build_later(const ts_part *part, ts_field_id one, ts_field_id other)
{
    const ts_sheet_row *first = part->rows[ts_field_position(one)];
    const ts_sheet_row *second = part->rows[ts_field_position(other)];

    if (first == NULL || second == NULL) {
        return first == NULL ? other : one;
    }
    if (first->layer != second->layer) {
        return first->layer > second->layer ? one : other;
    }
    return first->row->row > second->row->row ? one : other;
}

/* What this option's layer, or the sheet's own (0), says of a part; NULL: nothing. */
static const ts_part_rows *rows_of(const ts_build *b, int layer, ts_part_kind kind,
                                   const char *name)
{
    const int number = ts_sheet_part_find(b->sheet, kind, name);

    return number < 0 ? NULL : b->sheet->layers[layer].parts[number];
}

const ts_sheet_row *ts_build_dropped(const ts_build *b, ts_part_kind kind, const char *name)
{
    const ts_part_rows *rows = b->option == 0 ? NULL : rows_of(b, b->option, kind, name);

    return rows == NULL ? NULL : rows->drop;
}

/* Where a missing measure is said to be: at the option's row that took it out, or at the
 * part's first. */
static ts_place missing_place(const ts_build *b, const ts_part *part, int position)
{
    const ts_part_rows *rows = rows_of(b, b->option, part->kind, part->name);

    if (b->option > 0 && rows != NULL && rows->measures[position] != NULL) {
        return ts_sheet_place(b->sheet, b->arena, rows->measures[position]->row, TS_COLUMN_MEASURE);
    }
    return ts_part_place_any(b->design, b->arena, part);
}

void ts_build_missing(const ts_build *b, const ts_part *part, ts_field_id field, const char *why)
{
    if (ts_part_has(part, field) || !ts_build_sound(part, field)) {
        return;
    }
    const ts_place place = missing_place(b, part, ts_field_position(field));
    ts_diag_add(b->diag, TS_FAULT_MEASURE_MISSING, &place, "%s: \"%s\" is missing%s; %s",
                ts_build_title(b, part), ts_field_of(field)->word, why,
                ts_field_expects(b->arena, ts_field_of(field)));
}

/* ---- values ---- */

bool ts_build_read(const ts_build *b, void *object, const ts_field *field, const ts_sheet_row *row,
                   const char *subject)
{
    const ts_cell_at at = ts_sheet_cell_at(b->sheet, row);
    const char *value = row->value;

    if (field->kind == TS_KIND_WORD) {
        const char *words = ts_claw_words(b->arena, ts_text_fold(b->arena, value));

        value = ts_list_find(field->list, words) != 0 ? words : value;
    }
    return ts_value_read(object, field, value, row->unit, subject, &at, b->arena, b->diag);
}

static void read_default(const ts_build *b, void *object, const ts_field *field)
{
    if (field->kind == TS_KIND_DATE) {
        *(ts_date *)((char *)object + field->offset) = TS_DATE_NONE;
    }
    if (field->dflt[0] != '\0') {
        const bool read =
            ts_value_read(object, field, field->dflt, "", "default", NULL, b->arena, b->diag);
        (void)read; /* a default of the tables that can't be read stands as a fault */
    }
}

static const ts_sheet_row *row_at(const ts_overlay *rows, int position)
{
    const ts_sheet_row *row = rows->own == NULL ? NULL : rows->own->measures[position];

    if (rows->over != NULL && rows->over->measures[position] != NULL) {
        row = rows->over->measures[position];
    }
    return row != NULL && row->takes_out ? NULL : row;
}

static void read_label(const ts_build *b, ts_part *part, const ts_overlay *rows)
{
    const ts_sheet_row *row = rows->own == NULL ? NULL : rows->own->label;

    if (rows->over != NULL && rows->over->label != NULL) {
        row = rows->over->label;
    }
    if (row != NULL && !row->doubtful) {
        const bool read = ts_build_read(b, part, ts_label_field(), row, ts_build_title(b, part));
        (void)read; /* a label at fault is said, and is NULL */
    }
}

static void read_part(const ts_build *b, ts_part *part, const ts_overlay *rows)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(part->kind, &count);
    const char *title = ts_build_title(b, part);

    for (int i = 0; i < (int)count; i++) {
        const ts_sheet_row *row = row_at(rows, i);

        read_default(b, part, &fields[i]);
        if (row == NULL) {
            continue;
        }
        part->rows[i] = row;
        part->given |= bit_at(i);
        if (row->doubtful || !ts_build_read(b, part, &fields[i], row, title)) {
            part->bad |= bit_at(i);
        }
    }
    read_label(b, part, rows);
}

/* ---- missing measures and parts ---- */

/* A part that only the option has and that is not whole: most likely a slip in its name. */
static void judge_new_part(const ts_build *b, ts_part *part, const char *missing)
{
    const ts_place place = ts_part_place_any(b->design, b->arena, part);

    ts_diag_add(b->diag, TS_FAULT_OPTION_ROW, &place,
                "the sheet has no part \"%s\", and as a new one it lacks %s",
                ts_build_title(b, part), missing);
    ts_sheet_suggest(b->sheet, b->arena, ts_part_title(b->arena, part), b->diag);
    part->bad = UINT32_MAX;
}

static void judge_missing(const ts_build *b, ts_part *part, const ts_overlay *rows)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(part->kind, &count);
    const char *missing = "";

    for (int i = 0; i < (int)count; i++) {
        if (fields[i].need != TS_NEED_YES || (part->given & bit_at(i)) != 0) {
            continue;
        }
        if (rows->own == NULL) {
            missing = ts_text_joined(b->arena, missing, ", ", fields[i].word);
            continue;
        }
        const ts_place place = missing_place(b, part, i);
        ts_diag_add(b->diag, TS_FAULT_MEASURE_MISSING, &place, "%s: \"%s\" is missing; %s",
                    ts_build_title(b, part), fields[i].word,
                    ts_field_expects(b->arena, &fields[i]));
        part->bad |= bit_at(i);
    }
    if (*missing != '\0') {
        judge_new_part(b, part, missing);
    }
}

static void judge_part_missing(const ts_build *b, ts_part_kind kind, const char *why)
{
    const ts_sheet_row *drop = ts_build_dropped(b, kind, "");
    ts_place place = ts_csv_place(&b->sheet->csv, b->arena, &b->sheet->csv.rows[0], -1);

    if (ts_design_count(b->design, kind) > 0 || (drop != NULL && kind == TS_PART_COMMISSION)) {
        return; /* there, or said when the options were read */
    }
    if (drop != NULL) {
        place = ts_sheet_place(b->sheet, b->arena, drop->row, TS_COLUMN_MEASURE);
    }
    ts_diag_add(b->diag, TS_FAULT_PART_MISSING, &place, "the part `%s` is missing: %s; %s",
                ts_part_word(kind), ts_part_says(kind), why);
}

static void judge_parts(const ts_build *b)
{
    judge_part_missing(b, TS_PART_COMMISSION, "every sheet has one");
    judge_part_missing(b, TS_PART_RING, "every piece names its alloy there");
    if (b->design->mesh_count == 0 && b->design->metal_count == 0) {
        judge_part_missing(b, TS_PART_SHANK,
                           "it may be left out only where mesh or metal parts give the metal");
    }
}

/* ---- building ---- */

static ts_overlay overlay_of(const ts_build *b, size_t number)
{
    return (ts_overlay){
        .own = b->sheet->layers[0].parts[number],
        .over = b->option == 0 ? NULL : b->sheet->layers[b->option].parts[number],
    };
}

/* True where the option has the part. */
static bool is_there(const ts_overlay *rows)
{
    return (rows->own != NULL || rows->over != NULL) &&
           (rows->over == NULL || rows->over->drop == NULL);
}

static void reserve_parts(const ts_build *b)
{
    int counts[TS_PART_COUNT] = {0};

    for (size_t i = 0; i < b->sheet->part_count; i++) {
        const ts_overlay rows = overlay_of(b, i);

        counts[b->sheet->parts[i].kind] += is_there(&rows);
    }
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        ts_design_reserve(b->design, b->arena, (ts_part_kind)kind, counts[kind]);
    }
}

static void build_part(const ts_build *b, ts_part *part, size_t number, const ts_overlay *rows)
{
    const bool sound =
        (rows->own != NULL && rows->own->sound) || (rows->over != NULL && rows->over->sound);

    part->kind = b->sheet->parts[number].kind;
    part->name = b->sheet->parts[number].name;
    part->first = rows->own != NULL ? rows->own->first : rows->over->first;
    read_part(b, part, rows);
    if (part->kind == TS_PART_SHANK) {
        ts_build_stations(b, &b->design->shank[0], rows);
    }
    if (sound) {
        judge_missing(b, part, rows);
    } else {
        part->bad = UINT32_MAX; /* all its rows were guessed at */
    }
}

static void build_parts(const ts_build *b)
{
    int done[TS_PART_COUNT] = {0};

    reserve_parts(b);
    for (size_t i = 0; i < b->sheet->part_count; i++) {
        const ts_overlay rows = overlay_of(b, i);
        const ts_part_kind kind = b->sheet->parts[i].kind;

        if (is_there(&rows)) {
            build_part(b, ts_design_at(b->design, kind, done[kind]++), i, &rows);
        }
    }
}

static void set_terms(ts_design *design, ts_date as_of)
{
    const ts_commission *commission = design->commission_count > 0 ? design->commission : NULL;

    design->as_of = as_of;
    if (!ts_date_given(as_of)) {
        design->as_of = commission != NULL ? commission->date : TS_DATE_NONE;
    }
    design->exponent = -1;
    if (commission != NULL && commission->currency != NULL) {
        design->exponent = ts_currency_exponent(commission->currency);
    }
}

/* A design, its sheet and books, and the day. NOLINTNEXTLINE(readability-function-size) */
ts_status ts_design_of(ts_design **out, ts_arena *arena, const ts_sheet *sheet, int option,
                       const ts_book *book, ts_date as_of, ts_diag *diag)
{
    ts_design *design = TS_NEW(arena, ts_design);
    ts_build b = {.design = design,
                  .sheet = sheet,
                  .book = book,
                  .arena = arena,
                  .diag = diag,
                  .option = option};
    const size_t mark = ts_diag_mark(diag);

    *out = NULL;
    design->sheet = sheet;
    design->option = option;
    design->option_name = sheet->layers[option].name;
    design->option_label = sheet->layers[option].label;
    build_parts(&b);
    set_terms(design, as_of);
    judge_parts(&b);
    ts_bind_parts(&b);
    ts_bind_words(&b);
    ts_judge_stones(&b);
    ts_judge_settings(&b);
    ts_judge_piece(&b);
    if (sheet->faulty || ts_diag_errors_since(diag, mark) > 0) {
        return TS_FAULTY;
    }
    *out = design;
    return TS_OK;
}
