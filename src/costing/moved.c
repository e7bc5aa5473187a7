#include "costing/moved.h"

#include <math.h>

/* The owner's "what if": a price's trees in doubles, flattened once and worked out as
 * often as a leaf moves. Roundings are passed over: ROUND and STEP answer what they are
 * given, CEILING keeps whole stones, SHARE splits in proportion. */

static double value_of(const ts_figure *figure)
{
    return (double)figure->value.num / (double)figure->value.den;
}

bool ts_flat_is_leaf(const ts_figure *figure)
{
    return figure->arg_count == 0;
}

typedef struct flattener {
    ts_arena *arena;
    ts_flat *flat;
    size_t figure_room, args_room, first_room;
    size_t args_count;
} flattener;

int ts_flat_find(const ts_flat *flat, const ts_figure *leaf)
{
    for (int i = 0; i < flat->count; i++) {
        if (flat->figures[i] == leaf) {
            return i;
        }
    }
    return -1;
}

/* Adds a figure after its arguments; answers its position. Trees are a few levels deep. */
static int flatten(flattener *f, const ts_figure *figure)
{
    int known = ts_flat_find(f->flat, figure);
    if (known >= 0) {
        return known;
    }
    int *positions = TS_ARRAY(f->arena, int, (size_t)figure->arg_count + 1);
    for (int i = 0; i < figure->arg_count; i++) {
        positions[i] = flatten(f, figure->args[i]);
    }
    ts_flat *flat = f->flat;
    flat->figures = ts_arena_grow(f->arena, flat->figures, (size_t)flat->count, &f->figure_room,
                                  sizeof(const ts_figure *));
    flat->first_arg =
        ts_arena_grow(f->arena, flat->first_arg, (size_t)flat->count, &f->first_room, sizeof(int));
    flat->figures[flat->count] = figure;
    flat->first_arg[flat->count] = (int)f->args_count;
    for (int i = 0; i < figure->arg_count; i++) {
        flat->args = ts_arena_grow(f->arena, flat->args, f->args_count, &f->args_room, sizeof(int));
        flat->args[f->args_count++] = positions[i];
    }
    return flat->count++;
}

ts_flat *ts_flat_of(ts_arena *arena, const ts_costing *costing)
{
    ts_flat *flat = TS_NEW(arena, ts_flat);
    flattener f = {.arena = arena, .flat = flat};
    flat->net = flatten(&f, costing->net);
    flat->surcharge = costing->surcharge == NULL ? -1 : flatten(&f, costing->surcharge);
    flat->cost = flatten(&f, costing->cost);
    flat->values = TS_ARRAY(arena, double, (size_t)flat->count);
    ts_flat_reset(flat);
    ts_flat_work(flat);
    return flat;
}

void ts_flat_reset(ts_flat *flat)
{
    for (int i = 0; i < flat->count; i++) {
        if (ts_flat_is_leaf(flat->figures[i])) {
            flat->values[i] = value_of(flat->figures[i]);
        }
    }
}

static double share(const ts_flat *flat, const ts_figure *figure, const int *args)
{
    double sum = 0.0;
    for (int i = 1; i < figure->arg_count; i++) {
        sum += flat->values[args[i]];
    }
    double total = flat->values[args[0]];
    if (sum == 0.0) {
        return figure->index == 0 ? total : 0.0;
    }
    return total * flat->values[args[figure->index + 1]] / sum;
}

static double fold(ts_op op, double so_far, double next)
{
    switch (op) {
    case TS_OP_SUM:
        return so_far + next;
    case TS_OP_SUB:
        return so_far - next;
    case TS_OP_MUL:
        return so_far * next;
    case TS_OP_DIV:
        return so_far / next;
    case TS_OP_MAX:
        return fmax(so_far, next);
    case TS_OP_MIN:
        return fmin(so_far, next);
    case TS_OP_STEP:
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
    case TS_OP_ROUND:
    case TS_OP_CEILING:
    case TS_OP_SHARE:
        break;
    }
    return so_far; /* a step is passed over */
}

void ts_flat_work(ts_flat *flat)
{
    for (int i = 0; i < flat->count; i++) {
        const ts_figure *figure = flat->figures[i];
        const int *args = flat->args + flat->first_arg[i];
        if (ts_flat_is_leaf(figure)) {
            continue;
        }
        double value = flat->values[args[0]];
        if (figure->op == TS_OP_SHARE) {
            value = share(flat, figure, args);
        } else if (figure->op == TS_OP_CEILING) {
            value = ceil(value - 1e-9);
        }
        for (int k = 1; figure->op != TS_OP_SHARE && k < figure->arg_count; k++) {
            value = fold(figure->op, value, flat->values[args[k]]);
        }
        flat->values[i] = value;
    }
}

double ts_flat_margin(const ts_flat *flat)
{
    double income = flat->values[flat->net];
    if (flat->surcharge >= 0) {
        income -= flat->values[flat->surcharge];
    }
    return income > 0.0 ? 100.0 * (income - flat->values[flat->cost]) / income : (double)NAN;
}
