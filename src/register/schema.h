/* The register's schema: made, and held against its text before anything is read. */
#ifndef TS_REGISTER_SCHEMA_H
#define TS_REGISTER_SCHEMA_H

#include "register/db.h"

enum { TS_SCHEMA_VERSION = 2 };

/* Inside a transaction: makes the schema in an empty file. */
void ts_schema_make(ts_db *db);
/* True where the file holds nothing yet, not even a schema. */
bool ts_schema_is_empty(ts_db *db);
/* Inside a transaction: TS_FAULTY with a sentence where the file is of another program or of
 * a newer version, or its schema is not word for word that of its version. An older version
 * can be read as it is; to be written it is migrated first. */
ts_status ts_schema_verify(ts_db *db, ts_arena *arena) TS_MUST_USE;
/* Which version a file is of. */
int ts_schema_version(ts_db *db);
/* Inside a transaction: brings a verified file of an older version to the newest. */
void ts_schema_migrate(ts_db *db, int version);

#endif
