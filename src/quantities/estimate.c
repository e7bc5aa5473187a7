#include "quantities/counting.h"

/* How far the early estimate was off.
 *
 * Once a mesh exists it tells the metal of the parts that it replaces. What those measured by
 * themselves is set beside it, in the mesh's alloy and by weight, so that a studio learns how
 * far to trust its estimates. */

static bool is_of(const ts_counting *c, int mesh, const ts_part *part)
{
    return ts_design_replaced(c->design, part) &&
           ts_count_mesh_of(c, part) == &c->design->mesh[mesh];
}

static ts_dec grams_of_metals(ts_counting *c, int mesh, ts_dec density)
{
    ts_dec sum = {0};

    for (int i = 0; i < c->design->metal_count; i++) {
        const ts_metal *metal = &c->design->metal[i];
        if (is_of(c, mesh, &metal->part)) {
            ts_dec each =
                metal->weight.e6 > 0 ? metal->weight : ts_weigh_grams(c, metal->volume, density);
            sum = ts_weigh_sum(c, sum, ts_weigh_times(c, each, metal->count));
        }
    }
    return sum;
}

ts_dec ts_count_estimate_g(ts_counting *c, int mesh, ts_dec density)
{
    const ts_design *d = c->design;
    ts_dec sum = {0};

    if (d->shank_count > 0 && is_of(c, mesh, &d->shank[0].part)) {
        double net_mm3 = c->geometry->shank_mm3 - c->geometry->shank_seats_mm3;
        sum = ts_weigh_sum(
            c, sum, ts_weigh_measure(c, net_mm3 > 0.0 ? net_mm3 : 0.0, "the shank's volume"));
    }
    for (int i = 0; i < d->head_count; i++) {
        sum =
            is_of(c, mesh, &d->head[i].part) ? ts_weigh_sum(c, sum, ts_count_head_mm3(c, i)) : sum;
    }
    for (int i = 0; i < d->bezel_count; i++) {
        sum = is_of(c, mesh, &d->bezel[i].part) ? ts_weigh_sum(c, sum, ts_count_bezel_mm3(c, i))
                                                : sum;
    }
    for (int i = 0; i < d->halo_count; i++) {
        sum =
            is_of(c, mesh, &d->halo[i].part) ? ts_weigh_sum(c, sum, ts_count_halo_mm3(c, i)) : sum;
    }
    return ts_weigh_sum(c, ts_weigh_grams(c, sum, density), grams_of_metals(c, mesh, density));
}
