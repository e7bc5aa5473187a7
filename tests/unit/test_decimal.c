#include <tallystone/base/decimal.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Exact arithmetic on scaled integers (decimal.c): rounding, limits, the door from doubles,
 * and shares. The figures of another program are in test_money.c. Here a value marked
 * "fractions" was computed with Python's module of that name; all others follow by hand from
 * the definition of the mode (IEEE 754-2008, 4.3, names the same four) and from the
 * limits of 64 bits. */

#define SIZE(array) (sizeof(array) / sizeof((array)[0]))

/* splitmix64, with a fixed seed: the same values in every run. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static void rounds_ties_and_others_in_each_mode(void **state)
{
    (void)state;
    static const struct {
        int64_t num, den, away, even, up, down;
    } cases[] = {
        {5, 10, 1, 0, 1, 0},       {-5, 10, -1, 0, 0, -1},    {15, 10, 2, 2, 2, 1},
        {-15, 10, -2, -2, -1, -2}, {25, 10, 3, 2, 3, 2},      {-25, 10, -3, -2, -2, -3},
        {24, 10, 2, 2, 3, 2},      {-24, 10, -2, -2, -2, -3}, {26, 10, 3, 3, 3, 2},
        {-26, 10, -3, -3, -2, -3}, {20, 10, 2, 2, 2, 2},      {-20, 10, -2, -2, -2, -2},
        {0, 10, 0, 0, 0, 0},       {1, 10, 0, 0, 1, 0},       {-1, 10, 0, 0, 0, -1},
        {25, -10, -3, -2, -2, -3}, {-25, -10, 3, 2, 3, 2},    {1, 3, 0, 0, 1, 0},
        {2, 3, 1, 1, 1, 0},        {3, 2, 2, 2, 2, 1},
    };
    for (size_t i = 0; i < SIZE(cases); i++) {
        int64_t got[4] = {0};
        assert_true(ts_div_round(&got[0], cases[i].num, cases[i].den, TS_HALF_AWAY));
        assert_true(ts_div_round(&got[1], cases[i].num, cases[i].den, TS_HALF_EVEN));
        assert_true(ts_div_round(&got[2], cases[i].num, cases[i].den, TS_ROUND_UP));
        assert_true(ts_div_round(&got[3], cases[i].num, cases[i].den, TS_ROUND_DOWN));
        if (got[0] != cases[i].away || got[1] != cases[i].even || got[2] != cases[i].up ||
            got[3] != cases[i].down) {
            fail_msg("%d / %d: %d %d %d %d", (int)cases[i].num, (int)cases[i].den, (int)got[0],
                     (int)got[1], (int)got[2], (int)got[3]);
        }
    }
}

static void carries_when_nines_are_rounded(void **state)
{
    (void)state;
    ts_dec out = {0};
    /* 1999.999999 / 2 = 999.9999995 */
    assert_true(ts_dec_div(&out, (ts_dec){1999999999}, (ts_dec){2000000}, TS_HALF_AWAY));
    assert_int_equal(out.e6, 1000000000);
    assert_true(ts_dec_div(&out, (ts_dec){1999999999}, (ts_dec){2000000}, TS_HALF_EVEN));
    assert_int_equal(out.e6, 1000000000);
    assert_true(ts_dec_div(&out, (ts_dec){-1999999999}, (ts_dec){2000000}, TS_HALF_AWAY));
    assert_int_equal(out.e6, -1000000000);
    ts_money money = {0};
    assert_true(ts_money_from_dec(&money, (ts_dec){999995000}, 2, TS_HALF_AWAY));
    assert_int_equal(money.minor, 100000);
    assert_true(ts_money_product(&money, (ts_dec){999999500}, (ts_dec){1000000}, 3, TS_HALF_AWAY));
    assert_int_equal(money.minor, 1000000);
}

/* 128-bit numerators and denominators: the remainder decides, however long it is. */
static void rounds_wide_numbers_by_their_whole_remainder(void **state)
{
    (void)state;
    const ts_i128 big = (ts_i128)1 << 100;
    int64_t out = 0;
    assert_true(ts_div_round(&out, 5 * big, 2 * big, TS_HALF_EVEN));
    assert_int_equal(out, 2);
    assert_true(ts_div_round(&out, 5 * big + 1, 2 * big, TS_HALF_EVEN));
    assert_int_equal(out, 3);
    assert_true(ts_div_round(&out, 5 * big - 1, 2 * big, TS_HALF_AWAY));
    assert_int_equal(out, 2);
    assert_true(ts_div_round(&out, -5 * big, 2 * big, TS_HALF_AWAY));
    assert_int_equal(out, -3);
    const ts_i128 least = -((ts_i128)1 << 126) * 2;
    assert_true(ts_div_round(&out, least, least, TS_HALF_AWAY));
    assert_int_equal(out, 1);
    assert_true(ts_div_round(&out, least / 2, least, TS_HALF_EVEN));
    assert_int_equal(out, 0);
    assert_true(ts_div_round(&out, least / 2, least, TS_HALF_AWAY));
    assert_int_equal(out, 1);
    assert_true(ts_div_round(&out, (ts_i128)INT64_MIN * 1000000, 1000000, TS_HALF_AWAY));
    assert_true(out == INT64_MIN);
}

static void a_rounded_quotient_is_the_nearest_whole_number(void **state)
{
    (void)state;
    uint64_t seed = 1;
    for (int i = 0; i < 100000; i++) {
        ts_i128 num = (ts_i128)(int64_t)next_random(&seed) * (int64_t)(next_random(&seed) >> 40);
        ts_i128 den = (ts_i128)(next_random(&seed) >> (next_random(&seed) % 24)) + (1 << 24);
        int64_t away = 0;
        int64_t up = 0;
        int64_t down = 0;
        assert_true(ts_div_round(&away, num, den, TS_HALF_AWAY));
        assert_true(ts_div_round(&up, num, den, TS_ROUND_UP));
        assert_true(ts_div_round(&down, num, den, TS_ROUND_DOWN));
        ts_i128 off = num - away * den;
        assert_true(2 * off <= den && -2 * off <= den);
        assert_true(up * den >= num && up * den - num < den);
        assert_true(down * den <= num && num - down * den < den);
    }
}

static void adds_and_subtracts_up_to_the_limits_of_64_bits(void **state)
{
    (void)state;
    ts_dec dec = {-77};
    ts_money money = {-77};
    assert_false(ts_dec_add(&dec, (ts_dec){INT64_MAX}, (ts_dec){1}));
    assert_false(ts_dec_sub(&dec, (ts_dec){INT64_MIN}, (ts_dec){1}));
    assert_false(ts_dec_sub(&dec, (ts_dec){0}, (ts_dec){INT64_MIN}));
    assert_false(ts_money_add(&money, (ts_money){INT64_MIN}, (ts_money){-1}));
    assert_false(ts_money_sub(&money, (ts_money){INT64_MAX}, (ts_money){-1}));
    assert_false(ts_dec_from_int(&dec, INT64_C(9223372036855)));
    assert_false(ts_dec_from_int(&dec, INT64_MIN));
    assert_int_equal(dec.e6, -77);
    assert_int_equal(money.minor, -77);
    assert_true(ts_dec_add(&dec, (ts_dec){INT64_MAX}, (ts_dec){INT64_MIN}));
    assert_int_equal(dec.e6, -1);
    assert_true(ts_dec_sub(&dec, (ts_dec){-1}, (ts_dec){INT64_MAX}));
    assert_true(dec.e6 == INT64_MIN);
    assert_true(ts_money_add(&money, (ts_money){-5}, (ts_money){3}));
    assert_int_equal(money.minor, -2);
    assert_true(ts_money_sub(&money, money, money)); /* *out may be an operand */
    assert_int_equal(money.minor, 0);
    assert_true(ts_dec_from_int(&dec, INT64_C(-9223372036854)));
    assert_true(dec.e6 == INT64_C(-9223372036854000000));
}

static void products_and_quotients_that_leave_64_bits_are_answered_false(void **state)
{
    (void)state;
    const ts_dec most = {INT64_MAX};
    const ts_dec least = {INT64_MIN};
    ts_dec dec = {-77};
    assert_false(ts_dec_mul(&dec, most, most, TS_HALF_AWAY));
    assert_false(ts_dec_mul(&dec, least, least, TS_HALF_AWAY));
    assert_false(ts_dec_mul(&dec, least, (ts_dec){-1000000}, TS_HALF_AWAY));
    assert_false(ts_dec_div(&dec, most, (ts_dec){999999}, TS_HALF_AWAY));
    assert_false(ts_dec_div(&dec, (ts_dec){1}, (ts_dec){0}, TS_HALF_AWAY));
    assert_false(ts_dec_div(&dec, (ts_dec){0}, (ts_dec){0}, TS_HALF_AWAY));
    /* 3037000.499977^2 = 9223372036860.547977…, fractions */
    assert_false(ts_dec_mul(&dec, (ts_dec){3037000499977}, (ts_dec){3037000499977}, TS_HALF_AWAY));
    assert_int_equal(dec.e6, -77);
    /* 3037000.499976^2 = 9223372036854.473976…, fractions */
    assert_true(ts_dec_mul(&dec, (ts_dec){3037000499976}, (ts_dec){3037000499976}, TS_HALF_AWAY));
    assert_true(dec.e6 == INT64_C(9223372036854473976));
    assert_true(ts_dec_mul(&dec, least, (ts_dec){1000000}, TS_HALF_EVEN));
    assert_true(dec.e6 == INT64_MIN);
    assert_true(ts_dec_div(&dec, least, least, TS_HALF_EVEN));
    assert_int_equal(dec.e6, 1000000);
    int64_t whole = -77;
    assert_false(ts_div_round(&whole, 1, 0, TS_HALF_AWAY));
    /* only the rounding carries it beyond the limit */
    assert_false(ts_div_round(&whole, (ts_i128)INT64_MAX * 2 + 1, 2, TS_HALF_AWAY));
    assert_false(ts_div_round(&whole, (ts_i128)INT64_MIN * 2 - 1, 2, TS_ROUND_DOWN));
    assert_false(ts_div_round(&whole, -((ts_i128)1 << 126) * 2, 1, TS_ROUND_DOWN));
    assert_int_equal(whole, -77);
    assert_true(ts_div_round(&whole, (ts_i128)INT64_MIN * 2 - 1, 2, TS_ROUND_UP));
    assert_true(whole == INT64_MIN);
}

static void money_that_cannot_be_is_answered_false_and_leaves_out_alone(void **state)
{
    (void)state;
    const ts_dec most = {INT64_MAX};
    const ts_dec one = {1000000};
    ts_money out = {-77};
    assert_false(ts_money_product(&out, one, one, -1, TS_HALF_AWAY));
    assert_false(ts_money_product(&out, one, one, 5, TS_HALF_AWAY));
    assert_false(ts_money_product(&out, most, most, 0, TS_HALF_AWAY));
    assert_false(ts_money_from_dec(&out, one, 5, TS_HALF_AWAY));
    assert_int_equal(out.minor, -77);
    ts_dec dec = {-77};
    assert_false(ts_dec_from_money(&dec, (ts_money){INT64_MAX}, 2, TS_HALF_AWAY));
    assert_false(ts_dec_from_money(&dec, (ts_money){1}, -1, TS_HALF_AWAY));
    assert_int_equal(dec.e6, -77);
}

static void money_is_worked_out_as_its_words_say(void **state)
{
    (void)state;
    ts_money out = {0};
    /* 2.345 g × 48.226120 = 113.0902514 */
    assert_true(ts_money_product(&out, (ts_dec){2345000}, (ts_dec){48226120}, 2, TS_HALF_AWAY));
    assert_int_equal(out.minor, 11309);
    assert_true(ts_money_product(&out, (ts_dec){2345000}, (ts_dec){48226120}, 0, TS_HALF_AWAY));
    assert_int_equal(out.minor, 113);
    assert_true(ts_money_product(&out, (ts_dec){2345000}, (ts_dec){48226120}, 4, TS_HALF_AWAY));
    assert_int_equal(out.minor, 1130903);
    ts_dec dec = {0};
    assert_true(ts_dec_from_money(&dec, (ts_money){-12345}, 3, TS_HALF_AWAY));
    assert_int_equal(dec.e6, -12345000);
    assert_true(ts_dec_from_money(&dec, (ts_money){12345}, 0, TS_HALF_AWAY));
    assert_true(dec.e6 == INT64_C(12345000000));
}

/* What the nearest double to each literal is, exactly, times a million, rounded half away:
 * fractions. The three powers of two are true ties. */
static void a_double_is_rounded_by_its_exact_binary_value(void **state)
{
    (void)state;
    static const struct {
        double x;
        int64_t e6;
    } cases[] = {
        {0.0, 0},
        {-0.0, 0},
        {0.0000005, 0}, /* the double lies below */
        {5.000000000000001e-07, 1},
        {0.0000015, 2},
        {2.5e-6, 3},
        {-2.5e-6, -3},
        {1e-6, 1},
        {0.3, 300000},
        {2.675, 2675000},
        {1.0000005, 1000001},
        {0.1234565, 123456},
        {48.2261195, 48226120},
        {999.9999995, 999999999}, /* the double lies below */
        {0x1p-7, 7813},
        {0x3p-7, 23438},
        {-0x1p-7, -7813},
        {123456789012.1234565, INT64_C(123456789012123459)},
        {999999999999.9999, INT64_C(999999999999999878)},
        {1e12, INT64_C(1000000000000000000)},
        {-1e12, INT64_C(-1000000000000000000)},
        {0x1p-1074, 0},
        {-1e-300, 0},
    };
    for (size_t i = 0; i < SIZE(cases); i++) {
        ts_dec out = {-77};
        assert_true(ts_dec_from_double(&out, cases[i].x));
        if (out.e6 != cases[i].e6) {
            fail_msg("%.17g became %lld", cases[i].x, (long long)out.e6);
        }
    }
}

static void a_double_that_is_no_number_or_too_large_is_answered_false(void **state)
{
    (void)state;
    ts_dec out = {-77};
    assert_false(ts_dec_from_double(&out, (double)NAN));
    assert_false(ts_dec_from_double(&out, -(double)NAN));
    assert_false(ts_dec_from_double(&out, (double)INFINITY));
    assert_false(ts_dec_from_double(&out, -(double)INFINITY));
    assert_false(ts_dec_from_double(&out, 1000000000000.0002)); /* the next after 10^12 */
    assert_false(ts_dec_from_double(&out, -1.7976931348623157e308));
    assert_int_equal(out.e6, -77);
}

/* The C library prints a double's exact value when given room enough; the seventh decimal of
 * that text says which way to round. Values of 2^-20 to 2^33, at most 73 binary places. */
static void a_double_agrees_with_its_exact_printed_digits(void **state)
{
    (void)state;
    uint64_t seed = 99;
    for (int i = 0; i < 50000; i++) {
        double x = (double)(next_random(&seed) >> 11) * (i % 2 == 0 ? 1.0 : -1.0);
        x = ldexp(x, -(int)(20 + next_random(&seed) % 54));
        char text[160];
        snprintf(text, sizeof text, "%.80f", x);
        char *point = strchr(text, '.');
        int up = point[7] >= '5';
        point[7] = '\0';
        memmove(point, point + 1, 7);
        long long size = llabs(strtoll(text, NULL, 10)) + up;
        ts_dec out = {0};
        assert_true(ts_dec_from_double(&out, x));
        if (out.e6 != (x < 0 ? -size : size)) {
            fail_msg("%.30f became %lld", x, (long long)out.e6);
        }
    }
}

static void a_decimal_comes_back_from_its_double(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int i = 0; i < 50000; i++) {
        /* up to 2^43 millionths, where a double is far finer than half a millionth */
        ts_dec value = {(int64_t)(next_random(&seed) >> 21) - (INT64_C(1) << 42)};
        ts_dec back = {0};
        assert_true(ts_dec_from_double(&back, ts_dec_double(value)));
        assert_true(back.e6 == value.e6);
    }
    assert_true(ts_dec_double((ts_dec){2400000}) == 2.4);
    assert_true(ts_dec_double((ts_dec){-1}) == -1e-6);
}

static void expect_split(int64_t total, const int64_t *weights, const int64_t *expect, size_t n)
{
    int64_t out[8] = {0};
    assert_true(ts_split(out, total, weights, n));
    for (size_t i = 0; i < n; i++) {
        assert_true(out[i] == expect[i]);
    }
}

static void shares_by_largest_remainder_with_ties_to_the_earlier(void **state)
{
    (void)state;
    expect_split(100, (const int64_t[]){1, 1, 1}, (const int64_t[]){34, 33, 33}, 3);
    expect_split(-100, (const int64_t[]){1, 1, 1}, (const int64_t[]){-34, -33, -33}, 3);
    expect_split(101, (const int64_t[]){1, 1, 1}, (const int64_t[]){34, 34, 33}, 3);
    expect_split(10, (const int64_t[]){3, 3, 4, 0}, (const int64_t[]){3, 3, 4, 0}, 4);
    expect_split(1, (const int64_t[]){0, 1, 1}, (const int64_t[]){0, 1, 0}, 3);
    expect_split(7, (const int64_t[]){1, 2, 4}, (const int64_t[]){1, 2, 4}, 3);
    expect_split(3, (const int64_t[]){1, 2, 4}, (const int64_t[]){0, 1, 2}, 3);
    /* exact shares 0.714…, 1.428…, 2.857…: remainders to the third and the first */
    expect_split(5, (const int64_t[]){1, 2, 4}, (const int64_t[]){1, 1, 3}, 3);
    expect_split(0, (const int64_t[]){1, 2}, (const int64_t[]){0, 0}, 2);
    expect_split(9, (const int64_t[]){0, 0}, (const int64_t[]){9, 0}, 2);
    expect_split(-9, (const int64_t[]){0, 0}, (const int64_t[]){-9, 0}, 2);
    expect_split(INT64_MIN, (const int64_t[]){5}, (const int64_t[]){INT64_MIN}, 1);
    expect_split(INT64_MIN, (const int64_t[]){0, INT64_C(1000000000000000000)},
                 (const int64_t[]){0, INT64_MIN}, 2);
    expect_split(INT64_MAX, (const int64_t[]){1, 1},
                 (const int64_t[]){INT64_MAX / 2 + 1, INT64_MAX / 2}, 2);
}

static void weights_that_cannot_be_are_answered_false(void **state)
{
    (void)state;
    int64_t out[2] = {-77, -77};
    assert_false(ts_split(out, 100, (const int64_t[]){1, -1}, 2));
    assert_false(ts_split(out, 100, (const int64_t[]){INT64_C(1000000000000000001), 1}, 2));
    assert_false(ts_split(out, 100, NULL, 0)); /* nobody to give it to */
    assert_int_equal(out[0], -77);
    assert_int_equal(out[1], -77);
    assert_true(ts_split(out, 0, NULL, 0));
}

/* Each share is the exact one, cut or rounded up, and together they are the total. */
static void judge_split(const int64_t *out, int64_t total, const int64_t *weights, size_t n)
{
    ts_i128 sum = 0;
    ts_i128 given = 0;
    for (size_t i = 0; i < n; i++) {
        sum += weights[i];
        given += out[i];
    }
    assert_true(given == total);
    ts_i128 least_raised = sum;
    ts_i128 most_cut = -1;
    for (size_t i = 0; i < n && sum != 0; i++) {
        ts_i128 size = total < 0 ? -(ts_i128)total : (ts_i128)total;
        ts_i128 share = out[i] < 0 ? -(ts_i128)out[i] : (ts_i128)out[i];
        ts_i128 exact = size * weights[i]; /* times the sum */
        ts_i128 cut = exact / sum;
        assert_true(share == cut || share == cut + 1);
        ts_i128 remainder = exact - cut * sum;
        if (share != cut) {
            least_raised = remainder < least_raised ? remainder : least_raised;
        } else {
            most_cut = remainder > most_cut ? remainder : most_cut;
        }
    }
    assert_true(sum == 0 || most_cut <= least_raised);
}

static void shares_add_up_for_random_weights(void **state)
{
    (void)state;
    uint64_t seed = 31;
    for (int round = 0; round < 20000; round++) {
        int64_t weights[40];
        int64_t out[40];
        size_t n = 1 + next_random(&seed) % SIZE(weights);
        uint64_t width = next_random(&seed) % 60;
        for (size_t i = 0; i < n; i++) {
            uint64_t bits = next_random(&seed) & ((UINT64_C(1) << width) - 1);
            weights[i] = (int64_t)(bits % UINT64_C(1000000000000000001));
        }
        int64_t total = (int64_t)next_random(&seed) >> (next_random(&seed) % 64);
        assert_true(ts_split(out, total, weights, n));
        judge_split(out, total, weights, n);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rounds_ties_and_others_in_each_mode),
        cmocka_unit_test(carries_when_nines_are_rounded),
        cmocka_unit_test(rounds_wide_numbers_by_their_whole_remainder),
        cmocka_unit_test(a_rounded_quotient_is_the_nearest_whole_number),
        cmocka_unit_test(adds_and_subtracts_up_to_the_limits_of_64_bits),
        cmocka_unit_test(products_and_quotients_that_leave_64_bits_are_answered_false),
        cmocka_unit_test(money_that_cannot_be_is_answered_false_and_leaves_out_alone),
        cmocka_unit_test(money_is_worked_out_as_its_words_say),
        cmocka_unit_test(a_double_is_rounded_by_its_exact_binary_value),
        cmocka_unit_test(a_double_that_is_no_number_or_too_large_is_answered_false),
        cmocka_unit_test(a_double_agrees_with_its_exact_printed_digits),
        cmocka_unit_test(a_decimal_comes_back_from_its_double),
        cmocka_unit_test(shares_by_largest_remainder_with_ties_to_the_earlier),
        cmocka_unit_test(weights_that_cannot_be_are_answered_false),
        cmocka_unit_test(shares_add_up_for_random_weights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
