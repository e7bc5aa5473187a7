/* Loading price books: what is read, what is refused, and in which words. The books are
 * small, invented, and written by the test itself; the set that ships must load too. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>
#include <tallystone/book/audit.h>
#include <tallystone/book/book.h>

#include "bookfolder.h"

static void the_small_set_loads(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    assert_int_equal(TS_OK, bookfolder_load(&f));
    assert_int_equal(0, ts_diag_errors(f.diag));
    assert_string_equal("USD", f.book->currency);
    assert_int_equal(2, f.book->exponent);
    assert_int_equal(1, f.book->metals.count);
    assert_true(f.book->metals.at[0].price.e6 == 2000000000);
    assert_int_equal(TS_METAL_GOLD, f.book->metals.at[0].metal);
    assert_int_equal(TS_PER_WEIGHT_TROY_OUNCE, f.book->metals.at[0].per);
    assert_int_equal(2, f.book->metals.at[0].head.line);
    assert_int_equal(0, f.book->melee.count);
    assert_null(f.book->text[TS_BOOK_MELEE]);
    bookfolder_close(&f);
}

static void the_books_that_ship_load_and_audit_clean(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    const ts_book *book = NULL;

    assert_int_equal(TS_OK, ts_book_load(&book, arena, "pricebooks", diag));
    ts_book_audit(book, bookfolder_day("2026-11-25"), arena, diag);
    if (ts_diag_errors(diag) + ts_diag_warnings(diag) > 0) {
        ts_diag_print(diag, stdout, false, true);
    }
    assert_int_equal(0, ts_diag_errors(diag));
    assert_int_equal(0, ts_diag_warnings(diag));
    ts_arena_free(arena);
}

static void limits_and_taxes_are_such_as_can_be_met(void **state)
{
    (void)state;
    char text[900] = "region,category,rate,name\n";

    bookfolder_expect_file("limits.csv", "limit,least,most,unit,source\nrim,0.8,0.3,mm,memory\n",
                           "least 0.8 is over most 0.3, which no measurement meets");
    for (int i = 1; i <= 17; i++) {
        const size_t used = strlen(text);

        snprintf(text + used, sizeof text - used, "state,%s,1,tax %d\nstate,metal,1,tax %d\n",
                 i < 17 ? "all" : "retained", i, i);
    }
    bookfolder_expect_file("taxes.csv", text,
                           "with this row 17 taxes of one region and category are in force at "
                           "once; at most 16 can be");
}

static void what_is_empty_takes_its_default(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    assert_int_equal(TS_OK, bookfolder_load(&f));
    const ts_alloy_row *alloy = &f.book->alloys.at[0];
    assert_string_equal("750 yellow", alloy->alloy);
    assert_string_equal("18 karat yellow", alloy->name);
    assert_string_equal("", alloy->mark);
    assert_string_equal("", alloy->head.note);
    assert_true(alloy->sprue.e6 == 0);
    assert_false(ts_date_given(alloy->head.from));
    assert_false(ts_date_given(alloy->head.until));
    assert_true(ts_book_given(&alloy->head, "density"));
    assert_false(ts_book_given(&alloy->head, "sprue"));
    assert_false(ts_book_given(&alloy->head, "no such column"));
    assert_int_equal(TS_APPLIES_ASKED, f.book->labour.at[0].applies);
    assert_null(f.book->labour.at[0].currency);
    assert_int_equal(TS_YES_NO, f.book->crafts.at[0].outside);
    assert_int_equal(TS_DUE_DELIVERY, f.book->taxes.at[0].due);
    bookfolder_close(&f);
}

static void columns_may_stand_in_any_order_and_case(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv",
                     "Note,PER,until,Price,from,metal\n"
                     "a note,GRAM,2026-12-31,64.5,2026-01-01,Gold\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    const ts_metal_row *row = &f.book->metals.at[0];
    assert_int_equal(TS_METAL_GOLD, row->metal);
    assert_int_equal(TS_PER_WEIGHT_GRAM, row->per);
    assert_true(row->price.e6 == 64500000);
    assert_null(row->currency);
    assert_string_equal("a note", row->head.note);
    assert_int_equal(bookfolder_day("2026-01-01").days, row->head.from.days);
    assert_int_equal(bookfolder_day("2026-12-31").days, row->head.until.days);
    bookfolder_close(&f);
}

static void a_decimal_comma_is_read_in_a_file_of_semicolons(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv", "metal;price;currency;per\ngold;64,55;USD;gram\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    assert_true(f.book->metals.at[0].price.e6 == 64550000);
    bookfolder_close(&f);
}

static void places_of_rows_and_columns_are_known(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv",
                     "metal,note,price,per\n"
                     "# a remark\n"
                     "\n"
                     "gold,\"two\nlines\",2000,troy ounce\n"
                     "silver,,25,troy ounce\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    const ts_place price = ts_book_place(f.book, f.arena, &f.book->metals.at[1].head, "price");
    assert_int_equal(6, price.line);
    assert_int_equal(3, price.cell);
    assert_int_equal(5, price.row);
    assert_non_null(strstr(price.file, "metals.csv"));
    const ts_place row = ts_book_place(f.book, f.arena, &f.book->metals.at[0].head, NULL);
    assert_int_equal(4, row.line);
    assert_int_equal(0, row.cell);
    bookfolder_close(&f);
}

/* ---- files ---- */

static void a_folder_that_is_not_there_is_missing(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    assert_int_equal(TS_OK, bookfolder_load(&f));
    const ts_book *book = f.book;
    const char *none = ts_arena_format(f.arena, "%s/none", f.path);
    assert_int_equal(TS_MISSING, ts_book_load(&book, f.arena, none, f.diag));
    assert_null(book);
    assert_non_null(strstr(bookfolder_said(&f), "[not-found]"));
    const char *file = ts_arena_format(f.arena, "%s/studio.csv", f.path);
    assert_int_equal(TS_MISSING, ts_book_load(&book, f.arena, file, f.diag));
    bookfolder_close(&f);
}

static void a_file_that_is_needed_is_missed_by_name(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_remove(&f, "alloys.csv");
    bookfolder_remove(&f, "studio.csv");
    bookfolder_write(&f, "crafts.csv", "craft,rate per hour\ncaster,sixty\n");
    assert_int_equal(TS_MISSING, bookfolder_load(&f));
    assert_null(f.book);
    assert_int_equal(3, ts_diag_errors(f.diag)); /* and nothing that follows from them */
    bookfolder_said(&f);
    assert_non_null(strstr(f.said, "alloys.csv"));
    assert_non_null(strstr(f.said, "studio.csv"));
    assert_non_null(strstr(f.said, "\"sixty\" is not a plain number"));
    bookfolder_close(&f);
}

static void all_faults_of_all_files_come_out_together(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv", "metal,price,per\ngold,-5,ounce\nsilver,1e3,gram\n");
    bookfolder_write(&f, "taxes.csv", "region,category,rate,name\nstate,all,107,sales tax\n");
    bookfolder_expect(&f, 4, "price -5 is under 0.000001");
    assert_non_null(strstr(f.said, "troy ounce, gram or kilogram is expected"));
    assert_non_null(strstr(f.said, "\"1e3\" is not a plain number"));
    assert_non_null(strstr(f.said, "rate 107 % is over 100 %: from 0 to 100 % is expected"));
    bookfolder_close(&f);
}

/* ---- columns ---- */

static void faults_of_columns_are_said_once_at_the_header(void **state)
{
    (void)state;
    bookfolder_expect_file("crafts.csv", "craft,rate per hour,outsid\ncaster,60,no\n",
                           "\"outsid\" is no column of this file");
    bookfolder_expect_file("crafts.csv", "craft,rate per hour,outsid\ncaster,60,no\n",
                           "did you mean \"outside\"?");
    bookfolder_expect_file("crafts.csv", "craft,rate per hour,craft\ncaster,60,x\n",
                           "[column-twice]");
    bookfolder_expect_file("crafts.csv", "craft,note\ncaster,\nsetter,\n",
                           "columns that every row needs are not there: \"rate per hour\"");
    bookfolder_expect_file("crafts.csv", "craft,,rate per hour\ncaster,x,60\n",
                           "a column without a heading holds values");
}

static void a_column_that_no_row_needs_may_be_missing(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "services.csv", "service\n"); /* no rows, so nothing is needed */
    assert_int_equal(TS_OK, bookfolder_load(&f));
    bookfolder_close(&f);
}

static void a_cell_that_must_be_filled_is_missed(void **state)
{
    (void)state;
    bookfolder_expect_file("alloys.csv", "alloy,name,gold,density\n750,18 karat,750,\n",
                           "density is empty; a number is expected");
    bookfolder_expect_file("alloys.csv", "alloy,name,gold,density\n,18 karat,750,15.5\n",
                           "alloy is empty");
}

/* ---- rows ---- */

static void one_key_and_day_may_stand_once(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_expect_file("metals.csv",
                           "metal,price,per,from\ngold,1,gram,2026-01-01\n"
                           "silver,1,gram,2026-01-01\nGOLD,2,gram,2026-01-01\n",
                           "metals.csv:4:");
    bookfolder_expect_file("metals.csv",
                           "metal,price,per,from\ngold,1,gram,2026-01-01\n"
                           "silver,1,gram,2026-01-01\nGOLD,2,gram,2026-01-01\n",
                           "line 2 has the same key (gold) and the same first day");
    bookfolder_expect_file("metals.csv", "metal,price,per\ngold,1,gram\ngold,2,gram\n",
                           "[book-twice]");
    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv",
                     "metal,price,per,from\ngold,1,gram,\ngold,2,gram,2026-01-01\n");
    bookfolder_write(&f, "taxes.csv",
                     "region,category,rate,name\nstate,all,6,state tax\nstate,all,1,city tax\n");
    assert_int_equal(TS_OK, bookfolder_load(&f)); /* another day; another name */
    bookfolder_close(&f);
}

static void an_empty_narrowing_is_another_key_than_zero(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv",
                     "operation,craft,per,minutes each,from mm,to mm\n"
                     "set bead,caster,stone,4,,\nset bead,caster,stone,5,0,2\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    bookfolder_close(&f);
}

static void days_and_sizes_must_be_in_order(void **state)
{
    (void)state;
    bookfolder_expect_file("metals.csv",
                           "metal,price,per,from,until\ngold,1,gram,2026-02-01,2026-01-31\n",
                           "until 2026-01-31 is before from 2026-02-01");
    bookfolder_expect_file("labour.csv",
                           "operation,craft,per,minutes each,from mm,to mm\n"
                           "cast,caster,casting,30,2,2\n",
                           "from 2 to 2 mm holds no size");
    bookfolder_expect_file("stones.csv",
                           "lot,species,shape,origin,from ct,to ct,price each\n"
                           "a,diamond,round,natural,1,0.5,100\n",
                           "from 1 to 0.5 ct holds no size");
}

static void finenesses_add_up_to_a_thousand_at_most(void **state)
{
    (void)state;
    bookfolder_expect_file("alloys.csv", "alloy,name,gold,silver,density\nx,X,750,251,15.5\n",
                           "the metals of \"x\" add up to 1001 parts per thousand");
}

static void one_of_two_prices_is_expected(void **state)
{
    (void)state;
    static const char stones[] = "lot,species,shape,origin,from ct,to ct,price per ct,price each\n";
    static const char labour[] = "operation,craft,per,set-up minutes,minutes each,price each,"
                                 "minimum\n";
    char text[400];

    snprintf(text, sizeof text, "%sa,diamond,round,natural,0,1,,\n", stones);
    bookfolder_expect_file("stones.csv", text, "neither price per ct nor price each is given");
    snprintf(text, sizeof text, "%sa,diamond,round,natural,0,1,1,2\n", stones);
    bookfolder_expect_file("stones.csv", text, "both price per ct and price each are given");
    snprintf(text, sizeof text, "%scast,caster,casting,,,,\n", labour);
    bookfolder_expect_file("labour.csv", text, "neither minutes each nor price each is given");
    snprintf(text, sizeof text, "%scast,caster,casting,,1,2,\n", labour);
    bookfolder_expect_file("labour.csv", text, "both minutes each and price each are given");
    snprintf(text, sizeof text, "%scast,caster,casting,5,,2,\n", labour);
    bookfolder_expect_file("labour.csv", text, "set-up minutes go with minutes each");
    snprintf(text, sizeof text, "%scast,caster,casting,5,1,,9\n", labour);
    bookfolder_expect_file("labour.csv", text, "a minimum goes with price each");
}

static void names_that_a_row_needs_must_be_there(void **state)
{
    (void)state;
    bookfolder_expect_file("labour.csv",
                           "operation,craft,per,minutes each\ncast,castor,casting,30\n",
                           "no craft \"castor\" is in crafts.csv");
    bookfolder_expect_file("labour.csv",
                           "operation,craft,per,minutes each\ncast,castor,casting,30\n",
                           "did you mean \"caster\"?");
    bookfolder_expect_file("labour.csv",
                           "operation,craft,applies,per,minutes each\n"
                           "cast,caster,offered,casting,30\n",
                           "of an operation always or asked is expected");
    bookfolder_expect_file("services.csv", "service,applies,basis,price\nplating,alway,each,30\n",
                           "\"alway\" is neither a word of `applies` nor an alloy");
    bookfolder_expect_file("services.csv",
                           "service,applies,basis,price\nplating,750 yelow,each,30\n",
                           "did you mean \"750 yellow\"?");
    bookfolder_expect_file("rates.csv", "currency,in,rate\nEUR,eur,1\n",
                           "EUR is turned into itself");
    bookfolder_expect_file("rates.csv", "currency,in,rate\nEUX,USD,1\n", "[currency]");
}

/* ---- the studio ---- */

static void the_studio_must_say_its_currency(void **state)
{
    (void)state;
    bookfolder_expect_file("studio.csv", "field,value\nname,X\n",
                           "the studio's currency is not said");
    bookfolder_expect_file("studio.csv", "field,value\ncurrency,EURO\n",
                           "\"EURO\" is no ISO 4217 currency");
    bookfolder_expect_file("studio.csv", "field,value\ncurrency,\n", "[currency]");
    bookfolder_expect_file("studio.csv",
                           "field,value,from\ncurrency,USD,\ncurrency,EUR,2026-01-01\n",
                           "the studio's currency cannot change: line 2 says USD");
}

static void what_is_said_of_the_studio_is_known(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_expect_file("studio.csv", "field,value\ncurrency,USD\npapre,A4\n",
                           "did you mean \"paper\"?");
    bookfolder_expect_file("studio.csv", "field,value\ncurrency,USD\npaper,A5\n",
                           "paper \"A5\" is not known; A4 or Letter is expected");
    bookfolder_expect_file("studio.csv", "field,value\ncurrency,USD\nquote detail,line\n",
                           "did you mean \"lines\"?");
    bookfolder_expect_file("studio.csv", "field,value\ncurrency,USD\nlogo,../logo.png\n",
                           "is no plain file name");
    bookfolder_open(&f);
    bookfolder_write(&f, "studio.csv",
                     "field,value\nCurrency,jpy\naddress,\"1 Lane\nTown\"\npaper,letter\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    assert_string_equal("JPY", f.book->currency);
    assert_int_equal(0, f.book->exponent);
    bookfolder_close(&f);
}

/* ---- size steps ---- */

#define MELEE "lot,species,origin,from mm,to mm,price per ct,from,until\n"
#define STEP(from, to, begins, ends) "a,diamond,natural," from "," to ",500," begins "," ends "\n"

static void steps_of_one_lot_may_not_overlap(void **state)
{
    (void)state;
    bookfolder_expect_file("melee.csv", MELEE STEP("1", "1.2", "", "") STEP("1.1", "1.3", "", ""),
                           "\"a\": the sizes of this row overlap those of line 2");
    bookfolder_expect_file("melee.csv", MELEE STEP("1", "2", "", "") STEP("1.1", "1.3", "", ""),
                           "[book-tie]");
    bookfolder_expect_file("stones.csv",
                           "lot,species,shape,origin,from ct,to ct,price each\n"
                           "a,diamond,round,natural,0.5,1,9\na,diamond,round,natural,0.9,2,9\n",
                           "[book-tie]");
}

static void steps_that_never_meet_may_overlap(void **state)
{
    (void)state;
    static const char *const good[] = {
        MELEE STEP("1", "1.2", "", "") STEP("1.2", "1.4", "", ""),
        MELEE STEP("1", "1.2", "", "2026-05-31") STEP("1.1", "1.3", "2026-06-01", ""),
        /* a later row of the same key takes the place of the wide one */
        MELEE STEP("1", "1.4", "2026-01-01", "") STEP("1", "1.2", "2026-06-01", "")
            STEP("1.2", "1.4", "2026-06-01", ""),
    };

    for (size_t i = 0; i < TS_COUNT_OF(good); i++) {
        bookfolder f;

        bookfolder_open(&f);
        bookfolder_write(&f, "melee.csv", good[i]);
        if (bookfolder_load(&f) != TS_OK) {
            fail_msg("%zu: %s", i, bookfolder_said(&f));
        }
        bookfolder_close(&f);
    }
}

static void a_wide_step_that_comes_back_overlaps(void **state)
{
    (void)state;
    bookfolder_expect_file("melee.csv",
                           MELEE STEP("1", "1.4", "", "") STEP("1.2", "1.5", "2026-06-01", ""),
                           "overlap those of line 2, which is in force too on 2026-06-01");
    bookfolder_expect_file("melee.csv",
                           MELEE STEP("1", "1.4", "2026-01-01", "")
                               STEP("1", "1.2", "2026-06-01", "2026-06-30")
                                   STEP("1.2", "1.4", "2026-06-01", ""),
                           "in force too on 2026-07-01");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_small_set_loads),
        cmocka_unit_test(the_books_that_ship_load_and_audit_clean),
        cmocka_unit_test(limits_and_taxes_are_such_as_can_be_met),
        cmocka_unit_test(what_is_empty_takes_its_default),
        cmocka_unit_test(columns_may_stand_in_any_order_and_case),
        cmocka_unit_test(a_decimal_comma_is_read_in_a_file_of_semicolons),
        cmocka_unit_test(places_of_rows_and_columns_are_known),
        cmocka_unit_test(a_folder_that_is_not_there_is_missing),
        cmocka_unit_test(a_file_that_is_needed_is_missed_by_name),
        cmocka_unit_test(all_faults_of_all_files_come_out_together),
        cmocka_unit_test(faults_of_columns_are_said_once_at_the_header),
        cmocka_unit_test(a_column_that_no_row_needs_may_be_missing),
        cmocka_unit_test(a_cell_that_must_be_filled_is_missed),
        cmocka_unit_test(one_key_and_day_may_stand_once),
        cmocka_unit_test(an_empty_narrowing_is_another_key_than_zero),
        cmocka_unit_test(days_and_sizes_must_be_in_order),
        cmocka_unit_test(finenesses_add_up_to_a_thousand_at_most),
        cmocka_unit_test(one_of_two_prices_is_expected),
        cmocka_unit_test(names_that_a_row_needs_must_be_there),
        cmocka_unit_test(the_studio_must_say_its_currency),
        cmocka_unit_test(what_is_said_of_the_studio_is_known),
        cmocka_unit_test(steps_of_one_lot_may_not_overlap),
        cmocka_unit_test(steps_that_never_meet_may_overlap),
        cmocka_unit_test(a_wide_step_that_comes_back_overlaps),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
