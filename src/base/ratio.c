#include <tallystone/base/decimal.h>

#include "base/wide.h"

/* Exact fractions of 128-bit numbers, for what must be rounded once after several
 * divisions: a metal price an ounce becomes a price a gram of an alloy.
 *
 * Common factors are taken out before each product (Knuth, The Art of Computer
 * Programming 2, section 4.5.1), so the numbers stay as small as the value allows and
 * an answer of false means that the value itself does not fit. Both parts keep their
 * sizes below 2^127, so each has its negative. */

#define MILLION 1000000u
#define MOST_SIZE (((ts_u128)1 << 127) - 1)

/* One step of Euclid's brings the two near each other; then halving and subtracting (Knuth,
 * algorithm B of section 4.5.2) is faster than dividing. */
static uint64_t narrow_factor(uint64_t a, uint64_t b)
{
    if (a == 1 || b == 1) {
        return 1;
    }
    if (b == 0 || a % b == 0) {
        return b == 0 ? a : b;
    }
    a %= b;
    const int twos = __builtin_ctzll(a | b);
    a >>= __builtin_ctzll(a);
    while (b != 0) {
        b >>= __builtin_ctzll(b);
        const uint64_t less = a < b ? a : b;
        b = a < b ? b - a : a - b;
        a = less;
    }
    return a << twos;
}

/* Greatest common divisor; Euclid's algorithm leaves 128 bits as soon as it can. */
static ts_u128 common_factor(ts_u128 a, ts_u128 b)
{
    while (b != 0) {
        if ((a | b) <= UINT64_MAX) {
            return narrow_factor((uint64_t)a, (uint64_t)b);
        }
        ts_u128 rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* The quotient by a factor, which is 1 more often than not. */
static ts_u128 over(ts_u128 size, ts_u128 factor)
{
    if (factor == 1) {
        return size;
    }
    return (size | factor) <= UINT64_MAX ? (uint64_t)size / (uint64_t)factor : size / factor;
}

/* Written out, since the compiler's own check of a 128-bit product needs a library call
 * that not every toolchain has. */
static bool multiply(ts_u128 *out, ts_u128 a, ts_u128 b)
{
    if ((a | b) > UINT64_MAX && b != 0 && a > MOST_SIZE / b) {
        return false;
    }
    ts_u128 product = a * b;
    if (product > MOST_SIZE) {
        return false;
    }
    *out = product;
    return true;
}

static bool keep(ts_ratio *out, bool negative, ts_u128 num, ts_u128 den)
{
    if (num > MOST_SIZE || den > MOST_SIZE) {
        return false;
    }
    out->num = negative ? -(ts_i128)num : (ts_i128)num;
    out->den = (ts_i128)den;
    return true;
}

bool ts_ratio_of(ts_ratio *out, ts_i128 num, ts_i128 den)
{
    if (den == 0) {
        return false;
    }
    ts_u128 above = ts_wide_size(num);
    ts_u128 below = ts_wide_size(den);
    ts_u128 factor = common_factor(above, below);
    return keep(out, (num < 0) != (den < 0), over(above, factor), over(below, factor));
}

bool ts_ratio_add(ts_ratio *out, ts_ratio a, ts_ratio b)
{
    if (a.den <= 0 || b.den <= 0) {
        return false;
    }
    ts_u128 factor = common_factor((ts_u128)a.den, (ts_u128)b.den);
    ts_u128 one = 0;
    ts_u128 other = 0;
    if (!multiply(&one, ts_wide_size(a.num), over((ts_u128)b.den, factor)) ||
        !multiply(&other, ts_wide_size(b.num), over((ts_u128)a.den, factor))) {
        return false;
    }
    bool negative = one >= other ? a.num < 0 : b.num < 0;
    bool alike = (a.num < 0) == (b.num < 0);
    ts_u128 apart = one >= other ? one - other : other - one;
    ts_u128 num = alike ? one + other : apart; /* two sizes below 2^127: no wrap */
    /* Only a divisor of `factor` can still be common to the sum and the denominator. */
    ts_u128 rest = common_factor(num, factor);
    ts_u128 den = 0;
    return multiply(&den, over((ts_u128)a.den, factor), over((ts_u128)b.den, rest)) &&
           keep(out, negative && num != 0, over(num, rest), den);
}

static bool product(ts_ratio *out, bool negative, const ts_u128 above[2], const ts_u128 below[2])
{
    ts_u128 down = common_factor(above[0], below[1]);
    ts_u128 up = common_factor(above[1], below[0]);
    ts_u128 num = 0;
    ts_u128 den = 0;
    return multiply(&num, over(above[0], down), over(above[1], up)) &&
           multiply(&den, over(below[0], up), over(below[1], down)) &&
           keep(out, negative, num, den);
}

bool ts_ratio_mul(ts_ratio *out, ts_ratio a, ts_ratio b)
{
    if (a.den <= 0 || b.den <= 0) {
        return false;
    }
    const ts_u128 above[2] = {ts_wide_size(a.num), ts_wide_size(b.num)};
    const ts_u128 below[2] = {(ts_u128)a.den, (ts_u128)b.den};
    return product(out, (a.num < 0) != (b.num < 0), above, below);
}

bool ts_ratio_div(ts_ratio *out, ts_ratio a, ts_ratio b)
{
    if (a.den <= 0 || b.den <= 0 || b.num == 0) {
        return false;
    }
    const ts_u128 above[2] = {ts_wide_size(a.num), (ts_u128)b.den};
    const ts_u128 below[2] = {(ts_u128)a.den, ts_wide_size(b.num)};
    return product(out, (a.num < 0) != (b.num < 0), above, below);
}

/* size·10^6 as whole·den + rest, for a size below den, bit by bit from the top of 10^6:
 * each step doubles a rest below 2^127, so nothing leaves 128 bits. */
static ts_u128 millionths(ts_u128 size, ts_u128 den, ts_u128 *rest)
{
    ts_u128 whole = 0;
    ts_u128 left = 0;
    for (unsigned bit = 1u << 19; bit != 0; bit >>= 1) {
        whole *= 2;
        left *= 2;
        if (left >= den) {
            left -= den;
            whole++;
        }
        left += (MILLION & bit) != 0 ? size : 0;
        if (left >= den) {
            left -= den;
            whole++;
        }
    }
    *rest = left;
    return whole;
}

bool ts_ratio_dec(ts_dec *out, ts_ratio a, ts_rounding mode)
{
    if (a.den <= 0) {
        return false;
    }
    ts_u128 size = ts_wide_size(a.num);
    ts_u128 den = (ts_u128)a.den;
    ts_u128 units = size / den;
    if (units > INT64_MAX / MILLION) {
        return false;
    }
    ts_u128 below = size - units * den;
    ts_u128 rest = 0;
    ts_u128 part = 0;
    ts_u128 scaled = 0;
    if (multiply(&scaled, below, MILLION)) {
        part = scaled / den;
        rest = scaled - part * den;
    } else {
        part = millionths(below, den, &rest);
    }
    return ts_wide_round(&out->e6, a.num < 0, units * MILLION + part, rest, den, mode);
}
