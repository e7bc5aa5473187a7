/* What the events of a life mean in double-entry bookkeeping, and what tax falls due at each.
 *
 * An entry rests on its own event and on those written before it, never on what came later, so
 * it stays as it is for ever; a mistake is answered by the entry of its void.
 *
 *   paid before delivery  way of paying · deposits; tax where it is due on payment
 *   deliver               deposits, receivable · sales; the tax not yet declared
 *   paid after delivery   way of paying · receivable
 *   refund                deposits, declared tax · way of paying
 *   cancel, keeping       deposits, declared tax · retained; tax by the row `retained`
 *   credit                sales, declared tax · receivable while it is open, then bank
 *   void                  the voided entry, sides turned
 *
 * Money whose entry is voided after it became part of a sale, or after a voided delivery a deposit
 * again, is taken from where it is now, and no tax moves: it is the sale's by then.
 * Deposits are a liability until delivery and stand without the tax that was declared on them:
 * that is owed to the tax office from then on. A payment's tax is amount × the rate's tax / total,
 * rounded as the policy has it; the event by which the total is reached takes what is left. What
 * is given back takes back in the same way; the event after which nothing is held takes all. What
 * is kept of a cancelled order includes its tax. A quote's net is posted by what was sold: each
 * service and each section of its lines, discount and the like shared over them by price. */
#ifndef TS_REGISTER_ENTRIES_H
#define TS_REGISTER_ENTRIES_H

#include <tallystone/register/register.h>

/* One tax of an option as it was issued. */
typedef struct ts_kept_tax {
    const char *region, *category, *name;
    ts_dec rate; /* % */
    bool on_payment;
    int64_t base, amount;
} ts_kept_tax;

/* What of the net was one service's or one section's; both "": the rounding of the total. */
typedef struct ts_kept_sale {
    const char *section, *service;
    int64_t amount;
} ts_kept_sale;

typedef struct ts_kept_price {
    int64_t net, tax, total, trade_in, to_pay; /* minor units, so below */
    ts_kept_tax *taxes;
    int tax_count;
    ts_kept_sale *sales;
    int sale_count;
} ts_kept_price;

/* Reads one option of a quote. Into the register's arena. */
ts_status ts_register_price(ts_kept_price *out, ts_register *reg, int64_t quote,
                            int option) TS_MUST_USE;

/* Whose account it is: the row of accounts.csv that the words name. */
typedef enum ts_account {
    TS_ACCOUNT_WAY, /* by the way of paying */
    TS_ACCOUNT_DEPOSITS,
    TS_ACCOUNT_RECEIVABLE,
    TS_ACCOUNT_SALES, /* by service, else section, else "sales" */
    TS_ACCOUNT_TAX,   /* by the tax's name */
    TS_ACCOUNT_RETAINED,
} ts_account;

typedef struct ts_posting {
    ts_account account;
    const char *word, *service; /* way, section, name of the tax; "" */
    int64_t minor;              /* debit positive */
} ts_posting;

typedef struct ts_entry_tax {
    const char *region, *category, *name;
    ts_dec rate;
    int64_t base, tax;
    bool of_quote; /* false: of what was kept of a cancelled order */
} ts_entry_tax;

typedef struct ts_entry {
    const ts_event *event;
    const ts_quote *quote;
    ts_posting *postings; /* add up to nothing */
    ts_entry_tax *taxes;
    int posting_count, tax_count;
    size_t posting_room, tax_room;
    ts_date rate_day; /* the day of the home rate: the event's, of a void the voided one's */
    const char *why;  /* what the books lack for it, as a sentence; NULL */
    /* what it does to the life's tallies */
    int64_t held, credited;
    int delivered;
} ts_entry;

/* How amounts are rounded on a day, by the policy. */
ts_rounding ts_entries_rounding(const ts_book *book, ts_date day);

typedef const ts_kept_price *ts_price_fn(void *ctx, int64_t quote, int option);

/* One entry an event of the life, in its order; those that move nothing have no postings.
 * `book` gives the rounding and the rows `retained`; `price` the accepted options. TS_OVERFLOW
 * where an amount left the range of exact arithmetic. */
ts_status ts_entries_of(ts_entry **out, ts_arena *arena, const ts_life *life, const ts_book *book,
                        ts_price_fn *price, void *ctx) TS_MUST_USE;

#endif
