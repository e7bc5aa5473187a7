#include "register/schema.h"

#include <tallystone/base/text.h>

#include <string.h>

/* What the file may hold, and nothing else. A trigger or a view planted in it would be run by
 * a harmless-looking query, so the text of every object is compared before the first one. */

typedef struct object {
    int since; /* the version that it came with */
    const char *type;
    const char *name;
    const char *sql;
} object;

#define NEVER "BEGIN SELECT RAISE(ABORT, 'what was issued is never changed'); END"

static const object objects[] = {
#define OBJECT(since, type, name, sql) {since, type, name, sql},
#define FROZEN(since, table)                                                                       \
    {since, "trigger", #table "_stays",                                                            \
     "CREATE TRIGGER " #table "_stays BEFORE UPDATE ON " #table " " NEVER},                        \
        {since, "trigger", #table "_remains",                                                      \
         "CREATE TRIGGER " #table "_remains BEFORE DELETE ON " #table " " NEVER},
#define SEALED(since, table)                                                                       \
    {since, "trigger", #table "_sealed",                                                           \
     "CREATE TRIGGER " #table "_sealed BEFORE INSERT ON " #table                                   \
     " WHEN EXISTS (SELECT 1 FROM event WHERE quote = NEW.quote) " NEVER},
#include "register/schema.def"
};

/* "tlys": how a file says whose it is. */
#define APPLICATION 0x746c7973

/* What came after a version, and the number of the newest. */
static void add_since(ts_db *db, int version)
{
    for (size_t i = 0; i < TS_COUNT_OF(objects); i++) {
        if (objects[i].since > version) {
            ts_db_run(db, objects[i].sql);
        }
    }
    ts_db_run(db, "PRAGMA user_version=2");
}
_Static_assert(TS_SCHEMA_VERSION == 2, "the number stands in the statement above");

void ts_schema_make(ts_db *db)
{
    add_since(db, 0);
    ts_db_run(db, "PRAGMA application_id=1953266035");
}

int ts_schema_version(ts_db *db)
{
    return (int)ts_db_number(db, "PRAGMA user_version");
}

void ts_schema_migrate(ts_db *db, int version)
{
    add_since(db, version);
}

bool ts_schema_is_empty(ts_db *db)
{
    return ts_db_number(db, "SELECT count(*) FROM sqlite_schema") == 0 &&
           ts_db_number(db, "PRAGMA application_id") == 0 &&
           ts_db_number(db, "PRAGMA user_version") == 0 && ts_db_status(db) == TS_OK;
}

static const object *find(int version, const char *type, const char *name)
{
    for (size_t i = 0; i < TS_COUNT_OF(objects); i++) {
        if (objects[i].since <= version && strcmp(objects[i].name, name) == 0 &&
            strcmp(objects[i].type, type) == 0) {
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

static size_t count_until(int version)
{
    size_t count = 0;
    for (size_t i = 0; i < TS_COUNT_OF(objects); i++) {
        count += objects[i].since <= version;
    }
    return count;
}

static ts_status verify_objects(ts_db *db, ts_arena *arena, int version)
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
        const object *known = find(version, type, name);
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
    if (ts_db_status(db) == TS_OK && seen != count_until(version)) {
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
    if (version < 1) {
        return ts_db_damaged(db, "names no version that there ever was; it is left as it is");
    }
    return verify_objects(db, arena, (int)version);
}
