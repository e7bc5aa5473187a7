#include "geometry/walk.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

/* The steps behind every closed row.
 *
 * On one line or arc equal chords are equal parts, so all that fit on it are counted by one
 * division; from piece to piece the next place is where a circle of the chord's radius leaves
 * the piece, in closed form. A walk therefore costs by pieces and not by stones. Only an oval
 * needs a Newton step for each stone, begun with the stride before it and bracketed. */

#define PI 3.14159265358979323846
#define LAND 1e-9 /* of a chord: nearer to the end than this is on it */
#define NEWTONS_MOST 60
#define SURE 1e-9 /* a Newton step so short lands exactly: the next would be its square */

static double apart_mm(ts_xy a, ts_xy b)
{
    double x_mm = a.x_mm - b.x_mm, y_mm = a.y_mm - b.y_mm;

    return sqrt(x_mm * x_mm + y_mm * y_mm);
}

void ts_walk_of(ts_walk *walk, const ts_outline *outline)
{
    walk->count = outline->count / 2;
    walk->pieces = outline->pieces;
    walk->whole_mm = 0.0;
    assert(walk->count > 0);
    for (int i = 0; i < walk->count; i++) {
        walk->behind_mm[i] = walk->whole_mm;
        walk->length_mm[i] = ts_piece_length_mm(&walk->pieces[i]);
        walk->whole_mm += walk->length_mm[i];
    }
}

ts_stride ts_walk_start(const ts_walk *walk)
{
    return (ts_stride){.piece = 0, .share = 0.0, .point = walk->pieces[0].from, .past_mm = 0.0};
}

double ts_walk_run_mm(const ts_walk *walk, const ts_stride *at)
{
    return walk->behind_mm[at->piece] + at->share * walk->length_mm[at->piece];
}

static ts_stride stride_at(const ts_walk *walk, int piece, double share)
{
    ts_stride at = {.piece = piece, .share = share, .past_mm = 0.0};

    ts_piece_at(&walk->pieces[piece], share, &at.point, NULL);
    return at;
}

/* Keeps the wider of two places, for the case that none is as wide as wished; of a straight
 * side along the axis the far end, so that places past it never fall short of places on it. */
static void take_wider(const ts_walk *walk, ts_stride *widest, int piece, double share)
{
    ts_stride at = stride_at(walk, piece, share);

    if (at.point.x_mm <= widest->point.x_mm + LAND * walk->whole_mm) {
        *widest = at;
    }
}

/* The first place from one end of the half at which x = -beside_mm: `step` is 1 from the top,
 * -1 from the bottom. */
static ts_stride beside(const ts_walk *walk, double beside_mm, int step)
{
    int first = step > 0 ? 0 : walk->count - 1;
    ts_xy on = {-beside_mm, 0.0}, down = {0.0, -1.0};
    ts_stride widest = stride_at(walk, first, step > 0 ? 0.0 : 1.0);

    for (int i = first; i >= 0 && i < walk->count; i += step) {
        double shares[4];
        int count = ts_piece_crossings(&walk->pieces[i], on, down, shares);
        if (count > 0) {
            double best = shares[0];
            for (int k = 1; k < count; k++) {
                best = step > 0 ? fmin(best, shares[k]) : fmax(best, shares[k]);
            }
            return stride_at(walk, i, best);
        }
        take_wider(walk, &widest, i, step > 0 ? 1.0 : 0.0);
        if (walk->pieces[i].kind != TS_PIECE_LINE) {
            /* where its normal points left */
            double share = (PI - walk->pieces[i].start_rad) / walk->pieces[i].sweep_rad;
            if (share > 0.0 && share < 1.0) {
                take_wider(walk, &widest, i, share);
            }
        }
    }
    widest.past_mm = fmax(0.0, beside_mm + widest.point.x_mm);
    return widest;
}

ts_stride ts_walk_beside_top(const ts_walk *walk, double beside_mm)
{
    return beside(walk, beside_mm, 1);
}

ts_stride ts_walk_beside_bottom(const ts_walk *walk, double beside_mm)
{
    return beside(walk, beside_mm, -1);
}

/* Equal steps that stay on the piece underfoot: how much of its share one step takes, 0 where
 * no step can be told so (an ellipse, or a chord wider than the circle). */
static double share_of_step(const ts_piece *piece, double length_mm, double chord_mm)
{
    if (piece->kind == TS_PIECE_LINE) {
        return chord_mm / length_mm;
    }
    double sine = chord_mm / (2.0 * piece->radius_mm);
    if (piece->kind != TS_PIECE_ARC || sine > 1.0) {
        return 0.0;
    }
    return 2.0 * asin(sine) / fabs(piece->sweep_rad);
}

static int step_along(const ts_walk *walk, ts_stride *at, double chord_mm, int most, ts_xy *points)
{
    double step = share_of_step(&walk->pieces[at->piece], walk->length_mm[at->piece], chord_mm);
    double room = step > 0.0 ? floor((1.0 - at->share) / step) : 0.0;
    int steps = room < most ? (int)room : most;
    double from = at->share;

    if (steps < 1) {
        return 0;
    }
    for (int i = 1; points != NULL && i <= steps; i++) {
        ts_piece_at(&walk->pieces[at->piece], from + i * step, &points[i - 1], NULL);
    }
    *at = stride_at(walk, at->piece, from + steps * step);
    return steps;
}

/* Where a circle about a point inside it leaves a line or an arc: the share. */
static double leave_line(const ts_piece *piece, double length_mm, ts_xy point, double chord_mm)
{
    double way_x = (piece->to.x_mm - piece->from.x_mm) / length_mm;
    double way_y = (piece->to.y_mm - piece->from.y_mm) / length_mm;
    double x_mm = piece->from.x_mm - point.x_mm, y_mm = piece->from.y_mm - point.y_mm;
    double along_mm = x_mm * way_x + y_mm * way_y;
    double across_mm = x_mm * way_y - y_mm * way_x;
    double root = sqrt(fmax(0.0, (chord_mm - across_mm) * (chord_mm + across_mm)));

    return (root - along_mm) / length_mm;
}

static double leave_arc(const ts_piece *piece, ts_xy point, double chord_mm)
{
    double x_mm = point.x_mm - piece->centre.x_mm, y_mm = point.y_mm - piece->centre.y_mm;
    double out_mm = sqrt(x_mm * x_mm + y_mm * y_mm);
    double radius_mm = piece->radius_mm;

    if (!(out_mm > 0.0)) {
        return 1.0;
    }
    /* half the angle between the point's ray and the place, by the half-angle formula, which
     * loses nothing where the point lies on the circle itself */
    double square = (chord_mm - (radius_mm - out_mm)) * (chord_mm + (radius_mm - out_mm)) /
                    (4.0 * radius_mm * out_mm);
    double spread_rad = 2.0 * asin(sqrt(fmin(1.0, fmax(0.0, square))));
    double way = piece->sweep_rad < 0.0 ? -1.0 : 1.0;
    double turn_rad = remainder(way * (atan2(y_mm, x_mm) - piece->start_rad), 2.0 * PI);
    return (turn_rad + spread_rad) / fabs(piece->sweep_rad);
}

/* The same on an ellipse's parallel, between a share that is nearer than the chord and the end,
 * which is not: Newton from a guess, halving where it would leave the bracket. */
static double leave_ellipse(const ts_piece *piece, double low, double guess, ts_xy point,
                            double chord_mm)
{
    double w_mm = piece->half_width_mm, l_mm = piece->half_length_mm;
    double share = guess > low && guess < 1.0 ? guess : 0.5 * (low + 1.0);
    double high = 1.0;

    for (int i = 0; i < NEWTONS_MOST; i++) {
        double t_rad = piece->start_rad + share * piece->sweep_rad;
        double cosine = cos(t_rad), sine = sin(t_rad);
        double speed = sqrt(w_mm * w_mm * sine * sine + l_mm * l_mm * cosine * cosine);
        double scale = piece->offset_mm / speed;
        double x_mm = (w_mm + scale * l_mm) * cosine - point.x_mm;
        double y_mm = (l_mm + scale * w_mm) * sine - point.y_mm;
        double over_mm2 = x_mm * x_mm + y_mm * y_mm - chord_mm * chord_mm;
        /* the parallel's speed is the ellipse's and the offset times the normal's turn */
        double fast = 1.0 + scale * w_mm * l_mm / (speed * speed);
        double slope = 2.0 * fast * (l_mm * cosine * y_mm - w_mm * sine * x_mm) * piece->sweep_rad;
        double next = share - over_mm2 / slope;
        if (over_mm2 < 0.0) {
            low = share;
        } else {
            high = share;
        }
        if (fabs(next - share) < SURE) {
            return next;
        }
        share = next > low && next < high ? next : 0.5 * (low + high);
    }
    return share;
}

/* One step on to a later place; false where the rest of the half lies within the chord.
 * `*stride` is the share that the last step on this ellipse took. */
static bool step_on(const ts_walk *walk, ts_stride *at, double chord_mm, double *stride)
{
    int i = at->piece;
    double low = at->share;

    if (walk->pieces[i].kind != TS_PIECE_ELLIPSE) {
        i++;
        low = 0.0;
    }
    while (i < walk->count && apart_mm(walk->pieces[i].to, at->point) < chord_mm) {
        i++;
        low = 0.0;
    }
    if (i >= walk->count) {
        return false;
    }
    const ts_piece *piece = &walk->pieces[i];
    double share;
    if (piece->kind == TS_PIECE_LINE) {
        share = leave_line(piece, walk->length_mm[i], at->point, chord_mm);
    } else if (piece->kind == TS_PIECE_ARC) {
        share = leave_arc(piece, at->point, chord_mm);
    } else {
        double step = *stride > 0.0 ? *stride : chord_mm / walk->length_mm[i];
        share = leave_ellipse(piece, low, low + step, at->point, chord_mm);
        *stride = share - low;
    }
    *at = stride_at(walk, i, fmin(fmax(share, 0.0), 1.0));
    return true;
}

int ts_walk_go(const ts_walk *walk, ts_stride *at, double chord_mm, int most, ts_xy *points)
{
    int last = walk->count - 1;
    int taken = 0;
    double stride = 0.0;

    while (taken < most) {
        ts_xy *rest = points != NULL ? points + taken : NULL;
        int steps = step_along(walk, at, chord_mm, most - taken, rest);
        if (steps == 0) {
            if (!step_on(walk, at, chord_mm, &stride)) {
                break;
            }
            if (rest != NULL) {
                *rest = at->point;
            }
            steps = 1;
        }
        taken += steps;
    }
    if (taken == most) {
        return taken;
    }
    double short_mm = chord_mm - apart_mm(walk->pieces[last].to, at->point);
    if (short_mm <= LAND * chord_mm) {
        *at = stride_at(walk, last, 1.0);
        if (points != NULL) {
            points[taken] = at->point;
        }
        taken++;
    }
    at->past_mm = fmax(0.0, short_mm);
    return taken;
}
