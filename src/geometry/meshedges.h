/* The judging half of the mesh: is it closed, and do its facets agree? */
#ifndef TS_GEOMETRY_MESHEDGES_H
#define TS_GEOMETRY_MESHEDGES_H

#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/arena.h>

#include "geometry/mesh.h"
#include "geometry/meshread.h"

/* All of the arena. Points are numbered in the order in which the file first names them. */
typedef struct ts_edges {
    size_t facets;
    const unsigned char *is_flat; /* borrowed, one a facet */
    uint32_t (*corners)[3];       /* point numbers, one triple a facet */
    double (*points)[3];          /* in the file's own unit */
    size_t point_count;
    uint32_t *shell; /* after ts_edges_match: the number of a facet's shell, from 0 */
    uint32_t shell_count;
} ts_edges;

/* Numbers the points and matches every edge with its opposites, in linear time. Fills
 * the result's edge counts, and at_mm and to_mm in the file's own unit. Answers NONE,
 * OPEN, CROWDED or DISAGREE. */
ts_mesh_reason ts_edges_match(ts_edges *edges, ts_mesh_result *out, ts_arena *arena,
                              const ts_facets *facets, const unsigned char *is_flat);

/* Signed volume of each shell, judged where there is more than one: a shell that faces
 * the other way than the whole (whose sign is that of `sign`) is a hollow if it lies in
 * the box of a shell that does not. Fills shells, hollows, hollow_mm3 (file's unit,
 * cubed) and at_mm. Answers NONE, SHELL_TURNED or HOLLOWS. */
ts_mesh_reason ts_shells_judge(const ts_edges *edges, ts_mesh_result *out, ts_arena *arena,
                               double sign);

#endif
