#include "costing/narrow.h"

#include <string.h>

/* Of a ring whose band alone is bent from row to row a third of the moves comes to the same
 * numbers again. They are left out, and a sum's steady terms go into its constant: the terms
 * of a sum stay within their limits in any order, so the sum does.
 *
 * Wide numbers are kept nowhere between runs, so whatever makes one is made again. */

typedef struct narrower {
    const ts_moves *of;
    ts_moves *out;
    ts_move *moves;
    ts_move_term *terms;
    int16_t *plain;
    ts_reading *readings;
    ts_proviso *provisos;
    uint32_t term_count, plain_count;
    bool moved[TS_MOST_NUMBERS]; /* by number */
} narrower;

static size_t bytes_of(int count, size_t size)
{
    const size_t align = _Alignof(max_align_t);
    return ((size_t)count * size + align - 1) / align * align;
}

size_t ts_moves_narrow_bytes(const ts_moves *of)
{
    return bytes_of(of->number_count, sizeof *of->numbers) +
           bytes_of(of->move_count, sizeof *of->moves) +
           bytes_of(of->term_count, sizeof *of->terms) +
           bytes_of(of->plain_count, sizeof *of->plain) +
           bytes_of(of->reading_count, sizeof *of->readings) +
           bytes_of(of->proviso_count, sizeof *of->provisos);
}

static void *part(char **room, int count, size_t size)
{
    void *at = *room;
    *room += bytes_of(count, size);
    return at;
}

static void put_readings(narrower *n)
{
    for (int i = 0; i < n->of->reading_count; i++) {
        const ts_reading *reading = &n->of->readings[i];
        if (reading->take.holder == TS_HOLDER_metals) {
            n->readings[n->out->reading_count++] = *reading;
            n->moved[reading->to] = true;
        }
    }
}

/* The terms of a sum that move; those that do not, in its constant. */
static void put_terms(narrower *n, ts_move *move)
{
    const ts_move_term *terms = n->of->terms + move->first;
    const int count = move->count;
    move->first = n->term_count;
    for (int i = 0; i < count; i++) {
        if (n->moved[terms[i].a]) {
            n->terms[n->term_count++] = terms[i];
        } else {
            move->constant += terms[i].factor * n->of->numbers[terms[i].a];
        }
    }
    move->count = (uint16_t)(n->term_count - move->first);
}

static void put_plain(narrower *n, ts_move *move)
{
    const int16_t *plain = n->of->plain + move->first;
    const int count = move->count;
    move->first = n->plain_count;
    for (int i = 0; i < count; i++) {
        if (n->moved[plain[i]]) {
            n->plain[n->plain_count++] = plain[i];
        } else {
            move->constant += n->of->numbers[plain[i]];
        }
    }
    move->count = (uint16_t)(n->plain_count - move->first);
}

/* The same terms, steady ones too. */
static void keep_terms(narrower *n, ts_move *move)
{
    memcpy(n->terms + n->term_count, n->of->terms + move->first, move->count * sizeof *n->terms);
    move->first = n->term_count;
    n->term_count += move->count;
}

static void keep_plain(narrower *n, ts_move *move)
{
    memcpy(n->plain + n->plain_count, n->of->plain + move->first, move->count * sizeof *n->plain);
    move->first = n->plain_count;
    n->plain_count += move->count;
}

static bool has_moved_plain(const narrower *n, const ts_move *move)
{
    bool moved = false;
    for (uint32_t i = 0; i < move->count; i++) {
        moved |= n->moved[n->of->plain[move->first + i]];
    }
    return moved;
}

static bool has_moved_term(const narrower *n, const ts_move *move)
{
    bool moved = false;
    for (uint32_t i = 0; i < move->count; i++) {
        const ts_move_term *term = &n->of->terms[move->first + i];
        moved |= n->moved[term->a] || (term->b >= 0 && n->moved[term->b]);
    }
    return moved;
}

static bool is_moved(const narrower *n, const ts_move *move)
{
    switch ((ts_move_op)move->op) {
    case TS_MOVE_ROUND:
    case TS_MOVE_ROUND_MODE:
        return n->moved[move->a];
    case TS_MOVE_PLAIN_SUM:
        return has_moved_plain(n, move);
    case TS_MOVE_SUM:
    case TS_MOVE_WIDE_ROUND:
        return has_moved_term(n, move);
    case TS_MOVE_LARGER:
    case TS_MOVE_SMALLER:
        return n->moved[move->a] || n->moved[move->b];
    case TS_MOVE_SPLIT:
        return n->moved[move->a] || has_moved_plain(n, move);
    case TS_MOVE_WIDE:
    case TS_MOVE_WIDE_TIMES:
    case TS_MOVE_WIDE_PLUS:
    case TS_MOVE_WIDE_MINUS:
    case TS_MOVE_QUOTIENT:
        break;
    }
    return true;
}

static void put_move(narrower *n, const ts_move *move)
{
    ts_move *fresh = &n->moves[n->out->move_count++];
    *fresh = *move;
    switch ((ts_move_op)move->op) {
    case TS_MOVE_PLAIN_SUM:
        put_plain(n, fresh);
        break;
    case TS_MOVE_SUM:
        put_terms(n, fresh);
        break;
    case TS_MOVE_WIDE_ROUND:
    case TS_MOVE_WIDE:
        keep_terms(n, fresh);
        break;
    case TS_MOVE_SPLIT:
        keep_plain(n, fresh);
        for (int i = 0; i < move->count; i++) {
            n->moved[move->to + i] = true;
        }
        return;
    case TS_MOVE_WIDE_TIMES:
    case TS_MOVE_WIDE_PLUS:
    case TS_MOVE_WIDE_MINUS:
    case TS_MOVE_ROUND:
    case TS_MOVE_ROUND_MODE:
    case TS_MOVE_LARGER:
    case TS_MOVE_SMALLER:
    case TS_MOVE_QUOTIENT:
        break;
    }
    if (!ts_move_is_wide((ts_move_op)move->op)) {
        n->moved[move->to] = true;
    }
}

void ts_moves_narrow(ts_moves *out, void *room, const ts_moves *of)
{
    char *at = room;
    narrower n = {.of = of, .out = out};
    *out = (ts_moves){.wides = of->wides, .wide = of->wide, .answers = of->answers};
    out->numbers = part(&at, of->number_count, sizeof *of->numbers);
    out->moves = n.moves = part(&at, of->move_count, sizeof *n.moves);
    out->terms = n.terms = part(&at, of->term_count, sizeof *n.terms);
    out->plain = n.plain = part(&at, of->plain_count, sizeof *n.plain);
    out->readings = n.readings = part(&at, of->reading_count, sizeof *n.readings);
    out->provisos = n.provisos = part(&at, of->proviso_count, sizeof *n.provisos);
    memcpy(out->numbers, of->numbers, (size_t)of->number_count * sizeof *of->numbers);
    put_readings(&n);
    for (int i = 0; i < of->move_count; i++) {
        if (is_moved(&n, &of->moves[i])) {
            put_move(&n, &of->moves[i]);
        }
    }
    for (int i = 0; i < of->proviso_count; i++) {
        if (n.moved[of->provisos[i].number]) {
            n.provisos[out->proviso_count++] = of->provisos[i];
        }
    }
}
