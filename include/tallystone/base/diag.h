/* Faults in what the user wrote: collected, sorted, and said in the trade's words.
 *
 * One list a run. A stage goes on while the next thing can be judged, so that all
 * faults come out together. The sentence is complete without the code; it names what is
 * wrong and what was expected; `hint` carries the nearest word. */
#ifndef TS_BASE_DIAG_H
#define TS_BASE_DIAG_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/status.h>

typedef enum ts_fault {
    TS_FAULT_NONE,
#define FAULT(id, word, severity, says) TS_FAULT_##id,
#include <tallystone/base/faults.def>
#undef FAULT
    TS_FAULT_COUNT
} ts_fault;

typedef enum ts_severity { TS_ERROR, TS_WARNING } ts_severity;

/* Where a fault stands. All borrowed, copied where it is kept; zero or NULL where unknown. */
typedef struct ts_place {
    const char *file;      /* as the user named it */
    int line;              /* physical line, from 1 */
    int column;            /* character, from 1 */
    int width;             /* characters of the cell's text, for the mark under it */
    int row;               /* row as a spreadsheet program numbers it, from 1 */
    int cell;              /* column as a spreadsheet counts it, from 1 (A); 0: the whole row */
    const char *heading;   /* the column's header word */
    const char *line_text; /* the physical line, without its end */
} ts_place;

typedef struct ts_diag ts_diag;

ts_diag *ts_diag_new(ts_arena *arena);

/* Adds a fault; `at` may be NULL. Text of the user's inside the sentence goes through
 * ts_text_show first. A fault of the same place, code and sentence as one already held is
 * dropped, and a hint that follows it too. */
void ts_diag_add(ts_diag *diag, ts_fault code, const ts_place *at, const char *format, ...)
    TS_PRINTF(4, 5);
/* Adds a second sentence to the fault added last ("did you mean ...", "lengths take mm, in"). */
void ts_diag_hint(ts_diag *diag, const char *format, ...) TS_PRINTF(2, 3);

size_t ts_diag_errors(const ts_diag *diag);
size_t ts_diag_warnings(const ts_diag *diag);

/* A mark and the errors added since: one bad sheet among many. An error dropped because
 * it was held already counts here: what has it again is no better for that. */
size_t ts_diag_mark(const ts_diag *diag);
size_t ts_diag_errors_since(const ts_diag *diag, size_t mark);

/* Hands out everything held, in the order in which it was added. */
typedef void ts_diag_each_fn(void *ctx, ts_fault code, const ts_place *at, const char *sentence);
void ts_diag_each(const ts_diag *diag, ts_diag_each_fn *each, void *ctx);

/* The sentence of the error found first, NULL where there is none; borrowed. */
const char *ts_diag_first(const ts_diag *diag);
/* Forgets all that was added: what a rewound arena held may then be used again. For a
 * stream of which each row is judged by itself. */
void ts_diag_clear(ts_diag *diag);

/* Gives every fault that knows its line of `file` alone the whole place that `find` answers
 * for the line: rooms that no longer hold the text leave the column to whoever does. */
typedef ts_place ts_place_of_line_fn(void *ctx, int line);
void ts_diag_complete(ts_diag *diag, const char *file, ts_place_of_line_fn *find, void *ctx);

/* Prints all, sorted by file, line and column, at most 200, then how many more; each as
 *     file:line:column: sentence [word]      (warnings: `warning: ` before the sentence)
 *       D7 (unit) | the line
 *                   ^^^^
 *       hint
 * Colour only where `colour`; `unicode` false keeps to ASCII. */
/* How wide the terminal is that it is printed on; 0, or not said: none. */
void ts_diag_columns(ts_diag *diag, int columns);
void ts_diag_print(const ts_diag *diag, FILE *to, bool colour, bool unicode);

const char *ts_fault_word(ts_fault code);
const char *ts_fault_says(ts_fault code);
ts_fault ts_fault_find(const char *word);
/* "D7" for row 7, cell 4. `buffer` holds 16 bytes. */
char *ts_cell_name(char *buffer, int row, int cell);

#endif
