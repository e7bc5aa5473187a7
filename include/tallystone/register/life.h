/* The life of a reference: its revisions, what happened to them, what may follow.
 *
 * State and money are never stored as such: they are read off the events, played in their
 * order. A voided event is passed over, and so is the void. */
#ifndef TS_REGISTER_LIFE_H
#define TS_REGISTER_LIFE_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>

typedef enum ts_state {
    TS_STATE_NONE,
#define STATE(id, word) TS_STATE_##id,
#include <tallystone/register/events.def>
    TS_STATE_COUNT
} ts_state;

typedef enum ts_event_kind {
    TS_EVENT_NONE,
#define EVENT(id, word, acts) TS_EVENT_##id,
#include <tallystone/register/events.def>
    TS_EVENT_COUNT
} ts_event_kind;

typedef enum ts_acts { TS_ACTS_NONE, TS_ACTS_NEWEST, TS_ACTS_BINDS, TS_ACTS_EVENT } ts_acts;

const char *ts_state_word(ts_state state);
const char *ts_event_word(ts_event_kind kind);
ts_event_kind ts_event_find(const char *word);
ts_acts ts_event_acts(ts_event_kind kind);
/* "accept, decline or revise"; "nothing". Into the arena. */
const char *ts_state_may(ts_arena *arena, ts_state state);

/* One event as it is kept. Texts are "" where there is nothing to say. */
typedef struct ts_event {
    int64_t id; /* rising, from 1 */
    ts_event_kind kind;
    int64_t quote;
    const char *reference;
    int revision;
    const char *option; /* name; of `accept` */
    const char *stage;
    bool has_amount;
    ts_money amount; /* never below nothing; of `cancel` what is kept */
    const char *currency;
    const char *way;
    const char *receipt;
    const char *reason;
    ts_date day;         /* the day it counts */
    const char *written; /* UTC */
    const char *who;
    int64_t voids;       /* 0: none */
    const char *content; /* digest of what was issued; "" for other events */
    const char *previous, *hash;
} ts_event;

typedef struct ts_quote_option {
    const char *name, *label;
    ts_money total, to_pay;
    bool has_margin;
    ts_dec margin_pct;
} ts_quote_option;

typedef struct ts_quote {
    int64_t id;
    const char *reference;
    int revision;
    const char *file_name; /* REFERENCE-rN as papers are named */
    const char *title, *client, *currency, *region, *sheet, *reason;
    int exponent;
    ts_date dated, as_of, valid_until;
    ts_quote_option *options;
    int option_count;
    /* read off the events */
    ts_state state;
    int option; /* the one accepted, else 0 */
    bool bought;
    ts_date issued, accepted, delivered;
    ts_date since; /* of its state */
} ts_quote;

typedef struct ts_life {
    ts_quote *quotes; /* by revision */
    int count;
    const ts_event *events;
    size_t event_count;
    bool *voided;                           /* one an event */
    int64_t paid, refunded, credited, kept; /* minor units */
    int64_t in_kind;                        /* of what was paid less given back: old metal */
    int64_t reduced; /* of what was credited: what was still owed; the rest was given back */
} ts_life;

/* Plays the events from the start. Answers NULL, or why one of them may not stand where it
 * stands; *at is then its index. */
const char *ts_life_play(ts_life *life, ts_arena *arena, size_t *at);
/* How a life stood at the end of a day: plays what is dated until then, in the order of writing.
 * Nothing is judged, for a day can fall between events that were written out of the days'
 * order. Voids that were not yet dated are as if they were never written. */
void ts_life_stand(ts_life *life, ts_arena *arena, ts_date day);
/* Why an event may not follow now, as a sentence; NULL where it may. */
const char *ts_life_refusal(const ts_life *life, ts_arena *arena, const ts_event *event);
/* The same for a void of one of the life's events. */
const char *ts_life_void_refusal(const ts_life *life, ts_arena *arena, const ts_event *event);

/* The quote that binds (accepted, delivered, cancelled), else NULL; and the newest. */
ts_quote *ts_life_binding(const ts_life *life);
ts_quote *ts_life_newest(const ts_life *life);
/* Money held: paid less refunded less what was kept. */
int64_t ts_life_held(const ts_life *life);
/* What is still to be paid on the quote that binds, credits taken off; 0 where none does. Old
 * metal counts as agreed until it is received, then as received. */
int64_t ts_life_balance(const ts_life *life);

#endif
