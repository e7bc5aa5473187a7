#include "papers/sketch.h"

#include "papers/typeset.h"

#include <math.h>
#include <string.h>

/* The marks of a drawing and how they are gathered.
 *
 * Weights and greys stand here once, for every form. Metal is drawn heavier than stones,
 * stones heavier than dimension lines; what is hidden is dashed. Greys are far enough apart
 * for a laser printer. */

#define PI 3.14159265358979323846
#define ARC_STEP_RAD (3.0 * PI / 180.0)
#define LINE_HEIGHT 1.3 /* of the size of lettering */

static const ts_pen pens[TS_STROKE_COUNT] = {
    [TS_STROKE_NONE] = {"none", 0.0, 1.0, {0}, 0},
    [TS_STROKE_METAL] = {"metal", 0.25, 0.10, {0}, 0},
    [TS_STROKE_STONE] = {"stone", 0.15, 0.10, {0}, 0},
    [TS_STROKE_MEASURE] = {"measure", 0.10, 0.30, {0}, 0},
    [TS_STROKE_FACET] = {"facet", 0.07, 0.45, {0}, 0},
    [TS_STROKE_HIDDEN] = {"hidden", 0.10, 0.30, {0.7, 0.45}, 2},
    [TS_STROKE_LIMIT] = {"limit", 0.15, 0.20, {2.2, 0.6, 0.35, 0.6}, 4},
};

static const struct {
    const char *word;
    double grey;
} shades[TS_SHADE_COUNT] = {
    [TS_SHADE_NONE] = {"none", 1.0},    [TS_SHADE_PAPER] = {"paper", 1.0},
    [TS_SHADE_LIGHT] = {"light", 0.95}, [TS_SHADE_METAL] = {"body", 0.88},
    [TS_SHADE_DEEP] = {"deep", 0.78},   [TS_SHADE_STONE] = {"gem", 1.0},
    [TS_SHADE_INK] = {"ink", 0.10},
};

const ts_pen *ts_pen_of(ts_stroke stroke)
{
    return &pens[stroke];
}

const char *ts_shade_word(ts_shade shade)
{
    return shades[shade].word;
}

double ts_shade_grey(ts_shade shade)
{
    return shades[shade].grey;
}

void ts_sketch_widen(ts_box *box, bool *has_box, ts_xy point)
{
    if (!*has_box) {
        *box = (ts_box){point.x_mm, point.x_mm, point.y_mm, point.y_mm};
        *has_box = true;
    }
    box->left_mm = fmin(box->left_mm, point.x_mm);
    box->right_mm = fmax(box->right_mm, point.x_mm);
    box->bottom_mm = fmin(box->bottom_mm, point.y_mm);
    box->top_mm = fmax(box->top_mm, point.y_mm);
}

static void widen(ts_view *view, ts_xy point)
{
    bool has_box = !view->is_empty;

    ts_sketch_widen(&view->box, &has_box, point);
    view->is_empty = false;
}

ts_mark *ts_sketch_add(ts_drawing *drawing, ts_mark mark)
{
    ts_view *view = &drawing->views[mark.view];

    drawing->marks = ts_arena_grow(drawing->arena, drawing->marks, drawing->count, &drawing->room,
                                   sizeof *drawing->marks);
    for (int i = 0; i < mark.count; i++) {
        widen(view, mark.points[i]);
    }
    if (mark.kind == TS_MARK_ELLIPSE) {
        double half_x =
            hypot(mark.radius_mm * cos(mark.turn_rad), mark.other_mm * sin(mark.turn_rad));
        double half_y =
            hypot(mark.radius_mm * sin(mark.turn_rad), mark.other_mm * cos(mark.turn_rad));
        widen(view, (ts_xy){mark.at.x_mm - half_x, mark.at.y_mm - half_y});
        widen(view, (ts_xy){mark.at.x_mm + half_x, mark.at.y_mm + half_y});
    }
    drawing->marks[drawing->count] = mark;
    return &drawing->marks[drawing->count++];
}

ts_xy *ts_sketch_points(const ts_drawing *drawing, const ts_xy *points, int count)
{
    if (count <= 0) {
        return NULL;
    }
    ts_xy *copy = TS_ARRAY(drawing->arena, ts_xy, (size_t)count);
    memcpy(copy, points, (size_t)count * sizeof *copy);
    return copy;
}

ts_mark *ts_sketch_path(ts_drawing *drawing, int view, const ts_xy *points, int count, bool closed)
{
    return ts_sketch_add(drawing, (ts_mark){.kind = TS_MARK_PATH,
                                            .view = view,
                                            .points = ts_sketch_points(drawing, points, count),
                                            .count = count,
                                            .is_closed = closed});
}

ts_mark *ts_sketch_line(ts_drawing *drawing, int view, ts_xy from, ts_xy to, ts_stroke stroke)
{
    const ts_xy ends[2] = {from, to};
    ts_mark *mark = ts_sketch_path(drawing, view, ends, 2, false);

    mark->stroke = stroke;
    return mark;
}

ts_mark *ts_sketch_circle(ts_drawing *drawing, int view, ts_xy at, double radius_mm)
{
    return ts_sketch_add(drawing, (ts_mark){.kind = TS_MARK_ELLIPSE,
                                            .view = view,
                                            .at = at,
                                            .radius_mm = radius_mm,
                                            .other_mm = radius_mm});
}

ts_mark *ts_sketch_text(ts_drawing *drawing, ts_xy at, const char *text, double size_mm,
                        ts_anchor anchor)
{
    return ts_sketch_add(drawing, (ts_mark){.kind = TS_MARK_TEXT,
                                            .view = TS_VIEW_PAGE,
                                            .shade = TS_SHADE_INK,
                                            .at = at,
                                            .text = text,
                                            .size_mm = size_mm,
                                            .anchor = anchor});
}

double ts_sketch_width_mm(const char *text, double size_mm, bool bold)
{
    return ts_typeset_width_pt(text, 100, bold) / 100.0 * size_mm;
}

/* Bytes of `text` that stand in one line: up to the last blank that fits, or, where a word is
 * wider than the line, as many whole characters as fit. */
static size_t line_bytes(const ts_drawing *drawing, const char *text, double size_mm,
                         double width_mm, bool bold)
{
    size_t good = 0, whole = 0;

    for (size_t at = 1;; at++) {
        bool is_edge = ((unsigned char)text[at] & 0xc0u) != 0x80u;
        if (!is_edge) {
            continue;
        }
        const char *head = ts_arena_copy(drawing->arena, text, at);
        if (ts_sketch_width_mm(head, size_mm, bold) > width_mm) {
            return good > 0 ? good : whole > 0 ? whole : at;
        }
        whole = at;
        if (text[at] == '\0') {
            return at;
        }
        if (text[at] == ' ') {
            good = at;
        }
    }
}

int ts_sketch_wrapped(ts_drawing *drawing, ts_xy at, const char *text, double size_mm,
                      double width_mm, bool bold)
{
    int lines = 0;

    while (*text == ' ') {
        text++;
    }
    while (*text != '\0') {
        size_t length = line_bytes(drawing, text, size_mm, width_mm, bold);
        ts_xy here = {at.x_mm, at.y_mm + lines * LINE_HEIGHT * size_mm};
        ts_mark *mark = ts_sketch_text(drawing, here, ts_arena_copy(drawing->arena, text, length),
                                       size_mm, TS_ANCHOR_START);
        mark->is_bold = bold;
        lines++;
        text += length;
        while (*text == ' ') {
            text++;
        }
    }
    return lines;
}

ts_xy ts_sketch_page(const ts_drawing *drawing, int view, ts_xy point)
{
    const ts_view *v = &drawing->views[view];

    if (view == TS_VIEW_PAGE) {
        return point;
    }
    return (ts_xy){v->x_mm + v->scale * point.x_mm, v->y_mm - v->scale * point.y_mm};
}

ts_xy ts_sketch_put(const ts_spot *at, bool mirrored, ts_xy own)
{
    double cosine = cos(at->angle_rad), sine = sin(at->angle_rad);
    double x_mm = mirrored ? -own.x_mm : own.x_mm;

    return (ts_xy){at->x_mm + x_mm * cosine - own.y_mm * sine,
                   at->y_mm + x_mm * sine + own.y_mm * cosine};
}

static int steps_of(const ts_piece *piece)
{
    if (piece->kind == TS_PIECE_LINE) {
        return 1;
    }
    return 1 + (int)ceil(fabs(piece->sweep_rad) / ARC_STEP_RAD);
}

ts_xy *ts_sketch_outline(const ts_drawing *drawing, const ts_outline *outline, double offset_mm,
                         const ts_spot *at, bool mirrored, int *count)
{
    ts_outline line;
    int room = 0;

    *count = 0;
    if (outline->count == 0 || !ts_outline_parallel(&line, outline, offset_mm)) {
        return NULL;
    }
    for (int i = 0; i < line.count; i++) {
        room += steps_of(&line.pieces[i]);
    }
    ts_xy *points = TS_ARRAY(drawing->arena, ts_xy, (size_t)room);
    for (int i = 0; i < line.count; i++) {
        int steps = steps_of(&line.pieces[i]);
        for (int k = 0; k < steps; k++) {
            ts_xy own;
            ts_piece_at(&line.pieces[i], (double)k / steps, &own, NULL);
            points[(*count)++] = ts_sketch_put(at, mirrored, own);
        }
    }
    return points;
}

/* The share of a curved piece at which its normal lies along `way`, in the piece's own frame;
 * false where that is not on it. On an ellipse (w cos t, l sin t) the normal is along
 * (l cos t, w sin t), and its parallels share it. */
static bool share_facing(double *share, const ts_piece *piece, ts_xy way)
{
    double t_rad = piece->kind == TS_PIECE_ELLIPSE
                       ? atan2(way.y_mm * piece->half_length_mm, way.x_mm * piece->half_width_mm)
                       : atan2(way.y_mm, way.x_mm);
    double turn_rad = fmod(t_rad - piece->start_rad, 2.0 * PI);
    if (piece->sweep_rad > 0.0 && turn_rad < 0.0) {
        turn_rad += 2.0 * PI;
    } else if (piece->sweep_rad < 0.0 && turn_rad > 0.0) {
        turn_rad -= 2.0 * PI;
    }
    *share = turn_rad / piece->sweep_rad;
    return *share > 0.0 && *share < 1.0;
}

/* A piece reaches farthest along an axis of the page at an end, or where it faces it. */
bool ts_sketch_reach(const ts_outline *outline, double offset_mm, const ts_spot *at, bool mirrored,
                     ts_box *box)
{
    ts_outline line;
    bool has_box = false;
    double cosine = cos(at->angle_rad), sine = sin(at->angle_rad);
    double flip = mirrored ? -1.0 : 1.0;
    const ts_xy ways[4] = {{flip * cosine, -sine},
                           {flip * sine, cosine},
                           {-flip * cosine, sine},
                           {-flip * sine, -cosine}};

    if (outline->count == 0 || !ts_outline_parallel(&line, outline, offset_mm)) {
        return false;
    }
    for (int i = 0; i < line.count; i++) {
        const ts_piece *piece = &line.pieces[i];
        ts_sketch_widen(box, &has_box, ts_sketch_put(at, mirrored, piece->from));
        ts_sketch_widen(box, &has_box, ts_sketch_put(at, mirrored, piece->to));
        for (int k = 0; k < 4 && piece->kind != TS_PIECE_LINE; k++) {
            double share;
            ts_xy own;
            if (share_facing(&share, piece, ways[k])) {
                ts_piece_at(piece, share, &own, NULL);
                ts_sketch_widen(box, &has_box, ts_sketch_put(at, mirrored, own));
            }
        }
    }
    return has_box;
}

const char *ts_sketch_mm(ts_arena *arena, double length_mm)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec value;

    if (!ts_dec_from_double(&value, length_mm)) {
        return "?";
    }
    return ts_arena_text(arena, ts_dec_fixed(text, value, 2));
}

const char *ts_sketch_id(ts_arena *arena, const ts_part *part, int index, int number)
{
    const char *title = ts_part_title(arena, part);
    char *id = ts_arena_text(arena, title);
    bool is_plain = true;

    for (char *c = id; *c != '\0'; c++) {
        bool is_letter = (*c >= 'a' && *c <= 'z') || (*c >= '0' && *c <= '9');
        if (!is_letter) {
            is_plain = is_plain && *c == ' ';
            *c = '-';
        }
    }
    const char *name = is_plain ? id : ts_arena_format(arena, "%s.%d", id, index + 1);
    return number == 0 ? name : ts_arena_format(arena, "%s-%d", name, number);
}
