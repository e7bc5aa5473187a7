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

/* The steps of a figure, itself first, each once. Into the arena; answers their number. */
size_t ts_chain_of(const ts_step **out, ts_arena *arena, const ts_figure *figure);

#endif
