/* A price as a list of moves over numbered integers: what a recipe does with each row.
 *
 * Numbers are whole: amounts in their units (taken.h), money in minor units, whatever is
 * not rounded over a denominator that was fixed when the list was made. How large each
 * number can grow was reckoned from the limits of the amounts read, so no move need look
 * whether it overflows; a row with an amount past its limit is refused. */
#ifndef TS_COSTING_REPLAY_H
#define TS_COSTING_REPLAY_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/decimal.h>

#include "costing/taken.h"

typedef enum ts_move_op {
    TS_MOVE_ROUND,      /* to = (constant + factor × a) / divisor, nothing below 0, half up */
    TS_MOVE_ROUND_MODE, /* the same of any sign, in the move's mode */
    TS_MOVE_PLAIN_SUM,  /* to = constant + numbers of the terms */
    TS_MOVE_SUM,        /* to = constant + terms, below 2^62 on the way */
    TS_MOVE_LARGER,     /* to = the larger of a and b */
    TS_MOVE_SMALLER,
    TS_MOVE_WIDE_ROUND, /* to = (wide constant + terms) / wide divisor in the mode */
    TS_MOVE_SPLIT,      /* to.. = a shared by the numbers of the terms, largest remainder */
    TS_MOVE_WIDE,       /* wide to = wide constant + terms */
    TS_MOVE_WIDE_TIMES, /* wide to = wide a × wide b, and so on */
    TS_MOVE_WIDE_PLUS,
    TS_MOVE_WIDE_MINUS,
    TS_MOVE_QUOTIENT, /* to = wide a × factor / wide b in the mode, within ±constant */
} ts_move_op;

/* Forty bytes, since a recipe is read through once a row. */
typedef struct ts_move {
    int64_t constant;
    int64_t factor;
    union {
        uint64_t divisor; /* ROUND */
        struct {
            uint32_t first; /* its terms */
            uint16_t count;
            uint16_t wide; /* its wide constant, then its wide divisor */
        };
    };
    uint64_t inverse; /* ROUND: 2^64 / divisor, rounded down */
    uint8_t op, mode;
    int16_t to, a, b;
} ts_move;

/* factor × number a × number b; b < 0: without it. */
typedef struct ts_move_term {
    int64_t factor;
    int16_t a, b;
} ts_move_term;

/* An amount to be read into a number, from `least` to `least` + `span`. */
typedef struct ts_reading {
    int64_t least;
    uint64_t span;
    ts_take take;
    int16_t to;
} ts_reading;

/* What a number must be for the list to be the right one. */
typedef struct ts_proviso {
    int16_t number;
    bool of_sign, answer; /* as of ts_guard */
} ts_proviso;

/* Where the answers stand: money in minor units, minutes in millionths. */
typedef struct ts_answers {
    int16_t cost, net, tax, total, income, minutes;
} ts_answers;

typedef struct ts_moves {
    const ts_reading *readings;
    const ts_move *moves;
    const ts_move_term *terms; /* of SUM and the wide ones */
    const int16_t *plain;      /* of PLAIN_SUM and SPLIT */
    const ts_i128 *wides;
    const ts_proviso *provisos;
    int reading_count, move_count, proviso_count, term_count, plain_count, number_count;
    int64_t *numbers; /* those that are fixed stand in it */
    ts_i128 *wide;    /* wide numbers, of one run only */
    ts_answers answers;
} ts_moves;

/* True for the moves that come to a wide number. */
bool ts_move_is_wide(ts_move_op op);

#define TS_MOST_NUMBERS 1024
#define TS_MOST_WIDE 64

/* Reads, moves, and looks whether what was provided holds. False: the row is another's. */
bool ts_moves_run(const ts_moves *moves, const ts_takes *takes);

#endif
