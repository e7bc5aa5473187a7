#include "register/holding.h"
#include "register/schema.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include <inttypes.h>
#include <string.h>

/* Periods that the bookkeeper has closed. A closing is no event, for it is of no quote; it has
 * a chain of its own, tied to that of the events at both ends: its row names the last event
 * before it, and the events after it name its row. So none can be taken away or put in later
 * without `--verify` seeing it. */

enum { CLOSED_SINCE = 2 };

typedef struct closing {
    int64_t id, events;
    const char *begins, *ends, *head, *written, *who, *previous, *hash;
} closing;

static void add_text(ts_sha256 *sha, const char *text)
{
    char length[24];
    snprintf(length, sizeof length, "%zu:", strlen(text));
    ts_sha256_add(sha, length, strlen(length));
    ts_sha256_add(sha, text, strlen(text));
}

static char *digest_of(char *text, const closing *one)
{
    char numbers[64];
    ts_sha256 sha;
    ts_sha256_init(&sha);
    snprintf(numbers, sizeof numbers, "closed %" PRId64 " %" PRId64, one->id, one->events);
    add_text(&sha, numbers);
    const char *texts[] = {one->previous, one->begins,  one->ends,
                           one->head,     one->written, one->who};
    for (size_t i = 0; i < TS_COUNT_OF(texts); i++) {
        add_text(&sha, texts[i]);
    }
    return ts_sha256_text(&sha, text);
}

const char *ts_closed_seal(ts_register *reg, int64_t events)
{
    const char *seal = NULL;
    if (reg->version < CLOSED_SINCE) {
        return "";
    }
    ts_ask *ask = ts_db_ask(reg->db, "SELECT hash FROM closed WHERE events <= ?1"
                                     " ORDER BY id DESC LIMIT 1");
    ts_ask_int(ask, 1, events);
    if (ts_ask_row(ask)) {
        seal = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    return seal == NULL ? "" : seal;
}

ts_status ts_register_judge_day(ts_register *reg, ts_date day)
{
    char text[TS_DATE_TEXT], words[32], first[32], last[32];
    ts_period period = {TS_DATE_NONE, TS_DATE_NONE};
    if (reg->version < CLOSED_SINCE) {
        return ts_db_status(reg->db);
    }
    ts_ask *ask = ts_db_ask(reg->db, "SELECT begins, ends FROM closed WHERE ?1 BETWEEN begins AND"
                                     " ends ORDER BY ends DESC LIMIT 1");
    ts_ask_text(ask, 1, ts_date_text(text, day));
    const bool closed = ts_ask_row(ask) &&
                        ts_date_read(&period.from, ts_ask_get_text(ask, reg->arena, 0)) &&
                        ts_date_read(&period.to, ts_ask_get_text(ask, reg->arena, 1));
    ts_ask_end(ask);
    if (!closed || ts_db_status(reg->db) != TS_OK) {
        return ts_db_status(reg->db);
    }
    ts_diag_add(reg->diag, TS_FAULT_REFUSED, NULL,
                "%s lies in a closed period, %s to %s: the bookkeeper has its figures, so nothing "
                "dated in it is recorded any more; say --on with a day after it",
                ts_date_words(words, day), ts_date_words(first, period.from),
                ts_date_words(last, period.to));
    return TS_REFUSED;
}

bool ts_register_is_closed(ts_register *reg, ts_period period)
{
    char day[TS_DATE_TEXT];
    if (reg->version < CLOSED_SINCE) {
        return false;
    }
    ts_ask *ask = ts_db_ask(reg->db, "SELECT 1 FROM closed WHERE begins = ?1 AND ends = ?2");
    ts_ask_text(ask, 1, ts_date_text(day, period.from));
    ts_ask_text(ask, 2, ts_date_text(day, period.to));
    const bool closed = ts_ask_row(ask);
    ts_ask_end(ask);
    return closed;
}

static void write_row(ts_register *reg, const closing *one)
{
    ts_ask *ask =
        ts_db_ask(reg->db, "INSERT INTO closed VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)");
    const char *texts[] = {
        [2] = one->begins, [3] = one->ends,     [5] = one->head, [6] = one->written,
        [7] = one->who,    [8] = one->previous, [9] = one->hash};
    for (int i = 0; i < (int)TS_COUNT_OF(texts); i++) {
        if (texts[i] != NULL) {
            ts_ask_text(ask, i, texts[i]);
        }
    }
    ts_ask_int(ask, 1, one->id);
    ts_ask_int(ask, 4, one->events);
    ts_ask_run(ask);
    ts_ask_end(ask);
}

ts_status ts_register_close_period(ts_register *reg, ts_period period, const char *who)
{
    char begins[TS_DATE_TEXT], ends[TS_DATE_TEXT], hash[TS_SHA256_TEXT];
    if (ts_register_is_closed(reg, period) || ts_db_status(reg->db) != TS_OK) {
        return ts_db_status(reg->db);
    }
    const int64_t events = ts_db_number(reg->db, "SELECT coalesce(max(id), 0) FROM event");
    const int64_t closings = ts_db_number(reg->db, "SELECT coalesce(max(id), 0) FROM closed");
    const char *seal = ts_closed_seal(reg, events);
    closing one = {.id = closings + 1,
                   .events = events,
                   .begins = ts_date_text(begins, period.from),
                   .ends = ts_date_text(ends, period.to),
                   .head = ts_register_head(reg),
                   .written = ts_register_now(reg->arena),
                   .who = who,
                   .previous = seal[0] == '\0' ? TS_NO_HASH : seal};
    one.hash = digest_of(hash, &one);
    write_row(reg, &one);
    return ts_db_status(reg->db);
}

/* ---- --verify ---- */

static const char *text_at(const ts_ask *ask, ts_arena *arena, int column)
{
    const char *text = ts_ask_get_text(ask, arena, column);
    return text == NULL ? "" : text;
}

static const char *head_at(ts_register *reg, int64_t events)
{
    const char *head = NULL;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT hash FROM event WHERE id = ?1");
    ts_ask_int(ask, 1, events);
    if (ts_ask_row(ask)) {
        head = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    return head == NULL ? TS_NO_HASH : head;
}

static bool is_broken(ts_register *reg, const closing *one)
{
    ts_ask *ask =
        ts_db_ask(reg->db, "SELECT 1 FROM event WHERE id > ?1 AND day BETWEEN ?2 AND ?3 LIMIT 1");
    ts_ask_int(ask, 1, one->events);
    ts_ask_text(ask, 2, one->begins);
    ts_ask_text(ask, 3, one->ends);
    const bool broken = ts_ask_row(ask);
    ts_ask_end(ask);
    return broken;
}

static const char *judge(ts_register *reg, const closing *one, int64_t number, const char *previous)
{
    char hash[TS_SHA256_TEXT];
    if (one->id != number || strcmp(one->previous, previous) != 0 ||
        strcmp(digest_of(hash, one), one->hash) != 0 ||
        strcmp(head_at(reg, one->events), one->head) != 0) {
        return ts_arena_format(reg->arena,
                               "was changed from outside: closing %" PRId64
                               " (%s to %s) does not fit the chain of events",
                               number, ts_text_show(reg->arena, one->begins, 10),
                               ts_text_show(reg->arena, one->ends, 10));
    }
    if (is_broken(reg, one)) {
        return ts_arena_format(reg->arena, "holds an event in a period closed before: %s to %s",
                               one->begins, one->ends);
    }
    return NULL;
}

const char *ts_closed_inspect(ts_register *reg)
{
    const char *wrong = NULL, *previous = TS_NO_HASH;
    int64_t number = 0;
    if (reg->version < CLOSED_SINCE) {
        return NULL;
    }
    ts_ask *ask = ts_db_ask(reg->db, "SELECT id, begins, ends, events, head, written, who,"
                                     " previous, hash FROM closed ORDER BY id");
    while (wrong == NULL && ts_ask_row(ask)) {
        const closing one = {.id = ts_ask_get_int(ask, 0),
                             .begins = text_at(ask, reg->arena, 1),
                             .ends = text_at(ask, reg->arena, 2),
                             .events = ts_ask_get_int(ask, 3),
                             .head = text_at(ask, reg->arena, 4),
                             .written = text_at(ask, reg->arena, 5),
                             .who = text_at(ask, reg->arena, 6),
                             .previous = text_at(ask, reg->arena, 7),
                             .hash = text_at(ask, reg->arena, 8)};
        wrong = judge(reg, &one, ++number, previous);
        previous = one.hash;
    }
    ts_ask_end(ask);
    return wrong;
}
