#include "costing/pricing.h"

#include <tallystone/costing/steps.h>

#include <string.h>

/* One option's price, in the order in which the sections are worked out, and what the
 * owner reads off it: margin, earnings, floor. */

bool ts_pricing_fine(ts_pricing *p, const ts_figure *figure, const char *what)
{
    if (figure == NULL && ts_diag_errors_since(p->diag, p->before) == 0) {
        ts_diag_add(p->diag, TS_FAULT_FIGURE, NULL,
                    "%s grew past what exact arithmetic holds; look for a slip in a measurement "
                    "or a price",
                    what);
    }
    return figure != NULL;
}

static bool ask(ts_pricing *p, const ts_figure *figure, bool of_sign, bool answer)
{
    ts_costing *out = p->out;
    ts_guard *guards = ts_arena_grow(p->arena, p->guards, (size_t)out->guard_count, &p->guard_room,
                                     sizeof *guards);
    guards[out->guard_count++] = (ts_guard){figure, of_sign, answer};
    out->guards = p->guards = guards;
    return answer;
}

bool ts_pricing_positive(ts_pricing *p, const ts_figure *figure)
{
    return figure != NULL && ask(p, figure, true, figure->value.num > 0);
}

bool ts_pricing_nothing(ts_pricing *p, const ts_figure *figure)
{
    return figure != NULL && ask(p, figure, false, figure->value.num == 0);
}

const ts_figure *ts_zero(ts_pricing *p, const char *name)
{
    return ts_figure_constant(p->arena, name, (ts_dec){0}, "");
}

const ts_figure *ts_constant(ts_pricing *p, int64_t whole, const char *name)
{
    ts_dec value;
    return ts_dec_from_int(&value, whole) ? ts_figure_constant(p->arena, name, value, "") : NULL;
}

const ts_figure *ts_round_money(ts_pricing *p, const char *name, const ts_figure *of)
{
    return ts_figure_round(p->arena, name, p->currency, of, p->exponent, p->mode);
}

const ts_figure *ts_percent_of(ts_pricing *p, const char *name, const ts_figure *amount,
                               const ts_figure *percent)
{
    const ts_figure *product = ts_figure_two(p->arena, TS_OP_MUL, name, "", amount, percent);
    return ts_figure_two(p->arena, TS_OP_DIV, name, amount == NULL ? "" : amount->unit, product,
                         ts_constant(p, 100, "per cent"));
}

/* ---- sections ---- */

static void finish_section(ts_pricing *p, ts_section section, int first)
{
    ts_costing *out = p->out;
    ts_rules_apply(p, first);
    for (int i = first; i < out->line_count; i++) {
        ts_pricing_fine(p, out->lines[i].price, out->lines[i].item);
    }
    if (out->line_count > first) {
        const char *word = ts_list_word(TS_LIST_SECTION, (int)section);
        out->section_cost[section] =
            ts_lines_sum(p, section, false, ts_arena_format(p->arena, "cost of %s", word));
        out->section_price[section] =
            ts_lines_sum(p, section, true, ts_arena_format(p->arena, "price of %s", word));
    }
}

static void work_out_sections(ts_pricing *p)
{
    static const struct {
        ts_section section;
        void (*lines)(ts_pricing *);
    } order[] = {
        {TS_SECTION_METAL, ts_lines_of_metal},
        {TS_SECTION_MELEE, ts_lines_of_melee},
        {TS_SECTION_STONES, ts_lines_of_stones},
        {TS_SECTION_LABOUR, ts_lines_of_labour},
        {TS_SECTION_OVERHEAD, ts_lines_of_overhead},
        {TS_SECTION_CONTINGENCY, ts_lines_of_contingency},
        {TS_SECTION_SERVICES, ts_lines_of_services},
    };
    for (size_t i = 0; i < TS_COUNT_OF(order); i++) {
        int first = p->out->line_count;
        order[i].lines(p);
        finish_section(p, order[i].section, first);
    }
}

/* ---- what the owner reads off it ---- */

/* (price - cost) / price in percent, to two decimals half away from zero. */
static bool margin_of(ts_dec *out, ts_ratio price, ts_ratio cost)
{
    ts_ratio gain, part;
    int64_t hundredths;
    if (price.num <= 0 || !ts_ratio_add(&gain, price, (ts_ratio){-cost.num, cost.den}) ||
        !ts_ratio_div(&part, gain, price) || !ts_ratio_mul(&part, part, (ts_ratio){10000, 1}) ||
        !ts_div_round(&hundredths, part.num, part.den, TS_HALF_AWAY)) {
        return false;
    }
    out->e6 = hundredths * 10000;
    return true;
}

static const ts_figure *own_sum(ts_pricing *p, bool minutes)
{
    const ts_costing *out = p->out;
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->line_count + 1);
    int count = 0;
    for (int i = 0; i < out->line_count; i++) {
        if (out->lines[i].own_labour) {
            parts[count++] = minutes ? out->lines[i].minutes : out->lines[i].cost;
        }
    }
    const char *name = minutes ? "minutes of own crafts" : "cost of own labour";
    return count == 0 ? ts_zero(p, name)
                      : ts_figure_of(p->arena, TS_OP_SUM, name, minutes ? "min" : p->currency,
                                     parts, count);
}

/* (net - surcharge - cost + cost of own labour) / hours of own crafts. */
static void earnings(ts_pricing *p, const ts_figure *income)
{
    ts_costing *out = p->out;
    out->own_minutes = own_sum(p, true);
    const ts_figure *labour = own_sum(p, false);
    if (out->own_minutes == NULL || out->own_minutes->value.num == 0) {
        return;
    }
    const ts_figure *left = ts_figure_two(
        p->arena, TS_OP_SUM, "earned", p->currency,
        ts_figure_two(p->arena, TS_OP_SUB, "earned", p->currency, income, out->cost), labour);
    const ts_figure *hours = ts_figure_two(p->arena, TS_OP_DIV, "hours", "h", out->own_minutes,
                                           ts_constant(p, 60, "minutes an hour"));
    const ts_figure *hourly = ts_round_money(
        p, "earnings an hour",
        ts_figure_two(p->arena, TS_OP_DIV, "earnings an hour", p->currency, left, hours));
    out->has_earnings = ts_figure_money(&out->earnings_per_hour, hourly, p->exponent);
}

static void judge_margin(ts_pricing *p)
{
    ts_costing *out = p->out;
    const ts_figure *income = ts_income_figure(p->arena, out);
    if (income == NULL) {
        return;
    }
    out->has_margin = margin_of(&out->margin_pct, income->value, out->cost->value);
    out->floor_row = ts_book_policy(p->book, TS_RULE_FLOOR, "margin", p->on);
    out->has_floor = out->floor_row != NULL;
    if (out->has_floor) {
        out->floor_pct = out->floor_row->amount.value;
        out->below_floor = !out->has_margin || out->margin_pct.e6 < out->floor_pct.e6;
    }
    earnings(p, income);
}

static void judge_validity(ts_pricing *p)
{
    const ts_terms *terms = &p->needs->terms;
    const ts_policy_row *days = ts_book_policy(p->book, TS_RULE_VALID, "quote", p->on);
    const ts_policy_row *adjusts = ts_book_policy(p->book, TS_RULE_WEIGHT_ADJUSTS, "metal", p->on);
    if (ts_date_given(terms->valid_until)) {
        p->out->valid_until = terms->valid_until;
    } else if (days != NULL) {
        p->out->valid_until = ts_date_plus(terms->date, (int32_t)(days->amount.value.e6 / 1000000));
    } else {
        ts_diag_add(p->diag, TS_FAULT_POLICY, NULL,
                    "policy.csv has no `valid` rule for a quote, and the sheet no \"valid until\"");
    }
    if (adjusts != NULL) {
        p->out->weight_adjusts = true;
        p->out->weight_tolerance_pct = adjusts->amount.value;
    }
}

ts_status ts_costing_of(ts_costing **out, ts_arena *arena, const ts_quantities *needs,
                        const ts_book *book, ts_diag *diag)
{
    size_t before = ts_diag_mark(diag);
    ts_costing *costing = TS_NEW(arena, ts_costing);
    const ts_policy_row *half = ts_book_policy(book, TS_RULE_ROUNDING, "half", needs->terms.as_of);
    ts_pricing p = {
        .out = costing,
        .needs = needs,
        .book = book,
        .arena = arena,
        .diag = diag,
        .before = before,
        .on = needs->terms.as_of,
        .currency = needs->terms.currency,
        .exponent = needs->terms.exponent,
        .mode = half != NULL && ts_text_same(half->word, "to even") ? TS_HALF_EVEN : TS_HALF_AWAY,
    };
    ts_takes_of(&p.takes, needs);
    costing->needs = needs;
    costing->book = book;
    costing->rounding = p.mode;
    costing->exponent = p.exponent;
    costing->currency = p.currency;
    work_out_sections(&p);
    judge_validity(&p);
    if (ts_diag_errors_since(diag, before) > 0) {
        return TS_FAULTY;
    }
    ts_settle(&p);
    ts_stages_of(&p);
    judge_margin(&p);
    if (ts_diag_errors_since(diag, before) > 0) {
        return TS_FAULTY;
    }
    *out = costing;
    return TS_OK;
}
