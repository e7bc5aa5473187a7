/* The price as a client sees it: what the studio chose to show, options side by side.
 *
 * Sprue stands in its metal, overhead and contingency are shared among the rest by price;
 * each option's amounts add up to the sum of its lines. Knows prices, never a cost. */
#ifndef TS_PAPERS_CLIENTPRICE_H
#define TS_PAPERS_CLIENTPRICE_H

#include <tallystone/costing/costing.h>
#include <tallystone/papers/workbook.h>

typedef enum ts_client_cell {
    TS_CLIENT_NONE, /* this option has no such thing */
    TS_CLIENT_AMOUNT,
    TS_CLIENT_YOURS, /* the client's own: no part of the price */
} ts_client_cell;

typedef struct ts_client_row {
    ts_section section;
    const char *label;
    ts_client_cell *cells; /* one an option */
    ts_money *amounts;     /* likewise */
} ts_client_row;

typedef struct ts_client_price {
    ts_client_row *rows;
    int count;
    int option_count;
} ts_client_price;

/* False where an amount left the range of exact arithmetic. */
bool ts_client_price_of(ts_client_price *out, ts_arena *arena, const ts_commission_paper *paper,
                        ts_detail detail) TS_MUST_USE;

#endif
