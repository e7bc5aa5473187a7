#include <tallystone/base/reserve.h>

#include <malloc.h>
#include <stdbool.h>
#include <stdlib.h>

/* The C library keeps at its heap's end what was taken and given back, up to a threshold. So a
 * reserve that is taken and given back at once is there when a library asks, and an exhausted
 * machine or a limit shows here, where it can be said, instead of there, where it is a crash. The
 * pages are only promised: nothing is touched. The threshold also spares the price of a heap
 * that is given back at each free and fetched again, most of a workbook's time. */

enum { PIECES = 4, PIECE_BYTES = 8 << 20, KEPT_BYTES = 64 << 20 };

void ts_reserve(const ts_arena *arena)
{
    void *pieces[PIECES];
    int count = 0;
#ifdef __GLIBC__
    mallopt(M_MMAP_THRESHOLD, 2 * PIECE_BYTES); /* the pieces, too, come off the heap */
    mallopt(M_TRIM_THRESHOLD, KEPT_BYTES);
#endif
    while (count < PIECES && (pieces[count] = malloc(PIECE_BYTES)) != NULL) {
        count++;
    }
    const bool enough = count == PIECES;
    while (count > 0) {
        free(pieces[--count]);
    }
    if (!enough) {
        ts_arena_exhausted(arena);
    }
}
