/* One cell, read as its field says: numbers, units, words, dates and sizes, good and bad,
 * and the sentences that the bad ones get. Numbers and units stand in a reference table. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/date.h>
#include <tallystone/base/text.h>
#include <tallystone/sheet/value.h>

#include "table.h"

typedef struct cell {
    ts_dec dec;
    int32_t whole;
    ts_amount amount;
    ts_ring_size size;
    const char *text;
    ts_date date;
} cell;

typedef struct fixture {
    ts_arena *arena;
    ts_diag *diag;
    cell got;
    char said[4096]; /* what the diag prints */
} fixture;

static const ts_field length_field = {
    "width top", TS_KIND_LENGTH,     TS_LIST_NONE, TS_NEED_YES, "0.3", "30", "",
    "",          offsetof(cell, dec)};
static const ts_field size_field = {"size", TS_KIND_SIZE, TS_LIST_NONE, TS_NEED_YES,         "",
                                    "",     "",           "",           offsetof(cell, size)};
static const ts_field amount_field = {
    "discount", TS_KIND_AMOUNT,        TS_LIST_NONE, TS_NEED_NO, "0", "1000000000", "",
    "",         offsetof(cell, amount)};
static const ts_field date_field = {"date", TS_KIND_DATE, TS_LIST_NONE, TS_NEED_YES,         "",
                                    "",     "",           "",           offsetof(cell, date)};
static const ts_field currency_field = {
    "currency", TS_KIND_CURRENCY, TS_LIST_NONE, TS_NEED_YES, "", "", "", "", offsetof(cell, text)};
static const ts_field profile_field = {
    "profile top",        TS_KIND_WORD, TS_LIST_PROFILE, TS_NEED_YES, "", "", "", "",
    offsetof(cell, whole)};
static const ts_field rule_field = {"rule", TS_KIND_WORD, TS_LIST_RULE, TS_NEED_YES,          "",
                                    "",     "",           "",           offsetof(cell, whole)};
static const ts_field name_field = {"alloy", TS_KIND_NAME, TS_LIST_NONE, TS_NEED_YES,         "",
                                    "",      "",           "",           offsetof(cell, text)};
static const ts_field line_field = {"client", TS_KIND_LINE, TS_LIST_NONE, TS_NEED_YES,         "",
                                    "",       "",           "",           offsetof(cell, text)};
static const ts_field text_field = {"title", TS_KIND_TEXT, TS_LIST_NONE, TS_NEED_YES,         "",
                                    "",      "",           "",           offsetof(cell, text)};

static void open_fixture(fixture *f)
{
    memset(f, 0, sizeof *f);
    f->arena = ts_arena_new(NULL, NULL);
    f->diag = ts_diag_new(f->arena);
    f->got.dec.e6 = -77;
    f->got.whole = -77;
}

static void close_fixture(fixture *f)
{
    ts_arena_free(f->arena);
}

static const char *said(fixture *f)
{
    FILE *to = fmemopen(f->said, sizeof f->said, "w");

    assert_non_null(to);
    ts_diag_print(f->diag, to, false, true);
    fclose(to);
    return f->said;
}

/* Reads one cell as if it stood in the second row of a small file. */
static bool read_cell(fixture *f, const ts_field *field, const char *value, const char *unit,
                      char point)
{
    const char **cells = TS_ARRAY(f->arena, const char *, 2);
    ts_csv_row *row = TS_NEW(f->arena, ts_csv_row);
    ts_csv *csv = TS_NEW(f->arena, ts_csv);
    static const char *const known[] = {"value", "unit"};
    ts_diag *ignored = ts_diag_new(f->arena);
    static const char text[] = "value,unit\nx,y\n";

    assert_int_equal(
        TS_OK, ts_csv_parse(csv, f->arena, "cell.csv", text, sizeof text - 1, known, 2, ignored));
    csv->point = point;
    *row = csv->rows[1];
    cells[0] = value;
    cells[1] = unit;
    row->cells = cells;
    const ts_cell_at at = {csv, row, 0, 1};
    return ts_value_read(&f->got, field, value, unit, "shank", &at, f->arena, f->diag);
}

static void assert_said(const ts_field *field, const char *value, const char *unit, char point,
                        const char *sentence)
{
    fixture f;

    open_fixture(&f);
    assert_false(read_cell(&f, field, value, unit, point));
    assert_int_equal(1, ts_diag_errors(f.diag));
    if (strstr(said(&f), sentence) == NULL) {
        fail_msg("expected: %s\nsaid: %s", sentence, f.said);
    }
    close_fixture(&f);
}

/* ---- the table ---- */

static ts_field field_of(const char *kind)
{
    ts_field field = {"measure", TS_KIND_NUMBER, TS_LIST_NONE, TS_NEED_YES, "", "", "", "", 0};

    field.offset = offsetof(cell, dec);
    if (strcmp(kind, "length") == 0) {
        return length_field;
    }
    if (strcmp(kind, "count") == 0) {
        field.kind = TS_KIND_COUNT;
        field.least = "0";
        field.most = "24";
        field.offset = offsetof(cell, whole);
    } else if (strcmp(kind, "fit") == 0) {
        field.kind = TS_KIND_FIT;
    } else if (strcmp(kind, "angle") == 0) {
        field.kind = TS_KIND_ANGLE;
    } else if (strcmp(kind, "grams") == 0) {
        field.kind = TS_KIND_GRAMS;
    } else if (strcmp(kind, "carats") == 0) {
        field.kind = TS_KIND_CARATS;
    } else if (strcmp(kind, "volume") == 0) {
        field.kind = TS_KIND_VOLUME;
    } else if (strcmp(kind, "minutes") == 0) {
        field.kind = TS_KIND_MINUTES;
    } else if (strcmp(kind, "percent") == 0) {
        field.kind = TS_KIND_PERCENT;
    } else {
        assert_string_equal("number", kind);
    }
    return field;
}

static void judge_good(fixture *f, const ts_field *field, const char *expect, int line)
{
    char text[TS_DECIMAL_TEXT];

    if (field->kind == TS_KIND_COUNT) {
        snprintf(text, sizeof text, "%ld", (long)f->got.whole);
    } else {
        ts_dec_text(text, f->got.dec);
    }
    if (ts_diag_errors(f->diag) != 0 || strcmp(text, expect) != 0) {
        fail_msg("cells.csv:%d: %s expected, %s read\n%s", line, expect, text, said(f));
    }
}

static void judge_bad(fixture *f, const char *expect, int line)
{
    char word[64];

    snprintf(word, sizeof word, "[%s]", expect + 1);
    if (ts_diag_errors(f->diag) != 1 || strstr(said(f), word) == NULL) {
        fail_msg("cells.csv:%d: one fault %s expected, said:\n%s", line, word, said(f));
    }
    assert_true(f->got.dec.e6 == -77 && f->got.whole == -77); /* the member is untouched */
}

static void numbers_and_units_are_read_as_the_table_says(void **state)
{
    (void)state;
    table *cells = table_open("tests/reference/cells.csv");

    for (const table_row *row; (row = table_next(cells)) != NULL;) {
        fixture f;
        const ts_field field = field_of(table_text(row, "kind"));
        const char *expect = table_text(row, "expect");
        const char point = strcmp(table_text(row, "mark"), "comma") == 0 ? ',' : '.';

        open_fixture(&f);
        const bool read =
            read_cell(&f, &field, table_text(row, "value"), table_text(row, "unit"), point);
        if (read == (expect[0] == '!')) {
            fail_msg("cells.csv:%d: %s, expected %s\n%s", table_line(row),
                     read ? "read" : "not read", expect, said(&f));
        }
        if (read) {
            judge_good(&f, &field, expect, table_line(row));
        } else {
            judge_bad(&f, expect, table_line(row));
        }
        close_fixture(&f);
    }
    table_close(cells);
}

/* ---- sentences ---- */

static void faults_of_numbers_say_what_to_write(void **state)
{
    (void)state;
    assert_said(&length_field, "1,234", "mm", '.',
                "\"1,234\" can be read as 1234 or as 1.234; write 1234 or 1.2340");
    assert_said(&length_field, "-1.234", "mm", ',',
                "\"-1.234\" can be read as -1234 or as -1,234; write -1234 or -1,2340");
    assert_said(&length_field, "0x10", "mm", '.',
                "\"0x10\" is not a plain number; a length in mm or in is expected, such as 1.8");
    assert_said(&length_field, "0x10", "mm", ',', "expected, such as 1,8");
    assert_said(&length_field, "1,8", "mm", '.',
                "the decimal mark of this file is a point: write 1.8");
    assert_said(&length_field, "1.8 mm", "", '.', "a unit stands in a column of its own");
    assert_said(&length_field, "1.2345678", "mm", '.', "\"1.2345678\" has more than six decimals");
    assert_said(&length_field, "", "mm", '.', "shank width top is empty");
}

static void faults_of_range_name_both_limits(void **state)
{
    (void)state;
    assert_said(&length_field, "45", "mm", '.',
                "shank width top 45 mm is over 30 mm: from 0.3 to 30 mm is expected");
    assert_said(&length_field, "0.1", "", '.',
                "shank width top 0.1 mm is under 0.3 mm: from 0.3 to 30 mm is expected");
    assert_said(&length_field, "2", "in", '.', "shank width top 2 in (50.8 mm) is over 30 mm");
    assert_said(&length_field, "0,1", "mm", ',', "is under 0,3 mm: from 0,3 to 30 mm is expected");
}

static void faults_of_units_name_those_that_fit(void **state)
{
    (void)state;
    assert_said(&length_field, "1.8", "inc", '.',
                "\"inc\" is no unit; shank width top takes mm or in");
    assert_said(&length_field, "1.8", "mn", '.', "did you mean \"mm\"?");
    assert_said(&length_field, "1.8", "ct", '.',
                "shank width top is not counted in ct; it takes mm or in");
    assert_said(&date_field, "2026-03-09", "mm", '.', "shank date takes no unit");
}

static void unknown_words_get_the_nearest_and_the_list(void **state)
{
    (void)state;
    assert_said(&profile_field, "halfround", "", '.',
                "shank profile top \"halfround\" is not known; "
                "knife edge, half round, flat, court or round wire is expected");
    assert_said(&profile_field, "halfround", "", '.', "did you mean \"half round\"?");
    assert_said(&rule_field, "marcup", "", '.', "did you mean \"markup\"?");
}

static void words_are_read_in_any_case_and_by_alias(void **state)
{
    (void)state;
    fixture f;

    open_fixture(&f);
    assert_true(read_cell(&f, &profile_field, "Knife  EDGE", "", '.'));
    assert_int_equal(TS_PROFILE_KNIFE_EDGE, f.got.whole);
    assert_true(read_cell(&f, &profile_field, "comfort fit", NULL, '.'));
    assert_int_equal(TS_PROFILE_COURT, f.got.whole);
    assert_int_equal(0, ts_diag_errors(f.diag));
    close_fixture(&f);
}

static void dates_must_be_days_of_the_calendar(void **state)
{
    (void)state;
    fixture f;

    assert_said(&date_field, "2026-02-31", "", '.',
                "\"2026-02-31\" is no day of the calendar; dates are written YYYY-MM-DD");
    assert_said(&date_field, "2026-02-29", "", '.', "is no day of the calendar");
    assert_said(&date_field, "31/02/2026", "", '.', "dates are written YYYY-MM-DD, such as");
    assert_said(&date_field, "2026-3-9", "", '.', "dates are written YYYY-MM-DD, such as");
    assert_said(&date_field, "1066-10-14", "", '.', "outside the years 1900 to 2200");
    open_fixture(&f);
    assert_true(read_cell(&f, &date_field, "2028-02-29", "", '.'));
    assert_true(read_cell(&f, &date_field, " 2026-03-09 ", "", '.'));
    assert_int_equal(20521, f.got.date.days); /* date -u -d 2026-03-09 +%s / 86400 */
    close_fixture(&f);
}

static void currencies_are_codes_that_can_be_priced_in(void **state)
{
    (void)state;
    fixture f;

    open_fixture(&f);
    assert_true(read_cell(&f, &currency_field, "eur", "", '.'));
    assert_string_equal("EUR", f.got.text);
    close_fixture(&f);
    assert_said(&currency_field, "EURO", "", '.', "\"EURO\" is no ISO 4217 currency");
    assert_said(&currency_field, "XAU", "", '.', "[currency]"); /* gold has no minor unit */
    assert_said(&currency_field, "XXX", "", '.', "[currency]");
}

static void currencies_have_the_decimals_of_iso_4217(void **state)
{
    (void)state; /* ISO 4217 list one, datasets/currency-codes February 2026 */
    static const char none[] = "JPY KRW VND CLP ISK PYG UGX RWF BIF DJF GNF KMF XAF XOF XPF VUV "
                               "UYI ";
    static const char two[] = "USD EUR GBP CHF INR AED TWD HUF MGA MRU ";
    static const char three[] = "KWD BHD OMR JOD IQD TND LYD ";
    static const char four[] = "CLF UYW ";
    static const struct {
        const char *codes;
        int exponent;
    } lists[] = {{none, 0}, {two, 2}, {three, 3}, {four, 4}, {"XAU XAG XPT XPD usd ", -1}};

    for (size_t i = 0; i < TS_COUNT_OF(lists); i++) {
        for (const char *at = lists[i].codes; *at != '\0'; at += 4) {
            char code[4] = {at[0], at[1], at[2], '\0'};

            assert_int_equal(lists[i].exponent, ts_currency_exponent(code));
        }
    }
    assert_int_equal(-1, ts_currency_exponent(NULL));
    assert_int_equal(-1, ts_currency_exponent(""));
    assert_int_equal(-1, ts_currency_exponent("EURO"));
    assert_int_equal(-1, ts_currency_exponent("UR "));
}

static void kinds_say_what_they_take(void **state)
{
    (void)state;
    char units[100];

    for (int kind = 1; kind < TS_KIND_COUNT_OF; kind++) {
        assert_true(strlen(ts_kind_says((ts_kind)kind)) > 0);
    }
    ts_kind_units(TS_KIND_FIT, units, sizeof units);
    assert_string_equal("mm or in", units);
    ts_kind_units(TS_KIND_CARATS, units, sizeof units);
    assert_string_equal("g, ct, dwt or oz t", units);
    ts_kind_units(TS_KIND_CARATS, units, 8);
    assert_string_equal("g, ct, ", units);
    ts_kind_units(TS_KIND_COUNT, units, sizeof units);
    assert_string_equal("", units);
    assert_string_equal("ct", ts_kind_unit(TS_KIND_CARATS));
}

/* ---- amounts ---- */

static void assert_amount(const char *unit, ts_amount_of of, const char *currency)
{
    fixture f;
    char value[64];
    char back[64];

    open_fixture(&f);
    assert_true(read_cell(&f, &amount_field, "250.5", unit, '.'));
    assert_true(f.got.amount.value.e6 == 250500000);
    assert_int_equal(of, f.got.amount.of);
    if (currency == NULL) {
        assert_null(f.got.amount.currency);
    } else {
        assert_string_equal(currency, f.got.amount.currency);
    }
    ts_value_text(value, sizeof value, back, sizeof back, &f.got, &amount_field);
    assert_string_equal("250.5", value);
    assert_true(ts_text_same(unit, back));
    close_fixture(&f);
}

static void amounts_say_of_what_they_are(void **state)
{
    (void)state;
    assert_amount("", TS_AMOUNT_NONE, NULL);
    assert_amount("%", TS_AMOUNT_PERCENT, NULL);
    assert_amount("days", TS_AMOUNT_DAYS, NULL);
    assert_amount("each", TS_AMOUNT_EACH, NULL);
    assert_amount("Per CT", TS_AMOUNT_PER_CT, NULL);
    assert_amount("eur", TS_AMOUNT_MONEY, "EUR");
    assert_amount("EUR each", TS_AMOUNT_EACH, "EUR");
    assert_amount("jpy  per ct", TS_AMOUNT_PER_CT, "JPY");
}

static void one_day_and_per_cent_in_words_are_units_too(void **state)
{
    (void)state;
    fixture f;

    open_fixture(&f);
    assert_true(read_cell(&f, &amount_field, "1", "day", '.'));
    assert_int_equal(TS_AMOUNT_DAYS, f.got.amount.of);
    assert_true(read_cell(&f, &amount_field, "1", "percent", '.'));
    assert_int_equal(TS_AMOUNT_PERCENT, f.got.amount.of);
    close_fixture(&f);
}

static void units_that_no_amount_has_are_faults(void **state)
{
    (void)state;
    assert_said(&amount_field, "5", "EUX", '.', "\"EUX\" names no ISO 4217 currency");
    assert_said(&amount_field, "5", "XAU each", '.', "[currency]");
    assert_said(&amount_field, "5", "mm", '.', "shank discount is not counted in mm");
    assert_said(&amount_field, "5", "EUR daily", '.', "\"EUR daily\" is no unit");
    assert_said(&amount_field, "5", "per stone", '.', "[unit-unknown]");
    assert_said(&amount_field, "5", "eich", '.', "did you mean \"each\"?");
    assert_said(&amount_field, "-5", "%", '.', "shank discount -5 % is under 0");
}

/* ---- ring sizes ---- */

static void assert_size(const char *value, const char *unit, int64_t e6, const char *back)
{
    fixture f;
    char text[64];
    char system[64];

    open_fixture(&f);
    if (!read_cell(&f, &size_field, value, unit, '.')) {
        fail_msg("%s %s: %s", value, unit, said(&f));
    }
    assert_int_equal(ts_list_find(TS_LIST_SIZE, unit), f.got.size.system);
    assert_true(f.got.size.number.e6 == e6);
    ts_value_text(text, sizeof text, system, sizeof system, &f.got, &size_field);
    assert_string_equal(back, text);
    assert_true(ts_text_same(unit, system));
    close_fixture(&f);
}

static void sizes_are_read_as_the_trade_writes_them(void **state)
{
    (void)state; /* letters counted from A = 0: field.h; fractions: common practice */
    assert_size("A", "UK", 0, "A");
    assert_size("l", "uk", 11000000, "L");
    assert_size("L 1/2", "UK", 11500000, "L 1/2");
    assert_size("L1/2", "UK", 11500000, "L 1/2");
    assert_size("L\xc2\xbd", "UK", 11500000, "L 1/2");
    assert_size("L\xc2\xa0\xc2\xbd", "UK", 11500000, "L 1/2");
    assert_size("Z", "UK", 25000000, "Z");
    assert_size("Z 1/2", "UK", 25500000, "Z 1/2");
    assert_size("Z+1", "UK", 26000000, "Z+1");
    assert_size("z + 2", "UK", 27000000, "Z+2");
    assert_size("Z+1 1/2", "UK", 26500000, "Z+1 1/2");
    assert_size("6", "US", 6000000, "6");
    assert_size("6.5", "US", 6500000, "6.5");
    assert_size("6 1/2", "US", 6500000, "6.5");
    assert_size("6\xc2\xbd", "US", 6500000, "6.5");
    assert_size("6 1/4", "us", 6250000, "6.25");
    assert_size("10\xc2\xbe", "US", 10750000, "10.75");
    assert_size("1/2", "US", 500000, "0.5");
    assert_size("52", "EU", 52000000, "52");
    assert_size("12", "CH", 12000000, "12");
    assert_size("-1.5", "CH", -1500000, "-1.5");
    assert_size("13", "JP", 13000000, "13");
    assert_size("16.5", "mm diameter", 16500000, "16.5");
    assert_size("52.75", "MM  circumference", 52750000, "52.75");
}

static void what_is_no_size_is_a_fault(void **state)
{
    (void)state;
    static const struct {
        const char *value;
        const char *unit;
    } bad[] = {
        {"L 3/4", "UK"}, {"12", "UK"},         {"LL", "UK"},     {"L+1", "UK"},   {"Z+", "UK"},
        {"Z+0", "UK"},   {"L 1/2 x", "UK"},    {"Z+1234", "UK"}, {"M", "US"},     {"6 1/3", "US"},
        {"61/2", "US"},  {"1234 1/2", "US"},   {"-6 1/2", "US"}, {"6 1/2", "EU"}, {"nan", "JP"},
        {"1e1", "EU"},   {"M", "mm diameter"},
    };

    for (size_t i = 0; i < TS_COUNT_OF(bad); i++) {
        assert_said(&size_field, bad[i].value, bad[i].unit, '.', "[number]");
    }
    assert_said(&size_field, "L 3/4", "UK", '.',
                "\"L 3/4\" is no UK size; a letter such as L, L 1/2 or Z+1 is expected");
    assert_said(&size_field, "6", "", '.',
                "shank size has no unit of its own; name one of US, UK, EU, CH, JP, mm diameter "
                "or mm circumference");
    assert_said(&size_field, "16.5", "mm", '.', "shank size is not counted in mm; it takes US, UK");
    assert_said(&size_field, "6", "USA", '.', "did you mean \"US\"?");
    assert_said(&size_field, "1,652", "mm diameter", '.', "[number-unclear]");
}

/* ---- text ---- */

static void only_text_may_hold_line_breaks(void **state)
{
    (void)state;
    fixture f;

    open_fixture(&f);
    assert_true(read_cell(&f, &text_field, " one\ntwo ", "", '.'));
    assert_string_equal("one\ntwo", f.got.text);
    assert_true(read_cell(&f, &line_field, "  A. Client  ", "", '.'));
    assert_string_equal("A. Client", f.got.text);
    assert_true(read_cell(&f, &name_field, " 18K  Yellow ", "", '.'));
    assert_string_equal("18k yellow", f.got.text);
    close_fixture(&f);
    assert_said(&line_field, "one\ntwo", "", '.', "[text]");
    assert_said(&line_field, "one\xe2\x80\xa8two", "", '.', "[text]");
    assert_said(&name_field, "one\rtwo", "", '.', "shank alloy holds a line break");
}

static void a_cell_without_a_file_is_read_with_a_point(void **state)
{
    (void)state;
    fixture f;

    open_fixture(&f);
    assert_true(ts_value_read(&f.got, &length_field, "1.5", "", "shank", NULL, f.arena, f.diag));
    assert_true(f.got.dec.e6 == 1500000);
    assert_false(ts_value_read(&f.got, &length_field, "45", "", "shank", NULL, f.arena, f.diag));
    assert_int_equal(1, ts_diag_errors(f.diag));
    close_fixture(&f);
}

static void faults_show_what_cannot_be_shown_as_escapes(void **state)
{
    (void)state;
    assert_said(&profile_field, "flat\nround", "", '.', "\"flat\\x0Around\"");
}

/* ---- the way back ---- */

static void values_print_as_they_would_be_typed(void **state)
{
    (void)state;
    static const struct {
        const ts_field *field;
        const char *value, *unit, *back, *back_unit;
    } rows[] = {
        {&length_field, "1", "in", "25.4", "mm"},
        {&date_field, "2026-03-09", "", "2026-03-09", ""},
        {&profile_field, "Comfort Fit", "", "court", ""},
        {&currency_field, "eur", "", "EUR", ""},
        {&line_field, "As is", "", "As is", ""},
    };

    for (size_t i = 0; i < TS_COUNT_OF(rows); i++) {
        fixture f;
        char value[64];
        char unit[64];

        open_fixture(&f);
        assert_true(read_cell(&f, rows[i].field, rows[i].value, rows[i].unit, '.'));
        ts_value_text(value, sizeof value, unit, sizeof unit, &f.got, rows[i].field);
        assert_string_equal(rows[i].back, value);
        assert_string_equal(rows[i].back_unit, unit);
        close_fixture(&f);
    }
}

static void what_was_never_given_prints_empty(void **state)
{
    (void)state;
    cell nothing = {.date = TS_DATE_NONE};
    char value[64] = "x";
    char unit[64] = "x";

    ts_value_text(value, sizeof value, unit, sizeof unit, &nothing, &date_field);
    assert_string_equal("", value);
    ts_value_text(value, sizeof value, unit, sizeof unit, &nothing, &name_field);
    assert_string_equal("", value);
    ts_value_text(value, sizeof value, unit, sizeof unit, &nothing, &size_field);
    assert_string_equal("", value);
    assert_string_equal("", unit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_and_units_are_read_as_the_table_says),
        cmocka_unit_test(faults_of_numbers_say_what_to_write),
        cmocka_unit_test(faults_of_range_name_both_limits),
        cmocka_unit_test(faults_of_units_name_those_that_fit),
        cmocka_unit_test(unknown_words_get_the_nearest_and_the_list),
        cmocka_unit_test(words_are_read_in_any_case_and_by_alias),
        cmocka_unit_test(dates_must_be_days_of_the_calendar),
        cmocka_unit_test(currencies_are_codes_that_can_be_priced_in),
        cmocka_unit_test(currencies_have_the_decimals_of_iso_4217),
        cmocka_unit_test(kinds_say_what_they_take),
        cmocka_unit_test(amounts_say_of_what_they_are),
        cmocka_unit_test(one_day_and_per_cent_in_words_are_units_too),
        cmocka_unit_test(units_that_no_amount_has_are_faults),
        cmocka_unit_test(sizes_are_read_as_the_trade_writes_them),
        cmocka_unit_test(what_is_no_size_is_a_fault),
        cmocka_unit_test(only_text_may_hold_line_breaks),
        cmocka_unit_test(a_cell_without_a_file_is_read_with_a_point),
        cmocka_unit_test(faults_show_what_cannot_be_shown_as_escapes),
        cmocka_unit_test(values_print_as_they_would_be_typed),
        cmocka_unit_test(what_was_never_given_prints_empty),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
