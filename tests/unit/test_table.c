#include <tallystone/papers/table.h>

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>

#include <cmocka.h>

#include <tallystone/base/text.h>

/* One table, written for scripts and for people. */

enum { REFERENCE, OPTION, SECTION, ITEM, QUANTITY, UNIT, UNIT_COST, COST, PRICE, ORIGIN };

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

/* What `write` prints, as text. */
static char *printed(ts_arena *arena, const ts_table *table, const ts_screen *screen)
{
    char *buffer = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&buffer, &length);
    assert_non_null(to);
    if (screen == NULL) {
        ts_table_csv(table, to, true);
    } else {
        ts_table_print(table, to, screen);
    }
    fclose(to);
    char *kept = ts_arena_copy(arena, buffer, length);
    free(buffer);
    return kept;
}

static ts_table *sample(ts_arena *arena)
{
    ts_table *table = ts_table_new(arena, TS_TABLE_PRICE, 2);
    ts_cell *row = ts_table_row(table, false);
    row[REFERENCE] = ts_cell_text("R-1");
    row[SECTION] = ts_cell_word("metal");
    row[ITEM] = ts_cell_text("18 karat yellow gold");
    row[QUANTITY] = ts_cell_number(dec("5.972583"));
    row[UNIT] = ts_cell_word("g");
    row[COST] = ts_cell_money((ts_money){58928});
    row = ts_table_row(table, false);
    row[SECTION] = ts_cell_word("metal");
    row[ITEM] = ts_cell_text("=HYPERLINK(\"x\")");
    row[QUANTITY] = ts_cell_number(dec("19"));
    row[COST] = ts_cell_money((ts_money){-1205});
    row = ts_table_row(table, true);
    row[SECTION] = ts_cell_word("total");
    row[ITEM] = ts_cell_text("cost");
    row[COST] = ts_cell_money((ts_money){123456789});
    return table;
}

static void every_kind_of_table_has_columns(void **state)
{
    (void)state;
    for (int kind = 0; kind < TS_TABLE_COUNT; kind++) {
        int count = 0;
        assert_non_null(ts_table_columns((ts_table_kind)kind, &count));
        assert_true(count > 0);
    }
}

/* product.md: text that begins like a formula gets one apostrophe, numbers do not. */
static void csv_keeps_text_from_becoming_a_formula(void **state)
{
    const char *csv = printed(*state, sample(*state), NULL);
    assert_non_null(strstr(csv, "\"'=HYPERLINK(\"\"x\"\")\""));
    assert_non_null(strstr(csv, ",-12.05,"));
    assert_non_null(strstr(csv, "5.972583,g,"));
    assert_non_null(strstr(csv, "1234567.89"));
    assert_null(strchr(csv, '\r'));
    static const char header[] =
        "reference,option,section,item,quantity,unit,unit cost,cost,price,origin\n";
    assert_int_equal(strncmp(csv, header, sizeof header - 1), 0);
    static const char *const risky[] = {"=1", "+1", "-1", "@x", " =1", "'=1"};
    for (size_t i = 0; i < TS_COUNT_OF(risky); i++) {
        ts_table *table = ts_table_new(*state, TS_TABLE_PRICE, 2);
        ts_table_row(table, false)[ITEM] = ts_cell_text(risky[i]);
        const char *line = strchr(printed(*state, table, NULL), '\n') + 1;
        assert_non_null(strstr(line, ts_arena_format(*state, "'%s", risky[i])));
    }
}

static int widest_line(const char *text)
{
    int widest = 0;
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        char line[1024] = "";
        assert_true(length < sizeof line);
        memcpy(line, at, length);
        int width = ts_text_width(line);
        widest = width > widest ? width : widest;
        assert_true(length == 0 || at[length - 1] != ' ');
        at += length + (at[length] == '\n');
    }
    return widest;
}

static void numbers_stand_on_their_decimal_point(void **state)
{
    ts_screen screen = {100, false, false};
    char *text = printed(*state, sample(*state), &screen);
    const char *line = strstr(text, "589.28");
    const char *next = strstr(text, "-12.05");
    const char *last = strstr(text, "1234567.89");
    assert_non_null(line);
    assert_non_null(next);
    assert_non_null(last);
    int columns[3] = {0};
    const char *const points[] = {strchr(line, '.'), strchr(next, '.'), strchr(last, '.')};
    for (int i = 0; i < 3; i++) {
        const char *begin = points[i];
        while (begin > text && begin[-1] != '\n') {
            begin--;
        }
        columns[i] = (int)(points[i] - begin);
    }
    assert_int_equal(columns[0], columns[1]);
    assert_int_equal(columns[0], columns[2]);
    assert_non_null(strstr(text, " 5.973  g"));
    assert_null(strstr(text, "19.000"));
}

static void a_word_that_repeats_is_shown_once_and_totals_are_ruled_off(void **state)
{
    ts_screen screen = {100, false, false};
    const char *text = printed(*state, sample(*state), &screen);
    const char *metal = strstr(text, "metal");
    assert_non_null(metal);
    assert_null(strstr(metal + 1, "metal"));
    const char *rule = strstr(strstr(text, "=HYPER"), "\n----");
    assert_non_null(rule);
    assert_true(rule < strstr(text, "total"));
}

static void no_line_passes_the_width_and_no_number_is_cut(void **state)
{
    for (int width = 70; width <= 120; width += 5) {
        for (int unicode = 0; unicode < 2; unicode++) {
            ts_screen screen = {width, false, unicode != 0};
            ts_table *table = sample(*state);
            ts_table_row(table, false)[ITEM] = ts_cell_text(
                "an item with a name that goes on for very much longer than any column would be "
                "\xe2\x80\x94 and \xe6\xbc\xa2\xe5\xad\x97 too, and a word"
                "withoutanyblankinitthatwouldletitbebrokenanywhereatallbyaprogram");
            const char *text = printed(*state, table, &screen);
            assert_non_null(strstr(text, "1234567.89"));
            int most = width > 100 ? 100 : width;
            assert_true(widest_line(text) <= most);
        }
    }
}

static void terminals_are_safe_from_what_users_write(void **state)
{
    ts_screen screen = {80, false, true};
    ts_table *table = ts_table_new(*state, TS_TABLE_PRICE, 2);
    ts_table_row(table, false)[ITEM] = ts_cell_text("red\x1b[31m\nnext");
    const char *text = printed(*state, table, &screen);
    assert_null(strchr(text, '\x1b'));
    assert_non_null(strstr(text, "\\x1B"));
}

static void colour_is_only_ever_an_addition(void **state)
{
    ts_screen plain = {100, false, true}, coloured = {100, true, true};
    const char *one = printed(*state, sample(*state), &plain);
    char *other = printed(*state, sample(*state), &coloured);
    assert_true(strlen(other) > strlen(one));
    char *to = other;
    for (const char *from = other; *from != '\0';) {
        if (*from == '\x1b') {
            from += strcspn(from, "m") + 1;
        } else {
            *to++ = *from++;
        }
    }
    *to = '\0';
    assert_string_equal(one, other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_of_table_has_columns),
        cmocka_unit_test(csv_keeps_text_from_becoming_a_formula),
        cmocka_unit_test(numbers_stand_on_their_decimal_point),
        cmocka_unit_test(a_word_that_repeats_is_shown_once_and_totals_are_ruled_off),
        cmocka_unit_test(no_line_passes_the_width_and_no_number_is_cut),
        cmocka_unit_test(terminals_are_safe_from_what_users_write),
        cmocka_unit_test(colour_is_only_ever_an_addition),
    };
    return cmocka_run_group_tests(tests, make_arena, drop_arena);
}
