#include <tallystone/costing/recipe.h>

#include "costing/mould.h"
#include "costing/narrow.h"
#include "costing/recipemaker.h"

#include <string.h>

/* Finding, keeping and forgetting recipes.
 *
 * A table of a million rows has a few hundred moulds at most times, each met thousands of
 * times; but it may have one a row. So a recipe is made at the second sight of a mould
 * only, and all are dropped together when they fill their room. Where those dropped had
 * not been worth their making, a mould must be met more often before it gets one. */

#define BUCKETS 256
#define STAMPS 64
#define SIGHTS 4096
#define MOST_ALIKE 16                /* recipes of one bucket that are tried */
#define MOST_BYTES ((size_t)3 << 19) /* of one worker's recipes */
#define WORTH 4                      /* rows replayed that pay for a making */
#define LEAST_SIGHTS 2
#define MOST_SIGHTS 64

typedef struct recipe {
    struct recipe *next;
    uint64_t hash;
    ts_mould mould;
    ts_moves moves;
    bool able; /* false: such a price has no recipe */
} recipe;

/* How often a mould was met that has no recipe; of two of one place the later counts. */
typedef struct sight {
    uint32_t hash;
    uint32_t times;
} sight;

/* For lists that say themselves that nothing but their metal changed: what is left of the
 * recipe then. */
typedef struct stamped {
    uint64_t stamp;
    ts_moves moves;
    void *room; /* of the moves; used again by the next stamp of this place */
    size_t bytes;
} stamped;

struct ts_recipes {
    const ts_book *book;
    ts_size_edges edges;
    const ts_arena *const *lasting;
    ts_arena *store;
    ts_arena_mark empty;
    recipe *buckets[BUCKETS];
    stamped stamps[STAMPS];
    sight seen[SIGHTS];
    uint32_t sights;                       /* that a recipe takes */
    uint64_t replayed_before, made_before; /* the last forgetting */
    ts_recipe_counts counts;
};

ts_recipes *ts_recipes_new(ts_arena *arena, const ts_book *book, const ts_arena *const *lasting,
                           ts_no_memory_fn *no_memory, void *ctx)
{
    ts_recipes *recipes = TS_NEW(arena, ts_recipes);
    recipes->book = book;
    recipes->edges = ts_size_edges_of(arena, book);
    recipes->lasting = lasting;
    recipes->store = ts_arena_new(no_memory, ctx);
    recipes->empty = ts_arena_mark_of(recipes->store);
    recipes->sights = LEAST_SIGHTS;
    return recipes;
}

void ts_recipes_free(ts_recipes *recipes)
{
    ts_arena_free(recipes->store);
}

ts_recipe_counts ts_recipes_counts(const ts_recipes *recipes)
{
    return recipes->counts;
}

/* ---- briefs ---- */

static bool sum_minutes(ts_dec *out, const ts_costing *costing)
{
    ts_ratio sum = {0, 1};
    for (int i = 0; i < costing->line_count; i++) {
        const ts_figure *minutes = costing->lines[i].minutes;
        if (minutes != NULL && !ts_ratio_add(&sum, sum, minutes->value)) {
            return false;
        }
    }
    return ts_ratio_dec(out, sum, TS_HALF_AWAY);
}

bool ts_brief_of(ts_brief *out, const ts_costing *costing)
{
    *out = (ts_brief){.exponent = costing->exponent,
                      .has_margin = costing->has_margin,
                      .margin_pct = costing->margin_pct};
    return sum_minutes(&out->minutes, costing) &&
           ts_figure_money(&out->cost, costing->cost, costing->exponent) &&
           ts_figure_money(&out->net, costing->net, costing->exponent) &&
           ts_figure_money(&out->tax, costing->tax, costing->exponent) &&
           ts_figure_money(&out->total, costing->total, costing->exponent);
}

/* The same from numbers: (income - cost) / income in hundredths of a per cent, as
 * costing.c has it of fractions. */
static void brief_from(ts_brief *out, const ts_moves *moves, int exponent)
{
    const int64_t *numbers = moves->numbers;
    const ts_answers *at = &moves->answers;
    const int64_t income = numbers[at->income], cost = numbers[at->cost];
    int64_t hundredths = 0;
    *out = (ts_brief){.exponent = exponent,
                      .cost = {cost},
                      .net = {numbers[at->net]},
                      .tax = {numbers[at->tax]},
                      .total = {numbers[at->total]},
                      .minutes = {numbers[at->minutes]}};
    if (income > 0 &&
        ts_div_round(&hundredths, ((ts_i128)income - cost) * 10000, income, TS_HALF_AWAY)) {
        out->has_margin = true;
        out->margin_pct.e6 = hundredths * 10000;
    }
}

/* ---- keeping ---- */

static void forget(ts_recipes *recipes)
{
    const ts_recipe_counts *counts = &recipes->counts;
    const uint64_t replayed = counts->replayed - recipes->replayed_before;
    const uint64_t made = counts->made + counts->refused - recipes->made_before;
    if (replayed < WORTH * made) {
        recipes->sights *= recipes->sights < MOST_SIGHTS ? 2 : 1;
    } else if (recipes->sights > LEAST_SIGHTS) {
        recipes->sights /= 2;
    }
    recipes->replayed_before = counts->replayed;
    recipes->made_before = counts->made + counts->refused;
    memset(recipes->buckets, 0, sizeof recipes->buckets);
    memset(recipes->stamps, 0, sizeof recipes->stamps);
    ts_arena_rewind(recipes->store, recipes->empty);
    recipes->counts.forgotten++;
}

static bool met_enough(ts_recipes *recipes, uint64_t hash)
{
    sight *at = &recipes->seen[hash / BUCKETS % SIGHTS];
    const uint32_t tag = (uint32_t)(hash >> 32);
    if (at->hash != tag) {
        *at = (sight){tag, 0};
    }
    if (++at->times < recipes->sights) {
        return false;
    }
    at->times = 0; /* the recipe may be dropped, and is to be deserved again */
    return true;
}

static bool is_full(const recipe *bucket)
{
    int count = 0;
    for (; bucket != NULL && count < MOST_ALIKE; bucket = bucket->next) {
        count++;
    }
    return count == MOST_ALIKE;
}

static void keep(ts_recipes *recipes, uint64_t hash, ts_arena *scratch, const ts_costing *costing,
                 const ts_takes *takes)
{
    recipe **bucket = &recipes->buckets[hash % BUCKETS];
    if (is_full(*bucket) || !met_enough(recipes, hash)) {
        return;
    }
    if (ts_arena_bytes(recipes->store) > MOST_BYTES) {
        forget(recipes);
    }
    recipe *fresh = TS_NEW(recipes->store, recipe);
    fresh->hash = hash;
    fresh->able = ts_moves_of(&fresh->moves, recipes->store, scratch, costing, takes);
    ts_mould_of(&fresh->mould, recipes->store, costing->needs, &recipes->edges, recipes->lasting);
    fresh->next = *bucket;
    *bucket = fresh;
    recipes->counts.made += fresh->able;
    recipes->counts.refused += !fresh->able;
    recipes->counts.moves = fresh->moves.move_count;
}

/* ---- pricing ---- */

/* The recipe that the row was replayed by, put first in its bucket; or NULL. `known` says
 * that the row's mould has none. */
static recipe *replay(ts_recipes *recipes, uint64_t hash, const ts_quantities *needs,
                      const ts_takes *takes, bool *known)
{
    recipe **bucket = &recipes->buckets[hash % BUCKETS];
    for (recipe **at = bucket; *at != NULL; at = &(*at)->next) {
        recipe *one = *at;
        if (one->hash != hash || !ts_mould_fits(&one->mould, needs, takes)) {
            continue;
        }
        if (!one->able) {
            *known = true;
            return NULL;
        }
        if (ts_moves_run(&one->moves, takes)) {
            *at = one->next;
            one->next = *bucket;
            *bucket = one;
            return one;
        }
    }
    return NULL;
}

/* Remembers, right after the recipe ran, what of it a list of this stamp needs. */
static void keep_stamp(ts_recipes *recipes, uint64_t stamp, const ts_moves *moves)
{
    stamped *at = &recipes->stamps[stamp % STAMPS];
    const size_t bytes = ts_moves_narrow_bytes(moves);
    if (stamp == 0) {
        return;
    }
    if (bytes > at->bytes) {
        at->room = ts_arena_alloc(recipes->store, bytes, 1);
        at->bytes = bytes;
    }
    ts_moves_narrow(&at->moves, at->room, moves);
    at->stamp = stamp;
}

/* The same for a list that a stamp tells to be of a mould known already. */
static bool replay_stamped(ts_brief *out, ts_recipes *recipes, const ts_quantities *needs)
{
    const stamped *at = &recipes->stamps[needs->stamp % STAMPS];
    ts_takes takes;

    if (needs->stamp == 0 || at->stamp != needs->stamp) {
        return false;
    }
    ts_takes_of(&takes, needs);
    if (!ts_moves_run(&at->moves, &takes)) {
        return false;
    }
    recipes->counts.priced++;
    recipes->counts.replayed++;
    brief_from(out, &at->moves, needs->terms.exponent);
    return true;
}

ts_status ts_recipes_price(ts_brief *out, ts_recipes *recipes, ts_arena *scratch,
                           const ts_quantities *needs, ts_diag *diag)
{
    if (replay_stamped(out, recipes, needs)) {
        return TS_OK;
    }
    const uint64_t hash = ts_mould_hash(needs);
    ts_takes takes;
    bool known = false;
    ts_costing *costing = NULL;
    ts_takes_of(&takes, needs);
    recipes->counts.priced++;
    recipe *by = replay(recipes, hash, needs, &takes, &known);
    if (by != NULL) {
        recipes->counts.replayed++;
        keep_stamp(recipes, needs->stamp, &by->moves);
        brief_from(out, &by->moves, needs->terms.exponent);
        return TS_OK;
    }
    const ts_status status = ts_costing_of(&costing, scratch, needs, recipes->book, diag);
    if (status != TS_OK) {
        return status;
    }
    if (!ts_brief_of(out, costing)) {
        return TS_OVERFLOW;
    }
    if (!known) {
        keep(recipes, hash, scratch, costing, &takes);
    }
    return TS_OK;
}
