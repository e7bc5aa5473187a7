/* A memory of what was worked out before, found again by exact bytes.
 *
 * Fixed slots, two places for each key; the one asked for longer ago gives way. A key is put
 * together piece by piece; what belongs to it lies behind it in the slot, each piece aligned
 * to eight bytes. */
#ifndef TS_BASE_SLOTS_H
#define TS_BASE_SLOTS_H

#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/arena.h>

typedef struct ts_slots ts_slots;

/* `count` (even) slots of `bytes` (a multiple of 8) each, key and pieces together. */
ts_slots *ts_slots_new(ts_arena *arena, size_t count, size_t bytes);

/* Begins a key; adds to it. Padding must be put as zeros, or not at all. */
void ts_slots_begin(ts_slots *slots);
void ts_slots_put(ts_slots *slots, const void *bytes, size_t count);
void ts_slots_put_int(ts_slots *slots, int number);
void ts_slots_put_text(ts_slots *slots, const char *text); /* NULL is not "" */

/* Ends the key. The first piece of the slot that has it, good until the next _keep; NULL
 * where none has it. */
char *ts_slots_find(ts_slots *slots);
/* Of the key that was looked for last. */
uint64_t ts_slots_hash(const ts_slots *slots);
/* Where a piece lies, `*at` being moved on to the next. */
void *ts_slots_next(char **at, size_t bytes);

/* Gives the key that was looked for last a slot; then pieces are added in order, and answered
 * where they lie. NULL where the key or a piece does not fit: nothing is kept of it then. */
void ts_slots_keep(ts_slots *slots);
void *ts_slots_add(ts_slots *slots, const void *piece, size_t bytes);
char *ts_slots_add_text(ts_slots *slots, const char *text);
/* Gives up what is being kept. */
void ts_slots_drop(ts_slots *slots);

typedef struct ts_slots_counts {
    uint64_t asked, found;
} ts_slots_counts;
ts_slots_counts ts_slots_counts_of(const ts_slots *slots);

#endif
