/* A table of cells that any writer can write: xlsx, CSV, terminal.
 *
 * Columns come from columns.def. Writers know cells and columns, nothing of the trade;
 * another form of output is another writer. */
#ifndef TS_PAPERS_TABLE_H
#define TS_PAPERS_TABLE_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>
#include <tallystone/costing/costing.h>

typedef enum ts_table_kind {
    TS_TABLE_QUANTITIES,
    TS_TABLE_PRICE,
    TS_TABLE_SUMMARY,
    TS_TABLE_WHY,
    TS_TABLE_STONES,
    TS_TABLE_CASTING,
    TS_TABLE_BENCH,
    TS_TABLE_VARIANTS,
    TS_TABLE_COUNT
} ts_table_kind;

typedef enum ts_cell_kind {
    TS_CELL_EMPTY,
    TS_CELL_TEXT,   /* from outside: made safe by every writer */
    TS_CELL_WORD,   /* of our own */
    TS_CELL_NUMBER, /* ts_dec */
    TS_CELL_MONEY,  /* ts_money of the table's currency, or of its own */
    TS_CELL_DATE,
} ts_cell_kind;

typedef struct ts_cell {
    ts_cell_kind kind; /* says which of the four is there */
    int exponent;      /* of money; -1: the table's */
    union {
        ts_dec number;
        ts_money money;
        ts_date date;
        const char *text;
    };
    const ts_figure *figure; /* where a workbook may write a live formula; else NULL */
} ts_cell;

typedef struct ts_column {
    const char *heading;
    ts_cell_kind kind;
    int places;
    int width;
    bool screen;
} ts_column;

typedef struct ts_table {
    ts_table_kind kind;
    const ts_column *columns;
    int column_count;
    struct ts_table_block **blocks; /* of rows, which never move */
    size_t row_count;
    size_t block_count;
    size_t block_room;
    int exponent; /* of its money */
    ts_arena *arena;
} ts_table;

/* The columns of a kind of table. Borrowed, static. */
const ts_column *ts_table_columns(ts_table_kind kind, int *count);

ts_table *ts_table_new(ts_arena *arena, ts_table_kind kind, int exponent);
/* The cells of a new, empty row, in column order. `ruled`: a rule stands above it. */
ts_cell *ts_table_row(ts_table *table, bool ruled);
/* The cells of a row that was made, and whether a rule stands above it (totals). */
ts_cell *ts_table_at(const ts_table *table, size_t row);
bool ts_table_ruled(const ts_table *table, size_t row);

ts_cell ts_cell_text(const char *text);
ts_cell ts_cell_word(const char *word);
ts_cell ts_cell_number(ts_dec number);
ts_cell ts_cell_money(ts_money money);
/* Money of a currency of its own, in a table of several. */
ts_cell ts_cell_money_of(ts_money money, int exponent);
ts_cell ts_cell_date(ts_date date); /* empty where none is given */
/* Decimals of a cell's money. */
int ts_cell_exponent(const ts_table *table, const ts_cell *cell);
/* A figure's exact value as money (where rounded to it) or a number of six decimals. */
ts_cell ts_cell_figure_money(const ts_figure *figure, int exponent);
ts_cell ts_cell_figure_number(const ts_figure *figure);

/* RFC 4180, LF, all columns, with or without the header row. */
void ts_table_csv(const ts_table *table, FILE *to, bool header);

typedef struct ts_screen {
    int width; /* columns of the terminal; at most 100 are used */
    bool colour;
    bool unicode; /* rules and marks beyond ASCII */
} ts_screen;

/* Aligned columns, numbers on the decimal point, totals ruled off; text cells wrap or are
 * cut with "…" so that no row passes the width. */
void ts_table_print(const ts_table *table, FILE *to, const ts_screen *screen);

/* --- the tables themselves --- */

/* `tallystone quantities` of one option. */
ts_table *ts_quantities_table(ts_arena *arena, const ts_quantities *quantities);
/* `tallystone price`: appends one option's lines, totals and payment stages. `every` writes
 * the totals that are nothing too (scripts); without it they are left out (people). */
void ts_price_rows(ts_table *table, const ts_costing *costing, bool every);
/* Why an option comes to more or less than the first: a row a section, adjustments, tax, and
 * the total that they add up to. */
void ts_difference_rows(ts_table *table, const ts_costing *first, const ts_costing *other);
/* One row an option for the summary on a terminal. */
void ts_summary_row(ts_table *table, const ts_costing *costing);

#endif
