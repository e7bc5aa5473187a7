#include <tallystone/costing/figure.h>

#include <assert.h>
#include <stdint.h>

/* Why this file exists: one place makes every figure of a price, and computes its value
 * as an exact fraction at that moment. A maker that is given NULL answers NULL, so that
 * overflow anywhere in a chain shows at its end and nowhere else needs a check. */

static ts_figure *leaf(ts_arena *arena, ts_op op, const char *name, ts_dec value, const char *unit)
{
    ts_figure *figure = TS_NEW(arena, ts_figure);
    figure->op = op;
    figure->name = name;
    figure->unit = unit;
    figure->places = 6;
    if (!ts_ratio_of(&figure->value, value.e6, 1000000)) {
        return NULL;
    }
    return figure;
}

/* A leaf is told in one call, where its cell is at hand. */
/* NOLINTNEXTLINE(readability-function-size): seven parameters by the header's contract */
const ts_figure *ts_figure_book(ts_arena *arena, const char *name, ts_dec value, const char *unit,
                                const char *file, int line, const char *column)
{
    ts_figure *figure = leaf(arena, TS_OP_BOOK, name, value, unit);
    if (figure != NULL) {
        figure->file = file;
        figure->line = line;
        figure->column = column;
    }
    return figure;
}

/* NOLINTNEXTLINE(readability-function-size): the same */
const ts_figure *ts_figure_quantity(ts_arena *arena, const char *name, ts_dec value,
                                    const char *unit, const char *file, int line, const char *says)
{
    ts_figure *figure = leaf(arena, TS_OP_QUANTITY, name, value, unit);
    if (figure != NULL) {
        figure->file = file;
        figure->line = line;
        figure->says = says;
    }
    return figure;
}

const ts_figure *ts_figure_constant(ts_arena *arena, const char *name, ts_dec value,
                                    const char *unit)
{
    return leaf(arena, TS_OP_CONSTANT, name, value, unit);
}

static int compare(ts_ratio a, ts_ratio b, bool *fine)
{
    ts_ratio minus = {-b.num, b.den};
    ts_ratio difference;
    *fine = ts_ratio_add(&difference, a, minus);
    if (!*fine || difference.num == 0) {
        return 0;
    }
    return difference.num > 0 ? 1 : -1;
}

static bool apply_step(ts_ratio *out, ts_ratio value, ts_ratio step)
{
    int64_t times;
    ts_ratio quotient;
    if (step.num <= 0 || !ts_ratio_div(&quotient, value, step) ||
        !ts_div_round(&times, quotient.num, quotient.den, TS_ROUND_UP)) {
        return false;
    }
    return ts_ratio_mul(out, (ts_ratio){times, 1}, step);
}

/* One step of an operation over two values. */
static bool apply(ts_ratio *out, ts_op op, ts_ratio a, ts_ratio b)
{
    bool fine = true;
    switch (op) {
    case TS_OP_SUM:
        return ts_ratio_add(out, a, b);
    case TS_OP_SUB:
        return ts_ratio_add(out, a, (ts_ratio){-b.num, b.den});
    case TS_OP_MUL:
        return ts_ratio_mul(out, a, b);
    case TS_OP_DIV:
        return b.num != 0 && ts_ratio_div(out, a, b);
    case TS_OP_STEP:
        return apply_step(out, a, b);
    case TS_OP_MAX:
        *out = compare(a, b, &fine) >= 0 ? a : b;
        return fine;
    case TS_OP_MIN:
        *out = compare(a, b, &fine) <= 0 ? a : b;
        return fine;
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
    case TS_OP_ROUND:
    case TS_OP_CEILING:
    case TS_OP_SHARE:
        break;
    }
    return false; /* operations of one value or none do not come here */
}

static int decimals_of(ts_op op, const ts_figure *const *args, int count)
{
    if (op == TS_OP_MUL || op == TS_OP_DIV) {
        return 6;
    }
    int places = 0;
    for (int i = 0; i < count; i++) {
        places = args[i]->places > places ? args[i]->places : places;
    }
    return places;
}

const ts_figure *ts_figure_of(ts_arena *arena, ts_op op, const char *name, const char *unit,
                              const ts_figure *const *args, int arg_count)
{
    assert(arg_count > 0);
    const ts_figure **kept = TS_ARRAY(arena, const ts_figure *, (size_t)arg_count);
    for (int i = 0; i < arg_count; i++) {
        if (args[i] == NULL) {
            return NULL;
        }
        kept[i] = args[i];
    }
    ts_figure *figure = TS_NEW(arena, ts_figure);
    figure->op = op;
    figure->name = name;
    figure->unit = unit;
    figure->args = kept;
    figure->arg_count = arg_count;
    figure->places = decimals_of(op, args, arg_count);
    figure->value = args[0]->value;
    if (op == TS_OP_CEILING) {
        int64_t whole;
        if (!ts_div_round(&whole, figure->value.num, figure->value.den, TS_ROUND_UP)) {
            return NULL;
        }
        figure->value = (ts_ratio){whole, 1};
        figure->places = 0;
        return figure;
    }
    for (int i = 1; i < arg_count; i++) {
        if (!apply(&figure->value, op, figure->value, args[i]->value)) {
            return NULL;
        }
    }
    return figure;
}

const ts_figure *ts_figure_two(ts_arena *arena, ts_op op, const char *name, const char *unit,
                               const ts_figure *one, const ts_figure *two)
{
    const ts_figure *args[] = {one, two};
    return ts_figure_of(arena, op, name, unit, args, 2);
}

static int64_t power_of_ten(int places)
{
    int64_t power = 1;
    for (int i = 0; i < places; i++) {
        power *= 10;
    }
    return power;
}

/* The value in units of 10^-places, rounded. */
static bool scaled(int64_t *out, ts_ratio value, int places, ts_rounding mode)
{
    ts_ratio product;
    return ts_ratio_mul(&product, value, (ts_ratio){power_of_ten(places), 1}) &&
           ts_div_round(out, product.num, product.den, mode);
}

const ts_figure *ts_figure_round(ts_arena *arena, const char *name, const char *unit,
                                 const ts_figure *of, int places, ts_rounding mode)
{
    if (of == NULL) {
        return NULL;
    }
    int64_t units;
    const ts_figure **kept = TS_ARRAY(arena, const ts_figure *, 1);
    kept[0] = of;
    ts_figure *figure = TS_NEW(arena, ts_figure);
    figure->op = TS_OP_ROUND;
    figure->name = name;
    figure->unit = unit;
    figure->args = kept;
    figure->arg_count = 1;
    figure->places = places;
    if (!scaled(&units, of->value, places, mode) ||
        !ts_ratio_of(&figure->value, units, power_of_ten(places))) {
        return NULL;
    }
    return figure;
}

/* NOLINTNEXTLINE(readability-function-size): what is shared, by what, and which part */
const ts_figure *ts_figure_share(ts_arena *arena, const char *name, const char *unit,
                                 const ts_figure *total, const ts_figure *const *weights, int count,
                                 int index, int places)
{
    const ts_figure **kept = TS_ARRAY(arena, const ts_figure *, (size_t)count + 1);
    int64_t *parts = TS_ARRAY(arena, int64_t, (size_t)count);
    int64_t *sizes = TS_ARRAY(arena, int64_t, (size_t)count);
    int64_t whole;
    if (total == NULL || !scaled(&whole, total->value, places, TS_HALF_AWAY)) {
        return NULL;
    }
    kept[0] = total;
    for (int i = 0; i < count; i++) {
        kept[i + 1] = weights[i];
        if (weights[i] == NULL || !scaled(&sizes[i], weights[i]->value, 6, TS_HALF_AWAY)) {
            return NULL;
        }
    }
    ts_figure *figure = TS_NEW(arena, ts_figure);
    figure->op = TS_OP_SHARE;
    figure->name = name;
    figure->unit = unit;
    figure->args = kept;
    figure->arg_count = count + 1;
    figure->index = index;
    figure->places = places;
    if (!ts_split(parts, whole, sizes, (size_t)count) ||
        !ts_ratio_of(&figure->value, parts[index], power_of_ten(places))) {
        return NULL;
    }
    return figure;
}

bool ts_figure_dec(ts_dec *out, const ts_figure *figure)
{
    ts_ratio millionths;
    if (figure == NULL || !ts_ratio_mul(&millionths, figure->value, (ts_ratio){1000000, 1}) ||
        millionths.den != 1) {
        return false;
    }
    return ts_div_round(&out->e6, millionths.num, 1, TS_HALF_AWAY);
}

bool ts_figure_money(ts_money *out, const ts_figure *figure, int exponent)
{
    ts_ratio minor;
    if (figure == NULL ||
        !ts_ratio_mul(&minor, figure->value, (ts_ratio){power_of_ten(exponent), 1}) ||
        minor.den != 1) {
        return false;
    }
    return ts_div_round(&out->minor, minor.num, 1, TS_HALF_AWAY);
}

char *ts_figure_text(char *buffer, const ts_figure *figure, bool *exact)
{
    ts_dec value = {0};
    *exact = ts_figure_dec(&value, figure);
    if (!*exact && !ts_ratio_dec(&value, figure->value, TS_HALF_AWAY)) {
        buffer[0] = '\0';
        return buffer;
    }
    return ts_dec_text(buffer, value);
}
