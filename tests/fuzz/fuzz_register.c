/* Any bytes as a register, or a whole register with bytes changed, pages swapped, its end cut off
 * or a stored value altered: it is read or refused in a sentence, reading changes nothing, and
 * `--verify` passes only over what was written. The first byte says which. */
/* The C library declares nftw under this name. */
#define _XOPEN_SOURCE 700 /* NOLINT(bugprone-reserved-identifier) */
#include "hold.h"

#include "desk/request.h"

#include <fcntl.h>
#include <ftw.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <tallystone/base/sha256.h>
#include <tallystone/register/register.h>

#define KEPT "tests/reference/registers/version-1.db"

enum {
    ANY_BYTES,
    OLDER, /* of version 1, with changes */
    NEWEST,
    VALUE, /* one value of the newest */
    MODES,
    PAGE = 4096,
    CHANGE_BYTES = 6, /* what, where (3), with what (2) */
    MOST_CHANGES = 12
};

typedef struct contents {
    char *bytes;
    size_t length;
    char digest[TS_SHA256_TEXT]; /* of all rows; "" where they cannot be read */
} contents;

typedef struct place {
    char folder[1024], file[1100], out[1100];
    contents whole[MODES];
} place;

static contents read_whole(const char *path)
{
    contents read = {NULL, 0, ""};
    struct stat about;
    const int file = open(path, O_RDONLY | O_CLOEXEC);
    hold(file >= 0 && fstat(file, &about) == 0);
    read.length = (size_t)about.st_size;
    read.bytes = malloc(read.length + 1);
    hold(read.bytes != NULL && pread(file, read.bytes, read.length, 0) == (ssize_t)read.length);
    close(file);
    return read;
}

static void write_whole(const char *path, const char *bytes, size_t length)
{
    const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    hold(file >= 0 && write(file, bytes, length) == (ssize_t)length);
    close(file);
}

/* ---- what is in the file, by SQLite alone ---- */

static sqlite3 *open_bare(const char *path, int flags)
{
    sqlite3 *lite = NULL;
    hold(sqlite3_open_v2(path, &lite, flags, NULL) == SQLITE_OK);
    return lite;
}

static void add_rows(ts_sha256 *sum, sqlite3 *lite, const char *table, bool *well)
{
    char sql[128];
    sqlite3_stmt *rows = NULL;
    int code = SQLITE_DONE;
    snprintf(sql, sizeof sql, "SELECT * FROM \"%.60s\" ORDER BY 1, 2", table);
    *well = *well && sqlite3_prepare_v2(lite, sql, -1, &rows, NULL) == SQLITE_OK;
    while (*well && (code = sqlite3_step(rows)) == SQLITE_ROW) {
        for (int i = 0; i < sqlite3_column_count(rows); i++) {
            const int kind = sqlite3_column_type(rows, i);
            const void *value = sqlite3_column_blob(rows, i);
            const size_t length = (size_t)sqlite3_column_bytes(rows, i);
            ts_sha256_add(sum, &kind, sizeof kind);
            ts_sha256_add(sum, &length, sizeof length);
            ts_sha256_add(sum, value == NULL ? "" : value, length);
        }
    }
    *well = *well && code == SQLITE_DONE;
    sqlite3_finalize(rows);
}

/* All rows of all tables but `ran`, which says how `reprice` ended and is written over. */
static void digest_rows(char *digest, const char *path)
{
    static const char tables[] = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name <>"
                                 " 'ran' AND name NOT LIKE 'sqlite%' ORDER BY name";
    ts_sha256 sum;
    sqlite3 *lite = open_bare(path, SQLITE_OPEN_READONLY);
    sqlite3_stmt *names = NULL;
    bool well = sqlite3_prepare_v2(lite, tables, -1, &names, NULL) == SQLITE_OK;
    ts_sha256_init(&sum);
    while (well && sqlite3_step(names) == SQLITE_ROW) {
        add_rows(&sum, lite, (const char *)sqlite3_column_text(names, 0), &well);
    }
    sqlite3_finalize(names);
    sqlite3_close(lite);
    digest[0] = '\0';
    if (well) {
        ts_sha256_text(&sum, digest);
    }
}

/* ---- the registers to begin from ---- */

static void migrate(const char *path)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_register *reg = NULL;
    hold(ts_register_open(&reg, arena, path, TS_REGISTER_WRITE, ts_diag_new(arena)) == TS_OK);
    hold(ts_register_commit(reg) == TS_OK);
    ts_register_close(reg);
    ts_arena_free(arena);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *at)
{
    (void)about;
    (void)kind;
    (void)at;
    return remove(path);
}

static void remove_all(const char *path)
{
    nftw(path, remove_one, 16, FTW_DEPTH | FTW_PHYS);
}

static void keep_whole(place *p, int mode)
{
    p->whole[mode] = read_whole(p->file);
    digest_rows(p->whole[mode].digest, p->file);
    hold(p->whole[mode].digest[0] != '\0');
}

/* Made by the first input, kept for the life of the program; its folder is this process's own. */
static place *begin(void)
{
    static place p;
    if (p.folder[0] != '\0') {
        return &p;
    }
    const char *parent = getenv("TMPDIR");
    snprintf(p.folder, sizeof p.folder, "%s/kept-XXXXXX", parent == NULL ? "build" : parent);
    hold(mkdtemp(p.folder) != NULL);
    snprintf(p.file, sizeof p.file, "%s/kept.db", p.folder);
    snprintf(p.out, sizeof p.out, "%s/out", p.folder);
    const contents kept = read_whole(KEPT);
    write_whole(p.file, kept.bytes, kept.length);
    free(kept.bytes);
    keep_whole(&p, OLDER);
    migrate(p.file);
    keep_whole(&p, NEWEST);
    p.whole[VALUE] = p.whole[NEWEST];
    remove_all(p.folder);
    hold(mkdir(p.folder, 0700) == 0);
    return &p;
}

static void end(void)
{
    remove_all(begin()->folder);
}

/* ---- what an input does to them ---- */

static void change(char *bytes, size_t *length, const uint8_t *how)
{
    enum { SET, FLIP, CUT, SWAP, COPY, KINDS };
    const size_t at = ((size_t)how[1] << 16 | (size_t)how[2] << 8 | how[3]) % *length;
    const size_t pages = *length / PAGE;
    if (how[0] % KINDS == SET) {
        bytes[at] = (char)how[4];
    } else if (how[0] % KINDS == FLIP) {
        bytes[at] = (char)(bytes[at] ^ 1 << how[4] % 8);
    } else if (how[0] % KINDS == CUT && at > 0) {
        *length = at;
    } else if (pages > 0) {
        char page[PAGE];
        char *one = bytes + at / PAGE % pages * PAGE;
        char *other = bytes + ((size_t)how[4] << 8 | how[5]) % pages * PAGE;
        memcpy(page, one, PAGE);
        memcpy(one, other, PAGE);
        memcpy(other, how[0] % KINDS == SWAP ? page : one, PAGE);
    }
}

static void write_changed(const place *p, const contents *whole, const uint8_t *how, size_t left)
{
    size_t length = whole->length;
    char *bytes = malloc(length);
    hold(bytes != NULL);
    memcpy(bytes, whole->bytes, length);
    for (int i = 0; i < MOST_CHANGES && left >= CHANGE_BYTES; i++) {
        change(bytes, &length, how);
        how += CHANGE_BYTES;
        left -= CHANGE_BYTES;
    }
    write_whole(p->file, bytes, length);
    free(bytes);
}

/* The `number`th of the answers, as text; "" where there is none. */
static void pick(char *text, size_t room, sqlite3 *lite, const char *sql, unsigned number)
{
    sqlite3_stmt *answers = NULL;
    unsigned count = 0;
    text[0] = '\0';
    hold(sqlite3_prepare_v2(lite, sql, -1, &answers, NULL) == SQLITE_OK);
    while (sqlite3_step(answers) == SQLITE_ROW) {
        count++;
    }
    for (unsigned i = 0; count > 0 && i <= number % count; i++) {
        hold(sqlite3_step(answers) == SQLITE_ROW);
        snprintf(text, room, "%s", (const char *)sqlite3_column_text(answers, 0));
    }
    sqlite3_finalize(answers);
}

/* One value altered as somebody would who knows SQL, behind the guards' back. */
static void alter_value(const place *p, const uint8_t *how, size_t left)
{
    char table[64], column[64], sql[1024];
    const unsigned row = left > 2 ? how[2] : 0;
    const char *as = left > 3 && how[3] % 2 == 0 ? "+ 1" : "|| 'x'";
    write_whole(p->file, p->whole[VALUE].bytes, p->whole[VALUE].length);
    sqlite3 *lite = open_bare(p->file, SQLITE_OPEN_READWRITE);
    sqlite3_db_config(lite, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    sqlite3_exec(lite, "PRAGMA ignore_check_constraints=ON", NULL, NULL, NULL);
    pick(table, sizeof table, lite,
         "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'",
         left > 0 ? how[0] : 0);
    snprintf(sql, sizeof sql, "SELECT name FROM pragma_table_info('%s')", table);
    pick(column, sizeof column, lite, sql, left > 1 ? how[1] : 0);
    snprintf(sql, sizeof sql,
             "UPDATE %s SET %s = %s %s WHERE %s = (SELECT %s FROM %s LIMIT 1 OFFSET %u %% max(1,"
             " (SELECT count(*) FROM %s)))",
             table, column, column, as, column, column, table, row, table);
    sqlite3_exec(lite, sql, NULL, NULL, NULL); /* or refused: then nothing is altered */
    sqlite3_close(lite);
}

/* ---- what is held ---- */

/* An errand over the file: how it ended, and that what it said is said well. */
static ts_status run(const place *p, ts_errand_fn *errand, bool verify)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_outbox *outbox = NULL;
    char *said = NULL, *result = NULL;
    size_t said_bytes = 0, result_bytes = 0;
    ts_request request = {
        .books = "pricebooks",
        .out = p->out,
        .as_of = TS_DATE_NONE,
        .csv = true,
        .result = open_memstream(&result, &result_bytes),
        .said = open_memstream(&said, &said_bytes),
        .arena = arena,
        .diag = ts_diag_new(arena),
        .outbox = &outbox,
        .who = "fuzz",
        .program = "fuzz",
        .event = {.register_file = p->file, .on = TS_DATE_NONE, .verify = verify}};
    hold(request.result != NULL && request.said != NULL);
    hold(ts_date_read(&request.event.from, "2026-01-01") &&
         ts_date_read(&request.event.to, "2026-12-31"));
    const ts_status status = errand(&request);
    ts_outbox_drop(outbox);
    hold(status == TS_OK || ts_diag_errors(request.diag) > 0);
    hold_said(status, request.diag);
    fclose(request.result);
    fclose(request.said);
    free(result);
    free(said);
    ts_arena_free(arena);
    return status;
}

/* Every quote with what is kept of it, costed anew by the books of today. */
static void read_quotes(ts_register *reg, ts_arena *arena, const ts_life *life, ts_diag *diag)
{
    for (int i = 0; i < life->count; i++) {
        const ts_kept_file *files = NULL;
        size_t count = 0;
        if (ts_register_files(&files, &count, reg, life->quotes[i].id) != TS_OK) {
            return;
        }
        for (int option = 0; option < life->quotes[i].option_count; option++) {
            ts_quantities *needs = NULL;
            ts_costing *costing = NULL;
            ts_date on;
            hold(ts_date_read(&on, "2026-11-25"));
            if (ts_register_quantities(&needs, reg, life->quotes[i].id, option) == TS_OK) {
                const ts_status status =
                    ts_register_cost(&costing, arena, needs, hold_books(), on, diag);
                hold(status != TS_OK || costing->total != NULL);
            }
        }
    }
}

static void read_all(const place *p)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_register *reg = NULL;
    ts_status status = ts_register_open(&reg, arena, p->file, TS_REGISTER_READ, diag);
    if (status == TS_OK) {
        const char *const *list = NULL;
        const size_t count = ts_register_references(&list, reg);
        for (size_t i = 0; i < count; i++) {
            ts_life life;
            if (ts_register_life(&life, reg, list[i]) == TS_OK) {
                read_quotes(reg, arena, &life, diag);
            }
        }
        status = ts_register_status(reg);
    }
    ts_register_close(reg);
    hold(status == TS_OK || ts_diag_errors(diag) > 0);
    ts_arena_free(arena);
}

/* The file's very bytes are what they were, and nothing lies beside it. */
static void hold_unchanged(const place *p, const contents *before)
{
    const contents now = read_whole(p->file);
    hold(now.length == before->length && memcmp(now.bytes, before->bytes, now.length) == 0);
    free(now.bytes);
    remove_all(p->out);
    hold(unlink(p->file) == 0 && rmdir(p->folder) == 0 && mkdir(p->folder, 0700) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    const place *p = begin();
    const int mode = length == 0 ? ANY_BYTES : bytes[0] % MODES;
    static bool ends;
    if (!ends) {
        ends = atexit(end) == 0;
    }
    if (mode == ANY_BYTES) {
        write_whole(p->file, (const char *)bytes + (length > 0), length - (length > 0));
    } else if (mode == VALUE) {
        alter_value(p, bytes + 1, length - 1);
    } else {
        write_changed(p, &p->whole[mode], bytes + 1, length - 1);
    }
    contents before = read_whole(p->file);
    const ts_status verified = run(p, ts_errand_register, true);
    hold(verified == TS_OK || length != 1 || mode == ANY_BYTES); /* as it is it passes */
    if (verified == TS_OK) {
        digest_rows(before.digest, p->file);
        hold(mode == ANY_BYTES || strcmp(before.digest, p->whole[mode].digest) == 0);
    }
    run(p, ts_errand_register, false);
    run(p, ts_errand_export, false);
    read_all(p);
    hold_unchanged(p, &before);
    free(before.bytes);
    return 0;
}
