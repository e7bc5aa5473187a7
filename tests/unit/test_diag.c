/* Faults as a person sees them: sorted, complete, each said once, the cell marked. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/diag.h>
#include <tallystone/base/text.h>

typedef struct fixture {
    ts_arena *arena;
    ts_diag *diag;
    char *printed;
} fixture;

static int begin(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    f->arena = ts_arena_new(NULL, NULL);
    f->diag = ts_diag_new(f->arena);
    *state = f;
    return 0;
}

static int end(void **state)
{
    fixture *f = *state;
    free(f->printed);
    ts_arena_free(f->arena);
    free(f);
    return 0;
}

static const char *print(fixture *f, bool colour, bool unicode)
{
    size_t length = 0;
    free(f->printed);
    f->printed = NULL;
    FILE *to = open_memstream(&f->printed, &length);
    ts_diag_print(f->diag, to, colour, unicode);
    fclose(to);
    return f->printed;
}

static const ts_place cell = {.file = "halo.csv",
                              .line = 7,
                              .column = 7,
                              .width = 6,
                              .row = 7,
                              .cell = 2,
                              .heading = "measure",
                              .line_text = "bezel,heigth,2,mm"};

static void a_fault_is_printed_with_its_cell_its_line_and_its_hint(void **state)
{
    fixture *f = *state;
    ts_diag_add(f->diag, TS_FAULT_MEASURE_UNKNOWN, &cell, "\"%s\" is not a measure of a bezel",
                "heigth");
    ts_diag_hint(f->diag, "did you mean \"height\"?");
    assert_string_equal(print(f, false, true),
                        "halo.csv:7:7: \"heigth\" is not a measure of a bezel [measure-unknown]\n"
                        "  B7 (measure) | bezel,heigth,2,mm\n"
                        "                       ^^^^^^\n"
                        "  did you mean \"height\"?\n");
}

static void a_warning_says_so_and_counts_apart(void **state)
{
    fixture *f = *state;
    const ts_place file = {.file = "metals.csv", .line = 3, .column = 1};
    ts_diag_add(f->diag, TS_FAULT_BOOK_STALE, &file, "gold was priced 40 days ago");
    ts_diag_add(f->diag, TS_FAULT_OUTPUT, NULL, "\"out\" cannot be written");
    assert_int_equal(ts_diag_warnings(f->diag), 1);
    assert_int_equal(ts_diag_errors(f->diag), 1);
    assert_string_equal(print(f, false, true),
                        "metals.csv:3:1: warning: gold was priced 40 days ago [book-stale]\n"
                        "tallystone: \"out\" cannot be written [output]\n");
}

static void add_at(ts_diag *diag, const char *file, int line, int column, const char *says)
{
    const ts_place at = {.file = file, .line = line, .column = column};
    ts_diag_add(diag, TS_FAULT_NUMBER, &at, "%s", says);
}

static void faults_are_sorted_by_file_line_and_column_and_else_stay(void **state)
{
    fixture *f = *state;
    add_at(f->diag, "b.csv", 10, 2, "four");
    add_at(f->diag, "b.csv", 9, 5, "two");
    add_at(f->diag, "a.csv", 1, 1, "five");
    add_at(f->diag, "b.csv", 9, 5, "three");
    add_at(f->diag, "b.csv", 9, 1, "one");
    assert_string_equal(print(f, false, true), "b.csv:9:1: one [number]\n"
                                               "b.csv:9:5: two [number]\n"
                                               "b.csv:9:5: three [number]\n"
                                               "b.csv:10:2: four [number]\n"
                                               "a.csv:1:1: five [number]\n");
}

static void a_fault_said_twice_is_printed_once_but_still_counts_as_found(void **state)
{
    fixture *f = *state;
    char other_pointer[] = "a.csv";
    add_at(f->diag, "a.csv", 1, 1, "same");
    ts_diag_hint(f->diag, "first hint");
    const size_t mark = ts_diag_mark(f->diag);
    assert_int_equal(ts_diag_errors_since(f->diag, mark), 0);
    add_at(f->diag, other_pointer, 1, 1, "same");
    ts_diag_hint(f->diag, "second hint");
    assert_int_equal(ts_diag_errors(f->diag), 1);
    assert_int_equal(ts_diag_errors_since(f->diag, mark), 1);
    assert_string_equal(print(f, false, true), "a.csv:1:1: same [number]\n  first hint\n");
}

static void two_faults_of_one_cell_are_both_printed(void **state)
{
    fixture *f = *state;
    add_at(f->diag, "a.csv", 1, 1, "width is missing");
    add_at(f->diag, "a.csv", 1, 1, "depth is missing");
    assert_int_equal(ts_diag_errors(f->diag), 2);
}

static void after_two_hundred_faults_the_rest_is_counted(void **state)
{
    fixture *f = *state;
    for (int line = 1; line <= 1234; line++) {
        add_at(f->diag, "a.csv", line, 1, "wrong");
    }
    const char *printed = print(f, false, true);
    assert_non_null(strstr(printed, "a.csv:200:1: wrong"));
    assert_null(strstr(printed, "a.csv:201:1: wrong"));
    assert_non_null(strstr(printed, "tallystone: and 1034 more\n"));
}

static void the_mark_counts_columns_of_what_is_shown(void **state)
{
    fixture *f = *state;
    ts_place at = cell;
    at.line_text = "\xE4\xB8\xAD\xC3\xA9\tx\x1B"
                   "ab"; /* wide, e acute, tab, x, ESC */
    at.column = 6;
    at.width = 2;
    ts_diag_add(f->diag, TS_FAULT_TEXT, &at, "here");
    assert_string_equal(print(f, false, true), "halo.csv:7:6: here [text]\n"
                                               "  B7 (measure) | \xE4\xB8\xAD\xC3\xA9 x\\x1Bab\n"
                                               "                          ^^\n");
}

/* Prints a fault at the cell "CELL" of a line of 4000 characters; the mark must stand
 * under it and no line may be much wider than a hundred columns. */
static void check_long_line(fixture *f, int before, bool unicode)
{
    char line[4001];
    memset(line, 'x', sizeof line - 1);
    line[sizeof line - 1] = '\0';
    memcpy(line + before, "CELL", 4);
    ts_place at = cell;
    at.line_text = line;
    at.column = before + 1;
    at.width = 4;
    f->diag = ts_diag_new(f->arena);
    ts_diag_add(f->diag, TS_FAULT_TEXT, &at, "here");
    char *window = strchr(print(f, false, unicode), '\n') + 1;
    char *marks = strchr(window, '\n') + 1;
    marks[-1] = '\0';
    const char *found = strstr(window, "CELL");
    assert_non_null(found);
    const int bytes = (int)(found - window);
    char *head = ts_arena_copy(f->arena, window, (size_t)bytes);
    assert_int_equal(ts_text_width(head), strspn(marks, " "));
    assert_int_equal(strspn(strchr(marks, '^'), "^"), 4);
    assert_in_range(ts_text_width(window), 40, 130); /* label, cut marks and a hundred */
}

static void a_long_line_is_cut_around_its_cell(void **state)
{
    fixture *f = *state;
    static const int places[] = {0, 3, 40, 41, 42, 90, 97, 98, 2000, 3900, 3996};
    for (size_t i = 0; i < TS_COUNT_OF(places); i++) {
        check_long_line(f, places[i], true);
        check_long_line(f, places[i], false);
    }
}

static void without_unicode_all_is_ascii(void **state)
{
    fixture *f = *state;
    ts_place at = cell;
    at.file = "caf\xC3\xA9.csv";
    at.heading = "H\xC3\xB6he";
    at.line_text = "bezel,h\xC3\xA9ight \xE2\x80\xA6";
    ts_diag_add(f->diag, TS_FAULT_TEXT, &at,
                "\xE2\x80\x9Cso\xE2\x80\x9D \xE2\x89\xA5 1 \xC3\x97 2");
    ts_diag_hint(f->diag, "%s", ts_text_show(f->arena, "abcdef", 3));
    const char *printed = print(f, false, false);
    for (const char *c = printed; *c != '\0'; c++) {
        assert_in_range((unsigned char)*c, '\n', '~');
    }
    assert_non_null(strstr(printed, "\"so\" >= 1 x 2 [text]"));
    assert_non_null(strstr(printed, "  abc...\n"));
    assert_non_null(strstr(printed, "caf\\xC3\\xA9.csv:7:7"));
}

static void no_text_of_the_user_reaches_the_terminal_raw(void **state)
{
    fixture *f = *state;
    ts_place at = cell;
    at.file = "a\x1B]0;b\n.csv";
    at.heading = "\x1B[2J";
    at.line_text = "\x07\x1B[31m\xE2\x80\xAE";
    ts_diag_add(f->diag, TS_FAULT_TEXT, &at, "\x1B[5m %s", "\r");
    ts_diag_hint(f->diag, "\x08");
    const char *printed = print(f, false, true);
    assert_null(strpbrk(printed, "\x1B\x07\x08\r"));
    assert_null(strstr(printed, "\xE2\x80\xAE"));
    assert_non_null(strstr(printed, "a\\x1B]0;b\\x0A.csv:7:7: \\x1B[5m \\x0D [text]"));
}

static void colour_adds_nothing_but_colour(void **state)
{
    fixture *f = *state;
    ts_diag_add(f->diag, TS_FAULT_TEXT, &cell, "here");
    ts_diag_add(f->diag, TS_FAULT_BOOK_ODD, &cell, "there");
    char *plain = ts_arena_text(f->arena, print(f, false, true));
    char *coloured = ts_arena_text(f->arena, print(f, true, true));
    char *to = coloured;
    int escapes = 0;
    for (const char *from = coloured; *from != '\0';) {
        if (*from == '\x1B') {
            from = strchr(from, 'm') + 1;
            escapes++;
        } else {
            *to++ = *from++;
        }
    }
    *to = '\0';
    assert_true(escapes > 0);
    assert_string_equal(coloured, plain);
}

static void cells_are_named_as_a_spreadsheet_names_them(void **state)
{
    (void)state;
    char name[16];
    assert_string_equal(ts_cell_name(name, 7, 4), "D7");
    assert_string_equal(ts_cell_name(name, 1, 26), "Z1");
    assert_string_equal(ts_cell_name(name, 1, 27), "AA1");
    assert_string_equal(ts_cell_name(name, 100000, 256), "IV100000");
    assert_string_equal(ts_cell_name(name, 2, 702), "ZZ2");
    assert_string_equal(ts_cell_name(name, 2, 703), "AAA2");
    assert_in_range(strlen(ts_cell_name(name, INT32_MAX, INT32_MAX)), 1, 15);
}

static void every_fault_has_a_word_of_its_own_and_says_what_to_do(void **state)
{
    (void)state;
    for (int code = 1; code < TS_FAULT_COUNT; code++) {
        const char *word = ts_fault_word((ts_fault)code);
        const char *says = ts_fault_says((ts_fault)code);
        assert_int_equal(ts_fault_find(word), code);
        assert_true(strlen(says) > 10 && says[strlen(says) - 1] == '.');
    }
    assert_int_equal(ts_fault_find("no-such-word"), TS_FAULT_NONE);
    assert_int_equal(ts_fault_find(""), TS_FAULT_NONE);
}

#define FAULT_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        FAULT_TEST(a_fault_is_printed_with_its_cell_its_line_and_its_hint),
        FAULT_TEST(a_warning_says_so_and_counts_apart),
        FAULT_TEST(faults_are_sorted_by_file_line_and_column_and_else_stay),
        FAULT_TEST(a_fault_said_twice_is_printed_once_but_still_counts_as_found),
        FAULT_TEST(two_faults_of_one_cell_are_both_printed),
        FAULT_TEST(after_two_hundred_faults_the_rest_is_counted),
        FAULT_TEST(the_mark_counts_columns_of_what_is_shown),
        FAULT_TEST(a_long_line_is_cut_around_its_cell),
        FAULT_TEST(without_unicode_all_is_ascii),
        FAULT_TEST(no_text_of_the_user_reaches_the_terminal_raw),
        FAULT_TEST(colour_adds_nothing_but_colour),
        FAULT_TEST(cells_are_named_as_a_spreadsheet_names_them),
        FAULT_TEST(every_fault_has_a_word_of_its_own_and_says_what_to_do),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
