#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <stdlib.h>
#include <string.h>

/* Labour on the day: rows that fit equally well, and rows that a narrower one always hides.
 *
 * A row narrowed to a metal and one narrowed to a stone both fit a stone of that kind in that
 * metal; no price says which is meant. An operation's rows are followed up through the sizes
 * at which one begins or ends: between two of them the same rows hold. Each pair that may
 * meet is put to the lookup that prices ask, so that this file decides nothing by itself. */

/* Pairs that are looked at of one operation: far more than any list of prices has. Beyond it
 * the price itself finds a tie. */
#define MOST_PAIRS 200000

typedef struct held {
    const ts_labour_row *row;
    ts_span span;
    bool has_span;
    bool wins;  /* somewhere, against the rows of its own narrowing */
    bool named; /* in a tie already */
} held;

typedef struct meeting {
    const ts_auditing *a;
    held *all; /* by the size they begin with */
    size_t count;
    held **now; /* those that hold the size */
    size_t now_count;
    long pairs;
} meeting;

static uint64_t width_of(const held *one)
{
    return (uint64_t)one->span.to_e6 - (uint64_t)one->span.from_e6;
}

static int columns_of(const held *one)
{
    return (one->row->metal[0] != '\0') + (one->row->stone[0] != '\0') + one->has_span;
}

/* ---- can one piece of work meet both? ---- */

/* The main metal of an alloy in force, or the word itself where it is a metal's. */
static const char *main_of(const meeting *m, const char *metal)
{
    const ts_alloy_row *alloy = ts_book_alloy(m->a->book, metal, m->a->on);

    return alloy == NULL ? metal : ts_list_word(TS_LIST_METAL, (int)ts_alloy_main(alloy));
}

/* Puts the alloy and its metal that both rows serve into the key; false where none is. */
static bool put_metal(const meeting *m, ts_labour_key *key, const char *one, const char *other)
{
    const bool one_alloy = ts_book_alloy(m->a->book, one, m->a->on) != NULL;
    const char *narrower = one[0] == '\0' || (!one_alloy && other[0] != '\0') ? other : one;
    const char *wider = narrower == one ? other : one;

    if (narrower[0] == '\0') {
        return true;
    }
    key->alloy = narrower;
    key->main_metal = main_of(m, narrower);
    return wider[0] == '\0' || ts_text_same(wider, narrower) ||
           (key->main_metal != NULL && ts_text_same(wider, key->main_metal));
}

static bool is_shape(const char *word)
{
    return ts_list_find(TS_LIST_SHAPE, word) != 0;
}

static bool is_species(const char *word)
{
    return !is_shape(word) || ts_list_find(TS_LIST_SPECIES, word) != 0;
}

/* Puts one word of a row's `stone` into the key; `as_shape` where it may be either. */
static void put_word(ts_labour_key *key, const char *word, bool as_shape)
{
    if (word[0] == '\0') {
        return;
    }
    if (ts_text_same(word, "client")) {
        key->client = true;
    } else if (as_shape) {
        key->shape = word;
    } else {
        key->species = word;
    }
}

/* The same for the stone. A word such as emerald is a shape and a species. */
static bool put_stone(ts_labour_key *key, const char *one, const char *other)
{
    const bool free_one = one[0] == '\0' || ts_text_same(one, "client");
    const bool free_other = other[0] == '\0' || ts_text_same(other, "client");
    const bool same = ts_text_same(one, other);
    const bool as_shape = is_shape(one) && (free_other || same || is_species(other));

    put_word(key, one, as_shape);
    put_word(key, other, same ? as_shape : free_one ? is_shape(other) : !as_shape);
    return free_one || free_other || same ||
           (as_shape ? is_species(other) : is_species(one) && is_shape(other));
}

/* ---- pairs ---- */

static void add_tie(const meeting *m, held *one, held *other)
{
    held *later = one->row->head.line > other->row->head.line ? one : other;
    const held *earlier = later == one ? other : one;

    if (later->named) {
        return;
    }
    later->named = true;
    ts_audit_add(m->a, TS_FAULT_BOOK_ODD, &later->row->head, "operation",
                 ts_arena_format(m->a->arena,
                                 "\"%s\": this row and that on line %d fit equally well where both "
                                 "do, so that such a piece cannot be priced; narrow one of "
                                 "them, or write a row for what both hold",
                                 ts_text_show(m->a->arena, later->row->operation, 60),
                                 earlier->row->head.line));
}

static void ask(const meeting *m, held *one, held *other, int64_t size_e6)
{
    ts_labour_key key = {.operation = one->row->operation,
                         .has_size = ts_audit_has_size(one->row->operation),
                         .size_mm = {size_e6}};
    const ts_labour_row *tie = NULL;

    if (!put_metal(m, &key, one->row->metal, other->row->metal) ||
        !put_stone(&key, one->row->stone, other->row->stone)) {
        return;
    }
    const ts_labour_row *best = ts_book_labour(m->a->book, &key, m->a->on, &tie);
    if (tie != NULL &&
        ((best == one->row && tie == other->row) || (best == other->row && tie == one->row))) {
        add_tie(m, one, other);
    }
}

static bool same_narrowing(const held *one, const held *other)
{
    return strcmp(one->row->metal, other->row->metal) == 0 &&
           strcmp(one->row->stone, other->row->stone) == 0;
}

/* Every pair of the rows that hold a size. */
static void look(meeting *m, int64_t size_e6)
{
    for (size_t i = 0; i < m->now_count; i++) {
        bool hidden = false;

        for (size_t k = 0; k < m->now_count && m->pairs < MOST_PAIRS; k++) {
            m->pairs++;
            hidden = hidden || (same_narrowing(m->now[k], m->now[i]) &&
                                width_of(m->now[k]) < width_of(m->now[i]));
            if (k < i && columns_of(m->now[k]) == columns_of(m->now[i]) &&
                width_of(m->now[k]) == width_of(m->now[i])) {
                ask(m, m->now[k], m->now[i], size_e6);
            }
        }
        m->now[i]->wins = m->now[i]->wins || !hidden;
    }
}

/* ---- sizes ---- */

static int by_start(const void *one, const void *other)
{
    const held *left = one;
    const held *right = other;

    return (left->span.from_e6 > right->span.from_e6) - (left->span.from_e6 < right->span.from_e6);
}

static int by_size(const void *one, const void *other)
{
    const int64_t left = *(const int64_t *)one;
    const int64_t right = *(const int64_t *)other;

    return (left > right) - (left < right);
}

/* The rows that hold a size: those before it that have not ended, and those that begin. */
static size_t move_to(meeting *m, int64_t size_e6, size_t begun)
{
    size_t kept = 0;

    for (size_t i = 0; i < m->now_count; i++) {
        if (m->now[i]->span.to_e6 > size_e6) {
            m->now[kept++] = m->now[i];
        }
    }
    for (; begun < m->count && m->all[begun].span.from_e6 <= size_e6; begun++) {
        m->now[kept++] = &m->all[begun];
    }
    m->now_count = kept;
    return begun;
}

static void follow_sizes(meeting *m)
{
    int64_t *sizes = TS_ARRAY(m->a->arena, int64_t, 2 * m->count + 1);
    size_t count = 0;
    size_t begun = 0;

    for (size_t i = 0; i < m->count; i++) {
        sizes[count++] = m->all[i].span.from_e6 == INT64_MIN ? 0 : m->all[i].span.from_e6;
        sizes[count++] = m->all[i].span.to_e6;
    }
    qsort(sizes, count, sizeof *sizes, by_size);
    for (size_t i = 0; i < count && m->pairs < MOST_PAIRS; i++) {
        if (i == 0 || sizes[i] != sizes[i - 1]) {
            begun = move_to(m, sizes[i], begun);
            look(m, sizes[i]);
        }
    }
}

static void say_hidden(const meeting *m)
{
    for (size_t i = 0; i < m->count && m->pairs < MOST_PAIRS; i++) {
        if (!m->all[i].wins) {
            ts_audit_add(
                m->a, TS_FAULT_BOOK_ODD, &m->all[i].row->head, "from mm",
                ts_arena_format(m->a->arena,
                                "\"%s\": rows of narrower sizes hold all the sizes of this "
                                "one, so it can never apply",
                                ts_text_show(m->a->arena, m->all[i].row->operation, 60)));
        }
    }
}

/* What is counted without a size, or is done to no stone, never meets a row narrowed to one. */
static bool may_meet(const held *one)
{
    return (ts_audit_has_size(one->row->operation) || !one->has_span) &&
           (ts_audit_has_stone(one->row->operation) || one->row->stone[0] == '\0');
}

static void follow(meeting *m, const char *operation)
{
    ts_book_walk walk = ts_book_walk_of(m->a->book, TS_BOOK_LABOUR, operation, m->a->on);

    m->count = 0;
    m->now_count = 0;
    m->pairs = 0;
    m->all = TS_ARRAY(m->a->arena, held, walk.end - walk.at + 1);
    m->now = TS_ARRAY(m->a->arena, held *, walk.end - walk.at + 1);
    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        held *own = &m->all[m->count];

        *own = (held){.row = ts_book_typed(row)};
        own->has_span = ts_book_span(&own->span, row);
        m->count += may_meet(own);
    }
    if (m->count < 2) {
        return;
    }
    qsort(m->all, m->count, sizeof *m->all, by_start);
    follow_sizes(m);
    say_hidden(m);
}

void ts_audit_ties(const ts_auditing *a)
{
    const char *const *operations = NULL;
    const size_t count = ts_book_names(&operations, a->arena, a->book, TS_BOOK_LABOUR);
    meeting m = {.a = a};

    for (size_t i = 0; i < count; i++) {
        follow(&m, operations[i]);
    }
}
