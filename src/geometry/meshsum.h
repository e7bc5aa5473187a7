/* The adding half of the mesh: what its facets enclose, if they enclose anything. */
#ifndef TS_GEOMETRY_MESHSUM_H
#define TS_GEOMETRY_MESHSUM_H

#include <stddef.h>

#include <tallystone/base/arena.h>

#include "geometry/mesh.h"
#include "geometry/meshread.h"

/* In the file's own unit, cubed where it is a volume. */
typedef struct ts_mesh_sum {
    unsigned char *is_flat; /* of the arena; one a facet: it has no area */
    size_t solid_facets;    /* those with an area */
    double low[3], high[3]; /* the box round them */
    double origin[3];       /* that the volume is added up about */
    double volume;          /* signed; means something only where the facets are closed */
    double turnover;        /* sum of all products' sizes: what rounding is measured by */
    long facet;             /* of TS_MESH_NOT_FINITE, from 1 */
} ts_mesh_sum;

/* Answers NONE, NOT_FINITE or FLAT (no facet has an area). */
ts_mesh_reason ts_mesh_sum_of(ts_mesh_sum *out, ts_arena *arena, const ts_facets *facets);

#endif
