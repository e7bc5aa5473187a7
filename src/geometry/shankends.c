#include "geometry/measuring.h"

#include <math.h>

#include "geometry/height.h"

/* Whether the ends of an open shank reach what they should carry.
 *
 *       z      .-----------.  girdle        In the plane across the finger, y = 0: what holds a
 *       |       \         / )               stone is taken as everything between its two sides,
 *       |        \_______/ )  base rail     as thick as claw or rail, a plate as a box. The band
 *       |   end /|  gap                     is its end and its outside from there down, sampled
 *       |      / |                          more finely than a gauge tells. So what comes out is
 *       o------------------- x              never more than the room that there is.
 *     finger's top
 *
 * Nothing is said where a stone has no place of its own, or a mesh or plain metal may join. */

#define PI 3.14159265358979323846
#define ALONG_END 64
#define DOWN_SIDE 96 /* down to a right angle from the top */

/* A convex figure, corners counter-clockwise, and how far metal lies outside it. */
typedef struct body {
    ts_xy corners[4];
    double round_mm;
} body;

static double from_edge_mm(ts_xy at, ts_xy one, ts_xy other)
{
    double x = other.x_mm - one.x_mm, y = other.y_mm - one.y_mm;
    double square = x * x + y * y;
    double share =
        square > 0.0 ? ((at.x_mm - one.x_mm) * x + (at.y_mm - one.y_mm) * y) / square : 0.0;

    share = fmin(fmax(share, 0.0), 1.0);
    return hypot(at.x_mm - one.x_mm - share * x, at.y_mm - one.y_mm - share * y);
}

static double from_body_mm(ts_xy at, const body *of)
{
    bool is_inside = true;
    double least_mm = HUGE_VAL;

    for (int i = 0; i < 4; i++) {
        ts_xy one = of->corners[i], other = of->corners[(i + 1) % 4];
        is_inside = is_inside && (other.x_mm - one.x_mm) * (at.y_mm - one.y_mm) >=
                                     (other.y_mm - one.y_mm) * (at.x_mm - one.x_mm);
        least_mm = fmin(least_mm, from_edge_mm(at, one, other));
    }
    return is_inside ? 0.0 : fmax(0.0, least_mm - of->round_mm);
}

static ts_xy on_band(const ts_band *band, double angle_rad, double height_mm)
{
    double radius_mm = band->bore_radius_mm + height_mm;

    ts_xy at = {.x_mm = radius_mm * sin(angle_rad), .y_mm = radius_mm * cos(angle_rad)};

    at.y_mm -= band->bore_radius_mm;
    return at;
}

/* From the right end of the band and its outside below to a body. */
static double room_mm(const ts_band *band, const body *of)
{
    double end_rad = band->open_rad / 2.0;
    double end_mm = ts_band_height_mm(band, end_rad, 0.0);
    double least_mm = HUGE_VAL;

    for (int i = 0; i <= ALONG_END; i++) {
        ts_xy at = on_band(band, end_rad, end_mm * i / ALONG_END);
        least_mm = fmin(least_mm, from_body_mm(at, of));
    }
    for (int i = 1; i <= DOWN_SIDE && end_rad < PI / 2.0; i++) {
        double angle_rad = end_rad + (PI / 2.0 - end_rad) * i / DOWN_SIDE;
        ts_xy at = on_band(band, angle_rad, ts_band_height_mm(band, angle_rad, 0.0));
        least_mm = fmin(least_mm, from_body_mm(at, of));
    }
    return least_mm;
}

/* Between two heights, from `left` to `right`, drawn in at the foot by `inset`; mirrored for
 * the left end of the band. */
static body body_of(double side, double left_mm, double right_mm, double inset_mm, double low_mm,
                    double high_mm)
{
    double from_mm = side > 0.0 ? left_mm : -right_mm, to_mm = side > 0.0 ? right_mm : -left_mm;
    double in_mm = fmin(inset_mm, (to_mm - from_mm) / 2.0);

    return (body){.corners = {{from_mm + in_mm, low_mm},
                              {to_mm - in_mm, low_mm},
                              {to_mm, fmax(low_mm, high_mm)},
                              {from_mm, fmax(low_mm, high_mm)}}};
}

/* The sides of a copy of a stone in the plan. */
static void sides_of(const ts_measuring *m, int stone, int copy, double *left_mm, double *right_mm)
{
    const ts_spot *at = &m->out->stones[stone].spots[copy];

    *left_mm = at->x_mm - ts_reach_in_plan_mm(m, stone, at, PI / 2.0);
    *right_mm = at->x_mm + ts_reach_in_plan_mm(m, stone, at, -PI / 2.0);
}

static body head_body(const ts_measuring *m, const ts_head *head, int copy, double side)
{
    const ts_stone_shape *stone = &m->out->stones[head->holds_ref.index];
    double below_mm = ts_stone_pavilion_mm(stone->depth_mm) + ts_stone_girdle_mm(stone->depth_mm);
    double foot_mm = fmin(stone->girdle_mm - below_mm, ts_dec_double(head->culet_clearance));
    double thick_mm = fmax(ts_dec_double(head->claw_diameter), ts_dec_double(head->rail_diameter));
    double left_mm, right_mm;

    sides_of(m, head->holds_ref.index, copy, &left_mm, &right_mm);
    body of =
        body_of(side, left_mm, right_mm, ts_dec_double(head->inset), foot_mm, stone->girdle_mm);
    of.round_mm = thick_mm / 2.0;
    return of;
}

static body bezel_body(const ts_measuring *m, const ts_bezel *bezel, int copy, double side)
{
    const ts_stone_shape *stone = &m->out->stones[bezel->holds_ref.index];
    double top_mm = stone->girdle_mm + TS_BEZEL_OVER * ts_stone_crown_mm(stone->depth_mm);
    double wall_mm = ts_dec_double(bezel->wall), left_mm, right_mm;

    sides_of(m, bezel->holds_ref.index, copy, &left_mm, &right_mm);
    return body_of(side, left_mm - wall_mm, right_mm + wall_mm, 0.0,
                   top_mm - ts_dec_double(bezel->height), top_mm);
}

static body halo_body(const ts_measuring *m, int index, int copy, double side)
{
    const ts_row_shape *shape = &m->out->halos[index];
    int stone = m->design->halo[index].stone_ref.index;
    double left_mm, right_mm;

    sides_of(m, stone, copy, &left_mm, &right_mm);
    return body_of(side, left_mm - shape->outer_mm, right_mm + shape->outer_mm, 0.0,
                   shape->underside_mm, m->out->stones[stone].girdle_mm);
}

/* The least room of one end to all that it may carry. */
static double end_room_mm(const ts_measuring *m, double side)
{
    const ts_design *d = m->design;
    double least_mm = HUGE_VAL;
    body of;

    for (int i = 0; i < d->head_count; i++) {
        for (int k = 0; k < m->out->heads[i].copies; k++) {
            of = head_body(m, &d->head[i], k, side);
            least_mm = fmin(least_mm, room_mm(&m->band, &of));
        }
    }
    for (int i = 0; i < d->bezel_count; i++) {
        for (int k = 0; k < m->out->bezels[i].copies; k++) {
            of = bezel_body(m, &d->bezel[i], k, side);
            least_mm = fmin(least_mm, room_mm(&m->band, &of));
        }
    }
    for (int i = 0; i < d->halo_count; i++) {
        for (int k = 0; k < m->out->halos[i].copies; k++) {
            of = halo_body(m, i, k, side);
            least_mm = fmin(least_mm, room_mm(&m->band, &of));
        }
    }
    return least_mm;
}

/* Every stone stands where the sheet says: one in the middle, others beside it. */
static bool are_placed(const ts_measuring *m)
{
    int middles = 0;

    for (int i = 0; i < m->design->stone_count; i++) {
        const ts_stone *stone = &m->design->stone[i];
        middles += stone->beside_ref.kind == TS_PART_NONE ? m->out->stones[i].copies : 0;
    }
    return middles == 1;
}

void ts_band_ends_measure(ts_measuring *m)
{
    const ts_design *d = m->design;

    if (!m->has_band || !(m->band.open_rad > 0.0) || d->head_count + d->bezel_count == 0 ||
        d->mesh_count > 0 || d->metal_count > 0 || !are_placed(m)) {
        return;
    }
    double room = fmax(end_room_mm(m, 1.0), end_room_mm(m, -1.0));
    m->out->has_end_room = isfinite(room);
    m->out->end_room_mm = m->out->has_end_room ? room : 0.0;
}
