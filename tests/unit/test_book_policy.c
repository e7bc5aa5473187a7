/* The rules of policy.csv: what each may be about, what its value may be, and what they
 * may say together. The books are invented and written by the test. */
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

#define HEAD "rule,subject,above,value,unit,from,until\n"

static void assert_loads(const char *rows)
{
    bookfolder f;
    char text[2000];

    snprintf(text, sizeof text, "%s%s", HEAD, rows);
    bookfolder_open(&f);
    bookfolder_write(&f, "policy.csv", text);
    if (bookfolder_load(&f) != TS_OK) {
        fail_msg("%s\nsaid:\n%s", rows, bookfolder_said(&f));
    }
    bookfolder_close(&f);
}

static void assert_fault(const char *rows, const char *sentence)
{
    char text[2000];

    snprintf(text, sizeof text, "%s%s", HEAD, rows);
    bookfolder_expect_file("policy.csv", text, sentence);
}

static void every_rule_of_the_specification_is_let_in(void **state)
{
    (void)state;
    assert_loads("markup,metal,,45,%,,\nmarkup,a lot by name,,50,%,,\nmargin,services,,35,%,,\n"
                 "at cost,overhead,,,,,\nmarkup,melee,,110,%,,\nmarkup,melee,500,80,%,,\n"
                 "tiers,melee,,marginal,,,\ntiers,stones,,Whole,,,\nspares,melee,,4,%,,\n"
                 "overhead,hour,,16,USD,,\noverhead,labour,,10,%,,\ncontingency,cost,,2,%,,\n"
                 "contingency,metal,,1,%,,\nfloor,margin,,30,%,,\nminimum,net,,450,USD,,\n"
                 "round up,net,,5,USD,,\nround up,total,,0.05,CHF,,\nsurcharge,card,,2.9,%,,\n"
                 "keep,deposit,,300,USD,,\nkeep,casting,,60,%,,\nvalid,quote,,21,days,,\n"
                 "tolerance,reprice,,2,%,,\nplausible,metal,,15,%,,\nplausible,palladium,,20,%,,\n"
                 "stale,metals,,7,days,,\nstale,rates,,31,days,,\nstale,melee,,180,days,,\n"
                 "weight adjusts,metal,,5,%,,\nrounding,half,,to even,,,\n");
}

static void words_and_amounts_are_kept_apart(void **state)
{
    (void)state;
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, "policy.csv",
                     HEAD "tiers,melee,,WHOLE,,,\nmarkup,metal,,45,%,,\nat cost,stones,,,,,\n");
    assert_int_equal(TS_OK, bookfolder_load(&f));
    assert_string_equal("whole", f.book->policy.at[0].word);
    assert_int_equal(TS_AMOUNT_NONE, f.book->policy.at[0].amount.of);
    assert_string_equal("", f.book->policy.at[1].word);
    assert_int_equal(TS_AMOUNT_PERCENT, f.book->policy.at[1].amount.of);
    assert_true(f.book->policy.at[1].amount.value.e6 == 45000000);
    assert_int_equal(TS_AMOUNT_NONE, f.book->policy.at[2].amount.of);
    bookfolder_close(&f);
}

static void subjects_are_those_of_the_rule(void **state)
{
    (void)state;
    assert_fault("floor,net,,30,%,,\n", "floor has no subject \"net\"; margin is expected");
    assert_fault("round up,nett,,5,USD,,\n", "did you mean \"net\"?");
    assert_fault("stale,melees,,7,days,,\n", "metals, rates or melee is expected");
    assert_fault("plausible,copper,,7,%,,\n", "plausible has no subject \"copper\"");
    assert_fault("tiers,natural melee,,whole,,,\n", "tiers has no subject \"natural melee\"");
    assert_fault("overhead,,,7,%,,\n", "overhead has no subject \"\"");
    assert_fault("overhead,overhead,,7,%,,\n", "metal, melee, stones, labour or hour is expected");
    assert_fault("overhead,services,,7,%,,\n", "overhead has no subject \"services\"");
    assert_fault("contingency,contingency,,7,%,,\n",
                 "metal, melee, stones, labour, overhead or cost is expected");
    assert_fault("markup,,,7,%,,\n", "markup of what? a subject is expected");
    assert_fault("mark up,metal,,7,%,,\n", "did you mean \"markup\"?");
}

static void values_are_those_of_the_rule(void **state)
{
    (void)state;
    assert_fault("markup,metal,,45,,,\n", "markup of \"metal\" takes a percentage (unit %)");
    assert_fault("markup,metal,,45,USD,,\n", "takes a percentage (unit %)");
    assert_fault("markup,metal,,,,,\n", "takes a percentage (unit %)");
    assert_fault("at cost,metal,,4,%,,\n", "at cost of \"metal\" takes nothing");
    assert_fault("minimum,net,,450,%,,\n", "takes an amount of money");
    assert_fault("overhead,hour,,10,%,,\n", "takes an amount of money");
    assert_fault("overhead,metal,,10,USD,,\n", "takes a percentage");
    assert_fault("minimum,net,,450,,,\n", "takes an amount of money (unit: its currency)");
    assert_fault("round up,net,,5,%,,\n", "or a step in the quote's own currency (no unit)");
    assert_loads("round up,net,,5,,,\n"); /* a step in the quote's own currency */
    assert_fault("valid,quote,,21,%,,\n", "takes a number of days");
    assert_fault("valid,quote,,21.5,days,,\n", "a whole number of days is expected");
    assert_fault("keep,deposit,,5,days,,\n", "a percentage (unit %) or an amount of money");
    assert_fault("minimum,net,,450,USD each,,\n", "takes an amount of money");
    assert_fault("minimum,net,,450,EUX,,\n", "[currency]");
    assert_fault("minimum,net,,450,mm,,\n", "[unit-wrong]");
    assert_fault("markup,metal,,-5,%,,\n", "value -5 % is under 0");
}

static void values_that_no_price_can_bear_are_faults(void **state)
{
    (void)state;
    assert_fault("margin,metal,,100,%,,\n", "stays under 100 %");
    assert_fault("floor,margin,,100,%,,\n", "stays under 100 %");
    assert_fault("surcharge,card,,120,%,,\n", "stays under 100 %");
    assert_fault("round up,net,,0,USD,,\n", "a step of 0 is none");
    assert_loads("margin,metal,,99.999999,%,,\n");
    assert_loads("markup,metal,,250,%,,\n");
}

static void steps_end_on_what_can_be_paid(void **state)
{
    (void)state;
    assert_fault("round up,net,,0.005,USD,,\n",
                 "a step of 0.005 USD ends between two amounts that can be paid; a multiple of "
                 "0.01 USD is expected");
    assert_loads("round up,net,,0.005,,,\n"); /* of a quote in dinars it can be paid */
    assert_fault("round up,total,,0.5,JPY,,\n", "a multiple of 1 JPY is expected");
    assert_loads("round up,total,,0.005,KWD,,\n");
    assert_loads("round up,net,,0.05,USD,,\n");
    assert_fault("keep,deposit,,100.000001,%,,\n", "more than all that is to pay, 100 %");
    assert_loads("keep,deposit,,100,%,,\n");
}

/* So many rows, numbered from 1 between what stands before and after. */
static void many(char *out, size_t size, int count, const char *before, const char *after)
{
    size_t used = 0;

    for (int i = 1; i <= count; i++) {
        used += (size_t)snprintf(out + used, size - used, "%s%d%s", before, i, after);
    }
}

static void no_more_are_in_force_at_once_than_a_price_takes_in(void **state)
{
    (void)state;
    char rows[1900];

    many(rows, sizeof rows, 32, "markup,melee,", ",9,%,,\n");
    assert_loads(rows);
    many(rows, sizeof rows, 33, "markup,melee,", ",9,%,,\n");
    assert_fault(rows, "with this row 33 tiers of melee are in force at once; at most 32 can be");
    many(rows, sizeof rows, 33, "markup,melee,", ",9,%,,\n");
    strcpy(strstr(rows, "markup,melee,33"), "markup,melee,40,9,%,2026-06-01,\n");
    strcpy(rows + strlen(rows), "markup,melee,41,9,%,2027-06-01,\n");
    assert_fault(rows, "with this row 33 tiers of melee");
    many(rows, sizeof rows, 20, "markup,melee,", ",9,%,,\n");
    many(rows + strlen(rows), sizeof rows - strlen(rows), 20, "markup,melee,",
         ",8,%,2026-06-01,\n");
    assert_loads(rows); /* each takes over from another */
    many(rows, sizeof rows, 40, "markup,lot ", ",,9,%,,\n");
    assert_loads(rows); /* not of one subject */
    many(rows, sizeof rows, 24, "payment,stage ", ",,1,USD,,\n");
    strcpy(strstr(rows, "payment,stage 24"), "payment,last,,,,,\n");
    assert_loads(rows);
    many(rows, sizeof rows, 25, "payment,stage ", ",,1,USD,,\n");
    strcpy(strstr(rows, "payment,stage 25"), "payment,last,,,,,\n");
    assert_fault(rows, "with this row 25 payment stages are in force at once; at most 24 can be");
}

static void words_of_tiers_and_rounding_are_known(void **state)
{
    (void)state;
    assert_fault("tiers,melee,,marginaly,,,\n", "did you mean \"marginal\"?");
    assert_fault("rounding,half,,up,,,\n",
                 "rounding cannot be \"up\"; away from zero or to even is expected");
    assert_fault("tiers,melee,,,,,\n", "tiers cannot be \"\"");
}

static void tiers_stand_on_a_section(void **state)
{
    (void)state;
    assert_fault("markup,a lot by name,500,45,%,,\n", "tiers go with a section");
    assert_fault("floor,margin,500,45,%,,\n", "floor has no tiers");
    assert_loads("at cost,stones,5000,,,,\n");
}

static void one_subject_has_one_pricing_rule_at_a_time(void **state)
{
    (void)state;
    assert_fault("markup,metal,,45,%,,\nmargin,metal,,30,%,,\n",
                 "\"metal\" has a rule in line 2 (markup)");
    assert_fault("at cost,metal,,,,,\nmarkup,metal,,45,%,2026-06-01,2026-06-30\n",
                 "\"metal\" has a rule in line 2 (at cost)");
    assert_fault("markup,melee,500,45,%,,\nmargin,melee,500,30,%,,\n", "[policy]");
    assert_fault("markup,metal,,45,%,,2026-06-01\nmargin,metal,,30,%,2026-06-01,\n", "[policy]");
    assert_loads("markup,metal,,45,%,,2026-05-31\nmargin,metal,,30,%,2026-06-01,\n");
    assert_loads("markup,melee,,45,%,,\nmargin,melee,500,30,%,,\n");
    /* above nothing and above 0 is one tier, which has one row */
    assert_fault("markup,melee,,45,%,,\nmarkup,melee,0,50,%,,\n",
                 "\"melee\" has a rule in line 2 (markup)");
    assert_loads("markup,melee,,45,%,,2026-05-31\nmarkup,melee,0,50,%,2026-06-01,\n");
    assert_loads("markup,melee,0,45,%,,\nmarkup,melee,0,50,%,2026-06-01,\n");
    assert_loads("markup,metal,,45,%,,\nmarkup,metal,,50,%,2026-06-01,\n");
}

static void payment_stages_must_be_able_to_add_up(void **state)
{
    (void)state;
    assert_loads("payment,deposit,,40,%,,\npayment,delivery,,,,,\n");
    assert_loads("payment,deposit,,40,%,,\npayment,delivery,,60,%,,\n");
    assert_loads("payment,deposit,,300,USD,,\npayment,delivery,,,,,\n");
    assert_loads("payment,deposit,,100,%,,\npayment,delivery,,,,,\n");
    assert_fault("payment,deposit,,40,%,,\npayment,delivery,,50,%,,\n",
                 "the payment stages add up to 90 %; 100 % is expected");
    assert_fault("payment,deposit,,60,%,,\npayment,delivery,,50,%,,\n", "add up to 110 %");
    assert_fault("payment,deposit,,60,%,,\npayment,casting,,50,%,,\npayment,delivery,,,,,\n",
                 "add up to 110 %");
    assert_fault("payment,deposit,,300,USD,,\npayment,delivery,,50,%,,\n",
                 "need a last stage without a value");
    assert_fault("payment,deposit,,,,,\npayment,delivery,,50,%,,\n",
                 "the stage \"deposit\" takes the rest, so \"delivery\" in line 3 cannot follow");
    assert_fault("payment,deposit,,,,,\npayment,delivery,,,,,\n", "takes the rest");
}

static void payment_stages_are_judged_day_by_day(void **state)
{
    (void)state;
    assert_loads("payment,deposit,,40,%,,\npayment,delivery,,60,%,,2026-06-30\n"
                 "payment,casting,,20,%,2026-07-01,\npayment,delivery,,40,%,2026-07-01,\n");
    assert_fault("payment,deposit,,40,%,,\npayment,delivery,,60,%,,2026-06-30\n"
                 "payment,delivery,,50,%,2026-07-01,\n",
                 "add up to 90 % on 2026-07-01");
    assert_fault("payment,deposit,,40,%,,\npayment,delivery,,60,%,,2026-06-30\n",
                 "add up to 40 % on 2026-07-01");
}

static void a_faulty_row_brings_no_second_fault(void **state)
{
    (void)state;
    assert_fault("payment,deposit,,forty,%,,\npayment,delivery,,60,%,,\n",
                 "\"forty\" is not a plain number");
    assert_fault("payment,deposit,,40,days,,\npayment,delivery,,60,%,,\n",
                 "payment of \"deposit\" takes");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rule_of_the_specification_is_let_in),
        cmocka_unit_test(words_and_amounts_are_kept_apart),
        cmocka_unit_test(subjects_are_those_of_the_rule),
        cmocka_unit_test(values_are_those_of_the_rule),
        cmocka_unit_test(values_that_no_price_can_bear_are_faults),
        cmocka_unit_test(steps_end_on_what_can_be_paid),
        cmocka_unit_test(no_more_are_in_force_at_once_than_a_price_takes_in),
        cmocka_unit_test(words_of_tiers_and_rounding_are_known),
        cmocka_unit_test(tiers_stand_on_a_section),
        cmocka_unit_test(one_subject_has_one_pricing_rule_at_a_time),
        cmocka_unit_test(payment_stages_must_be_able_to_add_up),
        cmocka_unit_test(payment_stages_are_judged_day_by_day),
        cmocka_unit_test(a_faulty_row_brings_no_second_fault),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
