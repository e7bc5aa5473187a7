/* The drawing of a piece, to scale: plan from above and side view along the finger.
 *
 * One list of plain marks in millimetres serves every form it is written in. The same input
 * gives the same bytes. */
#ifndef TS_PAPERS_DRAWING_H
#define TS_PAPERS_DRAWING_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/design/design.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

typedef struct ts_drawing ts_drawing;

typedef enum ts_drawing_kind {
    TS_DRAWING_SHEET,   /* all there is to say: a plan to set from, dimensions, a key; some
                           120 mm wide, of which views marked 1:1 print at actual size */
    TS_DRAWING_PICTURE, /* plan above side view, with a scale bar; 51 mm wide */
} ts_drawing_kind;

typedef enum ts_drawing_form {
    TS_DRAWING_FORM_NONE,
    TS_DRAWING_SVG,
    TS_DRAWING_PNG,
    TS_DRAWING_PDF,
    TS_DRAWING_FORM_COUNT
} ts_drawing_form;

/* What a drawing is made from; all borrowed, and must outlive it. */
typedef struct ts_drawing_ask {
    const ts_design *design;
    const ts_geometry *geometry;
    const ts_quantities *quantities;
    ts_drawing_kind kind;
    bool draft;     /* "Draft" in the title block */
    double high_mm; /* of a picture, at most; 0: 53 */
} ts_drawing_ask;

/* Draws a piece that geometry could measure. What has no measurements that can be drawn is
 * left out; a piece of which nothing can be drawn has a page that says so. Into the arena. */
ts_drawing *ts_drawing_of(ts_arena *arena, const ts_drawing_ask *ask);

/* Size of the whole page in mm, and a sentence or two for who cannot see it (at most 250
 * bytes). Either size may be NULL. */
void ts_drawing_size(const ts_drawing *drawing, double *width_mm, double *height_mm);
const char *ts_drawing_says(const ts_drawing *drawing);

/* Nothing of the piece could be drawn. */
bool ts_drawing_is_empty(const ts_drawing *drawing);
/* True where both show the same piece: stones, metal and their places; what is written beside
 * them is not looked at. */
bool ts_drawing_same(const ts_drawing *one, const ts_drawing *other);

/* The form that a file name's ending asks for (.svg, .png, .pdf in any case), or NONE. */
ts_drawing_form ts_drawing_form_of(const char *path);

/* The bytes of one form: SVG in mm; PNG of 300 dots an inch that says so (pHYs); PDF of the
 * page's true size. TS_FAULTY with a sentence where a PNG would be too large, TS_IO where the
 * drawing library fails. */
ts_status ts_drawing_bytes(const char **bytes, size_t *length, ts_arena *arena,
                           const ts_drawing *drawing, ts_drawing_form form,
                           ts_diag *diag) TS_MUST_USE;

/* Writes one form to `path` (a staged file). TS_IO with a sentence where it cannot. */
ts_status ts_drawing_write(const char *path, ts_arena *arena, const ts_drawing *drawing,
                           ts_drawing_form form, ts_diag *diag) TS_MUST_USE;

/* A picture to be put into a workbook. */
typedef struct ts_drawing_picture {
    const unsigned char *png; /* arena; 300 dots an inch */
    size_t length;
    double width_mm, height_mm; /* at which it is to scale */
    const char *says;           /* alternative text */
} ts_drawing_picture;

/* A drawing's PNG with what a workbook needs to know of it. False with a sentence in `diag`
 * where it cannot be made. */
bool ts_drawing_png(ts_drawing_picture *out, ts_arena *arena, const ts_drawing *drawing,
                    ts_diag *diag) TS_MUST_USE;

#endif
