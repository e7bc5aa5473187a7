#include "costing/replay.h"

#include <string.h>

/* The moves of a kind stand together as far as they do not need each other (see the
 * sorting in recipemaker.c), so each kind has a loop of its own inside the switch.
 *
 * A quotient by a fixed divisor d < 2^62 of a size n < 2^62: with m = floor(2^64 / d) the
 * high half of n × m is the quotient or one less, for n/d - n·m/2^64 < n/2^64 < 1
 * (Granlund and Montgomery, "Division by invariant integers using multiplication", 1994,
 * is the source of the idea); one comparison mends it. */

__extension__ typedef unsigned __int128 u128;

static int64_t signed_as(int64_t like, uint64_t size)
{
    return like < 0 ? -(int64_t)size : (int64_t)size;
}

static uint64_t quotient(uint64_t size, uint64_t divisor, uint64_t inverse, uint64_t *rest)
{
    uint64_t whole = (uint64_t)((u128)size * inverse >> 64);
    *rest = size - whole * divisor;
    if (*rest >= divisor) {
        *rest -= divisor;
        whole++;
    }
    return whole;
}

static int64_t round_natural(const ts_move *move, const int64_t *numbers)
{
    const uint64_t divisor = move->divisor;
    uint64_t rest;
    uint64_t whole = quotient((uint64_t)(move->constant + move->factor * numbers[move->a]), divisor,
                              move->inverse, &rest);
    return (int64_t)(whole + (rest >= divisor - rest));
}

static int64_t round_mode(const ts_move *move, const int64_t *numbers)
{
    const int64_t value = move->constant + move->factor * numbers[move->a];
    const uint64_t divisor = move->divisor;
    uint64_t rest;
    uint64_t whole =
        quotient(value < 0 ? -(uint64_t)value : (uint64_t)value, divisor, move->inverse, &rest);
    switch ((ts_rounding)move->mode) {
    case TS_HALF_AWAY:
        whole += rest >= divisor - rest;
        break;
    case TS_HALF_EVEN:
        whole += rest > divisor - rest || (rest == divisor - rest && (whole & 1) != 0);
        break;
    case TS_ROUND_UP:
        whole += rest != 0 && value >= 0;
        break;
    case TS_ROUND_DOWN:
        whole += rest != 0 && value < 0;
        break;
    }
    return signed_as(value, whole);
}

static int64_t sum(const ts_move *move, const ts_move_term *terms, const int64_t *numbers)
{
    int64_t sum = move->constant;
    for (const ts_move_term *at = terms + move->first, *end = at + move->count; at < end; at++) {
        sum += at->factor * numbers[at->a];
    }
    return sum;
}

static int64_t plain_sum(const ts_move *move, const int16_t *plain, const int64_t *numbers)
{
    int64_t sum = move->constant;
    for (const int16_t *at = plain + move->first, *end = at + move->count; at < end; at++) {
        sum += numbers[*at];
    }
    return sum;
}

static ts_i128 wide_sum(const ts_move *move, const ts_moves *of, const int64_t *numbers)
{
    ts_i128 sum = of->wides[move->wide];
    for (const ts_move_term *at = of->terms + move->first, *end = at + move->count; at < end;
         at++) {
        const ts_i128 one = (ts_i128)at->factor * numbers[at->a];
        sum += at->b < 0 ? one : one * numbers[at->b];
    }
    return sum;
}

static bool split(const ts_move *move, const int16_t *plain, int64_t *numbers)
{
    int64_t weights[TS_MOST_WIDE];
    for (int i = 0; i < move->count; i++) {
        weights[i] = numbers[plain[move->first + (uint32_t)i]];
    }
    return ts_split(numbers + move->to, numbers[move->a], weights, move->count);
}

static bool divide(const ts_move *move, const ts_i128 *wide, int64_t *numbers)
{
    int64_t *to = &numbers[move->to];
    return ts_div_round(to, wide[move->a] * move->factor, wide[move->b], (ts_rounding)move->mode) &&
           *to <= move->constant && *to >= -move->constant;
}

/* What only some prices need: 128 bits, shares, quotients. */
static bool seldom(const ts_move *move, const ts_moves *of, int64_t *numbers)
{
    ts_i128 *wide = of->wide;
    switch ((ts_move_op)move->op) {
    case TS_MOVE_WIDE_ROUND:
        return ts_div_round(&numbers[move->to], wide_sum(move, of, numbers),
                            of->wides[move->wide + 1], (ts_rounding)move->mode);
    case TS_MOVE_SPLIT:
        return split(move, of->plain, numbers);
    case TS_MOVE_WIDE:
        wide[move->to] = wide_sum(move, of, numbers);
        return true;
    case TS_MOVE_WIDE_TIMES:
        wide[move->to] = wide[move->a] * wide[move->b];
        return true;
    case TS_MOVE_WIDE_PLUS:
        wide[move->to] = wide[move->a] + wide[move->b];
        return true;
    case TS_MOVE_WIDE_MINUS:
        wide[move->to] = wide[move->a] - wide[move->b];
        return true;
    case TS_MOVE_QUOTIENT:
        return divide(move, wide, numbers);
    case TS_MOVE_ROUND:
    case TS_MOVE_ROUND_MODE:
    case TS_MOVE_PLAIN_SUM:
    case TS_MOVE_SUM:
    case TS_MOVE_LARGER:
    case TS_MOVE_SMALLER:
        break;
    }
    return false; /* these have their loops */
}

/* The moves from `at` on that are of its kind; where the next kind begins. */
static const ts_move *move_alike(const ts_move *at, const ts_move *end, const ts_moves *of,
                                 int64_t *numbers)
{
    const uint8_t op = at->op;
    switch ((ts_move_op)op) {
    case TS_MOVE_ROUND:
        for (; at < end && at->op == op; at++) {
            numbers[at->to] = round_natural(at, numbers);
        }
        break;
    case TS_MOVE_ROUND_MODE:
        for (; at < end && at->op == op; at++) {
            numbers[at->to] = round_mode(at, numbers);
        }
        break;
    case TS_MOVE_PLAIN_SUM:
        for (; at < end && at->op == op; at++) {
            numbers[at->to] = plain_sum(at, of->plain, numbers);
        }
        break;
    case TS_MOVE_SUM:
        for (; at < end && at->op == op; at++) {
            numbers[at->to] = sum(at, of->terms, numbers);
        }
        break;
    case TS_MOVE_LARGER:
    case TS_MOVE_SMALLER:
        for (; at < end && at->op == op; at++) {
            const int64_t a = numbers[at->a], b = numbers[at->b];
            numbers[at->to] = (a > b) == (op == TS_MOVE_LARGER) ? a : b;
        }
        break;
    case TS_MOVE_WIDE_ROUND:
    case TS_MOVE_SPLIT:
    case TS_MOVE_WIDE:
    case TS_MOVE_WIDE_TIMES:
    case TS_MOVE_WIDE_PLUS:
    case TS_MOVE_WIDE_MINUS:
    case TS_MOVE_QUOTIENT:
        break; /* these are seldom */
    }
    return at;
}

static bool move_all(const ts_moves *of, int64_t *numbers)
{
    const ts_move *const end = of->moves + of->move_count;
    for (const ts_move *at = of->moves; at < end;) {
        const ts_move *next = move_alike(at, end, of, numbers);
        if (next == at && !seldom(next++, of, numbers)) {
            return false;
        }
        at = next;
    }
    return true;
}

bool ts_move_is_wide(ts_move_op op)
{
    return op == TS_MOVE_WIDE || op == TS_MOVE_WIDE_TIMES || op == TS_MOVE_WIDE_PLUS ||
           op == TS_MOVE_WIDE_MINUS;
}

bool ts_moves_run(const ts_moves *moves, const ts_takes *takes)
{
    int64_t *numbers = moves->numbers;
    bool well = true;
    for (int i = 0; i < moves->reading_count; i++) {
        const ts_reading *reading = &moves->readings[i];
        const int64_t value = ts_take_value(takes, &reading->take);
        well &= (uint64_t)value - (uint64_t)reading->least <= reading->span;
        numbers[reading->to] = value;
    }
    if (!well || !move_all(moves, numbers)) {
        return false;
    }
    for (int i = 0; i < moves->proviso_count; i++) {
        const ts_proviso *proviso = &moves->provisos[i];
        const int64_t number = numbers[proviso->number];
        well &= (proviso->of_sign ? number > 0 : number == 0) == proviso->answer;
    }
    return well;
}
