/* What is odd in books that can be used. Warnings only: an audit adds no error. Densities
 * and weights are worked beside the cases. The books are invented and written by the test. */
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

#include "bookfolder.h"

/* What every price needs of a policy. */
#define RULES "rule,subject,above,value,unit\n"
#define NEEDED "valid,quote,,30,days\nspares,melee,,4,%\n"
#define POLICY RULES NEEDED "payment,delivery,,,\n"

static void audit(bookfolder *f, const char *day)
{
    if (bookfolder_load(f) != TS_OK) {
        fail_msg("%s", bookfolder_said(f));
    }
    ts_book_audit(f->book, bookfolder_day(day), f->arena, f->diag);
    assert_int_equal(0, ts_diag_errors(f->diag));
    bookfolder_said(f);
}

/* Writes one file into a small set that audits clean and expects these warnings. */
static void expect(const char *name, const char *text, size_t warnings, const char *sentence)
{
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", bookfolder_operations);
    bookfolder_write(&f, "policy.csv",
                     POLICY "at cost,labour,,,\nat cost,melee,,,\n"
                            "at cost,stones,,,\nmarkup,metal,,45,%\nplausible,metal,,15,%\n"
                            "plausible,silver,,30,%\nstale,metals,,7,days\nstale,rates,,31,days\n"
                            "stale,melee,,180,days\n");
    bookfolder_write(&f, "metals.csv",
                     "metal,price,per\ngold,60,gram\nplatinum,40,gram\nsilver,1,gram\n");
    bookfolder_write(&f, name, text);
    audit(&f, "2026-06-15");
    if (ts_diag_warnings(f.diag) != warnings || strstr(f.said, sentence) == NULL) {
        fail_msg("%zu warnings, expected %zu: %s\nsaid:\n%s", ts_diag_warnings(f.diag), warnings,
                 sentence, f.said);
    }
    bookfolder_close(&f);
}

/* The same for operations beside those that every set needs. */
static void expect_beside(const char *labour, const char *sentence)
{
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "policy.csv",
                     POLICY "at cost,labour,,,\nmarkup,metal,,45,%\nstale,metals,,7,days\n");
    bookfolder_write(&f, "labour.csv", labour);
    audit(&f, "2026-06-15");
    if ((sentence[0] == '\0') == (strstr(f.said, "has no step") != NULL) ||
        strstr(f.said, sentence) == NULL) {
        fail_msg("expected: %s\nsaid:\n%s", sentence, f.said);
    }
    bookfolder_close(&f);
}

static void a_good_set_says_nothing(void **state)
{
    (void)state;
    expect("crafts.csv", "craft,rate per hour\ncaster,60\n", 0, "");
}

static void old_prices_are_stale(void **state)
{
    (void)state;
    static const char metals[] = "metal,price,per,from\n";
    char text[300];

    snprintf(text, sizeof text, "%sgold,60,gram,2026-06-08\n", metals);
    expect("metals.csv", text, 0, ""); /* seven days is what the policy lets be */
    snprintf(text, sizeof text, "%sgold,60,gram,2026-06-07\n", metals);
    expect("metals.csv", text, 1,
           "the price of gold is 8 days old on the pricing date; the policy lets it be 7");
    expect("rates.csv", "currency,in,rate,from\nEUR,USD,1.1,2026-05-01\n", 1,
           "the rate of EUR in USD is 45 days old");
    expect("melee.csv",
           "lot,species,origin,from mm,to mm,price per ct,from\n"
           "a,diamond,natural,1,1.1,500,2025-06-01\na,diamond,natural,1.1,1.2,500,2025-07-01\n",
           1, "\"a\" has prices that are 379 days old");
}

static void prices_that_leap_are_implausible(void **state)
{
    (void)state;
    static const char metals[] = "metal,price,currency,per,from\n";
    char text[300];

    snprintf(text, sizeof text, "%sgold,100,,gram,\ngold,115,,gram,2026-06-10\n", metals);
    expect("metals.csv", text, 0, "");
    snprintf(text, sizeof text, "%sgold,100,,gram,\ngold,115.01,,gram,2026-06-10\n", metals);
    expect("metals.csv", text, 1,
           "the price of gold rose by 15.0 % from line 2; the policy finds 15 % plausible");
    snprintf(text, sizeof text, "%sgold,100,,gram,\ngold,50,,gram,2026-06-10\n", metals);
    expect("metals.csv", text, 1, "fell by 50.0 %");
    snprintf(text, sizeof text,
             "%sgold,100,,gram,\nsilver,100,,gram,\nsilver,75,,gram,2026-06-10\n", metals);
    expect("metals.csv", text, 0, ""); /* silver has a rule of its own */
    /* 100 a gram is 3110.34768 a troy ounce and 100000 a kilogram */
    snprintf(text, sizeof text, "%sgold,100,,gram,\ngold,3110,,troy ounce,2026-06-10\n", metals);
    expect("metals.csv", text, 0, "");
    snprintf(text, sizeof text, "%sgold,100000,,kilogram,\ngold,200,,gram,2026-06-10\n", metals);
    expect("metals.csv", text, 1, "rose by 100.0 %");
    snprintf(text, sizeof text, "%sgold,100,,gram,\ngold,15000,JPY,gram,2026-06-10\n", metals);
    /* without a rate two currencies cannot be compared; that there is none is the one thing said */
    expect("metals.csv", text, 1, "no rate in force that turns JPY into USD");
}

static void steps_that_leave_sizes_out_are_gaps(void **state)
{
    (void)state;
    expect("melee.csv",
           "lot,species,origin,from mm,to mm,price per ct\n"
           "a,diamond,natural,1,1.1,500\na,diamond,natural,1.2,1.3,500\n"
           "b,diamond,natural,1.1,1.2,500\n",
           1, "\"a\" has no step from 1.1 to 1.2 mm");
}

static void sizes_that_no_labour_row_holds_are_gaps(void **state)
{
    (void)state;
    static const char head[] = "operation,craft,per,price each,from mm,to mm,metal,stone\n";
    char text[1500];

    snprintf(text, sizeof text, "%s%s", head,
             "set bead,caster,stone,1,,,,\nset claw,caster,stone,1,0,1,,\n"
             "set claw,caster,stone,2,1.5,9,,\n");
    expect_beside(text, "\"set claw\" has no step from 1 to 1.5 mm");
    snprintf(text, sizeof text, "%s%s", head,
             "set claw,caster,stone,1,0,9,,\nset claw,caster,stone,1,0,1,gold,\n"
             "set claw,caster,stone,2,1.5,9,gold,\n");
    expect_beside(text, ""); /* the row for any metal takes up what the others leave */
    snprintf(text, sizeof text, "%s%s", head,
             "set claw,caster,stone,1,0,9,gold,\nset claw,caster,stone,1,0,1,gold,round\n"
             "set claw,caster,stone,2,1.5,9,gold,round\n");
    expect_beside(text, ""); /* and so does that for any stone in the metal */
    snprintf(text, sizeof text, "%s%s", head,
             "set claw,caster,stone,1,0,9,,\nset claw,caster,stone,1,0,1,,\n"
             "set claw,caster,stone,2,1.5,3,,\n");
    expect_beside(text, ""); /* a wide step holds what narrow ones in it leave out */
    snprintf(text, sizeof text, "%s%s", head,
             "set claw,caster,stone,1,0,9,silver,\nset claw,caster,stone,1,0,1,gold,\n"
             "set claw,caster,stone,2,1.5,9,gold,\n");
    expect_beside(text, "\"set claw\" has no step from 1 to 1.5 mm");
}

static void a_floor_that_no_rule_reaches_is_odd(void **state)
{
    (void)state;
    static const char head[] = POLICY "at cost,labour,,,\nmarkup,metal,,100,%\n";
    char text[300];

    snprintf(text, sizeof text, "%sfloor,margin,,50,%%\n", head);
    expect("policy.csv", text, 0, ""); /* a markup of 100 % leaves 50 % */
    snprintf(text, sizeof text, "%sfloor,margin,,50.000001,%%\n", head);
    expect("policy.csv", text, 1, "no rule in force leaves a margin of 50.000001 %");
    snprintf(text, sizeof text, "%smargin,stones,,60,%%\nfloor,margin,,50.000001,%%\n", head);
    expect("policy.csv", text, 0, "");
}

static void less_kept_later_is_odd(void **state)
{
    (void)state;
    static const char head[] = RULES NEEDED "at cost,labour,,,\nmarkup,metal,,100,%\n"
                                            "payment,deposit,,40,%\npayment,casting,,30,%\n"
                                            "payment,delivery,,,\n";
    char text[400];

    snprintf(text, sizeof text, "%skeep,deposit,,20,%%\nkeep,casting,,60,%%\n", head);
    expect("policy.csv", text, 0, "");
    snprintf(text, sizeof text, "%skeep,deposit,,20,%%\nkeep,casting,,10,%%\n", head);
    expect("policy.csv", text, 1, "less is kept after \"casting\" than after \"deposit\"");
}

static void weights_that_no_stone_of_the_size_has_are_odd(void **state)
{
    (void)state;
    static const char head[] = "lot,species,shape,origin,from mm,to mm,carat each,price per ct\n";
    char text[300];

    /* 0.0036905 x 2.05^3 = 0.031794; a fifth over it is 0.038153 */
    snprintf(text, sizeof text, "%sa,diamond,round,natural,2,2.1,0.0381,1\n", head);
    expect("melee.csv", text, 0, "");
    snprintf(text, sizeof text, "%sa,diamond,round,natural,2,2.1,0.0382,1\n", head);
    expect("melee.csv", text, 1, "weighs, about 0.031794 ct");
    snprintf(text, sizeof text, "%sa,diamond,round,natural,2,2.1,0.0254,1\n", head);
    expect("melee.csv", text, 1, "0.0254 ct each is more than 20 % off");
    /* sapphire: 0.031794 x 4.00 / 3.52 = 0.036130, a fifth over it 0.043356 */
    snprintf(text, sizeof text, "%sa,sapphire,round,natural,2,2.1,0.0433,1\n", head);
    expect("melee.csv", text, 0, "");
    snprintf(text, sizeof text, "%sa,sapphire,round,natural,2,2.1,0.0434,1\n", head);
    expect("melee.csv", text, 1, "about 0.03613 ct");
    snprintf(text, sizeof text, "%sa,diamond,princess,natural,2,2.1,0.09,1\n", head);
    expect("melee.csv", text, 0, ""); /* the formula is for rounds */
}

static void densities_that_the_metals_cannot_have_are_odd(void **state)
{
    (void)state;
    static const char head[] = "alloy,name,gold,platinum,silver,density\n";
    char text[300];

    /* 750 gold, 125 silver, 125 copper: 15.459 (rule of mixtures, worked by hand) */
    snprintf(text, sizeof text, "%sx,X,750,,125,15.58\n", head);
    expect("alloys.csv", text, 0, "");
    /* over 1.1 x 15.459 = 17.005 */
    snprintf(text, sizeof text, "%sx,X,750,,125,17.1\n", head);
    expect("alloys.csv", text, 1, "to 15.46 by the rule of mixtures");
    /* with zinc for copper 1000 / (750 / 19.32 + 125 / 10.49 + 125 / 7.13) = 14.648, and
     * 0.9 of that is 13.183 */
    snprintf(text, sizeof text, "%sx,X,750,,125,13.2\n", head);
    expect("alloys.csv", text, 0, "");
    snprintf(text, sizeof text, "%sx,X,750,,125,13.1\n", head);
    expect("alloys.csv", text, 1, "a density of 13.1 g/cm3 is more than 10 % off");
    /* 950 platinum and 50 ruthenium: 20.691, 900 platinum and 100 iridium: 21.556 */
    snprintf(text, sizeof text, "%sx,X,,950,,20.7\ny,Y,,900,,21.54\n", head);
    expect("alloys.csv", text, 0, "");
    snprintf(text, sizeof text, "%sx,X,,950,,15.5\n", head);
    expect("alloys.csv", text, 1, "[book-odd]");
}

static void rows_that_can_never_apply_are_odd(void **state)
{
    (void)state;
    bookfolder f;
    char text[2000];

    snprintf(text, sizeof text, "%scast,caster,casting,1,goldd,\n", bookfolder_operations);
    expect("labour.csv", text, 1, "\"goldd\" is no alloy of alloys.csv and no metal");
    snprintf(text, sizeof text, "%sset bezel,caster,stone,1,,rond\n", bookfolder_operations);
    expect("labour.csv", text, 1, "did you mean \"round\"?");
    snprintf(text, sizeof text,
             "%sset bezel,caster,stone,1,,client\nset bezel,caster,stone,1,750 yellow,opal\n",
             bookfolder_operations);
    expect("labour.csv", text, 0, "");
    expect("taxes.csv",
           "region,category,rate,name\nstate,all,6,t\nstate,labor,0,t\nstate,retained,0,t\n", 1,
           "did you mean \"labour\"?");
    expect("policy.csv",
           POLICY "at cost,labour,,,\nat cost,metal,,,\nmarkup,metals,,5,%\nspares,a,,5,%\n", 2,
           "\"metals\" is no section, lot, alloy, craft or service");
    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", bookfolder_operations);
    bookfolder_write(&f, "policy.csv",
                     RULES NEEDED "at cost,labour,,,\nmarkup,a,,5,%\nspares,a,,5,%\n"
                                  "markup,750 yellow,,5,%\nat cost,caster,,,\nkeep,deposit,,5,%\n"
                                  "keep,casting,,5,%\npayment,deposit,,100,%\n");
    bookfolder_write(&f, "melee.csv",
                     "lot,species,origin,from mm,to mm,price per ct\na,diamond,natural,1,2,5\n");
    audit(&f, "2026-06-15");
    assert_int_equal(1, ts_diag_warnings(f.diag));
    assert_non_null(strstr(f.said, "\"casting\" is no stage of payment"));
    bookfolder_close(&f);
}

static void operations_that_no_row_prices_are_named(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    audit(&f, "2026-06-15");
    assert_int_equal(1, ts_diag_warnings(f.diag));
    assert_non_null(strstr(f.said, "no row in force prices: set claw, set shared claw, "));
    assert_non_null(strstr(f.said, "form double claw, join, unset;"));
    bookfolder_close(&f);
}

static void whole_tiers_can_let_a_price_fall(void **state)
{
    (void)state;
    expect("policy.csv",
           POLICY
           "at cost,labour,,,\nat cost,metal,,,\nmarkup,melee,,100,%\nmarkup,melee,500,50,%\n"
           "tiers,melee,,whole,\n",
           1, "under whole tiers the price of melee can fall");
    expect("policy.csv",
           POLICY
           "at cost,labour,,,\nat cost,metal,,,\nmarkup,melee,,100,%\nmarkup,melee,500,50,%\n"
           "tiers,melee,,marginal,\n",
           0, "");
}

static void expect_set(const char *const *files, size_t warnings, const char *sentence)
{
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "labour.csv", bookfolder_operations);
    for (size_t i = 0; files[i] != NULL; i += 2) {
        bookfolder_write(&f, files[i], files[i + 1]);
    }
    audit(&f, "2026-06-15");
    if (warnings != ts_diag_warnings(f.diag) || strstr(f.said, sentence) == NULL) {
        fail_msg("%zu warnings and \"%s\" are expected, not: %s", warnings, sentence, f.said);
    }
    bookfolder_close(&f);
}

static void weights_that_no_offer_holds_are_gaps(void **state)
{
    (void)state;
    static const char policy[] = POLICY "markup,metal,,45,%\n"
                                        "at cost,labour,,,\nat cost,stones,,,\n";
    static const char head[] = "lot,species,shape,origin,from ct,to ct,price per ct\n";
    char text[400];
    const char *const files[] = {"policy.csv", policy, "stones.csv", text, NULL};

    snprintf(text, sizeof text,
             "%sa,diamond,round,natural,0.3,0.5,9\na,diamond,round,natural,0.5,0.7,9\n", head);
    expect_set(files, 0, "");
    snprintf(text, sizeof text,
             "%sa,diamond,round,natural,0.3,0.5,9\na,diamond,round,natural,0.51,0.7,9\n"
             "b,diamond,round,natural,0.5,0.51,9\n",
             head);
    expect_set(files, 1, "\"a\" has no step from 0.5 to 0.51 ct");
}

static void names_without_a_rule_are_told_before_a_sheet_asks(void **state)
{
    (void)state;
    static const char head[] = POLICY;
    char policy[400];
    const char *const files[] = {
        "policy.csv", policy, "services.csv",
        "service,applies,basis,price\ncarriage,always,each,9\nreport,asked,each,9\n", NULL};

    snprintf(policy, sizeof policy,
             "%smarkup,750 yellow,,5,%%\nat cost,caster,,,\nat cost,services,,,\n", head);
    expect_set(files, 0, "");
    snprintf(policy, sizeof policy,
             "%smarkup,750 yellow,,5,%%\nat cost,caster,,,\nat cost,carriage,,,\n", head);
    expect_set(files, 1, "no rule in force prices \"report\", nor services as a whole");
    snprintf(policy, sizeof policy, "%sat cost,services,,,\noverhead,hour,,9,USD\n", head);
    expect_set(files, 3, "no rule in force prices overhead;");
    expect_set(files, 3, "no rule in force prices \"caster\", nor labour as a whole");
    /* tiers without their first leave what lies under it without a rule */
    snprintf(policy, sizeof policy,
             "%smarkup,metal,9,5,%%\nat cost,caster,,,\nat cost,services,,,\n", head);
    expect_set(files, 1, "no rule in force prices \"750 yellow\", nor metal as a whole");
}

static void currencies_without_a_rate_are_told(void **state)
{
    (void)state;
    static const char policy[] = POLICY "markup,metal,,45,%\n"
                                        "at cost,labour,,,\nat cost,services,,,\n";
    char rates[200];
    const char *const files[] = {
        "policy.csv",
        policy,
        "rates.csv",
        rates,
        "services.csv",
        "service,applies,basis,price,currency\ncarriage,always,each,9,NOK\nreport,asked,each,9,NOK\n",
        NULL};

    snprintf(rates, sizeof rates, "currency,in,rate,from,until\nUSD,NOK,10.1,,\n");
    expect_set(files, 0, "");
    snprintf(rates, sizeof rates, "currency,in,rate,from,until\nUSD,NOK,10.1,,2026-06-14\n");
    expect_set(files, 1, "no rate in force that turns NOK into USD");
}

static void rates_that_lose_on_the_way_back_are_odd(void **state)
{
    (void)state;
    /* 1.1 x 0.8637 = 0.95007 and 1.1 x 0.8636 = 0.94996 */
    expect("rates.csv", "currency,in,rate\nEUR,USD,1.1\nUSD,EUR,0.8637\n", 0, "");
    expect("rates.csv", "currency,in,rate\nEUR,USD,1.1\nUSD,EUR,0.8636\n", 1,
           "1 USD turned into EUR here and back by line 2 comes to 0.94996 USD");
    expect("rates.csv", "currency,in,rate\nEUR,USD,1.1\nUSD,EUR,1.1\n", 1, "comes to 1.21 USD");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_set_says_nothing),
        cmocka_unit_test(old_prices_are_stale),
        cmocka_unit_test(prices_that_leap_are_implausible),
        cmocka_unit_test(steps_that_leave_sizes_out_are_gaps),
        cmocka_unit_test(sizes_that_no_labour_row_holds_are_gaps),
        cmocka_unit_test(a_floor_that_no_rule_reaches_is_odd),
        cmocka_unit_test(less_kept_later_is_odd),
        cmocka_unit_test(weights_that_no_stone_of_the_size_has_are_odd),
        cmocka_unit_test(densities_that_the_metals_cannot_have_are_odd),
        cmocka_unit_test(rows_that_can_never_apply_are_odd),
        cmocka_unit_test(operations_that_no_row_prices_are_named),
        cmocka_unit_test(whole_tiers_can_let_a_price_fall),
        cmocka_unit_test(weights_that_no_offer_holds_are_gaps),
        cmocka_unit_test(names_without_a_rule_are_told_before_a_sheet_asks),
        cmocka_unit_test(currencies_without_a_rate_are_told),
        cmocka_unit_test(rates_that_lose_on_the_way_back_are_odd),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
