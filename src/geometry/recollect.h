/* What the measuring of a design asks of a memory. */
#ifndef TS_GEOMETRY_RECOLLECT_PRIVATE_H
#define TS_GEOMETRY_RECOLLECT_PRIVATE_H

#include <tallystone/geometry/memory.h>

#include "geometry/measuring.h"

/* Puts what is known of all stones, heads, bezels and halos into m->out, or answers false;
 * then ts_memory_keep_setting keeps what was measured, if it had no fault. */
bool ts_memory_setting(ts_geometry_memory *memory, ts_measuring *m);
void ts_memory_keep_setting(ts_geometry_memory *memory, const ts_measuring *m);
/* The same of a band with rows, m->out->bore_mm being known. */
bool ts_memory_band(ts_geometry_memory *memory, ts_measuring *m);
void ts_memory_keep_band(ts_geometry_memory *memory, const ts_measuring *m);
/* Forgets what was just kept: it turned out not to be finite. NULL is no memory. */
void ts_memory_drop(ts_geometry_memory *memory);

#endif
