#include "costing/moved.h"

#include <tallystone/base/hash.h>

#include <math.h>
#include <stdint.h>
#include <string.h>

/* The owner's "what if": a price's trees in doubles, flattened once and worked out as
 * often as a leaf moves. Roundings are passed over: ROUND and STEP answer what they are
 * given, CEILING keeps whole stones, SHARE splits in proportion. */

double ts_flat_exact(const ts_figure *figure)
{
    return figure == NULL ? 0.0 : (double)figure->value.num / (double)figure->value.den;
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
    int *slots; /* positions plus one, by the figure's address; 0: free */
    size_t slot_count;
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

/* The slot of a figure: its own, or the free one that it would take. */
static int *slot_of(const flattener *f, const ts_figure *figure)
{
    const size_t last = f->slot_count - 1; /* the count is a power of two */
    size_t at = (size_t)ts_hash_word(TS_HASH_NONE, (uintptr_t)figure >> 4) & last;
    while (f->slots[at] != 0 && f->flat->figures[f->slots[at] - 1] != figure) {
        at = (at + 1) & last;
    }
    return &f->slots[at];
}

/* At most half of the slots are taken. */
static void widen_slots(flattener *f)
{
    if (2 * ((size_t)f->flat->count + 1) < f->slot_count) {
        return;
    }
    f->slot_count = f->slot_count == 0 ? 1024 : 4 * f->slot_count;
    f->slots = TS_ARRAY(f->arena, int, f->slot_count);
    for (int i = 0; i < f->flat->count; i++) {
        *slot_of(f, f->flat->figures[i]) = i + 1;
    }
}

/* Adds a figure after its arguments; answers its position. Trees are a few levels deep. */
static int flatten(flattener *f, const ts_figure *figure)
{
    widen_slots(f);
    int known = *slot_of(f, figure);
    if (known > 0) {
        return known - 1;
    }
    ts_flat *flat = f->flat;
    const size_t first = f->args_count;
    for (int i = 0; i < figure->arg_count; i++) {
        flat->args = ts_arena_grow(f->arena, flat->args, f->args_count, &f->args_room, sizeof(int));
        f->args_count++;
    }
    for (int i = 0; i < figure->arg_count; i++) {
        const int position = flatten(f, figure->args[i]);
        flat->args[first + (size_t)i] = position;
    }
    widen_slots(f);
    int *slot = slot_of(f, figure);
    flat->figures = ts_arena_grow(f->arena, flat->figures, (size_t)flat->count, &f->figure_room,
                                  sizeof(const ts_figure *));
    flat->first_arg =
        ts_arena_grow(f->arena, flat->first_arg, (size_t)flat->count, &f->first_room, sizeof(int));
    flat->figures[flat->count] = figure;
    flat->first_arg[flat->count] = (int)first;
    *slot = ++flat->count;
    return flat->count - 1;
}

/* All but the values. */
static ts_flat *flatten_costing(flattener *f, const ts_costing *costing)
{
    ts_flat *flat = TS_NEW(f->arena, ts_flat);
    f->flat = flat;
    flat->net = flatten(f, costing->net);
    flat->surcharge = costing->surcharge == NULL ? -1 : flatten(f, costing->surcharge);
    flat->cost = flatten(f, costing->cost);
    return flat;
}

static ts_flat *evaluated(ts_arena *arena, ts_flat *flat)
{
    flat->values = TS_ARRAY(arena, double, (size_t)flat->count);
    flat->works = TS_ARRAY(arena, int, (size_t)flat->count + 1);
    ts_flat_reset(flat);
    ts_flat_follow(flat, NULL);
    ts_flat_work(flat);
    return flat;
}

ts_flat *ts_flat_of(ts_arena *arena, const ts_costing *costing)
{
    flattener f = {.arena = arena};
    return evaluated(arena, flatten_costing(&f, costing));
}

ts_flat *ts_flat_guarded(ts_arena *arena, const ts_costing *costing, int **guards)
{
    flattener f = {.arena = arena};
    ts_flat *flat = flatten_costing(&f, costing);
    *guards = TS_ARRAY(arena, int, (size_t)costing->guard_count + 1);
    for (int i = 0; i < costing->guard_count; i++) {
        const ts_figure *figure = costing->guards[i].figure;
        (*guards)[i] = figure == NULL ? -1 : flatten(&f, figure);
    }
    return evaluated(arena, flat);
}

const ts_metal_row *ts_flat_market(const ts_costing *costing, const ts_figure *figure)
{
    if (figure->op != TS_OP_BOOK || strcmp(figure->file, ts_book_file_name(TS_BOOK_METALS)) != 0) {
        return NULL;
    }
    /* a row begins with its head */
    return (const void *)ts_book_row_on_line(costing->book, figure->file, figure->line);
}

void ts_flat_reset(ts_flat *flat)
{
    for (int i = 0; i < flat->count; i++) {
        if (ts_flat_is_leaf(flat->figures[i])) {
            flat->values[i] = ts_flat_exact(flat->figures[i]);
        }
    }
}

void ts_flat_follow(ts_flat *flat, bool *moves)
{
    flat->work_count = 0;
    for (int i = 0; i < flat->count; i++) {
        const int *args = flat->args + flat->first_arg[i];
        bool follows = moves == NULL;
        for (int k = 0; !follows && k < flat->figures[i]->arg_count; k++) {
            follows = moves[args[k]];
        }
        if (follows && !ts_flat_is_leaf(flat->figures[i])) {
            flat->works[flat->work_count++] = i;
            if (moves != NULL) {
                moves[i] = true;
            }
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

/* A figure that is made of others, from their values. */
static double made_of(const ts_flat *flat, const ts_figure *figure, const int *args)
{
    const double *values = flat->values;
    double value = values[args[0]];
    switch (figure->op) {
    case TS_OP_SUM:
        for (int k = 1; k < figure->arg_count; k++) {
            value += values[args[k]];
        }
        break;
    case TS_OP_MUL:
        for (int k = 1; k < figure->arg_count; k++) {
            value *= values[args[k]];
        }
        break;
    case TS_OP_SUB:
        for (int k = 1; k < figure->arg_count; k++) {
            value -= values[args[k]];
        }
        break;
    case TS_OP_DIV:
        return value / values[args[1]];
    case TS_OP_MAX:
        for (int k = 1; k < figure->arg_count; k++) {
            value = fmax(value, values[args[k]]);
        }
        break;
    case TS_OP_MIN:
        for (int k = 1; k < figure->arg_count; k++) {
            value = fmin(value, values[args[k]]);
        }
        break;
    case TS_OP_CEILING:
        return ceil(value - 1e-9);
    case TS_OP_SHARE:
        return share(flat, figure, args);
    case TS_OP_STEP: /* passed over, as roundings are */
    case TS_OP_ROUND:
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
        break;
    }
    return value;
}

void ts_flat_work(ts_flat *flat)
{
    for (int n = 0; n < flat->work_count; n++) {
        int i = flat->works[n];
        flat->values[i] = made_of(flat, flat->figures[i], flat->args + flat->first_arg[i]);
    }
}

ts_flat_row *ts_flat_abreast(ts_arena *arena, const ts_flat *flat)
{
    ts_flat_row *values = TS_ARRAY(arena, ts_flat_row, (size_t)flat->count + 1);
    for (int i = 0; i < flat->count; i++) {
        for (int k = 0; k < TS_FLAT_ABREAST; k++) {
            values[i][k] = flat->values[i];
        }
    }
    return values;
}

/* `value` and one argument more; false, and nothing done, where the figure takes its arguments
 * otherwise than one after the other. */
static bool take_abreast(double *value, ts_op op, const double *arg)
{
    switch (op) {
    case TS_OP_SUM:
        for (int k = 0; k < TS_FLAT_ABREAST; k++) {
            value[k] += arg[k];
        }
        return true;
    case TS_OP_SUB:
        for (int k = 0; k < TS_FLAT_ABREAST; k++) {
            value[k] -= arg[k];
        }
        return true;
    case TS_OP_MUL:
        for (int k = 0; k < TS_FLAT_ABREAST; k++) {
            value[k] *= arg[k];
        }
        return true;
    case TS_OP_DIV:
        for (int k = 0; k < TS_FLAT_ABREAST; k++) {
            value[k] /= arg[k];
        }
        return true;
    case TS_OP_MAX:
    case TS_OP_MIN:
    case TS_OP_CEILING:
    case TS_OP_SHARE:
    case TS_OP_STEP:
    case TS_OP_ROUND:
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
        break;
    }
    return false;
}

/* Draw by draw, through the figure's one formula, in flat->values. */
static void one_by_one(const ts_flat *flat, int i, ts_flat_row *values)
{
    const ts_figure *figure = flat->figures[i];
    const int *args = flat->args + flat->first_arg[i];
    for (int k = 0; k < TS_FLAT_ABREAST; k++) {
        for (int a = 0; a < figure->arg_count; a++) {
            flat->values[args[a]] = values[args[a]][k];
        }
        values[i][k] = made_of(flat, figure, args);
    }
}

void ts_flat_work_abreast(const ts_flat *flat, ts_flat_row *values)
{
    for (int n = 0; n < flat->work_count; n++) {
        int i = flat->works[n];
        const ts_figure *figure = flat->figures[i];
        const int *args = flat->args + flat->first_arg[i];
        /* others of one argument pass it on */
        bool is_abreast = figure->op != TS_OP_CEILING && figure->op != TS_OP_SHARE;
        ts_flat_row value;
        memcpy(value, values[args[0]], sizeof value);
        for (int a = 1; a < figure->arg_count && is_abreast; a++) {
            is_abreast = take_abreast(value, figure->op, values[args[a]]);
        }
        if (is_abreast) {
            memcpy(values[i], value, sizeof value);
        } else {
            one_by_one(flat, i, values);
        }
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
