/* A whole design measured: band, bezel, stones in their places, rows, heights, and what cannot
 * be made. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/seat.h"
#include "piece.h"
#include "table.h"

#define PI 3.14159265358979323846
#define ROWS_BYTES 8192

#define SHANK(profile, width, thick)                                                               \
    "shank,profile top," profile ",,\nshank,profile base," profile ",,\nshank,width top," width    \
    ",mm,\nshank,width base," width ",mm,\nshank,thickness top," thick                             \
    ",mm,\nshank,thickness base," thick ",mm,\n"
#define STONE(name, shape, size)                                                                   \
    "stone " name ",shape," shape ",,\n" size "stone " name ",species,diamond,,\nstone " name      \
    ",origin,natural,,\nstone " name ",setting,claw,,\nstone " name ",price,100,each,\n"
#define HEAD(name, clearance)                                                                      \
    "head " name ",holds," name ",,\nhead " name ",claws,4,,\nhead " name                          \
    ",claw style,round,,\nhead " name ",claw diameter,1,mm,\nhead " name                           \
    ",tip diameter,0.8,mm,\nhead " name ",rails,1,,\nhead " name                                   \
    ",rail diameter,0.8,mm,\nhead " name ",culet clearance," clearance ",mm,\n"

static piece measured(const char *rows, bool must)
{
    piece p = piece_open(rows, NULL);

    piece_measure(&p, must);
    return p;
}

/* ---- closed forms ---- */

static double band_of(const table_row *row, const char *profile)
{
    char rows[ROWS_BYTES];

    snprintf(rows, sizeof rows,
             "ring,size,%s,mm diameter,\nring,alloy,750 yellow,,\n"
             "shank,profile top,%s,,\nshank,profile base,%s,,\nshank,width top,%s,mm,\n"
             "shank,width base,%s,mm,\nshank,thickness top,%s,mm,\nshank,thickness base,%s,mm,\n",
             table_text(row, "a"), profile, profile, table_text(row, "b"), table_text(row, "c"),
             table_text(row, "d"), table_text(row, "d"));
    piece p = measured(rows, true);
    double volume_mm3 = p.geometry->shank_mm3;
    piece_close(&p);
    return volume_mm3;
}

static double bezel_of(const table_row *row)
{
    char rows[ROWS_BYTES];

    snprintf(rows, sizeof rows,
             SHANK("flat", "2",
                   "1.8") "stone centre,shape,round,,\nstone centre,length,%s,mm,\n"
                          "stone centre,depth,3.9,mm,\nstone centre,species,diamond,,\n"
                          "stone centre,origin,natural,,\nstone centre,setting,bezel,,\n"
                          "stone centre,price,1,each,\nbezel,holds,centre,,\nbezel,wall,%s,mm,\n"
                          "bezel,height,%s,mm,\n",
             table_text(row, "a"), table_text(row, "b"), table_text(row, "c"));
    piece p = measured(rows, true);
    double volume_mm3 = p.geometry->bezels[0].volume_mm3;
    piece_close(&p);
    return volume_mm3;
}

static void bands_and_bezels_agree_with_closed_forms(void **state)
{
    table *solids = table_open("tests/reference/solids.csv");
    int count = 0;

    (void)state;
    for (const table_row *row; (row = table_next(solids)) != NULL;) {
        const char *solid = table_text(row, "solid");
        double got = 0.0;
        if (strcmp(solid, "bezel") == 0) {
            got = bezel_of(row);
        } else if (strcmp(solid, "flat band") == 0) {
            got = band_of(row, "flat");
        } else if (strcmp(solid, "half round") == 0 || strcmp(solid, "round wire") == 0) {
            got = band_of(row, solid);
        } else {
            continue;
        }
        double expect = table_number(row, "value");
        if (!piece_near(got, expect, table_number(row, "rel_tol"))) {
            fail_msg("line %d: %s %.12f, expected %.12f", table_line(row), solid, got, expect);
        }
        count++;
    }
    assert_true(count >= 7);
    table_close(solids);
}

/* Between the band along the girdle and the one along its outer edge. */
static void a_bezel_lies_between_two_bands(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8") STONE(
            "centre", "oval",
            "stone centre,length,8,mm,\n"
            "stone centre,width,6,mm,\n"
            "stone centre,depth,3.6,mm,\n") "bezel,holds,centre,,\nbezel,wall,0.6,mm,\nbezel,height,2,mm,\n",
        true);
    double round_mm = 22.103492; /* of an ellipse of half axes 4 and 3: Ramanujan, AGM */

    (void)state;
    assert_true(p.geometry->bezels[0].volume_mm3 > round_mm * 0.6 * 2.0);
    assert_true(p.geometry->bezels[0].volume_mm3 < (round_mm + 2.0 * PI * 0.6) * 0.6 * 2.0);
    /* Steiner: (L t + pi t^2) h */
    assert_true(
        piece_near(p.geometry->bezels[0].volume_mm3, (round_mm * 0.6 + PI * 0.36) * 2.0, 1e-7));
    piece_close(&p);
}

/* ---- stations ---- */

static void a_station_on_the_straight_line_changes_nothing(void **state)
{
    piece plain = measured("shank,profile top,knife edge,,\nshank,profile base,half round,,\n"
                           "shank,width top,2,mm,\nshank,width base,4,mm,\n"
                           "shank,thickness top,1.6,mm,\nshank,thickness base,2.2,mm,\n",
                           true);
    piece more = measured("shank,profile top,knife edge,,\nshank,profile base,half round,,\n"
                          "shank,width top,2,mm,\nshank,width base,4,mm,\n"
                          "shank,thickness top,1.6,mm,\nshank,thickness base,2.2,mm,\n"
                          "shank,width 45,2.5,mm,\nshank,thickness 90,1.9,mm,\n",
                          true);

    (void)state;
    assert_true(piece_near(more.geometry->shank_mm3, plain.geometry->shank_mm3, 1e-12));
    piece_close(&plain);
    piece_close(&more);
}

static void a_wider_station_weighs_more(void **state)
{
    piece plain = measured(SHANK("court", "2", "1.8"), true);
    piece wide = measured(SHANK("court", "2", "1.8") "shank,width 60,3,mm,\n", true);
    piece whole = measured(SHANK("court", "3", "1.8"), true);

    (void)state;
    assert_true(wide.geometry->shank_mm3 > plain.geometry->shank_mm3);
    assert_true(wide.geometry->shank_mm3 < whole.geometry->shank_mm3);
    /* the width rises by 1 over 60 deg and falls over 120: half as much more on the mean */
    assert_true(piece_near(wide.geometry->shank_mm3,
                           0.5 * (plain.geometry->shank_mm3 + whole.geometry->shank_mm3), 1e-12));
    piece_close(&plain);
    piece_close(&wide);
    piece_close(&whole);
}

/* ---- the ring's size ---- */

static void a_bore_outside_what_fingers_are_is_refused(void **state)
{
    piece p = measured(
        "ring,size,7.9,mm diameter,\nring,alloy,750 yellow,,\n" SHANK("flat", "2", "1.8"), false);
    piece q = measured(
        "ring,size,8,mm diameter,\nring,alloy,750 yellow,,\n" SHANK("flat", "2", "1.8"), true);

    (void)state;
    assert_int_equal(p.status, TS_FAULTY);
    assert_true(piece_faults(&p, TS_FAULT_RANGE, "from 8 to 40 mm"));
    assert_int_equal(ts_diag_errors(p.diag), 1);
    piece_close(&p);
    piece_close(&q);
}

/* ---- stones ---- */

static void a_stated_weight_wins_over_the_estimate(void **state)
{
    piece p = measured(SHANK("flat", "2", "1.8")
                           STONE("centre", "round",
                                 "stone centre,length,6.5,mm,\nstone centre,depth,3.9,mm,\n"
                                 "stone centre,weight,1.03,ct,\n"),
                       true);
    const ts_stone_shape *stone = &p.geometry->stones[0];

    (void)state;
    assert_true(stone->weight_stated && piece_near(stone->carats, 1.03, 1e-12));
    assert_true(piece_near(stone->estimate_carats, 1.0051275, 1e-9)); /* 6.5^2 3.9 0.0061 */
    piece_close(&p);
}

static void a_round_known_by_weight_gets_its_size(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8") STONE("centre", "round", "stone centre,weight,1,ct,\n"), true);
    const ts_stone_shape *stone = &p.geometry->stones[0];

    (void)state;
    assert_true(stone->size_estimated);
    assert_true(piece_near(stone->length_mm, 6.4710, 1e-4)); /* (1 / 0.0036905)^(1/3) */
    assert_true(piece_near(stone->depth_mm, 0.605 * stone->length_mm, 1e-9));
    piece_close(&p);
}

static void a_pear_shorter_than_wide_is_refused_at_its_length(void **state)
{
    piece p = measured(SHANK("flat", "2", "1.8")
                           STONE("centre", "pear",
                                 "stone centre,length,3,mm,\nstone centre,width,4,mm,\n"
                                 "stone centre,depth,2,mm,\n"),
                       false);

    (void)state;
    assert_true(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, "at least 4 mm long"));
    piece_close(&p);
}

static void two_beside_a_stone_are_a_mirrored_pair(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8") STONE("centre", "oval",
                                        "stone centre,length,7.7,mm,\nstone centre,width,5.7,mm,\n"
                                        "stone centre,depth,3.6,mm,\n")
            STONE("side", "pear",
                  "stone side,length,4.6,mm,\nstone side,width,3,mm,\n"
                  "stone side,depth,1.85,mm,\nstone side,count,2,,\nstone side,beside,centre,,\n"
                  "stone side,gap,0.2,mm,\nstone side,tip,out,,\nstone side,drop,0.7,mm,\n")
                HEAD("centre", "1.2"),
        true);
    const ts_spot *right = &p.geometry->stones[1].spots[0];
    const ts_spot *left = &p.geometry->stones[1].spots[1];

    (void)state;
    assert_true(piece_near(right->x_mm, 2.85 + 0.2 + 2.3, 1e-12));
    assert_true(piece_near(left->x_mm, -right->x_mm, 1e-12));
    assert_true(piece_near(right->angle_rad, -PI / 2.0, 1e-12)); /* the tip looks away */
    assert_true(piece_near(left->angle_rad, PI / 2.0, 1e-12));
    assert_true(piece_near(right->z_mm, 1.2 + 45.5 / 60.0 * 3.6 - 0.7, 1e-12));
    piece_close(&p);
}

static void a_turned_centre_moves_its_neighbours_out(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8") STONE("centre", "princess",
                                        "stone centre,length,5,mm,\nstone centre,width,5,mm,\n"
                                        "stone centre,depth,3.5,mm,\nstone centre,turn,45,deg,\n")
            STONE("side", "round",
                  "stone side,length,3,mm,\nstone side,depth,1.8,mm,\n"
                  "stone side,beside,centre,,\nstone side,gap,0.1,mm,\n") HEAD("centre", "1"),
        true);

    (void)state;
    /* a square on its corner reaches half its diagonal */
    assert_true(piece_near(p.geometry->stones[1].spots[0].x_mm, 2.5 * sqrt(2.0) + 0.1 + 1.5, 1e-9));
    piece_close(&p);
}

static void claws_turn_with_their_stone(void **state)
{
    piece p = measured(SHANK("flat", "2", "1.8")
                           STONE("centre", "oval",
                                 "stone centre,length,8,mm,\nstone centre,width,6,mm,\n"
                                 "stone centre,depth,3.6,mm,\nstone centre,turn,90,deg,\n")
                               HEAD("centre", "1"),
                       true);
    const ts_head_shape *head = &p.geometry->heads[0];

    (void)state;
    /* the first claw stands at the end of the length, which now lies along -x */
    assert_true(piece_near(head->claw_spots[0].x_mm, -4.0, 1e-9));
    assert_true(piece_near(head->claw_spots[0].y_mm, 0.0, 1e-9));
    piece_close(&p);
}

/* ---- heights ---- */

static void heights_stack_from_the_finger(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8")
            STONE("centre", "round", "stone centre,length,6.5,mm,\nstone centre,depth,3.95,mm,\n")
                HEAD("centre", "2.2"),
        true);
    const ts_heights *height = &p.geometry->height;

    (void)state;
    assert_true(height->known && !height->has_halo);
    assert_true(piece_near(height->girdle_mm, 2.2 + 45.5 / 60.0 * 3.95, 1e-12));
    assert_true(piece_near(height->total_mm, 6.15, 1e-12));
    assert_true(piece_near(height->shank_top_mm, 1.8, 1e-12));
    piece_close(&p);
}

static void an_open_shank_stands_lower_at_its_edges(void **state)
{
    piece p = measured(
        SHANK("flat", "2", "1.8") "shank,open,40,deg,\n" STONE(
            "centre", "round", "stone centre,length,6.5,mm,\nstone centre,depth,3.95,mm,\n")
            HEAD("centre", "0.5"),
        true);
    double bore_mm = 16.51 / 2.0;

    (void)state;
    assert_true(piece_near(p.geometry->height.shank_top_mm,
                           (bore_mm + 1.8) * cos(20.0 * PI / 180.0) - bore_mm, 1e-9));
    piece_close(&p);
}

/* ---- rows along the shank ---- */

#define ROW(more)                                                                                  \
    "row band,stone diameter,2,mm,\nrow band,spacing,0.12,mm,\nrow band,lot,natural melee "        \
    "G-VS,,\nrow band,setting,shared claw,,\n" more

static void a_row_lies_a_crown_inside_the_face_and_between_its_angles(void **state)
{
    piece p = measured(SHANK("flat", "2.8", "2") ROW("row band,from,0.35,deg,\n"
                                                     "row band,to,179.65,deg,\n"),
                       true);
    const ts_row_shape *row = &p.geometry->rows[0];
    double radius_mm = 16.51 / 2.0 + 2.0 - 0.3;
    double edge_rad = asin(1.0 / radius_mm);
    int a_side = 1 + (int)floor((179.3 * PI / 180.0 - 2.0 * edge_rad) /
                                (2.0 * asin(2.12 / 2.0 / radius_mm)));

    (void)state;
    assert_int_equal(row->stones, 2 * a_side);
    for (int i = 0; i < row->stones; i++) {
        const ts_spot *spot = &row->spots[i];
        double from_top_rad = fabs(spot->angle_rad);
        assert_true(from_top_rad > 0.35 * PI / 180.0 + edge_rad - 1e-9);
        assert_true(from_top_rad < 179.65 * PI / 180.0 - edge_rad + 1e-9);
        assert_true(piece_near(hypot(spot->x_mm, spot->z_mm + 16.51 / 2.0), radius_mm, 1e-9));
    }
    assert_true(piece_near(row->seats_mm3, row->stones * ts_seat_mm3(2.0, 1.7), 1e-9));
    assert_true(piece_near(p.geometry->shank_seats_mm3, row->seats_mm3, 1e-12));
    piece_close(&p);
}

static void lines_stand_side_by_side(void **state)
{
    piece p = measured(SHANK("flat", "5", "2") ROW("row band,from,20,deg,\nrow band,to,60,deg,\n"
                                                   "row band,lines,2,,\n"),
                       true);
    const ts_row_shape *row = &p.geometry->rows[0];
    int left = 0;

    (void)state;
    for (int i = 0; i < row->stones; i++) {
        left += row->spots[i].y_mm < 0.0 ? 1 : 0;
        assert_true(piece_near(fabs(row->spots[i].y_mm), 1.06, 1e-12));
    }
    assert_int_equal(2 * left, row->stones);
    piece_close(&p);
}

static void a_counted_row_has_just_so_many_on_a_shoulder(void **state)
{
    piece p = measured(SHANK("flat", "2.8", "2") ROW("row band,from,20,deg,\nrow band,count,5,,\n"),
                       true);

    (void)state;
    assert_int_equal(p.geometry->rows[0].stones, 10);
    assert_true(piece_near(p.geometry->rows[0].spacing_mm, 0.12, 1e-9));
    piece_close(&p);
}

static void a_graduated_row_takes_one_step_after_another(void **state)
{
    char rows[ROWS_BYTES];

    (void)state;
    snprintf(rows, sizeof rows, "%s",
             SHANK("flat", "2.8",
                   "2") "row band,from,20,deg,\nrow band,count,6,,\n"
                        "row band,stone diameter,2.05,mm,\nrow band,end diameter,1.65,mm,\n"
                        "row band,spacing,0.12,mm,\nrow band,lot,natural melee G-VS,,\n"
                        "row band,setting,bead,,\nrow band,shoulders,1,,\n");
    piece p = piece_open(rows, "tests/reference/books");
    piece_measure(&p, true);
    const ts_row_shape *row = &p.geometry->rows[0];
    /* steps of the book: 2.0-2.1, 1.9-2.0, 1.8-1.9, 1.7-1.8, 1.6-1.7 */
    const double expect_mm[] = {2.05, 1.95, 1.85, 1.75, 1.65, 1.65};
    assert_int_equal(row->stones, 6);
    for (int i = 0; i < 6; i++) {
        assert_true(piece_near(row->spots[i].diameter_mm, expect_mm[i], 1e-9));
    }
    assert_int_equal(row->size_count, 5);
    assert_int_equal(row->sizes[4].stones, 2);
    piece_close(&p);
}

static void a_row_that_does_not_fit_says_what_would(void **state)
{
    piece many = measured(
        SHANK("flat", "2.8", "2") ROW("row band,from,20,deg,\nrow band,count,40,,\n"), false);
    piece wide = measured(SHANK("flat", "1.9", "2") ROW("row band,from,20,deg,\n"
                                                        "row band,to,60,deg,\n"),
                          false);
    piece open = measured(SHANK("flat", "2.8", "2") "shank,open,60,deg,\n" ROW(
                              "row band,from,20,deg,\nrow band,to,60,deg,\n"),
                          false);
    piece narrow = measured(
        SHANK("flat", "2.8", "2") ROW("row band,from,20,deg,\nrow band,to,25,deg,\n"), false);

    (void)state;
    /* 1 + floor((160 deg - 2 asin(1/9.955)) / (2 asin(1.06/9.955))) = 13 */
    assert_true(piece_faults(&many, TS_FAULT_CANNOT_BE_MADE, "the base; 13 do"));
    assert_true(piece_faults(&wide, TS_FAULT_CANNOT_BE_MADE, "the shank is 1.9 mm wide"));
    assert_true(piece_faults(&open, TS_FAULT_CANNOT_BE_MADE, "can begin at 30 deg"));
    assert_true(piece_faults(&narrow, TS_FAULT_CANNOT_BE_MADE, "no stone of 2 mm fits"));
    piece_close(&many);
    piece_close(&wide);
    piece_close(&open);
    piece_close(&narrow);
}

#define OTHER(more)                                                                                \
    "row other,stone diameter,1.5,mm,\nrow other,lot,natural melee "                               \
    "G-VS,,\nrow other,setting,shared claw,,\n" more

static void rows_over_one_arc_are_refused_and_told_where_there_is_room(void **state)
{
    static const char first[] = SHANK("flat", "6", "4") ROW("row band,from,20,deg,\n"
                                                            "row band,count,3,,\n");
    /* three stones of 2 on a radius of 8.255 + 4 - 0.3 */
    double stone_rad = 2.0 * asin(1.06 / 11.955);
    double end_deg = 20.0 + (2.0 * stone_rad + 2.0 * asin(1.0 / 11.955)) * 180.0 / PI;
    static const struct {
        const char *rows;
        bool meets;
    } cases[] = {
        {OTHER("row other,spacing,0.12,mm,\nrow other,from,25,deg,\nrow other,to,40,deg,\n"), true},
        {OTHER("row other,spacing,0.12,mm,\nrow other,from,5,deg,\nrow other,to,21.5,deg,\n"),
         true},
        {OTHER("row other,spacing,0.12,mm,\nrow other,from,50,deg,\nrow other,to,70,deg,\n"),
         false},
        {OTHER("row other,spacing,0.12,mm,\nrow other,from,5,deg,\nrow other,to,20,deg,\n"), false},
        {OTHER(
             "row other,spacing,0.12,mm,\nrow other,from,25,deg,\nrow other,to,40,deg,\nrow other,faces,side,,\n"),
         false},
        {OTHER(
             "row other,spacing,0.12,mm,\nrow other,from,25,deg,\nrow other,to,40,deg,\nrow other,shoulders,1,,\n"),
         true},
        /* two lines, each 0.81 mm off the middle, where 1.75 mm are needed */
        {OTHER(
             "row other,spacing,0.12,mm,\nrow other,from,25,deg,\nrow other,to,40,deg,\nrow other,lines,2,,\n"),
         true},
        /* and 1.81 mm off it */
        {OTHER("row other,spacing,2.12,mm,\nrow other,from,25,deg,\nrow other,to,40,deg,\n"
               "row other,lines,2,,\n"),
         false},
    };
    char words[128];

    (void)state;
    assert_true(end_deg < 50.0);
    snprintf(words, sizeof words, "stands where one of row band does, which takes 20 to %.3f deg",
             end_deg);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char rows[ROWS_BYTES];
        snprintf(rows, sizeof rows, "%s%s", first, cases[i].rows);
        piece p = measured(rows, !cases[i].meets);
        assert_int_equal(piece_faults(&p, TS_FAULT_CANNOT_BE_MADE, words), cases[i].meets);
        piece_close(&p);
    }
}

/* ---- meshes ---- */

static piece meshed(const char *bytes, size_t length, const char *unit)
{
    char rows[ROWS_BYTES];

    snprintf(rows, sizeof rows,
             "mesh model,file,model.stl,,\nmesh model,unit,%s,,\nmesh model,replaces,all,,\n"
             "mesh model,is,finished,,\n" SHANK("flat", "2", "1.8"),
             unit);
    piece p = piece_open(rows, NULL);
    p.design->mesh[0].bytes = bytes;
    p.design->mesh[0].length = length;
    piece_measure(&p, false);
    return p;
}

/* A corner of a cube: four facets, a sixth of a cubic unit. */
static const char corner_stl[] = "solid corner\n"
                                 "facet normal 0 0 0 outer loop vertex 0 0 0 vertex 0 1 0 vertex 1 "
                                 "0 0 endloop endfacet\n"
                                 "facet normal 0 0 0 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 "
                                 "0 1 endloop endfacet\n"
                                 "facet normal 0 0 0 outer loop vertex 0 0 0 vertex 0 0 1 vertex 0 "
                                 "1 0 endloop endfacet\n"
                                 "facet normal 0 0 0 outer loop vertex 1 0 0 vertex 0 1 0 vertex 0 "
                                 "0 1 endloop endfacet\n"
                                 "endsolid corner\n";

static void a_mesh_in_inches_is_measured_in_millimetres(void **state)
{
    piece mm = meshed(corner_stl, strlen(corner_stl), "mm");
    piece in = meshed(corner_stl, strlen(corner_stl), "in");

    (void)state;
    assert_int_equal(mm.status, TS_OK);
    assert_true(piece_near(mm.geometry->meshes[0].volume_mm3, 1.0 / 6.0, 1e-12));
    assert_true(piece_near(in.geometry->meshes[0].volume_mm3, 25.4 * 25.4 * 25.4 / 6.0, 1e-12));
    piece_close(&mm);
    piece_close(&in);
}

static void an_open_mesh_is_refused(void **state)
{
    const char *last = strstr(corner_stl, "facet normal 0 0 0 outer loop vertex 1 0 0");
    char *open = NULL;
    size_t length = (size_t)(last - corner_stl);

    (void)state;
    open = calloc(1, length + 32);
    assert_non_null(open);
    memcpy(open, corner_stl, length);
    memcpy(open + length, "endsolid corner\n", 16);
    piece p = meshed(open, strlen(open), "mm");
    assert_int_equal(p.status, TS_FAULTY);
    assert_true(piece_faults(&p, TS_FAULT_MESH_REFUSED, "mesh model"));
    piece_close(&p);
    free(open);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bands_and_bezels_agree_with_closed_forms),
        cmocka_unit_test(a_bezel_lies_between_two_bands),
        cmocka_unit_test(a_station_on_the_straight_line_changes_nothing),
        cmocka_unit_test(a_wider_station_weighs_more),
        cmocka_unit_test(a_bore_outside_what_fingers_are_is_refused),
        cmocka_unit_test(a_stated_weight_wins_over_the_estimate),
        cmocka_unit_test(a_round_known_by_weight_gets_its_size),
        cmocka_unit_test(a_pear_shorter_than_wide_is_refused_at_its_length),
        cmocka_unit_test(two_beside_a_stone_are_a_mirrored_pair),
        cmocka_unit_test(a_turned_centre_moves_its_neighbours_out),
        cmocka_unit_test(claws_turn_with_their_stone),
        cmocka_unit_test(heights_stack_from_the_finger),
        cmocka_unit_test(an_open_shank_stands_lower_at_its_edges),
        cmocka_unit_test(a_row_lies_a_crown_inside_the_face_and_between_its_angles),
        cmocka_unit_test(lines_stand_side_by_side),
        cmocka_unit_test(a_counted_row_has_just_so_many_on_a_shoulder),
        cmocka_unit_test(a_graduated_row_takes_one_step_after_another),
        cmocka_unit_test(a_row_that_does_not_fit_says_what_would),
        cmocka_unit_test(rows_over_one_arc_are_refused_and_told_where_there_is_room),
        cmocka_unit_test(a_mesh_in_inches_is_measured_in_millimetres),
        cmocka_unit_test(an_open_mesh_is_refused),
    };

    return cmocka_run_group_tests_name("geometry", tests, NULL, NULL);
}
