#include <tallystone/base/sha256.h>

#include <string.h>

/* Written from FIPS 180-4 (August 2015): section 4.1.2 the functions, 4.2.2 the constants,
 * 5.3.3 the initial value, 6.2.2 the computation. Bytes are put together by shifts, so the
 * digest is the same on every processor. */

static const uint32_t constants[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static const uint32_t initial[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                    0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};

static uint32_t turn(uint32_t x, int by)
{
    return x >> by | x << (32 - by);
}

static void schedule(uint32_t *w, const unsigned char *block)
{
    for (int t = 0; t < 16; t++) {
        const unsigned char *at = block + (ptrdiff_t)t * 4;
        w[t] = (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
    }
    for (int t = 16; t < 64; t++) {
        const uint32_t small0 = turn(w[t - 15], 7) ^ turn(w[t - 15], 18) ^ w[t - 15] >> 3;
        const uint32_t small1 = turn(w[t - 2], 17) ^ turn(w[t - 2], 19) ^ w[t - 2] >> 10;
        w[t] = small1 + w[t - 7] + small0 + w[t - 16];
    }
}

static void take_block(ts_sha256 *sha)
{
    uint32_t w[64];
    uint32_t v[8]; /* a to h */

    schedule(w, sha->block);
    memcpy(v, sha->state, sizeof v);
    for (int t = 0; t < 64; t++) {
        const uint32_t big1 = turn(v[4], 6) ^ turn(v[4], 11) ^ turn(v[4], 25);
        const uint32_t choice = (v[4] & v[5]) ^ (~v[4] & v[6]);
        const uint32_t one = v[7] + big1 + choice + constants[t] + w[t];
        const uint32_t big0 = turn(v[0], 2) ^ turn(v[0], 13) ^ turn(v[0], 22);
        const uint32_t most = (v[0] & v[1]) ^ (v[0] & v[2]) ^ (v[1] & v[2]);
        memmove(v + 1, v, 7 * sizeof *v);
        v[4] += one;
        v[0] = one + big0 + most;
    }
    for (int i = 0; i < 8; i++) {
        sha->state[i] += v[i];
    }
}

void ts_sha256_init(ts_sha256 *sha)
{
    memcpy(sha->state, initial, sizeof sha->state);
    memset(sha->block, 0, sizeof sha->block);
    sha->length = 0;
}

void ts_sha256_add(ts_sha256 *sha, const void *bytes, size_t length)
{
    const unsigned char *from = bytes;

    while (length > 0) {
        const size_t used = (size_t)(sha->length % sizeof sha->block);
        const size_t room = sizeof sha->block - used;
        const size_t part = length < room ? length : room;
        memcpy(sha->block + used, from, part);
        sha->length += part;
        from += part;
        length -= part;
        if (part == room) {
            take_block(sha);
        }
    }
}

char *ts_sha256_text(ts_sha256 *sha, char *text)
{
    static const char digits[] = "0123456789abcdef";
    const uint64_t bits = sha->length * 8;
    unsigned char end[8];

    for (int i = 0; i < 8; i++) {
        end[i] = (unsigned char)(bits >> (56 - 8 * i));
    }
    ts_sha256_add(sha, "\x80", 1);
    while (sha->length % sizeof sha->block != 56) {
        ts_sha256_add(sha, "", 1);
    }
    ts_sha256_add(sha, end, sizeof end);
    for (int i = 0; i < 64; i++) {
        text[i] = digits[sha->state[i / 8] >> (28 - 4 * (i % 8)) & 15];
    }
    text[64] = '\0';
    return text;
}

char *ts_sha256_of(char *text, const void *bytes, size_t length)
{
    ts_sha256 sha;

    ts_sha256_init(&sha);
    ts_sha256_add(&sha, bytes, length);
    return ts_sha256_text(&sha, text);
}
