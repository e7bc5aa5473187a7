/* The seat of a melee stone: what it drills out of the metal.
 *
 *      girdle  \--------- d ---------/
 *               \                   /      0.43 d: the pavilion
 *                \                 /
 *                 +---- d / 2 ----+
 *                 |     drill     |        through the rest
 *                 +---------------+                                             */
#ifndef TS_GEOMETRY_SEAT_H
#define TS_GEOMETRY_SEAT_H

/* Volume of one seat. A frustum from the girdle's diameter to half of it over 0.43 of the
 * diameter, then a drill of half the diameter through the rest; thinner metal cuts the
 * frustum short. The opening over the girdle is not counted: that metal is raised into the
 * beads and walls that hold the stone.
 *   metal_mm  metal below the girdle; none: 0
 *   source    frustum of a cone pi h (R^2 + R r + r^2) / 3; proportions of the geometry page;
 *             drill 45 to 55 % of the stone: common practice */
double ts_seat_mm3(double diameter_mm, double metal_mm);
/* A lengthwise section of a seat, `beside_mm` from its axis, of what lies `below_mm` or more under
 * the girdle: where the face of the metal falls away beside the stone there is less to drill.
 *   source  chords 2 sqrt(r^2 - y^2) of the frustum's and the drill's circles, in closed form */
double ts_seat_strip_mm2(double diameter_mm, double metal_mm, double beside_mm, double below_mm);
/* Metal left under the seat's frustum, where the drill alone goes through. */
double ts_seat_under_mm(double diameter_mm, double metal_mm);
/* Volume of a frustum of a cone between two diameters. */
double ts_frustum_mm3(double one_mm, double other_mm, double height_mm);

/* What two round bars have in common where they cross at right angles, axis through axis: of
 * equal bars two thirds of the cube of the diameter.
 *   source  slices along the third axis, 4 sqrt(r^2 - x^2) sqrt(R^2 - x^2) each */
double ts_crossing_mm3(double one_mm, double other_mm);

/* A round bar cut by a plane that leans in from a chord `from_mm` from its axis:
 *
 *        from                 The slice is what of the section lies beyond the chord; the
 *      |<--->|                hoof is the slice summed while the chord moves out to the rim,
 *      +     |####|           so for a plane that moves out by `slope` along each mm of the
 *     axis   |####| radius    bar the volume cut off is hoof / slope.
 *
 * `from_mm` below zero takes more than half; beyond the rim nothing is left, and beyond the
 * other rim the slice is the whole section.
 *   source  circular segment r^2 acos(s/r) - s sqrt(r^2 - s^2), and its integral */
double ts_slice_mm2(double radius_mm, double from_mm);
double ts_hoof_mm3(double radius_mm, double from_mm);

#endif
