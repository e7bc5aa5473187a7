#include "register/db.h"

#include <tallystone/base/text.h>

#include <errno.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* SQLite, held on a short rein. The file is made by us, for its owner alone, before SQLite
 * sees it, and is one that no link stands in for. The rollback journal (never WAL) leaves one
 * file at rest, so a plain copy is whole; synchronous=EXTRA also flushes the folder when the
 * journal goes. Nothing in the file is run before its schema was held against our own text:
 * reading sqlite_schema runs no trigger and no view. */

enum { WAIT_MS = 10000, SHOWN = 200 };

struct ts_db {
    sqlite3 *lite;
    ts_arena *arena;
    ts_diag *diag;
    const char *path;
    ts_status status;
    bool inside; /* a transaction is open */
};

struct ts_ask {
    ts_db *db;
    sqlite3_stmt *statement; /* NULL after trouble */
};

static ts_status say(ts_db *db, ts_status status, ts_fault code, const char *sentence)
{
    if (db->status == TS_OK) {
        ts_diag_add(db->diag, code, NULL, "the register %s %s",
                    ts_text_show(db->arena, db->path, SHOWN), sentence);
        db->status = status;
    }
    return db->status;
}

ts_status ts_db_damaged(ts_db *db, const char *why)
{
    return say(db, TS_FAULTY, TS_FAULT_REGISTER, why);
}

/* Turns a result code into our status and sentence. */
static void trouble(ts_db *db, int code)
{
    /* a backup's own trouble is not kept with the file it writes to */
    const bool kept = (sqlite3_errcode(db->lite) & 0xff) == (code & 0xff);
    const char *why = kept ? sqlite3_errmsg(db->lite) : sqlite3_errstr(code);
    switch (code & 0xff) {
    case SQLITE_NOMEM:
        ts_arena_exhausted(db->arena);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        say(db, TS_BUSY, TS_FAULT_REGISTER_BUSY,
            "is held by another program since more than ten seconds; nothing was changed, run the "
            "command again");
        return;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_FORMAT:
    case SQLITE_SCHEMA:
        ts_db_damaged(db, "is damaged or no register; put its last backup in its place");
        return;
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        say(db, TS_CANNOT_CREATE, TS_FAULT_REGISTER,
            ts_arena_format(db->arena, "cannot be written: %s; it and its folder must be yours",
                            why));
        return;
    case SQLITE_CONSTRAINT:
        ts_db_damaged(db, ts_arena_format(db->arena, "refuses a row: %s", why));
        return;
    default:
        say(db, TS_IO, TS_FAULT_REGISTER,
            ts_arena_format(db->arena, "could not be read or written: %s; nothing was changed",
                            why));
    }
}

static bool fine(ts_db *db, int code)
{
    if (code == SQLITE_OK || code == SQLITE_DONE || code == SQLITE_ROW) {
        return true;
    }
    if (db->status == TS_OK) {
        trouble(db, code);
    }
    return false;
}

/* ---- opening ---- */

/* Makes the file where it is missing; judges what is there. */
static ts_status judge_file(ts_db *db, ts_db_use use)
{
    struct stat about;
    if (lstat(db->path, &about) != 0 && errno == ENOENT && use == TS_DB_MAKE) {
        const int fd = open(db->path, O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
        if (fd < 0 && errno != EEXIST) {
            char text[128];
            if (strerror_r(errno, text, sizeof text) != 0) {
                text[0] = '\0';
            }
            return say(db, TS_CANNOT_CREATE, TS_FAULT_REGISTER,
                       ts_arena_format(db->arena, "cannot be made: %s", text));
        }
        if (fd >= 0) {
            close(fd);
        }
    }
    if (lstat(db->path, &about) != 0) {
        return say(db, TS_MISSING, TS_FAULT_REGISTER,
                   "is not there; `tallystone issue` makes it with the first quote");
    }
    if (!S_ISREG(about.st_mode)) {
        return say(db, TS_CANNOT_CREATE, TS_FAULT_REGISTER,
                   "is no regular file: a folder, a device or a link is not used");
    }
    if (about.st_size == 1) { /* which SQLite takes for an empty one */
        return ts_db_damaged(db, "is no register; it is left as it is");
    }
    if (about.st_size == 0 && use != TS_DB_MAKE) {
        return say(db, TS_MISSING, TS_FAULT_REGISTER,
                   "is empty; `tallystone issue` fills it with the first quote");
    }
    return TS_OK;
}

static void settle(ts_db *db, ts_db_use use)
{
    sqlite3_extended_result_codes(db->lite, 1);
    sqlite3_busy_timeout(db->lite, WAIT_MS);
    sqlite3_db_config(db->lite, SQLITE_DBCONFIG_DEFENSIVE, 1, (int *)NULL);
    sqlite3_db_config(db->lite, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, (int *)NULL);
    ts_db_run(db, "PRAGMA trusted_schema=OFF");
    ts_db_run(db, "PRAGMA cell_size_check=ON");
    ts_db_run(db, "PRAGMA foreign_keys=ON");
    ts_db_run(db, "PRAGMA recursive_triggers=ON");
    ts_db_run(db, "PRAGMA temp_store=MEMORY");
    if (use != TS_DB_READ) {
        ts_db_run(db, "PRAGMA journal_mode=DELETE");
        ts_db_run(db, "PRAGMA synchronous=EXTRA");
    }
}

ts_status ts_db_open(ts_db **out, ts_arena *arena, const char *path, ts_db_use use, ts_diag *diag)
{
    ts_db *db = TS_NEW(arena, ts_db);
    *out = NULL;
    *db = (ts_db){.arena = arena, .diag = diag, .path = path};
    if (judge_file(db, use) != TS_OK) {
        return db->status;
    }
    /* a reader may have to roll back what a killed writer left, so it opens to write too */
    const int code =
        sqlite3_open_v2(ts_arena_format(arena, "%s%s", path[0] == '/' ? "" : "./", path), &db->lite,
                        SQLITE_OPEN_READWRITE, NULL);
    if (fine(db, code)) {
        settle(db, use);
    }
    if (db->status != TS_OK) {
        const ts_status status = db->status;
        ts_db_close(db);
        return status;
    }
    *out = db;
    return TS_OK;
}

void ts_db_close(ts_db *db)
{
    if (db != NULL && db->lite != NULL) {
        ts_db_rollback(db);
        sqlite3_close_v2(db->lite);
        db->lite = NULL;
    }
}

ts_status ts_db_status(const ts_db *db)
{
    return db->status;
}

const char *ts_db_path(const ts_db *db)
{
    return db->path;
}

/* ---- transactions and statements ---- */

void ts_db_begin(ts_db *db, bool to_write)
{
    ts_db_run(db, to_write ? "BEGIN IMMEDIATE" : "BEGIN");
    db->inside = db->status == TS_OK;
}

ts_status ts_db_commit(ts_db *db)
{
    if (db->status == TS_OK) {
        const int code = sqlite3_exec(db->lite, "COMMIT", NULL, NULL, NULL);
        if ((code & 0xff) == SQLITE_IOERR) {
            /* the journal may be gone already: then the transaction stands */
            say(db, TS_IO, TS_FAULT_REGISTER,
                ts_arena_format(db->arena,
                                "could not be put on the disk: %s; `tallystone register` shows "
                                "whether it was written",
                                sqlite3_errmsg(db->lite)));
        }
        fine(db, code);
        db->inside = db->status != TS_OK;
    }
    if (db->inside) {
        ts_db_rollback(db);
    }
    return db->status;
}

void ts_db_rollback(ts_db *db)
{
    if (db->inside && sqlite3_get_autocommit(db->lite) == 0) {
        sqlite3_exec(db->lite, "ROLLBACK", NULL, NULL, NULL);
    }
    db->inside = false;
}

void ts_db_run(ts_db *db, const char *sql)
{
    if (db->status == TS_OK) {
        fine(db, sqlite3_exec(db->lite, sql, NULL, NULL, NULL));
    }
}

int64_t ts_db_number(ts_db *db, const char *sql)
{
    ts_ask *ask = ts_db_ask(db, sql);
    const int64_t number = ts_ask_row(ask) ? ts_ask_get_int(ask, 0) : 0;
    ts_ask_end(ask);
    return number;
}

ts_ask *ts_db_ask(ts_db *db, const char *sql)
{
    ts_ask *ask = TS_NEW(db->arena, ts_ask);
    ask->db = db;
    if (db->status == TS_OK) {
        fine(db, sqlite3_prepare_v2(db->lite, sql, -1, &ask->statement, NULL));
    }
    return ask;
}

static bool ready(const ts_ask *ask)
{
    return ask->statement != NULL && ask->db->status == TS_OK;
}

void ts_ask_int(ts_ask *ask, int n, int64_t value)
{
    if (ready(ask)) {
        fine(ask->db, sqlite3_bind_int64(ask->statement, n, value));
    }
}

void ts_ask_text(ts_ask *ask, int n, const char *text)
{
    if (ready(ask)) {
        fine(ask->db, sqlite3_bind_text(ask->statement, n, text, -1, SQLITE_TRANSIENT));
    }
}

void ts_ask_bytes(ts_ask *ask, int n, const void *bytes, size_t length)
{
    if (ready(ask) && length == 0) {
        fine(ask->db, sqlite3_bind_zeroblob(ask->statement, n, 0));
    } else if (ready(ask)) {
        fine(ask->db, sqlite3_bind_blob64(ask->statement, n, bytes, length, SQLITE_TRANSIENT));
    }
}

bool ts_ask_row(ts_ask *ask)
{
    if (!ready(ask)) {
        return false;
    }
    const int code = sqlite3_step(ask->statement);
    fine(ask->db, code);
    return code == SQLITE_ROW;
}

int ts_ask_columns(const ts_ask *ask)
{
    return ask->statement == NULL ? 0 : sqlite3_column_count(ask->statement);
}

bool ts_ask_is_null(const ts_ask *ask, int column)
{
    return sqlite3_column_type(ask->statement, column) == SQLITE_NULL;
}

int64_t ts_ask_get_int(const ts_ask *ask, int column)
{
    return sqlite3_column_int64(ask->statement, column);
}

const char *ts_ask_get_text(const ts_ask *ask, ts_arena *arena, int column)
{
    const char *text = (const char *)sqlite3_column_text(ask->statement, column);
    return text == NULL ? NULL : ts_arena_text(arena, text);
}

const void *ts_ask_peek(const ts_ask *ask, int column, size_t *length)
{
    const void *bytes = sqlite3_column_blob(ask->statement, column);
    *length = (size_t)sqlite3_column_bytes(ask->statement, column);
    return bytes == NULL ? "" : bytes;
}

void ts_ask_run(ts_ask *ask)
{
    while (ts_ask_row(ask)) {
    }
    ts_ask_again(ask);
}

void ts_ask_again(ts_ask *ask)
{
    if (ask->statement != NULL) {
        sqlite3_reset(ask->statement);
        sqlite3_clear_bindings(ask->statement);
    }
}

void ts_ask_end(ts_ask *ask)
{
    sqlite3_finalize(ask->statement);
    ask->statement = NULL;
}

int64_t ts_db_last(const ts_db *db)
{
    return sqlite3_last_insert_rowid(db->lite);
}

/* ---- the file as a whole ---- */

ts_status ts_db_backup(ts_db *db, const char *path, ts_diag *diag)
{
    ts_db *copy = TS_NEW(db->arena, ts_db);
    *copy = (ts_db){.arena = db->arena, .diag = diag, .path = path};
    if (db->status != TS_OK) {
        return db->status;
    }
    const int opened = sqlite3_open_v2(path, &copy->lite, SQLITE_OPEN_READWRITE, NULL);
    if (fine(copy, opened)) {
        ts_db_run(copy, "PRAGMA synchronous=EXTRA");
        /* a copy that is cut off is dropped whole: it needs no way back */
        ts_db_run(copy, "PRAGMA journal_mode=OFF");
        sqlite3_backup *backup = sqlite3_backup_init(copy->lite, "main", db->lite, "main");
        if (backup == NULL) {
            fine(copy, sqlite3_errcode(copy->lite));
        } else {
            fine(copy, sqlite3_backup_step(backup, -1));
            fine(copy, sqlite3_backup_finish(backup));
        }
        const char *answer = ts_db_integrity(copy, db->arena);
        if (copy->status == TS_OK && strcmp(answer, "ok") != 0) {
            ts_db_damaged(copy, "did not copy whole; the backup was not kept");
        }
    }
    sqlite3_close_v2(copy->lite);
    return copy->status;
}

static const char *ask_integrity(ts_db *db, ts_arena *arena)
{
    ts_ask *ask = ts_db_ask(db, "PRAGMA integrity_check(1)");
    const char *answer = ts_ask_row(ask) ? ts_ask_get_text(ask, arena, 0) : "it cannot be read";
    ts_ask_end(ask);
    return answer;
}

const char *ts_db_integrity(ts_db *db, ts_arena *arena)
{
    const char *answer = ask_integrity(db, arena);
    if (strstr(answer, "failed to get page") != NULL) {
        /* so it says also where memory was refused to it; asked again it says which */
        answer = ask_integrity(db, arena);
    }
    if (strstr(answer, "error code=7") != NULL) { /* SQLITE_NOMEM is no damage */
        ts_arena_exhausted(arena);
    }
    if (strcmp(answer, "ok") == 0) {
        ts_ask *ask = ts_db_ask(db, "PRAGMA foreign_key_check");
        if (ts_ask_row(ask)) {
            answer = ts_arena_format(arena, "a row of table %s refers to one that is not there",
                                     ts_ask_get_text(ask, arena, 0));
        }
        ts_ask_end(ask);
    }
    return answer;
}
