#include "costing/pricing.h"

#include <tallystone/book/audit.h>

#include <string.h>

/* Rates: cells of the books turned into figures of the commission's currency.
 *
 * A gram of pure metal stays an exact fraction until the alloy's fine value is rounded,
 * once. Every other price in a foreign currency is turned first, to six decimals. */

const ts_figure *ts_rate_cell(ts_pricing *p, const char *name, ts_dec value, const char *unit,
                              const ts_book_row *row, const char *column)
{
    const char *file = ts_book_file_name(row->file);
    for (size_t i = 0; i < p->cell_count; i++) {
        const ts_figure *cell = p->cells[i];
        if (cell->line == row->line && cell->file == file && strcmp(cell->column, column) == 0) {
            return cell;
        }
    }
    const ts_figure *cell = ts_figure_book(p->arena, name, value, unit, file, row->line, column);
    if (cell != NULL) {
        p->cells =
            ts_arena_grow(p->arena, p->cells, p->cell_count, &p->cell_room, sizeof *p->cells);
        p->cells[p->cell_count++] = cell;
    }
    return cell;
}

static const char *currency_of(const ts_pricing *p, const char *currency)
{
    return currency == NULL || currency[0] == '\0' ? p->book->currency : currency;
}

static void no_rate(ts_pricing *p, const char *from, ts_place at)
{
    ts_diag_add(p->diag, TS_FAULT_BOOK_GAP, &at,
                "rates.csv has no rate in force that turns %s into %s", from, p->currency);
}

static const ts_figure *rate_figure(ts_pricing *p, const ts_rate_row *rate)
{
    const char *name = ts_arena_format(p->arena, "1 %s in %s", rate->currency, rate->in);
    return ts_rate_cell(p, name, rate->rate, rate->in, &rate->head, "rate");
}

/* The factor or divisor between two currencies, and which of both it is. */
static const ts_figure *exchange(ts_pricing *p, const char *from, const ts_book_row *row, ts_op *op)
{
    bool inverse = false;
    const ts_rate_row *rate = ts_book_rate(p->book, from, p->currency, p->on, &inverse);
    if (rate == NULL) {
        no_rate(p, from, ts_book_place(p->book, p->arena, row, ts_book_currency_column(row->file)));
        return NULL;
    }
    *op = inverse ? TS_OP_DIV : TS_OP_MUL;
    return rate_figure(p, rate);
}

const ts_figure *ts_rate_convert(ts_pricing *p, const ts_figure *amount, const char *from,
                                 const ts_book_row *row)
{
    from = currency_of(p, from);
    if (amount == NULL || strcmp(from, p->currency) == 0) {
        return amount;
    }
    ts_op op = TS_OP_MUL;
    const ts_figure *rate = exchange(p, from, row, &op);
    if (rate == NULL) {
        return NULL;
    }
    const char *name = ts_arena_format(p->arena, "%s in %s", amount->name, p->currency);
    return ts_figure_round(p->arena, name, p->currency,
                           ts_figure_two(p->arena, op, name, p->currency, amount, rate), 6,
                           p->mode);
}

const ts_figure *ts_rate_policy(ts_pricing *p, const ts_policy_row *row, const char *name)
{
    const bool own = row->amount.of == TS_AMOUNT_NONE;
    const char *from = own ? p->currency : row->amount.currency;
    const ts_figure *cell =
        ts_rate_cell(p, name, row->amount.value, currency_of(p, from), &row->head, "value");
    const ts_figure *amount = ts_round_money(p, name, ts_rate_convert(p, cell, from, &row->head));
    ts_pricing_fine(p, amount, name);
    return amount;
}

/* Grams of a unit of weight. The troy ounce of 31.1034768 g has seven decimals, so it is
 * a quotient here. Source: GNU units 2.22 (480 grains of 0.06479891 g). */
static const ts_figure *grams_of(ts_pricing *p, ts_per_weight per)
{
    if (per == TS_PER_WEIGHT_GRAM) {
        return ts_constant(p, 1, "grams of a gram");
    }
    if (per == TS_PER_WEIGHT_KILOGRAM) {
        return ts_constant(p, 1000, "grams of a kilogram");
    }
    return ts_figure_two(p->arena, TS_OP_DIV, "grams of a troy ounce", "g",
                         ts_constant(p, 311034768, "grams of ten million troy ounces"),
                         ts_constant(p, 10000000, "ten million"));
}

const ts_figure *ts_rate_metal(ts_pricing *p, ts_metal_kind metal, const char *wanted_by)
{
    const char *word = ts_list_word(TS_LIST_METAL, (int)metal);
    const ts_metal_row *row = ts_book_metal(p->book, metal, p->on);
    if (row == NULL) {
        char day[TS_DATE_TEXT];
        ts_diag_add(p->diag, TS_FAULT_BOOK_GAP, NULL,
                    "metals.csv has no price of %s in force on %s, which %s needs", word,
                    ts_date_text(day, p->on), wanted_by);
        return NULL;
    }
    ts_book_audit_metal(p->book, metal, p->on, p->arena, p->diag);
    const char *from = currency_of(p, row->currency);
    const ts_figure *market = ts_rate_cell(p, ts_arena_format(p->arena, "market price of %s", word),
                                           row->price, from, &row->head, "price");
    if (strcmp(from, p->currency) != 0) {
        ts_op op = TS_OP_MUL;
        const ts_figure *rate = exchange(p, from, &row->head, &op);
        market =
            ts_figure_two(p->arena, op, ts_arena_format(p->arena, "%s in %s", word, p->currency),
                          p->currency, market, rate);
    }
    const char *name = ts_arena_format(p->arena, "%s a gram", word);
    return ts_figure_two(p->arena, TS_OP_DIV, name, p->currency, market,
                         grams_of(p, (ts_per_weight)row->per));
}

const ts_figure *ts_rate_fine_value(ts_pricing *p, const ts_alloy_row *alloy)
{
    const ts_figure *parts[TS_METAL_COUNT];
    int count = 0;
    for (int metal = TS_METAL_GOLD; metal <= TS_METAL_SILVER; metal++) {
        const char *word = ts_list_word(TS_LIST_METAL, metal);
        if (alloy->fineness[metal].e6 == 0) {
            continue;
        }
        const ts_figure *gram = ts_rate_metal(p, (ts_metal_kind)metal, alloy->alloy);
        if (gram == NULL) {
            return NULL;
        }
        const ts_figure *fineness =
            ts_rate_cell(p, ts_arena_format(p->arena, "%s in %s", word, alloy->alloy),
                         alloy->fineness[metal], "\xe2\x80\xb0", &alloy->head, word);
        const ts_figure *part = ts_figure_two(p->arena, TS_OP_DIV, "part of a gram", "", fineness,
                                              ts_constant(p, 1000, "per thousand"));
        parts[count++] = ts_figure_two(p->arena, TS_OP_MUL, word, p->currency, part, gram);
    }
    const char *name = ts_arena_format(p->arena, "fine value of a gram of %s", alloy->alloy);
    if (count == 0) {
        return ts_zero(p, name);
    }
    const ts_figure *sum = ts_figure_of(p->arena, TS_OP_SUM, name, p->currency, parts, count);
    return ts_figure_round(p->arena, name, p->currency, sum, 6, p->mode);
}

const ts_figure *ts_rate_alloy(ts_pricing *p, const ts_alloy_row *alloy, const ts_figure *fine)
{
    const ts_figure *premium =
        ts_rate_cell(p, ts_arena_format(p->arena, "premium of %s", alloy->alloy), alloy->premium,
                     p->book->currency, &alloy->head, "premium");
    premium = ts_rate_convert(p, premium, NULL, &alloy->head);
    return ts_figure_two(p->arena, TS_OP_SUM, ts_arena_format(p->arena, "rate of %s", alloy->alloy),
                         p->currency, fine, premium);
}

/* NOLINTNEXTLINE(readability-function-size): which amount, what it is, where it stands */
const ts_figure *ts_rate_taken(ts_pricing *p, ts_taken what, int index, const char *name,
                               const char *unit, ts_whence whence)
{
    const ts_take take = ts_take_of(what, index);
    ts_figure *figure = TS_NEW(p->arena, ts_figure);
    *figure = (ts_figure){.op = TS_OP_QUANTITY,
                          .places = 6,
                          .index = index,
                          .taken = (int)what,
                          .name = name,
                          .unit = unit,
                          .file = whence.file,
                          .line = whence.line,
                          .says = whence.says};
    return ts_ratio_of(&figure->value, ts_take_value(&p->takes, &take), TS_TAKEN_PER(take)) ? figure
                                                                                            : NULL;
}

ts_whence ts_rate_counted(const char *file, int line)
{
    return line > 0 ? (ts_whence){.file = file, .line = line}
                    : (ts_whence){.says = "one, by default"};
}

const ts_figure *ts_rate_sheet(ts_pricing *p, ts_taken what, int index, const char *name,
                               ts_amount amount, ts_whence whence)
{
    const char *from = amount.currency == NULL ? p->currency : amount.currency;
    whence.says = "as the sheet says";
    const ts_figure *figure = ts_rate_taken(p, what, index, name, from, whence);
    if (strcmp(from, p->currency) == 0) {
        return figure;
    }
    bool inverse = false;
    const ts_rate_row *rate = ts_book_rate(p->book, from, p->currency, p->on, &inverse);
    if (rate == NULL) {
        no_rate(p, from, (ts_place){.file = whence.file, .line = whence.line});
        return NULL;
    }
    return ts_figure_round(p->arena, name, p->currency,
                           ts_figure_two(p->arena, inverse ? TS_OP_DIV : TS_OP_MUL, name,
                                         p->currency, figure, rate_figure(p, rate)),
                           6, p->mode);
}
