#include "desk/exporting.h"

#include <tallystone/base/text.h>

#include <string.h>

/* quotes.csv and lines.csv: what was promised and how it stood at the end of the period.
 *
 * Every revision of a reference to which something happened in the period is there, each with the
 * option that was accepted, or while none was with the first. Money belongs to the reference and
 * stands with the quote that binds: `paid` is what came in, old metal too, less what was given
 * back; `balance` what is still to pay, less than nothing where it is owed to the client. Until
 * old metal is received the balance goes by what was agreed, from then on by what was received.
 * Lines add up to the sum before discount, fee, least price and rounding, which are in the net. */

static const char *state_of(const ts_export *x, const ts_quote *quote)
{
    const bool expired =
        quote->state == TS_STATE_OPEN && quote->valid_until.days < x->period.to.days;
    return expired ? "expired" : ts_state_word(quote->state);
}

/* The category by which a line is taxed: its service's, else its section's, else `all`. */
static const char *category_of(const ts_kept_price *price, const ts_kept_line *line)
{
    const bool service = strcmp(line->section, "services") == 0;
    const char *tries[] = {service ? line->key : "", line->section};
    for (size_t k = 0; k < TS_COUNT_OF(tries); k++) {
        for (int i = 0; i < price->tax_count; i++) {
            if (ts_text_same(price->taxes[i].category, tries[k])) {
                return price->taxes[i].category;
            }
        }
    }
    return "all";
}

static void put_money(ts_export *x, ts_export_row *row, const ts_life *life, const ts_quote *quote)
{
    const bool binds = ts_life_binding(life) == quote;
    ts_export_money(row, binds ? life->paid - life->refunded : 0, quote->exponent);
    ts_export_money(row, binds ? ts_life_balance(life) : 0, quote->exponent);
    ts_export_put(&x->tables[TS_EXPORT_QUOTES], ts_export_end(row));
}

static void put_quote(ts_export *x, const ts_life *life, const ts_quote *quote, int option,
                      const ts_kept_price *price)
{
    ts_export_row row = {.arena = x->brief};
    ts_export_plain(&row, ts_export_quote_id(x->brief, quote));
    ts_export_cell(&row, quote->reference);
    ts_export_plain(&row, ts_arena_format(x->brief, "%d", quote->revision));
    ts_export_cell(&row, quote->options[option].name);
    ts_export_plain(&row, state_of(x, quote));
    ts_export_cell(
        &row, quote->revision == 1
                  ? ""
                  : ts_arena_format(x->brief, "%s-r%d", quote->reference, quote->revision - 1));
    ts_export_cell(&row, quote->client);
    ts_export_cell(&row, quote->region);
    ts_export_plain(&row, quote->currency);
    ts_export_day(&row, quote->issued);
    ts_export_day(&row, quote->accepted);
    ts_export_day(&row, quote->delivered);
    const int64_t amounts[] = {price->net, price->tax, price->total, price->trade_in,
                               price->to_pay};
    for (size_t i = 0; i < TS_COUNT_OF(amounts); i++) {
        ts_export_money(&row, amounts[i], quote->exponent);
    }
    put_money(x, &row, life, quote);
    x->tables[TS_EXPORT_QUOTES].rows++;
    ts_export_add(&x->tables[TS_EXPORT_QUOTES], price->total, quote->exponent);
}

static ts_status put_lines(ts_export *x, const ts_quote *quote, int option,
                           const ts_kept_price *price)
{
    char text[TS_DECIMAL_TEXT];
    ts_export_file *file = &x->tables[TS_EXPORT_LINES];
    const ts_kept_line *lines = NULL;
    size_t count = 0;
    const ts_status status = ts_register_lines(&lines, &count, x->reg, quote->id, option);
    for (size_t i = 0; status == TS_OK && i < count; i++) {
        const ts_kept_line *line = &lines[i];
        ts_export_row row = {.arena = x->brief};
        ts_export_plain(&row,
                        ts_arena_format(x->brief, "%s-%d-%d", ts_export_quote_id(x->brief, quote),
                                        option + 1, line->number));
        ts_export_cell(&row, quote->reference);
        ts_export_plain(&row, ts_arena_format(x->brief, "%d", quote->revision));
        ts_export_cell(&row, quote->options[option].name);
        ts_export_plain(&row, ts_arena_format(x->brief, "%d", line->number));
        ts_export_plain(&row, line->section);
        ts_export_cell(&row, line->item);
        ts_export_plain(&row, line->has_quantity ? ts_dec_text(text, line->quantity) : "");
        ts_export_cell(&row, line->has_quantity ? line->unit : "");
        ts_export_money(&row, line->price.minor, quote->exponent);
        ts_export_cell(&row, category_of(price, line));
        ts_export_put(file, ts_export_end(&row));
        file->rows++;
        ts_export_add(file, line->price.minor, quote->exponent);
    }
    return status;
}

ts_status ts_export_quotes(ts_export *x, const ts_life *life)
{
    ts_status status = TS_OK;
    for (int i = 0; i < life->count && status == TS_OK; i++) {
        const ts_quote *quote = &life->quotes[i];
        ts_kept_price price;
        if (quote->state == TS_STATE_NONE) {
            continue; /* not yet issued at the end of the period */
        }
        status = ts_register_price(&price, x->reg, quote->id, quote->option);
        if (status == TS_OK) {
            put_quote(x, life, quote, quote->option, &price);
            status = put_lines(x, quote, quote->option, &price);
        }
    }
    return status;
}
