#include "costing/pricing.h"

/* Payment stages: percentages of what is to pay by largest remainder, amounts as they
 * stand, the last without a value takes the rest; together exactly what is to pay. */

typedef struct stage_rows {
    const ts_policy_row *rows[TS_BOOK_MOST_STAGES]; /* in file order */
    int count;
} stage_rows;

static bool later_begun(const ts_pricing *p, const ts_policy_row *row)
{
    return ts_book_policy(p->book, TS_RULE_PAYMENT, row->subject, p->on) == row;
}

static void gather(const ts_pricing *p, stage_rows *set)
{
    set->count = 0;
    for (size_t i = 0; i < p->book->policy.count && set->count < TS_BOOK_MOST_STAGES; i++) {
        const ts_policy_row *row = &p->book->policy.at[i];
        if (row->rule == TS_RULE_PAYMENT && ts_book_in_force(&row->head, p->on) &&
            later_begun(p, row)) {
            set->rows[set->count++] = row;
        }
    }
}

static bool takes_rest(const ts_policy_row *row)
{
    return !ts_book_given(&row->head, "value");
}

/* Percentages as weights: each stage's own, and what is left of a hundred for the rest. */
static bool weigh(ts_pricing *p, const stage_rows *set, const ts_figure **weights, bool *has_rest)
{
    const ts_figure *left = ts_constant(p, 100, "per cent");
    *has_rest = false;
    for (int i = 0; i < set->count; i++) {
        const ts_policy_row *row = set->rows[i];
        if (takes_rest(row)) {
            *has_rest = true;
            weights[i] = NULL;
            continue;
        }
        if (row->amount.of != TS_AMOUNT_PERCENT) {
            weights[i] = ts_zero(p, row->subject);
            continue;
        }
        weights[i] =
            ts_rate_cell(p, ts_arena_format(p->arena, "%s of what is to pay", row->subject),
                         row->amount.value, "%", &row->head, "value");
        left = ts_figure_two(p->arena, TS_OP_SUB, "left for the rest", "%", left, weights[i]);
    }
    for (int i = 0; i < set->count; i++) {
        if (weights[i] == NULL) {
            weights[i] = left;
        }
    }
    const bool none_left = ts_pricing_nothing(p, left);
    bool fine = none_left || (*has_rest && ts_pricing_positive(p, left));
    if (!fine) {
        ts_place at = ts_book_place(p->book, p->arena, &set->rows[set->count - 1]->head, "value");
        ts_diag_add(p->diag, TS_FAULT_POLICY, &at,
                    "the payment stages do not add up to 100 %% of what is to pay; give the last "
                    "no value and it takes the rest");
    }
    return fine;
}

/* What is kept of a cancelled order: said beside the price, no part of it. */
static void keep_of(ts_pricing *p)
{
    const ts_book *book = p->book;
    ts_costing *out = p->out;
    out->kept = TS_ARRAY(p->arena, ts_kept, book->policy.count + 1);
    for (size_t i = 0; i < book->policy.count; i++) {
        const ts_policy_row *row = &book->policy.at[i];
        if (row->rule == TS_RULE_KEEP && ts_book_in_force(&row->head, p->on) &&
            ts_book_policy(book, TS_RULE_KEEP, row->subject, p->on) == row) {
            bool is_share = row->amount.of == TS_AMOUNT_PERCENT;
            out->kept[out->kept_count++] = (ts_kept){
                .row = row, .amount = is_share ? NULL : ts_rate_policy(p, row, row->subject)};
        }
    }
}

/* A stage of a fixed amount takes no more than is left for the rest. */
static const ts_figure *fixed(ts_pricing *p, const ts_policy_row *row, const ts_figure **rest)
{
    const ts_figure *amount = ts_rate_policy(p, row, row->subject);
    const ts_figure *taken =
        ts_figure_two(p->arena, TS_OP_MAX, row->subject, p->currency,
                      ts_figure_two(p->arena, TS_OP_MIN, row->subject, p->currency, amount, *rest),
                      ts_zero(p, "nothing"));
    *rest = ts_figure_two(p->arena, TS_OP_SUB, "the rest", p->currency, *rest, taken);
    return taken;
}

void ts_stages_of(ts_pricing *p)
{
    ts_costing *out = p->out;
    stage_rows set;
    gather(p, &set);
    keep_of(p);
    const ts_figure *weights[TS_BOOK_MOST_STAGES];
    bool has_rest = false;
    if (set.count == 0) {
        ts_diag_add(p->diag, TS_FAULT_POLICY, NULL,
                    "policy.csv has no `payment` stage in force; at least one is expected");
        return;
    }
    if (!weigh(p, &set, weights, &has_rest) || out->to_pay == NULL) {
        return;
    }
    out->stages = TS_ARRAY(p->arena, ts_stage, (size_t)set.count);
    out->stage_count = set.count;
    const ts_figure *rest = NULL;
    for (int i = 0; i < set.count; i++) {
        const ts_policy_row *row = set.rows[i];
        const ts_figure *share = ts_figure_share(p->arena, row->subject, p->currency, out->to_pay,
                                                 weights, set.count, i, p->exponent);
        out->stages[i] =
            (ts_stage){.name = row->subject, .when = row->head.note, .row = row, .amount = share};
        rest = takes_rest(row) ? share : rest;
    }
    for (int i = 0; i < set.count; i++) {
        const ts_policy_row *row = set.rows[i];
        if (!takes_rest(row) && row->amount.of != TS_AMOUNT_PERCENT) {
            out->stages[i].amount = fixed(p, row, &rest);
        }
    }
    for (int i = 0; i < set.count; i++) {
        if (takes_rest(set.rows[i])) {
            out->stages[i].amount =
                ts_figure_of(p->arena, TS_OP_SUM, set.rows[i]->subject, p->currency, &rest, 1);
        }
        ts_pricing_fine(p, out->stages[i].amount, "a payment stage");
    }
}
