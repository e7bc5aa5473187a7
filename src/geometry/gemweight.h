/* Weight of a stone from its dimensions, and dimensions from its weight.
 *
 * ct = (plan) x depth x factor of the shape x girdle correction x SG / 3.52, all lengths in
 * mm; plan is length x width, or the square of their mean for rounds and ovals. These are
 * estimates: a stated weight always goes before them. */
#ifndef TS_GEOMETRY_GEMWEIGHT_H
#define TS_GEOMETRY_GEMWEIGHT_H

#include <stdbool.h>

#include <tallystone/words/words.h>

#define TS_SG_DIAMOND 3520      /* thousandths; 16 CFR 23.12 */
#define TS_DEPTH_OF_ROUND 0.605 /* depth over diameter where only a weight is known */

typedef struct ts_gem {
    ts_shape shape;
    ts_girdle girdle;   /* TS_GIRDLE_NONE: no correction */
    int sg_thousandths; /* specific gravity; see ts_species_sg */
    double length_mm;
    double width_mm; /* a round may leave it 0: its length */
    double depth_mm; /* table to culet */
} ts_gem;

/* Estimated weight in carats. For a round, length and width are its least and greatest
 * diameter. 0 for TS_SHAPE_NONE.
 *   source  tests/reference/gemweights.csv, diamonds-sample.csv */
double ts_gem_carats(const ts_gem *gem);
/* The factor of a shape by length over width: linear between the rows of the source,
 * constant beyond them. */
double ts_gem_factor(ts_shape shape, double length_mm, double width_mm);
/* Where the factor of a shape is from: for the paper that shows an estimate. */
const char *ts_gem_factor_source(ts_shape shape);

/* The depth that makes a stone of this length and width weigh `carats`; gem->depth_mm is
 * not read. 0 where the other dimensions give no weight. */
double ts_gem_depth_mm(const ts_gem *gem, double carats);
/* The diameter of a round known by weight alone, at a depth of 60.5 % of it. Where the
 * girdle's classes of size allow two, the smaller. */
double ts_round_diameter_mm(double carats, ts_girdle girdle, int sg_thousandths);
/* A round of these dimensions: diameter and depth set. */
ts_gem ts_round_from_carats(double carats, ts_girdle girdle, int sg_thousandths);
/* Weight of one melee stone by its diameter: 0.0036905 d^3 for diamond. */
double ts_melee_carats(double diameter_mm, int sg_thousandths);

/* Spread of an estimate as a fraction either way: 0.035 round diamond (5th to 95th
 * percentile of 53,840 measured stones), 0.06 other shapes, 0.08 other species (memory). */
double ts_gem_spread(ts_shape shape, int sg_thousandths);

/* False where the dimensions can hardly be those of one stone: one is missing, a round is
 * more than 10 % out of round, the depth is no proportion of the width, or it disagrees by
 * more than one point with a stated depth.
 *   depth_percent  depth as a laboratory states it, per cent of the mean diameter of a round,
 *                  of the width of other shapes; 0: not stated */
bool ts_gem_plausible(const ts_gem *gem, double depth_percent);

#endif
