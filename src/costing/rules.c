#include "costing/pricing.h"

/* Line prices by the policy: markup, margin or at cost, the narrower subject first.
 *
 * Rows of one subject with an `above` amount are tiers: `marginal` prices each part of a
 * line's cost by its own row, `whole` prices all of it by the last row it reaches. */

typedef struct rule_set {
    const ts_policy_row *rows[TS_BOOK_MOST_TIERS]; /* by `above`, ascending */
    int count;
} rule_set;

static bool is_price_rule(int rule)
{
    return rule == TS_RULE_MARKUP || rule == TS_RULE_MARGIN || rule == TS_RULE_AT_COST;
}

/* Is there a row of the same rule, subject and tier that began later? */
static bool superseded(const ts_pricing *p, const ts_policy_row *row)
{
    for (size_t i = 0; i < p->book->policy.count; i++) {
        const ts_policy_row *other = &p->book->policy.at[i];
        if (other->head.from.days > row->head.from.days && other->above.e6 == row->above.e6 &&
            is_price_rule(other->rule) && ts_text_same(other->subject, row->subject) &&
            ts_book_in_force(&other->head, p->on)) {
            return true;
        }
    }
    return false;
}

static void insert(rule_set *set, const ts_policy_row *row)
{
    int at = set->count++;
    for (; at > 0 && set->rows[at - 1]->above.e6 > row->above.e6; at--) {
        set->rows[at] = set->rows[at - 1];
    }
    set->rows[at] = row;
}

/* The rows in force for a subject. Two rules for one tier contradict each other. */
static void gather(ts_pricing *p, rule_set *set, const char *subject)
{
    set->count = 0;
    for (size_t i = 0; i < p->book->policy.count && set->count < TS_BOOK_MOST_TIERS; i++) {
        const ts_policy_row *row = &p->book->policy.at[i];
        if (!is_price_rule(row->rule) || !ts_text_same(row->subject, subject) ||
            !ts_book_in_force(&row->head, p->on) || superseded(p, row)) {
            continue;
        }
        for (int k = 0; k < set->count; k++) {
            if (set->rows[k]->above.e6 == row->above.e6) {
                ts_place at = ts_book_place(p->book, p->arena, &row->head, "rule");
                ts_diag_add(p->diag, TS_FAULT_POLICY, &at,
                            "the policy has two rules for \"%s\": this row and that on line %d",
                            subject, set->rows[k]->head.line);
                return;
            }
        }
        insert(set, row);
    }
}

/* Tiers must begin at nothing: what lies under the first would have no rule. */
static bool starts_at_nothing(ts_pricing *p, const rule_set *set)
{
    const ts_policy_row *first = set->rows[0];
    if (first->above.e6 == 0) {
        return true;
    }
    char above[TS_DECIMAL_TEXT];
    ts_place at = ts_book_place(p->book, p->arena, &first->head, "above");
    ts_diag_add(p->diag, TS_FAULT_POLICY, &at,
                "the tiers of \"%s\" begin above %s; a row with nothing in `above` must price what "
                "lies under it",
                first->subject, ts_dec_text(above, first->above));
    return false;
}

static bool find_rules(ts_pricing *p, rule_set *set, const ts_line *line)
{
    const char *section = ts_list_word(TS_LIST_SECTION, (int)line->section);
    if (line->key != NULL && !ts_text_empty(line->key)) {
        gather(p, set, line->key);
        if (set->count > 0) {
            return true;
        }
    }
    gather(p, set, section);
    if (set->count == 0) {
        ts_diag_add(p->diag, TS_FAULT_POLICY, NULL,
                    "policy.csv has no rule in force that prices \"%s\": markup, margin or at cost "
                    "for the section %s is expected",
                    line->item, section);
    }
    return set->count > 0 && starts_at_nothing(p, set);
}

/* cost × (1 + value), cost / (1 - value), or cost; unrounded. */
static const ts_figure *priced(ts_pricing *p, const ts_policy_row *row, const ts_figure *cost,
                               const char *name)
{
    if (row->rule == TS_RULE_AT_COST) {
        return cost;
    }
    const char *word = ts_list_word(TS_LIST_RULE, row->rule);
    const ts_figure *value =
        ts_rate_cell(p, ts_arena_format(p->arena, "%s on %s", word, row->spelt), row->amount.value,
                     "%", &row->head, "value");
    const ts_figure *hundred = ts_constant(p, 100, "per cent");
    if (row->rule == TS_RULE_MARKUP) {
        const ts_figure *factor = ts_figure_two(
            p->arena, TS_OP_DIV, "1 + markup", "",
            ts_figure_two(p->arena, TS_OP_SUM, "100 % + markup", "%", hundred, value), hundred);
        return ts_figure_two(p->arena, TS_OP_MUL, name, p->currency, cost, factor);
    }
    const ts_figure *factor = ts_figure_two(
        p->arena, TS_OP_DIV, "1 - margin", "",
        ts_figure_two(p->arena, TS_OP_SUB, "100 % - margin", "%", hundred, value), hundred);
    return ts_figure_two(p->arena, TS_OP_DIV, name, p->currency, cost, factor);
}

static const ts_figure *above_of(ts_pricing *p, const ts_policy_row *row)
{
    const ts_figure *above =
        ts_rate_cell(p, ts_arena_format(p->arena, "tier of %s above", row->spelt), row->above,
                     p->book->currency, &row->head, "above");
    return ts_rate_convert(p, above, NULL, &row->head);
}

/* Tiers are read from the lowest foot upward, and the lowest is nothing: feet that pass each
 * other make another price of them, or none. */
static void ask_order(ts_pricing *p, const rule_set *set)
{
    const ts_figure *foot = above_of(p, set->rows[0]);
    ts_pricing_nothing(p, foot);
    for (int i = 1; i < set->count; i++) {
        const ts_figure *next = above_of(p, set->rows[i]);
        ts_pricing_positive(
            p, ts_figure_two(p->arena, TS_OP_SUB, "width of the tier", p->currency, next, foot));
        foot = next;
    }
}

static const ts_figure *marginal(ts_pricing *p, const rule_set *set, const ts_line *line)
{
    const ts_figure *parts[TS_BOOK_MOST_TIERS];
    const ts_figure *zero = ts_zero(p, "nothing");
    for (int i = 0; i < set->count; i++) {
        const ts_figure *upper = line->cost;
        if (i + 1 < set->count) {
            upper = ts_figure_two(p->arena, TS_OP_MIN, "cost up to the next tier", p->currency,
                                  line->cost, above_of(p, set->rows[i + 1]));
        }
        const ts_figure *part =
            ts_figure_two(p->arena, TS_OP_MAX, "cost in the tier", p->currency,
                          ts_figure_two(p->arena, TS_OP_SUB, "cost over the tier's foot",
                                        p->currency, upper, above_of(p, set->rows[i])),
                          zero);
        parts[i] = priced(p, set->rows[i], part, "price of the tier");
    }
    return ts_figure_of(p->arena, TS_OP_SUM, line->item, p->currency, parts, set->count);
}

/* The last row whose `above` the cost passes; the first where it passes none. */
static const ts_policy_row *reached(ts_pricing *p, const rule_set *set, const ts_line *line)
{
    const ts_policy_row *row = set->rows[0];
    for (int i = 1; i < set->count; i++) {
        const ts_figure *over = ts_figure_two(p->arena, TS_OP_SUB, "over", p->currency, line->cost,
                                              above_of(p, set->rows[i]));
        if (ts_pricing_positive(p, over)) {
            row = set->rows[i];
        }
    }
    return row;
}

static bool whole_tiers(const ts_pricing *p, const ts_line *line)
{
    const ts_policy_row *row = ts_book_policy(
        p->book, TS_RULE_TIERS, ts_list_word(TS_LIST_SECTION, (int)line->section), p->on);
    return row != NULL && ts_text_same(row->word, "whole");
}

static const char *describe(ts_pricing *p, const ts_policy_row *row)
{
    char value[TS_DECIMAL_TEXT];
    const char *word = ts_list_word(TS_LIST_RULE, row->rule);
    if (row->rule == TS_RULE_AT_COST) {
        return word;
    }
    return ts_arena_format(p->arena, "%s %s %%", word, ts_dec_text(value, row->amount.value));
}

static void price_line(ts_pricing *p, ts_line *line)
{
    rule_set set;
    if (line->cost == NULL || !find_rules(p, &set, line)) {
        return;
    }
    const ts_policy_row *row = set.rows[0];
    const ts_figure *price;
    if (set.count > 1) {
        ask_order(p, &set);
    }
    if (set.count > 1 && !whole_tiers(p, line)) {
        price = marginal(p, &set, line);
        line->rule =
            ts_arena_format(p->arena, "%s by tiers", ts_list_word(TS_LIST_RULE, row->rule));
    } else {
        row = set.count > 1 ? reached(p, &set, line) : row;
        price = priced(p, row, line->cost, line->item);
        line->rule = describe(p, row);
    }
    line->rule_row = row;
    line->at_cost = set.count == 1 && row->rule == TS_RULE_AT_COST;
    line->price = ts_round_money(p, line->item, price);
}

void ts_rules_apply(ts_pricing *p, int first)
{
    for (int i = first; i < p->out->line_count; i++) {
        price_line(p, &p->out->lines[i]);
    }
}
