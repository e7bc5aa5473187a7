/* What the measurers of parts share while one design is measured.
 *
 * Stones, heads and halos are worked out in the stone's own frame first, y along its length
 * and the origin in its middle; place.c then moves their spots to where the stone stands. */
#ifndef TS_GEOMETRY_MEASURING_H
#define TS_GEOMETRY_MEASURING_H

#include <tallystone/geometry/geometry.h>

#include "geometry/outline.h"
#include "geometry/shank.h"

/* A crown's height by the diameter of melee: how deep a girdle lies inside the face.
 *   source  the geometry page of the project's specification; 14.5 of a reference brilliant */
#define TS_MELEE_CROWN 0.15
/* Of the crown's height that a bezel closes over the girdle; common practice. */
#define TS_BEZEL_OVER (1.0 / 3.0)

typedef struct ts_measuring {
    ts_geometry *out;
    ts_arena *arena;
    const ts_design *design;
    ts_diag *diag;
    ts_outline *outlines; /* by stone; without pieces where the stone cannot be drawn */
    bool *halo_good;      /* by halo: measured without a fault */
    ts_band band;
    bool has_band;
    double shank_top_mm; /* highest metal of the shank over the finger's top line */
    bool is_placed;      /* spots are worked out; else all of them are remembered figures */
} ts_measuring;

/* Adds a CANNOT_BE_MADE fault at a measure of a part. `sentence` begins with the part. */
void ts_measuring_refuse(ts_measuring *m, const ts_part *part, ts_field_id field,
                         const char *sentence);
/* "halo top": the part as faults name it. */
const char *ts_measuring_title(const ts_measuring *m, const ts_part *part);
/* A length for a sentence: "1.25", at most three decimals. */
const char *ts_measuring_mm(const ts_measuring *m, double length_mm);

/* Size, weight and outline of a stone (stoneshape.c). */
void ts_stone_measure(ts_measuring *m, int index);
/* Band and its volume, its height at the top, and the melee rows on it (band.c). */
void ts_band_measure(ts_measuring *m);
void ts_band_top_measure(ts_measuring *m);
void ts_band_row_measure(ts_measuring *m, int index);
/* Refuses a measured row whose stones meet those of an earlier one (rowsapart.c). */
void ts_band_rows_judge(ts_measuring *m);
/* Claws, rails and where the claws stand (head.c). */
void ts_head_measure(ts_measuring *m, int index);
/* What the claws of a measured head share with a plate round its stone, whose inner edge lies
 * `inner_mm` outside the girdle and which reaches from `high_mm` to `low_mm` below it (head.c). */
double ts_claws_in_plate_mm3(const ts_measuring *m, int head, double inner_mm, double high_mm,
                             double low_mm);
/* Metal round the stone (bezel.c). */
void ts_bezel_measure(ts_measuring *m, int index);
/* Every halo: its row, its metal, the room for claws (plate.c). */
void ts_halos_measure(ts_measuring *m);
/* Puts every stone, claw and melee where it stands, and works out the heights (place.c). */
void ts_places_of(ts_measuring *m);
/* How far the outline of a standing stone reaches from its middle in a direction of the plan,
 * counter-clockwise from +y (place.c). */
double ts_reach_in_plan_mm(const ts_measuring *m, int stone, const ts_spot *at, double angle_rad);
/* Room between the ends of an open band and what they carry, once all is placed (shankends.c). */
void ts_band_ends_measure(ts_measuring *m);

/* Height of the girdle's upper edge over the finger by the head or bezel that holds the
 * stone; false where nothing tells. */
bool ts_held_girdle_mm(const ts_measuring *m, int stone, double *girdle_mm);
/* The largest inside offset at which a parallel is left; for sentences. */
double ts_outline_inmost_mm(const ts_outline *outline);

#endif
