#include "costing/recipemaker.h"

#include <stdlib.h>
#include <string.h>

/* Each move is made with the bound of what it gives, reckoned from the bounds of what it
 * takes: that is why replay.c never looks for an overflow. Where the ordinary way through
 * fractions in lowest terms would leave 128 bits, these bounds would too, for a numerator
 * over a fixed denominator is never smaller than the same value in lowest terms. */

#define MOST_NARROW ((INT64_C(1) << 62) - 1)
#define MOST_WIDE (((ts_i128)1 << 126) - 1)
#define MOST_WEIGHT INT64_C(1000000000000000000) /* of ts_split */
#define LEAST_LIMIT INT64_C(4096)
#define ROOM_FACTOR 16 /* an amount may grow so much before a new recipe is made */

static uint16_t later(uint16_t one, uint16_t other)
{
    return one > other ? one : other;
}

static bool add_number(ts_maker *m, int *to, ts_i128 bound, uint16_t level, bool natural)
{
    if (m->number_count == TS_MOST_NUMBERS || bound > MOST_NARROW) {
        return false;
    }
    *to = m->number_count++;
    m->bounds[*to] = bound < 1 ? 1 : (int64_t)bound;
    m->levels[*to] = level;
    m->natural[*to] = natural;
    return true;
}

static bool add_wide(ts_maker *m, int *to, ts_i128 bound, uint16_t level)
{
    if (m->wide_count == TS_MOST_WIDE || bound > MOST_WIDE) {
        return false;
    }
    *to = m->wide_count++;
    m->wide_bounds[*to] = bound < 1 ? 1 : bound;
    m->wide_levels[*to] = level;
    return true;
}

static void add_move(ts_maker *m, const ts_move *move, uint16_t level)
{
    m->moves = ts_arena_grow(m->arena, m->moves, m->move_count, &m->move_room, sizeof *m->moves);
    m->moves[m->move_count] = (ts_leveled_move){*move, level, m->move_count};
    m->move_count++;
}

static void add_term(ts_maker *m, int64_t factor, int a, int b)
{
    m->terms = ts_arena_grow(m->arena, m->terms, m->term_count, &m->term_room, sizeof *m->terms);
    m->terms[m->term_count++] = (ts_move_term){factor, (int16_t)a, (int16_t)b};
}

static void add_plain(ts_maker *m, int number)
{
    m->plain = ts_arena_grow(m->arena, m->plain, m->plain_count, &m->plain_room, sizeof *m->plain);
    m->plain[m->plain_count++] = (int16_t)number;
}

/* The place of a wide constant and the divisor after it. */
static uint16_t add_wides(ts_maker *m, ts_i128 constant, ts_i128 divisor)
{
    for (size_t i = 0; i + 1 < m->wides_count; i += 2) {
        if (m->wides[i] == constant && m->wides[i + 1] == divisor) {
            return (uint16_t)i;
        }
    }
    m->wides = ts_arena_grow(m->arena, m->wides, m->wides_count, &m->wides_room, sizeof *m->wides);
    m->wides[m->wides_count++] = constant; /* room is even, so one more fits */
    m->wides[m->wides_count++] = divisor;
    return (uint16_t)(m->wides_count - 2);
}

static bool has_divisor(const ts_move *move)
{
    return move->op == TS_MOVE_ROUND || move->op == TS_MOVE_ROUND_MODE;
}

static bool same_terms(const ts_maker *m, const ts_move *one, const ts_move *other)
{
    if (has_divisor(one)) {
        return one->divisor == other->divisor;
    }
    if (one->count != other->count || one->wide != other->wide) {
        return false;
    }
    for (uint32_t i = 0; i < one->count; i++) {
        const uint32_t at = one->first + i, by = other->first + i;
        if (one->op == TS_MOVE_PLAIN_SUM
                ? m->plain[at] != m->plain[by]
                : m->terms[at].factor != m->terms[by].factor || m->terms[at].a != m->terms[by].a ||
                      m->terms[at].b != m->terms[by].b) {
            return false;
        }
    }
    return true;
}

/* The number of a move that does the very same, whose terms are then not needed twice. */
static bool known(ts_maker *m, int *to, const ts_move *move)
{
    for (size_t i = 0; i < m->move_count; i++) {
        const ts_move *other = &m->moves[i].move;
        if (other->op == move->op && other->a == move->a && other->b == move->b &&
            other->mode == move->mode && other->factor == move->factor &&
            other->constant == move->constant && same_terms(m, other, move)) {
            *to = other->to;
            return true;
        }
    }
    return false;
}

static uint16_t level_of(const ts_maker *m, const ts_form *form)
{
    uint16_t level = 0;
    for (int i = 0; i < form->count; i++) {
        level = later(level, m->levels[form->terms[i].a]);
        if (form->terms[i].b != TS_FORM_ONE) {
            level = later(level, m->levels[form->terms[i].b]);
        }
    }
    return (uint16_t)(level + 1);
}

static bool is_plain(const ts_form *form, const ts_form_whole *whole)
{
    bool plain = true;
    for (int i = 0; i < form->count; i++) {
        plain = plain && whole->factors[i] == 1 && form->terms[i].b == TS_FORM_ONE;
    }
    return plain;
}

/* The terms of a move; false where a factor does not fit one. */
static bool put_terms(ts_maker *m, ts_move *move, const ts_form *form, const ts_form_whole *whole)
{
    const bool plain = move->op == TS_MOVE_PLAIN_SUM;
    move->first = (uint32_t)(plain ? m->plain_count : m->term_count);
    move->count = (uint16_t)form->count;
    for (int i = 0; i < form->count; i++) {
        if (whole->factors[i] > INT64_MAX || whole->factors[i] < -INT64_MAX) {
            return false;
        }
        if (plain) {
            add_plain(m, form->terms[i].a);
        } else {
            add_term(m, (int64_t)whole->factors[i], form->terms[i].a, form->terms[i].b);
        }
    }
    return true;
}

/* A move that is there already leaves the terms made for it behind. */
static void drop_terms(ts_maker *m, const ts_move *move)
{
    if (move->op == TS_MOVE_PLAIN_SUM) {
        m->plain_count = move->first;
    } else {
        m->term_count = move->first;
    }
}

static bool is_linear(const ts_form *form)
{
    for (int i = 0; i < form->count; i++) {
        if (form->terms[i].b != TS_FORM_ONE) {
            return false;
        }
    }
    return true;
}

bool ts_form_is_natural(const ts_maker *m, const ts_form *form)
{
    bool natural = form->constant.num >= 0;
    for (int i = 0; natural && i < form->count; i++) {
        const ts_form_term *term = &form->terms[i];
        natural = term->factor.num >= 0 && m->natural[term->a] &&
                  (term->b == TS_FORM_ONE || m->natural[term->b]);
    }
    return natural;
}

/* A fixed number stands from the beginning. */
static bool put_constant(ts_maker *m, int *to, ts_i128 value)
{
    for (size_t i = 0; i < m->constant_count; i++) {
        if (m->constants[i].value == value) {
            *to = m->constants[i].to;
            return true;
        }
    }
    if (!add_number(m, to, value < 0 ? -value : value, 0, value >= 0)) {
        return false;
    }
    m->constants = ts_arena_grow(m->arena, m->constants, m->constant_count, &m->constant_room,
                                 sizeof *m->constants);
    m->constants[m->constant_count++] = (ts_constant_number){(int64_t)value, (int16_t)*to};
    return true;
}

static bool move_sum(ts_maker *m, int *to, const ts_form *form, const ts_form_whole *whole)
{
    ts_move move = {.op = is_plain(form, whole) ? TS_MOVE_PLAIN_SUM : TS_MOVE_SUM,
                    .constant = (int64_t)whole->constant};
    const uint16_t level = level_of(m, form);
    if (form->count == 0) {
        return put_constant(m, to, whole->constant);
    }
    if (!put_terms(m, &move, form, whole)) {
        return false;
    }
    if (known(m, to, &move)) {
        drop_terms(m, &move);
        return true;
    }
    if (!add_number(m, to, whole->bound, level, ts_form_is_natural(m, form))) {
        return false;
    }
    move.to = (int16_t)*to;
    add_move(m, &move, level);
    return true;
}

/* (constant + factor × a) / divisor, all of it narrow. */
static bool move_round(ts_maker *m, int *to, ts_move move, ts_i128 bound)
{
    const uint16_t level = (uint16_t)(m->levels[move.a] + 1);
    const bool natural = move.constant >= 0 && move.factor >= 0 && m->natural[move.a];
    move.op = natural && move.mode == TS_HALF_AWAY ? TS_MOVE_ROUND : TS_MOVE_ROUND_MODE;
    if (known(m, to, &move)) {
        return true;
    }
    if (!add_number(m, to, bound, level, natural)) {
        return false;
    }
    move.inverse = UINT64_MAX / move.divisor;
    move.to = (int16_t)*to;
    add_move(m, &move, level);
    return true;
}

static bool move_wide_round(ts_maker *m, int *to, const ts_form *form, const ts_form_whole *whole,
                            ts_rounding mode)
{
    ts_move move = {.op = TS_MOVE_WIDE_ROUND, .mode = (uint8_t)mode};
    const uint16_t level = level_of(m, form);
    if (!put_terms(m, &move, form, whole)) {
        return false;
    }
    move.wide = add_wides(m, whole->constant, whole->den);
    if (known(m, to, &move)) {
        drop_terms(m, &move);
        return true;
    }
    if (!add_number(m, to, whole->bound / whole->den + 1, level, ts_form_is_natural(m, form))) {
        return false;
    }
    move.to = (int16_t)*to;
    add_move(m, &move, level);
    return true;
}

bool ts_move_round(ts_maker *m, int *to, const ts_form *form, ts_ratio by, ts_rounding mode)
{
    ts_form scaled;
    ts_form_whole whole;
    if (!ts_form_scale(&scaled, m->arena, form, by) ||
        !ts_form_over(&whole, m->arena, &scaled, m->bounds) || whole.bound > MOST_WIDE) {
        return false;
    }
    if (whole.den == 1 && ts_form_is_number(&scaled) && whole.factors[0] == 1) {
        *to = scaled.terms[0].a;
        return true;
    }
    if (whole.bound > MOST_NARROW || whole.den > MOST_NARROW || !is_linear(&scaled)) {
        return move_wide_round(m, to, &scaled, &whole, mode);
    }
    if (whole.den == 1) {
        return move_sum(m, to, &scaled, &whole);
    }
    ts_move move = {.mode = (uint8_t)mode, .divisor = (uint64_t)whole.den};
    if (scaled.count == 1) {
        move.constant = (int64_t)whole.constant;
        move.factor = (int64_t)whole.factors[0];
        move.a = (int16_t)scaled.terms[0].a;
    } else {
        int numerator = 0;
        if (!move_sum(m, &numerator, &scaled, &whole)) {
            return false;
        }
        move.factor = 1;
        move.a = (int16_t)numerator;
    }
    return move_round(m, to, move, whole.bound / whole.den + 1);
}

bool ts_move_whole(ts_maker *m, int *to, ts_i128 *den, const ts_form *form)
{
    ts_form_whole whole;
    if (!ts_form_over(&whole, m->arena, form, m->bounds)) {
        return false;
    }
    *den = whole.den;
    return ts_move_round(m, to, form, (ts_ratio){whole.den, 1}, TS_HALF_AWAY);
}

bool ts_move_exact(ts_maker *m, int *to, const ts_form *form, ts_ratio by)
{
    ts_form scaled;
    ts_form_whole whole;
    return ts_form_scale(&scaled, m->arena, form, by) &&
           ts_form_over(&whole, m->arena, &scaled, m->bounds) && whole.den == 1 &&
           ts_move_round(m, to, form, by, TS_HALF_AWAY);
}

bool ts_form_stays(ts_maker *m, const ts_form *form, ts_ratio by)
{
    ts_form scaled;
    ts_form_whole whole;
    return ts_form_scale(&scaled, m->arena, form, by) &&
           ts_form_over(&whole, m->arena, &scaled, m->bounds) && whole.bound <= MOST_WIDE &&
           whole.bound / whole.den < MOST_NARROW;
}

/* ---- amounts ---- */

/* Room for an amount to differ from row to row. */
static int64_t limit_for(int64_t now)
{
    int64_t limit = LEAST_LIMIT;
    const int64_t size = now < 0 ? -now : now;
    while (limit < MOST_NARROW / 2 && limit / ROOM_FACTOR < size) {
        limit *= 2;
    }
    return limit;
}

static bool same_take(const ts_take *one, const ts_take *other)
{
    return one->holder == other->holder && one->offset == other->offset;
}

bool ts_move_read(ts_maker *m, int *to, ts_take take)
{
    const int64_t now = ts_take_value(m->takes, &take);
    for (size_t i = 0; i < m->reading_count; i++) {
        if (same_take(&m->readings[i].take, &take)) {
            *to = m->readings[i].to;
            return true;
        }
    }
    if (now > MOST_NARROW / ROOM_FACTOR || now < -MOST_NARROW / ROOM_FACTOR ||
        !add_number(m, to, limit_for(now), 0, now >= 0)) {
        return false;
    }
    const int64_t limit = m->bounds[*to];
    m->readings = ts_arena_grow(m->arena, m->readings, m->reading_count, &m->reading_room,
                                sizeof *m->readings);
    m->readings[m->reading_count++] = (ts_reading){
        now >= 0 ? 0 : -limit, (uint64_t)limit * (now >= 0 ? 1 : 2), take, (int16_t)*to};
    return true;
}

/* ---- what only some prices need ---- */

bool ts_move_larger(ts_maker *m, int *to, int a, int b, bool larger)
{
    const uint16_t level = (uint16_t)(later(m->levels[a], m->levels[b]) + 1);
    const int64_t bound = m->bounds[a] > m->bounds[b] ? m->bounds[a] : m->bounds[b];
    const bool natural = larger ? m->natural[a] || m->natural[b] : m->natural[a] && m->natural[b];
    ts_move move = {
        .op = larger ? TS_MOVE_LARGER : TS_MOVE_SMALLER, .a = (int16_t)a, .b = (int16_t)b};
    if (known(m, to, &move)) {
        return true;
    }
    if (!add_number(m, to, bound, level, natural)) {
        return false;
    }
    move.to = (int16_t)*to;
    add_move(m, &move, level);
    return true;
}

bool ts_move_split(ts_maker *m, int *first, int total, const int *weights, int count)
{
    ts_move move = {.op = TS_MOVE_SPLIT,
                    .a = (int16_t)total,
                    .count = (uint16_t)count,
                    .first = (uint32_t)m->plain_count};
    uint16_t level = m->levels[total];
    if (count == 1 && m->natural[weights[0]] && m->bounds[weights[0]] <= MOST_WEIGHT) {
        *first = total; /* all of it */
        return true;
    }
    if (count > TS_MOST_WIDE || m->number_count + count > TS_MOST_NUMBERS) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        add_plain(m, weights[i]);
        level = later(level, m->levels[weights[i]]);
    }
    level++;
    *first = m->number_count;
    for (int i = 0; i < count; i++) {
        int part = 0;
        if (!add_number(m, &part, m->bounds[total], level, m->natural[total])) {
            return false;
        }
    }
    move.to = (int16_t)*first;
    add_move(m, &move, level);
    return true;
}

bool ts_move_wide_constant(ts_maker *m, int *wide, ts_i128 value)
{
    if (!add_wide(m, wide, value < 0 ? -value : value, 1)) {
        return false;
    }
    const ts_move move = {.op = TS_MOVE_WIDE, .wide = add_wides(m, value, 1), .to = (int16_t)*wide};
    add_move(m, &move, 1);
    return true;
}

bool ts_move_wide(ts_maker *m, int *wide, ts_i128 *den, const ts_form *form)
{
    ts_form_whole whole;
    ts_move move = {.op = TS_MOVE_WIDE};
    const uint16_t level = level_of(m, form);
    if (!ts_form_over(&whole, m->arena, form, m->bounds) || !put_terms(m, &move, form, &whole) ||
        !add_wide(m, wide, whole.bound, level)) {
        return false;
    }
    *den = whole.den;
    move.wide = add_wides(m, whole.constant, 1);
    move.to = (int16_t)*wide;
    add_move(m, &move, level);
    return true;
}

bool ts_move_wide_two(ts_maker *m, int *wide, ts_move_op op, int a, int b)
{
    const uint16_t level = (uint16_t)(later(m->wide_levels[a], m->wide_levels[b]) + 1);
    ts_i128 bound = 0;
    const bool fits = op == TS_MOVE_WIDE_TIMES
                          ? ts_wide_times(&bound, m->wide_bounds[a], m->wide_bounds[b])
                          : ts_wide_plus(&bound, m->wide_bounds[a], m->wide_bounds[b]);
    if (!fits || !add_wide(m, wide, bound, level)) {
        return false;
    }
    add_move(m,
             &(ts_move){.op = (uint8_t)op, .to = (int16_t)*wide, .a = (int16_t)a, .b = (int16_t)b},
             level);
    return true;
}

bool ts_move_quotient(ts_maker *m, int *to, const ts_move *like, int64_t now)
{
    ts_move move = *like;
    ts_i128 product = 0;
    const uint16_t level = (uint16_t)(later(m->wide_levels[move.a], m->wide_levels[move.b]) + 1);
    move.op = TS_MOVE_QUOTIENT;
    move.constant = limit_for(now);
    if (!ts_wide_times(&product, m->wide_bounds[move.a], move.factor) || product > MOST_WIDE ||
        !add_number(m, to, move.constant, level, false)) {
        return false;
    }
    move.to = (int16_t)*to;
    add_move(m, &move, level);
    return true;
}

/* ---- the list ---- */

static int by_level_and_kind(const void *one, const void *other)
{
    const ts_leveled_move *a = one, *b = other;
    if (a->level != b->level) {
        return a->level < b->level ? -1 : 1;
    }
    if (a->move.op != b->move.op) {
        return a->move.op < b->move.op ? -1 : 1;
    }
    return a->order < b->order ? -1 : a->order > b->order;
}

static const void *kept(ts_arena *arena, const void *from, size_t count, size_t size)
{
    void *copy = ts_arena_alloc(arena, count + 1, size);
    if (count > 0) {
        memcpy(copy, from, count * size);
    }
    return copy;
}

void ts_moves_finish(ts_moves *out, ts_arena *arena, ts_maker *m)
{
    ts_move *moves = TS_ARRAY(arena, ts_move, m->move_count + 1);
    if (m->move_count > 1) {
        qsort(m->moves, m->move_count, sizeof *m->moves, by_level_and_kind);
    }
    for (size_t i = 0; i < m->move_count; i++) {
        moves[i] = m->moves[i].move;
    }
    out->moves = moves;
    out->move_count = (int)m->move_count;
    out->readings = kept(arena, m->readings, m->reading_count, sizeof *m->readings);
    out->reading_count = (int)m->reading_count;
    out->terms = kept(arena, m->terms, m->term_count, sizeof *m->terms);
    out->plain = kept(arena, m->plain, m->plain_count, sizeof *m->plain);
    out->term_count = (int)m->term_count;
    out->plain_count = (int)m->plain_count;
    out->number_count = m->number_count;
    out->wide = TS_ARRAY(arena, ts_i128, (size_t)m->wide_count + 1);
    out->wides = kept(arena, m->wides, m->wides_count, sizeof *m->wides);
    out->numbers = TS_ARRAY(arena, int64_t, (size_t)m->number_count + 1);
    for (size_t i = 0; i < m->constant_count; i++) {
        out->numbers[m->constants[i].to] = m->constants[i].value;
    }
}
