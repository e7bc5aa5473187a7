/* The parts of the CSV reader: records as libcsv gives them, and places in the text. */
#ifndef TS_BASE_CSVPARTS_PRIVATE_H
#define TS_BASE_CSVPARTS_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/csvin.h>
#include <tallystone/base/diag.h>

/* Judges the text as a whole: size, encoding, characters that nobody may let in, line
 * ends; puts what is wrong into `diag` and answers false. `csv` has file, text, length
 * and lines. */
bool ts_csvtext_judge(const ts_csv *csv, ts_arena *arena, ts_diag *diag);

/* The place of a byte of the text: line, column, and the line itself. */
ts_place ts_csvtext_place(const ts_csv *csv, size_t at);

/* Finds the decimal mark of a file that is parted by semicolons or tabs, from cells that
 * leave one reading only; false and one fault where cells prove both marks. */
bool ts_csvmark_find(char *point, const ts_csv *csv, ts_arena *arena, ts_diag *diag);

/* The decimal mark that a cell proves, or 0 where it has two readings or is no number. */
char ts_csvmark_proved(const char *text);

#endif
