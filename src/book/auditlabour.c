#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Labour on the day: steps of size that leave sizes out.
 *
 * Rows of an operation may be narrowed by metal and by stone. What a narrowed row leaves out
 * a wider one may take up, so a size is left out only where no row that would serve the same
 * metal and stone holds it, and one of the same narrowing goes on further up. */

/* Would the row serve whatever the other one serves? */
static bool serves(const ts_labour_row *row, const ts_labour_row *other)
{
    return (row->metal[0] == '\0' || ts_text_same(row->metal, other->metal)) &&
           (row->stone[0] == '\0' || ts_text_same(row->stone, other->stone));
}

static bool same_narrowing(const ts_labour_row *row, const ts_labour_row *other)
{
    return ts_text_same(row->metal, other->metal) && ts_text_same(row->stone, other->stone);
}

/* The row at which sizes begin again after those of `row` ended with nothing to follow; NULL
 * where they go on, or go no further. */
static const ts_labour_row *after_gap(const ts_auditing *a, const ts_labour_row *row)
{
    const ts_labour_row *next = NULL;
    ts_span own, span, best = {0, 0};

    if (!ts_book_span(&own, &row->head)) {
        return NULL;
    }
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_LABOUR, row->operation, a->on);
    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_labour_row *other = (const ts_labour_row *)(const void *)at;
        const bool has_span = ts_book_span(&span, at);
        const bool holds = !has_span || (span.from_e6 <= own.to_e6 && span.to_e6 > own.to_e6);

        if (holds && serves(other, row)) {
            return NULL;
        }
        if (has_span && same_narrowing(other, row) && span.from_e6 > own.to_e6 &&
            (next == NULL || span.from_e6 < best.from_e6)) {
            next = other;
            best = span;
        }
    }
    return next;
}

void ts_audit_labour_steps(const ts_auditing *a)
{
    const char *const *operations = NULL;
    const size_t count = ts_book_names(&operations, a->arena, a->book, TS_BOOK_LABOUR);

    for (size_t i = 0; i < count; i++) {
        ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_LABOUR, operations[i], a->on);
        for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
            const ts_labour_row *row = (const ts_labour_row *)(const void *)at;
            const ts_labour_row *next = after_gap(a, row);

            if (next != NULL) {
                ts_audit_gap(a, at, &next->head);
            }
        }
    }
}
