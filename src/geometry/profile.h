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

#include <tallystone/words/words.h>

/* flat_mm + arch_mm sqrt(1-x^2) + ridge_mm (1-|x|) */
typedef struct ts_curve {
    double flat_mm;
    double arch_mm;
    double ridge_mm;
} ts_curve;

/* Outer height of a profile.
 *   thickness_mm  at the middle of the width
 *   wall_mm       k of a knife edge or half round; the others have none; taken as at most
 *                 the thickness */
ts_curve ts_profile_height(ts_profile profile, double thickness_mm, double wall_mm);
/* Inner relief of a profile: zero but for court and round wire. */
ts_curve ts_profile_relief(ts_profile profile, double thickness_mm);

/* (1-share) of one and share of the other, height by height. */
ts_curve ts_curve_blend(ts_curve one, ts_curve other, double share);
/* The height at x in [-1, 1]. */
double ts_curve_at(ts_curve curve, double x);
/* Mean of the height, and of its square, over the width. */
double ts_curve_mean_mm(ts_curve curve);
double ts_curve_mean_square_mm2(ts_curve curve);

#endif
