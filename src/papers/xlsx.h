/* The one door to the workbook library: cells, looks, pages, in our own types.
 *
 * Text is always a plain string cell, so that what begins with = + - @ stays text. A
 * formula is never written without its value. Numbers come as exact decimals, money or
 * fractions and are divided once. Trouble is kept and told by ts_xlsx_close. Rows and
 * columns count from 0. All memory that is the caller's comes from the arena. */
#ifndef TS_PAPERS_XLSX_H
#define TS_PAPERS_XLSX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>
#include <tallystone/base/diag.h>
#include <tallystone/words/words.h>

typedef struct ts_xlsx ts_xlsx;
typedef struct ts_xlsx_sheet ts_xlsx_sheet;

typedef enum ts_xlsx_align { TS_ALIGN_LEFT, TS_ALIGN_RIGHT, TS_ALIGN_CENTRE } ts_xlsx_align;

/* How a cell looks. Two styles that are equal make one format in the file. */
typedef struct ts_xlsx_style {
    int size_pt; /* 0: 10 */
    bool bold, italic, wrap;
    bool rule_above, rule_below; /* hairlines */
    bool input;                  /* may be changed: unlocked, tinted */
    bool bottom;                 /* else at the top of its row */
    bool link;                   /* leads somewhere: underlined */
    ts_xlsx_align align;
    int indent;
    uint32_t colour;    /* 0xRRGGBB */
    const char *format; /* number format, static or arena; NULL: General */
} ts_xlsx_style;

/* Describes the file as a whole. `day` stands in for the clock so that bytes repeat. */
typedef struct ts_xlsx_about {
    const char *title, *subject, *author;
    ts_date day;
} ts_xlsx_about;

typedef struct ts_xlsx_page {
    ts_paper paper;
    bool landscape;
    bool fit_width;     /* shrink to one page wide */
    int fit_height;     /* and to so many pages high; 0: as many as it takes */
    int repeat_rows;    /* rows repeated at the top of each page */
    double margin_mm;   /* left and right */
    double edge_mm;     /* above and below; 0: 16 */
    const char *header; /* centred; plain text */
    const char *footer; /* left; plain text; "page n of m" stands at the right */
} ts_xlsx_page;

typedef struct ts_xlsx_bars {
    int first_row, last_row; /* of the data, on the same sheet */
    int label_column, value_column;
    int other_column;     /* a second set of bars beside the first; 0: none */
    const char *names[2]; /* of the two sets, where there are two: a legend */
    int row, column;      /* where its upper left corner lies */
    int width_px, height_px;
    bool from_zero; /* no bar goes below: its length is its worth */
    const char *title;
    const char *format;      /* of the figures beside the bars */
    const char *description; /* alternative text: the finding */
} ts_xlsx_bars;

typedef struct ts_xlsx_image {
    const unsigned char *png;
    size_t length;
    double width_mm, height_mm;
    const char *description; /* alternative text */
} ts_xlsx_image;

/* A cell that a link leads to. */
typedef struct ts_xlsx_spot {
    const ts_xlsx_sheet *sheet;
    int row, column;
} ts_xlsx_spot;

/* Begins a workbook that ts_xlsx_close writes to `path`; with NULL one that takes everything and
 * keeps nothing, for what is laid out on trial: it is dropped. */
ts_xlsx *ts_xlsx_new(ts_arena *arena, const char *path, const ts_xlsx_about *about);
/* Adds a sheet; `name` is one of ours: plain letters, at most 31. */
ts_xlsx_sheet *ts_xlsx_add(ts_xlsx *book, const char *name);
/* Writes and ends the workbook. TS_IO with a sentence where anything went wrong. */
ts_status ts_xlsx_close(ts_xlsx *book, ts_diag *diag) TS_MUST_USE;
/* Ends a workbook that is not wanted after all; nothing is written. */
void ts_xlsx_drop(ts_xlsx *book);
/* Keeps the first thing that went wrong, for ts_xlsx_close. `why` is static. */
void ts_xlsx_fail(ts_xlsx *book, const char *why);

void ts_xlsx_text(ts_xlsx_sheet *sheet, int row, int column, const char *text, ts_xlsx_style style);
/* The same over columns `column` to `last`, merged where they are several. */
void ts_xlsx_merged(ts_xlsx_sheet *sheet, int row, int column, int last, const char *text,
                    ts_xlsx_style style);
void ts_xlsx_blank(ts_xlsx_sheet *sheet, int row, int column, ts_xlsx_style style);
void ts_xlsx_number(ts_xlsx_sheet *sheet, int row, int column, ts_dec number, ts_xlsx_style style);
void ts_xlsx_money(ts_xlsx_sheet *sheet, int row, int column, ts_money money, int exponent,
                   ts_xlsx_style style);
void ts_xlsx_date(ts_xlsx_sheet *sheet, int row, int column, ts_date date, ts_xlsx_style style);
/* `formula` begins with '='; `value` is what it gives. */
void ts_xlsx_formula(ts_xlsx_sheet *sheet, int row, int column, const char *formula, ts_ratio value,
                     ts_xlsx_style style);
void ts_xlsx_formula_text(ts_xlsx_sheet *sheet, int row, int column, const char *formula,
                          const char *value, ts_xlsx_style style);
/* Text that leads to a cell of another sheet. A number, formula or text put into the cell
 * afterwards takes the text's place and leads there too. */
void ts_xlsx_link(ts_xlsx_sheet *sheet, int row, int column, const ts_xlsx_spot *to,
                  const char *text, ts_xlsx_style style);
/* Names a cell for formulas. False where the name could be read as something else: only
 * ASCII letters, digits and '_', not like A1, R1C1 or a truth value, at most 100. */
bool ts_xlsx_name(ts_xlsx_sheet *sheet, int row, int column, const char *name) TS_MUST_USE;
bool ts_xlsx_name_fits(const char *name);

void ts_xlsx_width(ts_xlsx_sheet *sheet, int column, double width_mm);
void ts_xlsx_height(ts_xlsx_sheet *sheet, int row, double height_pt);
void ts_xlsx_freeze(ts_xlsx_sheet *sheet, int rows, int columns);
void ts_xlsx_page_setup(ts_xlsx_sheet *sheet, const ts_xlsx_page *page);
/* Pages begin at these rows. `rows` ends with 0 and stays the caller's. */
void ts_xlsx_breaks(ts_xlsx_sheet *sheet, const int *rows, int count);
/* Only these columns of rows 0 to `last_row` are printed. */
void ts_xlsx_print_area(ts_xlsx_sheet *sheet, int last_row, int last_column);
/* A guard against slips: formulas can't be overwritten before it is lifted; no password. */
void ts_xlsx_guard(ts_xlsx_sheet *sheet);
/* Puts a PNG into a cell's upper left corner, at the size it says. */
void ts_xlsx_picture(ts_xlsx_sheet *sheet, int row, int column, const ts_xlsx_image *image);
void ts_xlsx_bar_chart(ts_xlsx_sheet *sheet, const ts_xlsx_bars *bars);
/* Makes a cell bold in `style`'s colour where `formula` (begins with '=') is true. */
void ts_xlsx_warn(ts_xlsx_sheet *sheet, int row, int column, const char *formula,
                  ts_xlsx_style style);

/* "B7", or "$B$7" where `fixed`. `buffer` holds 24 bytes. */
char *ts_xlsx_cell(char *buffer, int row, int column, bool fixed);
/* "#,##0.00" for a currency of `exponent` decimals; static. */
const char *ts_xlsx_money_format(int exponent);
const char *ts_xlsx_change_format(int exponent); /* with its sign */

#endif
