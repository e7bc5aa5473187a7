#include "papers/subject.h"

#include "geometry/measuring.h"

#include <math.h>

/* What a drawing needs that measuring does not hand on: outlines and the band, formed anew by
 * geometry's own functions from the measurements that it reported. And where the further
 * copies of a part stand, of which geometry places the first. */

#define FAR_MM 80.0 /* from the middle: what lies beside the ring further off is not shown */

ts_subject ts_subject_of(ts_arena *arena, const ts_drawing_ask *ask)
{
    const ts_design *design = ask->design;
    ts_geometry scratch = *ask->geometry;
    ts_measuring m = {.out = &scratch, .arena = arena, .design = design};
    ts_subject subject = {
        .arena = arena, .design = design, .geometry = ask->geometry, .quantities = ask->quantities};

    ts_band_measure(&m);
    subject.band = m.band;
    subject.has_band = m.has_band;
    subject.outlines = TS_ARRAY(arena, ts_outline, (size_t)design->stone_count + 1);
    for (int i = 0; i < design->stone_count; i++) {
        const ts_stone_shape *shape = &ask->geometry->stones[i];
        if (!ts_outline_of(&subject.outlines[i], (ts_shape)design->stone[i].shape, shape->length_mm,
                           shape->width_mm, ts_dec_double(design->stone[i].corner))) {
            subject.outlines[i].count = 0;
        }
    }
    return subject;
}

bool ts_subject_stands(const ts_subject *subject, int stone, int copy)
{
    const ts_spot *spot = &subject->geometry->stones[stone].spots[copy];

    return subject->design->stone[stone].beside_ref.kind != TS_PART_NONE ||
           (spot->x_mm == 0.0 && spot->y_mm == 0.0);
}

bool ts_subject_is_scattered(const ts_subject *subject, int stone)
{
    const ts_stone *of = &subject->design->stone[stone];

    return subject->has_band && of->beside_ref.kind == TS_PART_NONE && of->copies > 1;
}

bool ts_subject_shows(const ts_subject *subject, int stone, int copy)
{
    const ts_spot *spot = &subject->geometry->stones[stone].spots[copy];

    return subject->outlines[stone].count > 0 && !ts_subject_is_scattered(subject, stone) &&
           fabs(spot->x_mm) <= FAR_MM && fabs(spot->y_mm) <= FAR_MM;
}

double ts_subject_outer_mm(const ts_subject *subject, int stone)
{
    double outer_mm = 0.0;

    for (int h = 0; h < subject->design->halo_count; h++) {
        if (subject->design->halo[h].stone_ref.index == stone) {
            outer_mm = fmax(outer_mm, subject->geometry->halos[h].outer_mm);
        }
    }
    for (int b = 0; b < subject->design->bezel_count; b++) {
        if (subject->design->bezel[b].holds_ref.index == stone) {
            outer_mm = fmax(outer_mm, ts_dec_double(subject->design->bezel[b].wall));
        }
    }
    return outer_mm;
}

bool ts_subject_reach(const ts_subject *subject, int stone, int copy, double offset_mm, ts_box *box)
{
    return ts_sketch_reach(&subject->outlines[stone], offset_mm,
                           &subject->geometry->stones[stone].spots[copy],
                           ts_subject_is_mirrored(subject, stone, copy), box);
}

bool ts_subject_box(const ts_subject *subject, ts_box *box)
{
    bool has_box = false;
    ts_box own;

    for (int i = 0; i < subject->design->stone_count; i++) {
        for (int copy = 0; copy < subject->design->stone[i].copies; copy++) {
            if (ts_subject_shows(subject, i, copy) && ts_subject_stands(subject, i, copy) &&
                ts_subject_reach(subject, i, copy, ts_subject_outer_mm(subject, i), &own)) {
                ts_sketch_widen(box, &has_box, (ts_xy){own.left_mm, own.bottom_mm});
                ts_sketch_widen(box, &has_box, (ts_xy){own.right_mm, own.top_mm});
            }
        }
    }
    return has_box;
}

bool ts_subject_is_mirrored(const ts_subject *subject, int stone, int copy)
{
    return subject->design->stone[stone].beside_ref.kind != TS_PART_NONE && copy % 2 == 1;
}

ts_spot ts_subject_spot(const ts_subject *subject, int stone, int copy, const ts_spot *first)
{
    const ts_spot *from = &subject->geometry->stones[stone].spots[0];
    const ts_spot *to = &subject->geometry->stones[stone].spots[copy];
    bool mirrored = ts_subject_is_mirrored(subject, stone, copy);
    double cosine = cos(from->angle_rad), sine = sin(from->angle_rad);
    double x_mm = first->x_mm - from->x_mm, y_mm = first->y_mm - from->y_mm;
    ts_xy own = {x_mm * cosine + y_mm * sine, y_mm * cosine - x_mm * sine};
    ts_spot spot = *first;

    if (copy == 0) {
        return spot;
    }
    ts_xy at = ts_sketch_put(to, mirrored, own);
    double turn_rad = first->angle_rad - from->angle_rad;
    spot.x_mm = at.x_mm;
    spot.y_mm = at.y_mm;
    spot.z_mm = first->z_mm - from->z_mm + to->z_mm;
    spot.angle_rad = to->angle_rad + (mirrored ? -turn_rad : turn_rad);
    return spot;
}
