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
