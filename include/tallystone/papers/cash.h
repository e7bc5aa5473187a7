/* What must be bought before each payment stage against what has been paid, in words. */
#ifndef TS_PAPERS_CASH_H
#define TS_PAPERS_CASH_H

#include <tallystone/base/arena.h>
#include <tallystone/costing/costing.h>

/* A whole sentence, into the arena: stage by stage, and what the studio lays out at most. */
const char *ts_cash_words(ts_arena *arena, const ts_costing *costing);

#endif
