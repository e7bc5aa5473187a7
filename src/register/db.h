/* The door to SQLite: one file holds every call of it.
 *
 * A database remembers its first trouble and says it once in the diag; from then on every
 * call answers at once and does nothing, so that a run of statements is checked at its end. */
#ifndef TS_REGISTER_DB_H
#define TS_REGISTER_DB_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/status.h>

typedef struct ts_db ts_db;
typedef struct ts_ask ts_ask;

typedef enum ts_db_use {
    TS_DB_READ,
    TS_DB_WRITE, /* of a file that is there */
    TS_DB_MAKE,  /* made, 0600, where it is missing or empty */
} ts_db_use;

/* Opens a register file: a regular file of one name, no link. TS_MISSING where it is not there
 * or empty (and `use` is not MAKE); TS_FAULTY where it is no register or damaged;
 * TS_CANNOT_CREATE, TS_IO, TS_BUSY. The sentence stands in `diag`. A new file holds no
 * schema yet (ts_db_number of "user_version" is 0). *out is NULL unless TS_OK. */
ts_status ts_db_open(ts_db **out, ts_arena *arena, const char *path, ts_db_use use,
                     ts_diag *diag) TS_MUST_USE;
/* Rolls back what is not committed. Accepts NULL. */
void ts_db_close(ts_db *db);
/* The first trouble, or TS_OK. */
ts_status ts_db_status(const ts_db *db);
const char *ts_db_path(const ts_db *db);
/* Says that the file is not as it should be; `why` ends the sentence. Answers TS_FAULTY. */
ts_status ts_db_damaged(ts_db *db, const char *why);

/* Waits at most ten seconds for the file. A reading transaction sees one state. */
void ts_db_begin(ts_db *db, bool to_write);
ts_status ts_db_commit(ts_db *db) TS_MUST_USE;
void ts_db_rollback(ts_db *db);

/* Statements without values. */
void ts_db_run(ts_db *db, const char *sql);
/* The first column of the first row of a query without values; 0 where there is none. */
int64_t ts_db_number(ts_db *db, const char *sql);

/* A statement whose values ?1, ?2 ... are put in by number. Never NULL. */
ts_ask *ts_db_ask(ts_db *db, const char *sql);
void ts_ask_int(ts_ask *ask, int n, int64_t value);
/* NULL is stored as NULL. Text is copied. */
void ts_ask_text(ts_ask *ask, int n, const char *text);
void ts_ask_bytes(ts_ask *ask, int n, const void *bytes, size_t length);
/* The next row: true while there is one. */
bool ts_ask_row(ts_ask *ask);
int ts_ask_columns(const ts_ask *ask);
bool ts_ask_is_null(const ts_ask *ask, int column);
int64_t ts_ask_get_int(const ts_ask *ask, int column);
/* Copies into the arena; NULL for NULL. */
const char *ts_ask_get_text(const ts_ask *ask, ts_arena *arena, int column);
/* Borrowed until the next row; any value as bytes. */
const void *ts_ask_peek(const ts_ask *ask, int column, size_t *length);
/* Runs a statement to its end and makes it ready for other values. */
void ts_ask_run(ts_ask *ask);
void ts_ask_again(ts_ask *ask);
void ts_ask_end(ts_ask *ask);
/* Row number of the row written last. */
int64_t ts_db_last(const ts_db *db);

/* Writes a whole copy to `path` (a staged, empty file) by SQLite's backup interface. */
ts_status ts_db_backup(ts_db *db, const char *path, ts_diag *diag) TS_MUST_USE;
/* SQLite's own integrity check: "ok", or its first complaint. */
const char *ts_db_integrity(ts_db *db, ts_arena *arena);

#endif
