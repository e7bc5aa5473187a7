/* The chain of an amount: the steps that lead to it, each recomputable by hand. */
#ifndef TS_COSTING_STEPS_H
#define TS_COSTING_STEPS_H

#include <tallystone/costing/costing.h>

/* One step. `formula` uses plain numbers and #N for the value of step N: + - × /,
 * round(x, places), ceiling(x), step(x, multiple), max, min, and share(total: weight,
 * weight ...: which of them, places) for a part by largest remainder. "" for what stands
 * in a book or in the sheet. */
typedef struct ts_step {
    int number;
    const char *what;
    const char *value;
    const char *unit;
    const char *formula;
    const char *origin; /* "metals.csv:4 price", "halo.csv:31", "volume × density ..." */
} ts_step;

/* An amount that can be asked for: a line's price, an old metal's worth, a total, a stage. */
typedef struct ts_amount_named {
    const char *name; /* its item */
    const ts_figure *figure;
} ts_amount_named;

/* All of an option, in the order in which they are numbered from 1: lines, old metal, totals,
 * stages. Into the arena; answers their number. */
size_t ts_amounts_of(const ts_amount_named **out, ts_arena *arena, const ts_costing *costing);

/* Net without what goes to whoever moves the money: what the margin is a part of. */
const ts_figure *ts_income_figure(ts_arena *arena, const ts_costing *costing);
/* The margin in per cent, two decimals: what of net less surcharge the cost leaves. No amount of
 * the price, so it has no number. NULL where net less surcharge is not above 0. */
const ts_figure *ts_margin_figure(ts_arena *arena, const ts_costing *costing);
/* The same where there is a margin, on an income figure that is told elsewhere, too. */
const ts_figure *ts_margin_figure_on(ts_arena *arena, const ts_costing *costing,
                                     const ts_figure *income);

/* The steps of a figure, itself first, each once. Into the arena; answers their number. */
size_t ts_chain_of(const ts_step **out, ts_arena *arena, const ts_figure *figure);
/* The steps of several, which come first in their order; numbered from `first` on. */
size_t ts_chain_from(const ts_step **out, ts_arena *arena, const ts_figure *const *figures,
                     size_t count, size_t first);

#endif
