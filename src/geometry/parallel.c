#include "geometry/outline.h"

#include <math.h>
#include <stddef.h>

/* The parallel curve of an outline.
 *
 * Every piece is moved along its normal, and an arc is drawn about each corner that opens on
 * the side moved to. Outwards from an outline without hollows that is the parallel. Otherwise
 * the moved pieces cross each other and the axis: they are cut at every crossing, and a part
 * stays where its middle is no nearer to the outline than the offset, which is what a parallel
 * is. No case is named: corners are cut, pieces vanish and an oval's inner parallel gets its
 * points by that one test. The parts that stay must then join from axis to axis.
 *
 * Only the left half is worked on. A moved point that lands right of the axis is nearer to the
 * mirror image of where it came from, so it never stays. */

#define PI 3.14159265358979323846
#define TURN_LEAST_RAD 1e-9
#define OFFSET_MOST_MM 1e6
#define CUTS_MOST (8 + 2 * TS_OUTLINE_HALF_MOST)
#define NEAR 1e-10 /* of the outline's size: lengths below it are nothing */
#define JOIN 1e-7  /* of the outline's size: a wider gap is no join */

typedef struct moved {
    ts_piece piece;
    int parent; /* in the outline, -1 for a turn */
    int cuts;
    double at[CUTS_MOST];
} moved;

typedef struct bench {
    const ts_outline *in;
    double offset_mm;
    double size_mm;
    bool is_plain; /* nothing can cross */
    int count;
    moved list[TS_OUTLINE_HALF_MOST];
    ts_outline_fault fault;
} bench;

static double turn_between(ts_xy a, ts_xy b)
{
    return atan2(a.x_mm * b.y_mm - a.y_mm * b.x_mm, a.x_mm * b.x_mm + a.y_mm * b.y_mm);
}

static void add_moved(bench *b, ts_piece piece, int parent)
{
    if (b->count == TS_OUTLINE_HALF_MOST) {
        b->fault = TS_OUTLINE_FAULT_PIECES;
        return;
    }
    moved *m = &b->list[b->count++];
    m->piece = piece;
    m->parent = parent;
    m->cuts = 0;
}

/* The arc about a corner, from the direction before it to the one after it, where the corner
 * opens on the side moved to. */
static void add_turn(bench *b, ts_xy corner, ts_xy before, ts_xy after)
{
    double turn_rad = turn_between(before, after);

    if (fabs(turn_rad) <= TURN_LEAST_RAD) {
        return;
    }
    if ((turn_rad > 0.0) != (b->offset_mm > 0.0)) {
        b->is_plain = false;
        return;
    }
    double start_rad = atan2(-b->offset_mm * before.x_mm, b->offset_mm * before.y_mm);
    add_moved(b, ts_piece_arc(corner, fabs(b->offset_mm), start_rad, turn_rad, TS_PIECE_NAME_TURN),
              -1);
}

static void move_pieces(bench *b)
{
    const ts_piece *pieces = b->in->pieces;
    int half = b->in->count / 2;
    ts_xy before = {-1.0, 0.0}; /* over the axis at the top */

    b->is_plain = b->offset_mm > 0.0;
    for (int i = 0; i < half; i++) {
        ts_xy way;
        ts_piece piece;
        ts_piece_at(&pieces[i], 0.0, NULL, &way);
        add_turn(b, pieces[i].from, before, way);
        if (ts_piece_moved(&piece, &pieces[i], b->offset_mm)) {
            add_moved(b, piece, i);
        }
        if (pieces[i].kind == TS_PIECE_ARC && pieces[i].sweep_rad < 0.0) {
            b->is_plain = false;
        }
        ts_piece_at(&pieces[i], 1.0, NULL, &before);
    }
    add_turn(b, pieces[half - 1].to, before, (ts_xy){1.0, 0.0});
}

static void add_cut(moved *m, double share)
{
    if (share > 0.0 && share < 1.0 && m->cuts < CUTS_MOST) {
        m->at[m->cuts++] = share;
    }
}

/* Where an oval's inner parallel crosses an axis away from the oval's own ends. With
 * m = |(l cos t, w sin t)|: x = cos t (w + offset l / m) is zero at m = -offset l / w, and
 * y = sin t (l + offset w / m) at m = -offset w / l. */
static void cut_ellipse(moved *m)
{
    const ts_piece *piece = &m->piece;
    double w_mm = piece->half_width_mm, l_mm = piece->half_length_mm, o_mm = piece->offset_mm;
    double longer_mm = fmax(w_mm, l_mm), shorter_mm = fmin(w_mm, l_mm);
    double square = longer_mm * longer_mm * (1.0 - (o_mm / shorter_mm) * (o_mm / shorter_mm)) /
                    ((longer_mm - shorter_mm) * (longer_mm + shorter_mm));

    if (o_mm >= 0.0 || !(square >= 0.0 && square <= 1.0)) {
        return;
    }
    double first_rad = l_mm > w_mm ? asin(sqrt(square)) : acos(sqrt(square));
    double angles_rad[4] = {first_rad, PI - first_rad, PI + first_rad, 2.0 * PI - first_rad};
    for (int i = 0; i < 4; i++) {
        add_cut(m, (angles_rad[i] - piece->start_rad) / piece->sweep_rad);
    }
}

/* Points common to the whole line or circle of one piece and those of another, at most two. */
static int line_line(const ts_piece *a, const ts_piece *b, ts_xy points[2])
{
    double shares[4];
    ts_xy way;

    ts_piece_at(b, 0.0, NULL, &way);
    int count = ts_piece_crossings(a, b->from, way, shares);
    for (int i = 0; i < count && i < 2; i++) {
        ts_piece_at(a, shares[i], &points[i], NULL);
    }
    return count < 2 ? count : 2;
}

static int arc_arc(const ts_piece *a, const ts_piece *b, ts_xy points[2])
{
    ts_xy way = {b->centre.x_mm - a->centre.x_mm, b->centre.y_mm - a->centre.y_mm};
    double apart_mm = hypot(way.x_mm, way.y_mm);
    double one_mm = a->radius_mm, other_mm = b->radius_mm;

    if (!(apart_mm > 0.0) || apart_mm > one_mm + other_mm || apart_mm < fabs(one_mm - other_mm)) {
        return 0;
    }
    double along_mm = 0.5 * (apart_mm + (one_mm - other_mm) * (one_mm + other_mm) / apart_mm);
    double across_mm = sqrt(fmax(0.0, (one_mm - along_mm) * (one_mm + along_mm)));
    way = (ts_xy){way.x_mm / apart_mm, way.y_mm / apart_mm};
    for (int i = 0; i < 2; i++) {
        double side_mm = i == 0 ? across_mm : -across_mm;
        points[i] = (ts_xy){a->centre.x_mm + along_mm * way.x_mm - side_mm * way.y_mm,
                            a->centre.y_mm + along_mm * way.y_mm + side_mm * way.x_mm};
    }
    return 2;
}

static bool joins_smoothly(const bench *b, const ts_piece *one, const ts_piece *other)
{
    ts_xy a, c;

    ts_piece_at(one, 1.0, NULL, &a);
    ts_piece_at(other, 0.0, NULL, &c);
    return hypot(one->to.x_mm - other->from.x_mm, one->to.y_mm - other->from.y_mm) <=
               NEAR * b->size_mm &&
           fabs(turn_between(a, c)) <= 1e-6;
}

/* Cuts two pieces where they cross. Circles that touch where one piece follows the other
 * smoothly only blur that join, so those are let be. Lines and arcs only: an ellipse crosses
 * nothing but the axis, for all else that an oval's parallel has is an arc about its end. */
static void cut_pair(bench *b, int i, int j)
{
    const ts_piece *one = &b->list[i].piece, *other = &b->list[j].piece;
    ts_xy points[2];
    int count;

    if (one->kind == TS_PIECE_ELLIPSE || other->kind == TS_PIECE_ELLIPSE ||
        (j == i + 1 && joins_smoothly(b, one, other))) {
        return;
    }
    if (other->kind == TS_PIECE_LINE) {
        count = line_line(one, other, points);
    } else if (one->kind == TS_PIECE_LINE) {
        count = line_line(other, one, points);
    } else {
        count = arc_arc(one, other, points);
    }
    for (int k = 0; k < count; k++) {
        double share, other_share;
        double near_mm = NEAR * b->size_mm;
        if (ts_piece_distance_mm(one, points[k], &share) <= near_mm &&
            ts_piece_distance_mm(other, points[k], &other_share) <= near_mm) {
            add_cut(&b->list[i], share);
            add_cut(&b->list[j], other_share);
        }
    }
}

static void cut_all(bench *b)
{
    for (int i = 0; i < b->count; i++) {
        moved *m = &b->list[i];
        if (m->piece.kind == TS_PIECE_ELLIPSE) {
            cut_ellipse(m);
        } else {
            double shares[4];
            int count = ts_piece_crossings(&m->piece, (ts_xy){0.0, 0.0}, (ts_xy){0.0, 1.0}, shares);
            for (int k = 0; k < count; k++) {
                add_cut(m, shares[k]);
            }
        }
        for (int j = i + 1; j < b->count; j++) {
            cut_pair(b, i, j);
        }
    }
}

static void sort_cuts(moved *m)
{
    for (int i = 1; i < m->cuts; i++) {
        double share = m->at[i];
        int k = i;
        for (; k > 0 && m->at[k - 1] > share; k--) {
            m->at[k] = m->at[k - 1];
        }
        m->at[k] = share;
    }
}

/* True where the middle of a part is as far from the outline as the parallel has to be. */
static bool stays(const bench *b, const ts_piece *piece, double one, double other)
{
    double near_mm = NEAR * b->size_mm;
    ts_xy middle;

    ts_piece_at(piece, 0.5 * (one + other), &middle, NULL);
    if (middle.x_mm > near_mm) {
        return false;
    }
    for (int i = 0; i < b->in->count / 2; i++) {
        if (ts_piece_distance_mm(&b->in->pieces[i], middle, NULL) < fabs(b->offset_mm) - near_mm) {
            return false;
        }
    }
    return true;
}

static void keep(bench *b, ts_outline *out, const moved *m, double one, double other)
{
    if (out->count == TS_OUTLINE_HALF_MOST) {
        b->fault = TS_OUTLINE_FAULT_PIECES;
        return;
    }
    out->pieces[out->count++] = ts_piece_part(&m->piece, one, other);
    out->vanished &= m->parent >= 0 ? ~(1UL << m->parent) : ~0UL;
}

/* Appends the parts of one moved piece that stay; neighbouring ones in one piece. */
static void keep_parts(bench *b, ts_outline *out, moved *m)
{
    double nothing = NEAR * b->size_mm / fmax(ts_piece_length_mm(&m->piece), 1e-300);
    double one = 0.0, begun = -1.0;

    sort_cuts(m);
    for (int k = 0; k <= m->cuts; k++) {
        double other = k < m->cuts ? m->at[k] : 1.0;
        if (other - one <= nothing) {
            continue;
        }
        bool kept = stays(b, &m->piece, one, other);
        if (kept && begun < 0.0) {
            begun = one;
        } else if (!kept && begun >= 0.0) {
            keep(b, out, m, begun, one);
            begun = -1.0;
        }
        one = other;
    }
    if (begun >= 0.0) {
        keep(b, out, m, begun, 1.0);
    }
}

/* The half must run from axis to axis without a gap; false where it does not. */
static bool is_joined(const bench *b, const ts_outline *out)
{
    double gap_mm = JOIN * b->size_mm;

    for (int i = 0; i + 1 < out->count; i++) {
        ts_xy end = out->pieces[i].to, start = out->pieces[i + 1].from;
        if (hypot(end.x_mm - start.x_mm, end.y_mm - start.y_mm) > gap_mm) {
            return false;
        }
    }
    return fabs(out->pieces[0].from.x_mm) <= gap_mm &&
           fabs(out->pieces[out->count - 1].to.x_mm) <= gap_mm;
}

static void parallel_of(ts_outline *out, bench *b)
{
    move_pieces(b);
    out->vanished = (1UL << (b->in->count / 2)) - 1UL;
    if (!b->is_plain) {
        cut_all(b);
    }
    for (int i = 0; i < b->count && b->fault == TS_OUTLINE_FAULT_NONE; i++) {
        moved *m = &b->list[i];
        if (!b->is_plain) {
            keep_parts(b, out, m);
            continue;
        }
        out->pieces[out->count++] = m->piece;
        out->vanished &= m->parent >= 0 ? ~(1UL << m->parent) : ~0UL;
    }
    if (b->fault != TS_OUTLINE_FAULT_NONE) {
        out->fault = b->fault;
    } else if (out->count == 0) {
        out->fault = TS_OUTLINE_FAULT_VANISHED;
    } else if (!is_joined(b, out)) {
        out->fault = TS_OUTLINE_FAULT_SPLIT;
    }
}

bool ts_outline_parallel(ts_outline *out, const ts_outline *in, double offset_mm)
{
    bench b; /* its list, most of it, is written before it is read: no need to clear it */
    ts_box box = ts_outline_extent(in);

    b.in = in;
    b.offset_mm = offset_mm;
    b.count = 0;
    b.fault = TS_OUTLINE_FAULT_NONE;
    out->count = 0;
    out->vanished = 0;
    out->fault = in->fault;
    if (in->count == 0) {
        return false;
    }
    if (!(fabs(offset_mm) <= OFFSET_MOST_MM)) {
        out->fault = TS_OUTLINE_FAULT_SIZE;
        return false;
    }
    if (offset_mm == 0.0) {
        *out = *in;
        out->vanished = 0;
        return true;
    }
    b.size_mm = fmax(box.right_mm - box.left_mm, box.top_mm - box.bottom_mm);
    parallel_of(out, &b);
    if (out->fault != TS_OUTLINE_FAULT_NONE) {
        out->count = 0;
        return false;
    }
    for (int i = 0; i < out->count; i++) {
        out->pieces[2 * out->count - 1 - i] = ts_piece_mirrored(&out->pieces[i]);
    }
    out->count *= 2;
    return true;
}
