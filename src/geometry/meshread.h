/* The reading half of the mesh: from bytes to corners, without judging the shape. */
#ifndef TS_GEOMETRY_MESHREAD_H
#define TS_GEOMETRY_MESHREAD_H

#include <stddef.h>

#include <tallystone/base/arena.h>

#include "geometry/mesh.h"

#define TS_FACET_BLOCK 128

/* The nine coordinates of a facet's corners, in the file's own unit. */
typedef struct ts_facet {
    double corner[3][3];
} ts_facet;

/* Borrows the file's bytes (binary: facets are decoded as they are asked for) or holds
 * an array of the arena (text). */
typedef struct ts_facets {
    const unsigned char *binary;
    ts_facet *text;
    size_t count;
} ts_facets;

/* Tells text from binary, checks form and counts, and answers what can be read. Of the
 * result it fills what belongs to its reasons (all but the geometry), is_text, facets,
 * lacks_endsolid and stray_bytes. Coordinates of a binary file are not looked at. */
ts_mesh_reason ts_facets_read(ts_facets *facets, ts_mesh_result *out, ts_arena *arena,
                              const unsigned char *bytes, size_t length);

/* Facets from `first` on: at most TS_FACET_BLOCK of them, *count says how many. They
 * stand in `buffer` (TS_FACET_BLOCK long) or in the list itself. */
const ts_facet *ts_facets_block(const ts_facets *facets, size_t first, ts_facet *buffer,
                                size_t *count);

#endif
