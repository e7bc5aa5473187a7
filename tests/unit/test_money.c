#include <tallystone/costing/figure.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "table.h"

/* The figures of tests/reference/money.csv, which another program computed, got again through
 * the arithmetic that prices, the figures where costing makes figures, and compared as text, in
 * both half modes.
 *
 * What each kind means was found from its numbers and holds for every row:
 *   alloy_rate  sum of price an ounce × parts per thousand / 1000 / 31.1034768 + premium,
 *               rounded once to six decimals
 *   markup      amount × (1 + p/100)        margin  amount / (1 - p/100)
 *   fee         amount / (1 - p/100): the price from which the fee, p percent of that price,
 *               can be paid so that the amount is left; not amount × (1 + p/100)
 *   discount    amount less its rounded p percent: the deduction is a line of its own, and
 *               this is what tells 20739.84 from 20739.85 in case 430
 *   step        up to the next whole multiple
 *   tax         lines summed by category and rate, tax once on each sum */

#define TABLE "tests/reference/money.csv"
#define TEXT 1024
#define MOST_PARTS 64

static ts_dec number(const char *text)
{
    ts_dec out = {0};
    size_t where = 0;
    if (ts_dec_read(&out, text, '.', &where) != TS_NUMBER_OK) {
        fail_msg("'%s' is no number from byte %zu on", text, where);
    }
    return out;
}

static ts_money money(const char *text)
{
    ts_money out = {0};
    assert_true(ts_money_from_dec(&out, number(text), 2, TS_HALF_AWAY));
    return out;
}

/* A sum of an amount and a percentage or a step, as costing writes it: unrounded. */
typedef const ts_figure *work_of(ts_arena *arena, const ts_figure *amount, const ts_figure *value);

static const ts_figure *number_of(ts_arena *arena, ts_dec value)
{
    return ts_figure_constant(arena, "", value, "");
}

static const ts_figure *two(ts_arena *arena, ts_op op, const ts_figure *a, const ts_figure *b)
{
    return ts_figure_two(arena, op, "", "", a, b);
}

static const ts_figure *part_of(ts_arena *arena, const ts_figure *percent)
{
    return two(arena, TS_OP_DIV, percent, number_of(arena, (ts_dec){100000000}));
}

static const ts_figure *percent_of(ts_arena *arena, const ts_figure *amount,
                                   const ts_figure *percent)
{
    return two(arena, TS_OP_MUL, amount, part_of(arena, percent));
}

static const ts_figure *marked_up(ts_arena *arena, const ts_figure *amount,
                                  const ts_figure *percent)
{
    const ts_figure *one = number_of(arena, (ts_dec){1000000});
    return two(arena, TS_OP_MUL, amount, two(arena, TS_OP_SUM, one, part_of(arena, percent)));
}

static const ts_figure *with_margin(ts_arena *arena, const ts_figure *amount,
                                    const ts_figure *percent)
{
    const ts_figure *one = number_of(arena, (ts_dec){1000000});
    return two(arena, TS_OP_DIV, amount, two(arena, TS_OP_SUB, one, part_of(arena, percent)));
}

static const ts_figure *in_steps(ts_arena *arena, const ts_figure *amount, const ts_figure *step)
{
    return two(arena, TS_OP_STEP, amount, step);
}

/* Rounded once, to cents. */
static ts_money worked_out(work_of *work, ts_dec amount, ts_dec value, ts_rounding mode)
{
    ts_money out = {0};
    ts_arena *arena = ts_arena_new(NULL, NULL);
    const ts_figure *exact = work(arena, number_of(arena, amount), number_of(arena, value));
    assert_true(ts_figure_money(&out, ts_figure_round(arena, "", "", exact, 2, mode), 2));
    ts_arena_free(arena);
    return out;
}

/* Cuts `text` at each `mark`, in place. */
static size_t cut(char *text, char mark, char *parts[MOST_PARTS])
{
    size_t count = 0;
    for (char *at = text; at != NULL && count < MOST_PARTS;) {
        parts[count++] = at;
        at = strchr(at, mark);
        if (at != NULL) {
            *at++ = '\0';
        }
    }
    return count;
}

/* The text behind "name=" among the parts. */
static const char *value_of(char *parts[], size_t count, const char *name)
{
    size_t length = strlen(name);
    for (size_t i = 0; i < count; i++) {
        if (strncmp(parts[i], name, length) == 0 && parts[i][length] == '=') {
            return parts[i] + length + 1;
        }
    }
    fail_msg("the input has no '%s'", name);
    return "";
}

static ts_ratio ratio(ts_dec a, int64_t divisor)
{
    ts_ratio out = {0};
    assert_true(ts_ratio_of(&out, a.e6, (ts_i128)1000000 * divisor));
    return out;
}

static void alloy_rate(char *got, char *parts[], size_t count, ts_rounding mode)
{
    ts_ratio sum = {0, 1};
    ts_ratio ounce_g = {0};
    /* international avoirdupois pound 0.45359237 kg, 7000 grains, 480 grains an ounce troy */
    assert_true(ts_ratio_of(&ounce_g, 311034768, 10000000));
    for (size_t i = 0; i < count; i++) {
        char *pair[MOST_PARTS];
        ts_ratio term = {0};
        if (strncmp(parts[i], "premium=", 8) == 0) {
            term = ratio(number(parts[i] + 8), 1);
        } else {
            assert_int_equal(cut(strchr(parts[i], '=') + 1, '@', pair), 2);
            assert_true(
                ts_ratio_mul(&term, ratio(number(pair[0]), 1), ratio(number(pair[1]), 1000)));
            assert_true(ts_ratio_div(&term, term, ounce_g));
        }
        assert_true(ts_ratio_add(&sum, sum, term));
    }
    ts_dec rate = {0};
    assert_true(ts_ratio_dec(&rate, sum, mode));
    ts_dec_fixed(got, rate, 6);
}

static void product(char *got, char *parts[], size_t count, ts_rounding mode)
{
    int places = (int)(number(value_of(parts, count, "places")).e6 / 1000000);
    ts_money out = {0};
    assert_true(ts_money_product(&out, number(value_of(parts, count, "quantity")),
                                 number(value_of(parts, count, "rate")), places, mode));
    ts_money_text(got, out, places);
}

typedef struct category {
    const char *name; /* "S@25": code and percent */
    ts_money sum;
} category;

static int by_name(const void *one, const void *other)
{
    return strcmp(((const category *)one)->name, ((const category *)other)->name);
}

static size_t sum_categories(category *categories, char *parts[], size_t count)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        char *pair[MOST_PARTS];
        assert_int_equal(cut(parts[i], ':', pair), 2);
        size_t at = 0;
        while (at < found && strcmp(categories[at].name, pair[0]) != 0) {
            at++;
        }
        if (at == found) {
            categories[found++] = (category){.name = pair[0]};
        }
        assert_true(ts_money_add(&categories[at].sum, categories[at].sum, money(pair[1])));
    }
    qsort(categories, found, sizeof *categories, by_name);
    return found;
}

static void tax(char *got, char *parts[], size_t count, ts_rounding mode)
{
    category categories[MOST_PARTS];
    size_t found = sum_categories(categories, parts, count);
    ts_money net = {0};
    ts_money all = {0};
    ts_money gross = {0};
    char one[TS_DECIMAL_TEXT];
    char two[TS_DECIMAL_TEXT];
    char three[TS_DECIMAL_TEXT];
    size_t at = 0;
    for (size_t i = 0; i < found; i++) {
        ts_money sum = categories[i].sum;
        ts_dec amount = {0};
        assert_true(ts_dec_from_money(&amount, sum, 2, mode));
        ts_dec percent = number(strchr(categories[i].name, '@') + 1);
        ts_money part = worked_out(percent_of, amount, percent, mode);
        assert_true(ts_money_add(&net, net, sum));
        assert_true(ts_money_add(&all, all, part));
        at += (size_t)snprintf(got + at, TEXT - at, "%s:%s:%s;", categories[i].name,
                               ts_money_text(one, sum, 2), ts_money_text(two, part, 2));
    }
    assert_true(ts_money_add(&gross, net, all));
    snprintf(got + at, TEXT - at, "net=%s;tax=%s;gross=%s", ts_money_text(one, net, 2),
             ts_money_text(two, all, 2), ts_money_text(three, gross, 2));
}

static void split(char *got, char *parts[], size_t count, ts_rounding mode)
{
    (void)mode; /* nothing is rounded: the remainders decide */
    char weights_text[TEXT];
    snprintf(weights_text, sizeof weights_text, "%s", value_of(parts, count, "weights"));
    char *words[MOST_PARTS];
    int64_t weights[MOST_PARTS];
    int64_t shares[MOST_PARTS];
    size_t items = cut(weights_text, ':', words);
    for (size_t i = 0; i < items; i++) {
        weights[i] = number(words[i]).e6;
    }
    /* minor units run beyond the twelve digits that a number of a sheet may have */
    int64_t total = strtoll(value_of(parts, count, "total_minor"), NULL, 10);
    assert_true(ts_split(shares, total, weights, items));
    size_t at = 0;
    for (size_t i = 0; i < items; i++) {
        char text[TS_DECIMAL_TEXT];
        ts_money_text(text, (ts_money){shares[i]}, 0);
        at += (size_t)snprintf(got + at, TEXT - at, "%s%s", i == 0 ? "" : ";", text);
    }
}

static void changed(char *got, char *parts[], size_t count, work_of *work, ts_rounding mode)
{
    ts_dec amount = number(value_of(parts, count, "amount"));
    ts_money out = worked_out(work, amount, number(value_of(parts, count, "value")), mode);
    ts_money_text(got, out, 2);
}

static void markup(char *got, char *parts[], size_t count, ts_rounding mode)
{
    changed(got, parts, count, marked_up, mode);
}

static void margin(char *got, char *parts[], size_t count, ts_rounding mode)
{
    changed(got, parts, count, with_margin, mode);
}

static void discount(char *got, char *parts[], size_t count, ts_rounding mode)
{
    ts_dec amount = number(value_of(parts, count, "amount"));
    ts_money off = worked_out(percent_of, amount, number(value_of(parts, count, "value")), mode);
    ts_money left = money(value_of(parts, count, "amount"));
    assert_true(ts_money_sub(&left, left, off));
    ts_money_text(got, left, 2);
}

static void step(char *got, char *parts[], size_t count, ts_rounding mode)
{
    changed(got, parts, count, in_steps, mode);
}

typedef void work_out(char *got, char *parts[], size_t count, ts_rounding mode);

static const struct kind {
    const char *name;
    work_out *work;
    int rows; /* in the table, counted in it by kind: none may be left out */
} kinds[] = {
    {"alloy_rate", alloy_rate, 125},
    {"product", product, 75},
    {"tax", tax, 125},
    {"split", split, 100},
    {"markup", markup, 23},
    {"margin", margin, 11},
    {"fee", margin, 10},
    {"discount", discount, 17},
    {"step", step, 14},
};

#define KINDS (sizeof kinds / sizeof kinds[0])

static void compare(const table_row *row, const struct kind *kind, const char *column,
                    ts_rounding mode)
{
    char input[TEXT];
    char got[TEXT] = "";
    char *parts[MOST_PARTS];
    assert_true(strlen(table_text(row, "input")) < sizeof input);
    snprintf(input, sizeof input, "%s", table_text(row, "input"));
    size_t count = cut(input, ';', parts);
    kind->work(got, parts, count, mode);
    if (strcmp(got, table_text(row, column)) != 0) {
        fail_msg("%s:%d: %s of %s: got %s, the table says %s (%s)", TABLE, table_line(row),
                 kind->name, table_text(row, "input"), got, table_text(row, column), column);
    }
}

static void run_mode(const char *column, ts_rounding mode)
{
    table *t = table_open(TABLE);
    int seen[KINDS] = {0};
    for (const table_row *row; (row = table_next(t)) != NULL;) {
        size_t k = 0;
        while (k < KINDS && strcmp(kinds[k].name, table_text(row, "kind")) != 0) {
            k++;
        }
        if (k == KINDS) {
            fail_msg("%s:%d: no such kind: %s", TABLE, table_line(row), table_text(row, "kind"));
        }
        compare(row, &kinds[k], column, mode);
        seen[k]++;
    }
    for (size_t k = 0; k < KINDS; k++) {
        assert_int_equal(seen[k], kinds[k].rows);
    }
    table_close(t);
}

static void every_case_holds_rounding_half_away_from_zero(void **state)
{
    (void)state;
    run_mode("half_away_from_zero", TS_HALF_AWAY);
}

static void every_case_holds_rounding_half_to_even(void **state)
{
    (void)state;
    run_mode("half_even", TS_HALF_EVEN);
}

static void the_table_tells_the_two_modes_apart(void **state)
{
    (void)state;
    table *t = table_open(TABLE);
    int apart = 0;
    for (const table_row *row; (row = table_next(t)) != NULL;) {
        apart += strcmp(table_text(row, "half_away_from_zero"), table_text(row, "half_even")) != 0;
    }
    assert_int_equal(apart, 12); /* counted in the table by another program */
    table_close(t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_case_holds_rounding_half_away_from_zero),
        cmocka_unit_test(every_case_holds_rounding_half_to_even),
        cmocka_unit_test(the_table_tells_the_two_modes_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
