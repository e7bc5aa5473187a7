/* Sizes of 128-bit numbers, and the one place where a quotient is rounded: shared by the
 * files of exact arithmetic (decimal.c, ratio.c). */
#ifndef TS_SRC_BASE_WIDE_H
#define TS_SRC_BASE_WIDE_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/decimal.h>

__extension__ typedef unsigned __int128 ts_u128;

/* |value|, also of the least 128-bit number. */
ts_u128 ts_wide_size(ts_i128 value);

/* Rounds ±(whole + rest/den), rest < den, to an integer; false where it leaves 64 bits. */
bool ts_wide_round(int64_t *out, bool negative, ts_u128 whole, ts_u128 rest, ts_u128 den,
                   ts_rounding mode) TS_MUST_USE;

#endif
