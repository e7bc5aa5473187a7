/* A stone's plan outline and its parallels: one closed, counter-clockwise chain of pieces.
 *
 *              tip (0, +y): start          The chain begins on the length axis, at the tip
 *                   ,'.                    where the shape has one, and runs down the left
 *                 ,'   `.                  half to the axis again and up the right half. The
 *     count/2   ,'       `.   mirrored     right half is the mirror image of the left, piece
 *     pieces   |           |  pieces       by piece, so that every outline is symmetric about
 *               `.       ,'                the axis exactly.
 *                 `-...-'
 *
 * The origin is the middle of length and width as measured; y runs along the length. */
#ifndef TS_GEOMETRY_OUTLINE_H
#define TS_GEOMETRY_OUTLINE_H

#include <stdbool.h>

#include <tallystone/words/words.h>

#include "geometry/chain.h"

#define TS_OUTLINE_HALF_MOST 24
#define TS_OUTLINE_MOST (2 * TS_OUTLINE_HALF_MOST)

typedef enum ts_outline_fault {
    TS_OUTLINE_FAULT_NONE,
    TS_OUTLINE_FAULT_SIZE,     /* a measurement is no number, or not above zero */
    TS_OUTLINE_FAULT_ROUND,    /* a round whose length and width are over 10 % apart */
    TS_OUTLINE_FAULT_SHORT,    /* too short for its width: a marquise or pear below 1, a heart
                                  below 0.75 of it */
    TS_OUTLINE_FAULT_LONG,     /* a trillion longer than 2/sqrt(3) of its width bulges past a
                                  circle */
    TS_OUTLINE_FAULT_CORNER,   /* a corner below zero or over half of the shorter side */
    TS_OUTLINE_FAULT_VANISHED, /* nothing is left inside at this offset */
    TS_OUTLINE_FAULT_SPLIT,    /* the inside falls apart into several closed curves */
    TS_OUTLINE_FAULT_PIECES,   /* more pieces than TS_OUTLINE_MOST */
    TS_OUTLINE_FAULT_COUNT
} ts_outline_fault;

/* `vanished` has bit i set where piece i of the outline that this one is parallel to, or its
 * mirror image, has no part left in it; ts_piece_name tells what that piece was. With a fault
 * there are no pieces. */
typedef struct ts_outline {
    int count; /* even */
    ts_piece pieces[TS_OUTLINE_MOST];
    unsigned long vanished;
    ts_outline_fault fault;
} ts_outline;

typedef struct ts_box {
    double left_mm, right_mm; /* least and greatest x */
    double bottom_mm, top_mm; /* least and greatest y */
} ts_box;

/* Outline of a stone.
 *   length_mm, width_mm  as measured, of the finished stone, 0.001 to 1,000,000
 *   corner_mm            of a cushion its radius, of an emerald, asscher or radiant the leg
 *                        cut from each side at 45 degrees; not looked at for other shapes
 *   returns  false with out->fault set: SIZE, ROUND, SHORT, LONG or CORNER
 *   source   marquise: two arcs of radius (L^2+W^2)/(4W). Pear: a semicircle over W and two
 *            arcs that leave it in its tangent, of radius (W^2/4+H^2)/W, H = L - W/2 from its
 *            widest line to the tip. Heart: two semicircles over W/2 side by side and two
 *            such arcs, H = L - W/4. Trillion: an equilateral triangle of side W whose sides
 *            bulge by b = L - W sqrt(3)/2 as arcs of radius (W^2/4+b^2)/(2b), straight where
 *            b is not above zero (its length is then that of the triangle). Each follows from
 *            the right triangle of half chord and sagitta. */
bool ts_outline_of(ts_outline *out, ts_shape shape, double length_mm, double width_mm,
                   double corner_mm);

/* The parallel curve, outwards (offset > 0) or inwards (< 0): all points outside (inside) at
 * this distance from the outline. Outwards a sharp corner becomes an arc and a re-entrant one
 * (a heart's cleft) is cut where the parallels cross; inwards the other way round, and pieces
 * that vanish are named in `vanished`.
 *   returns  false with out->fault set: VANISHED, SPLIT, PIECES, SIZE, or the fault of `in` */
bool ts_outline_parallel(ts_outline *out, const ts_outline *in, double offset_mm);

/* Length round, and area inside: closed form but for an ellipse's length, 1e-14 of it. */
double ts_outline_length_mm(const ts_outline *outline);
double ts_outline_area_mm2(const ts_outline *outline);
/* Least box along the axes that holds it; all zero where there are no pieces. */
ts_box ts_outline_extent(const ts_outline *outline);

/* Point and unit direction at an arc length from the start, counter-clockwise; lengths beyond
 * either end go round. Either pointer may be NULL. */
void ts_outline_at(const ts_outline *outline, double length_mm, ts_xy *point, ts_xy *direction);
/* The farthest point in a direction from the origin, counted counter-clockwise from the
 * length axis as claws are; false where nothing lies that way. Either pointer may be NULL. */
bool ts_outline_towards(const ts_outline *outline, double angle_rad, ts_xy *point,
                        ts_xy *direction);
/* Distance of a point from the outline, negative inside it. */
double ts_outline_distance_mm(const ts_outline *outline, ts_xy point);

/* True where the outline is one circle about the origin; its radius. */
bool ts_outline_is_circle(const ts_outline *outline, double *radius_mm);

#endif
