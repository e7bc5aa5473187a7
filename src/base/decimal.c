#include <tallystone/base/decimal.h>

#include <string.h>

#include "base/wide.h"

/* Exact arithmetic on scaled integers.
 *
 * Every operation forms its product in 128 bits, where two 64-bit numbers always fit, and
 * comes to ts_div_round once: no figure is rounded twice on its way. Both half modes work
 * on sizes and put the sign on afterwards, so a credit is the mirror of its charge. */

#define MILLION INT64_C(1000000)
#define MOST_EXPONENT 4 /* ISO 4217: 0 to 4 decimals */
#define MOST_WEIGHT INT64_C(1000000000000000000)

static const int64_t powers[] = {1,           10,           100,          1000,      10000,
                                 100000,      1000000,      10000000,     100000000, 1000000000,
                                 10000000000, 100000000000, 1000000000000};

ts_u128 ts_wide_size(ts_i128 value)
{
    return value < 0 ? -(ts_u128)value : (ts_u128)value;
}

static bool rounds_away(bool negative, ts_u128 whole, ts_u128 rest, ts_u128 den, ts_rounding mode)
{
    if (rest == 0) {
        return false;
    }
    ts_u128 lack = den - rest; /* compared instead of 2·rest, which may not fit */
    switch (mode) {
    case TS_HALF_AWAY:
        return rest >= lack;
    case TS_HALF_EVEN:
        return rest > lack || (rest == lack && (whole & 1) != 0);
    case TS_ROUND_UP:
        return !negative;
    case TS_ROUND_DOWN:
        return negative;
    }
    return false;
}

bool ts_wide_round(int64_t *out, bool negative, ts_u128 whole, ts_u128 rest, ts_u128 den,
                   ts_rounding mode)
{
    if (whole > (ts_u128)INT64_MAX + 1) {
        return false;
    }
    uint64_t size = (uint64_t)whole + rounds_away(negative, whole, rest, den, mode);
    if (size > (uint64_t)INT64_MAX + negative) {
        return false;
    }
    /* -(size - 1) - 1 reaches the least 64-bit number without passing its mirror. */
    *out = negative && size != 0 ? -(int64_t)(size - 1) - 1 : (int64_t)size;
    return true;
}

bool ts_div_round(int64_t *out, ts_i128 num, ts_i128 den, ts_rounding mode)
{
    if (den == 0) {
        return false;
    }
    bool negative = (num < 0) != (den < 0);
    ts_u128 above = ts_wide_size(num);
    ts_u128 below = ts_wide_size(den);
    if ((above | below) <= UINT64_MAX) { /* nearly always; one machine division */
        uint64_t n = (uint64_t)above;
        uint64_t d = (uint64_t)below;
        return ts_wide_round(out, negative, n / d, n % d, d, mode);
    }
    ts_u128 whole = above / below;
    return ts_wide_round(out, negative, whole, above - whole * below, below, mode);
}

static bool fits_exponent(int exponent)
{
    return exponent >= 0 && exponent <= MOST_EXPONENT;
}

bool ts_dec_mul(ts_dec *out, ts_dec a, ts_dec b, ts_rounding mode)
{
    return ts_div_round(&out->e6, (ts_i128)a.e6 * b.e6, MILLION, mode);
}

bool ts_dec_div(ts_dec *out, ts_dec a, ts_dec b, ts_rounding mode)
{
    return ts_div_round(&out->e6, (ts_i128)a.e6 * MILLION, b.e6, mode);
}

static bool add(int64_t *out, int64_t a, int64_t b)
{
    int64_t sum = 0;
    if (__builtin_add_overflow(a, b, &sum)) {
        return false; /* the builtin would have left the wrapped sum in *out */
    }
    *out = sum;
    return true;
}

static bool subtract(int64_t *out, int64_t a, int64_t b)
{
    int64_t rest = 0;
    if (__builtin_sub_overflow(a, b, &rest)) {
        return false;
    }
    *out = rest;
    return true;
}

static bool multiply(int64_t *out, int64_t a, int64_t b)
{
    int64_t product = 0;
    if (__builtin_mul_overflow(a, b, &product)) {
        return false;
    }
    *out = product;
    return true;
}

bool ts_dec_add(ts_dec *out, ts_dec a, ts_dec b)
{
    return add(&out->e6, a.e6, b.e6);
}

bool ts_dec_sub(ts_dec *out, ts_dec a, ts_dec b)
{
    return subtract(&out->e6, a.e6, b.e6);
}

bool ts_dec_from_int(ts_dec *out, int64_t whole)
{
    return multiply(&out->e6, whole, MILLION);
}

/* A binary64 (IEEE 754) up to 10^12 is m·2^-s with m below 2^53 and s at least 13, so
 * m·10^6 is exact in 73 bits and the shift by s rounds the exact value of the double:
 * no floating-point operation takes part, and every compiler and processor agrees. */
bool ts_dec_from_double(ts_dec *out, double x)
{
    if (!(x >= -1e12 && x <= 1e12)) { /* NaN fails both */
        return false;
    }
    uint64_t bits = 0;
    _Static_assert(sizeof bits == sizeof x, "a double is an IEEE 754 binary64");
    memcpy(&bits, &x, sizeof bits);
    bool negative = bits >> 63 != 0;
    unsigned raised = (unsigned)(bits >> 52) & 0x7ff;
    uint64_t mantissa = bits & ((UINT64_C(1) << 52) - 1);
    if (raised != 0) {
        mantissa |= UINT64_C(1) << 52;
    }
    unsigned shift = 1075 - (raised != 0 ? raised : 1);
    if (shift > 80) { /* below 2^53·10^6/2^81, far under half a millionth */
        out->e6 = 0;
        return true;
    }
    ts_u128 scaled = (ts_u128)mantissa * MILLION;
    int64_t size = (int64_t)((scaled + ((ts_u128)1 << (shift - 1))) >> shift);
    out->e6 = negative ? -size : size;
    return true;
}

double ts_dec_double(ts_dec a)
{
    return (double)a.e6 / 1e6;
}

bool ts_money_add(ts_money *out, ts_money a, ts_money b)
{
    return add(&out->minor, a.minor, b.minor);
}

bool ts_money_sub(ts_money *out, ts_money a, ts_money b)
{
    return subtract(&out->minor, a.minor, b.minor);
}

bool ts_money_product(ts_money *out, ts_dec quantity, ts_dec rate, int exponent, ts_rounding mode)
{
    return fits_exponent(exponent) &&
           ts_div_round(&out->minor, (ts_i128)quantity.e6 * rate.e6, powers[12 - exponent], mode);
}

bool ts_money_from_dec(ts_money *out, ts_dec amount, int exponent, ts_rounding mode)
{
    return fits_exponent(exponent) &&
           ts_div_round(&out->minor, amount.e6, powers[6 - exponent], mode);
}

bool ts_dec_from_money(ts_dec *out, ts_money amount, int exponent, ts_rounding mode)
{
    return fits_exponent(exponent) &&
           ts_div_round(&out->e6, (ts_i128)amount.minor * MILLION, powers[exponent], mode);
}

/* What a share lacks to its exact value, times the sum of weights: at most 2^63·10^18,
 * which 128 bits hold. Whole shares are taken off by their sizes: the total's sign
 * plays no part. */
static ts_u128 remainder_of(uint64_t total, int64_t weight, int64_t share, ts_u128 sum)
{
    ts_u128 size = ts_wide_size(share);
    return (ts_u128)total * (ts_u128)weight - size * sum;
}

typedef struct split {
    int64_t *out;
    const int64_t *weights;
    size_t count;
    uint64_t total;
    ts_u128 sum;
} split;

static uint64_t at_least(const split *s, ts_u128 bound)
{
    uint64_t found = 0;
    for (size_t i = 0; i < s->count; i++) {
        found += remainder_of(s->total, s->weights[i], s->out[i], s->sum) >= bound;
    }
    return found;
}

/* Finds the bound that `left` remainders reach, by halving the range, so that no list of
 * remainders need be kept or sorted: some steps where they differ, at most as many as the
 * sum of weights has bits where they tie. */
static ts_u128 bound_for(const split *s, uint64_t left)
{
    ts_u128 low = 0; /* all reach it */
    ts_u128 high = s->sum;
    while (high - low > 1) {
        ts_u128 middle = low + (high - low) / 2;
        uint64_t found = at_least(s, middle);
        if (found == left) {
            return middle;
        }
        if (found > left) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Gives one minor unit more to the `left` largest remainders: first to all above the
 * bound, then in order to those that tie at it. */
static void give_left(const split *s, uint64_t left, int64_t unit)
{
    ts_u128 bound = bound_for(s, left);
    uint64_t ties = left - at_least(s, bound + 1);
    for (size_t i = 0; i < s->count; i++) {
        ts_u128 remainder = remainder_of(s->total, s->weights[i], s->out[i], s->sum);
        if (remainder > bound) {
            s->out[i] += unit;
        } else if (remainder == bound && ties != 0) {
            s->out[i] += unit;
            ties--;
        }
    }
}

bool ts_split(int64_t *out, int64_t total, const int64_t *weights, size_t count)
{
    ts_i128 sum = 0;
    for (size_t i = 0; i < count; i++) {
        if (weights[i] < 0 || weights[i] > MOST_WEIGHT) {
            return false;
        }
        sum += weights[i];
    }
    if (count == 0) {
        return total == 0;
    }
    if (sum == 0) {
        memset(out, 0, count * sizeof *out);
        out[0] = total;
        return true;
    }
    split s = {out, weights, count, (uint64_t)ts_wide_size(total), (ts_u128)sum};
    uint64_t left = s.total;
    for (size_t i = 0; i < count; i++) {
        ts_u128 share = (ts_u128)s.total * (ts_u128)weights[i] / s.sum;
        left -= (uint64_t)share;
        out[i] = total < 0 ? (int64_t)(-(ts_i128)share) : (int64_t)share;
    }
    if (left != 0) {
        give_left(&s, left, total < 0 ? -1 : 1);
    }
    return true;
}
