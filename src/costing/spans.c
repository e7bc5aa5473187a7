#include "costing/spans.h"

#include <math.h>
#include <string.h>

/* Interval arithmetic over a price's trees. What can be proved for a whole range of market
 * prices need not be tried one by one, and a range that comes down to one figure has gone
 * through every rounding as the price itself does. Beside the interval each figure keeps a
 * straight line with a margin of error, so that what rises in net and in cost alike cancels.
 * Source: R. E. Moore, "Interval Analysis", 1966; L. H. de Figueiredo and J. Stolfi, "Affine
 * arithmetic: concepts and applications", 2004. Doubles judge only what is farther from a
 * limit than their error; the rest is answered UNSURE, and costed exactly by who asks. */

#define NEAR 1e-9 /* money and its parts have at most six decimals */

static double ten_to(int places)
{
    double power = 1.0;
    for (int i = 0; i < places; i++) {
        power *= 10.0;
    }
    return power;
}

/* By how much a figure of this size may be off: what is large bears the errors of its sums. */
static double doubt(double size)
{
    return NEAR + 1e-13 * fabs(size);
}

static ts_bounds one_value(double value)
{
    return (ts_bounds){value, value, 0.0, value, value};
}

static ts_bounds between(double lo, double hi)
{
    return (ts_bounds){lo, hi, 0.0, lo, hi};
}

static ts_bounds unbounded(void)
{
    return between((double)-INFINITY, (double)INFINITY);
}

static bool is_one(ts_bounds a)
{
    return a.lo == a.hi;
}

static ts_bounds sum(ts_bounds a, ts_bounds b)
{
    return (ts_bounds){a.lo + b.lo, a.hi + b.hi, a.slope + b.slope, a.least + b.least,
                       a.most + b.most};
}

static ts_bounds scaled(ts_bounds a, double by)
{
    if (by == 0.0) {
        return one_value(0.0); /* of what has no bounds, too */
    }
    ts_bounds s = {a.lo * by, a.hi * by, a.slope * by, a.least * by, a.most * by};
    return by >= 0.0 ? s : (ts_bounds){s.hi, s.lo, s.slope, s.most, s.least};
}

static ts_bounds difference(ts_bounds a, ts_bounds b)
{
    return sum(a, scaled(b, -1.0));
}

static ts_bounds product(ts_bounds a, ts_bounds b)
{
    if (is_one(a) || is_one(b)) {
        return is_one(b) ? scaled(a, b.lo) : scaled(b, a.lo);
    }
    const double of[] = {a.lo * b.lo, a.lo * b.hi, a.hi * b.lo, a.hi * b.hi};
    return between(fmin(fmin(of[0], of[1]), fmin(of[2], of[3])),
                   fmax(fmax(of[0], of[1]), fmax(of[2], of[3])));
}

static ts_bounds quotient(ts_bounds a, ts_bounds b)
{
    if (b.lo <= 0.0 && b.hi >= 0.0) {
        return unbounded();
    }
    return is_one(b) ? scaled(a, 1.0 / b.lo) : product(a, between(1.0 / b.hi, 1.0 / b.lo));
}

/* From a figure to the nearest of a row of steps: `lo` and `hi` where its ends come to, `less`
 * and `more` the farthest that any is moved. */
static ts_bounds stepped(ts_bounds a, double lo, double hi, double less, double more)
{
    return lo == hi ? one_value(lo) : (ts_bounds){lo, hi, a.slope, a.least - less, a.most + more};
}

static ts_bounds rounded(ts_bounds a, int places)
{
    const double per = ten_to(places), half = 0.5 / per;
    const double doubt_lo = 1e-13 * fabs(a.lo) + NEAR / per;
    const double doubt_hi = 1e-13 * fabs(a.hi) + NEAR / per;
    return stepped(a, floor((a.lo - doubt_lo) * per + 0.5) / per,
                   floor((a.hi + doubt_hi) * per + 0.5) / per, half, half);
}

static ts_bounds raised(ts_bounds a, double step)
{
    return stepped(a, ceil((a.lo - doubt(a.lo)) / step) * step,
                   ceil((a.hi - doubt(a.hi)) / step) * step, 0.0, step);
}

static ts_bounds larger(ts_bounds a, ts_bounds b)
{
    if (a.lo >= b.hi || b.lo >= a.hi) {
        return a.lo >= b.hi ? a : b;
    }
    return between(fmax(a.lo, b.lo), fmax(a.hi, b.hi));
}

static ts_bounds smaller(ts_bounds a, ts_bounds b)
{
    return scaled(larger(scaled(a, -1.0), scaled(b, -1.0)), -1.0);
}

/* ---- a part of a sum by largest remainder ---- */

/* Exactly, where all is known; false where it is not. */
static bool shared_exactly(ts_bounds *out, const ts_spans *s, const ts_figure *figure,
                           const int *args)
{
    int64_t weights[64], parts[64];
    const int count = figure->arg_count - 1;
    const double per = ten_to(figure->places);
    if (count > 64 || !is_one(s->at[args[0]])) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        if (!is_one(s->at[args[i + 1]]) || fabs(s->at[args[i + 1]].lo) > 1e12) {
            return false;
        }
        weights[i] = llround(s->at[args[i + 1]].lo * 1e6);
    }
    if (fabs(s->at[args[0]].lo) > 1e15 / per ||
        !ts_split(parts, llround(s->at[args[0]].lo * per), weights, (size_t)count)) {
        return false;
    }
    *out = one_value((double)parts[figure->index] / per);
    return true;
}

static ts_bounds shared(const ts_spans *s, const ts_figure *figure, const int *args)
{
    ts_bounds exact;
    if (shared_exactly(&exact, s, figure, args)) {
        return exact;
    }
    ts_bounds all = one_value(0.0);
    for (int i = 1; i < figure->arg_count; i++) {
        all = sum(all, s->at[args[i]]);
    }
    const ts_bounds own = quotient(s->at[args[figure->index + 1]], all);
    const double unit = 1.0 / ten_to(figure->places);
    return sum(product(s->at[args[0]], between(own.lo, own.hi)), between(-unit, unit));
}

/* ---- a figure from its arguments ---- */

/* Two arguments; those of more are taken one after the other. */
static ts_bounds of_two(ts_op op, ts_bounds a, ts_bounds b)
{
    switch (op) {
    case TS_OP_SUM:
        return sum(a, b);
    case TS_OP_SUB:
        return difference(a, b);
    case TS_OP_MUL:
        return product(a, b);
    case TS_OP_DIV:
        return quotient(a, b);
    case TS_OP_MAX:
        return larger(a, b);
    case TS_OP_MIN:
        return smaller(a, b);
    case TS_OP_CEILING:
    case TS_OP_SHARE:
    case TS_OP_STEP:
    case TS_OP_ROUND:
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
        break;
    }
    return unbounded(); /* they are worked out otherwise */
}

static ts_bounds folded(const ts_spans *s, const ts_figure *figure, const int *args)
{
    ts_bounds value = s->at[args[0]];
    for (int k = 1; k < figure->arg_count; k++) {
        value = of_two(figure->op, value, s->at[args[k]]);
    }
    return value;
}

/* What is raised by what it lacks is what it is raised to: n + (N - n) is N, which intervals
 * alone do not see. */
static ts_bounds added_up(const ts_spans *s, const ts_figure *figure, const int *args)
{
    const ts_flat *flat = s->flat;
    if (figure->arg_count == 2 && flat->figures[args[1]]->op == TS_OP_SUB) {
        const int *lacks = flat->args + flat->first_arg[args[1]];
        if (lacks[1] == args[0]) {
            return s->at[lacks[0]];
        }
    }
    return folded(s, figure, args);
}

static ts_bounds span_of(const ts_spans *s, const ts_figure *figure, const int *args)
{
    switch (figure->op) {
    case TS_OP_SUM:
        return added_up(s, figure, args);
    case TS_OP_SUB:
    case TS_OP_MUL:
    case TS_OP_DIV:
    case TS_OP_MAX:
    case TS_OP_MIN:
        return folded(s, figure, args);
    case TS_OP_ROUND:
        return rounded(s->at[args[0]], figure->places);
    case TS_OP_CEILING:
        return raised(s->at[args[0]], 1.0);
    case TS_OP_STEP:
        return is_one(s->at[args[1]]) && s->at[args[1]].lo > 0.0
                   ? raised(s->at[args[0]], s->at[args[1]].lo)
                   : unbounded();
    case TS_OP_SHARE:
        return shared(s, figure, args);
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
        break;
    }
    return unbounded(); /* leaves do not come here */
}

/* The narrower of the interval and what the line leaves of it. */
static ts_bounds narrowed(ts_bounds a, double width)
{
    const double run = a.slope * width;
    const double lo = fmax(a.lo, a.least + fmin(0.0, run));
    const double hi = fmin(a.hi, a.most + fmax(0.0, run));
    if (lo < hi) {
        a.lo = lo;
        a.hi = hi;
    }
    return a;
}

static void work(ts_spans *s, double low, double high)
{
    const ts_flat *flat = s->flat;
    s->at[s->market] = (ts_bounds){low, high, low < high ? 1.0 : 0.0, low, low};
    for (int n = 0; n < flat->work_count; n++) {
        const int i = flat->works[n];
        const ts_bounds is = span_of(s, flat->figures[i], flat->args + flat->first_arg[i]);
        s->at[i] = is_one(is) ? one_value(is.lo) : narrowed(is, high - low);
    }
}

/* ---- the judgement ---- */

/* Is what decided how the price is made up answered as it was, at all of the prices? */
static bool made_up_alike(const ts_spans *s)
{
    for (int i = 0; i < s->costing->guard_count; i++) {
        const ts_guard *guard = &s->costing->guards[i];
        if (s->guards[i] < 0 || !s->moves[s->guards[i]]) {
            continue;
        }
        const ts_bounds is = s->at[s->guards[i]];
        const bool above = is.lo > NEAR, below = is.hi < -NEAR;
        const bool nothing = is.lo >= -NEAR && is.hi <= NEAR;
        const bool alike = guard->of_sign ? (guard->answer ? above : is.hi <= NEAR)
                                          : (guard->answer ? nothing : above || below);
        if (!alike) {
            return false;
        }
    }
    return true;
}

/* The least margin that is printed as the floor, as a part of 1: half of a hundredth of a per
 * cent under it. */
static double least_printed(const ts_costing *costing)
{
    return (ceil((double)costing->floor_pct.e6 / 1e4) - 0.5) / 1e4;
}

ts_floor_verdict ts_spans_judge(ts_spans *s, double low, double high)
{
    const ts_flat *flat = s->flat;
    if (s->market >= 0) {
        work(s, low, high);
    }
    if (!made_up_alike(s)) {
        return TS_FLOOR_UNSURE;
    }
    ts_bounds income = s->at[flat->net];
    if (flat->surcharge >= 0) {
        income = narrowed(difference(income, s->at[flat->surcharge]), high - low);
    }
    const double least = least_printed(s->costing);
    const double near = doubt(fmax(fmax(fabs(income.lo), fabs(income.hi)), s->at[flat->cost].hi));
    const ts_bounds over =
        narrowed(difference(scaled(income, 1.0 - least), s->at[flat->cost]), high - low);
    if (income.lo > near && over.lo > near) {
        return TS_FLOOR_KEPT;
    }
    return income.hi < -near || over.hi < -near ? TS_FLOOR_MISSED : TS_FLOOR_UNSURE;
}

static int market_of(const ts_flat *flat, int line)
{
    const char *file = ts_book_file_name(TS_BOOK_METALS);
    for (int i = 0; i < flat->count; i++) {
        const ts_figure *leaf = flat->figures[i];
        if (leaf->op == TS_OP_BOOK && leaf->line == line && strcmp(leaf->file, file) == 0) {
            return i;
        }
    }
    return -1;
}

ts_spans *ts_spans_of(ts_arena *arena, const ts_costing *costing, int market_line)
{
    ts_spans *s = TS_NEW(arena, ts_spans);
    s->costing = costing;
    s->flat = ts_flat_guarded(arena, costing, &s->guards);
    const ts_flat *flat = s->flat;
    s->market = market_of(flat, market_line);
    s->moves = TS_ARRAY(arena, bool, (size_t)flat->count);
    s->at = TS_ARRAY(arena, ts_bounds, (size_t)flat->count);
    for (int i = 0; i < flat->count; i++) {
        s->at[i] = one_value(ts_flat_exact(flat->figures[i]));
    }
    if (s->market >= 0) {
        s->moves[s->market] = true;
        ts_flat_follow(s->flat, s->moves);
    }
    return s;
}
