/* A list of moves narrowed to what hangs on the metals' weights. */
#ifndef TS_COSTING_NARROW_H
#define TS_COSTING_NARROW_H

#include <stddef.h>

#include "costing/replay.h"

/* Bytes that a narrowed list takes at most. */
size_t ts_moves_narrow_bytes(const ts_moves *of);
/* Right after `of` was run well: the moves that come to another number where no amounts but
 * those of metals have changed since, in `room` of as many bytes (aligned for any type); the
 * numbers are its own. Borrows the wide constants of `of`. */
void ts_moves_narrow(ts_moves *out, void *room, const ts_moves *of);

#endif
