#include <tallystone/base/slots.h>

#include <stdbool.h>
#include <string.h>

/* Two ways a set: one that is met again soon is not pushed out by a single other. */

typedef struct slot {
    uint64_t hash; /* 0: empty */
    uint64_t used; /* when it was asked for last */
    size_t key_bytes;
    size_t bytes; /* key and pieces */
    char at[];
} slot;

struct ts_slots {
    char *at;
    size_t count, room; /* slots, and bytes of each behind its head */
    uint64_t clock;
    ts_slots_counts counts;
    slot *keeping; /* NULL: nothing */
    uint64_t hash; /* of the key at hand */
    size_t key_bytes;
    bool fits;
    uint64_t *key;
};

ts_slots *ts_slots_new(ts_arena *arena, size_t count, size_t bytes)
{
    ts_slots *s = TS_NEW(arena, ts_slots);

    s->count = count;
    s->room = bytes;
    s->at = ts_arena_alloc(arena, count, sizeof(slot) + bytes);
    s->key = TS_ARRAY(arena, uint64_t, bytes / sizeof(uint64_t));
    return s;
}

/* ---- keys ---- */

void ts_slots_begin(ts_slots *s)
{
    s->key_bytes = 0;
    s->fits = true;
    s->keeping = NULL;
}

void ts_slots_put(ts_slots *s, const void *bytes, size_t count)
{
    if (!s->fits || count > s->room - s->key_bytes) {
        s->fits = false;
        return;
    }
    if (count > 0) {
        memcpy((char *)s->key + s->key_bytes, bytes, count);
        s->key_bytes += count;
    }
}

void ts_slots_put_int(ts_slots *s, int number)
{
    ts_slots_put(s, &number, sizeof number);
}

void ts_slots_put_text(ts_slots *s, const char *text)
{
    if (text == NULL) {
        ts_slots_put(s, "\x01", 2); /* no text holds control characters */
    } else {
        ts_slots_put(s, text, strlen(text) + 1);
    }
}

static bool end_key(ts_slots *s)
{
    const size_t whole = (s->key_bytes + 7) / 8;
    uint64_t hash = whole;

    if (!s->fits || whole * 8 > s->room) {
        s->fits = false;
        return false;
    }
    memset((char *)s->key + s->key_bytes, 0, whole * 8 - s->key_bytes);
    s->key_bytes = whole * 8;
    for (size_t i = 0; i < whole; i++) {
        hash = (hash ^ s->key[i]) * UINT64_C(0x9e3779b97f4a7c15);
        hash ^= hash >> 32;
    }
    s->hash = hash | 1;
    return true;
}

/* ---- finding ---- */

static slot *slot_at(const ts_slots *s, size_t way)
{
    const size_t set = (s->hash >> 8) % (s->count / 2);

    return (slot *)(void *)(s->at + (2 * set + way) * (sizeof(slot) + s->room));
}

char *ts_slots_find(ts_slots *s)
{
    s->counts.asked++;
    for (size_t way = 0; end_key(s) && way < 2; way++) {
        slot *of = slot_at(s, way);

        if (of->hash == s->hash && of->key_bytes == s->key_bytes &&
            memcmp(of->at, s->key, s->key_bytes) == 0) {
            of->used = ++s->clock;
            s->counts.found++;
            return of->at + of->key_bytes;
        }
    }
    return NULL;
}

uint64_t ts_slots_hash(const ts_slots *s)
{
    return s->hash;
}

void *ts_slots_next(char **at, size_t bytes)
{
    char *here = *at;

    *at += (bytes + 7) / 8 * 8;
    return here;
}

/* ---- keeping ---- */

void ts_slots_keep(ts_slots *s)
{
    if (!s->fits) {
        s->keeping = NULL;
        return;
    }
    slot *one = slot_at(s, 0), *other = slot_at(s, 1);
    s->keeping = one->used <= other->used ? one : other;
    *s->keeping = (slot){
        .hash = s->hash, .used = ++s->clock, .key_bytes = s->key_bytes, .bytes = s->key_bytes};
    memcpy(s->keeping->at, s->key, s->key_bytes);
}

void ts_slots_drop(ts_slots *s)
{
    if (s->keeping != NULL) {
        s->keeping->hash = 0;
        s->keeping->used = 0;
        s->keeping = NULL;
    }
}

void *ts_slots_add(ts_slots *s, const void *piece, size_t bytes)
{
    const size_t whole = (bytes + 7) / 8 * 8;

    if (s->keeping == NULL || whole > s->room - s->keeping->bytes) {
        ts_slots_drop(s);
        return NULL;
    }
    char *at = s->keeping->at + s->keeping->bytes;
    if (bytes > 0) {
        memcpy(at, piece, bytes);
    }
    s->keeping->bytes += whole;
    return at;
}

char *ts_slots_add_text(ts_slots *s, const char *text)
{
    return text == NULL ? NULL : ts_slots_add(s, text, strlen(text) + 1);
}

ts_slots_counts ts_slots_counts_of(const ts_slots *s)
{
    return s->counts;
}
