#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/register/life.h>

/* The life of a quote, played without a register: what may follow what, and what that makes
 * of state and money. The table it is held against is written out here once more, from the
 * specification of the register, so that a slip in events.def shows. */

typedef struct scene {
    ts_arena *arena;
    ts_life life;
    ts_quote quotes[3];
    ts_quote_option option;
    ts_event events[40];
} scene;

static ts_date day(int number)
{
    return (ts_date){20000 + number};
}

static int setup(void **state)
{
    static const ts_quote_option offer = {
        .name = "base", .label = "", .total = {100000}, .to_pay = {100000}};
    ts_arena *arena = ts_arena_new(NULL, NULL);
    scene *s = TS_NEW(arena, scene);
    s->arena = arena;
    s->option = offer;
    for (int i = 0; i < 3; i++) {
        s->quotes[i] = (ts_quote){.id = i + 1,
                                  .reference = "R",
                                  .revision = i + 1,
                                  .currency = "USD",
                                  .exponent = 2,
                                  .valid_until = day(20),
                                  .options = &s->option,
                                  .option_count = 1};
    }
    s->life = (ts_life){.quotes = s->quotes, .count = 3, .events = s->events};
    *state = s;
    return 0;
}

static int teardown(void **state)
{
    scene *s = *state;
    ts_arena_free(s->arena);
    return 0;
}

static ts_event event_of(scene *s, ts_event_kind kind, int quote, int on, int64_t amount)
{
    return (ts_event){.id = (int64_t)s->life.event_count + 1,
                      .kind = kind,
                      .quote = quote,
                      .option = "base",
                      .reason = "",
                      .has_amount = amount > 0,
                      .amount = {amount},
                      .day = day(on)};
}

/* Why it may not follow, or NULL after it was played. */
static const char *then(scene *s, ts_event_kind kind, int quote, int on, int64_t amount)
{
    size_t at = 0;
    const ts_event event = event_of(s, kind, quote, on, amount);
    const char *why = ts_life_refusal(&s->life, s->arena, &event);
    if (why == NULL) {
        s->events[s->life.event_count++] = event;
        assert_null(ts_life_play(&s->life, s->arena, &at));
    }
    return why;
}

static const char *void_of(scene *s, int64_t id)
{
    size_t at = 0;
    const char *why = ts_life_void_refusal(&s->life, s->arena, &s->events[id - 1]);
    if (why == NULL) {
        ts_event event = event_of(s, TS_EVENT_VOID, 1, 9, 0);
        event.voids = id;
        s->events[s->life.event_count++] = event;
        assert_null(ts_life_play(&s->life, s->arena, &at));
    }
    return why;
}

static void begin(scene *s)
{
    size_t at = 0;
    s->life.event_count = 0;
    assert_null(ts_life_play(&s->life, s->arena, &at));
    assert_null(then(s, TS_EVENT_ISSUE, 1, 1, 0));
}

/* Brings the first quote into a state by the shortest way. */
static void bring(scene *s, ts_state state)
{
    begin(s);
    if (state == TS_STATE_DECLINED) {
        assert_null(then(s, TS_EVENT_DECLINE, 1, 2, 0));
    } else if (state == TS_STATE_REPLACED) {
        assert_null(then(s, TS_EVENT_REVISE, 2, 2, 0));
    } else if (state != TS_STATE_OPEN) {
        assert_null(then(s, TS_EVENT_ACCEPT, 1, 2, 0));
        assert_null(then(s, TS_EVENT_PAID, 1, 3, 40000));
    }
    if (state == TS_STATE_DELIVERED) {
        assert_null(then(s, TS_EVENT_DELIVER, 1, 4, 0));
    } else if (state == TS_STATE_CANCELLED) {
        assert_null(then(s, TS_EVENT_CANCEL, 1, 4, 10000));
    }
    assert_int_equal(s->quotes[0].state, state);
}

static void only_what_the_table_lets_follows(void **state)
{
    static const struct {
        ts_state state;
        ts_event_kind may[6];
    } table[] = {
        {TS_STATE_OPEN, {TS_EVENT_ACCEPT, TS_EVENT_DECLINE, TS_EVENT_REVISE}},
        {TS_STATE_ACCEPTED,
         {TS_EVENT_PAID, TS_EVENT_BOUGHT, TS_EVENT_REFUND, TS_EVENT_REVISE, TS_EVENT_CANCEL,
          TS_EVENT_DELIVER}},
        {TS_STATE_DELIVERED, {TS_EVENT_PAID, TS_EVENT_CREDIT}},
        {TS_STATE_CANCELLED, {TS_EVENT_REFUND}},
        {TS_STATE_DECLINED, {TS_EVENT_NONE}},
        {TS_STATE_REPLACED, {TS_EVENT_NONE}},
    };
    scene *s = *state;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        for (int kind = TS_EVENT_REVISE; kind < TS_EVENT_VOID; kind++) {
            bool may = false;
            for (int k = 0; k < 6; k++) {
                may = may || (int)table[i].may[k] == kind;
            }
            if (kind == TS_EVENT_REVISE && table[i].state == TS_STATE_REPLACED) {
                continue; /* it is the newest that is revised */
            }
            bring(s, table[i].state);
            const int64_t amount =
                kind == TS_EVENT_PAID || kind == TS_EVENT_REFUND || kind == TS_EVENT_CREDIT ? 100
                                                                                            : 0;
            const int quote = kind == TS_EVENT_REVISE ? 2 : 1;
            const char *why = then(s, (ts_event_kind)kind, quote, 5, amount);
            if (may != (why == NULL)) {
                print_error("%s after %s: %s\n", ts_event_word((ts_event_kind)kind),
                            ts_state_word(table[i].state), why == NULL ? "let in" : why);
            }
            assert_int_equal(may, why == NULL);
        }
    }
}

static void help_derives_from_the_same_table(void **state)
{
    scene *s = *state;
    assert_string_equal(ts_state_may(s->arena, TS_STATE_OPEN), "revise, accept or decline");
    assert_string_equal(ts_state_may(s->arena, TS_STATE_DELIVERED), "paid or credit");
    assert_string_equal(ts_state_may(s->arena, TS_STATE_DECLINED), "nothing");
}

static void an_accepted_quote_binds_until_its_revision_is_accepted(void **state)
{
    scene *s = *state;
    bring(s, TS_STATE_ACCEPTED);
    assert_null(then(s, TS_EVENT_REVISE, 2, 5, 0));
    assert_int_equal(s->quotes[0].state, TS_STATE_ACCEPTED);
    assert_int_equal(s->quotes[1].state, TS_STATE_OPEN);
    assert_ptr_equal(ts_life_binding(&s->life), &s->quotes[0]);
    assert_null(then(s, TS_EVENT_ACCEPT, 2, 6, 0));
    assert_int_equal(s->quotes[0].state, TS_STATE_REPLACED);
    assert_ptr_equal(ts_life_binding(&s->life), &s->quotes[1]);
    assert_int_equal(ts_life_balance(&s->life), 60000); /* money belongs to the reference */
}

static void a_declined_revision_leaves_the_accepted_quote(void **state)
{
    scene *s = *state;
    bring(s, TS_STATE_ACCEPTED);
    assert_null(then(s, TS_EVENT_REVISE, 2, 5, 0));
    assert_null(then(s, TS_EVENT_DECLINE, 2, 6, 0));
    assert_ptr_equal(ts_life_binding(&s->life), &s->quotes[0]);
    assert_null(then(s, TS_EVENT_REVISE, 3, 7, 0));
    assert_int_equal(s->quotes[1].state, TS_STATE_DECLINED);
}

static void no_revision_binds_once_the_piece_is_handed_over(void **state)
{
    scene *s = *state;
    bring(s, TS_STATE_ACCEPTED);
    assert_null(then(s, TS_EVENT_REVISE, 2, 5, 0));
    assert_null(then(s, TS_EVENT_DELIVER, 1, 6, 0));
    assert_non_null(then(s, TS_EVENT_ACCEPT, 2, 7, 0));
    assert_non_null(then(s, TS_EVENT_REVISE, 3, 7, 0));
}

static void a_quote_is_accepted_late_only_with_a_reason(void **state)
{
    scene *s = *state;
    begin(s);
    assert_non_null(then(s, TS_EVENT_ACCEPT, 1, 21, 0));
    ts_event late = event_of(s, TS_EVENT_ACCEPT, 1, 21, 0);
    late.reason = "was away";
    assert_null(ts_life_refusal(&s->life, s->arena, &late));
    assert_null(then(s, TS_EVENT_ACCEPT, 1, 20, 0)); /* the last day is inclusive */
}

static void nothing_happens_before_the_issue(void **state)
{
    scene *s = *state;
    begin(s);
    assert_non_null(then(s, TS_EVENT_ACCEPT, 1, 0, 0));
    assert_non_null(then(s, TS_EVENT_REVISE, 2, 0, 0));
}

static void no_more_is_given_back_than_is_held(void **state)
{
    scene *s = *state;
    bring(s, TS_STATE_ACCEPTED);
    assert_non_null(then(s, TS_EVENT_REFUND, 1, 5, 40001));
    assert_null(then(s, TS_EVENT_REFUND, 1, 5, 40000));
    assert_int_equal(ts_life_held(&s->life), 0);
    bring(s, TS_STATE_CANCELLED); /* 40000 held, 10000 of them kept */
    assert_int_equal(ts_life_balance(&s->life), -30000);
    assert_non_null(then(s, TS_EVENT_REFUND, 1, 5, 30001));
    assert_null(then(s, TS_EVENT_REFUND, 1, 5, 30000));
    bring(s, TS_STATE_ACCEPTED);
    assert_non_null(then(s, TS_EVENT_CANCEL, 1, 5, 40001));
    bring(s, TS_STATE_DELIVERED);
    assert_non_null(then(s, TS_EVENT_CREDIT, 1, 5, 100001));
    assert_null(then(s, TS_EVENT_CREDIT, 1, 5, 50000)); /* of 60000 that are still owed */
    assert_int_equal(ts_life_balance(&s->life), 10000);
    assert_null(then(s, TS_EVENT_CREDIT, 1, 5, 50000)); /* 40000 of it are given back with it */
    assert_int_equal(ts_life_balance(&s->life), 0);
}

/* 100000, of which 10000 are agreed to come in old metal. */
static void old_metal_counts_as_agreed_until_it_is_received(void **state)
{
    scene *s = *state;
    size_t at = 0;
    s->option.to_pay.minor = 90000;
    bring(s, TS_STATE_ACCEPTED); /* 40000 paid */
    assert_int_equal(ts_life_balance(&s->life), 50000);
    assert_null(then(s, TS_EVENT_PAID, 1, 5, 9000)); /* it weighed less */
    s->events[s->life.event_count - 1].way = "trade-in";
    assert_null(ts_life_play(&s->life, s->arena, &at));
    assert_int_equal(s->life.in_kind, 9000);
    assert_int_equal(ts_life_balance(&s->life), 51000);
    s->option.to_pay.minor = 100000;
}

/* Day 3 has the payment of day 3, though it was written after what is dated later. */
static void a_life_stands_as_it_is_dated(void **state)
{
    scene *s = *state;
    begin(s);
    assert_null(then(s, TS_EVENT_ACCEPT, 1, 8, 0));
    assert_null(then(s, TS_EVENT_PAID, 1, 3, 40000));
    ts_life_stand(&s->life, s->arena, day(2));
    assert_int_equal(s->quotes[0].state, TS_STATE_OPEN);
    assert_int_equal(s->life.paid, 0);
    ts_life_stand(&s->life, s->arena, day(3));
    assert_int_equal(s->quotes[0].state, TS_STATE_OPEN);
    assert_int_equal(s->life.paid, 40000);
    assert_null(void_of(s, 3)); /* dated day 9 */
    ts_life_stand(&s->life, s->arena, day(8));
    assert_int_equal(s->quotes[0].state, TS_STATE_ACCEPTED);
    assert_int_equal(s->life.paid, 40000);
    ts_life_stand(&s->life, s->arena, day(9));
    assert_int_equal(s->life.paid, 0);
    ts_life_stand(&s->life, s->arena, day(0));
    assert_int_equal(s->quotes[0].state, TS_STATE_NONE);
}

static void a_void_takes_an_event_back_unless_others_rest_on_it(void **state)
{
    scene *s = *state;
    bring(s, TS_STATE_ACCEPTED); /* 1 issue, 2 accept, 3 paid */
    assert_non_null(void_of(s, 1));
    assert_non_null(strstr(void_of(s, 2), "event 3"));
    assert_null(void_of(s, 3));
    assert_int_equal(s->life.paid, 0);
    assert_non_null(void_of(s, 3));
    assert_non_null(void_of(s, 4)); /* a void is not voided */
    assert_null(void_of(s, 2));
    assert_int_equal(s->quotes[0].state, TS_STATE_OPEN);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(only_what_the_table_lets_follows),
        TEST(help_derives_from_the_same_table),
        TEST(an_accepted_quote_binds_until_its_revision_is_accepted),
        TEST(a_declined_revision_leaves_the_accepted_quote),
        TEST(no_revision_binds_once_the_piece_is_handed_over),
        TEST(a_quote_is_accepted_late_only_with_a_reason),
        TEST(nothing_happens_before_the_issue),
        TEST(no_more_is_given_back_than_is_held),
        TEST(old_metal_counts_as_agreed_until_it_is_received),
        TEST(a_life_stands_as_it_is_dated),
        TEST(a_void_takes_an_event_back_unless_others_rest_on_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
