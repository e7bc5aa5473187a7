#include "geometry/mesh.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "geometry/meshedges.h"
#include "geometry/meshread.h"

/* From corners to a volume.
 *
 * By the divergence theorem a closed surface encloses the sum of a.(e x f)/6 over its
 * facets, a being a corner and e, f the sides from it. The origin is free, so it is laid
 * where the terms are small: at the mean of all corners, rounded to single precision so
 * that a float32 coordinate less it is exact. The terms are added with the rounding errors
 * carried along (A. Neumaier, 1974), so a million of them lose no more than one would.
 *
 * Two passes over the bytes and none in between: decoding a facet costs less than keeping
 * it. A facet has no area where e x f is exactly zero, which of float32 corners in line
 * it is. */

/* Sum and what its roundings lost. */
typedef struct carried {
    double sum;
    double lost;
} carried;

typedef struct survey {
    unsigned char *is_flat;
    size_t solid_facets; /* those with an area */
    double total[3];
    double low[3], high[3];
} survey;

typedef struct cross {
    double x, y, z;
} cross;

static void carry(carried *c, double term)
{
    const double sum = c->sum + term;
    if (fabs(c->sum) >= fabs(term)) {
        c->lost += (c->sum - sum) + term;
    } else {
        c->lost += (term - sum) + c->sum;
    }
    c->sum = sum;
}

/* Twice the facet's area, along its normal. */
static cross cross_of(const ts_facet *facet)
{
    const double *a = facet->corner[0];
    const double *b = facet->corner[1];
    const double *c = facet->corner[2];
    const double ex = b[0] - a[0];
    const double ey = b[1] - a[1];
    const double ez = b[2] - a[2];
    const double fx = c[0] - a[0];
    const double fy = c[1] - a[1];
    const double fz = c[2] - a[2];
    return (cross){ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx};
}

static void include_facet(survey *s, const ts_facet *facet)
{
    for (int axis = 0; axis < 3; axis++) {
        for (int corner = 0; corner < 3; corner++) {
            const double at = facet->corner[corner][axis];
            s->total[axis] += at;
            s->low[axis] = at < s->low[axis] ? at : s->low[axis];
            s->high[axis] = at > s->high[axis] ? at : s->high[axis];
        }
    }
}

static bool is_finite_facet(const ts_facet *facet)
{
    for (int corner = 0; corner < 3; corner++) {
        for (int axis = 0; axis < 3; axis++) {
            if (!isfinite(facet->corner[corner][axis])) {
                return false;
            }
        }
    }
    return true;
}

/* First pass: flat facets, box, and the sum of the corners. Fifteen million finite
 * float32 cannot overflow a double, so a total that is not finite betrays a corner. */
static ts_mesh_reason survey_facets(survey *s, ts_mesh_result *out, const ts_facets *facets)
{
    ts_facet buffer[TS_FACET_BLOCK];

    for (int axis = 0; axis < 3; axis++) {
        s->low[axis] = HUGE_VAL;
        s->high[axis] = -HUGE_VAL;
    }
    for (size_t first = 0, count = 0; first < facets->count; first += count) {
        const ts_facet *block = ts_facets_block(facets, first, buffer, &count);
        for (size_t i = 0; i < count; i++) {
            const cross n = cross_of(&block[i]);
            if (n.x == 0.0 && n.y == 0.0 && n.z == 0.0) {
                s->is_flat[first + i] = 1;
            } else {
                include_facet(s, &block[i]);
                s->solid_facets++;
            }
        }
        if (isfinite(s->total[0] + s->total[1] + s->total[2])) {
            continue;
        }
        for (size_t i = 0; i < count; i++) {
            if (!is_finite_facet(&block[i])) {
                out->facet = (long)(first + i) + 1;
                return TS_MESH_NOT_FINITE;
            }
        }
    }
    out->flat_facets = (long)(facets->count - s->solid_facets);
    return s->solid_facets == 0 ? TS_MESH_FLAT : TS_MESH_NONE;
}

static void find_origin(double origin[3], const survey *s)
{
    for (int axis = 0; axis < 3; axis++) {
        const double mean = s->total[axis] / (3.0 * (double)s->solid_facets);
        /* Within the box, so that rounding cannot leave the range of float32. */
        origin[axis] = (double)(float)fmin(fmax(mean, s->low[axis]), s->high[axis]);
    }
}

/* Second pass. *turnover is the sum of all products' sizes: what rounding is measured by. */
static double signed_volume(const ts_facets *facets, const survey *s, const double origin[3],
                            double *turnover)
{
    ts_facet buffer[TS_FACET_BLOCK];
    carried six = {0.0, 0.0};
    double sizes = 0.0;

    for (size_t first = 0, count = 0; first < facets->count; first += count) {
        const ts_facet *block = ts_facets_block(facets, first, buffer, &count);
        for (size_t i = 0; i < count; i++) {
            if (s->is_flat[first + i]) {
                continue;
            }
            const cross n = cross_of(&block[i]);
            const double *a = block[i].corner[0];
            const double x = (a[0] - origin[0]) * n.x;
            const double y = (a[1] - origin[1]) * n.y;
            const double z = (a[2] - origin[2]) * n.z;
            carry(&six, x + y + z);
            sizes += fabs(x) + fabs(y) + fabs(z);
        }
    }
    *turnover = sizes / 6.0;
    return (six.sum + six.lost) / 6.0;
}

static ts_mesh_reason measure(ts_mesh_result *out, ts_arena *scratch, const ts_facets *facets)
{
    survey s = {.is_flat = TS_ARRAY(scratch, unsigned char, facets->count)};
    ts_mesh_reason why = survey_facets(&s, out, facets);
    if (why != TS_MESH_NONE) {
        return why;
    }
    memcpy(out->low_mm, s.low, sizeof out->low_mm);
    memcpy(out->high_mm, s.high, sizeof out->high_mm);

    ts_edges edges;
    why = ts_edges_match(&edges, out, scratch, facets, s.is_flat);
    if (why != TS_MESH_NONE) {
        return why;
    }
    double origin[3];
    find_origin(origin, &s);
    double turnover = 0.0;
    const double volume = signed_volume(facets, &s, origin, &turnover);
    if (fabs(volume) <= 1e-12 * turnover) { /* two skins back to back: only rounding is left */
        return TS_MESH_FLAT;
    }
    why = ts_shells_judge(&edges, out, scratch, volume);
    if (why != TS_MESH_NONE) {
        return why;
    }
    out->volume_mm3 = fabs(volume);
    out->inverted = volume < 0.0;
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
