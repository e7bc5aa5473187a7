#include <tallystone/geometry/geometry.h>

#include <tallystone/base/text.h>

#include <math.h>

#include "geometry/measuring.h"
#include "geometry/mesh.h"
#include "geometry/recollect.h"
#include "geometry/ringsize.h"

/* A design measured, part by part.
 *
 * Each part is measured by a file of its own and says its own faults; a part that rests on one
 * with a fault is passed over in silence. What comes out is finite or refused: no other room
 * has to ask. */

#define BORE_LEAST_MM 8.0
#define BORE_MOST_MM 40.0
#define MM_PER_IN 25.4

void ts_measuring_refuse(ts_measuring *m, const ts_part *part, ts_field_id field,
                         const char *sentence)
{
    ts_place at = ts_part_place(m->design, m->arena, part, field);

    ts_diag_add(m->diag, TS_FAULT_CANNOT_BE_MADE, &at, "%s", sentence);
}

const char *ts_measuring_title(const ts_measuring *m, const ts_part *part)
{
    return ts_part_title(m->arena, part);
}

const char *ts_measuring_mm(const ts_measuring *m, double length_mm)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec value;

    if (!ts_dec_from_double(&value, round(length_mm * 1000.0) / 1000.0)) {
        return "?";
    }
    return ts_arena_text(m->arena, ts_dec_text(text, value));
}

static void measure_bore(ts_measuring *m)
{
    const ts_ring *ring = m->design->ring;

    if (m->design->ring_count == 0 || ring->size.system == TS_SIZE_NONE) {
        return;
    }
    double bore_mm = ts_ring_bore_mm(ring->size.system, ts_dec_double(ring->size.number));
    if (bore_mm >= BORE_LEAST_MM && bore_mm <= BORE_MOST_MM) {
        m->out->bore_mm = bore_mm;
        return;
    }
    ts_place at = ts_part_place(m->design, m->arena, &ring->part, TS_FIELD_RING_SIZE);
    ts_diag_add(m->diag, TS_FAULT_RANGE, &at,
                "ring: this size has an inside diameter of %s mm; from %s to %s mm are expected",
                ts_measuring_mm(m, bore_mm), ts_measuring_mm(m, BORE_LEAST_MM),
                ts_measuring_mm(m, BORE_MOST_MM));
}

static ts_fault fault_of_mesh(ts_mesh_reason reason)
{
    return reason == TS_MESH_TOO_LARGE || reason == TS_MESH_TOO_MANY ? TS_FAULT_TOO_LARGE
                                                                     : TS_FAULT_MESH_REFUSED;
}

static void measure_mesh(ts_measuring *m, int index)
{
    const ts_mesh *mesh = &m->design->mesh[index];
    ts_mesh_shape *shape = &m->out->meshes[index];
    char sentence[TS_MESH_SENTENCE_BYTES];
    ts_mesh_result result;

    if (mesh->bytes == NULL) {
        return;
    }
    double mm_per_unit = mesh->unit == TS_MESH_UNIT_IN ? MM_PER_IN : 1.0;
    ts_place at = ts_part_place(m->design, m->arena, &mesh->part, TS_FIELD_MESH_FILE);
    if (ts_mesh_measure(&result, m->arena, mesh->bytes, mesh->length, mm_per_unit) !=
        TS_MESH_NONE) {
        ts_mesh_sentence(&result, sentence, sizeof sentence);
        ts_diag_add(m->diag, fault_of_mesh(result.reason), &at, "%s: %s",
                    ts_measuring_title(m, &mesh->part), sentence);
        return;
    }
    shape->volume_mm3 = result.volume_mm3;
    shape->turned = result.inverted;
    shape->facets = result.facets;
    if (result.inverted && ts_mesh_note(&result, 0, sentence, sizeof sentence)) {
        ts_diag_add(m->diag, TS_FAULT_MESH_TURNED, &at, "%s: %s",
                    ts_measuring_title(m, &mesh->part), sentence);
    }
}

/* ---- everything finite ---- */

static bool spots_are_finite(const ts_spot *spots, int count)
{
    double sum = 0.0;

    if (spots == NULL) {
        return true; /* remembered without places, which were finite then */
    }
    for (int i = 0; i < count; i++) {
        sum += spots[i].x_mm + spots[i].y_mm + spots[i].z_mm + spots[i].diameter_mm +
               spots[i].angle_rad;
    }
    return isfinite(sum);
}

static bool rows_are_finite(const ts_row_shape *rows, int count)
{
    for (int i = 0; i < count; i++) {
        const ts_row_shape *row = &rows[i];
        double sum = row->diameter_mm + row->spacing_mm + row->gap_mm + row->line_mm +
                     row->offset_mm + row->outer_mm + row->inner_mm + row->claw_room_mm +
                     row->metal_mm3 + row->seats_mm3 + row->underside_mm + row->under_seat_mm;
        if (!isfinite(sum) || !spots_are_finite(row->spots, row->stones)) {
            return false;
        }
    }
    return true;
}

static bool holders_are_finite(const ts_geometry *g, const ts_design *design)
{
    double sum = 0.0;

    for (int i = 0; i < design->head_count; i++) {
        const ts_head_shape *head = &g->heads[i];
        sum += head->claws_mm3 + head->rails_mm3 + head->height_mm;
        if (!spots_are_finite(head->claw_spots, head->claw_spot_count)) {
            return false;
        }
    }
    for (int i = 0; i < design->bezel_count; i++) {
        sum += g->bezels[i].volume_mm3;
    }
    return isfinite(sum);
}

static bool is_finite(const ts_geometry *g, const ts_design *design)
{
    double sum = g->bore_mm + g->shank_mm3 + g->shank_seats_mm3 + g->height.girdle_mm +
                 g->height.total_mm + g->height.lowest_mm + g->height.under_halo_mm;

    for (int i = 0; i < design->stone_count; i++) {
        const ts_stone_shape *stone = &g->stones[i];
        sum +=
            stone->length_mm + stone->width_mm + stone->depth_mm + stone->carats + stone->girdle_mm;
        if (!spots_are_finite(stone->spots, stone->copies)) {
            return false;
        }
    }
    for (int i = 0; i < design->mesh_count; i++) {
        sum += g->meshes[i].volume_mm3;
    }
    return isfinite(sum) && holders_are_finite(g, design) &&
           rows_are_finite(g->halos, design->halo_count) &&
           rows_are_finite(g->rows, design->row_count);
}

/* ---- the whole ---- */

static void prepare_setting(ts_measuring *m)
{
    const ts_design *d = m->design;
    ts_geometry *g = m->out;
    ts_arena *arena = m->arena;

    g->stones = TS_ARRAY(arena, ts_stone_shape, (size_t)d->stone_count + 1);
    g->heads = TS_ARRAY(arena, ts_head_shape, (size_t)d->head_count + 1);
    g->bezels = TS_ARRAY(arena, ts_bezel_shape, (size_t)d->bezel_count + 1);
    g->halos = TS_ARRAY(arena, ts_row_shape, (size_t)d->halo_count + 1);
    m->outlines = TS_ARRAY(arena, ts_outline, (size_t)d->stone_count + 1);
    m->halo_good = TS_ARRAY(arena, bool, (size_t)d->halo_count + 1);
}

static void judge_seats(ts_measuring *m)
{
    if (m->out->shank_seats_mm3 > 0.0 && m->out->shank_seats_mm3 >= m->out->shank_mm3) {
        ts_measuring_refuse(m, &m->design->row[0].part, TS_FIELD_ROW_STONE_DIAMETER,
                            ts_arena_format(m->arena,
                                            "the seats of the rows take %s mm3 out of a shank of "
                                            "%s mm3",
                                            ts_measuring_mm(m, m->out->shank_seats_mm3),
                                            ts_measuring_mm(m, m->out->shank_mm3)));
    }
}

static void measure_stones(ts_measuring *m)
{
    prepare_setting(m);
    for (int i = 0; i < m->design->stone_count; i++) {
        ts_stone_measure(m, i);
    }
}

static void measure_band(ts_measuring *m)
{
    m->out->rows = TS_ARRAY(m->arena, ts_row_shape, (size_t)m->design->row_count + 1);
    ts_band_measure(m);
    ts_band_top_measure(m);
    for (int i = 0; i < m->design->row_count; i++) {
        ts_band_row_measure(m, i);
    }
    ts_band_rows_judge(m);
}

static void measure_holders(ts_measuring *m)
{
    for (int i = 0; i < m->design->head_count; i++) {
        ts_head_measure(m, i);
    }
    for (int i = 0; i < m->design->bezel_count; i++) {
        ts_bezel_measure(m, i);
    }
    ts_halos_measure(m);
}

/* What is known is passed over: it had no fault, so faults keep their order. */
static void measure_parts(ts_measuring *m, ts_geometry_memory *memory)
{
    size_t mark = ts_diag_mark(m->diag);

    measure_bore(m);
    const bool knows_setting = memory != NULL && ts_memory_setting(memory, m);
    const bool knows_band = memory != NULL && ts_memory_band(memory, m);
    m->is_placed = !knows_setting;
    if (!knows_setting) {
        measure_stones(m);
    }
    if (!knows_band) {
        measure_band(m);
    }
    if (!knows_setting) {
        measure_holders(m);
    }
    if (memory != NULL && ts_diag_errors_since(m->diag, mark) == 0) {
        if (!knows_setting) {
            ts_memory_keep_setting(memory, m);
        }
        if (!knows_band) {
            ts_memory_keep_band(memory, m);
        }
    }
    m->out->meshes = TS_ARRAY(m->arena, ts_mesh_shape, (size_t)m->design->mesh_count + 1);
    for (int i = 0; i < m->design->mesh_count; i++) {
        measure_mesh(m, i);
    }
    judge_seats(m);
    ts_places_of(m);
    if (memory == NULL && ts_diag_errors_since(m->diag, mark) == 0) {
        ts_band_ends_measure(m);
    }
}

static ts_status measure(ts_measuring *m, ts_geometry_memory *memory)
{
    size_t mark = ts_diag_mark(m->diag);

    measure_parts(m, memory);
    if (ts_diag_errors_since(m->diag, mark) > 0) {
        return TS_FAULTY;
    }
    if (!is_finite(m->out, m->design)) {
        ts_memory_drop(memory);
        ts_diag_add(m->diag, TS_FAULT_FIGURE, NULL,
                    "a measurement of this design is no finite number; the sheet's measurements "
                    "lie too far apart");
        return TS_FAULTY;
    }
    return TS_OK;
}

bool ts_geometry_reband(ts_geometry *geometry, ts_arena *scratch, const ts_design *design,
                        ts_diag *diag)
{
    const size_t mark = ts_diag_mark(diag);
    ts_measuring m = {.out = geometry, .arena = scratch, .design = design, .diag = diag};

    geometry->bore_mm = geometry->shank_mm3 = 0.0;
    measure_bore(&m);
    ts_band_measure(&m);
    return ts_diag_errors_since(diag, mark) == 0 && isfinite(geometry->bore_mm) &&
           isfinite(geometry->shank_mm3);
}

ts_status ts_geometry_of(ts_geometry **out, ts_arena *arena, const ts_design *design, ts_diag *diag)
{
    return ts_geometry_figures_of(out, NULL, arena, design, diag);
}

ts_status ts_geometry_figures_of(ts_geometry **out, ts_geometry_memory *memory, ts_arena *arena,
                                 const ts_design *design, ts_diag *diag)
{
    ts_measuring m = {
        .out = TS_NEW(arena, ts_geometry), .arena = arena, .design = design, .diag = diag};

    *out = m.out;
    return measure(&m, memory);
}
