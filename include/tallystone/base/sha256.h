/* SHA-256 as FIPS 180-4 has it: seals papers, stored files and the chain of events. */
#ifndef TS_BASE_SHA256_H
#define TS_BASE_SHA256_H

#include <stddef.h>
#include <stdint.h>

#define TS_SHA256_TEXT 65 /* 64 hexadecimal digits and the end */

typedef struct ts_sha256 {
    uint32_t state[8];
    uint64_t length; /* bytes taken so far */
    unsigned char block[64];
} ts_sha256;

void ts_sha256_init(ts_sha256 *sha);
void ts_sha256_add(ts_sha256 *sha, const void *bytes, size_t length);
/* Ends the message; `text` (TS_SHA256_TEXT bytes) becomes its digest in lower-case
 * hexadecimal and is returned. */
char *ts_sha256_text(ts_sha256 *sha, char *text);
/* The digest of one piece of memory. */
char *ts_sha256_of(char *text, const void *bytes, size_t length);

#endif
