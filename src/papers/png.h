/* A picture in greys as a PNG. */
#ifndef TS_PAPERS_PNG_H
#define TS_PAPERS_PNG_H

#include <stdbool.h>
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

/* Dots of a PNG and dots to the inch, across and down. */
typedef struct ts_png_size {
    double dots[2], dpi[2];
} ts_png_size;

/* What a PNG says of itself, as the workbook library reads it: the resolution from a pHYs
 * chunk right behind the header chunk, else 96 (ISO/IEC 15948, 11.2.2 and 11.3.4.3). False for
 * what has no header or no dots. */
bool ts_png_size_of(ts_png_size *out, const unsigned char *png, size_t length) TS_MUST_USE;

#endif
