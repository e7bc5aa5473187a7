#include "geometry/seat.h"

#include <math.h>

/* Seats and frusta: the solids that a burr, a drill and a claw are made of. */

#define PI 3.14159265358979323846
#define PAVILION 0.43 /* of the diameter: 43.0 of a reference brilliant */
#define DRILL 0.5     /* of the diameter */
#define CROSSING_STEPS 32

double ts_frustum_mm3(double one_mm, double other_mm, double height_mm)
{
    /* pi h / 3 (R^2 + R r + r^2), written with diameters */
    return PI / 12.0 * height_mm * (one_mm * one_mm + one_mm * other_mm + other_mm * other_mm);
}

double ts_seat_mm3(double diameter_mm, double metal_mm)
{
    double cone_mm = PAVILION * diameter_mm;
    double drill_mm = DRILL * diameter_mm;

    if (!(metal_mm > 0.0)) {
        return 0.0;
    }
    if (metal_mm <= cone_mm) {
        double end_mm = diameter_mm + (drill_mm - diameter_mm) * metal_mm / cone_mm;
        return ts_frustum_mm3(diameter_mm, end_mm, metal_mm);
    }
    return ts_frustum_mm3(diameter_mm, drill_mm, cone_mm) +
           PI / 4.0 * drill_mm * drill_mm * (metal_mm - cone_mm);
}

/* Integral of sqrt(r^2 - y^2) over r, from y. */
static double chords_mm2(double radius_mm, double beside_mm)
{
    if (!(radius_mm > beside_mm)) {
        return 0.0;
    }
    double half_chord_mm = sqrt(radius_mm * radius_mm - beside_mm * beside_mm);
    double rest_mm2 = beside_mm > 0.0 ? beside_mm * beside_mm * acosh(radius_mm / beside_mm) : 0.0;

    return 0.5 * (radius_mm * half_chord_mm - rest_mm2);
}

double ts_seat_strip_mm2(double diameter_mm, double metal_mm, double beside_mm, double below_mm)
{
    double cone_mm = PAVILION * diameter_mm, drill_mm = DRILL * diameter_mm / 2.0;
    double taper = (diameter_mm / 2.0 - drill_mm) / cone_mm; /* of the radius, a mm down */
    double top_mm = diameter_mm / 2.0 - taper * fmin(below_mm, cone_mm);
    double foot_mm = diameter_mm / 2.0 - taper * fmin(metal_mm, cone_mm);
    double strip_mm2 = 0.0;

    if (!(below_mm < metal_mm)) {
        return 0.0;
    }
    strip_mm2 = 2.0 / taper * (chords_mm2(top_mm, beside_mm) - chords_mm2(foot_mm, beside_mm));
    if (metal_mm > cone_mm && beside_mm < drill_mm) {
        strip_mm2 += 2.0 * sqrt(drill_mm * drill_mm - beside_mm * beside_mm) *
                     (metal_mm - fmax(below_mm, cone_mm));
    }
    return strip_mm2;
}

double ts_seat_under_mm(double diameter_mm, double metal_mm)
{
    return metal_mm - PAVILION * diameter_mm;
}

double ts_crossing_mm3(double one_mm, double other_mm)
{
    double thin_mm = fmin(one_mm, other_mm) / 2.0;
    double thick_mm = fmax(one_mm, other_mm) / 2.0;
    double sum_mm = 0.0;

    /* x = r sin a makes the integrand smooth and periodic, where equal steps converge at once */
    for (int i = 0; i < CROSSING_STEPS; i++) {
        double angle_rad = PI * (i + 0.5) / CROSSING_STEPS - PI / 2.0;
        double across_mm = thin_mm * sin(angle_rad);
        sum_mm += cos(angle_rad) * cos(angle_rad) *
                  sqrt(fmax(0.0, thick_mm * thick_mm - across_mm * across_mm));
    }
    return 4.0 * thin_mm * thin_mm * sum_mm * PI / CROSSING_STEPS;
}

double ts_slice_mm2(double radius_mm, double from_mm)
{
    double share = fmax(-1.0, fmin(1.0, from_mm / radius_mm));

    return radius_mm * radius_mm * (acos(share) - share * sqrt(1.0 - share * share));
}

double ts_hoof_mm3(double radius_mm, double from_mm)
{
    double share = fmax(-1.0, fmin(1.0, from_mm / radius_mm));
    double root = sqrt(1.0 - share * share);
    double beyond_mm = fmax(0.0, -radius_mm - from_mm); /* here the slice is the whole section */

    return radius_mm * radius_mm *
           (radius_mm * (root - share * acos(share) - root * root * root / 3.0) + PI * beyond_mm);
}
