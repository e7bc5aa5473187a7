#include "costing/slope.h"

/* The rules of differentiation over a figure's tree. What does not hang on the leaf stays the
 * figure that it is, so that its own steps can be told. */

#define MOST_DEN 1000000000000 /* finer fractions are rounded, for they would outgrow 128 bits */

static const ts_figure *kept(ts_slopes *s, const ts_figure *made)
{
    s->overflowed = s->overflowed || made == NULL;
    return made == NULL || made->value.num == 0 ? NULL : made;
}

static const ts_figure *two(ts_slopes *s, ts_op op, const ts_figure *of, const ts_figure *a,
                            const ts_figure *b)
{
    return kept(s, ts_figure_two(s->arena, op, of->name, of->unit, a, b));
}

static const ts_figure *added(ts_slopes *s, const ts_figure *of, const ts_figure *a,
                              const ts_figure *b)
{
    return a == NULL ? b : b == NULL ? a : two(s, TS_OP_SUM, of, a, b);
}

static const ts_figure *taken_off(ts_slopes *s, const ts_figure *of, const ts_figure *a,
                                  const ts_figure *b)
{
    const ts_figure *nothing = ts_figure_constant(s->arena, "nothing", (ts_dec){0}, "");
    return b == NULL ? a : two(s, TS_OP_SUB, of, a == NULL ? nothing : a, b);
}

static const ts_figure *times(ts_slopes *s, const ts_figure *of, const ts_figure *a,
                              const ts_figure *b)
{
    return a == NULL || b == NULL ? NULL : two(s, TS_OP_MUL, of, a, b);
}

/* Each factor's slope times the others. */
static const ts_figure *of_product(ts_slopes *s, const ts_figure *f)
{
    const ts_figure *sum = NULL;
    for (int i = 0; i < f->arg_count; i++) {
        const ts_figure *part = ts_slope_of(s, f->args[i]);
        for (int k = 0; k < f->arg_count; k++) {
            part = k == i ? part : times(s, f, part, f->args[k]);
        }
        sum = added(s, f, sum, part);
    }
    return sum;
}

/* (a' - (a/b)·b') / b */
static const ts_figure *of_quotient(ts_slopes *s, const ts_figure *f, const ts_figure *above,
                                    const ts_figure *below, const ts_figure *under)
{
    const ts_figure *left = taken_off(s, f, above, times(s, f, below, f));
    return left == NULL ? NULL : two(s, TS_OP_DIV, f, left, under);
}

static const ts_figure *of_sum(ts_slopes *s, const ts_figure *f, int first)
{
    const ts_figure *sum = NULL;
    for (int i = first; i < f->arg_count; i++) {
        sum = added(s, f, sum, ts_slope_of(s, f->args[i]));
    }
    return sum;
}

/* A part T·w/W of a sum, W the sum of the weights. */
static const ts_figure *of_share(ts_slopes *s, const ts_figure *f)
{
    const ts_figure *all =
        ts_figure_of(s->arena, TS_OP_SUM, f->name, f->unit, f->args + 1, f->arg_count - 1);
    if (kept(s, all) == NULL) {
        return NULL;
    }
    const ts_figure *weight = f->args[f->index + 1];
    const ts_figure *above = added(s, f, times(s, f, ts_slope_of(s, f->args[0]), weight),
                                   times(s, f, ts_slope_of(s, weight), f->args[0]));
    return of_quotient(s, f, above, of_sum(s, f, 1), all);
}

static const ts_figure *of_chosen(ts_slopes *s, const ts_figure *f)
{
    for (int i = 0; i < f->arg_count; i++) {
        const ts_ratio a = f->args[i]->value;
        if (a.num == f->value.num && a.den == f->value.den) {
            return ts_slope_of(s, f->args[i]);
        }
    }
    return NULL;
}

static const ts_figure *worked_out(ts_slopes *s, const ts_figure *f)
{
    switch (f->op) {
    case TS_OP_SUM:
        return of_sum(s, f, 0);
    case TS_OP_SUB:
        return taken_off(s, f, ts_slope_of(s, f->args[0]), of_sum(s, f, 1));
    case TS_OP_MUL:
        return of_product(s, f);
    case TS_OP_DIV:
        return of_quotient(s, f, ts_slope_of(s, f->args[0]), ts_slope_of(s, f->args[1]),
                           f->args[1]);
    case TS_OP_ROUND:
        return ts_slope_of(s, f->args[0]);
    case TS_OP_MAX:
    case TS_OP_MIN:
        return of_chosen(s, f);
    case TS_OP_SHARE:
        return of_share(s, f);
    case TS_OP_CEILING:
    case TS_OP_STEP:
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
        break;
    }
    return NULL;
}

/* What other slopes rest on is said in so many words once it is rounded: a step of its own. */
static const ts_figure *tamed(ts_slopes *s, const ts_figure *f, const ts_figure *slope)
{
    if (slope == NULL || slope->op == TS_OP_ROUND || slope->value.den < MOST_DEN ||
        f->unit[0] == '\0') {
        return slope; /* parts of one are too small to be rounded */
    }
    const char *name = ts_arena_format(s->arena, "%s more on %s", s->by_words, f->name);
    return kept(s, ts_figure_round(s->arena, name, f->unit, slope, 6, s->mode));
}

const ts_figure *ts_slope_of(ts_slopes *s, const ts_figure *figure)
{
    for (size_t i = 0; i < s->count; i++) {
        if (s->figures[i] == figure) {
            return s->known[i];
        }
    }
    const ts_figure *slope = figure == s->leaf ? s->by : tamed(s, figure, worked_out(s, figure));
    s->figures = ts_arena_grow(s->arena, s->figures, s->count, &s->figure_room, sizeof *s->figures);
    s->known = ts_arena_grow(s->arena, s->known, s->count, &s->known_room, sizeof *s->known);
    s->figures[s->count] = figure;
    s->known[s->count++] = slope;
    return slope;
}
