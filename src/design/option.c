#include "design/sheet.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* Options: alternatives that replace some rows of the sheet.
 *
 * Each option is a layer over the sheet's own rows. Its measures are PART/MEASURE; a part
 * with the value `none` is left out, and so is a single measure (the stone's `lot` where
 * the option gives a `price`), unless that measure is free text, which may say "none".
 * Whether the part named is there is judged after all rows, for their order is free. */

#define MOST_NEAR 256

static ts_place measure_place(const ts_sheet_reader *in)
{
    return ts_sheet_place(in->sheet, in->arena, in->row, TS_COLUMN_MEASURE);
}

static ts_place part_place(const ts_sheet_reader *in)
{
    return ts_sheet_place(in->sheet, in->arena, in->row, TS_COLUMN_PART);
}

/* ---- layers ---- */

static int add_layer(ts_sheet_reader *in, const char *name)
{
    ts_sheet *sheet = in->sheet;
    const ts_place place = part_place(in);

    if (strcmp(name, sheet->layers[0].name) == 0) {
        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "an option can't be called \"base\": that is the sheet itself");
        return -1;
    }
    if (sheet->layer_count == 1 + TS_MOST_OPTIONS) {
        if (!in->layers_full) {
            ts_diag_add(in->diag, TS_FAULT_TOO_LARGE, &place, "a sheet has at most %d options",
                        TS_MOST_OPTIONS);
        }
        in->layers_full = true;
        return -1;
    }
    ts_layer *layer = &sheet->layers[sheet->layer_count];
    layer->name = name;
    layer->parts = TS_ARRAY(in->arena, ts_part_rows *, TS_MOST_PARTS);
    return sheet->layer_count++;
}

/* The layer of an option, a new one where it is met first; -1 after a fault. */
static int layer_of(ts_sheet_reader *in, const char *rest)
{
    const char *name = ts_text_fold(in->arena, rest);

    if (*name == '\0') {
        const ts_place place = part_place(in);

        ts_diag_add(in->diag, TS_FAULT_PART_NAME, &place,
                    "an option needs a name; `option NAME` is expected, such as option platinum");
        return -1;
    }
    for (int i = 1; i < in->sheet->layer_count; i++) {
        if (strcmp(in->sheet->layers[i].name, name) == 0) {
            return i;
        }
    }
    return add_layer(in, name);
}

/* ---- rows ---- */

static void read_label(ts_sheet_reader *in, ts_layer *layer, const ts_sheet_row *row)
{
    const ts_cell_at at = ts_sheet_cell_at(in->sheet, row);
    ts_part holder = {.label = NULL};

    if (layer->label_row != NULL) {
        const ts_place place = measure_place(in);

        ts_diag_add(in->diag, TS_FAULT_MEASURE_TWICE, &place,
                    "the label of this option stands in row %d already; keep one of the two rows",
                    layer->label_row->row);
        return;
    }
    layer->label_row = row->row;
    if (ts_value_read(&holder, ts_label_field(), row->value, row->unit, "option", &at, in->arena,
                      in->diag)) {
        layer->label = holder.label;
    }
}

/* A measure without a part: an example that can be typed. */
static void add_bare_fault(ts_sheet_reader *in, const char *measure)
{
    const ts_place place = measure_place(in);
    const char *blank = strchr(measure, ' ');
    const size_t length = blank == NULL ? strlen(measure) : (size_t)(blank - measure);

    if (ts_part_find(ts_arena_copy(in->arena, measure, length)) != TS_PART_NONE) {
        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "\"%s\" is a part; name one of its measures as PART/MEASURE, or give the value "
                    "none to leave the part out",
                    ts_sheet_shown(in->arena, measure));
        return;
    }
    ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                "\"%s\" names no part; an option names what it replaces as PART/MEASURE, such as "
                "ring/alloy",
                ts_sheet_shown(in->arena, measure));
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        if (ts_field_find((ts_part_kind)kind, ts_claw_words(in->arena, measure)) >= 0) {
            ts_diag_hint(in->diag, "did you mean \"%s/%s\"?", ts_part_word((ts_part_kind)kind),
                         ts_sheet_shown(in->arena, measure));
            return;
        }
    }
}

bool ts_option_takes_none(ts_part_kind kind, const ts_sheet_row *row)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(kind, &count);

    if (row->what != TS_ROW_MEASURE) {
        return row->what != TS_ROW_LABEL;
    }
    return fields[row->position].kind != TS_KIND_LINE && fields[row->position].kind != TS_KIND_TEXT;
}

static void read_replacement(ts_sheet_reader *in, ts_sheet_row row, const char *measure,
                             const char *slash)
{
    const char *left =
        ts_text_fold(in->arena, ts_arena_copy(in->arena, measure, (size_t)(slash - measure)));
    const char *right = ts_text_fold(in->arena, slash + 1);

    if (*left == '\0' || *right == '\0') {
        const ts_place place = measure_place(in);

        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "\"%s\" is half of PART/MEASURE; both are expected, such as ring/alloy",
                    ts_sheet_shown(in->arena, measure));
        return;
    }
    const ts_part_named part = ts_part_named_read(in, left, TS_COLUMN_MEASURE, true);
    if (part.kind == TS_PART_NONE) {
        return;
    }
    row.doubtful = !ts_measure_read(in, &row, part, right) || part.doubtful;
    row.takes_out = ts_text_same(row.value, "none") && ts_option_takes_none(part.kind, &row);
    ts_sheet_keep(in, part, row);
}

static void read_drop(ts_sheet_reader *in, ts_sheet_row row, const char *measure)
{
    const ts_part_named part = ts_part_named_read(in, measure, TS_COLUMN_MEASURE, true);

    if (part.kind == TS_PART_NONE) {
        return;
    }
    row.what = TS_ROW_DROP;
    row.doubtful = part.doubtful;
    ts_sheet_keep(in, part, row);
}

void ts_option_row_read(ts_sheet_reader *in, const char *rest)
{
    const int layer = layer_of(in, rest);
    const char *measure =
        ts_text_fold(in->arena, ts_sheet_cell(in->sheet, in->row, TS_COLUMN_MEASURE));
    const char *slash = strrchr(measure, '/');
    const ts_sheet_row row = {
        .value = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_VALUE),
        .unit = ts_sheet_cell(in->sheet, in->row, TS_COLUMN_UNIT),
        .row = in->row,
        .layer = layer,
    };

    if (layer < 0) {
        return;
    }
    if (*measure == '\0') {
        const ts_place place = measure_place(in);

        ts_diag_add(in->diag, TS_FAULT_CELL_EMPTY, &place,
                    "`measure` is empty; an option names what it replaces as PART/MEASURE, such as "
                    "ring/alloy");
    } else if (strcmp(measure, ts_label_field()->word) == 0) {
        read_label(in, &in->sheet->layers[layer], &row);
    } else if (slash != NULL) {
        read_replacement(in, row, measure, slash);
    } else if (ts_text_same(row.value, "none")) {
        read_drop(in, row, measure);
    } else {
        add_bare_fault(in, measure);
    }
}

/* ---- after all rows ---- */

void ts_sheet_suggest(const ts_sheet *sheet, ts_arena *arena, const char *title, ts_diag *diag)
{
    const char *titles[MOST_NEAR];
    size_t count = 0;

    for (size_t i = 0; i < sheet->part_count && count < MOST_NEAR; i++) {
        if (sheet->layers[0].parts[i] != NULL) {
            titles[count++] = ts_title_of(arena, sheet->parts[i].kind, sheet->parts[i].name);
        }
    }
    const int nearest = ts_nearest(title, titles, count);
    if (nearest >= 0) {
        ts_diag_hint(diag, "did you mean \"%s\"?", ts_sheet_shown(arena, titles[nearest]));
    }
}

static void judge_drop(ts_sheet_reader *in, const ts_sheet_part *part, const ts_part_rows *own,
                       const ts_part_rows *rows)
{
    const char *title = ts_title_of(in->arena, part->kind, part->name);

    in->row = rows->drop->row;
    const ts_place place = measure_place(in);
    if (own == NULL) {
        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "the sheet has no part \"%s\" to leave out", ts_sheet_shown(in->arena, title));
        ts_sheet_suggest(in->sheet, in->arena, title, in->diag);
    } else if (part->kind == TS_PART_COMMISSION) {
        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "an option can't leave the commission out");
    }
}

/* What one quotation says once, for all its options: whose it is, of which day, its currency. */
static bool is_shared(ts_part_kind kind, int position)
{
    return kind == TS_PART_COMMISSION &&
           position != ts_field_position(TS_FIELD_COMMISSION_DISCOUNT) &&
           position != ts_field_position(TS_FIELD_COMMISSION_PAYS_BY);
}

/* Rows that take out what is not there, or change a part that is left out or is not theirs. */
static void judge_measures(ts_sheet_reader *in, const ts_sheet_part *part, const ts_part_rows *own,
                           const ts_part_rows *rows)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(part->kind, &count);
    const char *title = ts_title_shown(in->arena, part->kind, part->name);

    for (size_t i = 0; i < count; i++) {
        const ts_sheet_row *row = rows->measures[i];

        if (row == NULL || row->doubtful) {
            continue;
        }
        in->row = row->row;
        const ts_place place = measure_place(in);
        if (is_shared(part->kind, (int)i)) {
            ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                        "\"%s\" is one for the whole quotation; of the commission an option may "
                        "change discount and pays by alone",
                        fields[i].word);
        } else if (rows->drop != NULL) {
            ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                        "%s is left out by this option in row %d; take one of the two rows out",
                        title, rows->drop->row->row);
        } else if (row->takes_out && (own == NULL || own->measures[i] == NULL)) {
            ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                        "the sheet gives no \"%s\" of %s to leave out", fields[i].word, title);
        }
    }
}

/* What the client reads over the option's price and marks where the choice is made. */
static const char *called(const ts_sheet *sheet, int layer)
{
    const ts_layer *at = &sheet->layers[layer];

    return layer == 0 ? "as described" : at->label == NULL ? at->name : at->label;
}

/* Two that read alike leave open which of them the client has marked. */
static void judge_label(ts_sheet_reader *in, int layer)
{
    const ts_layer *layers = in->sheet->layers;
    const char *own = called(in->sheet, layer);

    for (int i = 0; i < layer; i++) {
        const ts_csv_row *row =
            layers[layer].label_row != NULL ? layers[layer].label_row : layers[i].label_row;

        if (row == NULL || !ts_text_same(called(in->sheet, i), own)) {
            continue;
        }
        const ts_place place = ts_sheet_place(in->sheet, in->arena, row, TS_COLUMN_VALUE);
        ts_diag_add(in->diag, TS_FAULT_OPTION_ROW, &place,
                    "the client would read \"%s\" over the options %s and %s; give one another "
                    "label",
                    ts_sheet_shown(in->arena, own), layers[i].name, layers[layer].name);
        return;
    }
}

void ts_options_judge(ts_sheet_reader *in)
{
    const ts_sheet *sheet = in->sheet;

    for (int layer = 1; layer < sheet->layer_count; layer++) {
        judge_label(in, layer);
        for (size_t i = 0; i < sheet->part_count; i++) {
            const ts_part_rows *own = sheet->layers[0].parts[i];
            const ts_part_rows *rows = sheet->layers[layer].parts[i];

            if (rows == NULL) {
                continue;
            }
            if (rows->drop != NULL && !rows->drop->doubtful) {
                judge_drop(in, &sheet->parts[i], own, rows);
            }
            judge_measures(in, &sheet->parts[i], own, rows);
        }
    }
}
