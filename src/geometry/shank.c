#include "geometry/shank.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

#include "geometry/profile.h"

/* Volumes without a mesh and without a step size.
 *
 * Between two stations the width is linear in the angle, a height is the product of a
 * linear blend and a linear thickness, and the volume takes its square: a polynomial of
 * degree five, which three Gauss points integrate exactly. The integral across the width
 * is closed (profile.c). The only kink is where the thickness falls below the wall, so a
 * piece is cut there. */

#define PI 3.14159265358979323846
#define GAUSS_NODE 0.38729833462074168852 /* sqrt(15)/10 */
#define GAUSS_SIDE (5.0 / 18.0)
#define GAUSS_MIDDLE (8.0 / 18.0)

/* A cross-section: what the integrals and the measurements need of one angle. */
typedef struct slice {
    double width_mm;
    double thickness_mm;
    ts_curve height;
    ts_curve relief;
} slice;

/* The two profiles that a place lies between, and its share of the way from one to the other.
 * Stations that name none are passed over, so that the blend stays linear in the angle. */
static double profiles_between(const ts_band *band, const ts_station *one, double share,
                               ts_profile profiles[2])
{
    const ts_station *before = one;
    const ts_station *after = one + 1;
    double angle_rad = one->angle_rad + share * (after->angle_rad - one->angle_rad);

    while (before->profile == TS_PROFILE_NONE && before > band->stations) {
        before--;
    }
    while (after->profile == TS_PROFILE_NONE && after < band->stations + band->count - 1) {
        after++;
    }
    profiles[0] = before->profile;
    profiles[1] = after->profile;
    if (before == one && after == one + 1) {
        return share;
    }
    return (angle_rad - before->angle_rad) / (after->angle_rad - before->angle_rad);
}

static slice slice_between(const ts_band *band, const ts_station *one, double share)
{
    const ts_station *other = one + 1;
    ts_profile profiles[2];
    double blend = profiles_between(band, one, share, profiles);
    slice cut;

    cut.width_mm = one->width_mm + (other->width_mm - one->width_mm) * share;
    cut.thickness_mm = one->thickness_mm + (other->thickness_mm - one->thickness_mm) * share;
    cut.height = ts_profile_height(profiles[0], cut.thickness_mm, band->wall_mm);
    cut.relief = ts_profile_relief(profiles[0], cut.thickness_mm);
    if (profiles[1] != profiles[0]) {
        cut.height = ts_curve_blend(
            cut.height, ts_profile_height(profiles[1], cut.thickness_mm, band->wall_mm), blend);
        cut.relief =
            ts_curve_blend(cut.relief, ts_profile_relief(profiles[1], cut.thickness_mm), blend);
    }
    return cut;
}

/* Volume a radian: Pappus's theorem for this cross-section. */
static double volume_per_rad(const ts_band *band, const slice *cut)
{
    double area_mm = ts_curve_mean_mm(cut->height) - ts_curve_mean_mm(cut->relief);
    double moment_mm2 =
        (ts_curve_mean_square_mm2(cut->height) - ts_curve_mean_square_mm2(cut->relief)) / 2.0;

    return cut->width_mm * (band->bore_radius_mm * area_mm + moment_mm2);
}

/* Integral over a share of the way between two stations, where nothing has a kink. */
static double smooth_volume_mm3(const ts_band *band, const ts_station *one, double from, double to)
{
    double middle = (from + to) / 2.0;
    double reach = (to - from) * GAUSS_NODE;
    double shares[3] = {middle - reach, middle, middle + reach};
    double per_rad[3];

    for (int i = 0; i < 3; i++) {
        slice cut = slice_between(band, one, shares[i]);
        per_rad[i] = volume_per_rad(band, &cut);
    }
    double mean = GAUSS_SIDE * (per_rad[0] + per_rad[2]) + GAUSS_MIDDLE * per_rad[1];
    return mean * (to - from) * (one[1].angle_rad - one->angle_rad);
}

static double piece_volume_mm3(const ts_band *band, const ts_station *one, double from, double to)
{
    double over_mm = one->thickness_mm - band->wall_mm;
    double under_mm = one[1].thickness_mm - band->wall_mm;

    if (over_mm * under_mm < 0.0) {
        double kink = over_mm / (over_mm - under_mm);
        if (from < kink && kink < to) {
            return smooth_volume_mm3(band, one, from, kink) +
                   smooth_volume_mm3(band, one, kink, to);
        }
    }
    return smooth_volume_mm3(band, one, from, to);
}

static void check_band(const ts_band *band)
{
    assert(band->stations != NULL && band->count >= 2);
    (void)band;
}

/* Volume of one half from the top down to `angle_rad`, 0 to pi. */
static double half_volume_mm3(const ts_band *band, double angle_rad)
{
    double begin_rad = band->open_rad / 2.0;
    double sum_mm3 = 0.0;

    for (int i = 0; i + 1 < band->count; i++) {
        const ts_station *one = &band->stations[i];
        double span_rad = one[1].angle_rad - one->angle_rad;
        double from = (fmax(begin_rad, one->angle_rad) - one->angle_rad) / span_rad;
        double to = (fmin(angle_rad, one[1].angle_rad) - one->angle_rad) / span_rad;

        if (to > from) {
            sum_mm3 += piece_volume_mm3(band, one, from, to);
        }
    }
    return sum_mm3;
}

/* Volume from the top round to any angle, turns counted: the halves alternate. */
static double volume_to_mm3(const ts_band *band, double angle_rad, double half_mm3)
{
    double turns = floor(angle_rad / (2.0 * PI));
    double rest_rad = angle_rad - turns * 2.0 * PI;
    double rest_mm3 = rest_rad <= PI ? half_volume_mm3(band, rest_rad)
                                     : 2.0 * half_mm3 - half_volume_mm3(band, 2.0 * PI - rest_rad);

    return turns * 2.0 * half_mm3 + rest_mm3;
}

double ts_band_volume_mm3(const ts_band *band)
{
    check_band(band);
    return 2.0 * half_volume_mm3(band, PI);
}

double ts_band_arc_volume_mm3(const ts_band *band, double from_rad, double to_rad)
{
    check_band(band);
    double half_mm3 = half_volume_mm3(band, PI);
    return volume_to_mm3(band, to_rad, half_mm3) - volume_to_mm3(band, from_rad, half_mm3);
}

/* The angle from the top, 0 to pi, of any angle on either half. */
static double folded_rad(double angle_rad)
{
    return fabs(remainder(angle_rad, 2.0 * PI));
}

static slice slice_at(const ts_band *band, double angle_rad)
{
    double folded = folded_rad(angle_rad);
    int i = 0;

    check_band(band);
    while (i + 2 < band->count && folded > band->stations[i + 1].angle_rad) {
        i++;
    }
    const ts_station *one = &band->stations[i];
    double share = (folded - one->angle_rad) / (one[1].angle_rad - one->angle_rad);
    return slice_between(band, one, fmin(fmax(share, 0.0), 1.0));
}

double ts_band_width_mm(const ts_band *band, double angle_rad)
{
    return slice_at(band, angle_rad).width_mm;
}

double ts_band_thickness_mm(const ts_band *band, double angle_rad)
{
    return slice_at(band, angle_rad).thickness_mm;
}

double ts_band_height_mm(const ts_band *band, double angle_rad, double x)
{
    return ts_curve_at(slice_at(band, angle_rad).height, x);
}

double ts_band_relief_mm(const ts_band *band, double angle_rad, double x)
{
    return ts_curve_at(slice_at(band, angle_rad).relief, x);
}

double ts_band_section_mm2(const ts_band *band, double angle_rad)
{
    slice cut = slice_at(band, angle_rad);

    return cut.width_mm * (ts_curve_mean_mm(cut.height) - ts_curve_mean_mm(cut.relief));
}

bool ts_band_is_open_at(const ts_band *band, double angle_rad)
{
    return folded_rad(angle_rad) < band->open_rad / 2.0;
}
