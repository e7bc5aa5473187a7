/* The shank: a band that changes its width, thickness and profile round the finger.
 *
 * Angles are radians from the top, 0, to the base, pi; the other half is the mirror image.
 * Between two stations width, thickness and the heights of the two profiles go over into
 * one another in proportion to the angle. An arc centred at the top may be left open for
 * the head. All functions are pure. */
#ifndef TS_GEOMETRY_SHANK_H
#define TS_GEOMETRY_SHANK_H

#include <stdbool.h>

#include <tallystone/words/words.h>

typedef struct ts_station {
    double angle_rad; /* from the top, 0 to pi */
    double width_mm;  /* across the finger */
    double thickness_mm;
    ts_profile profile; /* NONE: left to the blend of the nearest stations that name one */
} ts_station;

/* Borrows its stations: at least two, angles strictly rising, the first 0, the last pi; these
 * two name a profile. */
typedef struct ts_band {
    double bore_radius_mm;
    double wall_mm;  /* straight side under a knife edge or half round; 0: none */
    double open_rad; /* the whole angle left out at the top; 0: a closed band */
    const ts_station *stations;
    int count;
} ts_band;

/* Volume of the whole band less its open arc: the integral of
 * ((R+h)^2 - (R+e)^2)/2 over width and angle, exact but for rounding.
 *   source  tests/reference/shanks.csv */
double ts_band_volume_mm3(const ts_band *band);
/* Volume between two angles, from_rad <= to_rad, on the way round in one direction: 0 to
 * pi is one half, pi/2 to 3 pi/2 the lower half; negative angles and whole turns are let
 * in. Nothing stands in the open arc. */
double ts_band_arc_volume_mm3(const ts_band *band, double from_rad, double to_rad);

/* Measurements at an angle (any; folded into one half). They ignore the open arc. */
double ts_band_width_mm(const ts_band *band, double angle_rad);
double ts_band_thickness_mm(const ts_band *band, double angle_rad);
/* Outer height and inner relief over the inside cylinder at x in [-1, 1] of the width. */
double ts_band_height_mm(const ts_band *band, double angle_rad, double x);
double ts_band_relief_mm(const ts_band *band, double angle_rad, double x);
/* Area of the cross-section at an angle. */
double ts_band_section_mm2(const ts_band *band, double angle_rad);
/* True where the angle lies inside the open arc. */
bool ts_band_is_open_at(const ts_band *band, double angle_rad);

#endif
