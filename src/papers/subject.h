/* The piece as its drawing sees it, and the views that are drawn of it. */
#ifndef TS_PAPERS_SUBJECT_H
#define TS_PAPERS_SUBJECT_H

#include "geometry/shank.h"
#include "papers/sketch.h"

typedef struct ts_subject {
    ts_arena *arena;
    const ts_design *design;
    const ts_geometry *geometry;
    const ts_quantities *quantities;
    ts_outline *outlines; /* by stone; without pieces where there is none */
    ts_band band;
    bool has_band;
} ts_subject;

/* Forms outlines and the band anew from what was measured. */
ts_subject ts_subject_of(ts_arena *arena, const ts_drawing_ask *ask);

/* A copy of a stone that is drawn: it has a place in the ring, or lies beside it near enough. */
bool ts_subject_shows(const ts_subject *subject, int stone, int copy);
/* Several of one kind without a place beside anything: where they sit in the band is not said,
 * so none is drawn. */
bool ts_subject_is_scattered(const ts_subject *subject, int stone);
/* How far metal reaches round a stone, from its girdle; 0 where there is none. */
double ts_subject_outer_mm(const ts_subject *subject, int stone);
/* What all stones that stand in the ring take in plan, with the metal round them. */
bool ts_subject_box(const ts_subject *subject, ts_box *box);
/* What a parallel of one stone's outline takes in plan; false where there is none. */
bool ts_subject_reach(const ts_subject *subject, int stone, int copy, double offset_mm,
                      ts_box *box);
/* It has a place in the ring: it is the first, or stands beside another. */
bool ts_subject_stands(const ts_subject *subject, int stone, int copy);
/* Every second copy of what flanks something is the mirror image of the one before. */
bool ts_subject_is_mirrored(const ts_subject *subject, int stone, int copy);
/* A spot of the first copy moved to another copy of the stone that it belongs to. */
ts_spot ts_subject_spot(const ts_subject *subject, int stone, int copy, const ts_spot *first);

/* One view of the piece into a drawing. `detail`: facets, and what is hidden. */
void ts_plan_draw(ts_drawing *drawing, const ts_subject *subject, int view, bool detail);
void ts_side_draw(ts_drawing *drawing, const ts_subject *subject, int view, bool detail);

/* --- stones (gems.c) --- */

/* A feature stone from above, with its facets where `detail`. */
void ts_gem_plan(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy,
                 bool detail);
/* A small round stone in a view. */
typedef struct ts_melee_mark {
    const char *id, *part;
    ts_xy at;
    double diameter_mm;
    double across, turn_rad; /* seen from its table: foreshortened to so much, along this way */
    ts_xy out;               /* seen on its edge: the way its table looks, a unit vector */
    bool is_hidden;          /* on its edge: dashed, and its girdle alone unless `detail` */
} ts_melee_mark;
void ts_gem_melee(ts_drawing *drawing, int view, const ts_melee_mark *melee, bool detail);
void ts_gem_edge(ts_drawing *drawing, int view, const ts_melee_mark *melee, bool detail);
/* A feature stone from the side, its girdle from left to right. */
void ts_gem_side(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy,
                 bool detail);
/* Its pavilion as a hidden outline. */
void ts_gem_pavilion(ts_drawing *drawing, const ts_subject *subject, int view, int stone, int copy);

/* --- dimensions and names on the page (dimension.c) --- */

/* A dimension between two heights of a view, drawn at `x_mm` of the page; arrows at both
 * ends. The figure is set by the caller. */
ts_mark *ts_dimension_up(ts_drawing *drawing, int view, double from_mm, double to_mm, double x_mm);
/* A dimension between two places along x, drawn at `y_mm` of the page, with its figure;
 * extension lines begin at `from` and `to`. */
ts_mark *ts_dimension_across(ts_drawing *drawing, int view, ts_xy from, ts_xy to, double y_mm,
                             const char *text);
/* A bar so many millimetres long at the view's scale, with its length written so large. */
void ts_dimension_bar(ts_drawing *drawing, int view, ts_xy at, double length_mm, double letter_mm);
/* Heights over the finger beside a side view, and the room under the halo. */
void ts_dimension_heights(ts_drawing *drawing, const ts_subject *subject, int view);
/* Sizes under a plan; returns the page's y below them. */
double ts_dimension_plan(ts_drawing *drawing, const ts_subject *subject, int view);
/* A letter for each part over a plan, and the key to them from `y_mm` down; returns the y
 * below it. */
double ts_dimension_key(ts_drawing *drawing, const ts_subject *subject, int view, double y_mm);
/* The same in a sentence, at most 250 bytes. */
const char *ts_dimension_says(ts_arena *arena, const ts_subject *subject);

/* Sizes of lettering on the page, mm: 10, 8 and 7 points. */
#define TS_LETTER_TITLE_MM 3.6
#define TS_LETTER_MM 2.8
#define TS_LETTER_SMALL_MM 2.5

#endif
