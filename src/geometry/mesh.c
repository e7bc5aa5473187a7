#include "geometry/mesh.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "geometry/meshedges.h"
#include "geometry/meshread.h"
#include "geometry/meshsum.h"

/* From bytes to a volume that can be trusted: read, add up, match the edges, and only where
 * they match believe the sum. */

static ts_mesh_reason measure(ts_mesh_result *out, ts_arena *scratch, const ts_facets *facets)
{
    ts_mesh_sum sum;
    ts_mesh_reason why = ts_mesh_sum_of(&sum, scratch, facets);
    out->facet = sum.facet;
    if (why == TS_MESH_NOT_FINITE) {
        return why;
    }
    out->flat_facets = (long)(facets->count - sum.solid_facets);
    if (why != TS_MESH_NONE) {
        return why;
    }
    memcpy(out->low_mm, sum.low, sizeof out->low_mm);
    memcpy(out->high_mm, sum.high, sizeof out->high_mm);

    ts_edges edges;
    why = ts_edges_match(&edges, out, scratch, facets, sum.is_flat);
    if (why != TS_MESH_NONE) {
        return why;
    }
    /* Two skins back to back: only rounding is left. */
    if (fabs(sum.volume) <= 1e-12 * sum.turnover) {
        return TS_MESH_FLAT;
    }
    why = ts_shells_judge(&edges, out, scratch, sum.volume);
    if (why != TS_MESH_NONE) {
        return why;
    }
    out->volume_mm3 = fabs(sum.volume);
    out->inverted = sum.volume < 0.0;
    return TS_MESH_NONE;
}

/* All was measured in the file's unit. */
static void scale_result(ts_mesh_result *out, double mm_per_unit)
{
    const double cubed = mm_per_unit * mm_per_unit * mm_per_unit;
    out->volume_mm3 *= cubed;
    out->hollow_mm3 *= cubed;
    for (int axis = 0; axis < 3; axis++) {
        out->low_mm[axis] *= mm_per_unit;
        out->high_mm[axis] *= mm_per_unit;
        out->at_mm[axis] *= mm_per_unit;
        out->to_mm[axis] *= mm_per_unit;
    }
}

ts_mesh_reason ts_mesh_measure(ts_mesh_result *out, ts_arena *scratch, const char *bytes,
                               size_t length, double mm_per_unit)
{
    assert(isfinite(mm_per_unit) && mm_per_unit > 0.0);
    *out = (ts_mesh_result){0};
    const ts_arena_mark mark = ts_arena_mark_of(scratch);
    ts_facets facets;
    out->reason = ts_facets_read(&facets, out, scratch, (const unsigned char *)bytes, length);
    if (out->reason == TS_MESH_NONE) {
        out->reason = measure(out, scratch, &facets);
    }
    scale_result(out, mm_per_unit);
    ts_arena_rewind(scratch, mark);
    return out->reason;
}
