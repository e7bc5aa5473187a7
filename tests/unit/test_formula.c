#include "papers/ledger.h"
#include "papers/typeset.h"
#include "papers/xlsx.h"
#include "papers/xlsxtext.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>

#include <cmocka.h>

/* Figures as formulas. That they give the same figures is for other programs to say
 * (tests/independent/recalc.sh); here stands what they look like and which cells they name. */

static ts_dec dec(const char *text)
{
    ts_dec value = {0};
    assert_int_equal(ts_dec_read(&value, text, '.', NULL), TS_NUMBER_OK);
    return value;
}

static int make_arena(void **state)
{
    *state = ts_arena_new(NULL, NULL);
    return 0;
}

static int drop_arena(void **state)
{
    ts_arena_free(*state);
    return 0;
}

static const ts_figure *rate(ts_arena *arena, const char *name, const char *value, int line)
{
    return ts_figure_book(arena, name, dec(value), "USD", "alloys.csv", line, "premium");
}

static const ts_figure *grams(ts_arena *arena, const char *value)
{
    return ts_figure_quantity(arena, "finished weight", dec(value), "g", "a.csv", 3, NULL);
}

static const ts_figure *two(ts_arena *arena, ts_op op, const ts_figure *a, const ts_figure *b)
{
    return ts_figure_two(arena, op, "step", "USD", a, b);
}

static ts_ledger *begun(ts_arena *arena, ts_rounding mode)
{
    ts_ledger *ledger = ts_ledger_new(arena, mode);
    ts_ledger_option(ledger, 0, "base");
    return ledger;
}

static void a_line_names_its_own_cells(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *quantity = grams(*state, "5.5");
    const ts_figure *unit = rate(*state, "premium of 750 yellow", "1.15", 12);
    const ts_figure *cost = ts_figure_round(
        *state, "cost", "USD", two(*state, TS_OP_MUL, quantity, unit), 2, TS_HALF_AWAY);
    ts_ledger_note(ledger, cost);
    ts_ledger_place_at(ledger, quantity, 4, 2, false);
    ts_ledger_place_at(ledger, unit, 4, 4, false);
    ts_ledger_place_at(ledger, cost, 4, 5, false);
    assert_string_equal(ts_ledger_formula(ledger, cost, false), "=ROUND(C5*E5,2)");
    assert_string_equal(ts_ledger_formula(ledger, cost, true), "=-ROUND(C5*E5,2)");
    assert_string_equal(ts_ledger_formula(ledger, unit, false), "=premium_of_750_yellow");
    assert_string_equal(ts_ledger_elsewhere(ledger, cost), "=Lines!F5");
}

static void brackets_stand_where_the_order_needs_them(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *a = rate(*state, "one", "1", 1), *b = rate(*state, "two", "2", 2);
    const ts_figure *c = rate(*state, "three", "3", 3);
    const ts_figure *sum = two(*state, TS_OP_SUM, a, b), *less = two(*state, TS_OP_SUB, b, c);
    assert_string_equal(ts_ledger_formula(ledger, two(*state, TS_OP_MUL, sum, c), false),
                        "=(one+two)*three");
    assert_string_equal(ts_ledger_formula(ledger, two(*state, TS_OP_SUB, a, less), false),
                        "=one-two+three");
    assert_string_equal(
        ts_ledger_formula(ledger, two(*state, TS_OP_DIV, a, two(*state, TS_OP_MUL, b, c)), false),
        "=one/(two*three)");
    assert_string_equal(ts_ledger_formula(ledger, less, true), "=-two+three");
}

static void a_shown_minus_is_taken_back(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *total = rate(*state, "total", "100", 1), *old = rate(*state, "old", "30", 2);
    ts_ledger_place_at(ledger, total, 9, 7, false);
    ts_ledger_place_at(ledger, old, 10, 7, true);
    assert_string_equal(ts_ledger_formula(ledger, two(*state, TS_OP_SUB, total, old), false),
                        "=H10+H11");
    assert_string_equal(ts_ledger_formula(ledger, two(*state, TS_OP_MUL, total, old), false),
                        "=H10*(-H11)");
}

static void cells_in_a_row_become_a_range(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *parts[8];
    for (int i = 0; i < 8; i++) {
        parts[i] = rate(*state, "part", "1", 20 + i);
        ts_ledger_place_at(ledger, parts[i], i < 5 ? 4 + i : 6 + i, 5, false);
    }
    const ts_figure *sum = ts_figure_of(*state, TS_OP_SUM, "sum", "USD", parts, 8);
    assert_string_equal(ts_ledger_formula(ledger, sum, false), "=SUM(F5:F9,F12:F14)");
}

static void equal_leaves_are_one_cell_and_others_are_not(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *once = rate(*state, "premium", "1.15", 12);
    const ts_figure *again = rate(*state, "premium", "1.15", 12);
    const ts_figure *other = rate(*state, "premium", "1.15", 13);
    assert_string_equal(ts_ledger_call(ledger, once, true), "premium");
    ts_ledger_option(ledger, 1, "platinum");
    assert_string_equal(ts_ledger_call(ledger, again, true), "premium");
    assert_string_equal(ts_ledger_call(ledger, other, true), "premium_2");
    assert_int_equal(ledger->rate_count, 2);
    assert_int_equal(ledger->rates[0].options, 3);
    assert_int_equal(ledger->rates[1].options, 2);
}

static void what_is_rounded_on_the_way_and_used_twice_gets_a_cell(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *gold = rate(*state, "gold", "4036", 9),
                    *fine = rate(*state, "fine", "750", 12);
    const ts_figure *value = ts_figure_round(*state, "fine value", "USD",
                                             two(*state, TS_OP_MUL, gold, fine), 6, TS_HALF_AWAY);
    const ts_figure *one = two(*state, TS_OP_SUM, value, rate(*state, "premium", "1", 1));
    const ts_figure *other = two(*state, TS_OP_MUL, value, rate(*state, "recovery", "97", 2));
    ts_ledger_note(ledger, one);
    ts_ledger_note(ledger, other);
    assert_string_equal(ts_ledger_formula(ledger, one, false), "=fine_value+premium");
    assert_string_equal(ts_ledger_formula(ledger, other, false), "=fine_value*recovery");
    assert_int_equal(ledger->work_count, 2); /* the option's heading and the value */
    assert_string_equal(ledger->works[1].formula, "=ROUND(gold*fine,6)");
}

static void steps_and_ceilings_are_kept_from_tipping_over(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *a = rate(*state, "net", "101", 1), *b = rate(*state, "step", "5", 2);
    const ts_figure *up = ts_figure_of(*state, TS_OP_CEILING, "spares", "", &a, 1);
    assert_string_equal(ts_ledger_formula(ledger, up, false), "=ROUNDUP(ROUND(net,9),0)");
    assert_string_equal(ts_ledger_formula(ledger, two(*state, TS_OP_STEP, a, b), false),
                        "=-INT(-ROUND(net/step,9))*step");
}

static void half_to_even_looks_for_a_tie(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_EVEN);
    const ts_figure *a = rate(*state, "amount", "2.345", 1);
    const ts_figure *rounded = ts_figure_round(*state, "rounded", "USD", a, 2, TS_HALF_EVEN);
    assert_string_equal(ts_ledger_formula(ledger, rounded, false),
                        "=IF(ABS(MOD(amount*1E2,1)-0.5)<1E-7,2*ROUND(amount*1E2/2,0)/1E2,"
                        "ROUND(amount,2))");
}

static void a_share_with_nobody_is_the_whole(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *total = rate(*state, "total", "10", 1),
                    *weight = rate(*state, "weight", "3", 2);
    const ts_figure *share = ts_figure_share(*state, "share", "USD", total, &weight, 1, 0, 2);
    assert_string_equal(ts_ledger_formula(ledger, share, false), "=total");
}

/* 10.00 over 1, 1, 1: 3.34, 3.33, 3.33 by largest remainder, ties to the earlier (by hand). */
static void shares_make_one_block_and_are_found_again(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    const ts_figure *total = rate(*state, "total", "10", 1);
    const ts_figure *weights[] = {rate(*state, "a", "1", 2), rate(*state, "b", "1", 3),
                                  rate(*state, "c_d", "1", 4)};
    for (int i = 0; i < 3; i++) {
        const ts_figure *share = ts_figure_share(*state, "share", "USD", total, weights, 3, i, 2);
        static const char *const wanted[] = {"=share_a", "=share_b", "=share_c_d"};
        static const int64_t cents[] = {334, 333, 333};
        ts_money money;
        assert_string_equal(ts_ledger_formula(ledger, share, false), wanted[i]);
        assert_true(ts_figure_money(&money, ledger->works[1 + i].figure, 2));
        assert_int_equal(money.minor, cents[i]);
        assert_true(ledger->works[1 + i].share);
    }
    assert_int_equal(ledger->work_count, 4);
}

/* ---- names, texts ---- */

static void names_that_read_as_something_else_are_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {"",          "A1",    "xfd1048576", "R1C1", "r",   "c",
                                      "rc",        "R2",    "true",       "1st",  "a b", "a-b",
                                      "a\xc3\xa9", "FALSE", "c12",        "abc9"};
    static const char *const good[] = {"gold", "_750_yellow", "rate_2", "abcd9", "markup_on_metal"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(ts_xlsx_name_fits(bad[i]));
    }
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_true(ts_xlsx_name_fits(good[i]));
    }
}

#define LONG_NAME                                                                                  \
    "a name that goes on and on and on and on and on and on and on and on and on and on and on"

static void any_figure_finds_a_name_that_fits(void **state)
{
    ts_ledger *ledger = begun(*state, TS_HALF_AWAY);
    static const char *const names[] = {"A1",   "",    "750 yellow", "\xe2\x80\xb0",
                                        "R1C1", "net", "net",        LONG_NAME};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *name = ts_ledger_name(ledger, names[i]);
        assert_true(ts_xlsx_name_fits(name));
    }
}

static void cells_are_named_as_sheets_name_them(void **state)
{
    (void)state;
    char cell[24];
    assert_string_equal(ts_xlsx_cell(cell, 0, 0, false), "A1");
    assert_string_equal(ts_xlsx_cell(cell, 8, 25, true), "$Z$9");
    assert_string_equal(ts_xlsx_cell(cell, 99, 26, false), "AA100");
    assert_string_equal(ts_xlsx_cell(cell, 0, 701, false), "ZZ1");
    assert_string_equal(ts_xlsx_cell(cell, 0, 702, false), "AAA1");
}

static void text_that_would_be_read_as_code_is_kept_as_typed(void **state)
{
    assert_string_equal(ts_xlsx_cell_text(*state, "_x0041_ and _x12"), "_x005F_x0041_ and _x12");
    assert_string_equal(ts_xlsx_cell_text(*state, "two\r\nlines"), "two\nlines");
    assert_string_equal(ts_xlsx_band_text(*state, "A & B\nC"), "A && B C");
    char *long_text = ts_arena_alloc(*state, 40001, 1);
    memset(long_text, 'a', 40000);
    assert_true(strlen(ts_xlsx_cell_text(*state, long_text)) <= 32767);
    char *amps = ts_arena_alloc(*state, 301, 1);
    memset(amps, '&', 300);
    assert_true(strlen(ts_xlsx_band_text(*state, amps)) <= 190);
}

/* Advance widths of the family: 0.556 for a digit, 0.278 for a blank (Liberation Sans). */
static void lines_are_counted_from_widths(void **state)
{
    (void)state;
    double digits = ts_typeset_width_pt("0123456789", 10, false);
    assert_true(digits > 55.59 && digits < 55.61);
    assert_int_equal(ts_typeset_lines("", 10, false, 30), 1);
    assert_int_equal(ts_typeset_lines("short", 10, false, 30), 1);
    assert_int_equal(ts_typeset_lines("one\ntwo\nthree", 10, false, 100), 3);
    /* with / laboratory- / grown small / stones, as LibreOffice sets it */
    assert_int_equal(ts_typeset_lines("With laboratory-grown small stones", 10, true, 26), 4);
    assert_true(ts_typeset_lines("0123456789012345678901234567890123456789", 10, false, 20) > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_names_its_own_cells),
        cmocka_unit_test(brackets_stand_where_the_order_needs_them),
        cmocka_unit_test(a_shown_minus_is_taken_back),
        cmocka_unit_test(cells_in_a_row_become_a_range),
        cmocka_unit_test(equal_leaves_are_one_cell_and_others_are_not),
        cmocka_unit_test(what_is_rounded_on_the_way_and_used_twice_gets_a_cell),
        cmocka_unit_test(steps_and_ceilings_are_kept_from_tipping_over),
        cmocka_unit_test(half_to_even_looks_for_a_tie),
        cmocka_unit_test(a_share_with_nobody_is_the_whole),
        cmocka_unit_test(shares_make_one_block_and_are_found_again),
        cmocka_unit_test(names_that_read_as_something_else_are_refused),
        cmocka_unit_test(any_figure_finds_a_name_that_fits),
        cmocka_unit_test(cells_are_named_as_sheets_name_them),
        cmocka_unit_test(text_that_would_be_read_as_code_is_kept_as_typed),
        cmocka_unit_test(lines_are_counted_from_widths),
    };
    return cmocka_run_group_tests(tests, make_arena, drop_arena);
}
