/* Columns of variants bound to a sheet: shared by their binding and their rows. */
#ifndef TS_DESIGN_VARIANT_PRIVATE_H
#define TS_DESIGN_VARIANT_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/design/variant.h>

#include "design/sheet.h"

typedef struct ts_variant_column {
    const char *heading; /* as it is shown */
    ts_sheet_row row;    /* what NONE: the variant's name, or a column without a name */
    int part;            /* number of the sheet's part */
    ts_field field;      /* of a measure, a label or a station */
    const char *unit;    /* where the cell names none: the sheet's, or "" */
    bool is_band;        /* bends the band alone: reband.c */
} ts_variant_column;

struct ts_variant_columns {
    ts_sheet sheet; /* with the parts that only the columns have */
    size_t own_parts;
    const ts_csv *header;
    ts_variant_column *columns;
    size_t count;
    size_t name_cell;
};

/* True for a column of that measure; of one of those measures. */
bool ts_variant_gives(const ts_variant_columns *columns, const ts_variant_column *column,
                      ts_field_id field);
bool ts_variant_gives_one(const ts_variant_columns *columns, const ts_variant_column *column,
                          const ts_field_id *fields, size_t count);
/* Says of every column whether it bends the band alone. */
void ts_variant_mark_band(ts_variant_columns *columns);
/* True for the rows that are stations of the shank. */
bool ts_row_is_station(const ts_sheet_row *row);
/* The measure at the top, under the station's own name: "width 60". Its offset is that of
 * the value in what station.c reads. */
ts_field ts_station_field(ts_arena *arena, const ts_sheet_row *row);

#endif
