/* The price: exact lines, rules, tax, stages and margin of one option.
 *
 * Costing knows sizes only as keys of a price. Each line reads quantity × unit cost =
 * cost; each figure keeps its tree (figure.h), down to rows of books and sheet. */
#ifndef TS_COSTING_COSTING_H
#define TS_COSTING_COSTING_H

#include <stdbool.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/decimal.h>
#include <tallystone/base/diag.h>
#include <tallystone/book/book.h>
#include <tallystone/costing/figure.h>
#include <tallystone/quantities/quantities.h>

typedef enum ts_line_kind {
    TS_LINE_METAL,
    TS_LINE_SPRUE,
    TS_LINE_BOUGHT, /* ready-made part */
    TS_LINE_MELEE,
    TS_LINE_STONE,
    TS_LINE_LABOUR,    /* own or outside, by time */
    TS_LINE_PIECEWORK, /* bought by the piece */
    TS_LINE_OVERHEAD,
    TS_LINE_CONTINGENCY,
    TS_LINE_SERVICE,
    TS_LINE_KIND_COUNT
} ts_line_kind;

typedef struct ts_line {
    ts_section section;
    ts_line_kind kind;
    const char *item; /* "750 yellow", "set bead 1.3 mm", ... */
    const char *key;  /* lot, alloy, craft or service by name: what rules and taxes narrow by */
    const ts_figure *quantity;
    const char *unit; /* "g", "stone", "min", "%", ... */
    const ts_figure *unit_cost;
    const ts_figure *cost;  /* rounded to the minor unit */
    const ts_figure *price; /* rounded */
    bool at_cost;
    bool at_minimum;          /* raised to its minimum: the item says so */
    bool client_supplied;     /* costs nothing */
    bool own_labour;          /* of the studio's own crafts */
    const ts_figure *minutes; /* labour by time: planned minutes; else NULL */
    const char *craft;
    const char *rule; /* "markup 120 %", "margin 40 %", "at cost", "markup by tiers" */
    const ts_policy_row *rule_row;
    int need;      /* index into the quantities' array of its kind, -1 */
    int tax_group; /* index into ts_costing.groups */
} ts_line;

/* Lines of one set of tax rows. */
typedef struct ts_tax_group {
    const ts_figure *lines; /* sum of its line prices */
    const ts_figure *share; /* of discount, surcharge, minimum, rounding */
    const ts_figure *base;  /* taxed amount */
    const ts_figure
        *reduced; /* the same less its share of a trade-in that the law lets reduce it */
    int first_line;
} ts_tax_group;

/* One tax, once on the sum of all groups that bear it. `group` is the first of them. */
typedef struct ts_tax {
    const ts_tax_row *row;
    int group;
    const ts_figure *base;
    const ts_figure *amount;
} ts_tax;

/* Fine metal of one kind in one lot of old metal: quantity × rate = amount. */
typedef struct ts_trade_in_line {
    const char *item;
    const ts_figure *quantity; /* g of fine metal */
    const ts_figure *rate;     /* price per g × payout */
    const ts_figure *amount;   /* positive */
    int need;
} ts_trade_in_line;

typedef struct ts_stage {
    const char *name; /* the policy's subject */
    const char *when; /* the row's note: when it is due, in the client's words */
    const ts_policy_row *row;
    const ts_figure *amount;
} ts_stage;

typedef struct ts_offered {
    const char *service; /* printed with its price, not added */
    const char *note;
    const ts_figure *price;
    const ts_service_row *row;
} ts_offered;

typedef struct ts_kept {
    const ts_policy_row *row; /* a stage and what is kept of a cancelled order after it */
    const ts_figure *amount;  /* in the commission's currency; NULL for a percentage */
} ts_kept;

/* A question about an amount on which the making of the price hung, and its answer. */
typedef struct ts_guard {
    const ts_figure *figure;
    bool of_sign; /* was it above nothing? Else: was it nothing? */
    bool answer;
} ts_guard;

typedef struct ts_costing {
    const ts_quantities *needs;
    const ts_book *book;
    ts_rounding rounding;
    int exponent;
    const char *currency;
    ts_line *lines;
    int line_count;
    const ts_figure *section_cost[TS_SECTION_COUNT]; /* by ts_section; NULL: no line */
    const ts_figure *section_price[TS_SECTION_COUNT];
    const ts_figure *cost, *lines_price;
    const ts_figure *discount; /* positive, subtracted; NULL where there is none, so below */
    const ts_figure *surcharge;
    const ts_figure *minimum;
    const ts_figure *net_rounding;
    const ts_figure *net;
    /* What minimum and steps add, be it nothing, so that a sheet that lives on has them when
     * rates move; NULL where the policy has no such rule. */
    const ts_figure *ruled_minimum, *ruled_net_rounding, *ruled_total_rounding;
    ts_tax_group *groups;
    int group_count;
    ts_tax *taxes;
    int tax_count;
    const ts_figure *tax;
    const ts_figure *total_rounding; /* rounding of total: untaxed */
    const ts_figure *total;
    ts_trade_in_line *trade_ins;
    int trade_in_count;
    const ts_figure *trade_in;
    const ts_figure *to_pay;
    ts_stage *stages;
    int stage_count;
    ts_offered *offered;
    int offered_count;
    ts_kept *kept;
    int kept_count;
    bool has_margin;   /* false where net - surcharge is not above 0 */
    ts_dec margin_pct; /* two decimals, half away from zero */
    bool has_floor;
    ts_dec floor_pct;
    const ts_policy_row *floor_row;
    bool below_floor;
    const ts_figure *own_minutes; /* of the studio's own crafts */
    bool has_earnings;
    ts_money earnings_per_hour;
    ts_date valid_until;
    const ts_guard *guards; /* in the order of asking */
    int guard_count;
    bool weight_adjusts;
    ts_dec weight_tolerance_pct;
} ts_costing;

/* Costs one option. Faults: BOOK_GAP (an operation, metal price, rate, craft, tax or lot
 * not in force), BOOK_TIE, POLICY (no rule for a section, stages that do not add up, a
 * declared value missing where a percentage needs it), FIGURE (overflow). All come out
 * together. Stale and implausible prices are warnings. */
ts_status ts_costing_of(ts_costing **out, ts_arena *arena, const ts_quantities *needs,
                        const ts_book *book, ts_diag *diag) TS_MUST_USE;

/* The distinct rows that figures rest on, as "metals.csv:4 alloys.csv:7 halo.csv:12":
 * leaves in the order of the trees; figures may be NULL. Into the arena. */
const char *ts_figure_origin(ts_arena *arena, const ts_figure *const *figures, int count);

/* Difference of an option's total with tax to the first's, split by section price,
 * adjustments and tax: adds up exactly. */
typedef struct ts_difference {
    ts_money section[TS_SECTION_COUNT];
    ts_money adjustments; /* discount, surcharge, minimum, roundings */
    ts_money tax;
    ts_money total;
} ts_difference;
bool ts_costing_difference(ts_difference *out, const ts_costing *first,
                           const ts_costing *other) TS_MUST_USE;

#endif
