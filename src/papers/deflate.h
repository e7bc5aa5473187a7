/* Bytes of a picture, packed: runs of one byte and a code made for them. */
#ifndef TS_PAPERS_DEFLATE_H
#define TS_PAPERS_DEFLATE_H

#include <stddef.h>
#include <stdint.h>

#include "papers/svg.h"

typedef struct ts_deflate ts_deflate;

/* Begins a stream in zlib's form (RFC 1950) that ts_deflate_end completes at the end of
 * `to`. In the arena of `to`: some 130 kB, whatever the picture. */
ts_deflate *ts_deflate_new(ts_bytes *to);
/* Adds bytes; they are not kept. */
void ts_deflate_add(ts_deflate *stream, const unsigned char *bytes, size_t length);
void ts_deflate_end(ts_deflate *stream);

#endif
