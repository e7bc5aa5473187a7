/* Rows of melee: closed round an outline, open along the shank.
 *
 * A closed row's centres lie on the parallel of an outline, at equal chords, so that every
 * neighbour is as far as every other. It starts on the length axis, with a stone or with half
 * a gap (where a claw stands), and is symmetric about the axis:
 *
 *          o   tip: a stone             o | o   tip: a claw between two stones
 *        o   o                        o   |   o
 *       o     o   n even: a stone      o  |  o    n odd: a stone
 *        o   o      at the foot          o|o        at the foot
 *          o                              o
 *
 * Nothing here loops on the numbers it is given: every search is bounded. */
#ifndef TS_GEOMETRY_ROWS_H
#define TS_GEOMETRY_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/words/words.h>

#include "geometry/outline.h"

#define TS_ROW_STONES_MOST 5000

typedef enum ts_row_fault {
    TS_ROW_FAULT_NONE,
    TS_ROW_FAULT_ASK,     /* a number asked with is none, or out of its range */
    TS_ROW_FAULT_CURVE,   /* the parallel cannot be formed; curve_fault says why */
    TS_ROW_FAULT_FEW,     /* no room for two stones, or for one multiple, or for one stone */
    TS_ROW_FAULT_MANY,    /* more than TS_ROW_STONES_MOST */
    TS_ROW_FAULT_OVERLAP, /* stones that are no neighbours overlap, across a cleft or a narrow
                             place */
    TS_ROW_FAULT_UNEVEN,  /* no equal chords close the curve with that count */
    TS_ROW_FAULT_COUNT
} ts_row_fault;

/* What is asked of a closed row.
 *   offset_mm    of the line of centres from the outline, outwards; negative inside
 *   diameter_mm  of its stones, > 0          spacing_mm  least room between neighbours, >= 0
 *   multiple     the count is a multiple of it; 0 and 1 ask nothing
 *   start        TS_POINT_STONE or TS_POINT_CLAW on the axis at the tip; NONE is a stone */
typedef struct ts_closed_ask {
    double offset_mm;
    double diameter_mm;
    double spacing_mm;
    int multiple;
    ts_point_of start;
} ts_closed_ask;

typedef struct ts_closed_row {
    int count;         /* 0 with a fault */
    double chord_mm;   /* between neighbouring centres */
    double spacing_mm; /* chord less diameter: the room that results */
    double curve_mm;   /* length of the line of centres, 0 where there is none */
    ts_row_fault fault;
    ts_outline_fault curve_fault;
} ts_closed_row;

/* A stone's centre; angle_rad its direction from the origin, counter-clockwise from the length
 * axis, 0 <= angle < 2 pi. */
typedef struct ts_row_stone {
    double x_mm;
    double y_mm;
    double angle_rad;
} ts_row_stone;

/* The fullest closed row: the largest count for which equal chords of at least diameter and
 * spacing close the curve. On a circle floor(pi / asin((d+s) / (2R)) + 1e-9), R the radius of
 * the line of centres; elsewhere a chord may fall 1e-9 of itself short of room likewise. Where
 * stones would overlap across a cleft the next smaller counts are tried, sixteen of them.
 *   returns  false with row->fault set
 *   source   the circle's count from the regular polygon's side 2R sin(pi/n); the rest is the
 *            definition, solved by the secant method */
bool ts_closed_row_of(ts_closed_row *row, const ts_outline *outline, const ts_closed_ask *ask);
/* The row of a given count, at least 2, spread evenly. spacing_mm tells what results and may
 * be less than asked; `multiple` is not looked at. false with row->fault set, also where
 * stones would overlap. */
bool ts_closed_row_spread(ts_closed_row *row, const ts_outline *outline, const ts_closed_ask *ask,
                          int count);
/* The centres of a row that either function above gave for the same outline and ask:
 * counter-clockwise, first the one on the axis, or the first left of it after a claw. Writes
 * at most `room` of them (TS_ROW_STONES_MOST is always enough); returns how many, 0 where the
 * row has a fault. */
int ts_closed_row_place(ts_row_stone *stones, int room, const ts_outline *outline,
                        const ts_closed_ask *ask, const ts_closed_row *row);
/* The most even of several fullest rows, one for each ask: least spacing, compared to 1e-6 mm;
 * among equals the larger stone, then the earlier ask.
 *   returns  false where none can be made: row->fault is then that of the first ask, and
 *            *chosen is 0 */
bool ts_closed_row_fit(ts_closed_row *row, int *chosen, const ts_outline *outline,
                       const ts_closed_ask *asks, int count);

/* What is asked of an open row along the shank. Stone i has diameters_mm[i], or the last one
 * after the end of the list; its centre lies at face_mm - sunk * diameter from the ring's axis.
 *   from_rad, to_rad  angles that bound the row, from < to, at most a full turn apart
 *   face_mm           radius of the metal's face
 *   sunk              of a diameter that the centre lies inside the face: 0.15 for a crown
 *   spacing_mm        least room between neighbours
 *   diameters_mm      borrowed, each > 0; one for a plain row, more for a graduated one */
typedef struct ts_open_ask {
    double from_rad;
    double to_rad;
    double face_mm;
    double sunk;
    double spacing_mm;
    const double *diameters_mm;
    int diameters;
} ts_open_ask;

typedef struct ts_open_row {
    int count;
    double spacing_mm; /* room between neighbours that results; of a single stone as asked */
    double from_rad;
    double to_rad;  /* where the last stone ends */
    bool is_closed; /* a full turn: the last stone is the first one's neighbour */
    ts_row_fault fault;
} ts_open_row;

typedef struct ts_open_stone {
    double angle_rad;
    double radius_mm; /* of its centre */
    double diameter_mm;
} ts_open_stone;

/* The most stones that lie wholly between the two angles, seen from the ring's axis, the room
 * left over shared equally by their gaps (a single stone stands in the middle). A full turn
 * is a closed row with a stone's centre at from_rad. false with row->fault set.
 *   source  two tangents to a circle of diameter d at distance r enclose 2 asin(d / 2r);
 *           neighbours at radii r and q and distance c by the law of cosines */
bool ts_open_row_of(ts_open_row *row, const ts_open_ask *ask);
/* A given count from from_rad on, spaced as asked; to_rad of the ask is not looked at and that
 * of the row tells where it ends. false where it would take more than a full turn. */
bool ts_open_row_counted(ts_open_row *row, const ts_open_ask *ask, int count);
/* The stones of a row for the same ask; at most `room`; returns how many. */
int ts_open_row_place(ts_open_stone *stones, int room, const ts_open_ask *ask,
                      const ts_open_row *row);

#endif
