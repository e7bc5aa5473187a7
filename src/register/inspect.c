#include "register/holding.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include <inttypes.h>
#include <string.h>

/* --verify: everything that can be worked out again is, and held against what is written. It
 * ends at the first thing that differs and names it. */

typedef struct inspection {
    ts_register *reg;
    ts_arena *arena;
    const char *wrong; /* the first thing, as the end of a sentence; NULL: none yet */
} inspection;

static void found(inspection *in, const char *wrong)
{
    if (in->wrong == NULL) {
        in->wrong = wrong;
    }
}

/* ---- the chain ---- */

static void judge_event(inspection *in, const ts_event *event, const char *previous, int64_t number)
{
    char hash[TS_SHA256_TEXT];
    if (event->id != number) {
        found(in, ts_arena_format(in->arena, "lacks event %" PRId64, number));
    } else if (event->kind == TS_EVENT_NONE || !ts_date_given(event->day)) {
        found(in, ts_arena_format(in->arena, "holds event %" PRId64 ", which no tallystone wrote",
                                  number));
    } else if (strcmp(event->previous, previous) != 0 ||
               strcmp(ts_event_digest(hash, event), event->hash) != 0) {
        found(in, ts_arena_format(in->arena,
                                  "was changed from outside: event %" PRId64 " (%s %s-r%d) does "
                                  "not fit the chain of events",
                                  number, ts_event_word(event->kind),
                                  ts_text_show(in->arena, event->reference, 64), event->revision));
    }
}

static void judge_content(inspection *in, const ts_event *event)
{
    char hash[TS_SHA256_TEXT];
    const bool issued = event->kind == TS_EVENT_ISSUE || event->kind == TS_EVENT_REVISE;
    if (issued && strcmp(ts_quote_digest(hash, in->reg, event->quote), event->content) != 0) {
        found(in, ts_arena_format(in->arena,
                                  "was changed from outside: what is kept of %s-r%d is not what "
                                  "was issued (event %" PRId64 ")",
                                  ts_text_show(in->arena, event->reference, 64), event->revision,
                                  event->id));
    }
}

/* An event that issues nothing names the last period that was closed before it. */
static void judge_seal(inspection *in, const ts_event *event)
{
    const bool issued = event->kind == TS_EVENT_ISSUE || event->kind == TS_EVENT_REVISE;
    if (!issued && strcmp(ts_closed_seal(in->reg, event->id - 1), event->content) != 0) {
        found(in, ts_arena_format(in->arena,
                                  "was changed from outside: the periods closed before event "
                                  "%" PRId64 " are not those that it names",
                                  event->id));
    }
}

static size_t judge_chain(inspection *in)
{
    size_t count = 0;
    const char *previous = TS_NO_HASH;
    ts_ask *ask = ts_db_ask(in->reg->db, "SELECT " TS_EVENT_COLUMNS " FROM event ORDER BY id");
    while (in->wrong == NULL && ts_ask_row(ask)) {
        const ts_event event = ts_event_of(ask, in->arena);
        judge_event(in, &event, previous, (int64_t)++count);
        if (in->wrong == NULL) {
            judge_content(in, &event);
        }
        if (in->wrong == NULL) {
            judge_seal(in, &event);
        }
        previous = event.hash;
    }
    ts_ask_end(ask);
    return count;
}

/* ---- files and books ---- */

static void judge_files(inspection *in)
{
    char hash[TS_SHA256_TEXT];
    ts_ask *ask = ts_db_ask(in->reg->db, "SELECT hash, bytes FROM file ORDER BY hash");
    while (in->wrong == NULL && ts_ask_row(ask)) {
        size_t length = 0;
        const char *kept = ts_ask_get_text(ask, in->arena, 0);
        const void *bytes = ts_ask_peek(ask, 1, &length);
        if (strcmp(ts_sha256_of(hash, bytes, length), kept) != 0) {
            found(in, ts_arena_format(in->arena, "holds a changed file: %s", kept));
        }
    }
    ts_ask_end(ask);
    ask = ts_db_ask(in->reg->db, "SELECT id, hash FROM books ORDER BY id");
    while (in->wrong == NULL && ts_ask_row(ask)) {
        const int64_t id = ts_ask_get_int(ask, 0);
        const char *kept = ts_ask_get_text(ask, in->arena, 1);
        if (strcmp(ts_books_digest(hash, in->reg, id), kept) != 0) {
            found(in,
                  ts_arena_format(in->arena, "holds changed book rows (books %" PRId64 ")", id));
        }
    }
    ts_ask_end(ask);
}

/* ---- columns that must add up ---- */

typedef struct sum {
    const char *what;
    const char *sql; /* rows of quotes where it does not hold */
} sum;

#define ITEM(name)                                                                                 \
    "coalesce((SELECT price FROM total t WHERE t.quote = a.quote AND t.option = a.option AND"      \
    " section = 'total' AND item = '" name "'), 0)"
#define WHERE "SELECT a.quote FROM alternative a WHERE "

static const sum sums[] = {
    {"line prices",
     WHERE "(SELECT coalesce(sum(price), 0) FROM line l WHERE l.quote = a.quote AND l.option ="
           " a.option) <> " ITEM("lines")},
    {"line costs",
     WHERE "(SELECT coalesce(sum(cost), 0) FROM line l WHERE l.quote = a.quote AND l.option ="
           " a.option) <> (SELECT cost FROM total t WHERE t.quote = a.quote AND t.option = a.option"
           " AND section = 'total' AND item = 'cost')"},
    {"section prices",
     WHERE "(SELECT coalesce(sum(price), 0) FROM total t WHERE t.quote = a.quote AND t.option ="
           " a.option AND section NOT IN ('total', 'payment')) <> " ITEM("lines")},
    {"net", WHERE ITEM("lines") " - " ITEM("discount") " + " ITEM("surcharge") " + " ITEM(
                "minimum") " + " ITEM("rounding") " <> " ITEM("net")},
    {"tax", WHERE "(SELECT coalesce(sum(amount), 0) FROM tax x WHERE x.quote = a.quote AND x.option"
                  " = a.option) <> " ITEM("tax")},
    {"total", WHERE ITEM("net") " + " ITEM("tax") " + " ITEM("rounding of total") " <> " ITEM(
                  "total") " OR " ITEM("total") " <> a.total"},
    {"to pay", WHERE ITEM("total") " - " ITEM("trade-in") " <> " ITEM("to pay") " OR " ITEM(
                   "to pay") " <> a.to_pay"},
    {"payment stages",
     WHERE "EXISTS (SELECT 1 FROM total t WHERE t.quote = a.quote AND t.option = a.option AND"
           " section = 'payment') AND (SELECT sum(price) FROM total t WHERE t.quote = a.quote AND"
           " t.option = a.option AND section = 'payment') <> " ITEM("to pay")},
};

static void judge_sums(inspection *in)
{
    for (size_t i = 0; i < TS_COUNT_OF(sums) && in->wrong == NULL; i++) {
        ts_ask *ask = ts_db_ask(in->reg->db, sums[i].sql);
        if (ts_ask_row(ask)) {
            found(in, ts_arena_format(in->arena, "does not add up: %s of quote number %" PRId64,
                                      sums[i].what, ts_ask_get_int(ask, 0)));
        }
        ts_ask_end(ask);
    }
}

/* ---- lives ---- */

static void judge_standing(inspection *in, const ts_life *life)
{
    for (int i = 0; i < life->count && in->wrong == NULL; i++) {
        const ts_quote *quote = &life->quotes[i];
        ts_ask *ask =
            ts_db_ask(in->reg->db, "SELECT 1 FROM standing WHERE quote = ?1 AND state = ?2 AND"
                                   " option = ?3 AND bought = ?4");
        ts_ask_int(ask, 1, quote->id);
        ts_ask_text(ask, 2, ts_state_word(quote->state));
        ts_ask_int(ask, 3, quote->option);
        ts_ask_int(ask, 4, quote->bought);
        if (!ts_ask_row(ask)) {
            found(in, ts_arena_format(in->arena,
                                      "was changed from outside: %s-r%d is %s by its events, and "
                                      "is listed otherwise",
                                      ts_text_show(in->arena, quote->reference, 64),
                                      quote->revision, ts_state_word(quote->state)));
        }
        ts_ask_end(ask);
    }
}

static size_t judge_lives(inspection *in)
{
    const char *const *list = NULL;
    size_t quotes = 0;
    const size_t count = ts_register_references(&list, in->reg);
    for (size_t i = 0; i < count && in->wrong == NULL; i++) {
        ts_life life;
        if (ts_register_life(&life, in->reg, list[i]) != TS_OK) {
            return quotes; /* said already */
        }
        quotes += (size_t)life.count;
        judge_standing(in, &life);
    }
    const int64_t kept = ts_db_number(in->reg->db, "SELECT count(*) FROM quote");
    if (in->wrong == NULL && ts_db_status(in->reg->db) == TS_OK && kept != (int64_t)quotes) {
        found(in, "holds a quote that belongs to no reference");
    }
    const int64_t unsealed = ts_db_number(
        in->reg->db, "SELECT count(*) FROM quote q WHERE NOT EXISTS (SELECT 1 FROM event e WHERE"
                     " e.quote = q.id AND kind IN ('issue', 'revise'))");
    if (in->wrong == NULL && unsealed > 0) {
        found(in, "holds a quote that no event issued");
    }
    return quotes;
}

ts_status ts_register_verify(size_t *events, size_t *quotes, ts_register *reg)
{
    inspection in = {.reg = reg, .arena = reg->arena};
    *events = 0;
    *quotes = 0;
    const char *answer = ts_db_integrity(reg->db, reg->arena);
    if (ts_db_status(reg->db) == TS_OK && strcmp(answer, "ok") != 0) {
        found(&in,
              ts_arena_format(reg->arena, "is damaged: %s", ts_text_show(reg->arena, answer, 120)));
    }
    if (in.wrong == NULL) {
        *events = judge_chain(&in);
        const char *closed = in.wrong == NULL ? ts_closed_inspect(reg) : NULL;
        if (closed != NULL) {
            found(&in, closed);
        }
        judge_files(&in);
        judge_sums(&in);
        *quotes = judge_lives(&in);
    }
    if (in.wrong != NULL && ts_db_status(reg->db) == TS_OK) {
        return ts_db_damaged(reg->db, in.wrong);
    }
    return ts_db_status(reg->db);
}
