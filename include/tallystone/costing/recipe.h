/* Prices of a stream: what each row comes to, without its trees.
 *
 * The first rows of a mould (same alloys, lots, operations, terms: all but plain amounts)
 * are costed as any other; from the trees of the second a recipe is made, and later rows
 * replay it with their own amounts. Where an amount decides how the price is made up, the
 * recipe holds what was decided, and a row that decides otherwise is costed as any other.
 * A replayed row comes to the very figures that ts_costing_of gives. */
#ifndef TS_COSTING_RECIPE_H
#define TS_COSTING_RECIPE_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/costing/costing.h>

/* What a price comes to. */
typedef struct ts_brief {
    int exponent;
    ts_money cost, net, tax, total;
    bool has_margin;
    ts_dec margin_pct;
    ts_dec minutes; /* of all labour by time */
} ts_brief;

/* False where a figure does not fit. */
bool ts_brief_of(ts_brief *out, const ts_costing *costing) TS_MUST_USE;

/* Recipes of one worker: bounded memory; not to be shared between threads. */
typedef struct ts_recipes ts_recipes;

/* In the arena, with an arena of its own inside: ts_recipes_free gives that back. `lasting`
 * is a NULL-ended list of arenas whose text stays unchanged as long as the recipes (the
 * book's and the sheet's); it is borrowed. `no_memory` as of ts_arena_new. */
ts_recipes *ts_recipes_new(ts_arena *arena, const ts_book *book, const ts_arena *const *lasting,
                           ts_no_memory_fn *no_memory, void *ctx);
void ts_recipes_free(ts_recipes *recipes);

/* Prices one list of quantities; faults as of ts_costing_of, TS_OVERFLOW where a figure of
 * the brief does not fit. */
ts_status ts_recipes_price(ts_brief *out, ts_recipes *recipes, ts_arena *scratch,
                           const ts_quantities *needs, ts_diag *diag) TS_MUST_USE;

typedef struct ts_recipe_counts {
    uint64_t priced;    /* asked for in all */
    uint64_t replayed;  /* of them by a recipe */
    uint64_t made;      /* recipes */
    uint64_t refused;   /* prices of which none could be made */
    uint64_t forgotten; /* times that all were dropped to keep within the memory */
    int moves;          /* of the last recipe made */
} ts_recipe_counts;
ts_recipe_counts ts_recipes_counts(const ts_recipes *recipes);

#endif
