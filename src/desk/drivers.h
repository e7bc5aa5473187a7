/* What the margin hangs on: every rate and every measurement, a tenth either way. */
#ifndef TS_DESK_DRIVERS_H
#define TS_DESK_DRIVERS_H

#include "desk/commission.h"

#include <tallystone/costing/insight.h>

/* Rates through the figures' trees, measurements through geometry and costing anew; sorted
 * by how far the margin goes. `option` must have been costed. Into the arena. */
size_t ts_drivers_of(ts_driver **out, ts_arena *arena, const ts_option *option,
                     const ts_book *book);

#endif
