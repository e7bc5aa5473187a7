/* CSV as spreadsheet programs save it, and everything that is not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/csvin.h>
#include <tallystone/base/text.h>

#include "table.h"

static const char *const known[] = {"part", "measure", "value", "unit", "note"};

typedef struct fixture {
    ts_arena *arena;
    ts_diag *diag;
    ts_csv csv;
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

static const char *faults(fixture *f)
{
    size_t length = 0;
    free(f->printed);
    f->printed = NULL;
    FILE *to = open_memstream(&f->printed, &length);
    ts_diag_print(f->diag, to, false, true);
    fclose(to);
    return f->printed;
}

static ts_status parse_bytes(fixture *f, const char *text, size_t length)
{
    /* a block of exactly this size, so that a checker sees a byte read beyond it */
    char *exact = malloc(length == 0 ? 1 : length);
    if (length > 0) {
        memcpy(exact, text, length);
    }
    f->diag = ts_diag_new(f->arena);
    const ts_status status =
        ts_csv_parse(&f->csv, f->arena, "s.csv", exact, length, known, TS_COUNT_OF(known), f->diag);
    f->csv.text = ts_arena_copy(f->arena, f->csv.text, f->csv.length);
    free(exact);
    return status;
}

static void parse(fixture *f, const char *text)
{
    if (parse_bytes(f, text, strlen(text)) != TS_OK) {
        fail_msg("%s", faults(f));
    }
    assert_int_equal(ts_diag_errors(f->diag), 0);
}

/* Parses what is faulty: exactly `count` faults, and `expect` among what is printed. */
static void refuse(fixture *f, const char *text, size_t count, const char *expect)
{
    assert_int_equal(parse_bytes(f, text, strlen(text)), TS_FAULTY);
    if (ts_diag_errors(f->diag) != count || strstr(faults(f), expect) == NULL) {
        fail_msg("expected %zu faults and <%s>, got %zu:\n%s", count, expect,
                 ts_diag_errors(f->diag), faults(f));
    }
}

static const char *cell(const fixture *f, size_t row, int column)
{
    assert_true(row < f->csv.count && column < f->csv.rows[row].count);
    return f->csv.rows[row].cells[column];
}

/* --- against a public set of cases ------------------------------------------------- */

static const char *unescape(ts_arena *arena, const char *text)
{
    char *out = ts_arena_text(arena, text);
    char *to = out;
    for (const char *at = text; *at != '\0'; at++) {
        if (at[0] == '\\' && (at[1] == 'n' || at[1] == 'r')) {
            *to++ = at[1] == 'n' ? '\n' : '\r';
            at++;
        } else {
            *to++ = *at;
        }
    }
    *to = '\0';
    return out;
}

static void public_cases_read_as_their_authors_say(void **state)
{
    fixture *f = *state;
    table *cases = table_open("tests/reference/csv-spectrum.csv");
    for (const table_row *row; (row = table_next(cases)) != NULL;) {
        const char *path =
            ts_arena_format(f->arena, "tests/reference/csv/%s", table_text(row, "file"));
        const char *column = table_text(row, "column");
        const char *expect = unescape(f->arena, table_text(row, "expect"));
        const size_t number = (size_t)table_number(row, "row");
        if (ts_csv_read(&f->csv, f->arena, path, &column, 1, f->diag) != TS_OK) {
            fail_msg("%s", faults(f));
        }
        int at = 0;
        while (!ts_text_same(cell(f, 0, at), column)) {
            at++;
        }
        assert_string_equal(cell(f, number, at), expect);
    }
    table_close(cases);
}

/* That set has one file whose second row RFC 4180 does not allow: a bare quotation mark
 * in an unquoted cell. Here it is a fault with its place. */
static void a_public_case_with_a_bare_quotation_mark_is_refused(void **state)
{
    fixture *f = *state;
    static const char *const words[] = {"Cities"};
    assert_int_equal(ts_csv_read(&f->csv, f->arena, "tests/reference/csv/location_coordinates.csv",
                                 words, 1, f->diag),
                     TS_FAULTY);
    assert_int_equal(ts_diag_errors(f->diag), 1);
    assert_non_null(strstr(faults(f), "location_coordinates.csv:2:22: a quotation mark stands"));
}

/* --- what spreadsheet programs write ------------------------------------------------ */

static void separators_are_told_from_the_header(void **state)
{
    fixture *f = *state;
    static const char separators[] = {',', ';', '\t'};
    for (size_t i = 0; i < sizeof separators; i++) {
        char text[] = "Part|MEASURE |value\nring|a b|\"x|y\"\n";
        for (char *at = text; *at != '\0'; at++) {
            *at = *at == '|' ? separators[i] : *at;
        }
        const char inner[] = {'x', separators[i], 'y', '\0'};
        parse(f, text);
        assert_int_equal(f->csv.separator, separators[i]);
        assert_int_equal(f->csv.count, 2);
        assert_string_equal(cell(f, 0, 1), "MEASURE");
        assert_string_equal(cell(f, 1, 1), "a b");
        assert_string_equal(cell(f, 1, 2), inner);
    }
    parse(f, "part;own, with comma;value\n1;2;3\n");
    assert_int_equal(f->csv.separator, ';');
    parse(f, "value\n1\n"); /* one column: the comma */
    assert_int_equal(f->csv.separator, ',');
}

static void byte_order_mark_and_line_ends_make_no_difference(void **state)
{
    fixture *f = *state;
    static const char *const texts[] = {
        "part,value\nring,1\n",         "part,value\nring,1",
        "part,value\r\nring,1\r\n",     "\xEF\xBB\xBFpart,value\r\nring,1",
        "\n\npart,value\n\nring,1\n\n", "part,value,,\nring,1,,\n",
        " part , value\n ring\t, 1 \n", "\"part\",\"value\"\n\"ring\",\"1\"\n"};
    for (size_t i = 0; i < TS_COUNT_OF(texts); i++) {
        parse(f, texts[i]);
        assert_int_equal(f->csv.count, 2);
        assert_int_equal(f->csv.rows[0].count, 2);
        assert_int_equal(f->csv.rows[1].count, 2);
        assert_string_equal(cell(f, 0, 0), "part");
        assert_string_equal(cell(f, 1, 0), "ring");
        assert_string_equal(cell(f, 1, 1), "1");
    }
}

static void rows_and_lines_are_numbered_as_the_owner_sees_them(void **state)
{
    fixture *f = *state;
    parse(f, "part,value,note\n"      /* row 1, line 1 */
             "\n"                     /* row 2 */
             "a,1,\"two\r\nlines\"\n" /* row 3, lines 3 and 4 */
             "# remark,,\n"           /* row 4, line 5 */
             ",,\n"                   /* row 5, line 6 */
             "  \n"                   /* row 6, line 7 */
             "\"#\"\"quoted\"\"\"\n"  /* row 7, line 8 */
             "b\n");                  /* row 8, line 9 */
    assert_int_equal(f->csv.count, 3);
    assert_int_equal(f->csv.rows[1].row, 3);
    assert_int_equal(f->csv.rows[1].line, 3);
    assert_string_equal(cell(f, 1, 2), "two\r\nlines");
    assert_int_equal(f->csv.rows[2].row, 8);
    assert_int_equal(f->csv.rows[2].line, 9);
    assert_int_equal(f->csv.rows[2].count, 3);
    assert_string_equal(cell(f, 2, 2), "");
}

static void remarks_may_stand_above_the_header(void **state)
{
    fixture *f = *state;
    parse(f, "# written in spring;\n;;\npart;value\nring;1\n");
    assert_int_equal(f->csv.separator, ';');
    assert_int_equal(f->csv.rows[0].row, 3);
    assert_string_equal(cell(f, 1, 1), "1");
}

static void one_apostrophe_before_a_formula_sign_is_taken_off(void **state)
{
    fixture *f = *state;
    static const char *const cells[][2] = {
        {"'=1+1", "=1+1"},     {"''=1", "'=1"}, {"'-5", "-5"},        {"' @x", "@x"},
        {"'\xC2\xA0+1", "+1"}, {"'a", "'a"},    {"'", "'"},           {"''", "''"},
        {"-5", "-5"},          {"=1", "=1"},    {"'5'' x", "'5'' x"}, {"\" ' '=1\"", "'=1"}};
    for (size_t i = 0; i < TS_COUNT_OF(cells); i++) {
        parse(f, ts_arena_format(f->arena, "part,value\nx,%s\n", cells[i][0]));
        assert_string_equal(cell(f, 1, 1), cells[i][1]);
    }
}

/* --- the decimal mark ---------------------------------------------------------------- */

static void the_decimal_mark_is_what_cells_prove(void **state)
{
    fixture *f = *state;
    static const struct {
        const char *text;
        char point;
    } cases[] = {{"part;value\na;12,5\n", ','},
                 {"part;value\na;0,785\n", ','},
                 {"part;value\na;1,2345\n", ','},
                 {"part;value\na;-2,5\n", ','},
                 {"part\tvalue\na\t1234,567\n", ','},
                 {"part;value\na;1,234\n", '.'},
                 {"part;value\na;2.5\n", '.'},
                 {"part;value\na;1,5 mm\n", '.'},
                 {"part;value\na;1,5,5\n", '.'},
                 {"part;value\na;,5\n", '.'},
                 {"part;value\na;5,\n", '.'},
                 {"part;value\na;2026-03-09\n", '.'},
                 {"part;value\n# 1,5;1,5\na;1\n", '.'},
                 {"part,value\na,\"12,5\"\n", '.'},
                 {"part;value\na;\xE2\x88\x92"
                  "2,5\n",
                  ','},
                 {"part;value;1,5\na;1;x\n", '.'}};
    for (size_t i = 0; i < TS_COUNT_OF(cases); i++) {
        parse(f, cases[i].text);
        assert_int_equal(f->csv.point, cases[i].point);
    }
}

static void two_decimal_marks_in_one_file_are_one_fault(void **state)
{
    fixture *f = *state;
    refuse(
        f, "part;value\na;1,5\nb;2.5\nc;3.5\nd;4,5\n", 1,
        "s.csv:3:3: \"2.5\" has a decimal point, but \"1,5\" in B2 (line 2) has a decimal comma");
    refuse(
        f, "part;value\na;2.5\nb;x\nc;0,785\n", 1,
        "s.csv:4:3: \"0,785\" has a decimal comma, but \"2.5\" in B2 (line 2) has a decimal point");
}

/* --- places -------------------------------------------------------------------------- */

static void check_place(const fixture *f, size_t row, int at, int line, int column, int width)
{
    const ts_place place = ts_csv_place(&f->csv, f->arena, &f->csv.rows[row], at);
    if (place.line != line || place.column != column || place.width != width) {
        fail_msg("row %zu cell %d: %d:%d+%d, expected %d:%d+%d", row, at, place.line, place.column,
                 place.width, line, column, width);
    }
    assert_string_equal(place.file, "s.csv");
    assert_int_equal(place.cell, at + 1);
    assert_int_equal(place.row, f->csv.rows[row].row);
}

static void places_count_characters_and_physical_lines(void **state)
{
    fixture *f = *state;
    parse(f, "\xEF\xBB\xBFpart,value,note\r\n"
             " \xC3\xA9t\xC3\xA9 , \"a,\"\"b\" ,x\r\n"
             "a,\"one\r\ntwo, t\xC3\xBC\",last , \r\n"
             "b\r\n");
    check_place(f, 0, 0, 1, 1, 4);
    check_place(f, 0, 2, 1, 12, 4);
    check_place(f, 1, 0, 2, 2, 3);
    check_place(f, 1, 1, 2, 8, 7);
    check_place(f, 1, 2, 2, 17, 1);
    check_place(f, 2, 0, 3, 1, 1);
    check_place(f, 2, 1, 3, 3, 4); /* the first line of it is marked */
    check_place(f, 2, 2, 4, 10, 4);
    check_place(f, 3, 0, 5, 1, 1);
    check_place(f, 3, 2, 5, 2, 0); /* not there: where it would be written */
    const ts_place place = ts_csv_place(&f->csv, f->arena, &f->csv.rows[2], 2);
    assert_string_equal(place.line_text, "two, t\xC3\xBC\",last , ");
    assert_string_equal(place.heading, "note");
    const ts_place row = ts_csv_place(&f->csv, f->arena, &f->csv.rows[2], -1);
    assert_int_equal(row.cell, 0);
    assert_int_equal(row.line, 3);
    assert_string_equal(row.line_text, "a,\"one");
}

static void a_tab_between_cells_is_no_blank(void **state)
{
    fixture *f = *state;
    parse(f, "part\tmeasure\tvalue\na\t\t 5 \n");
    assert_string_equal(cell(f, 1, 1), "");
    check_place(f, 1, 1, 2, 3, 0);
    check_place(f, 1, 2, 2, 5, 1); /* past one blank */
}

/* --- what is refused ----------------------------------------------------------------- */

static void a_file_without_rows_is_empty(void **state)
{
    fixture *f = *state;
    refuse(f, "", 1, "s.csv: the file has no rows; its first names the columns [empty]");
    refuse(f, "\xEF\xBB\xBF", 1, "[empty]");
    refuse(f, "\n  \n,,\n# remark\n", 1, "columns: part, measure, value, unit, note");
}

static void a_title_in_place_of_the_header_is_shown_with_what_was_expected(void **state)
{
    fixture *f = *state;
    refuse(f, "\nRing for spring;;\npart;value\n", 1,
           "s.csv:2:1: the first row must name the columns; it reads: Ring for spring;; [header]");
    assert_non_null(strstr(faults(f), "columns: part, measure, value, unit, note"));
}

static void quotation_marks_that_do_not_add_up_have_their_place(void **state)
{
    fixture *f = *state;
    refuse(f, "part,value\na,5\" wide\nb,1\n", 1,
           "s.csv:2:4: a quotation mark stands inside a cell");
    assert_int_equal(f->csv.count, 2); /* the next row is read all the same */
    assert_string_equal(cell(f, 1, 0), "b");
    refuse(f, "part,value\n\xC3\xA9,\"5\" wide\n", 1,
           "s.csv:2:7: text follows the closing quotation mark");
    refuse(f, "part,value\na,x\"\nb,\"y\"z\nc,1,2\n", 3, "s.csv:4:5: \"2\" stands in column 3");
    refuse(f, "part,value\na,1\nb,\"never\nclosed,1\n", 1,
           "s.csv:3:3: the quotation mark that opens this cell is never closed");
    assert_non_null(strstr(faults(f), "B3 (value) | b,\"never"));
    refuse(f, "part,value\na,\"open\nb,1\nc,\"x\"\nd,2\n", 1,
           "s.csv:2:3: the quotation mark that opens this cell is closed in line 4");
    refuse(f, "part,\"value\n", 1, "s.csv:1:6: the quotation mark that opens this cell is never");
}

static void a_carriage_return_alone_ends_no_line(void **state)
{
    fixture *f = *state;
    refuse(f, "part,value\rring,1\r", 1, "s.csv:1:11: a carriage return stands here");
    refuse(f, "part,value\nring,\"1\r2\"\n", 1, "s.csv:2:8: a carriage return stands here");
    refuse(f, "part,value\r\r\nring,1\n", 1, "s.csv:1:11: a carriage return stands here");
}

static void refuse_bytes(fixture *f, const char *text, size_t length, const char *expect)
{
    assert_int_equal(parse_bytes(f, text, length), TS_FAULTY);
    assert_int_equal(ts_diag_errors(f->diag), 1);
    if (strstr(faults(f), expect) == NULL) {
        fail_msg("expected <%s>, got:\n%s", expect, faults(f));
    }
}

static void what_is_no_text_is_named_by_its_first_bad_byte(void **state)
{
    fixture *f = *state;
    refuse(f, "part,value\n\xC3\xA9,caf\xE9\n\xE9\n", 1, "s.csv:2:6: the byte \\xE9 stands here");
    refuse(f, "part,value\na,\x07\nb,\xE2\x80\xAE\n", 2,
           "s.csv:2:3: a character that cannot be "
           "seen (\\x07) stands here");
    assert_non_null(
        strstr(faults(f), "s.csv:3:3: a character that cannot be seen (\\xE2\\x80\\xAE)"));
    static const char binary[] = "PK\x03\x04\0\0zip";
    assert_int_equal(parse_bytes(f, binary, sizeof binary), TS_FAULTY);
    assert_non_null(strstr(faults(f), "s.csv:1:5: the byte \\x00 stands here; this is no text"));
    static const char little[] = "\xFF\xFEp\0a\0";
    static const char big[] = "\xFE\xFF\0p\0a";
    refuse_bytes(f, little, sizeof little - 1, "the file is UTF-16");
    refuse_bytes(f, big, sizeof big - 1, "the file is UTF-16");
    refuse_bytes(f, "part,value\na,\0\n", 14, "s.csv:2:3: the byte \\x00");
}

static void a_cell_beyond_the_header_is_named(void **state)
{
    fixture *f = *state;
    refuse(f, "part,value\na,1,,extra\nb,16,5\n", 2, "s.csv:2:6: \"extra\" stands in column 4");
    assert_non_null(strstr(faults(f), "s.csv:3:6: \"5\" stands in column 3; the header names 2"));
    assert_int_equal(f->csv.count, 3);
    assert_int_equal(f->csv.rows[1].count, 2);
}

/* --- limits --------------------------------------------------------------------------- */

/* `before`, `count` times `piece`, `after`. */
static char *repeated(ts_arena *arena, const char *before, const char *piece, size_t count,
                      const char *after)
{
    const size_t length = strlen(piece);
    const size_t start = strlen(before);
    char *text = ts_arena_alloc(arena, start + count * length + strlen(after) + 1, 1);
    memcpy(text, before, start);
    for (size_t i = 0; i < count; i++) {
        memcpy(text + start + i * length, piece, length);
    }
    strcpy(text + start + count * length, after);
    return text;
}

static void columns_are_limited(void **state)
{
    fixture *f = *state;
    parse(f, repeated(f->arena, "part", ",x", 255, "\n1\n"));
    assert_int_equal(f->csv.rows[1].count, 256);
    parse(f, repeated(f->arena, "part", ",", 9999, "\n1\n"));
    assert_int_equal(f->csv.rows[1].count, 1);
    refuse(f, repeated(f->arena, "part", ",x", 256, "\n1\n"), 1,
           "the row has 257 cells; a table has at most 256 columns [too-large]");
    refuse(f, repeated(f->arena, "part", ",x", 9999, "\n1,2\n"), 1, "the row has 10000 cells");
    refuse(f, repeated(f->arena, "part\n1", ",x", 9999, "\n"), 1, "the row has 10000 cells");
}

static void cells_are_limited(void **state)
{
    fixture *f = *state;
    parse(f, repeated(f->arena, "part,value\na,", "x", 8192, "\n"));
    assert_int_equal(strlen(cell(f, 1, 1)), 8192);
    parse(f, repeated(f->arena, "part,value\na,\"", "\"\"", 8192, "\"\n"));
    assert_int_equal(strlen(cell(f, 1, 1)), 8192);
    refuse(f, repeated(f->arena, "part,value\na,", "x", 8193, "\nb,1\n"), 1,
           "s.csv:2:3: this cell is longer than 8192 bytes [too-large]");
    assert_string_equal(cell(f, 1, 0), "b");
    refuse(f, repeated(f->arena, "part,value\na,\"", "x", 8193, "\"\n"), 1, "s.csv:2:3: this cell");
    refuse(f, repeated(f->arena, "part,value\na,\"", "x", 1000000, "\n"), 1,
           "s.csv:2:3: this cell");
    refuse(f, repeated(f->arena, "part,value\na,\"", "x\n", 8000, ""), 1,
           "is there one that closes it?");
}

static void rows_are_limited(void **state)
{
    fixture *f = *state;
    parse(f, repeated(f->arena, "part\n", "a\n\n#\n", 100000, ""));
    assert_int_equal(f->csv.count, 100001);
    refuse(f, repeated(f->arena, "part\n", "a\n", 100001, ""), 1,
           "s.csv:100002:1: the table has more than 100000 rows [too-large]");
    assert_int_equal(f->csv.count, 100001);
    assert_int_equal(parse_bytes(f, repeated(f->arena, "part\n", "a\"\n", 120000, ""), 360005),
                     TS_FAULTY);
    assert_int_equal(ts_diag_errors(f->diag), 100002); /* 100001 marks, and the limit */
}

static void the_text_is_limited(void **state)
{
    fixture *f = *state;
    const size_t most = TS_CSV_MOST_BYTES;
    char *text = repeated(f->arena, "part\n", "\n", most - 5, "\n");
    assert_int_equal(parse_bytes(f, text, most), TS_OK);
    assert_int_equal(parse_bytes(f, text, most + 1), TS_FAULTY);
    assert_non_null(strstr(faults(f), "s.csv: the text is larger than 16 MiB [too-large]"));
}

static void a_file_that_is_not_there_is_missing(void **state)
{
    fixture *f = *state;
    assert_int_equal(
        ts_csv_read(&f->csv, f->arena, "tests/reference/csv/none.csv", known, 5, f->diag),
        TS_MISSING);
    assert_int_equal(f->csv.count, 0);
    assert_non_null(strstr(faults(f), "none.csv: the file is not there [not-found]"));
}

/* --- any bytes ------------------------------------------------------------------------ */

/* Small texts of awkward bytes, all of them up to five long: no crash, and what is said
 * agrees: faulty where and only where something was reported; every place can be asked. */
static void any_short_text_is_read_or_refused(void **state)
{
    fixture *f = *state;
    static const char bytes[] = {',', '"', '\n', '\r', 'a', ' ', ';'};
    enum { KINDS = sizeof bytes, LONGEST = 5 };
    size_t total = 1;
    for (int length = 0; length <= LONGEST; length++, total *= KINDS) {
        for (size_t number = 0; number < total; number++) {
            char text[16] = "part\n";
            size_t left = number;
            for (int i = 0; i < length; i++, left /= KINDS) {
                text[5 + i] = bytes[left % KINDS];
            }
            const ts_arena_mark mark = ts_arena_mark_of(f->arena);
            const ts_status status = parse_bytes(f, text, 5 + (size_t)length);
            assert_int_equal(status == TS_OK, ts_diag_errors(f->diag) == 0);
            for (size_t row = 0; row < f->csv.count; row++) {
                for (int at = -1; at < 3; at++) {
                    const ts_place place = ts_csv_place(&f->csv, f->arena, &f->csv.rows[row], at);
                    assert_true(place.line >= 1 && place.column >= 1 && place.width >= 0);
                }
            }
            f->diag = NULL;
            ts_arena_rewind(f->arena, mark);
        }
    }
}

#define CSV_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        CSV_TEST(public_cases_read_as_their_authors_say),
        CSV_TEST(a_public_case_with_a_bare_quotation_mark_is_refused),
        CSV_TEST(separators_are_told_from_the_header),
        CSV_TEST(byte_order_mark_and_line_ends_make_no_difference),
        CSV_TEST(rows_and_lines_are_numbered_as_the_owner_sees_them),
        CSV_TEST(remarks_may_stand_above_the_header),
        CSV_TEST(one_apostrophe_before_a_formula_sign_is_taken_off),
        CSV_TEST(the_decimal_mark_is_what_cells_prove),
        CSV_TEST(two_decimal_marks_in_one_file_are_one_fault),
        CSV_TEST(places_count_characters_and_physical_lines),
        CSV_TEST(a_tab_between_cells_is_no_blank),
        CSV_TEST(a_file_without_rows_is_empty),
        CSV_TEST(a_title_in_place_of_the_header_is_shown_with_what_was_expected),
        CSV_TEST(quotation_marks_that_do_not_add_up_have_their_place),
        CSV_TEST(a_carriage_return_alone_ends_no_line),
        CSV_TEST(what_is_no_text_is_named_by_its_first_bad_byte),
        CSV_TEST(a_cell_beyond_the_header_is_named),
        CSV_TEST(columns_are_limited),
        CSV_TEST(cells_are_limited),
        CSV_TEST(rows_are_limited),
        CSV_TEST(the_text_is_limited),
        CSV_TEST(a_file_that_is_not_there_is_missing),
        CSV_TEST(any_short_text_is_read_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
