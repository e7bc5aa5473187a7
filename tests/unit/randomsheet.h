/* Design sheets drawn at random for property tests: within the ranges of fields.def, usual
 * values more often than odd ones, no rule across measures broken. */
#ifndef TS_TESTS_RANDOMSHEET_H
#define TS_TESTS_RANDOMSHEET_H

#include <stdint.h>

#include <tallystone/base/arena.h>

/* The text of a sheet for the books that ship; the same seed gives the same sheet. */
const char *random_sheet(ts_arena *arena, uint64_t seed);

#endif
