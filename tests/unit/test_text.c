/* Text from outside: folded, judged, made safe to show. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>

#include "table.h"

#define NBSP "\xC2\xA0"
#define NARROW "\xE2\x80\xAF"
#define ELLIPSIS "\xE2\x80\xA6"

static ts_arena *arena_of(void **state)
{
    return *state;
}

static int open_arena(void **state)
{
    *state = ts_arena_new(NULL, NULL);
    return 0;
}

static int close_arena(void **state)
{
    ts_arena_free(*state);
    return 0;
}

static void words_are_the_same_without_regard_to_case_and_blanks(void **state)
{
    (void)state;
    assert_true(ts_text_same("Width Top", "width top"));
    assert_true(ts_text_same("  width \t" NBSP "top" NARROW, "width top"));
    assert_true(ts_text_same(NULL, "  "));
    assert_true(ts_text_same("", NBSP));
    assert_false(ts_text_same("width top", "widthtop"));
    assert_false(ts_text_same("width", "width top"));
    assert_false(ts_text_same("width top", "width"));
    assert_false(ts_text_same("carr\xC3\xA9", "carre"));
}

static void folding_agrees_with_sameness(void **state)
{
    ts_arena *arena = arena_of(state);
    static const char *const words[] = {
        "", " ", "a", " A ", "a b", "A" NBSP NBSP "B ", "ab", "\xC3\x89", "\xC3\xA9"};
    for (size_t i = 0; i < TS_COUNT_OF(words); i++) {
        for (size_t k = 0; k < TS_COUNT_OF(words); k++) {
            const char *one = ts_text_fold(arena, words[i]);
            const char *other = ts_text_fold(arena, words[k]);
            assert_int_equal(strcmp(one, other) == 0, ts_text_same(words[i], words[k]));
        }
    }
    assert_string_equal(ts_text_fold(arena, "  Half \t ROUND "), "half round");
}

static void trimming_takes_outer_blanks_only(void **state)
{
    ts_arena *arena = arena_of(state);
    assert_string_equal(ts_text_trim(arena, " \t" NBSP "a  b" NARROW " "), "a  b");
    assert_string_equal(ts_text_trim(arena, "   "), "");
    assert_string_equal(ts_text_trim(arena, NULL), "");
    assert_true(ts_text_empty(" \t" NBSP));
    assert_true(ts_text_empty(NULL));
    assert_false(ts_text_empty(" ."));
}

static void the_rest_after_a_word_needs_a_blank(void **state)
{
    (void)state;
    assert_string_equal(ts_text_after_word("Stone  Left", "stone"), "Left");
    assert_string_equal(ts_text_after_word(" stone" NBSP "1", "stone"), "1");
    assert_string_equal(ts_text_after_word("oz t 3", "oz  t"), "3");
    assert_null(ts_text_after_word("stones", "stone"));
    assert_null(ts_text_after_word("stone", "stone"));
    assert_null(ts_text_after_word("stone ", "stone"));
    assert_null(ts_text_after_word("sto", "stone"));
    assert_null(ts_text_after_word(NULL, "stone"));
}

static size_t encode(char *out, uint32_t code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    const size_t bytes = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned leads[5] = {0, 0, 0xC0, 0xE0, 0xF0};
    for (size_t i = bytes - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (code & 0x3F));
        code >>= 6;
    }
    out[0] = (char)(leads[bytes] | code);
    return bytes;
}

/* What product.md names, said once more and otherwise than the code does. */
static int may_stand(uint32_t code)
{
    if (code == '\t' || code == '\n' || code == '\r') {
        return 1;
    }
    if (code < 32 || (code > 126 && code < 160)) {
        return 0; /* general category Cc */
    }
    if (code >= 0xD800 && code < 0xE000) {
        return 0; /* surrogates are no characters */
    }
    if ((code >= 0xFDD0 && code < 0xFDF0) || code % 0x10000 >= 0xFFFE) {
        return 0; /* the 66 noncharacters */
    }
    return !((code > 0x2029 && code < 0x202F) || (code > 0x2065 && code < 0x206A));
}

static void every_code_point_is_let_in_or_refused_as_specified(void **state)
{
    (void)state;
    for (uint32_t code = 0; code < 0x110000; code++) {
        char text[8] = "a";
        const size_t bytes = encode(text + 1, code);
        const size_t bad = ts_text_first_bad(text, bytes + 1);
        if (bad != (may_stand(code) ? bytes + 1 : 1)) {
            fail_msg("U+%04X: first bad at %zu", (unsigned)code, bad);
        }
    }
}

static void bytes_that_are_no_utf8_are_found_where_they_stand(void **state)
{
    (void)state;
    /* source: Unicode Standard 15, table 3-7 and RFC 3629 section 4 */
    static const char *const broken[] = {"\xC0\x80",
                                         "\xC1\xBF",
                                         "\xE0\x9F\xBF",
                                         "\xED\xA0\x80",
                                         "\xF0\x8F\xBF\xBF",
                                         "\xF4\x90\x80\x80",
                                         "\xF5\x80\x80\x80",
                                         "\x80",
                                         "\xC3",
                                         "\xE2\x82",
                                         "\xF0\x9F\x92",
                                         "\xFF",
                                         "\xC3\x28",
                                         "\xE2\x28\xA1",
                                         "\xFC\x80\x80\x80"};
    for (size_t i = 0; i < TS_COUNT_OF(broken); i++) {
        char text[16] = "ok\xC3\xA9";
        strcat(text, broken[i]);
        assert_int_equal(ts_text_first_bad(text, strlen(text)), 4);
    }
    assert_int_equal(ts_text_first_bad("a\0b", 3), 1);
    assert_int_equal(ts_text_first_bad("", 0), 0);
}

static void shown_text_is_one_safe_line(void **state)
{
    ts_arena *arena = arena_of(state);
    assert_string_equal(ts_text_show(arena, "caf\xC3\xA9 \\x", 99), "caf\xC3\xA9 \\x");
    assert_string_equal(ts_text_show(arena, "a\tb\nc\rd", 99), "a\\x09b\\x0Ac\\x0Dd");
    assert_string_equal(ts_text_show(arena, "\x1B[31m", 99), "\\x1B[31m");
    assert_string_equal(ts_text_show(arena,
                                     "\xE2\x80\xAE"
                                     "abc",
                                     99),
                        "\\xE2\\x80\\xAEabc");
    assert_string_equal(ts_text_show(arena, "\xE2\x80\xA8", 99), "\\xE2\\x80\\xA8");
    assert_string_equal(ts_text_show(arena, "\xFFx", 99), "\\xFFx");
    assert_string_equal(ts_text_show(arena, "a\xC2\xAD \xE2\x80\x8B", 99),
                        "a\\xC2\\xAD \\xE2\\x80\\x8B");
    assert_string_equal(ts_text_show(arena, NULL, 99), "");
}

static void a_word_to_be_typed_is_one_word_for_a_shell(void **state)
{
    ts_arena *arena = arena_of(state);
    assert_string_equal(ts_text_word(arena, "RING-12/a"), "RING-12/a");
    assert_string_equal(ts_text_word(arena, "ring 12"), "'ring 12'");
    assert_string_equal(ts_text_word(arena, "x;$(y)"), "'x;$(y)'");
    assert_string_equal(ts_text_word(arena, "it's"), "'it'\\''s'");
    assert_string_equal(ts_text_word(arena, ""), "''");
    assert_string_equal(ts_text_word(arena, "caf\xC3\xA9\n"), "'caf\xC3\xA9\\x0A'");
}
static void shown_text_is_cut_with_an_ellipsis(void **state)
{
    ts_arena *arena = arena_of(state);
    assert_string_equal(ts_text_show(arena, "abcde", 5), "abcde");
    assert_string_equal(ts_text_show(arena, "abcdef", 5), "abcde" ELLIPSIS);
    assert_string_equal(ts_text_show(arena, "ab\n", 5), "ab" ELLIPSIS);
    assert_string_equal(ts_text_show(arena, "\xC3\xA9\xC3\xA9\xC3\xA9", 2),
                        "\xC3\xA9\xC3\xA9" ELLIPSIS);
    assert_string_equal(ts_text_show(arena, "a", 0), ELLIPSIS);
    assert_string_equal(ts_text_show(arena, "", 0), "");
}

static void characters_have_their_width_on_a_terminal(void **state)
{
    (void)state;
    table *widths = table_open("tests/reference/widths.csv");
    for (const table_row *row; (row = table_next(widths)) != NULL;) {
        const int expect = (int)table_number(row, "width");
        const int got = ts_text_width(table_text(row, "text"));
        if (got != expect) {
            fail_msg("%s: width %d, expected %d", table_text(row, "name"), got, expect);
        }
    }
    table_close(widths);
    assert_int_equal(ts_text_width("a\xE4\xB8\xAD"
                                   "e\xCC\x81"),
                     4);
    assert_int_equal(ts_text_characters("a\xE4\xB8\xAD"
                                        "e",
                                        4),
                     2);
}

static void a_reference_becomes_a_file_name(void **state)
{
    ts_arena *arena = arena_of(state);
    assert_string_equal(ts_text_file_name(arena, "R-2026/014 b"), "R-2026_014_b");
    assert_string_equal(ts_text_file_name(arena, "--a"), "_-a");
    assert_string_equal(ts_text_file_name(arena, "\xC3\x89t\xC3\xA9"), "_t_");
    assert_string_equal(ts_text_file_name(arena, "../x"), "___x");
    assert_string_equal(ts_text_file_name(arena, ""), "_");
    char name[200];
    memset(name, 'n', sizeof name);
    name[sizeof name - 1] = '\0';
    assert_int_equal(strlen(ts_text_file_name(arena, name)), 64);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_are_the_same_without_regard_to_case_and_blanks),
        cmocka_unit_test(folding_agrees_with_sameness),
        cmocka_unit_test(trimming_takes_outer_blanks_only),
        cmocka_unit_test(the_rest_after_a_word_needs_a_blank),
        cmocka_unit_test(every_code_point_is_let_in_or_refused_as_specified),
        cmocka_unit_test(bytes_that_are_no_utf8_are_found_where_they_stand),
        cmocka_unit_test(shown_text_is_one_safe_line),
        cmocka_unit_test(a_word_to_be_typed_is_one_word_for_a_shell),
        cmocka_unit_test(shown_text_is_cut_with_an_ellipsis),
        cmocka_unit_test(characters_have_their_width_on_a_terminal),
        cmocka_unit_test(a_reference_becomes_a_file_name),
    };
    return cmocka_run_group_tests(tests, open_arena, close_arena);
}
