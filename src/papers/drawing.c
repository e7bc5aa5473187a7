#include "papers/subject.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The page of a drawing: which views there are, how large, and where.
 *
 *      title, reference, date                     Views at actual size come first: their boxes
 *      +----------------------------+             tell how far the same views can be enlarged.
 *      |  A  B   C    letters       |             Where nothing can be, the view at actual size
 *      |     plan, enlarged         |             stands in the large one's place. The page is
 *      +----------------------------+             120 mm wide, or as wide as the piece asks
 *      | side, enlarged  | 1:1 both |             for, so that lettering of 7 points and more
 *      +----------------------------+             stays legible when it is put at 100 mm. */

#define WIDTH_MM 120.0
#define MARGIN_MM 6.0
#define PLAN_HIGH_MM 62.0 /* most that a view takes */
#define SIDE_HIGH_MM 66.0
#define HEIGHTS_MM 28.0 /* beside a side view, for heights and their figures */
#define ROOM_MM 25.0    /* on its other side, for the room below the halo */
#define ACTUAL_MM 22.0  /* at least, for what is written over the views at actual size */
#define PICTURE_MM 51.0 /* beside the words of a quotation */
#define PICTURE_HIGH_MM 53.0
#define PICTURE_LETTER_MM 3.2 /* 9 points */
#define GAP_MM 5.0

static const double scales[] = {5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.25, 1.0};
#define SCALES (sizeof scales / sizeof scales[0])

static double wide_mm(const ts_drawing *drawing, int view)
{
    return drawing->views[view].box.right_mm - drawing->views[view].box.left_mm;
}

static double high_mm(const ts_drawing *drawing, int view)
{
    return drawing->views[view].box.top_mm - drawing->views[view].box.bottom_mm;
}

/* Puts a view so that its box begins at this corner of the page. */
static void place(ts_drawing *drawing, int view, double left_mm, double top_mm)
{
    ts_view *v = &drawing->views[view];

    v->x_mm = left_mm - v->scale * v->box.left_mm;
    v->y_mm = top_mm + v->scale * v->box.top_mm;
    v->is_placed = true;
}

static const char *scale_text(const ts_drawing *drawing, double scale)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec value;

    if (!ts_dec_from_double(&value, scale)) {
        return "";
    }
    return ts_arena_format(drawing->arena, "%s:1", ts_dec_text(text, value));
}

static void caption(ts_drawing *drawing, double x_mm, double y_mm, const char *text)
{
    ts_sketch_text(drawing, (ts_xy){x_mm, y_mm}, text, TS_LETTER_SMALL_MM, TS_ANCHOR_START);
}

/* The largest scale at which a view takes no more than this, and never below 1. */
static double scale_for(const ts_drawing *drawing, int view, double most_wide_mm,
                        double most_high_mm)
{
    for (size_t i = 0; i < SCALES; i++) {
        if (scales[i] * wide_mm(drawing, view) <= most_wide_mm &&
            scales[i] * high_mm(drawing, view) <= most_high_mm) {
            return scales[i];
        }
    }
    return 1.0;
}

/* Draws a view larger, or answers the one at actual size where that is all there is room for. */
static int enlarge(ts_drawing *drawing, const ts_subject *subject, int view, double scale)
{
    int large = view == TS_VIEW_PLAN ? TS_VIEW_PLAN_LARGE : TS_VIEW_SIDE_LARGE;

    if (scale == 1.0) {
        return view;
    }
    drawing->views[large].scale = scale;
    if (view == TS_VIEW_PLAN) {
        ts_plan_draw(drawing, subject, large, true);
    } else {
        ts_side_draw(drawing, subject, large, true);
    }
    return large;
}

/* ---- the sheet ---- */

static double draw_title(ts_drawing *drawing, const ts_drawing_ask *ask)
{
    const ts_terms *terms = &ask->quantities->terms;
    char day[32];
    double y_mm = MARGIN_MM + TS_LETTER_TITLE_MM;
    const char *line = terms->reference;

    y_mm += 1.3 * TS_LETTER_TITLE_MM *
            ts_sketch_wrapped(drawing, (ts_xy){MARGIN_MM, y_mm}, terms->title, TS_LETTER_TITLE_MM,
                              drawing->width_mm - 2.0 * MARGIN_MM, true);
    if (ask->design->option != 0) {
        line =
            ts_arena_format(drawing->arena, "%s, %s", line,
                            terms->option_label != NULL ? terms->option_label : terms->option_name);
    }
    line = ts_arena_format(drawing->arena, "%s, %s%s", line, ts_date_words(day, terms->date),
                           ask->draft ? ". Draft" : "");
    y_mm += 1.3 * TS_LETTER_MM *
            ts_sketch_wrapped(drawing, (ts_xy){MARGIN_MM, y_mm}, line, TS_LETTER_MM,
                              drawing->width_mm - 2.0 * MARGIN_MM, false);
    return y_mm;
}

/* A bar of a round length, near a fifth of the page. */
static double bar_mm(double scale)
{
    return scale >= 2.0 ? 5.0 : 10.0;
}

static double draw_plan(ts_drawing *drawing, const ts_subject *subject, double y_mm, int *view)
{
    double room_mm = drawing->width_mm - 2.0 * MARGIN_MM - 2.0 * 8.0;
    double scale = scale_for(drawing, TS_VIEW_PLAN, room_mm, PLAN_HIGH_MM);

    *view = enlarge(drawing, subject, TS_VIEW_PLAN, scale);
    place(drawing, *view, (drawing->width_mm - scale * wide_mm(drawing, *view)) / 2.0, y_mm + 8.0);
    y_mm = ts_dimension_plan(drawing, subject, *view);
    caption(drawing, MARGIN_MM, y_mm + 2.0,
            ts_arena_format(drawing->arena, "from above, %s", scale_text(drawing, scale)));
    ts_dimension_bar(drawing, *view, (ts_xy){MARGIN_MM + 26.0, y_mm + 2.0}, bar_mm(scale),
                     TS_LETTER_SMALL_MM);
    return y_mm + 5.0;
}

/* What a side view takes to the left and right of its axis: its figures stand beside what
 * rises over the finger, which is mostly narrower than the ring. */
static double needs_left_mm(const ts_drawing *drawing, const ts_subject *subject, double head_mm,
                            double scale)
{
    double room_mm = subject->geometry->height.has_halo ? ROOM_MM : 0.0;

    return fmax(-scale * drawing->views[TS_VIEW_SIDE].box.left_mm, scale * head_mm + room_mm);
}

static double needs_right_mm(const ts_drawing *drawing, const ts_subject *subject, double head_mm,
                             double scale)
{
    double room_mm = subject->geometry->height.known ? HEIGHTS_MM : 0.0;

    return fmax(scale * drawing->views[TS_VIEW_SIDE].box.right_mm, scale * head_mm + room_mm);
}

/* Half of what rises over the finger's line. */
static double head_half_mm(const ts_drawing *drawing)
{
    double half_mm = 0.0;

    for (size_t i = 0; i < drawing->count; i++) {
        const ts_mark *mark = &drawing->marks[i];
        for (int k = 0; mark->view == TS_VIEW_SIDE && k < mark->count; k++) {
            if (mark->points[k].y_mm > 0.0) {
                half_mm = fmax(half_mm, fabs(mark->points[k].x_mm));
            }
        }
    }
    return half_mm;
}

static double side_scale(const ts_drawing *drawing, const ts_subject *subject, double head_mm,
                         double aside_mm)
{
    double room_mm = drawing->width_mm - 2.0 * MARGIN_MM;

    for (size_t i = 0; i < SCALES; i++) {
        double scale = scales[i];
        double takes_mm = needs_left_mm(drawing, subject, head_mm, scale) +
                          needs_right_mm(drawing, subject, head_mm, scale);
        if (takes_mm + (scale > 1.0 ? aside_mm : 0.0) <= room_mm &&
            scale * high_mm(drawing, TS_VIEW_SIDE) <= SIDE_HIGH_MM) {
            return scale;
        }
    }
    return 1.0;
}

/* Both views at actual size, one below the other, as far as they do not stand elsewhere. */
static double draw_actual(ts_drawing *drawing, double x_mm, double y_mm)
{
    const ts_view *plan = &drawing->views[TS_VIEW_PLAN], *side = &drawing->views[TS_VIEW_SIDE];

    caption(drawing, x_mm, y_mm + TS_LETTER_SMALL_MM, "actual size, 1:1");
    y_mm += 7.0;
    ts_dimension_bar(drawing, TS_VIEW_PLAN, (ts_xy){x_mm, y_mm}, 10.0, TS_LETTER_SMALL_MM);
    y_mm += 3.0;
    if (!plan->is_placed && !plan->is_empty) {
        drawing->views[TS_VIEW_PLAN].is_fine = true;
        place(drawing, TS_VIEW_PLAN, x_mm, y_mm);
        y_mm += high_mm(drawing, TS_VIEW_PLAN) + 3.0;
    }
    if (!side->is_placed && !side->is_empty) {
        drawing->views[TS_VIEW_SIDE].is_fine = true;
        place(drawing, TS_VIEW_SIDE, x_mm, y_mm);
        y_mm += high_mm(drawing, TS_VIEW_SIDE);
    }
    return y_mm;
}

static double draw_side(ts_drawing *drawing, const ts_subject *subject, double y_mm)
{
    double head_mm = head_half_mm(drawing);
    double actual_mm =
        fmax(ACTUAL_MM, fmax(wide_mm(drawing, TS_VIEW_SIDE), wide_mm(drawing, TS_VIEW_PLAN)));
    double scale = side_scale(drawing, subject, head_mm, actual_mm + GAP_MM);
    int view = enlarge(drawing, subject, TS_VIEW_SIDE, scale);
    double left_mm = needs_left_mm(drawing, subject, head_mm, scale);
    double takes_mm = left_mm + needs_right_mm(drawing, subject, head_mm, scale);
    double free_mm = drawing->width_mm - 2.0 * MARGIN_MM - takes_mm -
                     (view == TS_VIEW_SIDE ? 0.0 : actual_mm + GAP_MM);
    left_mm += fmax(0.0, free_mm / 2.0);
    double ends_mm = MARGIN_MM + takes_mm + fmax(0.0, free_mm);
    double foot_mm = y_mm;

    if (!drawing->views[view].is_empty) {
        place(drawing, view, MARGIN_MM + left_mm + scale * drawing->views[view].box.left_mm,
              y_mm + GAP_MM);
        ts_dimension_heights(drawing, subject, view);
        foot_mm = y_mm + GAP_MM + scale * high_mm(drawing, view) + 4.0;
        caption(
            drawing, MARGIN_MM, foot_mm,
            ts_arena_format(drawing->arena, "along the finger, %s", scale_text(drawing, scale)));
        ts_dimension_bar(drawing, view, (ts_xy){MARGIN_MM + 32.0, foot_mm}, bar_mm(scale),
                         TS_LETTER_SMALL_MM);
    }
    if (drawing->views[TS_VIEW_PLAN].is_placed && drawing->views[TS_VIEW_SIDE].is_placed) {
        return foot_mm + 4.0;
    }
    double right_mm = drawing->width_mm - MARGIN_MM - actual_mm;
    double down_mm = view == TS_VIEW_SIDE ? foot_mm + 2.0 : y_mm;
    return fmax(foot_mm, draw_actual(drawing, fmax(right_mm, view == TS_VIEW_SIDE ? 0.0 : ends_mm),
                                     down_mm)) +
           5.0;
}

static void draw_foot(ts_drawing *drawing, double y_mm)
{
    int lines = ts_sketch_wrapped(drawing, (ts_xy){MARGIN_MM, y_mm},
                                  "All measures in mm. What is marked 1:1 has its actual size when "
                                  "printed at 100\u00a0%.",
                                  TS_LETTER_SMALL_MM, drawing->width_mm - 2.0 * MARGIN_MM, false);

    drawing->height_mm = ceil(y_mm + 1.3 * TS_LETTER_SMALL_MM * lines + 1.0);
}

static void draw_sheet(ts_drawing *drawing, const ts_subject *subject, const ts_drawing_ask *ask)
{
    double asks_mm = fmax(wide_mm(drawing, TS_VIEW_PLAN) + 2.0 * 8.0,
                          wide_mm(drawing, TS_VIEW_SIDE) + HEIGHTS_MM + ROOM_MM);
    int view = TS_VIEW_PLAN;

    drawing->width_mm = fmax(WIDTH_MM, ceil(asks_mm + 2.0 * MARGIN_MM));
    double y_mm = draw_title(drawing, ask);
    if (drawing->views[TS_VIEW_PLAN].is_empty) {
        caption(drawing, MARGIN_MM, y_mm + 6.0,
                "The sheet holds no measurements of stones or a band that could be drawn.");
        drawing->height_mm = ceil(y_mm + 12.0);
        return;
    }
    y_mm = draw_plan(drawing, subject, y_mm, &view);
    y_mm = draw_side(drawing, subject, y_mm);
    y_mm = ts_dimension_key(drawing, subject, view, y_mm + 2.0);
    draw_foot(drawing, y_mm + 2.0);
}

/* ---- the picture ---- */

/* One above the other, as large as there is room for: here also smaller than the piece. */
static double picture_scale(const ts_drawing *drawing, double most_mm)
{
    static const double reduced[] = {0.8, 0.6, 0.5, 0.4, 0.3, 0.2};
    double wide = fmax(wide_mm(drawing, TS_VIEW_PLAN), wide_mm(drawing, TS_VIEW_SIDE));
    double high = high_mm(drawing, TS_VIEW_PLAN) + high_mm(drawing, TS_VIEW_SIDE);
    size_t count = SCALES + sizeof reduced / sizeof reduced[0];

    for (size_t i = 0; i < count; i++) {
        double scale = i < SCALES ? scales[i] : reduced[i - SCALES];
        if (scale * wide <= PICTURE_MM - 2.0 && scale * high <= most_mm - 2.0 * GAP_MM) {
            return scale;
        }
    }
    return 0.1;
}

static void draw_picture(ts_drawing *drawing, const ts_subject *subject, double most_mm)
{
    double scale = picture_scale(drawing, most_mm), y_mm = 1.0;
    const int views[2] = {enlarge(drawing, subject, TS_VIEW_PLAN, scale),
                          enlarge(drawing, subject, TS_VIEW_SIDE, scale)};

    drawing->width_mm = PICTURE_MM;
    for (int i = 0; i < 2; i++) {
        if (!drawing->views[views[i]].is_empty) {
            drawing->views[views[i]].is_fine = scale < 1.5;
            place(drawing, views[i], (PICTURE_MM - scale * wide_mm(drawing, views[i])) / 2.0, y_mm);
            y_mm += scale * high_mm(drawing, views[i]) + GAP_MM;
        }
    }
    drawing->height_mm = y_mm + 1.0;
    ts_dimension_bar(drawing, views[0],
                     (ts_xy){(PICTURE_MM - bar_mm(scale) * scale) / 2.0 - 5.0, y_mm - 0.5},
                     bar_mm(scale), PICTURE_LETTER_MM);
}

static const char *const view_ids[TS_VIEW_COUNT] = {"page", "plan", "side", "plan-large",
                                                    "side-large"};

ts_drawing *ts_drawing_of(ts_arena *arena, const ts_drawing_ask *ask)
{
    ts_drawing *drawing = TS_NEW(arena, ts_drawing);
    ts_subject subject = ts_subject_of(arena, ask);
    const ts_terms *terms = &ask->quantities->terms;

    drawing->arena = arena;
    drawing->title = ts_arena_format(arena, "%s: %s", terms->reference, terms->title);
    drawing->date = terms->date;
    for (int i = 0; i < TS_VIEW_COUNT; i++) {
        drawing->views[i] = (ts_view){.id = view_ids[i], .scale = 1.0, .is_empty = true};
    }
    drawing->views[TS_VIEW_PAGE].is_placed = true;
    ts_plan_draw(drawing, &subject, TS_VIEW_PLAN, false);
    ts_side_draw(drawing, &subject, TS_VIEW_SIDE, false);
    drawing->says = ts_dimension_says(arena, &subject);
    if (ask->kind == TS_DRAWING_PICTURE) {
        draw_picture(drawing, &subject, ask->high_mm > 0.0 ? ask->high_mm : PICTURE_HIGH_MM);
    } else {
        draw_sheet(drawing, &subject, ask);
    }
    return drawing;
}

void ts_drawing_size(const ts_drawing *drawing, double *width_mm, double *height_mm)
{
    if (width_mm != NULL) {
        *width_mm = drawing->width_mm;
    }
    if (height_mm != NULL) {
        *height_mm = drawing->height_mm;
    }
}

const char *ts_drawing_says(const ts_drawing *drawing)
{
    return drawing->says;
}

bool ts_drawing_is_empty(const ts_drawing *drawing)
{
    return drawing->views[TS_VIEW_PLAN].is_empty;
}

static bool same_points(const ts_xy *one, const ts_xy *other, int count, int other_count)
{
    return count == other_count &&
           (count == 0 || memcmp(one, other, (size_t)count * sizeof *one) == 0);
}

static bool same_mark(const ts_mark *one, const ts_mark *other)
{
    return one->kind == other->kind && one->stroke == other->stroke && one->shade == other->shade &&
           one->at.x_mm == other->at.x_mm && one->at.y_mm == other->at.y_mm &&
           one->radius_mm == other->radius_mm && one->other_mm == other->other_mm &&
           one->turn_rad == other->turn_rad &&
           same_points(one->points, other->points, one->count, other->count) &&
           same_points(one->hole, other->hole, one->hole_count, other->hole_count);
}

/* The next mark of the views at actual size, which every drawing has, placed or not. */
static const ts_mark *next_mark(const ts_drawing *drawing, size_t *at)
{
    while (*at < drawing->count) {
        const ts_mark *mark = &drawing->marks[(*at)++];
        if (mark->view == TS_VIEW_PLAN || mark->view == TS_VIEW_SIDE) {
            return mark;
        }
    }
    return NULL;
}

bool ts_drawing_same(const ts_drawing *one, const ts_drawing *other)
{
    size_t i = 0, k = 0;

    for (;;) {
        const ts_mark *mark = next_mark(one, &i), *twin = next_mark(other, &k);
        if (mark == NULL || twin == NULL) {
            return mark == twin;
        }
        if (mark->view != twin->view || !same_mark(mark, twin)) {
            return false;
        }
    }
}
