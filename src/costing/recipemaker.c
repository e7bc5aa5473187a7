#include "costing/recipemaker.h"

#include <string.h>

/* Why this file exists: the trees of a price say how each figure comes about; here they
 * are told once more as moves over integers. Sums, differences and products by a fixed
 * number stay forms until a rounding, a comparison or a share makes a number of them, so
 * a tree of four hundred figures is some eighty moves.
 *
 * Each figure's form is held against the bounds too: a row on which the ordinary way would
 * find an overflow is never replayed. */

#define MEMO_SLOTS 4096 /* more than half as many figures in one price: no recipe */
#define MANY_TERMS 3    /* a sum of more is worth a number of its own */

struct ts_worked_memo {
    const ts_figure *figure;
    const ts_worked *made;
};

struct ts_worked_split {
    const ts_figure *of; /* its arguments and places tell the others of the same split */
    int first;
};

static const ts_ratio one = {1, 1};

static ts_ratio ten_to(int places)
{
    ts_ratio power = {1, 1};
    for (int i = 0; i < places; i++) {
        power.num *= 10;
    }
    return power;
}

static bool is_constant(const ts_worked *made)
{
    return !made->is_quotient && made->form.count == 0;
}

static bool make(ts_maker *m, ts_worked *out, const ts_figure *figure);

/* A form of one number over a denominator. */
static bool over(ts_maker *m, ts_worked *out, int number, ts_i128 den)
{
    *out = (ts_worked){.form = ts_form_number(m->arena, number, (ts_ratio){1, den})};
    return true;
}

/* ---- quotients of two wide numbers ---- */

static bool as_quotient(ts_maker *m, ts_worked *made)
{
    ts_i128 den = 1;
    if (made->is_quotient) {
        return true;
    }
    made->is_quotient = true;
    return ts_move_wide(m, &made->num, &den, &made->form) &&
           ts_move_wide_constant(m, &made->den, den);
}

static bool quotients(ts_maker *m, ts_worked *out, ts_op op, ts_worked a, ts_worked b)
{
    int left = 0, right = 0;
    ts_worked made = {.is_quotient = true};
    if (!as_quotient(m, &a) || !as_quotient(m, &b)) {
        return false;
    }
    bool well = false;
    if (op == TS_OP_MUL || op == TS_OP_DIV) {
        const bool times = op == TS_OP_MUL;
        well = ts_move_wide_two(m, &made.num, TS_MOVE_WIDE_TIMES, a.num, times ? b.num : b.den) &&
               ts_move_wide_two(m, &made.den, TS_MOVE_WIDE_TIMES, a.den, times ? b.den : b.num);
    } else if (op == TS_OP_SUM || op == TS_OP_SUB) {
        well =
            ts_move_wide_two(m, &left, TS_MOVE_WIDE_TIMES, a.num, b.den) &&
            ts_move_wide_two(m, &right, TS_MOVE_WIDE_TIMES, b.num, a.den) &&
            ts_move_wide_two(m, &made.num, op == TS_OP_SUM ? TS_MOVE_WIDE_PLUS : TS_MOVE_WIDE_MINUS,
                             left, right) &&
            ts_move_wide_two(m, &made.den, TS_MOVE_WIDE_TIMES, a.den, b.den);
    }
    *out = made;
    return well;
}

static bool round_quotient(ts_maker *m, ts_worked *out, const ts_figure *figure,
                           const ts_worked *of, ts_rounding mode)
{
    const ts_ratio power = ten_to(figure->places);
    ts_ratio now;
    int number = 0;
    const ts_move like = {.factor = (int64_t)power.num,
                          .a = (int16_t)of->num,
                          .b = (int16_t)of->den,
                          .mode = (uint8_t)mode};
    return ts_ratio_mul(&now, figure->value, power) && now.num <= INT64_MAX &&
           now.num >= -INT64_MAX && ts_move_quotient(m, &number, &like, (int64_t)now.num) &&
           over(m, out, number, power.num);
}

/* ---- operations ---- */

static bool add(ts_maker *m, ts_worked *out, const ts_worked *a, const ts_worked *b, bool minus)
{
    ts_worked other = *b;
    if (a->is_quotient || b->is_quotient) {
        return quotients(m, out, minus ? TS_OP_SUB : TS_OP_SUM, *a, *b);
    }
    *out = (ts_worked){.is_quotient = false};
    return (!minus || ts_form_scale(&other.form, m->arena, &b->form, (ts_ratio){-1, 1})) &&
           ts_form_add(&out->form, m->arena, &a->form, &other.form);
}

/* A form of one number, so that it can be a factor. */
static bool as_number(ts_maker *m, ts_worked *made)
{
    int number = 0;
    ts_i128 den = 1;
    return ts_form_is_number(&made->form) ||
           (ts_move_whole(m, &number, &den, &made->form) && over(m, made, number, den));
}

static bool multiply(ts_maker *m, ts_worked *out, ts_worked a, ts_worked b)
{
    if (a.is_quotient || b.is_quotient) {
        return quotients(m, out, TS_OP_MUL, a, b);
    }
    *out = (ts_worked){.is_quotient = false};
    if (is_constant(&b)) {
        return ts_form_scale(&out->form, m->arena, &a.form, b.form.constant);
    }
    if (is_constant(&a)) {
        return ts_form_scale(&out->form, m->arena, &b.form, a.form.constant);
    }
    return as_number(m, &a) && as_number(m, &b) &&
           ts_form_times(&out->form, m->arena, &a.form, &b.form);
}

static bool divide(ts_maker *m, ts_worked *out, const ts_worked *a, const ts_worked *b)
{
    ts_ratio inverse;
    if (!is_constant(b) || a->is_quotient) {
        return quotients(m, out, TS_OP_DIV, *a, *b);
    }
    *out = (ts_worked){.is_quotient = false};
    return ts_ratio_div(&inverse, one, b->form.constant) &&
           ts_form_scale(&out->form, m->arena, &a->form, inverse);
}

/* Up to a multiple of a fixed step. */
static bool step_up(ts_maker *m, ts_worked *out, const ts_worked *a, const ts_worked *b)
{
    ts_ratio inverse;
    int times = 0;
    if (!is_constant(b) || a->is_quotient || !ts_ratio_div(&inverse, one, b->form.constant) ||
        !ts_move_round(m, &times, &a->form, inverse, TS_ROUND_UP)) {
        return false;
    }
    *out = (ts_worked){.form = ts_form_number(m->arena, times, b->form.constant)};
    return true;
}

static bool compare(ts_maker *m, ts_worked *out, const ts_worked *a, const ts_worked *b,
                    bool larger)
{
    ts_form scaled;
    ts_form_whole whole;
    int left = 0, right = 0, number = 0;
    if (a->is_quotient || b->is_quotient || !ts_form_over(&whole, m->arena, &a->form, m->bounds)) {
        return false;
    }
    if (is_constant(b) && b->form.constant.num <= 0 && ts_form_is_natural(m, &a->form)) {
        *out = larger ? *a : *b;
        return true;
    }
    /* a denominator for both: that of one, times what the other still needs */
    ts_i128 den = whole.den;
    if (!ts_form_scale(&scaled, m->arena, &b->form, (ts_ratio){den, 1}) ||
        !ts_form_over(&whole, m->arena, &scaled, m->bounds) ||
        !ts_wide_times(&den, den, whole.den)) {
        return false;
    }
    return ts_move_exact(m, &left, &a->form, (ts_ratio){den, 1}) &&
           ts_move_exact(m, &right, &b->form, (ts_ratio){den, 1}) &&
           ts_move_larger(m, &number, left, right, larger) && over(m, out, number, den);
}

static bool two(ts_maker *m, ts_worked *out, ts_op op, const ts_worked *a, const ts_worked *b)
{
    switch (op) {
    case TS_OP_SUM:
        return add(m, out, a, b, false);
    case TS_OP_SUB:
        return add(m, out, a, b, true);
    case TS_OP_MUL:
        return multiply(m, out, *a, *b);
    case TS_OP_DIV:
        return divide(m, out, a, b);
    case TS_OP_STEP:
        return step_up(m, out, a, b);
    case TS_OP_MAX:
        return compare(m, out, a, b, true);
    case TS_OP_MIN:
        return compare(m, out, a, b, false);
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_CONSTANT:
    case TS_OP_ROUND:
    case TS_OP_CEILING:
    case TS_OP_SHARE:
        break;
    }
    return false; /* these have no two arguments */
}

/* ---- shares ---- */

static bool same_split(const ts_figure *a, const ts_figure *b)
{
    return a->places == b->places && a->arg_count == b->arg_count &&
           memcmp(a->args, b->args, (size_t)a->arg_count * sizeof *a->args) == 0;
}

static bool new_split(ts_maker *m, int *first, const ts_figure *figure)
{
    int weights[TS_MOST_WIDE];
    int total = 0;
    ts_worked made;
    if (figure->arg_count - 1 > TS_MOST_WIDE || !make(m, &made, figure->args[0]) ||
        made.is_quotient ||
        !ts_move_round(m, &total, &made.form, ten_to(figure->places), TS_HALF_AWAY)) {
        return false;
    }
    for (int i = 1; i < figure->arg_count; i++) {
        if (!make(m, &made, figure->args[i]) || made.is_quotient ||
            !ts_move_round(m, &weights[i - 1], &made.form, ten_to(6), TS_HALF_AWAY)) {
            return false;
        }
    }
    return ts_move_split(m, first, total, weights, figure->arg_count - 1);
}

/* One split serves all its shares. */
static bool share(ts_maker *m, ts_worked *out, const ts_figure *figure)
{
    const ts_i128 unit = ten_to(figure->places).num;
    for (size_t i = 0; i < m->split_count; i++) {
        if (same_split(m->splits[i].of, figure)) {
            return over(m, out, m->splits[i].first + figure->index, unit);
        }
    }
    int first = 0;
    if (!new_split(m, &first, figure)) {
        return false;
    }
    m->splits =
        ts_arena_grow(m->arena, m->splits, m->split_count, &m->split_room, sizeof *m->splits);
    m->splits[m->split_count++] = (ts_worked_split){figure, first};
    return over(m, out, first + figure->index, unit);
}

/* ---- figures ---- */

static bool leaf(ts_maker *m, ts_worked *out, const ts_figure *figure)
{
    int number = 0;
    if (figure->op != TS_OP_QUANTITY || figure->taken == TS_TAKEN_ONCE) {
        *out = (ts_worked){.form = ts_form_constant(figure->value)};
        return true;
    }
    if (figure->taken == TS_TAKEN_NONE) {
        return false;
    }
    const ts_take take = ts_take_of((ts_taken)figure->taken, figure->index);
    return ts_move_read(m, &number, take) && over(m, out, number, TS_TAKEN_PER(take));
}

static bool rounded(ts_maker *m, ts_worked *out, const ts_figure *figure, ts_rounding mode)
{
    const bool up = figure->op == TS_OP_CEILING;
    const ts_ratio power = up ? one : ten_to(figure->places);
    ts_worked of;
    int number = 0;
    if (!make(m, &of, figure->args[0])) {
        return false;
    }
    if (of.is_quotient) {
        return !up && round_quotient(m, out, figure, &of, mode);
    }
    return ts_move_round(m, &number, &of.form, power, up ? TS_ROUND_UP : mode) &&
           over(m, out, number, power.num);
}

static bool folded(ts_maker *m, ts_worked *out, const ts_figure *figure)
{
    ts_worked so_far;
    bool well = make(m, &so_far, figure->args[0]);
    for (int i = 1; well && i < figure->arg_count; i++) {
        ts_worked next, both = so_far;
        well = make(m, &next, figure->args[i]) && two(m, &both, figure->op, &so_far, &next);
        so_far = both;
    }
    *out = so_far;
    return well;
}

static bool all_constant(ts_maker *m, const ts_figure *figure, bool *constant)
{
    ts_worked made;
    *constant = true;
    for (int i = 0; i < figure->arg_count; i++) {
        if (!make(m, &made, figure->args[i])) {
            return false;
        }
        *constant = *constant && is_constant(&made);
    }
    return true;
}

static bool make_new(ts_maker *m, ts_worked *out, const ts_figure *figure)
{
    bool constant = false;
    int number = 0;
    ts_i128 den = 1;
    if (figure->arg_count == 0) {
        return leaf(m, out, figure);
    }
    if (!all_constant(m, figure, &constant)) {
        return false;
    }
    if (constant) {
        *out = (ts_worked){.form = ts_form_constant(figure->value)};
        return true;
    }
    if (figure->op == TS_OP_SHARE) {
        return share(m, out, figure);
    }
    if (figure->op == TS_OP_ROUND || figure->op == TS_OP_CEILING) {
        return rounded(m, out, figure, m->mode);
    }
    if (!folded(m, out, figure) ||
        (!out->is_quotient && !ts_form_stays(m, &out->form, (ts_ratio){1, 1}))) {
        return false;
    }
    if (!out->is_quotient && out->form.count > MANY_TERMS) {
        return ts_move_whole(m, &number, &den, &out->form) && over(m, out, number, den);
    }
    return true;
}

static bool make(ts_maker *m, ts_worked *out, const ts_figure *figure)
{
    size_t at = ((uintptr_t)figure >> 4) * 2654435761u % MEMO_SLOTS;
    for (size_t probes = 0; probes < MEMO_SLOTS; probes++, at = (at + 1) % MEMO_SLOTS) {
        if (m->memo[at].figure == figure) {
            *out = *m->memo[at].made;
            return true;
        }
        if (m->memo[at].figure == NULL) {
            break;
        }
    }
    if (figure == NULL || m->memo_count > MEMO_SLOTS / 2 || !make_new(m, out, figure)) {
        return false;
    }
    while (m->memo[at].figure != NULL) { /* its arguments may have taken the slot */
        at = (at + 1) % MEMO_SLOTS;
    }
    ts_worked *kept = TS_NEW(m->arena, ts_worked);
    *kept = *out;
    m->memo[at] = (ts_worked_memo){figure, kept};
    m->memo_count++;
    return true;
}

/* ---- the whole ---- */

static bool provide(ts_maker *m, ts_moves *out, ts_arena *arena, const ts_costing *costing)
{
    ts_proviso *provisos = TS_ARRAY(arena, ts_proviso, (size_t)costing->guard_count + 1);
    int count = 0;
    for (int i = 0; i < costing->guard_count; i++) {
        const ts_guard *guard = &costing->guards[i];
        ts_worked made;
        int number = 0;
        ts_i128 den = 1;
        if (!make(m, &made, guard->figure) || made.is_quotient) {
            return false;
        }
        if (is_constant(&made)) {
            continue;
        }
        if (!ts_move_whole(m, &number, &den, &made.form)) {
            return false;
        }
        provisos[count++] = (ts_proviso){(int16_t)number, guard->of_sign, guard->answer};
    }
    out->provisos = provisos;
    out->proviso_count = count;
    return true;
}

/* The number of an amount of money in its minor unit. */
static bool money(ts_maker *m, int16_t *number, const ts_worked *made, int exponent)
{
    int at = 0;
    const bool well = !made->is_quotient && ts_move_exact(m, &at, &made->form, ten_to(exponent));
    *number = (int16_t)at;
    return well;
}

static bool answer_with(ts_maker *m, int16_t *number, const ts_figure *figure, int exponent)
{
    ts_worked made;
    return make(m, &made, figure) && money(m, number, &made, exponent);
}

static bool answer_income(ts_maker *m, ts_answers *out, const ts_costing *costing)
{
    ts_worked net, surcharge, income;
    if (costing->surcharge == NULL) {
        out->income = out->net;
        return true;
    }
    return make(m, &net, costing->net) && make(m, &surcharge, costing->surcharge) &&
           add(m, &income, &net, &surcharge, true) &&
           money(m, &out->income, &income, costing->exponent);
}

static bool answer_minutes(ts_maker *m, ts_answers *out, const ts_costing *costing)
{
    ts_worked sum = {.form = ts_form_constant((ts_ratio){0, 1})};
    int number = 0;
    for (int i = 0; i < costing->line_count; i++) {
        ts_worked made, both;
        if (costing->lines[i].minutes == NULL) {
            continue;
        }
        if (!make(m, &made, costing->lines[i].minutes) || made.is_quotient ||
            !add(m, &both, &sum, &made, false)) {
            return false;
        }
        sum = both;
    }
    if (!ts_move_round(m, &number, &sum.form, ten_to(6), TS_HALF_AWAY)) {
        return false;
    }
    out->minutes = (int16_t)number;
    return true;
}

bool ts_moves_of(ts_moves *out, ts_arena *arena, ts_arena *scratch, const ts_costing *costing,
                 const ts_takes *takes)
{
    ts_maker *m = TS_NEW(scratch, ts_maker);
    ts_worked to_pay;
    *out = (ts_moves){.reading_count = 0};
    m->arena = scratch;
    m->takes = takes;
    m->mode = costing->rounding;
    m->memo = TS_ARRAY(scratch, ts_worked_memo, MEMO_SLOTS);
    if (!answer_with(m, &out->answers.cost, costing->cost, costing->exponent) ||
        !answer_with(m, &out->answers.net, costing->net, costing->exponent) ||
        !answer_with(m, &out->answers.tax, costing->tax, costing->exponent) ||
        !answer_with(m, &out->answers.total, costing->total, costing->exponent) ||
        !answer_income(m, &out->answers, costing) || !answer_minutes(m, &out->answers, costing) ||
        !provide(m, out, arena, costing)) {
        return false;
    }
    /* stages share what is to pay: it must fit, though it is no answer */
    if (!make(m, &to_pay, costing->to_pay) || to_pay.is_quotient ||
        !ts_form_stays(m, &to_pay.form, ten_to(6))) {
        return false;
    }
    ts_moves_finish(out, arena, m);
    return true;
}
