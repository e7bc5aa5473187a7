/* Profiles of a band: how high the metal stands over the finger across its width.
 *
 *            ,-'''''-.          h(x)  outer height over the inside cylinder
 *          /           \        e(x)  inner relief, where the inside is arched away
 *         |             | k     k     the straight side under an arch or a ridge
 *         '-------------'       x     -1 .. 0 .. 1 across the width
 *
 * Every profile is a sum of three shapes: 1, the arch sqrt(1-x^2) and the ridge 1-|x|.
 * So is every blend of two of them, and the integrals that a volume needs are three
 * means and their products, in closed form. */
#ifndef TS_GEOMETRY_PROFILE_H
#define TS_GEOMETRY_PROFILE_H

#include <assert.h>
#include <math.h>

#include <tallystone/words/words.h>

/* flat_mm + arch_mm sqrt(1-x^2) + ridge_mm (1-|x|) */
typedef struct ts_curve {
    double flat_mm;
    double arch_mm;
    double ridge_mm;
} ts_curve;

/* The five profiles in one basis, in the header since a volume works out a dozen of these sums
 * at each place and a million bands are weighed in a second.
 *
 * Over x in [0, 1], with a = sqrt(1-x^2) and r = 1-x:
 *   mean a   = pi/4           a quarter of the unit circle
 *   mean r   = 1/2
 *   mean a^2 = 1 - 1/3        mean r^2 = 1/3
 *   mean a r = pi/4 - 1/3     since the integral of x sqrt(1-x^2) is 1/3
 * The proportions of court (sides of 0.4 t, 0.2 t of them inside) are the studio's. */
#define TS_PROFILE_MEAN_ARCH 0.78539816339744830962       /* pi/4 */
#define TS_PROFILE_MEAN_ARCH_RIDGE 0.45206483006411497629 /* pi/4 - 1/3 */
#define TS_PROFILE_MEAN_ARCH_SQUARE (2.0 / 3.0)
#define TS_PROFILE_MEAN_RIDGE 0.5
#define TS_PROFILE_MEAN_RIDGE_SQUARE (1.0 / 3.0)

#define TS_PROFILE_COURT_SIDE 0.6  /* of the thickness, where the outer arch begins */
#define TS_PROFILE_COURT_INNER 0.2 /* of the thickness, relief of the inner arch at the sides */

/* Outer height of a profile.
 *   thickness_mm  at the middle of the width
 *   wall_mm       k of a knife edge or half round; the others have none; taken as at most
 *                 the thickness */
static inline ts_curve ts_profile_height(ts_profile profile, double thickness_mm, double wall_mm)
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
        return (ts_curve){TS_PROFILE_COURT_SIDE * t, (1.0 - TS_PROFILE_COURT_SIDE) * t, 0.0};
    case TS_PROFILE_ROUND_WIRE:
        return (ts_curve){t / 2.0, t / 2.0, 0.0};
    case TS_PROFILE_NONE:
    case TS_PROFILE_COUNT:
        break;
    }
    return (ts_curve){0.0, 0.0, 0.0};
}

/* Inner relief of a profile: zero but for court and round wire. */
static inline ts_curve ts_profile_relief(ts_profile profile, double thickness_mm)
{
    double side_mm = 0.0;

    if (profile == TS_PROFILE_COURT) {
        side_mm = TS_PROFILE_COURT_INNER * thickness_mm;
    } else if (profile == TS_PROFILE_ROUND_WIRE) {
        side_mm = thickness_mm / 2.0;
    }
    return (ts_curve){side_mm, -side_mm, 0.0};
}

/* (1-share) of one and share of the other, height by height. */
static inline ts_curve ts_curve_blend(ts_curve one, ts_curve other, double share)
{
    double rest = 1.0 - share;

    return (ts_curve){
        rest * one.flat_mm + share * other.flat_mm,
        rest * one.arch_mm + share * other.arch_mm,
        rest * one.ridge_mm + share * other.ridge_mm,
    };
}

/* The height at x in [-1, 1]. */
static inline double ts_curve_at(ts_curve curve, double x)
{
    double arch = sqrt(fmax(0.0, 1.0 - x * x));
    double ridge = fmax(0.0, 1.0 - fabs(x));

    return curve.flat_mm + curve.arch_mm * arch + curve.ridge_mm * ridge;
}

/* Mean of the height, and of its square, over the width. */
static inline double ts_curve_mean_mm(ts_curve curve)
{
    return curve.flat_mm + curve.arch_mm * TS_PROFILE_MEAN_ARCH +
           curve.ridge_mm * TS_PROFILE_MEAN_RIDGE;
}

static inline double ts_curve_mean_square_mm2(ts_curve curve)
{
    double flat = curve.flat_mm;
    double arch = curve.arch_mm;
    double ridge = curve.ridge_mm;
    double squares = flat * flat + arch * arch * TS_PROFILE_MEAN_ARCH_SQUARE +
                     ridge * ridge * TS_PROFILE_MEAN_RIDGE_SQUARE;
    double products = flat * arch * TS_PROFILE_MEAN_ARCH + flat * ridge * TS_PROFILE_MEAN_RIDGE +
                      arch * ridge * TS_PROFILE_MEAN_ARCH_RIDGE;

    return squares + 2.0 * products;
}

#endif
