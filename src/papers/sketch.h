/* A drawing as a list of plain marks: paths, ellipses, lettering.
 *
 * A mark stands in a view. A view has true millimetres, x to the right and y up, about an
 * origin of its own, and lies on the page at a place and a scale. View 0 is the page itself:
 * its y runs down from the upper left corner, its scale is 1. Line widths and lettering are
 * measured on the page. */
#ifndef TS_PAPERS_SKETCH_H
#define TS_PAPERS_SKETCH_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/papers/drawing.h>

#include "geometry/outline.h"

/* Weights of lines, heaviest first. */
typedef enum ts_stroke {
    TS_STROKE_NONE,
    TS_STROKE_METAL,
    TS_STROKE_STONE,
    TS_STROKE_MEASURE, /* dimension lines */
    TS_STROKE_FACET,   /* within a stone; edges within metal */
    TS_STROKE_HIDDEN,  /* dashed: behind or below something */
    TS_STROKE_LIMIT,   /* dash-dot */
    TS_STROKE_COUNT
} ts_stroke;

typedef enum ts_shade {
    TS_SHADE_NONE,
    TS_SHADE_PAPER,
    TS_SHADE_LIGHT, /* where metal faces the light */
    TS_SHADE_METAL,
    TS_SHADE_DEEP, /* metal that stands lower or turns away */
    TS_SHADE_STONE,
    TS_SHADE_INK,
    TS_SHADE_COUNT
} ts_shade;

typedef struct ts_pen {
    const char *word; /* its class in SVG */
    double width_mm;
    double grey; /* 0 black, 1 white */
    double dash_mm[4];
    int dashes;
} ts_pen;
/* Of a line's weight, in a view that is drawn fine. */
#define TS_FINE 0.5
/* Borrowed, static. */
const ts_pen *ts_pen_of(ts_stroke stroke);
const char *ts_shade_word(ts_shade shade);
double ts_shade_grey(ts_shade shade);

typedef enum ts_mark_kind {
    TS_MARK_NONE,
    TS_MARK_PATH,
    TS_MARK_ELLIPSE,
    TS_MARK_TEXT
} ts_mark_kind;
typedef enum ts_anchor { TS_ANCHOR_START, TS_ANCHOR_MIDDLE, TS_ANCHOR_END } ts_anchor;

typedef struct ts_mark {
    ts_mark_kind kind;
    int view;
    ts_stroke stroke;
    ts_shade shade;
    const char *id;   /* within its view; or NULL */
    const char *part; /* the part of the sheet, as it is named there; or NULL */
    const char *what; /* "melee", "stone", "claw", "metal", "height", ...; or NULL */
    double value_mm;  /* of a dimension: what it says */
    bool has_value;
    /* path: a line, closed or not, and a second closed one inside that is left out */
    const ts_xy *points;
    int count;
    bool is_closed;
    const ts_xy *hole;
    int hole_count;
    /* ellipse: its middle, its radii, the angle from +x to the first; text: where it begins */
    ts_xy at;
    double radius_mm, other_mm, turn_rad;
    const char *text;
    double size_mm;
    ts_anchor anchor;
    bool is_bold;
} ts_mark;

typedef struct ts_view {
    const char *id; /* "" for the page */
    const char *says;
    double x_mm, y_mm; /* its origin on the page */
    double scale;
    bool is_fine; /* lines of half their weight: small, beside a larger view */
    bool is_placed;
    bool is_empty; /* nothing stands in it */
    ts_box box;    /* of all its marks, in its own millimetres */
} ts_view;

typedef enum ts_view_number {
    TS_VIEW_PAGE,
    TS_VIEW_PLAN, /* at actual size */
    TS_VIEW_SIDE,
    TS_VIEW_PLAN_LARGE,
    TS_VIEW_SIDE_LARGE,
    TS_VIEW_COUNT
} ts_view_number;

struct ts_drawing {
    ts_arena *arena;
    double width_mm, height_mm;
    const char *title, *subject, *says;
    ts_date date;
    ts_view views[TS_VIEW_COUNT];
    ts_mark *marks;
    size_t count, room;
};

/* Adds a mark and widens its view's box by it. The copy that is kept may still be changed
 * through what is returned, until the next one is added. */
ts_mark *ts_sketch_add(ts_drawing *drawing, ts_mark mark);

/* Widens a box by a point; where there is none yet, begins it. */
void ts_sketch_widen(ts_box *box, bool *has_box, ts_xy point);
/* Copies of points; NULL where there are none. */
ts_xy *ts_sketch_points(const ts_drawing *drawing, const ts_xy *points, int count);
ts_mark *ts_sketch_path(ts_drawing *drawing, int view, const ts_xy *points, int count, bool closed);
ts_mark *ts_sketch_line(ts_drawing *drawing, int view, ts_xy from, ts_xy to, ts_stroke stroke);
ts_mark *ts_sketch_circle(ts_drawing *drawing, int view, ts_xy at, double radius_mm);
/* Lettering on the page. */
ts_mark *ts_sketch_text(ts_drawing *drawing, ts_xy at, const char *text, double size_mm,
                        ts_anchor anchor);
/* Lettering over as many lines as `width_mm` asks for; returns how many. */
int ts_sketch_wrapped(ts_drawing *drawing, ts_xy at, const char *text, double size_mm,
                      double width_mm, bool bold);
double ts_sketch_width_mm(const char *text, double size_mm, bool bold);

/* Where a point of a view lies on the page. */
ts_xy ts_sketch_page(const ts_drawing *drawing, int view, ts_xy point);

/* A parallel of an outline as a closed path, placed in plan (`mirrored`: its left and right
 * changed first). NULL with *count 0 where there is no such parallel. */
ts_xy *ts_sketch_outline(const ts_drawing *drawing, const ts_outline *outline, double offset_mm,
                         const ts_spot *at, bool mirrored, int *count);
/* The least box in plan that holds a parallel; false where there is none. */
bool ts_sketch_reach(const ts_outline *outline, double offset_mm, const ts_spot *at, bool mirrored,
                     ts_box *box);
/* A point of a stone's own frame in plan. */
ts_xy ts_sketch_put(const ts_spot *at, bool mirrored, ts_xy own);
/* "1.40": a length with two decimals, rounded as the quantities are. */
const char *ts_sketch_mm(ts_arena *arena, double length_mm);
/* "halo-top-3": a name for an element, of a part and a number (0: none). */
const char *ts_sketch_id(ts_arena *arena, const ts_part *part, int index, int number);

#endif
