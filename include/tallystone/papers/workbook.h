/* The workbooks: the client's quote and the owner's margin sheet. */
#ifndef TS_PAPERS_WORKBOOK_H
#define TS_PAPERS_WORKBOOK_H

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/costing/costing.h>
#include <tallystone/costing/insight.h>
#include <tallystone/papers/drawing.h>
#include <tallystone/papers/picture.h>

/* Everything a paper is made from: one commission, all its options, costed. */
typedef struct ts_commission_paper {
    const ts_costing *const *options; /* [0] is the sheet itself */
    int option_count;
    const ts_book *book;
    bool draft;               /* "Draft" on each page */
    int revision;             /* of an issued quote; 0 for a draft */
    const ts_picture *logo;   /* NULL: none */
    const char *terms;        /* the studio's own terms, NUL-terminated; NULL: none */
    const ts_driver *drivers; /* of options[0], sorted; for the owner's sheet */
    size_t driver_count;
    const ts_drawing_ask *drawings; /* of each option, whole sheets; NULL: none are drawn */
} ts_commission_paper;

/* Writes the client's workbook to `path` (a staged file): sheets Quote, Drawing, Stones. Holds no
 * cost, margin, lot, supplier, book name or path. The same input gives the same bytes.
 * TS_IO with a sentence where the library cannot write. */
ts_status ts_quote_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                         ts_diag *diag) TS_MUST_USE;

/* Writes the owner's workbook: Decision, Lines, Rates, Quantities, Sensitivity, Workings. Lines
 * and Decision are live formulas over the named cells of Rates and Quantities, each with the
 * engine's value cached; Sensitivity is the engine's, and steps aside where cells change. */
ts_status ts_margin_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                          ts_diag *diag) TS_MUST_USE;

#endif
