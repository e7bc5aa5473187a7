/* Heights over the finger, from the finger outwards: culet clearance, pavilion, girdle,
 * crown, against the metal that may stand higher than the stone.
 *
 *      total ____  ______           crown      14.5
 *    girdle ____ /________\         girdle      2.5  (height to its upper edge)
 *                \        /         pavilion   43.0
 *                  \    /
 *                    \/   culet
 *                         clearance
 *     ------------------------------ finger */
#ifndef TS_GEOMETRY_HEIGHT_H
#define TS_GEOMETRY_HEIGHT_H

/* What a height is made of; 0 where there is no such part. */
typedef struct ts_rise_from {
    double culet_clearance_mm;
    double depth_mm;           /* of the stone, table to culet */
    double least_clearance_mm; /* the least culet clearance of the limits */
    double shank_top_mm;       /* thickness of the shank at the top */
    double head_top_mm;        /* highest metal of the head over the finger */
} ts_rise_from;

typedef struct ts_rise {
    double girdle_mm; /* upper edge of the girdle */
    double total_mm;  /* the highest of stone, shank and head */
    double lowest_mm; /* the lowest total that the depth allows with the least clearance */
} ts_rise;

ts_rise ts_rise_of(const ts_rise_from *from);

/* Parts of a stone's depth: 14.5 : 2.5 : 43.0 of 60, the proportions of a reference round
 * brilliant. They add up to the depth.
 *   source  trade article on the weight ratio of round brilliants: table 57 %, crown 14.5 %,
 *           girdle 2.5 %, pavilion 43.0 %, total depth 60.0 % of the diameter */
double ts_stone_crown_mm(double depth_mm);
double ts_stone_girdle_mm(double depth_mm);
double ts_stone_pavilion_mm(double depth_mm);

/* Room for a straight band beside the ring, under its lowest halo metal: the height of that
 * metal's underside over the finger, less the shank's thickness at the top. Negative
 * where the halo's metal reaches below the outside of the shank. */
double ts_room_under_mm(double underside_mm, double shank_top_mm);

#endif
