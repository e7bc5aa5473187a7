#include <tallystone/base/hash.h>

#include <string.h>

/* One hash for the house's small tables. Keys that a stranger could choose to fall together
 * (the points of a mesh) are hashed with a seed, beside their table. */

uint64_t ts_hash_bytes(uint64_t hash, const void *bytes, size_t length)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < length; i++) {
        hash = ts_hash_word(hash, at[i]);
    }
    return hash;
}

uint64_t ts_hash_text(uint64_t hash, const char *text)
{
    return text == NULL ? hash : ts_hash_bytes(hash, text, strlen(text));
}
