/* Rings of a stream of variants whose rows differ in the band alone.
 *
 * Of each combination of the other cells that is met again and again one row is built whole and
 * kept; of later ones only the band is bent and the metal weighed. Bounded: the least recently
 * used is dropped. */
#ifndef TS_DESK_BANDED_H
#define TS_DESK_BANDED_H

#include <stdint.h>

#include <tallystone/design/variant.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

typedef struct ts_banded ts_banded;

/* Builds a row whole, into `arena`: read_meshes and the rooms up to bare quantities. Where that
 * is the worker's scratch it is good until the next row, else as long as the arena. */
typedef struct ts_built {
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *needs;
} ts_built;
typedef ts_status ts_build_fn(void *ctx, ts_built *out, ts_variant *variant, ts_arena *arena,
                              const char *const *cells);

/* One worker's. `columns` is borrowed; `no_memory` as of ts_arena_new. */
ts_banded *ts_banded_new(ts_arena *arena, const ts_variant_columns *columns,
                         ts_no_memory_fn *no_memory, void *ctx);
void ts_banded_free(ts_banded *banded);

/* Bare quantities of a row, which live until the next. `variant` and `scratch` are the worker's
 * own; faults of a row are those of `build`. */
ts_status ts_banded_needs(ts_quantities **out, ts_banded *banded, ts_variant *variant,
                          ts_arena *scratch, const char *const *cells, ts_diag *diag);
/* How rows are built whole. */
void ts_banded_builds(ts_banded *banded, ts_build_fn *build, void *ctx);

/* Rows that were bent and rows that were built whole. */
void ts_banded_counts(const ts_banded *banded, uint64_t *bent, uint64_t *built);

#endif
