#include "geometry/measuring.h"

#include <math.h>

#include "geometry/height.h"

/* Where everything stands: in plan and over the finger.
 *
 *                 y (along the finger)
 *                 |      a centre stands at the origin, its length along y. What flanks it
 *        <o-   ( + )   -o>   stands left and right along x, its length away from it; two
 *                 |      are mirror images. A stone without a place of its own that is not the
 *                        first is laid out to the right of those before, for the drawing.
 *
 * `gap` is between the outer edges along x: exact for outlines that are symmetric about it, on
 * the safe side for turned ones. */

#define PI 3.14159265358979323846
#define LAID_OUT_MM 2.0 /* between stones that have no place of their own */

static ts_xy unit(double angle_rad)
{
    return (ts_xy){-sin(angle_rad), cos(angle_rad)};
}

/* How far an arc reaches along u: at its end, or where its normal is u. */
static double reach_of_arc(const ts_piece *piece, ts_xy u)
{
    double way = piece->sweep_rad < 0.0 ? -1.0 : 1.0;
    double turn_rad = way * (atan2(u.y_mm, u.x_mm) - piece->start_rad);

    turn_rad -= 2.0 * PI * floor(turn_rad / (2.0 * PI));
    if (way < 0.0 || turn_rad > fabs(piece->sweep_rad)) {
        return -HUGE_VAL;
    }
    return piece->centre.x_mm * u.x_mm + piece->centre.y_mm * u.y_mm + piece->radius_mm;
}

/* The same for an ellipse: its support is |(w ux, l uy)|. An oval's chain covers it whole. */
static double reach_of_ellipse(const ts_piece *piece, ts_xy u)
{
    return hypot(piece->half_width_mm * u.x_mm, piece->half_length_mm * u.y_mm) + piece->offset_mm;
}

/* How far an outline reaches from its origin in a direction of its own frame: its support. */
static double reach_mm(const ts_outline *outline, double angle_rad)
{
    ts_xy u = unit(angle_rad);
    double reach = -HUGE_VAL;

    for (int i = 0; i < outline->count; i++) {
        const ts_piece *piece = &outline->pieces[i];
        reach = fmax(reach, piece->from.x_mm * u.x_mm + piece->from.y_mm * u.y_mm);
        if (piece->kind == TS_PIECE_ARC) {
            reach = fmax(reach, reach_of_arc(piece, u));
        } else if (piece->kind == TS_PIECE_ELLIPSE) {
            reach = fmax(reach, reach_of_ellipse(piece, u));
        }
    }
    return isfinite(reach) ? reach : 0.0;
}

double ts_reach_in_plan_mm(const ts_measuring *m, int stone, const ts_spot *at, double angle_rad)
{
    return reach_mm(&m->outlines[stone], angle_rad - at->angle_rad);
}

/* A stone or a halo that is flanked: the stone in it, and how far its edge lies outside. */
static int flanked(const ts_measuring *m, const ts_stone *stone, double *edge_mm)
{
    *edge_mm = 0.0;
    if (stone->beside_ref.kind == TS_PART_HALO) {
        *edge_mm = m->out->halos[stone->beside_ref.index].outer_mm;
        return m->design->halo[stone->beside_ref.index].stone_ref.index;
    }
    return stone->beside_ref.index;
}

/* The way a flanking stone's length looks, on the right side. */
static double turn_beside_rad(const ts_stone *stone)
{
    double away_rad = stone->tip == TS_TIP_IN ? PI / 2.0 : -PI / 2.0;

    return away_rad + ts_dec_double(stone->turn) * PI / 180.0;
}

/* Copies go right, left, right, left; further ones outside the earlier. */
static void place_beside(const ts_measuring *m, int index)
{
    const ts_stone *stone = &m->design->stone[index];
    ts_stone_shape *shape = &m->out->stones[index];
    double edge_mm = 0.0, gap_mm = ts_dec_double(stone->gap);
    int held = flanked(m, stone, &edge_mm);
    const ts_stone_shape *centre = &m->out->stones[held];
    double turn_rad = turn_beside_rad(stone);

    for (int i = 0; i < stone->copies; i++) {
        double side = i % 2 == 0 ? 1.0 : -1.0;
        const ts_spot *from = &centre->spots[i % 2 < centre->copies ? i % 2 : 0];
        ts_spot *spot = &shape->spots[i];

        *spot = (ts_spot){
            .y_mm = from->y_mm, .diameter_mm = shape->width_mm, .angle_rad = side * turn_rad};
        double own_mm = ts_reach_in_plan_mm(m, index, spot, side * PI / 2.0);
        if (i < 2) {
            spot->x_mm = from->x_mm + side * (ts_reach_in_plan_mm(m, held, from, -side * PI / 2.0) +
                                              edge_mm + gap_mm + own_mm);
        } else {
            double out_mm = ts_reach_in_plan_mm(m, index, spot, -side * PI / 2.0);
            spot->x_mm = shape->spots[i - 2].x_mm + side * (out_mm + gap_mm + own_mm);
        }
    }
}

/* The first stone at the origin, others laid out to the right; *free_mm is where there is room. */
static void place_centre(const ts_measuring *m, int index, double *free_mm)
{
    const ts_stone *stone = &m->design->stone[index];
    ts_stone_shape *shape = &m->out->stones[index];
    double turn_rad = ts_dec_double(stone->turn) * PI / 180.0;

    for (int i = 0; i < stone->copies; i++) {
        ts_spot *spot = &shape->spots[i];
        *spot = (ts_spot){.diameter_mm = shape->width_mm, .angle_rad = turn_rad};
        if (*free_mm > 0.0) {
            spot->x_mm = *free_mm + ts_reach_in_plan_mm(m, index, spot, PI / 2.0);
        }
        *free_mm = spot->x_mm + ts_reach_in_plan_mm(m, index, spot, -PI / 2.0) + LAID_OUT_MM;
    }
}

/* What a stone flanks is placed before it; the design has judged that this ends. */
static void place_stones(const ts_measuring *m, bool *done)
{
    int count = m->design->stone_count;
    double free_mm = 0.0;

    for (int i = 0; i < count; i++) {
        const ts_stone *stone = &m->design->stone[i];
        int copies = stone->copies > 0 ? stone->copies : 1;
        m->out->stones[i].spots = TS_ARRAY(m->arena, ts_spot, (size_t)copies);
        if (stone->beside_ref.kind == TS_PART_NONE) {
            place_centre(m, i, &free_mm);
            done[i] = true;
        }
    }
    for (int pass = 0; pass < count; pass++) {
        for (int i = 0; i < count; i++) {
            double edge_mm;
            if (!done[i] && done[flanked(m, &m->design->stone[i], &edge_mm)]) {
                place_beside(m, i);
                done[i] = true;
            }
        }
    }
}

/* ---- heights ---- */

/* Without outlines all is as it was kept, and only what is whole is kept (memory.c). */
static bool is_drawn(const ts_measuring *m, int stone)
{
    return m->outlines == NULL || m->outlines[stone].count > 0;
}

static bool is_good_halo(const ts_measuring *m, int halo)
{
    return m->halo_good == NULL || m->halo_good[halo];
}

static const ts_head *head_of(const ts_measuring *m, int stone, int *index)
{
    for (int i = 0; i < m->design->head_count; i++) {
        const ts_ref *holds = &m->design->head[i].holds_ref;
        if (holds->kind == TS_PART_STONE && holds->index == stone) {
            *index = i;
            return &m->design->head[i];
        }
    }
    return NULL;
}

static const ts_bezel *bezel_of(const ts_measuring *m, int stone, int *index)
{
    for (int i = 0; i < m->design->bezel_count; i++) {
        const ts_ref *holds = &m->design->bezel[i].holds_ref;
        if (holds->kind == TS_PART_STONE && holds->index == stone) {
            *index = i;
            return &m->design->bezel[i];
        }
    }
    return NULL;
}

/* What holds a stone, and how: by its head, or else by a bezel that stands on the shank and
 * closes a third of the crown's height over the girdle, the stone hanging from there; a bezel
 * too low for that has the culet on the finger. */
typedef struct hold {
    ts_ref holder;
    double clearance_mm; /* of the culet over the finger */
    double top_mm;       /* the holder's highest metal over the finger */
} hold;

static bool hold_of(const ts_measuring *m, int stone, hold *out)
{
    double depth_mm = m->out->stones[stone].depth_mm;
    int index = 0;
    const ts_head *head = head_of(m, stone, &index);

    if (head != NULL) {
        double clearance_mm = ts_dec_double(head->culet_clearance);
        *out = (hold){
            {TS_PART_HEAD, index}, clearance_mm, clearance_mm + m->out->heads[index].height_mm};
        return true;
    }
    const ts_bezel *bezel = bezel_of(m, stone, &index);
    if (bezel == NULL) {
        return false;
    }
    double top_mm = m->shank_top_mm + ts_dec_double(bezel->height);
    double below_mm = ts_stone_pavilion_mm(depth_mm) + ts_stone_girdle_mm(depth_mm);
    double girdle_mm = top_mm - TS_BEZEL_OVER * ts_stone_crown_mm(depth_mm);
    *out = (hold){{TS_PART_BEZEL, index}, fmax(0.0, girdle_mm - below_mm), top_mm};
    return true;
}

bool ts_held_girdle_mm(const ts_measuring *m, int stone, double *girdle_mm)
{
    double depth_mm = m->out->stones[stone].depth_mm;
    hold held;

    if (!hold_of(m, stone, &held)) {
        return false;
    }
    *girdle_mm = held.clearance_mm + ts_stone_pavilion_mm(depth_mm) + ts_stone_girdle_mm(depth_mm);
    return true;
}

/* The stone that a chain of neighbours leads to. */
static int centre_of(const ts_measuring *m, int stone)
{
    double edge_mm;

    for (int i = 0; i < m->design->stone_count; i++) {
        if (m->design->stone[stone].beside_ref.kind == TS_PART_NONE) {
            break;
        }
        stone = flanked(m, &m->design->stone[stone], &edge_mm);
    }
    return stone;
}

static void raise_stones(const ts_measuring *m)
{
    for (int i = 0; i < m->design->stone_count; i++) {
        const ts_stone *stone = &m->design->stone[i];
        ts_stone_shape *shape = &m->out->stones[i];
        int centre = centre_of(m, i);
        double own_mm = 0.0, centre_mm = 0.0;
        bool is_held = ts_held_girdle_mm(m, i, &own_mm);
        bool is_led = centre != i && ts_held_girdle_mm(m, centre, &centre_mm) &&
                      (!is_held || ts_part_has(&stone->part, TS_FIELD_STONE_DROP));

        shape->girdle_mm = is_led ? centre_mm - ts_dec_double(stone->drop) : own_mm;
        for (int k = 0; m->is_placed && k < stone->copies; k++) {
            shape->spots[k].z_mm = shape->girdle_mm;
        }
    }
}

/* Turns and moves spots from a stone's own frame to where its first copy stands. */
static void move_spots(ts_spot *spots, int count, const ts_spot *to, double z_mm)
{
    double cosine = cos(to->angle_rad), sine = sin(to->angle_rad);

    for (int i = 0; i < count; i++) {
        double x_mm = spots[i].x_mm, y_mm = spots[i].y_mm;
        spots[i].x_mm = to->x_mm + x_mm * cosine - y_mm * sine;
        spots[i].y_mm = to->y_mm + x_mm * sine + y_mm * cosine;
        spots[i].z_mm = z_mm;
        spots[i].angle_rad += to->angle_rad;
    }
}

static void move_heads(const ts_measuring *m)
{
    for (int i = 0; i < m->design->head_count; i++) {
        ts_head_shape *shape = &m->out->heads[i];
        int stone = m->design->head[i].holds_ref.index;
        if (shape->claw_spot_count > 0) {
            move_spots(shape->claw_spots, shape->claw_spot_count, m->out->stones[stone].spots,
                       m->out->stones[stone].girdle_mm);
        }
    }
}

static void move_halos(const ts_measuring *m)
{
    for (int i = 0; i < m->design->halo_count; i++) {
        const ts_halo *halo = &m->design->halo[i];
        ts_row_shape *shape = &m->out->halos[i];
        if (!is_good_halo(m, i)) {
            continue;
        }
        const ts_stone_shape *held = &m->out->stones[halo->stone_ref.index];
        double level_mm = held->girdle_mm - ts_dec_double(halo->drop);
        if (m->is_placed) {
            move_spots(shape->spots, shape->stones, held->spots, level_mm);
        }
        shape->underside_mm = level_mm - (halo->faces == TS_FACES_OUT
                                              ? shape->diameter_mm / 2.0 + ts_dec_double(halo->rim)
                                              : ts_dec_double(halo->thickness));
    }
}

static void measure_heights(const ts_measuring *m)
{
    ts_heights *out = &m->out->height;
    bool is_found = false;

    out->shank_top_mm = m->shank_top_mm;
    for (int i = 0; i < m->design->stone_count; i++) {
        hold held;
        if (!is_drawn(m, i) || !hold_of(m, i, &held)) {
            continue;
        }
        ts_rise_from from = {.culet_clearance_mm = held.clearance_mm,
                             .depth_mm = m->out->stones[i].depth_mm,
                             .shank_top_mm = out->shank_top_mm,
                             .head_top_mm = held.top_mm};
        ts_rise rise = ts_rise_of(&from);
        bool is_centre = m->design->stone[i].beside_ref.kind == TS_PART_NONE;
        out->total_mm = fmax(out->total_mm, rise.total_mm);
        if (!is_found ||
            (is_centre && m->design->stone[out->stone].beside_ref.kind != TS_PART_NONE)) {
            is_found = true;
            out->stone = i;
            out->holder = held.holder;
            out->girdle_mm = rise.girdle_mm;
            out->lowest_mm = rise.lowest_mm;
            out->head_rise_mm = held.top_mm - held.clearance_mm;
        }
    }
    out->known = is_found && m->out->bore_mm > 0.0;
}

/* Room for a straight band beside the ring, under the lowest metal of all halos. */
static void measure_room_under(const ts_measuring *m)
{
    ts_heights *out = &m->out->height;
    double lowest_mm = HUGE_VAL;

    for (int i = 0; i < m->design->halo_count; i++) {
        hold held;
        if (is_good_halo(m, i) && hold_of(m, m->design->halo[i].stone_ref.index, &held)) {
            lowest_mm = fmin(lowest_mm, m->out->halos[i].underside_mm);
        }
    }
    if (!out->known || !m->has_band || !isfinite(lowest_mm)) {
        return;
    }
    out->has_halo = true;
    out->under_halo_mm =
        ts_room_under_mm(lowest_mm, ts_dec_double(m->design->shank->thickness_top));
}

void ts_places_of(ts_measuring *m)
{
    if (m->is_placed) {
        place_stones(m, TS_ARRAY(m->arena, bool, (size_t)m->design->stone_count + 1));
    }
    raise_stones(m);
    if (m->is_placed) {
        move_heads(m);
    }
    move_halos(m);
    measure_heights(m);
    measure_room_under(m);
}
