#include "costing/pricing.h"

#include <string.h>

/* From line prices to what is to pay: discount, surcharge, minimum, rounding, old metal
 * taken in. The surcharge is grossed up on what would be to pay without
 * it, so the whole is settled twice where there is one. */

typedef struct settlement {
    const ts_figure *surcharge, *minimum, *net_rounding, *net, *tax, *total_rounding, *total,
        *to_pay;
} settlement;

static const ts_figure *money_rule(ts_pricing *p, ts_rule rule, const char *subject,
                                   const char *name)
{
    const ts_policy_row *row = ts_book_policy(p->book, rule, subject, p->on);
    return row == NULL ? NULL : ts_rate_policy(p, row, name);
}

/* ---- discount ---- */

static const ts_figure *discountable(ts_pricing *p)
{
    const ts_costing *out = p->out;
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->line_count + 1);
    int count = 0;
    for (int i = 0; i < out->line_count; i++) {
        if (!out->lines[i].at_cost) {
            parts[count++] = out->lines[i].price;
        }
    }
    if (count == 0) {
        return ts_zero(p, "lines not at cost");
    }
    return ts_figure_of(p->arena, TS_OP_SUM, "lines not at cost", p->currency, parts, count);
}

static const ts_figure *discount_of(ts_pricing *p)
{
    const ts_terms *terms = &p->needs->terms;
    const ts_whence said = {terms->sheet_file, terms->discount_line, "as the sheet says"};
    const ts_figure *off = NULL;
    if (terms->discount.of == TS_AMOUNT_NONE || terms->discount.value.e6 == 0) {
        return NULL;
    }
    if (terms->discount.of != TS_AMOUNT_PERCENT) {
        off = ts_rate_sheet(p, TS_TAKEN_DISCOUNT, 0, "discount", terms->discount, said);
    } else {
        const ts_figure *percent = ts_rate_taken(p, TS_TAKEN_DISCOUNT, 0, "discount", "%", said);
        off = ts_percent_of(p, "discount", discountable(p), percent);
    }
    off = ts_round_money(p, "discount", off);
    ts_pricing_fine(p, off, "the discount"); /* else it would count as none */
    return off;
}

static const char *money_of(const ts_pricing *p, const ts_figure *figure)
{
    char text[TS_DECIMAL_TEXT];
    ts_money money = {0};
    return ts_figure_money(&money, figure, p->exponent)
               ? ts_arena_text(p->arena, ts_money_text(text, money, p->exponent))
               : "?";
}

/* More off than all lines come to is a slip; where a rate moves, it is judged anew. */
static void judge_discount(ts_pricing *p)
{
    const ts_costing *out = p->out;
    const ts_terms *terms = &p->needs->terms;
    const ts_place at = {.file = terms->sheet_file, .line = terms->discount_line};
    if (out->discount == NULL || terms->discount.of == TS_AMOUNT_PERCENT) {
        return;
    }
    const ts_figure *over = ts_figure_two(p->arena, TS_OP_SUB, "discount over the lines",
                                          p->currency, out->discount, out->lines_price);
    if (ts_pricing_positive(p, over)) {
        ts_diag_add(p->diag, TS_FAULT_RANGE, &at,
                    "a discount of %s %s is more than the lines come to, %s %s; at most that can "
                    "be taken off",
                    money_of(p, out->discount), p->currency, money_of(p, out->lines_price),
                    p->currency);
    }
}

/* ---- net, total, to pay ---- */

static const ts_figure *positive(ts_pricing *p, const ts_figure *figure)
{
    return ts_pricing_positive(p, figure) ? figure : NULL;
}

/* The same where nothing but what is shown hangs on it. */
static const ts_figure *shown(const ts_figure *figure)
{
    return figure != NULL && figure->value.num > 0 ? figure : NULL;
}

/* What raising to a minimum or a step adds, nothing included, so that the chain holds
 * when a rate moves; NULL where the policy has no such rule. */
static const ts_figure *added(ts_pricing *p, ts_op op, const char *name, const ts_figure *to,
                              const ts_figure *limit)
{
    if (limit == NULL) {
        return NULL;
    }
    const ts_figure *raised = ts_figure_two(p->arena, op, name, p->currency, to, limit);
    return ts_figure_two(p->arena, TS_OP_SUB, name, p->currency, raised, to);
}

static const ts_figure *sum_of(ts_pricing *p, const char *name, const ts_figure *const *parts,
                               int most)
{
    const ts_figure *kept[8];
    int count = 0;
    for (int i = 0; i < most; i++) {
        if (parts[i] != NULL) {
            kept[count++] = parts[i];
        }
    }
    return count == 0 ? ts_zero(p, name)
                      : ts_figure_of(p->arena, TS_OP_SUM, name, p->currency, kept, count);
}

static const ts_figure *negative(ts_pricing *p, const ts_figure *figure)
{
    return figure == NULL ? NULL
                          : ts_figure_two(p->arena, TS_OP_SUB, figure->name, p->currency,
                                          ts_zero(p, "nothing"), figure);
}

static settlement settle_with(ts_pricing *p, const ts_tax_set *sets, const ts_figure *surcharge)
{
    ts_costing *out = p->out;
    settlement s = {.surcharge = surcharge};
    const ts_figure *less = negative(p, out->discount);
    const ts_figure *net =
        sum_of(p, "net", (const ts_figure *const[]){out->lines_price, less, surcharge}, 3);
    s.minimum = added(p, TS_OP_MAX, "raised to the minimum", net,
                      money_rule(p, TS_RULE_MINIMUM, "net", "least net"));
    net = sum_of(p, "net", (const ts_figure *const[]){net, s.minimum}, 2);
    s.net_rounding = added(p, TS_OP_STEP, "rounding", net,
                           money_rule(p, TS_RULE_ROUND_UP, "net", "step of net"));
    s.net = sum_of(p, "net", (const ts_figure *const[]){net, s.net_rounding}, 2);
    const ts_figure *adjustments =
        sum_of(p, "discount, surcharge, minimum and rounding",
               (const ts_figure *const[]){less, surcharge, s.minimum, s.net_rounding}, 4);
    s.tax = ts_tax_on(p, sets, adjustments);
    const ts_figure *total = ts_figure_two(p->arena, TS_OP_SUM, "total", p->currency, s.net, s.tax);
    s.total_rounding = added(p, TS_OP_STEP, "rounding of total", total,
                             money_rule(p, TS_RULE_ROUND_UP, "total", "step of total"));
    s.total = sum_of(p, "total", (const ts_figure *const[]){total, s.total_rounding}, 2);
    s.to_pay =
        sum_of(p, "to pay", (const ts_figure *const[]){s.total, negative(p, out->trade_in)}, 2);
    return s;
}

/* Is anything left after the fee? Where the fee on itself and its tax eats all that it brings,
 * no surcharge, however high, makes up for it. */
static bool leaves_some(ts_pricing *p, const settlement *without, const ts_figure *rate,
                        const ts_policy_row *row, const char *way)
{
    const char *name = "net less the fee on net and tax"; /* no quotient, so recipes can ask it */
    const ts_figure *taxed =
        ts_figure_two(p->arena, TS_OP_SUM, "net and tax", p->currency, without->net, without->tax);
    const ts_figure *left = ts_figure_two(p->arena, TS_OP_SUB, name, p->currency, without->net,
                                          ts_percent_of(p, "fee on net and tax", taxed, rate));
    if (!ts_pricing_fine(p, left, "the surcharge") || ts_pricing_positive(p, left)) {
        return left != NULL;
    }
    char fee[TS_DECIMAL_TEXT];
    ts_place at = ts_book_place(p->book, p->arena, &row->head, "value");
    ts_diag_add(p->diag, TS_FAULT_POLICY, &at,
                "a fee of %s %% for paying by %s, taxed as the rest is, takes all that a surcharge "
                "brings in; with the tax it must stay under 100 %%",
                ts_dec_text(fee, row->amount.value), way);
    return false;
}

/* S = c·T / (1 - c·(1 + t)): what is left after the fee is what would have been left. */
static const ts_figure *surcharge_of(ts_pricing *p, const settlement *without)
{
    const char *way = p->needs->terms.pays_by;
    const ts_policy_row *row =
        way == NULL ? NULL : ts_book_policy(p->book, TS_RULE_SURCHARGE, way, p->on);
    if (row == NULL || positive(p, without->to_pay) == NULL || positive(p, without->net) == NULL) {
        return NULL;
    }
    const ts_figure *one = ts_constant(p, 1, "one");
    const ts_figure *rate = ts_rate_cell(p, ts_arena_format(p->arena, "fee of paying by %s", way),
                                         row->amount.value, "%", &row->head, "value");
    const ts_figure *c = ts_figure_two(p->arena, TS_OP_DIV, "fee as a part", "", rate,
                                       ts_constant(p, 100, "per cent"));
    const ts_figure *t =
        ts_figure_two(p->arena, TS_OP_DIV, "tax as a part of net", "", without->tax, without->net);
    const ts_figure *kept =
        ts_figure_two(p->arena, TS_OP_SUB, "part left after the fee", "", one,
                      ts_figure_two(p->arena, TS_OP_MUL, "fee on net and tax", "", c,
                                    ts_figure_two(p->arena, TS_OP_SUM, "one and tax", "", one, t)));
    if (!leaves_some(p, without, rate, row, way)) {
        return NULL;
    }
    const ts_figure *fee = ts_figure_two(p->arena, TS_OP_MUL, "fee on what is to pay", p->currency,
                                         c, without->to_pay);
    const ts_figure *surcharge = ts_round_money(
        p, "surcharge", ts_figure_two(p->arena, TS_OP_DIV, "surcharge", p->currency, fee, kept));
    ts_pricing_fine(p, surcharge, "the surcharge");
    return positive(p, surcharge);
}

/* ---- old metal ---- */

static void trade_in_lines(ts_pricing *p, const ts_trade_in_need *need, int index)
{
    const ts_alloy_row *alloy = need->row;
    ts_costing *out = p->out;
    for (int metal = TS_METAL_GOLD; metal <= TS_METAL_SILVER; metal++) {
        const char *word = ts_list_word(TS_LIST_METAL, metal);
        if (alloy->fineness[metal].e6 == 0 || need->weight_g.e6 == 0) {
            continue;
        }
        const ts_figure *gram = ts_rate_metal(p, (ts_metal_kind)metal, need->item);
        const char *item = ts_arena_format(p->arena, "%s, fine %s", need->item, word);
        const ts_figure *weight =
            ts_rate_taken(p, TS_TAKEN_TRADE_IN_WEIGHT, index,
                          ts_arena_format(p->arena, "weight of %s", need->item), "g", need->whence);
        const ts_figure *fineness =
            ts_rate_cell(p, ts_arena_format(p->arena, "%s in %s", word, need->alloy),
                         alloy->fineness[metal], "\xe2\x80\xb0", &alloy->head, word);
        const ts_figure *fine = ts_figure_round(
            p->arena, item, "g",
            ts_figure_two(p->arena, TS_OP_DIV, item, "g",
                          ts_figure_two(p->arena, TS_OP_MUL, item, "g", weight, fineness),
                          ts_constant(p, 1000, "per thousand")),
            6, p->mode);
        const ts_figure *payout =
            ts_rate_cell(p, ts_arena_format(p->arena, "payout on %s", need->alloy),
                         alloy->scrap_payout, "%", &alloy->head, "scrap payout");
        const ts_figure *rate =
            ts_figure_round(p->arena, ts_arena_format(p->arena, "paid for a gram of %s", word),
                            p->currency, ts_percent_of(p, word, gram, payout), 6, p->mode);
        const ts_figure *amount = ts_round_money(
            p, item, ts_figure_two(p->arena, TS_OP_MUL, item, p->currency, fine, rate));
        if (gram == NULL || !ts_pricing_fine(p, amount, item)) {
            continue;
        }
        out->trade_ins[out->trade_in_count++] = (ts_trade_in_line){
            .item = item, .quantity = fine, .rate = rate, .amount = amount, .need = index};
    }
}

static void take_in(ts_pricing *p)
{
    ts_costing *out = p->out;
    size_t most = (size_t)p->needs->trade_in_count * TS_METAL_COUNT + 1;
    out->trade_ins = TS_ARRAY(p->arena, ts_trade_in_line, most);
    for (int i = 0; i < p->needs->trade_in_count; i++) {
        trade_in_lines(p, &p->needs->trade_ins[i], i);
    }
    if (out->trade_in_count == 0) {
        return;
    }
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->trade_in_count);
    for (int i = 0; i < out->trade_in_count; i++) {
        parts[i] = out->trade_ins[i].amount;
    }
    out->trade_in =
        ts_figure_of(p->arena, TS_OP_SUM, "trade-in", p->currency, parts, out->trade_in_count);
}

/* A step without a currency is in the quote's own, which may have coarser coins than the
 * studio's: what is no multiple of one would round to another step, or to none. */
static void judge_step(ts_pricing *p, const char *subject)
{
    const ts_policy_row *row = ts_book_policy(p->book, TS_RULE_ROUND_UP, subject, p->on);
    const int64_t coin = ts_currency_coin(p->currency);
    char step[TS_DECIMAL_TEXT];
    if (row == NULL || row->amount.of != TS_AMOUNT_NONE || coin == 0 ||
        row->amount.value.e6 % coin == 0) {
        return;
    }
    ts_place at = ts_book_place(p->book, p->arena, &row->head, "value");
    ts_diag_add(p->diag, TS_FAULT_POLICY, &at,
                "a step of %s ends between two amounts that can be paid in %s; name the currency "
                "that it is in",
                ts_dec_text(step, row->amount.value), p->currency);
}

void ts_settle(ts_pricing *p)
{
    judge_step(p, "net");
    judge_step(p, "total");
    ts_costing *out = p->out;
    out->cost = ts_lines_sum(p, TS_SECTION_NONE, false, "cost");
    out->lines_price = ts_lines_sum(p, TS_SECTION_NONE, true, "lines");
    take_in(p);
    const ts_tax_set *sets = ts_tax_groups_of(p);
    if (sets == NULL || !ts_pricing_fine(p, out->lines_price, "the sum of the lines")) {
        return;
    }
    out->discount = discount_of(p);
    judge_discount(p);
    settlement s = settle_with(p, sets, NULL);
    const ts_figure *surcharge = surcharge_of(p, &s);
    if (surcharge != NULL) {
        s = settle_with(p, sets, surcharge);
    }
    out->surcharge = s.surcharge;
    out->ruled_minimum = s.minimum;
    out->ruled_net_rounding = s.net_rounding;
    out->ruled_total_rounding = s.total_rounding;
    out->minimum = shown(s.minimum);
    out->net_rounding = shown(s.net_rounding);
    out->net = s.net;
    out->tax = s.tax;
    out->total_rounding = shown(s.total_rounding);
    out->total = s.total;
    out->to_pay = s.to_pay;
    ts_pricing_fine(p, out->to_pay, "the total");
}
