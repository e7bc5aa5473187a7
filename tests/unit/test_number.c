#include <tallystone/base/decimal.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* Reading and writing of numbers (number.c). Expected texts and places are common practice:
 * each follows from the rule written in decimal.h and was put down by hand from it.
 * The limits of 64 bits are those of C11, 7.20.2. */

#define SIZE(array) (sizeof(array) / sizeof((array)[0]))
#define NBSP "\xc2\xa0"
#define MINUS "\xe2\x88\x92"

/* splitmix64, with a fixed seed: the same values in every run. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

typedef struct good {
    const char *text;
    char point;
    int64_t e6;
} good;

static void reads_plain_numbers(void **state)
{
    (void)state;
    static const good cases[] = {
        {"0", '.', 0},
        {"7", '.', 7000000},
        {"2.4", '.', 2400000},
        {"2,4", ',', 2400000},
        {"-2.4", '.', -2400000},
        {"+2.4", '.', 2400000},
        {MINUS "2.4", '.', -2400000},
        {"-0", '.', 0},
        {"007.50", '.', 7500000},
        {".5", '.', 500000},
        {"5.", '.', 5000000},
        {"0.000001", '.', 1},
        {"-0.000001", '.', -1},
        {"1.250000000000", '.', 1250000},
        {"1.234", '.', 1234000},
        {"1,234", ',', 1234000},
        {"999999999999.999999", '.', INT64_C(999999999999999999)},
        {"-999999999999,999999", ',', -INT64_C(999999999999999999)},
        {" \t 12 \t", '.', 12000000},
        {NBSP "12.5" NBSP, '.', 12500000},
    };
    for (size_t i = 0; i < SIZE(cases); i++) {
        ts_dec out = {-77};
        size_t where = 0;
        ts_number_fault fault = ts_dec_read(&out, cases[i].text, cases[i].point, &where);
        if (fault != TS_NUMBER_OK || out.e6 != cases[i].e6) {
            fail_msg("'%s': fault %d, %lld", cases[i].text, (int)fault, (long long)out.e6);
        }
    }
}

typedef struct refused {
    const char *text;
    char point;
    ts_number_fault fault;
    size_t where;
} refused;

static void judge_refused(const refused *cases, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        ts_dec out = {-77};
        size_t where = 999;
        ts_number_fault fault = ts_dec_read(&out, cases[i].text, cases[i].point, &where);
        if (fault != cases[i].fault || where != cases[i].where || out.e6 != -77) {
            fail_msg("'%s': fault %d at %zu, expected %d at %zu; *out %lld", cases[i].text,
                     (int)fault, where, (int)cases[i].fault, cases[i].where, (long long)out.e6);
        }
        assert_int_equal(ts_dec_read(&out, cases[i].text, cases[i].point, NULL), cases[i].fault);
    }
}

static void names_the_byte_that_is_no_digit(void **state)
{
    (void)state;
    static const refused cases[] = {
        {"x", '.', TS_NUMBER_BAD, 0},
        {"12x4", '.', TS_NUMBER_BAD, 2},
        {"1.2.3", '.', TS_NUMBER_BAD, 3},
        {"1..2", '.', TS_NUMBER_BAD, 2},
        {"12 5", '.', TS_NUMBER_BAD, 3},
        {"12" NBSP "500", '.', TS_NUMBER_BAD, 4},
        {"--5", '.', TS_NUMBER_BAD, 1},
        {"- 5", '.', TS_NUMBER_BAD, 1},
        {MINUS "x", '.', TS_NUMBER_BAD, 3},
        {"5-", '.', TS_NUMBER_BAD, 1},
        {"-", '.', TS_NUMBER_BAD, 1},
        {".", '.', TS_NUMBER_BAD, 0},
        {"-.", '.', TS_NUMBER_BAD, 1},
        {"1e3", '.', TS_NUMBER_BAD, 1},
        {"1.5E3", '.', TS_NUMBER_BAD, 3},
        {"0x10", '.', TS_NUMBER_BAD, 1},
        {"inf", '.', TS_NUMBER_BAD, 0},
        {"-nan", '.', TS_NUMBER_BAD, 1},
        {"50%", '.', TS_NUMBER_BAD, 2},
        {"1'000", '.', TS_NUMBER_BAD, 1},
        {"\xd9\xa3", '.', TS_NUMBER_BAD, 0},         /* U+0663, a digit elsewhere */
        {"12345678901234x", '.', TS_NUMBER_BAD, 14}, /* before its width is judged */
        {"1.12345678x", '.', TS_NUMBER_BAD, 10},
    };
    judge_refused(cases, SIZE(cases));
}

static void refuses_numbers_that_are_empty_too_wide_or_too_fine(void **state)
{
    (void)state;
    static const refused cases[] = {
        {NULL, '.', TS_NUMBER_EMPTY, 0},
        {"", '.', TS_NUMBER_EMPTY, 0},
        {" " NBSP "\t", '.', TS_NUMBER_EMPTY, 4},
        {"1234567890123", '.', TS_NUMBER_RANGE, 12},
        {" -12345678901234.5", '.', TS_NUMBER_RANGE, 14},
        {"99999999999999999999999999999999999999", '.', TS_NUMBER_RANGE, 12},
        {"1.0000001", '.', TS_NUMBER_DECIMALS, 8},
        {"1.00000000002", '.', TS_NUMBER_DECIMALS, 12},
        {"-0,1234567", ',', TS_NUMBER_DECIMALS, 9},
        {"1234567890123.1234567", '.', TS_NUMBER_RANGE, 12},
    };
    judge_refused(cases, SIZE(cases));
}

static void asks_which_reading_of_1_234_is_meant(void **state)
{
    (void)state;
    static const refused cases[] = {
        {"1,234", '.', TS_NUMBER_AMBIGUOUS, 1},
        {"1.234", ',', TS_NUMBER_AMBIGUOUS, 1},
        {" -12,500 ", '.', TS_NUMBER_AMBIGUOUS, 4},
        {"1234.567", ',', TS_NUMBER_AMBIGUOUS, 4},
        /* with other digits behind it, or a second mark, it is no number at all */
        {"1,23", '.', TS_NUMBER_BAD, 1},
        {"1,2345", '.', TS_NUMBER_BAD, 1},
        {"1.5", ',', TS_NUMBER_BAD, 1},
        {"1,234,567", '.', TS_NUMBER_BAD, 1},
        {"1,234.5", '.', TS_NUMBER_BAD, 1},
        {"1.234,5", ',', TS_NUMBER_BAD, 1},
        {",234", '.', TS_NUMBER_BAD, 0},
        {"1,23x", '.', TS_NUMBER_BAD, 1},
        {"1;234", '.', TS_NUMBER_BAD, 1},
    };
    judge_refused(cases, SIZE(cases));
}

static void expect_text(const char *got, const char *expect)
{
    assert_string_equal(got, expect);
}

static void writes_decimals_without_trailing_zeros_or_negative_zero(void **state)
{
    (void)state;
    char room[TS_DECIMAL_TEXT];
    expect_text(ts_dec_text(room, (ts_dec){0}), "0");
    expect_text(ts_dec_text(room, (ts_dec){1}), "0.000001");
    expect_text(ts_dec_text(room, (ts_dec){-1}), "-0.000001");
    expect_text(ts_dec_text(room, (ts_dec){2400000}), "2.4");
    expect_text(ts_dec_text(room, (ts_dec){-2400000}), "-2.4");
    expect_text(ts_dec_text(room, (ts_dec){48226120}), "48.22612");
    expect_text(ts_dec_text(room, (ts_dec){1000000}), "1");
    expect_text(ts_dec_text(room, (ts_dec){10000000000}), "10000");
    expect_text(ts_dec_text(room, (ts_dec){100000001}), "100.000001");
    expect_text(ts_dec_text(room, (ts_dec){INT64_MAX}), "9223372036854.775807");
    expect_text(ts_dec_text(room, (ts_dec){INT64_MIN}), "-9223372036854.775808");
    assert_ptr_equal(ts_dec_text(room, (ts_dec){0}), room);
}

static void writes_a_fixed_number_of_decimals_and_carries_nines(void **state)
{
    (void)state;
    char room[TS_DECIMAL_TEXT];
    expect_text(ts_dec_fixed(room, (ts_dec){999999999}, 6), "999.999999");
    expect_text(ts_dec_fixed(room, (ts_dec){999999999}, 5), "1000.00000");
    expect_text(ts_dec_fixed(room, (ts_dec){999999999}, 2), "1000.00");
    expect_text(ts_dec_fixed(room, (ts_dec){999499999}, 0), "999");
    expect_text(ts_dec_fixed(room, (ts_dec){999500000}, 0), "1000");
    expect_text(ts_dec_fixed(room, (ts_dec){-999500000}, 0), "-1000");
    expect_text(ts_dec_fixed(room, (ts_dec){1005000}, 2), "1.01");
    expect_text(ts_dec_fixed(room, (ts_dec){-1005000}, 2), "-1.01");
    expect_text(ts_dec_fixed(room, (ts_dec){1004999}, 2), "1.00");
    expect_text(ts_dec_fixed(room, (ts_dec){-4999}, 2), "0.00");
    expect_text(ts_dec_fixed(room, (ts_dec){-5000}, 2), "-0.01");
    expect_text(ts_dec_fixed(room, (ts_dec){0}, 3), "0.000");
    expect_text(ts_dec_fixed(room, (ts_dec){INT64_MIN}, 5), "-9223372036854.77581");
    expect_text(ts_dec_fixed(room, (ts_dec){INT64_MAX}, 0), "9223372036855");
}

static void writes_money_with_its_currencys_decimals(void **state)
{
    (void)state;
    char room[TS_DECIMAL_TEXT];
    expect_text(ts_money_text(room, (ts_money){0}, 2), "0.00");
    expect_text(ts_money_text(room, (ts_money){5}, 2), "0.05");
    expect_text(ts_money_text(room, (ts_money){-5}, 2), "-0.05");
    expect_text(ts_money_text(room, (ts_money){123450}, 2), "1234.50");
    expect_text(ts_money_text(room, (ts_money){123450}, 0), "123450");
    expect_text(ts_money_text(room, (ts_money){123450}, 3), "123.450");
    expect_text(ts_money_text(room, (ts_money){7}, 4), "0.0007");
    expect_text(ts_money_text(room, (ts_money){INT64_MAX}, 2), "92233720368547758.07");
    expect_text(ts_money_text(room, (ts_money){INT64_MIN}, 0), "-9223372036854775808");
}

static void groups_money_by_threes_for_people(void **state)
{
    (void)state;
    char room[TS_DECIMAL_TEXT];
    expect_text(ts_money_grouped(room, (ts_money){99999}, 2), "999.99");
    expect_text(ts_money_grouped(room, (ts_money){100000}, 2), "1" NBSP "000.00");
    expect_text(ts_money_grouped(room, (ts_money){-123456789}, 2), "-1" NBSP "234" NBSP "567.89");
    expect_text(ts_money_grouped(room, (ts_money){1000050}, 0), "1" NBSP "000" NBSP "050");
    expect_text(ts_money_grouped(room, (ts_money){999}, 3), "0.999");
    expect_text(ts_money_grouped(room, (ts_money){0}, 0), "0");
    expect_text(ts_money_grouped(room, (ts_money){INT64_MIN}, 0),
                "-9" NBSP "223" NBSP "372" NBSP "036" NBSP "854" NBSP "775" NBSP "808");
}

/* A random value of any size: sizes from one digit to nineteen are equally likely. */
static int64_t random_value(uint64_t *seed)
{
    uint64_t bits = next_random(seed) >> (next_random(seed) % 64);
    return (next_random(seed) & 1) != 0 ? -(int64_t)(bits >> 1) : (int64_t)(bits >> 1);
}

static void text_read_back_is_the_same_number(void **state)
{
    (void)state;
    uint64_t seed = 20260309;
    for (int i = 0; i < 200000; i++) {
        char text[TS_DECIMAL_TEXT];
        ts_dec value = {random_value(&seed) % INT64_C(1000000000000000000)};
        ts_dec back = {0};
        size_t where = 0;
        ts_dec_text(text, value);
        if (ts_dec_read(&back, text, '.', &where) != TS_NUMBER_OK || back.e6 != value.e6) {
            fail_msg("%lld was written as %s", (long long)value.e6, text);
        }
        ts_dec_fixed(text, value, 6);
        assert_int_equal(ts_dec_read(&back, text, '.', &where), TS_NUMBER_OK);
        assert_true(back.e6 == value.e6);
    }
}

/* The C library, which prints integers by another way, writes the same digits. */
static void texts_agree_with_the_c_librarys_integers(void **state)
{
    (void)state;
    static const long long units[] = {1, 10, 100, 1000, 10000};
    uint64_t seed = 42;
    for (int i = 0; i < 100000; i++) {
        int exponent = i % 5;
        long long value = random_value(&seed);
        long long size = value < 0 ? -value : value;
        char expect[TS_DECIMAL_TEXT];
        char got[TS_DECIMAL_TEXT];
        int length =
            snprintf(expect, sizeof expect, "%s%lld", value < 0 ? "-" : "", size / units[exponent]);
        if (exponent != 0) {
            snprintf(expect + length, sizeof expect - (size_t)length, ".%0*lld", exponent,
                     size % units[exponent]);
        }
        assert_string_equal(ts_money_text(got, (ts_money){value}, exponent), expect);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_plain_numbers),
        cmocka_unit_test(names_the_byte_that_is_no_digit),
        cmocka_unit_test(refuses_numbers_that_are_empty_too_wide_or_too_fine),
        cmocka_unit_test(asks_which_reading_of_1_234_is_meant),
        cmocka_unit_test(writes_decimals_without_trailing_zeros_or_negative_zero),
        cmocka_unit_test(writes_a_fixed_number_of_decimals_and_carries_nines),
        cmocka_unit_test(writes_money_with_its_currencys_decimals),
        cmocka_unit_test(groups_money_by_threes_for_people),
        cmocka_unit_test(text_read_back_is_the_same_number),
        cmocka_unit_test(texts_agree_with_the_c_librarys_integers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
