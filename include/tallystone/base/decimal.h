/* Exact decimal arithmetic: money in minor units, rates and quantities in millionths.
 *
 * No double comes near money. Every product is formed in 128 bits and rounded once, in
 * a named mode. Each operation answers false on overflow and leaves *out untouched. */
#ifndef TS_BASE_DECIMAL_H
#define TS_BASE_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/status.h>

__extension__ typedef __int128 ts_i128;

/* An amount of money in the minor unit of its currency (ISO 4217 exponent). */
typedef struct ts_money {
    int64_t minor;
} ts_money;

/* A rate, factor, percentage or quantity in millionths. */
typedef struct ts_dec {
    int64_t e6;
} ts_dec;

typedef enum ts_rounding {
    TS_HALF_AWAY, /* half away from zero: the default */
    TS_HALF_EVEN,
    TS_ROUND_UP,   /* towards plus infinity: spares, steps */
    TS_ROUND_DOWN, /* towards minus infinity */
} ts_rounding;

/* A fraction in lowest terms, den > 0: prices a gram stay exact in it. */
typedef struct ts_ratio {
    ts_i128 num;
    ts_i128 den;
} ts_ratio;

#define TS_DECIMAL_TEXT 48 /* bytes that hold any ts_dec or ts_money as text */

/* How a number may be written: plain digits, one sign in front, at most six decimals. */
typedef enum ts_number_fault {
    TS_NUMBER_OK,
    TS_NUMBER_EMPTY,
    TS_NUMBER_BAD,       /* something that is no digit: *where names the byte */
    TS_NUMBER_DECIMALS,  /* more decimals than six (zeros beyond are let in) */
    TS_NUMBER_RANGE,     /* more than 12 digits before the point */
    TS_NUMBER_AMBIGUOUS, /* 1,234: a thousand or one and a bit? */
} ts_number_fault;

/* Reads `text` (whole; outer blanks allowed). `point` is '.' or ','. A single comma
 * followed by three digits where the point is '.', or the reverse, is ambiguous.
 * The Unicode minus sign is read as '-'. Exponents, hex, inf and nan are BAD; ".5" and
 * "5." are let in. On a fault *out is untouched and *where (NULL is let in) is the byte
 * offset of what is wrong; the end of the text where digits are missing there. */
ts_number_fault ts_dec_read(ts_dec *out, const char *text, char point, size_t *where);

/* a·b and a/b to millionths, rounded once. Division by zero answers false. */
bool ts_dec_mul(ts_dec *out, ts_dec a, ts_dec b, ts_rounding mode) TS_MUST_USE;
bool ts_dec_div(ts_dec *out, ts_dec a, ts_dec b, ts_rounding mode) TS_MUST_USE;
bool ts_dec_add(ts_dec *out, ts_dec a, ts_dec b) TS_MUST_USE;
bool ts_dec_sub(ts_dec *out, ts_dec a, ts_dec b) TS_MUST_USE;
bool ts_dec_from_int(ts_dec *out, int64_t whole) TS_MUST_USE;
/* The nearest millionth of a finite double of geometry, half away from zero: the one
 * place where a double becomes a decimal. False for NaN, infinities and |x| over 1e12.
 * What is rounded is the exact binary value: 0.0078125 (2^-7) is a tie and goes up, the
 * double nearest to 0.0000005 lies below it and becomes 0. */
bool ts_dec_from_double(ts_dec *out, double x) TS_MUST_USE;
double ts_dec_double(ts_dec a);

bool ts_money_add(ts_money *out, ts_money a, ts_money b) TS_MUST_USE;
bool ts_money_sub(ts_money *out, ts_money a, ts_money b) TS_MUST_USE;
/* quantity × rate, rounded to a currency of `exponent` decimals (0 to 4). */
bool ts_money_product(ts_money *out, ts_dec quantity, ts_dec rate, int exponent,
                      ts_rounding mode) TS_MUST_USE;
/* An exact decimal as money, and money as a decimal (units of the currency). */
bool ts_money_from_dec(ts_money *out, ts_dec amount, int exponent, ts_rounding mode) TS_MUST_USE;
bool ts_dec_from_money(ts_dec *out, ts_money amount, int exponent, ts_rounding mode) TS_MUST_USE;
/* num/den rounded to an integer; den may be negative, not zero. */
bool ts_div_round(int64_t *out, ts_i128 num, ts_i128 den, ts_rounding mode) TS_MUST_USE;

/* Shares `total` over `count` non-negative weights by largest remainder, ties to the
 * earlier; the shares add up to it exactly. A negative total is shared by its size.
 * All weights zero: everything to the first. Weights up to 10^18 each; `out` and
 * `weights` are different arrays. */
bool ts_split(int64_t *out, int64_t total, const int64_t *weights, size_t count) TS_MUST_USE;

bool ts_ratio_of(ts_ratio *out, ts_i128 num, ts_i128 den) TS_MUST_USE;
bool ts_ratio_add(ts_ratio *out, ts_ratio a, ts_ratio b) TS_MUST_USE;
bool ts_ratio_mul(ts_ratio *out, ts_ratio a, ts_ratio b) TS_MUST_USE;
bool ts_ratio_div(ts_ratio *out, ts_ratio a, ts_ratio b) TS_MUST_USE;
bool ts_ratio_dec(ts_dec *out, ts_ratio a, ts_rounding mode) TS_MUST_USE;

/* Text into `buffer` (TS_DECIMAL_TEXT bytes), which is returned. ts_dec_text: decimal
 * point, no trailing zeros, "-0" never. ts_dec_fixed: exactly `places` (0 to 6) decimals,
 * rounded half away. ts_money_text: the currency's own decimals. */
char *ts_dec_text(char *buffer, ts_dec a);
char *ts_dec_fixed(char *buffer, ts_dec a, int places);
char *ts_money_text(char *buffer, ts_money a, int exponent);
/* The same written at `to`, without a NUL; where the text ends. */
char *ts_dec_put(char *to, ts_dec a);
char *ts_money_put(char *to, ts_money a, int exponent);
/* As ts_money_text with a no-break space (U+00A0) each three digits: for people. */
char *ts_money_grouped(char *buffer, ts_money a, int exponent);

#endif
