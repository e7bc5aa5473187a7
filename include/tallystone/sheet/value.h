/* One cell of a sheet or book, read as its field says and put where it is kept. */
#ifndef TS_SHEET_VALUE_H
#define TS_SHEET_VALUE_H

#include <stdbool.h>

#include <tallystone/base/csvin.h>
#include <tallystone/words/field.h>

/* Where a value and its unit stand. `unit_cell` is -1 where there is no unit column. */
typedef struct ts_cell_at {
    const ts_csv *csv;
    const ts_csv_row *row;
    int value_cell;
    int unit_cell;
} ts_cell_at;

/* Reads the text `value` with `unit` ("" or NULL: the kind's own, or none) and stores it
 * in `object` at the field's offset. `subject` names the part or file in faults ("shank",
 * "metals.csv"). Faults: NUMBER, NUMBER_UNCLEAR, RANGE (with both limits and the unit),
 * UNIT_UNKNOWN, UNIT_WRONG, UNIT_MISSING, WORD_UNKNOWN (with the nearest word, and the
 * list where it has at most twelve), DATE, CURRENCY, TEXT. False where one was added; the
 * member is then untouched. A weight is turned into the field's base exactly, rounded to
 * a millionth; a length in inches likewise. */
bool ts_value_read(void *object, const ts_field *field, const char *value, const char *unit,
                   const char *subject, const ts_cell_at *at, ts_arena *arena, ts_diag *diag);

/* Adds a fault at the value's cell (or unit's where `unit` is true). */
ts_place ts_cell_place(const ts_cell_at *at, ts_arena *arena, bool unit);

/* True where the field's values can be counted in `unit` (not ""). */
bool ts_value_takes_unit(const ts_field *field, const char *unit, ts_arena *arena);

/* "L 1/2" + "UK", "6.5" + "US", "16.5" + "mm diameter". False where it is no size. */
bool ts_ring_size_read(ts_ring_size *out, const char *value, ts_size_system system, char point);

/* Text as it would be typed into a sheet: value and unit of a stored field. */
void ts_value_text(char *value, size_t value_size, char *unit, size_t unit_size, const void *object,
                   const ts_field *field);

#endif
