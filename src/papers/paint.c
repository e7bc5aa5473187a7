#include "papers/paint.h"

#include <tallystone/base/reserve.h>

#include "papers/png.h"

#include <cairo-pdf.h>

#include <math.h>
#include <stdint.h>

/* PNG and PDF of a drawing, by cairo. No clock and no name of a machine goes into them; the date
 * is the commission's. */

#define DOTS_PER_MM (300.0 / 25.4)
#define DOTS_PER_METRE 11811u /* 300 an inch */
#define POINTS_PER_MM (72.0 / 25.4)
#define PNG_MOST_MM 500.0 /* a side; 5906 dots */
#define PI 3.14159265358979323846

/* A surface of alpha alone keeps the grey itself: what is drawn replaces what is there, as
 * far as it covers a dot. */
static void set_ink(cairo_t *c, double grey)
{
    if (cairo_surface_get_content(cairo_get_target(c)) == CAIRO_CONTENT_ALPHA) {
        cairo_set_operator(c, CAIRO_OPERATOR_SOURCE);
        cairo_set_source_rgba(c, 0.0, 0.0, 0.0, grey);
    } else {
        cairo_set_source_rgb(c, grey, grey, grey);
    }
}

static void trace_points(cairo_t *c, const ts_drawing *drawing, int view, const ts_xy *points,
                         int count, bool closed)
{
    for (int i = 0; i < count; i++) {
        ts_xy at = ts_sketch_page(drawing, view, points[i]);
        if (i == 0) {
            cairo_move_to(c, at.x_mm, at.y_mm);
        } else {
            cairo_line_to(c, at.x_mm, at.y_mm);
        }
    }
    if (closed && count > 0) {
        cairo_close_path(c);
    }
}

static void trace_ellipse(cairo_t *c, const ts_drawing *drawing, const ts_mark *mark)
{
    double scale = drawing->views[mark->view].scale;
    ts_xy at = ts_sketch_page(drawing, mark->view, mark->at);

    if (!(mark->radius_mm > 0.0) || !(mark->other_mm > 0.0)) {
        return;
    }
    cairo_save(c);
    cairo_translate(c, at.x_mm, at.y_mm);
    cairo_rotate(c, -mark->turn_rad);
    cairo_scale(c, scale * mark->radius_mm, scale * mark->other_mm);
    cairo_new_sub_path(c);
    cairo_arc(c, 0.0, 0.0, 1.0, 0.0, 2.0 * PI);
    cairo_close_path(c);
    cairo_restore(c);
}

static void fill_and_stroke(cairo_t *c, const ts_drawing *drawing, const ts_mark *mark)
{
    double weight = drawing->views[mark->view].is_fine ? TS_FINE : 1.0;

    if (mark->shade != TS_SHADE_NONE) {
        double grey = ts_shade_grey(mark->shade);
        set_ink(c, grey);
        cairo_fill_preserve(c);
    }
    if (mark->stroke != TS_STROKE_NONE) {
        const ts_pen *pen = ts_pen_of(mark->stroke);
        set_ink(c, pen->grey);
        cairo_set_line_width(c, weight * pen->width_mm);
        cairo_set_dash(c, pen->dash_mm, pen->dashes, 0.0);
        cairo_set_line_cap(c, pen->dashes > 0 ? CAIRO_LINE_CAP_BUTT : CAIRO_LINE_CAP_ROUND);
        cairo_stroke_preserve(c);
    }
    cairo_new_path(c);
}

/* Lettering begins where our own widths say, so that every form sets it alike. */
static void write_text(cairo_t *c, const ts_drawing *drawing, const ts_mark *mark)
{
    ts_xy at = ts_sketch_page(drawing, mark->view, mark->at);
    cairo_text_extents_t extents;

    cairo_select_font_face(c, "Liberation Sans", CAIRO_FONT_SLANT_NORMAL,
                           mark->is_bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(c, mark->size_mm);
    if (mark->anchor != TS_ANCHOR_START) {
        cairo_text_extents(c, mark->text, &extents);
        at.x_mm -= extents.x_advance * (mark->anchor == TS_ANCHOR_MIDDLE ? 0.5 : 1.0);
    }
    set_ink(c, ts_shade_grey(TS_SHADE_INK));
    cairo_move_to(c, at.x_mm, at.y_mm);
    cairo_show_text(c, mark->text);
    cairo_new_path(c);
}

static void paint_mark(cairo_t *c, const ts_drawing *drawing, const ts_mark *mark)
{
    switch (mark->kind) {
    case TS_MARK_PATH:
        trace_points(c, drawing, mark->view, mark->points, mark->count, mark->is_closed);
        trace_points(c, drawing, mark->view, mark->hole, mark->hole_count, true);
        fill_and_stroke(c, drawing, mark);
        break;
    case TS_MARK_ELLIPSE:
        trace_ellipse(c, drawing, mark);
        fill_and_stroke(c, drawing, mark);
        break;
    case TS_MARK_TEXT:
        write_text(c, drawing, mark);
        break;
    case TS_MARK_NONE:
        break;
    }
}

/* Everything, on a surface whose unit has been scaled to 1 mm. */
static void paint(cairo_t *c, const ts_drawing *drawing)
{
    cairo_font_options_t *options = cairo_font_options_create();

    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_set_font_options(c, options);
    cairo_font_options_destroy(options);
    set_ink(c, 1.0);
    cairo_paint(c);
    cairo_set_fill_rule(c, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_set_line_join(c, CAIRO_LINE_JOIN_ROUND);
    cairo_set_antialias(c, CAIRO_ANTIALIAS_FAST); /* sixteen steps of coverage */
    for (int view = TS_VIEW_COUNT - 1; view >= 0; view--) {
        for (size_t i = 0; drawing->views[view].is_placed && i < drawing->count; i++) {
            if (drawing->marks[i].view == view) {
                paint_mark(c, drawing, &drawing->marks[i]);
            }
        }
    }
}

static cairo_status_t take(void *closure, const unsigned char *from, unsigned length)
{
    ts_bytes_add(closure, (const char *)from, length);
    return CAIRO_STATUS_SUCCESS;
}

static ts_status refuse(const ts_bytes *to, ts_diag *diag, cairo_status_t status)
{
    if (status == CAIRO_STATUS_NO_MEMORY) {
        ts_arena_exhausted(to->arena);
    }
    ts_diag_add(diag, TS_FAULT_OUTPUT, NULL, "the drawing could not be made: %s",
                cairo_status_to_string(status));
    return TS_IO;
}

/* ---- PNG ---- */

/* An alpha surface holds a byte a dot: a quarter of the memory of one in colours. What it
 * holds is taken as grey (see set_ink). */
static ts_status write_png(ts_bytes *to, const ts_drawing *drawing, ts_diag *diag)
{
    if (drawing->width_mm > PNG_MOST_MM || drawing->height_mm > PNG_MOST_MM) {
        ts_diag_add(diag, TS_FAULT_TOO_LARGE, NULL,
                    "the drawing is %.0f by %.0f mm; a PNG holds at most %.0f mm a side, an SVG or "
                    "PDF holds it whole",
                    drawing->width_mm, drawing->height_mm, PNG_MOST_MM);
        return TS_FAULTY;
    }
    int width = (int)lround(drawing->width_mm * DOTS_PER_MM);
    int height = (int)lround(drawing->height_mm * DOTS_PER_MM);
    ts_reserve(to->arena);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, width, height);
    cairo_t *c = cairo_create(surface);
    cairo_scale(c, DOTS_PER_MM, DOTS_PER_MM);
    paint(c, drawing);
    cairo_status_t status = cairo_status(c);
    cairo_surface_flush(surface);
    if (status == CAIRO_STATUS_SUCCESS) {
        ts_greys greys = {.at = cairo_image_surface_get_data(surface),
                          .width = width,
                          .height = height,
                          .stride = cairo_image_surface_get_stride(surface),
                          .dots_per_metre = DOTS_PER_METRE};
        ts_png_write(to, &greys);
    }
    cairo_destroy(c);
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? TS_OK : refuse(to, diag, status);
}

/* ---- PDF ---- */

static ts_status write_pdf(ts_bytes *to, const ts_drawing *drawing, ts_diag *diag)
{
    char day[TS_DATE_TEXT];
    ts_reserve(to->arena);
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        take, to, drawing->width_mm * POINTS_PER_MM, drawing->height_mm * POINTS_PER_MM);

    if (ts_date_given(drawing->date)) {
        const char *made =
            ts_arena_format(to->arena, "%sT00:00:00Z", ts_date_text(day, drawing->date));
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, made);
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, made);
    }
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, drawing->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, drawing->says);
    cairo_t *c = cairo_create(surface);
    cairo_scale(c, POINTS_PER_MM, POINTS_PER_MM);
    paint(c, drawing);
    cairo_show_page(c);
    cairo_status_t status = cairo_status(c);
    cairo_destroy(c);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS) {
        status = cairo_surface_status(surface);
    }
    cairo_surface_destroy(surface);
    return status == CAIRO_STATUS_SUCCESS ? TS_OK : refuse(to, diag, status);
}

ts_status ts_paint(ts_bytes *to, const ts_drawing *drawing, ts_drawing_form form, ts_diag *diag)
{
    return form == TS_DRAWING_PNG ? write_png(to, drawing, diag) : write_pdf(to, drawing, diag);
}
