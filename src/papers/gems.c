#include "papers/subject.h"

#include "geometry/height.h"
#include "geometry/measuring.h"

#include <math.h>

/* Stones as they are drawn.
 *
 *          girdle point                 A brilliant from above: eight kites between table and
 *        _____/\_____                   girdle, eight stars round the table. The directions
 *       /    /  \    \                  are stretched with the stone's length and width, so
 *      /____/kite\____\                 that a kite ends in each corner of a princess and the
 *     |  star\  /star  |                facets of an oval are those of a round drawn out.
 *     |      table     |                Step cuts have terraces instead. Facets are lightest:
 *                                       they tell a stone from a hole, nothing is set by them.
 *
 * From the side: table 57 % of the width, crown, girdle and pavilion as heights have them. */

#define PI 3.14159265358979323846
#define TABLE 0.57 /* of the girdle; the reference stone of geometry/height.h */
#define STAR 0.79  /* of the way out where star and kites meet: half of star and girdle facets */
#define FOLDS 8
#define BESIDE_RAD 1e-6
#define MELEE_PAVILION 0.43 /* of the diameter */

static ts_mark *facet(ts_drawing *drawing, int view, const ts_xy *points, int count, bool closed)
{
    ts_mark *mark = ts_sketch_path(drawing, view, points, count, closed);

    mark->stroke = TS_STROKE_FACET;
    return mark;
}

static bool is_stepped(ts_shape shape)
{
    return shape == TS_SHAPE_EMERALD || shape == TS_SHAPE_ASSCHER || shape == TS_SHAPE_BAGUETTE;
}

/* A stone's plan: where it stands and its edge in the directions of its facets. */
typedef struct gem_plan {
    ts_drawing *drawing;
    int view;
    const ts_outline *outline;
    const ts_spot *at;
    bool mirrored;
    double length_mm, width_mm;
} gem_plan;

/* A point `share` of the way from the middle to the edge, `step` sixteenths of a turn on. */
static ts_xy plan_point(const gem_plan *p, int step, double share)
{
    double turn_rad = 2.0 * PI * step / (2 * FOLDS);
    double angle_rad = atan2(p->width_mm * sin(turn_rad), p->length_mm * cos(turn_rad));
    ts_xy edge = {0.0, 0.0};

    if (!ts_outline_towards(p->outline, angle_rad, &edge, NULL)) {
        ts_outline_towards(p->outline, angle_rad - BESIDE_RAD, &edge, NULL); /* between pieces */
    }
    return ts_sketch_put(p->at, p->mirrored, (ts_xy){share * edge.x_mm, share * edge.y_mm});
}

static void draw_brilliant(const gem_plan *p)
{
    ts_xy table[FOLDS];

    for (int i = 0; i < FOLDS; i++) {
        ts_xy corner = plan_point(p, 2 * i, TABLE);
        ts_xy star = plan_point(p, 2 * i + 1, STAR);
        const ts_xy kite[4] = {corner, star, plan_point(p, 2 * i + 2, 1.0),
                               plan_point(p, 2 * i + 3, STAR)};
        const ts_xy girdle[2] = {star, plan_point(p, 2 * i + 1, 1.0)};

        table[i] = corner;
        facet(p->drawing, p->view, kite, 4, false);
        facet(p->drawing, p->view, girdle, 2, false);
        const ts_xy meet[2] = {star, plan_point(p, 2 * i + 2, TABLE)};
        facet(p->drawing, p->view, meet, 2, false);
    }
    facet(p->drawing, p->view, table, FOLDS, true);
}

/* Terraces parallel to the edge, and the lines that join their corners. */
static void draw_steps(const gem_plan *p)
{
    double reach_mm = fmin(p->length_mm, p->width_mm) / 2.0;
    ts_outline table;

    for (int i = 1; i <= 3; i++) {
        int count = 0;
        double inside_mm = (1.0 - TABLE) * reach_mm * i / 3.0;
        ts_xy *line =
            ts_sketch_outline(p->drawing, p->outline, -inside_mm, p->at, p->mirrored, &count);
        if (count > 0) {
            facet(p->drawing, p->view, line, count, true);
        }
    }
    if (!ts_outline_parallel(&table, p->outline, -(1.0 - TABLE) * reach_mm) ||
        table.count != p->outline->count) {
        return;
    }
    for (int i = 0; i < table.count; i++) {
        const ts_xy join[2] = {ts_sketch_put(p->at, p->mirrored, table.pieces[i].from),
                               ts_sketch_put(p->at, p->mirrored, p->outline->pieces[i].from)};
        facet(p->drawing, p->view, join, 2, false);
    }
}

void ts_gem_plan(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy,
                 bool detail)
{
    const ts_stone *of = &subject->design->stone[stone];
    const ts_stone_shape *shape = &subject->geometry->stones[stone];
    gem_plan p = {.drawing = drawing,
                  .view = view,
                  .outline = &subject->outlines[stone],
                  .at = &shape->spots[copy],
                  .mirrored = ts_subject_is_mirrored(subject, stone, copy),
                  .length_mm = shape->length_mm,
                  .width_mm = shape->width_mm};
    double radius_mm = 0.0;
    ts_mark *mark;

    if (ts_outline_is_circle(p.outline, &radius_mm)) {
        mark = ts_sketch_circle(drawing, view, (ts_xy){p.at->x_mm, p.at->y_mm}, radius_mm);
    } else {
        int count = 0;
        ts_xy *line = ts_sketch_outline(drawing, p.outline, 0.0, p.at, p.mirrored, &count);
        mark = ts_sketch_path(drawing, view, line, count, true);
    }
    mark->stroke = TS_STROKE_STONE;
    mark->shade = TS_SHADE_STONE;
    mark->part = ts_part_title(drawing->arena, &of->part);
    mark->what = "stone";
    mark->id = ts_sketch_id(drawing->arena, &of->part, stone, copy + 1);
    if (!detail) {
        return;
    }
    if (is_stepped((ts_shape)of->shape)) {
        draw_steps(&p);
    } else {
        draw_brilliant(&p);
    }
}

/* Table and kites of a small stone: one line to and fro between table and girdle. */
static void melee_facets(ts_drawing *drawing, int view, const ts_mark *girdle)
{
    double cosine = cos(girdle->turn_rad), sine = sin(girdle->turn_rad);
    ts_xy table[FOLDS], kites[2 * FOLDS];

    for (int i = 0; i < 2 * FOLDS; i++) {
        double angle_rad = 2.0 * PI * i / (2 * FOLDS);
        double share = i % 2 == 0 ? TABLE : 1.0;
        double x_mm = share * girdle->radius_mm * cos(angle_rad);
        double y_mm = share * girdle->other_mm * sin(angle_rad);

        kites[i] = (ts_xy){girdle->at.x_mm + x_mm * cosine - y_mm * sine,
                           girdle->at.y_mm + x_mm * sine + y_mm * cosine};
        if (i % 2 == 0) {
            table[i / 2] = kites[i];
        }
    }
    facet(drawing, view, kites, 2 * FOLDS, true);
    facet(drawing, view, table, FOLDS, true);
}

void ts_gem_melee(ts_drawing *drawing, int view, const ts_melee_mark *melee, bool detail)
{
    ts_mark mark = {.kind = TS_MARK_ELLIPSE,
                    .view = view,
                    .stroke = TS_STROKE_STONE,
                    .shade = TS_SHADE_STONE,
                    .id = melee->id,
                    .part = melee->part,
                    .what = "melee",
                    .at = melee->at,
                    .radius_mm = melee->across * melee->diameter_mm / 2.0,
                    .other_mm = melee->diameter_mm / 2.0,
                    .turn_rad = melee->turn_rad};

    ts_sketch_add(drawing, mark);
    if (detail && melee->across > 0.2) {
        melee_facets(drawing, view, &mark);
    }
}

/* Both ends of the girdle, both of the table, the culet. */
static void edge_points(const ts_melee_mark *melee, ts_xy points[5])
{
    double half_mm = melee->diameter_mm / 2.0;
    double crown_mm = TS_MELEE_CROWN * melee->diameter_mm;
    const double along[5] = {-half_mm, half_mm, TABLE * half_mm, -TABLE * half_mm, 0.0};
    const double rise[5] = {0.0, 0.0, crown_mm, crown_mm, -MELEE_PAVILION * melee->diameter_mm};
    ts_xy out = melee->out;

    for (int i = 0; i < 5; i++) {
        points[i] = (ts_xy){melee->at.x_mm - along[i] * out.y_mm + rise[i] * out.x_mm,
                            melee->at.y_mm + along[i] * out.x_mm + rise[i] * out.y_mm};
    }
}

void ts_gem_edge(ts_drawing *drawing, int view, const ts_melee_mark *melee, bool detail)
{
    ts_stroke stroke = melee->is_hidden ? TS_STROKE_HIDDEN : TS_STROKE_STONE;
    ts_xy p[5];

    edge_points(melee, p);
    if (detail || !melee->is_hidden) {
        const ts_xy crown[4] = {p[1], p[2], p[3], p[0]};
        ts_mark *mark = ts_sketch_path(drawing, view, crown, 4, true);
        mark->stroke = stroke;
        mark->shade = melee->is_hidden ? TS_SHADE_NONE : TS_SHADE_STONE;
    }
    if (detail) {
        const ts_xy pavilion[3] = {p[0], p[4], p[1]};
        ts_sketch_path(drawing, view, pavilion, 3, false)->stroke =
            melee->is_hidden ? TS_STROKE_HIDDEN : TS_STROKE_FACET;
    }
    ts_mark *girdle = ts_sketch_line(drawing, view, p[0], p[1], stroke);
    girdle->id = melee->id;
    girdle->part = melee->part;
    girdle->what = "melee";
}

/* ---- from the side ---- */

/* Heights and half widths of a stone that stands in a side view. */
typedef struct gem_side {
    double left_mm, right_mm, middle_mm;            /* along x */
    double culet_mm, under_mm, girdle_mm, table_mm; /* over the finger */
} gem_side;

static bool side_of(gem_side *out, const ts_subject *subject, int stone, int copy)
{
    const ts_stone_shape *shape = &subject->geometry->stones[stone];
    const ts_spot *spot = &shape->spots[copy];
    ts_box box;

    if (!ts_subject_reach(subject, stone, copy, 0.0, &box)) {
        return false;
    }
    *out = (gem_side){.left_mm = box.left_mm, .right_mm = box.right_mm, .middle_mm = spot->x_mm};
    out->girdle_mm = spot->z_mm;
    out->under_mm = spot->z_mm - ts_stone_girdle_mm(shape->depth_mm);
    out->culet_mm = out->under_mm - ts_stone_pavilion_mm(shape->depth_mm);
    out->table_mm = spot->z_mm + ts_stone_crown_mm(shape->depth_mm);
    return true;
}

/* A place on the table's line, or on another share of the way from the middle to the edge. */
static double side_x(const gem_side *g, double share)
{
    return share < 0.0 ? g->middle_mm + share * (g->middle_mm - g->left_mm)
                       : g->middle_mm + share * (g->right_mm - g->middle_mm);
}

static void side_facets(ts_drawing *drawing, int view, const gem_side *g)
{
    const double edge[5] = {-1.0, -0.5, 0.0, 0.5, 1.0};
    double star_mm = g->girdle_mm + 0.5 * (g->table_mm - g->girdle_mm);

    for (int i = 0; i + 1 < 5; i++) {
        double star = 0.79 * 0.5 * (edge[i] + edge[i + 1]);
        const ts_xy crown[3] = {{side_x(g, edge[i]), g->girdle_mm},
                                {side_x(g, star), star_mm},
                                {side_x(g, edge[i + 1]), g->girdle_mm}};
        const ts_xy up[3] = {{side_x(g, TABLE * edge[i]), g->table_mm},
                             {side_x(g, star), star_mm},
                             {side_x(g, TABLE * edge[i + 1]), g->table_mm}};
        facet(drawing, view, crown, 3, false);
        facet(drawing, view, up, 3, false);
    }
    for (int i = 1; i < 4; i++) {
        const ts_xy main[2] = {{g->middle_mm, g->culet_mm}, {side_x(g, edge[i]), g->under_mm}};
        facet(drawing, view, main, 2, false);
    }
}

void ts_gem_side(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy,
                 bool detail)
{
    const ts_part *part = &subject->design->stone[stone].part;
    gem_side g;

    if (!side_of(&g, subject, stone, copy)) {
        return;
    }
    const ts_xy edge[7] = {{side_x(&g, -TABLE), g.table_mm}, {g.left_mm, g.girdle_mm},
                           {g.left_mm, g.under_mm},          {g.middle_mm, g.culet_mm},
                           {g.right_mm, g.under_mm},         {g.right_mm, g.girdle_mm},
                           {side_x(&g, TABLE), g.table_mm}};
    ts_mark *mark = ts_sketch_path(drawing, view, edge, 7, true);
    mark->stroke = TS_STROKE_STONE;
    mark->shade = TS_SHADE_STONE;
    mark->part = ts_part_title(drawing->arena, part);
    mark->what = "stone";
    mark->id = ts_sketch_id(drawing->arena, part, stone, copy + 1);
    if (detail) {
        side_facets(drawing, view, &g);
    }
    for (int i = 0; i < 2; i++) {
        double z_mm = i == 0 ? g.girdle_mm : g.under_mm;
        ts_sketch_line(drawing, view, (ts_xy){g.left_mm, z_mm}, (ts_xy){g.right_mm, z_mm},
                       detail ? TS_STROKE_STONE : TS_STROKE_FACET);
    }
}

void ts_gem_pavilion(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy)
{
    gem_side g;

    if (!side_of(&g, subject, stone, copy)) {
        return;
    }
    const ts_xy edge[5] = {{g.left_mm, g.girdle_mm},
                           {g.left_mm, g.under_mm},
                           {g.middle_mm, g.culet_mm},
                           {g.right_mm, g.under_mm},
                           {g.right_mm, g.girdle_mm}};
    ts_sketch_path(drawing, view, edge, 5, false)->stroke = TS_STROKE_HIDDEN;
}
