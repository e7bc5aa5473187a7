/* Figures worked out again with leaves moved. */
#ifndef TS_COSTING_MOVED_H
#define TS_COSTING_MOVED_H

#include <tallystone/costing/costing.h>

/* The trees of an option's net less surcharge and of its cost, flattened: every figure
 * once, arguments before what is made of them. Arena; costs one walk. */
typedef struct ts_flat {
    const ts_figure **figures;
    int *args;      /* positions, figure by figure */
    int *first_arg; /* where a figure's begin in `args` */
    double *values; /* of the last ts_flat_work */
    int *works;     /* positions that ts_flat_work works out, in order */
    int work_count;
    int count;
    int net, surcharge, cost; /* positions; surcharge -1 where there is none */
} ts_flat;

ts_flat *ts_flat_of(ts_arena *arena, const ts_costing *costing);
/* The same, and what decided how the price is made up: `guards` takes the positions of the
 * costing's guards, -1 for one without a figure. */
ts_flat *ts_flat_guarded(ts_arena *arena, const ts_costing *costing, int **guards);
/* The row of metals.csv whose price a leaf is; NULL for any other figure. */
const ts_metal_row *ts_flat_market(const ts_costing *costing, const ts_figure *figure);
/* A figure's value, roundings and all; NULL is nothing. */
double ts_flat_exact(const ts_figure *figure);
/* Position of a leaf, -1 where the option does not rest on it. */
int ts_flat_find(const ts_flat *flat, const ts_figure *leaf);
/* From now on works out only what hangs on leaves that move: `moves`, one a position, is
 * true for those, and becomes true for all that follow them. NULL: everything again. */
void ts_flat_follow(ts_flat *flat, bool *moves);
/* Works figures out from the leaves' values (set flat->values of leaves first; this
 * leaves them as they are). Roundings are left out. */
void ts_flat_work(ts_flat *flat);
/* The same for as many draws as stand abreast: `values` has a row a figure, begun with those
 * of ts_flat_work (ts_flat_abreast); leaves are set by the caller, draw by draw. What
 * flat->values holds of figures that move is lost. */
#define TS_FLAT_ABREAST 16
typedef double ts_flat_row[TS_FLAT_ABREAST];
ts_flat_row *ts_flat_abreast(ts_arena *arena, const ts_flat *flat);
void ts_flat_work_abreast(const ts_flat *flat, ts_flat_row *values);
/* Puts every leaf back to its own value. */
void ts_flat_reset(ts_flat *flat);
bool ts_flat_is_leaf(const ts_figure *figure);
/* Margin in percent of the last work; NaN where net less surcharge is not above 0. */
double ts_flat_margin(const ts_flat *flat);

#endif
