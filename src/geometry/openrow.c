#include "geometry/rows.h"

#include <math.h>

/* Open rows along the shank, seen from the ring's axis.
 *
 * Stones of one size are told by closed forms. In a graduated row each pair of neighbours has
 * its own angle; the angle of the whole grows with the room between stones, so the room that
 * fills a given angle is one root of one growing function. */

#define PI 3.14159265358979323846
#define FLOOR_SLACK 1e-9
#define HALVINGS_MOST 100
#define MM_MOST 1e6

static double diameter_of(const ts_open_ask *ask, int i)
{
    return ask->diameters_mm[i < ask->diameters ? i : ask->diameters - 1];
}

static double radius_of(const ts_open_ask *ask, int i)
{
    return ask->face_mm - ask->sunk * diameter_of(ask, i);
}

/* Half the angle that a stone takes up. */
static double half_rad(const ts_open_ask *ask, int i)
{
    return asin(diameter_of(ask, i) / (2.0 * radius_of(ask, i)));
}

/* Angle between the centres of two stones with this room between them; not finite where they
 * can't be so far apart on their circles. */
static double between_rad(const ts_open_ask *ask, int i, int j, double spacing_mm)
{
    double one_mm = radius_of(ask, i), other_mm = radius_of(ask, j);
    double apart_mm = 0.5 * (diameter_of(ask, i) + diameter_of(ask, j)) + spacing_mm;
    double steps_mm = one_mm - other_mm;
    double square = (apart_mm - steps_mm) * (apart_mm + steps_mm) / (4.0 * one_mm * other_mm);

    if (square > 1.0) {
        return square <= 1.0 + FLOOR_SLACK ? PI : HUGE_VAL;
    }
    return 2.0 * asin(sqrt(fmax(0.0, square)));
}

/* Angle from the first centre to the last one; round to the first again in a full turn. */
static double centres_rad(const ts_open_ask *ask, int count, double spacing_mm, bool is_closed)
{
    int gaps = is_closed ? count : count - 1;

    if (ask->diameters == 1) {
        return gaps > 0 ? gaps * between_rad(ask, 0, 0, spacing_mm) : 0.0;
    }
    double sum_rad = 0.0;
    for (int i = 0; i < gaps; i++) {
        sum_rad += between_rad(ask, i, (i + 1) % count, spacing_mm);
    }
    return sum_rad;
}

static double ends_rad(const ts_open_ask *ask, int count, bool is_closed)
{
    return is_closed ? 0.0 : half_rad(ask, 0) + half_rad(ask, count - 1);
}

static bool is_fair(const ts_open_ask *ask)
{
    if (!(fabs(ask->from_rad) <= 100.0 && ask->face_mm > 0.0 && ask->face_mm <= MM_MOST &&
          ask->sunk >= 0.0 && ask->sunk <= 1.0 && ask->spacing_mm >= 0.0 &&
          ask->spacing_mm <= MM_MOST && ask->diameters >= 1 &&
          ask->diameters <= TS_ROW_STONES_MOST)) {
        return false;
    }
    for (int i = 0; i < ask->diameters; i++) {
        if (!(ask->diameters_mm[i] > 0.0 && ask->diameters_mm[i] <= 2.0 * radius_of(ask, i))) {
            return false;
        }
    }
    return true;
}

static bool refuse(ts_open_row *row, ts_row_fault fault)
{
    *row = (ts_open_row){.fault = fault};
    return false;
}

/* The most stones within an angle; one more than the limit for all beyond it. Two to close. */
static int count_within(const ts_open_ask *ask, double span_rad, bool is_closed)
{
    int count = 0;

    if (ask->diameters == 1) {
        double step_rad = between_rad(ask, 0, 0, ask->spacing_mm);
        double rest = (span_rad - ends_rad(ask, 1, is_closed)) / step_rad + FLOOR_SLACK;
        double most = floor(rest) + (is_closed ? 0.0 : 1.0);
        return most > TS_ROW_STONES_MOST ? TS_ROW_STONES_MOST + 1 : (most > 0.0 ? (int)most : 0);
    }
    double centres = 0.0; /* from the first centre to that of stone `count` */
    while (count <= TS_ROW_STONES_MOST) {
        double tail_rad = is_closed ? between_rad(ask, count, 0, ask->spacing_mm)
                                    : ends_rad(ask, count + 1, false);
        double step_rad = between_rad(ask, count, count + 1, ask->spacing_mm);
        bool has_next = isfinite(step_rad); /* the next one can be so far off at all */
        if (!(centres + tail_rad <= span_rad + (has_next ? FLOOR_SLACK * step_rad : 0.0))) {
            break;
        }
        count++;
        if (!has_next) {
            break;
        }
        centres += step_rad;
    }
    return is_closed && count < 2 ? 0 : count;
}

/* The room between neighbours that fills the angle with this many stones, at least as asked. */
static double spread_spacing(const ts_open_ask *ask, int count, double span_rad, bool is_closed)
{
    double rest_rad = span_rad - ends_rad(ask, count, is_closed);
    double low = ask->spacing_mm, high = low;

    if (ask->diameters == 1) {
        double step_rad = rest_rad / (is_closed ? count : count - 1);
        return 2.0 * radius_of(ask, 0) * sin(fmin(0.5 * step_rad, 0.5 * PI)) - diameter_of(ask, 0);
    }
    high += 2.0 * ask->face_mm;
    for (int i = 0; i < HALVINGS_MOST && low < high; i++) {
        double middle = 0.5 * (low + high);
        if (middle <= low || middle >= high) {
            break;
        }
        if (centres_rad(ask, count, middle, is_closed) <= rest_rad) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

bool ts_open_row_of(ts_open_row *row, const ts_open_ask *ask)
{
    double span_rad = ask->to_rad - ask->from_rad;

    if (!is_fair(ask) || !(span_rad > 0.0 && span_rad <= 2.0 * PI + FLOOR_SLACK)) {
        return refuse(row, TS_ROW_FAULT_ASK);
    }
    bool is_closed = span_rad >= 2.0 * PI - FLOOR_SLACK;
    int count = count_within(ask, span_rad, is_closed);
    if (count < 1) {
        return refuse(row, TS_ROW_FAULT_FEW);
    }
    if (count > TS_ROW_STONES_MOST) {
        return refuse(row, TS_ROW_FAULT_MANY);
    }
    *row = (ts_open_row){.count = count,
                         .spacing_mm = ask->spacing_mm,
                         .from_rad = ask->from_rad,
                         .to_rad = ask->to_rad,
                         .is_closed = is_closed};
    if (count > 1) {
        row->spacing_mm = spread_spacing(ask, count, span_rad, is_closed);
    }
    return true;
}

bool ts_open_row_counted(ts_open_row *row, const ts_open_ask *ask, int count)
{
    if (!is_fair(ask)) {
        return refuse(row, TS_ROW_FAULT_ASK);
    }
    if (count < 1 || count > TS_ROW_STONES_MOST) {
        return refuse(row, count < 1 ? TS_ROW_FAULT_FEW : TS_ROW_FAULT_MANY);
    }
    double takes_rad =
        centres_rad(ask, count, ask->spacing_mm, false) + ends_rad(ask, count, false);
    if (!(takes_rad <= 2.0 * PI)) {
        return refuse(row, TS_ROW_FAULT_FEW);
    }
    *row = (ts_open_row){.count = count,
                         .spacing_mm = ask->spacing_mm,
                         .from_rad = ask->from_rad,
                         .to_rad = ask->from_rad + takes_rad};
    return true;
}

int ts_open_row_place(ts_open_stone *stones, int room, const ts_open_ask *ask,
                      const ts_open_row *row)
{
    if (row->count < 1 || !is_fair(ask)) {
        return 0;
    }
    int written = row->count < room ? row->count : room;
    double angle_rad = row->from_rad + (row->is_closed ? 0.0 : half_rad(ask, 0));
    if (row->count == 1 && !row->is_closed) {
        angle_rad = 0.5 * (row->from_rad + row->to_rad);
    }
    for (int i = 0; i < written; i++) {
        stones[i] = (ts_open_stone){angle_rad, radius_of(ask, i), diameter_of(ask, i)};
        angle_rad += between_rad(ask, i, i + 1, row->spacing_mm);
    }
    return written;
}
