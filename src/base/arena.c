/* The C library declares madvise under this name. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier) */
#include <tallystone/base/arena.h>

#include <tallystone/base/decimal.h>

#include <assert.h>
#include <limits.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

/* Blocks stand in a chain, newest first; an object is cut off the newest block or opens
 * a new one. A rewind keeps the ordinary blocks newer than the mark aside, up to a limit,
 * so that a mark-work-rewind round (a row of `variants`) asks the system for no memory. A
 * large object (a mesh, its tables) has a block of its own, which is never used again: the
 * system's zeros do, pages that are never written are never there, and it is asked for large
 * pages, for a page at a time costs more than what is done with it. With -DTS_ARENA_DEBUG every
 * object is a block of its own, of its exact size: address checkers then see each overrun and
 * each use after a rewind. */

#define ALIGNMENT _Alignof(max_align_t)

#ifdef TS_ARENA_DEBUG
#define BLOCK_BYTES ((size_t)0)
#else
#define BLOCK_BYTES ((size_t)64 << 10)
#endif
#define LARGE_PAGE ((size_t)2 << 20)
#define PAGE ((size_t)4096) /* at least; where they are larger the wish is not granted */

#define MOST_SPARE ((size_t)4 << 20)

typedef struct block {
    struct block *older;
    size_t room;
    size_t used;
    bool is_zero; /* behind `used` */
    _Alignas(max_align_t) unsigned char bytes[];
} block;

struct ts_arena {
    block *newest;
    block *spare; /* kept aside, of BLOCK_BYTES each */
    size_t spare_bytes;
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
    while (arena->spare != NULL) {
        block *older = arena->spare->older;
        free(arena->spare);
        arena->spare = older;
    }
    free(arena);
}

/* A wish: where it is refused, all stays as it was. Only pages that lie wholly inside are
 * asked for, so that nothing grows by them. */
static void ask_for_large_pages(void *memory, size_t bytes)
{
#ifdef MADV_HUGEPAGE
    const size_t skipped = LARGE_PAGE - (uintptr_t)memory % LARGE_PAGE;
    if (bytes >= skipped + LARGE_PAGE) {
        const size_t whole = (bytes - skipped) / LARGE_PAGE * LARGE_PAGE;
        (void)madvise((unsigned char *)memory + skipped, whole, MADV_HUGEPAGE);
    }
#else
    (void)memory;
    (void)bytes;
#endif
}

/* A block that follows another will be filled: its pages are asked for at once, for sixteen
 * interruptions cost more than one call. A wish, too. */
static void ask_for_pages(void *memory, size_t bytes)
{
#ifdef MADV_POPULATE_WRITE
    const size_t before = (uintptr_t)memory % PAGE;
    const size_t pages = (before + bytes + PAGE - 1) / PAGE;
    (void)madvise((unsigned char *)memory - before, pages * PAGE, MADV_POPULATE_WRITE);
#else
    (void)memory;
    (void)bytes;
#endif
}

static block *new_block(size_t room, bool is_first)
{
    if (room > SIZE_MAX - sizeof(block)) {
        return NULL;
    }
    const size_t bytes = sizeof(block) + room;
    const bool is_large = room > BLOCK_BYTES;
    block *fresh = is_large ? calloc(1, bytes) : malloc(bytes);
    if (fresh == NULL) {
        return NULL;
    }
    if (is_large) {
        ask_for_large_pages(fresh, bytes);
    } else if (!is_first && BLOCK_BYTES > 0) {
        ask_for_pages(fresh, bytes);
    }
    fresh->is_zero = is_large;
    return fresh;
}

static size_t aligned(size_t used, size_t alignment)
{
    return (used + alignment - 1) / alignment * alignment;
}

/* The newest block, once `bytes` more fit into it from where the next object may begin, and
 * there its end. */
static block *block_with_room(ts_arena *arena, size_t bytes, size_t alignment)
{
    block *newest = arena->newest;
    if (BLOCK_BYTES > 0 && newest != NULL) {
        const size_t start = aligned(newest->used, alignment);
        if (start <= newest->room && newest->room - start >= bytes) {
            newest->used = start;
            return newest;
        }
    }
    const size_t room = bytes > BLOCK_BYTES ? bytes : BLOCK_BYTES;
    block *fresh = arena->spare;
    if (fresh != NULL && fresh->room >= bytes) {
        arena->spare = fresh->older;
        arena->spare_bytes -= fresh->room;
    } else {
        fresh = new_block(room, newest == NULL);
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
    block *from = block_with_room(arena, asked, ALIGNMENT);
    void *object = from->bytes + from->used;
    from->used += asked;
    return from->is_zero ? object : memset(object, 0, asked);
}

/* Texts stand one behind the other; they are most of what books and sheets take. */
char *ts_arena_copy(ts_arena *arena, const char *text, size_t length)
{
    if (length == SIZE_MAX) {
        give_up(arena->no_memory, arena->ctx);
    }
    block *from = block_with_room(arena, length + 1, 1);
    char *copy = (char *)from->bytes + from->used;
    from->used += length + 1;
    if (length > 0) {
        memcpy(copy, text, length);
    }
    copy[length] = '\0';
    return copy;
}

char *ts_arena_text(ts_arena *arena, const char *text)
{
    return ts_arena_copy(arena, text, strlen(text));
}

/* A format of words and whole numbers alone, as nearly all are that come by the thousand, joined;
 * false where it has anything else or does not fit `left`. */
static bool join(int *length, char *text, size_t left, const char *format, va_list words)
{
    size_t used = 0;
    for (; *format != '\0'; format++) {
        char digits[TS_DECIMAL_TEXT];
        const char *piece = format;
        size_t size = 1;
        if (*format == '%' && *++format == 'd') {
            const ts_dec number = {(int64_t)va_arg(words, int) * 1000000};
            piece = digits;
            size = (size_t)(ts_dec_put(digits, number) - digits);
        } else if (piece != format) {
            piece = *format == 's' ? va_arg(words, const char *) : NULL;
            if (piece == NULL) {
                return false;
            }
            size = strlen(piece);
        }
        if (size >= left - used || used + size > INT_MAX) {
            return false;
        }
        memcpy(text + used, piece, size);
        used += size;
    }
    if (used < left) {
        text[used] = '\0';
    }
    *length = (int)used;
    return used < left;
}

/* Written straight into what the newest block has left; again where that is too little. */
char *ts_arena_format(ts_arena *arena, const char *format, ...)
{
    assert(format != NULL);
    block *newest = arena->newest;
    char *text = newest == NULL ? NULL : (char *)newest->bytes + newest->used;
    const size_t left = newest == NULL ? 0 : newest->room - newest->used;
    va_list arguments;
    va_start(arguments, format);
    va_list again, words;
    va_copy(again, arguments);
    va_copy(words, arguments);
    int length = 0;
    if (!join(&length, text, left, format, words)) {
        length = vsnprintf(text, left, format, arguments);
    }
    va_end(words);
    va_end(arguments);
    text = NULL;
    if (length >= 0) {
        const size_t whole = (size_t)length + 1;
        if (BLOCK_BYTES > 0 && newest != NULL && whole <= left) {
            text = (char *)newest->bytes + newest->used;
            newest->used += whole;
        } else {
            text = ts_arena_alloc(arena, whole, 1);
            vsnprintf(text, whole, format, again);
        }
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
        if (BLOCK_BYTES > 0 && gone->room == BLOCK_BYTES && arena->spare_bytes < MOST_SPARE) {
            gone->older = arena->spare;
            arena->spare = gone;
            arena->spare_bytes += gone->room;
        } else {
            free(gone);
        }
    }
    if (arena->newest != NULL && arena->newest->used != mark.used) {
        arena->newest->used = mark.used;
        arena->newest->is_zero = false;
    }
}

bool ts_arena_holds(const ts_arena *arena, const void *place)
{
    const uintptr_t at = (uintptr_t)place;
    for (const block *one = arena->newest; one != NULL; one = one->older) {
        const uintptr_t from = (uintptr_t)one->bytes;
        if (at >= from && at - from < one->used) {
            return true;
        }
    }
    return false;
}

size_t ts_arena_bytes(const ts_arena *arena)
{
    size_t bytes = 0;
    for (const block *one = arena->newest; one != NULL; one = one->older) {
        bytes += one->used;
    }
    return bytes;
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
