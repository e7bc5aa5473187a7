#include "geometry/head.h"

#include <math.h>

#include "geometry/height.h"
#include "geometry/measuring.h"
#include "geometry/seat.h"

/* Heads: volumes of claws and rails.
 *
 * Allowances for what overlaps: where a claw passes a rail the rail is not counted (its length
 * is shortened by a claw's diameter for each claw formed here). The notch for the girdle,
 * under a hundredth of a claw, stays in the weight. What of the head is sunk into the shank is
 * let stand for the solder and the fillets that join them. */

#define PI 3.14159265358979323846

double ts_claw_tip_mm3(ts_claw style, double diameter_mm)
{
    double cube_mm3 = diameter_mm * diameter_mm * diameter_mm;

    switch (style) {
    case TS_CLAW_ROUND:
    case TS_CLAW_DOUBLE:
    case TS_CLAW_POINTED:
        return PI / 12.0 * cube_mm3;
    case TS_CLAW_V:
        return 0.75 * cube_mm3;
    case TS_CLAW_FLAT:
    case TS_CLAW_NONE:
    case TS_CLAW_COUNT:
        break;
    }
    return 0.0;
}

double ts_claw_tip_height_mm(ts_claw style, double diameter_mm)
{
    switch (style) {
    case TS_CLAW_ROUND:
    case TS_CLAW_DOUBLE:
        return diameter_mm / 2.0;
    case TS_CLAW_POINTED:
    case TS_CLAW_V:
        return diameter_mm;
    case TS_CLAW_FLAT:
    case TS_CLAW_NONE:
    case TS_CLAW_COUNT:
        break;
    }
    return 0.0;
}

double ts_claw_reach(ts_claw style)
{
    return style == TS_CLAW_V ? 1.0 : 0.7;
}

/* What a head's volumes are made of. */
typedef struct head_lengths {
    double base_mm; /* diameters */
    double tip_mm;
    double rail_mm;
    double inset_mm;
    double below_mm; /* from the base rail up to the girdle's upper edge */
    double crown_mm;
} head_lengths;

static head_lengths lengths_of(const ts_measuring *m, const ts_head *head)
{
    double depth_mm = m->out->stones[head->holds_ref.index].depth_mm;

    return (head_lengths){
        .base_mm = ts_dec_double(head->claw_diameter),
        .tip_mm = ts_dec_double(head->tip_diameter),
        .rail_mm = ts_dec_double(head->rail_diameter),
        .inset_mm = ts_dec_double(head->inset),
        .below_mm = ts_stone_pavilion_mm(depth_mm) + ts_stone_girdle_mm(depth_mm),
        .crown_mm = ts_stone_crown_mm(depth_mm),
    };
}

/* The part of a claw over the girdle that still belongs to its frustum. */
static double over_mm(const head_lengths *of, ts_claw style)
{
    return fmax(0.0,
                ts_claw_reach(style) * of->crown_mm - ts_claw_tip_height_mm(style, of->tip_mm));
}

static double claw_mm3(const head_lengths *of, ts_claw style)
{
    double axis_mm = hypot(of->inset_mm, of->below_mm) + over_mm(of, style);

    return ts_frustum_mm3(of->base_mm, of->tip_mm, axis_mm) + ts_claw_tip_mm3(style, of->tip_mm);
}

static double rise_mm(const head_lengths *of, ts_claw style)
{
    return of->below_mm + over_mm(of, style) + ts_claw_tip_height_mm(style, of->tip_mm);
}

static int pieces_of(ts_claw style)
{
    return style == TS_CLAW_DOUBLE ? 2 : 1;
}

/* Counts and volumes of the claws formed here: the borrowed ones are plain ones first. */
static void measure_claws(ts_head_shape *shape, const ts_head *head, const head_lengths *of,
                          int at_corner)
{
    ts_claw style = (ts_claw)head->claw_style;
    ts_claw tip_style = head->tip_style != TS_CLAW_NONE ? (ts_claw)head->tip_style : style;
    int own = head->claws > head->shared ? head->claws - head->shared : 0;
    int tips = head->tip_style != TS_CLAW_NONE ? at_corner : 0;

    tips = tips < own ? tips : own;
    int plain = own - tips;
    shape->tip_style = tips > 0 ? tip_style : TS_CLAW_NONE;
    shape->tip_claws = tips * pieces_of(tip_style);
    shape->claws = plain * pieces_of(style) + shape->tip_claws;
    shape->claws_mm3 =
        plain * pieces_of(style) * claw_mm3(of, style) + shape->tip_claws * claw_mm3(of, tip_style);
    shape->height_mm = plain > 0 || tips == 0 ? rise_mm(of, style) : 0.0;
    if (tips > 0) {
        shape->height_mm = fmax(shape->height_mm, rise_mm(of, tip_style));
    }
}

/* A tube of constant section along a closed curve: section times length of the curve (Pappus;
 * exact while the curve is no tighter than the tube). */
static double rail_mm3(const ts_outline *line, const head_lengths *of, int claws)
{
    double length_mm = ts_outline_length_mm(line) - claws * of->base_mm;

    return PI / 4.0 * of->rail_mm * of->rail_mm * fmax(0.0, length_mm);
}

static void measure_rails(ts_measuring *m, ts_head_shape *shape, const ts_head *head,
                          const head_lengths *of)
{
    const ts_outline *girdle = &m->outlines[head->holds_ref.index];
    ts_outline line;

    for (int i = 0; i < head->rails; i++) {
        double inside_mm = of->inset_mm * (1.0 - (double)i / head->rails);
        if (!ts_outline_parallel(&line, girdle, -inside_mm)) {
            ts_measuring_refuse(
                m, &head->part, TS_FIELD_HEAD_INSET,
                ts_arena_format(m->arena,
                                "%s: no rail is left %s mm inside the girdle; the stone leaves "
                                "room for an inset below %s mm",
                                ts_measuring_title(m, &head->part), ts_measuring_mm(m, inside_mm),
                                ts_measuring_mm(m, ts_outline_inmost_mm(girdle))));
            return;
        }
        shape->rails_mm3 += rail_mm3(&line, of, shape->claws);
    }
}

static void add_spot(ts_head_shape *shape, const ts_claw_place *place, double aside_mm,
                     double diameter_mm)
{
    /* along the girdle: a quarter turn from outwards */
    shape->claw_spots[shape->claw_spot_count++] =
        (ts_spot){.x_mm = place->point.x_mm - aside_mm * cos(place->out_rad),
                  .y_mm = place->point.y_mm - aside_mm * sin(place->out_rad),
                  .diameter_mm = diameter_mm,
                  .angle_rad = place->out_rad};
}

/* In the stone's own frame; returns how many claws stand at a tip or corner. */
static int place_claws(ts_measuring *m, ts_head_shape *shape, const ts_head *head)
{
    const ts_stone *stone = &m->design->stone[head->holds_ref.index];
    ts_claw_place places[TS_CLAWS_MOST];
    int count = head->claws < TS_CLAWS_MOST ? head->claws : TS_CLAWS_MOST;
    double claw_mm = ts_dec_double(head->claw_diameter);
    int at_corner = 0;

    ts_claws_place(places, count, (ts_shape)stone->shape, &m->outlines[head->holds_ref.index],
                   ts_dec_double(head->first_claw) * PI / 180.0);
    shape->claw_spots = TS_ARRAY(m->arena, ts_spot, (size_t)(2 * count + 1));
    for (int i = 0; i < count; i++) {
        bool has_tip_style = places[i].is_at_corner && head->tip_style != TS_CLAW_NONE;
        int style = has_tip_style ? head->tip_style : head->claw_style;

        at_corner += places[i].is_at_corner ? 1 : 0;
        if (style == TS_CLAW_DOUBLE) {
            add_spot(shape, &places[i], claw_mm / 2.0, claw_mm);
            add_spot(shape, &places[i], -claw_mm / 2.0, claw_mm);
        } else {
            add_spot(shape, &places[i], 0.0, claw_mm);
        }
    }
    return at_corner;
}

void ts_head_measure(ts_measuring *m, int index)
{
    const ts_head *head = &m->design->head[index];
    ts_head_shape *shape = &m->out->heads[index];

    if (head->holds_ref.kind != TS_PART_STONE) {
        return;
    }
    shape->copies = m->design->stone[head->holds_ref.index].copies;
    if (m->outlines[head->holds_ref.index].count == 0) {
        return;
    }
    head_lengths of = lengths_of(m, head);
    int at_corner = place_claws(m, shape, head);
    measure_claws(shape, head, &of, at_corner);
    measure_rails(m, shape, head, &of);
}
