/* Ring sizes against published scales and an independent program. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "geometry/ringsize.h"
#include "table.h"

static void sizes_have_the_published_inside_diameters(void **state)
{
    table *sizes = table_open("tests/reference/ringsizes.csv");
    int seen[TS_SIZE_COUNT] = {0};

    (void)state;
    for (const table_row *row; (row = table_next(sizes)) != NULL;) {
        int system = ts_list_find(TS_LIST_SIZE, table_text(row, "system"));
        double expect_mm = table_number(row, "diameter_mm");
        double got_mm = ts_ring_bore_mm((ts_size_system)system, table_number(row, "number"));

        assert_true(system != TS_SIZE_NONE);
        seen[system]++;
        if (!(fabs(got_mm - expect_mm) <= table_number(row, "tol_mm"))) {
            fail_msg("line %d: %.10f mm, expected %.10f", table_line(row), got_mm, expect_mm);
        }
    }
    for (int system = 1; system < TS_SIZE_COUNT; system++) {
        assert_true(seen[system] > 0);
    }
    table_close(sizes);
}

static void the_number_of_a_diameter_is_the_number_it_came_from(void **state)
{
    table *sizes = table_open("tests/reference/ringsizes.csv");

    (void)state;
    for (const table_row *row; (row = table_next(sizes)) != NULL;) {
        ts_size_system system =
            (ts_size_system)ts_list_find(TS_LIST_SIZE, table_text(row, "system"));
        double number = table_number(row, "number");
        double back = ts_ring_number(system, ts_ring_bore_mm(system, number));

        assert_true(fabs(back - number) <= 1e-11);
    }
    table_close(sizes);
}

/* 11.63 mm is size 0, not size 3: a formula seen on a public page. */
static void the_formula_that_counts_from_three_is_not_ours(void **state)
{
    (void)state;
    for (double n = 3.0; n <= 13.0; n += 0.5) {
        double wrong_mm = 11.63 + (n - 3.0) * 0.814;

        assert_true(fabs(ts_ring_bore_mm(TS_SIZE_US, n) - wrong_mm) > 2.0);
    }
}

/* Charts that start the letters at 37.8 mm are not BS 6820. */
static void letters_begin_at_37_50_and_not_at_37_8(void **state)
{
    const double pi = acos(-1.0);

    (void)state;
    assert_true(fabs(ts_ring_bore_mm(TS_SIZE_UK, 0.0) * pi - 37.50) < 1e-12);
    assert_true(fabs(ts_ring_bore_mm(TS_SIZE_UK, 0.0) * pi - 37.8) > 0.2);
    assert_true(fabs(ts_ring_number(TS_SIZE_UK, 68.75 / pi) - 25.0) < 1e-11);
}

static void one_bore_reads_alike_in_every_system(void **state)
{
    (void)state;
    for (int one = 1; one < TS_SIZE_COUNT; one++) {
        for (int other = 1; other < TS_SIZE_COUNT; other++) {
            double number = ts_ring_number((ts_size_system)one, 17.3228);
            double bore_mm = ts_ring_bore_mm((ts_size_system)one, number);
            double there = ts_ring_number((ts_size_system)other, bore_mm);

            assert_true(fabs(ts_ring_bore_mm((ts_size_system)other, there) - 17.3228) < 1e-12);
        }
    }
}

static void no_system_gives_no_bore(void **state)
{
    (void)state;
    assert_true(ts_ring_bore_mm(TS_SIZE_NONE, 7.0) == 0.0);
    assert_true(ts_ring_number(TS_SIZE_NONE, 17.3) == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sizes_have_the_published_inside_diameters),
        cmocka_unit_test(the_number_of_a_diameter_is_the_number_it_came_from),
        cmocka_unit_test(the_formula_that_counts_from_three_is_not_ours),
        cmocka_unit_test(letters_begin_at_37_50_and_not_at_37_8),
        cmocka_unit_test(one_bore_reads_alike_in_every_system),
        cmocka_unit_test(no_system_gives_no_bore),
    };

    return cmocka_run_group_tests_name("ringsize", tests, NULL, NULL);
}
