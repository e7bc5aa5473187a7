/* Designs of a table of variants, kept to be made again with other values. */
#ifndef TS_DESIGN_STENCIL_PRIVATE_H
#define TS_DESIGN_STENCIL_PRIVATE_H

#include "design/build.h"
#include "design/variant.h"

/* How a column's cells go into a design that is already there. */
typedef enum ts_stencil_way {
    TS_STENCIL_WORD,  /* not at all: another text, another design */
    TS_STENCIL_VALUE, /* a given value is put in place of another */
    TS_STENCIL_TEXT,  /* likewise, and read anew each time */
} ts_stencil_way;

typedef struct ts_stencils ts_stencils;

/* With an arena of its own inside, which ts_stencils_free gives back (NULL too). */
ts_stencils *ts_stencils_new(ts_arena *arena, const ts_variant_columns *columns,
                             ts_no_memory_fn *no_memory, void *ctx);
void ts_stencils_free(ts_stencils *stencils);

/* What a row asks for, and on what ground. */
typedef struct ts_stencil_row {
    const char *const *cells;
    const ts_book *book;
    ts_date as_of;
    ts_arena *scratch;
} ts_stencil_row;

/* The design of a row that differs in values alone from one kept; NULL where there is none
 * such, or where anything at all would have to be said of the row. */
ts_design *ts_stencil_find(ts_stencils *stencils, const ts_stencil_row *row);
/* An arena to build the row's design in where it is worth keeping, with its cells copied;
 * NULL else. Call after ts_stencil_find answered NULL for the same row. */
ts_arena *ts_stencil_room(ts_stencils *stencils, const ts_stencil_row *row,
                          const char *const **cells);
/* Keeps the design built in that arena. */
void ts_stencil_keep(ts_stencils *stencils, ts_design *design);

#endif
