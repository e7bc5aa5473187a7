/* Figures as cells of a workbook: which figure stands where, and by which formula.
 *
 * Equal figures (the same operation on equal figures, the same cell of a book) are one.
 * Leaves become named cells of the sheets Rates and Quantities; the figures of a line or
 * a total are placed on the sheet Lines by its writer; what else is rounded, shared out or
 * used twice becomes a named cell of the sheet Workings. */
#ifndef TS_PAPERS_LEDGER_H
#define TS_PAPERS_LEDGER_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/costing/figure.h>

/* A named cell for a leaf. `options` has a bit for each option that uses it. */
typedef struct ts_ledger_leaf {
    const ts_figure *figure;
    const char *name;
    uint32_t options;
    int row;     /* on its sheet, once that is written */
    int used_by; /* the row of Lines that first rests on it; 0: none */
} ts_ledger_leaf;

/* A cell of the sheet Workings, or a heading there (figure NULL). */
typedef struct ts_ledger_work {
    int row;
    const ts_figure *figure;
    const char *what, *name, *formula;
    bool share; /* one of a block of shares: the columns below are filled */
    const char *weight, *part, *whole, *rest; /* their formulas */
    ts_ratio weight_value, part_value, whole_value, rest_value;
    ts_ratio value;
    int used_by; /* the row of Lines that first rests on it; 0: none */
} ts_ledger_work;

/* Columns of the sheet Workings. */
enum {
    TS_WORK_WHAT,
    TS_WORK_VALUE,
    TS_WORK_UNIT,
    TS_WORK_WEIGHT,
    TS_WORK_PART,
    TS_WORK_WHOLE,
    TS_WORK_REST,
    TS_WORK_NAME,
    TS_WORK_COLUMNS
};
#define TS_WORK_FIRST_ROW 4

/* A figure that is known: how it is called from another sheet, or on Lines. */
typedef struct ts_ledger_node {
    const ts_figure *figure;
    const char *name; /* of its cell; NULL: has none */
    uint64_t hash;    /* of its content */
    int leaf;         /* into rates or quantities; -1 */
    int work;         /* into works; -1 */
    int parents;      /* figures that it goes into */
    int place;        /* into places, of this option; -1 */
} ts_ledger_node;

typedef struct ts_ledger_place {
    const ts_figure *figure;
    int node;
    int row, column; /* on the sheet Lines */
    bool negative;   /* the cell shows it with the other sign */
} ts_ledger_place;

typedef struct ts_ledger {
    ts_arena *arena;
    ts_rounding mode;
    int option; /* the one being written */
    ts_ledger_node *nodes;
    size_t node_count, node_room;
    int *table;
    size_t table_size; /* of nodes, by content */
    struct ts_ledger_known *known;
    size_t known_size, known_count; /* nodes by pointer */
    ts_ledger_leaf *rates;
    size_t rate_count, rate_room;
    ts_ledger_leaf *quantities;
    size_t quantity_count, quantity_room;
    ts_ledger_work *works;
    size_t work_count, work_room;
    ts_ledger_place *places;
    size_t place_count, place_room;
    struct ts_ledger_name *names;
    size_t name_count, name_room;
    int next_row;  /* of Workings */
    bool on_lines; /* the formula being written stands on the sheet Lines */
} ts_ledger;

ts_ledger *ts_ledger_new(ts_arena *arena, ts_rounding mode);
/* Begins an option: places of the one before are forgotten. */
void ts_ledger_option(ts_ledger *ledger, int option, const char *label);
/* Takes note of a figure and all below it, so that what is used twice gets a cell. */
void ts_ledger_note(ts_ledger *ledger, const ts_figure *figure);
/* Says that a figure stands in a cell of the sheet Lines. */
void ts_ledger_place_at(ts_ledger *ledger, const ts_figure *figure, int row, int column,
                        bool negative);

/* The formula of a figure's own cell on Lines: "=ROUND(C5*E5,2)". The figure's own place
 * is not used in it. `negative` writes it with the other sign. */
const char *ts_ledger_formula(ts_ledger *ledger, const ts_figure *figure, bool negative);
/* The formula of a cell on another sheet that shows the figure. */
const char *ts_ledger_elsewhere(ts_ledger *ledger, const ts_figure *figure);
/* What a formula on another sheet (or on Lines, where `on_lines`) calls the figure: a
 * cell, a name or, for a small one, its formula in brackets. */
const char *ts_ledger_call(ts_ledger *ledger, const ts_figure *figure, bool on_lines);

/* --- ledger.c, for formula.c --- */
int ts_ledger_node_of(ts_ledger *ledger, const ts_figure *figure);
/* The node itself; good until the next figure is met. */
ts_ledger_node *ts_ledger_at(ts_ledger *ledger, const ts_figure *figure);
/* The place of a figure in this option, or NULL. Of a plain number only its own. */
const ts_ledger_place *ts_ledger_find(ts_ledger *ledger, const ts_figure *figure);
/* A name that no cell has yet, made from the figure's. */
const char *ts_ledger_name(ts_ledger *ledger, const char *name);
/* A leaf's name; it is given its cell at the first call. */
const char *ts_ledger_leaf_name(ts_ledger *ledger, const ts_figure *figure);
ts_ledger_work *ts_ledger_work_add(ts_ledger *ledger, const ts_figure *figure);

#endif
