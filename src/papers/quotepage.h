/* The client's sheet while it is laid out: a grid, a pen, and where pages end. */
#ifndef TS_PAPERS_QUOTEPAGE_H
#define TS_PAPERS_QUOTEPAGE_H

#include "papers/piece.h"
#include "papers/xlsx.h"

#include <tallystone/papers/workbook.h>

/* Six columns: labels stand in the first, prices of options in the last four, which are as wide
 * as a total in the largest type asks; the second takes what is left of the paper. */
#define TS_QUOTE_COLUMNS 6
#define TS_QUOTE_LAST (TS_QUOTE_COLUMNS - 1)
#define TS_QUOTE_ABREAST 4 /* options side by side in one table */
#define TS_QUOTE_TITLE_PT 14
#define TS_QUOTE_SMALL_PT 9
#define TS_QUOTE_MARGIN_MM 15.0
#define TS_QUOTE_EDGE_MM 12.0 /* above and below */

typedef struct ts_quote_page {
    ts_xlsx *book;
    ts_xlsx_sheet *sheet;
    ts_arena *arena;
    const ts_commission_paper *paper;
    const ts_costing *first;
    int row;                     /* the next */
    int last;                    /* the column where text ends: a picture may stand beside it */
    double wider_mm;             /* than the narrowest paper */
    bool snug;                   /* set closer, so that it all goes on one page */
    bool overleaf;               /* and what to know stands on the back, with the terms */
    bool trial;                  /* laid out for its height alone: nothing is drawn */
    double used_pt;              /* of the page so far */
    double room_pt;              /* of a page */
    int block_row;               /* where the part that should stay together began */
    double block_pt;             /* used when it began */
    double all_pt, block_all_pt; /* of all rows so far, and when it began */
    int breaks[64];
    int break_count;
    ts_piece_words *said; /* where pairs go instead of a sheet; NULL: onto the sheet */
    size_t said_room;
} ts_quote_page;

/* Takes the next row, so high. */
int ts_quote_row(ts_quote_page *page, double height_pt);
void ts_quote_gap(ts_quote_page *page, double height_pt);
/* What stands between begin and end moves to the next page whole, where it fits one. */
void ts_quote_begin(ts_quote_page *page);
void ts_quote_end(ts_quote_page *page);
/* Is there so much left of the page? */
bool ts_quote_fits(const ts_quote_page *page, double height_pt);
double ts_quote_width_mm(const ts_quote_page *page, int from, int to);
/* Text over columns, in as many rows as it needs; line breaks begin a new row. */
void ts_quote_text(ts_quote_page *page, int from, int to, const char *text, ts_xlsx_style style);
/* What it would take. */
double ts_quote_text_pt(ts_quote_page *page, int from, int to, const char *text,
                        ts_xlsx_style style);
void ts_quote_heading(ts_quote_page *page, const char *text);
/* A label in the first column, text in the rest. */
void ts_quote_pair(ts_quote_page *page, const char *label, const char *text);
void ts_quote_small_pair(ts_quote_page *page, const char *label, const char *text);
/* What it takes. */
double ts_quote_pair_pt(const ts_quote_page *page, const char *label, const char *text, int last);
void ts_quote_strong_pair(ts_quote_page *page, const char *label, const char *text);

/* --- the parts of the sheet --- */
void ts_quote_price(ts_quote_page *page); /* quoteprice.c; trouble is kept by the workbook */
void ts_quote_know(ts_quote_page *page);  /* quoteknow.c: what the client should know */
/* quoteknow.c: the studio's own terms at the end of the page, where they fit; false: not. */
bool ts_quote_terms(ts_quote_page *page);
/* The same as words, without the studio's own terms. */
ts_piece_words ts_quote_words(ts_arena *arena, const ts_commission_paper *paper);
void ts_quote_stones(ts_quote_page *page); /* quotestones.c: a sheet of its own */
/* quotedrawing.c: on the first sheet, and each drawing that differs on a sheet of its own.
 * What cannot be drawn is left out; why not stands in `diag`. The picture stands in the last
 * columns from the next row on, about as high as `beside_pt`, and answers its height; 0: there
 * is none. */
double ts_quote_picture(ts_quote_page *page, double beside_pt, ts_diag *diag);
void ts_quote_drawing(ts_quote_page *page, ts_diag *diag);

/* Money with its currency, as text: "6,200.00 USD". */
const char *ts_quote_money(ts_arena *arena, ts_money money, int exponent, const char *currency);
const char *ts_quote_date(ts_arena *arena, ts_date date);

#endif
