#include <tallystone/book/book.h>

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Which of several rows fits best: labour and limits.
 *
 * A row may be narrowed to a size, a metal, a stone, a region. A row fits where all its
 * narrowing columns do; the one with most of them wins (a pair of from and to counts as
 * one), then the one of the narrower size. Two rows that fit equally well are a tie. */

typedef struct fit {
    int columns; /* narrowing columns, all of which fit; -1 where one does not */
    uint64_t width_e6;
} fit;

static bool is_wider(const fit *one, const fit *other)
{
    return one->columns == other->columns && one->width_e6 > other->width_e6;
}

static bool is_better(const fit *one, const fit *other)
{
    return one->columns > other->columns || is_wider(other, one);
}

/* Counts the size pair in: it must hold the size where the row has one. */
static void fit_size(fit *f, const ts_book_row *row, const ts_dec *size)
{
    ts_span span;

    f->width_e6 = UINT64_MAX;
    if (!ts_book_span(&span, row) || f->columns < 0) {
        return;
    }
    if (size == NULL || size->e6 < span.from_e6 || size->e6 >= span.to_e6) {
        f->columns = -1;
        return;
    }
    f->columns++;
    f->width_e6 = (uint64_t)span.to_e6 - (uint64_t)span.from_e6;
}

/* Counts a narrowing column in: empty, or one of two words that are asked for. */
static void fit_word(fit *f, const char *narrowed, const char *one, const char *other)
{
    if (narrowed[0] == '\0' || f->columns < 0) {
        return;
    }
    const bool fits = (one != NULL && ts_text_same(narrowed, one)) ||
                      (other != NULL && ts_text_same(narrowed, other));
    f->columns = fits ? f->columns + 1 : -1;
}

static fit labour_fit(const ts_labour_row *row, const ts_labour_key *key)
{
    fit f = {0, 0};
    const bool client = key->client && ts_text_same(row->stone, "client");

    fit_word(&f, row->metal, key->alloy, key->main_metal);
    if (client) {
        f.columns += f.columns >= 0;
    } else {
        fit_word(&f, row->stone, key->shape, key->species);
    }
    fit_size(&f, &row->head, key->has_size ? &key->size_mm : NULL);
    return f;
}

const ts_labour_row *ts_book_labour(const ts_book *book, const ts_labour_key *key, ts_date on,
                                    const ts_labour_row **tie)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_LABOUR, key->operation, on);
    const ts_labour_row *best = NULL;
    fit best_fit = {-1, UINT64_MAX};

    *tie = NULL;
    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_labour_row *row = (const ts_labour_row *)(const void *)at;
        const fit f = labour_fit(row, key);

        if (f.columns < 0 || is_better(&best_fit, &f)) {
            continue;
        }
        *tie = is_better(&f, &best_fit) ? NULL : row;
        if (*tie == NULL) {
            best = row;
            best_fit = f;
        }
    }
    return best;
}

const ts_limit_row *ts_book_limit(const ts_book *book, const char *limit, const char *subject,
                                  const char *region, const ts_dec *size_mm, ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_LIMITS, limit, on);
    const ts_limit_row *best = NULL;
    fit best_fit = {-1, UINT64_MAX};

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_limit_row *row = (const ts_limit_row *)(const void *)at;
        fit f = {0, 0};

        fit_word(&f, row->subject, subject, NULL);
        fit_word(&f, row->region, region, NULL);
        fit_size(&f, &row->head, size_mm);
        if (f.columns >= 0 && is_better(&f, &best_fit)) {
            best = row;
            best_fit = f;
        }
    }
    return best;
}
