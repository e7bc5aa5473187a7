/* The manual, whole: every table of the program in the form that man(1) shows.
 *
 * Commands, options, parts, measures, books, columns, words, units, states and faults are read
 * off the tables that parser and checks use, so that it cannot say what the program does not. */
#ifndef TS_CLI_MANUAL_H
#define TS_CLI_MANUAL_H

#include <stdio.h>

#include <tallystone/base/arena.h>

/* Writes it as man(7) text; `version` stands in its foot. */
void ts_manual_print(FILE *to, ts_arena *arena, const char *version);

#endif
