#include "papers/ordering.h"

#include <tallystone/base/text.h>

/* An order's three tables, and the sums that they share. Everything is exact: an order that
 * is off by one stone is found out at the bench. */

const ts_terms *ts_order_terms(const ts_ordering *o, int commission)
{
    return &o->commissions[commission]->needs->terms;
}

ts_dec ts_order_sum(ts_ordering *o, ts_dec a, ts_dec b)
{
    ts_dec sum = a;
    o->is_past = !ts_dec_add(&sum, a, b) || o->is_past;
    return sum;
}

ts_dec ts_order_times(ts_ordering *o, ts_dec each, int64_t count)
{
    ts_dec product = each;
    ts_dec times = {0};
    bool fits = ts_dec_from_int(&times, count) && ts_dec_mul(&product, each, times, TS_HALF_AWAY);
    o->is_past = !fits || o->is_past;
    return product;
}

ts_dec ts_order_percent(ts_ordering *o, int commission, ts_dec a, ts_dec percent)
{
    ts_dec part = {0};
    bool fits = ts_div_round(&part.e6, (ts_i128)a.e6 * percent.e6, 100000000,
                             o->commissions[commission]->rounding);
    o->is_past = !fits || o->is_past;
    return part;
}

ts_cell ts_order_count(int64_t count)
{
    return ts_cell_number((ts_dec){count * 1000000});
}

void ts_order_whose_add(ts_ordering *o, ts_order_whose *whose, int commission, ts_dec amount,
                        const char *unit)
{
    if (whose->commission == commission + 1) {
        whose->amount = ts_order_sum(o, whose->amount, amount);
        return;
    }
    if (whose->commission > 0) {
        whose->before = ts_order_whose_text(o, whose, unit);
    }
    whose->commission = commission + 1;
    whose->amount = amount;
}

const char *ts_order_whose_text(ts_ordering *o, const ts_order_whose *whose, const char *unit)
{
    char amount[TS_DECIMAL_TEXT];
    if (whose->commission == 0) {
        return "";
    }
    if (unit[0] == '\0') {
        ts_dec_text(amount, whose->amount);
    } else {
        ts_dec_fixed(amount, whose->amount, 2);
    }
    return ts_arena_format(o->arena, "%s%s%s %s%s%s", whose->before == NULL ? "" : whose->before,
                           whose->before == NULL ? "" : ", ",
                           ts_order_terms(o, whose->commission - 1)->reference, amount,
                           unit[0] == '\0' ? "" : " ", unit);
}

static ts_date later(ts_date one, ts_date other)
{
    return other.days > one.days ? other : one;
}

ts_status ts_order_of(ts_order *out, ts_arena *arena, const ts_costing *const *commissions,
                      int count, ts_diag *diag)
{
    ts_ordering o = {.arena = arena,
                     .commissions = commissions,
                     .count = count,
                     .from = TS_DATE_NONE,
                     .as_of = TS_DATE_NONE};
    for (int i = 0; i < count; i++) {
        o.from = later(o.from, ts_order_terms(&o, i)->date);
        o.as_of = later(o.as_of, ts_order_terms(&o, i)->as_of);
    }
    *out = (ts_order){.commissions = commissions, .count = count, .from = o.from};
    out->stones = ts_order_stones(&o);
    out->casting = ts_order_casting(&o);
    out->bench = ts_order_bench(&o);
    if (o.is_past) {
        ts_diag_add(diag, TS_FAULT_FIGURE, NULL,
                    "a sum over all %d commissions is past what exact arithmetic holds; order "
                    "them in smaller groups",
                    count);
        return TS_OVERFLOW;
    }
    return TS_OK;
}
