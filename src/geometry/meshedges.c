#include "geometry/meshedges.h"

#include <assert.h>
#include <stdbool.h>
#include <string.h>

/* Closed means: every directed edge is matched by as many opposite ones. So an edge at
 * which four facets meet, two each way (two cubes that touch along it), is accepted: the
 * surface still has an inside and the sum its volume. A T-junction is refused, though its
 * sum happens to be right: the long edge and its two halves find no partner, and nothing
 * tells such a place from a real slit.
 *
 * Facets without area are left out. Programs also use them to sew up a T-junction (the
 * long edge and its halves are then the sides of one facet of three corners in line);
 * where the mesh is not closed without them, they are tried once more with them.
 *
 * Only points are hashed. Edges then need no hash: those that share their lower point
 * stand in a list, and a tally for each higher point is kept while the list is walked
 * twice. The time is linear whatever the mesh looks like. */

#define NO_EDGE UINT32_MAX
#define SPARE_POINTS ((size_t)3 * TS_FACET_BLOCK)

/* Open addressing over point numbers (plus one; 0 is free), at most half full. */
typedef struct welder {
    ts_arena *arena;
    uint32_t *slots;
    unsigned slot_bits;
    uint64_t mask; /* slots less one */
    uint64_t seed;
    double (*points)[3];
    size_t count;
    size_t room;
} welder;

/* Facets at the edge between the point whose list is walked and another. */
typedef struct tally {
    int32_t balance; /* those that run upwards less those that run downwards */
    uint32_t count;
    uint32_t earliest; /* half edge: 3 · facet + corner */
} tally;

typedef struct matcher {
    const uint32_t (*corners)[3];
    uint32_t *first; /* for each point the latest half edge that has it as its lower end */
    uint32_t *next;  /* for each half edge the one before */
    tally *tallies;
    uint32_t *parent; /* of facets that share an edge: a forest */
    long unmatched[3];
    uint32_t earliest[3];
} matcher;

enum { OPEN, CROWDED, TURNED };

/* --- points ------------------------------------------------------------------------ */

static uint64_t slot_of(const welder *w, const double point[3])
{
    uint64_t hash = w->seed;
    for (int axis = 0; axis < 3; axis++) {
        uint64_t bits = 0;
        memcpy(&bits, &point[axis], sizeof bits);
        hash = (hash ^ bits) * UINT64_C(0x9E3779B97F4A7C15); /* 2^64 over the golden ratio */
        hash ^= hash >> 32;
    }
    return hash * UINT64_C(0x9E3779B97F4A7C15) >> (64 - w->slot_bits);
}

static void widen_slots(welder *w)
{
    w->slot_bits++;
    w->mask = 2 * w->mask + 1;
    w->slots = TS_ARRAY(w->arena, uint32_t, w->mask + 1);
    for (size_t i = 0; i < w->count; i++) {
        uint64_t at = slot_of(w, w->points[i]);
        while (w->slots[at] != 0) {
            at = (at + 1) & w->mask;
        }
        w->slots[at] = (uint32_t)i + 1;
    }
}

/* The number of the point, which is looked for from the slot `at` on. */
static uint32_t number_of(welder *w, const double point[3], uint64_t at)
{
    for (; w->slots[at] != 0; at = (at + 1) & w->mask) {
        const double *other = w->points[w->slots[at] - 1];
        if (other[0] == point[0] && other[1] == point[1] && other[2] == point[2]) {
            return w->slots[at] - 1;
        }
    }
    const uint32_t number = (uint32_t)w->count;
    w->points = ts_arena_grow(w->arena, w->points, w->count, &w->room, sizeof *w->points);
    memcpy(w->points[number], point, sizeof(double[3]));
    w->slots[at] = number + 1;
    w->count++;
    return number;
}

/* All slots of a block are found and fetched before one is followed: a fetch from a table
 * larger than the caches takes longer than all the rest, and so many of them wait at once. */
static void number_block(welder *w, uint32_t (*corners)[3], const ts_facet *block, size_t count)
{
    double points[3 * TS_FACET_BLOCK][3];
    uint64_t slots[3 * TS_FACET_BLOCK];
    const size_t corner_count = 3 * count;

    assert(count <= TS_FACET_BLOCK);
    while ((w->count + corner_count) * 2 > w->mask) {
        widen_slots(w);
    }
    for (size_t i = 0; i < corner_count; i++) {
        const double *corner = block[i / 3].corner[i % 3];
        /* Adding zero turns -0 into 0, which compare equal but differ in their bits. */
        points[i][0] = corner[0] + 0.0;
        points[i][1] = corner[1] + 0.0;
        points[i][2] = corner[2] + 0.0;
        slots[i] = slot_of(w, points[i]);
        __builtin_prefetch(&w->slots[slots[i]]);
    }
    for (size_t i = 0; i < corner_count; i++) {
        corners[i / 3][i % 3] = number_of(w, points[i], slots[i]);
    }
}

static void number_points(ts_edges *edges, ts_arena *arena, const ts_facets *facets)
{
    ts_facet buffer[TS_FACET_BLOCK];
    /* A closed surface has half as many points as facets, give or take a few for each
     * body and hole (Euler); others make the room grow. */
    welder w = {.arena = arena, .room = facets->count / 2 + SPARE_POINTS};
    while (w.mask <= 2 * w.room) {
        w.slot_bits++;
        w.mask = 2 * w.mask + 1;
    }
    w.points = ts_arena_alloc(arena, w.room, sizeof *w.points);
    w.slots = TS_ARRAY(arena, uint32_t, w.mask + 1);
    /* No file can be made to fill one chain of slots without knowing where they lie.
     * Numbers follow the order of the file, so the seed does not show in any result. */
    w.seed = (uint64_t)(uintptr_t)w.slots;

    edges->corners = ts_arena_alloc(arena, facets->count, sizeof *edges->corners);
    for (size_t first = 0, count = 0; first < facets->count; first += count) {
        const ts_facet *block = ts_facets_block(facets, first, buffer, &count);
        number_block(&w, edges->corners + first, block, count);
    }
    edges->points = w.points;
    edges->point_count = w.count;
}

/* --- edges ------------------------------------------------------------------------- */

static uint32_t end_of(const matcher *m, uint32_t half)
{
    return m->corners[half / 3][(half + 1) % 3];
}

static uint32_t start_of(const matcher *m, uint32_t half)
{
    return m->corners[half / 3][half % 3];
}

static uint32_t root_of(uint32_t *parent, uint32_t facet)
{
    while (parent[facet] != facet) {
        parent[facet] = parent[parent[facet]];
        facet = parent[facet];
    }
    return facet;
}

static void unite(uint32_t *parent, uint32_t one, uint32_t other)
{
    const uint32_t a = root_of(parent, one);
    const uint32_t b = root_of(parent, other);
    if (a < b) {
        parent[b] = a;
    } else {
        parent[a] = b;
    }
}

static void list_facet(matcher *m, uint32_t facet)
{
    for (uint32_t half = 3 * facet; half < 3 * facet + 3; half++) {
        const uint32_t from = start_of(m, half);
        const uint32_t to = end_of(m, half);
        if (from != to) {
            uint32_t *first = &m->first[from < to ? from : to];
            m->next[half] = *first;
            *first = half;
        }
    }
}

static void record_unmatched(matcher *m, const tally *t)
{
    const int kind = t->count % 2 == 0 ? TURNED : t->count == 1 ? OPEN : CROWDED;
    m->unmatched[kind]++;
    if (t->earliest < m->earliest[kind]) {
        m->earliest[kind] = t->earliest;
    }
}

static void match_point(matcher *m, uint32_t point)
{
    for (uint32_t half = m->first[point]; half != NO_EDGE; half = m->next[half]) {
        const bool is_upwards = start_of(m, half) == point;
        tally *t = &m->tallies[is_upwards ? end_of(m, half) : start_of(m, half)];
        if (t->count > 0) {
            unite(m->parent, half / 3, t->earliest / 3);
        }
        t->balance += is_upwards ? 1 : -1;
        t->count++;
        t->earliest = half; /* lists run from late to early */
    }
    for (uint32_t half = m->first[point]; half != NO_EDGE; half = m->next[half]) {
        const bool is_upwards = start_of(m, half) == point;
        tally *t = &m->tallies[is_upwards ? end_of(m, half) : start_of(m, half)];
        if (t->balance != 0) {
            record_unmatched(m, t);
        }
        *t = (tally){0};
    }
}

static long match_all(matcher *m, const ts_edges *edges, bool with_flat)
{
    for (size_t point = 0; point < edges->point_count; point++) {
        m->first[point] = NO_EDGE;
    }
    for (uint32_t facet = 0; facet < edges->facets; facet++) {
        m->parent[facet] = facet;
        if (with_flat || !edges->is_flat[facet]) {
            list_facet(m, facet);
        }
    }
    for (int kind = OPEN; kind <= TURNED; kind++) {
        m->unmatched[kind] = 0;
        m->earliest[kind] = NO_EDGE;
    }
    for (uint32_t point = 0; point < edges->point_count; point++) {
        match_point(m, point);
    }
    return m->unmatched[OPEN] + m->unmatched[CROWDED] + m->unmatched[TURNED];
}

/* Numbers the shells in the order of the file. `number` is memory for one number a facet. */
static void number_shells(ts_edges *edges, uint32_t *parent, uint32_t *number)
{
    memset(number, 0, edges->facets * sizeof *number);
    for (uint32_t facet = 0; facet < edges->facets; facet++) {
        if (!edges->is_flat[facet]) {
            const uint32_t root = root_of(parent, facet);
            if (number[root] == 0) {
                number[root] = ++edges->shell_count;
            }
            number[facet] = number[root];
        }
    }
    for (size_t facet = 0; facet < edges->facets; facet++) {
        number[facet] -= number[facet] != 0;
    }
    edges->shell = number;
}

static ts_mesh_reason show_unmatched(const matcher *m, const ts_edges *edges, ts_mesh_result *out)
{
    static const ts_mesh_reason reasons[] = {TS_MESH_OPEN, TS_MESH_CROWDED, TS_MESH_DISAGREE};
    const int kind = m->unmatched[OPEN] > 0 ? OPEN : m->unmatched[CROWDED] > 0 ? CROWDED : TURNED;
    const uint32_t half = m->earliest[kind];

    out->crowded_edges = m->unmatched[CROWDED];
    out->turned_edges = m->unmatched[TURNED];
    out->open_edges = m->unmatched[OPEN] + out->crowded_edges + out->turned_edges;
    memcpy(out->at_mm, edges->points[start_of(m, half)], sizeof out->at_mm);
    memcpy(out->to_mm, edges->points[end_of(m, half)], sizeof out->to_mm);
    return reasons[kind];
}

ts_mesh_reason ts_edges_match(ts_edges *edges, ts_mesh_result *out, ts_arena *arena,
                              const ts_facets *facets, const unsigned char *is_flat)
{
    *edges = (ts_edges){.facets = facets->count, .is_flat = is_flat};
    number_points(edges, arena, facets);
    matcher m = {
        .corners = (const uint32_t(*)[3])edges->corners,
        .first = TS_ARRAY(arena, uint32_t, edges->point_count),
        .next = TS_ARRAY(arena, uint32_t, 3 * facets->count),
        .tallies = TS_ARRAY(arena, tally, edges->point_count),
        .parent = TS_ARRAY(arena, uint32_t, facets->count),
    };
    bool is_closed = match_all(&m, edges, false) == 0;
    if (!is_closed && out->flat_facets > 0) {
        is_closed = match_all(&m, edges, true) == 0;
        if (!is_closed) { /* what is shown is the mesh without them */
            (void)match_all(&m, edges, false);
        }
    }
    if (!is_closed) {
        return show_unmatched(&m, edges, out);
    }
    number_shells(edges, m.parent, m.next); /* the lists have served */
    return TS_MESH_NONE;
}
