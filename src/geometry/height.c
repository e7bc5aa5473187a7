#include "geometry/height.h"

#include <math.h>

/* A stone's depth divided as 43.0 : 2.5 : 14.5 and stacked on the finger.
 *
 * The three figures are per cent of a round's diameter at a depth of 60 %; of the depth
 * itself they are sixtieths. Other shapes take the same division: no source gives theirs,
 * and the culet clearance, not the division, decides the total. */

#define CROWN_PART (14.5 / 60.0)
#define GIRDLE_PART (2.5 / 60.0)
#define PAVILION_PART (43.0 / 60.0)

double ts_stone_crown_mm(double depth_mm)
{
    return CROWN_PART * depth_mm;
}

double ts_stone_girdle_mm(double depth_mm)
{
    return GIRDLE_PART * depth_mm;
}

double ts_stone_pavilion_mm(double depth_mm)
{
    return PAVILION_PART * depth_mm;
}

/* The stone's own height does not hide metal that stands above it. */
static double highest_mm(double stone_mm, const ts_rise_from *from)
{
    return fmax(stone_mm, fmax(from->shank_top_mm, from->head_top_mm));
}

ts_rise ts_rise_of(const ts_rise_from *from)
{
    double pavilion_mm = ts_stone_pavilion_mm(from->depth_mm);
    double girdle_mm = ts_stone_girdle_mm(from->depth_mm);
    double stone_mm = from->culet_clearance_mm + from->depth_mm;
    double lowered_mm = from->culet_clearance_mm - from->least_clearance_mm;
    ts_rise rise;

    rise.girdle_mm = from->culet_clearance_mm + pavilion_mm + girdle_mm;
    rise.total_mm = highest_mm(stone_mm, from);
    /* the head comes down with the stone it holds; the shank stays */
    rise.lowest_mm = fmax(from->least_clearance_mm + from->depth_mm,
                          fmax(from->shank_top_mm, from->head_top_mm - lowered_mm));
    return rise;
}

double ts_room_under_mm(double underside_mm, double shank_top_mm)
{
    return underside_mm - shank_top_mm;
}
