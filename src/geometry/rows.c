#include "geometry/rows.h"

#include <math.h>

#include "geometry/walk.h"

/* Closed rows.
 *
 * A row that is symmetric about the axis is known by its left half: so many whole chords from
 * the axis (or from half a chord beside it) to the axis (or to half a chord beside it). With
 * the places measured along the half, the run left over grows with the chord, so the chord
 * that closes is one root of one growing function, found by secants inside a bracket. The
 * count needs no search at all: it is read off one walk at the least chord. */

#define PI 3.14159265358979323846
#define FLOOR_SLACK 1e-9 /* of a chord, or of a count on a circle */
#define SECANTS_MOST 80
#define COUNTS_TRIED 16
#define HALF_STONES (TS_ROW_STONES_MOST / 2 + 2)
#define MM_MOST 1e6

typedef struct loop {
    ts_outline curve;
    ts_walk walk;
    bool is_circle;
    double radius_mm;
    bool has_claw; /* at the start */
} loop;

static bool refuse(ts_closed_row *row, ts_row_fault fault)
{
    row->count = 0;
    row->chord_mm = 0.0;
    row->spacing_mm = 0.0;
    row->fault = fault;
    return false;
}

static bool is_fair(const ts_closed_ask *ask)
{
    return ask->diameter_mm > 0.0 && ask->diameter_mm <= MM_MOST && ask->spacing_mm >= 0.0 &&
           ask->spacing_mm <= MM_MOST && ask->multiple >= 0 &&
           (ask->start == TS_POINT_NONE || ask->start == TS_POINT_STONE ||
            ask->start == TS_POINT_CLAW);
}

static bool loop_of(loop *l, ts_closed_row *row, const ts_outline *outline,
                    const ts_closed_ask *ask)
{
    *row = (ts_closed_row){.count = 0};
    if (!is_fair(ask)) {
        return refuse(row, TS_ROW_FAULT_ASK);
    }
    if (!ts_outline_parallel(&l->curve, outline, ask->offset_mm)) {
        row->curve_fault = l->curve.fault;
        return refuse(row, TS_ROW_FAULT_CURVE);
    }
    l->is_circle = ts_outline_is_circle(&l->curve, &l->radius_mm);
    l->has_claw = ask->start == TS_POINT_CLAW;
    ts_walk_of(&l->walk, &l->curve);
    row->curve_mm = 2.0 * l->walk.whole_mm;
    return true;
}

/* How a count divides: whole chords down the left half, and whether a gap lies on the axis at
 * the foot. */
static int chords_of(const loop *l, int count, bool *has_gap_below)
{
    *has_gap_below = (count % 2 == 0) == l->has_claw;
    return (l->has_claw && count % 2 == 0) ? count / 2 - 1 : count / 2;
}

static ts_stride begin(const loop *l, double chord_mm)
{
    return l->has_claw ? ts_walk_beside_top(&l->walk, chord_mm / 2.0) : ts_walk_start(&l->walk);
}

/* Run at which the last stone of the left half must stand. */
static double goal_mm(const loop *l, double chord_mm, bool has_gap_below)
{
    if (!has_gap_below) {
        return l->walk.whole_mm;
    }
    ts_stride last = ts_walk_beside_bottom(&l->walk, chord_mm / 2.0);
    return ts_walk_run_mm(&l->walk, &last) - last.past_mm;
}

/* How far the last stone of the left half stands past its goal; grows with the chord. */
static double excess_mm(const loop *l, int count, double chord_mm)
{
    bool has_gap_below;
    int chords = chords_of(l, count, &has_gap_below);
    ts_stride at = begin(l, chord_mm);
    double past_mm = at.past_mm;
    int taken = ts_walk_go(&l->walk, &at, chord_mm, chords, NULL);
    double run_mm = ts_walk_run_mm(&l->walk, &at);

    if (taken < chords) {
        run_mm = l->walk.whole_mm + (chords - taken - 1) * chord_mm;
    }
    past_mm += chords > 0 ? at.past_mm : 0.0;
    return run_mm + past_mm - goal_mm(l, chord_mm, has_gap_below);
}

/* The chord at which the curve closes with this many stones, or at which the excess leaps
 * over zero: judge() tells the two apart by the stones themselves. */
static double closing_chord(const loop *l, int count)
{
    double whole_mm = l->walk.whole_mm;
    double chord_mm = 2.0 * whole_mm / count;
    ts_xy top = l->walk.pieces[0].from, foot = l->walk.pieces[l->walk.count - 1].to;

    if (count == 2 && !l->has_claw) {
        return top.y_mm - foot.y_mm; /* nothing to walk between two stones on the axis */
    }
    double excess = excess_mm(l, count, chord_mm);
    double slope = 0.5 * count;
    double low = 0.0, high = HUGE_VAL;

    for (int i = 0; i < SECANTS_MOST && fabs(excess) > 1e-14 * whole_mm; i++) {
        if (excess < 0.0) {
            low = chord_mm;
        } else {
            high = chord_mm;
        }
        double next = chord_mm - excess / slope;
        if (!(next > low && next < high) || (i > 8 && i % 2 == 0)) {
            next = isfinite(high) ? 0.5 * (low + high) : 2.0 * chord_mm;
        }
        if (next == chord_mm) {
            break;
        }
        double next_excess = excess_mm(l, count, next);
        double steep = (next_excess - excess) / (next - chord_mm);
        slope = steep > 0.0 && isfinite(steep) ? steep : 0.5 * count;
        chord_mm = next;
        excess = next_excess;
    }
    return chord_mm;
}

/* The left half's stones, top to bottom; returns how many. The first is on the axis unless a
 * claw is, the last unless a gap is. */
static int half_of(const loop *l, int count, double chord_mm, ts_xy half[HALF_STONES])
{
    bool has_gap_below;
    int chords = chords_of(l, count, &has_gap_below);
    ts_stride at = begin(l, chord_mm);

    half[0] = at.point;
    int taken = ts_walk_go(&l->walk, &at, chord_mm, chords, half + 1);
    if (!l->has_claw) {
        half[0].x_mm = 0.0;
    }
    if (!has_gap_below && taken >= chords - 1) {
        /* the foot itself; judge() sees whether the walk came there */
        taken = chords;
        half[taken] = (ts_xy){0.0, l->curve.pieces[l->walk.count - 1].to.y_mm};
    }
    return taken + 1;
}

/* NONE where the half with its mirror image is a row: neighbours a chord apart, nobody nearer
 * than a diameter. */
static ts_row_fault judge(const loop *l, int count, double chord_mm, double diameter_mm)
{
    ts_xy half[HALF_STONES];
    bool has_gap_below;
    int stones = half_of(l, count, chord_mm, half);
    double least_mm2 = diameter_mm * diameter_mm * (1.0 - 2e-9);
    double slack_mm = 1e-9 * chord_mm;

    if (stones != chords_of(l, count, &has_gap_below) + 1 ||
        (l->has_claw && fabs(2.0 * half[0].x_mm + chord_mm) > slack_mm) ||
        (has_gap_below && fabs(2.0 * half[stones - 1].x_mm + chord_mm) > slack_mm)) {
        return TS_ROW_FAULT_UNEVEN;
    }
    for (int i = 0; i < stones; i++) {
        if (i > 0 && fabs(hypot(half[i].x_mm - half[i - 1].x_mm, half[i].y_mm - half[i - 1].y_mm) -
                          chord_mm) > slack_mm) {
            return TS_ROW_FAULT_UNEVEN;
        }
        for (int k = i; k < stones; k++) {
            double x_mm = half[k].x_mm - half[i].x_mm, y_mm = half[k].y_mm - half[i].y_mm;
            double over_mm = half[k].x_mm + half[i].x_mm;
            bool is_self = k == i && half[i].x_mm == 0.0;
            if ((k > i && x_mm * x_mm + y_mm * y_mm < least_mm2) ||
                (!is_self && over_mm * over_mm + y_mm * y_mm < least_mm2)) {
                return TS_ROW_FAULT_OVERLAP;
            }
        }
    }
    return TS_ROW_FAULT_NONE;
}

static bool accept(ts_closed_row *row, int count, double chord_mm, double diameter_mm)
{
    row->count = count;
    row->chord_mm = chord_mm;
    row->spacing_mm = chord_mm - diameter_mm;
    row->fault = TS_ROW_FAULT_NONE;
    return true;
}

/* The most stones by the least chord; more than TS_ROW_STONES_MOST as just that. */
static int count_on_circle(const loop *l, double chord_mm)
{
    double sine = chord_mm / (2.0 * l->radius_mm);

    if (sine > 1.0 + FLOOR_SLACK) {
        return 0;
    }
    double count = floor(PI / asin(fmin(1.0, sine)) + FLOOR_SLACK);
    return count > TS_ROW_STONES_MOST ? TS_ROW_STONES_MOST + 1 : (int)count;
}

static int count_on_curve(const loop *l, double chord_mm)
{
    ts_stride at = begin(l, chord_mm);

    if (at.past_mm > 0.0) {
        return 0;
    }
    int chords = ts_walk_go(&l->walk, &at, chord_mm, HALF_STONES, NULL);
    double over_mm = ts_walk_run_mm(&l->walk, &at) - goal_mm(l, chord_mm, true);
    int gap = over_mm <= FLOOR_SLACK * chord_mm ? 1 : 0;
    int count = 2 * chords + gap + (l->has_claw ? 1 : 0);
    return count > TS_ROW_STONES_MOST ? TS_ROW_STONES_MOST + 1 : count;
}

bool ts_closed_row_of(ts_closed_row *row, const ts_outline *outline, const ts_closed_ask *ask)
{
    loop l;

    if (!loop_of(&l, row, outline, ask)) {
        return false;
    }
    double least_mm = ask->diameter_mm + ask->spacing_mm;
    int multiple = ask->multiple > 1 ? ask->multiple : 1;
    int count = l.is_circle ? count_on_circle(&l, least_mm) : count_on_curve(&l, least_mm);
    if (count > TS_ROW_STONES_MOST) {
        return refuse(row, TS_ROW_FAULT_MANY);
    }
    count -= count % multiple;
    if (count < 2) {
        return refuse(row, TS_ROW_FAULT_FEW);
    }
    if (l.is_circle) {
        return accept(row, count, 2.0 * l.radius_mm * sin(PI / count), ask->diameter_mm);
    }
    ts_row_fault fault = TS_ROW_FAULT_FEW;
    for (int i = 0; i < COUNTS_TRIED && count >= 2; i++, count -= multiple) {
        double chord_mm = closing_chord(&l, count);
        ts_row_fault found = TS_ROW_FAULT_UNEVEN;
        if (chord_mm >= least_mm * (1.0 - 2e-9)) {
            found = judge(&l, count, chord_mm, ask->diameter_mm);
        }
        if (found == TS_ROW_FAULT_NONE) {
            return accept(row, count, chord_mm, ask->diameter_mm);
        }
        fault = i == 0 ? found : fault;
    }
    return refuse(row, fault);
}

bool ts_closed_row_spread(ts_closed_row *row, const ts_outline *outline, const ts_closed_ask *ask,
                          int count)
{
    loop l;
    double chord_mm;

    if (!loop_of(&l, row, outline, ask)) {
        return false;
    }
    if (count < 2 || count > TS_ROW_STONES_MOST) {
        return refuse(row, count < 2 ? TS_ROW_FAULT_FEW : TS_ROW_FAULT_MANY);
    }
    if (l.is_circle) {
        chord_mm = 2.0 * l.radius_mm * sin(PI / count);
        if (chord_mm < ask->diameter_mm * (1.0 - FLOOR_SLACK)) {
            return refuse(row, TS_ROW_FAULT_OVERLAP);
        }
        return accept(row, count, chord_mm, ask->diameter_mm);
    }
    chord_mm = closing_chord(&l, count);
    ts_row_fault fault = judge(&l, count, chord_mm, ask->diameter_mm);
    if (fault != TS_ROW_FAULT_NONE) {
        return refuse(row, fault);
    }
    return accept(row, count, chord_mm, ask->diameter_mm);
}

static void put(ts_row_stone *stones, int room, int i, ts_xy at)
{
    if (i < room) {
        double angle_rad = atan2(0.0 - at.x_mm, at.y_mm);
        angle_rad = angle_rad < 0.0 ? angle_rad + 2.0 * PI : angle_rad;
        /* a hair before a full turn is none */
        stones[i] = (ts_row_stone){at.x_mm, at.y_mm, angle_rad < 2.0 * PI ? angle_rad : 0.0};
    }
}

static void place_on_circle(ts_row_stone *stones, int room, const loop *l, int count)
{
    for (int i = 0; i < count; i++) {
        /* the right half from the left one, so that the row is its own mirror image */
        int twice = 2 * i + (l->has_claw ? 1 : 0);
        int folded = twice > count ? 2 * count - twice : twice;
        double angle_rad = PI * folded / count;
        double x_mm = folded == 0 || folded == count ? 0.0 : l->radius_mm * sin(angle_rad);
        put(stones, room, i, (ts_xy){twice > count ? x_mm : -x_mm, l->radius_mm * cos(angle_rad)});
    }
}

int ts_closed_row_place(ts_row_stone *stones, int room, const ts_outline *outline,
                        const ts_closed_ask *ask, const ts_closed_row *row)
{
    ts_xy half[HALF_STONES];
    ts_closed_row again;
    loop l;

    if (row->count < 2 || row->count > TS_ROW_STONES_MOST || !loop_of(&l, &again, outline, ask)) {
        return 0;
    }
    int written = row->count < room ? row->count : room;
    if (l.is_circle) {
        place_on_circle(stones, room, &l, row->count);
        return written;
    }
    int left = half_of(&l, row->count, row->chord_mm, half);
    int first = l.has_claw ? 0 : 1; /* of those with a mirror image */
    for (int i = 0; i < left; i++) {
        put(stones, room, i, half[i]);
    }
    for (int i = left; i < row->count; i++) {
        ts_xy twin = half[row->count - 1 - i + first];
        put(stones, room, i, (ts_xy){-twin.x_mm, twin.y_mm});
    }
    return written;
}

bool ts_closed_row_fit(ts_closed_row *row, int *chosen, const ts_outline *outline,
                       const ts_closed_ask *asks, int count)
{
    double least_um = HUGE_VAL; /* spacing in 1e-6 mm */

    *chosen = 0;
    *row = (ts_closed_row){.fault = TS_ROW_FAULT_ASK};
    for (int i = 0; i < count; i++) {
        ts_closed_row one;
        if (!ts_closed_row_of(&one, outline, &asks[i])) {
            if (i == 0) {
                *row = one;
            }
            continue;
        }
        double spacing = round(one.spacing_mm * 1e6);
        if (spacing < least_um ||
            (spacing == least_um && asks[i].diameter_mm > asks[*chosen].diameter_mm)) {
            least_um = spacing;
            *row = one;
            *chosen = i;
        }
    }
    return row->fault == TS_ROW_FAULT_NONE;
}
