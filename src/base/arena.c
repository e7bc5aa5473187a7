#include <tallystone/base/arena.h>

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Blocks stand in a chain, newest first; an object is cut off the newest block or opens
 * a new one. A rewind frees the blocks newer than the mark but keeps one ordinary block
 * aside, so that a mark-work-rewind round (a row of `variants`) asks the system for no
 * memory. With -DTS_ARENA_DEBUG every object is a block of its own, of its exact size:
 * address checkers then see each overrun and each use after a rewind. */

#define ALIGNMENT _Alignof(max_align_t)

#ifdef TS_ARENA_DEBUG
#define BLOCK_BYTES ((size_t)0)
#else
#define BLOCK_BYTES ((size_t)64 << 10)
#endif

typedef struct block {
    struct block *older;
    size_t room;
    size_t used;
    _Alignas(max_align_t) unsigned char bytes[];
} block;

struct ts_arena {
    block *newest;
    block *spare; /* at most one, of BLOCK_BYTES */
    ts_no_memory_fn *no_memory;
    void *ctx;
};

static _Noreturn void give_up(ts_no_memory_fn *no_memory, void *ctx)
{
    if (no_memory != NULL) {
        no_memory(ctx);
    }
    abort();
}

_Noreturn void ts_arena_exhausted(const ts_arena *arena)
{
    give_up(arena->no_memory, arena->ctx);
}

ts_arena *ts_arena_new(ts_no_memory_fn *no_memory, void *ctx)
{
    ts_arena *arena = calloc(1, sizeof *arena);
    if (arena == NULL) {
        give_up(no_memory, ctx);
    }
    arena->no_memory = no_memory;
    arena->ctx = ctx;
    return arena;
}

ts_arena *ts_arena_beside(const ts_arena *arena)
{
    return ts_arena_new(arena->no_memory, arena->ctx);
}

void ts_arena_free(ts_arena *arena)
{
    if (arena == NULL) {
        return;
    }
    while (arena->newest != NULL) {
        block *older = arena->newest->older;
        free(arena->newest);
        arena->newest = older;
    }
    free(arena->spare);
    free(arena);
}

/* The newest block, once it has room for `bytes` more. */
static block *block_with_room(ts_arena *arena, size_t bytes)
{
    block *newest = arena->newest;
    if (BLOCK_BYTES > 0 && newest != NULL && newest->room - newest->used >= bytes) {
        return newest;
    }
    const size_t room = bytes > BLOCK_BYTES ? bytes : BLOCK_BYTES;
    block *fresh = arena->spare;
    if (fresh != NULL && fresh->room >= bytes) {
        arena->spare = NULL;
    } else {
        fresh = room > SIZE_MAX - sizeof *fresh ? NULL : malloc(sizeof *fresh + room);
        if (fresh == NULL) {
            give_up(arena->no_memory, arena->ctx);
        }
        fresh->room = room;
    }
    fresh->used = 0;
    fresh->older = newest;
    arena->newest = fresh;
    return fresh;
}

void *ts_arena_alloc(ts_arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX - ALIGNMENT) / size) {
        give_up(arena->no_memory, arena->ctx);
    }
    const size_t asked = count * size == 0 ? 1 : count * size;
    const size_t rounded = (asked + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    block *from = block_with_room(arena, BLOCK_BYTES == 0 ? asked : rounded);
    void *object = from->bytes + from->used;
    from->used += BLOCK_BYTES == 0 ? asked : rounded;
    return memset(object, 0, asked);
}

char *ts_arena_copy(ts_arena *arena, const char *text, size_t length)
{
    if (length == SIZE_MAX) {
        give_up(arena->no_memory, arena->ctx);
    }
    char *copy = ts_arena_alloc(arena, length + 1, 1);
    if (length > 0) {
        memcpy(copy, text, length);
    }
    return copy;
}

char *ts_arena_text(ts_arena *arena, const char *text)
{
    return ts_arena_copy(arena, text, strlen(text));
}

char *ts_arena_format(ts_arena *arena, const char *format, ...)
{
    assert(format != NULL);
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    char *text = NULL;
    if (length >= 0) {
        text = ts_arena_alloc(arena, (size_t)length + 1, 1);
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    if (text == NULL) { /* longer than an int can count */
        give_up(arena->no_memory, arena->ctx);
    }
    return text;
}

ts_arena_mark ts_arena_mark_of(ts_arena *arena)
{
    block *newest = arena->newest;
    return (ts_arena_mark){newest, newest == NULL ? 0 : newest->used};
}

void ts_arena_rewind(ts_arena *arena, ts_arena_mark mark)
{
    while (arena->newest != NULL && arena->newest != mark.block) {
        block *gone = arena->newest;
        arena->newest = gone->older;
        if (BLOCK_BYTES > 0 && gone->room == BLOCK_BYTES && arena->spare == NULL) {
            arena->spare = gone;
        } else {
            free(gone);
        }
    }
    if (arena->newest != NULL) {
        arena->newest->used = mark.used;
    }
}

void *ts_arena_grow(ts_arena *arena, void *array, size_t count, size_t *room, size_t size)
{
    if (count < *room) {
        return array;
    }
    if (*room > SIZE_MAX / 2) {
        give_up(arena->no_memory, arena->ctx);
    }
    const size_t wider = *room < 8 ? 16 : *room * 2;
    void *moved = ts_arena_alloc(arena, wider, size);
    if (count > 0) {
        memcpy(moved, array, count * size);
    }
    *room = wider;
    return moved;
}
