#include <tallystone/costing/costing.h>
#include <tallystone/costing/figure.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Figures: exact values, one rounding, and NULL through to the end of a chain. Expected
 * values are worked by hand (sums and products of short decimals) or named. */

static ts_arena *arena;

static int set_up(void **state)
{
    (void)state;
    arena = ts_arena_new(NULL, NULL);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    ts_arena_free(arena);
    return 0;
}

static const ts_figure *leaf(int64_t e6)
{
    return ts_figure_quantity(arena, "leaf", (ts_dec){e6}, "", "sheet.csv", 1, NULL);
}

static void assert_value(const ts_figure *figure, const char *text)
{
    char buffer[TS_DECIMAL_TEXT];
    bool exact;
    assert_non_null(figure);
    assert_string_equal(ts_figure_text(buffer, figure, &exact), text);
    assert_true(exact);
}

static void a_product_is_rounded_once(void **state)
{
    (void)state;
    /* 2000 × 0.75 / 31.1034768 = 48.2261198529…; source: Python decimal, 60 digits */
    const ts_figure *ounce =
        ts_figure_two(arena, TS_OP_DIV, "ounce", "g", leaf(311034768000000), leaf(10000000000000));
    const ts_figure *gram = ts_figure_two(arena, TS_OP_DIV, "gram", "", leaf(2000000000), ounce);
    const ts_figure *fine = ts_figure_two(arena, TS_OP_MUL, "fine", "", leaf(750000), gram);
    char buffer[TS_DECIMAL_TEXT];
    bool exact = true;
    assert_string_equal(ts_figure_text(buffer, fine, &exact), "48.22612");
    assert_false(exact);
    assert_value(ts_figure_round(arena, "fine", "", fine, 6, TS_HALF_AWAY), "48.22612");
}

static void rounding_tells_the_modes_apart(void **state)
{
    (void)state;
    assert_value(ts_figure_round(arena, "", "", leaf(1005000), 2, TS_HALF_AWAY), "1.01");
    assert_value(ts_figure_round(arena, "", "", leaf(1005000), 2, TS_HALF_EVEN), "1");
    assert_value(ts_figure_round(arena, "", "", leaf(-1005000), 2, TS_HALF_AWAY), "-1.01");
    assert_value(ts_figure_round(arena, "", "", leaf(2500000), 0, TS_HALF_EVEN), "2");
}

static void operations_do_what_they_say(void **state)
{
    (void)state;
    const ts_figure *three[] = {leaf(1100000), leaf(2200000), leaf(3300000)};
    assert_value(ts_figure_of(arena, TS_OP_SUM, "", "", three, 3), "6.6");
    assert_value(ts_figure_two(arena, TS_OP_SUB, "", "", three[0], three[1]), "-1.1");
    assert_value(ts_figure_two(arena, TS_OP_MAX, "", "", three[0], three[1]), "2.2");
    assert_value(ts_figure_two(arena, TS_OP_MIN, "", "", three[0], three[1]), "1.1");
    assert_value(ts_figure_of(arena, TS_OP_CEILING, "", "", three, 1), "2");
    assert_value(ts_figure_two(arena, TS_OP_STEP, "", "", leaf(1996960000), leaf(5000000)), "2000");
    assert_value(ts_figure_two(arena, TS_OP_STEP, "", "", leaf(2000000000), leaf(5000000)), "2000");
    assert_value(ts_figure_two(arena, TS_OP_STEP, "", "", leaf(-124990000), leaf(5000000)), "-120");
    assert_null(ts_figure_two(arena, TS_OP_STEP, "", "", leaf(1000000), leaf(0)));
    assert_null(ts_figure_two(arena, TS_OP_STEP, "", "", leaf(1000000), leaf(-5000000)));
}

static void shares_add_up_and_ties_go_to_the_earlier(void **state)
{
    (void)state;
    const ts_figure *weights[] = {leaf(1000000), leaf(1000000), leaf(1000000)};
    const ts_figure *total = leaf(100000000);
    assert_value(ts_figure_share(arena, "", "", total, weights, 3, 0, 2), "33.34");
    assert_value(ts_figure_share(arena, "", "", total, weights, 3, 1, 2), "33.33");
    assert_value(ts_figure_share(arena, "", "", leaf(-100000000), weights, 3, 0, 2), "-33.34");
}

static void overflow_shows_at_the_end_of_a_chain(void **state)
{
    (void)state;
    const ts_figure *big = leaf(INT64_MAX);
    for (int i = 0; i < 8; i++) {
        big = ts_figure_two(arena, TS_OP_MUL, "big", "", big, big);
    }
    assert_null(big);
    assert_null(ts_figure_two(arena, TS_OP_SUM, "", "", big, leaf(1)));
    assert_null(ts_figure_round(arena, "", "", big, 2, TS_HALF_AWAY));
    assert_null(ts_figure_two(arena, TS_OP_DIV, "", "", leaf(1), leaf(0)));
    ts_money money;
    assert_false(ts_figure_money(&money, big, 2));
    assert_false(ts_figure_money(&money, leaf(1), 2)); /* a millionth is no cent */
}

static void origin_names_each_row_once(void **state)
{
    (void)state;
    const ts_figure *book =
        ts_figure_book(arena, "rate", (ts_dec){1}, "", "metals.csv", 4, "price");
    const ts_figure *other =
        ts_figure_book(arena, "rate", (ts_dec){1}, "", "metals.csv", 41, "price");
    const ts_figure *sum = ts_figure_two(arena, TS_OP_SUM, "", "", book, other);
    const ts_figure *figures[] = {sum, NULL, book, leaf(1)};
    assert_string_equal(ts_figure_origin(arena, figures, 4),
                        "metals.csv:4 metals.csv:41 sheet.csv:1");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_product_is_rounded_once),
        cmocka_unit_test(rounding_tells_the_modes_apart),
        cmocka_unit_test(operations_do_what_they_say),
        cmocka_unit_test(shares_add_up_and_ties_go_to_the_earlier),
        cmocka_unit_test(overflow_shows_at_the_end_of_a_chain),
        cmocka_unit_test(origin_names_each_row_once),
    };
    return cmocka_run_group_tests_name("figure", tests, set_up, tear_down);
}
