#include "book/timeline.h"

#include "book/bookrows.h"

#include <stdlib.h>

/* Rows of one key follow each other, and an earlier one can come back when a later one
 * ends. Each key keeps a stack of its rows that have begun: the top that has not ended is
 * in force, and one that has ended never comes back. So a run through all days looks at
 * each row a few times only, which books of many years need. */

struct ts_timeline_key {
    const ts_book_row *const *next; /* the first row that has not begun */
    const ts_book_row *const *end;
    const ts_book_row **stack;
    size_t height;
};

struct ts_timeline_event {
    int32_t day;
    size_t key;
};

#define FIRST_DAY (INT32_MIN + 1) /* before all that can be written */

static int by_day_and_key(const void *one, const void *other)
{
    const struct ts_timeline_event *left = one;
    const struct ts_timeline_event *right = other;

    if (left->day != right->day) {
        return left->day < right->day ? -1 : 1;
    }
    return (left->key > right->key) - (left->key < right->key);
}

static void add_event(ts_timeline *t, int32_t day, size_t key)
{
    t->events[t->event_count++] = (struct ts_timeline_event){day, key};
}

void ts_timeline_begin(ts_timeline *t, ts_arena *arena, const ts_book_row *const *rows,
                       size_t count)
{
    const ts_book_row **stacks = TS_ARRAY(arena, const ts_book_row *, count + 1);

    *t = (ts_timeline){.day = TS_DATE_NONE};
    t->active = TS_ARRAY(arena, const ts_book_row *, count + 1);
    t->changed = TS_ARRAY(arena, size_t, count + 1);
    t->states = TS_ARRAY(arena, struct ts_timeline_key, count + 1);
    t->events = TS_ARRAY(arena, struct ts_timeline_event, 3 * count + 1);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || ts_book_compare_keys(rows[i - 1], rows[i]) != 0) {
            t->states[t->keys++] = (struct ts_timeline_key){rows + i, rows + i, stacks + i, 0};
            add_event(t, FIRST_DAY, t->keys - 1);
        }
        t->states[t->keys - 1].end = rows + i + 1;
        if (ts_date_given(rows[i]->from)) {
            add_event(t, rows[i]->from.days, t->keys - 1);
        }
        if (ts_date_given(rows[i]->until)) {
            add_event(t, ts_date_plus(rows[i]->until, 1).days, t->keys - 1);
        }
    }
    qsort(t->events, t->event_count, sizeof *t->events, by_day_and_key);
}

/* The row of a key that is in force on the day, or NULL. */
static const ts_book_row *row_of(struct ts_timeline_key *key, ts_date day)
{
    while (key->next < key->end && (*key->next)->from.days <= day.days) {
        key->stack[key->height++] = *key->next++;
    }
    while (key->height > 0 && !ts_book_in_force(key->stack[key->height - 1], day)) {
        key->height--;
    }
    return key->height == 0 ? NULL : key->stack[key->height - 1];
}

bool ts_timeline_next(ts_timeline *t)
{
    if (t->event == t->event_count) {
        return false;
    }
    t->day = (ts_date){t->events[t->event].day};
    t->changed_count = 0;
    for (; t->event < t->event_count && t->events[t->event].day == t->day.days; t->event++) {
        const size_t key = t->events[t->event].key;

        if (t->changed_count == 0 || t->changed[t->changed_count - 1] != key) {
            t->changed[t->changed_count++] = key;
            t->active[key] = row_of(&t->states[key], t->day);
        }
    }
    return true;
}
