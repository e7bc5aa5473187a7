/* What the owner learns beyond the price: what the margin hangs on, where it breaks, how
 * sure it is, what is bought before it is paid, and when the piece can be ready.
 *
 * These are answers to "what if", not amounts of money that anybody pays. But for the
 * break-even, which is exact, the figures' trees are worked out again in doubles with one or
 * more leaves moved, without the roundings, so that a step of five does not hide a drift of
 * two. */
#ifndef TS_COSTING_INSIGHT_H
#define TS_COSTING_INSIGHT_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/costing/costing.h>
#include <tallystone/costing/steps.h>

/* Margin in percent of an option as it stands, unrounded. NaN where net is not above 0. */
double ts_margin_unrounded(const ts_arena *arena, const ts_costing *costing);
/* The same with the value of one leaf replaced. */
double ts_margin_moved(ts_arena *scratch, const ts_costing *costing, const ts_figure *leaf,
                       double value);

/* The market price at which the margin of an option meets the floor: as it is printed, to a
 * hundredth of a per cent, every rounding, step and tier included, so that the option costed
 * anew at that price bears it out. Going from today's price, on either side, in steps of the
 * last of `places` decimals, it is the last at which the floor is still kept (today it is
 * kept), or the first at which it is kept (today it is missed); `beyond` is the next price,
 * or the one before, at which it is missed. Nearer to today's there is no other change; what
 * comes after, where a price rounded up lifts the margin over the floor once more, is not
 * said. */
typedef struct ts_break_even {
    const ts_figure *market; /* the leaf: its unit is the currency */
    const ts_metal_row *row;
    ts_metal_kind metal;
    const char *per; /* "troy ounce" */
    bool found;      /* false: no price from one step to a thousand times today's does */
    bool above;      /* true: the margin is under the floor just above this price */
    bool kept;       /* today */
    int places;      /* 2 from a price of 100 on, 4 from 1 on, else 6 */
    ts_dec step;     /* one of the last of them */
    ts_dec price, beyond;
} ts_break_even;

/* One for each metal that the option's price rests on, exact: what a whole range of prices
 * cannot change is ruled out at once, the rest is costed anew. None where the policy has no
 * floor. Into the arena. */
size_t ts_break_evens_of(const ts_break_even **out, ts_arena *arena, const ts_costing *costing);

/* How a break-even price comes about, as steps of a chain; the first is the price, its formula
 *
 *     last(#2, #3: #4, #5, 0.01: #6)
 *
 * the last price #4, in steps of 0.01 from today's price #5 on, at which the margin #2 is not
 * less than the floor #3; `first` where the floor is missed today. #2 is the margin with the
 * option costed anew at that price, with all its steps. #6 is where the straight lines meet on
 * which net and cost lie there: what they are, and what so much more of price adds to either;
 * a price that is far from it ends at a jump, of a step or a tier. It is left out where the
 * lines run side by side. Where nothing was found, one step says so. */
size_t ts_break_even_chain(const ts_step **out, ts_arena *arena, const ts_costing *costing,
                           const ts_break_even *one);

/* One rate or measurement moved by a tenth either way. */
typedef struct ts_driver {
    const char *name;   /* "market price of gold", "shank width top" */
    const char *origin; /* "metals.csv:9 price", "halo.csv:25" */
    const char *value;  /* as it stands, with its unit */
    double less_pct;    /* the margin with it 10 % less; NaN: cannot be made so */
    double more_pct;
} ts_driver;

/* Every book cell that the option rests on, moved; sorted by how far the margin goes. */
size_t ts_rate_drivers_of(ts_driver **out, ts_arena *arena, const ts_costing *costing);
void ts_drivers_sort(ts_driver *drivers, size_t count, double margin_pct);

/* How sure the margin is while the price stands as quoted: cost moves with the weights
 * that were estimated and with the metal market until the quote ends. */
typedef struct ts_range {
    bool known;                           /* something moves */
    double low_pct, middle_pct, high_pct; /* one in ten below, half, one in ten above */
    double under_floor; /* part of the draws under the floor; 0 where there is none */
    double sigma_pct;   /* the closed form's spread (first order, normal) */
    int draws;
    uint64_t seed;
} ts_range;

/* What a range is told by, wherever it is told. */
enum { TS_RANGE_DRAWS = 4000, TS_RANGE_SEED = 1 };
/* Draws by a seeded generator: same input, same range. A metal's spread comes from its
 * own rows in the books (spread of the logarithms of its moves, scaled to the days until
 * the quote ends), a stone's from its estimate's (5th to 95th percentile). */
ts_range ts_range_of(ts_arena *scratch, const ts_costing *costing, int draws, uint64_t seed);

/* When it can be ready: own crafts one after another at their minutes a week. */
typedef struct ts_ready {
    bool known; /* every own craft of the option says its minutes a week */
    int weeks;  /* whole weeks, from the quote's date */
    ts_date by;
    bool late;           /* after the sheet's `deliver by` */
    const char *slowest; /* the craft that takes longest */
} ts_ready;

ts_ready ts_ready_of(const ts_costing *costing);

/* How the studio stands for cash just before a payment stage falls due. */
typedef struct ts_cash {
    const char *stage;
    ts_money bought; /* bills of others: stones, metal, work done outside, services */
    ts_money paid;   /* all stages before this one, tax and all */
    ts_money left;   /* paid - bought: below nothing, the studio lays it out */
} ts_cash;

/* One a stage, in order; into the arena. Stones are bought once the first stage is paid;
 * metal, work done outside and services once the stage `casting` is, where there is one. */
size_t ts_cash_of(const ts_cash **out, ts_arena *arena, const ts_costing *costing);

#endif
