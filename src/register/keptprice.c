#include <tallystone/register/entries.h>

#include "register/holding.h"

#include <tallystone/base/text.h>

#include <string.h>

/* What an option came to, as the register keeps it, for the bookkeeper: totals, taxes, and the
 * net by what was sold. */

static const char *text_at(const ts_ask *ask, ts_arena *arena, int column)
{
    const char *text = ts_ask_get_text(ask, arena, column);
    return text == NULL ? "" : text;
}

static void load_totals(ts_kept_price *out, ts_register *reg, int64_t quote, int option)
{
    const struct {
        const char *item;
        int64_t *amount;
    } wanted[] = {{"net", &out->net},
                  {"tax", &out->tax},
                  {"total", &out->total},
                  {"trade-in", &out->trade_in},
                  {"to pay", &out->to_pay}};
    ts_ask *ask = ts_db_ask(reg->db, "SELECT item, price FROM total WHERE quote = ?1 AND option ="
                                     " ?2 AND section = 'total' AND price IS NOT NULL");
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (ts_ask_row(ask)) {
        const char *item = text_at(ask, reg->arena, 0);
        for (size_t i = 0; i < TS_COUNT_OF(wanted); i++) {
            if (strcmp(item, wanted[i].item) == 0) {
                *wanted[i].amount = ts_ask_get_int(ask, 1);
            }
        }
    }
    ts_ask_end(ask);
}

static void load_taxes(ts_kept_price *out, ts_register *reg, int64_t quote, int option)
{
    size_t room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT region, category, name, rate, due, base, amount FROM"
                                     " tax WHERE quote = ?1 AND option = ?2 ORDER BY no");
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (ts_ask_row(ask)) {
        out->taxes = ts_arena_grow(reg->arena, out->taxes, (size_t)out->tax_count, &room,
                                   sizeof *out->taxes);
        out->taxes[out->tax_count++] =
            (ts_kept_tax){.region = text_at(ask, reg->arena, 0),
                          .category = text_at(ask, reg->arena, 1),
                          .name = text_at(ask, reg->arena, 2),
                          .rate = {ts_ask_get_int(ask, 3)},
                          .on_payment = strcmp(text_at(ask, reg->arena, 4), "payment") == 0,
                          .base = ts_ask_get_int(ask, 5),
                          .amount = ts_ask_get_int(ask, 6)};
    }
    ts_ask_end(ask);
}

static void add_sale(ts_kept_price *out, ts_register *reg, size_t *room, ts_kept_sale sale)
{
    for (int i = 0; i < out->sale_count; i++) {
        ts_kept_sale *known = &out->sales[i];
        if (strcmp(known->section, sale.section) == 0 &&
            strcmp(known->service, sale.service) == 0) {
            known->amount += sale.amount;
            return;
        }
    }
    out->sales =
        ts_arena_grow(reg->arena, out->sales, (size_t)out->sale_count, room, sizeof *out->sales);
    out->sales[out->sale_count++] = sale;
}

/* Lines by section, services by name; what the net is more or less than they are is shared. */
static bool load_sales(ts_kept_price *out, ts_register *reg, int64_t quote, int option)
{
    size_t room = 0;
    int64_t rest = out->net;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT section, key, price FROM line WHERE quote = ?1 AND"
                                     " option = ?2 ORDER BY no");
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (ts_ask_row(ask)) {
        ts_kept_sale sale = {.section = text_at(ask, reg->arena, 0),
                             .service = "",
                             .amount = ts_ask_get_int(ask, 2)};
        if (strcmp(sale.section, "services") == 0) {
            sale.service = text_at(ask, reg->arena, 1);
        }
        rest -= sale.amount;
        add_sale(out, reg, &room, sale);
    }
    ts_ask_end(ask);
    const size_t count = (size_t)out->sale_count;
    int64_t *weights = TS_ARRAY(reg->arena, int64_t, count + 1);
    int64_t *parts = TS_ARRAY(reg->arena, int64_t, count + 1);
    for (size_t i = 0; i < count; i++) {
        weights[i] = out->sales[i].amount < 0 ? 0 : out->sales[i].amount;
    }
    if (count > 0 && !ts_split(parts, rest, weights, count)) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        out->sales[i].amount += parts[i];
    }
    const int64_t rounding = out->total - out->net - out->tax + (count == 0 ? rest : 0);
    if (rounding != 0) {
        add_sale(out, reg, &room, (ts_kept_sale){"", "", rounding});
    }
    return true;
}

ts_status ts_register_price(ts_kept_price *out, ts_register *reg, int64_t quote, int option)
{
    *out = (ts_kept_price){0};
    load_totals(out, reg, quote, option);
    load_taxes(out, reg, quote, option);
    const bool whole = load_sales(out, reg, quote, option);
    if (ts_db_status(reg->db) == TS_OK && !whole) {
        return TS_OVERFLOW;
    }
    return ts_db_status(reg->db);
}
