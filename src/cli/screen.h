/* What a terminal shows of prose: lines end at its edge and in the signs it knows. */
#ifndef TS_CLI_SCREEN_H
#define TS_CLI_SCREEN_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/base/arena.h>

/* Collects what an errand prints, when it has to be fitted before it is shown. */
typedef struct ts_screening {
    FILE *to;        /* where it goes in the end */
    FILE *from;      /* what the errand prints into: `to` itself where nothing has to be fitted */
    ts_arena *arena; /* its own: errands rewind theirs; NULL where nothing is collected */
    char *bytes;
    size_t length, room;
    int width; /* columns; 0: no terminal, lines stay as they are */
    bool ascii;
} ts_screening;

/* Begins; `no_memory` as of ts_arena_new. `s` stays where it is until the end. */
void ts_screening_begin(ts_screening *s, FILE *to, ts_no_memory_fn *no_memory, void *ctx);
/* Fits what is printed to a width, to the signs of ASCII, or both. */
void ts_screening_fit(ts_screening *s, int width, bool ascii);
/* Writes what was collected; afterwards errands print straight into `to`. */
void ts_screening_end(ts_screening *s);

/* One line, without its line break, broken at blanks so that no piece is wider than `width`
 * (0: as it is); what follows is indented to where the text of its last column begins. Words
 * between backticks stay together. Colours take no room. Arena. */
const char *ts_screen_line(ts_arena *arena, const char *line, int width, bool ascii);

#endif
