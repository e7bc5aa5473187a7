/* What is in force, day after day: for judging rows together. */
#ifndef TS_BOOK_TIMELINE_H
#define TS_BOOK_TIMELINE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/book/book.h>

/* A run through the days on which anything can change. `keys` of the rows are numbered in
 * the order of the sorted rows; `active` has the row in force of each, or NULL; `changed`
 * are the keys touched on this day. */
typedef struct ts_timeline {
    ts_date day;
    size_t keys;
    const ts_book_row **active;
    size_t *changed;
    size_t changed_count;
    struct ts_timeline_key *states;
    struct ts_timeline_event *events;
    size_t event_count;
    size_t event;
} ts_timeline;

/* Over `count` rows sorted by ts_book_by_key_and_day, which must outlive it. All in
 * `arena`. n rows take O(n log n) together, however many days there are. */
void ts_timeline_begin(ts_timeline *t, ts_arena *arena, const ts_book_row *const *rows,
                       size_t count);
/* Moves to the next day; false after the last. The first day lies before all dates. */
bool ts_timeline_next(ts_timeline *t);

#endif
