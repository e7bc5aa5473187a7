#include "geometry/profile.h"

#include <assert.h>
#include <math.h>

/* The five profiles in one basis.
 *
 * Over x in [0, 1], with a = sqrt(1-x^2) and r = 1-x:
 *   mean a   = pi/4           a quarter of the unit circle
 *   mean r   = 1/2
 *   mean a^2 = 1 - 1/3        mean r^2 = 1/3
 *   mean a r = pi/4 - 1/3     since the integral of x sqrt(1-x^2) is 1/3
 * The proportions of court (sides of 0.4 t, 0.2 t of them inside) are the studio's. */

#define MEAN_ARCH 0.78539816339744830962       /* pi/4 */
#define MEAN_ARCH_RIDGE 0.45206483006411497629 /* pi/4 - 1/3 */
#define MEAN_ARCH_SQUARE (2.0 / 3.0)
#define MEAN_RIDGE 0.5
#define MEAN_RIDGE_SQUARE (1.0 / 3.0)

#define COURT_SIDE 0.6  /* of the thickness, where the outer arch begins */
#define COURT_INNER 0.2 /* of the thickness, relief of the inner arch at the sides */

ts_curve ts_profile_height(ts_profile profile, double thickness_mm, double wall_mm)
{
    double t = thickness_mm;
    double k = fmin(wall_mm, t);

    assert(profile != TS_PROFILE_COUNT);
    switch (profile) {
    case TS_PROFILE_FLAT:
        return (ts_curve){t, 0.0, 0.0};
    case TS_PROFILE_HALF_ROUND:
        return (ts_curve){k, t - k, 0.0};
    case TS_PROFILE_KNIFE_EDGE:
        return (ts_curve){k, 0.0, t - k};
    case TS_PROFILE_COURT:
        return (ts_curve){COURT_SIDE * t, (1.0 - COURT_SIDE) * t, 0.0};
    case TS_PROFILE_ROUND_WIRE:
        return (ts_curve){t / 2.0, t / 2.0, 0.0};
    case TS_PROFILE_NONE:
    case TS_PROFILE_COUNT:
        break;
    }
    return (ts_curve){0.0, 0.0, 0.0};
}

ts_curve ts_profile_relief(ts_profile profile, double thickness_mm)
{
    double side_mm = 0.0;

    if (profile == TS_PROFILE_COURT) {
        side_mm = COURT_INNER * thickness_mm;
    } else if (profile == TS_PROFILE_ROUND_WIRE) {
        side_mm = thickness_mm / 2.0;
    }
    return (ts_curve){side_mm, -side_mm, 0.0};
}

ts_curve ts_curve_blend(ts_curve one, ts_curve other, double share)
{
    double rest = 1.0 - share;

    return (ts_curve){
        rest * one.flat_mm + share * other.flat_mm,
        rest * one.arch_mm + share * other.arch_mm,
        rest * one.ridge_mm + share * other.ridge_mm,
    };
}

double ts_curve_at(ts_curve curve, double x)
{
    double arch = sqrt(fmax(0.0, 1.0 - x * x));
    double ridge = fmax(0.0, 1.0 - fabs(x));

    return curve.flat_mm + curve.arch_mm * arch + curve.ridge_mm * ridge;
}

double ts_curve_mean_mm(ts_curve curve)
{
    return curve.flat_mm + curve.arch_mm * MEAN_ARCH + curve.ridge_mm * MEAN_RIDGE;
}

double ts_curve_mean_square_mm2(ts_curve curve)
{
    double flat = curve.flat_mm;
    double arch = curve.arch_mm;
    double ridge = curve.ridge_mm;
    double squares =
        flat * flat + arch * arch * MEAN_ARCH_SQUARE + ridge * ridge * MEAN_RIDGE_SQUARE;
    double products =
        flat * arch * MEAN_ARCH + flat * ridge * MEAN_RIDGE + arch * ridge * MEAN_ARCH_RIDGE;

    return squares + 2.0 * products;
}
