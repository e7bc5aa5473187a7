/* A figure that knows how it came about.
 *
 * Every amount is the root of a small tree: leaves are cells of books and quantities,
 * inner nodes are sums, products and roundings. The value is an exact fraction, computed
 * when the node is made. The chain of an amount, the live formula of a workbook and the
 * test that recomputes every cent all walk the same tree. */
#ifndef TS_COSTING_FIGURE_H
#define TS_COSTING_FIGURE_H

#include <stdbool.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/decimal.h>

typedef enum ts_op {
    TS_OP_BOOK,     /* leaf: a cell of a price book */
    TS_OP_QUANTITY, /* leaf: a quantity, or a cell of the sheet */
    TS_OP_CONSTANT, /* leaf: a number of physics or arithmetic (100, 60, 31.1034768) */
    TS_OP_SUM,      /* all arguments */
    TS_OP_SUB,      /* first - second */
    TS_OP_MUL,      /* all arguments */
    TS_OP_DIV,      /* first / second */
    TS_OP_ROUND,    /* first, to `places`, in the policy's mode */
    TS_OP_CEILING,  /* first, up to a whole number */
    TS_OP_STEP,     /* first, up to a multiple of second */
    TS_OP_MAX,      /* the larger */
    TS_OP_MIN,      /* the smaller */
    TS_OP_SHARE,    /* largest remainder: `places` decimals of args[0] shared by weights
                       args[1..]; `index` says which share; ties to the earlier */
} ts_op;

typedef struct ts_figure {
    ts_op op;
    int places;       /* TS_OP_ROUND, TS_OP_SHARE; and how many decimals to show */
    int index;        /* TS_OP_SHARE; of a quantity: its place among its kind */
    int taken;        /* TS_OP_QUANTITY: which amount it is (costing's own list); 0: none */
    ts_ratio value;   /* exact */
    const char *name; /* what it is: "rate of 750 yellow", "finished weight" */
    const char *unit; /* "g", "USD", "USD/g", "%", "" */
    const struct ts_figure *const *args;
    int arg_count;
    const char *file;   /* leaves: book file name or sheet file */
    int line;           /* physical line in it; 0 where a formula says it */
    const char *column; /* leaves: column of the book, or measure */
    const char *says;   /* a word more, e.g. the quantity's own formula */
} ts_figure;

/* The makers. Each answers NULL where exact arithmetic overflowed (or divided by zero)
 * or where an argument is NULL, so that a chain of them is checked once at its end. */
const ts_figure *ts_figure_book(ts_arena *arena, const char *name, ts_dec value, const char *unit,
                                const char *file, int line, const char *column);
const ts_figure *ts_figure_quantity(ts_arena *arena, const char *name, ts_dec value,
                                    const char *unit, const char *file, int line, const char *says);
const ts_figure *ts_figure_constant(ts_arena *arena, const char *name, ts_dec value,
                                    const char *unit);
const ts_figure *ts_figure_of(ts_arena *arena, ts_op op, const char *name, const char *unit,
                              const ts_figure *const *args, int arg_count);
const ts_figure *ts_figure_two(ts_arena *arena, ts_op op, const char *name, const char *unit,
                               const ts_figure *one, const ts_figure *two);
const ts_figure *ts_figure_round(ts_arena *arena, const char *name, const char *unit,
                                 const ts_figure *of, int places, ts_rounding mode);
const ts_figure *ts_figure_share(ts_arena *arena, const char *name, const char *unit,
                                 const ts_figure *total, const ts_figure *const *weights, int count,
                                 int index, int places);

/* The exact value as a decimal of six places; false where it has more (an unrounded node). */
bool ts_figure_dec(ts_dec *out, const ts_figure *figure) TS_MUST_USE;
/* The value as money of a currency; the node must be rounded to it. */
bool ts_figure_money(ts_money *out, const ts_figure *figure, int exponent) TS_MUST_USE;
/* Text of the value: exact where it has at most `places` decimals, else rounded with a
 * leading "about " left to the caller (`exact` answers). */
char *ts_figure_text(char *buffer, const ts_figure *figure, bool *exact);

#endif
