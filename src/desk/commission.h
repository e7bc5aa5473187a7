/* One commission through every room: sheet, design, geometry, quantities, costing. */
#ifndef TS_DESK_COMMISSION_H
#define TS_DESK_COMMISSION_H

#include "desk/request.h"

#include <tallystone/costing/costing.h>
#include <tallystone/design/design.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>
#include <tallystone/register/register.h>

/* One option, as far as it came: NULL from the room on where a fault stood. */
typedef struct ts_option {
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *quantities;
    ts_costing *costing;
} ts_option;

typedef struct ts_commission_run {
    const char *path;
    const char *text; /* the sheet, where it was read already; NULL: `path` is read */
    size_t length;
    const ts_kept_file *kept; /* files that the register kept, meshes among them; NULL: none */
    size_t kept_count;
    ts_sheet *sheet;
    ts_option options[TS_MOST_OPTIONS + 1]; /* [0] the sheet itself */
    int option_count;
} ts_commission_run;

/* How far to go. */
typedef enum ts_depth { TS_DEPTH_QUANTITIES, TS_DEPTH_COSTING } ts_depth;

/* Runs a sheet. Every option is worked through even where another has a fault, so that
 * all faults come out together. `book` may be NULL where the books had faults: rows and
 * measures are judged all the same. TS_FAULTY, TS_MISSING or TS_OK. */
ts_status ts_commission_of(ts_commission_run *out, ts_arena *arena, const char *path,
                           const ts_book *book, ts_date as_of, ts_depth depth,
                           ts_diag *diag) TS_MUST_USE;

/* The same for a run whose `path`, and `text` or `kept` where they are known, are set. */
ts_status ts_commission_run_on(ts_commission_run *out, ts_arena *arena, const ts_book *book,
                               ts_date as_of, ts_depth depth, ts_diag *diag) TS_MUST_USE;

/* For errands over one sheet: the books and the request's first sheet run, and the option
 * that the request names (0 where it names none). TS_OK only where that option came
 * through whole. */
ts_status ts_commission_asked(ts_commission_run *out, int *option, const ts_request *request,
                              ts_depth depth) TS_MUST_USE;

#endif
