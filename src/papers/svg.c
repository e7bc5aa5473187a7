#include "papers/svg.h"

#include <math.h>
#include <string.h>

/* Why this file exists: a drawing library writes lettering as outlines and circles as curves,
 * in points. Here the file keeps what it shows: a stone is a circle with its radius in mm, a
 * word is a word, and a bench can read or change either. All lengths are user units of 1 mm;
 * width and height of the page are in mm, so that it prints at actual size. */

#define PI 3.14159265358979323846

void ts_bytes_add(ts_bytes *bytes, const char *from, size_t length)
{
    if (bytes->length + length > bytes->room) {
        size_t room = (bytes->length + length) * 2 + 4096;
        char *at = ts_arena_alloc(bytes->arena, room, 1);
        if (bytes->length > 0) {
            memcpy(at, bytes->at, bytes->length);
        }
        bytes->at = at;
        bytes->room = room;
    }
    memcpy(bytes->at + bytes->length, from, length);
    bytes->length += length;
}

void ts_bytes_text(ts_bytes *bytes, const char *text)
{
    ts_bytes_add(bytes, text, strlen(text));
}

/* Text from outside, between tags or in an attribute. */
static void put_escaped(ts_bytes *to, const char *text)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '&':
            ts_bytes_text(to, "&amp;");
            break;
        case '<':
            ts_bytes_text(to, "&lt;");
            break;
        case '>':
            ts_bytes_text(to, "&gt;");
            break;
        case '"':
            ts_bytes_text(to, "&quot;");
            break;
        case '\'':
            ts_bytes_text(to, "&#39;");
            break;
        default:
            ts_bytes_add(to, text, 1);
        }
    }
}

/* A length to a ten-thousandth of a millimetre. */
static void put_mm(ts_bytes *to, double length_mm)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec value;

    if (ts_dec_from_double(&value, round(length_mm * 1e4) / 1e4)) {
        ts_bytes_text(to, ts_dec_text(text, value));
    } else {
        ts_bytes_text(to, "0");
    }
}

static void put_attribute(ts_bytes *to, const char *name, const char *value)
{
    ts_bytes_text(to, " ");
    ts_bytes_text(to, name);
    ts_bytes_text(to, "=\"");
    put_escaped(to, value);
    ts_bytes_text(to, "\"");
}

static void put_length(ts_bytes *to, const char *name, double length_mm)
{
    ts_bytes_text(to, " ");
    ts_bytes_text(to, name);
    ts_bytes_text(to, "=\"");
    put_mm(to, length_mm);
    ts_bytes_text(to, "\"");
}

/* `#` and two hexadecimal digits three times. */
static void put_grey(ts_bytes *to, double grey)
{
    static const char digits[] = "0123456789abcdef";
    unsigned level = (unsigned)lround(grey * 255.0) & 0xffu;
    const char pair[2] = {digits[level >> 4], digits[level & 0xfu]};

    ts_bytes_text(to, "#");
    for (int i = 0; i < 3; i++) {
        ts_bytes_add(to, pair, 2);
    }
}

static void put_styles(ts_bytes *to)
{
    ts_bytes_text(to, "<style>\n"
                      "path,circle,ellipse{fill:none;stroke:none;stroke-linejoin:round;"
                      "stroke-linecap:round}\n"
                      "text{font-family:'Liberation Sans',Arial,Helvetica,sans-serif;fill:#1a1a1a;"
                      "white-space:pre}\n");
    for (int i = 1; i < TS_STROKE_COUNT; i++) {
        const ts_pen *pen = ts_pen_of((ts_stroke)i);
        ts_bytes_text(to, ".");
        ts_bytes_text(to, pen->word);
        ts_bytes_text(to, "{stroke:");
        put_grey(to, pen->grey);
        ts_bytes_text(to, ";stroke-width:");
        put_mm(to, pen->width_mm);
        for (int k = 0; k < pen->dashes; k++) {
            ts_bytes_text(to, k == 0 ? ";stroke-linecap:butt;stroke-dasharray:" : ",");
            put_mm(to, pen->dash_mm[k]);
        }
        ts_bytes_text(to, "}\n.fine .");
        ts_bytes_text(to, pen->word);
        ts_bytes_text(to, "{stroke-width:");
        put_mm(to, TS_FINE * pen->width_mm);
        ts_bytes_text(to, "}\n");
    }
    for (int i = 1; i < TS_SHADE_COUNT; i++) {
        ts_bytes_text(to, ".");
        ts_bytes_text(to, ts_shade_word((ts_shade)i));
        ts_bytes_text(to, "{fill:");
        put_grey(to, ts_shade_grey((ts_shade)i));
        ts_bytes_text(to, ";fill-rule:evenodd}\n");
    }
    ts_bytes_text(to, "</style>\n");
}

static void put_class(ts_bytes *to, const ts_mark *mark)
{
    if (mark->stroke == TS_STROKE_NONE && mark->shade == TS_SHADE_NONE) {
        return;
    }
    ts_bytes_text(to, " class=\"");
    if (mark->stroke != TS_STROKE_NONE) {
        ts_bytes_text(to, ts_pen_of(mark->stroke)->word);
    }
    if (mark->shade != TS_SHADE_NONE) {
        ts_bytes_text(to, mark->stroke != TS_STROKE_NONE ? " " : "");
        ts_bytes_text(to, ts_shade_word(mark->shade));
    }
    ts_bytes_text(to, "\"");
}

/* What a mark is. An id is the mark's own in the plan at actual size, which a bench measures
 * from; in the other views their name goes before it. */
static void put_names(ts_bytes *to, const ts_drawing *drawing, const ts_mark *mark)
{
    if (mark->id != NULL) {
        bool is_bare = mark->view == TS_VIEW_PAGE || mark->view == TS_VIEW_PLAN;
        ts_bytes_text(to, " id=\"");
        if (!is_bare) {
            ts_bytes_text(to, drawing->views[mark->view].id);
            ts_bytes_text(to, "-");
        }
        put_escaped(to, mark->id);
        ts_bytes_text(to, "\"");
    }
    put_class(to, mark);
    if (mark->what != NULL) {
        put_attribute(to, "data-what", mark->what);
    }
    if (mark->part != NULL) {
        put_attribute(to, "data-part", mark->part);
    }
    if (mark->has_value) {
        char text[TS_DECIMAL_TEXT];
        ts_dec value;
        if (ts_dec_from_double(&value, mark->value_mm)) {
            put_attribute(to, "data-mm", ts_dec_text(text, value));
        }
    }
}

static void put_points(ts_bytes *to, const ts_drawing *drawing, int view, const ts_xy *points,
                       int count, bool closed)
{
    for (int i = 0; i < count; i++) {
        ts_xy at = ts_sketch_page(drawing, view, points[i]);
        ts_bytes_text(to, i == 0 ? "M" : i == 1 ? "L" : " ");
        put_mm(to, at.x_mm);
        ts_bytes_text(to, " ");
        put_mm(to, at.y_mm);
    }
    if (closed) {
        ts_bytes_text(to, "Z");
    }
}

static void put_path(ts_bytes *to, const ts_drawing *drawing, const ts_mark *mark)
{
    ts_bytes_text(to, "<path");
    put_names(to, drawing, mark);
    ts_bytes_text(to, " d=\"");
    put_points(to, drawing, mark->view, mark->points, mark->count, mark->is_closed);
    put_points(to, drawing, mark->view, mark->hole, mark->hole_count, mark->hole_count > 0);
    ts_bytes_text(to, "\"/>\n");
}

static void put_ellipse(ts_bytes *to, const ts_drawing *drawing, const ts_mark *mark)
{
    double scale = drawing->views[mark->view].scale;
    ts_xy at = ts_sketch_page(drawing, mark->view, mark->at);
    bool is_circle = mark->radius_mm == mark->other_mm;

    ts_bytes_text(to, is_circle ? "<circle" : "<ellipse");
    put_names(to, drawing, mark);
    put_length(to, "cx", at.x_mm);
    put_length(to, "cy", at.y_mm);
    if (is_circle) {
        put_length(to, "r", scale * mark->radius_mm);
    } else {
        put_length(to, "rx", scale * mark->radius_mm);
        put_length(to, "ry", scale * mark->other_mm);
    }
    if (!is_circle && mark->turn_rad != 0.0) {
        ts_bytes_text(to, " transform=\"rotate(");
        put_mm(to, -mark->turn_rad * 180.0 / PI);
        ts_bytes_text(to, " ");
        put_mm(to, at.x_mm);
        ts_bytes_text(to, " ");
        put_mm(to, at.y_mm);
        ts_bytes_text(to, ")\"");
    }
    ts_bytes_text(to, "/>\n");
}

static void put_text(ts_bytes *to, const ts_drawing *drawing, const ts_mark *mark)
{
    static const char *const anchors[] = {NULL, "middle", "end"};
    ts_xy at = ts_sketch_page(drawing, mark->view, mark->at);

    ts_bytes_text(to, "<text");
    put_length(to, "x", at.x_mm);
    put_length(to, "y", at.y_mm);
    put_length(to, "font-size", mark->size_mm);
    if (anchors[mark->anchor] != NULL) {
        put_attribute(to, "text-anchor", anchors[mark->anchor]);
    }
    if (mark->is_bold) {
        put_attribute(to, "font-weight", "bold");
    }
    ts_bytes_text(to, ">");
    put_escaped(to, mark->text);
    ts_bytes_text(to, "</text>\n");
}

static void put_view(ts_bytes *to, const ts_drawing *drawing, int view)
{
    const ts_view *v = &drawing->views[view];

    ts_bytes_text(to, "<g");
    put_attribute(to, "id", v->id);
    if (v->is_fine) {
        put_attribute(to, "class", "fine");
    }
    put_length(to, "data-scale", v->scale);
    if (view != TS_VIEW_PAGE) {
        put_length(to, "data-x", v->x_mm);
        put_length(to, "data-y", v->y_mm);
    }
    ts_bytes_text(to, ">\n");
    for (size_t i = 0; i < drawing->count; i++) {
        const ts_mark *mark = &drawing->marks[i];
        if (mark->view != view) {
            continue;
        }
        switch (mark->kind) {
        case TS_MARK_PATH:
            put_path(to, drawing, mark);
            break;
        case TS_MARK_ELLIPSE:
            put_ellipse(to, drawing, mark);
            break;
        case TS_MARK_TEXT:
            put_text(to, drawing, mark);
            break;
        case TS_MARK_NONE:
            break;
        }
    }
    ts_bytes_text(to, "</g>\n");
}

void ts_svg_write(ts_bytes *to, const ts_drawing *drawing)
{
    ts_bytes_text(to, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"");
    put_mm(to, drawing->width_mm);
    ts_bytes_text(to, "mm\" height=\"");
    put_mm(to, drawing->height_mm);
    ts_bytes_text(to, "mm\" viewBox=\"0 0 ");
    put_mm(to, drawing->width_mm);
    ts_bytes_text(to, " ");
    put_mm(to, drawing->height_mm);
    ts_bytes_text(to, "\" role=\"img\">\n<title>");
    put_escaped(to, drawing->title);
    ts_bytes_text(to, "</title>\n<desc>");
    put_escaped(to, drawing->says);
    ts_bytes_text(to, "</desc>\n");
    put_styles(to);
    ts_bytes_text(to, "<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n");
    for (int view = TS_VIEW_COUNT - 1; view >= 0; view--) {
        if (drawing->views[view].is_placed) {
            put_view(to, drawing, view);
        }
    }
    ts_bytes_text(to, "</svg>\n");
}
