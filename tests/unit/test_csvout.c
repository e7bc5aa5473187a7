/* CSV as it is written: quoted where needed, never a formula, read back as it was. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/csvin.h>
#include <tallystone/base/csvout.h>
#include <tallystone/base/text.h>

static void cells_are_quoted_only_where_needed(void **state)
{
    (void)state;
    char *written = NULL;
    size_t length = 0;
    ts_csv_out out = {.to = open_memstream(&written, &length)};
    ts_csv_plain(&out, "part");
    ts_csv_plain(&out, "width top");
    ts_csv_plain(&out, "a;b|c'd");
    ts_csv_end(&out);
    ts_csv_plain(&out, "a,b");
    ts_csv_plain(&out, "5\" wide");
    ts_csv_plain(&out, "two\nlines");
    ts_csv_plain(&out, "two\rlines");
    ts_csv_plain(&out, "");
    ts_csv_plain(&out, NULL);
    ts_csv_plain(&out, " x");
    ts_csv_plain(&out, "x\t");
    ts_csv_end(&out);
    fclose(out.to);
    /* source: RFC 4180 section 2, rules 5 to 7; outer blanks quoted by our own choice */
    assert_string_equal(written, "part,width top,a;b|c'd\n"
                                 "\"a,b\",\"5\"\" wide\",\"two\nlines\",\"two\rlines\",,,"
                                 "\" x\",\"x\t\"\n");
    free(written);
}

static void text_from_outside_is_never_a_formula(void **state)
{
    (void)state;
    static const char *const cells[][2] = {{"=1+1", "'=1+1"},
                                           {"+1", "'+1"},
                                           {"-1", "'-1"},
                                           {"@sum", "'@sum"},
                                           {"'=1", "''=1"},
                                           {" =1", "\"' =1\""},
                                           {"\t-1", "\"'\t-1\""},
                                           {"a=1", "a=1"},
                                           {"'a", "'a"},
                                           {"", ""},
                                           {"\xC2\xA0+", "'\xC2\xA0+"},
                                           {"=a,b", "\"'=a,b\""},
                                           {"\n=1", "\"'\n=1\""}};
    for (size_t i = 0; i < TS_COUNT_OF(cells); i++) {
        char *written = NULL;
        size_t length = 0;
        ts_csv_out out = {.to = open_memstream(&written, &length)};
        ts_csv_text(&out, cells[i][0]);
        fclose(out.to);
        assert_string_equal(written, cells[i][1]);
        free(written);
    }
}

static void numbers_of_our_own_stay_numbers(void **state)
{
    (void)state;
    char *written = NULL;
    size_t length = 0;
    ts_csv_out out = {.to = open_memstream(&written, &length)};
    ts_csv_plain(&out, "-12.50");
    ts_csv_text(&out, "-12.50");
    fclose(out.to);
    assert_string_equal(written, "-12.50,'-12.50");
    free(written);
}

/* Whatever is written as text reads back the same, outer blanks aside: all texts up to
 * five characters of those that matter. */
static void what_is_written_reads_back(void **state)
{
    (void)state;
    static const char bytes[] = {'\'', '=', '-', ' ', '"', ',', '\n', 'a'};
    enum { KINDS = sizeof bytes, LONGEST = 5 };
    static const char *const known[] = {"part", "value"};
    ts_arena *arena = ts_arena_new(NULL, NULL);
    size_t total = KINDS;
    for (int length = 1; length <= LONGEST; length++, total *= KINDS) {
        for (size_t number = 0; number < total; number++) {
            const ts_arena_mark mark = ts_arena_mark_of(arena);
            char text[LONGEST + 1] = "";
            size_t left = number;
            for (int i = 0; i < length; i++, left /= KINDS) {
                text[i] = bytes[left % KINDS];
            }
            char written[64];
            ts_csv_out out = {.to = fmemopen(written, sizeof written, "w")};
            ts_csv_plain(&out, "part");
            ts_csv_plain(&out, "value");
            ts_csv_end(&out);
            ts_csv_plain(&out, "x");
            ts_csv_text(&out, text);
            ts_csv_end(&out);
            fclose(out.to);
            ts_csv csv;
            ts_diag *diag = ts_diag_new(arena);
            assert_int_equal(
                ts_csv_parse(&csv, arena, "t.csv", written, strlen(written), known, 2, diag),
                TS_OK);
            assert_int_equal(csv.count, 2);
            assert_string_equal(csv.rows[1].cells[1], ts_text_trim(arena, text));
            ts_arena_rewind(arena, mark);
        }
    }
    ts_arena_free(arena);
}

static void a_full_disk_is_seen_in_the_stream(void **state)
{
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    ts_csv_out out = {.to = full};
    for (int row = 0; row < 10000; row++) {
        ts_csv_text(&out, "a cell of some length");
        ts_csv_end(&out);
    }
    assert_true(ferror(full) || fflush(full) != 0);
    fclose(full);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells_are_quoted_only_where_needed),
        cmocka_unit_test(text_from_outside_is_never_a_formula),
        cmocka_unit_test(numbers_of_our_own_stay_numbers),
        cmocka_unit_test(what_is_written_reads_back),
        cmocka_unit_test(a_full_disk_is_seen_in_the_stream),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
