/* From the trees of a price to the moves of a recipe. */
#ifndef TS_COSTING_RECIPEMAKER_H
#define TS_COSTING_RECIPEMAKER_H

#include <tallystone/costing/costing.h>

#include "costing/form.h"
#include "costing/replay.h"

/* What a figure comes to: a form over numbers, or a quotient of two wide numbers. */
typedef struct ts_worked {
    bool is_quotient;
    ts_form form;
    int num, den;
} ts_worked;

typedef struct ts_worked_memo ts_worked_memo; /* open addressing by the figure's place */
typedef struct ts_worked_split ts_worked_split;

typedef struct ts_leveled_move {
    ts_move move;
    size_t level, order;
} ts_leveled_move;

typedef struct ts_constant_number {
    int64_t value;
    int16_t to;
} ts_constant_number;

/* The moves so far. `level`: how many moves lie at least before it. */
typedef struct ts_maker {
    ts_arena *arena;
    const ts_takes *takes;
    ts_rounding mode;
    int64_t bounds[TS_MOST_NUMBERS]; /* of each number, at least 1 */
    uint16_t levels[TS_MOST_NUMBERS];
    bool natural[TS_MOST_NUMBERS]; /* never below nothing */
    ts_i128 wide_bounds[TS_MOST_WIDE];
    uint16_t wide_levels[TS_MOST_WIDE];
    int number_count, wide_count;
    ts_leveled_move *moves;
    ts_move_term *terms;
    int16_t *plain;
    ts_i128 *wides;
    ts_reading *readings;
    size_t move_count, move_room, term_count, term_room, reading_count, reading_room;
    size_t plain_count, plain_room, wides_count, wides_room;
    ts_constant_number *constants;
    size_t constant_count, constant_room;
    ts_worked_memo *memo; /* by figure */
    size_t memo_count;
    ts_worked_split *splits;
    size_t split_count, split_room;
} ts_maker;

/* --- movemaker.c: moves with their bounds; each answers false where no bound holds --- */

/* The number of form × by, rounded in the mode. */
bool ts_move_round(ts_maker *m, int *to, const ts_form *form, ts_ratio by, ts_rounding mode);
/* The number of form × den, the least that is whole. */
bool ts_move_whole(ts_maker *m, int *to, ts_i128 *den, const ts_form *form);
/* The number of form × by where that is whole already. */
bool ts_move_exact(ts_maker *m, int *to, const ts_form *form, ts_ratio by);
bool ts_move_read(ts_maker *m, int *to, ts_take take);
bool ts_move_larger(ts_maker *m, int *to, int a, int b, bool larger);
/* `first` of as many numbers as there are weights. */
bool ts_move_split(ts_maker *m, int *first, int total, const int *weights, int count);
bool ts_move_wide(ts_maker *m, int *wide, ts_i128 *den, const ts_form *form);
bool ts_move_wide_constant(ts_maker *m, int *wide, ts_i128 value);
bool ts_move_wide_two(ts_maker *m, int *wide, ts_move_op op, int a, int b);
/* wide a × factor / wide b, whose value in this row is `now`. */
bool ts_move_quotient(ts_maker *m, int *to, const ts_move *like, int64_t now);
/* Is the form never below nothing, whatever the amounts? */
bool ts_form_is_natural(const ts_maker *m, const ts_form *form);
/* Is the size of form × by, rounded, below 2^62 whatever the amounts? */
bool ts_form_stays(ts_maker *m, const ts_form *form, ts_ratio by);
/* The moves in an order in which those of a kind stand together. */
void ts_moves_finish(ts_moves *out, ts_arena *arena, ts_maker *m);

/* --- recipemaker.c --- */

/* Makes the moves of a price, in the arena; false where one of its figures cannot be
 * made so. `takes` are the amounts that it was made from. */
bool ts_moves_of(ts_moves *out, ts_arena *arena, ts_arena *scratch, const ts_costing *costing,
                 const ts_takes *takes);

#endif
