/* The line under a fault: the cell's name, its line, and a mark under the cell. */
#ifndef TS_BASE_WINDOW_PRIVATE_H
#define TS_BASE_WINDOW_PRIVATE_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>

typedef struct ts_window {
    bool colour, unicode;
    int columns; /* of the terminal; 0: a hundred of the line alone */
} ts_window;

/* Prints the window of a place, or nothing where the place names no cell and no line.
 * Long lines are cut around the cell. */
void ts_window_print(ts_arena *arena, const ts_place *at, FILE *to, const ts_window *asked);

#endif
