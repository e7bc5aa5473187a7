/* Ring sizes and the inside diameter they mean.
 *
 * Every system is one straight line, in the inside diameter d or the inside
 * circumference C = pi d:
 *   US             d = 0.458 in + 0.032 in a number
 *   UK             C = 37.50 mm + 1.25 mm a letter, counted from A = 0; a half letter is
 *                  0.5, Z is 25, Z+1 is 26 (BS 6820:1987; beyond Z by continuation)
 *   EU             C = the number in mm (ISO 8653)
 *   CH             C = the number + 40 mm
 *   JP             d = (38 + number) / 3 mm (the customary numbers)
 *   DIAMETER       d, CIRCUMFERENCE C: the number itself in mm */
#ifndef TS_GEOMETRY_RINGSIZE_H
#define TS_GEOMETRY_RINGSIZE_H

#include <tallystone/words/words.h>

/* Inside diameter in mm of a size. Nothing is refused here (ranges are judged where a
 * sheet is read); TS_SIZE_NONE gives 0.
 *   source  tests/reference/ringsizes.csv */
double ts_ring_bore_mm(ts_size_system system, double number);
/* The inverse: the size of a system, with its fraction, for an inside diameter. */
double ts_ring_number(ts_size_system system, double bore_mm);

#endif
