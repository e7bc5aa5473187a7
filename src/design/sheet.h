/* A sheet taken apart into rows by part, one layer for itself and one for each option. */
#ifndef TS_DESIGN_SHEET_PRIVATE_H
#define TS_DESIGN_SHEET_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/design/design.h>
#include <tallystone/sheet/value.h>

#define TS_MOST_PARTS 1000
#define TS_VARIANT_LAYER (1 + TS_MOST_OPTIONS)

typedef enum ts_row_what {
    TS_ROW_NONE,
    TS_ROW_MEASURE,
    TS_ROW_LABEL,
    TS_ROW_WIDTH, /* stations of the shank */
    TS_ROW_THICKNESS,
    TS_ROW_PROFILE,
    TS_ROW_DROP, /* of an option: the whole part is left out */
} ts_row_what;

typedef enum ts_column {
    TS_COLUMN_PART,
    TS_COLUMN_MEASURE,
    TS_COLUMN_VALUE,
    TS_COLUMN_UNIT,
    TS_COLUMN_NOTE,
    TS_COLUMN_COUNT
} ts_column;

struct ts_sheet_row {
    ts_row_what what;
    int position; /* of the measure in its part */
    ts_dec angle; /* of a station */
    const char *value, *unit;
    const ts_csv_row *row;
    int layer;
    bool doubtful;  /* its part or measure was guessed at after a fault: not judged further */
    bool takes_out; /* of an option: `none` for a measure */
};

/* What one layer says of one part. */
typedef struct ts_part_rows {
    const ts_sheet_row *first; /* sound where there is a sound one */
    const ts_sheet_row *measures[TS_PART_FIELDS];
    const ts_sheet_row *label, *drop;
    const ts_sheet_row **stations;
    size_t station_count, station_room;
    bool sound; /* any row that is not doubtful */
} ts_part_rows;

typedef struct ts_sheet_part {
    ts_part_kind kind;
    const char *name;
} ts_sheet_part;

typedef struct ts_layer {
    const char *name;  /* folded; "base" for the sheet itself */
    const char *label; /* or NULL */
    const ts_csv_row *label_row;
    ts_part_rows **parts; /* TS_MOST_PARTS, by the sheet's part; NULL: nothing said of it */
} ts_layer;

struct ts_sheet {
    ts_csv csv;
    int columns[TS_COLUMN_COUNT]; /* the cell of each column, -1 where it is missing */
    bool faulty;
    ts_sheet_part *parts; /* in order of their first rows */
    size_t part_count, part_room;
    ts_layer layers[2 + TS_MOST_OPTIONS]; /* the last one is for a row of variants */
    int layer_count;
    const ts_csv *variants; /* what the cells of that layer were read by; NULL: no such layer */
};

/* What reading a sheet needs at hand. */
typedef struct ts_sheet_reader {
    ts_sheet *sheet;
    ts_arena *arena;
    ts_diag *diag;
    const ts_csv_row *row;
    bool parts_full; /* the fault of too many parts has been said */
    bool layers_full;
} ts_sheet_reader;

/* A part cell, or the PART of PART/MEASURE, taken apart. */
typedef struct ts_part_named {
    ts_part_kind kind; /* NONE: unknown, and nothing near */
    const char *name;
    bool doubtful; /* a fault was said; kind and name are what was meant most likely */
    bool guessed;  /* the kind itself was the fault */
} ts_part_named;

/* "halo inner": kind and name as they stand in sheets. */
const char *ts_title_of(ts_arena *arena, ts_part_kind kind, const char *name);
/* The same, safe and short enough for a fault. */
const char *ts_title_shown(ts_arena *arena, ts_part_kind kind, const char *name);
/* A cell's text safe and short enough for a fault. */
const char *ts_sheet_shown(ts_arena *arena, const char *text);
/* Place of a cell of a row; the row as a whole where the sheet has no such column. */
ts_place ts_sheet_place(const ts_sheet *sheet, ts_arena *arena, const ts_csv_row *row,
                        ts_column column);
ts_cell_at ts_sheet_cell_at(const ts_sheet *sheet, const ts_sheet_row *row);
const char *ts_sheet_cell(const ts_sheet *sheet, const ts_csv_row *row, ts_column column);

/* Takes `text` apart: KIND or KIND NAME. Faults at the cell `column`; PART_UNKNOWN and
 * PART_NAME, or OPTION_ROW for an unknown kind where `in_option`. */
ts_part_named ts_part_named_read(ts_sheet_reader *in, const char *text, ts_column column,
                                 bool in_option);
/* Reads the measure `text` (folded) of a part into `out`. False where a fault was said; then
 * out->what is what was meant most likely, or TS_ROW_NONE. */
bool ts_measure_read(ts_sheet_reader *in, ts_sheet_row *out, ts_part_named part, const char *text);

/* Keeps a row of a part in its layer; MEASURE_TWICE where it stands there already. */
void ts_sheet_keep(ts_sheet_reader *in, ts_part_named part, ts_sheet_row row);
/* The sheet's part of that kind and name, -1 where there is none. */
int ts_sheet_part_find(const ts_sheet *sheet, ts_part_kind kind, const char *name);

/* A row whose part is `option ...`: `rest` is the option's name. */
void ts_option_row_read(ts_sheet_reader *in, const char *rest);
/* False for free text, which may say "none", and for a label. */
bool ts_option_takes_none(ts_part_kind kind, const ts_sheet_row *row);
/* Adds "did you mean ..." with the sheet's own part whose title is nearest. */
void ts_sheet_suggest(const ts_sheet *sheet, ts_arena *arena, const char *title, ts_diag *diag);
/* After all rows: an option that leaves out what is not there. */
void ts_options_judge(ts_sheet_reader *in);

#endif
