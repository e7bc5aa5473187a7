#include "geometry/measuring.h"

#include <math.h>
#include <stdlib.h>

/* Rows on one shank keep apart.
 *
 * A row is laid out by itself; two of them may be asked for the same metal. Girdles of stones
 * that face the same way lie in nearly one plane where they are close, so two such stones meet
 * where their centres are nearer than their radii. (A row that faces out and one that faces the
 * side meet, if at all, below the girdles, which is a matter of the bench.) Stones are gone
 * through by height over the finger, so that each is compared with those at its own height only. */

#define PI 3.14159265358979323846
#define TOUCHING_MM 1e-6

typedef struct standing {
    const ts_spot *spot;
    int row;
} standing;

static int by_height(const void *one, const void *other)
{
    const standing *a = one;
    const standing *b = other;

    if (a->spot->z_mm != b->spot->z_mm) {
        return a->spot->z_mm < b->spot->z_mm ? -1 : 1;
    }
    return (a->row > b->row) - (a->row < b->row);
}

static bool meet(const ts_spot *one, const ts_spot *other)
{
    double x_mm = one->x_mm - other->x_mm, y_mm = one->y_mm - other->y_mm;
    double apart_mm = hypot(hypot(x_mm, y_mm), one->z_mm - other->z_mm);

    return apart_mm < (one->diameter_mm + other->diameter_mm) / 2.0 - TOUCHING_MM;
}

/* The arc that a row takes on its shoulder, the edges of its stones included. */
static void arc_of(const ts_measuring *m, const ts_row_shape *row, double *from_rad, double *to_rad)
{
    *from_rad = PI;
    *to_rad = 0.0;
    for (int i = 0; i < row->stones; i++) {
        const ts_spot *spot = &row->spots[i];
        double radius_mm = hypot(spot->x_mm, spot->z_mm + m->band.bore_radius_mm);
        double half_rad = asin(fmin(1.0, spot->diameter_mm / 2.0 / radius_mm));
        *from_rad = fmin(*from_rad, fabs(spot->angle_rad) - half_rad);
        *to_rad = fmax(*to_rad, fabs(spot->angle_rad) + half_rad);
    }
}

static const char *degrees(const ts_measuring *m, double angle_rad)
{
    return ts_measuring_mm(m, angle_rad * 180.0 / PI);
}

static void refuse(ts_measuring *m, int later, int earlier, const ts_spot *at)
{
    const ts_part *part = &m->design->row[later].part;
    const char *other = ts_measuring_title(m, &m->design->row[earlier].part);
    double from_rad, to_rad;

    arc_of(m, &m->out->rows[earlier], &from_rad, &to_rad);
    ts_measuring_refuse(m, part, TS_FIELD_ROW_FROM,
                        ts_arena_format(m->arena,
                                        "%s: its stone at %s deg stands where one of %s does, "
                                        "which takes %s to %s deg; a row that ends before that or "
                                        "begins after it is clear of it",
                                        ts_measuring_title(m, part),
                                        degrees(m, fabs(at->angle_rad)), other,
                                        degrees(m, from_rad), degrees(m, to_rad)));
}

static bool may_meet(const ts_measuring *m, const standing *one, const standing *other)
{
    return one->row != other->row && (m->design->row[one->row].faces == TS_FACES_SIDE) ==
                                         (m->design->row[other->row].faces == TS_FACES_SIDE);
}

/* One fault for each row that meets an earlier one. */
static void judge(ts_measuring *m, const standing *all, size_t count, double reach_mm)
{
    bool *is_refused = TS_ARRAY(m->arena, bool, (size_t)m->design->row_count);

    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; k < count && all[k].spot->z_mm - all[i].spot->z_mm < reach_mm; k++) {
            const standing *later = all[i].row > all[k].row ? &all[i] : &all[k];
            const standing *earlier = later == &all[i] ? &all[k] : &all[i];
            if (is_refused[later->row] || !may_meet(m, later, earlier) ||
                !meet(later->spot, earlier->spot)) {
                continue;
            }
            is_refused[later->row] = true;
            refuse(m, later->row, earlier->row, later->spot);
        }
    }
}

void ts_band_rows_judge(ts_measuring *m)
{
    size_t count = 0, stones = 0;
    double reach_mm = 0.0;

    if (m->design->row_count < 2) {
        return;
    }
    for (int i = 0; i < m->design->row_count; i++) {
        stones += (size_t)m->out->rows[i].stones;
    }
    standing *all = TS_ARRAY(m->arena, standing, stones + 1);
    for (int i = 0; i < m->design->row_count; i++) {
        for (int k = 0; k < m->out->rows[i].stones; k++) {
            const ts_spot *spot = &m->out->rows[i].spots[k];
            all[count++] = (standing){spot, i};
            reach_mm = fmax(reach_mm, spot->diameter_mm);
        }
    }
    qsort(all, count, sizeof *all, by_height);
    judge(m, all, count, reach_mm);
}
