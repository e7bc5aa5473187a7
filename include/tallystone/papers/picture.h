/* A picture from outside: decoded and written anew, so that nothing but its pixels goes on. */
#ifndef TS_PAPERS_PICTURE_H
#define TS_PAPERS_PICTURE_H

#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>

typedef struct ts_picture {
    const unsigned char *png; /* arena */
    size_t length;
    int width_px, height_px;
} ts_picture;

/* Reads a PNG of at most 4000 pixels a side and encodes its pixels again: no text, no
 * palette, no profile of the original stays. TS_FAULTY with a sentence where it is none. */
ts_status ts_picture_read(ts_picture *out, ts_arena *arena, const char *png, size_t length,
                          ts_diag *diag) TS_MUST_USE;

#endif
