#include "geometry/plate.h"

#include <math.h>

#include "geometry/height.h"
#include "geometry/measuring.h"
#include "geometry/rows.h"
#include "geometry/seat.h"

/* Halos.
 *
 * All offsets are counted from the girdle of the held stone, however long the chain of halos
 * between: what goes round a halo begins at that halo's outer edge. A halo is measured after
 * those that it names; the design has judged that they run in no circle. */

#define STONES_LEAST 3

typedef struct halo_work {
    ts_measuring *m;
    const ts_halo *halo;
    ts_row_shape *shape;
    const ts_outline *outline;
    double base_mm; /* where its own counting begins */
    double thick_mm;
    double rim_mm;
} halo_work;

bool ts_plate_mm3(double *volume_mm3, double *bad_mm, const ts_outline *outline, double inner_mm,
                  double outer_mm, double thickness_mm)
{
    ts_outline inner, outer;

    if (!ts_outline_parallel(&inner, outline, inner_mm)) {
        *bad_mm = inner_mm;
        return false;
    }
    if (!ts_outline_parallel(&outer, outline, outer_mm)) {
        *bad_mm = outer_mm;
        return false;
    }
    *volume_mm3 = (ts_outline_area_mm2(&outer) - ts_outline_area_mm2(&inner)) * thickness_mm;
    return true;
}

double ts_outline_inmost_mm(const ts_outline *outline)
{
    ts_box box = ts_outline_extent(outline);
    ts_outline inside;
    double low_mm = 0.0;
    double high_mm = fmax(box.right_mm - box.left_mm, box.top_mm - box.bottom_mm);

    for (int i = 0; i < 40; i++) {
        double middle_mm = 0.5 * (low_mm + high_mm);
        if (ts_outline_parallel(&inside, outline, -middle_mm)) {
            low_mm = middle_mm;
        } else {
            high_mm = middle_mm;
        }
    }
    return low_mm;
}

static bool faces_out(const halo_work *w)
{
    return w->halo->faces == TS_FACES_OUT;
}

/* Offset of the line of centres for stones of a diameter. */
static double line_offset_mm(const halo_work *w, double diameter_mm)
{
    if (!faces_out(w)) {
        return w->base_mm + ts_dec_double(w->halo->gap) + diameter_mm / 2.0;
    }
    if (w->halo->under_ref.kind == TS_PART_HALO) {
        /* its face stands flush with the outer edge of the halo above */
        return w->m->out->halos[w->halo->under_ref.index].outer_mm - TS_MELEE_CROWN * diameter_mm;
    }
    return w->base_mm + ts_dec_double(w->halo->offset);
}

static ts_closed_ask ask_of(const halo_work *w, double diameter_mm)
{
    ts_shape shape = (ts_shape)w->m->design->stone[w->halo->stone_ref.index].shape;

    return (ts_closed_ask){
        .offset_mm = line_offset_mm(w, diameter_mm),
        .diameter_mm = diameter_mm,
        .spacing_mm = ts_dec_double(w->halo->spacing),
        .multiple = w->halo->multiple,
        .start = ts_shape_has_tip(shape) ? (ts_point_of)w->halo->point : TS_POINT_STONE,
    };
}

static bool fits(const halo_work *w, double diameter_mm, ts_closed_row *row)
{
    ts_closed_ask ask = ask_of(w, diameter_mm);

    return ts_closed_row_of(row, w->outline, &ask) && row->count >= STONES_LEAST;
}

/* The largest diameter below one that is too large; 0 where not even the smallest fits. */
static double largest_that_fits_mm(const halo_work *w, double too_large_mm)
{
    double low_mm = 0.5, high_mm = too_large_mm;
    ts_closed_row row;

    if (!(high_mm > low_mm) || !fits(w, low_mm, &row)) {
        return 0.0;
    }
    for (int i = 0; i < 30; i++) {
        double middle_mm = 0.5 * (low_mm + high_mm);
        if (fits(w, middle_mm, &row)) {
            low_mm = middle_mm;
        } else {
            high_mm = middle_mm;
        }
    }
    return floor(low_mm * 100.0) / 100.0;
}

static ts_field_id field_of_line(const halo_work *w)
{
    if (!faces_out(w)) {
        return TS_FIELD_HALO_GAP;
    }
    return w->halo->under_ref.kind == TS_PART_HALO ? TS_FIELD_HALO_UNDER : TS_FIELD_HALO_OFFSET;
}

static void refuse_line(const halo_work *w, double offset_mm)
{
    ts_measuring *m = w->m;

    ts_measuring_refuse(m, &w->halo->part, field_of_line(w),
                        ts_arena_format(m->arena,
                                        "%s: no line is left %s mm inside the girdle; the stone "
                                        "leaves room for less than %s mm",
                                        ts_measuring_title(m, &w->halo->part),
                                        ts_measuring_mm(m, -offset_mm),
                                        ts_measuring_mm(m, ts_outline_inmost_mm(w->outline))));
}

static void refuse_count(const halo_work *w, double diameter_mm, const ts_closed_row *row)
{
    ts_measuring *m = w->m;
    const char *title = ts_measuring_title(m, &w->halo->part);
    const char *size = ts_measuring_mm(m, diameter_mm);
    const char *fit = "none of 0.5 mm or more does";
    double largest_mm = largest_that_fits_mm(w, diameter_mm);

    if (largest_mm > 0.0) {
        fit = ts_arena_format(m->arena, "stones up to %s mm do", ts_measuring_mm(m, largest_mm));
    }
    ts_measuring_refuse(
        m, &w->halo->part, TS_FIELD_HALO_STONE_DIAMETER,
        ts_arena_format(m->arena,
                        "%s: stones of %s mm do not close a row there (at least %d are needed%s, "
                        "%d %s room); %s",
                        title, size, STONES_LEAST,
                        w->halo->multiple > 1
                            ? ts_arena_format(m->arena, ", a multiple of %d", w->halo->multiple)
                            : "",
                        row->count, row->count == 1 ? "has" : "have", fit));
}

static void refuse_row(const halo_work *w, double diameter_mm, const ts_closed_row *row)
{
    ts_measuring *m = w->m;

    switch (row->fault) {
    case TS_ROW_FAULT_CURVE:
        refuse_line(w, line_offset_mm(w, diameter_mm));
        return;
    case TS_ROW_FAULT_MANY:
        ts_measuring_refuse(m, &w->halo->part, TS_FIELD_HALO_STONE_DIAMETER,
                            ts_arena_format(m->arena,
                                            "%s: more than %d stones of %s mm fit; a row has at "
                                            "most %d",
                                            ts_measuring_title(m, &w->halo->part),
                                            TS_MOST_ROW_STONES, ts_measuring_mm(m, diameter_mm),
                                            TS_MOST_ROW_STONES));
        return;
    case TS_ROW_FAULT_NONE:
    case TS_ROW_FAULT_ASK:
    case TS_ROW_FAULT_FEW:
    case TS_ROW_FAULT_OVERLAP:
    case TS_ROW_FAULT_UNEVEN:
    case TS_ROW_FAULT_COUNT:
        break;
    }
    refuse_count(w, diameter_mm, row);
}

/* `fit`: the most even of the rows that the lot's size steps make. False after a fault. */
static bool choose_diameter(const halo_work *w, double *diameter_mm)
{
    ts_measuring *m = w->m;
    const ts_halo *halo = w->halo;
    ts_closed_ask *asks = TS_ARRAY(m->arena, ts_closed_ask, (size_t)halo->fit_count + 1);
    ts_closed_row row;
    int count = 0, chosen = 0;
    bool has_line = halo->fit_count == 0;

    for (int i = 0; i < halo->fit_count; i++) {
        double step_mm = ts_dec_double(halo->fit_mm[i]);
        if (fits(w, step_mm, &row)) {
            asks[count++] = ask_of(w, step_mm);
        }
        has_line = has_line || row.fault != TS_ROW_FAULT_CURVE;
    }
    if (count > 0 && ts_closed_row_fit(&row, &chosen, w->outline, asks, count)) {
        *diameter_mm = asks[chosen].diameter_mm;
        return true;
    }
    if (!has_line) {
        refuse_line(w, line_offset_mm(w, ts_dec_double(halo->fit_mm[0])));
        return false;
    }
    ts_measuring_refuse(m, &halo->part, TS_FIELD_HALO_STONE_DIAMETER,
                        ts_arena_format(m->arena,
                                        "%s: no size step of the lot \"%s\" closes a row there "
                                        "with at least %d stones",
                                        ts_measuring_title(m, &halo->part), halo->lot,
                                        STONES_LEAST));
    return false;
}

static void place_row(const halo_work *w, const ts_closed_ask *ask, const ts_closed_row *row)
{
    ts_row_shape *shape = w->shape;
    ts_row_stone *stones = TS_ARRAY(w->m->arena, ts_row_stone, (size_t)row->count);
    int count = ts_closed_row_place(stones, row->count, w->outline, ask, row);

    shape->spots = TS_ARRAY(w->m->arena, ts_spot, (size_t)row->count);
    for (int i = 0; i < count; i++) {
        shape->spots[i] = (ts_spot){.x_mm = stones[i].x_mm,
                                    .y_mm = stones[i].y_mm,
                                    .diameter_mm = ask->diameter_mm,
                                    .angle_rad = stones[i].angle_rad};
    }
    shape->sizes = TS_NEW(w->m->arena, struct ts_size_run);
    shape->sizes[0] = (struct ts_size_run){ask->diameter_mm, row->count};
    shape->size_count = 1;
}

/* The row itself; false after a fault. */
static bool measure_row(const halo_work *w)
{
    double diameter_mm = ts_dec_double(w->halo->stone_diameter);
    ts_closed_row row;

    if (w->halo->stone_diameter.e6 == 0 && !choose_diameter(w, &diameter_mm)) {
        return false;
    }
    if (!fits(w, diameter_mm, &row)) {
        refuse_row(w, diameter_mm, &row);
        return false;
    }
    ts_closed_ask ask = ask_of(w, diameter_mm);
    w->shape->stones = row.count;
    w->shape->diameter_mm = diameter_mm;
    w->shape->spacing_mm = row.spacing_mm;
    w->shape->line_mm = row.curve_mm;
    w->shape->offset_mm = ask.offset_mm;
    w->shape->gap_mm =
        faces_out(w) ? ask.offset_mm - diameter_mm / 2.0 - w->base_mm : ts_dec_double(w->halo->gap);
    place_row(w, &ask, &row);
    return true;
}

/* Inner and outer edge of the metal, from the held stone's girdle. */
static void set_edges(const halo_work *w)
{
    ts_row_shape *shape = w->shape;
    double radius_mm = shape->diameter_mm / 2.0;
    double inside_mm = shape->offset_mm - radius_mm; /* the stones' inner side */

    if (faces_out(w)) {
        shape->outer_mm = shape->offset_mm + TS_MELEE_CROWN * shape->diameter_mm;
        shape->inner_mm = shape->outer_mm - w->thick_mm;
        return;
    }
    shape->outer_mm = shape->offset_mm + radius_mm + w->rim_mm;
    if (!ts_part_has(&w->halo->part, TS_FIELD_HALO_INNER_RIM)) {
        shape->inner_mm = fmin(w->base_mm, inside_mm);
        return;
    }
    shape->inner_mm = inside_mm - ts_dec_double(w->halo->inner_rim);
    if (w->halo->drop.e6 == 0) {
        /* level with what it goes round, metal ends where that begins */
        shape->inner_mm = fmax(shape->inner_mm, fmin(w->base_mm, inside_mm));
    }
}

static void refuse_plate(const halo_work *w, double offset_mm)
{
    ts_measuring *m = w->m;
    ts_field_id field = faces_out(w) ? TS_FIELD_HALO_THICKNESS : TS_FIELD_HALO_INNER_RIM;

    ts_measuring_refuse(m, &w->halo->part, field,
                        ts_arena_format(m->arena,
                                        "%s: its metal would reach %s mm inside the girdle, where "
                                        "nothing is left; there is room for less than %s mm",
                                        ts_measuring_title(m, &w->halo->part),
                                        ts_measuring_mm(m, -offset_mm),
                                        ts_measuring_mm(m, ts_outline_inmost_mm(w->outline))));
}

/* What a plate shares with the claws and bezels of the stone that it goes round: it gives way
 * to them. Depths are below the held stone's girdle. */
static double held_mm3(const halo_work *w, double height_mm)
{
    const ts_measuring *m = w->m;
    double drop_mm = ts_dec_double(w->halo->drop);
    double high_mm = faces_out(w) ? drop_mm - height_mm / 2.0 : drop_mm;
    double low_mm = high_mm + height_mm, sum_mm3 = 0.0;
    int stone = w->halo->stone_ref.index;

    for (int h = 0; h < m->design->head_count; h++) {
        const ts_ref *holds = &m->design->head[h].holds_ref;
        if (holds->kind == TS_PART_STONE && holds->index == stone) {
            sum_mm3 += ts_claws_in_plate_mm3(m, h, w->shape->inner_mm, high_mm, low_mm);
        }
    }
    for (int b = 0; b < m->design->bezel_count; b++) {
        const ts_bezel *bezel = &m->design->bezel[b];
        double over_mm = TS_BEZEL_OVER * ts_stone_crown_mm(m->out->stones[stone].depth_mm);
        double foot_mm = fmin(low_mm, ts_dec_double(bezel->height) - over_mm);
        double edge_mm = fmin(ts_dec_double(bezel->wall), w->shape->outer_mm);
        double from_mm = fmax(0.0, w->shape->inner_mm), shared_mm3 = 0.0, bad_mm;
        if (bezel->holds_ref.kind == TS_PART_STONE && bezel->holds_ref.index == stone &&
            foot_mm > fmax(high_mm, -over_mm) && edge_mm > from_mm &&
            ts_plate_mm3(&shared_mm3, &bad_mm, w->outline, from_mm, edge_mm,
                         foot_mm - fmax(high_mm, -over_mm))) {
            sum_mm3 += shared_mm3;
        }
    }
    return sum_mm3;
}

static bool measure_metal(const halo_work *w)
{
    ts_row_shape *shape = w->shape;
    double height_mm = faces_out(w) ? shape->diameter_mm + 2.0 * w->rim_mm : w->thick_mm;
    double sunk_mm = faces_out(w) ? TS_MELEE_CROWN * shape->diameter_mm : 0.0;
    double depth_mm = w->thick_mm - sunk_mm; /* of metal below the girdles of its stones */
    double gross_mm3 = 0.0, bad_mm = 0.0;

    set_edges(w);
    if (!ts_plate_mm3(&gross_mm3, &bad_mm, w->outline, shape->inner_mm, shape->outer_mm,
                      height_mm)) {
        refuse_plate(w, bad_mm);
        return false;
    }
    shape->seats_mm3 = fmin(gross_mm3, shape->stones * ts_seat_mm3(shape->diameter_mm, depth_mm));
    shape->metal_mm3 = fmax(0.0, gross_mm3 - shape->seats_mm3 - held_mm3(w, height_mm));
    shape->under_seat_mm = ts_seat_under_mm(shape->diameter_mm, depth_mm);
    return true;
}

/* Room between the claws of the held stone and the stones of a halo that faces up. */
static void measure_claw_room(const halo_work *w)
{
    ts_measuring *m = w->m;
    ts_row_shape *shape = w->shape;

    for (int h = 0; h < m->design->head_count && !faces_out(w); h++) {
        const ts_head_shape *head = &m->out->heads[h];
        if (m->design->head[h].holds_ref.kind != TS_PART_STONE ||
            m->design->head[h].holds_ref.index != w->halo->stone_ref.index) {
            continue;
        }
        for (int c = 0; c < head->claw_spot_count; c++) {
            const ts_spot *claw = &head->claw_spots[c];
            for (int i = 0; i < shape->stones; i++) {
                double room_mm =
                    hypot(shape->spots[i].x_mm - claw->x_mm, shape->spots[i].y_mm - claw->y_mm) -
                    shape->diameter_mm / 2.0 - claw->diameter_mm / 2.0;
                shape->claw_room_mm =
                    shape->has_claw_room ? fmin(shape->claw_room_mm, room_mm) : room_mm;
                shape->has_claw_room = true;
            }
        }
    }
}

/* Where the counting begins; false where what it goes round has a fault of its own. */
static bool find_base(halo_work *w)
{
    const ts_ref *around = &w->halo->around_ref;
    const ts_ref *under = &w->halo->under_ref;

    if (under->kind == TS_PART_HALO && !w->m->halo_good[under->index]) {
        return false;
    }
    w->base_mm = 0.0;
    if (around->kind == TS_PART_HALO) {
        w->base_mm = w->m->out->halos[around->index].outer_mm;
        return w->m->halo_good[around->index];
    }
    return true;
}

static bool measure_halo(ts_measuring *m, int index)
{
    const ts_halo *halo = &m->design->halo[index];
    halo_work w = {.m = m,
                   .halo = halo,
                   .shape = &m->out->halos[index],
                   .thick_mm = ts_dec_double(halo->thickness),
                   .rim_mm = ts_dec_double(halo->rim)};

    if (halo->stone_ref.kind != TS_PART_STONE) {
        return false;
    }
    w.outline = &m->outlines[halo->stone_ref.index];
    w.shape->copies = m->design->stone[halo->stone_ref.index].copies;
    if (w.outline->count == 0 || !find_base(&w) || !measure_row(&w) || !measure_metal(&w)) {
        return false;
    }
    measure_claw_room(&w);
    return true;
}

/* True where what a halo names stands earlier in the order `done`. */
static bool is_ready(const ts_halo *halo, const bool *done)
{
    return (halo->around_ref.kind != TS_PART_HALO || done[halo->around_ref.index]) &&
           (halo->under_ref.kind != TS_PART_HALO || done[halo->under_ref.index]);
}

void ts_halos_measure(ts_measuring *m)
{
    int count = m->design->halo_count;
    bool *done = TS_ARRAY(m->arena, bool, (size_t)count + 1);

    for (int pass = 0; pass < count; pass++) {
        for (int i = 0; i < count; i++) {
            if (!done[i] && is_ready(&m->design->halo[i], done)) {
                m->halo_good[i] = measure_halo(m, i);
                done[i] = true;
            }
        }
    }
}
