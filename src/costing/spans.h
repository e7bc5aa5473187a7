/* A price's trees over all market prices from one to another at once, roundings included. */
#ifndef TS_COSTING_SPANS_H
#define TS_COSTING_SPANS_H

#include "costing/moved.h"

/* What a figure can be while the market price p runs from `from` on: it lies between lo and
 * hi, and between slope·(p - from) + least and slope·(p - from) + most. */
typedef struct ts_bounds {
    double lo, hi;
    double slope, least, most;
} ts_bounds;

typedef struct ts_spans {
    const ts_costing *costing;
    ts_flat *flat;
    bool *moves;   /* by position: hangs on the market price */
    ts_bounds *at; /* by position, of the last judgement */
    int market;    /* position of the market price, -1 */
    int *guards;   /* positions of the costing's guards */
} ts_spans;

/* Is the margin, as it is printed, under the floor? UNSURE: at some of the prices, perhaps,
 * or the price would be made up in another way at some of them. */
typedef enum ts_floor_verdict { TS_FLOOR_KEPT, TS_FLOOR_MISSED, TS_FLOOR_UNSURE } ts_floor_verdict;

/* `market_line`: the row of metals.csv whose price runs. Arena; costs one walk. */
ts_spans *ts_spans_of(ts_arena *arena, const ts_costing *costing, int market_line);
/* What holds at every price from `low` to `high`. */
ts_floor_verdict ts_spans_judge(ts_spans *spans, double low, double high);

#endif
