/* Quantities of a stream of variants: what one row's labour and melee come to is the next
 * row's too, where all that they depend on is the same. */
#ifndef TS_QUANTITIES_RECURRING_H
#define TS_QUANTITIES_RECURRING_H

#include <tallystone/base/slots.h>
#include <tallystone/quantities/quantities.h>

/* Of one worker and one set of books: not to be shared between threads. */
typedef struct ts_recurring ts_recurring;

/* About 0.5 MiB in the arena; `book` is borrowed. */
ts_recurring *ts_recurring_new(ts_arena *arena, const ts_book *book);

/* ts_quantities_bare_of, good until the next call with the same memory. */
ts_status ts_recurring_quantities_of(ts_quantities **out, ts_recurring *recurring, ts_arena *arena,
                                     const ts_design *design, const ts_geometry *geometry,
                                     ts_diag *diag) TS_MUST_USE;

ts_slots_counts ts_recurring_counts(const ts_recurring *recurring);

#endif
