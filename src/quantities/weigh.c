#include "quantities/counting.h"

/* The door from double to decimal.
 *
 * Geometry measures in doubles; money is exact. Here, and nowhere else, a measurement becomes
 * a decimal: rounded once to a millionth of its unit, half away from zero. What follows (times
 * a density, times a count) is exact and rounded at most once more, so that a calculator that
 * starts from the printed volume finds the printed weight. */

#define E6 1000000
#define MM3_IN_CM3 1000

static ts_dec refuse(ts_counting *c, const char *what)
{
    ts_diag_add(c->diag, TS_FAULT_FIGURE, NULL,
                "%s is no figure that exact arithmetic holds; the sheet's measurements lie too "
                "far apart",
                what);
    return (ts_dec){0};
}

ts_dec ts_weigh_measure(ts_counting *c, double measure, const char *what)
{
    ts_dec out;

    return ts_dec_from_double(&out, measure) ? out : refuse(c, what);
}

bool ts_weigh_exact(ts_dec *out, ts_dec volume_mm3, ts_dec density)
{
    /* millionths of mm3 times millionths of g/cm3 are 1e-12 of a mg */
    ts_i128 product = (ts_i128)volume_mm3.e6 * density.e6;

    return ts_div_round(&out->e6, product, (ts_i128)E6 * MM3_IN_CM3, TS_HALF_AWAY);
}

ts_dec ts_weigh_grams(ts_counting *c, ts_dec volume_mm3, ts_dec density)
{
    ts_dec out;

    return ts_weigh_exact(&out, volume_mm3, density) ? out : refuse(c, "a weight");
}

ts_dec ts_weigh_model(ts_counting *c, ts_dec volume_mm3, ts_dec density, ts_dec loss_pct)
{
    ts_i128 whole = (ts_i128)100 * E6;
    ts_i128 product = (ts_i128)volume_mm3.e6 * density.e6;
    ts_dec out;

    if (product > ((ts_i128)1 << 90) ||
        !ts_div_round(&out.e6, product * whole, (ts_i128)E6 * MM3_IN_CM3 * (whole + loss_pct.e6),
                      TS_HALF_AWAY)) {
        return refuse(c, "the weight of a model");
    }
    return out;
}

ts_dec ts_weigh_times(ts_counting *c, ts_dec each, int count)
{
    ts_dec times, out;

    if (!ts_dec_from_int(&times, count) || !ts_dec_mul(&out, each, times, TS_HALF_AWAY)) {
        return refuse(c, "a sum");
    }
    return out;
}

ts_dec ts_weigh_sum(ts_counting *c, ts_dec one, ts_dec other)
{
    ts_dec out;

    return ts_dec_add(&out, one, other) ? out : refuse(c, "a sum");
}
