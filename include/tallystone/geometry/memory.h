/* Geometry that repeats: measured once, remembered exactly.
 *
 * In a table of variants most rows have a head, halos or a band that an earlier row had. What
 * a part measures is found again by all that it depends on, bit by bit; so what is remembered
 * and what is worked out are the same doubles. */
#ifndef TS_GEOMETRY_MEMORY_H
#define TS_GEOMETRY_MEMORY_H

#include <stdint.h>

#include <tallystone/geometry/geometry.h>

/* Of one worker: not to be shared between threads. */
typedef struct ts_geometry_memory ts_geometry_memory;

/* About 1.5 MiB in the arena, of which only what is used is touched. */
ts_geometry_memory *ts_geometry_memory_new(ts_arena *arena);

/* ts_geometry_of without places: `spots` and `claw_spots` are not to be looked at. Good until
 * the next call with the same memory. NULL remembers nothing. */
ts_status ts_geometry_figures_of(ts_geometry **out, ts_geometry_memory *memory, ts_arena *arena,
                                 const ts_design *design, ts_diag *diag) TS_MUST_USE;

typedef struct ts_geometry_counts {
    uint64_t settings, settings_known; /* stones with heads, bezels and halos: asked, found */
    uint64_t bands, bands_known;       /* shanks with rows of melee */
} ts_geometry_counts;
ts_geometry_counts ts_geometry_memory_counts(const ts_geometry_memory *memory);

#endif
