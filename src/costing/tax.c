#include "costing/pricing.h"

/* Tax: lines grouped by what taxes them, each group with its share of what was added to or
 * taken off the lines, and each tax once on the sum of the groups that bear it. */

/* The tax rows that apply to a category: of each name the one begun last. */
static int tax_rows(const ts_pricing *p, const ts_tax_row **rows, int most, const char *category)
{
    int count = 0;
    for (size_t i = 0; i < p->book->taxes.count; i++) {
        const ts_tax_row *row = &p->book->taxes.at[i];
        if (!ts_book_in_force(&row->head, p->on) ||
            !ts_text_same(row->region, p->needs->terms.region) ||
            !ts_text_same(row->category, category)) {
            continue;
        }
        int at = 0;
        while (at < count && !ts_text_same(rows[at]->name, row->name)) {
            at++;
        }
        if (at == count && count < most) {
            rows[count++] = row;
        } else if (at < count && row->head.from.days > rows[at]->head.from.days) {
            rows[at] = row;
        }
    }
    return count;
}

static bool find_taxes(ts_pricing *p, ts_tax_set *set, const ts_line *line)
{
    set->count = line->section == TS_SECTION_SERVICES
                     ? tax_rows(p, set->rows, TS_BOOK_MOST_TAXES, line->key)
                     : 0;
    if (set->count == 0) {
        const char *section = ts_list_word(TS_LIST_SECTION, (int)line->section);
        set->count = tax_rows(p, set->rows, TS_BOOK_MOST_TAXES, section);
    }
    if (set->count == 0) {
        set->count = tax_rows(p, set->rows, TS_BOOK_MOST_TAXES, "all");
    }
    if (set->count == 0) {
        ts_diag_add(
            p->diag, TS_FAULT_BOOK_GAP, NULL,
            "taxes.csv has no row in force for the region \"%s\" and \"%s\", nor for \"all\"",
            p->needs->terms.region, line->item);
    }
    return set->count > 0;
}

static bool same_tax(const ts_tax_row *one, const ts_tax_row *other)
{
    return one->rate.e6 == other->rate.e6 && ts_text_same(one->name, other->name);
}

/* The row by which a group bears a tax, or NULL. */
static const ts_tax_row *borne(const ts_tax_set *set, const ts_tax_row *row)
{
    for (int i = 0; i < set->count; i++) {
        if (same_tax(set->rows[i], row)) {
            return set->rows[i];
        }
    }
    return NULL;
}

/* Sets of the same names and rates make one group, wherever their rows stand. */
static bool same_taxes(const ts_tax_set *one, const ts_tax_set *other)
{
    bool same = one->count == other->count;
    for (int i = 0; same && i < one->count; i++) {
        same = borne(other, one->rows[i]) != NULL;
    }
    return same;
}

static const ts_figure *group_lines(ts_pricing *p, int group)
{
    const ts_costing *out = p->out;
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->line_count);
    int count = 0;
    for (int i = 0; i < out->line_count; i++) {
        if (out->lines[i].tax_group == group) {
            parts[count++] = out->lines[i].price;
        }
    }
    return ts_figure_of(p->arena, TS_OP_SUM, "lines taxed alike", p->currency, parts, count);
}

static const ts_figure *tax_rate(ts_pricing *p, const ts_tax_row *row)
{
    return ts_rate_cell(p, ts_arena_format(p->arena, "rate of %s", row->name), row->rate, "%",
                        &row->head, "rate");
}

/* The rows that were found, each once. */
typedef struct tax_rows_found {
    const ts_tax_row **rows;
    int count;
} tax_rows_found;

static void note_rows(tax_rows_found *found, const ts_tax_set *set)
{
    for (int i = 0; i < set->count; i++) {
        int at = 0;
        while (at < found->count && found->rows[at] != set->rows[i]) {
            at++;
        }
        found->rows[at] = set->rows[i];
        found->count += at == found->count;
    }
}

/* Rows of one name are one tax while their rates are equal, and taxes apart while they are
 * not: it is asked of each pair of them. */
static void ask_rates(ts_pricing *p, const tax_rows_found *found)
{
    for (int i = 0; i < found->count; i++) {
        for (int k = i + 1; k < found->count; k++) {
            const ts_tax_row *one = found->rows[i], *other = found->rows[k];
            if (ts_text_same(one->name, other->name)) {
                ts_pricing_nothing(p, ts_figure_two(p->arena, TS_OP_SUB, "rates apart", "%",
                                                    tax_rate(p, one), tax_rate(p, other)));
            }
        }
    }
}

/* Groups the lines by what taxes them. Answers the sets, one a group; NULL after a fault. */
const ts_tax_set *ts_tax_groups_of(ts_pricing *p)
{
    ts_costing *out = p->out;
    ts_tax_set *sets = TS_ARRAY(p->arena, ts_tax_set, (size_t)out->line_count + 1);
    out->groups = TS_ARRAY(p->arena, ts_tax_group, (size_t)out->line_count + 1);
    tax_rows_found found = {.rows =
                                TS_ARRAY(p->arena, const ts_tax_row *, p->book->taxes.count + 1)};
    bool fine = true;
    for (int i = 0; i < out->line_count; i++) {
        ts_tax_set set;
        if (i > 0 && out->lines[i].section == out->lines[i - 1].section &&
            out->lines[i].section != TS_SECTION_SERVICES && fine) {
            out->lines[i].tax_group = out->lines[i - 1].tax_group; /* nothing narrows it */
            continue;
        }
        if (!find_taxes(p, &set, &out->lines[i])) {
            fine = false;
            continue;
        }
        note_rows(&found, &set);
        int group = 0;
        while (group < out->group_count && !same_taxes(&sets[group], &set)) {
            group++;
        }
        if (group == out->group_count) {
            sets[group] = set;
            out->groups[group].first_line = i;
            out->group_count++;
        }
        out->lines[i].tax_group = group;
    }
    for (int g = 0; fine && g < out->group_count; g++) {
        out->groups[g].lines = group_lines(p, g);
    }
    ask_rates(p, &found);
    return fine ? sets : NULL;
}

/* ---- tax ---- */

static bool reduces(const ts_tax_set *set)
{
    for (int i = 0; i < set->count; i++) {
        if (set->rows[i]->trade_in == TS_REDUCES_YES) {
            return true;
        }
    }
    return false;
}

/* What the old metal takes off the taxed amounts: shared over the groups of which a tax's
 * row says so, never below nothing. */
static void reduce_bases(ts_pricing *p, const ts_tax_set *sets)
{
    ts_costing *out = p->out;
    const ts_figure **weights = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->group_count + 1);
    int *which = TS_ARRAY(p->arena, int, (size_t)out->group_count + 1);
    const ts_figure *zero = ts_zero(p, "nothing");
    int count = 0;
    for (int g = 0; g < out->group_count; g++) {
        out->groups[g].reduced = out->groups[g].base;
        if (out->trade_in != NULL && reduces(&sets[g])) {
            which[count] = g;
            weights[count++] = ts_figure_two(p->arena, TS_OP_MAX, "taxed amount", p->currency,
                                             out->groups[g].base, zero);
        }
    }
    for (int k = 0; k < count; k++) {
        ts_tax_group *group = &out->groups[which[k]];
        const ts_figure *less =
            ts_figure_share(p->arena, "trade-in that lessens the taxed amount", p->currency,
                            out->trade_in, weights, count, k, p->exponent);
        const ts_figure *left = ts_figure_two(p->arena, TS_OP_SUB, "taxed amount less trade-in",
                                              p->currency, group->base, less);
        group->reduced = ts_figure_two(p->arena, TS_OP_MAX, "taxed amount less trade-in",
                                       p->currency, left, zero);
    }
}

/* Each group's lines with their share of the adjustments. */
static void share_adjustments(ts_pricing *p, const ts_figure *adjustments)
{
    ts_costing *out = p->out;
    const ts_figure **weights = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->group_count + 1);
    for (int g = 0; g < out->group_count; g++) {
        weights[g] = out->groups[g].lines;
    }
    for (int g = 0; g < out->group_count; g++) {
        ts_tax_group *group = &out->groups[g];
        group->share =
            ts_figure_share(p->arena, "share of discount, surcharge, minimum, rounding",
                            p->currency, adjustments, weights, out->group_count, g, p->exponent);
        group->base = ts_figure_two(p->arena, TS_OP_SUM, "taxed amount", p->currency, group->lines,
                                    group->share);
    }
}

/* What a tax is taken of: the sum over all groups that bear it, each less its share of the
 * old metal where its own row lets that reduce. */
static const ts_figure *taxed(ts_pricing *p, const ts_tax_set *sets, const ts_tax_row *row)
{
    const ts_costing *out = p->out;
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->group_count);
    int count = 0;
    for (int g = 0; g < out->group_count; g++) {
        const ts_tax_row *own = borne(&sets[g], row);
        if (own != NULL) {
            parts[count++] =
                own->trade_in == TS_REDUCES_YES ? out->groups[g].reduced : out->groups[g].base;
        }
    }
    const char *name = ts_arena_format(p->arena, "taxed with %s", row->name);
    return ts_figure_of(p->arena, TS_OP_SUM, name, p->currency, parts, count);
}

/* One tax, once on its sum (EN 16931, BR-CO-17: rounded once for each rate). */
static void add_tax(ts_pricing *p, const ts_tax_set *sets, const ts_tax_row *row, int group)
{
    ts_costing *out = p->out;
    for (int i = 0; i < out->tax_count; i++) {
        if (same_tax(out->taxes[i].row, row)) {
            return;
        }
    }
    const ts_figure *rate = tax_rate(p, row);
    const ts_figure *base = taxed(p, sets, row);
    const ts_figure *amount = ts_round_money(p, row->name, ts_percent_of(p, row->name, base, rate));
    out->taxes[out->tax_count++] =
        (ts_tax){.row = row, .group = group, .base = base, .amount = amount};
}

const ts_figure *ts_tax_on(ts_pricing *p, const ts_tax_set *sets, const ts_figure *adjustments)
{
    ts_costing *out = p->out;
    size_t room = 1;
    for (int g = 0; g < out->group_count; g++) {
        room += (size_t)sets[g].count;
    }
    share_adjustments(p, adjustments);
    reduce_bases(p, sets);
    out->taxes = TS_ARRAY(p->arena, ts_tax, room);
    out->tax_count = 0;
    const ts_figure **amounts = TS_ARRAY(p->arena, const ts_figure *, room);
    for (int g = 0; g < out->group_count; g++) {
        for (int i = 0; i < sets[g].count; i++) {
            add_tax(p, sets, sets[g].rows[i], g);
        }
    }
    for (int i = 0; i < out->tax_count; i++) {
        amounts[i] = out->taxes[i].amount;
    }
    return out->tax_count == 0
               ? ts_zero(p, "tax")
               : ts_figure_of(p->arena, TS_OP_SUM, "tax", p->currency, amounts, out->tax_count);
}
