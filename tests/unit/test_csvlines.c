/* Tables of any length: lines taken apart as the reader of whole files does, parts of a file. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include <tallystone/base/csvin.h>
#include <tallystone/base/csvlines.h>

#define LINES 40000
#define MOST 48

static uint32_t next_of(uint32_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 17;
    *seed ^= *seed << 5;
    return *seed;
}

/* A line of the signs that matter, never a bare CR or a break. */
static size_t random_line(char *line, uint32_t *seed)
{
    static const char *const pieces[] = {"a", "1.5",      "\"",           "\"\"",     ",",  ",",
                                         ";", " ",        "\t",           "'",        "=",  "-",
                                         "#", "\xc2\xa0", "\xe2\x80\xaf", "\xc3\xa9", "x y"};
    size_t length = 0;
    const uint32_t count = next_of(seed) % 12;

    for (uint32_t i = 0; i < count; i++) {
        const char *piece = pieces[next_of(seed) % (sizeof pieces / sizeof pieces[0])];

        memcpy(line + length, piece, strlen(piece));
        length += strlen(piece);
    }
    line[length] = '\0';
    return length;
}

/* The reader of whole files, whose table has a header of ten columns and this line. */
static ts_status by_whole_file(ts_csv *csv, ts_arena *arena, const char *line)
{
    static const char *const known[] = {"k"};
    const char *text = ts_arena_format(arena, "k,b,c,d,e,f,g,h,i,j,l,m,n\n%s\n", line);

    return ts_csv_parse(csv, arena, "t", text, strlen(text), known, 1, ts_diag_new(arena));
}

static void a_line_reads_as_in_a_whole_file(void **state)
{
    uint32_t seed = 20261125;
    int rows = 0, bad = 0;

    (void)state;
    for (int n = 0; n < LINES; n++) {
        char line[MOST * 4], copy[MOST * 4];
        const size_t length = random_line(line, &seed);
        ts_arena *arena = ts_arena_new(NULL, NULL);
        ts_csv csv;
        ts_csv_record record;

        memcpy(copy, line, length + 1);
        const ts_status status = by_whole_file(&csv, arena, line);
        const ts_record_kind kind = ts_csv_record_read(&record, copy, length, ',');
        if (status != TS_OK) {
            assert_int_equal(kind, TS_RECORD_BAD);
            assert_non_null(record.why);
            bad++;
        } else if (csv.count < 2) {
            assert_int_equal(kind, TS_RECORD_NOTHING);
        } else {
            assert_int_equal(kind, TS_RECORD_ROW);
            for (size_t i = 0; i < record.count; i++) {
                assert_string_equal(record.cells[i], csv.rows[1].cells[i]);
            }
            rows++;
        }
        ts_arena_free(arena);
    }
    assert_true(rows > LINES / 10 && bad > LINES / 10);
}

static void a_row_says_why_it_cannot_be_read(void **state)
{
    static const struct {
        const char *line, *why;
    } cases[] = {
        {"a,\"b",
         "the quotation mark that opens a cell is not closed on its line; a record stands on "
         "one line"},
        {"a,\"b\"c", "text follows the closing quotation mark of a cell"},
        {"a,b\"c", "a quotation mark stands inside a cell that does not begin with one"},
        {"a,\xff", "the row holds a byte that is no UTF-8 text or a sign that cannot be seen"},
        {"a,\xe2\x80\xae",
         "the row holds a byte that is no UTF-8 text or a sign that cannot be seen"},
        {"a\rb", "the row holds a byte that is no UTF-8 text or a sign that cannot be seen"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char line[64];
        ts_csv_record record;

        snprintf(line, sizeof line, "%s", cases[i].line);
        assert_int_equal(ts_csv_record_read(&record, line, strlen(line), ','), TS_RECORD_BAD);
        assert_string_equal(record.why, cases[i].why);
    }
}

static void a_cell_and_a_row_have_their_limits(void **state)
{
    static char line[TS_CSV_MOST_CELL + 2];
    static char many[TS_CSV_MOST_CELLS + 2];
    ts_csv_record record;

    (void)state;
    memset(line, 'a', TS_CSV_MOST_CELL);
    assert_int_equal(ts_csv_record_read(&record, line, TS_CSV_MOST_CELL, ','), TS_RECORD_ROW);
    memset(line, 'a', TS_CSV_MOST_CELL + 1);
    assert_int_equal(ts_csv_record_read(&record, line, TS_CSV_MOST_CELL + 1, ','), TS_RECORD_BAD);
    memset(many, ',', sizeof many);
    assert_int_equal(ts_csv_record_read(&record, many, TS_CSV_MOST_CELLS - 1, ','),
                     TS_RECORD_NOTHING);
    memset(many, ',', sizeof many);
    assert_int_equal(ts_csv_record_read(&record, many, TS_CSV_MOST_CELLS, ','), TS_RECORD_BAD);
}

/* ---- the quick reader against the whole rule ---- */

enum { BLANKS = 256, ROOM = 1024 }; /* a line as long as that goes the whole way */

/* The line as it is and behind so many blanks, which its first cell does not show. */
static void assert_reads_alike(const char *line, size_t length, char separator)
{
    char quick[ROOM + 1], whole[ROOM + 1];
    ts_csv_record one, other;

    memcpy(quick, line, length);
    memset(whole, ' ', BLANKS);
    memcpy(whole + BLANKS, line, length);
    const ts_record_kind kind = ts_csv_record_read(&one, quick, length, separator);
    assert_int_equal(kind, ts_csv_record_read(&other, whole, BLANKS + length, separator));
    if (kind == TS_RECORD_BAD) {
        assert_string_equal(one.why, other.why);
        return;
    }
    assert_int_equal(one.count, other.count);
    assert_int_equal(one.filled, other.filled);
    for (size_t i = 0; i < one.count; i++) {
        assert_string_equal(one.cells[i], other.cells[i]);
    }
}

/* Every line of `most` of these signs at most: alone, and before, behind and amid letters, so that
 * each sign stands once in each place of a word of eight bytes. */
static void assert_all_read_alike(const char *signs, size_t count, size_t most)
{
    size_t lines = 1;

    for (size_t length = 0; length <= most; length++, lines *= count) {
        for (size_t n = 0; n < lines; n++) {
            char line[ROOM] = "bbbbbbbb";
            size_t left = n;

            for (size_t i = 0; i < length; i++, left /= count) {
                line[8 + i] = signs[left % count];
            }
            memcpy(line + 8 + length, "ccccccccc", 9);
            assert_reads_alike(line + 8, length, ',');
            assert_reads_alike(line, 8 + length, ',');
            assert_reads_alike(line + 8, length + 8, ',');
            assert_reads_alike(line + 5, length + 12, ',');
        }
    }
}

static void a_short_line_reads_by_the_whole_rule(void **state)
{
    (void)state;
    assert_all_read_alike(",\"\r\na\0", 6, 7);
    assert_all_read_alike(", '=\x7f#", 6, 6);
    assert_all_read_alike(",a", 2, 12);
    assert_all_read_alike("\t,\x1f\x20\x21\x22\x23\x7e\x7f\x80\xc3\xa0", 12, 3);
}

/* Any bytes, mostly plain ones, of every length around the words and the longest quick line. */
static void a_line_of_any_bytes_reads_by_the_whole_rule(void **state)
{
    static const char separators[] = {',', ';', '\t'};
    uint32_t seed = 7;

    (void)state;
    for (int n = 0; n < LINES; n++) {
        char line[ROOM];
        const size_t length = next_of(&seed) % 300;
        const char separator = separators[next_of(&seed) % 3];
        const uint32_t plain = n % 4 != 0 ? UINT32_MAX : 97;

        for (size_t i = 0; i < length; i++) {
            const uint32_t draw = next_of(&seed) >> 8;
            line[i] = draw % 5 == 0               ? separator
                      : draw % plain == plain - 1 ? (char)(draw >> 12)
                                                  : (char)('#' + draw / 5 % 91);
        }
        assert_reads_alike(line, length, separator);
    }
}

/* ---- parts of a file ---- */

static char *read_part(const char *path, ts_shard shard, size_t *length)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_csv_lines *lines = NULL;
    char *block = malloc(TS_CSV_BLOCK + 1);
    char *all = NULL;
    size_t got = 0;

    *length = 0;
    assert_int_equal(ts_csv_lines_open(&lines, arena, path, NULL, shard, ts_diag_new(arena)),
                     TS_OK);
    do {
        assert_int_equal(ts_csv_lines_next(lines, block, &got, ts_diag_new(arena)), TS_OK);
        all = realloc(all, *length + got + 1);
        memcpy(all + *length, block, got);
        *length += got;
    } while (got > 0);
    ts_csv_lines_close(lines);
    ts_arena_free(arena);
    free(block);
    return all;
}

static void parts_in_order_are_the_whole(void **state)
{
    char path[256];
    uint32_t seed = 7;
    const char *folder = getenv("TMPDIR");

    snprintf(path, sizeof path, "%s/csvlines-XXXXXX", folder == NULL ? "." : folder);
    const int fd = mkstemp(path);
    FILE *file = fdopen(fd, "wb");
    size_t length = 0;

    (void)state;
    fputs("# a remark, with a header under it\n\nvariant,a\n", file);
    for (int i = 0; i < 9000; i++) {
        fprintf(file, "row %d,%.*s\n", i, (int)(next_of(&seed) % 60),
                "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx");
    }
    fputs("the last one lacks its end", file);
    fclose(file);
    char *whole = read_part(path, (ts_shard){1, 1}, &length);
    for (int count = 2; count < 400; count += 57) {
        size_t at = 0;

        for (int i = 1; i <= count; i++) {
            size_t part_length = 0;
            char *part = read_part(path, (ts_shard){i, count}, &part_length);

            assert_true(at + part_length <= length);
            assert_memory_equal(part, whole + at, part_length);
            at += part_length;
            free(part);
        }
        assert_int_equal(at, length);
    }
    assert_memory_equal(whole, "row 0,", 6);
    free(whole);
    unlink(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_reads_as_in_a_whole_file),
        cmocka_unit_test(a_row_says_why_it_cannot_be_read),
        cmocka_unit_test(a_cell_and_a_row_have_their_limits),
        cmocka_unit_test(a_short_line_reads_by_the_whole_rule),
        cmocka_unit_test(a_line_of_any_bytes_reads_by_the_whole_rule),
        cmocka_unit_test(parts_in_order_are_the_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
