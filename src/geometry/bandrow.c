#include "geometry/measuring.h"

#include <math.h>

#include "geometry/rows.h"
#include "geometry/seat.h"

/* Melee along the shank.
 *
 *      face    ____ . . ____       Each line of stones lies on an arc about the ring's axis,
 *             /   o   o     \      a crown height inside the face of the metal. Where the
 *            / o         o   \     face is not a circle (the shank thins, or changes its
 *           |                 |    profile) the arc takes the least radius along the row,
 *                                  so that what is counted fits everywhere.
 *
 * Lines that face out stand side by side across the width, a stone and a spacing apart. Those
 * that face the side lie along the middle of the thickness, on one side and the other in turn.
 * Both shoulders are alike; what is worked out is the right one. */

#define PI 3.14159265358979323846
#define SAMPLES 32 /* of the face along a row, between its ends */
#define STRIPS 16  /* of a seat across the shank */

typedef struct row_work {
    ts_measuring *m;
    const ts_row *row;
    ts_row_shape *shape;
    double spacing_mm;
    double from_rad, to_rad;
    double *diameters_mm;
    int diameters;
    double largest_mm;
    size_t room; /* for spots */
} row_work;

static bool faces_side(const row_work *w)
{
    return w->row->faces == TS_FACES_SIDE;
}

/* Across the width, from the middle: the line's own stone centres. */
static double line_across_mm(const row_work *w, int line)
{
    return (line - (w->row->lines - 1) / 2.0) * (w->largest_mm + w->spacing_mm);
}

static double height_across_mm(const row_work *w, double angle_rad, double across_mm)
{
    double width_mm = ts_band_width_mm(&w->m->band, angle_rad);
    double x = fmax(-1.0, fmin(1.0, 2.0 * across_mm / width_mm));

    return ts_band_height_mm(&w->m->band, angle_rad, x);
}

static double sample_rad(const row_work *w, int i)
{
    return w->from_rad + (w->to_rad - w->from_rad) * i / SAMPLES;
}

/* Radius of the face that a line lies in (of the middle of the thickness for the side). */
static double face_mm(const row_work *w, int line)
{
    double least_mm = HUGE_VAL;

    for (int i = 0; i <= SAMPLES; i++) {
        double angle_rad = sample_rad(w, i);
        double rise_mm = faces_side(w) ? ts_band_thickness_mm(&w->m->band, angle_rad) / 2.0
                                       : height_across_mm(w, angle_rad, line_across_mm(w, line));
        least_mm = fmin(least_mm, rise_mm);
    }
    return w->m->band.bore_radius_mm + least_mm;
}

/* Metal below a stone's girdle, through to the finger or to the other side. */
static double metal_below_mm(const row_work *w, double angle_rad, int line, double diameter_mm)
{
    const ts_band *band = &w->m->band;
    double crown_mm = TS_MELEE_CROWN * diameter_mm;

    if (faces_side(w)) {
        double width_mm = ts_band_width_mm(band, angle_rad);
        return (w->row->lines > 1 ? width_mm / 2.0 : width_mm) - crown_mm;
    }
    double width_mm = ts_band_width_mm(band, angle_rad);
    double x = fmax(-1.0, fmin(1.0, 2.0 * line_across_mm(w, line) / width_mm));
    return ts_band_height_mm(band, angle_rad, x) - ts_band_relief_mm(band, angle_rad, x) - crown_mm;
}

/* Sizes that a graduated row goes through: the first, the lot's steps between, the last. The
 * steps that the first and the last belong to (the nearest ones) are not met twice. */
static void list_diameters(row_work *w)
{
    const ts_row *row = w->row;
    double first_mm = ts_dec_double(row->stone_diameter);
    double last_mm = row->end_diameter.e6 > 0 ? ts_dec_double(row->end_diameter) : first_mm;
    int first_step = 0, last_step = 0;

    w->diameters_mm = TS_ARRAY(w->m->arena, double, (size_t)row->fit_count + 2);
    w->diameters_mm[w->diameters++] = first_mm;
    w->largest_mm = fmax(first_mm, last_mm);
    if (first_mm == last_mm) {
        return;
    }
    for (int i = 1; i < row->fit_count; i++) {
        double step_mm = ts_dec_double(row->fit_mm[i]);
        if (fabs(step_mm - first_mm) < fabs(ts_dec_double(row->fit_mm[first_step]) - first_mm)) {
            first_step = i;
        }
        if (fabs(step_mm - last_mm) < fabs(ts_dec_double(row->fit_mm[last_step]) - last_mm)) {
            last_step = i;
        }
    }
    int way = last_mm < first_mm ? -1 : 1;
    for (int i = first_step + way; way * (last_step - i) > 0 && row->fit_count > 0; i += way) {
        w->diameters_mm[w->diameters++] = ts_dec_double(row->fit_mm[i]);
    }
    w->diameters_mm[w->diameters++] = last_mm;
}

static void refuse(const row_work *w, ts_field_id field, const char *sentence)
{
    ts_measuring_refuse(w->m, &w->row->part, field, sentence);
}

static const char *title_of(const row_work *w)
{
    return ts_measuring_title(w->m, &w->row->part);
}

static const char *degrees(const row_work *w, double angle_rad)
{
    return ts_measuring_mm(w->m, angle_rad * 180.0 / PI);
}

/* The arc must lie on metal. False after a fault. */
static bool judge_arc(const row_work *w)
{
    double open_rad = w->m->band.open_rad / 2.0;

    if (w->from_rad < open_rad - 1e-12) {
        refuse(w, TS_FIELD_ROW_FROM,
               ts_arena_format(w->m->arena,
                               "%s: begins %s deg from the top, where the shank is open; a row "
                               "can begin at %s deg",
                               title_of(w), degrees(w, w->from_rad), degrees(w, open_rad)));
        return false;
    }
    if (!(w->to_rad > w->from_rad)) {
        refuse(w, TS_FIELD_ROW_TO,
               ts_arena_format(w->m->arena, "%s: ends at %s deg, before it begins at %s deg",
                               title_of(w), degrees(w, w->to_rad), degrees(w, w->from_rad)));
        return false;
    }
    return true;
}

/* The stones must find room across the shank. False after a fault. */
static bool judge_width(row_work *w)
{
    const ts_band *band = &w->m->band;
    double taken_mm = w->row->lines * w->largest_mm + (w->row->lines - 1) * w->spacing_mm;
    double width_mm = HUGE_VAL, thickness_mm = HUGE_VAL;

    for (int i = 0; i <= SAMPLES; i++) {
        width_mm = fmin(width_mm, ts_band_width_mm(band, sample_rad(w, i)));
        thickness_mm = fmin(thickness_mm, ts_band_thickness_mm(band, sample_rad(w, i)));
    }
    w->shape->narrowest_mm = width_mm;
    w->shape->thinnest_mm = thickness_mm;
    if (faces_side(w)) {
        taken_mm = w->largest_mm;
        width_mm = thickness_mm;
    }
    if (taken_mm <= width_mm + 1e-9) {
        return true;
    }
    refuse(w,
           w->row->lines > 1 && !faces_side(w) ? TS_FIELD_ROW_LINES : TS_FIELD_ROW_STONE_DIAMETER,
           ts_arena_format(w->m->arena,
                           "%s: its stones take %s mm across; the shank is %s mm %s there",
                           title_of(w), ts_measuring_mm(w->m, taken_mm),
                           ts_measuring_mm(w->m, width_mm), faces_side(w) ? "thick" : "wide"));
    return false;
}

static ts_open_ask ask_of(const row_work *w, int line)
{
    return (ts_open_ask){.from_rad = w->from_rad,
                         .to_rad = w->to_rad,
                         .face_mm = face_mm(w, line),
                         .sunk = faces_side(w) ? 0.0 : TS_MELEE_CROWN,
                         .spacing_mm = w->spacing_mm,
                         .diameters_mm = w->diameters_mm,
                         .diameters = w->diameters};
}

static bool refuse_many(const row_work *w, int count)
{
    refuse(w, TS_FIELD_ROW_STONE_DIAMETER,
           ts_arena_format(w->m->arena, "%s: %s%d stones; a row has at most %d", title_of(w),
                           count > TS_MOST_ROW_STONES ? "" : "more than ", count,
                           TS_MOST_ROW_STONES));
    return false;
}

/* As many as fit between two angles, or as many as the sheet says. False after a fault. */
static bool fill(row_work *w, const ts_open_ask *ask, ts_open_row *open)
{
    ts_open_ask whole = *ask;
    ts_open_row most = {.count = 0};
    double centre_mm = ask->face_mm - ask->sunk * w->diameters_mm[0];

    if (w->row->count == 0) {
        if (ts_open_row_of(open, ask)) {
            return true;
        }
        if (open->fault == TS_ROW_FAULT_MANY) {
            return refuse_many(w, TS_MOST_ROW_STONES);
        }
        refuse(w, TS_FIELD_ROW_TO,
               ts_arena_format(
                   w->m->arena, "%s: no stone of %s mm fits between %s and %s deg; it takes %s deg",
                   title_of(w), ts_measuring_mm(w->m, w->diameters_mm[0]), degrees(w, w->from_rad),
                   degrees(w, w->to_rad),
                   degrees(w, 2.0 * asin(fmin(1.0, w->diameters_mm[0] / 2.0 / centre_mm)))));
        return false;
    }
    if (ts_open_row_counted(open, ask, w->row->count) && open->to_rad <= PI + 1e-9) {
        return true;
    }
    whole.to_rad = PI;
    int fit = ts_open_row_of(&most, &whole) ? most.count : 0;
    refuse(w, TS_FIELD_ROW_COUNT,
           ts_arena_format(w->m->arena,
                           "%s: %d stones of %s mm don't fit between %s deg and the base; %d do",
                           title_of(w), w->row->count, ts_measuring_mm(w->m, w->diameters_mm[0]),
                           degrees(w, w->from_rad), fit));
    return false;
}

static void add_size(row_work *w, double diameter_mm, int stones)
{
    ts_row_shape *shape = w->shape;

    for (int i = 0; i < shape->size_count; i++) {
        if (shape->sizes[i].diameter_mm == diameter_mm) {
            shape->sizes[i].stones += stones;
            return;
        }
    }
    shape->sizes[shape->size_count++] = (struct ts_size_run){diameter_mm, stones};
}

/* How far below a stone's girdle the face lies so far beside it; HUGE_VAL off the shank. */
static double fall_mm(const row_work *w, const ts_open_stone *stone, int line, double beside_mm)
{
    double line_mm = line_across_mm(w, line), across_mm = line_mm + beside_mm;
    double girdle_mm =
        height_across_mm(w, stone->angle_rad, line_mm) - TS_MELEE_CROWN * stone->diameter_mm;

    if (fabs(across_mm) > ts_band_width_mm(&w->m->band, stone->angle_rad) / 2.0) {
        return HUGE_VAL;
    }
    return girdle_mm - height_across_mm(w, stone->angle_rad, across_mm);
}

/* A seat in a face that stays over the girdle as far as the stone reaches is whole; on a ridge
 * or an arch it is the part that strips only as deep as there is metal are of whole ones. */
static double seat_mm3(const row_work *w, const ts_open_stone *stone, int line, double metal_mm)
{
    double radius_mm = stone->diameter_mm / 2.0,
           whole_mm3 = ts_seat_mm3(stone->diameter_mm, metal_mm);
    double left_mm2 = 0.0, all_mm2 = 0.0;

    if (faces_side(w) ||
        (fall_mm(w, stone, line, radius_mm) <= 0.0 && fall_mm(w, stone, line, -radius_mm) <= 0.0)) {
        return whole_mm3;
    }
    for (int i = 0; i < STRIPS; i++) {
        double turn_rad = PI * ((i + 0.5) / STRIPS - 0.5);
        double beside_mm = radius_mm * sin(turn_rad);
        double below_mm = fmax(0.0, fall_mm(w, stone, line, beside_mm));
        left_mm2 += cos(turn_rad) *
                    ts_seat_strip_mm2(stone->diameter_mm, metal_mm, fabs(beside_mm), below_mm);
        all_mm2 +=
            cos(turn_rad) * ts_seat_strip_mm2(stone->diameter_mm, metal_mm, fabs(beside_mm), 0.0);
    }
    return all_mm2 > 0.0 ? whole_mm3 * left_mm2 / all_mm2 : whole_mm3;
}

static void add_stone(row_work *w, const ts_open_stone *stone, int line)
{
    ts_row_shape *shape = w->shape;
    double metal_mm = metal_below_mm(w, stone->angle_rad, line, stone->diameter_mm);
    double width_mm = ts_band_width_mm(&w->m->band, stone->angle_rad);
    double across_mm = faces_side(w) ? (line % 2 == 0 ? 1.0 : -1.0) *
                                           (width_mm / 2.0 - TS_MELEE_CROWN * stone->diameter_mm)
                                     : line_across_mm(w, line);
    double under_mm = ts_seat_under_mm(stone->diameter_mm, metal_mm);
    double drilled_mm3 = seat_mm3(w, stone, line, metal_mm);

    shape->under_seat_mm = shape->stones == 0 ? under_mm : fmin(shape->under_seat_mm, under_mm);
    for (int shoulder = 0; shoulder < w->row->shoulders; shoulder++) {
        double side = shoulder == 0 ? 1.0 : -1.0;
        shape->spots = ts_arena_grow(w->m->arena, shape->spots, (size_t)shape->stones, &w->room,
                                     sizeof *shape->spots);
        shape->spots[shape->stones++] =
            (ts_spot){.x_mm = side * stone->radius_mm * sin(stone->angle_rad),
                      .y_mm = across_mm,
                      .z_mm = stone->radius_mm * cos(stone->angle_rad) - w->m->band.bore_radius_mm,
                      .diameter_mm = stone->diameter_mm,
                      .angle_rad = side * stone->angle_rad};
        shape->seats_mm3 += drilled_mm3;
    }
    add_size(w, stone->diameter_mm, w->row->shoulders);
}

/* One line of stones. The spacing reported is the least of all lines. False after a fault. */
static bool measure_line(row_work *w, int line)
{
    ts_row_shape *shape = w->shape;
    ts_open_ask ask = ask_of(w, line);
    ts_open_row open;

    if (!fill(w, &ask, &open)) {
        return false;
    }
    int most = open.count * w->row->shoulders * w->row->lines;
    if (most > TS_MOST_ROW_STONES) {
        return refuse_many(w, most);
    }
    if (line == 0) {
        shape->spacing_mm = open.spacing_mm;
        shape->line_mm = (ask.face_mm - ask.sunk * w->diameters_mm[0]) *
                         (open.to_rad - open.from_rad) * w->row->shoulders;
    }
    shape->spacing_mm = fmin(shape->spacing_mm, open.spacing_mm);
    ts_open_stone *stones = TS_ARRAY(w->m->arena, ts_open_stone, (size_t)open.count);
    int count = ts_open_row_place(stones, open.count, &ask, &open);
    if (shape->stones + count * w->row->shoulders > TS_MOST_ROW_STONES) {
        return refuse_many(w, shape->stones + count * w->row->shoulders);
    }
    for (int i = 0; i < count; i++) {
        add_stone(w, &stones[i], line);
    }
    return true;
}

/* Where a counted row ends, for the face below it: first taken as far as the base. */
static void narrow_counted(row_work *w)
{
    for (int i = 0; i < 4 && w->row->count > 0; i++) {
        ts_open_ask ask = ask_of(w, 0);
        ts_open_row open;
        if (!ts_open_row_counted(&open, &ask, w->row->count) || !(open.to_rad < PI)) {
            return;
        }
        w->to_rad = open.to_rad;
    }
}

void ts_band_row_measure(ts_measuring *m, int index)
{
    const ts_row *row = &m->design->row[index];
    row_work w = {.m = m,
                  .row = row,
                  .shape = &m->out->rows[index],
                  .spacing_mm = ts_dec_double(row->spacing),
                  .from_rad = ts_dec_double(row->from) * PI / 180.0,
                  .to_rad = row->count > 0 ? PI : ts_dec_double(row->to) * PI / 180.0};

    w.shape->copies = 1;
    if (!m->has_band) {
        if (m->design->shank_count == 0) {
            ts_measuring_refuse(m, &row->part, TS_FIELD_ROW_FROM,
                                ts_arena_format(m->arena,
                                                "%s: lies along the shank, and the sheet has none",
                                                title_of(&w)));
        }
        return;
    }
    list_diameters(&w);
    w.shape->sizes = TS_ARRAY(m->arena, struct ts_size_run, (size_t)w.diameters + 1);
    w.shape->diameter_mm = w.largest_mm;
    if (!judge_arc(&w)) {
        return;
    }
    narrow_counted(&w);
    if (!judge_width(&w)) {
        return;
    }
    for (int line = 0; line < row->lines; line++) {
        if (!measure_line(&w, line)) {
            return;
        }
    }
    m->out->shank_seats_mm3 += w.shape->seats_mm3;
}
