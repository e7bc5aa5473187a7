#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "geometry/meshedges.h"

/* Several bodies in one file: each must face outwards like the whole, or be a hollow.
 *
 * Without this a ring and a bead beside it, one of them inside out, would pass as the
 * difference of the two. A shell that faces inwards is taken for a hollow where its box
 * lies in the box of a shell that faces outwards. That is necessary for a hollow, not
 * sufficient: a bead in the opening of a ring passes too. So hollows are always counted
 * and said with what they take off. Bodies that overlap count twice where they do; no
 * signed sum can know. */

#define NOTHING 1e-12 /* of the products' sizes: less is rounding */

typedef struct shell {
    double volume;
    double turnover; /* sum of all products' sizes */
    double low[3], high[3];
    double origin[3]; /* its first point, so that a small shell far from others stays exact */
    bool is_begun;
} shell;

static void include_point(shell *s, const double *point)
{
    if (!s->is_begun) {
        memcpy(s->low, point, sizeof s->low);
        memcpy(s->high, point, sizeof s->high);
        memcpy(s->origin, point, sizeof s->origin);
        s->is_begun = true;
    }
    for (int axis = 0; axis < 3; axis++) {
        s->low[axis] = point[axis] < s->low[axis] ? point[axis] : s->low[axis];
        s->high[axis] = point[axis] > s->high[axis] ? point[axis] : s->high[axis];
    }
}

/* The same sum as for the whole (meshsum.c): a.(e x f)/6. */
static void add_facet(shell *s, const double *a, const double *b, const double *c)
{
    include_point(s, a);
    include_point(s, b);
    include_point(s, c);
    for (int axis = 0; axis < 3; axis++) {
        const int next = (axis + 1) % 3;
        const int last = (axis + 2) % 3;
        const double normal =
            (b[next] - a[next]) * (c[last] - a[last]) - (b[last] - a[last]) * (c[next] - a[next]);
        const double product = (a[axis] - s->origin[axis]) * normal / 6.0;
        s->volume += product;
        s->turnover += fabs(product);
    }
}

static shell *measure_shells(const ts_edges *edges, ts_arena *arena)
{
    shell *shells = TS_ARRAY(arena, shell, edges->shell_count);
    for (size_t facet = 0; facet < edges->facets; facet++) {
        if (!edges->is_flat[facet]) {
            const uint32_t *corner = edges->corners[facet];
            add_facet(&shells[edges->shell[facet]], edges->points[corner[0]],
                      edges->points[corner[1]], edges->points[corner[2]]);
        }
    }
    return shells;
}

static int way_of(const shell *s)
{
    if (fabs(s->volume) <= NOTHING * s->turnover) {
        return 0;
    }
    return s->volume > 0 ? 1 : -1;
}

static bool lies_in_box(const shell *inner, const shell *outer)
{
    for (int axis = 0; axis < 3; axis++) {
        if (inner->low[axis] < outer->low[axis] || inner->high[axis] > outer->high[axis]) {
            return false;
        }
    }
    return true;
}

static bool is_hollow(const shell *inner, const shell *shells, uint32_t count, int way)
{
    for (uint32_t i = 0; i < count; i++) {
        if (way_of(&shells[i]) == way && lies_in_box(inner, &shells[i])) {
            return true;
        }
    }
    return false;
}

ts_mesh_reason ts_shells_judge(const ts_edges *edges, ts_mesh_result *out, ts_arena *arena,
                               double sign)
{
    const int way = sign > 0 ? 1 : -1;

    out->shells = (long)edges->shell_count;
    if (edges->shell_count < 2) {
        return TS_MESH_NONE;
    }
    const shell *shells = measure_shells(edges, arena);
    for (uint32_t i = 0; i < edges->shell_count; i++) {
        if (way_of(&shells[i]) != -way) {
            continue;
        }
        if (!is_hollow(&shells[i], shells, edges->shell_count, way)) {
            memcpy(out->at_mm, shells[i].origin, sizeof out->at_mm);
            return TS_MESH_SHELL_TURNED;
        }
        if (out->hollows == TS_MESH_HOLLOWS_MOST) {
            return TS_MESH_HOLLOWS;
        }
        out->hollows++;
        out->hollow_mm3 += fabs(shells[i].volume);
    }
    return TS_MESH_NONE;
}
