/* Variants: a sheet with some measurements replaced, over and over.
 *
 * A table names in its header what it replaces, PART/MEASURE, or PART for one that is left
 * out; each row gives values. A row's design is what a sheet written by hand with the same
 * values would give. */
#ifndef TS_DESIGN_VARIANT_H
#define TS_DESIGN_VARIANT_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/csvin.h>
#include <tallystone/base/diag.h>
#include <tallystone/design/design.h>

/* A header bound to a sheet; read only. */
typedef struct ts_variant_columns ts_variant_columns;
/* What one worker needs to build row after row. */
typedef struct ts_variant ts_variant;

/* Binds the header's cells. Every one that names nothing is a fault with the nearest; so is
 * a column that stands twice, `variant` missing, and a part that the sheet has not and that
 * the columns do not give whole. `sheet` and `header` are borrowed. */
ts_status ts_variant_columns_of(const ts_variant_columns **out, ts_arena *arena,
                                const ts_sheet *sheet, const ts_csv *header,
                                ts_diag *diag) TS_MUST_USE;
/* Position of the cell that names a variant, and the number of cells a row may have. */
size_t ts_variant_name_cell(const ts_variant_columns *columns);
size_t ts_variant_cells(const ts_variant_columns *columns);

ts_variant *ts_variant_new(ts_arena *arena, const ts_variant_columns *columns);
/* From now on designs are kept and made again with other values: the same designs, much
 * sooner. Bounded memory, part of it in an arena of its own that ts_variant_free gives back
 * (which takes NULL, and one that remembers nothing). `no_memory` as of ts_arena_new. */
void ts_variant_remember(ts_variant *variant, ts_arena *arena, ts_no_memory_fn *no_memory,
                         void *ctx);
void ts_variant_free(ts_variant *variant);

/* The design of one row, in the arena `scratch`; it is good until the next row is built.
 * `cells` are as many as the header has and live as long as the design. Faults as of
 * ts_design_of, without places. */
ts_status ts_variant_design(ts_design **out, ts_variant *variant, ts_arena *scratch,
                            const char *const *cells, const ts_book *book, ts_date as_of,
                            ts_diag *diag) TS_MUST_USE;

/* Rows that differ from an earlier one in the band alone: in the ring's size, and the shank's
 * widths, thicknesses and wall. */

/* True for a design of which a band can be bent: one ring, one shank, no rows along it. */
bool ts_variant_is_bendable(const ts_design *design);
/* What must be the same for that: every other cell, and which cells are filled. Into `out`;
 * answers its length, 0 where `room` is not enough. */
size_t ts_variant_steady(char *out, size_t room, const ts_variant *variant,
                         const char *const *cells);
/* Puts the row's band into a design that ts_variant_design made of a row with the same steady
 * cells. False where anything is to be said of it, or rows of melee lie on the band: then the
 * whole design is to be built. `diag` takes what is said; the design is spoiled by it only
 * until the next row is put in. */
bool ts_variant_reband(ts_design *design, ts_variant *variant, ts_arena *scratch,
                       const char *const *cells, ts_diag *diag) TS_MUST_USE;

#endif
