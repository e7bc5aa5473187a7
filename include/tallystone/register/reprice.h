/* What changed books do to what is open: found by index, costed from stored quantities. */
#ifndef TS_REGISTER_REPRICE_H
#define TS_REGISTER_REPRICE_H

#include <tallystone/register/register.h>

/* In order: the first that fits counts. */
typedef enum ts_reprice_class {
    TS_REPRICE_NONE,
    TS_REPRICE_FAULT,     /* a price it rests on is missing, stale or implausible */
    TS_REPRICE_EXPIRED,   /* valid no more */
    TS_REPRICE_UNCHANGED, /* no row it rests on changed */
    TS_REPRICE_BELOW,     /* the margin is under the floor now */
    TS_REPRICE_BEYOND,    /* the total moved beyond the policy's tolerance */
    TS_REPRICE_WITHIN,
    TS_REPRICE_COUNT
} ts_reprice_class;
const char *ts_reprice_word(ts_reprice_class one);

/* A difference of totals with tax, split: metal; melee and stones; labour with overhead and
 * contingency; services; and what rates do to the sum of these: discount, surcharge, minimum,
 * rounding, tax. The parts add up to the whole. */
typedef enum ts_move {
    TS_MOVE_METAL,
    TS_MOVE_STONES,
    TS_MOVE_LABOUR,
    TS_MOVE_SERVICES,
    TS_MOVE_RATES,
    TS_MOVE_COUNT
} ts_move;
const char *ts_move_word(ts_move move);

/* One option of one quote. */
typedef struct ts_repriced {
    int64_t quote;
    int64_t books; /* the state of the books that it was issued on */
    const char *reference;
    int revision, option;
    const char *name;
    const char *currency;
    int exponent;
    ts_date valid_until;
    ts_reprice_class is;
    ts_money was, now; /* totals with tax; `now` as `was` where it was not costed */
    bool has_now, has_margin;
    ts_dec margin_pct;
    int64_t moves[TS_MOVE_COUNT];
    bool touched;
    const char *why; /* of a fault: the sentence with its row; "" */
} ts_repriced;

/* Metal still to buy for an accepted quote: a line of metal, sprue or a ready-made part. */
typedef struct ts_exposed {
    const char *reference;
    int revision;
    const char *option, *item, *unit, *currency;
    int exponent;
    ts_dec quantity;
    ts_money was, now;
    bool has_now;
} ts_exposed;

typedef struct ts_repricing {
    ts_repriced *all; /* every option of every open quote, in the order of issue */
    size_t count;
    ts_exposed *exposed;
    size_t exposed_count;
    const char *books; /* digest of the rows in force */
    size_t costed;     /* how many were costed anew */
} ts_repricing;

/* Reprices by the books as they stand on a day. `keep` holds what comes of it. The register
 * is only read. TS_OK also where quotes are at fault. */
ts_status ts_register_reprice(ts_repricing *out, ts_arena *keep, ts_register *reg,
                              const ts_book *book, ts_date on) TS_MUST_USE;

#endif
