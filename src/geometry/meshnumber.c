#include "geometry/meshnumber.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>

/* A number reader of its own, because strtod listens to the locale and the decimals of
 * the sheets know no exponents. What matters more than the last bit is that 1.50, 1.5
 * and 15E-1 are one point: a product of two exactly held numbers is rounded once (after
 * W. D. Clinger, "How to read floating point numbers accurately", 1990), and what is not
 * of that form is first brought to its shortest digits, so that all ways of writing it
 * take the same path. */

#define DIGITS_MOST 19 /* so many always fit 64 bits */
#define EXACT_MOST ((uint64_t)1 << 53)
#define POWER_MOST 22           /* 10^22 is the last power of ten that a double holds */
#define EXPONENT_MOST 9999      /* a longer one is cut: far outside what is let in */
#define EXPONENT_NOTHING (-400) /* below: zero, whatever the digits */
#define EXPONENT_TOO_MUCH 60    /* above: past float32, whatever the digits */

static const double powers[POWER_MOST + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                              1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                              1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* digits · 10^power */
typedef struct scaled {
    uint64_t digits;
    int power;
} scaled;

typedef struct cursor {
    const unsigned char *at;
    const unsigned char *end;
} cursor;

static bool at_digit(const cursor *c)
{
    return c->at < c->end && *c->at >= '0' && *c->at <= '9';
}

/* Takes a run of digits into `n`; true where there was at least one. */
static bool take_digits(cursor *c, scaled *n, int *taken, int step)
{
    const bool any = at_digit(c);
    for (; at_digit(c); c->at++) {
        if (*taken < DIGITS_MOST) {
            n->digits = n->digits * 10 + (uint64_t)(*c->at - '0');
            *taken += n->digits != 0;
            n->power -= step;
        } else if (n->power < EXPONENT_MOST) {
            n->power += 1 - step;
        }
    }
    return any;
}

static bool take_exponent(cursor *c, scaled *n)
{
    c->at++;
    const bool negative = c->at < c->end && *c->at == '-';
    if (c->at < c->end && (*c->at == '-' || *c->at == '+')) {
        c->at++;
    }
    if (!at_digit(c)) {
        return false;
    }
    int exponent = 0;
    for (; at_digit(c); c->at++) {
        if (exponent < EXPONENT_MOST) {
            exponent = exponent * 10 + (*c->at - '0');
        }
    }
    n->power += negative ? -exponent : exponent;
    return true;
}

static double value_of(scaled n)
{
    if (n.digits == 0 || n.power < EXPONENT_NOTHING) {
        return 0.0;
    }
    if (n.power > EXPONENT_TOO_MUCH) {
        return HUGE_VAL;
    }
    if (n.digits > EXACT_MOST || n.power < -POWER_MOST || n.power > POWER_MOST) {
        while (n.digits % 10 == 0) {
            n.digits /= 10;
            n.power++;
        }
        while (n.power > POWER_MOST && n.digits <= EXACT_MOST / 10) {
            n.digits *= 10;
            n.power--;
        }
    }
    double value = (double)n.digits;
    for (; n.power > POWER_MOST; n.power -= POWER_MOST) {
        value *= powers[POWER_MOST];
    }
    for (; n.power < -POWER_MOST; n.power += POWER_MOST) {
        value /= powers[POWER_MOST];
    }
    return n.power < 0 ? value / powers[-n.power] : value * powers[n.power];
}

/* What stands where a number should: a comma, one of the ways in which programs write
 * "not a number" and infinity (nan, -nan(ind), inf, 1.#QNAN, 1.#INF), or something else. */
static ts_coordinate_fault fault_of(const unsigned char *text, size_t length)
{
    size_t start = 0;
    if (length > 0 && (text[0] == '-' || text[0] == '+')) {
        start = 1;
    }
    if (length - start >= 3) {
        const int a = text[start] | 0x20; /* lower case, of letters */
        const int b = text[start + 1] | 0x20;
        const int c = text[start + 2] | 0x20;
        if ((a == 'n' && b == 'a' && c == 'n') || (a == 'i' && b == 'n' && c == 'f')) {
            return TS_COORDINATE_NOT_FINITE;
        }
    }
    bool has_comma = false;
    for (size_t i = start; i < length; i++) {
        if (text[i] == '#' && i > start) {
            return TS_COORDINATE_NOT_FINITE;
        }
        has_comma = has_comma || text[i] == ',';
    }
    return has_comma ? TS_COORDINATE_COMMA : TS_COORDINATE_BAD;
}

ts_coordinate_fault ts_coordinate_read(double *out, const unsigned char *text, size_t length)
{
    cursor c = {text, text + length};
    scaled n = {0, 0};
    int taken = 0;
    const bool negative = length > 0 && *c.at == '-';
    if (length > 0 && (*c.at == '-' || *c.at == '+')) {
        c.at++;
    }
    bool has_digits = take_digits(&c, &n, &taken, 0);
    if (c.at < c.end && *c.at == '.') {
        c.at++;
        has_digits = take_digits(&c, &n, &taken, 1) || has_digits;
    }
    if (!has_digits) {
        return fault_of(text, length);
    }
    if (c.at < c.end && (*c.at == 'e' || *c.at == 'E') && !take_exponent(&c, &n)) {
        return fault_of(text, length);
    }
    if (c.at != c.end) {
        return fault_of(text, length);
    }
    const double size = value_of(n);
    if (size > (double)FLT_MAX) {
        return TS_COORDINATE_NOT_FINITE;
    }
    *out = negative ? -size : size;
    return TS_COORDINATE_OK;
}
