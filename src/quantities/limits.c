#include "quantities/counting.h"

/* The built-in table of usual measurements.
 *
 * It is laid out as a book that holds nothing but limits, so that one lookup serves both: the
 * studio's own limits.csv, where there is one, stands in its place as a whole. */

/* Bits of the columns of limits.csv, in the order of files.def. */
enum {
    COLUMN_LIMIT = 1u << 0,
    SUBJECT = 1u << 1,
    SIZE = 1u << 3 | 1u << 4,
    LEAST = 1u << 5,
    MOST = 1u << 6,
    COLUMN_UNIT = 1u << 7,
    COLUMN_SOURCE = 1u << 8,
};

#define NO_DATE                                                                                    \
    {                                                                                              \
        INT32_MIN                                                                                  \
    }

static const ts_limit_row rows[] = {
#define LIMIT(name, narrowed, size_from, size_to, filled, low, high, of, origin)                   \
    {.head = {.file = TS_BOOK_LIMITS,                                                              \
              .given = COLUMN_LIMIT | (filled) | COLUMN_UNIT | COLUMN_SOURCE,                      \
              .from = NO_DATE,                                                                     \
              .until = NO_DATE,                                                                    \
              .note = ""},                                                                         \
     .limit = (name),                                                                              \
     .subject = (narrowed),                                                                        \
     .region = "",                                                                                 \
     .from_mm = {size_from},                                                                       \
     .to_mm = {size_to},                                                                           \
     .least = {low},                                                                               \
     .most = {high},                                                                               \
     .unit = (of),                                                                                 \
     .source = (origin)},
#include "quantities/limits.def"
#undef LIMIT
};

#define ROWS TS_COUNT_OF(rows)

const ts_book *ts_limits_of(ts_counting *c)
{
    if (c->book->text[TS_BOOK_LIMITS] != NULL) {
        return c->book;
    }
    if (c->built_in == NULL) {
        ts_book *book = TS_NEW(c->arena, ts_book);
        const ts_book_row **by_name = TS_ARRAY(c->arena, const ts_book_row *, ROWS);
        size_t *key_end = TS_ARRAY(c->arena, size_t, ROWS);
        for (size_t i = 0; i < ROWS; i++) {
            by_name[i] = &rows[i].head;
            key_end[i] = i + 1;
        }
        book->limits.at = rows;
        book->limits.count = ROWS;
        book->by_name[TS_BOOK_LIMITS] = by_name;
        book->key_end[TS_BOOK_LIMITS] = key_end;
        book->runs[TS_BOOK_LIMITS] = ts_book_runs_of(c->arena, by_name, ROWS);
        c->built_in = book;
    }
    return c->built_in;
}
