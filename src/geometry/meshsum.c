#include "geometry/meshsum.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* From corners to a volume.
 *
 * By the divergence theorem a closed surface encloses the sum of a.(e x f)/6 over its
 * facets, a being a corner and e, f the sides from it. The origin is free. It is laid into
 * the first corner: on the surface, so that the terms stay small, and a float32 coordinate
 * less it is exact, so that a mesh counts the same wherever it stands. (The mean of all
 * corners would do as well but takes a pass of its own.) The terms are added with the
 * rounding errors carried along (A. Neumaier, 1974), so a million of them lose no more than
 * one would.
 *
 * One pass over the bytes: decoding a facet costs less than keeping it. A facet has no area
 * where e x f is exactly zero, which of float32 corners in line it is. */

/* Sum and what its roundings lost. */
typedef struct carried {
    double sum;
    double lost;
} carried;

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

static double lesser(double a, double b)
{
    return a < b ? a : b;
}

static double greater(double a, double b)
{
    return a > b ? a : b;
}

static void include_facet(ts_mesh_sum *sum, const ts_facet *facet)
{
    const double(*at)[3] = facet->corner;
    for (int axis = 0; axis < 3; axis++) {
        sum->low[axis] =
            lesser(sum->low[axis], lesser(at[0][axis], lesser(at[1][axis], at[2][axis])));
        sum->high[axis] =
            greater(sum->high[axis], greater(at[0][axis], greater(at[1][axis], at[2][axis])));
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

/* The facets of a block, of which `is_flat` is filled. The sums are worked on as copies, which
 * no store through `is_flat` can touch, so that they stay in registers. */
static void add_block(ts_mesh_sum *out, carried *out_six, unsigned char *is_flat,
                      const ts_facet *block, size_t count)
{
    ts_mesh_sum sum = *out;
    carried six = *out_six;

    for (size_t i = 0; i < count; i++) {
        const cross n = cross_of(&block[i]);
        if (n.x == 0.0 && n.y == 0.0 && n.z == 0.0) {
            is_flat[i] = 1;
            continue;
        }
        const double *a = block[i].corner[0];
        const double x = (a[0] - sum.origin[0]) * n.x;
        const double y = (a[1] - sum.origin[1]) * n.y;
        const double z = (a[2] - sum.origin[2]) * n.z;
        carry(&six, x + y + z);
        sum.turnover += fabs(x) + fabs(y) + fabs(z);
        include_facet(&sum, &block[i]);
        sum.solid_facets++;
    }
    *out = sum;
    *out_six = six;
}

/* The products of finite float32 cannot overflow a double, so a sum that is not finite
 * betrays a corner. */
ts_mesh_reason ts_mesh_sum_of(ts_mesh_sum *out, ts_arena *arena, const ts_facets *facets)
{
    ts_facet buffer[TS_FACET_BLOCK];
    carried six = {0.0, 0.0};

    *out = (ts_mesh_sum){.is_flat = TS_ARRAY(arena, unsigned char, facets->count),
                         .low = {HUGE_VAL, HUGE_VAL, HUGE_VAL},
                         .high = {-HUGE_VAL, -HUGE_VAL, -HUGE_VAL}};
    for (size_t first = 0, count = 0; first < facets->count; first += count) {
        const ts_facet *block = ts_facets_block(facets, first, buffer, &count);
        if (first == 0) {
            memcpy(out->origin, block[0].corner[0], sizeof out->origin);
        }
        add_block(out, &six, out->is_flat + first, block, count);
        for (size_t i = 0; i < count && !isfinite(six.sum); i++) {
            if (!is_finite_facet(&block[i])) {
                out->facet = (long)(first + i) + 1;
                return TS_MESH_NOT_FINITE;
            }
        }
    }
    out->turnover /= 6.0;
    out->volume = (six.sum + six.lost) / 6.0;
    return out->solid_facets == 0 ? TS_MESH_FLAT : TS_MESH_NONE;
}
