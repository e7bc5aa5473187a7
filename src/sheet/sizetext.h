/* Ring sizes as they are written: read in value.h's ts_ring_size_read, printed here. */
#ifndef TS_SHEET_SIZETEXT_H
#define TS_SHEET_SIZETEXT_H

#include <tallystone/words/field.h>

#define TS_SIZE_TEXT 64

/* "L 1/2", "Z+2", "6.5": the value that ts_ring_size_read reads back; "" for no system.
 * `buffer` holds TS_SIZE_TEXT bytes and is returned. */
char *ts_ring_size_text(char *buffer, ts_ring_size size);
/* What a size of the system looks like: "a letter such as L, L 1/2 or Z+1". */
const char *ts_size_example(ts_size_system system);

#endif
