#include "geometry/outline.h"

#include <math.h>
#include <stddef.h>

/* The twelve shapes as chains, and what is asked of a whole chain.
 *
 * Each shape draws the left half only, from the axis at the top to the axis at the bottom;
 * the right half is its mirror image. Distances and boxes are asked of the left half, with
 * the point folded over. The parallel curve is worked out in parallel.c. */

#define PI 3.14159265358979323846
#define ROUND_MOST 1.10 /* length over width, or the other way, of a round stone */
#define SIZE_LEAST_MM 0.001
#define SIZE_MOST_MM 1e6
#define TURN_LEAST_RAD 1e-9 /* less is a smooth join */
#define LINE_LEAST_MM 1e-9  /* a shorter side has no direction to speak of: left out */

/* The left half while it is drawn. */
typedef struct pen {
    ts_outline *out;
    ts_xy at;
} pen;

static void draw(pen *p, ts_piece piece)
{
    p->out->pieces[p->out->count++] = piece;
    p->at = piece.to;
}

static void draw_line(pen *p, ts_xy to, ts_piece_name name)
{
    if (hypot(to.x_mm - p->at.x_mm, to.y_mm - p->at.y_mm) > LINE_LEAST_MM) {
        draw(p, ts_piece_line(p->at, to, name));
    }
}

static void mirror_half(ts_outline *out)
{
    int half = out->count;

    for (int i = 0; i < half; i++) {
        out->pieces[2 * half - 1 - i] = ts_piece_mirrored(&out->pieces[i]);
    }
    out->count = 2 * half;
}

static bool refuse(ts_outline *out, ts_outline_fault fault)
{
    out->count = 0;
    out->fault = fault;
    return false;
}

static bool draw_oval(pen *p, double length_mm, double width_mm)
{
    if (fabs(length_mm - width_mm) <= 1e-12 * length_mm) {
        draw(p, ts_piece_arc((ts_xy){0.0, 0.0}, 0.25 * (length_mm + width_mm), PI / 2.0, PI,
                             TS_PIECE_NAME_SIDE));
    } else {
        draw(p,
             ts_piece_ellipse(width_mm / 2.0, length_mm / 2.0, PI / 2.0, PI, TS_PIECE_NAME_SIDE));
    }
    return true;
}

static bool draw_round(pen *p, double length_mm, double width_mm)
{
    double mean_mm = 0.5 * (length_mm + width_mm);

    if (fmax(length_mm, width_mm) > ROUND_MOST * fmin(length_mm, width_mm) * (1.0 + 1e-12)) {
        return refuse(p->out, TS_OUTLINE_FAULT_ROUND);
    }
    return draw_oval(p, mean_mm, mean_mm);
}

/* An arc from the tip down to (-half_width, widest), whose tangent there runs along the length. */
static void draw_flank(pen *p, double tip_mm, double half_width_mm, double widest_mm)
{
    double height_mm = tip_mm - widest_mm;
    double radius_mm =
        (half_width_mm * half_width_mm + height_mm * height_mm) / (2.0 * half_width_mm);
    double back_mm = radius_mm - half_width_mm;
    double turn_rad = atan2(height_mm, back_mm);

    draw(p, ts_piece_arc((ts_xy){back_mm, widest_mm}, radius_mm, PI - turn_rad, turn_rad,
                         TS_PIECE_NAME_SIDE));
}

static bool draw_pear(pen *p, double length_mm, double width_mm)
{
    double half_mm = width_mm / 2.0;
    double widest_mm = half_mm - length_mm / 2.0;

    if (length_mm < width_mm) {
        return refuse(p->out, TS_OUTLINE_FAULT_SHORT);
    }
    draw_flank(p, length_mm / 2.0, half_mm, widest_mm);
    draw(p, ts_piece_arc((ts_xy){0.0, widest_mm}, half_mm, PI, PI / 2.0, TS_PIECE_NAME_BACK));
    return true;
}

static bool draw_marquise(pen *p, double length_mm, double width_mm)
{
    double radius_mm = (length_mm * length_mm + width_mm * width_mm) / (4.0 * width_mm);
    double back_mm = radius_mm - width_mm / 2.0;
    double turn_rad = atan2(length_mm / 2.0, back_mm);

    if (length_mm < width_mm) {
        return refuse(p->out, TS_OUTLINE_FAULT_SHORT);
    }
    draw(p, ts_piece_arc((ts_xy){back_mm, 0.0}, radius_mm, PI - turn_rad, 2.0 * turn_rad,
                         TS_PIECE_NAME_SIDE));
    return true;
}

static bool draw_heart(pen *p, double length_mm, double width_mm)
{
    double quarter_mm = width_mm / 4.0;
    double widest_mm = quarter_mm - length_mm / 2.0;

    if (length_mm < 0.75 * width_mm) {
        return refuse(p->out, TS_OUTLINE_FAULT_SHORT);
    }
    draw_flank(p, length_mm / 2.0, width_mm / 2.0, widest_mm);
    draw(p, ts_piece_arc((ts_xy){-quarter_mm, widest_mm}, quarter_mm, PI, PI, TS_PIECE_NAME_LOBE));
    return true;
}

static bool draw_trillion(pen *p, double length_mm, double width_mm)
{
    double triangle_mm = width_mm * sqrt(3.0) / 2.0;
    double bulge_mm = length_mm - triangle_mm;
    double half_mm = width_mm / 2.0;
    double top_mm = 0.5 * fmax(length_mm, triangle_mm);
    double corner_mm = top_mm - triangle_mm;

    if (bulge_mm > half_mm / sqrt(3.0) * (1.0 + 1e-12)) {
        return refuse(p->out, TS_OUTLINE_FAULT_LONG);
    }
    if (bulge_mm <= 1e-9 * width_mm) {
        p->at = (ts_xy){0.0, top_mm};
        draw_line(p, (ts_xy){-half_mm, corner_mm}, TS_PIECE_NAME_SIDE);
        draw_line(p, (ts_xy){0.0, corner_mm}, TS_PIECE_NAME_END);
        return true;
    }
    /* half of a side's arc turns by `half_rad`; its middle looks along the side's normal,
     * 150 degrees round for the left side, 270 for the one across */
    double radius_mm = (half_mm * half_mm + bulge_mm * bulge_mm) / (2.0 * bulge_mm);
    double half_rad = 2.0 * atan2(bulge_mm, half_mm);
    double back_mm = radius_mm - bulge_mm;
    ts_xy middle = {-half_mm / 2.0, top_mm - triangle_mm / 2.0};
    double normal_rad = 5.0 * PI / 6.0;
    ts_xy centre = {middle.x_mm - back_mm * cos(normal_rad),
                    middle.y_mm - back_mm * sin(normal_rad)};
    draw(p, ts_piece_arc(centre, radius_mm, normal_rad - half_rad, 2.0 * half_rad,
                         TS_PIECE_NAME_SIDE));
    draw(p, ts_piece_arc((ts_xy){0.0, corner_mm + back_mm}, radius_mm, 1.5 * PI - half_rad,
                         half_rad, TS_PIECE_NAME_END));
    return true;
}

/* A rectangle whose corners are sharp, rounded or cut. */
static bool draw_rectangle(pen *p, ts_xy half, ts_corner corner, double corner_mm)
{
    double c_mm = corner == TS_CORNER_NONE ? 0.0 : corner_mm;
    double x_mm = half.x_mm, y_mm = half.y_mm;
    bool is_rounded = corner == TS_CORNER_RADIUS && c_mm > 0.0;

    if (!(c_mm >= 0.0 && c_mm <= fmin(x_mm, y_mm))) {
        return refuse(p->out, TS_OUTLINE_FAULT_CORNER);
    }
    p->at = (ts_xy){0.0, y_mm};
    draw_line(p, (ts_xy){c_mm - x_mm, y_mm}, TS_PIECE_NAME_END);
    if (is_rounded) {
        draw(p, ts_piece_arc((ts_xy){c_mm - x_mm, y_mm - c_mm}, c_mm, PI / 2.0, PI / 2.0,
                             TS_PIECE_NAME_CORNER));
    }
    draw_line(p, (ts_xy){-x_mm, y_mm - c_mm}, TS_PIECE_NAME_CORNER);
    draw_line(p, (ts_xy){-x_mm, c_mm - y_mm}, TS_PIECE_NAME_SIDE);
    if (is_rounded) {
        draw(p, ts_piece_arc((ts_xy){c_mm - x_mm, c_mm - y_mm}, c_mm, PI, PI / 2.0,
                             TS_PIECE_NAME_CORNER));
    }
    draw_line(p, (ts_xy){c_mm - x_mm, -y_mm}, TS_PIECE_NAME_CORNER);
    draw_line(p, (ts_xy){0.0, -y_mm}, TS_PIECE_NAME_END);
    return true;
}

static bool draw_shape(pen *p, ts_shape shape, double length_mm, double width_mm, double corner_mm)
{
    ts_xy half = {width_mm / 2.0, length_mm / 2.0};

    switch (shape) {
    case TS_SHAPE_ROUND:
        return draw_round(p, length_mm, width_mm);
    case TS_SHAPE_OVAL:
        return draw_oval(p, length_mm, width_mm);
    case TS_SHAPE_PEAR:
        return draw_pear(p, length_mm, width_mm);
    case TS_SHAPE_MARQUISE:
        return draw_marquise(p, length_mm, width_mm);
    case TS_SHAPE_HEART:
        return draw_heart(p, length_mm, width_mm);
    case TS_SHAPE_TRILLION:
        return draw_trillion(p, length_mm, width_mm);
    case TS_SHAPE_CUSHION:
        return draw_rectangle(p, half, TS_CORNER_RADIUS, corner_mm);
    case TS_SHAPE_EMERALD:
    case TS_SHAPE_ASSCHER:
    case TS_SHAPE_RADIANT:
        return draw_rectangle(p, half, TS_CORNER_CUT, corner_mm);
    case TS_SHAPE_PRINCESS:
    case TS_SHAPE_BAGUETTE:
        return draw_rectangle(p, half, TS_CORNER_NONE, 0.0);
    case TS_SHAPE_NONE:
    case TS_SHAPE_COUNT:
        break;
    }
    return refuse(p->out, TS_OUTLINE_FAULT_SIZE);
}

bool ts_outline_of(ts_outline *out, ts_shape shape, double length_mm, double width_mm,
                   double corner_mm)
{
    pen p = {.out = out, .at = {0.0, 0.0}};

    out->count = 0;
    out->vanished = 0;
    out->fault = TS_OUTLINE_FAULT_NONE;
    if (!(length_mm >= SIZE_LEAST_MM && length_mm <= SIZE_MOST_MM && width_mm >= SIZE_LEAST_MM &&
          width_mm <= SIZE_MOST_MM)) {
        return refuse(out, TS_OUTLINE_FAULT_SIZE);
    }
    if (!draw_shape(&p, shape, length_mm, width_mm, corner_mm)) {
        return false;
    }
    mirror_half(out);
    return true;
}

double ts_outline_length_mm(const ts_outline *outline)
{
    double half_mm = 0.0;

    for (int i = 0; i < outline->count / 2; i++) {
        half_mm += ts_piece_length_mm(&outline->pieces[i]);
    }
    return 2.0 * half_mm;
}

double ts_outline_area_mm2(const ts_outline *outline)
{
    double half_mm2 = 0.0;

    for (int i = 0; i < outline->count / 2; i++) {
        half_mm2 += ts_piece_area_mm2(&outline->pieces[i]);
    }
    return 2.0 * half_mm2;
}

static void box_take(ts_box *box, ts_xy point)
{
    box->left_mm = fmin(box->left_mm, point.x_mm);
    box->right_mm = fmax(box->right_mm, point.x_mm);
    box->bottom_mm = fmin(box->bottom_mm, point.y_mm);
    box->top_mm = fmax(box->top_mm, point.y_mm);
}

/* A curved piece is extreme at its ends, or where its angle is a whole number of quarter turns
 * (an ellipse's normal lies along an axis just where its eccentric angle does). */
static void box_take_piece(ts_box *box, const ts_piece *piece)
{
    double low_rad = fmin(piece->start_rad, piece->start_rad + piece->sweep_rad);
    double high_rad = fmax(piece->start_rad, piece->start_rad + piece->sweep_rad);

    box_take(box, piece->from);
    box_take(box, piece->to);
    if (piece->kind == TS_PIECE_LINE) {
        return;
    }
    for (int quarter = 0; quarter < 5; quarter++) {
        double angle_rad = (ceil(low_rad / (PI / 2.0)) + quarter) * (PI / 2.0);
        if (angle_rad < high_rad) {
            ts_xy point;
            ts_piece_at(piece, (angle_rad - piece->start_rad) / piece->sweep_rad, &point, NULL);
            box_take(box, point);
        }
    }
}

ts_box ts_outline_extent(const ts_outline *outline)
{
    ts_box box = {0.0, 0.0, 0.0, 0.0};

    if (outline->count > 0) {
        ts_xy start = outline->pieces[0].from;
        box = (ts_box){start.x_mm, start.x_mm, start.y_mm, start.y_mm};
    }
    for (int i = 0; i < outline->count; i++) {
        box_take_piece(&box, &outline->pieces[i]);
    }
    return box;
}

void ts_outline_at(const ts_outline *outline, double length_mm, ts_xy *point, ts_xy *direction)
{
    double whole_mm = ts_outline_length_mm(outline);
    double rest_mm = fmod(length_mm, whole_mm);

    if (outline->count == 0 || !isfinite(rest_mm)) {
        return;
    }
    rest_mm = rest_mm < 0.0 ? rest_mm + whole_mm : rest_mm;
    int i = 0;
    double piece_mm = ts_piece_length_mm(&outline->pieces[0]);
    while (i + 1 < outline->count && rest_mm > piece_mm) {
        rest_mm -= piece_mm;
        piece_mm = ts_piece_length_mm(&outline->pieces[++i]);
    }
    ts_piece_at(&outline->pieces[i], ts_piece_share_at(&outline->pieces[i], rest_mm), point,
                direction);
}

bool ts_outline_towards(const ts_outline *outline, double angle_rad, ts_xy *point, ts_xy *direction)
{
    ts_xy origin = {0.0, 0.0};
    ts_xy ray = {-sin(angle_rad), cos(angle_rad)};
    double farthest_mm = -1.0;

    for (int i = 0; i < outline->count; i++) {
        double shares[4];
        int count = ts_piece_crossings(&outline->pieces[i], origin, ray, shares);
        for (int k = 0; k < count; k++) {
            ts_xy here, way;
            ts_piece_at(&outline->pieces[i], shares[k], &here, &way);
            double out_mm = here.x_mm * ray.x_mm + here.y_mm * ray.y_mm;
            if (out_mm > farthest_mm && out_mm >= 0.0) {
                farthest_mm = out_mm;
                *(point != NULL ? point : &here) = here;
                *(direction != NULL ? direction : &way) = way;
            }
        }
    }
    return farthest_mm >= 0.0;
}

/* Turn of direction at the start of a piece, from the end of the one before it. */
static double turn_before_rad(const ts_outline *outline, int i)
{
    int before = (i + outline->count - 1) % outline->count;
    ts_xy a, b;

    ts_piece_at(&outline->pieces[before], 1.0, NULL, &a);
    ts_piece_at(&outline->pieces[i], 0.0, NULL, &b);
    return atan2(a.x_mm * b.y_mm - a.y_mm * b.x_mm, a.x_mm * b.x_mm + a.y_mm * b.y_mm);
}

/* True where a point whose nearest place on the chain is this one lies inside. A sharp corner
 * is nearest only to points outside it, a re-entrant one only to points inside. */
static bool lies_inside(const ts_outline *outline, int i, double share, ts_xy point)
{
    ts_xy here, way;

    if (share <= 0.0 || share >= 1.0) {
        int next = share >= 1.0 ? (i + 1) % outline->count : i;
        double turn_rad = turn_before_rad(outline, next);
        if (fabs(turn_rad) > TURN_LEAST_RAD) {
            return turn_rad < 0.0;
        }
    }
    ts_piece_at(&outline->pieces[i], share, &here, &way);
    return way.x_mm * (point.y_mm - here.y_mm) - way.y_mm * (point.x_mm - here.x_mm) > 0.0;
}

double ts_outline_distance_mm(const ts_outline *outline, ts_xy point)
{
    ts_xy folded = {-fabs(point.x_mm), point.y_mm};
    double least_mm = HUGE_VAL, nearest = 0.0;
    int at = 0;

    if (outline->count == 0) {
        return HUGE_VAL;
    }
    for (int i = 0; i < outline->count / 2; i++) {
        double share;
        double distance_mm = ts_piece_distance_mm(&outline->pieces[i], folded, &share);
        if (distance_mm < least_mm) {
            least_mm = distance_mm;
            nearest = share;
            at = i;
        }
    }
    return lies_inside(outline, at, nearest, folded) ? -least_mm : least_mm;
}

bool ts_outline_is_circle(const ts_outline *outline, double *radius_mm)
{
    double first_mm = outline->count > 0 ? outline->pieces[0].radius_mm : 0.0;

    for (int i = 0; i < outline->count; i++) {
        const ts_piece *piece = &outline->pieces[i];
        if (piece->kind != TS_PIECE_ARC || fabs(piece->radius_mm - first_mm) > 1e-12 * first_mm ||
            hypot(piece->centre.x_mm, piece->centre.y_mm) > 1e-12 * first_mm) {
            return false;
        }
    }
    *radius_mm = first_mm;
    return outline->count > 0;
}
