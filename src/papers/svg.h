/* The SVG form of a drawing. */
#ifndef TS_PAPERS_SVG_H
#define TS_PAPERS_SVG_H

#include "papers/sketch.h"

/* Bytes that grow. */
typedef struct ts_bytes {
    ts_arena *arena;
    char *at;
    size_t length, room;
} ts_bytes;
void ts_bytes_add(ts_bytes *bytes, const char *from, size_t length);
void ts_bytes_text(ts_bytes *bytes, const char *text);

/* Plain elements in mm: circle, ellipse, path and text, grouped by view; what can be told
 * apart has an id, its part of the sheet as `data-part`, a dimension its length as `data-mm`.
 * What lies in a view is at its place on the page; `data-scale` of the group tells its scale. */
void ts_svg_write(ts_bytes *to, const ts_drawing *drawing);

#endif
