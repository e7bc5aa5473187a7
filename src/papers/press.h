/* The door to the press, the part of the program that makes workbooks and paints drawings.
 *
 * What it stands on are large libraries, which most commands have no use for. So it is a shared
 * object of its own, tallystone-papers.so, that is loaded when the first paper is made. The
 * program knows it by one table; it calls back into the program for all that other rooms and the
 * rest of this one do. */
#ifndef TS_PAPERS_PRESS_H
#define TS_PAPERS_PRESS_H

#include "papers/paint.h"

#include <tallystone/papers/best.h>
#include <tallystone/papers/order.h>
#include <tallystone/papers/picture.h>
#include <tallystone/papers/quotation.h>
#include <tallystone/papers/workbook.h>

/* Of one build: the Makefile makes it of every header, table and flag. Structs cross the door, so
 * that a press of another build is not used. */
#ifndef TS_PRESS_MARK
#define TS_PRESS_MARK "none"
#endif

/* The functions stand in the headers above, and do there what they do here. */
typedef struct ts_press {
    const char *mark; /* TS_PRESS_MARK when it was built; always the first */
    ts_status (*quote)(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                       ts_diag *diag);
    ts_status (*margin)(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                        ts_diag *diag);
    ts_status (*order)(const char *path, ts_arena *arena, const ts_order *order, ts_diag *diag);
    ts_status (*best)(const char *path, ts_arena *arena, const ts_table *table, const char *title,
                      ts_date day, ts_diag *diag);
    ts_status (*quotation)(FILE *to, ts_arena *arena, const ts_commission_paper *paper,
                           ts_diag *diag);
    ts_status (*picture)(ts_picture *out, ts_arena *arena, const char *png, size_t length,
                         ts_diag *diag);
    ts_status (*paint)(ts_bytes *to, const ts_drawing *drawing, ts_drawing_form form,
                       ts_diag *diag);
} ts_press;

/* What the shared object shows; all else in it is hidden. */
extern const ts_press ts_press_here;

#endif
