/* The best of a catalogue's variants as a workbook, for the owner. */
#ifndef TS_PAPERS_BEST_H
#define TS_PAPERS_BEST_H

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/diag.h>
#include <tallystone/papers/table.h>

/* Writes a table of TS_TABLE_VARIANTS to `path` (a staged file), one sheet, Best. `title`
 * says whose and by what; `day` stands in for the clock. Holds costs: for the studio alone.
 * TS_IO with a sentence where the library cannot write. */
ts_status ts_best_write(const char *path, ts_arena *arena, const ts_table *table, const char *title,
                        ts_date day, ts_diag *diag) TS_MUST_USE;

#endif
