#include "geometry/head.h"

#include <math.h>

/* Where claws stand.
 *
 * Tips and corners break first, so a claw guards each of them before any side gets one. What
 * is a corner is read off the outline itself: a sharp turn between two pieces, or the middle
 * of a piece that is a cut or rounded corner. A heart's cleft turns the other way and is none. */

#define PI 3.14159265358979323846
#define CORNERS_MOST 8
#define SHARP_RAD 0.2 /* about 11 degrees: less is a join, not a corner */

typedef struct corners {
    int count;
    double run_mm[CORNERS_MOST]; /* arc length from the start of the outline */
} corners;

static void add_corner(corners *found, double run_mm)
{
    if (found->count < CORNERS_MOST) {
        found->run_mm[found->count++] = run_mm;
    }
}

/* Left turn from the end of the piece before to the start of piece i. */
static double turn_rad(const ts_outline *outline, int i)
{
    int before = (i + outline->count - 1) % outline->count;
    ts_xy a, b;

    ts_piece_at(&outline->pieces[before], 1.0, NULL, &a);
    ts_piece_at(&outline->pieces[i], 0.0, NULL, &b);
    return atan2(a.x_mm * b.y_mm - a.y_mm * b.x_mm, a.x_mm * b.x_mm + a.y_mm * b.y_mm);
}

static corners corners_of(const ts_outline *outline)
{
    corners found = {.count = 0};
    double run_mm = 0.0;

    for (int i = 0; i < outline->count; i++) {
        const ts_piece *piece = &outline->pieces[i];
        int before = (i + outline->count - 1) % outline->count;
        bool is_corner = piece->name == TS_PIECE_NAME_CORNER;
        double length_mm = ts_piece_length_mm(piece);

        if (is_corner) {
            add_corner(&found, run_mm + length_mm / 2.0);
        } else if (outline->pieces[before].name != TS_PIECE_NAME_CORNER &&
                   turn_rad(outline, i) > SHARP_RAD) {
            add_corner(&found, run_mm);
        }
        run_mm += length_mm;
    }
    return found;
}

/* Outwards at a point that may be a corner: the middle of the normals on both sides. */
static double outward_rad(const ts_outline *outline, double run_mm)
{
    double step_mm = 1e-6 * ts_outline_length_mm(outline);
    ts_xy before, after;

    ts_outline_at(outline, run_mm - step_mm, NULL, &before);
    ts_outline_at(outline, run_mm + step_mm, NULL, &after);
    /* right of the direction (x, y) is (y, -x); an angle counts from +y towards -x */
    return atan2(-(before.y_mm + after.y_mm), -(before.x_mm + after.x_mm));
}

static void put(ts_claw_place *place, const ts_outline *outline, double run_mm, bool is_at_corner)
{
    ts_outline_at(outline, run_mm, &place->point, NULL);
    place->out_rad = outward_rad(outline, run_mm);
    place->is_at_corner = is_at_corner;
}

static void place_by_angle(ts_claw_place *places, int count, const ts_outline *outline,
                           double first_rad)
{
    for (int i = 0; i < count; i++) {
        double angle_rad = first_rad + 2.0 * PI * i / count;
        ts_xy way = {0.0, 0.0};

        places[i].is_at_corner = false;
        if (ts_outline_towards(outline, angle_rad, &places[i].point, &way)) {
            places[i].out_rad = atan2(-way.y_mm, -way.x_mm);
        }
    }
}

/* The stretch between two corners that has most room for one claw more. Among equals every
 * second one comes first, so that a pair of claws stands opposite. */
static int widest(const double *stretch_mm, const int *inside, int count)
{
    int best = 0;

    for (int k = 1; k < count; k++) {
        int i = 2 * k < count ? 2 * k : 2 * (k - (count + 1) / 2) + 1;
        if (stretch_mm[i] / (inside[i] + 1) > stretch_mm[best] / (inside[best] + 1) + 1e-9) {
            best = i;
        }
    }
    return best;
}

static void place_by_corner(ts_claw_place *places, int count, const ts_outline *outline,
                            const corners *at)
{
    double whole_mm = ts_outline_length_mm(outline);
    double stretch_mm[CORNERS_MOST];
    int inside[CORNERS_MOST] = {0};
    int next = 0;

    for (int i = 0; i < at->count; i++) {
        double to_mm = i + 1 < at->count ? at->run_mm[i + 1] : at->run_mm[0] + whole_mm;
        stretch_mm[i] = to_mm - at->run_mm[i];
    }
    for (int i = at->count; i < count; i++) {
        inside[widest(stretch_mm, inside, at->count)]++;
    }
    for (int i = 0; i < at->count; i++) {
        put(&places[next++], outline, at->run_mm[i], true);
        for (int k = 1; k <= inside[i]; k++) {
            put(&places[next++], outline, at->run_mm[i] + stretch_mm[i] * k / (inside[i] + 1),
                false);
        }
    }
}

void ts_claws_place(ts_claw_place *places, int count, ts_shape shape, const ts_outline *outline,
                    double first_rad)
{
    corners at = {.count = 0};

    if (shape != TS_SHAPE_ROUND && shape != TS_SHAPE_OVAL) {
        at = corners_of(outline);
    }
    if (at.count == 0) {
        place_by_angle(places, count, outline, first_rad);
        return;
    }
    if (count >= at.count) {
        place_by_corner(places, count, outline, &at);
        return;
    }
    for (int i = 0; i < count; i++) {
        put(&places[i], outline, at.run_mm[i * at.count / count], true);
    }
}
