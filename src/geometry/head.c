#include "geometry/head.h"

#include <math.h>

#include "geometry/height.h"
#include "geometry/measuring.h"
#include "geometry/seat.h"

/* Heads: volumes of claws and rails.
 *
 * Allowances for what overlaps: what a claw and a rail share where they cross comes off the
 * rail (half of it at the base rail, on whose middle the claw begins); the stone's room comes
 * off each claw as the notch that holds it; what claws share with a halo's plate comes off the
 * plate. What of the head is sunk into the shank is let stand for the solder and the fillets
 * that join them. Each was held against a solid modeller: tests/independent/whole_rings.py. */

#define PI 3.14159265358979323846
#define TABLE 0.57 /* of the width: the reference brilliant of height.h */

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
    double below_mm;  /* from the base rail up to the girdle's upper edge */
    double girdle_mm; /* of the stone, and so on */
    double pavilion_mm;
    double crown_mm;
    double width_mm;
} head_lengths;

static head_lengths lengths_of(const ts_measuring *m, const ts_head *head)
{
    const ts_stone_shape *stone = &m->out->stones[head->holds_ref.index];
    double depth_mm = stone->depth_mm;

    return (head_lengths){
        .base_mm = ts_dec_double(head->claw_diameter),
        .tip_mm = ts_dec_double(head->tip_diameter),
        .rail_mm = ts_dec_double(head->rail_diameter),
        .inset_mm = ts_dec_double(head->inset),
        .below_mm = ts_stone_pavilion_mm(depth_mm) + ts_stone_girdle_mm(depth_mm),
        .girdle_mm = ts_stone_girdle_mm(depth_mm),
        .pavilion_mm = ts_stone_pavilion_mm(depth_mm),
        .crown_mm = ts_stone_crown_mm(depth_mm),
        .width_mm = stone->width_mm,
    };
}

/* The part of a claw over the girdle that still belongs to its frustum. */
static double over_mm(const head_lengths *of, ts_claw style)
{
    return fmax(0.0,
                ts_claw_reach(style) * of->crown_mm - ts_claw_tip_height_mm(style, of->tip_mm));
}

/* A claw's diameter so far below the girdle. */
static double claw_at_mm(const head_lengths *of, ts_claw style, double depth_mm)
{
    double slant_mm = hypot(of->inset_mm, of->below_mm);
    double share = slant_mm / (slant_mm + over_mm(of, style)) * (1.0 - depth_mm / of->below_mm);

    return of->base_mm + (of->tip_mm - of->base_mm) * share;
}

/* What of a leaning claw lies beyond a line that is `from_mm` from its axis at the girdle, on
 * the side away from the lean where `lean` is above zero, between two depths below the girdle. */
static double beyond_mm3(double radius_mm, double from_mm, double lean, double high_mm,
                         double low_mm)
{
    if (fabs(lean) < 1e-6) {
        return (low_mm - high_mm) * ts_slice_mm2(radius_mm, from_mm);
    }
    return (ts_hoof_mm3(radius_mm, from_mm + lean * high_mm) -
            ts_hoof_mm3(radius_mm, from_mm + lean * low_mm)) /
           lean;
}

/* The stone's room in a claw whose axis meets the girdle: under the crown's slope, beside the
 * girdle, and over the pavilion, which the claw leans towards. At a sharp corner the stone
 * takes less, by up to a half; that stays off all the same. */
static double notch_mm3(const head_lengths *of, ts_claw style)
{
    double radius_mm = claw_at_mm(of, style, 0.0) / 2.0;
    double lean = of->inset_mm / of->below_mm;
    double crown_slope = of->crown_mm / ((1.0 - TABLE) / 2.0 * of->width_mm);
    double pavilion_run = of->width_mm / 2.0 / of->pavilion_mm - lean;
    double sum_mm3 = crown_slope * ts_hoof_mm3(radius_mm, 0.0) +
                     beyond_mm3(radius_mm, 0.0, -lean, 0.0, of->girdle_mm);

    return pavilion_run > 0.0
               ? sum_mm3 + ts_hoof_mm3(radius_mm, -lean * of->girdle_mm) / pavilion_run
               : HUGE_VAL;
}

/* A notch through more than half of the claw is none: nothing would hold it. */
static double claw_mm3(const head_lengths *of, ts_claw style)
{
    double axis_mm = hypot(of->inset_mm, of->below_mm) + over_mm(of, style);
    double whole_mm3 =
        ts_frustum_mm3(of->base_mm, of->tip_mm, axis_mm) + ts_claw_tip_mm3(style, of->tip_mm);

    return whole_mm3 - fmin(whole_mm3 / 2.0, notch_mm3(of, style));
}

double ts_claws_in_plate_mm3(const ts_measuring *m, int head, double inner_mm, double high_mm,
                             double low_mm)
{
    const ts_head *part = &m->design->head[head];
    head_lengths of = lengths_of(m, part);
    double top_mm = fmax(0.0, high_mm), foot_mm = fmin(of.below_mm, low_mm);

    if (!(foot_mm > top_mm)) {
        return 0.0;
    }
    double radius_mm = claw_at_mm(&of, (ts_claw)part->claw_style, (top_mm + foot_mm) / 2.0) / 2.0;
    return m->out->heads[head].claws *
           beyond_mm3(radius_mm, inner_mm, of.inset_mm / of.below_mm, top_mm, foot_mm);
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
 * exact while the curve is no tighter than the tube), less what it shares with the claws. */
static double rail_mm3(const ts_outline *line, const head_lengths *of, double shared_mm3)
{
    double gross_mm3 = PI / 4.0 * of->rail_mm * of->rail_mm * ts_outline_length_mm(line);

    return fmax(0.0, gross_mm3 - shared_mm3);
}

static void measure_rails(ts_measuring *m, ts_head_shape *shape, const ts_head *head,
                          const head_lengths *of)
{
    const ts_outline *girdle = &m->outlines[head->holds_ref.index];
    ts_outline line;

    for (int i = 0; i < head->rails; i++) {
        double share = (double)i / head->rails;
        double inside_mm = of->inset_mm * (1.0 - share);
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
        double claw_mm = claw_at_mm(of, (ts_claw)head->claw_style, of->below_mm * (1.0 - share));
        double shared_mm3 = ts_crossing_mm3(claw_mm, of->rail_mm) * (i == 0 ? 0.5 : 1.0);
        shape->rails_mm3 += rail_mm3(&line, of, shape->claws * shared_mm3);
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

/* Claws need room beside each other at the girdle, where they are furthest apart. The two of a
 * double claw touch, and its neighbours count from the nearer one. */
static void judge_claws_apart(ts_measuring *m, const ts_head_shape *shape, const ts_head *head,
                              const head_lengths *of)
{
    double claw_mm = claw_at_mm(of, (ts_claw)head->claw_style, 0.0);
    double apart_mm = HUGE_VAL;

    for (int i = 0; i < shape->claw_spot_count; i++) {
        for (int k = 0; k < i; k++) {
            const ts_spot *one = &shape->claw_spots[i], *other = &shape->claw_spots[k];
            if (one->angle_rad != other->angle_rad) {
                apart_mm = fmin(apart_mm, hypot(one->x_mm - other->x_mm, one->y_mm - other->y_mm));
            }
        }
    }
    if (!(apart_mm < claw_mm - 1e-9)) {
        return;
    }
    ts_measuring_refuse(
        m, &head->part, TS_FIELD_HEAD_CLAW_DIAMETER,
        ts_arena_format(m->arena,
                        "%s: %d claws that are %s mm thick at the girdle run into each other round "
                        "this stone, which leaves %s mm from one to the next; thinner or fewer "
                        "claws fit",
                        ts_measuring_title(m, &head->part), head->claws,
                        ts_measuring_mm(m, claw_mm), ts_measuring_mm(m, apart_mm)));
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
    judge_claws_apart(m, shape, head, &of);
    measure_claws(shape, head, &of, at_corner);
    measure_rails(m, shape, head, &of);
}
