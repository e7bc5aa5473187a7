/* Lengths and angles along an ellipse (half_width cos t, half_length sin t). */
#ifndef TS_GEOMETRY_ELLIPSE_H
#define TS_GEOMETRY_ELLIPSE_H

/* Arc length from t = 0 to t, any t; about 1e-15 of the perimeter, at any slimness.
 *   source  incomplete elliptic integral of the second kind in Carlson's forms, DLMF 19.25.9;
 *           R_F and R_D by duplication, B. C. Carlson, Numer. Algorithms 10 (1995) 13-26 */
double ts_ellipse_arc_mm(double half_width_mm, double half_length_mm, double t_rad);
/* Angle of the outward normal at t, continuous in t and equal to it at quarter turns. */
double ts_ellipse_normal_rad(double half_width_mm, double half_length_mm, double t_rad);
/* Eccentric angle, 0 to pi/2, of the place on the ellipse nearest to (x, y), both >= 0. The
 * quarter that a point lies in holds exactly one foot of its perpendiculars, the nearest. */
double ts_ellipse_foot_rad(double half_width_mm, double half_length_mm, double x_mm, double y_mm);

#endif
