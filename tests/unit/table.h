/* Reference tables for tests: a CSV file with a header row and a `source` in every row.
 *
 *     table *bands = table_open("tests/reference/bands.csv");
 *     for (const table_row *row; (row = table_next(bands)) != NULL;) {
 *         double expect_mm3 = table_number(row, "volume_mm3");
 *         ...
 *     }
 *     table_close(bands);
 *
 * Whatever is wrong with the table fails the running cmocka test and names file and line: a file
 * that cannot be read, no `source` column, an empty source, no rows, a row of another
 * length than the header, a column that is not there, a cell that is no number. */
#ifndef TS_TESTS_TABLE_H
#define TS_TESTS_TABLE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct table table;
typedef struct table_row table_row;

/* Reads the whole file: commas, cells in double quotes where needed ("" inside is one
 * quote, commas and line breaks may stand inside). Blank lines and lines that begin with
 * '#' are skipped. Every row is judged here, so a broken table fails before its first row. */
table *table_open(const char *path);
/* Frees the table and all its text. */
void table_close(table *t);

/* Rows in the table, without the header. */
size_t table_count(const table *t);
/* The next row, or NULL after the last; table_rewind begins anew. The row lives until
 * table_close. */
const table_row *table_next(table *t);
void table_rewind(table *t);

/* True where the header has such a column. */
bool table_has(const table *t, const char *column);
/* A cell as it stands, and as a number: the whole cell must be one finite number. */
const char *table_text(const table_row *row, const char *column);
double table_number(const table_row *row, const char *column);
/* True where the cell is not empty. */
bool table_given(const table_row *row, const char *column);
/* The line of the file where the row begins, from 1: for messages. */
int table_line(const table_row *row);

#endif
