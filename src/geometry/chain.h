/* Pieces of a chain: a straight line, an arc of a circle, a stretch of an ellipse's parallel.
 *
 * A piece runs one way. What it bounds lies on its left, so its outward side is on its right:
 *
 *            direction
 *               ^
 *      inside   |   outside
 *               |
 *
 * A place on a piece is its share of the way, 0 at the start and 1 at the end: of the length
 * on a line, of the turn on an arc, of the eccentric angle on an ellipse. Plan coordinates in
 * mm, y along the stone's length; angles in radians, counter-clockwise from +x. */
#ifndef TS_GEOMETRY_CHAIN_H
#define TS_GEOMETRY_CHAIN_H

#include <stdbool.h>

typedef struct ts_xy {
    double x_mm;
    double y_mm;
} ts_xy;

typedef enum ts_piece_kind {
    TS_PIECE_NONE,
    TS_PIECE_LINE,
    TS_PIECE_ARC,
    TS_PIECE_ELLIPSE,
    TS_PIECE_COUNT
} ts_piece_kind;

/* What a piece is of the stone. */
typedef enum ts_piece_name {
    TS_PIECE_NAME_NONE,
    TS_PIECE_NAME_SIDE,
    TS_PIECE_NAME_END,    /* a side across the length axis */
    TS_PIECE_NAME_CORNER, /* a rounded or cut corner */
    TS_PIECE_NAME_BACK,   /* the round end of a pear */
    TS_PIECE_NAME_LOBE,   /* of a heart */
    TS_PIECE_NAME_TURN,   /* the arc that a parallel draws about a sharp corner */
    TS_PIECE_NAME_COUNT
} ts_piece_name;

/* Made by the functions below only: `from` and `to` always agree with the rest.
 *   line     from, to
 *   arc      centre, radius (> 0), start and sweep; sweep > 0 counter-clockwise, at most a
 *            full turn; < 0 clockwise, where the outline is hollow
 *   ellipse  (half_width cos t, half_length sin t) about the origin, moved outwards along its
 *            normal by offset; t from start through sweep (> 0) */
typedef struct ts_piece {
    ts_piece_kind kind;
    ts_piece_name name;
    ts_xy from, to;
    ts_xy centre;
    double radius_mm;
    double start_rad, sweep_rad;
    double half_width_mm, half_length_mm, offset_mm;
} ts_piece;

/* "side", "corner", ...; "" for zero. */
const char *ts_piece_name_word(ts_piece_name name);

ts_piece ts_piece_line(ts_xy from, ts_xy to, ts_piece_name name);
ts_piece ts_piece_arc(ts_xy centre, double radius_mm, double start_rad, double sweep_rad,
                      ts_piece_name name);
/* A stretch of the ellipse on its own; ts_piece_moved gives its parallels. */
ts_piece ts_piece_ellipse(double half_width_mm, double half_length_mm, double start_rad,
                          double sweep_rad, ts_piece_name name);

/* The same piece moved outwards; false where an arc has no radius left. */
bool ts_piece_moved(ts_piece *out, const ts_piece *piece, double offset_mm);
/* The part between two shares, 0 <= one < other <= 1. */
ts_piece ts_piece_part(const ts_piece *piece, double one, double other);
/* Its image across the length axis, run the other way so that the inside stays left. */
ts_piece ts_piece_mirrored(const ts_piece *piece);

/* Point and unit direction at a share; either pointer may be NULL. */
void ts_piece_at(const ts_piece *piece, double share, ts_xy *point, ts_xy *direction);
/* Length; an ellipse's to about 1e-14 of it (ellipse.h). */
double ts_piece_length_mm(const ts_piece *piece);
/* The share at a length from the start. */
double ts_piece_share_at(const ts_piece *piece, double length_mm);
/* Its part of the area in Green's theorem, half of the integral of x dy - y dx: summed round
 * a closed chain it is the area inside. Closed form for every kind. */
double ts_piece_area_mm2(const ts_piece *piece);
/* Distance from a point to the nearest place on the piece, and that place's share. */
double ts_piece_distance_mm(const ts_piece *piece, ts_xy point, double *share);
/* Shares at which the piece crosses the line through `on` along the unit vector `along`: at
 * most 4, in no order; returns how many. */
int ts_piece_crossings(const ts_piece *piece, ts_xy on, ts_xy along, double shares[4]);

#endif
