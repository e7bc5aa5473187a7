#include "book/auditing.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* The operations that geometry counts, by the names that it gives them, held against labour.csv.
 *
 * What it counts and no row prices stops the piece that takes it. A row of such an operation
 * that is narrowed by what the count does not know, or is spelt a letter otherwise, is read
 * without a word and never applies. */

#define MOST_COUNTED (TS_SETTING_COUNT + TS_CLAW_COUNT + 3)

typedef struct counted {
    const char *names[MOST_COUNTED];
    ts_per per[MOST_COUNTED];
    size_t count;
} counted;

static void put(counted *c, const char *name, ts_per per)
{
    c->names[c->count] = name;
    c->per[c->count++] = per;
}

static counted counted_of(const ts_auditing *a)
{
    counted c = {.count = 0};

    for (int setting = 1; setting < TS_SETTING_COUNT; setting++) {
        put(&c, ts_arena_format(a->arena, "set %s", ts_list_word(TS_LIST_SETTING, setting)),
            TS_PER_STONE);
    }
    for (int style = 1; style < TS_CLAW_COUNT; style++) {
        put(&c, ts_arena_format(a->arena, "form %s claw", ts_list_word(TS_LIST_CLAW, style)),
            TS_PER_CLAW);
    }
    put(&c, "cast", TS_PER_CASTING);
    put(&c, "join", TS_PER_JOINT);
    put(&c, "unset", TS_PER_STONE);
    return c;
}

bool ts_audit_has_size(const char *operation)
{
    return ts_text_after_word(operation, "set") != NULL;
}

bool ts_audit_has_stone(const char *operation)
{
    return ts_audit_has_size(operation) || ts_text_same(operation, "unset");
}

/* ---- without a price ---- */

static void audit_missing(const ts_auditing *a, const counted *c)
{
    const char *missing = "";

    for (size_t i = 0; i < c->count; i++) {
        ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_LABOUR, c->names[i], a->on);

        if (ts_book_walk_next(&walk) == NULL) {
            missing = ts_text_joined(a->arena, missing, ", ", c->names[i]);
        }
    }
    if (missing[0] != '\0' && a->book->text[TS_BOOK_LABOUR] != NULL) {
        const ts_place place = {.file = a->book->text[TS_BOOK_LABOUR]->file, .line = 1};

        ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place,
                    "no row in force prices: %s; a piece that takes them cannot be priced",
                    missing);
    }
}

/* ---- rows ---- */

/* The place of an operation among those that are counted; `count` where it is none. */
static size_t place_of(const counted *c, const char *operation)
{
    size_t at = 0;

    while (at < c->count && strcmp(c->names[at], operation) != 0) {
        at++;
    }
    return at;
}

/* One that begins as counted ones do and is a slip away from one; others are for sheets to ask
 * for. */
static void audit_slip(const ts_auditing *a, const counted *c, const ts_labour_row *row)
{
    const bool alike = ts_text_after_word(row->operation, "set") != NULL ||
                       ts_text_after_word(row->operation, "form") != NULL;
    const int nearest = alike ? ts_nearest(row->operation, c->names, c->count) : -1;

    if (nearest >= 0 && row->applies == TS_APPLIES_ASKED) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "operation",
                     ts_arena_format(a->arena,
                                     "no piece counts \"%s\", so this row applies only where a "
                                     "sheet's own work asks for it",
                                     ts_text_show(a->arena, row->operation, 60)));
        ts_diag_hint(a->diag, "did you mean \"%s\"?", c->names[nearest]);
    }
}

static void audit_per(const ts_auditing *a, const ts_labour_row *row, ts_per per)
{
    if (row->per != (int32_t)per) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "per",
                     ts_arena_format(a->arena,
                                     "\"%s\" is counted per %s, whatever this row says; per %s is "
                                     "expected",
                                     row->operation, ts_list_word(TS_LIST_PER, (int)per),
                                     ts_list_word(TS_LIST_PER, (int)per)));
    }
}

static void audit_narrowing(const ts_auditing *a, const ts_labour_row *row)
{
    ts_span span;

    if (ts_book_span(&span, &row->head) && !ts_audit_has_size(row->operation)) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head,
                     ts_book_given(&row->head, "from mm") ? "from mm" : "to mm",
                     ts_arena_format(a->arena,
                                     "\"%s\" is counted without a size, so a row narrowed to sizes "
                                     "can never apply; only setting has one",
                                     ts_text_show(a->arena, row->operation, 60)));
    } else if (row->stone[0] != '\0' && !ts_audit_has_stone(row->operation)) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "stone",
                     ts_arena_format(a->arena,
                                     "\"%s\" is counted without a stone, so a row narrowed to one "
                                     "can never apply; only setting and unset have one",
                                     ts_text_show(a->arena, row->operation, 60)));
    }
}

/* A count and `always` are two reasons to do the work, and the piece pays for both. */
static void audit_twice(const ts_auditing *a, const ts_labour_row *row)
{
    if (row->applies == TS_APPLIES_ALWAYS) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "applies",
                     ts_arena_format(a->arena,
                                     "\"%s\" is counted from the piece, and always charges it once "
                                     "more in every piece; asked is expected",
                                     row->operation));
    }
}

void ts_audit_counted(const ts_auditing *a)
{
    const counted c = counted_of(a);
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_LABOUR, a->on);
    const char *slipped = "";

    audit_missing(a, &c);
    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_labour_row *row = ts_book_typed(at);
        const size_t place = place_of(&c, row->operation);

        audit_narrowing(a, row);
        if (place < c.count) {
            audit_per(a, row, c.per[place]);
            audit_twice(a, row);
        } else if (strcmp(slipped, row->operation) != 0) { /* once an operation */
            audit_slip(a, &c, row);
            slipped = row->operation;
        }
    }
}
