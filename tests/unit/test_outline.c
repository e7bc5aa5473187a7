/* Outlines of the twelve shapes and their parallels: against closed forms, a quadrature and a
 * buffering program (tests/reference/outlines.csv), and against what a parallel is. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/ellipse.h"
#include "geometry/outline.h"
#include "table.h"

#define PI 3.14159265358979323846
#define RANDOM_OUTLINES 3000

static uint64_t seed;

static double at_random(double least, double most)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return least + (most - least) * (double)(seed >> 11) / 9007199254740992.0;
}

static void assert_near(double found, double wanted, double within, const char *what)
{
    if (!(fabs(found - wanted) <= within)) {
        fail_msg("%s: found %.15g, wanted %.15g within %g", what, found, wanted, within);
    }
}

/* An outline of any shape that can be made, sizes 0.5 to 20 mm. */
static ts_shape outline_at_random(ts_outline *out, double *size_mm)
{
    for (;;) {
        ts_shape shape = (ts_shape)(1 + (int)at_random(0.0, TS_SHAPE_COUNT - 1.0));
        double width_mm = at_random(0.5, 20.0);
        double length_mm = width_mm * at_random(0.7, 2.2);
        if (shape == TS_SHAPE_ROUND) {
            length_mm = width_mm * at_random(1.0, 1.099);
        }
        double corner_mm = at_random(0.0, 0.5) * fmin(length_mm, width_mm);
        if (ts_outline_of(out, shape, length_mm, width_mm, corner_mm)) {
            *size_mm = fmax(length_mm, width_mm);
            return shape;
        }
    }
}

static bool is_convex(ts_shape shape)
{
    return shape != TS_SHAPE_HEART;
}

static void lengths_and_areas_agree_with_the_reference(void **state)
{
    (void)state;
    table *outlines = table_open("tests/reference/outlines.csv");
    int vanished = 0;

    for (const table_row *row; (row = table_next(outlines)) != NULL;) {
        int shape = ts_list_find(TS_LIST_SHAPE, table_text(row, "shape"));
        double curve_mm = table_number(row, "curve_mm"), area_mm2 = table_number(row, "area_mm2");
        ts_outline stone, curve;
        char what[64];

        snprintf(what, sizeof what, "outlines.csv line %d", table_line(row));
        assert_true(ts_outline_of(&stone, (ts_shape)shape, table_number(row, "length_mm"),
                                  table_number(row, "width_mm"), table_number(row, "corner_mm")));
        bool is_left = ts_outline_parallel(&curve, &stone, table_number(row, "offset_mm"));
        if (curve_mm == 0.0) {
            assert_false(is_left);
            assert_int_equal(curve.fault, TS_OUTLINE_FAULT_VANISHED);
            assert_int_equal(curve.count, 0);
            vanished++;
            continue;
        }
        if (!is_left) {
            fail_msg("%s: no parallel, fault %d", what, (int)curve.fault);
        }
        bool is_absolute = table_given(row, "within");
        double within = table_number(row, is_absolute ? "within" : "relative");
        assert_near(ts_outline_length_mm(&curve), curve_mm,
                    is_absolute ? within : within * curve_mm, what);
        assert_near(ts_outline_area_mm2(&curve), area_mm2, is_absolute ? within : within * area_mm2,
                    what);
    }
    assert_true(vanished >= 10);
    table_close(outlines);
}

static void measurements_that_give_no_outline_are_refused_with_the_reason(void **state)
{
    (void)state;
    static const struct {
        ts_shape shape;
        double length_mm, width_mm, corner_mm;
        ts_outline_fault fault;
    } cases[] = {
        {TS_SHAPE_ROUND, 6.5, 5.9, 0.0, TS_OUTLINE_FAULT_ROUND},
        {TS_SHAPE_ROUND, 5.9, 6.5, 0.0, TS_OUTLINE_FAULT_ROUND},
        {TS_SHAPE_ROUND, 6.6, 6.0, 0.0, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_PEAR, 5.9, 6.0, 0.0, TS_OUTLINE_FAULT_SHORT},
        {TS_SHAPE_PEAR, 6.0, 6.0, 0.0, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_MARQUISE, 4.9, 5.0, 0.0, TS_OUTLINE_FAULT_SHORT},
        {TS_SHAPE_HEART, 4.4, 6.0, 0.0, TS_OUTLINE_FAULT_SHORT},
        {TS_SHAPE_HEART, 4.5, 6.0, 0.0, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_TRILLION, 7.0, 6.0, 0.0, TS_OUTLINE_FAULT_LONG},
        {TS_SHAPE_TRILLION, 6.9, 6.0, 0.0, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_CUSHION, 7.0, 6.0, 3.1, TS_OUTLINE_FAULT_CORNER},
        {TS_SHAPE_CUSHION, 7.0, 6.0, 3.0, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_EMERALD, 8.0, 6.0, -0.1, TS_OUTLINE_FAULT_CORNER},
        {TS_SHAPE_ASSCHER, 6.0, 6.0, (double)NAN, TS_OUTLINE_FAULT_CORNER},
        {TS_SHAPE_PRINCESS, 5.5, 5.5, (double)NAN, TS_OUTLINE_FAULT_NONE},
        {TS_SHAPE_OVAL, 0.0, 6.0, 0.0, TS_OUTLINE_FAULT_SIZE},
        {TS_SHAPE_OVAL, 8.0, -6.0, 0.0, TS_OUTLINE_FAULT_SIZE},
        {TS_SHAPE_OVAL, (double)NAN, 6.0, 0.0, TS_OUTLINE_FAULT_SIZE},
        {TS_SHAPE_OVAL, 8.0, (double)INFINITY, 0.0, TS_OUTLINE_FAULT_SIZE},
        {TS_SHAPE_NONE, 8.0, 6.0, 0.0, TS_OUTLINE_FAULT_SIZE},
        {TS_SHAPE_COUNT, 8.0, 6.0, 0.0, TS_OUTLINE_FAULT_SIZE},
    };

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ts_outline out, curve;
        bool made = ts_outline_of(&out, cases[i].shape, cases[i].length_mm, cases[i].width_mm,
                                  cases[i].corner_mm);

        assert_int_equal(made, cases[i].fault == TS_OUTLINE_FAULT_NONE);
        assert_int_equal(out.fault, cases[i].fault);
        if (!made) {
            assert_int_equal(out.count, 0);
            assert_false(ts_outline_parallel(&curve, &out, 1.0));
            assert_int_equal(curve.fault, cases[i].fault);
        }
    }
}

static void offsets_that_are_no_numbers_are_refused(void **state)
{
    (void)state;
    ts_outline out, curve;

    assert_true(ts_outline_of(&out, TS_SHAPE_PEAR, 9.0, 6.0, 0.0));
    assert_false(ts_outline_parallel(&curve, &out, (double)NAN));
    assert_int_equal(curve.fault, TS_OUTLINE_FAULT_SIZE);
    assert_false(ts_outline_parallel(&curve, &out, -HUGE_VAL));
    assert_int_equal(curve.fault, TS_OUTLINE_FAULT_SIZE);
    assert_false(ts_outline_parallel(&curve, &out, -1e6));
    assert_int_equal(curve.fault, TS_OUTLINE_FAULT_VANISHED);
}

/* Starts on the axis at the top, closes, turns its left to the inside, and is its own mirror
 * image. */
static void assert_is_a_chain(const ts_outline *outline, double size_mm)
{
    int count = outline->count;

    assert_true(count >= 2 && count <= TS_OUTLINE_MOST && count % 2 == 0);
    assert_near(outline->pieces[0].from.x_mm, 0.0, 1e-8 * size_mm, "start on the axis");
    assert_near(outline->pieces[count / 2].from.x_mm, 0.0, 1e-8 * size_mm, "foot on the axis");
    assert_true(outline->pieces[0].from.y_mm > outline->pieces[count / 2].from.y_mm);
    for (int i = 0; i < count; i++) {
        const ts_piece *piece = &outline->pieces[i], *next = &outline->pieces[(i + 1) % count];
        ts_xy here, mirrored;
        double share = at_random(0.0, 1.0);

        assert_near(hypot(piece->to.x_mm - next->from.x_mm, piece->to.y_mm - next->from.y_mm), 0.0,
                    1e-8 * size_mm, "pieces join");
        ts_piece_at(piece, share, &here, NULL);
        ts_piece_at(&outline->pieces[count - 1 - i], 1.0 - share, &mirrored, NULL);
        assert_near(mirrored.x_mm, -here.x_mm, 1e-11 * size_mm, "mirrored x");
        assert_near(mirrored.y_mm, here.y_mm, 1e-11 * size_mm, "mirrored y");
    }
}

/* Area of the polygon through points of every piece: what Green's theorem is checked with. */
static double sampled_area_mm2(const ts_outline *outline, int samples)
{
    double twice_mm2 = 0.0;

    for (int i = 0; i < outline->count; i++) {
        for (int k = 0; k < samples; k++) {
            ts_xy a, b;
            ts_piece_at(&outline->pieces[i], (double)k / samples, &a, NULL);
            ts_piece_at(&outline->pieces[i], (double)(k + 1) / samples, &b, NULL);
            twice_mm2 += a.x_mm * b.y_mm - a.y_mm * b.x_mm;
        }
    }
    return 0.5 * twice_mm2;
}

static void every_outline_and_parallel_is_a_closed_symmetric_chain(void **state)
{
    (void)state;
    seed = 20250301;
    for (int i = 0; i < RANDOM_OUTLINES; i++) {
        ts_outline outline, curve;
        double size_mm;

        outline_at_random(&outline, &size_mm);
        assert_is_a_chain(&outline, size_mm);
        assert_near(ts_outline_area_mm2(&outline), sampled_area_mm2(&outline, 400),
                    2e-5 * size_mm * size_mm, "area of the polygon inside");
        if (ts_outline_parallel(&curve, &outline, at_random(-0.4, 0.4) * size_mm)) {
            assert_is_a_chain(&curve, size_mm);
        } else {
            assert_int_equal(curve.fault, TS_OUTLINE_FAULT_VANISHED);
        }
    }
}

static void every_point_of_a_parallel_lies_at_the_offset(void **state)
{
    (void)state;
    int inside = 0;

    seed = 20250302;
    for (int i = 0; i < RANDOM_OUTLINES; i++) {
        ts_outline outline, curve;
        double size_mm;

        outline_at_random(&outline, &size_mm);
        double offset_mm = at_random(-0.4, 0.4) * size_mm;
        if (!ts_outline_parallel(&curve, &outline, offset_mm)) {
            continue;
        }
        inside += offset_mm < 0.0 ? 1 : 0;
        for (int k = 0; k < curve.count; k++) {
            ts_xy point;
            ts_piece_at(&curve.pieces[k], at_random(0.0, 1.0), &point, NULL);
            assert_near(ts_outline_distance_mm(&outline, point), offset_mm, 1e-9 * size_mm,
                        "distance of a parallel's point");
        }
    }
    assert_true(inside > RANDOM_OUTLINES / 5);
}

/* The area grows by the length for every mm of offset (Steiner), also where pieces vanish and
 * corners are cut, so nothing of the parallel is missing and nothing is there twice. */
static void the_area_grows_with_the_offset_by_the_length(void **state)
{
    (void)state;
    seed = 20250303;
    for (int i = 0; i < RANDOM_OUTLINES; i++) {
        ts_outline outline, inner, outer;
        double size_mm;

        outline_at_random(&outline, &size_mm);
        double offset_mm = at_random(-0.4, 0.4) * size_mm, step_mm = 1e-6 * size_mm;
        if (!ts_outline_parallel(&inner, &outline, offset_mm - step_mm) ||
            !ts_outline_parallel(&outer, &outline, offset_mm + step_mm)) {
            continue;
        }
        double one_mm = ts_outline_length_mm(&inner), other_mm = ts_outline_length_mm(&outer);
        double growth_mm =
            (ts_outline_area_mm2(&outer) - ts_outline_area_mm2(&inner)) / (2.0 * step_mm);
        if (growth_mm < fmin(one_mm, other_mm) - 1e-7 * size_mm ||
            growth_mm > fmax(one_mm, other_mm) + 1e-7 * size_mm) {
            fail_msg("outline %d: area grows by %.12g, lengths %.12g and %.12g", i, growth_mm,
                     one_mm, other_mm);
        }
    }
}

static void an_inside_that_vanishes_holds_no_point_so_deep(void **state)
{
    (void)state;
    int vanished = 0;

    seed = 20250304;
    for (int i = 0; i < RANDOM_OUTLINES; i++) {
        ts_outline outline, curve;
        double size_mm;

        outline_at_random(&outline, &size_mm);
        double offset_mm = -at_random(0.2, 0.5) * size_mm;
        if (ts_outline_parallel(&curve, &outline, offset_mm)) {
            continue;
        }
        vanished++;
        assert_int_equal(curve.fault, TS_OUTLINE_FAULT_VANISHED);
        ts_box box = ts_outline_extent(&outline);
        for (int k = 0; k < 20; k++) {
            ts_xy point = {at_random(0.0, 0.2) * box.right_mm,
                           at_random(box.bottom_mm, box.top_mm)};
            assert_true(ts_outline_distance_mm(&outline, point) > offset_mm - 1e-9 * size_mm);
        }
    }
    assert_true(vanished > 200);
}

static void a_parallel_of_a_parallel_is_the_parallel_of_the_sum(void **state)
{
    (void)state;
    int compared = 0;

    seed = 20250305;
    for (int i = 0; i < RANDOM_OUTLINES; i++) {
        ts_outline outline, first, second, sum;
        double size_mm;
        ts_shape shape = outline_at_random(&outline, &size_mm);
        double way = i % 2 == 0 ? 1.0 : -1.0;
        double one_mm = way * at_random(0.0, 0.2) * size_mm;
        double other_mm = way * at_random(0.0, 0.2) * size_mm;

        if (!is_convex(shape)) {
            continue;
        }
        bool has_sum = ts_outline_parallel(&sum, &outline, one_mm + other_mm);
        bool has_steps = ts_outline_parallel(&first, &outline, one_mm) &&
                         ts_outline_parallel(&second, &first, other_mm);
        assert_int_equal(has_sum, has_steps);
        if (has_sum) {
            compared++;
            assert_near(ts_outline_length_mm(&second), ts_outline_length_mm(&sum), 1e-9 * size_mm,
                        "length in two steps");
            assert_near(ts_outline_area_mm2(&second), ts_outline_area_mm2(&sum),
                        1e-9 * size_mm * size_mm, "area in two steps");
        }
    }
    assert_true(compared > RANDOM_OUTLINES / 2);
}

static void out_and_back_in_gives_the_convex_outline_again(void **state)
{
    (void)state;
    seed = 20250306;
    for (int i = 0; i < 500; i++) {
        ts_outline outline, out, back;
        double size_mm;
        ts_shape shape = outline_at_random(&outline, &size_mm);
        double offset_mm = at_random(0.01, 0.5) * size_mm;

        if (!is_convex(shape)) {
            continue;
        }
        assert_true(ts_outline_parallel(&out, &outline, offset_mm));
        assert_true(ts_outline_parallel(&back, &out, -offset_mm));
        assert_int_equal(back.count, outline.count);
        assert_near(ts_outline_length_mm(&back), ts_outline_length_mm(&outline), 1e-9 * size_mm,
                    "length there and back");
    }
}

static void pieces_that_vanish_are_named(void **state)
{
    (void)state;
    static const struct {
        ts_shape shape;
        double length_mm, width_mm, corner_mm, offset_mm;
        ts_piece_name gone; /* NONE: all stay */
        const char *word;
    } cases[] = {
        {TS_SHAPE_CUSHION, 7.0, 7.0, 1.0, -0.9, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_CUSHION, 7.0, 7.0, 1.0, -1.2, TS_PIECE_NAME_CORNER, "corner"},
        /* a cut's leg of 1.0 shortens by 2 - sqrt 2 for each mm: gone beyond 1.7071 */
        {TS_SHAPE_EMERALD, 8.0, 6.0, 1.0, -1.70, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_EMERALD, 8.0, 6.0, 1.0, -1.71, TS_PIECE_NAME_CORNER, "corner"},
        /* an end of 0.2 between cuts shortens by 2 (sqrt 2 - 1) a mm: gone beyond 0.2414 */
        {TS_SHAPE_RADIANT, 8.0, 6.0, 2.9, -0.24, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_RADIANT, 8.0, 6.0, 2.9, -0.25, TS_PIECE_NAME_END, "end"},
        {TS_SHAPE_PEAR, 9.0, 6.0, 0.0, -2.6, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_OVAL, 8.0, 6.0, 0.0, -2.9, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_HEART, 6.0, 6.0, 0.0, -1.4, TS_PIECE_NAME_NONE, ""},
        {TS_SHAPE_HEART, 6.0, 6.0, 0.0, -1.55, TS_PIECE_NAME_LOBE, "lobe"},
        {TS_SHAPE_EMERALD, 8.0, 6.0, 1.0, 3.0, TS_PIECE_NAME_NONE, ""},
    };

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ts_outline outline, curve;

        assert_true(ts_outline_of(&outline, cases[i].shape, cases[i].length_mm, cases[i].width_mm,
                                  cases[i].corner_mm));
        assert_true(ts_outline_parallel(&curve, &outline, cases[i].offset_mm));
        for (int k = 0; k < outline.count / 2; k++) {
            bool is_gone = (curve.vanished >> k & 1UL) != 0;
            bool goes =
                cases[i].gone != TS_PIECE_NAME_NONE && outline.pieces[k].name == cases[i].gone;
            assert_int_equal(is_gone, goes);
        }
        assert_int_equal(curve.vanished >> (outline.count / 2), 0);
        assert_string_equal(ts_piece_name_word(cases[i].gone), cases[i].word);
    }
    assert_string_equal(ts_piece_name_word(TS_PIECE_NAME_COUNT), "");
}

static void extents_are_those_of_the_stone_and_its_margin(void **state)
{
    (void)state;
    static const struct {
        ts_shape shape;
        double length_mm, width_mm, corner_mm, offset_mm, right_mm, bottom_mm, top_mm;
    } cases[] = {
        {TS_SHAPE_ROUND, 6.4, 6.6, 0.0, 0.0, 3.25, -3.25, 3.25},
        {TS_SHAPE_OVAL, 8.0, 6.0, 0.0, 0.5, 3.5, -4.5, 4.5},
        {TS_SHAPE_PEAR, 9.0, 6.0, 0.0, 0.5, 3.5, -5.0, 5.0},
        {TS_SHAPE_MARQUISE, 10.0, 5.0, 0.0, 0.0, 2.5, -5.0, 5.0},
        {TS_SHAPE_CUSHION, 8.0, 7.0, 1.0, 0.3, 3.8, -4.3, 4.3},
        {TS_SHAPE_EMERALD, 8.0, 6.0, 1.0, -0.5, 2.5, -3.5, 3.5},
        {TS_SHAPE_HEART, 6.0, 6.2, 0.0, 0.4, 3.5, -3.4, 3.4},
        {TS_SHAPE_BAGUETTE, 4.0, 2.0, 0.0, 0.0, 1.0, -2.0, 2.0},
        /* straight: W/2, and W sqrt(3)/4 either way */
        {TS_SHAPE_TRILLION, 5.0, 6.0, 0.0, 0.0, 3.0, -2.598076211353316, 2.598076211353316},
        {TS_SHAPE_TRILLION, 6.0, 6.3, 0.0, 0.2, 3.35, -3.2, 3.2},
    };

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ts_outline outline, curve;

        assert_true(ts_outline_of(&outline, cases[i].shape, cases[i].length_mm, cases[i].width_mm,
                                  cases[i].corner_mm));
        assert_true(ts_outline_parallel(&curve, &outline, cases[i].offset_mm));
        ts_box box = ts_outline_extent(&curve);
        assert_near(box.right_mm, cases[i].right_mm, 1e-12, "right");
        assert_near(box.left_mm, -cases[i].right_mm, 1e-12, "left");
        assert_near(box.bottom_mm, cases[i].bottom_mm, 1e-12, "bottom");
        assert_near(box.top_mm, cases[i].top_mm, 1e-12, "top");
    }
}

static void a_walk_by_arc_length_passes_the_known_places(void **state)
{
    (void)state;
    ts_outline outline;
    ts_xy point, way;

    assert_true(ts_outline_of(&outline, TS_SHAPE_OVAL, 8.0, 6.0, 0.0));
    double whole_mm = ts_outline_length_mm(&outline);
    ts_outline_at(&outline, whole_mm / 4.0, &point, &way);
    assert_near(point.x_mm, -3.0, 1e-12, "a quarter round an oval, x");
    assert_near(point.y_mm, 0.0, 1e-12, "a quarter round an oval, y");
    assert_near(way.y_mm, -1.0, 1e-12, "down the left side");
    ts_outline_at(&outline, -whole_mm / 4.0, &point, &way);
    assert_near(point.x_mm, 3.0, 1e-12, "a quarter back");
    ts_outline_at(&outline, 2.5 * whole_mm, &point, NULL);
    assert_near(point.y_mm, -4.0, 1e-12, "two rounds and a half");

    assert_true(ts_outline_of(&outline, TS_SHAPE_PRINCESS, 5.5, 5.5, 0.0));
    ts_outline_at(&outline, 2.75 + 1.0, &point, &way);
    assert_near(point.x_mm, -2.75, 1e-12, "past the corner, x");
    assert_near(point.y_mm, 1.75, 1e-12, "past the corner, y");
}

/* Equal parts by arc length cut chords that add up to the length from below. */
static void arc_lengths_measure_the_curve(void **state)
{
    (void)state;
    seed = 20250307;
    for (int i = 0; i < 40; i++) {
        ts_outline outline, curve;
        double size_mm, sum_mm = 0.0;
        const int parts = 2000;

        outline_at_random(&outline, &size_mm);
        if (!ts_outline_parallel(&curve, &outline, at_random(-0.2, 0.3) * size_mm)) {
            continue;
        }
        double whole_mm = ts_outline_length_mm(&curve);
        ts_xy before = curve.pieces[0].from;
        for (int k = 1; k <= parts; k++) {
            ts_xy point;
            ts_outline_at(&curve, whole_mm * k / parts, &point, NULL);
            double chord_mm = hypot(point.x_mm - before.x_mm, point.y_mm - before.y_mm);
            assert_true(chord_mm <= whole_mm / parts * (1.0 + 1e-9));
            sum_mm += chord_mm;
            before = point;
        }
        assert_near(sum_mm, whole_mm, 2e-3 * whole_mm, "chords of equal parts");
    }
}

static void rays_from_the_middle_meet_the_outline(void **state)
{
    (void)state;
    ts_outline outline;
    ts_xy point, way;

    assert_true(ts_outline_of(&outline, TS_SHAPE_BAGUETTE, 5.0, 2.0, 0.0));
    assert_true(ts_outline_towards(&outline, 0.0, &point, NULL));
    assert_near(point.y_mm, 2.5, 1e-12, "along the length");
    assert_true(ts_outline_towards(&outline, PI / 4.0, &point, &way));
    assert_near(point.x_mm, -1.0, 1e-12, "counter-clockwise, x");
    assert_near(point.y_mm, 1.0, 1e-12, "counter-clockwise, y");
    assert_near(way.y_mm, -1.0, 1e-12, "along the left side");

    seed = 20250308;
    for (int i = 0; i < 500; i++) {
        double size_mm, angle_rad = at_random(-4.0, 8.0);

        outline_at_random(&outline, &size_mm);
        assert_true(ts_outline_towards(&outline, angle_rad, &point, NULL));
        assert_near(ts_outline_distance_mm(&outline, point), 0.0, 1e-9 * size_mm, "on it");
        double out_mm = hypot(point.x_mm, point.y_mm);
        assert_near(-sin(angle_rad) * out_mm, point.x_mm, 1e-9 * size_mm, "the way asked, x");
        assert_near(cos(angle_rad) * out_mm, point.y_mm, 1e-9 * size_mm, "the way asked, y");
    }
}

static void distances_are_negative_inside(void **state)
{
    (void)state;
    ts_outline outline;

    assert_true(ts_outline_of(&outline, TS_SHAPE_PRINCESS, 6.0, 4.0, 0.0));
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, 0.0}), -2.0, 1e-12, "middle");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){1.5, 2.0}), -0.5, 1e-12, "right");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){-5.0, 7.0}), 5.0, 1e-12, "corner");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){5.0, -7.0}), 5.0, 1e-12, "far corner");

    /* a heart's cleft at (0, -1.5): points under it lie outside, points over it inside */
    assert_true(ts_outline_of(&outline, TS_SHAPE_HEART, 6.0, 6.0, 0.0));
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, -1.5}), 0.0, 1e-12, "cleft");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, -1.0}), -0.5, 1e-12, "over it");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, -3.0}),
                sqrt(1.5 * 1.5 + 1.5 * 1.5) - 1.5, 1e-12, "under it");

    /* an oval's middle of curvature, w^2/l = 2.25 above the end: the foot is the end itself */
    assert_true(ts_outline_of(&outline, TS_SHAPE_OVAL, 8.0, 6.0, 0.0));
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, 1.75}), -2.25, 1e-12, "evolute");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){0.0, 0.0}), -3.0, 1e-12, "centre");
    assert_near(ts_outline_distance_mm(&outline, (ts_xy){7.0, 0.0}), 4.0, 1e-12, "beside");
}

static void circles_are_known_as_circles(void **state)
{
    (void)state;
    ts_outline outline, curve;
    double radius_mm = 0.0;

    assert_true(ts_outline_of(&outline, TS_SHAPE_ROUND, 6.4, 6.6, 0.0));
    assert_true(ts_outline_parallel(&curve, &outline, 0.75));
    assert_true(ts_outline_is_circle(&curve, &radius_mm));
    assert_near(radius_mm, 4.0, 1e-14, "radius of a round's parallel");
    assert_true(ts_outline_of(&outline, TS_SHAPE_OVAL, 6.5, 6.5, 0.0));
    assert_true(ts_outline_is_circle(&outline, &radius_mm));
    assert_true(ts_outline_of(&outline, TS_SHAPE_CUSHION, 6.5, 6.5, 3.25));
    assert_true(ts_outline_is_circle(&outline, &radius_mm));
    assert_true(ts_outline_of(&outline, TS_SHAPE_PEAR, 9.0, 6.0, 0.0));
    assert_false(ts_outline_is_circle(&outline, &radius_mm));
}

/* Where both half axes are one, the arc is the angle; and of any ellipse the parts of a turn
 * add up. */
static void ellipse_arcs_add_up(void **state)
{
    (void)state;
    seed = 20250309;
    for (int i = 0; i < 1000; i++) {
        double w_mm = at_random(0.1, 10.0), l_mm = at_random(0.1, 10.0);
        double t_rad = at_random(-10.0, 10.0);

        assert_near(ts_ellipse_arc_mm(2.0, 2.0, t_rad), 2.0 * t_rad, 1e-13, "circle");
        assert_near(ts_ellipse_arc_mm(w_mm, l_mm, t_rad) +
                        ts_ellipse_arc_mm(l_mm, w_mm, PI / 2.0 - t_rad),
                    ts_ellipse_arc_mm(w_mm, l_mm, PI / 2.0), 1e-12 * (w_mm + l_mm), "quarter");
        assert_near(ts_ellipse_arc_mm(w_mm, l_mm, t_rad + 2.0 * PI) -
                        ts_ellipse_arc_mm(w_mm, l_mm, t_rad),
                    4.0 * ts_ellipse_arc_mm(w_mm, l_mm, PI / 2.0), 1e-12 * (w_mm + l_mm), "turn");
    }
}

/* Both ends of each axis of every shape, where pieces meet; half measures by definition. */
static void every_shape_answers_towards_its_axes(void **state)
{
    (void)state;
    for (int shape = TS_SHAPE_ROUND; shape < TS_SHAPE_COUNT; shape++) {
        ts_outline outline;
        double corner_mm = ts_shape_corner((ts_shape)shape) == TS_CORNER_NONE ? 0.0 : 1.0;
        double length_mm = shape == TS_SHAPE_ROUND ? 6.0 : 6.4;
        double width_mm = shape == TS_SHAPE_HEART ? 6.2 : 6.0;
        assert_true(ts_outline_of(&outline, (ts_shape)shape, length_mm, width_mm, corner_mm));
        for (int quarter = -8; quarter <= 8; quarter++) {
            ts_xy point = {0.0, 0.0};
            double angle_rad = quarter * acos(-1.0) / 2.0;
            assert_true(ts_outline_towards(&outline, angle_rad, &point, NULL));
            double out_mm = hypot(point.x_mm, point.y_mm);
            assert_true(out_mm > 1.0 && out_mm < 4.3);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lengths_and_areas_agree_with_the_reference),
        cmocka_unit_test(measurements_that_give_no_outline_are_refused_with_the_reason),
        cmocka_unit_test(offsets_that_are_no_numbers_are_refused),
        cmocka_unit_test(every_outline_and_parallel_is_a_closed_symmetric_chain),
        cmocka_unit_test(every_point_of_a_parallel_lies_at_the_offset),
        cmocka_unit_test(the_area_grows_with_the_offset_by_the_length),
        cmocka_unit_test(an_inside_that_vanishes_holds_no_point_so_deep),
        cmocka_unit_test(a_parallel_of_a_parallel_is_the_parallel_of_the_sum),
        cmocka_unit_test(out_and_back_in_gives_the_convex_outline_again),
        cmocka_unit_test(pieces_that_vanish_are_named),
        cmocka_unit_test(extents_are_those_of_the_stone_and_its_margin),
        cmocka_unit_test(a_walk_by_arc_length_passes_the_known_places),
        cmocka_unit_test(arc_lengths_measure_the_curve),
        cmocka_unit_test(rays_from_the_middle_meet_the_outline),
        cmocka_unit_test(distances_are_negative_inside),
        cmocka_unit_test(circles_are_known_as_circles),
        cmocka_unit_test(ellipse_arcs_add_up),
        cmocka_unit_test(every_shape_answers_towards_its_axes),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
