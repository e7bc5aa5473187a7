/* FNV-1a in 64 bits: which slot of a table, never whether two things are the same.
 *
 * Fowler, Noll and Vo's hash; offset basis and prime as in the IETF's draft-eastlake-fnv. */
#ifndef TS_BASE_HASH_H
#define TS_BASE_HASH_H

#include <stddef.h>
#include <stdint.h>

#define TS_HASH_NONE UINT64_C(0xcbf29ce484222325) /* of nothing: where each begins */

/* One step more. A whole word at once is the same step over another alphabet. */
static inline uint64_t ts_hash_word(uint64_t hash, uint64_t word)
{
    return (hash ^ word) * UINT64_C(0x100000001b3);
}

/* Goes on with `length` bytes, and with a text without its NUL; NULL is the empty text. */
uint64_t ts_hash_bytes(uint64_t hash, const void *bytes, size_t length);
uint64_t ts_hash_text(uint64_t hash, const char *text);

#endif
