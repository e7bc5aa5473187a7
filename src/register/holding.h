/* What the files of this room share: an open register. */
#ifndef TS_REGISTER_HOLDING_H
#define TS_REGISTER_HOLDING_H

#include <tallystone/base/file.h>
#include <tallystone/register/register.h>

#include "register/db.h"

struct ts_register {
    ts_arena *arena;
    ts_diag *diag;
    ts_db *db;
    int version;       /* of the schema: a file of an older version is read as it is */
    ts_outbox *before; /* holds the copy of a file that is being migrated; else NULL */
};

#define TS_NO_HASH "0000000000000000000000000000000000000000000000000000000000000000"

/* Now in UTC, "2026-03-09T18:30:05Z". Into the arena. */
const char *ts_register_now(ts_arena *arena);

/* Events: from a row of the columns below, and their digests. */
#define TS_EVENT_COLUMNS                                                                           \
    "id, kind, quote, reference, revision, option, stage, amount, currency, way, receipt, reason," \
    " day, written, who, voids, content, previous, hash"
ts_event ts_event_of(const ts_ask *ask, ts_arena *arena);
char *ts_event_digest(char *text, const ts_event *event);
/* Fills number, time, previous and hash, and writes the row. */
void ts_event_write(ts_register *reg, ts_event *event);
/* Writes how each quote of a life stands. */
void ts_standing_write(ts_register *reg, const ts_life *life);

/* Digest of everything that was kept of a quote. */
char *ts_quote_digest(char *text, ts_register *reg, int64_t quote);
/* Digest of the rows of a state of the books. */
char *ts_books_digest(char *text, ts_register *reg, int64_t books);

/* Closed periods: the seal of the last one when there were so many events; "" where none was
 * closed by then. Into the register's arena. */
const char *ts_closed_seal(ts_register *reg, int64_t events);
/* What is wrong with them, as the end of a sentence; NULL where all is as written. */
const char *ts_closed_inspect(ts_register *reg);

/* The quotes of a life, without events. */
void ts_quotes_load(ts_life *life, ts_register *reg, const char *reference);
void ts_events_load(ts_life *life, ts_register *reg, const char *reference);

#endif
