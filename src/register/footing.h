/* What a price stands on: rows of the price books, by key and by what they say. */
#ifndef TS_REGISTER_FOOTING_H
#define TS_REGISTER_FOOTING_H

#include <tallystone/base/arena.h>
#include <tallystone/book/book.h>
#include <tallystone/costing/costing.h>

/* A row in force. `key` is its key columns, `says` the other filled ones as `word=value`,
 * both parted by tabs, numbers without needless zeros; `from`, `until` and `note` are in
 * neither, so a row written anew with the same values says the same. */
typedef struct ts_footing_row {
    const ts_book_row *row;
    const char *file;
    const char *name; /* what it goes by; folded */
    const char *key;
    const char *says;
    const char *begun, *ends; /* YYYY-MM-DD or "" */
} ts_footing_row;

typedef struct ts_footing {
    const ts_footing_row *rows; /* by file, then key */
    size_t count;
} ts_footing;

/* Every row of the books in force on the day, save those of limits.csv (cautions rest on
 * them, no amount), accounts.csv and studio.csv. */
ts_footing ts_footing_of(ts_arena *arena, const ts_book *book, ts_date on);
/* The row of that file and key, or NULL. */
const ts_footing_row *ts_footing_find(const ts_footing *footing, const char *file, const char *key);

/* The rows among them that an option's amounts rest on, each once, in the footing's order.
 * Into the arena; answers their number. */
size_t ts_footing_under(const ts_footing_row *const **out, ts_arena *arena,
                        const ts_footing *footing, const ts_costing *costing);

/* May a row of this file apply to pieces that rest on no row of its name, so that its coming
 * touches every quote? Policy, rates of exchange, and what can apply by itself. */
bool ts_footing_is_general(const char *file);
/* Does this row work without leaving a figure, so that its change touches every quote? */
bool ts_footing_is_unseen(const char *file, const char *key);

#endif
