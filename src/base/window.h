/* The line under a fault: the cell's name, its line, and a mark under the cell. */
#ifndef TS_BASE_WINDOW_PRIVATE_H
#define TS_BASE_WINDOW_PRIVATE_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>

/* Prints the window of a place, or nothing where the place names no cell and no line.
 * Long lines are cut to about a hundred columns around the cell. */
void ts_window_print(ts_arena *arena, const ts_place *at, FILE *to, bool colour, bool unicode);

/* Text in ASCII: signs with a plain form take it, all others become \xNN. */
char *ts_window_ascii(ts_arena *arena, const char *text);

#endif
