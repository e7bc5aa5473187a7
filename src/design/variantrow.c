#include "design/variantrow.h"

#include <tallystone/base/text.h>

#include "design/stencil.h"
#include "design/tables.h"

#include <string.h>

/* One row of variants as a layer over the sheet: the same way that an option goes, so a row
 * cannot mean anything else than the sheet written by hand. Memory for the layer is taken
 * once; a row only moves pointers to its cells. Rows that a kept design fits go a shorter way
 * to the same design (stencil.h). */

ts_variant *ts_variant_new(ts_arena *arena, const ts_variant_columns *columns)
{
    ts_variant *variant = TS_NEW(arena, ts_variant);

    variant->arena = arena;
    variant->columns = columns;
    variant->sheet = columns->sheet;
    variant->rows = TS_ARRAY(arena, ts_sheet_row, columns->count + 1);
    variant->parts = TS_ARRAY(arena, ts_part_rows *, columns->sheet.part_count + 1);
    variant->read = TS_ARRAY(arena, ts_read_cell *, columns->count + 1);
    for (size_t i = 0; i < columns->count; i++) {
        const ts_variant_column *column = &columns->columns[i];

        if (column->row.what == TS_ROW_NONE) {
            continue;
        }
        if (variant->parts[column->part] == NULL) {
            variant->parts[column->part] = TS_NEW(arena, ts_part_rows);
            variant->parts[column->part]->stations =
                TS_ARRAY(arena, const ts_sheet_row *, columns->count);
            variant->parts[column->part]->station_room = columns->count;
        }
    }
    variant->sheet.layers[TS_VARIANT_LAYER] = (ts_layer){
        .name = "base", .parts = TS_ARRAY(arena, ts_part_rows *, columns->sheet.part_count + 1)};
    return variant;
}

void ts_variant_remember(ts_variant *variant, ts_arena *arena, ts_no_memory_fn *no_memory,
                         void *ctx)
{
    if (variant->stencils == NULL) {
        variant->stencils = ts_stencils_new(arena, variant->columns, no_memory, ctx);
    }
}

void ts_variant_free(ts_variant *variant)
{
    if (variant != NULL) {
        ts_stencils_free(variant->stencils);
    }
}

static void clear_layer(ts_variant *variant)
{
    for (size_t i = 0; i < variant->columns->sheet.part_count; i++) {
        ts_part_rows *rows = variant->parts[i];

        if (rows != NULL) {
            const ts_sheet_row **stations = rows->stations;
            const size_t room = rows->station_room;

            *rows = (ts_part_rows){.stations = stations, .station_room = room};
        }
        variant->sheet.layers[TS_VARIANT_LAYER].parts[i] = NULL;
    }
}

void ts_variant_split_unit(ts_sheet_row *row, const ts_variant_column *column, const char *cell,
                           ts_arena *scratch)
{
    row->value = cell;
    row->unit = column->unit;
    for (const char *blank = strchr(cell, ' '); blank != NULL; blank = strchr(blank + 1, ' ')) {
        if (!ts_text_empty(blank) && ts_value_takes_unit(&column->field, blank + 1, scratch)) {
            row->value = ts_arena_copy(scratch, cell, (size_t)(blank - cell));
            row->unit = blank + 1;
            return;
        }
    }
    if (column->field.kind == TS_KIND_FIT && strpbrk(cell, "0123456789") == NULL) {
        row->unit = ""; /* `fit` is no number */
    }
}

static const char *title_of(const ts_variant *variant, int part, ts_arena *scratch)
{
    const ts_sheet_part *of = &variant->sheet.parts[part];

    return ts_title_shown(scratch, of->kind, of->name);
}

/* Puts a cell where its column belongs; false after a fault. */
static bool keep_cell(ts_variant *variant, size_t number, const char *cell, ts_arena *scratch,
                      ts_diag *diag)
{
    const ts_variant_column *column = &variant->columns->columns[number];
    ts_sheet_row *row = &variant->rows[number];
    ts_part_rows *rows = variant->parts[column->part];

    *row = column->row;
    row->row = &variant->at;
    if (row->what == TS_ROW_DROP) {
        if (!ts_text_same(cell, "none")) {
            ts_diag_add(diag, TS_FAULT_OPTION_ROW, NULL,
                        "the column `%s` takes none, which leaves the part out, or nothing; \"%s\" "
                        "stands there",
                        column->heading, ts_sheet_shown(scratch, cell));
            return false;
        }
        rows->drop = row;
    } else {
        ts_variant_split_unit(row, column, cell, scratch);
        row->takes_out = ts_text_same(cell, "none") &&
                         ts_option_takes_none(variant->sheet.parts[column->part].kind, row);
    }
    if (row->what == TS_ROW_MEASURE) {
        rows->measures[row->position] = row;
    } else if (row->what == TS_ROW_LABEL) {
        rows->label = row;
    } else if (ts_row_is_station(row)) {
        rows->stations[rows->station_count++] = row;
    }
    rows->first = rows->first == NULL ? row : rows->first;
    rows->sound = true;
    variant->sheet.layers[TS_VARIANT_LAYER].parts[column->part] = rows;
    return true;
}

/* What no sheet written by hand could say: a part left out and measured. */
static void judge_cells(const ts_variant *variant, ts_arena *scratch, ts_diag *diag)
{
    for (size_t i = 0; i < variant->columns->count; i++) {
        const ts_variant_column *column = &variant->columns->columns[i];
        const ts_sheet_row *row = &variant->rows[i];

        if (row->row == NULL || row->what == TS_ROW_DROP) {
            continue;
        }
        const ts_part_rows *own = variant->sheet.layers[0].parts[column->part];
        if (variant->parts[column->part]->drop != NULL) {
            ts_diag_add(diag, TS_FAULT_OPTION_ROW, NULL,
                        "%s is left out by this row, which also gives its %s; empty one of the two",
                        title_of(variant, column->part, scratch), column->field.word);
        } else if (row->takes_out && row->what == TS_ROW_MEASURE &&
                   (own == NULL || own->measures[row->position] == NULL)) {
            ts_diag_add(diag, TS_FAULT_OPTION_ROW, NULL,
                        "the sheet gives no \"%s\" of %s to leave out", column->field.word,
                        title_of(variant, column->part, scratch));
        }
    }
}

/* The row as a layer, complete or at fault. */
static ts_status lay_cells(ts_variant *variant, ts_arena *scratch, const char *const *cells,
                           ts_diag *diag)
{
    const size_t mark = ts_diag_mark(diag);

    clear_layer(variant);
    for (size_t i = 0; i < variant->columns->count; i++) {
        variant->rows[i].row = NULL;
        if (cells[i][0] == '\0' || i == variant->columns->name_cell) {
            continue;
        }
        if (variant->columns->columns[i].row.what == TS_ROW_NONE) {
            ts_diag_add(diag, TS_FAULT_CELL_EXTRA, NULL,
                        "\"%s\" stands in column %zu, which the header does not name",
                        ts_sheet_shown(scratch, cells[i]), i + 1);
        } else if (!keep_cell(variant, i, cells[i], scratch, diag)) {
            variant->rows[i].row = NULL;
        }
    }
    judge_cells(variant, scratch, diag);
    return ts_diag_errors_since(diag, mark) > 0 ? TS_FAULTY : TS_OK;
}

/* A kept design points to the rows of its cells, which stand nowhere. */
static ts_design *design_kept(ts_variant *variant, const ts_stencil_row *row)
{
    if (variant->stencils == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < variant->columns->count; i++) {
        variant->rows[i].row = row->cells[i][0] == '\0' ? NULL : &variant->at;
    }
    return ts_stencil_find(variant->stencils, row);
}

/* Seven things: a row, what it is built on, and where. NOLINTNEXTLINE(readability-function-size) */
ts_status ts_variant_design(ts_design **out, ts_variant *variant, ts_arena *scratch,
                            const char *const *cells, const ts_book *book, ts_date as_of,
                            ts_diag *diag)
{
    const ts_stencil_row row = {cells, book, as_of, scratch};
    ts_arena *arena = NULL;

    *out = design_kept(variant, &row);
    if (*out != NULL) {
        return TS_OK;
    }
    if (variant->stencils != NULL) {
        arena = ts_stencil_room(variant->stencils, &row, &cells);
    }
    const bool keeps = arena != NULL;
    arena = keeps ? arena : scratch;
    ts_status status = lay_cells(variant, arena, cells, diag);
    if (status == TS_OK) {
        status = ts_design_of(out, arena, &variant->sheet, TS_VARIANT_LAYER, book, as_of, diag);
    }
    if (status == TS_OK && keeps) {
        ts_stencil_keep(variant->stencils, *out);
    }
    return status;
}
