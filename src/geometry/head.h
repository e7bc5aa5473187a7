/* A head: claws from the base rail to over the girdle, and the rails that join them.
 *
 *        tip   __                     The base rail lies level with the culet, `inset` inside
 *             |  |  reach             the girdle; further rails stand evenly between it and
 *     --------|  |--- girdle          the girdle. A claw's axis runs straight from the base
 *      \      / /                     rail to the girdle, then up; it thins evenly from
 *        \   / /    pavilion          `claw diameter` to `tip diameter`. Its end stands over
 *          \/ /                       the girdle by 0.7 of the crown (a v claw, which covers
 *     (rail)-+----- culet             a corner: by all of it).                             */
#ifndef TS_GEOMETRY_HEAD_H
#define TS_GEOMETRY_HEAD_H

#include <tallystone/words/words.h>

#include "geometry/outline.h"

/* Volume of what ends a claw of this style, standing on its frustum of diameter d:
 *   round, double  half a ball          2/3 pi (d/2)^3
 *   pointed        a cone as high as wide, pi/3 (d/2)^2 d: just as much
 *   flat           nothing: the frustum ends flat
 *   v              two walls d long, d high and d/2 thick that meet at the corner:
 *                  (2 d d/2 - (d/2)^2) d = 3/4 d^3
 * and its height: d/2, d, 0, d. */
double ts_claw_tip_mm3(ts_claw style, double diameter_mm);
double ts_claw_tip_height_mm(ts_claw style, double diameter_mm);

/* How far a claw's end stands over the girdle's upper edge, as a part of the crown's height.
 *   source  trade benchmarks of setting: claw height 60 to 80 % of girdle to table, 70 to
 *           80 % in a second guide; 90 to 110 % for v claws on a princess */
double ts_claw_reach(ts_claw style);

/* Where `count` claws stand about an outline, as points on the girdle with outward
 * directions (angles counter-clockwise from the length axis). On a round or oval evenly by
 * angle from `first_rad`; on the other shapes at the tips and corners first (counter-clockwise
 * from the length axis), the rest shared evenly over the stretches between; fewer claws than
 * corners take every second or third of them. `at_corner` counts those at one.
 * Writes `count` elements; count at most TS_CLAWS_MOST. */
#define TS_CLAWS_MOST 24
typedef struct ts_claw_place {
    ts_xy point;
    double out_rad;
    bool is_at_corner;
} ts_claw_place;
void ts_claws_place(ts_claw_place *places, int count, ts_shape shape, const ts_outline *outline,
                    double first_rad);

#endif
