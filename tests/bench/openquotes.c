/* A register with many open quotes, and what bare SQLite spends on the rows a price touches.
 *
 *     openquotes make REGISTER COUNT EVERY    COUNT quotes more: each EVERYth is as the second of
 *                                             the register, the others as the first
 *     openquotes strip REGISTER               takes off the triggers, so that rows can be updated
 *     openquotes plain REGISTER FILE NAME     the quotes that rest on rows of that book file and
 *                                             name, their lines read, the lines of that name's
 *                                             section and the totals updated, one commit
 *
 * What `make` writes passes `register --verify`: each quote has its digest and its event. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sqlite3.h>

#include <tallystone/base/sha256.h>

#include "register/holding.h"

static const char *const copies[] = {
    ("INSERT INTO quote SELECT ?1, ?3, 1, NULL, ?3, title, client, currency, exponent, region, sheet,"
     " dated, as_of, valid_until, books, reason, program FROM quote WHERE id = ?2"),
    ("INSERT INTO alternative SELECT ?1, option, name, label, total, to_pay, margin, floor FROM"
     " alternative WHERE quote = ?2 AND ?3 <> ''"),
    ("INSERT INTO total SELECT ?1, option, no, section, item, cost, price FROM total WHERE quote = ?2"
     " AND ?3 <> ''"),
    ("INSERT INTO line SELECT ?1, option, no, section, kind, item, key, quantity, unit, unit_cost,"
     " cost, price, rule, tax_group FROM line WHERE quote = ?2 AND ?3 <> ''"),
    ("INSERT INTO tax SELECT ?1, option, no, region, category, name, rate, due, base, amount FROM tax"
     " WHERE quote = ?2 AND ?3 <> ''"),
    ("INSERT INTO need SELECT ?1, option, kind, no, CASE kind WHEN 'terms' THEN ?3 || substr(record,"
     " instr(record, char(9))) ELSE record END FROM need WHERE quote = ?2"),
    "INSERT INTO rests SELECT ?1, option, row, line FROM rests WHERE quote = ?2 AND ?3 <> ''",
    "INSERT INTO quote_file SELECT ?1, role, name, hash FROM quote_file WHERE quote = ?2 AND ?3 <> ''",
    "INSERT INTO paper SELECT ?1, name, hash FROM paper WHERE quote = ?2 AND ?3 <> ''",
    "INSERT INTO standing SELECT ?1, 'open', 0, 0 WHERE ?2 > 0 AND ?3 <> ''",
};
enum { COPIES = sizeof copies / sizeof *copies };

static void copy_quote(ts_register *reg, ts_ask *const *asks, int64_t id, int64_t like)
{
    char hash[TS_SHA256_TEXT], name[32];
    snprintf(name, sizeof name, "BENCH-%07d", (int)id);
    for (int i = 0; i < COPIES; i++) {
        ts_ask_int(asks[i], 1, id);
        ts_ask_int(asks[i], 2, like);
        ts_ask_text(asks[i], 3, name);
        ts_ask_run(asks[i]);
    }
    ts_event event = {.kind = TS_EVENT_ISSUE,
                      .quote = id,
                      .reference = name,
                      .revision = 1,
                      .option = "",
                      .stage = "",
                      .currency = "USD",
                      .way = "",
                      .receipt = "",
                      .reason = "",
                      .who = "bench",
                      .content = ts_quote_digest(hash, reg, id)};
    if (!ts_date_read(&event.day, "2026-11-23")) {
        exit(2);
    }
    ts_event_write(reg, &event);
}

static int make(const char *path, int count, int every)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_register *reg = NULL;
    ts_ask *asks[COPIES];
    if (ts_register_open(&reg, arena, path, TS_REGISTER_WRITE, diag) != TS_OK) {
        ts_diag_print(diag, stderr, false, false);
        return 1;
    }
    ts_db_run(reg->db, "PRAGMA cache_size=-200000");
    for (int i = 0; i < COPIES; i++) {
        asks[i] = ts_db_ask(reg->db, copies[i]);
    }
    const int64_t first = ts_db_number(reg->db, "SELECT max(id) + 1 FROM quote");
    for (int i = 0; i < count; i++) {
        const ts_arena_mark mark = ts_arena_mark_of(arena);
        copy_quote(reg, asks, first + i, i % every == 0 ? 2 : 1);
        if (ts_register_status(reg) != TS_OK) {
            break;
        }
        ts_arena_rewind(arena, mark);
    }
    for (int i = 0; i < COPIES; i++) {
        ts_ask_end(asks[i]);
    }
    const ts_status status = ts_register_commit(reg);
    ts_diag_print(diag, stderr, false, false);
    ts_register_close(reg);
    ts_arena_free(arena);
    return status != TS_OK;
}

/* ---- bare SQLite ---- */

static void must(sqlite3 *db, int code)
{
    if (code != SQLITE_OK && code != SQLITE_ROW && code != SQLITE_DONE) {
        fprintf(stderr, "openquotes: %s\n", sqlite3_errmsg(db));
        exit(1);
    }
}

static sqlite3 *opened(const char *path)
{
    sqlite3 *db = NULL;
    must(db, sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL));
    must(db, sqlite3_exec(db, "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA;", NULL, NULL,
                          NULL));
    return db;
}

static sqlite3_stmt *prepared(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    must(db, sqlite3_prepare_v2(db, sql, -1, &statement, NULL));
    return statement;
}

static int strip(const char *path)
{
    sqlite3 *db = opened(path);
    must(db, sqlite3_exec(db,
                          "DROP TRIGGER line_stays; DROP TRIGGER total_stays; DROP TRIGGER"
                          " alternative_stays;",
                          NULL, NULL, NULL));
    sqlite3_close(db);
    return 0;
}

typedef struct pair {
    sqlite3_int64 quote, option;
} pair;

typedef struct plainly {
    sqlite3 *db;
    sqlite3_stmt *read, *line, *total, *alternative;
    long lines;
    sqlite3_int64 sum;
} plainly;

static void run_for(const plainly *p, sqlite3_stmt *update, const pair *of, sqlite3_int64 no)
{
    sqlite3_bind_int64(update, 1, of->quote);
    sqlite3_bind_int64(update, 2, of->option);
    if (no >= 0) {
        sqlite3_bind_int64(update, 3, no);
    }
    must(p->db, sqlite3_step(update));
    must(p->db, sqlite3_reset(update));
}

static void touch(plainly *p, const pair *of)
{
    sqlite3_int64 metal[64];
    int count = 0;
    sqlite3_bind_int64(p->read, 1, of->quote);
    sqlite3_bind_int64(p->read, 2, of->option);
    while (sqlite3_step(p->read) == SQLITE_ROW) {
        p->sum += sqlite3_column_int64(p->read, 6) + (sqlite3_column_text(p->read, 3)[0] & 1);
        p->lines++;
        if (sqlite3_column_int64(p->read, 2) <= 1 && count < 64) { /* metal and sprue */
            metal[count++] = sqlite3_column_int64(p->read, 0);
        }
    }
    must(p->db, sqlite3_reset(p->read));
    for (int i = 0; i < count; i++) {
        run_for(p, p->line, of, metal[i]);
    }
    run_for(p, p->total, of, -1);
    run_for(p, p->alternative, of, -1);
}

static int plain(const char *path, const char *file, const char *name)
{
    plainly p = {.db = opened(path)};
    pair *touched = NULL;
    size_t count = 0, room = 0;
    must(p.db, sqlite3_exec(p.db, "BEGIN IMMEDIATE", NULL, NULL, NULL));
    sqlite3_stmt *query = prepared(
        p.db, "SELECT DISTINCT r.quote, r.option FROM book_row b CROSS JOIN rests r ON r.row = b.id"
              " CROSS JOIN standing s ON s.quote = r.quote WHERE b.file = ?1 AND b.fold = ?2 AND"
              " s.state = 'open' ORDER BY 1, 2");
    sqlite3_bind_text(query, 1, file, -1, SQLITE_STATIC);
    sqlite3_bind_text(query, 2, name, -1, SQLITE_STATIC);
    while (sqlite3_step(query) == SQLITE_ROW) {
        if (count == room) {
            room = room == 0 ? 1024 : room * 2;
            touched = realloc(touched, room * sizeof *touched);
            if (touched == NULL) {
                return 71;
            }
        }
        touched[count++] = (pair){sqlite3_column_int64(query, 0), sqlite3_column_int64(query, 1)};
    }
    sqlite3_finalize(query);
    p.read = prepared(p.db, "SELECT no, section, kind, item, quantity, unit_cost, cost, price FROM"
                            " line WHERE quote = ?1 AND option = ?2 ORDER BY no");
    p.line =
        prepared(p.db, "UPDATE line SET cost = cost + 1, price = price + 1 WHERE quote = ?1 AND"
                       " option = ?2 AND no = ?3");
    p.total = prepared(p.db, "UPDATE total SET price = price + 1 WHERE quote = ?1 AND option = ?2");
    p.alternative = prepared(p.db, "UPDATE alternative SET total = total + 1, to_pay = to_pay + 1"
                                   " WHERE quote = ?1 AND option = ?2");
    for (size_t i = 0; i < count; i++) {
        touch(&p, &touched[i]);
    }
    sqlite3_finalize(p.read);
    sqlite3_finalize(p.line);
    sqlite3_finalize(p.total);
    sqlite3_finalize(p.alternative);
    must(p.db, sqlite3_exec(p.db, "COMMIT", NULL, NULL, NULL));
    sqlite3_close(p.db);
    free(touched);
    printf("%zu quotes, %ld lines, sum %lld\n", count, p.lines, p.sum);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 5 && strcmp(argv[1], "make") == 0) {
        return make(argv[2], atoi(argv[3]), atoi(argv[4]));
    }
    if (argc == 3 && strcmp(argv[1], "strip") == 0) {
        return strip(argv[2]);
    }
    if (argc == 5 && strcmp(argv[1], "plain") == 0) {
        return plain(argv[2], argv[3], argv[4]);
    }
    fputs("openquotes make REGISTER COUNT EVERY | strip REGISTER | plain REGISTER FILE NAME\n",
          stderr);
    return 64;
}
