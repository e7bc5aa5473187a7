#include <tallystone/register/register.h>

#include "register/holding.h"
#include "register/schema.h"

#include <tallystone/base/file.h>
#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Opening and finding. The whole of a command is one transaction, so what it judged by cannot
 * change before it writes, and a kill at any moment leaves all of it or nothing. */

const char *ts_register_now(ts_arena *arena)
{
    const time_t now = time(NULL);
    struct tm parts;
    char text[32] = "";
    if (gmtime_r(&now, &parts) != NULL) {
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    }
    return ts_arena_text(arena, text);
}

/* ---- opening ---- */

/* What is about to be migrated is copied first. The copy comes out with the commit, before what
 * was written does; a dry run leaves neither. */
static ts_status migrate(ts_register *reg)
{
    const char *staged = NULL;
    ts_db *old = NULL; /* SQLite copies from no connection that is writing */
    const char *path = ts_db_path(reg->db);
    const char *name = strrchr(path, '/') == NULL ? path : strrchr(path, '/') + 1;
    ts_status status =
        ts_outbox_open(&reg->before, reg->arena, ts_file_folder(reg->arena, path), reg->diag);
    if (status == TS_OK) {
        name = ts_arena_format(reg->arena, "%s.before-v%d", name, reg->version);
        status = ts_outbox_file(&staged, reg->before, name, false, reg->diag);
    }
    if (status == TS_OK) {
        status = ts_db_open(&old, reg->arena, path, TS_DB_READ, reg->diag);
    }
    if (status == TS_OK) {
        status = ts_db_backup(old, staged, reg->diag);
    }
    ts_db_close(old);
    if (status == TS_OK) {
        ts_schema_migrate(reg->db, reg->version);
        reg->version = TS_SCHEMA_VERSION;
        status = ts_db_status(reg->db);
    }
    return status;
}

/* Inside the transaction: an empty file becomes a register, or counts as none. */
static ts_status settle(ts_register *reg, ts_register_use use)
{
    if (ts_schema_is_empty(reg->db)) {
        if (use != TS_REGISTER_MAKE) {
            ts_diag_add(reg->diag, TS_FAULT_REGISTER, NULL,
                        "the register %s holds nothing yet; `tallystone issue` fills it with the "
                        "first quote",
                        ts_text_show(reg->arena, ts_db_path(reg->db), 200));
            return TS_MISSING;
        }
        ts_schema_make(reg->db);
        reg->version = TS_SCHEMA_VERSION;
        return ts_db_status(reg->db);
    }
    if (ts_db_status(reg->db) != TS_OK) {
        return ts_db_status(reg->db);
    }
    const ts_status status = ts_schema_verify(reg->db, reg->arena);
    reg->version = ts_schema_version(reg->db);
    const bool migrates = use != TS_REGISTER_READ && reg->version < TS_SCHEMA_VERSION;
    return status == TS_OK && migrates ? migrate(reg) : status;
}

ts_status ts_register_open(ts_register **out, ts_arena *arena, const char *path,
                           ts_register_use use, ts_diag *diag)
{
    static const ts_db_use uses[] = {TS_DB_READ, TS_DB_WRITE, TS_DB_MAKE};
    ts_register *reg = TS_NEW(arena, ts_register);
    *out = NULL;
    *reg = (ts_register){.arena = arena, .diag = diag};
    ts_status status = ts_db_open(&reg->db, arena, path, uses[use], diag);
    if (status != TS_OK) {
        return status;
    }
    ts_db_begin(reg->db, use != TS_REGISTER_READ);
    status = ts_db_status(reg->db);
    if (status == TS_OK) {
        status = settle(reg, use);
    }
    if (status != TS_OK) {
        ts_register_close(reg);
        return status;
    }
    *out = reg;
    return TS_OK;
}

ts_status ts_register_commit(ts_register *reg)
{
    if (reg->before != NULL && ts_db_status(reg->db) == TS_OK) {
        const ts_status status = ts_outbox_commit(reg->before, reg->diag);
        if (status != TS_OK) {
            return status;
        }
    }
    return ts_db_commit(reg->db);
}

void ts_register_close(ts_register *reg)
{
    if (reg != NULL) {
        ts_outbox_drop(reg->before);
        ts_db_close(reg->db);
    }
}

ts_status ts_register_status(const ts_register *reg)
{
    return ts_db_status(reg->db);
}

ts_status ts_register_backup(ts_register *reg, const char *path)
{
    return ts_db_backup(reg->db, path, reg->diag);
}

/* ---- finding ---- */

size_t ts_register_references(const char *const **out, ts_register *reg)
{
    const char **list = NULL;
    size_t count = 0, room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT reference FROM quote WHERE revision = 1 ORDER BY id");
    while (ts_ask_row(ask)) {
        list = ts_arena_grow(reg->arena, list, count, &room, sizeof *list);
        list[count++] = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    *out = list;
    return count;
}

/* "NAME-rN": the length of NAME and N; 0 where it does not end so. */
static int split_revision(const char *ref, size_t *length)
{
    const char *dash = strrchr(ref, '-');
    *length = strlen(ref);
    if (dash == NULL || dash == ref || dash[1] != 'r' || dash[2] < '1' || dash[2] > '9' ||
        strspn(dash + 2, "0123456789") != strlen(dash + 2) || strlen(dash + 2) > 6) {
        return 0;
    }
    *length = (size_t)(dash - ref);
    int revision = 0;
    for (const char *digit = dash + 2; *digit != '\0'; digit++) {
        revision = revision * 10 + (*digit - '0');
    }
    return revision;
}

/* The reference as it was issued: the very one, else one that differs in case alone; NULL where
 * there is none. */
static const char *reference_like(const char *wanted, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i], wanted) == 0) {
            return list[i];
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (ts_text_same(list[i], wanted)) {
            return list[i];
        }
    }
    return NULL;
}

ts_status ts_register_find(ts_life *life, int *revision, ts_register *reg, const char *ref)
{
    const char *const *list = NULL;
    const size_t count = ts_register_references(&list, reg);
    size_t length = 0;
    *revision = 0;
    const char *reference = reference_like(ref, list, count);
    if (reference == NULL) {
        *revision = split_revision(ref, &length);
        const char *head = ts_arena_copy(reg->arena, ref, length);
        reference = *revision == 0 ? NULL : reference_like(head, list, count);
    }
    if (reference != NULL) {
        const ts_status status = ts_register_life(life, reg, reference);
        if (status != TS_OK || *revision <= life->count) {
            return status;
        }
        ts_diag_add(reg->diag, TS_FAULT_NAME_UNKNOWN, NULL, "%s has %d revision%s, no r%d",
                    ts_text_show(reg->arena, reference, 64), life->count,
                    life->count == 1 ? "" : "s", *revision);
        return TS_FAULTY;
    }
    if (ts_db_status(reg->db) != TS_OK) {
        return ts_db_status(reg->db);
    }
    ts_diag_add(reg->diag, TS_FAULT_NAME_UNKNOWN, NULL,
                "the register holds no quote \"%s\"; `tallystone register` lists them",
                ts_text_show(reg->arena, ref, 64));
    const int near = ts_nearest(ref, list, count);
    if (near >= 0 && list != NULL) {
        ts_diag_hint(reg->diag, "did you mean \"%s\"?", list[near]);
    }
    return TS_FAULTY;
}

ts_status ts_register_life(ts_life *life, ts_register *reg, const char *reference)
{
    size_t at = 0;
    *life = (ts_life){0};
    ts_quotes_load(life, reg, reference);
    ts_events_load(life, reg, reference);
    if (ts_db_status(reg->db) != TS_OK) {
        return ts_db_status(reg->db);
    }
    const char *why = ts_life_play(life, reg->arena, &at);
    if (why == NULL) {
        return TS_OK;
    }
    return ts_db_damaged(reg->db, ts_arena_format(reg->arena,
                                                  "holds an event that cannot stand, number %d: %s",
                                                  (int)life->events[at].id, why));
}

/* ---- how reprice ended ---- */

ts_ran ts_register_ran(ts_register *reg)
{
    ts_ran ran = {0};
    ts_ask *ask = ts_db_ask(reg->db, "SELECT ended, day, status, books, said FROM ran");
    if (ts_ask_row(ask)) {
        ran = (ts_ran){.ended = ts_ask_get_text(ask, reg->arena, 0),
                       .day = ts_ask_get_text(ask, reg->arena, 1),
                       .status = (int)ts_ask_get_int(ask, 2),
                       .books = ts_ask_get_text(ask, reg->arena, 3),
                       .said = ts_ask_get_text(ask, reg->arena, 4)};
    }
    ts_ask_end(ask);
    return ran;
}

void ts_register_set_ran(ts_register *reg, const ts_ran *ran)
{
    ts_ask *ask = ts_db_ask(
        reg->db, "INSERT INTO ran VALUES (1, ?1, ?2, ?3, ?4, ?5) ON CONFLICT (id) DO UPDATE SET"
                 " ended = ?1, day = ?2, status = ?3, books = ?4, said = ?5");
    ts_ask_text(ask, 1, ts_register_now(reg->arena));
    ts_ask_text(ask, 2, ran->day);
    ts_ask_int(ask, 3, ran->status);
    ts_ask_text(ask, 4, ran->books);
    ts_ask_text(ask, 5, ran->said);
    ts_ask_run(ask);
    ts_ask_end(ask);
}
