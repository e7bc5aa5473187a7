/* One cell while it is read: what the kinds of value.c share. */
#ifndef TS_SHEET_READING_H
#define TS_SHEET_READING_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/sheet/value.h>

typedef struct ts_reading {
    const ts_field *field;
    const char *value;
    const char *unit;
    const char *subject; /* "shank" */
    const ts_cell_at *at;
    ts_arena *arena;
    ts_diag *diag;
} ts_reading;

/* "shank width top". */
const char *ts_reading_name(const ts_reading *r);
/* The decimal mark of the file; a point where there is no file (defaults, variants). */
char ts_reading_point(const ts_reading *r);
/* Text of the user's made safe, and a decimal of ours with the file's own mark. */
const char *ts_reading_shown(const ts_reading *r, const char *text);
const char *ts_reading_mark(const ts_reading *r, const char *number);
/* "mm or in": what the field's kind takes. */
const char *ts_reading_units(const ts_reading *r);
/* Adds "did you mean ..." to the fault added last, where a word is near. */
void ts_reading_suggest(const ts_reading *r, const char *typed, const char *const *words,
                        size_t count);

/* The value as a number; false with a fault where it is none. */
bool ts_reading_number(const ts_reading *r, ts_dec *out);
/* True where the field is measured in `unit`. */
bool ts_reading_serves(const ts_reading *r, ts_unit unit);
/* The unit named, or the kind's own where none is; false with a fault. */
bool ts_reading_unit(const ts_reading *r, ts_unit *out);
/* True where no unit is named; else a fault, for kinds that are counted in nothing. */
bool ts_reading_no_unit(const ts_reading *r);
/* Turns a number of `unit` into the field's base unit; false where it grows too large. */
bool ts_reading_to_base(const ts_reading *r, ts_unit unit, ts_dec *value);
/* True where the value lies within the field's limits; else a fault. */
bool ts_reading_in_range(const ts_reading *r, ts_dec value);

/* Faults that more than one kind has; those of type bool answer false. */
void ts_reading_unclear(const ts_reading *r, const ts_place *place);
bool ts_reading_unit_fault(const ts_reading *r, ts_unit known);
bool ts_reading_too_large(const ts_reading *r);

#endif
