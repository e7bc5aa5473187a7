#include "desk/banded.h"

#include <string.h>

/* Rings are kept by the bytes of their steady cells: equal bytes are the same ring but for its
 * band, whatever hash found them.
 *
 * A ring that is kept takes the long way, which rows that pass need not, and pays for it only
 * where others follow that are bent; so it is built at a later sight of its cells. Where one is
 * dropped before it has paid, cells must be met more often. */

#define MOST_KEPT 32
#define MOST_KEY 512
#define SIGHTS 1024
#define LEAST_SIGHTS 2
#define MOST_SIGHTS 64
#define WORTH 16 /* rows bent that pay for a ring */

typedef struct kept {
    ts_arena *arena;
    ts_arena_mark empty; /* with `variant` and `key` in it, without a ring */
    ts_variant *variant; /* its own: the design points into its rows */
    char *key;
    size_t key_length; /* 0: no ring */
    uint64_t used, bent;
    ts_built ring;
} kept;

/* How often cells were met that have no ring; of two of one place the later count. */
typedef struct sight {
    uint32_t hash, times;
} sight;

struct ts_banded {
    const ts_variant_columns *columns;
    ts_no_memory_fn *no_memory;
    void *no_memory_ctx;
    ts_build_fn *build;
    void *build_ctx;
    kept rings[MOST_KEPT];
    uint64_t hashes[MOST_KEPT]; /* of the rings' keys; apart, for all are looked at */
    char key[MOST_KEY + 8];     /* of the row in hand */
    sight seen[SIGHTS];
    uint32_t sights; /* that a ring takes */
    uint64_t clock, stamps, bent, built;
};

/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): a callback and its context */
ts_banded *ts_banded_new(ts_arena *arena, const ts_variant_columns *columns,
                         ts_no_memory_fn *no_memory, void *ctx)
{
    ts_banded *banded = TS_NEW(arena, ts_banded);

    banded->columns = columns;
    banded->no_memory = no_memory;
    banded->no_memory_ctx = ctx;
    banded->sights = LEAST_SIGHTS;
    return banded;
}

void ts_banded_free(ts_banded *banded)
{
    for (int i = 0; i < MOST_KEPT; i++) {
        ts_arena_free(banded->rings[i].arena);
        banded->rings[i].arena = NULL;
    }
}

void ts_banded_builds(ts_banded *banded, ts_build_fn *build, void *ctx)
{
    banded->build = build;
    banded->build_ctx = ctx;
}

void ts_banded_counts(const ts_banded *banded, uint64_t *bent, uint64_t *built)
{
    *bent = banded->bent;
    *built = banded->built;
}

/* Eight bytes at a time, the last of them filled up with nothing in the key's own room. */
static uint64_t hash_of(char *key, size_t length)
{
    uint64_t hash = length, word = 0;

    memcpy(key + length, &word, sizeof word);
    for (size_t at = 0; at < length; at += sizeof word) {
        memcpy(&word, key + at, sizeof word);
        hash = (hash ^ word) * UINT64_C(0x9e3779b97f4a7c15);
        hash ^= hash >> 32;
    }
    return hash;
}

static kept *find(ts_banded *banded, const char *key, size_t length, uint64_t hash)
{
    for (int i = 0; i < MOST_KEPT; i++) {
        kept *ring = &banded->rings[i];
        if (banded->hashes[i] == hash && ring->key_length == length &&
            memcmp(ring->key, key, length) == 0) {
            ring->used = ++banded->clock;
            return ring;
        }
    }
    return NULL;
}

/* The times that cells were met; begins anew where others stand in their place. */
static uint32_t *times_met(ts_banded *banded, uint64_t hash)
{
    sight *at = &banded->seen[hash % SIGHTS];
    const uint32_t tag = (uint32_t)(hash >> 32);

    if (at->hash != tag) {
        *at = (sight){tag, 0};
    }
    return &at->times;
}

static void weigh_dropped(ts_banded *banded, const kept *ring)
{
    if (ring->bent < WORTH) {
        banded->sights *= banded->sights < MOST_SIGHTS ? 2 : 1;
    } else if (banded->sights > LEAST_SIGHTS) {
        banded->sights /= 2;
    }
}

/* A place for a ring: a free one, or that of the least recently used. */
static kept *place(ts_banded *banded)
{
    kept *oldest = &banded->rings[0];

    for (int i = 1; i < MOST_KEPT && oldest->key_length > 0; i++) {
        kept *ring = &banded->rings[i];
        if (ring->key_length == 0 || ring->used < oldest->used) {
            oldest = ring;
        }
    }
    if (oldest->arena == NULL) {
        oldest->arena = ts_arena_new(banded->no_memory, banded->no_memory_ctx);
        oldest->variant = ts_variant_new(oldest->arena, banded->columns);
        oldest->key = ts_arena_alloc(oldest->arena, MOST_KEY, 1);
        oldest->empty = ts_arena_mark_of(oldest->arena);
    }
    if (oldest->key_length > 0) {
        weigh_dropped(banded, oldest);
    }
    ts_arena_rewind(oldest->arena, oldest->empty);
    oldest->key_length = 0;
    oldest->bent = 0;
    return oldest;
}

/* Builds the row whole and keeps it where its band can be bent later. */
static ts_status build(ts_quantities **out, ts_banded *banded, const char *const *cells,
                       const char *key, size_t length, uint64_t hash)
{
    kept *ring = place(banded);
    const size_t count = ts_variant_cells(banded->columns);
    const char **own = TS_ARRAY(ring->arena, const char *, count);

    for (size_t i = 0; i < count; i++) {
        own[i] = ts_arena_text(ring->arena, cells[i]);
    }
    ring->ring = (ts_built){.design = NULL};
    const ts_status status =
        banded->build(banded->build_ctx, &ring->ring, ring->variant, ring->arena, own);
    banded->built++;
    if (status != TS_OK) {
        return status;
    }
    *out = ring->ring.needs;
    if (ts_variant_is_bendable(ring->ring.design)) {
        memcpy(ring->key, key, length);
        ring->key_length = length;
        banded->hashes[ring - banded->rings] = hash;
        ring->used = ++banded->clock;
        ring->ring.needs->stamp = ++banded->stamps; /* in a row: recipes keep places by them */
    }
    return TS_OK;
}

static bool bend(const ts_built *ring, ts_variant *variant, ts_arena *scratch,
                 const char *const *cells, ts_diag *diag)
{
    return ts_variant_reband(ring->design, variant, scratch, cells, diag) &&
           ts_geometry_reband(ring->geometry, scratch, ring->design, diag) &&
           ts_quantities_reband(ring->needs, ring->design, ring->geometry);
}

ts_status ts_banded_needs(ts_quantities **out, ts_banded *banded, ts_variant *variant,
                          ts_arena *scratch, const char *const *cells, ts_diag *diag)
{
    char *key = banded->key;
    const size_t length = ts_variant_steady(key, MOST_KEY, variant, cells);
    const uint64_t hash = hash_of(key, length);
    kept *ring = length == 0 ? NULL : find(banded, key, length, hash);
    uint32_t *times = ring != NULL || length == 0 ? NULL : times_met(banded, hash);

    if (ring != NULL && bend(&ring->ring, variant, scratch, cells, diag)) {
        banded->bent++;
        ring->bent++;
        *out = ring->ring.needs;
        return TS_OK;
    }
    if (times != NULL && *times + 1 >= banded->sights) {
        *times = 0;
        return build(out, banded, cells, key, length, hash);
    }
    ts_built whole = {.design = NULL};
    ts_diag_clear(diag); /* what was said of the band is said again, in its place */
    const ts_status status = banded->build(banded->build_ctx, &whole, variant, scratch, cells);
    banded->built++;
    *out = whole.needs;
    if (times != NULL && status == TS_OK && ts_variant_is_bendable(whole.design)) {
        (*times)++;
    }
    return status;
}
