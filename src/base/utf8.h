/* UTF-8 a character at a time (RFC 3629): for text, faults and the CSV reader. */
#ifndef TS_BASE_UTF8_PRIVATE_H
#define TS_BASE_UTF8_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define TS_UTF8_BROKEN UINT32_MAX

/* Bytes that the character at the start of `text` takes (1 to 4; `length` > 0), its code
 * point in *code. Where no well-formed character stands: 1, and *code TS_UTF8_BROKEN. */
size_t ts_utf8_next(uint32_t *code, const char *text, size_t length);

/* True for what no reader lets in: TS_UTF8_BROKEN, control characters save tab, LF and
 * CR, bidirectional embeddings, overrides and isolates, noncharacters. */
bool ts_utf8_refused(uint32_t code);

/* True for that and for what is let in and leaves no trace: soft hyphens, spaces without width,
 * joiners of words, byte-order marks inside a text, tags. Two words may differ in it alone. */
bool ts_utf8_unseen(uint32_t code);

/* Columns on a terminal: 0 for combining and invisible, 2 for wide characters, else 1. */
int ts_utf8_width(uint32_t code);

/* Bytes that a blank (space, tab, no-break spaces) takes at the start of `text`, or 0. */
size_t ts_utf8_blank(const char *text);
/* The same for a blank that ends where `length` bytes of `text` do. */
size_t ts_utf8_blank_before(const char *text, size_t length);

#endif
