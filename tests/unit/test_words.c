/* The closed vocabulary: every word unique in its list and found again however it is
 * written. The lists themselves are the specification's; what is checked here is that
 * tables, aliases and enumerations belong together. */
#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>
#include <tallystone/words/words.h>

static void every_list_has_a_word_for_every_value(void **state)
{
    (void)state;
    for (int list = 1; list < TS_LIST_COUNT; list++) {
        size_t count = 0;
        const char *const *words = ts_list_words((ts_list)list, &count);

        assert_true(count >= 2);
        assert_null(words[0]);
        for (size_t i = 1; i < count; i++) {
            assert_non_null(words[i]);
            assert_string_equal(words[i], ts_list_word((ts_list)list, (int)i));
            assert_true(strlen(words[i]) > 0);
        }
        assert_string_equal("", ts_list_word((ts_list)list, 0));
        assert_string_equal("", ts_list_word((ts_list)list, (int)count));
        assert_string_equal("", ts_list_word((ts_list)list, -1));
    }
}

static void no_word_stands_twice_in_its_list(void **state)
{
    (void)state;
    for (int list = 1; list < TS_LIST_COUNT; list++) {
        size_t count = 0;
        const char *const *words = ts_list_words((ts_list)list, &count);

        for (size_t i = 1; i < count; i++) {
            for (size_t j = i + 1; j < count; j++) {
                assert_false(ts_text_same(words[i], words[j]));
            }
        }
    }
}

/* "Half Round" as "  hALF   rOUND ": case turned, blanks doubled, a no-break space. */
static void disguise(char *out, size_t size, const char *word)
{
    size_t n = 0;

    out[n++] = ' ';
    out[n++] = '\t';
    for (const char *c = word; *c != '\0' && n + 8 < size; c++) {
        int letter = (unsigned char)*c;

        if (letter == ' ') {
            out[n++] = ' ';
            out[n++] = '\xC2';
            out[n++] = '\xA0';
        } else {
            out[n++] = (char)(islower(letter) ? toupper(letter) : tolower(letter));
        }
    }
    out[n++] = ' ';
    out[n] = '\0';
}

static void every_word_is_found_in_any_case_and_spacing(void **state)
{
    (void)state;
    for (int list = 1; list < TS_LIST_COUNT; list++) {
        size_t count = 0;
        const char *const *words = ts_list_words((ts_list)list, &count);

        for (size_t i = 1; i < count; i++) {
            char written[128];

            disguise(written, sizeof written, words[i]);
            assert_int_equal((int)i, ts_list_find((ts_list)list, words[i]));
            assert_int_equal((int)i, ts_list_find((ts_list)list, written));
        }
    }
}

static void unknown_and_empty_words_are_not_found(void **state)
{
    (void)state;
    for (int list = 1; list < TS_LIST_COUNT; list++) {
        assert_int_equal(0, ts_list_find((ts_list)list, "no such word"));
        assert_int_equal(0, ts_list_find((ts_list)list, ""));
        assert_int_equal(0, ts_list_find((ts_list)list, "  "));
        assert_int_equal(0, ts_list_find((ts_list)list, NULL));
    }
    assert_int_equal(0, ts_list_find(TS_LIST_PROFILE, "halfround"));
    assert_int_equal(0, ts_list_find(TS_LIST_SHAPE, "roun"));
}

static void comfort_fit_is_read_as_court(void **state)
{
    (void)state;
    assert_int_equal(TS_PROFILE_COURT, ts_list_find(TS_LIST_PROFILE, "comfort fit"));
    assert_int_equal(TS_PROFILE_COURT, ts_list_find(TS_LIST_PROFILE, " Comfort  FIT "));
    assert_string_equal("court", ts_list_word(TS_LIST_PROFILE, TS_PROFILE_COURT));
}

static void an_alias_is_no_word_of_its_list(void **state)
{
    size_t count = 0;
    const char *const *words = ts_list_words(TS_LIST_PROFILE, &count);

    (void)state;
    for (size_t i = 1; i < count; i++) {
        assert_false(ts_text_same(words[i], "comfort fit"));
    }
}

static void a_list_reads_as_a_sentence(void **state)
{
    char text[256];

    (void)state;
    ts_list_sentence(TS_LIST_TIP, text, sizeof text);
    assert_string_equal("out or in", text);
    ts_list_sentence(TS_LIST_FACES, text, sizeof text);
    assert_string_equal("up, out or side", text);
    ts_list_sentence(TS_LIST_OUT_OF, text, sizeof text);
    assert_string_equal("old piece", text);
    ts_list_sentence(TS_LIST_PROFILE, text, sizeof text);
    assert_string_equal("knife edge, half round, flat, court or round wire", text);
}

static void a_sentence_keeps_within_its_buffer(void **state)
{
    char text[12];

    (void)state;
    memset(text, '#', sizeof text);
    ts_list_sentence(TS_LIST_PROFILE, text, 10);
    assert_string_equal("knife edg", text);
    assert_int_equal('#', text[10]);
    ts_list_sentence(TS_LIST_PROFILE, text, 1);
    assert_string_equal("", text);
    text[0] = '#';
    ts_list_sentence(TS_LIST_PROFILE, text, 0);
    assert_int_equal('#', text[0]);
}

static void explanations_are_one_line_without_a_full_stop(void **state)
{
    (void)state;
    for (int list = 1; list < TS_LIST_COUNT; list++) {
        size_t count = 0;

        ts_list_words((ts_list)list, &count);
        for (size_t i = 0; i <= count; i++) {
            const char *says = ts_list_says((ts_list)list, (int)i);
            size_t length = strlen(says);

            assert_null(strchr(says, '\n'));
            assert_true(length == 0 || says[length - 1] != '.');
        }
    }
    assert_string_equal("a rectangle", ts_list_says(TS_LIST_PROFILE, TS_PROFILE_FLAT));
    assert_string_equal("", ts_list_says(TS_LIST_CLAW, TS_CLAW_ROUND));
}

static void shapes_know_their_corners_and_tips(void **state)
{
    (void)state;
    assert_int_equal(TS_CORNER_RADIUS, ts_shape_corner(TS_SHAPE_CUSHION));
    assert_int_equal(TS_CORNER_CUT, ts_shape_corner(TS_SHAPE_EMERALD));
    assert_int_equal(TS_CORNER_NONE, ts_shape_corner(TS_SHAPE_ROUND));
    assert_int_equal(TS_CORNER_NONE, ts_shape_corner(TS_SHAPE_NONE));
    assert_true(ts_shape_has_tip(TS_SHAPE_PEAR));
    assert_true(ts_shape_has_tip(TS_SHAPE_MARQUISE));
    assert_true(ts_shape_has_tip(TS_SHAPE_HEART));
    assert_true(ts_shape_has_tip(TS_SHAPE_TRILLION));
    assert_false(ts_shape_has_tip(TS_SHAPE_OVAL));
    assert_false(ts_shape_has_tip(TS_SHAPE_NONE));
}

/* Source: handbook chapter "Estimating mounted diamond weight", girdle table. */
static void girdles_carry_their_corrections_by_size(void **state)
{
    (void)state;
    assert_int_equal(1000, ts_girdle_thousandths(TS_GIRDLE_NONE, 0));
    assert_int_equal(1000, ts_girdle_thousandths(TS_GIRDLE_MEDIUM, 2));
    assert_int_equal(1030, ts_girdle_thousandths(TS_GIRDLE_SLIGHTLY_THICK, 0));
    assert_int_equal(1020, ts_girdle_thousandths(TS_GIRDLE_SLIGHTLY_THICK, 1));
    assert_int_equal(1010, ts_girdle_thousandths(TS_GIRDLE_SLIGHTLY_THICK, 2));
    assert_int_equal(970, ts_girdle_thousandths(TS_GIRDLE_EXTREMELY_THIN, 0));
    for (int i = 1; i < TS_GIRDLE_COUNT; i++) {
        for (int size = 0; size < 3; size++) {
            int factor = ts_girdle_thousandths((ts_girdle)i, size);

            /* the thicker the girdle the heavier, in every class of size */
            assert_true(factor >= 900 && factor <= 1100);
            assert_true(i == 1 || factor >= ts_girdle_thousandths((ts_girdle)(i - 1), size));
        }
    }
}

/* Source: diamond 16 CFR 23.12; corundum, beryl, quartz: gem tables. */
static void species_carry_their_specific_gravity(void **state)
{
    (void)state;
    assert_int_equal(3520, ts_species_sg(TS_SPECIES_DIAMOND));
    assert_int_equal(4000, ts_species_sg(TS_SPECIES_RUBY));
    assert_int_equal(ts_species_sg(TS_SPECIES_RUBY), ts_species_sg(TS_SPECIES_SAPPHIRE));
    assert_int_equal(2720, ts_species_sg(TS_SPECIES_AQUAMARINE));
    assert_int_equal(2660, ts_species_sg(TS_SPECIES_CITRINE));
    assert_int_equal(0, ts_species_sg(TS_SPECIES_NONE));
    for (int i = 1; i < TS_SPECIES_COUNT; i++) {
        assert_true(ts_species_sg((ts_species)i) >= 1990); /* opal, the lightest */
        assert_true(ts_species_sg((ts_species)i) <= 4700); /* zircon, the heaviest */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_list_has_a_word_for_every_value),
        cmocka_unit_test(no_word_stands_twice_in_its_list),
        cmocka_unit_test(every_word_is_found_in_any_case_and_spacing),
        cmocka_unit_test(unknown_and_empty_words_are_not_found),
        cmocka_unit_test(comfort_fit_is_read_as_court),
        cmocka_unit_test(an_alias_is_no_word_of_its_list),
        cmocka_unit_test(a_list_reads_as_a_sentence),
        cmocka_unit_test(a_sentence_keeps_within_its_buffer),
        cmocka_unit_test(explanations_are_one_line_without_a_full_stop),
        cmocka_unit_test(shapes_know_their_corners_and_tips),
        cmocka_unit_test(girdles_carry_their_corrections_by_size),
        cmocka_unit_test(species_carry_their_specific_gravity),
    };

    return cmocka_run_group_tests_name("words", tests, NULL, NULL);
}
