/* Walking down the left half of an outline in equal chords, from the axis to the axis.
 *
 * Places on the half are told by one number, `run_mm`: the lengths of the pieces behind, and
 * on the piece itself its share of its own length. It grows steadily along the half, is the
 * arc length on lines and arcs, and is 0 at the start and `whole_mm` at the end. */
#ifndef TS_GEOMETRY_WALK_H
#define TS_GEOMETRY_WALK_H

#include <stdbool.h>

#include "geometry/outline.h"

typedef struct ts_walk {
    int count;
    const ts_piece *pieces; /* borrowed from the outline */
    double behind_mm[TS_OUTLINE_HALF_MOST];
    double length_mm[TS_OUTLINE_HALF_MOST];
    double whole_mm;
} ts_walk;

typedef struct ts_stride {
    int piece;
    double share;
    ts_xy point;
    double past_mm; /* how far the wish went past the end of the half: 0 on it */
} ts_stride;

/* Prepares a walk down an outline, which must outlive it. */
void ts_walk_of(ts_walk *walk, const ts_outline *outline);
/* The place where the half begins. */
ts_stride ts_walk_start(const ts_walk *walk);
double ts_walk_run_mm(const ts_walk *walk, const ts_stride *at);

/* The place nearest to the top (or the bottom) of the half that lies this far left of the
 * axis. Where the half is nowhere so wide, its widest place with past_mm set to what lacks. */
ts_stride ts_walk_beside_top(const ts_walk *walk, double beside_mm);
ts_stride ts_walk_beside_bottom(const ts_walk *walk, double beside_mm);

/* Takes up to `most` steps to the next place at a distance chord_mm; returns how many the half
 * had room for, and leaves `at` there. A step that misses the end of the half by less than
 * 1e-9 of a chord lands on it, with past_mm what it missed by. Where `points` is not NULL it
 * receives the place after each step. */
int ts_walk_go(const ts_walk *walk, ts_stride *at, double chord_mm, int most, ts_xy *points);

#endif
