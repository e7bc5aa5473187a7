#include "register/holding.h"

#include <tallystone/base/sha256.h>

#include <inttypes.h>
#include <string.h>

/* Events: read, sealed, added. The digest of an event covers every field of it and the digest
 * of the one before, each field with its length in front, so that no two different events
 * read alike and none can be changed, dropped or put in between without breaking the chain. */

static ts_date date_of(const char *text)
{
    ts_date date = TS_DATE_NONE;
    if (text != NULL && !ts_date_read(&date, text)) {
        date = TS_DATE_NONE;
    }
    return date;
}

static const char *text_at(const ts_ask *ask, ts_arena *arena, int column)
{
    const char *text = ts_ask_get_text(ask, arena, column);
    return text == NULL ? "" : text;
}

ts_event ts_event_of(const ts_ask *ask, ts_arena *arena)
{
    return (ts_event){
        .id = ts_ask_get_int(ask, 0),
        .kind = ts_event_find(text_at(ask, arena, 1)),
        .quote = ts_ask_get_int(ask, 2),
        .reference = text_at(ask, arena, 3),
        .revision = (int)ts_ask_get_int(ask, 4),
        .option = text_at(ask, arena, 5),
        .stage = text_at(ask, arena, 6),
        .has_amount = !ts_ask_is_null(ask, 7),
        .amount = {ts_ask_get_int(ask, 7)},
        .currency = text_at(ask, arena, 8),
        .way = text_at(ask, arena, 9),
        .receipt = text_at(ask, arena, 10),
        .reason = text_at(ask, arena, 11),
        .day = date_of(text_at(ask, arena, 12)),
        .written = text_at(ask, arena, 13),
        .who = text_at(ask, arena, 14),
        .voids = ts_ask_get_int(ask, 15),
        .content = text_at(ask, arena, 16),
        .previous = text_at(ask, arena, 17),
        .hash = text_at(ask, arena, 18),
    };
}

static void add_text(ts_sha256 *sha, const char *text)
{
    char length[24];
    snprintf(length, sizeof length, "%zu:", strlen(text));
    ts_sha256_add(sha, length, strlen(length));
    ts_sha256_add(sha, text, strlen(text));
}

static void add_number(ts_sha256 *sha, int64_t number)
{
    char text[24];
    snprintf(text, sizeof text, "%" PRId64, number);
    add_text(sha, text);
}

char *ts_event_digest(char *text, const ts_event *event)
{
    char day[TS_DATE_TEXT];
    ts_sha256 sha;
    ts_sha256_init(&sha);
    add_text(&sha, event->previous);
    add_number(&sha, event->id);
    add_text(&sha, ts_event_word(event->kind));
    add_number(&sha, event->quote);
    add_text(&sha, event->reference);
    add_number(&sha, event->revision);
    add_text(&sha, event->option);
    add_text(&sha, event->stage);
    add_text(&sha, event->has_amount ? "amount" : "");
    add_number(&sha, event->has_amount ? event->amount.minor : 0);
    add_text(&sha, event->currency);
    add_text(&sha, event->way);
    add_text(&sha, event->receipt);
    add_text(&sha, event->reason);
    add_text(&sha, ts_date_given(event->day) ? ts_date_text(day, event->day) : "");
    add_text(&sha, event->written);
    add_text(&sha, event->who);
    add_number(&sha, event->voids);
    add_text(&sha, event->content);
    return ts_sha256_text(&sha, text);
}

const char *ts_register_head(ts_register *reg)
{
    const char *head = NULL;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT hash FROM event ORDER BY id DESC LIMIT 1");
    if (ts_ask_row(ask)) {
        head = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    return head == NULL ? TS_NO_HASH : head;
}

void ts_event_write(ts_register *reg, ts_event *event)
{
    char text[TS_SHA256_TEXT], day[TS_DATE_TEXT];
    event->id = ts_db_number(reg->db, "SELECT coalesce(max(id), 0) + 1 FROM event");
    event->written = ts_register_now(reg->arena);
    event->previous = ts_register_head(reg);
    if (event->content[0] == '\0') {
        event->content = ts_closed_seal(reg, event->id - 1);
    }
    event->hash = ts_arena_text(reg->arena, ts_event_digest(text, event));
    ts_ask *ask = ts_db_ask(reg->db, "INSERT INTO event (" TS_EVENT_COLUMNS ") VALUES (?1, ?2, ?3,"
                                     " ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16,"
                                     " ?17, ?18, ?19)");
    const char *texts[] = {[4] = event->reference, [6] = event->option,    [7] = event->stage,
                           [9] = event->currency,  [10] = event->way,      [11] = event->receipt,
                           [12] = event->reason,   [14] = event->written,  [15] = event->who,
                           [17] = event->content,  [18] = event->previous, [19] = event->hash};
    for (int i = 0; i <= 19; i++) {
        if (texts[i] != NULL) {
            ts_ask_text(ask, i, texts[i]);
        }
    }
    ts_ask_int(ask, 1, event->id);
    ts_ask_text(ask, 2, ts_event_word(event->kind));
    ts_ask_int(ask, 3, event->quote);
    ts_ask_int(ask, 5, event->revision);
    if (event->has_amount) {
        ts_ask_int(ask, 8, event->amount.minor);
    }
    ts_ask_text(ask, 13, ts_date_text(day, event->day));
    if (event->voids != 0) {
        ts_ask_int(ask, 16, event->voids);
    }
    ts_ask_run(ask);
    ts_ask_end(ask);
}

void ts_standing_write(ts_register *reg, const ts_life *life)
{
    ts_ask *ask = ts_db_ask(reg->db, "INSERT INTO standing VALUES (?1, ?2, ?3, ?4) ON CONFLICT"
                                     " (quote) DO UPDATE SET state = ?2, option = ?3, bought = ?4");
    for (int i = 0; i < life->count; i++) {
        const ts_quote *quote = &life->quotes[i];
        ts_ask_int(ask, 1, quote->id);
        ts_ask_text(ask, 2, ts_state_word(quote->state));
        ts_ask_int(ask, 3, quote->option);
        ts_ask_int(ask, 4, quote->bought);
        ts_ask_run(ask);
    }
    ts_ask_end(ask);
}

/* ---- loading ---- */

static void load_options(ts_quote *quote, ts_register *reg)
{
    size_t room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT name, label, total, to_pay, margin FROM alternative"
                                     " WHERE quote = ?1 ORDER BY option");
    ts_ask_int(ask, 1, quote->id);
    while (ts_ask_row(ask)) {
        quote->options = ts_arena_grow(reg->arena, quote->options, (size_t)quote->option_count,
                                       &room, sizeof *quote->options);
        quote->options[quote->option_count++] =
            (ts_quote_option){.name = text_at(ask, reg->arena, 0),
                              .label = text_at(ask, reg->arena, 1),
                              .total = {ts_ask_get_int(ask, 2)},
                              .to_pay = {ts_ask_get_int(ask, 3)},
                              .has_margin = !ts_ask_is_null(ask, 4),
                              .margin_pct = {ts_ask_get_int(ask, 4)}};
    }
    ts_ask_end(ask);
    if (quote->option_count == 0) {
        ts_db_damaged(reg->db, "holds a quote without a price; put its last backup in its place");
    }
}

void ts_quotes_load(ts_life *life, ts_register *reg, const char *reference)
{
    size_t room = 0;
    ts_ask *ask =
        ts_db_ask(reg->db, "SELECT id, reference, revision, file_name, title, client, currency,"
                           " exponent, region, sheet, dated, as_of, valid_until, reason"
                           " FROM quote WHERE reference = ?1 ORDER BY revision");
    ts_ask_text(ask, 1, reference);
    while (ts_ask_row(ask)) {
        life->quotes = ts_arena_grow(reg->arena, life->quotes, (size_t)life->count, &room,
                                     sizeof *life->quotes);
        life->quotes[life->count++] =
            (ts_quote){.id = ts_ask_get_int(ask, 0),
                       .reference = text_at(ask, reg->arena, 1),
                       .revision = (int)ts_ask_get_int(ask, 2),
                       .file_name = text_at(ask, reg->arena, 3),
                       .title = text_at(ask, reg->arena, 4),
                       .client = text_at(ask, reg->arena, 5),
                       .currency = text_at(ask, reg->arena, 6),
                       .exponent = (int)ts_ask_get_int(ask, 7),
                       .region = text_at(ask, reg->arena, 8),
                       .sheet = text_at(ask, reg->arena, 9),
                       .dated = date_of(text_at(ask, reg->arena, 10)),
                       .as_of = date_of(text_at(ask, reg->arena, 11)),
                       .valid_until = date_of(text_at(ask, reg->arena, 12)),
                       .reason = text_at(ask, reg->arena, 13)};
    }
    ts_ask_end(ask);
    for (int i = 0; i < life->count; i++) {
        load_options(&life->quotes[i], reg);
    }
}

void ts_events_load(ts_life *life, ts_register *reg, const char *reference)
{
    ts_event *events = NULL;
    size_t room = 0;
    life->event_count = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT " TS_EVENT_COLUMNS
                                     " FROM event WHERE reference = ?1 ORDER BY id");
    ts_ask_text(ask, 1, reference);
    while (ts_ask_row(ask)) {
        events = ts_arena_grow(reg->arena, events, life->event_count, &room, sizeof *events);
        events[life->event_count++] = ts_event_of(ask, reg->arena);
    }
    ts_ask_end(ask);
    life->events = events;
}

/* ---- adding ---- */

ts_status ts_register_find_event(ts_event *event, ts_register *reg, int64_t id)
{
    ts_ask *ask = ts_db_ask(reg->db, "SELECT " TS_EVENT_COLUMNS " FROM event WHERE id = ?1");
    ts_ask_int(ask, 1, id);
    const bool found = ts_ask_row(ask);
    if (found) {
        *event = ts_event_of(ask, reg->arena);
    }
    ts_ask_end(ask);
    if (!found && ts_db_status(reg->db) == TS_OK) {
        ts_diag_add(reg->diag, TS_FAULT_EVENT_VALUE, NULL,
                    "the register holds no event %" PRId64
                    "; `tallystone register REF` shows their numbers",
                    id);
        return TS_FAULTY;
    }
    return ts_db_status(reg->db);
}

ts_status ts_register_add(ts_register *reg, ts_life *life, ts_event *event)
{
    const char *why = NULL;
    if (event->kind == TS_EVENT_VOID) {
        ts_event target;
        const ts_status found = ts_register_find_event(&target, reg, event->voids);
        if (found != TS_OK) {
            return found;
        }
        why = ts_life_void_refusal(life, reg->arena, &target);
    } else {
        why = ts_life_refusal(life, reg->arena, event);
    }
    if (why != NULL) {
        ts_diag_add(reg->diag, TS_FAULT_REFUSED, NULL, "%s", why);
        return TS_REFUSED;
    }
    const ts_status open = ts_register_judge_day(reg, event->day);
    if (open != TS_OK) {
        return open;
    }
    ts_event_write(reg, event);
    const char *reference = event->reference;
    const ts_status status = ts_register_life(life, reg, reference);
    if (status == TS_OK) {
        ts_standing_write(reg, life);
    }
    return ts_db_status(reg->db);
}

int64_t ts_register_twin(ts_register *reg, const ts_event *event)
{
    char day[TS_DATE_TEXT];
    const bool by_receipt = event->receipt[0] != '\0';
    ts_ask *ask = ts_db_ask(
        reg->db, by_receipt
                     ? "SELECT id FROM event e WHERE receipt = ?1 AND kind = ?2 AND NOT EXISTS"
                       " (SELECT 1 FROM event v WHERE v.voids = e.id) ORDER BY id LIMIT 1"
                     : "SELECT id FROM event e WHERE reference = ?3 AND kind = ?2 AND amount = ?4"
                       " AND day = ?5 AND way = ?6 AND receipt = '' AND NOT EXISTS"
                       " (SELECT 1 FROM event v WHERE v.voids = e.id) ORDER BY id LIMIT 1");
    ts_ask_text(ask, 2, ts_event_word(event->kind));
    if (by_receipt) {
        ts_ask_text(ask, 1, event->receipt);
    } else {
        ts_ask_text(ask, 3, event->reference);
        ts_ask_int(ask, 4, event->amount.minor);
        ts_ask_text(ask, 5, ts_date_text(day, event->day));
        ts_ask_text(ask, 6, event->way);
    }
    const int64_t id = ts_ask_row(ask) ? ts_ask_get_int(ask, 0) : 0;
    ts_ask_end(ask);
    return id;
}
