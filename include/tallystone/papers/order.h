/* What is to be bought, cast and made, for one commission or many. */
#ifndef TS_PAPERS_ORDER_H
#define TS_PAPERS_ORDER_H

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/costing/costing.h>
#include <tallystone/papers/table.h>

/* Borrows the commissions' costings; its tables are the arena's. */
typedef struct ts_order {
    const ts_costing *const *commissions; /* in the order they were named */
    int count;
    const ts_table *stones;  /* by lot and size; what clients supply last */
    const ts_table *casting; /* by alloy; parts bought ready-made last */
    const ts_table *bench;   /* by craft and commission */
    ts_date from;            /* the latest commission's date: weeks count from it */
} ts_order;

/* Adds up commissions that were costed from one set of books, at least one. Costs of one
 * currency are added, of several kept in rows apart. Spares are what each commission is
 * charged with; metal is what has to be melted, old metal used in the piece included.
 * TS_OVERFLOW with a sentence where a sum is past what exact arithmetic holds. */
ts_status ts_order_of(ts_order *out, ts_arena *arena, const ts_costing *const *commissions,
                      int count, ts_diag *diag) TS_MUST_USE;

/* Writes the workbook to `path` (a staged file): sheets Stones, Casting, Bench. For the
 * studio alone: it holds costs and lots. The same input gives the same bytes. TS_IO with a
 * sentence where the library cannot write. */
ts_status ts_order_write(const char *path, ts_arena *arena, const ts_order *order,
                         ts_diag *diag) TS_MUST_USE;

#endif
