#include <tallystone/base/file.h>
#include <tallystone/book/book.h>

#include "desk/commission.h"
#include "desk/drivers.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Every driver of a demo, rates and measurements, against the files really changed: the cell
 * that a driver names is rewritten in the text of its book or of the sheet, all is read, measured
 * and costed again, and the margin must be the one that the driver names; where the program
 * refuses the changed files, the driver must say that it cannot be made. */

typedef struct stage {
    ts_arena *arena;
    ts_book_text texts[TS_BOOK_FILE_COUNT];
    const char *path; /* of the sheet */
    ts_book_text sheet;
    size_t rates, measures, refused; /* compared so far */
} stage;

static ts_book_text text_of(ts_arena *arena, const char *path)
{
    ts_book_text text = {0};
    ts_diag *diag = ts_diag_new(arena);
    char *bytes = NULL;
    if (ts_file_read(&bytes, &text.length, arena, path, (size_t)1 << 24, diag) == TS_OK) {
        text.text = bytes;
    }
    return text;
}

/* The n-th cell from `at`; its end in `end`. Quoted cells count as one. */
static const char *cell_at(const char *at, int n, const char **end)
{
    for (;; n--) {
        bool quoted = false;
        const char *from = at;
        for (; quoted || (*at != ',' && *at != '\n' && *at != '\0'); at++) {
            quoted = quoted != (*at == '"');
        }
        *end = at;
        if (n == 0 || *at != ',') {
            return n == 0 ? from : NULL;
        }
        at++;
    }
}

static int column_of(const char *text, const char *word)
{
    const char *end = NULL;
    const char *cell;
    for (int n = 0; (cell = cell_at(text, n, &end)) != NULL; n++) {
        if ((size_t)(end - cell) == strlen(word) && strncmp(cell, word, strlen(word)) == 0) {
            return n;
        }
    }
    return -1;
}

/* The text with one cell at so many tenths of its number, to six decimals as all are read. */
static ts_book_text moved(ts_arena *arena, ts_book_text of, int line, const char *column,
                          int tenths)
{
    char number[TS_DECIMAL_TEXT];
    const char *at = of.text;
    const char *end = NULL;
    ts_dec value;
    for (int i = 1; i < line; i++) {
        at = strchr(at, '\n') + 1;
    }
    const char *cell = cell_at(at, column_of(of.text, column), &end);
    assert_non_null(cell);
    const char *typed = ts_arena_format(arena, "%.*s", (int)(end - cell), cell);
    assert_int_equal(ts_dec_read(&value, typed, '.', NULL), TS_NUMBER_OK);
    assert_true(ts_div_round(&value.e6, (ts_i128)value.e6 * tenths, 10, TS_HALF_AWAY));
    char *text = ts_arena_format(arena, "%.*s%s%s", (int)(cell - of.text), of.text,
                                 ts_dec_text(number, value), end);
    return (ts_book_text){text, strlen(text)};
}

/* NaN where the files are refused. */
static double margin_of(ts_arena *arena, const stage *s)
{
    ts_diag *diag = ts_diag_new(arena);
    const ts_book *book = NULL;
    ts_commission_run run = {.path = s->path, .text = s->sheet.text, .length = s->sheet.length};
    if (ts_book_parse(&book, arena, "pricebooks", s->texts, diag) != TS_OK ||
        ts_commission_run_on(&run, arena, book, TS_DATE_NONE, TS_DEPTH_COSTING, diag) != TS_OK) {
        return (double)NAN;
    }
    return ts_margin_unrounded(arena, run.options[0].costing);
}

static double margin_moved(const stage *s, const char *origin, int tenths)
{
    stage changed = *s;
    ts_arena *arena = ts_arena_beside(s->arena);
    const char *colon = strrchr(origin, ':');
    char *column = NULL;
    const int line = (int)strtol(colon + 1, &column, 10);
    if (*column == '\0') {
        changed.sheet = moved(arena, s->sheet, line, "value", tenths);
    }
    for (int file = 0; *column != '\0' && file < TS_BOOK_FILE_COUNT; file++) {
        const char *name = ts_book_file_name((ts_book_file)file);
        if (strlen(name) == (size_t)(colon - origin) && strncmp(name, origin, strlen(name)) == 0) {
            changed.texts[file] = moved(arena, s->texts[file], line, column + 1, tenths);
        }
    }
    const double margin = margin_of(arena, &changed);
    ts_arena_free(arena);
    return margin;
}

static void expect(stage *s, const ts_driver *driver, int tenths, double said)
{
    const double is = margin_moved(s, driver->origin, tenths);
    const bool alike = isnan(is) ? isnan(said) : fabs(is - said) < 1e-6;
    s->refused += isnan(is) ? 1 : 0;
    if (!alike) {
        fail_msg("%s (%s), %d tenths: said %.6f, is %.6f", driver->name, driver->origin, tenths,
                 said, is);
    }
}

static void compare(const char *path)
{
    stage s = {.arena = ts_arena_new(NULL, NULL), .path = path};
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        s.texts[file] = text_of(s.arena, ts_arena_format(s.arena, "pricebooks/%s",
                                                         ts_book_file_name((ts_book_file)file)));
    }
    s.sheet = text_of(s.arena, path);
    ts_diag *diag = ts_diag_new(s.arena);
    const ts_book *book = NULL;
    ts_commission_run run = {.path = path, .text = s.sheet.text, .length = s.sheet.length};
    assert_int_equal(ts_book_parse(&book, s.arena, "pricebooks", s.texts, diag), TS_OK);
    assert_int_equal(
        ts_commission_run_on(&run, s.arena, book, TS_DATE_NONE, TS_DEPTH_COSTING, diag), TS_OK);
    ts_driver *drivers = NULL;
    const size_t count = ts_drivers_of(&drivers, s.arena, &run.options[0], book);
    for (size_t i = 0; i < count; i++) {
        s.measures += strchr(strrchr(drivers[i].origin, ':'), ' ') == NULL;
        expect(&s, &drivers[i], 9, drivers[i].less_pct);
        expect(&s, &drivers[i], 11, drivers[i].more_pct);
    }
    print_message("%s: %zu drivers, %zu of them measurements, %zu moves refused\n", path, count,
                  s.measures, s.refused);
    assert_true(count > 40 && s.measures > 5);
    ts_arena_free(s.arena);
}

static void each_driver_of_the_halo_is_the_files_changed(void **state)
{
    (void)state;
    compare("demo/halo.csv");
}

static void each_driver_of_the_eternity_band_is_the_files_changed(void **state)
{
    (void)state;
    compare("demo/eternity.csv");
}

static void each_driver_of_the_three_stones_is_the_files_changed(void **state)
{
    (void)state;
    compare("demo/three-stone.csv");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_driver_of_the_halo_is_the_files_changed),
        cmocka_unit_test(each_driver_of_the_eternity_band_is_the_files_changed),
        cmocka_unit_test(each_driver_of_the_three_stones_is_the_files_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
