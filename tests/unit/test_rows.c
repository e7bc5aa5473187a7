/* Rows of melee: counts and chords against an independent walk and worked circles
 * (tests/reference/rows.csv), and what a row must be whatever it goes round. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/rows.h"
#include "table.h"

#define PI 3.14159265358979323846
#define RANDOM_ROWS 2000

static uint64_t seed;
static ts_row_stone stones[TS_ROW_STONES_MOST];
static ts_open_stone places[TS_ROW_STONES_MOST];

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

static ts_outline outline_of(ts_shape shape, double length_mm, double width_mm, double corner_mm)
{
    ts_outline out;

    assert_true(ts_outline_of(&out, shape, length_mm, width_mm, corner_mm));
    return out;
}

static double apart_mm(const ts_row_stone *a, const ts_row_stone *b)
{
    return hypot(a->x_mm - b->x_mm, a->y_mm - b->y_mm);
}

static void counts_and_chords_agree_with_the_reference(void **state)
{
    (void)state;
    table *rows = table_open("tests/reference/rows.csv");

    for (const table_row *line; (line = table_next(rows)) != NULL;) {
        int shape = ts_list_find(TS_LIST_SHAPE, table_text(line, "shape"));
        ts_outline outline =
            outline_of((ts_shape)shape, table_number(line, "length_mm"),
                       table_number(line, "width_mm"), table_number(line, "corner_mm"));
        ts_closed_ask ask = {
            .offset_mm = table_number(line, "offset_mm"),
            .diameter_mm = table_number(line, "diameter_mm"),
            .spacing_mm = table_number(line, "spacing_mm"),
            .start = (ts_point_of)ts_list_find(TS_LIST_POINT, table_text(line, "start")),
        };
        ts_closed_row row;
        char what[64];

        snprintf(what, sizeof what, "rows.csv line %d", table_line(line));
        assert_int_not_equal(ask.start, TS_POINT_NONE);
        if (!ts_closed_row_of(&row, &outline, &ask)) {
            fail_msg("%s: no row, fault %d", what, (int)row.fault);
        }
        assert_near(row.count, table_number(line, "count"), 0.0, what);
        assert_near(row.chord_mm, table_number(line, "chord_mm"), table_number(line, "within"),
                    what);
        assert_near(row.spacing_mm, row.chord_mm - ask.diameter_mm, 1e-15, what);
    }
    table_close(rows);
}

/* A halo of any shape, now and then a row inside or one that overlaps the stone. */
static ts_shape ask_at_random(ts_closed_ask *ask, ts_outline *outline)
{
    ts_shape shape;

    for (;;) {
        double width_mm = at_random(2.0, 14.0);
        double length_mm = width_mm * at_random(0.75, 2.2);
        shape = (ts_shape)(1 + (int)at_random(0.0, TS_SHAPE_COUNT - 1.0));
        if (shape == TS_SHAPE_ROUND) {
            length_mm = width_mm;
        }
        double corner_mm = at_random(0.0, 0.5) * fmin(length_mm, width_mm);
        if (ts_outline_of(outline, shape, length_mm, width_mm, corner_mm)) {
            break;
        }
    }
    *ask = (ts_closed_ask){
        .diameter_mm = at_random(0.7, 2.0),
        .spacing_mm = at_random(0.0, 0.15),
        .multiple = (int)at_random(0.0, 4.0),
        .start = at_random(0.0, 1.0) < 0.5 ? TS_POINT_STONE : TS_POINT_CLAW,
    };
    ask->offset_mm = at_random(0.0, 0.4) + ask->diameter_mm / 2.0;
    if (at_random(0.0, 1.0) < 0.2) {
        ask->offset_mm = -ask->offset_mm;
    }
    return shape;
}

static void stones_of_a_row_never_overlap_and_lie_on_its_line(void **state)
{
    (void)state;
    int rows = 0;

    seed = 20250401;
    for (int i = 0; i < RANDOM_ROWS; i++) {
        ts_outline outline;
        ts_closed_ask ask;
        ts_closed_row row;

        ask_at_random(&ask, &outline);
        if (!ts_closed_row_of(&row, &outline, &ask)) {
            assert_int_equal(row.count, 0);
            continue;
        }
        rows++;
        assert_true(row.spacing_mm >= ask.spacing_mm - 1e-8);
        assert_int_equal(row.count % (ask.multiple > 1 ? ask.multiple : 1), 0);
        int count = ts_closed_row_place(stones, TS_ROW_STONES_MOST, &outline, &ask, &row);
        assert_int_equal(count, row.count);
        for (int k = 0; k < count; k++) {
            ts_xy at = {stones[k].x_mm, stones[k].y_mm};
            assert_near(apart_mm(&stones[k], &stones[(k + 1) % count]), row.chord_mm, 2e-9,
                        "neighbours");
            assert_near(ts_outline_distance_mm(&outline, at), ask.offset_mm, 1e-8, "offset");
            for (int m = k + 1; m < count; m++) {
                assert_true(apart_mm(&stones[k], &stones[m]) >= ask.diameter_mm - 1e-8);
            }
        }
    }
    assert_true(rows > RANDOM_ROWS * 7 / 10);
}

static void one_more_would_not_fit(void **state)
{
    (void)state;
    int tried = 0;

    seed = 20250402;
    for (int i = 0; i < RANDOM_ROWS; i++) {
        ts_outline outline;
        ts_closed_ask ask;
        ts_closed_row row, more;

        ask_at_random(&ask, &outline);
        if (!ts_closed_row_of(&row, &outline, &ask)) {
            continue;
        }
        int next = row.count + (ask.multiple > 1 ? ask.multiple : 1);
        if (ts_closed_row_spread(&more, &outline, &ask, next)) {
            tried++;
            assert_int_equal(more.count, next);
            assert_true(more.chord_mm < ask.diameter_mm + ask.spacing_mm + 1e-8);
        } else {
            assert_true(more.fault == TS_ROW_FAULT_OVERLAP || more.fault == TS_ROW_FAULT_UNEVEN);
        }
    }
    assert_true(tried > 50);
}

static void rows_are_symmetric_and_start_on_the_axis(void **state)
{
    (void)state;
    seed = 20250403;
    for (int i = 0; i < RANDOM_ROWS; i++) {
        ts_outline outline;
        ts_closed_ask ask;
        ts_closed_row row;

        ask_at_random(&ask, &outline);
        if (!ts_closed_row_of(&row, &outline, &ask)) {
            continue;
        }
        bool has_claw = ask.start == TS_POINT_CLAW;
        int count = ts_closed_row_place(stones, TS_ROW_STONES_MOST, &outline, &ask, &row);
        for (int k = 0; k < count; k++) {
            int twin = has_claw ? count - 1 - k : (count - k) % count;
            assert_near(stones[twin].x_mm, -stones[k].x_mm, 1e-9, "twin, x");
            assert_near(stones[twin].y_mm, stones[k].y_mm, 1e-9, "twin, y");
            double angle_rad = atan2(-stones[k].x_mm, stones[k].y_mm);
            assert_true(stones[k].angle_rad >= 0.0 && stones[k].angle_rad < 2.0 * PI);
            assert_near(remainder(stones[k].angle_rad - angle_rad, 2.0 * PI), 0.0, 1e-12, "angle");
        }
        if (has_claw) {
            assert_near(stones[0].x_mm, -row.chord_mm / 2.0, 1e-8, "half a gap left of the axis");
        } else {
            assert_near(stones[0].x_mm, 0.0, 0.0, "on the axis");
            assert_near(stones[0].angle_rad, 0.0, 0.0, "at the tip");
        }
    }
}

/* The walk lands on the foot, or on either side of it, for both starts and both parities. */
static void any_count_is_spread_evenly(void **state)
{
    (void)state;
    ts_outline outline = outline_of(TS_SHAPE_PEAR, 9.0, 6.0, 0.0);

    for (int start = TS_POINT_STONE; start <= TS_POINT_CLAW; start++) {
        for (int count = 8; count <= 21; count++) {
            ts_closed_ask ask = {
                .offset_mm = 0.75, .diameter_mm = 1.3, .start = (ts_point_of)start};
            ts_closed_row row;

            assert_true(ts_closed_row_spread(&row, &outline, &ask, count));
            assert_int_equal(row.count, count);
            assert_int_equal(ts_closed_row_place(stones, TS_ROW_STONES_MOST, &outline, &ask, &row),
                             count);
            for (int k = 0; k < count; k++) {
                assert_near(apart_mm(&stones[k], &stones[(k + 1) % count]), row.chord_mm, 1e-9,
                            "neighbours");
            }
        }
    }
}

static void a_tip_can_hold_a_claw_and_then_a_stone_fewer(void **state)
{
    (void)state;
    ts_outline outline = outline_of(TS_SHAPE_PEAR, 7.0, 5.0, 0.0);
    ts_closed_ask ask = {.offset_mm = 0.75, .diameter_mm = 1.3, .spacing_mm = 0.06};
    ts_closed_row row;

    /* the same numbers stand in rows.csv; here that nothing said is a stone */
    assert_true(ts_closed_row_of(&row, &outline, &ask));
    assert_int_equal(row.count, 17);
    ask.start = TS_POINT_CLAW;
    assert_true(ts_closed_row_of(&row, &outline, &ask));
    assert_int_equal(row.count, 16);
    ask.start = TS_POINT_STONE;
    ask.multiple = 4;
    assert_true(ts_closed_row_of(&row, &outline, &ask));
    assert_int_equal(row.count, 16);
    assert_true(row.spacing_mm > 0.1);
}

static void rows_that_cannot_be_are_refused_with_the_reason(void **state)
{
    (void)state;
    ts_outline round = outline_of(TS_SHAPE_ROUND, 6.5, 6.5, 0.0);
    ts_outline pear = outline_of(TS_SHAPE_PEAR, 9.0, 6.0, 0.0);
    const struct {
        const ts_outline *outline;
        ts_closed_ask ask;
        ts_row_fault fault;
    } cases[] = {
        {&round, {.offset_mm = 0.75, .diameter_mm = 0.0}, TS_ROW_FAULT_ASK},
        {&round, {.offset_mm = 0.75, .diameter_mm = (double)NAN}, TS_ROW_FAULT_ASK},
        {&round, {.offset_mm = 0.75, .diameter_mm = HUGE_VAL}, TS_ROW_FAULT_ASK},
        {&pear, {.offset_mm = 0.75, .diameter_mm = 1.3, .spacing_mm = -0.1}, TS_ROW_FAULT_ASK},
        {&pear, {.offset_mm = 0.75, .diameter_mm = 1.3, .multiple = -1}, TS_ROW_FAULT_ASK},
        {&pear, {.offset_mm = (double)NAN, .diameter_mm = 1.3}, TS_ROW_FAULT_CURVE},
        {&pear, {.offset_mm = -4.0, .diameter_mm = 1.3}, TS_ROW_FAULT_CURVE},
        {&pear, {.offset_mm = 0.75, .diameter_mm = 11.0}, TS_ROW_FAULT_FEW},
        {&round, {.offset_mm = 0.75, .diameter_mm = 8.1}, TS_ROW_FAULT_FEW},
        {&round, {.offset_mm = 0.75, .diameter_mm = 1.3, .multiple = 20}, TS_ROW_FAULT_FEW},
        {&pear, {.offset_mm = 0.75, .diameter_mm = 1.3, .multiple = 22}, TS_ROW_FAULT_FEW},
        {&round, {.offset_mm = 0.75, .diameter_mm = 0.005}, TS_ROW_FAULT_MANY},
        {&pear, {.offset_mm = 0.75, .diameter_mm = 0.005}, TS_ROW_FAULT_MANY},
        /* on the stone's own edge the tip is sharp, 106 degrees: the stones either side of the
         * one there keep well apart */
        {&pear, {.offset_mm = 0.0, .diameter_mm = 1.3}, TS_ROW_FAULT_NONE},
    };

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ts_closed_row row;
        bool made = ts_closed_row_of(&row, cases[i].outline, &cases[i].ask);

        assert_int_equal(row.fault, cases[i].fault);
        assert_int_equal(made, cases[i].fault == TS_ROW_FAULT_NONE);
        assert_int_equal(row.count > 0, made);
        if (!made) {
            assert_int_equal(ts_closed_row_place(stones, TS_ROW_STONES_MOST, cases[i].outline,
                                                 &cases[i].ask, &row),
                             0);
        }
    }
    ts_closed_row row;
    assert_false(ts_closed_row_of(&row, &pear, &cases[6].ask));
    assert_int_equal(row.curve_fault, TS_OUTLINE_FAULT_VANISHED);
    ts_closed_ask ask = {.offset_mm = 0.75, .diameter_mm = 1.3};
    assert_false(ts_closed_row_spread(&row, &pear, &ask, 1));
    assert_int_equal(row.fault, TS_ROW_FAULT_FEW);
    assert_false(ts_closed_row_spread(&row, &pear, &ask, TS_ROW_STONES_MOST + 1));
    assert_int_equal(row.fault, TS_ROW_FAULT_MANY);
    assert_false(ts_closed_row_spread(&row, &pear, &ask, 23));
    assert_int_equal(row.fault, TS_ROW_FAULT_OVERLAP);
    assert_false(ts_closed_row_spread(&row, &round, &ask, 20));
    assert_int_equal(row.fault, TS_ROW_FAULT_OVERLAP);
}

/* Along a marquise's own edge two arcs meet at the tip by 4 atan(W/L). At 48 degrees the stones
 * either side of one on the tip overlap unless all stand farther apart, so the count falls; at
 * 16 degrees they overlap however few there are. */
static void stones_across_a_sharp_tip_are_not_let_overlap(void **state)
{
    (void)state;
    ts_outline slim = outline_of(TS_SHAPE_MARQUISE, 14.0, 3.0, 0.0);
    ts_outline slimmest = outline_of(TS_SHAPE_MARQUISE, 14.0, 1.0, 0.0);
    ts_closed_ask ask = {.offset_mm = 0.0, .diameter_mm = 1.0, .start = TS_POINT_STONE};
    ts_closed_row row, more;

    assert_true(ts_closed_row_of(&row, &slim, &ask));
    assert_true(row.chord_mm > 1.0 / (2.0 * sin(2.0 * atan(3.0 / 14.0))));
    ts_closed_row_place(stones, TS_ROW_STONES_MOST, &slim, &ask, &row);
    assert_true(apart_mm(&stones[1], &stones[row.count - 1]) >= 1.0 - 1e-9);
    assert_false(ts_closed_row_spread(&more, &slim, &ask, row.count + 1));
    assert_int_equal(more.fault, TS_ROW_FAULT_OVERLAP);

    assert_false(ts_closed_row_of(&row, &slimmest, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_OVERLAP);
}

static void nothing_hangs_on_strange_numbers(void **state)
{
    (void)state;
    static const double strange[] = {0.0, 1e-300, 1e-9, 1e-3, 1.0,         1e3,
                                     1e6, 1e300,  -1.0, -1e6, (double)NAN, HUGE_VAL};
    const size_t count = sizeof strange / sizeof strange[0];
    int made = 0;

    for (int shape = 1; shape < TS_SHAPE_COUNT; shape++) {
        for (size_t i = 0; i < count * count * count; i++) {
            ts_outline outline;
            double length_mm = strange[i % count], width_mm = strange[i / count % count];
            double size_mm = strange[i / count / count];
            if (!ts_outline_of(&outline, (ts_shape)shape, length_mm, width_mm, size_mm)) {
                continue;
            }
            ts_closed_ask ask = {.offset_mm = 0.5 * size_mm,
                                 .diameter_mm = fabs(size_mm),
                                 .start = i % 2 == 0 ? TS_POINT_STONE : TS_POINT_CLAW};
            ts_closed_row row;
            if (ts_closed_row_of(&row, &outline, &ask)) {
                made++;
                assert_true(row.count >= 2 && row.count <= TS_ROW_STONES_MOST);
                assert_true(row.chord_mm >= ask.diameter_mm * (1.0 - 1e-8));
            }
        }
    }
    assert_true(made > 50);
}

static void fit_takes_the_row_that_closes_most_evenly(void **state)
{
    (void)state;
    ts_outline round = outline_of(TS_SHAPE_ROUND, 6.5, 6.5, 0.0);
    ts_closed_ask asks[5];
    ts_closed_row row;
    int chosen = -1;

    /* By hand, 2R = 6.7 + d, spacing = 2R sin(pi/n) - d at the largest n with spacing >= 0.1:
     *   d 1.0: n 22, 0.09585 is too little, so 21, 0.14765
     *   d 1.1: n 20, 0.12019      d 1.2: n 19, 0.10029
     *   d 1.3: n 18, 0.08919 is too little, so 17, 0.17000
     *   d 1.4: n 17, 0.08838 is too little, so 16, 0.18023 */
    for (int i = 0; i < 5; i++) {
        double d_mm = 1.0 + 0.1 * i;
        asks[i] =
            (ts_closed_ask){.offset_mm = 0.1 + d_mm / 2.0, .diameter_mm = d_mm, .spacing_mm = 0.1};
    }
    assert_true(ts_closed_row_fit(&row, &chosen, &round, asks, 5));
    assert_int_equal(chosen, 2);
    assert_int_equal(row.count, 19);
    assert_near(row.spacing_mm, 7.9 * sin(PI / 19.0) - 1.2, 1e-12, "spacing of the best");

    /* the same without the best, in any order */
    asks[2] = asks[4];
    assert_true(ts_closed_row_fit(&row, &chosen, &round, asks, 4));
    assert_int_equal(chosen, 1);

    /* exactly six round one of their size, whatever the size: the larger of equals */
    for (int i = 0; i < 3; i++) {
        double d_mm = i == 1 ? 6.5 : 6.5 - 2.0;
        asks[i] = (ts_closed_ask){.offset_mm = d_mm - 3.25, .diameter_mm = d_mm};
    }
    assert_true(ts_closed_row_fit(&row, &chosen, &round, asks, 3));
    assert_int_equal(chosen, 1);
    assert_int_equal(row.count, 6);

    asks[0].diameter_mm = -1.0;
    assert_false(ts_closed_row_fit(&row, &chosen, &round, asks, 1));
    assert_int_equal(row.fault, TS_ROW_FAULT_ASK);
    assert_int_equal(chosen, 0);
    assert_false(ts_closed_row_fit(&row, &chosen, &round, asks, 0));
}

static void an_open_row_lies_wholly_between_its_angles(void **state)
{
    (void)state;
    double d_mm = 1.5;
    ts_open_ask ask = {
        .from_rad = 0.3, .face_mm = 10.0, .spacing_mm = 0.1, .diameters_mm = &d_mm, .diameters = 1};
    ts_open_row row;

    /* By hand at radius 10: a stone takes 2 asin(0.075) = 0.150141, a step 2 asin(0.08) =
     * 0.160171. Nine take 0.150141 + 8 x 0.160171 = 1.431511, ten 1.591683. */
    ask.to_rad = 0.3 + 1.55;
    assert_true(ts_open_row_of(&row, &ask));
    assert_int_equal(row.count, 9);
    double step_rad = (1.55 - 2.0 * asin(0.075)) / 8.0;
    assert_near(row.spacing_mm, 20.0 * sin(step_rad / 2.0) - 1.5, 1e-12, "room that results");
    assert_int_equal(ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row), 9);
    assert_near(places[0].angle_rad, 0.3 + asin(0.075), 1e-12, "first stone touches from");
    assert_near(places[8].angle_rad, 1.85 - asin(0.075), 1e-12, "last stone touches to");
    assert_near(places[4].radius_mm, 10.0, 0.0, "radius");

    /* exactly the room of ten */
    ask.to_rad = 0.3 + 2.0 * asin(0.075) + 9.0 * 2.0 * asin(0.08);
    assert_true(ts_open_row_of(&row, &ask));
    assert_int_equal(row.count, 10);
    assert_near(row.spacing_mm, 0.1, 1e-12, "as asked");
    /* and a count gives that angle back */
    ask.to_rad = 0.0;
    ts_open_row counted;
    assert_true(ts_open_row_counted(&counted, &ask, 10));
    assert_near(counted.to_rad, row.to_rad, 1e-12, "angle that ten take");
    assert_near(counted.spacing_mm, 0.1, 0.0, "spaced as asked");

    /* one stone in the middle, and none */
    ask.to_rad = 0.3 + 0.2;
    assert_true(ts_open_row_of(&row, &ask));
    assert_int_equal(row.count, 1);
    assert_int_equal(ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row), 1);
    assert_near(places[0].angle_rad, 0.4, 1e-12, "in the middle");
    ask.to_rad = 0.3 + 0.15;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_FEW);
    assert_int_equal(ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row), 0);
}

static void a_full_turn_is_the_closed_row_of_its_circle(void **state)
{
    (void)state;
    double d_mm = 1.3;
    ts_open_ask ask = {.to_rad = 2.0 * PI,
                       .face_mm = 4.0,
                       .spacing_mm = 0.06,
                       .diameters_mm = &d_mm,
                       .diameters = 1};
    ts_open_row row;

    /* the halo of rows.csv on a circle of 8.0: 18 stones, 1.389185 apart */
    assert_true(ts_open_row_of(&row, &ask));
    assert_true(row.is_closed);
    assert_int_equal(row.count, 18);
    assert_near(row.spacing_mm + 1.3, 8.0 * sin(PI / 18.0), 1e-12, "chord");
    assert_int_equal(ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row), 18);
    assert_near(places[17].angle_rad, 2.0 * PI * 17.0 / 18.0, 1e-12, "last stone");
}

static void graduated_rows_take_one_size_after_another(void **state)
{
    (void)state;
    static const double sizes_mm[] = {2.0, 1.8, 1.6, 1.4, 1.2};
    ts_open_ask ask = {.from_rad = 0.2,
                       .face_mm = 10.5,
                       .sunk = 0.15,
                       .spacing_mm = 0.08,
                       .diameters_mm = sizes_mm,
                       .diameters = 5};
    ts_open_row counted, row;

    seed = 20250404;
    for (int count = 1; count <= 12; count++) {
        assert_true(ts_open_row_counted(&counted, &ask, count));
        int placed = ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &counted);
        assert_int_equal(placed, count);
        for (int i = 0; i < count; i++) {
            assert_near(places[i].diameter_mm, sizes_mm[i < 5 ? i : 4], 0.0, "size");
            assert_near(places[i].radius_mm, 10.5 - 0.15 * places[i].diameter_mm, 1e-12, "depth");
            if (i > 0) {
                const ts_open_stone *a = &places[i - 1], *b = &places[i];
                double x_mm = b->radius_mm * sin(b->angle_rad) - a->radius_mm * sin(a->angle_rad);
                double y_mm = b->radius_mm * cos(b->angle_rad) - a->radius_mm * cos(a->angle_rad);
                assert_near(hypot(x_mm, y_mm), 0.5 * (a->diameter_mm + b->diameter_mm) + 0.08,
                            1e-12, "room between neighbours");
            }
        }
        assert_near(places[count - 1].angle_rad +
                        asin(0.5 * places[count - 1].diameter_mm / places[count - 1].radius_mm),
                    counted.to_rad, count > 1 ? 1e-12 : 1e-9, "ends at to");

        /* as many fit between those angles, and a little more room is shared by the gaps */
        ask.to_rad = counted.to_rad;
        assert_true(ts_open_row_of(&row, &ask));
        assert_int_equal(row.count, count);
        assert_near(row.spacing_mm, 0.08, 1e-9, "just as asked");
        ask.to_rad = counted.to_rad + at_random(0.0, 0.1);
        assert_true(ts_open_row_of(&row, &ask));
        assert_int_equal(row.count, count);
        assert_true(count == 1 || row.spacing_mm >= 0.08);
        ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row);
        if (count > 1) {
            assert_near(places[count - 1].angle_rad +
                            asin(0.5 * places[count - 1].diameter_mm / places[count - 1].radius_mm),
                        ask.to_rad, 1e-9, "fills the angle");
        }
    }
}

/* Further apart than the circle is wide: no angle is far enough for the next one. */
static void a_spacing_wider_than_the_ring_leaves_room_for_one(void **state)
{
    (void)state;
    static const double sizes_mm[] = {2.0, 1.2};
    ts_open_ask ask = {.to_rad = 3.0,
                       .face_mm = 6.2,
                       .sunk = 0.15,
                       .spacing_mm = 13.0,
                       .diameters_mm = sizes_mm,
                       .diameters = 2};
    ts_open_row row;

    assert_true(ts_open_row_of(&row, &ask));
    assert_int_equal(row.count, 1);
    assert_int_equal(ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row), 1);
    assert_near(places[0].angle_rad, 1.5, 1e-12, "in the middle");
    ask.to_rad = 0.1;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_FEW);
}

static void a_graduated_full_turn_closes(void **state)
{
    (void)state;
    static const double sizes_mm[] = {2.0, 1.9, 1.8, 1.7, 1.6, 1.5};
    ts_open_ask ask = {.to_rad = 2.0 * PI,
                       .face_mm = 10.5,
                       .sunk = 0.15,
                       .spacing_mm = 0.05,
                       .diameters_mm = sizes_mm,
                       .diameters = 6};
    ts_open_row row;

    assert_true(ts_open_row_of(&row, &ask));
    assert_true(row.is_closed && row.count > 30);
    assert_true(row.spacing_mm >= 0.05 && row.spacing_mm < 0.1);
    int count = ts_open_row_place(places, TS_ROW_STONES_MOST, &ask, &row);
    for (int i = 0; i < count; i++) {
        const ts_open_stone *a = &places[i], *b = &places[(i + 1) % count];
        double x_mm = b->radius_mm * sin(b->angle_rad) - a->radius_mm * sin(a->angle_rad);
        double y_mm = b->radius_mm * cos(b->angle_rad) - a->radius_mm * cos(a->angle_rad);
        assert_near(hypot(x_mm, y_mm), 0.5 * (a->diameter_mm + b->diameter_mm) + row.spacing_mm,
                    1e-9, "all gaps are equal");
    }
}

static void open_rows_that_cannot_be_are_refused(void **state)
{
    (void)state;
    double d_mm = 1.5, thin_mm = 0.001;
    const ts_open_ask fair = {
        .to_rad = 1.0, .face_mm = 10.0, .spacing_mm = 0.1, .diameters_mm = &d_mm, .diameters = 1};
    ts_open_row row;
    ts_open_ask ask = fair;

    ask.to_rad = -0.1;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_ASK);
    ask.to_rad = 6.3;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_ASK);
    ask.to_rad = (double)NAN;
    assert_false(ts_open_row_of(&row, &ask));
    ask = fair;
    ask.face_mm = 0.7;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_ASK);
    ask = fair;
    ask.diameters = 0;
    assert_false(ts_open_row_of(&row, &ask));
    ask = fair;
    ask.diameters_mm = &thin_mm;
    ask.spacing_mm = 0.0;
    assert_false(ts_open_row_of(&row, &ask));
    assert_int_equal(row.fault, TS_ROW_FAULT_MANY);
    assert_false(ts_open_row_counted(&row, &fair, 0));
    assert_int_equal(row.fault, TS_ROW_FAULT_FEW);
    assert_false(ts_open_row_counted(&row, &fair, 60));
    assert_int_equal(row.fault, TS_ROW_FAULT_FEW);
    assert_false(ts_open_row_counted(&row, &fair, TS_ROW_STONES_MOST + 1));
    assert_int_equal(row.fault, TS_ROW_FAULT_MANY);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_and_chords_agree_with_the_reference),
        cmocka_unit_test(stones_of_a_row_never_overlap_and_lie_on_its_line),
        cmocka_unit_test(one_more_would_not_fit),
        cmocka_unit_test(rows_are_symmetric_and_start_on_the_axis),
        cmocka_unit_test(any_count_is_spread_evenly),
        cmocka_unit_test(a_tip_can_hold_a_claw_and_then_a_stone_fewer),
        cmocka_unit_test(rows_that_cannot_be_are_refused_with_the_reason),
        cmocka_unit_test(stones_across_a_sharp_tip_are_not_let_overlap),
        cmocka_unit_test(nothing_hangs_on_strange_numbers),
        cmocka_unit_test(fit_takes_the_row_that_closes_most_evenly),
        cmocka_unit_test(an_open_row_lies_wholly_between_its_angles),
        cmocka_unit_test(a_full_turn_is_the_closed_row_of_its_circle),
        cmocka_unit_test(graduated_rows_take_one_size_after_another),
        cmocka_unit_test(a_spacing_wider_than_the_ring_leaves_room_for_one),
        cmocka_unit_test(a_graduated_full_turn_closes),
        cmocka_unit_test(open_rows_that_cannot_be_are_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
