/* What so much more of a leaf adds to a figure, as a figure. */
#ifndef TS_COSTING_SLOPE_H
#define TS_COSTING_SLOPE_H

#include <tallystone/costing/figure.h>

typedef struct ts_slopes {
    ts_arena *arena;
    const ts_figure *leaf;
    const ts_figure *by;  /* so much more of it */
    const char *by_words; /* "10 USD a troy ounce" */
    ts_rounding mode;
    bool overflowed;                    /* some slope is more than exact arithmetic holds */
    const ts_figure **figures, **known; /* what was asked before */
    size_t count, figure_room, known_room;
} ts_slopes;

/* NULL where it adds nothing. On the piece on which the figure lies: roundings are passed over,
 * a step keeps what it was raised to, of a larger or smaller the one counts that it is. */
const ts_figure *ts_slope_of(ts_slopes *slopes, const ts_figure *figure);

#endif
