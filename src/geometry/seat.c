#include "geometry/seat.h"

#include <math.h>

/* Seats and frusta: the solids that a burr, a drill and a claw are made of. */

#define PI 3.14159265358979323846
#define PAVILION 0.43 /* of the diameter: 43.0 of a reference brilliant */
#define DRILL 0.5     /* of the diameter */

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
