/* "Did you mean": which word is near, and which is none. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/nearest.h>

static const char *const measures[] = {"width top",   "width base", NULL,     "thickness top",
                                       "profile top", "wall",       "height", "mm",
                                       "g",           "ct"};
enum { MEASURES = sizeof measures / sizeof measures[0] };

static const char *near(const char *typed)
{
    const int found = ts_nearest(typed, measures, MEASURES);
    return found < 0 ? "" : measures[found];
}

static void usual_slips_find_their_word(void **state)
{
    (void)state;
    assert_string_equal(near("heigth"), "height"); /* two letters swapped */
    assert_string_equal(near("higth"), "height");
    assert_string_equal(near("heightt"), "height");
    assert_string_equal(near("WIDHT  TOP"), "width top");
    assert_string_equal(near("mn"), "mm");
    assert_string_equal(near(" Wal "), "wall");
    assert_string_equal(near("wall"), "wall");
}

static void a_beginning_of_three_letters_is_near(void **state)
{
    (void)state;
    assert_string_equal(near("thi"), "thickness top");
    assert_string_equal(near("pro"), "profile top");
    assert_string_equal(near("width"), "width top"); /* of equals the first */
    assert_string_equal(near("th"), "");
}

static void what_is_far_from_all_is_near_none(void **state)
{
    (void)state;
    assert_string_equal(near("engraving"), "");
    assert_string_equal(near(""), "");
    assert_string_equal(near("   "), "");
    assert_string_equal(near("x"), ""); /* one letter for another is no likeness */
    assert_int_equal(ts_nearest(NULL, measures, MEASURES), -1);
    assert_int_equal(ts_nearest("height", measures, 0), -1);
}

static void a_third_of_the_longer_word_is_the_limit(void **state)
{
    (void)state;
    static const char *const six[] = {"abcdef"};
    static const char *const five[] = {"abcde"};
    assert_int_equal(ts_nearest("abcdxy", six, 1), 0);  /* 2 of 6 */
    assert_int_equal(ts_nearest("abcxyz", six, 1), -1); /* 3 of 6 */
    assert_int_equal(ts_nearest("abcdx", five, 1), 0);  /* 1 of 5 */
    assert_int_equal(ts_nearest("abcxy", five, 1), -1); /* 2 of 5 */
    assert_int_equal(ts_nearest("badcfe", six, 1), -1); /* 3 swaps */
    assert_int_equal(ts_nearest("bacdfe", six, 1), 0);  /* 2 swaps */
}

static void a_letter_of_two_bytes_is_one_letter(void **state)
{
    (void)state;
    static const char *const words[] = {"carre"};
    assert_int_equal(ts_nearest("carr\xC3\xA9", words, 1), 0);
}

static void very_long_words_are_near_nothing(void **state)
{
    (void)state;
    char text[8193];
    memset(text, 'a', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    const char *const words[] = {text, "aaaa"};
    assert_int_equal(ts_nearest(text, words, 2), -1);
    text[64] = '\0';
    assert_int_equal(ts_nearest(text, words, 2), 0);
    text[64] = 'a';
    text[65] = '\0';
    assert_int_equal(ts_nearest(text, words, 2), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(usual_slips_find_their_word),
        cmocka_unit_test(a_beginning_of_three_letters_is_near),
        cmocka_unit_test(what_is_far_from_all_is_near_none),
        cmocka_unit_test(a_third_of_the_longer_word_is_the_limit),
        cmocka_unit_test(a_letter_of_two_bytes_is_one_letter),
        cmocka_unit_test(very_long_words_are_near_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
