/* Sums of products over numbered integers, with exact fractions before them: what lies
 * between two roundings of a price. */
#ifndef TS_COSTING_FORM_H
#define TS_COSTING_FORM_H

#include <stdbool.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/decimal.h>

#define TS_FORM_ONE (-1) /* in the place of a second number: there is none */

/* `factor` × number a (× number b). */
typedef struct ts_form_term {
    ts_ratio factor;
    int a, b;
} ts_form_term;

typedef struct ts_form {
    ts_ratio constant;
    const ts_form_term *terms; /* no two of the same numbers, no factor of nothing */
    int count;
} ts_form;

/* Each answers false where a fraction leaves 128 bits, or what comes out would be of a
 * third degree. */
bool ts_form_add(ts_form *out, ts_arena *arena, const ts_form *one, const ts_form *other);
bool ts_form_scale(ts_form *out, ts_arena *arena, const ts_form *of, ts_ratio by);
/* Two forms of one term each, linear, without a constant. */
bool ts_form_times(ts_form *out, ts_arena *arena, const ts_form *one, const ts_form *other);
ts_form ts_form_constant(ts_ratio value);
ts_form ts_form_number(ts_arena *arena, int number, ts_ratio factor);
bool ts_form_is_number(const ts_form *form); /* a term, linear, and no constant */

/* The form over its least common denominator, and how large its numerator can grow where
 * number i stays within ±bounds[i]. */
typedef struct ts_form_whole {
    ts_i128 den;
    ts_i128 constant;
    ts_i128 *factors; /* one a term */
    ts_i128 bound;
} ts_form_whole;
bool ts_form_over(ts_form_whole *out, ts_arena *arena, const ts_form *form, const int64_t *bounds);

/* a × b and a + b of sizes; false past 126 bits, where they are not narrow. */
bool ts_wide_times(ts_i128 *out, ts_i128 a, ts_i128 b);
bool ts_wide_plus(ts_i128 *out, ts_i128 a, ts_i128 b);

#endif
