#include "book/auditing.h"

#include "book/bookrows.h"

#include <stdlib.h>
#include <string.h>

/* Labour on the day: steps of size that leave sizes out.
 *
 * Rows of an operation may be narrowed by metal and by stone. What a narrowed row leaves out
 * a wider one may take up, so a size is left out only where no row that would serve the same
 * metal and stone holds it, and one of the same narrowing goes on further up. The rows of one
 * narrowing stand together, so each is looked for by halving. */

typedef struct band {
    const ts_labour_row *row;
    ts_span span;
    int64_t reach_e6; /* the highest end of the bands of its narrowing up to here */
} band;

typedef struct bands {
    band *at; /* by metal, stone, and the size they begin with */
    size_t count;
} bands;

/* Orders a narrowing and a size against a band. */
static int compare(const char *metal, const char *stone, int64_t from_e6, const band *to)
{
    int order = strcmp(metal, to->row->metal);

    order = order != 0 ? order : strcmp(stone, to->row->stone);
    return order != 0 ? order : (from_e6 > to->span.from_e6) - (from_e6 < to->span.from_e6);
}

static int by_narrowing(const void *one, const void *other)
{
    const band *left = one;
    const band *right = other;
    const int order = compare(left->row->metal, left->row->stone, left->span.from_e6, right);

    return order != 0 ? order : (left->row > right->row) - (left->row < right->row);
}

static bool same_narrowing(const band *one, const band *other)
{
    return strcmp(one->row->metal, other->row->metal) == 0 &&
           strcmp(one->row->stone, other->row->stone) == 0;
}

static bands bands_of(const ts_auditing *a, const char *operation)
{
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_LABOUR, operation, a->on);
    bands b = {TS_ARRAY(a->arena, band, walk.end - walk.at + 1), 0};

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        band *own = &b.at[b.count++];

        own->row = ts_book_typed(row);
        ts_book_span(&own->span, row);
    }
    qsort(b.at, b.count, sizeof *b.at, by_narrowing);
    for (size_t i = 0; i < b.count; i++) {
        const bool goes_on = i > 0 && same_narrowing(&b.at[i - 1], &b.at[i]);
        const int64_t below = goes_on ? b.at[i - 1].reach_e6 : INT64_MIN;

        b.at[i].reach_e6 = b.at[i].span.to_e6 > below ? b.at[i].span.to_e6 : below;
    }
    return b;
}

/* The first band of a narrowing, or after it, that begins over a size. */
static size_t first_over(const bands *b, const char *metal, const char *stone, int64_t size_e6)
{
    size_t low = 0;
    size_t high = b->count;

    while (low < high) {
        const size_t middle = low + (high - low) / 2;

        if (compare(metal, stone, size_e6, &b->at[middle]) < 0) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

static bool holds(const bands *b, const char *metal, const char *stone, int64_t size_e6)
{
    const size_t over = first_over(b, metal, stone, size_e6);
    const band *below = over == 0 ? NULL : &b->at[over - 1];

    return below != NULL && strcmp(below->row->metal, metal) == 0 &&
           strcmp(below->row->stone, stone) == 0 && below->reach_e6 > size_e6;
}

/* The band at which sizes begin again after those of `own` ended with nothing to follow; NULL
 * where they go on, or go no further. */
static const band *after_gap(const bands *b, const band *own)
{
    const int64_t end = own->span.to_e6;
    const char *metal = own->row->metal;
    const char *stone = own->row->stone;

    if (end == INT64_MAX || holds(b, metal, stone, end) || holds(b, metal, "", end) ||
        holds(b, "", stone, end) || holds(b, "", "", end)) {
        return NULL;
    }
    const size_t over = first_over(b, metal, stone, end);
    return over < b->count && same_narrowing(own, &b->at[over]) ? &b->at[over] : NULL;
}

void ts_audit_labour_steps(const ts_auditing *a)
{
    const char *const *operations = NULL;
    const size_t count = ts_book_names(&operations, a->arena, a->book, TS_BOOK_LABOUR);

    for (size_t i = 0; i < count; i++) {
        const bands b = bands_of(a, operations[i]);

        for (size_t k = 0; k < b.count; k++) {
            const band *next = after_gap(&b, &b.at[k]);

            if (next != NULL) {
                ts_audit_gap(a, &b.at[k].row->head, &next->row->head);
            }
        }
    }
}
