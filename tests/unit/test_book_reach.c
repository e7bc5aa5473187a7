/* What rows in force need of other files, and what is hardly meant: where each audit begins to
 * speak, and what it lets be. Whole books with one slip each are in tests/commands/books.sh. The
 * books here are invented and written by the test; the arithmetic stands beside the cases. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/book/audit.h>

#include "bookfolder.h"

#define HEAD "rule,subject,above,value,unit,from,until\n"
#define NEEDED "at cost,labour,,,,,\nat cost,metal,,,,,\nvalid,quote,,30,days,,\n"
#define REST "payment,delivery,,,,,\n"

/* Two files over the small set with every operation: `warnings`, and this among them. */
static void tells(const char *name, const char *text, const char *other, const char *more,
                  size_t warnings, const char *sentence)
{
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", bookfolder_operations);
    bookfolder_write(&f, name, text);
    if (other != NULL) {
        bookfolder_write(&f, other, more);
    }
    if (bookfolder_load(&f) != TS_OK) {
        fail_msg("%s", bookfolder_said(&f));
    }
    ts_book_audit(f.book, bookfolder_day("2026-06-15"), f.arena, f.diag);
    bookfolder_said(&f);
    if (ts_diag_warnings(f.diag) != warnings || strstr(f.said, sentence) == NULL) {
        fail_msg("%zu warnings and \"%s\" are expected, not %zu:\n%s", warnings, sentence,
                 ts_diag_warnings(f.diag), f.said);
    }
    bookfolder_close(&f);
}

static void policy(const char *rows, size_t warnings, const char *sentence)
{
    char text[1500];

    snprintf(text, sizeof text, HEAD NEEDED "%s", rows);
    tells("policy.csv", text, NULL, NULL, warnings, sentence);
}

static void labour(const char *rows, size_t warnings, const char *sentence)
{
    char text[3000];

    snprintf(text, sizeof text, "operation,craft,per,minutes each,metal,stone,from mm,to mm\n%s%s",
             strchr(bookfolder_operations, '\n') + 1, rows);
    tells("labour.csv", text, "alloys.csv",
          "alloy,name,gold,density\n750 yellow,Y,750,15.58\n585 yellow,X,585,13.1\n", warnings,
          sentence);
}

static void values_beyond_the_usual_are_told(void **state)
{
    (void)state;
    policy(REST "surcharge,card,,25,%,,\n", 0, "");
    policy(REST "surcharge,card,,25.000001,%,,\n", 1, "surcharge of 25.000001 % for card");
    policy(REST "markup,caster,,1000,%,,\n", 0, "");
    policy(REST "markup,caster,,1001,%,,\n", 1, "up to 1000 % is usual");
    policy(REST "contingency,cost,,101,%,,\nat cost,contingency,,,,,\n", 1, "up to 100 % is usual");
    /* of a day that has passed nothing is said */
    policy(REST "surcharge,card,,90,%,,2026-06-14\n", 0, "");
}

static void amounts_that_nobody_can_pay_are_told(void **state)
{
    (void)state;
    static const char rates[] = "currency,in,rate\nJPY,USD,0.0067\nKWD,USD,3.25\n";

    policy(REST "minimum,net,,450.05,USD,,\n", 0, "");
    policy(REST "minimum,net,,450.005,USD,,\n", 1, "450.005 USD cannot be paid");
    tells("policy.csv", HEAD NEEDED REST "minimum,net,,450.005,KWD,,\n", "rates.csv", rates, 0, "");
    tells("policy.csv", HEAD NEEDED REST "minimum,net,,450.5,JPY,,\n", "rates.csv", rates, 1,
          "at most 0 decimals are expected in JPY");
    /* an hour's overhead is a rate, not an amount that is paid */
    policy(REST "overhead,hour,,16.125,USD,,\nat cost,overhead,,,,,\n", 0, "");
}

static void no_more_is_kept_than_was_paid(void **state)
{
    (void)state;
    policy("payment,deposit,,40,%,,\n" REST "keep,deposit,,40,%,,\n", 0, "");
    policy("payment,deposit,,40,%,,\n" REST "keep,deposit,,40.5,%,,\n", 1,
           "40 % has been paid after \"deposit\", but 40.5 % is kept");
    policy("payment,deposit,,40,%,,\npayment,casting,,30,%,,\n" REST "keep,casting,,70,%,,\n", 0,
           "");
    policy("payment,deposit,,300,USD,,\n" REST "keep,deposit,,300,USD,,\n", 0, "");
    policy("payment,deposit,,300,USD,,\n" REST "keep,deposit,,301,USD,,\n", 1,
           "300 USD has been paid after \"deposit\", but 301 USD is kept");
    /* after the last stage all has been paid; an amount beside a percentage cannot be told */
    policy("payment,deposit,,40,%,,\n" REST "keep,delivery,,100,%,,\n", 0, "");
    policy("payment,deposit,,40,%,,\n" REST "keep,deposit,,9000,USD,,\n", 0, "");
    policy("payment,deposit,,40,%,,\npayment,casting,,1,USD,,\n" REST "keep,casting,,90,%,,\n", 0,
           "");
    policy("payment,deposit,,300,USD,,\n" REST "keep,deposit,,90,%,,\n", 0, "");
}

static void stages_of_nothing_are_told(void **state)
{
    (void)state;
    policy("payment,deposit,,99,%,,\n" REST, 0, "");
    policy("payment,deposit,,100,%,,\n" REST, 1,
           "nothing is left to pay at the stage \"delivery\"");
    policy("payment,deposit,,0,%,,\n" REST, 1, "nothing is left to pay at the stage \"deposit\"");
    policy("", 1, "no stage of payment is in force");
}

static void whole_tiers_are_told_only_where_a_price_falls(void **state)
{
    (void)state;
    static const char whole[] = REST "tiers,labour,,whole,,,\n";
    char rows[400];

    snprintf(rows, sizeof rows, "%smargin,labour,500,20,%%,,\n", whole);
    policy(rows, 0, ""); /* at cost below: the price leaps up */
    /* markup 50 % is 1.5 times the cost, a margin of 30 % is 1 / 0.7 = 1.43 times */
    snprintf(rows, sizeof rows, "%smarkup,labour,500,50,%%,,\nmargin,labour,900,30,%%,,\n", whole);
    policy(rows, 1, "can fall where its cost passes 900 (line 8)");
    /* a margin of 33.333334 % is over 1.5 times */
    snprintf(rows, sizeof rows, "%smarkup,labour,500,50,%%,,\nmargin,labour,900,33.333334,%%,,\n",
             whole);
    policy(rows, 0, "");
    snprintf(rows, sizeof rows, "%smargin,labour,900,33.333333,%%,,\nmarkup,labour,500,50,%%,,\n",
             whole);
    policy(rows, 1, "passes 900 (line 7)");
}

static void rows_that_fit_equally_well_are_told(void **state)
{
    (void)state;
    labour("cast,caster,casting,2,gold,,,\ncast,caster,casting,3,750 yellow,,,\n", 1,
           "\"cast\": this row and that on line 17 fit equally well");
    labour("cast,caster,casting,2,750 yellow,,,\ncast,caster,casting,3,585 yellow,,,\n", 0, "");
    labour("set claw,caster,stone,2,gold,,,\nset claw,caster,stone,3,,client,,\n", 1,
           "fit equally well");
    labour("set claw,caster,stone,2,gold,,,\nset claw,caster,stone,3,,client,,\n"
           "set claw,caster,stone,4,gold,client,,\n",
           0, "");
    labour("set claw,caster,stone,2,,round,,\nset claw,caster,stone,3,,oval,,\n", 0, "");
    labour("set claw,caster,stone,2,,ruby,,\nset claw,caster,stone,3,,diamond,,\n", 0, "");
    labour("set claw,caster,stone,2,,round,,\nset claw,caster,stone,3,,diamond,,\n", 1,
           "fit equally well");
    /* emerald is a shape and a species: an emerald may be oval, and a ruby cut so */
    labour("set claw,caster,stone,2,,oval,,\nset claw,caster,stone,3,,emerald,,\n", 1,
           "fit equally well");
    labour("set claw,caster,stone,2,,ruby,,\nset claw,caster,stone,3,,emerald,,\n", 1,
           "fit equally well");
}

static void sizes_decide_between_rows_or_hide_one(void **state)
{
    (void)state;
    labour("set claw,caster,stone,2,,,1,3\nset claw,caster,stone,3,,,2,4\n", 1, "fit equally well");
    labour("set claw,caster,stone,2,,,1,3\nset claw,caster,stone,3,,,3,5\n", 0, "");
    labour("set claw,caster,stone,2,,,1,3\nset claw,caster,stone,3,,,2,5\n", 0, "");
    /* a tie that begins above the lowest size that both hold, where a third row ends */
    labour("set claw,caster,stone,2,gold,,1,4\nset claw,caster,stone,3,,client,1,4\n"
           "set claw,caster,stone,3,gold,client,1,2\n",
           1, "fit equally well");
    labour("set claw,caster,stone,2,,,1,2\nset claw,caster,stone,3,,,2,5\n"
           "set claw,caster,stone,3,,,1,5\n",
           1, "can never apply");
    labour("set claw,caster,stone,2,,,1,2\nset claw,caster,stone,3,,,2,5\n"
           "set claw,caster,stone,3,,,1,5.1\n",
           0, "");
}

static void leaps_begin_where_they_are_said_to(void **state)
{
    (void)state;
    static const char head[] = "craft,rate per hour,from\n";
    char text[300];

    snprintf(text, sizeof text, "%scaster,60,\ncaster,120,2026-06-01\n", head);
    tells("crafts.csv", text, NULL, NULL, 0, "");
    snprintf(text, sizeof text, "%scaster,60,\ncaster,120.000001,2026-06-01\n", head);
    tells("crafts.csv", text, NULL, NULL, 1, "rate per hour went from 60 in line 2 to 120.000001");
    snprintf(text, sizeof text, "%scaster,60,\ncaster,29.999999,2026-06-01\n", head);
    tells("crafts.csv", text, NULL, NULL, 1, "doubled or halved at most is expected");
    snprintf(text, sizeof text, "%scaster,60,\ncaster,600,2026-07-01\n", head);
    tells("crafts.csv", text, NULL, NULL, 0, ""); /* not in force yet */
    tells("rates.csv", "currency,in,rate,from\nEUR,USD,1,\nEUR,USD,1.25,2026-06-01\n", NULL, NULL,
          0, "");
    tells("rates.csv", "currency,in,rate,from\nEUR,USD,1,\nEUR,USD,0.799999,2026-06-01\n", NULL,
          NULL, 1, "up or down by a quarter");
}

static void metals_of_two_currencies_are_compared_by_the_day_s_rate(void **state)
{
    (void)state;
    static const char rules[] = HEAD NEEDED REST "plausible,metal,,15,%,,\n";
    bookfolder f;

    /* 100 USD at 1.25 USD a EUR are 80 EUR; 92 is 15 % more */
    for (int e2 = 9200; e2 <= 9201; e2++) {
        char text[200];

        snprintf(text, sizeof text,
                 "metal,price,currency,per,from\ngold,100,,gram,\n"
                 "gold,%d.%02d,EUR,gram,2026-06-10\n",
                 e2 / 100, e2 % 100);
        bookfolder_open(&f);
        bookfolder_write(&f, "labour.csv", bookfolder_operations);
        bookfolder_write(&f, "policy.csv", rules);
        bookfolder_write(&f, "rates.csv", "currency,in,rate\nEUR,USD,1.25\n");
        bookfolder_write(&f, "metals.csv", text);
        assert_int_equal(TS_OK, bookfolder_load(&f));
        ts_book_audit(f.book, bookfolder_day("2026-06-15"), f.arena, f.diag);
        assert_int_equal(e2 - 9200, ts_diag_warnings(f.diag));
        bookfolder_close(&f);
    }
}

static void what_lots_and_species_may_be_is_let_be(void **state)
{
    (void)state;
    static const char rules[] =
        HEAD NEEDED REST "at cost,stones,,,,,\nat cost,melee,,,,,\nspares,melee,,4,%,,\n";
    static const char head[] = "lot,species,shape,origin,from ct,to ct,price per ct\n";
    char text[300];

    snprintf(text, sizeof text,
             "%sa,sapphire blue,oval,natural,1,2,100\na,sapphire blue,oval,natural,"
             "2,3,1000\n",
             head);
    tells("policy.csv", rules, "stones.csv", text, 0, ""); /* ten times is let be */
    snprintf(text, sizeof text,
             "%sa,benitoite,oval,natural,1,2,100\na,benitoite,oval,natural,2,3,"
             "1000.01\n",
             head);
    tells("policy.csv", rules, "stones.csv", text, 1, "less than ten times as much");
    snprintf(text, sizeof text, "%sa,saphire,oval,natural,1,2,100\n", head);
    tells("policy.csv", rules, "stones.csv", text, 1, "did you mean \"sapphire\"?");
}

static void marks_promise_no_more_than_there_is(void **state)
{
    (void)state;
    static const char head[] = "alloy,name,gold,density,mark,recovery,scrap payout\n";
    char text[200];

    snprintf(text, sizeof text, "%sx,X,750,15.58,Au 750,,95\n", head);
    tells("alloys.csv", text, NULL, NULL, 0, "");
    snprintf(text, sizeof text, "%sx,X,750,15.58,No 9001,,95\n", head);
    tells("alloys.csv", text, NULL, NULL, 0, ""); /* four digits are no fineness */
    snprintf(text, sizeof text, "%sx,X,749.9,15.58,Au 750,95,95\n", head);
    tells("alloys.csv", text, NULL, NULL, 1, "is marked Au 750, and holds 749.9");
    snprintf(text, sizeof text, "%sx,X,750,15.58,18K,95,95.5\n", head);
    tells("alloys.csv", text, NULL, NULL, 1, "95.5 % is given for old \"x\"");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_beyond_the_usual_are_told),
        cmocka_unit_test(amounts_that_nobody_can_pay_are_told),
        cmocka_unit_test(no_more_is_kept_than_was_paid),
        cmocka_unit_test(stages_of_nothing_are_told),
        cmocka_unit_test(whole_tiers_are_told_only_where_a_price_falls),
        cmocka_unit_test(rows_that_fit_equally_well_are_told),
        cmocka_unit_test(sizes_decide_between_rows_or_hide_one),
        cmocka_unit_test(leaps_begin_where_they_are_said_to),
        cmocka_unit_test(metals_of_two_currencies_are_compared_by_the_day_s_rate),
        cmocka_unit_test(what_lots_and_species_may_be_is_let_be),
        cmocka_unit_test(marks_promise_no_more_than_there_is),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
