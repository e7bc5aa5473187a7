#include "design/variant.h"

#include <tallystone/base/text.h>

#include <string.h>

#include "design/build.h"
#include "design/variantrow.h"

/* A row of variants whose steady cells are those of a row before: only the band is read anew.
 *
 * A catalogue has few steady rows (an alloy, a lot, a halo) and many bands. What a cell was read
 * as is remembered by its text; whatever is not a plain number in its usual place goes the whole
 * way, so that there is one sentence for each fault. */

static const ts_field_id bends[] = {
    TS_FIELD_RING_SIZE,           TS_FIELD_SHANK_WIDTH_TOP,      TS_FIELD_SHANK_WIDTH_BASE,
    TS_FIELD_SHANK_THICKNESS_TOP, TS_FIELD_SHANK_THICKNESS_BASE, TS_FIELD_SHANK_WALL,
};

void ts_variant_mark_band(ts_variant_columns *columns)
{
    for (size_t i = 0; i < columns->count; i++) {
        ts_variant_column *column = &columns->columns[i];
        column->is_band =
            column->part >= 0 && ts_variant_gives_one(columns, column, bends, TS_COUNT_OF(bends));
    }
}

/* A band's cell that begins as a number does; any other word in it is a steady one. */
static bool is_bent(const ts_variant_column *column, const char *cell)
{
    return column->is_band && ((*cell >= '0' && *cell <= '9') || *cell == '.');
}

size_t ts_variant_steady(char *out, size_t room, const ts_variant *variant,
                         const char *const *cells)
{
    const ts_variant_columns *columns = variant->columns;
    size_t length = 0;

    for (size_t i = 0; i < columns->count; i++) {
        if (i == columns->name_cell) {
            continue;
        }
        const bool bent = is_bent(&columns->columns[i], cells[i]);
        const char *cell = bent ? "" : cells[i];
        if (room - length < 2) {
            return 0;
        }
        out[length++] = bent ? '\1' : '\2';
        for (; *cell != '\0' && length < room; cell++) { /* cells are short */
            out[length++] = *cell;
        }
        if (length == room) {
            return 0;
        }
        out[length++] = '\0';
    }
    return length;
}

/* ---- what a cell was read as ---- */

/* A short cell as two words; false for a long one. */
static bool pack(uint64_t words[2], const char *cell)
{
    words[0] = words[1] = 0;
    for (unsigned i = 0; i < 16; i++) {
        if (cell[i] == '\0') {
            return true;
        }
        words[i / 8] |= (uint64_t)(unsigned char)cell[i] << 8 * (i % 8);
    }
    return false;
}

/* Where a cell of that text is remembered, or would be. */
static ts_read_cell *place_of(const ts_variant *variant, size_t number, const uint64_t words[2])
{
    const uint64_t hash = (words[0] + words[1] * 31) * UINT64_C(0x9e3779b97f4a7c15);

    if (variant->read[number] == NULL) {
        variant->read[number] = TS_ARRAY(variant->arena, ts_read_cell, TS_READ_CELLS);
    }
    return &variant->read[number][(hash >> 32) % TS_READ_CELLS];
}

static bool read_band(const ts_build *b, ts_variant *variant, size_t number, const char *cell,
                      void *part)
{
    const ts_variant_column *column = &variant->columns->columns[number];
    const size_t size = ts_kind_bytes(column->field.kind);
    char *member = (char *)part + column->field.offset;
    uint64_t words[2];
    ts_read_cell *kept = pack(words, cell) ? place_of(variant, number, words) : NULL;

    if (kept != NULL && kept->text[0] == words[0] && kept->text[1] == words[1]) {
        memcpy(member, kept->value, size);
        return true;
    }
    ts_sheet_row row = column->row;
    row.row = &variant->at;
    ts_variant_split_unit(&row, column, cell, b->arena);
    if (!ts_build_read(b, part, &column->field, &row, "")) {
        return false;
    }
    if (kept != NULL) {
        memcpy(kept->text, words, sizeof kept->text);
        memcpy(kept->value, member, size);
    }
    return true;
}

bool ts_variant_is_bendable(const ts_design *design)
{
    return design->row_count == 0 && design->shank_count == 1 && design->ring_count == 1;
}

bool ts_variant_reband(ts_design *design, ts_variant *variant, ts_arena *scratch,
                       const char *const *cells, ts_diag *diag)
{
    const ts_build b = {.design = design,
                        .sheet = &variant->sheet,
                        .arena = scratch,
                        .diag = diag,
                        .option = TS_VARIANT_LAYER};
    const size_t mark = ts_diag_mark(diag);

    if (!ts_variant_is_bendable(design)) {
        return false;
    }
    for (size_t i = 0; i < variant->columns->count; i++) {
        const ts_variant_column *column = &variant->columns->columns[i];
        if (i == variant->columns->name_cell || !is_bent(column, cells[i])) {
            continue;
        }
        const bool of_ring = variant->sheet.parts[column->part].kind == TS_PART_RING;
        if (!read_band(&b, variant, i, cells[i],
                       of_ring ? (void *)design->ring : (void *)design->shank)) {
            return false;
        }
    }
    ts_judge_shank(&b, design->shank);
    return ts_diag_errors_since(diag, mark) == 0;
}
