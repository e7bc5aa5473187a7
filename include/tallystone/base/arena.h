/* Memory that is given out in order and dropped at once.
 *
 * Three lifetimes exist: the books' arena (whole run), a commission's arena, and the
 * scratch between a mark and its rewind. Nothing is freed singly. An arena never
 * answers NULL: when memory runs out it calls the handler given at its making, which
 * must not return (the command line cleans up, says so, and ends with 71). */
#ifndef TS_BASE_ARENA_H
#define TS_BASE_ARENA_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/status.h>

typedef struct ts_arena ts_arena;
typedef void ts_no_memory_fn(void *ctx);

typedef struct ts_arena_mark {
    void *block;
    size_t used;
} ts_arena_mark;

/* A new, empty arena; owns its blocks. `no_memory` must not return; NULL means abort().
 * ts_arena_free accepts NULL. */
ts_arena *ts_arena_new(ts_no_memory_fn *no_memory, void *ctx);
/* Another one that ends as this does when memory runs out. */
ts_arena *ts_arena_beside(const ts_arena *arena);
void ts_arena_free(ts_arena *arena);

/* Zeroed memory for `count` objects of `size` bytes, aligned for any type. */
void *ts_arena_alloc(ts_arena *arena, size_t count, size_t size);
/* Copies of text, NUL-terminated; not aligned. */
char *ts_arena_copy(ts_arena *arena, const char *text, size_t length);
char *ts_arena_text(ts_arena *arena, const char *text);
char *ts_arena_format(ts_arena *arena, const char *format, ...) TS_PRINTF(2, 3);

/* Ends as running out of memory does: for a library that ran out of its own. */
_Noreturn void ts_arena_exhausted(const ts_arena *arena);

/* What was given out after the mark may be used again after the rewind. */
ts_arena_mark ts_arena_mark_of(ts_arena *arena);
void ts_arena_rewind(ts_arena *arena, ts_arena_mark mark);

/* Does the arena hold this place? Asks each of its blocks. */
bool ts_arena_holds(const ts_arena *arena, const void *place);
/* Bytes given out and not rewound. */
size_t ts_arena_bytes(const ts_arena *arena);

#define TS_NEW(arena, type) ((type *)ts_arena_alloc((arena), 1, sizeof(type)))
#define TS_ARRAY(arena, type, count) ((type *)ts_arena_alloc((arena), (count), sizeof(type)))

/* Makes room for one more element in a growing array of the arena: doubles `*room`
 * and moves the elements when `count` has reached it. Returns the array's new place. */
void *ts_arena_grow(ts_arena *arena, void *array, size_t count, size_t *room, size_t size);

#endif
