/* The tables of parts and measures, for the room itself. */
#ifndef TS_DESIGN_TABLES_PRIVATE_H
#define TS_DESIGN_TABLES_PRIVATE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/design/design.h>

/* A kind by its word (folded); TS_PART_NONE where unknown. */
ts_part_kind ts_part_find(const char *word);
/* True where there can be several of a kind, told apart by name. */
bool ts_part_many(ts_part_kind kind);
/* True for a kind that is metal by itself: shank, head, bezel, halo, metal. */
bool ts_part_is_metal(ts_part_kind kind);
/* The words of all kinds by kind; [0] is NULL. Borrowed. */
const char *const *ts_part_words(size_t *count);

ts_part_kind ts_field_part(ts_field_id field);
const ts_field *ts_field_of(ts_field_id field);
/* Position of a measure of a kind by its folded word; -1 where it has none such. */
int ts_field_find(ts_part_kind kind, const char *word);
/* `label`, which every part takes. */
const ts_field *ts_label_field(void);
/* "a length in mm or in is expected, from 0.3 to 30 mm", for a missing measure. */
const char *ts_field_expects(ts_arena *arena, const ts_field *field);

/* Folded text with `prong` and `prongs` read as `claw` and `claws`; the text itself where
 * neither stands in it. */
const char *ts_claw_words(ts_arena *arena, const char *folded);

/* The parts of a design by kind. */
ts_part *ts_design_at(const ts_design *design, ts_part_kind kind, int index);
int ts_design_count(const ts_design *design, ts_part_kind kind);
/* Makes room for `count` parts of a kind, all zero. */
void ts_design_reserve(ts_design *design, ts_arena *arena, ts_part_kind kind, int count);

#endif
