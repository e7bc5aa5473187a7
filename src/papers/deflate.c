#include "papers/deflate.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Why this file exists: a line drawing is mostly one byte after its like. A packer that looks
 * for nothing but such runs takes a tenth of the general one's time, packs a drawing as well,
 * and the workbook, which is packed again, loses nothing by it.
 *
 * The form is RFC 1951: blocks of tokens, each with Huffman codes of its own (3.2.7). A run is
 * its first byte and then matches of distance 1. */

enum {
    TOKENS = 65536,  /* a block's */
    RUN_FIRST = 256, /* tokens from here on are runs: 256 for a run of 3 */
    RUN_LEAST = 3,
    RUN_MOST = 258,
    KINDS = RUN_FIRST + RUN_MOST - RUN_LEAST + 1,
    WORTH = 4, /* bytes alike that are written as a run */
    END_OF_BLOCK = 256,
    LITERALS = 286,
    LENGTHS = 19, /* symbols that tell code lengths */
    MOST_SYMBOLS = LITERALS
};

#define HELD 4096 /* packed bytes that wait for their place among the others */

struct ts_deflate {
    ts_bytes *to;
    uint64_t bits;
    unsigned bit_count;
    uint64_t sum_a, sum_b; /* of the check sum; reduced now and then */
    int count;
    size_t held;
    char out[HELD];
    uint16_t tokens[TOKENS];
};

/* ---- bits, least significant first ---- */

static void let_go(ts_deflate *d)
{
    ts_bytes_add(d->to, d->out, d->held);
    d->held = 0;
}

/* At most 32 bits at a time. */
static inline void put_bits(ts_deflate *d, uint32_t value, unsigned count)
{
    d->bits |= (uint64_t)value << d->bit_count;
    d->bit_count += count;
    if (d->bit_count >= 32) {
        if (d->held + 4 > HELD) {
            let_go(d);
        }
        for (int i = 0; i < 4; i++) {
            d->out[d->held++] = (char)(d->bits >> (8 * i) & 0xffu);
        }
        d->bits >>= 32;
        d->bit_count -= 32;
    }
}

static void end_bits(ts_deflate *d)
{
    let_go(d);
    while (d->bit_count > 0) {
        d->out[d->held++] = (char)(d->bits & 0xffu);
        d->bits >>= 8;
        d->bit_count -= d->bit_count < 8 ? d->bit_count : 8;
    }
    let_go(d);
}

/* ---- codes ---- */

typedef struct code {
    uint8_t length[MOST_SYMBOLS];
    uint16_t word[MOST_SYMBOLS]; /* its bits in the order in which they are sent */
} code;

typedef struct node {
    uint32_t weight;
    int symbol; /* -1: made of two others */
    int parent;
} node;

static int by_weight(const void *one, const void *other)
{
    const node *a = one, *b = other;
    if (a->weight != b->weight) {
        return a->weight < b->weight ? -1 : 1;
    }
    return a->symbol - b->symbol;
}

/* The lighter of the next leaf and the next made node. */
static int lightest(const node *nodes, int *leaf, int leaves, int *made, int made_end)
{
    if (*leaf < leaves && (*made >= made_end || nodes[*leaf].weight <= nodes[*made].weight)) {
        return (*leaf)++;
    }
    return (*made)++;
}

/* Lengths of a Huffman code for these weights, those of weight 0 without one; the longest.
 * Source: D. A. Huffman, "A method for the construction of minimum-redundancy codes", 1952,
 * with two queues, leaves in order of weight. */
static int huffman(uint8_t *lengths, const uint32_t *weights, int symbols)
{
    node nodes[2 * MOST_SYMBOLS] = {{0}};
    int leaves = 0, longest = 0;
    for (int s = 0; s < symbols; s++) {
        lengths[s] = 0;
        if (weights[s] > 0) {
            nodes[leaves++] = (node){weights[s], s, -1};
        }
    }
    qsort(nodes, (size_t)leaves, sizeof *nodes, by_weight);
    int leaf = 0, made = leaves, end = leaves;
    while (end < 2 * leaves - 1) {
        int one = lightest(nodes, &leaf, leaves, &made, end);
        int other = lightest(nodes, &leaf, leaves, &made, end);
        nodes[end] = (node){nodes[one].weight + nodes[other].weight, -1, -1};
        nodes[one].parent = end;
        nodes[other].parent = end++;
    }
    for (int i = 0; i < leaves; i++) {
        int length = leaves == 1 ? 1 : 0;
        for (int at = nodes[i].parent; at >= 0; at = nodes[at].parent) {
            length++;
        }
        lengths[nodes[i].symbol] = (uint8_t)length;
        longest = length > longest ? length : longest;
    }
    return longest;
}

static uint16_t reversed(uint32_t word, int length)
{
    uint32_t out = 0;
    for (int i = 0; i < length; i++) {
        out = out << 1 | (word >> i & 1u);
    }
    return (uint16_t)out;
}

/* A code no word of which is longer than `most` bits: weights are made more alike until it
 * is. Words by RFC 1951, 3.2.2. `weights` is used up. */
static void make_code(code *out, uint32_t *weights, int symbols, int most)
{
    while (huffman(out->length, weights, symbols) > most) {
        for (int s = 0; s < symbols; s++) {
            weights[s] = weights[s] == 0 ? 0 : weights[s] / 2 + 1;
        }
    }
    uint32_t word = 0;
    for (int length = 1; length <= most; length++) {
        word <<= 1;
        for (int s = 0; s < symbols; s++) {
            if (out->length[s] == length) {
                out->word[s] = reversed(word++, length);
            }
        }
    }
}

/* ---- blocks ---- */

/* Symbol and further bits of a run's length: RFC 1951, 3.2.5. */
static int run_symbol(int length, unsigned *extra_bits, uint32_t *extra)
{
    unsigned high = 0;
    if (length == RUN_MOST) {
        *extra_bits = 0;
        *extra = 0;
        return 285;
    }
    unsigned over = (unsigned)(length - RUN_LEAST);
    while (over >> (high + 3) != 0) {
        high++; /* 8 to 15: one further bit, 16 to 31: two, ... */
    }
    *extra_bits = high > 0 ? high : 0;
    *extra = over & ((1u << *extra_bits) - 1u);
    return 257 + (int)(high > 0 ? 4 * high + (over >> *extra_bits) : over);
}

static void put_codes(ts_deflate *d, const code *literals, bool has_runs)
{
    static const uint8_t order[LENGTHS] = {16, 17, 18, 0, 8,  7, 9,  6, 10, 5,
                                           11, 4,  12, 3, 13, 2, 14, 1, 15};
    uint32_t weights[LENGTHS] = {0};
    code lengths;
    for (int s = 0; s < LITERALS; s++) {
        weights[literals->length[s]]++;
    }
    weights[has_runs ? 1 : 0]++;
    make_code(&lengths, weights, LENGTHS, 7);
    put_bits(d, LITERALS - 257, 5);
    put_bits(d, 0, 5); /* one distance */
    put_bits(d, LENGTHS - 4, 4);
    for (int i = 0; i < LENGTHS; i++) {
        put_bits(d, lengths.length[order[i]], 3);
    }
    for (int s = 0; s < LITERALS; s++) {
        put_bits(d, lengths.word[literals->length[s]], lengths.length[literals->length[s]]);
    }
    int distance = has_runs ? 1 : 0;
    put_bits(d, lengths.word[distance], lengths.length[distance]);
}

/* What is sent for a token: at most 21 bits. */
typedef struct sent {
    uint32_t bits;
    unsigned count;
} sent;

static sent sent_for(const code *literals, int token)
{
    unsigned extra_bits;
    uint32_t extra;
    if (token < RUN_FIRST) {
        return (sent){literals->word[token], literals->length[token]};
    }
    int symbol = run_symbol(token - RUN_FIRST + RUN_LEAST, &extra_bits, &extra);
    unsigned length = literals->length[symbol];
    /* and the one distance there is: a bit, 0 */
    return (sent){literals->word[symbol] | extra << length, length + extra_bits + 1};
}

/* How often each symbol is sent in a block; whether a run is. */
static bool weigh(uint32_t *weights, const ts_deflate *d)
{
    unsigned extra_bits;
    uint32_t extra, times[KINDS] = {0};
    bool has_runs = false;
    for (int i = 0; i < d->count; i++) {
        times[d->tokens[i]]++;
    }
    memcpy(weights, times, RUN_FIRST * sizeof *weights);
    weights[END_OF_BLOCK] = 1;
    for (int token = RUN_FIRST; token < KINDS; token++) {
        has_runs = has_runs || times[token] > 0;
        weights[run_symbol(token - RUN_FIRST + RUN_LEAST, &extra_bits, &extra)] += times[token];
    }
    return has_runs;
}

static void put_block(ts_deflate *d, bool is_last)
{
    uint32_t weights[LITERALS] = {0};
    sent sents[KINDS];
    code literals;
    bool has_runs = weigh(weights, d);
    make_code(&literals, weights, LITERALS, 15);
    put_bits(d, is_last ? 1 : 0, 1);
    put_bits(d, 2, 2); /* codes of its own */
    put_codes(d, &literals, has_runs);
    for (int token = 0; token < KINDS; token++) {
        sents[token] = sent_for(&literals, token);
    }
    for (int i = 0; i < d->count; i++) {
        const sent *one = &sents[d->tokens[i]];
        put_bits(d, one->bits, one->count);
    }
    put_bits(d, literals.word[END_OF_BLOCK], literals.length[END_OF_BLOCK]);
    d->count = 0;
}

/* ---- tokens ---- */

static inline void put_token(ts_deflate *d, int token)
{
    if (d->count == TOKENS) {
        put_block(d, false);
    }
    d->tokens[d->count++] = (uint16_t)token;
}

/* How many bytes from here on are like the first. */
static size_t alike(const unsigned char *bytes, size_t length)
{
    size_t count = 1;
    uint64_t pattern = bytes[0] * UINT64_C(0x0101010101010101), eight;
    while (count + sizeof eight <= length) {
        memcpy(&eight, bytes + count, sizeof eight);
        if (eight != pattern) {
            break;
        }
        count += sizeof eight;
    }
    while (count < length && bytes[count] == bytes[0]) {
        count++;
    }
    return count;
}

static void put_run(ts_deflate *d, unsigned char byte, size_t count)
{
    put_token(d, byte);
    for (size_t left = count - 1; left > 0;) {
        size_t take = left < RUN_MOST ? left : RUN_MOST;
        if (left < RUN_LEAST) {
            put_token(d, byte);
            left--;
            continue;
        }
        put_token(d, RUN_FIRST + (int)take - RUN_LEAST);
        left -= take;
    }
}

/* Adler-32 over `count` bytes alike: RFC 1950, 8.2, its sums in closed form. */
static void add_sum(ts_deflate *d, unsigned char byte, size_t count)
{
    uint64_t n = count;
    d->sum_b += n * d->sum_a + byte * (n * (n + 1) / 2);
    d->sum_a += n * byte;
}

static void reduce_sums(ts_deflate *d)
{
    enum { BASE = 65521 };
    d->sum_a %= BASE;
    d->sum_b %= BASE;
}

/* Bytes after which the sums are still far from 2^64. */
#define STRETCH ((size_t)1 << 16)

static void add_stretch(ts_deflate *d, const unsigned char *bytes, size_t length)
{
    for (size_t at = 0; at < length;) {
        if (at + 1 < length && bytes[at] != bytes[at + 1]) {
            d->sum_a += bytes[at];
            d->sum_b += d->sum_a;
            put_token(d, bytes[at++]);
            continue;
        }
        size_t count = alike(bytes + at, length - at);
        add_sum(d, bytes[at], count);
        if (count >= WORTH) {
            put_run(d, bytes[at], count);
        } else {
            for (size_t i = 0; i < count; i++) {
                put_token(d, bytes[at]);
            }
        }
        at += count;
    }
    reduce_sums(d);
}

void ts_deflate_add(ts_deflate *stream, const unsigned char *bytes, size_t length)
{
    for (size_t at = 0; at < length; at += STRETCH) {
        add_stretch(stream, bytes + at, length - at < STRETCH ? length - at : STRETCH);
    }
}

ts_deflate *ts_deflate_new(ts_bytes *to)
{
    static const char head[] = {0x78, 0x01}; /* RFC 1950, 2.2 */
    ts_deflate *stream = TS_NEW(to->arena, ts_deflate);
    stream->to = to;
    stream->sum_a = 1;
    ts_bytes_add(to, head, sizeof head);
    return stream;
}

void ts_deflate_end(ts_deflate *stream)
{
    put_block(stream, true);
    end_bits(stream);
    const uint32_t sum = (uint32_t)(stream->sum_b << 16 | stream->sum_a);
    for (int i = 0; i < 4; i++) {
        char out = (char)(sum >> (24 - 8 * i) & 0xffu);
        ts_bytes_add(stream->to, &out, 1);
    }
}
