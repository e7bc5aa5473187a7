#include <tallystone/design/design.h>

#include <tallystone/base/text.h>

#include "design/sheet.h"
#include "design/tables.h"

#include <assert.h>
#include <string.h>

/* What other rooms ask of a design's parts: where a measure stands in the sheet, what a
 * part is called, which part is meant. */

static uint32_t bit_of(ts_field_id field)
{
    return UINT32_C(1) << ts_field_position(field);
}

bool ts_part_has(const ts_part *part, ts_field_id field)
{
    assert(ts_field_part(field) == part->kind);
    return (part->given & bit_of(field)) != 0;
}

ts_place ts_part_place(const ts_design *design, ts_arena *arena, const ts_part *part,
                       ts_field_id field)
{
    const ts_sheet_row *row = part->rows[ts_field_position(field)];

    assert(ts_field_part(field) == part->kind);
    return row == NULL ? ts_part_place_any(design, arena, part)
                       : ts_sheet_place(design->sheet, arena, row->row, TS_COLUMN_VALUE);
}

ts_place ts_part_place_any(const ts_design *design, ts_arena *arena, const ts_part *part)
{
    if (part->first == NULL) {
        return (ts_place){.file = ts_sheet_file(design->sheet)};
    }
    return ts_sheet_place(design->sheet, arena, part->first->row,
                          part->first->layer == 0 ? TS_COLUMN_PART : TS_COLUMN_MEASURE);
}

int ts_part_line(const ts_part *part, ts_field_id field)
{
    const ts_sheet_row *row = part->rows[ts_field_position(field)];

    assert(ts_field_part(field) == part->kind);
    return row == NULL ? 0 : row->row->line;
}

const char *ts_part_title(ts_arena *arena, const ts_part *part)
{
    return ts_title_of(arena, part->kind, part->name);
}

const ts_part *ts_design_part(const ts_design *design, ts_ref ref)
{
    return ts_design_at(design, ref.kind, ref.index);
}

const char *ts_design_alloy(const ts_design *design, const char *own)
{
    if (own != NULL && *own != '\0') {
        return own;
    }
    return design->ring_count > 0 ? design->ring[0].alloy : NULL;
}

bool ts_design_replaced(const ts_design *design, const ts_part *part)
{
    const bool bought = part->kind == TS_PART_METAL && ts_part_has(part, TS_FIELD_METAL_PRICE);

    if (!ts_part_is_metal(part->kind)) {
        return false;
    }
    for (int i = 0; i < design->mesh_count; i++) {
        const ts_mesh *mesh = &design->mesh[i];

        if (mesh->replaces_all && !bought) {
            return true;
        }
        for (int j = 0; j < mesh->replaced_count; j++) {
            if (ts_design_part(design, mesh->replaced[j]) == part) {
                return true;
            }
        }
    }
    return false;
}
