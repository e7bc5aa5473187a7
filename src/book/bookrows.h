/* The rows of any book file, seen alike: for loading, judging and looking up. */
#ifndef TS_BOOK_BOOKROWS_H
#define TS_BOOK_BOOKROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/book/book.h>

/* One file's rows as bytes: `size` each. */
typedef struct ts_book_slice {
    const char *at;
    size_t count;
    size_t size;
} ts_book_slice;

ts_book_slice ts_book_rows(const ts_book *book, ts_book_file file);
/* Puts loaded rows where the book keeps them. */
void ts_book_rows_set(ts_book *book, ts_book_file file, const void *rows, size_t count);
const ts_book_row *ts_book_row_at(const ts_book_slice *rows, size_t index);
size_t ts_book_row_size(ts_book_file file);

/* Is the file needed from the start? */
bool ts_book_file_needed(ts_book_file file);
/* The columns that every file takes beside its own: from, until, note. */
const ts_field *ts_book_common_fields(size_t *count);
/* Position of a file's own column by its word, or -1. */
int ts_book_column(ts_book_file file, const char *word);
/* The same column itself; NULL where the file has none of the word. */
const ts_field *ts_book_field(ts_book_file file, const char *word);

/* The name that a row goes by: its first column as text (policy: the subject). */
const char *ts_book_row_name(const ts_book_row *row);
int ts_book_compare_names(const ts_book_row *one, const ts_book_row *other);
/* Orders two rows of one file by their key columns; 0: the same key. */
int ts_book_compare_keys(const ts_book_row *one, const ts_book_row *other);

/* Orders pointers to rows of one file by key, then first day, then place in the file: for
 * qsort. */
int ts_book_by_key_and_day(const void *one, const void *other);
/* The run of a file's rows that go by a name, in `book->by_name`; NULL for none. */
const ts_book_row *const *ts_book_named(size_t *count, const ts_book *book, ts_book_file file,
                                        const char *name);

/* Goes through the rows in force on a day that go by a name: one of each key. */
typedef struct ts_book_walk {
    const ts_book_row *const *rows;
    const size_t *key_end;
    size_t at;
    size_t end;
    ts_date on;
} ts_book_walk;
ts_book_walk ts_book_walk_of(const ts_book *book, ts_book_file file, const char *name, ts_date on);
/* The next one, or NULL after the last. */
const ts_book_row *ts_book_walk_next(ts_book_walk *walk);

/* The same of a file's whole rows, in the order of names and keys. */
ts_book_walk ts_book_walk_all(const ts_book *book, ts_book_file file, ts_date on);
/* A row by its file's type: what heads it is its first member. */
static inline const void *ts_book_typed(const ts_book_row *row)
{
    return row;
}
/* Is it a rule that prices lines: markup, margin, at cost? */
bool ts_book_sets_price(const ts_policy_row *row);

/* A row's pair of from and to as a half-open interval; what is not given is open. False
 * where neither is given, or the file has none. */
typedef struct ts_span {
    int64_t from_e6;
    int64_t to_e6;
} ts_span;
bool ts_book_span(ts_span *out, const ts_book_row *row);

#endif
