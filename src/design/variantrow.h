/* What a worker holds to build row after row: variantrow.c builds whole designs, reband.c bends
 * the band of one that is there. */
#ifndef TS_DESIGN_VARIANTROW_H
#define TS_DESIGN_VARIANTROW_H

#include "design/stencil.h"
#include "design/variant.h"

#define TS_READ_CELLS 1024

/* A cell's text, below sixteen bytes and filled up with nothing, and the member that it was
 * read as. */
typedef struct ts_read_cell {
    uint64_t text[2];
    _Alignas(ts_ring_size) unsigned char value[sizeof(ts_ring_size)];
} ts_read_cell;

struct ts_variant {
    const ts_variant_columns *columns;
    ts_sheet sheet;
    ts_csv_row at;        /* where rows stand: nowhere in the sheet's file */
    ts_sheet_row *rows;   /* of each column */
    ts_part_rows **parts; /* of each part that a column names, else NULL */
    ts_arena *arena;
    ts_read_cell **read;   /* of each column of the band, TS_READ_CELLS once one was read */
    ts_stencils *stencils; /* NULL: every row goes the whole way */
};

/* The last words of a cell are a unit where the measure knows them; else the sheet's holds. */
void ts_variant_split_unit(ts_sheet_row *row, const ts_variant_column *column, const char *cell,
                           ts_arena *scratch);

#endif
