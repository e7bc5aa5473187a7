#include "papers/subject.h"

#include <math.h>

/* Dimensions: lines lighter than what they measure, arrows that touch what they measure, and
 * figures beside the line, never on it. What a figure says comes from the same number that
 * the quantities report, rounded in the same way. */

#define ARROW_MM 1.5
#define ARROW_HALF_MM 0.28
#define BETWEEN_MM 3.2 /* dimension lines side by side */
#define OFF_MM 0.7     /* from what is measured to where an extension line begins */
#define PAST_MM 0.8    /* how far one runs past its dimension line */
#define LABEL_MM 3.5   /* figures one above the other */

static ts_mark *page_line(ts_drawing *drawing, double x_mm, double y_mm, double to_x_mm,
                          double to_y_mm)
{
    return ts_sketch_line(drawing, TS_VIEW_PAGE, (ts_xy){x_mm, y_mm}, (ts_xy){to_x_mm, to_y_mm},
                          TS_STROKE_MEASURE);
}

/* An arrow whose point is at `at` and that comes from the way (dx, dy), a unit vector. */
static void arrow(ts_drawing *drawing, ts_xy at, double dx, double dy)
{
    const ts_xy head[3] = {at,
                           {at.x_mm + ARROW_MM * dx - ARROW_HALF_MM * dy,
                            at.y_mm + ARROW_MM * dy + ARROW_HALF_MM * dx},
                           {at.x_mm + ARROW_MM * dx + ARROW_HALF_MM * dy,
                            at.y_mm + ARROW_MM * dy - ARROW_HALF_MM * dx}};

    ts_sketch_path(drawing, TS_VIEW_PAGE, head, 3, true)->shade = TS_SHADE_INK;
}

/* The line between two points of the page with its arrows: inside, or from outside where
 * there is no room for both. */
static void draw_line(ts_drawing *drawing, ts_xy from, ts_xy to)
{
    double length_mm = hypot(to.x_mm - from.x_mm, to.y_mm - from.y_mm);

    if (!(length_mm > 0.0)) {
        return;
    }
    double dx = (to.x_mm - from.x_mm) / length_mm, dy = (to.y_mm - from.y_mm) / length_mm;
    double way = length_mm < 2.5 * ARROW_MM ? -1.0 : 1.0;
    arrow(drawing, from, way * dx, way * dy);
    arrow(drawing, to, -way * dx, -way * dy);
    if (way < 0.0) {
        double tail_mm = ARROW_MM + 1.0;
        page_line(drawing, from.x_mm - tail_mm * dx, from.y_mm - tail_mm * dy, from.x_mm,
                  from.y_mm);
        page_line(drawing, to.x_mm, to.y_mm, to.x_mm + tail_mm * dx, to.y_mm + tail_mm * dy);
    }
}

ts_mark *ts_dimension_up(ts_drawing *drawing, int view, double from_mm, double to_mm, double x_mm)
{
    double low_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, from_mm}).y_mm;
    double high_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, to_mm}).y_mm;

    draw_line(drawing, (ts_xy){x_mm, low_mm}, (ts_xy){x_mm, high_mm});
    ts_mark *mark = page_line(drawing, x_mm, low_mm, x_mm, high_mm);
    mark->value_mm = fabs(to_mm - from_mm);
    mark->has_value = true;
    return mark;
}

ts_mark *ts_dimension_across(ts_drawing *drawing, int view, ts_xy from, ts_xy to, double y_mm,
                             const char *text)
{
    ts_xy left = ts_sketch_page(drawing, view, from), right = ts_sketch_page(drawing, view, to);
    double width_mm = ts_sketch_width_mm(text, TS_LETTER_SMALL_MM, false);
    double middle_mm = (left.x_mm + right.x_mm) / 2.0;
    double way = y_mm < left.y_mm ? -1.0 : 1.0;

    page_line(drawing, left.x_mm, left.y_mm + way * OFF_MM, left.x_mm, y_mm + way * PAST_MM);
    page_line(drawing, right.x_mm, right.y_mm + way * OFF_MM, right.x_mm, y_mm + way * PAST_MM);
    draw_line(drawing, (ts_xy){left.x_mm, y_mm}, (ts_xy){right.x_mm, y_mm});
    if (width_mm + 1.0 < right.x_mm - left.x_mm) {
        ts_sketch_text(drawing, (ts_xy){middle_mm, y_mm - 0.7}, text, TS_LETTER_SMALL_MM,
                       TS_ANCHOR_MIDDLE);
    } else {
        ts_sketch_text(drawing, (ts_xy){right.x_mm + ARROW_MM + 2.0, y_mm + 0.9}, text,
                       TS_LETTER_SMALL_MM, TS_ANCHOR_START);
    }
    ts_mark *mark = page_line(drawing, left.x_mm, y_mm, right.x_mm, y_mm);
    mark->value_mm = to.x_mm - from.x_mm;
    mark->has_value = true;
    return mark;
}

void ts_dimension_bar(ts_drawing *drawing, int view, ts_xy at, double length_mm, double letter_mm)
{
    double end_mm = at.x_mm + length_mm * drawing->views[view].scale;
    const ts_xy bar[4] = {
        {at.x_mm, at.y_mm - 1.0}, {at.x_mm, at.y_mm}, {end_mm, at.y_mm}, {end_mm, at.y_mm - 1.0}};
    ts_mark *mark = ts_sketch_path(drawing, TS_VIEW_PAGE, bar, 4, false);
    char text[TS_DECIMAL_TEXT];
    ts_dec length;

    mark->stroke = TS_STROKE_STONE;
    mark->what = "scale bar";
    mark->value_mm = length_mm;
    mark->has_value = true;
    mark->id = ts_arena_format(drawing->arena, "%s-bar", drawing->views[view].id);
    if (ts_dec_from_double(&length, length_mm)) {
        ts_sketch_text(drawing, (ts_xy){end_mm + 1.2, at.y_mm},
                       ts_arena_format(drawing->arena, "%s mm", ts_dec_text(text, length)),
                       letter_mm, TS_ANCHOR_START);
    }
}

/* ---- heights over the finger ---- */

/* How far what stands over a height of a view reaches to the left and to the right. */
static void reach_over(const ts_drawing *drawing, int view, double over_mm, double ends_mm[2])
{
    ends_mm[0] = ends_mm[1] = 0.0;
    for (size_t i = 0; i < drawing->count; i++) {
        const ts_mark *mark = &drawing->marks[i];
        for (int k = 0; mark->view == view && k < mark->count; k++) {
            if (mark->points[k].y_mm > over_mm) {
                ends_mm[0] = fmin(ends_mm[0], mark->points[k].x_mm);
                ends_mm[1] = fmax(ends_mm[1], mark->points[k].x_mm);
            }
        }
    }
}

typedef struct level {
    double z_mm;
    const char *says; /* NULL: not known */
    const char *what;
    double label_mm; /* where its figure stands on the page */
} level;

static const char *figure(const ts_drawing *drawing, const char *what, double length_mm)
{
    return ts_arena_format(drawing->arena, "%s %s", what, ts_sketch_mm(drawing->arena, length_mm));
}

static int list_levels(const ts_drawing *drawing, const ts_subject *subject, level *levels)
{
    const ts_heights *height = &subject->geometry->height;
    const ts_design *design = subject->design;
    int count = 0;

    levels[count++] = (level){.says = "finger", .what = "finger line"};
    levels[count++] = (level){.z_mm = height->girdle_mm,
                              .says = figure(drawing, "girdle", height->girdle_mm),
                              .what = "girdle height"};
    levels[count++] = (level){.z_mm = height->total_mm,
                              .says = figure(drawing, "total", height->total_mm),
                              .what = "total height"};
    if (design->ring_count > 0 && design->ring->height_limit.e6 > 0) {
        double limit_mm = ts_dec_double(design->ring->height_limit);
        levels[count++] = (level){
            .z_mm = limit_mm, .says = figure(drawing, "limit", limit_mm), .what = "height limit"};
    }
    return count;
}

/* Figures one above the other, none nearer to the next than lettering needs. */
static void spread_labels(const ts_drawing *drawing, int view, level *levels, int count)
{
    double last_mm = HUGE_VAL;

    for (int pass = 0; pass < count; pass++) {
        level *next = NULL;
        for (int i = 0; i < count; i++) {
            bool is_left = levels[i].label_mm == 0.0;
            if (is_left && (next == NULL || levels[i].z_mm < next->z_mm)) {
                next = &levels[i];
            }
        }
        if (next == NULL) {
            return;
        }
        double own_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, next->z_mm}).y_mm;
        next->label_mm = fmin(own_mm, last_mm - LABEL_MM);
        last_mm = next->label_mm;
    }
}

/* The level's line from what it belongs to, its dimension, and its figure at the end. */
static void draw_level(ts_drawing *drawing, int view, const level *at, double from_mm, double x_mm,
                       double label_x_mm)
{
    double y_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, at->z_mm}).y_mm;
    bool is_limit = at->what[0] == 'h', is_finger = at->what[0] == 'f';
    ts_mark *line = page_line(drawing, from_mm, y_mm, label_x_mm - 2.0, y_mm);

    line->stroke = is_limit || is_finger ? TS_STROKE_LIMIT : TS_STROKE_MEASURE;
    if (is_finger) {
        line->what = at->what;
        line->id = "finger-line";
    }
    page_line(drawing, label_x_mm - 2.0, y_mm, label_x_mm - 0.6, at->label_mm);
    ts_sketch_text(drawing, (ts_xy){label_x_mm, at->label_mm + 0.9}, at->says, TS_LETTER_SMALL_MM,
                   TS_ANCHOR_START);
    if (!is_finger) {
        ts_mark *mark = ts_dimension_up(drawing, view, 0.0, at->z_mm, x_mm);
        mark->what = at->what;
        mark->id = at->what[0] == 'g' ? "girdle-height"
                   : is_limit         ? "height-limit"
                                      : "total-height";
    }
}

/* The room for a straight band beside the ring, to the left of the lowest halo. */
static void draw_room(ts_drawing *drawing, const ts_subject *subject, int view, double left_mm)
{
    const ts_heights *height = &subject->geometry->height;
    double top_mm = ts_dec_double(subject->design->shank->thickness_top);
    double low_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, top_mm}).y_mm;
    double high_mm =
        ts_sketch_page(drawing, view, (ts_xy){0.0, top_mm + height->under_halo_mm}).y_mm;
    double x_mm = left_mm - BETWEEN_MM;

    page_line(drawing, left_mm - OFF_MM, high_mm, x_mm - PAST_MM, high_mm);
    page_line(drawing, ts_sketch_page(drawing, view, (ts_xy){0.0, 0.0}).x_mm, low_mm,
              x_mm - PAST_MM, low_mm)
        ->stroke = TS_STROKE_HIDDEN;
    ts_mark *mark = ts_dimension_up(drawing, view, top_mm, top_mm + height->under_halo_mm, x_mm);
    mark->what = "room under halo";
    mark->id = "room-under-halo";
    mark->value_mm = height->under_halo_mm;
    ts_sketch_text(drawing, (ts_xy){x_mm - 1.6, (low_mm + high_mm) / 2.0 - 2.6}, "room below",
                   TS_LETTER_SMALL_MM, TS_ANCHOR_END);
    ts_sketch_text(drawing, (ts_xy){x_mm - 1.6, (low_mm + high_mm) / 2.0 + 0.7},
                   figure(drawing, "the halo", height->under_halo_mm), TS_LETTER_SMALL_MM,
                   TS_ANCHOR_END);
}

static void draw_bore(ts_drawing *drawing, const ts_subject *subject, int view)
{
    double radius_mm = subject->geometry->bore_mm / 2.0;
    ts_xy left = {-radius_mm, -radius_mm}, right = {radius_mm, -radius_mm};
    ts_xy middle = ts_sketch_page(drawing, view, (ts_xy){0.0, -radius_mm});
    const char *size = subject->quantities->terms.size_text;
    ts_xy from = ts_sketch_page(drawing, view, left), to = ts_sketch_page(drawing, view, right);

    draw_line(drawing, from, to);
    ts_mark *mark = page_line(drawing, from.x_mm, from.y_mm, to.x_mm, to.y_mm);
    mark->what = "inside diameter";
    mark->id = "inside-diameter";
    mark->value_mm = subject->geometry->bore_mm;
    mark->has_value = true;
    ts_sketch_text(drawing, (ts_xy){middle.x_mm, middle.y_mm - 0.9},
                   figure(drawing, "inside", subject->geometry->bore_mm), TS_LETTER_SMALL_MM,
                   TS_ANCHOR_MIDDLE);
    if (size != NULL) {
        ts_sketch_text(drawing, (ts_xy){middle.x_mm, middle.y_mm + 3.0},
                       ts_arena_format(drawing->arena, "size %s", size), TS_LETTER_SMALL_MM,
                       TS_ANCHOR_MIDDLE);
    }
}

void ts_dimension_heights(ts_drawing *drawing, const ts_subject *subject, int view)
{
    const ts_heights *height = &subject->geometry->height;
    double ends_mm[2];

    if (subject->has_band) {
        draw_bore(drawing, subject, view);
    }
    if (!height->known) {
        return;
    }
    reach_over(drawing, view, height->shank_top_mm + 0.05, ends_mm);
    const ts_stone_shape *stone = &subject->geometry->stones[height->stone];
    double stone_mm = stone->spots[0].x_mm + stone->width_mm / 2.0;
    ts_xy left = ts_sketch_page(drawing, view, (ts_xy){ends_mm[0], 0.0});
    ts_xy right = ts_sketch_page(drawing, view, (ts_xy){ends_mm[1], 0.0});
    double from_mm = ts_sketch_page(drawing, view, (ts_xy){stone_mm, 0.0}).x_mm + OFF_MM;
    level levels[4];
    int count = list_levels(drawing, subject, levels);
    double label_mm = right.x_mm + BETWEEN_MM * count + 2.6;

    spread_labels(drawing, view, levels, count);
    for (int i = 0; i < count; i++) {
        bool is_wide = levels[i].what[0] == 'h' || levels[i].what[0] == 'f';
        draw_level(drawing, view, &levels[i], is_wide ? left.x_mm - 1.0 : from_mm,
                   right.x_mm + BETWEEN_MM * i, label_mm);
    }
    if (height->has_halo) {
        draw_room(drawing, subject, view, left.x_mm);
    }
}

/* ---- sizes under a plan ---- */

/* Where an outline reaches a height: the point furthest to the right, for a line that began
 * further left would cross the piece (the lobes of a heart lie on both sides of its notch). */
static double touches_at(const ts_drawing *drawing, int view, double y_mm, double otherwise_mm)
{
    const double near_mm = 0.02;
    double x_mm = otherwise_mm;

    for (size_t i = 0; i < drawing->count; i++) {
        const ts_mark *mark = &drawing->marks[i];
        for (int k = 0; mark->view == view && k < mark->count; k++) {
            if (fabs(mark->points[k].y_mm - y_mm) < near_mm) {
                x_mm = fmax(x_mm, mark->points[k].x_mm);
            }
        }
    }
    return x_mm;
}

/* Along the finger, at the right, its figure beside it. */
static void dimension_along(ts_drawing *drawing, int view, const ts_box *box, double x_mm)
{
    double middle_mm = (box->left_mm + box->right_mm) / 2.0;
    const double ends_mm[2] = {box->bottom_mm, box->top_mm};

    for (int i = 0; i < 2; i++) {
        double x_from_mm = touches_at(drawing, view, ends_mm[i], middle_mm);
        ts_xy from = ts_sketch_page(drawing, view, (ts_xy){x_from_mm, ends_mm[i]});
        page_line(drawing, from.x_mm + OFF_MM, from.y_mm, x_mm + PAST_MM, from.y_mm);
    }
    ts_mark *mark = ts_dimension_up(drawing, view, ends_mm[0], ends_mm[1], x_mm);
    mark->what = "length";
    mark->id = "plan-length";
    ts_xy at = ts_sketch_page(drawing, view, (ts_xy){0.0, (ends_mm[0] + ends_mm[1]) / 2.0});
    ts_sketch_text(drawing, (ts_xy){x_mm + 1.2, at.y_mm + 0.9},
                   ts_sketch_mm(drawing->arena, ends_mm[1] - ends_mm[0]), TS_LETTER_SMALL_MM,
                   TS_ANCHOR_START);
}

double ts_dimension_plan(ts_drawing *drawing, const ts_subject *subject, int view)
{
    const ts_box *whole = &drawing->views[view].box;
    double foot_mm = ts_sketch_page(drawing, view, (ts_xy){0.0, whole->bottom_mm}).y_mm;
    double right_mm = ts_sketch_page(drawing, view, (ts_xy){whole->right_mm, 0.0}).x_mm;
    ts_box box = *whole;

    ts_subject_box(subject, &box);
    double middle_mm = (box.top_mm + box.bottom_mm) / 2.0;
    ts_mark *mark = ts_dimension_across(drawing, view, (ts_xy){box.left_mm, middle_mm},
                                        (ts_xy){box.right_mm, middle_mm}, foot_mm + 5.0,
                                        ts_sketch_mm(drawing->arena, box.right_mm - box.left_mm));
    mark->what = "width";
    mark->id = "plan-width";
    dimension_along(drawing, view, &box, right_mm + 3.0);
    return foot_mm + 7.0;
}
