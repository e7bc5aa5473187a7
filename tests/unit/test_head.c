/* Claws and rails: their solids against closed forms, and where they stand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/head.h"
#include "geometry/height.h"
#include "geometry/seat.h"
#include "piece.h"
#include "table.h"

#define PI 3.14159265358979323846

static double solid_of(const table_row *row, const char *solid)
{
    double a = table_number(row, "a");

    if (strcmp(solid, "claws") == 0) {
        return table_number(row, "d") *
               ts_frustum_mm3(a, table_number(row, "b"), table_number(row, "c"));
    }
    if (strcmp(solid, "seat") == 0) {
        return ts_seat_mm3(a, table_number(row, "b"));
    }
    if (strcmp(solid, "strip") == 0) {
        return ts_seat_strip_mm2(a, table_number(row, "b"), table_number(row, "c"),
                                 table_number(row, "d"));
    }
    if (strcmp(solid, "crossing") == 0) {
        return ts_crossing_mm3(a, table_number(row, "b"));
    }
    if (strcmp(solid, "slice") == 0) {
        return ts_slice_mm2(a, table_number(row, "b"));
    }
    if (strcmp(solid, "hoof") == 0) {
        return ts_hoof_mm3(a, table_number(row, "b"));
    }
    return ts_claw_tip_mm3((ts_claw)ts_list_find(TS_LIST_CLAW, solid + strlen("tip ")), a);
}

static bool is_solid(const char *solid)
{
    static const char *const solids[] = {"claws", "seat", "strip", "crossing", "slice", "hoof"};
    bool found = strncmp(solid, "tip ", 4) == 0;

    for (size_t i = 0; i < sizeof solids / sizeof solids[0]; i++) {
        found = found || strcmp(solid, solids[i]) == 0;
    }
    return found;
}

static void claws_tips_and_seats_agree_with_closed_forms(void **state)
{
    table *solids = table_open("tests/reference/solids.csv");
    int count = 0;

    (void)state;
    for (const table_row *row; (row = table_next(solids)) != NULL;) {
        const char *solid = table_text(row, "solid");
        if (!is_solid(solid)) {
            continue;
        }
        double got = solid_of(row, solid);
        double expect = table_number(row, "value");
        if (!piece_near(got, expect, table_number(row, "rel_tol"))) {
            fail_msg("line %d: %s %.12f, expected %.12f", table_line(row), solid, got, expect);
        }
        count++;
    }
    assert_true(count >= 25);
    table_close(solids);
}

/* ---- where claws stand ---- */

typedef struct stood {
    int count;
    int at_corner;
    ts_claw_place at[TS_CLAWS_MOST];
} stood;

static stood stand(ts_shape shape, double length_mm, double width_mm, int count, double first_deg)
{
    stood s = {.count = count};
    ts_outline outline;

    assert_true(ts_outline_of(&outline, shape, length_mm, width_mm, 1.0));
    ts_claws_place(s.at, count, shape, &outline, first_deg * PI / 180.0);
    for (int i = 0; i < count; i++) {
        s.at_corner += s.at[i].is_at_corner ? 1 : 0;
        assert_true(fabs(ts_outline_distance_mm(&outline, s.at[i].point)) < 1e-9);
    }
    return s;
}

static bool stands_at(const stood *s, double x_mm, double y_mm)
{
    for (int i = 0; i < s->count; i++) {
        if (hypot(s->at[i].point.x_mm - x_mm, s->at[i].point.y_mm - y_mm) < 1e-9) {
            return true;
        }
    }
    return false;
}

static void claws_on_a_round_stand_evenly_from_the_first(void **state)
{
    stood s = stand(TS_SHAPE_ROUND, 6.5, 6.5, 6, 30.0);

    (void)state;
    assert_int_equal(s.at_corner, 0);
    for (int i = 0; i < 6; i++) {
        double angle_rad = (30.0 + 60.0 * i) * PI / 180.0;
        assert_true(piece_near(s.at[i].point.x_mm, -3.25 * sin(angle_rad), 1e-12));
        assert_true(piece_near(s.at[i].point.y_mm, 3.25 * cos(angle_rad), 1e-12));
        assert_true(fabs(remainder(s.at[i].out_rad - angle_rad, 2.0 * PI)) < 1e-9);
    }
}

static void four_claws_of_a_princess_stand_at_its_corners(void **state)
{
    stood s = stand(TS_SHAPE_PRINCESS, 5.5, 5.0, 4, 0.0);

    (void)state;
    assert_int_equal(s.at_corner, 4);
    assert_true(stands_at(&s, -2.5, 2.75) && stands_at(&s, 2.5, 2.75));
    assert_true(stands_at(&s, -2.5, -2.75) && stands_at(&s, 2.5, -2.75));
    /* outwards from a corner is between its two sides */
    assert_true(piece_near(s.at[0].out_rad, PI / 4.0, 1e-6));
}

static void two_claws_of_a_princess_stand_at_opposite_corners(void **state)
{
    stood s = stand(TS_SHAPE_PRINCESS, 5.0, 5.0, 2, 0.0);

    (void)state;
    assert_int_equal(s.at_corner, 2);
    assert_true(piece_near(s.at[0].point.x_mm + s.at[1].point.x_mm, 0.0, 1e-12));
    assert_true(piece_near(s.at[0].point.y_mm + s.at[1].point.y_mm, 0.0, 1e-12));
}

static void two_more_claws_of_a_square_stand_opposite(void **state)
{
    stood s = stand(TS_SHAPE_PRINCESS, 5.0, 5.0, 6, 0.0);

    (void)state;
    assert_int_equal(s.at_corner, 4);
    assert_true(stands_at(&s, -2.5, 0.0) && stands_at(&s, 2.5, 0.0));
}

static void an_emerald_is_guarded_at_the_middle_of_its_cuts(void **state)
{
    stood s = stand(TS_SHAPE_EMERALD, 8.0, 6.0, 4, 0.0);

    (void)state;
    assert_int_equal(s.at_corner, 4);
    assert_true(stands_at(&s, -2.5, 3.5) && stands_at(&s, 2.5, -3.5));
}

static void a_pear_has_one_claw_at_its_tip_and_two_at_its_head(void **state)
{
    stood s =
        stand(TS_SHAPE_PEAR, 4.6, 3.0, 3, 77.0); /* the first claw is the tip's all the same */

    (void)state;
    assert_int_equal(s.at_corner, 1);
    assert_true(stands_at(&s, 0.0, 2.3));
    assert_true(piece_near(s.at[1].point.x_mm, -s.at[2].point.x_mm, 1e-9));
    assert_true(piece_near(s.at[1].point.y_mm, s.at[2].point.y_mm, 1e-9));
    assert_true(s.at[1].point.y_mm < 0.0);
}

static void marquises_and_trillions_are_guarded_at_all_tips(void **state)
{
    stood marquise = stand(TS_SHAPE_MARQUISE, 10.0, 5.0, 6, 0.0);
    stood trillion = stand(TS_SHAPE_TRILLION, 6.0, 6.0, 3, 0.0);

    (void)state;
    assert_int_equal(marquise.at_corner, 2);
    assert_true(stands_at(&marquise, 0.0, 5.0) && stands_at(&marquise, 0.0, -5.0));
    assert_int_equal(trillion.at_corner, 3);
    assert_true(stands_at(&trillion, 0.0, 3.0));
}

static void a_hearts_cleft_is_no_corner(void **state)
{
    stood s = stand(TS_SHAPE_HEART, 6.0, 6.0, 5, 0.0);

    (void)state;
    assert_int_equal(s.at_corner, 1);
    assert_true(stands_at(&s, 0.0, 3.0));
}

/* ---- whole heads ---- */

#define ROUND_STONE                                                                                \
    "shank,profile top,flat,,\nshank,profile base,flat,,\nshank,width top,2,mm,\n"                 \
    "shank,width base,2,mm,\nshank,thickness top,1.8,mm,\nshank,thickness base,1.8,mm,\n"          \
    "stone centre,shape,round,,\nstone centre,length,6.5,mm,\nstone centre,depth,3.9,mm,\n"        \
    "stone centre,species,diamond,,\nstone centre,origin,natural,,\nstone centre,setting,claw,,\n" \
    "stone centre,price,100,each,\n"
#define HEAD(style, more)                                                                          \
    "head centre,holds,centre,,\nhead centre,claws,4,,\nhead centre,claw style," style ",,\n"      \
    "head centre,claw diameter,1.1,mm,\nhead centre,tip diameter,0.9,mm,\n"                        \
    "head centre,rails,2,,\nhead centre,rail diameter,0.8,mm,\n"                                   \
    "head centre,culet clearance,1,mm,\nhead centre,inset,0.8,mm,\n" more

static piece headed(const char *head)
{
    char rows[4096];

    snprintf(rows, sizeof rows, "%s%s", ROUND_STONE, head);
    piece p = piece_open(rows, NULL);
    piece_measure(&p, true);
    return p;
}

/* Smaller: four cylinders of the tip's width as long as pavilion and girdle are deep, and the
 * rails that are left between claws as straight rods of the shorter ring. Larger: cylinders of
 * the base's width along the whole slant, and whole rings of the longer one. */
static void a_head_lies_between_a_smaller_and_a_larger_solid(void **state)
{
    piece p = headed(HEAD("round", ""));
    const ts_head_shape *head = &p.geometry->heads[0];
    double below_mm = 45.5 / 60.0 * 3.9, crown_mm = 14.5 / 60.0 * 3.9;
    double least = 4.0 * PI * 0.45 * 0.45 * below_mm;
    double most = 4.0 * PI * 0.55 * 0.55 * (hypot(0.8, below_mm) + crown_mm);
    double rail_mm2 = PI * 0.4 * 0.4;

    (void)state;
    assert_true(head->claws_mm3 > least && head->claws_mm3 < most);
    assert_true(head->rails_mm3 > rail_mm2 * 2.0 * (2.0 * PI * (3.25 - 0.8) - 4.0 * 1.1));
    assert_true(head->rails_mm3 < rail_mm2 * 2.0 * 2.0 * PI * (3.25 - 0.4));
    assert_true(piece_near(head->height_mm, below_mm + 0.7 * crown_mm, 1e-9));
    piece_close(&p);
}

static void a_double_claw_is_weighed_and_counted_twice(void **state)
{
    piece one = headed(HEAD("round", ""));
    piece two = headed(HEAD("double", ""));

    (void)state;
    assert_int_equal(one.geometry->heads[0].claws, 4);
    assert_int_equal(two.geometry->heads[0].claws, 8);
    assert_int_equal(two.geometry->heads[0].claw_spot_count, 8);
    assert_true(piece_near(two.geometry->heads[0].claws_mm3, 2.0 * one.geometry->heads[0].claws_mm3,
                           1e-12));
    piece_close(&one);
    piece_close(&two);
}

static void a_borrowed_claw_is_neither_weighed_nor_formed(void **state)
{
    piece all = headed(HEAD("round", ""));
    piece three = headed(HEAD("round", "head centre,shared,1,,\n"));

    (void)state;
    assert_int_equal(three.geometry->heads[0].claws, 3);
    assert_int_equal(three.geometry->heads[0].claw_spot_count, 4);
    assert_true(piece_near(three.geometry->heads[0].claws_mm3,
                           0.75 * all.geometry->heads[0].claws_mm3, 1e-12));
    piece_close(&all);
    piece_close(&three);
}

static void a_rail_that_vanishes_says_what_inset_fits(void **state)
{
    char rows[4096];

    (void)state;
    snprintf(rows, sizeof rows, "%s%s", ROUND_STONE,
             "head centre,holds,centre,,\nhead centre,claws,4,,\nhead centre,claw style,round,,\n"
             "head centre,claw diameter,1.1,mm,\nhead centre,tip diameter,0.9,mm,\n"
             "head centre,rails,1,,\nhead centre,rail diameter,0.8,mm,\n"
             "head centre,culet clearance,1,mm,\nhead centre,inset,3.4,mm,\n");
    piece p = piece_open(rows, NULL);
    piece_measure(&p, false);
    assert_int_equal(p.status, TS_FAULTY);
    assert_true(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, "below 3.25 mm"));
    piece_close(&p);
}

static void thicker_claws_never_weigh_less(void **state)
{
    double last_mm3 = 0.0;

    (void)state;
    for (int tenths = 3; tenths <= 20; tenths++) {
        char rows[4096];
        snprintf(rows, sizeof rows,
                 "%shead centre,holds,centre,,\nhead centre,claws,6,,\n"
                 "head centre,claw style,pointed,,\nhead centre,claw diameter,%d.%d,mm,\n"
                 "head centre,tip diameter,0.5,mm,\nhead centre,rails,0,,\n"
                 "head centre,culet clearance,1,mm,\n",
                 ROUND_STONE, tenths / 10, tenths % 10);
        piece p = piece_open(rows, NULL);
        piece_measure(&p, true);
        assert_true(p.geometry->heads[0].claws_mm3 > last_mm3);
        last_mm3 = p.geometry->heads[0].claws_mm3;
        piece_close(&p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(claws_tips_and_seats_agree_with_closed_forms),
        cmocka_unit_test(claws_on_a_round_stand_evenly_from_the_first),
        cmocka_unit_test(four_claws_of_a_princess_stand_at_its_corners),
        cmocka_unit_test(two_claws_of_a_princess_stand_at_opposite_corners),
        cmocka_unit_test(two_more_claws_of_a_square_stand_opposite),
        cmocka_unit_test(an_emerald_is_guarded_at_the_middle_of_its_cuts),
        cmocka_unit_test(a_pear_has_one_claw_at_its_tip_and_two_at_its_head),
        cmocka_unit_test(marquises_and_trillions_are_guarded_at_all_tips),
        cmocka_unit_test(a_hearts_cleft_is_no_corner),
        cmocka_unit_test(a_head_lies_between_a_smaller_and_a_larger_solid),
        cmocka_unit_test(a_double_claw_is_weighed_and_counted_twice),
        cmocka_unit_test(a_borrowed_claw_is_neither_weighed_nor_formed),
        cmocka_unit_test(a_rail_that_vanishes_says_what_inset_fits),
        cmocka_unit_test(thicker_claws_never_weigh_less),
    };

    return cmocka_run_group_tests_name("head", tests, NULL, NULL);
}
