#include <tallystone/book/book.h>
#include <tallystone/costing/insight.h>
#include <tallystone/design/design.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* What the owner learns beyond the price, on the halo demo and the shipped books. The
 * independent way is the engine itself, costed anew with one row of the books changed:
 * bisection for the break-even, a difference for a driver; for the range, the closed form
 * of independent normal moves (their effects add in squares). */

static ts_arena *arena;
static ts_diag *diag;
static const ts_book *book;

static int set_up(void **state)
{
    (void)state;
    arena = ts_arena_new(NULL, NULL);
    diag = ts_diag_new(arena);
    return ts_book_load(&book, arena, "pricebooks", diag) == TS_OK ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    ts_arena_free(arena);
    return 0;
}

static ts_quantities *quantities_of(const char *path)
{
    ts_sheet *sheet = NULL;
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *quantities = NULL;
    assert_int_equal(ts_sheet_read(&sheet, arena, path, diag), TS_OK);
    assert_int_equal(ts_design_of(&design, arena, sheet, 0, book, TS_DATE_NONE, diag), TS_OK);
    assert_int_equal(ts_geometry_of(&geometry, arena, design, diag), TS_OK);
    assert_int_equal(ts_quantities_of(&quantities, arena, design, geometry, book, diag), TS_OK);
    return quantities;
}

static ts_costing *costing_of(const ts_quantities *quantities)
{
    ts_costing *costing = NULL;
    assert_int_equal(ts_costing_of(&costing, arena, quantities, book, diag), TS_OK);
    return costing;
}

/* The books are frozen for everybody but this test, which moves one cell and puts it back. */
static ts_dec *market_price(ts_metal_kind metal, ts_date on)
{
    return (ts_dec *)(uintptr_t)&ts_book_metal(book, metal, on)->price;
}

static ts_dec *floor_of(ts_date on)
{
    return (ts_dec *)(uintptr_t)&ts_book_policy(book, TS_RULE_FLOOR, "margin", on)->amount.value;
}

static double margin_at(const ts_quantities *quantities, ts_dec *price, double value)
{
    ts_dec own = *price;
    assert_true(ts_dec_from_double(price, value));
    double margin = ts_margin_unrounded(arena, costing_of(quantities));
    *price = own;
    return margin;
}

static ts_dec *policy_of(ts_rule rule, const char *subject, ts_date on)
{
    return (ts_dec *)(uintptr_t)&ts_book_policy(book, rule, subject, on)->amount.value;
}

static const ts_break_even *break_even_of_gold(const ts_quantities *quantities)
{
    const ts_break_even *list = NULL;
    size_t count = ts_break_evens_of(&list, arena, costing_of(quantities));
    for (size_t i = 0; i < count; i++) {
        if (list[i].metal == TS_METAL_GOLD) {
            return &list[i];
        }
    }
    return NULL;
}

/* Where the margin over today's gold price, falling, passes the floor. */
static double bisected(const ts_quantities *quantities, double floor)
{
    ts_dec *price = market_price(TS_METAL_GOLD, quantities->terms.as_of);
    double low = ts_dec_double(*price), high = low * 100.0;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        *(margin_at(quantities, price, middle) > floor ? &low : &high) = middle;
    }
    return low;
}

static void break_even_is_where_bisection_of_the_engine_ends(void **state)
{
    (void)state;
    /* floors between metal's own margin and the piece's, which gold can reach; a net that the
     * minimum holds up until gold lifts the lines over it, and one that it holds throughout */
    static const struct {
        const char *sheet;
        int64_t floor_e6, minimum_e6;
    } cases[] = {
        {"demo/halo.csv", 36000000, 450000000},     {"demo/halo.csv", 34000000, 450000000},
        {"demo/halo.csv", 40000000, 4000000000},    {"demo/halo.csv", 35500000, 3600000000},
        {"demo/eternity.csv", 34000000, 450000000}, {"demo/eternity.csv", 36000000, 9000000000}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ts_quantities *quantities = quantities_of(cases[i].sheet);
        ts_dec *floor = floor_of(quantities->terms.as_of);
        ts_dec *minimum = policy_of(TS_RULE_MINIMUM, "net", quantities->terms.as_of);
        const ts_dec own_floor = *floor, own_minimum = *minimum;
        floor->e6 = cases[i].floor_e6;
        minimum->e6 = cases[i].minimum_e6;
        const ts_break_even *gold = break_even_of_gold(quantities);
        const double by_hand = bisected(quantities, (double)cases[i].floor_e6 / 1e6);
        *floor = own_floor;
        *minimum = own_minimum;
        assert_non_null(gold);
        if (!gold->found || !gold->above ||
            fabs(ts_dec_double(gold->price) - by_hand) >= 1e-4 * by_hand) {
            fail_msg("case %zu of %s: %s %.6f, by bisection %.6f", i, cases[i].sheet,
                     gold->found ? "found" : "none", ts_dec_double(gold->price), by_hand);
        }
    }
}

static void no_break_even_is_found_where_there_is_none(void **state)
{
    (void)state;
    /* gold is sold at a margin over the floor, so more of it never brings the ring under */
    ts_quantities *quantities = quantities_of("demo/halo.csv");
    const ts_break_even *list = NULL;
    size_t count = ts_break_evens_of(&list, arena, costing_of(quantities));
    assert_true(count >= 1);
    for (size_t i = 0; i < count; i++) {
        ts_dec *price = market_price(list[i].metal, quantities->terms.as_of);
        double floor = ts_dec_double(*floor_of(quantities->terms.as_of));
        assert_int_equal(list[i].found, false);
        assert_true(margin_at(quantities, price, ts_dec_double(*price) * 900.0) > floor);
    }
}

static void a_moved_rate_is_the_book_costed_anew(void **state)
{
    (void)state;
    ts_quantities *quantities = quantities_of("demo/eternity.csv");
    ts_dec *price = market_price(TS_METAL_GOLD, quantities->terms.as_of);
    ts_driver *drivers = NULL;
    size_t count = ts_rate_drivers_of(&drivers, arena, costing_of(quantities));
    double less = margin_at(quantities, price, ts_dec_double(*price) * 0.9);
    double more = margin_at(quantities, price, ts_dec_double(*price) * 1.1);
    bool seen = false;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(drivers[i].name, "market price of gold") == 0) {
            seen = true;
            assert_true(fabs(drivers[i].less_pct - less) < 1e-6);
            assert_true(fabs(drivers[i].more_pct - more) < 1e-6);
        }
    }
    assert_true(seen);
}

static void drivers_are_sorted_by_their_reach(void **state)
{
    (void)state;
    ts_costing *costing = costing_of(quantities_of("demo/three-stone.csv"));
    double margin = ts_margin_unrounded(arena, costing);
    ts_driver *drivers = NULL;
    size_t count = ts_rate_drivers_of(&drivers, arena, costing);
    assert_true(count > 10);
    double last = 1e300;
    for (size_t i = 0; i < count; i++) {
        double reach = fmax(fabs(drivers[i].less_pct - margin), fabs(drivers[i].more_pct - margin));
        assert_true(reach <= last + 1e-12);
        last = reach;
    }
}

static void the_simulated_range_agrees_with_the_closed_form(void **state)
{
    (void)state;
    ts_costing *costing = costing_of(quantities_of("demo/halo.csv"));
    ts_range range = ts_range_of(arena, costing, 20000, 7);
    assert_true(range.known);
    /* 10th to 90th percentile of a normal law: 2 × 1.281552 standard deviations */
    double sigma = (range.high_pct - range.low_pct) / (2.0 * 1.281552);
    assert_true(fabs(sigma / range.sigma_pct - 1.0) < 0.04);
    assert_true(fabs(range.middle_pct - ts_margin_unrounded(arena, costing)) <
                0.1 * range.sigma_pct + 0.01);
    ts_range again = ts_range_of(arena, costing, 20000, 7);
    assert_true(again.low_pct == range.low_pct && again.high_pct == range.high_pct);
}

static void ready_counts_own_crafts_one_after_another(void **state)
{
    (void)state;
    ts_costing *costing = costing_of(quantities_of("demo/halo.csv"));
    ts_ready ready = ts_ready_of(costing);
    double weeks = 0.0;
    for (size_t c = 0; c < book->crafts.count; c++) {
        const ts_craft_row *craft = &book->crafts.at[c];
        double minutes = 0.0;
        for (int i = 0; i < costing->line_count; i++) {
            const ts_line *line = &costing->lines[i];
            ts_dec own;
            if (line->own_labour && strcmp(line->craft, craft->craft) == 0) {
                assert_true(ts_figure_dec(&own, line->minutes));
                minutes += ts_dec_double(own);
            }
        }
        weeks += minutes > 0.0 ? minutes / ts_dec_double(craft->minutes_per_week) : 0.0;
    }
    assert_true(ready.known);
    assert_int_equal(ready.weeks, (int)ceil(weeks));
    assert_int_equal(ready.by.days, costing->needs->terms.date.days + 7 * ready.weeks);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(break_even_is_where_bisection_of_the_engine_ends),
        cmocka_unit_test(no_break_even_is_found_where_there_is_none),
        cmocka_unit_test(a_moved_rate_is_the_book_costed_anew),
        cmocka_unit_test(drivers_are_sorted_by_their_reach),
        cmocka_unit_test(the_simulated_range_agrees_with_the_closed_form),
        cmocka_unit_test(ready_counts_own_crafts_one_after_another),
    };
    return cmocka_run_group_tests_name("insight", tests, set_up, tear_down);
}
