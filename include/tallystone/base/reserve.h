/* Memory set aside for a library that does not ask whether it got any. */
#ifndef TS_BASE_RESERVE_H
#define TS_BASE_RESERVE_H

#include <tallystone/base/arena.h>

/* Makes sure that the next 32 MiB are there, and that what is freed stays at hand: some of the
 * libraries that make papers use what malloc answers without a look at it. Ends as running out
 * of memory does where they are not. Cheap where they were made sure of before. */
void ts_reserve(const ts_arena *arena);

#endif
