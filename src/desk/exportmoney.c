#include "desk/exporting.h"

#include <tallystone/base/text.h>

#include <inttypes.h>
#include <string.h>

/* taxes.csv and payments.csv: a row for each tax that fell due, and for whatever moved money or
 * old metal. What a way of paying moved in payments.csv is what the journal posts to its account,
 * so a reduction after delivery is there as far as it was given back. */

/* The rate into the home currency on a day: 1, the row's, or the inverse to six decimals. */
static bool home_rate(ts_dec *rate, const ts_export *x, const char *currency, ts_date day)
{
    bool inverse = false;
    const ts_dec one = {1000000};
    char words[32];
    *rate = one;
    if (strcmp(currency, x->book->currency) == 0) {
        return true;
    }
    const ts_rate_row *row = ts_book_rate(x->book, currency, x->book->currency, day, &inverse);
    if (row != NULL && !inverse) {
        *rate = row->rate;
        return true;
    }
    if (row != NULL && ts_dec_div(rate, one, row->rate, ts_entries_rounding(x->book, day))) {
        return true;
    }
    ts_diag_add(x->request->diag, TS_FAULT_BOOK_GAP, NULL,
                "rates.csv has no rate in force on %s that turns %s into %s",
                ts_date_words(words, day), currency, x->book->currency);
    return false;
}

static ts_status put_tax(ts_export *x, const ts_entry *entry, int number)
{
    char text[TS_DECIMAL_TEXT];
    const ts_entry_tax *tax = &entry->taxes[number];
    const ts_quote *quote = entry->quote;
    ts_export_row row = {.arena = x->keep};
    ts_dec rate, amount;
    ts_money home;
    if (!home_rate(&rate, x, quote->currency, entry->rate_day)) {
        return TS_FAULTY;
    }
    const ts_rounding mode = ts_entries_rounding(x->book, entry->rate_day);
    if (!ts_dec_from_money(&amount, (ts_money){tax->tax}, quote->exponent, mode) ||
        !ts_money_product(&home, amount, rate, x->book->exponent, mode)) {
        return TS_OVERFLOW;
    }
    const char *event = ts_export_event_id(x->keep, entry->event->id);
    ts_export_plain(&row, ts_arena_format(x->keep, "%s-%d", event, number + 1));
    ts_export_day(&row, entry->event->day);
    ts_export_cell(&row, quote->reference);
    ts_export_plain(&row, ts_arena_format(x->keep, "%d", quote->revision));
    ts_export_plain(&row, ts_event_word(entry->event->kind));
    ts_export_cell(&row, tax->region);
    ts_export_cell(&row, tax->category);
    ts_export_cell(&row, tax->name);
    ts_export_plain(&row, ts_dec_text(text, tax->rate));
    ts_export_money(&row, tax->base, quote->exponent);
    ts_export_money(&row, tax->tax, quote->exponent);
    ts_export_plain(&row, quote->currency);
    ts_export_plain(&row, ts_dec_text(text, rate));
    ts_export_money(&row, home.minor, x->book->exponent);
    ts_export_keep(x, &x->taxes, entry->event, ts_export_end(&row));
    ts_export_add(&x->tables[TS_EXPORT_TAXES], tax->tax, quote->exponent);
    return TS_OK;
}

static void put_payment(ts_export *x, const ts_entry *entry, const ts_posting *posting)
{
    const ts_event *event = entry->event;
    const ts_quote *quote = entry->quote;
    ts_export_row row = {.arena = x->keep};
    ts_export_plain(&row, ts_export_event_id(x->keep, event->id));
    ts_export_day(&row, event->day);
    ts_export_plain(&row, event->written);
    ts_export_cell(&row, quote->reference);
    ts_export_cell(&row, event->stage);
    ts_export_cell(&row, posting->word);
    ts_export_cell(&row, event->receipt);
    ts_export_money(&row, posting->minor, quote->exponent);
    ts_export_plain(&row, quote->currency);
    ts_export_plain(&row, event->voids == 0 ? "" : ts_export_event_id(x->keep, event->voids));
    ts_export_keep(x, &x->payments, event, ts_export_end(&row));
    ts_export_add(&x->tables[TS_EXPORT_PAYMENTS], posting->minor, quote->exponent);
}

ts_status ts_export_entry_rows(ts_export *x, const ts_entry *entry)
{
    ts_status status = TS_OK;
    for (int i = 0; i < entry->tax_count; i++) {
        status = ts_status_worse(status, put_tax(x, entry, i));
    }
    for (int i = 0; i < entry->posting_count; i++) {
        if (entry->postings[i].account == TS_ACCOUNT_WAY) {
            put_payment(x, entry, &entry->postings[i]);
        }
    }
    if (entry->why != NULL) {
        ts_diag_add(x->request->diag, TS_FAULT_BOOK_GAP, NULL, "%s (event %" PRId64 ")", entry->why,
                    entry->event->id);
        status = ts_status_worse(status, TS_FAULTY);
    }
    return status;
}
