/* Asking the books: the row in force on a day, inverse rates, size steps, and which of
 * several rows fits best. Expected rows follow from the specification's rules (latest
 * `from` among those begun and not ended; most narrowing columns, then the narrower size);
 * the books are invented and written by the test. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>
#include <tallystone/book/book.h>

#include "bookfolder.h"

#define TODAY bookfolder_day("2026-06-15")

static void load(bookfolder *f)
{
    if (bookfolder_load(f) != TS_OK) {
        fail_msg("%s", bookfolder_said(f));
    }
}

static ts_dec mm(const char *text)
{
    ts_dec value;

    assert_int_equal(TS_NUMBER_OK, ts_dec_read(&value, text, '.', NULL));
    return value;
}

/* ---- days ---- */

static void assert_gold(const bookfolder *f, const char *day, int64_t price)
{
    const ts_metal_row *row = ts_book_metal(f->book, TS_METAL_GOLD, bookfolder_day(day));

    if (price == 0) {
        assert_null(row);
        return;
    }
    assert_non_null(row);
    if (row->price.e6 != price * 1000000) {
        fail_msg("on %s: line %d, expected a price of %d", day, row->head.line, (int)price);
    }
}

static void the_latest_row_that_has_begun_and_not_ended_is_in_force(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv",
                     "metal,price,per,from,until\n"
                     "gold,30,gram,2026-03-01,\n"
                     "gold,10,gram,2026-01-01,\n"
                     "gold,40,gram,2026-04-01,2026-04-30\n"
                     "silver,1,gram,,\n");
    load(&f);
    assert_gold(&f, "2025-12-31", 0);
    assert_gold(&f, "2026-01-01", 10);
    assert_gold(&f, "2026-02-28", 10);
    assert_gold(&f, "2026-03-01", 30);
    assert_gold(&f, "2026-04-01", 40);
    assert_gold(&f, "2026-04-30", 40); /* the last day is in */
    assert_gold(&f, "2026-05-01", 30); /* what was before comes back */
    assert_non_null(ts_book_metal(f.book, TS_METAL_SILVER, bookfolder_day("1900-01-01")));
    assert_null(ts_book_metal(f.book, TS_METAL_PLATINUM, TODAY));
    bookfolder_close(&f);
}

static void later_rows_never_change_an_older_day(void **state)
{
    (void)state;
    static const char before[] = "metal,price,per,from\ngold,10,gram,2026-01-01\n";
    static const char after[] = "metal,price,per,from\ngold,99,gram,2026-07-01\n"
                                "gold,10,gram,2026-01-01\n";
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "metals.csv", before);
    load(&f);
    assert_gold(&f, "2026-06-30", 10);
    bookfolder_write(&f, "metals.csv", after);
    load(&f);
    assert_gold(&f, "2026-06-30", 10);
    assert_gold(&f, "2026-07-01", 99);
    bookfolder_close(&f);
}

static void a_row_is_current_where_none_of_its_key_began_later(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "taxes.csv",
                     "region,category,rate,name,from\nstate,all,6,sales tax,\n"
                     "state,all,1,city tax,\nstate,all,7,sales tax,2026-06-15\n");
    load(&f);
    assert_true(ts_book_current(f.book, &f.book->taxes.at[0].head, bookfolder_day("2026-06-14")));
    assert_false(ts_book_current(f.book, &f.book->taxes.at[0].head, TODAY));
    assert_true(ts_book_in_force(&f.book->taxes.at[0].head, TODAY));
    assert_true(ts_book_current(f.book, &f.book->taxes.at[1].head, TODAY));
    assert_true(ts_book_current(f.book, &f.book->taxes.at[2].head, TODAY));
    bookfolder_close(&f);
}

static void names_are_found_however_many_rows_they_have(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "alloys.csv",
                     "alloy,name,gold,density,from\n750 Yellow,new,750,15.6,2026-01-01\n"
                     "585,x,585,13,\n750 yellow,old,750,15.5,\n");
    bookfolder_write(&f, "crafts.csv", "craft,rate per hour\nsetter,64\ncaster,60\npolisher,40\n");
    load(&f);
    assert_string_equal("new", ts_book_alloy(f.book, "750 yellow", TODAY)->name);
    assert_string_equal("old",
                        ts_book_alloy(f.book, "750 yellow", bookfolder_day("2025-01-01"))->name);
    assert_null(ts_book_alloy(f.book, "750", TODAY));
    assert_null(ts_book_alloy(f.book, NULL, TODAY));
    assert_true(ts_book_has_alloy(f.book, "585"));
    assert_false(ts_book_has_alloy(f.book, "375"));
    assert_true(ts_book_craft(f.book, "setter", TODAY)->rate_per_hour.e6 == 64000000);

    const char *const *names = NULL;
    assert_int_equal(2, ts_book_names(&names, f.arena, f.book, TS_BOOK_ALLOYS));
    assert_string_equal("585", names[0]);
    assert_string_equal("750 yellow", names[1]);
    assert_int_equal(0, ts_book_names(&names, f.arena, f.book, TS_BOOK_MELEE));
    bookfolder_close(&f);
}

static void the_studio_answers_by_field(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "studio.csv",
                     "field,value,from\ncurrency,USD,\naddress,Old Lane,\n"
                     "address,New Lane,2026-06-01\nemail,,\n");
    load(&f);
    assert_string_equal("New Lane", ts_book_studio(f.book, "address", TODAY));
    assert_string_equal("Old Lane",
                        ts_book_studio(f.book, "address", bookfolder_day("2026-05-31")));
    assert_null(ts_book_studio(f.book, "email", TODAY));
    assert_null(ts_book_studio(f.book, "paper", TODAY));
    bookfolder_close(&f);
}

/* ---- rates ---- */

static void rates_are_found_either_way_round(void **state)
{
    (void)state;
    bookfolder f;
    bool inverse = true;

    bookfolder_open(&f);
    bookfolder_write(&f, "rates.csv",
                     "currency,in,rate,from,until\nEUR,USD,1.07,2026-01-01,\n"
                     "EUR,USD,1.09,2026-06-01,\nUSD,GBP,0.8,,2026-06-10\nCHF,USD,1.1,,\n"
                     "USD,CHF,0.9,,\n");
    load(&f);
    const ts_rate_row *row = ts_book_rate(f.book, "EUR", "USD", TODAY, &inverse);
    assert_true(row != NULL && row->rate.e6 == 1090000 && !inverse);
    row = ts_book_rate(f.book, "USD", "EUR", TODAY, &inverse);
    assert_true(row != NULL && row->rate.e6 == 1090000 && inverse);
    row = ts_book_rate(f.book, "USD", "EUR", bookfolder_day("2026-05-31"), &inverse);
    assert_true(row != NULL && row->rate.e6 == 1070000 && inverse);
    row = ts_book_rate(f.book, "GBP", "USD", bookfolder_day("2026-06-10"), &inverse);
    assert_true(row != NULL && row->rate.e6 == 800000 && inverse);
    assert_null(ts_book_rate(f.book, "GBP", "USD", TODAY, &inverse)); /* it has ended */
    assert_null(ts_book_rate(f.book, "EUR", "GBP", TODAY, &inverse)); /* no chains */
    row = ts_book_rate(f.book, "USD", "CHF", TODAY, &inverse);        /* the direct one wins */
    assert_true(row != NULL && row->rate.e6 == 900000 && !inverse);
    bookfolder_close(&f);
}

/* ---- melee and stones ---- */

static void sizes_fall_into_half_open_steps(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "melee.csv",
                     "lot,species,origin,from mm,to mm,price per ct,from\n"
                     "a,diamond,natural,1.2,1.3,300,\na,diamond,natural,1,1.2,200,\n"
                     "b,diamond,natural,1,2,900,\na,diamond,natural,1.2,1.3,350,2026-06-01\n");
    bookfolder_write(&f, "stones.csv",
                     "lot,species,shape,origin,from ct,to ct,price each\n"
                     "c,ruby,oval,natural,0.5,1,900\nc,ruby,oval,natural,1,2,2500\n");
    load(&f);
    assert_true(ts_book_melee(f.book, "a", mm("1"), TODAY)->price_per_ct.e6 == 200000000);
    assert_true(ts_book_melee(f.book, "a", mm("1.199999"), TODAY)->price_per_ct.e6 == 200000000);
    assert_true(ts_book_melee(f.book, "a", mm("1.2"), TODAY)->price_per_ct.e6 == 350000000);
    assert_true(ts_book_melee(f.book, "b", mm("1.2"), TODAY)->price_per_ct.e6 == 900000000);
    assert_null(ts_book_melee(f.book, "a", mm("1.3"), TODAY));
    assert_null(ts_book_melee(f.book, "a", mm("0.99"), TODAY));
    assert_null(ts_book_melee(f.book, "none", mm("1"), TODAY));
    assert_true(ts_book_offer(f.book, "c", mm("1"), TODAY)->price_each.e6 == 2500000000);
    assert_null(ts_book_offer(f.book, "c", mm("2"), TODAY));
    bookfolder_close(&f);
}

static void a_replaced_step_prices_nothing(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "melee.csv",
                     "lot,species,origin,from mm,to mm,price per ct,from\n"
                     "a,diamond,natural,1,1.4,200,\na,diamond,natural,1,1.2,300,2026-06-01\n");
    load(&f);
    assert_null(ts_book_melee(f.book, "a", mm("1.3"), TODAY));
    assert_non_null(ts_book_melee(f.book, "a", mm("1.3"), bookfolder_day("2026-05-31")));
    bookfolder_close(&f);
}

static void steps_of_a_lot_come_in_order_of_size(void **state)
{
    (void)state;
    bookfolder f;
    const ts_melee_row *const *steps = NULL;

    bookfolder_open(&f);
    bookfolder_write(
        &f, "melee.csv",
        "lot,species,origin,from mm,to mm,price per ct,from,until\n"
        "a,diamond,natural,10,11,4,,\na,diamond,natural,1.2,1.3,3,,\n"
        "a,diamond,natural,1,1.2,2,,\nb,diamond,natural,0.5,1,1,,\n"
        "a,diamond,natural,1.3,1.4,9,,2026-06-14\na,diamond,natural,1,1.2,5,2026-06-01,\n");
    load(&f);
    assert_int_equal(3, ts_book_melee_steps(&steps, f.arena, f.book, "a", TODAY));
    assert_true(steps[0]->price_per_ct.e6 == 5000000);
    assert_true(steps[1]->from_mm.e6 == 1200000);
    assert_true(steps[2]->from_mm.e6 == 10000000);
    assert_int_equal(0, ts_book_melee_steps(&steps, f.arena, f.book, "c", TODAY));
    bookfolder_close(&f);
}

/* ---- labour ---- */

static const char labour_rows[] =
    "operation,craft,per,minutes each,from mm,to mm,metal,stone,from\n"
    "set bead,caster,stone,1,,,,,\n"
    "set bead,caster,stone,2,0,2,,,\n"
    "set bead,caster,stone,3,1,1.5,,,\n"
    "set bead,caster,stone,4,,,gold,,\n"
    "set bead,caster,stone,5,1,1.5,gold,,\n"
    "set bead,caster,stone,6,,,gold,client,\n"
    "set bead,caster,stone,7,,,750 yellow,emerald,\n"
    "set claw,caster,stone,8,,,,client,\n"
    "set claw,caster,stone,9,,,,round,\n"
    "set claw,caster,stone,10,,,platinum,,\n"
    "cast,caster,casting,11,,,,,\n"
    "cast,caster,casting,12,,,,,2026-06-01\n"
    "join,caster,joint,13,3,,,,\n"
    "join,caster,joint,14,,3,,,\n";

static int labour_minutes(const bookfolder *f, const ts_labour_key *key, int tied)
{
    const ts_labour_row *tie = NULL;
    const ts_labour_row *row = ts_book_labour(f->book, key, TODAY, &tie);

    assert_int_equal(tied, tie == NULL ? 0 : (int)(tie->minutes_each.e6 / 1000000));
    return row == NULL ? 0 : (int)(row->minutes_each.e6 / 1000000);
}

static ts_labour_key labour_key(const char *operation, const char *size_mm)
{
    ts_labour_key key = {.operation = operation};

    if (size_mm != NULL) {
        key.has_size = true;
        key.size_mm = mm(size_mm);
    }
    return key;
}

static void the_row_with_most_narrowing_columns_wins(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", labour_rows);
    load(&f);
    ts_labour_key key = labour_key("set bead", "3");
    assert_int_equal(1, labour_minutes(&f, &key, 0)); /* no size fits */
    key = labour_key("set bead", "0.5");
    assert_int_equal(2, labour_minutes(&f, &key, 0));
    key = labour_key("set bead", "1.2");
    assert_int_equal(3, labour_minutes(&f, &key, 0)); /* the narrower size of two */
    key = labour_key("set bead", "1.5");
    assert_int_equal(2, labour_minutes(&f, &key, 0)); /* 1 to 1.5 holds no 1.5 */
    key = labour_key("set bead", NULL);
    assert_int_equal(1, labour_minutes(&f, &key, 0)); /* no size asked: none may be narrowed */
    key.main_metal = "gold";
    assert_int_equal(4, labour_minutes(&f, &key, 0));
    key = labour_key("set bead", "1.2");
    key.main_metal = "gold";
    assert_int_equal(5, labour_minutes(&f, &key, 0)); /* size and metal */
    key.alloy = "750 yellow";
    key.species = "emerald";
    key.shape = "round";
    assert_int_equal(5, labour_minutes(&f, &key, 0)); /* two columns each: it has a size */
    key.has_size = false;
    assert_int_equal(7, labour_minutes(&f, &key, 0));
    bookfolder_close(&f);
}

static void two_rows_that_fit_equally_are_a_tie(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", labour_rows);
    load(&f);
    ts_labour_key key = labour_key("set claw", "2");
    key.client = true;
    assert_int_equal(8, labour_minutes(&f, &key, 0));
    key.main_metal = "platinum";
    const ts_labour_row *tie = NULL;
    assert_non_null(ts_book_labour(f.book, &key, TODAY, &tie));
    assert_non_null(tie);
    key.client = false;
    assert_int_equal(10, labour_minutes(&f, &key, 0));
    key.main_metal = "gold";
    key.shape = "oval";
    assert_int_equal(0, labour_minutes(&f, &key, 0));
    bookfolder_close(&f);
}

static void labour_goes_by_days_and_open_sizes_too(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", labour_rows);
    load(&f);
    ts_labour_key key = labour_key("cast", NULL);
    assert_int_equal(12, labour_minutes(&f, &key, 0));
    key = labour_key("join", "3");
    assert_int_equal(13, labour_minutes(&f, &key, 0));
    key = labour_key("join", "2.999999");
    assert_int_equal(14, labour_minutes(&f, &key, 0));
    key = labour_key("polish", NULL);
    assert_int_equal(0, labour_minutes(&f, &key, 0));
    bookfolder_close(&f);
}

/* ---- services, policy, limits ---- */

static void of_services_of_one_name_the_first_in_the_file_answers(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "services.csv",
                     "service,applies,basis,price,until\nplating,offered,each,1,2026-01-01\n"
                     "plating,asked,each,2,\nplating,750 yellow,each,3,\n");
    load(&f);
    assert_true(ts_book_service(f.book, "plating", TODAY)->price.e6 == 2000000);
    assert_true(ts_book_service(f.book, "plating", bookfolder_day("2025-01-01"))->price.e6 ==
                1000000);
    assert_null(ts_book_service(f.book, "engraving", TODAY));
    bookfolder_close(&f);
}

static void policy_answers_by_rule_and_subject_without_tiers(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "policy.csv",
                     "rule,subject,above,value,unit,from\nmarkup,melee,500,80,%,\n"
                     "markup,melee,,110,%,\nmarkup,melee,,120,%,2026-06-01\nspares,melee,,4,%,\n");
    load(&f);
    assert_true(ts_book_policy(f.book, TS_RULE_MARKUP, "melee", TODAY)->amount.value.e6 ==
                120000000);
    assert_true(ts_book_policy(f.book, TS_RULE_SPARES, "melee", TODAY)->amount.value.e6 == 4000000);
    assert_null(ts_book_policy(f.book, TS_RULE_MARKUP, "stones", TODAY));
    assert_null(ts_book_policy(f.book, TS_RULE_MARKUP, NULL, TODAY));
    bookfolder_close(&f);
}

static void the_narrowest_limit_answers(void **state)
{
    (void)state;
    bookfolder f;
    const ts_dec three = mm("3");

    bookfolder_open(&f);
    bookfolder_write(&f, "limits.csv",
                     "limit,subject,region,from mm,to mm,least,source\n"
                     "thickness,,,,,1,common practice\nthickness,gold,,,,2,common practice\n"
                     "thickness,gold,state,,,3,common practice\nthickness,,,2,4,4,common practice\n"
                     "thickness,,,3,4,5,common practice\nheight,daily,,,,6,common practice\n");
    load(&f);
#define LEAST(subject, region, size)                                                               \
    (int)(ts_book_limit(f.book, "thickness", subject, region, size, TODAY)->least.e6 / 1000000)
    assert_int_equal(1, LEAST(NULL, NULL, NULL));
    assert_int_equal(1, LEAST("silver", "", NULL));
    assert_int_equal(2, LEAST("gold", NULL, NULL));
    assert_int_equal(2, LEAST("gold", "elsewhere", NULL));
    assert_int_equal(3, LEAST("gold", "state", &three));
    assert_int_equal(5, LEAST(NULL, NULL, &three));
#undef LEAST
    assert_null(ts_book_limit(f.book, "height", "occasional", NULL, NULL, TODAY));
    assert_null(ts_book_limit(f.book, "width", NULL, NULL, NULL, TODAY));
    bookfolder_close(&f);
}

static ts_metal_kind main_of(int gold, int platinum, int palladium, int silver)
{
    ts_alloy_row row = {.alloy = "x"};

    row.fineness[TS_METAL_GOLD].e6 = gold * INT64_C(1000000);
    row.fineness[TS_METAL_PLATINUM].e6 = platinum * INT64_C(1000000);
    row.fineness[TS_METAL_PALLADIUM].e6 = palladium * INT64_C(1000000);
    row.fineness[TS_METAL_SILVER].e6 = silver * INT64_C(1000000);
    return ts_alloy_main(&row);
}

static void an_alloy_goes_by_the_metal_it_is_sold_as(void **state)
{
    (void)state; /* standards of fineness: gold from 333, platinum and palladium from 500 */
    assert_int_equal(TS_METAL_GOLD, main_of(750, 0, 0, 125));
    assert_int_equal(TS_METAL_GOLD, main_of(375, 0, 60, 480)); /* nine karat white */
    assert_int_equal(TS_METAL_PLATINUM, main_of(0, 950, 0, 0));
    assert_int_equal(TS_METAL_PALLADIUM, main_of(0, 0, 950, 0));
    assert_int_equal(TS_METAL_SILVER, main_of(0, 0, 0, 925));
    assert_int_equal(TS_METAL_SILVER, main_of(200, 0, 0, 500));
    assert_int_equal(TS_METAL_NONE, main_of(0, 0, 0, 0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_latest_row_that_has_begun_and_not_ended_is_in_force),
        cmocka_unit_test(later_rows_never_change_an_older_day),
        cmocka_unit_test(a_row_is_current_where_none_of_its_key_began_later),
        cmocka_unit_test(names_are_found_however_many_rows_they_have),
        cmocka_unit_test(the_studio_answers_by_field),
        cmocka_unit_test(rates_are_found_either_way_round),
        cmocka_unit_test(sizes_fall_into_half_open_steps),
        cmocka_unit_test(a_replaced_step_prices_nothing),
        cmocka_unit_test(steps_of_a_lot_come_in_order_of_size),
        cmocka_unit_test(the_row_with_most_narrowing_columns_wins),
        cmocka_unit_test(two_rows_that_fit_equally_are_a_tie),
        cmocka_unit_test(labour_goes_by_days_and_open_sizes_too),
        cmocka_unit_test(of_services_of_one_name_the_first_in_the_file_answers),
        cmocka_unit_test(policy_answers_by_rule_and_subject_without_tiers),
        cmocka_unit_test(the_narrowest_limit_answers),
        cmocka_unit_test(an_alloy_goes_by_the_metal_it_is_sold_as),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
