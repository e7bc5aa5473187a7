/* The ring in doubles: what each part measures, weighs nothing yet and costs nothing.
 *
 * Arrays stand in the order of the design's parts. Volumes are of one copy; `copies` says
 * how often the part is made (what holds or goes round a stone is made for each of it). */
#ifndef TS_GEOMETRY_GEOMETRY_H
#define TS_GEOMETRY_GEOMETRY_H

#include <stdbool.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/design/design.h>

/* Places of stones for the drawing: mm in plan, x down the right shoulder, y along the
 * finger, z over the finger's top line. Angles are counter-clockwise from +y.
 *   feature stone  its middle, z its girdle's upper edge; the way its length (its tip) looks
 *   claw           its axis at the girdle; outwards from the stone
 *   halo           a stone's centre; outwards from the held stone
 *   row            a stone's centre; the angle from the top, right shoulder positive */
typedef struct ts_spot {
    double x_mm, y_mm, z_mm;
    double diameter_mm; /* of a feature stone its width */
    double angle_rad;
} ts_spot;

typedef struct ts_stone_shape {
    double length_mm, width_mm, depth_mm;
    double carats;          /* each */
    bool weight_stated;     /* as weighed; else estimated from dimensions */
    bool size_estimated;    /* dimensions come from the weight */
    double estimate_carats; /* by its measurements; 0 where the species' gravity is unknown */
    bool is_plausible;      /* its measurements can be those of one stone */
    double spread;          /* of an estimate, as a fraction: 0.035 is ±3.5 % */
    int copies;
    ts_spot *spots;   /* one for each copy */
    double girdle_mm; /* its girdle's upper edge over the finger */
} ts_stone_shape;

typedef struct ts_head_shape {
    int copies;
    int claws;         /* formed here, each copy: shared ones left out, double twice */
    ts_claw tip_style; /* style of `tip_claws` of them */
    int tip_claws;
    double claws_mm3, rails_mm3;
    double height_mm;    /* from base rail to tip */
    ts_spot *claw_spots; /* of the first copy; `claw_spot_count` */
    int claw_spot_count; /* shared claws too, double claws as two */
} ts_head_shape;

typedef struct ts_bezel_shape {
    int copies;
    double volume_mm3;
} ts_bezel_shape;

/* A row of melee, closed (halo) or open (row along the shank). */
typedef struct ts_row_shape {
    int copies;
    int stones;           /* of one copy, all lines and shoulders */
    double diameter_mm;   /* of its stones (the largest, where graduated) */
    double spacing_mm;    /* what results between neighbours */
    double gap_mm;        /* from the girdle or outer edge */
    double line_mm;       /* length of the line its centres lie on */
    double offset_mm;     /* halo: of that line from the held stone's girdle */
    double outer_mm;      /* halo: offset of its metal's outer edge from the girdle */
    double inner_mm;      /* halo: and of its inner edge; a wall's back */
    double under_seat_mm; /* least metal left under a seat, where the drill alone goes through */
    double narrowest_mm;  /* row: least width of the shank along it */
    double thinnest_mm;   /* row: least thickness of the shank along it */
    double claw_room_mm;  /* halo: least room between claws and stones */
    bool has_claw_room;
    double metal_mm3;    /* halo: its metal, seats taken off; row: 0 */
    double seats_mm3;    /* what its stones' seats take out, one copy */
    double underside_mm; /* halo: its metal's lowest point over the finger */
    ts_spot *spots;      /* one copy's; `stones` of them */
    struct ts_size_run {
        double diameter_mm;
        int stones;
    } * sizes; /* by diameter, one copy */
    int size_count;
} ts_row_shape;

typedef struct ts_mesh_shape {
    double volume_mm3;
    bool turned;
    long facets;
} ts_mesh_shape;

typedef struct ts_heights {
    bool known;    /* a head or a bezel holds a stone over a finger */
    int stone;     /* which: the centre */
    ts_ref holder; /* its head, or else its bezel */
    double girdle_mm, total_mm;
    double lowest_mm;    /* the total with the culet on the finger; the limits' least
                            clearance comes on top of it, in quantities */
    double shank_top_mm; /* highest metal of the shank over the finger */
    double head_rise_mm; /* of the holder's highest metal over the stone's culet */
    bool has_halo;
    double under_halo_mm; /* room under the lowest halo metal */
} ts_heights;

typedef struct ts_geometry {
    double bore_mm;   /* inside diameter; 0 where the piece has none */
    double shank_mm3; /* gross */
    double shank_seats_mm3;
    bool has_end_room;  /* the shank is open, and what it carries stands in known places */
    double end_room_mm; /* at least so far from its ends (the worse one) to what is nearest */
    ts_stone_shape *stones;
    ts_head_shape *heads;
    ts_bezel_shape *bezels;
    ts_row_shape *halos;
    ts_row_shape *rows;
    ts_mesh_shape *meshes;
    ts_heights height;
} ts_geometry;

/* Measures a design. What cannot be made is a fault that says what would fit
 * (CANNOT_BE_MADE, at the measure that decides). TS_FAULTY where any was added. */
ts_status ts_geometry_of(ts_geometry **out, ts_arena *arena, const ts_design *design,
                         ts_diag *diag) TS_MUST_USE;
/* The band alone anew, of a design measured before that now has another band (see
 * ts_variant_reband): bore and volume of the shank. Places and heights stay what they were, so
 * what comes of it serves ts_quantities_reband and nothing else. False where anything is to be
 * said: then all is to be measured. */
bool ts_geometry_reband(ts_geometry *geometry, ts_arena *scratch, const ts_design *design,
                        ts_diag *diag) TS_MUST_USE;

#endif
