/* The owner's workbook while it is written: its sheets, and which row says what. */
#ifndef TS_PAPERS_MARGIN_H
#define TS_PAPERS_MARGIN_H

#include "papers/ledger.h"
#include "papers/outlook.h"
#include "papers/xlsx.h"

#include <tallystone/papers/workbook.h>

#define TS_MARGIN_TITLE_PT 14
#define TS_MARGIN_SMALL_PT 9
#define TS_MARGIN_WARNING 0x9c0006u

/* Columns of the sheet Lines. */
enum {
    TS_LINES_NUMBER, /* by which `why` knows the amount */
    TS_LINES_SECTION,
    TS_LINES_ITEM,
    TS_LINES_QUANTITY,
    TS_LINES_UNIT,
    TS_LINES_UNIT_COST,
    TS_LINES_COST,
    TS_LINES_RULE,
    TS_LINES_PRICE,
    TS_LINES_MARGIN,
    TS_LINES_ORIGIN,
    TS_LINES_COLUMNS
};

/* Rows of Lines that Decision looks at; 0 where an option has none. */
typedef struct ts_margin_rows {
    int cost, net, total, margin, floor, verdict, guards, earnings;
} ts_margin_rows;

/* An amount of the sheet Lines, and where its chain begins. */
typedef struct ts_margin_link {
    int row, number;
    bool ruled; /* a rule stands above the row */
    const ts_figure *figure;
    int work_index; /* into the ledger's works; -1: none */
    int leaf_index; /* into its rates or quantities; -1: none */
    bool leaf_is_rate;
} ts_margin_link;

typedef struct ts_margin_paper {
    ts_xlsx *book;
    ts_xlsx_sheet *decision, *lines, *rates, *quantities, *sensitivity, *workings;
    ts_arena *arena;
    const ts_commission_paper *paper;
    const ts_costing *first;
    ts_ledger *ledger;
    ts_margin_rows *rows; /* one an option */
    ts_margin_link *links;
    size_t link_count, link_room;
    ts_outlook outlook; /* of the first option */
    /* Of Sensitivity, where its sentences stand. */
    int metal_row, range_row, cash_row, ready_row;
    /* What the first option's sections cost and bring, as formulas. */
    const char *section_cost[TS_SECTION_COUNT], *section_price[TS_SECTION_COUNT];
} ts_margin_paper;

void ts_margin_lines(ts_margin_paper *m);       /* linesheet.c */
void ts_margin_decision(ts_margin_paper *m);    /* decision.c */
void ts_margin_rates(ts_margin_paper *m);       /* ratesheet.c */
void ts_margin_quantities(ts_margin_paper *m);  /* ratesheet.c */
void ts_margin_sensitivity(ts_margin_paper *m); /* sensitivity.c */
void ts_margin_workings(ts_margin_paper *m);    /* worksheet.c */

/* --- does the price still hang together as it was made: guardrow.c --- */
/* Writes whether it does, once the cells of Lines are placed. */
void ts_margin_guard_put(ts_margin_paper *m, const ts_costing *costing, int row);
#define TS_MARGIN_HOLDS "yes"
#define TS_MARGIN_AGAIN "price it again"

/* --- from an amount to where it begins, and back: linklines.c --- */
/* Takes note of an amount in a row of Lines; number 0: `why` knows it not. */
void ts_margin_link_add(ts_margin_paper *m, int row, int number, const ts_figure *figure,
                        bool ruled);
/* Looks where the amounts from `first` on begin, while their option's cells are known. */
void ts_margin_links_find(ts_margin_paper *m, size_t first);
/* Writes the numbers, once the rows of the other sheets are known. */
void ts_margin_links_write(ts_margin_paper *m);
/* What a row of a sheet is called, in its first column, leading back to the first line that rests
 * on it, row `used_by` of Lines. In small print where it is wider than its column, for some
 * programs don't wrap it. */
void ts_margin_link_back(const ts_margin_paper *m, ts_xlsx_sheet *sheet, int row, int used_by,
                         const char *name, double width_mm);

/* --- what the sheets share: margin.c --- */
/* A title in the first row and small print under it, over `columns`, together so wide. */
void ts_margin_title(ts_margin_paper *paper, ts_xlsx_sheet *sheet, const char *title,
                     const char *under, int columns, double width_mm);
typedef enum ts_margin_way { TS_MARGIN_UPRIGHT, TS_MARGIN_LANDSCAPE } ts_margin_way;

/* One page wide, the first `repeat` rows on each page; 0: all on one page. An upright page has
 * 190 mm for its columns. `high_pt` is what all rows take: where the last page would hold a few
 * of them alone, the sheet shrinks by as little. 0: it does not. */
void ts_margin_page(ts_margin_paper *paper, ts_xlsx_sheet *sheet, const char *name, int repeat,
                    ts_margin_way way, double high_pt);
const char *ts_margin_option(ts_margin_paper *paper, int option);
const char *ts_margin_verdict(bool below);
/* A formula that gives `then` while cost and net on Lines are those the engine found, and
 * says that cells were changed otherwise. `then` is an expression. */
const char *ts_margin_unchanged(ts_margin_paper *paper, const char *then);
#define TS_MARGIN_CHANGED "Cells were changed since: price the sheet again to know this."
/* (price - cost) / price in %, two decimals; false where the price is not above 0. */
bool ts_margin_percent(ts_ratio *out, ts_ratio price, ts_ratio cost);

/* --- figureform.c: how figures look, and the room they take --- */

/* For a rate or what is worked out of rates. */
const char *ts_margin_rate_format(ts_ratio value);
/* For what is counted in `unit`, or is an amount of so many decimals that per cent are taken of. */
const char *ts_margin_quantity_format(ts_ratio value, const char *unit, int exponent);
/* Widens a column where a figure of body size would not fit. */
void ts_margin_widen(double *width_mm, ts_ratio value, const char *format);

#endif
