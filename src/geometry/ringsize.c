#include "geometry/ringsize.h"

#include <assert.h>
#include <stdbool.h>

/* Sizes as lines, so that both directions come from one table.
 *
 * Where sources differ the exact-inch line is taken for US sizes, the one most charts
 * tabulate: 0.458 in at size 0, 0.032 in a number (a published table for 3 to 13 1/2).
 * Charts that start UK letters at 37.8 mm and a formula that counts US sizes from 3 at
 * 11.63 mm are in circulation and wrong. */

#define PI 3.14159265358979323846
#define INCH_MM 25.4

typedef struct size_line {
    double at_zero_mm;
    double step_mm;
    bool is_circumference;
} size_line;

static const size_line lines[TS_SIZE_COUNT] = {
    /* a published table for 3 to 13 1/2, exact in inches */
    [TS_SIZE_US] = {0.458 * INCH_MM, 0.032 * INCH_MM, false},
    /* BS 6820:1987 */
    [TS_SIZE_UK] = {37.5, 1.25, true},
    /* ISO 8653:2016 */
    [TS_SIZE_EU] = {0.0, 1.0, true},
    /* customary in Switzerland, Italy and Spain: the circumference less 40 */
    [TS_SIZE_CH] = {40.0, 1.0, true},
    /* customary in Japan: 1 is 13 mm, a third of a millimetre a number */
    [TS_SIZE_JP] = {38.0 / 3.0, 1.0 / 3.0, false},
    [TS_SIZE_DIAMETER] = {0.0, 1.0, false},
    [TS_SIZE_CIRCUMFERENCE] = {0.0, 1.0, true},
};

static const size_line *line_of(ts_size_system system)
{
    assert((int)system >= 0 && system < TS_SIZE_COUNT);
    return &lines[system];
}

double ts_ring_bore_mm(ts_size_system system, double number)
{
    const size_line *line = line_of(system);
    double length_mm = line->at_zero_mm + line->step_mm * number;

    return line->is_circumference ? length_mm / PI : length_mm;
}

double ts_ring_number(ts_size_system system, double bore_mm)
{
    const size_line *line = line_of(system);

    if (system == TS_SIZE_NONE) {
        return 0.0;
    }
    double length_mm = line->is_circumference ? bore_mm * PI : bore_mm;
    return (length_mm - line->at_zero_mm) / line->step_mm;
}
