/* Which quotes a changed book touches. */
#ifndef TS_REGISTER_TOUCH_H
#define TS_REGISTER_TOUCH_H

#include <tallystone/register/reprice.h>

#include "register/footing.h"

/* Marks the options of `all` (ascending by quote and option) that a changed, gone or new row
 * touches. `books` becomes the digest of today's rows. */
void ts_touch_changed(ts_repricing *all, ts_register *reg, const ts_footing *today);
/* Marks those that rest on a row that is stale or implausible today as faults. */
void ts_touch_doubtful(ts_repricing *all, ts_arena *keep, ts_register *reg, const ts_book *book,
                       const ts_footing *today, ts_date on);

#endif
