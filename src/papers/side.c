#include "papers/subject.h"

#include "geometry/head.h"
#include "geometry/height.h"
#include "geometry/measuring.h"

#include <math.h>

/* The side view: the piece along the finger, as one looks through the ring. The viewer
 * stands at the foot of the plan, so left is left in both.
 *
 *        z    _____                     z is counted from the finger's top line, so the ring's
 *        |   \_____/  ___ height        axis lies half the inside diameter below 0. Painted
 *     ---+----\   /-------- finger      from behind: claws at the back, rails, shank, stones,
 *            (     )                    claws in front, bezels and halos; last, dashed, what
 *             '---'                     of a stone a halo hides. */

#define PI 3.14159265358979323846
#define TURN 120    /* steps of a full turn */
#define FACING 0.02 /* of a stone's width: less is not seen */

typedef struct side {
    ts_drawing *drawing;
    const ts_subject *subject;
    int view;
    bool detail;
} side;

static const char *title(const side *s, const ts_part *part)
{
    return ts_part_title(s->drawing->arena, part);
}

/* Where nothing tells how high a stone sits over the finger it is left out. */
static bool is_shown(const side *s, int stone, int copy)
{
    bool has_height = !s->subject->has_band || s->subject->geometry->stones[stone].girdle_mm > 0.0;

    return has_height && ts_subject_shows(s->subject, stone, copy) &&
           ts_subject_stands(s->subject, stone, copy);
}

/* ---- the shank ---- */

static ts_xy on_ring(const side *s, double angle_rad, double radius_mm)
{
    double sine = sin(angle_rad), cosine = cos(angle_rad);

    return (ts_xy){radius_mm * sine, radius_mm * cosine - s->subject->band.bore_radius_mm};
}

/* Radius of the face in the middle of the width (u 0), or at its edge (u 1). */
static double face_mm(const side *s, double angle_rad, double u)
{
    return s->subject->band.bore_radius_mm + ts_band_height_mm(&s->subject->band, angle_rad, u);
}

/* Points of the ring from one end of its open arc to the other, at the face in the middle
 * (u 0), at its edge (u 1) or, with u -1, at the finger. */
static void ring_points(const side *s, ts_xy points[TURN + 1], double u)
{
    double from_rad = s->subject->band.open_rad / 2.0;

    for (int i = 0; i <= TURN; i++) {
        double angle_rad = from_rad + 2.0 * (PI - from_rad) * i / TURN;
        points[i] = on_ring(s, angle_rad,
                            u < 0.0 ? s->subject->band.bore_radius_mm : face_mm(s, angle_rad, u));
    }
}

static ts_mark *draw_strip(const side *s, const ts_xy *out, const ts_xy *in, int count)
{
    ts_xy edge[2 * (TURN + 1)];

    for (int i = 0; i < count; i++) {
        edge[i] = out[i];
        edge[2 * count - 1 - i] = in[i];
    }
    return ts_sketch_path(s->drawing, s->view, edge, 2 * count, true);
}

/* The side that is turned to the viewer ends below the middle of the face: what lies between
 * slopes and takes the light. */
static void draw_slope(const side *s, const ts_xy *face, const ts_xy *edge)
{
    int from = -1;

    for (int i = 0; i <= TURN; i++) {
        double angle_rad =
            s->subject->band.open_rad / 2.0 + (2.0 * PI - s->subject->band.open_rad) * i / TURN;
        double side_mm = face_mm(s, angle_rad, 1.0);
        bool is_apart = face_mm(s, angle_rad, 0.0) - side_mm > 0.05 &&
                        side_mm - s->subject->band.bore_radius_mm > 0.05;
        if (is_apart && from < 0) {
            from = i;
        }
        if (from >= 0 && (!is_apart || i == TURN)) {
            int count = i - from + (is_apart ? 1 : 0);
            draw_strip(s, face + from, edge + from, count)->shade = TS_SHADE_LIGHT;
            ts_sketch_path(s->drawing, s->view, edge + from, count, false)->stroke =
                TS_STROKE_FACET;
            from = -1;
        }
    }
}

static void draw_shank(const side *s)
{
    ts_xy face[TURN + 1], edge[TURN + 1], inside[TURN + 1];

    if (!s->subject->has_band) {
        return;
    }
    ring_points(s, face, 0.0);
    ring_points(s, edge, 1.0);
    ring_points(s, inside, -1.0);
    draw_strip(s, face, inside, TURN + 1)->shade = TS_SHADE_METAL;
    if (s->detail) {
        draw_slope(s, face, edge);
    }
    ts_mark *mark;
    if (s->subject->band.open_rad > 0.0) {
        mark = draw_strip(s, face, inside, TURN + 1);
    } else {
        mark = ts_sketch_path(s->drawing, s->view, face, TURN, true);
        mark->hole = ts_sketch_points(s->drawing, inside, TURN);
        mark->hole_count = TURN;
    }
    mark->stroke = TS_STROKE_METAL;
    mark->part = "shank";
    mark->what = "metal";
    mark->id = "shank";
}

static void draw_rows(const side *s)
{
    const ts_design *design = s->subject->design;

    for (int r = 0; r < design->row_count; r++) {
        const ts_row_shape *shape = &s->subject->geometry->rows[r];
        const ts_row *row = &design->row[r];
        for (int i = 0; i < shape->stones; i++) {
            const ts_spot *spot = &shape->spots[i];
            ts_melee_mark melee = {.id = ts_sketch_id(s->drawing->arena, &row->part, r, i + 1),
                                   .part = title(s, &row->part),
                                   .at = {spot->x_mm, spot->z_mm},
                                   .diameter_mm = spot->diameter_mm,
                                   .across = 1.0,
                                   .turn_rad = -spot->angle_rad,
                                   .out = {sin(spot->angle_rad), cos(spot->angle_rad)}};
            if (row->faces != TS_FACES_SIDE) {
                ts_gem_edge(s->drawing, s->view, &melee, s->detail);
            } else if (spot->y_mm < 0.0 || row->lines == 1) {
                ts_gem_melee(s->drawing, s->view, &melee, s->detail);
            }
        }
    }
}

/* ---- heads and bezels ---- */

/* How far a parallel of a stone's outline reaches along x, where it stands. */
static bool extent(const side *s, int stone, int copy, double offset_mm, double ends_mm[2])
{
    ts_box box;

    if (!ts_subject_reach(s->subject, stone, copy, offset_mm, &box)) {
        return false;
    }
    ends_mm[0] = box.left_mm;
    ends_mm[1] = box.right_mm;
    return true;
}

static ts_mark *draw_box(const side *s, const double ends_mm[2], double low_mm, double high_mm,
                         ts_shade shade)
{
    const ts_xy edge[4] = {
        {ends_mm[0], low_mm}, {ends_mm[1], low_mm}, {ends_mm[1], high_mm}, {ends_mm[0], high_mm}};
    ts_mark *mark = ts_sketch_path(s->drawing, s->view, edge, 4, true);

    mark->stroke = TS_STROKE_METAL;
    mark->shade = shade;
    mark->what = "metal";
    return mark;
}

/* Rails lie level: seen from the side a rail is its thickness high and rounded at its ends. */
static void draw_rails(const side *s, int h, int copy)
{
    const ts_head *head = &s->subject->design->head[h];
    const ts_stone_shape *stone = &s->subject->geometry->stones[head->holds_ref.index];
    double below_mm = ts_stone_pavilion_mm(stone->depth_mm) + ts_stone_girdle_mm(stone->depth_mm);
    double half_mm = ts_dec_double(head->rail_diameter) / 2.0;

    for (int i = 0; i < head->rails; i++) {
        double share = (double)i / head->rails, ends_mm[2];
        double level_mm = stone->spots[copy].z_mm - below_mm * (1.0 - share);
        ts_xy edge[26];
        if (!extent(s, head->holds_ref.index, copy, -ts_dec_double(head->inset) * (1.0 - share),
                    ends_mm)) {
            continue;
        }
        for (int k = 0; k < 26; k++) {
            double angle_rad = PI / 2.0 - PI * (k % 13) / 12.0;
            double way = k < 13 ? 1.0 : -1.0;
            edge[k] = (ts_xy){ends_mm[k < 13 ? 1 : 0] + way * half_mm * cos(angle_rad),
                              level_mm + way * half_mm * sin(angle_rad)};
        }
        ts_mark *mark = ts_sketch_path(s->drawing, s->view, edge, 26, true);
        mark->stroke = TS_STROKE_METAL;
        mark->shade = TS_SHADE_METAL;
        mark->part = title(s, &head->part);
        mark->what = "rail";
    }
}

/* A claw's axis runs from the base rail to the girdle and up; its end is rounded, but for a
 * flat one. */
static void draw_claw(const side *s, const ts_head *head, const ts_spot *spot)
{
    const ts_stone_shape *stone = &s->subject->geometry->stones[head->holds_ref.index];
    double below_mm = ts_stone_pavilion_mm(stone->depth_mm) + ts_stone_girdle_mm(stone->depth_mm);
    ts_claw style = (ts_claw)head->claw_style;
    double base_mm = ts_dec_double(head->claw_diameter), tip_mm = ts_dec_double(head->tip_diameter);
    double reach_mm = ts_claw_reach(style) * ts_stone_crown_mm(stone->depth_mm);
    double cap_mm = fmin(reach_mm, ts_claw_tip_height_mm(style, tip_mm));
    double foot_mm = spot->x_mm + ts_dec_double(head->inset) * sin(spot->angle_rad);
    double share = below_mm / (below_mm + fmax(0.0, reach_mm - cap_mm));
    double at_girdle_mm = base_mm + share * (tip_mm - base_mm);
    ts_xy edge[17];
    int count = 0;

    edge[count++] = (ts_xy){foot_mm - base_mm / 2.0, spot->z_mm - below_mm};
    edge[count++] = (ts_xy){spot->x_mm - at_girdle_mm / 2.0, spot->z_mm};
    for (int i = 0; i <= 12; i++) {
        double angle_rad = PI - PI * i / 12.0;
        edge[count++] = (ts_xy){spot->x_mm + tip_mm / 2.0 * cos(angle_rad),
                                spot->z_mm + reach_mm - cap_mm + cap_mm * sin(angle_rad)};
    }
    edge[count++] = (ts_xy){spot->x_mm + at_girdle_mm / 2.0, spot->z_mm};
    edge[count++] = (ts_xy){foot_mm + base_mm / 2.0, spot->z_mm - below_mm};
    ts_mark *mark = ts_sketch_path(s->drawing, s->view, edge, count, true);
    mark->stroke = TS_STROKE_METAL;
    mark->shade = TS_SHADE_METAL;
    mark->part = title(s, &head->part);
    mark->what = "claw";
}

/* Claws behind the middle of the stone, or those before it. */
static void draw_claws(const side *s, int h, int copy, bool in_front)
{
    const ts_head *head = &s->subject->design->head[h];
    const ts_head_shape *shape = &s->subject->geometry->heads[h];
    int stone = head->holds_ref.index;

    for (int i = 0; i < shape->claw_spot_count; i++) {
        ts_spot spot = ts_subject_spot(s->subject, stone, copy, &shape->claw_spots[i]);
        double before_mm = s->subject->geometry->stones[stone].spots[copy].y_mm - spot.y_mm;
        if ((before_mm > 1e-9) == in_front) {
            draw_claw(s, head, &spot);
        }
    }
}

static void draw_heads(const side *s, bool in_front)
{
    for (int h = 0; h < s->subject->design->head_count; h++) {
        int stone = s->subject->design->head[h].holds_ref.index;
        for (int copy = 0; copy < s->subject->geometry->heads[h].copies; copy++) {
            if (!is_shown(s, stone, copy)) {
                continue;
            }
            draw_claws(s, h, copy, in_front);
            if (!in_front) {
                draw_rails(s, h, copy);
            }
        }
    }
}

static void draw_bezels(const side *s)
{
    for (int b = 0; b < s->subject->design->bezel_count; b++) {
        const ts_bezel *bezel = &s->subject->design->bezel[b];
        int stone = bezel->holds_ref.index;
        for (int copy = 0; copy < s->subject->geometry->bezels[b].copies; copy++) {
            const ts_stone_shape *shape = &s->subject->geometry->stones[stone];
            double ends_mm[2],
                top_mm = shape->spots[copy].z_mm + ts_stone_crown_mm(shape->depth_mm) / 3.0;
            if (is_shown(s, stone, copy) &&
                extent(s, stone, copy, ts_dec_double(bezel->wall), ends_mm)) {
                ts_mark *mark = draw_box(s, ends_mm, top_mm - ts_dec_double(bezel->height), top_mm,
                                         TS_SHADE_METAL);
                mark->part = title(s, &bezel->part);
            }
        }
    }
}

/* ---- halos ---- */

/* Stones of a halo: facing out as the ellipses one sees, facing up on their edges, the far
 * ones first. */
static void draw_halo_stones(const side *s, int h, int copy, bool far)
{
    const ts_halo *halo = &s->subject->design->halo[h];
    const ts_row_shape *shape = &s->subject->geometry->halos[h];
    ts_arena *arena = s->drawing->arena;

    for (int i = 0; i < shape->stones; i++) {
        ts_spot spot = ts_subject_spot(s->subject, halo->stone_ref.index, copy, &shape->spots[i]);
        const char *id = ts_sketch_id(arena, &halo->part, h, i + 1);
        double facing = -cos(spot.angle_rad); /* how far it looks at the viewer */
        ts_melee_mark melee = {.id = copy == 0 ? id : ts_arena_format(arena, "%s.%d", id, copy + 1),
                               .part = title(s, &halo->part),
                               .at = {spot.x_mm, spot.z_mm},
                               .diameter_mm = spot.diameter_mm,
                               .across = facing,
                               .out = {0.0, 1.0}};
        if (halo->faces == TS_FACES_OUT && !far && facing > FACING) {
            ts_gem_melee(s->drawing, s->view, &melee, s->detail);
        } else if (halo->faces != TS_FACES_OUT && far == (facing < 0.0)) {
            ts_gem_edge(s->drawing, s->view, &melee, false);
        }
    }
}

static void draw_halo(const side *s, int h)
{
    const ts_halo *halo = &s->subject->design->halo[h];
    const ts_row_shape *shape = &s->subject->geometry->halos[h];
    int stone = halo->stone_ref.index;

    for (int copy = 0; copy < shape->copies; copy++) {
        double ends_mm[2], high_mm = ts_dec_double(halo->thickness);
        if (!is_shown(s, stone, copy) || !extent(s, stone, copy, shape->outer_mm, ends_mm)) {
            continue;
        }
        if (halo->faces == TS_FACES_OUT) {
            high_mm = shape->diameter_mm + 2.0 * ts_dec_double(halo->rim);
        }
        double low_mm = shape->underside_mm + s->subject->geometry->stones[stone].spots[copy].z_mm -
                        s->subject->geometry->stones[stone].girdle_mm;
        draw_halo_stones(s, h, copy, true);
        ts_mark *mark = draw_box(s, ends_mm, low_mm, low_mm + high_mm, TS_SHADE_METAL);
        mark->part = title(s, &halo->part);
        mark->id = ts_arena_format(
            s->drawing->arena, "%s-metal%s", ts_sketch_id(s->drawing->arena, &halo->part, h, 0),
            copy == 0 ? "" : ts_arena_format(s->drawing->arena, ".%d", copy + 1));
        draw_halo_stones(s, h, copy, false);
    }
}

/* From the lowest up. */
static void draw_halos(const side *s)
{
    int count = s->subject->design->halo_count;
    const ts_row_shape *halos = s->subject->geometry->halos;
    bool *done = TS_ARRAY(s->drawing->arena, bool, (size_t)count + 1);

    for (int pass = 0; pass < count; pass++) {
        int lowest = -1;
        for (int h = 0; h < count; h++) {
            if (!done[h] && (lowest < 0 || halos[h].underside_mm < halos[lowest].underside_mm)) {
                lowest = h;
            }
        }
        done[lowest] = true;
        draw_halo(s, lowest);
    }
}

static bool has_halo(const side *s, int stone)
{
    for (int h = 0; h < s->subject->design->halo_count; h++) {
        if (s->subject->design->halo[h].stone_ref.index == stone) {
            return true;
        }
    }
    return false;
}

static void draw_stones(const side *s, bool hidden)
{
    for (int i = 0; i < s->subject->design->stone_count; i++) {
        for (int copy = 0; copy < s->subject->design->stone[i].copies; copy++) {
            if (!is_shown(s, i, copy)) {
                continue;
            }
            if (!hidden) {
                ts_gem_side(s->drawing, s->subject, s->view, i, copy, s->detail);
            } else if (has_halo(s, i)) {
                ts_gem_pavilion(s->drawing, s->subject, s->view, i, copy);
            }
        }
    }
}

void ts_side_draw(ts_drawing *drawing, const ts_subject *subject, int view, bool detail)
{
    side s = {drawing, subject, view, detail};

    draw_heads(&s, false);
    draw_shank(&s);
    draw_rows(&s);
    draw_stones(&s, false);
    draw_heads(&s, true);
    draw_bezels(&s);
    draw_halos(&s);
    if (detail) {
        draw_stones(&s, true);
    }
}
