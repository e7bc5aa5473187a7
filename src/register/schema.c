#include "register/schema.h"

#include <tallystone/base/text.h>

#include <string.h>

/* What the file may hold, and nothing else. A trigger or a view planted in it would be run by
 * a harmless-looking query, so the text of every object is compared before the first one. */

typedef struct object {
    const char *type;
    const char *name;
    const char *sql;
} object;

#define NEVER "BEGIN SELECT RAISE(ABORT, 'what was issued is never changed'); END"

static const object objects[] = {
#define OBJECT(type, name, sql) {type, name, sql},
#define FROZEN(table)                                                                              \
    {"trigger", #table "_stays",                                                                   \
     "CREATE TRIGGER " #table "_stays BEFORE UPDATE ON " #table " " NEVER},                        \
        {"trigger", #table "_remains",                                                             \
         "CREATE TRIGGER " #table "_remains BEFORE DELETE ON " #table " " NEVER},
#define SEALED(table)                                                                              \
    {"trigger", #table "_sealed",                                                                  \
     "CREATE TRIGGER " #table "_sealed BEFORE INSERT ON " #table                                   \
     " WHEN EXISTS (SELECT 1 FROM event WHERE quote = NEW.quote) " NEVER},
#include "register/schema.def"
};

/* "tlys": how a file says whose it is. */
#define APPLICATION 0x746c7973

void ts_schema_make(ts_db *db)
{
    for (size_t i = 0; i < TS_COUNT_OF(objects); i++) {
        ts_db_run(db, objects[i].sql);
    }
    ts_db_run(db, "PRAGMA application_id=1953266035");
    ts_db_run(db, "PRAGMA user_version=1");
}

bool ts_schema_is_empty(ts_db *db)
{
    return ts_db_number(db, "SELECT count(*) FROM sqlite_schema") == 0 &&
           ts_db_number(db, "PRAGMA application_id") == 0 &&
           ts_db_number(db, "PRAGMA user_version") == 0 && ts_db_status(db) == TS_OK;
}

static const object *find(const char *type, const char *name)
{
    for (size_t i = 0; i < TS_COUNT_OF(objects); i++) {
        if (strcmp(objects[i].name, name) == 0 && strcmp(objects[i].type, type) == 0) {
            return &objects[i];
        }
    }
    return NULL;
}

/* An index that SQLite makes for a key has no text of its own. */
static bool is_own_index(const char *type, const char *name, const char *sql)
{
    return sql == NULL && strcmp(type, "index") == 0 &&
           strncmp(name, "sqlite_autoindex_", strlen("sqlite_autoindex_")) == 0;
}

static ts_status verify_objects(ts_db *db, ts_arena *arena)
{
    size_t seen = 0;
    ts_ask *ask = ts_db_ask(db, "SELECT type, name, sql FROM sqlite_schema");
    while (ts_ask_row(ask)) {
        const char *type = ts_ask_get_text(ask, arena, 0);
        const char *name = ts_ask_get_text(ask, arena, 1);
        const char *sql = ts_ask_get_text(ask, arena, 2);
        if (type == NULL || name == NULL) {
            ts_db_damaged(db, "holds an object without a name; put its last backup in its place");
            break;
        }
        if (is_own_index(type, name, sql)) {
            continue;
        }
        const object *known = find(type, name);
        if (known == NULL || sql == NULL || strcmp(known->sql, sql) != 0) {
            ts_db_damaged(db, ts_arena_format(arena,
                                              "holds a %s \"%s\" that this program did not write "
                                              "so; it is not used",
                                              ts_text_show(arena, type, 20),
                                              ts_text_show(arena, name, 60)));
            break;
        }
        seen++;
    }
    ts_ask_end(ask);
    if (ts_db_status(db) == TS_OK && seen != TS_COUNT_OF(objects)) {
        ts_db_damaged(db, "lacks a table or trigger of its version; put its last backup in its "
                          "place");
    }
    return ts_db_status(db);
}

ts_status ts_schema_verify(ts_db *db, ts_arena *arena)
{
    const int64_t application = ts_db_number(db, "PRAGMA application_id");
    const int64_t version = ts_db_number(db, "PRAGMA user_version");
    if (ts_db_status(db) != TS_OK) {
        return ts_db_status(db);
    }
    if (application != APPLICATION) {
        return ts_db_damaged(db, "is a database of another program; it is left as it is");
    }
    if (version > TS_SCHEMA_VERSION) {
        return ts_db_damaged(db,
                             ts_arena_format(arena,
                                             "was written by a newer tallystone (version %d of "
                                             "the file; this one knows %d); it is left as it is",
                                             (int)version, TS_SCHEMA_VERSION));
    }
    if (version < TS_SCHEMA_VERSION) {
        return ts_db_damaged(db, "names no version that there ever was; it is left as it is");
    }
    return verify_objects(db, arena);
}
