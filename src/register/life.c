#include <tallystone/register/life.h>

#include <tallystone/base/text.h>

#include <string.h>

/* What may follow what is one table, events.def; this file plays events against it. The same
 * function answers before an event is written (may it follow?), after (what is the state?) and
 * in --verify (could it ever have been written?). */

static const char *const state_words[TS_STATE_COUNT] = {
#define STATE(id, word) [TS_STATE_##id] = word,
#include <tallystone/register/events.def>
};

typedef struct event_row {
    const char *word;
    ts_acts acts;
} event_row;

static const event_row event_rows[TS_EVENT_COUNT] = {
#define EVENT(id, word, acts) [TS_EVENT_##id] = {word, TS_ACTS_##acts},
#include <tallystone/register/events.def>
};

static const ts_state becomes[TS_STATE_COUNT][TS_EVENT_COUNT] = {
#define FOLLOWS(state, event, then) [TS_STATE_##state][TS_EVENT_##event] = TS_STATE_##then,
#include <tallystone/register/events.def>
};

const char *ts_state_word(ts_state state)
{
    return state_words[state] == NULL ? "" : state_words[state];
}

const char *ts_event_word(ts_event_kind kind)
{
    return event_rows[kind].word == NULL ? "" : event_rows[kind].word;
}

ts_event_kind ts_event_find(const char *word)
{
    for (int i = 1; i < TS_EVENT_COUNT; i++) {
        if (strcmp(event_rows[i].word, word) == 0) {
            return (ts_event_kind)i;
        }
    }
    return TS_EVENT_NONE;
}

ts_acts ts_event_acts(ts_event_kind kind)
{
    return event_rows[kind].acts;
}

const char *ts_state_may(ts_arena *arena, ts_state state)
{
    const char *list = NULL;
    int left = 0;
    for (int i = 1; i < TS_EVENT_COUNT; i++) {
        left += becomes[state][i] != TS_STATE_NONE;
    }
    for (int i = 1; i < TS_EVENT_COUNT; i++) {
        if (becomes[state][i] == TS_STATE_NONE) {
            continue;
        }
        left--;
        list = list == NULL ? event_rows[i].word
                            : ts_arena_format(arena, "%s%s%s", list, left == 0 ? " or " : ", ",
                                              event_rows[i].word);
    }
    return list == NULL ? "nothing" : list;
}

/* ---- who is meant ---- */

ts_quote *ts_life_newest(const ts_life *life)
{
    ts_quote *newest = NULL;
    for (int i = 0; i < life->count; i++) {
        if (life->quotes[i].state != TS_STATE_NONE) {
            newest = &life->quotes[i];
        }
    }
    return newest;
}

ts_quote *ts_life_binding(const ts_life *life)
{
    for (int i = life->count; i-- > 0;) {
        const ts_state state = life->quotes[i].state;
        if (state == TS_STATE_ACCEPTED || state == TS_STATE_DELIVERED ||
            state == TS_STATE_CANCELLED) {
            return &life->quotes[i];
        }
    }
    return NULL;
}

static ts_quote *quote_of(const ts_life *life, int64_t id)
{
    for (int i = 0; i < life->count; i++) {
        if (life->quotes[i].id == id) {
            return &life->quotes[i];
        }
    }
    return NULL;
}

/* ---- money ---- */

int64_t ts_life_held(const ts_life *life)
{
    return life->paid - life->refunded - life->kept;
}

int64_t ts_life_balance(const ts_life *life)
{
    const ts_quote *quote = ts_life_binding(life);
    if (quote == NULL || quote->state == TS_STATE_CANCELLED) {
        return quote == NULL ? 0 : -ts_life_held(life);
    }
    const ts_quote_option *option = &quote->options[quote->option];
    const int64_t owed = life->in_kind > 0 ? option->total.minor : option->to_pay.minor;
    return owed - life->reduced - (life->paid - life->refunded);
}

static const char *money_text(ts_arena *arena, const ts_quote *quote, int64_t minor)
{
    char text[TS_DECIMAL_TEXT];
    return ts_arena_format(arena, "%s %s", ts_money_text(text, (ts_money){minor}, quote->exponent),
                           quote->currency);
}

static const char *name_of(ts_arena *arena, const ts_quote *quote)
{
    return ts_arena_format(arena, "%s-r%d", ts_text_show(arena, quote->reference, 64),
                           quote->revision);
}

static const char *judge_limit(ts_arena *arena, const ts_event *event, const ts_quote *quote,
                               int64_t most, const char *what)
{
    if (event->amount.minor <= most) {
        return NULL;
    }
    return ts_arena_format(arena, "%s: %s is more than %s, %s", name_of(arena, quote),
                           money_text(arena, quote, event->amount.minor), what,
                           money_text(arena, quote, most < 0 ? 0 : most));
}

static const char *judge_money(const ts_life *life, ts_arena *arena, const ts_event *event,
                               const ts_quote *quote)
{
    if (event->kind == TS_EVENT_REFUND) {
        return judge_limit(arena, event, quote, ts_life_held(life), "the money held");
    }
    if (event->kind == TS_EVENT_CANCEL) {
        return judge_limit(arena, event, quote, ts_life_held(life),
                           "the money held, of which some can be kept");
    }
    if (event->kind == TS_EVENT_CREDIT) {
        const int64_t total = quote->options[quote->option].total.minor;
        return judge_limit(arena, event, quote, total - life->credited,
                           "what is left of the total to be reduced");
    }
    return NULL;
}

/* ---- may it follow? ---- */

static const char *judge_state(ts_arena *arena, const ts_event *event, const ts_quote *quote)
{
    char day[32];
    if (becomes[quote->state][event->kind] != TS_STATE_NONE) {
        return NULL;
    }
    return ts_arena_format(arena, "%s is %s since %s, so `%s` cannot follow; %s may",
                           name_of(arena, quote), ts_state_word(quote->state),
                           ts_date_words(day, quote->since), ts_event_word(event->kind),
                           ts_state_may(arena, quote->state));
}

static const char *judge_day(ts_arena *arena, const ts_event *event, const ts_quote *quote)
{
    char day[32];
    if (event->day.days >= quote->issued.days) {
        return NULL;
    }
    return ts_arena_format(arena, "%s was issued on %s; nothing happens to it before that day",
                           name_of(arena, quote), ts_date_words(day, quote->issued));
}

static const char *judge_accept(ts_arena *arena, const ts_event *event, const ts_quote *quote)
{
    char day[32];
    if (event->kind != TS_EVENT_ACCEPT || event->day.days <= quote->valid_until.days ||
        event->reason[0] != '\0') {
        return NULL;
    }
    return ts_arena_format(arena,
                           "%s was valid until %s; to let it be accepted after that day say why "
                           "with --reason, or issue a revision with `revise`",
                           name_of(arena, quote), ts_date_words(day, quote->valid_until));
}

/* Once the piece is handed over, or the order cancelled, no other revision can bind. */
static const char *judge_bound(const ts_life *life, ts_arena *arena, const ts_event *event)
{
    const ts_quote *bound = ts_life_binding(life);
    if (bound == NULL || bound->state == TS_STATE_ACCEPTED || bound->id == event->quote ||
        (event->kind != TS_EVENT_ACCEPT && event->kind != TS_EVENT_REVISE)) {
        return NULL;
    }
    return ts_arena_format(arena, "%s is %s, so `%s` cannot follow; a new piece is a new reference",
                           name_of(arena, bound), ts_state_word(bound->state),
                           ts_event_word(event->kind));
}

static bool is_issue(ts_event_kind kind)
{
    return kind == TS_EVENT_ISSUE || kind == TS_EVENT_REVISE;
}

const char *ts_life_refusal(const ts_life *life, ts_arena *arena, const ts_event *event)
{
    const ts_quote *quote = quote_of(life, event->quote);
    const ts_quote *before = ts_life_newest(life);
    if (event->kind == TS_EVENT_VOID) {
        return NULL; /* judged by ts_life_void_refusal before it is written */
    }
    if (quote == NULL) {
        return "the event names a quote of another reference";
    }
    if (event->kind == TS_EVENT_ISSUE) {
        return before == NULL ? NULL : "the reference is issued already";
    }
    if (event->kind == TS_EVENT_REVISE) {
        if (before != NULL && before->state == TS_STATE_DECLINED && ts_life_binding(life) != NULL) {
            before = ts_life_binding(life);
        }
        const char *bound = judge_bound(life, arena, event);
        if (bound != NULL) {
            return bound;
        }
        if (before == NULL) {
            return "there is nothing to revise";
        }
        const char *early = judge_day(arena, event, before);
        return early != NULL ? early : judge_state(arena, event, before);
    }
    if (quote->state == TS_STATE_NONE) {
        return "the event stands before its quote";
    }
    const char *why = judge_day(arena, event, quote);
    why = why != NULL ? why : judge_state(arena, event, quote);
    why = why != NULL ? why : judge_bound(life, arena, event);
    why = why != NULL ? why : judge_accept(arena, event, quote);
    return why != NULL ? why : judge_money(life, arena, event, quote);
}

/* ---- what it does ---- */

static void set_state(ts_quote *quote, ts_state state, ts_date day)
{
    if (quote->state != state) {
        quote->state = state;
        quote->since = day;
    }
}

static void issue(ts_life *life, const ts_event *event, ts_quote *quote)
{
    ts_quote *before = ts_life_newest(life);
    if (before != NULL && before->state == TS_STATE_OPEN) {
        set_state(before, TS_STATE_REPLACED, event->day);
    }
    set_state(quote, TS_STATE_OPEN, event->day);
    quote->issued = event->day;
}

static void accept(ts_life *life, const ts_event *event, ts_quote *quote)
{
    ts_quote *bound = ts_life_binding(life);
    if (bound != NULL && bound != quote) {
        set_state(bound, TS_STATE_REPLACED, event->day);
    }
    quote->accepted = event->day;
    for (int i = 0; i < quote->option_count; i++) {
        if (strcmp(quote->options[i].name, event->option) == 0) {
            quote->option = i;
        }
    }
}

static void apply(ts_life *life, const ts_event *event)
{
    ts_quote *quote = quote_of(life, event->quote);
    if (quote == NULL) {
        return; /* of a quote that is not there: --verify says so */
    }
    if (is_issue(event->kind)) {
        issue(life, event, quote);
        return;
    }
    if (event->kind == TS_EVENT_ACCEPT) {
        accept(life, event, quote);
    }
    if (becomes[quote->state][event->kind] != TS_STATE_NONE) {
        set_state(quote, becomes[quote->state][event->kind], event->day);
    }
    if (event->kind == TS_EVENT_DELIVER) {
        quote->delivered = event->day;
    }
    quote->bought = quote->bought || event->kind == TS_EVENT_BOUGHT;
    const int64_t amount = event->has_amount ? event->amount.minor : 0;
    const bool in_kind = event->way != NULL && strcmp(event->way, "trade-in") == 0;
    life->in_kind += !in_kind                         ? 0
                     : event->kind == TS_EVENT_PAID   ? amount
                     : event->kind == TS_EVENT_REFUND ? -amount
                                                      : 0;
    life->paid += event->kind == TS_EVENT_PAID ? amount : 0;
    life->refunded += event->kind == TS_EVENT_REFUND ? amount : 0;
    if (event->kind == TS_EVENT_CREDIT) {
        const int64_t open = ts_life_balance(life);
        life->reduced += amount < open ? amount : open < 0 ? 0 : open;
        life->credited += amount;
    }
    life->kept += event->kind == TS_EVENT_CANCEL ? amount : 0;
}

static void begin(ts_life *life)
{
    life->paid = life->refunded = life->credited = life->kept = life->in_kind = 0;
    life->reduced = 0;
    for (int i = 0; i < life->count; i++) {
        ts_quote *quote = &life->quotes[i];
        quote->state = TS_STATE_NONE;
        quote->option = 0;
        quote->bought = false;
        quote->issued = quote->accepted = quote->delivered = quote->since = TS_DATE_NONE;
    }
}

static const char *play(ts_life *life, ts_arena *arena, size_t *at)
{
    begin(life);
    for (size_t i = 0; i < life->event_count; i++) {
        if (life->voided[i]) {
            continue;
        }
        const char *why = ts_life_refusal(life, arena, &life->events[i]);
        if (why != NULL) {
            *at = i;
            return why;
        }
        apply(life, &life->events[i]);
    }
    return NULL;
}

const char *ts_life_play(ts_life *life, ts_arena *arena, size_t *at)
{
    life->voided = TS_ARRAY(arena, bool, life->event_count + 1);
    for (size_t i = 0; i < life->event_count; i++) {
        for (size_t k = 0; life->events[i].voids != 0 && k < i; k++) {
            life->voided[k] = life->voided[k] || life->events[k].id == life->events[i].voids;
        }
    }
    return play(life, arena, at);
}

void ts_life_stand(ts_life *life, ts_arena *arena, ts_date day)
{
    life->voided = TS_ARRAY(arena, bool, life->event_count + 1);
    for (size_t i = 0; i < life->event_count; i++) {
        const ts_event *event = &life->events[i];
        for (size_t k = 0; event->voids != 0 && event->day.days <= day.days && k < i; k++) {
            life->voided[k] = life->voided[k] || life->events[k].id == event->voids;
        }
    }
    begin(life);
    for (size_t i = 0; i < life->event_count; i++) {
        if (!life->voided[i] && life->events[i].day.days <= day.days &&
            quote_of(life, life->events[i].quote) != NULL) {
            apply(life, &life->events[i]);
        }
    }
}

const char *ts_life_void_refusal(const ts_life *life, ts_arena *arena, const ts_event *event)
{
    ts_life without = *life;
    size_t at = 0, target = 0;
    const char *word = ts_event_word(event->kind);
    while (target < life->event_count && life->events[target].id != event->id) {
        target++;
    }
    if (target == life->event_count) {
        return "the event is of another reference";
    }
    if (is_issue(event->kind)) {
        return ts_arena_format(arena,
                               "event %d is `%s`: what was issued stays; decline the quote or "
                               "issue a revision",
                               (int)event->id, word);
    }
    if (event->kind == TS_EVENT_VOID || life->voided[target]) {
        return ts_arena_format(arena, "event %d %s; write the event anew instead", (int)event->id,
                               event->kind == TS_EVENT_VOID ? "is a void itself"
                                                            : "is voided already");
    }
    without.quotes = TS_ARRAY(arena, ts_quote, (size_t)life->count);
    memcpy(without.quotes, life->quotes, (size_t)life->count * sizeof *life->quotes);
    without.voided = TS_ARRAY(arena, bool, life->event_count + 1);
    memcpy(without.voided, life->voided, life->event_count * sizeof *life->voided);
    without.voided[target] = true;
    const char *why = play(&without, arena, &at);
    if (why == NULL) {
        return NULL;
    }
    return ts_arena_format(arena, "event %d, `%s`, rests on it; void that first", /* later first */
                           (int)life->events[at].id, ts_event_word(life->events[at].kind));
}
