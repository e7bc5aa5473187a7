#include "geometry/chain.h"

#include <math.h>
#include <stddef.h>

#include "geometry/ellipse.h"

/* What can be asked of one piece of an outline, whatever its kind.
 *
 * Lines and arcs are closed forms throughout. An ellipse's parallel has closed forms for its
 * points, direction and area; its length is an elliptic integral (ellipse.c), and where it
 * meets a line or comes nearest to a point is a root of a smooth function, bracketed by
 * samples and then narrowed. Every loop is bounded by a constant. */

#define PI 3.14159265358979323846
#define SHARE_SLACK 1e-12 /* a place this little past an end still counts as on the piece */
#define CROSSING_SAMPLES 16
#define NEAREST_SAMPLES 24
#define NEAREST_MOST (4 + NEAREST_SAMPLES)
#define NARROWINGS_MOST 80

/* A smooth function along a piece whose root is wanted. */
typedef struct quest {
    double (*value)(const struct quest *q, double share);
    const ts_piece *piece;
    ts_xy on, along;
} quest;

const char *ts_piece_name_word(ts_piece_name name)
{
    static const char *const words[TS_PIECE_NAME_COUNT] = {"",     "side", "end", "corner",
                                                           "back", "lobe", "turn"};

    return name > TS_PIECE_NAME_NONE && name < TS_PIECE_NAME_COUNT ? words[name] : "";
}

static double along_of(ts_xy a, ts_xy b)
{
    return a.x_mm * b.x_mm + a.y_mm * b.y_mm;
}

static double across_of(ts_xy a, ts_xy b)
{
    return a.x_mm * b.y_mm - a.y_mm * b.x_mm;
}

static ts_xy minus(ts_xy a, ts_xy b)
{
    return (ts_xy){a.x_mm - b.x_mm, a.y_mm - b.y_mm};
}

/* An angle taken into [0, 2 pi). */
static double full_turn(double angle_rad)
{
    double rest_rad = fmod(angle_rad, 2.0 * PI);

    return rest_rad < 0.0 ? rest_rad + 2.0 * PI : rest_rad;
}

/* Share of an arc at a polar angle about its centre; beyond 1 where the arc does not reach. An
 * angle a hair before the start is given as that hair, not as a full turn. */
static double arc_share(const ts_piece *piece, double angle_rad)
{
    double sweep_rad = fabs(piece->sweep_rad);
    double way = piece->sweep_rad < 0.0 ? -1.0 : 1.0;
    double share = full_turn(way * (angle_rad - piece->start_rad)) / sweep_rad;
    double turn = 2.0 * PI / sweep_rad;

    return share > turn - SHARE_SLACK ? share - turn : share;
}

ts_piece ts_piece_line(ts_xy from, ts_xy to, ts_piece_name name)
{
    ts_piece piece = {.kind = TS_PIECE_LINE, .name = name, .from = from, .to = to};

    return piece;
}

ts_piece ts_piece_arc(ts_xy centre, double radius_mm, double start_rad, double sweep_rad,
                      ts_piece_name name)
{
    ts_piece piece = {.kind = TS_PIECE_ARC,
                      .name = name,
                      .centre = centre,
                      .radius_mm = radius_mm,
                      .start_rad = start_rad,
                      .sweep_rad = sweep_rad};

    ts_piece_at(&piece, 0.0, &piece.from, NULL);
    ts_piece_at(&piece, 1.0, &piece.to, NULL);
    return piece;
}

ts_piece ts_piece_ellipse(double half_width_mm, double half_length_mm, double start_rad,
                          double sweep_rad, ts_piece_name name)
{
    ts_piece piece = {.kind = TS_PIECE_ELLIPSE,
                      .name = name,
                      .start_rad = start_rad,
                      .sweep_rad = sweep_rad,
                      .half_width_mm = half_width_mm,
                      .half_length_mm = half_length_mm};

    ts_piece_at(&piece, 0.0, &piece.from, NULL);
    ts_piece_at(&piece, 1.0, &piece.to, NULL);
    return piece;
}

bool ts_piece_moved(ts_piece *out, const ts_piece *piece, double offset_mm)
{
    *out = *piece;
    if (piece->kind == TS_PIECE_LINE) {
        ts_xy way;
        ts_piece_at(piece, 0.0, NULL, &way);
        ts_xy shift = {way.y_mm * offset_mm, -way.x_mm * offset_mm};
        out->from = (ts_xy){piece->from.x_mm + shift.x_mm, piece->from.y_mm + shift.y_mm};
        out->to = (ts_xy){piece->to.x_mm + shift.x_mm, piece->to.y_mm + shift.y_mm};
        return true;
    }
    if (piece->kind == TS_PIECE_ARC) {
        out->radius_mm += piece->sweep_rad < 0.0 ? -offset_mm : offset_mm;
        if (!(out->radius_mm > 1e-12 * piece->radius_mm)) {
            return false;
        }
    } else {
        out->offset_mm += offset_mm;
    }
    ts_piece_at(out, 0.0, &out->from, NULL);
    ts_piece_at(out, 1.0, &out->to, NULL);
    return true;
}

ts_piece ts_piece_part(const ts_piece *piece, double one, double other)
{
    ts_piece part = *piece;

    ts_piece_at(piece, one, &part.from, NULL);
    ts_piece_at(piece, other, &part.to, NULL);
    if (piece->kind != TS_PIECE_LINE) {
        part.start_rad = piece->start_rad + one * piece->sweep_rad;
        part.sweep_rad = (other - one) * piece->sweep_rad;
    }
    return part;
}

ts_piece ts_piece_mirrored(const ts_piece *piece)
{
    ts_piece image = *piece;

    image.from = (ts_xy){-piece->to.x_mm, piece->to.y_mm};
    image.to = (ts_xy){-piece->from.x_mm, piece->from.y_mm};
    image.centre.x_mm = -piece->centre.x_mm;
    image.start_rad = PI - (piece->start_rad + piece->sweep_rad);
    return image;
}

static void line_at(const ts_piece *piece, double share, ts_xy *point, ts_xy *direction)
{
    ts_xy way = minus(piece->to, piece->from);

    if (point != NULL) {
        *point = share == 1.0 ? piece->to
                              : (ts_xy){piece->from.x_mm + share * way.x_mm,
                                        piece->from.y_mm + share * way.y_mm};
    }
    if (direction != NULL) {
        double length_mm = hypot(way.x_mm, way.y_mm);
        *direction = (ts_xy){way.x_mm / length_mm, way.y_mm / length_mm};
    }
}

static void ellipse_at(const ts_piece *piece, double share, ts_xy *point, ts_xy *direction)
{
    double t_rad = piece->start_rad + share * piece->sweep_rad;
    ts_xy normal = {piece->half_length_mm * cos(t_rad), piece->half_width_mm * sin(t_rad)};
    double size_mm = sqrt(along_of(normal, normal));

    normal = (ts_xy){normal.x_mm / size_mm, normal.y_mm / size_mm};
    if (point != NULL) {
        *point = (ts_xy){piece->half_width_mm * cos(t_rad) + piece->offset_mm * normal.x_mm,
                         piece->half_length_mm * sin(t_rad) + piece->offset_mm * normal.y_mm};
    }
    if (direction != NULL) {
        *direction = (ts_xy){-normal.y_mm, normal.x_mm};
    }
}

void ts_piece_at(const ts_piece *piece, double share, ts_xy *point, ts_xy *direction)
{
    if (piece->kind == TS_PIECE_LINE) {
        line_at(piece, share, point, direction);
        return;
    }
    if (piece->kind == TS_PIECE_ELLIPSE) {
        ellipse_at(piece, share, point, direction);
        return;
    }
    double angle_rad = piece->start_rad + share * piece->sweep_rad;
    double way = piece->sweep_rad < 0.0 ? -1.0 : 1.0;
    ts_xy out = {cos(angle_rad), sin(angle_rad)};
    if (point != NULL) {
        *point = (ts_xy){piece->centre.x_mm + piece->radius_mm * out.x_mm,
                         piece->centre.y_mm + piece->radius_mm * out.y_mm};
    }
    if (direction != NULL) {
        *direction = (ts_xy){-way * out.y_mm, way * out.x_mm};
    }
}

/* Length of an ellipse's parallel between two eccentric angles: its own arc, and the offset
 * times the turn of the normal (Steiner). */
static double ellipse_length_mm(const ts_piece *piece, double from_rad, double to_rad)
{
    double w_mm = piece->half_width_mm, l_mm = piece->half_length_mm;
    double turn_rad =
        ts_ellipse_normal_rad(w_mm, l_mm, to_rad) - ts_ellipse_normal_rad(w_mm, l_mm, from_rad);

    return ts_ellipse_arc_mm(w_mm, l_mm, to_rad) - ts_ellipse_arc_mm(w_mm, l_mm, from_rad) +
           piece->offset_mm * turn_rad;
}

double ts_piece_length_mm(const ts_piece *piece)
{
    switch (piece->kind) {
    case TS_PIECE_LINE:
        return hypot(piece->to.x_mm - piece->from.x_mm, piece->to.y_mm - piece->from.y_mm);
    case TS_PIECE_ARC:
        return piece->radius_mm * fabs(piece->sweep_rad);
    case TS_PIECE_ELLIPSE:
        return ellipse_length_mm(piece, piece->start_rad, piece->start_rad + piece->sweep_rad);
    case TS_PIECE_NONE:
    case TS_PIECE_COUNT:
        break;
    }
    return 0.0;
}

double ts_piece_share_at(const ts_piece *piece, double length_mm)
{
    double whole_mm = ts_piece_length_mm(piece);
    double share = whole_mm > 0.0 ? length_mm / whole_mm : 0.0;
    double low = 0.0, high = 1.0;

    if (piece->kind != TS_PIECE_ELLIPSE || !(share > 0.0 && share < 1.0)) {
        return fmin(fmax(share, 0.0), 1.0);
    }
    for (int step = 0; step < NARROWINGS_MOST; step++) {
        double t_rad = piece->start_rad + share * piece->sweep_rad;
        double over_mm = ellipse_length_mm(piece, piece->start_rad, t_rad) - length_mm;
        double speed = hypot(piece->half_width_mm * sin(t_rad), piece->half_length_mm * cos(t_rad));
        double curve = piece->half_width_mm * piece->half_length_mm / (speed * speed);
        double next = share - over_mm / ((speed + piece->offset_mm * curve) * piece->sweep_rad);

        low = over_mm < 0.0 ? share : low;
        high = over_mm < 0.0 ? high : share;
        if (fabs(next - share) < 1e-15 || fabs(over_mm) < 1e-15 * whole_mm) {
            break;
        }
        share = next > low && next < high ? next : 0.5 * (low + high);
    }
    return share;
}

/* The ellipse's part follows from its support function h = E . N: the parallel's area element
 * is (E x T + offset) times its length element, and over a stretch the integral of h by the
 * normal's angle is the arc length less the growth of E . T. */
static double ellipse_area_mm2(const ts_piece *piece)
{
    double w_mm = piece->half_width_mm, l_mm = piece->half_length_mm;
    double to_rad = piece->start_rad + piece->sweep_rad;
    ts_piece bare = *piece;
    ts_xy one, other, one_way, other_way;

    bare.offset_mm = 0.0;
    ts_piece_at(&bare, 0.0, &one, &one_way);
    ts_piece_at(&bare, 1.0, &other, &other_way);
    double arc_mm = ts_piece_length_mm(&bare);
    double turn_rad = ts_ellipse_normal_rad(w_mm, l_mm, to_rad) -
                      ts_ellipse_normal_rad(w_mm, l_mm, piece->start_rad);
    double growth_mm = along_of(other, other_way) - along_of(one, one_way);
    return 0.5 * (w_mm * l_mm * piece->sweep_rad + piece->offset_mm * (2.0 * arc_mm - growth_mm) +
                  piece->offset_mm * piece->offset_mm * turn_rad);
}

/* x - sin x, without the cancellation where x is small. */
static double beyond_sine(double x)
{
    double square = x * x;

    if (fabs(x) > 0.5) {
        return x - sin(x);
    }
    return x * square / 6.0 *
           (1.0 -
            square / 20.0 * (1.0 - square / 42.0 * (1.0 - square / 72.0 * (1.0 - square / 110.0))));
}

double ts_piece_area_mm2(const ts_piece *piece)
{
    switch (piece->kind) {
    case TS_PIECE_LINE:
        return 0.5 * across_of(piece->from, piece->to);
    case TS_PIECE_ARC:
        /* the chord's triangle and the segment over it: a flat arc's radius would swamp both */
        return 0.5 * (across_of(piece->from, piece->to) +
                      piece->radius_mm * piece->radius_mm * beyond_sine(piece->sweep_rad));
    case TS_PIECE_ELLIPSE:
        return ellipse_area_mm2(piece);
    case TS_PIECE_NONE:
    case TS_PIECE_COUNT:
        break;
    }
    return 0.0;
}

/* A root between two shares at which the quest's values have unlike signs: regula falsi that
 * halves a stale end's value (Illinois), a plain halving every eighth step. */
static double quest_root(const quest *q, double low, double low_value, double high,
                         double high_value)
{
    double nothing = 1e-15 * (fabs(low_value) + fabs(high_value));
    int moved = 0; /* the end that moved last: -1 low, 1 high */

    for (int step = 0; step < NARROWINGS_MOST && high - low > 1e-15; step++) {
        double middle = low - low_value * (high - low) / (high_value - low_value);
        if (step % 8 == 7 || !(middle > low && middle < high)) {
            middle = 0.5 * (low + high);
        }
        double value = q->value(q, middle);
        if (fabs(value) <= nothing) {
            return middle;
        }
        if ((value < 0.0) == (low_value < 0.0)) {
            low = middle;
            low_value = value;
            high_value *= moved == -1 ? 0.5 : 1.0;
            moved = -1;
        } else {
            high = middle;
            high_value = value;
            low_value *= moved == 1 ? 0.5 : 1.0;
            moved = 1;
        }
    }
    return 0.5 * (low + high);
}

/* Roots found by `samples` equal steps along the piece; returns how many, `most` at most. */
static int quest_roots(const quest *q, int samples, double *roots, int most)
{
    double before = q->value(q, 0.0);
    int found = 0;

    if (before == 0.0) {
        roots[found++] = 0.0;
    }
    for (int i = 1; i <= samples && found < most; i++) {
        double share = (double)i / samples;
        double value = q->value(q, share);
        if (value == 0.0) {
            roots[found++] = share;
        } else if (before != 0.0 && (value < 0.0) != (before < 0.0)) {
            roots[found++] = quest_root(q, (double)(i - 1) / samples, before, share, value);
        }
        before = value;
    }
    return found;
}

/* The foot of a perpendicular: the way from the point to the curve has no part along it. */
static double foot_value(const quest *q, double share)
{
    ts_xy here, way;

    ts_piece_at(q->piece, share, &here, &way);
    return along_of(minus(here, q->on), way);
}

static double side_value(const quest *q, double share)
{
    ts_xy here;

    ts_piece_at(q->piece, share, &here, NULL);
    return across_of(q->along, minus(here, q->on));
}

static void take_nearer(const ts_piece *piece, ts_xy point, double share, double *least_mm,
                        double *nearest)
{
    ts_xy here;

    ts_piece_at(piece, share, &here, NULL);
    double distance_mm = hypot(here.x_mm - point.x_mm, here.y_mm - point.y_mm);
    if (distance_mm < *least_mm) {
        *least_mm = distance_mm;
        *nearest = share;
    }
}

/* Where an ellipse's parallel may be nearest: the foot on the whole ellipse, in each quarter, is
 * exact; the samples find what else may be nearest on a stretch that leaves that foot out. */
static int ellipse_feet(const ts_piece *piece, ts_xy point, double roots[NEAREST_MOST])
{
    quest q = {.value = foot_value, .piece = piece, .on = point};
    double foot_rad = ts_ellipse_foot_rad(piece->half_width_mm, piece->half_length_mm,
                                          fabs(point.x_mm), fabs(point.y_mm));
    double feet_rad[4] = {foot_rad, PI - foot_rad, PI + foot_rad, -foot_rad};

    for (int i = 0; i < 4; i++) {
        roots[i] = full_turn(feet_rad[i] - piece->start_rad) / piece->sweep_rad;
    }
    return 4 + quest_roots(&q, NEAREST_SAMPLES, roots + 4, NEAREST_MOST - 4);
}

double ts_piece_distance_mm(const ts_piece *piece, ts_xy point, double *share)
{
    double roots[NEAREST_MOST];
    double least_mm = HUGE_VAL, nearest = 0.0;
    int count = 0;

    if (piece->kind == TS_PIECE_LINE) {
        ts_xy way = minus(piece->to, piece->from);
        roots[count++] = along_of(minus(point, piece->from), way) / along_of(way, way);
    } else if (piece->kind == TS_PIECE_ARC) {
        ts_xy out = minus(point, piece->centre);
        roots[count++] = arc_share(piece, atan2(out.y_mm, out.x_mm));
    } else {
        count = ellipse_feet(piece, point, roots);
    }
    take_nearer(piece, point, 0.0, &least_mm, &nearest);
    take_nearer(piece, point, 1.0, &least_mm, &nearest);
    for (int i = 0; i < count; i++) {
        if (roots[i] > 0.0 && roots[i] < 1.0) {
            take_nearer(piece, point, roots[i], &least_mm, &nearest);
        }
    }
    if (share != NULL) {
        *share = nearest;
    }
    return least_mm;
}

/* Where an ellipse's parallel crosses a line. An end that lies on the line but for rounding
 * counts: between two pieces that meet there neither may see the sign change. */
static int ellipse_crossings(const ts_piece *piece, ts_xy on, ts_xy along, double shares[4])
{
    quest q = {.value = side_value, .piece = piece, .on = on, .along = along};
    double slack_mm = 1e-12 * (piece->half_width_mm + piece->half_length_mm);
    int count = quest_roots(&q, CROSSING_SAMPLES, shares, 2);

    for (int end = 0; end <= 1; end++) {
        if (fabs(side_value(&q, (double)end)) <= slack_mm) {
            shares[count++] = (double)end;
        }
    }
    return count;
}

int ts_piece_crossings(const ts_piece *piece, ts_xy on, ts_xy along, double shares[4])
{
    double found[4];
    int count = 0, kept = 0;

    if (piece->kind == TS_PIECE_LINE) {
        double from_mm = across_of(along, minus(piece->from, on));
        double to_mm = across_of(along, minus(piece->to, on));
        if (from_mm != to_mm) {
            found[count++] = from_mm / (from_mm - to_mm);
        }
    } else if (piece->kind == TS_PIECE_ARC) {
        double sine = -across_of(along, minus(piece->centre, on)) / piece->radius_mm;
        double along_rad = atan2(along.y_mm, along.x_mm);
        if (fabs(sine) <= 1.0) {
            found[count++] = arc_share(piece, along_rad + asin(sine));
            found[count++] = arc_share(piece, along_rad + PI - asin(sine));
        }
    } else {
        count = ellipse_crossings(piece, on, along, found);
    }
    for (int i = 0; i < count; i++) {
        if (found[i] >= -SHARE_SLACK && found[i] <= 1.0 + SHARE_SLACK) {
            shares[kept++] = fmin(fmax(found[i], 0.0), 1.0);
        }
    }
    return kept;
}
