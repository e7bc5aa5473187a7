/* Quantities as text records, one a need, and back. */
#ifndef TS_REGISTER_NEEDS_H
#define TS_REGISTER_NEEDS_H

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/quantities/quantities.h>

typedef enum ts_need_kind {
    TS_NEED_KIND_TERMS,
    TS_NEED_KIND_METAL,
    TS_NEED_KIND_BOUGHT,
    TS_NEED_KIND_MELEE,
    TS_NEED_KIND_STONE,
    TS_NEED_KIND_WORK,
    TS_NEED_KIND_SERVICE,
    TS_NEED_KIND_TRADE_IN,
    TS_NEED_KIND_COUNT
} ts_need_kind;

const char *ts_need_kind_word(ts_need_kind kind);
/* How many of a kind there are; the terms are one. */
int ts_needs_count(const ts_quantities *needs, ts_need_kind kind);
/* The record of the need `no` of a kind: fields parted by tabs, tabs, line breaks and
 * backslashes inside them escaped, NULL as \N. Into the arena. */
const char *ts_need_record(ts_arena *arena, const ts_quantities *needs, ts_need_kind kind, int no);

/* Takes records in, kind by kind and in order of their numbers. False where a record cannot
 * be read (the register is damaged). The record's memory becomes that of the needs' texts. */
bool ts_needs_take(ts_quantities *needs, ts_arena *arena, const char *kind, int64_t no,
                   char *record);
/* Finds the book rows that the needs point to, in force on `on`, which becomes their pricing
 * date. BOOK_GAP faults where the books hold them no more. TS_FAULTY where any was added. */
ts_status ts_needs_bind(ts_quantities *needs, ts_arena *arena, const ts_book *book, ts_date on,
                        ts_diag *diag) TS_MUST_USE;

#endif
