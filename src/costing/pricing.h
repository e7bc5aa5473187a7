/* What the makers of a price share while they work on one option. */
#ifndef TS_COSTING_PRICING_H
#define TS_COSTING_PRICING_H

#include <tallystone/base/text.h>
#include <tallystone/costing/costing.h>

#include "costing/taken.h"

typedef struct ts_pricing {
    ts_costing *out;
    const ts_quantities *needs;
    const ts_book *book;
    ts_arena *arena;
    ts_diag *diag;
    size_t before; /* what was said of other sheets is no fault of this one */
    ts_date on;
    const char *currency;
    int exponent;
    ts_rounding mode;
    size_t line_room;
    ts_takes takes;   /* amounts of `needs` by place */
    ts_guard *guards; /* of `out`, while they are added */
    size_t guard_room;
    const ts_figure **cells; /* the book cells used so far, each once */
    size_t cell_count;
    size_t cell_room;
} ts_pricing;

/* --- rates.c: book cells as figures, in the commission's currency --- */

/* A leaf for a cell of a book row; the same figure each time the cell is asked for. */
const ts_figure *ts_rate_cell(ts_pricing *p, const char *name, ts_dec value, const char *unit,
                              const ts_book_row *row, const char *column);
/* Money of currency `from` (NULL: the studio's) in the commission's, six decimals,
 * rounded once. A missing rate is a BOOK_GAP fault at the row and answers NULL. */
const ts_figure *ts_rate_convert(ts_pricing *p, const ts_figure *amount, const char *from,
                                 const ts_book_row *row);
/* A policy's amount of money, in the commission's currency and to its last decimal. One without
 * a unit is in that currency, so that a price ends on a step whatever the studio's books count
 * in. NULL after a fault, else it would count as no rule at all. */
const ts_figure *ts_rate_policy(ts_pricing *p, const ts_policy_row *row, const char *name);
/* Price of a gram of a pure metal, exact (a fraction). NULL after a fault. */
const ts_figure *ts_rate_metal(ts_pricing *p, ts_metal_kind metal, const char *wanted_by);
/* Fine value of a gram of an alloy, rounded once to six decimals; fine value + premium. */
const ts_figure *ts_rate_fine_value(ts_pricing *p, const ts_alloy_row *alloy);
const ts_figure *ts_rate_alloy(ts_pricing *p, const ts_alloy_row *alloy, const ts_figure *fine);
/* An amount of the quantities as a leaf; counts, weights, prices of the sheet: all of them
 * come this way (taken.h). */
const ts_figure *ts_rate_taken(ts_pricing *p, ts_taken what, int index, const char *name,
                               const char *unit, ts_whence whence);
/* Where a count of the sheet stands; `line` 0 says that it stands by default. */
ts_whence ts_rate_counted(const char *file, int line);
/* An amount of the sheet (each, per ct, plain) as money of the commission's currency;
 * `amount` is what `what` and `index` name. */
const ts_figure *ts_rate_sheet(ts_pricing *p, ts_taken what, int index, const char *name,
                               ts_amount amount, ts_whence whence);

/* --- lines of the sections --- */
ts_line *ts_line_add(ts_pricing *p, ts_section section, ts_line_kind kind, const char *item,
                     const char *key);
/* quantity × unit cost, rounded to the minor unit; sets the three figures of the line. */
void ts_line_cost(ts_pricing *p, ts_line *line, const ts_figure *quantity, const char *unit,
                  const ts_figure *unit_cost);
/* Raises a line's cost to a minimum of the row, and says so in its item. */
void ts_line_minimum(ts_pricing *p, ts_line *line, ts_dec least, const char *currency,
                     const ts_book_row *row);
void ts_lines_of_metal(ts_pricing *p);
void ts_lines_of_melee(ts_pricing *p);
void ts_lines_of_stones(ts_pricing *p);
void ts_lines_of_labour(ts_pricing *p);
void ts_lines_of_overhead(ts_pricing *p);
void ts_lines_of_contingency(ts_pricing *p);
void ts_lines_of_services(ts_pricing *p);
/* Line prices by the policy's rules, for the lines from `first` on. */
void ts_rules_apply(ts_pricing *p, int first);
/* Sum of the costs or prices of a section's lines (SECTION_NONE: all); a figure of zero
 * where it has none, NULL after an overflow. */
const ts_figure *ts_lines_sum(ts_pricing *p, ts_section section, bool prices, const char *name);

/* --- tax.c --- */

/* The tax rows that one group of lines bears. */
typedef struct ts_tax_set {
    const ts_tax_row *rows[TS_BOOK_MOST_TAXES];
    int count;
} ts_tax_set;

/* Groups the lines by what taxes them; answers the sets, one a group, or NULL after a
 * fault (a line that no row taxes). */
const ts_tax_set *ts_tax_groups_of(ts_pricing *p);
/* The taxes with the adjustments shared over the groups; answers their sum. */
const ts_figure *ts_tax_on(ts_pricing *p, const ts_tax_set *sets, const ts_figure *adjustments);

/* --- settle.c: from line prices to what is to pay --- */
void ts_settle(ts_pricing *p);
/* --- stages.c --- */
void ts_stages_of(ts_pricing *p);

/* --- small ones --- */
/* An overflow is said once, at nothing; returns false so that makers can stop. */
bool ts_pricing_fine(ts_pricing *p, const ts_figure *figure, const char *what);
/* Is the figure above nothing; is it nothing? What is asked here decides how the price is
 * made up, so it is kept beside the answer (ts_guard). NULL is neither. */
bool ts_pricing_positive(ts_pricing *p, const ts_figure *figure);
bool ts_pricing_nothing(ts_pricing *p, const ts_figure *figure);
const ts_figure *ts_zero(ts_pricing *p, const char *name);
const ts_figure *ts_round_money(ts_pricing *p, const char *name, const ts_figure *of);
const ts_figure *ts_constant(ts_pricing *p, int64_t whole, const char *name);
/* amount × percent / 100, unrounded. */
const ts_figure *ts_percent_of(ts_pricing *p, const char *name, const ts_figure *amount,
                               const ts_figure *percent);

#endif
