/* Halos: counts and metal against closed forms, and what must hold of any of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/plate.h"
#include "geometry/rows.h"
#include "geometry/seat.h"
#include "piece.h"
#include "table.h"

#define PI 3.14159265358979323846
#define BOOKS "tests/reference/books"
#define ROWS_BYTES 8192

#define SHANK                                                                                      \
    "shank,profile top,flat,,\nshank,profile base,flat,,\nshank,width top,2,mm,\n"                 \
    "shank,width base,2,mm,\nshank,thickness top,1.8,mm,\nshank,thickness base,1.8,mm,\n"

/* Rows of a stone; `corner` is written for the shapes that have one. */
static int put_stone(char *rows, const char *shape, double length_mm, double width_mm)
{
    int used = snprintf(rows, ROWS_BYTES,
                        SHANK "stone centre,shape,%s,,\nstone centre,length,%.3f,mm,\n"
                              "stone centre,width,%.3f,mm,\nstone centre,depth,%.3f,mm,\n"
                              "stone centre,species,diamond,,\nstone centre,origin,natural,,\n"
                              "stone centre,setting,claw,,\nstone centre,price,100,each,\n",
                        shape, length_mm, width_mm, 0.6 * width_mm);

    if (ts_shape_corner((ts_shape)ts_list_find(TS_LIST_SHAPE, shape)) != TS_CORNER_NONE) {
        used += snprintf(rows + used, ROWS_BYTES - (size_t)used, "stone centre,corner,%.3f,mm,\n",
                         0.2 * width_mm);
    }
    return used;
}

static int put_halo(char *rows, int used, const char *more)
{
    return used + snprintf(rows + used, ROWS_BYTES - (size_t)used,
                           "halo,around,centre,,\nhalo,lot,natural melee G-VS,,\n"
                           "halo,setting,bead,,\n%s",
                           more);
}

static piece haloed(const char *shape, double length_mm, double width_mm, const char *halo,
                    bool must)
{
    char rows[ROWS_BYTES];
    int used = put_stone(rows, shape, length_mm, width_mm);

    put_halo(rows, used, halo);
    piece p = piece_open(rows, NULL);
    piece_measure(&p, must);
    return p;
}

/* ---- against closed forms ---- */

static piece counted_halo(const table_row *row)
{
    char halo[512];
    double across_mm = table_number(row, "a");

    snprintf(halo, sizeof halo,
             "halo,faces,up,,\nhalo,gap,%s,mm,\nhalo,stone diameter,%s,mm,\nhalo,spacing,%s,mm,\n"
             "halo,thickness,1,mm,\nhalo,rim,0.3,mm,\n",
             table_text(row, "b"), table_text(row, "c"), table_text(row, "d"));
    return haloed("round", across_mm, across_mm, halo, true);
}

static double plate_of(const table_row *row)
{
    ts_outline outline;
    double volume_mm3 = 0.0, bad_mm = 0.0;
    double across_mm = table_number(row, "a");

    assert_true(ts_outline_of(&outline, TS_SHAPE_ROUND, across_mm, across_mm, 0.0));
    assert_true(ts_plate_mm3(&volume_mm3, &bad_mm, &outline, table_number(row, "b"),
                             table_number(row, "c"), table_number(row, "d")));
    return volume_mm3;
}

static void counts_spacings_and_plates_agree_with_closed_forms(void **state)
{
    table *solids = table_open("tests/reference/solids.csv");
    int count = 0;

    (void)state;
    for (const table_row *row; (row = table_next(solids)) != NULL;) {
        const char *solid = table_text(row, "solid");
        double got = 0.0;
        if (strncmp(solid, "halo ", 5) == 0) {
            piece p = counted_halo(row);
            got = strcmp(solid, "halo count") == 0 ? p.geometry->halos[0].stones
                                                   : p.geometry->halos[0].spacing_mm;
            piece_close(&p);
        } else if (strcmp(solid, "plate") == 0) {
            got = plate_of(row);
        } else {
            continue;
        }
        double expect = table_number(row, "value");
        if (!piece_near(got, expect, table_number(row, "rel_tol"))) {
            fail_msg("line %d: %s %.12f, expected %.12f", table_line(row), solid, got, expect);
        }
        count++;
    }
    assert_true(count >= 10);
    table_close(solids);
}

#define UP                                                                                         \
    "halo,faces,up,,\nhalo,gap,0.2,mm,\nhalo,stone diameter,1.3,mm,\nhalo,spacing,0.1,mm,\n"       \
    "halo,thickness,1.2,mm,\nhalo,rim,0.3,mm,\n"
#define OUT                                                                                        \
    "halo,faces,out,,\nhalo,offset,1,mm,\nhalo,stone diameter,1,mm,\nhalo,spacing,0.1,mm,\n"       \
    "halo,thickness,1.1,mm,\nhalo,rim,0.3,mm,\n"

/* Round 6.5: from the girdle to 0.2 + 1.3 + 0.3 outside it, less eighteen seats. */
static void metal_that_faces_up_reaches_from_the_girdle_to_the_rim(void **state)
{
    piece p = haloed("round", 6.5, 6.5, UP, true);
    const ts_row_shape *halo = &p.geometry->halos[0];
    double gross_mm3 = PI * (5.05 * 5.05 - 3.25 * 3.25) * 1.2;

    (void)state;
    assert_int_equal(halo->stones, 18);
    assert_true(piece_near(halo->metal_mm3, gross_mm3 - 18.0 * ts_seat_mm3(1.3, 1.2), 1e-9));
    assert_true(piece_near(halo->outer_mm, 1.8, 1e-12));
    piece_close(&p);
}

static void an_inner_rim_leaves_a_line_of_light(void **state)
{
    piece p = haloed("round", 6.5, 6.5, UP "halo,inner rim,0.15,mm,\n", true);
    const ts_row_shape *halo = &p.geometry->halos[0];

    (void)state;
    assert_true(piece_near(halo->inner_mm, 0.05, 1e-12));
    assert_true(
        piece_near(halo->metal_mm3 + halo->seats_mm3, PI * (5.05 * 5.05 - 3.3 * 3.3) * 1.2, 1e-9));
    piece_close(&p);
}

static void level_metal_ends_where_the_stone_begins(void **state)
{
    piece level = haloed("round", 6.5, 6.5, UP "halo,inner rim,0.5,mm,\n", true);
    piece below = haloed("round", 6.5, 6.5, UP "halo,inner rim,0.5,mm,\nhalo,drop,0.5,mm,\n", true);

    (void)state;
    assert_true(piece_near(level.geometry->halos[0].inner_mm, 0.0, 1e-12));
    assert_true(piece_near(below.geometry->halos[0].inner_mm, -0.3, 1e-12));
    piece_close(&level);
    piece_close(&below);
}

/* The stones' girdles lie on the line at 1 mm, a crown height inside the face: 1.15. */
static void a_wall_is_as_high_as_stone_and_rims_and_as_thick_as_it_says(void **state)
{
    piece p = haloed("round", 6.5, 6.5, OUT, true);
    const ts_row_shape *halo = &p.geometry->halos[0];
    double face_mm = 3.25 + 1.15, back_mm = face_mm - 1.1;

    (void)state;
    assert_true(piece_near(halo->metal_mm3 + halo->seats_mm3,
                           PI * (face_mm * face_mm - back_mm * back_mm) * 1.6, 1e-9));
    assert_true(piece_near(halo->seats_mm3, halo->stones * ts_seat_mm3(1.0, 0.95), 1e-12));
    piece_close(&p);
}

/* Smaller: the plate round a circle of the stone's area, of all outlines the shortest (Brunn and
 * Minkowski: sqrt(outer area) >= sqrt(area) + offset sqrt(pi)). Larger: a band along the girdle
 * with a full turn about its corners. */
static void metal_lies_between_a_circles_and_a_band_with_its_corners(void **state)
{
    static const char *const shapes[] = {"round",   "oval",     "pear",     "marquise",
                                         "cushion", "princess", "emerald",  "asscher",
                                         "radiant", "heart",    "baguette", "trillion"};

    (void)state;
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++) {
        double length_mm = strcmp(shapes[i], "round") == 0 ? 6.0 : 6.6;
        piece p = haloed(shapes[i], length_mm, 6.0, UP, true);
        const ts_row_shape *halo = &p.geometry->halos[0];
        double gross_mm3 = halo->metal_mm3 + halo->seats_mm3;
        ts_outline girdle;

        assert_true(
            ts_outline_of(&girdle, (ts_shape)p.design->stone[0].shape, length_mm, 6.0, 1.2));
        double round_mm = 2.0 * sqrt(PI * ts_outline_area_mm2(&girdle));
        double least_mm3 = (round_mm * 1.8 + PI * 1.8 * 1.8) * 1.2;
        double most_mm3 = (ts_outline_length_mm(&girdle) * 1.8 + PI * 1.8 * 1.8) * 1.2;
        assert_true(gross_mm3 >= least_mm3 * (1.0 - 1e-12));
        assert_true(gross_mm3 <= most_mm3 * (1.0 + 1e-12));
        assert_true(halo->metal_mm3 > 0.0);
        piece_close(&p);
    }
}

/* ---- chains ---- */

static piece chained(const char *inner, const char *outer)
{
    char rows[ROWS_BYTES];
    int used = put_stone(rows, "round", 6.5, 6.5);

    snprintf(rows + used, ROWS_BYTES - (size_t)used,
             "halo one,around,centre,,\nhalo one,faces,up,,\nhalo one,gap,0.1,mm,\n"
             "halo one,stone diameter,1.3,mm,\nhalo one,spacing,0.1,mm,\n"
             "halo one,lot,natural melee G-VS,,\nhalo one,setting,bead,,\n"
             "halo one,thickness,1.2,mm,\nhalo one,rim,0.3,mm,\n%s"
             "halo two,lot,natural melee G-VS,,\nhalo two,setting,bead,,\n"
             "halo two,stone diameter,1,mm,\nhalo two,spacing,0.1,mm,\n"
             "halo two,thickness,1.2,mm,\nhalo two,rim,0.3,mm,\n%s",
             inner, outer);
    piece p = piece_open(rows, NULL);
    piece_measure(&p, true);
    return p;
}

#define FLAT_HALO                                                                                  \
    "halo,faces,up,,\nhalo,gap,1.2,mm,\nhalo,stone diameter,1.3,mm,\nhalo,spacing,0.1,mm,\n"       \
    "halo,thickness,1.4,mm,\nhalo,rim,0.3,mm,\n"

/* Bars of 1 mm that stand upright on the girdle: half of each lies in the plate. */
static void metal_gives_way_to_the_claws_that_pass_it(void **state)
{
    piece bare = haloed("round", 6.5, 6.5, FLAT_HALO, true);
    piece held =
        haloed("round", 6.5, 6.5,
               FLAT_HALO "head,holds,centre,,\nhead,claws,4,,\nhead,claw style,flat,,\n"
                         "head,claw diameter,1,mm,\nhead,tip diameter,1,mm,\nhead,rails,0,,\n"
                         "head,culet clearance,1,mm,\n",
               true);
    double less_mm3 = bare.geometry->halos[0].metal_mm3 - held.geometry->halos[0].metal_mm3;

    (void)state;
    assert_true(piece_near(less_mm3, 4.0 * PI / 8.0 * 1.4, 1e-9));
    piece_close(&bare);
    piece_close(&held);
}

/* The band stands from a third of the crown over the girdle to 1 mm less than that below it. */
static void metal_gives_way_to_the_bezel_that_it_goes_round(void **state)
{
    piece bare = haloed("round", 6.5, 6.5, FLAT_HALO, true);
    piece held =
        haloed("round", 6.5, 6.5,
               FLAT_HALO "bezel,holds,centre,,\nbezel,wall,0.6,mm,\nbezel,height,1,mm,\n", true);
    double less_mm3 = bare.geometry->halos[0].metal_mm3 - held.geometry->halos[0].metal_mm3;
    double below_mm = 1.0 - 0.6 * 6.5 * 14.5 / 60.0 / 3.0;

    (void)state;
    assert_true(piece_near(less_mm3, PI * (3.85 * 3.85 - 3.25 * 3.25) * below_mm, 1e-9));
    piece_close(&bare);
    piece_close(&held);
}

static void what_goes_round_a_halo_begins_at_its_outer_edge(void **state)
{
    piece p = chained("", "halo two,around,halo one,,\nhalo two,faces,up,,\nhalo two,gap,0,mm,\n");
    const ts_row_shape *one = &p.geometry->halos[0], *two = &p.geometry->halos[1];

    (void)state;
    assert_true(piece_near(one->outer_mm, 0.1 + 1.3 + 0.3, 1e-12));
    assert_true(piece_near(two->offset_mm, 1.7 + 0.5, 1e-12));
    assert_true(piece_near(two->outer_mm, 1.7 + 1.0 + 0.3, 1e-12));
    assert_true(piece_near(two->inner_mm, 1.7, 1e-12));
    assert_int_equal(two->stones, (int)floor(PI / asin(1.1 / (2.0 * (3.25 + 2.2)))));
    piece_close(&p);
}

static void a_wall_under_a_halo_is_flush_with_its_edge(void **state)
{
    piece p = chained("", "halo two,around,centre,,\nhalo two,faces,out,,\nhalo two,under,one,,\n"
                          "halo two,drop,2,mm,\n");
    const ts_row_shape *one = &p.geometry->halos[0], *two = &p.geometry->halos[1];

    (void)state;
    assert_true(piece_near(two->outer_mm, one->outer_mm, 1e-12));
    assert_true(piece_near(two->offset_mm, one->outer_mm - 0.15, 1e-12));
    piece_close(&p);
}

/* ---- what cannot be made ---- */

static void stones_too_large_to_close_say_which_do(void **state)
{
    piece p = haloed("round", 1.0, 1.0,
                     "halo,faces,up,,\nhalo,gap,0,mm,\nhalo,stone diameter,8,mm,\n"
                     "halo,spacing,0.1,mm,\nhalo,thickness,1.2,mm,\nhalo,rim,0.3,mm,\n",
                     false);

    (void)state;
    assert_int_equal(p.status, TS_FAULTY);
    /* three: (d + 0.1) / (1 + d) = sin 60 deg, so d = 5.71 */
    assert_true(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, "stones up to 5.71 mm do"));
    piece_close(&p);
}

static void a_multiple_beyond_the_count_is_named(void **state)
{
    piece p = haloed("round", 6.5, 6.5, UP "halo,multiple,25,,\n", false);

    (void)state;
    assert_true(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, "a multiple of 25"));
    piece_close(&p);
}

static void a_line_inside_the_stone_says_how_far_it_can_go(void **state)
{
    piece p = haloed("round", 6.5, 6.5,
                     "halo,faces,out,,\nhalo,offset,-3.3,mm,\nhalo,stone diameter,1,mm,\n"
                     "halo,spacing,0.1,mm,\nhalo,thickness,1.1,mm,\nhalo,rim,0.3,mm,\n",
                     false);

    (void)state;
    assert_true(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, "room for less than 3.25 mm"));
    piece_close(&p);
}

static void a_fault_of_a_halo_brings_none_of_those_that_rest_on_it(void **state)
{
    char rows[ROWS_BYTES];
    int used = put_stone(rows, "round", 1.0, 1.0);

    (void)state;
    snprintf(rows + used, ROWS_BYTES - (size_t)used,
             "halo one,around,centre,,\nhalo one,faces,up,,\nhalo one,gap,0,mm,\n"
             "halo one,stone diameter,8,mm,\nhalo one,spacing,0.1,mm,\n"
             "halo one,lot,natural melee G-VS,,\nhalo one,setting,bead,,\n"
             "halo one,thickness,1.2,mm,\nhalo one,rim,0.3,mm,\n"
             "halo two,around,halo one,,\nhalo two,faces,up,,\nhalo two,gap,0,mm,\n"
             "halo two,stone diameter,1,mm,\nhalo two,spacing,0.1,mm,\n"
             "halo two,lot,natural melee G-VS,,\nhalo two,setting,bead,,\n"
             "halo two,thickness,1.2,mm,\nhalo two,rim,0.3,mm,\n");
    piece p = piece_open(rows, NULL);
    piece_measure(&p, false);
    assert_int_equal(ts_diag_errors(p.diag), 1);
    piece_close(&p);
}

/* ---- fit ---- */

/* Of the lot's steps from 0.9 to 2.1 mm: each tried by the closed form. */
static void fit_takes_the_step_that_closes_most_evenly(void **state)
{
    char rows[ROWS_BYTES];
    int used = put_stone(rows, "round", 6.5, 6.5);
    double best_mm = 0.0, least_mm = 1e9;

    (void)state;
    put_halo(rows, used,
             "halo,faces,up,,\nhalo,gap,0.2,mm,\nhalo,stone diameter,fit,,\n"
             "halo,spacing,0.1,mm,\nhalo,thickness,1.2,mm,\nhalo,rim,0.3,mm,\n");
    piece p = piece_open(rows, BOOKS);
    piece_measure(&p, true);
    assert_true(p.design->halo[0].fit_count >= 5);
    for (int i = 0; i < p.design->halo[0].fit_count; i++) {
        double d_mm = ts_dec_double(p.design->halo[0].fit_mm[i]);
        double line_mm = 3.25 + 0.2 + d_mm / 2.0;
        double n = floor(PI / asin((d_mm + 0.1) / (2.0 * line_mm)) + 1e-9);
        double spacing_mm = 2.0 * line_mm * sin(PI / n) - d_mm;
        if (n >= 3.0 && spacing_mm < least_mm) {
            least_mm = spacing_mm;
            best_mm = d_mm;
        }
    }
    assert_true(piece_near(p.geometry->halos[0].diameter_mm, best_mm, 1e-12));
    assert_true(piece_near(p.geometry->halos[0].spacing_mm, least_mm, 1e-9));
    piece_close(&p);
}

/* ---- any halo ---- */

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return *seed >> 8;
}

static double between(uint32_t *seed, double low, double high)
{
    return low + (high - low) * next_random(seed) / 16777216.0;
}

static bool one_more_fits(const piece *p, const ts_row_shape *halo, double spacing_mm)
{
    ts_outline outline;
    ts_closed_row row;
    const ts_stone *stone = &p->design->stone[0];
    ts_closed_ask ask = {.offset_mm = halo->offset_mm,
                         .diameter_mm = halo->diameter_mm,
                         .spacing_mm = spacing_mm,
                         .start = TS_POINT_STONE};

    assert_true(ts_outline_of(&outline, (ts_shape)stone->shape, ts_dec_double(stone->length),
                              ts_dec_double(stone->width), ts_dec_double(stone->corner)));
    return ts_closed_row_spread(&row, &outline, &ask, halo->stones + 1) &&
           row.spacing_mm >= spacing_mm + 1e-6;
}

/* Random stones of every shape: figures are finite, neighbours keep their distance, one stone
 * more would not, and a larger stone never takes less metal round it. */
static void any_halo_keeps_its_promises(void **state)
{
    uint32_t seed = 20261125u;

    (void)state;
    for (int turn = 0; turn < 240; turn++) {
        const char *shape = ts_list_word(TS_LIST_SHAPE, 1 + turn % (TS_SHAPE_COUNT - 1));
        double width_mm = floor(between(&seed, 3.0, 11.0) * 1000.0) / 1000.0;
        double length_mm =
            strcmp(shape, "round") == 0 ? width_mm : width_mm * (turn % 3 == 0 ? 1.0 : 1.1);
        double spacing_mm = floor(between(&seed, 0.0, 0.3) * 1000.0) / 1000.0;
        char halo[512];
        snprintf(halo, sizeof halo,
                 "halo,faces,up,,\nhalo,gap,%.3f,mm,\nhalo,stone diameter,%.2f,mm,\n"
                 "halo,spacing,%.3f,mm,\nhalo,thickness,1.2,mm,\nhalo,rim,%.3f,mm,\n",
                 between(&seed, 0.0, 0.6), between(&seed, 0.8, 1.8), spacing_mm,
                 between(&seed, 0.0, 0.5));
        piece p = haloed(shape, length_mm, width_mm, halo, true);
        piece larger = haloed(shape, 1.03 * length_mm, 1.03 * width_mm, halo, true);
        const ts_row_shape *row = &p.geometry->halos[0], *wide = &larger.geometry->halos[0];
        assert_true(isfinite(row->metal_mm3) && row->metal_mm3 >= 0.0);
        assert_true(row->stones >= 3 && row->spacing_mm >= spacing_mm - 1e-8);
        assert_true(wide->metal_mm3 + wide->seats_mm3 > row->metal_mm3 + row->seats_mm3);
        assert_true(wide->stones >= row->stones);
        if (strcmp(shape, "heart") != 0) { /* its cleft may cost a stone */
            assert_false(one_more_fits(&p, row, spacing_mm));
        }
        piece_close(&p);
        piece_close(&larger);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counts_spacings_and_plates_agree_with_closed_forms),
        cmocka_unit_test(metal_that_faces_up_reaches_from_the_girdle_to_the_rim),
        cmocka_unit_test(an_inner_rim_leaves_a_line_of_light),
        cmocka_unit_test(level_metal_ends_where_the_stone_begins),
        cmocka_unit_test(a_wall_is_as_high_as_stone_and_rims_and_as_thick_as_it_says),
        cmocka_unit_test(metal_lies_between_a_circles_and_a_band_with_its_corners),
        cmocka_unit_test(metal_gives_way_to_the_claws_that_pass_it),
        cmocka_unit_test(metal_gives_way_to_the_bezel_that_it_goes_round),
        cmocka_unit_test(what_goes_round_a_halo_begins_at_its_outer_edge),
        cmocka_unit_test(a_wall_under_a_halo_is_flush_with_its_edge),
        cmocka_unit_test(stones_too_large_to_close_say_which_do),
        cmocka_unit_test(a_multiple_beyond_the_count_is_named),
        cmocka_unit_test(a_line_inside_the_stone_says_how_far_it_can_go),
        cmocka_unit_test(a_fault_of_a_halo_brings_none_of_those_that_rest_on_it),
        cmocka_unit_test(fit_takes_the_step_that_closes_most_evenly),
        cmocka_unit_test(any_halo_keeps_its_promises),
    };

    return cmocka_run_group_tests_name("plate", tests, NULL, NULL);
}
