/* A design while it is built: what its stages share. */
#ifndef TS_DESIGN_BUILD_PRIVATE_H
#define TS_DESIGN_BUILD_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/design/design.h>

#include "design/sheet.h"

typedef struct ts_build {
    ts_design *design;
    const ts_sheet *sheet;
    const ts_book *book; /* NULL: open words are not looked up */
    ts_arena *arena;
    ts_diag *diag;
    int option;
} ts_build;

/* The rows of a part in this option: the option's, where it has one, over the sheet's. */
typedef struct ts_overlay {
    const ts_part_rows *own;  /* NULL: the option's own part */
    const ts_part_rows *over; /* NULL: nothing replaced */
} ts_overlay;

/* "head centre", safe and short enough for a fault. */
const char *ts_build_title(const ts_build *b, const ts_part *part);
/* True where nothing wrong is known of the measure, given or not. */
bool ts_build_sound(const ts_part *part, ts_field_id field);
/* True where the sheet gives the measure and it could be read. */
bool ts_build_has(const ts_part *part, ts_field_id field);
/* Nothing more is said of this measure. */
void ts_build_spoil(ts_part *part, ts_field_id field);

/* A fault at a measure's value. */
void ts_build_fault(const ts_build *b, ts_fault code, const ts_part *part, ts_field_id field,
                    const char *format, ...) TS_PRINTF(5, 6);
/* A measure that this part needs is not given, and no row for it was at fault:
 * MEASURE_MISSING, with `why` ("", or "; why it is needed"). */
void ts_build_missing(const ts_build *b, const ts_part *part, ts_field_id field, const char *why);
/* Of two measures that disagree the one whose row is to be shown: the option's, where one
 * is, else the later in the sheet. */
ts_field_id ts_build_later(const ts_part *part, ts_field_id one, ts_field_id other);
/* The row by which this option leaves a part out; NULL where it does not. */
const ts_sheet_row *ts_build_dropped(const ts_build *b, ts_part_kind kind, const char *name);

/* Reads a row's value into `object` by its field; false where a fault was said. */
bool ts_build_read(const ts_build *b, void *object, const ts_field *field, const ts_sheet_row *row,
                   const char *subject);
/* station.c: the shank's stations. */
void ts_build_stations(const ts_build *b, ts_shank *shank, const ts_overlay *rows);
/* bind.c: names of parts to parts. */
void ts_bind_parts(ts_build *b);
/* openword.c: names in the books, size steps. */
void ts_bind_words(ts_build *b);
/* Of that the steps alone: which sizes a lot has, and whether the stones' are among them. */
void ts_bind_steps(ts_build *b);
/* judgestone.c, judgesetting.c and judgepiece.c: rules across measures of stones; of heads,
 * bezels, halos and rows; of all the rest. */
void ts_judge_stones(ts_build *b);
void ts_judge_settings(ts_build *b);
void ts_judge_piece(ts_build *b);

/* The shank's wall against its thickness. */
void ts_judge_shank(const ts_build *b, const ts_shank *shank);
/* Two measures of which a part takes exactly one. */
void ts_judge_one_of(const ts_build *b, const ts_part *part, ts_field_id one, ts_field_id other);

/* An amount of money without a currency is in the commission's. */
void ts_amount_settle(const ts_build *b, ts_amount *amount);
/* An amount whose unit its measure does not take; `expected` names those that it does. */
void ts_amount_refuse(const ts_build *b, const ts_part *part, ts_field_id field,
                      const ts_amount *amount, const char *expected);

#endif
