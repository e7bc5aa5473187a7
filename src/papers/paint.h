/* The forms of a drawing that a library paints. */
#ifndef TS_PAPERS_PAINT_H
#define TS_PAPERS_PAINT_H

#include "papers/svg.h"

#include <tallystone/base/diag.h>
#include <tallystone/papers/drawing.h>

/* Adds the bytes of TS_DRAWING_PNG or TS_DRAWING_PDF to `to`. TS_FAULTY with a sentence where a
 * PNG would be too large, TS_IO where the library fails. */
ts_status ts_paint(ts_bytes *to, const ts_drawing *drawing, ts_drawing_form form,
                   ts_diag *diag) TS_MUST_USE;

#endif
