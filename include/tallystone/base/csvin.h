/* CSV as spreadsheet programs save it, read whole with every cell's place.
 *
 * libcsv takes the file apart, one physical line at a time so that lines are known; the
 * place of a cell inside its line is found again only when a fault is reported. */
#ifndef TS_BASE_CSVIN_H
#define TS_BASE_CSVIN_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/status.h>

#define TS_CSV_MOST_BYTES (16u << 20)
#define TS_CSV_MOST_ROWS 100000u
#define TS_CSV_MOST_CELLS 256u
#define TS_CSV_MOST_CELL 8192u

/* One record. `cells` are NUL-terminated, outer blanks taken off, one leading
 * apostrophe before (blanks, apostrophes and) = + - @ taken off. */
typedef struct ts_csv_row {
    const char *const *cells;
    int count;
    int row;       /* as a spreadsheet numbers it: blank lines count */
    int line;      /* first physical line */
    size_t raw_at; /* offset of the record in the file's text */
    size_t raw_length;
} ts_csv_row;

typedef struct ts_csv {
    const char *file;
    const char *text; /* whole, without byte-order mark; borrowed from the caller of parse */
    size_t length;
    const char *lines;      /* `text` with NUL at each line's end: what faults show */
    char separator;         /* ',', ';' or tab */
    char point;             /* decimal mark: '.', or ',' where a ; or tab file proves it */
    const ts_csv_row *rows; /* rows[0] is the header */
    size_t count;
} ts_csv;

/* Reads a file ("-": standard input, shown as "(standard input)"). The separator is
 * that which splits the first row into words among `known` (so a title row is refused
 * as HEADER); a row may end in empty cells beyond the header. Rows of empty cells and rows
 * whose first cell begins with '#' are left out of `rows`, above the header too. Every
 * row has as many cells as the header, missing ones empty. On TS_FAULTY `out` holds the
 * rows that could be read, maybe none.
 * TS_MISSING, TS_IO, or TS_FAULTY with all faults of the text in `diag`. */
ts_status ts_csv_read(ts_csv *out, ts_arena *arena, const char *path, const char *const *known,
                      size_t known_count, ts_diag *diag) TS_MUST_USE;
/* The same for text in memory (tests, fuzzing); `name` is shown in faults. */
ts_status ts_csv_parse(ts_csv *out, ts_arena *arena, const char *name, const char *text,
                       size_t length, const char *const *known, size_t known_count,
                       ts_diag *diag) TS_MUST_USE;

/* The place of cell `cell` (from 0; -1: the row as a whole) of a row, for a fault. */
ts_place ts_csv_place(const ts_csv *csv, ts_arena *arena, const ts_csv_row *row, int cell);

#endif
