/* The piece in words, as a client reads it: made from quantities, knows no price. */
#ifndef TS_PAPERS_PIECE_H
#define TS_PAPERS_PIECE_H

#include <tallystone/base/arena.h>
#include <tallystone/quantities/quantities.h>

/* One thing said: "Metal", "18 karat yellow gold, fineness 750 of 1,000 ...". */
typedef struct ts_piece_said {
    const char *label, *text;
} ts_piece_said;

typedef struct ts_piece_words {
    ts_piece_said *lines;
    int count;
} ts_piece_words;

/* Metal, size, finish, inscription, each feature stone, the melee by size. */
ts_piece_words ts_piece_of(ts_arena *arena, const ts_quantities *quantities);
/* The same in fewer lines: those of one label in one, finish and inscription with the size. */
ts_piece_words ts_piece_closer(ts_arena *arena, const ts_piece_words *piece);
/* What `other` says that `first` does not, and what of `first` it leaves out. */
ts_piece_words ts_piece_difference(ts_arena *arena, const ts_piece_words *first,
                                   const ts_piece_words *other);

/* Carats as laboratories round them: two decimals, the third counts up only when it is a
 * 9. "0.01" is the least; below it "under 0.01". */
const char *ts_piece_carats(ts_arena *arena, ts_dec carats);
/* The same as a number for a column; below 0.01 with three decimals, cut. */
ts_dec ts_piece_carats_number(ts_dec carats);
/* "3 pear-shaped natural diamonds": the origin in full, immediately before the species.
 * Sources: 16 CFR 23.25, ISO 18323. `shape` and `origin` may be 0. */
const char *ts_piece_stones(ts_arena *arena, int count, int shape, int origin, const char *species);
/* "natural diamond" */
const char *ts_piece_species(ts_arena *arena, int origin, const char *species);
/* "pear-shaped", "princess-cut", "round" */
const char *ts_piece_shape(int shape);
/* The text with a capital at its beginning. */
const char *ts_piece_capital(ts_arena *arena, const char *text);
/* The label of an option: its own, else its name; "As described" for an unnamed first. */
const char *ts_piece_option(ts_arena *arena, const ts_quantities *quantities, bool first);

#endif
