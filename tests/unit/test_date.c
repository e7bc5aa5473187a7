/* Calendar days against GNU date, and the calendar's own laws. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/date.h>

#include "table.h"

static void days_are_those_that_an_independent_program_counts(void **state)
{
    (void)state;
    table *dates = table_open("tests/reference/dates.csv");
    for (const table_row *row; (row = table_next(dates)) != NULL;) {
        ts_date date = TS_DATE_NONE;
        char text[TS_DATE_TEXT];
        char words[32];
        assert_true(ts_date_read(&date, table_text(row, "text")));
        assert_int_equal(date.days, (int32_t)table_number(row, "days"));
        assert_string_equal(ts_date_text(text, date), table_text(row, "text"));
        assert_string_equal(ts_date_words(words, date), table_text(row, "words"));
    }
    table_close(dates);
}

/* Walks 301 years day by day with the rule of the calendar and nothing else. */
static void every_day_reads_back_and_follows_the_day_before(void **state)
{
    (void)state;
    static const int lengths[13] = {0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int32_t expect = -25567; /* 1900-01-01, source: GNU date 9.1 */
    for (int year = 1900; year <= 2200; year++) {
        for (int month = 1; month <= 12; month++) {
            const int leap = year % 400 == 0 || (year % 4 == 0 && year % 100 != 0);
            const int length = lengths[month] + (month == 2 ? leap : 0);
            for (int day = 1; day <= 31; day++) {
                char text[TS_DATE_TEXT];
                char again[TS_DATE_TEXT];
                ts_date date = TS_DATE_NONE;
                snprintf(text, sizeof text, "%04d-%02d-%02d", year % 10000, month % 100, day % 100);
                assert_int_equal(ts_date_read(&date, text), day <= length);
                if (day <= length) {
                    assert_int_equal(date.days, expect++);
                    assert_string_equal(ts_date_text(again, date), text);
                }
            }
        }
    }
}

static void what_is_no_date_is_refused_and_leaves_the_old_one(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "",           "2026-3-09",  "2026-03-9",   "2026/03/09",  "09.03.2026",
        "2026-02-29", "2026-02-31", "2026-13-01",  "2026-00-10",  "2026-01-00",
        "1899-12-31", "2201-01-01", "2026-03-09 ", " 2026-03-09", "2026-03-0a",
        "20260309",   "+026-03-09", "2026-03-091"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ts_date date = {7};
        assert_false(ts_date_read(&date, texts[i]));
        assert_int_equal(date.days, 7);
    }
    ts_date date = {7};
    assert_false(ts_date_read(&date, NULL));
}

static void adding_days_crosses_months_and_never_wraps(void **state)
{
    (void)state;
    ts_date date = TS_DATE_NONE;
    char text[TS_DATE_TEXT];
    assert_false(ts_date_given(date));
    assert_string_equal(ts_date_text(text, date), "");
    assert_false(ts_date_given(ts_date_plus(date, 30)));
    assert_true(ts_date_read(&date, "2026-01-31"));
    assert_true(ts_date_given(date));
    assert_string_equal(ts_date_text(text, ts_date_plus(date, 30)), "2026-03-02");
    assert_string_equal(ts_date_text(text, ts_date_plus(date, -31)), "2025-12-31");
    assert_int_equal(ts_date_plus((ts_date){INT32_MAX}, INT32_MAX).days, INT32_MAX);
    const ts_date lowest = ts_date_plus((ts_date){INT32_MIN + 5}, INT32_MIN);
    assert_true(ts_date_given(lowest));
    assert_in_range(strlen(ts_date_text(text, lowest)), 1, TS_DATE_TEXT - 1);
    assert_in_range(strlen(ts_date_text(text, (ts_date){INT32_MAX})), 1, TS_DATE_TEXT - 1);
}

static void today_lies_in_the_years_that_can_be_read(void **state)
{
    (void)state;
    char text[TS_DATE_TEXT];
    ts_date again = TS_DATE_NONE;
    assert_true(ts_date_read(&again, ts_date_text(text, ts_date_today())));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(days_are_those_that_an_independent_program_counts),
        cmocka_unit_test(every_day_reads_back_and_follows_the_day_before),
        cmocka_unit_test(what_is_no_date_is_refused_and_leaves_the_old_one),
        cmocka_unit_test(adding_days_crosses_months_and_never_wraps),
        cmocka_unit_test(today_lies_in_the_years_that_can_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
