#include "papers/subject.h"

#include "geometry/head.h"

#include <math.h>

/* The plan: the piece from above, the finger running up the page.
 *
 * Painted from below: the shank with what is set in it, halos from the lowest up, bezels,
 * feature stones, claws over them; last, dashed, the rows that face out and are hidden by
 * their own metal. Every stone of every row stands where geometry placed it. */

#define PI 3.14159265358979323846
#define QUARTER 30          /* steps of a quarter turn of the shank */
#define ACROSS 16           /* steps across its width */
#define RIDGE_X 0.02        /* of half the width from the middle, where a ridge has begun to fall */
#define RIDGE_SLOPE_MM 0.15 /* over half the width; less is no ridge one sees */
#define EDGE_ON 0.05        /* of a stone's width: less is not seen from above */

typedef struct plan {
    ts_drawing *drawing;
    const ts_subject *subject;
    int view;
    bool detail;
} plan;

static const char *title(const plan *p, const ts_part *part)
{
    return ts_part_title(p->drawing->arena, part);
}

/* ---- the shank ---- */

static ts_xy on_band(const plan *p, double side, double angle_rad, double u)
{
    const ts_band *band = &p->subject->band;
    double radius_mm = band->bore_radius_mm + ts_band_height_mm(band, angle_rad, u);

    return (ts_xy){side * radius_mm * sin(angle_rad), u * ts_band_width_mm(band, angle_rad) / 2.0};
}

/* The edge of one shoulder, from where the band begins down to the side of the finger and
 * back; the last `ACROSS - 1` points lie across the beginning. */
static int shoulder_points(const plan *p, double side, double from_rad,
                           ts_xy edge[2 * (QUARTER + ACROSS)])
{
    int count = 0;

    for (int i = 0; i <= QUARTER; i++) {
        edge[count++] = on_band(p, side, from_rad + (PI / 2.0 - from_rad) * i / QUARTER, 1.0);
    }
    for (int i = 1; i < ACROSS; i++) {
        edge[count++] = on_band(p, side, PI / 2.0, cos(PI * i / ACROSS));
    }
    for (int i = QUARTER; i >= 0; i--) {
        edge[count++] = on_band(p, side, from_rad + (PI / 2.0 - from_rad) * i / QUARTER, -1.0);
    }
    for (int i = ACROSS - 1; i > 0; i--) {
        edge[count++] = on_band(p, side, from_rad, cos(PI * i / ACROSS));
    }
    return count;
}

/* The light on the band: a strip along its middle, or one side of a ridge. */
static void draw_light(const plan *p, double side, double from_rad)
{
    const ts_band *band = &p->subject->band;
    ts_xy strip[2 * (QUARTER + 1)], ridge[QUARTER + 1];
    int count = 0, sharp = 0;

    for (int i = 0; i <= QUARTER; i++) {
        double angle_rad = from_rad + (PI / 2.0 - from_rad) * i / QUARTER;
        double fall_mm =
            ts_band_height_mm(band, angle_rad, 0.0) - ts_band_height_mm(band, angle_rad, RIDGE_X);
        if (fall_mm > RIDGE_SLOPE_MM * RIDGE_X && sharp == i) {
            ridge[sharp++] = on_band(p, side, angle_rad, 0.0);
        }
        strip[count++] = on_band(p, side, angle_rad, 0.45);
    }
    for (int i = QUARTER; i >= 0; i--) {
        double low = sharp == QUARTER + 1 ? 0.0 : -0.1;
        strip[count++] = on_band(p, side, from_rad + (PI / 2.0 - from_rad) * i / QUARTER, low);
    }
    ts_sketch_path(p->drawing, p->view, strip, count, true)->shade = TS_SHADE_LIGHT;
    if (sharp > 1) {
        ts_sketch_path(p->drawing, p->view, ridge, sharp, false)->stroke = TS_STROKE_FACET;
    }
}

static void draw_shoulder(const plan *p, double side, double from_rad)
{
    ts_xy edge[2 * (QUARTER + ACROSS)];
    int count = shoulder_points(p, side, from_rad, edge);
    bool is_open = from_rad > 0.0;

    ts_sketch_path(p->drawing, p->view, edge, count, true)->shade = TS_SHADE_METAL;
    draw_light(p, side, from_rad);
    ts_mark *line =
        ts_sketch_path(p->drawing, p->view, edge, is_open ? count : count - (ACROSS - 1), is_open);
    line->stroke = TS_STROKE_METAL;
    line->what = "metal";
    line->part = "shank";
    line->id = side > 0.0 ? "shank-right" : "shank-left";
}

static void draw_shank(const plan *p)
{
    double from_rad = p->subject->band.open_rad / 2.0;

    if (p->subject->has_band && from_rad < PI / 2.0) {
        draw_shoulder(p, 1.0, from_rad);
        draw_shoulder(p, -1.0, from_rad);
    }
}

static void draw_rows(const plan *p)
{
    const ts_design *design = p->subject->design;

    for (int r = 0; r < design->row_count; r++) {
        const ts_row_shape *shape = &p->subject->geometry->rows[r];
        const ts_row *row = &design->row[r];
        for (int i = 0; i < shape->stones; i++) {
            const ts_spot *spot = &shape->spots[i];
            ts_melee_mark melee = {.id = ts_sketch_id(p->drawing->arena, &row->part, r, i + 1),
                                   .part = title(p, &row->part),
                                   .at = {spot->x_mm, spot->y_mm},
                                   .diameter_mm = spot->diameter_mm,
                                   .across = cos(spot->angle_rad),
                                   .out = {0.0, spot->y_mm < 0.0 ? -1.0 : 1.0},
                                   .is_hidden = true};
            if (melee.across < EDGE_ON) {
                continue;
            }
            if (row->faces == TS_FACES_SIDE) {
                ts_gem_edge(p->drawing, p->view, &melee, false);
            } else {
                ts_gem_melee(p->drawing, p->view, &melee, p->detail);
            }
        }
    }
}

/* ---- metal round stones ---- */

/* A ring of metal between two parallels of a stone's outline; what it is called is added by
 * the caller. NULL where there is none. */
static ts_mark *draw_ring(const plan *p, int stone, int copy, double inner_mm, double outer_mm)
{
    const ts_outline *outline = &p->subject->outlines[stone];
    const ts_spot *at = &p->subject->geometry->stones[stone].spots[copy];
    bool mirrored = ts_subject_is_mirrored(p->subject, stone, copy);
    ts_mark mark = {.kind = TS_MARK_PATH,
                    .view = p->view,
                    .stroke = TS_STROKE_METAL,
                    .shade = TS_SHADE_METAL,
                    .is_closed = true,
                    .what = "metal"};

    mark.hole = ts_sketch_outline(p->drawing, outline, inner_mm, at, mirrored, &mark.hole_count);
    mark.points = ts_sketch_outline(p->drawing, outline, outer_mm, at, mirrored, &mark.count);
    return mark.count > 0 ? ts_sketch_add(p->drawing, mark) : NULL;
}

static void draw_halo_stones(const plan *p, int h, int copy)
{
    const ts_halo *halo = &p->subject->design->halo[h];
    const ts_row_shape *shape = &p->subject->geometry->halos[h];
    ts_arena *arena = p->drawing->arena;

    for (int i = 0; i < shape->stones; i++) {
        ts_spot spot = ts_subject_spot(p->subject, halo->stone_ref.index, copy, &shape->spots[i]);
        const char *id = ts_sketch_id(arena, &halo->part, h, i + 1);
        ts_melee_mark melee = {.id = copy == 0 ? id : ts_arena_format(arena, "%s.%d", id, copy + 1),
                               .part = title(p, &halo->part),
                               .at = {spot.x_mm, spot.y_mm},
                               .diameter_mm = spot.diameter_mm,
                               .across = 1.0,
                               .turn_rad = spot.angle_rad,
                               .out = {-sin(spot.angle_rad), cos(spot.angle_rad)},
                               .is_hidden = true};
        if (halo->faces == TS_FACES_OUT) {
            ts_gem_edge(p->drawing, p->view, &melee, false);
        } else {
            ts_gem_melee(p->drawing, p->view, &melee, p->detail);
        }
    }
}

static void draw_halo(const plan *p, int h)
{
    const ts_halo *halo = &p->subject->design->halo[h];
    const ts_row_shape *shape = &p->subject->geometry->halos[h];
    ts_arena *arena = p->drawing->arena;
    bool is_up = halo->faces != TS_FACES_OUT;

    for (int copy = 0; copy < shape->copies; copy++) {
        if (!ts_subject_shows(p->subject, halo->stone_ref.index, copy)) {
            continue;
        }
        ts_mark *ring = draw_ring(p, halo->stone_ref.index, copy, shape->inner_mm, shape->outer_mm);
        if (ring != NULL) {
            const char *id =
                ts_arena_format(arena, "%s-metal", ts_sketch_id(arena, &halo->part, h, 0));
            ring->id = copy == 0 ? id : ts_arena_format(arena, "%s.%d", id, copy + 1);
            ring->part = title(p, &halo->part);
            ring->shade = is_up ? TS_SHADE_METAL : TS_SHADE_DEEP;
        }
        if (is_up) {
            draw_halo_stones(p, h, copy);
        }
    }
}

/* The stones of rows that face out, under whatever lies above them. */
static void draw_hidden_rows(const plan *p)
{
    for (int h = 0; h < p->subject->design->halo_count; h++) {
        const ts_halo *halo = &p->subject->design->halo[h];
        for (int copy = 0; copy < p->subject->geometry->halos[h].copies; copy++) {
            if (halo->faces == TS_FACES_OUT &&
                ts_subject_shows(p->subject, halo->stone_ref.index, copy)) {
                draw_halo_stones(p, h, copy);
            }
        }
    }
}

static double top_of_halo(const plan *p, int h)
{
    const ts_halo *halo = &p->subject->design->halo[h];
    const ts_row_shape *shape = &p->subject->geometry->halos[h];

    if (halo->faces == TS_FACES_OUT) {
        return shape->underside_mm + shape->diameter_mm + 2.0 * ts_dec_double(halo->rim);
    }
    return shape->underside_mm + ts_dec_double(halo->thickness);
}

/* From the lowest up; equal ones as the sheet has them. */
static void draw_halos(const plan *p)
{
    int count = p->subject->design->halo_count;
    bool *done = TS_ARRAY(p->drawing->arena, bool, (size_t)count + 1);

    for (int pass = 0; pass < count; pass++) {
        int lowest = -1;
        for (int h = 0; h < count; h++) {
            if (!done[h] && (lowest < 0 || top_of_halo(p, h) < top_of_halo(p, lowest))) {
                lowest = h;
            }
        }
        done[lowest] = true;
        draw_halo(p, lowest);
    }
}

static void draw_bezels(const plan *p)
{
    for (int b = 0; b < p->subject->design->bezel_count; b++) {
        const ts_bezel *bezel = &p->subject->design->bezel[b];
        for (int copy = 0; copy < p->subject->geometry->bezels[b].copies; copy++) {
            ts_mark *ring = NULL;
            if (ts_subject_shows(p->subject, bezel->holds_ref.index, copy)) {
                ring = draw_ring(p, bezel->holds_ref.index, copy, 0.0, ts_dec_double(bezel->wall));
            }
            if (ring != NULL) {
                ring->id = ts_sketch_id(p->drawing->arena, &bezel->part, b, copy + 1);
                ring->part = title(p, &bezel->part);
            }
        }
    }
}

/* ---- claws ---- */

/* What the end of a claw looks like: its style, and where it stands in the stone's frame. */
typedef struct claw_end {
    ts_claw style;
    ts_claw_place place;
} claw_end;

/* In the order of a head's spots: a claw at a tip or corner may have a style of its own, and
 * a double one has two spots. */
static void list_ends(const plan *p, int h, claw_end *ends, int room)
{
    const ts_head *head = &p->subject->design->head[h];
    int stone = head->holds_ref.index;
    ts_claw_place places[TS_CLAWS_MOST];
    int count = head->claws < TS_CLAWS_MOST ? head->claws : TS_CLAWS_MOST, next = 0;

    ts_claws_place(places, count, (ts_shape)p->subject->design->stone[stone].shape,
                   &p->subject->outlines[stone], ts_dec_double(head->first_claw) * PI / 180.0);
    for (int i = 0; i < count; i++) {
        bool has_own = places[i].is_at_corner && head->tip_style != TS_CLAW_NONE;
        int style = has_own ? head->tip_style : head->claw_style;
        for (int k = 0; k < (style == TS_CLAW_DOUBLE ? 2 : 1) && next < room; k++) {
            ends[next++] = (claw_end){(ts_claw)style, places[i]};
        }
    }
}

static ts_xy off(ts_xy from, ts_xy way, double length_mm)
{
    return (ts_xy){from.x_mm + length_mm * way.x_mm, from.y_mm + length_mm * way.y_mm};
}

/* Unit vector from one point to another; `other` where they meet. */
static ts_xy way_to(ts_xy from, ts_xy to, ts_xy other)
{
    double length_mm = hypot(to.x_mm - from.x_mm, to.y_mm - from.y_mm);

    if (!(length_mm > 0.0)) {
        return other;
    }
    return (ts_xy){(to.x_mm - from.x_mm) / length_mm, (to.y_mm - from.y_mm) / length_mm};
}

/* Two walls along the sides that meet at a corner, in the stone's frame: as long as the tip is
 * wide, half as thick, a little over the stone. Counter-clockwise from the first wall's end. */
static void v_points(const ts_outline *outline, const ts_claw_place *place, double tip_mm,
                     ts_xy points[6])
{
    const double outside_mm = 0.5 * tip_mm, over_mm = 0.15 * tip_mm;
    ts_xy at = place->point, out = {-sin(place->out_rad), cos(place->out_rad)};
    double angle_rad = atan2(-at.x_mm, at.y_mm), rise = 1.0;
    double turn_rad = fmin(0.5, tip_mm / fmax(tip_mm, hypot(at.x_mm, at.y_mm)));

    for (int i = 0; i < 2; i++) {
        ts_xy along = at;
        ts_outline_towards(outline, angle_rad + (i == 0 ? turn_rad : -turn_rad), &along, NULL);
        ts_xy way = way_to(at, along, (ts_xy){-out.x_mm, -out.y_mm});
        ts_xy normal = {-way.y_mm, way.x_mm};
        if (normal.x_mm * out.x_mm + normal.y_mm * out.y_mm < 0.0) {
            normal = (ts_xy){-normal.x_mm, -normal.y_mm};
        }
        ts_xy end = off(at, way, tip_mm);
        points[i == 0 ? 0 : 2] = off(end, normal, outside_mm);
        points[i == 0 ? 5 : 3] = off(end, normal, -over_mm);
        rise = fmax(0.3, normal.x_mm * out.x_mm + normal.y_mm * out.y_mm);
    }
    /* the faces meet on the line that halves the corner */
    points[1] = off(at, out, fmin(tip_mm, outside_mm / rise));
    points[4] = off(at, out, -fmin(tip_mm, over_mm / rise));
}

/* The end of a claw over the stone: a drop for a pointed one, two walls for a v. */
static void draw_tip(const plan *p, const ts_spot *spot, const claw_end *end, int stone, int copy,
                     double tip_mm)
{
    ts_xy at = {spot->x_mm, spot->y_mm};
    ts_xy in = {sin(spot->angle_rad), -cos(spot->angle_rad)};
    ts_xy way = {-in.y_mm, in.x_mm};
    ts_mark *mark;

    if (end->style == TS_CLAW_V) {
        ts_xy own[6];
        v_points(&p->subject->outlines[stone], &end->place, tip_mm, own);
        ts_xy edge[6];
        for (int i = 0; i < 6; i++) {
            edge[i] = ts_sketch_put(&p->subject->geometry->stones[stone].spots[copy],
                                    ts_subject_is_mirrored(p->subject, stone, copy), own[i]);
        }
        mark = ts_sketch_path(p->drawing, p->view, edge, 6, true);
    } else if (end->style == TS_CLAW_POINTED) {
        const ts_xy edge[4] = {
            off(at, in, -0.5 * tip_mm), off(off(at, way, 0.45 * tip_mm), in, -0.2 * tip_mm),
            off(at, in, 0.9 * tip_mm), off(off(at, way, -0.45 * tip_mm), in, -0.2 * tip_mm)};
        mark = ts_sketch_path(p->drawing, p->view, edge, 4, true);
    } else {
        mark = ts_sketch_circle(p->drawing, p->view, at, tip_mm / 2.0);
    }
    mark->stroke = TS_STROKE_STONE;
    mark->shade = TS_SHADE_LIGHT;
}

static void draw_claws(const plan *p, int h, int copy)
{
    const ts_head *head = &p->subject->design->head[h];
    const ts_head_shape *shape = &p->subject->geometry->heads[h];
    int stone = head->holds_ref.index, number = copy * shape->claw_spot_count;
    claw_end *ends = TS_ARRAY(p->drawing->arena, claw_end, (size_t)shape->claw_spot_count + 1);

    list_ends(p, h, ends, shape->claw_spot_count);
    for (int i = 0; i < shape->claw_spot_count; i++) {
        ts_spot spot = ts_subject_spot(p->subject, stone, copy, &shape->claw_spots[i]);
        ts_mark *mark = ts_sketch_circle(p->drawing, p->view, (ts_xy){spot.x_mm, spot.y_mm},
                                         spot.diameter_mm / 2.0);
        mark->stroke = TS_STROKE_METAL;
        mark->shade = TS_SHADE_METAL;
        mark->part = title(p, &head->part);
        mark->what = "claw";
        mark->id =
            ts_arena_format(p->drawing->arena, "%s-claw-%d",
                            ts_sketch_id(p->drawing->arena, &head->part, h, 0), number + i + 1);
        draw_tip(p, &spot, &ends[i], stone, copy, ts_dec_double(head->tip_diameter));
    }
}

void ts_plan_draw(ts_drawing *drawing, const ts_subject *subject, int view, bool detail)
{
    plan p = {drawing, subject, view, detail};
    const ts_design *design = subject->design;

    draw_shank(&p);
    draw_rows(&p);
    draw_halos(&p);
    draw_bezels(&p);
    for (int i = 0; i < design->stone_count; i++) {
        for (int copy = 0; copy < design->stone[i].copies; copy++) {
            if (ts_subject_shows(subject, i, copy)) {
                ts_gem_plan(drawing, subject, view, i, copy, detail);
            }
        }
    }
    for (int h = 0; h < design->head_count; h++) {
        for (int copy = 0; copy < subject->geometry->heads[h].copies; copy++) {
            if (ts_subject_shows(subject, design->head[h].holds_ref.index, copy)) {
                draw_claws(&p, h, copy);
            }
        }
    }
    draw_hidden_rows(&p);
}
