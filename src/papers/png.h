/* A picture in greys as a PNG. */
#ifndef TS_PAPERS_PNG_H
#define TS_PAPERS_PNG_H

#include <stdint.h>

#include "papers/svg.h"

/* Greys, a byte a dot, 0 black to 255 white; rows from the top, `stride` bytes apart. */
typedef struct ts_greys {
    const unsigned char *at;
    int width, height;
    int stride;
    uint32_t dots_per_metre;
} ts_greys;

/* Writes them in sixteen greys, with the resolution (pHYs) right behind the header. */
void ts_png_write(ts_bytes *to, const ts_greys *greys);

#endif
