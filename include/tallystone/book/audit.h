/* The whole books, judged for what is odd though it can be used: `check` says it. */
#ifndef TS_BOOK_AUDIT_H
#define TS_BOOK_AUDIT_H

#include <tallystone/book/book.h>

/* Adds warnings on the books as they stand on a day, into `diag`; scratch in `arena`:
 *   BOOK_STALE  a price of a metal, a rate or a lot that is older than the policy lets it be
 *   BOOK_JUMP   a metal's price in force that moved further than plausible from the one before
 *   BOOK_ODD    what stops a price that is not asked for yet: names without a pricing rule,
 *               operations, metals, crafts, regions, currencies without a row in force, labour rows
 *               that fit equally well, a policy without stages, validity or spares
 *               what can never apply: names that nothing answers to, rows that others hide or
 *               nothing calls for, gaps between steps of size
 *               what is hardly meant: a weight each far (20 %) from 0.0036905 d3 (scaled by
 *               specific gravity), a density far (10 %) from the rule of mixtures, prices far
 *               from the row or step before, values out of the common, more kept than was paid,
 *               marks above the fineness, lots of several stones, whole tiers under which a
 *               price falls as a cost grows
 * Adds no error. Sources: facts of metals and melee stand beside the tables in the .c. */
void ts_book_audit(const ts_book *book, ts_date on, ts_arena *arena, ts_diag *diag);

/* The same for one metal's price in force alone: what a price that rests on it warns of. */
void ts_book_audit_metal(const ts_book *book, ts_metal_kind metal, ts_date on, ts_arena *arena,
                         ts_diag *diag);

#endif
