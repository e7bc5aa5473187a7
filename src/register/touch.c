#include "register/touch.h"

#include "register/holding.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>
#include <tallystone/book/audit.h>

#include <stdlib.h>
#include <string.h>

/* Every wording of a book row is kept once, so the rows that changed are found by looking at
 * wordings, not at quotes; the quotes follow by index (rests_by_row), and only those that are
 * open are looked at (CROSS JOIN keeps SQLite to that order). A row that is new has no
 * wording yet: it touches what rests on rows of its name, or all, where it can apply by
 * itself. That may touch too much, never too little: what is touched is costed, and nothing
 * comes of it. */

typedef struct touching {
    ts_repricing *all;
    ts_register *reg;
    const ts_footing *today;
    const char *fault; /* NULL: a change; else why they are at fault */
} touching;

static int by_quote(const void *one, const void *other)
{
    const ts_repriced *left = one;
    const ts_repriced *right = other;
    if (left->quote != right->quote) {
        return left->quote < right->quote ? -1 : 1;
    }
    return (left->option > right->option) - (left->option < right->option);
}

static void mark(const touching *t, ts_repriced *one)
{
    one->touched = true;
    if (t->fault != NULL && one->is == TS_REPRICE_NONE) {
        one->is = TS_REPRICE_FAULT;
        one->why = t->fault;
    }
}

static void mark_one(const touching *t, int64_t quote, int option)
{
    const ts_repriced sought = {.quote = quote, .option = option};
    ts_repriced *one = t->all->count == 0
                           ? NULL
                           : bsearch(&sought, t->all->all, t->all->count, sizeof sought, by_quote);
    if (one != NULL) {
        mark(t, one);
    }
}

static void mark_rows(const touching *t, ts_ask *ask)
{
    while (ts_ask_row(ask)) {
        mark_one(t, ts_ask_get_int(ask, 0), (int)ts_ask_get_int(ask, 1));
    }
}

/* ---- rows that changed or went ---- */

typedef struct wording {
    int64_t id;
    const char *file, *key, *says;
} wording;

static size_t wordings_of(wording **out, ts_register *reg)
{
    wording *list = NULL;
    size_t count = 0, room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT id, file, key, says FROM book_row");
    while (ts_ask_row(ask)) {
        list = ts_arena_grow(reg->arena, list, count, &room, sizeof *list);
        list[count++] =
            (wording){ts_ask_get_int(ask, 0), ts_ask_get_text(ask, reg->arena, 1),
                      ts_ask_get_text(ask, reg->arena, 2), ts_ask_get_text(ask, reg->arena, 3)};
    }
    ts_ask_end(ask);
    *out = list;
    return count;
}

static void touch_gone(const touching *t)
{
    wording *list = NULL;
    const size_t count = wordings_of(&list, t->reg);
    ts_ask *ask = ts_db_ask(t->reg->db, "SELECT r.quote, r.option FROM rests r CROSS JOIN standing"
                                        " s ON s.quote = r.quote WHERE r.row = ?1 AND s.state ="
                                        " 'open'");
    for (size_t i = 0; i < count; i++) {
        const ts_footing_row *row = ts_footing_find(t->today, list[i].file, list[i].key);
        if (row == NULL || strcmp(row->says, list[i].says) != 0) {
            ts_ask_int(ask, 1, list[i].id);
            mark_rows(t, ask);
            ts_ask_again(ask);
        }
    }
    ts_ask_end(ask);
}

/* ---- rows that are new, or work without leaving a figure ---- */

static void touch_name(const touching *t, int64_t books, const ts_footing_row *row)
{
    ts_ask *ask = ts_db_ask(
        t->reg->db, "SELECT r.quote, r.option FROM standing s CROSS JOIN quote q ON q.id = s.quote"
                    " CROSS JOIN rests r ON r.quote = q.id CROSS JOIN book_row b ON b.id = r.row"
                    " WHERE s.state = 'open' AND q.books = ?1 AND b.file = ?2 AND b.fold = ?3");
    ts_ask_int(ask, 1, books);
    ts_ask_text(ask, 2, row->file);
    ts_ask_text(ask, 3, row->name);
    mark_rows(t, ask);
    ts_ask_end(ask);
}

static void touch_all(const touching *t, int64_t books)
{
    ts_ask *ask = ts_db_ask(t->reg->db, "SELECT a.quote, a.option FROM standing s CROSS JOIN quote"
                                        " q ON q.id = s.quote CROSS JOIN alternative a ON a.quote"
                                        " = q.id WHERE s.state = 'open' AND q.books = ?1");
    ts_ask_int(ask, 1, books);
    mark_rows(t, ask);
    ts_ask_end(ask);
}

static ts_footing rows_of(ts_register *reg, int64_t books)
{
    ts_footing_row *rows = NULL;
    size_t count = 0, room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT file, key, says FROM books_row JOIN book_row ON id ="
                                     " row WHERE books = ?1 ORDER BY file, key");
    ts_ask_int(ask, 1, books);
    while (ts_ask_row(ask)) {
        rows = ts_arena_grow(reg->arena, rows, count, &room, sizeof *rows);
        rows[count++] = (ts_footing_row){.file = ts_ask_get_text(ask, reg->arena, 0),
                                         .key = ts_ask_get_text(ask, reg->arena, 1),
                                         .says = ts_ask_get_text(ask, reg->arena, 2)};
    }
    ts_ask_end(ask);
    return (ts_footing){rows, count};
}

static void compare_books(const touching *t, int64_t books)
{
    bool all = false;
    const ts_footing then = rows_of(t->reg, books);
    for (size_t i = 0; i < t->today->count && !all; i++) {
        const ts_footing_row *row = &t->today->rows[i];
        const ts_footing_row *old = ts_footing_find(&then, row->file, row->key);
        const bool changed = old != NULL && strcmp(old->says, row->says) != 0;
        all = (old == NULL && ts_footing_is_general(row->file)) ||
              (changed && ts_footing_is_unseen(row->file, row->key));
        if (old == NULL && !all) {
            touch_name(t, books, row);
        }
    }
    for (size_t i = 0; i < then.count && !all; i++) {
        const ts_footing_row *old = &then.rows[i];
        all = ts_footing_is_unseen(old->file, old->key) &&
              ts_footing_find(t->today, old->file, old->key) == NULL;
    }
    if (all) {
        touch_all(t, books);
    }
}

static const char *digest_of(ts_arena *arena, const ts_footing *footing)
{
    char text[TS_SHA256_TEXT];
    ts_sha256 sha;
    ts_sha256_init(&sha);
    for (size_t i = 0; i < footing->count; i++) {
        const ts_footing_row *row = &footing->rows[i];
        const char *parts[] = {row->file, row->key, row->says};
        for (size_t k = 0; k < TS_COUNT_OF(parts); k++) {
            ts_sha256_add(&sha, parts[k], strlen(parts[k]) + 1);
        }
    }
    return ts_arena_text(arena, ts_sha256_text(&sha, text));
}

void ts_touch_changed(ts_repricing *all, ts_register *reg, const ts_footing *today)
{
    const touching t = {.all = all, .reg = reg, .today = today};
    int64_t *books = NULL;
    size_t count = 0, room = 0;
    all->books = digest_of(reg->arena, today);
    touch_gone(&t);
    for (size_t i = 0; i < all->count; i++) {
        size_t k = count; /* the newest is the likeliest */
        while (k > 0 && books[k - 1] != all->all[i].books) {
            k--;
        }
        if (k == 0) {
            books = ts_arena_grow(reg->arena, books, count, &room, sizeof *books);
            books[count++] = all->all[i].books;
        }
    }
    for (size_t i = 0; i < count; i++) {
        compare_books(&t, books[i]);
    }
}

/* ---- rows in doubt ---- */

typedef struct doubting {
    touching touching;
    ts_arena *keep;
    const ts_book *book;
} doubting;

static void touch_doubtful(const doubting *d, const ts_footing_row *row)
{
    /* a lot's warning stands at its oldest step and is meant for all */
    const bool by_name = strcmp(row->file, "melee.csv") == 0;
    ts_ask *ask = ts_db_ask(
        d->touching.reg->db,
        by_name
            ? "SELECT r.quote, r.option FROM book_row b CROSS JOIN rests r ON r.row = b.id CROSS"
              " JOIN standing s ON s.quote = r.quote WHERE b.file = ?1 AND b.fold = ?2 AND"
              " s.state = 'open'"
            : "SELECT r.quote, r.option FROM book_row b CROSS JOIN rests r ON r.row = b.id CROSS"
              " JOIN standing s ON s.quote = r.quote WHERE b.file = ?1 AND b.key = ?2 AND"
              " s.state = 'open'");
    ts_ask_text(ask, 1, row->file);
    ts_ask_text(ask, 2, by_name ? row->name : row->key);
    mark_rows(&d->touching, ask);
    ts_ask_end(ask);
}

static void doubt(void *ctx, ts_fault code, const ts_place *at, const char *sentence)
{
    doubting *d = ctx;
    if ((code != TS_FAULT_BOOK_STALE && code != TS_FAULT_BOOK_JUMP) || at->file == NULL) {
        return;
    }
    const char *slash = strrchr(at->file, '/');
    const char *file = slash == NULL ? at->file : slash + 1;
    for (size_t i = 0; i < d->touching.today->count; i++) {
        const ts_footing_row *row = &d->touching.today->rows[i];
        if (row->row->line == at->line && strcmp(row->file, file) == 0) {
            d->touching.fault = ts_arena_format(d->keep, "%s:%d: %s", file, at->line, sentence);
            touch_doubtful(d, row);
        }
    }
}

void ts_touch_doubtful(ts_repricing *all, ts_arena *keep, ts_register *reg, const ts_book *book,
                       const ts_footing *today, ts_date on)
{
    ts_diag *diag = ts_diag_new(reg->arena);
    doubting d = {.touching = {.all = all, .reg = reg, .today = today}, .keep = keep, .book = book};
    ts_book_audit(book, on, reg->arena, diag);
    ts_diag_each(diag, doubt, &d);
}
