/* The shape of a list of quantities: everything but plain amounts.
 *
 * Two lists of one shape ask the books for the same rows, so their prices are made up of
 * the same lines by the same rules, as far as no amount decides (ts_guard). Names that
 * costing only shows, and places in the sheet, are no part of it. */
#ifndef TS_COSTING_MOULD_H
#define TS_COSTING_MOULD_H

#include <stdbool.h>
#include <stdint.h>

#include "costing/taken.h"

/* From, up to and not including: where no labour row tells two sizes apart. */
typedef struct ts_size_span {
    int64_t from_e6, to_e6;
} ts_size_span;

/* Where labour rows begin and end, ascending. */
typedef struct ts_size_edges {
    const int64_t *e6;
    size_t count;
} ts_size_edges;
ts_size_edges ts_size_edges_of(ts_arena *arena, const ts_book *book);

typedef struct ts_mould {
    const ts_quantities *like;
    const ts_size_span *sizes; /* of each of its works */
    bool has_client_stones, has_studio_stones;
} ts_mould;

/* A copy in the arena. `lasting` arenas (NULL-ended) hold text that stays as long as the
 * shape: such text is the same where its place is; all other is copied, and compared. */
void ts_mould_of(ts_mould *out, ts_arena *arena, const ts_quantities *needs,
                 const ts_size_edges *edges, const ts_arena *const *lasting);
bool ts_mould_fits(const ts_mould *mould, const ts_quantities *needs, const ts_takes *takes);
/* Equal for all that a shape fits; quick, so not all that differ are told apart. */
uint64_t ts_mould_hash(const ts_quantities *needs);

#endif
