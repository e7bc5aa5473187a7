#include <tallystone/base/decimal.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* Exact fractions (ratio.c). Figures named "fractions" were computed by Python's module of
 * that name; the others follow from the definition by hand. */

/* splitmix64, with a fixed seed: the same values in every run. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static ts_i128 wide(int64_t high, int64_t power, int64_t low)
{
    return (ts_i128)high * power + low;
}

static ts_ratio ratio(ts_i128 num, ts_i128 den)
{
    ts_ratio out = {0};
    assert_true(ts_ratio_of(&out, num, den));
    return out;
}

static void expect_ratio(ts_ratio got, ts_i128 num, ts_i128 den)
{
    assert_true(got.num == num);
    assert_true(got.den == den);
}

static int64_t millionths_of(ts_ratio a, ts_rounding mode)
{
    ts_dec out = {0};
    assert_true(ts_ratio_dec(&out, a, mode));
    return out.e6;
}

static void stands_in_lowest_terms_with_the_sign_above(void **state)
{
    (void)state;
    expect_ratio(ratio(6, 4), 3, 2);
    expect_ratio(ratio(6, -4), -3, 2);
    expect_ratio(ratio(-6, -4), 3, 2);
    expect_ratio(ratio(0, -7), 0, 1);
    expect_ratio(ratio(-((ts_i128)6 << 100), (ts_i128)4 << 100), -3, 2);
    expect_ratio(ratio(311034768, 10000000), 19439673, 625000); /* fractions */
}

static void adds_and_multiplies_and_divides(void **state)
{
    (void)state;
    ts_ratio out = {0};
    assert_true(ts_ratio_add(&out, ratio(1, 6), ratio(1, 10)));
    expect_ratio(out, 4, 15);
    assert_true(ts_ratio_add(&out, ratio(1, 6), ratio(-1, 6)));
    expect_ratio(out, 0, 1);
    assert_true(ts_ratio_add(&out, ratio(1, 10), ratio(-1, 6)));
    expect_ratio(out, -1, 15);
    assert_true(ts_ratio_add(&out, ratio(-1, 10), ratio(1, 6)));
    expect_ratio(out, 1, 15);
    assert_true(ts_ratio_mul(&out, ratio(-4, 9), ratio(3, 8)));
    expect_ratio(out, -1, 6);
    assert_true(ts_ratio_mul(&out, ratio(0, 9), ratio(-3, 8)));
    expect_ratio(out, 0, 1);
    assert_true(ts_ratio_div(&out, ratio(4, 9), ratio(-8, 3)));
    expect_ratio(out, -1, 6);
    assert_true(ts_ratio_div(&out, out, out)); /* *out may be an operand */
    expect_ratio(out, 1, 1);
}

/* 2000 an ounce × 0.75 / 31.1034768 g = 48.2261198529419707831…, from the definition of the
 * ounce troy (480 grains of 0.06479891 g); recomputed with fractions: 312500000/6479891. */
static void a_price_an_ounce_becomes_a_price_a_gram(void **state)
{
    (void)state;
    ts_ratio out = {0};
    assert_true(ts_ratio_mul(&out, ratio(2000, 1), ratio(750, 1000)));
    assert_true(ts_ratio_div(&out, out, ratio(311034768, 10000000)));
    expect_ratio(out, 312500000, 6479891);
    char text[TS_DECIMAL_TEXT];
    ts_dec rate = {0};
    assert_true(ts_ratio_dec(&rate, out, TS_HALF_AWAY));
    assert_string_equal(ts_dec_fixed(text, rate, 6), "48.226120");
    assert_int_equal(millionths_of(out, TS_ROUND_DOWN), 48226119);
    assert_int_equal(millionths_of(out, TS_ROUND_UP), 48226120);
}

static void rounds_to_millionths_in_each_mode(void **state)
{
    (void)state;
    ts_ratio nines = ratio(9999999995, 10000000); /* 999.9999995 */
    assert_int_equal(millionths_of(nines, TS_HALF_AWAY), 1000000000);
    assert_int_equal(millionths_of(nines, TS_HALF_EVEN), 1000000000);
    assert_int_equal(millionths_of(nines, TS_ROUND_DOWN), 999999999);
    ts_ratio tie = ratio(-5, 10000000); /* -0.0000005 */
    assert_int_equal(millionths_of(tie, TS_HALF_AWAY), -1);
    assert_int_equal(millionths_of(tie, TS_HALF_EVEN), 0);
    assert_int_equal(millionths_of(tie, TS_ROUND_UP), 0);
    assert_int_equal(millionths_of(tie, TS_ROUND_DOWN), -1);
    assert_int_equal(millionths_of(ratio(15, 10000000), TS_HALF_EVEN), 2);
    assert_int_equal(millionths_of(ratio(25, 10000000), TS_HALF_EVEN), 2);
}

/* Denominators of 123 bits, where a million times the rest no longer fits in 128. */
static void rounds_rightly_where_the_denominator_is_huge(void **state)
{
    (void)state;
    const int64_t e18 = INT64_C(1000000000000000000);
    ts_i128 num = wide(INT64_C(1234567890123456789), e18, 0) * 10 + INT64_C(123456789012345678);
    ts_i128 den = wide(INT64_C(987654321098765432), e18, 0) * 10 + (ts_i128)e18;
    den += INT64_C(98765432109876543);
    /* den = 9876543210987654321·10^18 + 98765432109876543, num = 1234567890123456789·10^19 +
     * 123456789012345678; num/den = 1.249999988609375…, fractions */
    assert_int_equal(millionths_of(ratio(num, den), TS_HALF_AWAY), 1250000);
    assert_int_equal(millionths_of(ratio(num, den), TS_ROUND_DOWN), 1249999);
    ts_i128 e37 = (ts_i128)e18 * e18 * 10;
    assert_int_equal(millionths_of(ratio(2 * e37 + 7, e37 + 1), TS_HALF_AWAY), 2000000);
    assert_int_equal(millionths_of(ratio(2 * e37 + 7, e37 + 1), TS_ROUND_UP), 2000001);
    assert_int_equal(millionths_of(ratio(-e37 - 1, 3 * e37 + 1), TS_HALF_AWAY), -333333);
    assert_int_equal(millionths_of(ratio(-e37 - 1, 3 * e37 + 1), TS_ROUND_DOWN), -333334);
}

static void what_does_not_fit_is_answered_false_and_leaves_out_alone(void **state)
{
    (void)state;
    const ts_i128 most = ((((ts_i128)1 << 126) - 1) << 1) + 1; /* 2^127 - 1, a prime */
    ts_ratio kept = {11, 13};
    assert_false(ts_ratio_of(&kept, 1, 0));
    assert_false(ts_ratio_of(&kept, -most - 1, 1)); /* has no negative */
    assert_false(ts_ratio_of(&kept, 1, -most - 1));
    assert_true(ratio(-most - 1, 2).num == -((ts_i128)1 << 126));
    assert_false(ts_ratio_add(&kept, ratio(most, 1), ratio(1, 1)));
    assert_false(ts_ratio_add(&kept, ratio(1, most), ratio(1, most - 1)));
    assert_false(ts_ratio_mul(&kept, ratio(most, 1), ratio(2, 1)));
    assert_false(ts_ratio_mul(&kept, ratio(1, most), ratio(1, 2)));
    assert_false(ts_ratio_div(&kept, ratio(most, 1), ratio(1, 2)));
    assert_false(ts_ratio_div(&kept, ratio(1, 2), ratio(0, 1)));
    assert_false(ts_ratio_add(&kept, (ts_ratio){0}, ratio(1, 2))); /* a denominator of 0 */
    assert_false(ts_ratio_mul(&kept, ratio(1, 2), (ts_ratio){0}));
    expect_ratio(kept, 11, 13);
    ts_dec dec = {-77};
    assert_false(ts_ratio_dec(&dec, ratio(most, 3), TS_HALF_AWAY));
    assert_false(ts_ratio_dec(&dec, (ts_ratio){0}, TS_HALF_AWAY));
    assert_false(ts_ratio_dec(&dec, ratio(wide(INT64_MAX, 10, 8), 10000000), TS_HALF_EVEN));
    assert_false(ts_ratio_dec(&dec, ratio(INT64_MAX, 1000000 - 1), TS_HALF_AWAY));
    assert_int_equal(dec.e6, -77);
    assert_true(millionths_of(ratio(INT64_MAX, 1000000), TS_HALF_AWAY) == INT64_MAX);
    assert_true(millionths_of(ratio(INT64_MIN, 1000000), TS_HALF_AWAY) == INT64_MIN);
    assert_true(millionths_of(ratio(wide(INT64_MAX, 10, 8), 10000000), TS_ROUND_DOWN) == INT64_MAX);
}

/* Common factors go before the product is formed, so these fit although a plain product of
 * numerators or denominators would not. */
static void takes_common_factors_out_before_it_multiplies(void **state)
{
    (void)state;
    const ts_i128 most = ((((ts_i128)1 << 126) - 1) << 1) + 1;
    ts_ratio out = {0};
    assert_true(ts_ratio_mul(&out, ratio(most, 3), ratio(3, most)));
    expect_ratio(out, 1, 1);
    assert_true(ts_ratio_div(&out, ratio(most, 7), ratio(most, 5)));
    expect_ratio(out, 5, 7);
    assert_true(ts_ratio_add(&out, ratio(1, most), ratio(2, most)));
    expect_ratio(out, 3, most);
    assert_true(ts_ratio_add(&out, ratio(1, most), ratio(-1, most)));
    expect_ratio(out, 0, 1);
}

static ts_ratio random_ratio(uint64_t *seed)
{
    int64_t num = (int64_t)(next_random(seed) >> (2 + next_random(seed) % 60));
    int64_t den = (int64_t)(next_random(seed) >> (2 + next_random(seed) % 60)) + 1;
    return ratio((next_random(seed) & 1) != 0 ? -num : num, den);
}

static ts_i128 remainder_free(ts_i128 a, ts_i128 b)
{
    while (b != 0) {
        ts_i128 rest = a % b;
        a = b;
        b = rest;
    }
    return a < 0 ? -a : a;
}

static void what_is_added_can_be_taken_away_and_what_is_multiplied_divided(void **state)
{
    (void)state;
    uint64_t seed = 7;
    int summed = 0;
    for (int i = 0; i < 20000; i++) {
        ts_ratio a = random_ratio(&seed);
        ts_ratio b = random_ratio(&seed);
        ts_ratio negative = {-b.num, b.den};
        ts_ratio out = {0};
        assert_true(ts_ratio_mul(&out, a, b));
        assert_true(remainder_free(out.num, out.den) == 1);
        if (b.num != 0) {
            assert_true(ts_ratio_div(&out, out, b));
            expect_ratio(out, a.num, a.den);
        }
        assert_true(ts_ratio_add(&out, a, b));
        assert_true(out.den > 0 && remainder_free(out.num, out.den) == 1);
        ts_ratio back = {0};
        if (ts_ratio_add(&back, out, negative)) { /* the way back may be too long */
            expect_ratio(back, a.num, a.den);
            summed++;
        }
    }
    assert_true(summed > 10000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stands_in_lowest_terms_with_the_sign_above),
        cmocka_unit_test(adds_and_multiplies_and_divides),
        cmocka_unit_test(a_price_an_ounce_becomes_a_price_a_gram),
        cmocka_unit_test(rounds_to_millionths_in_each_mode),
        cmocka_unit_test(rounds_rightly_where_the_denominator_is_huge),
        cmocka_unit_test(what_does_not_fit_is_answered_false_and_leaves_out_alone),
        cmocka_unit_test(takes_common_factors_out_before_it_multiplies),
        cmocka_unit_test(what_is_added_can_be_taken_away_and_what_is_multiplied_divided),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
