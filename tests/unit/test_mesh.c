/* What must hold for any mesh holds for meshes made here. */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/mesh.h"
#include "solid.h"

#define PI 3.14159265358979323846

static void a_mesh_turned_or_moved_keeps_its_volume(void **state)
{
    (void)state;
    solid ring = {0};
    solid_add_torus(&ring, 9.0, 1.1, 48, 20);
    const double volume_mm3 = mesh_measured_file(solid_text(&ring), 1.0).volume_mm3;
    assert_true(volume_mm3 > 0.97 * 2 * PI * PI * 9.0 * 1.21);
    assert_true(volume_mm3 < 2 * PI * PI * 9.0 * 1.21);
    for (int i = 1; i <= 12; i++) {
        solid_turn(&ring, 0.7 * i, 1.9 * i);
        const ts_mesh_result r = mesh_measured_file(solid_text(&ring), 1.0);
        assert_int_equal(r.reason, TS_MESH_NONE);
        mesh_expect_close(r.volume_mm3, volume_mm3, 1e-13);
    }
    for (int i = 1; i <= 6; i++) {
        solid_move(&ring, 3.7 * i, -11.3 * i * i, pow(10.0, i) / 3.0);
        const ts_mesh_result r = mesh_measured_file(solid_text(&ring), 1.0);
        assert_int_equal(r.reason, TS_MESH_NONE);
        /* Moving rounds each coordinate to its own last place, 1.2e-10 mm at 3.7e5. */
        mesh_expect_close(r.volume_mm3, volume_mm3, 1e-15 * pow(10.0, i));
    }
    solid_drop(&ring);
}

static void a_move_that_rounds_nothing_costs_no_digit(void **state)
{
    (void)state;
    solid ring = {0};
    solid_add_torus(&ring, 9.0, 1.1, 48, 20);
    for (size_t i = 0; i < 9 * ring.count; i++) { /* whole 64ths of a mm */
        double *at = &ring.facets[i / 9][i % 9 / 3][i % 3];
        *at = floor(*at * 64.0) / 64.0;
    }
    const ts_mesh_result here = mesh_measured_file(solid_binary(&ring), 1.0);
    solid_move(&ring, 131072.0, -65536.0, 98304.0); /* float32 still holds 64ths there */
    const ts_mesh_result there = mesh_measured_file(solid_binary(&ring), 1.0);
    assert_int_equal(here.reason, TS_MESH_NONE);
    assert_int_equal(there.reason, TS_MESH_NONE);
    mesh_expect_close(there.volume_mm3, here.volume_mm3, DBL_EPSILON);
    solid_drop(&ring);
}

static void inches_scale_volume_and_places(void **state)
{
    (void)state;
    solid ring = {0};
    solid_add_torus(&ring, 0.35, 0.04, 24, 12);
    const ts_mesh_result mm = mesh_measured_file(solid_binary(&ring), 1.0);
    const ts_mesh_result in = mesh_measured_file(solid_binary(&ring), 25.4);
    mesh_expect_close(in.volume_mm3, mm.volume_mm3 * 25.4 * 25.4 * 25.4, 1e-15);
    for (int axis = 0; axis < 3; axis++) {
        mesh_expect_close(in.low_mm[axis], mm.low_mm[axis] * 25.4, 1e-15);
        mesh_expect_close(in.high_mm[axis], mm.high_mm[axis] * 25.4, 1e-15);
    }
    mesh_expect_close(mm.high_mm[0], (double)(float)0.39, 1e-15);
    solid_drop(&ring);
}

static void neither_the_order_of_facets_nor_their_first_corner_matters(void **state)
{
    (void)state;
    solid ring = {0};
    solid_add_torus(&ring, 9.0, 1.1, 30, 14);
    const double volume_mm3 = mesh_measured_file(solid_binary(&ring), 1.0).volume_mm3;
    solid mixed = {0};
    for (size_t i = 0; i < ring.count; i++) {
        double(*f)[3] = ring.facets[i * 389 % ring.count]; /* 389 shares no divisor with 840 */
        solid_add(&mixed, f[i % 3], f[(i + 1) % 3], f[(i + 2) % 3]);
    }
    const ts_mesh_result r = mesh_measured_file(solid_binary(&mixed), 1.0);
    assert_int_equal(r.reason, TS_MESH_NONE);
    mesh_expect_close(r.volume_mm3, volume_mm3, 1e-14);
    solid_drop(&mixed);
    solid_drop(&ring);
}

static void facets_without_area_change_nothing(void **state)
{
    (void)state;
    static const double points[][3] = {{0, 0, 0}, {1, 2, 4}, {3, 6, 12}, {500, 0, 0}};
    solid ring = {0};
    solid_add_torus(&ring, 9.0, 1.1, 30, 14);
    const ts_mesh_result without = mesh_measured_file(solid_binary(&ring), 1.0);
    solid_add(&ring, points[0], points[1], points[2]);
    solid_add(&ring, points[3], points[3], points[1]);
    solid_add(&ring, points[3], points[3], points[3]);
    const ts_mesh_result with = mesh_measured_file(solid_binary(&ring), 1.0);
    assert_int_equal(with.reason, TS_MESH_NONE);
    assert_int_equal(with.flat_facets, 3);
    assert_true(with.volume_mm3 == without.volume_mm3);
    assert_memory_equal(with.low_mm, without.low_mm, sizeof with.low_mm);
    assert_memory_equal(with.high_mm, without.high_mm, sizeof with.high_mm);
    solid_drop(&ring);
}

static void minus_zero_is_zero(void **state)
{
    (void)state;
    static const double origin[3] = {0, 0, 0};
    solid box = {0};
    solid_add_box(&box, origin, 2, 3, 4);
    for (size_t i = 0; i < 9 * 6; i++) { /* in half of the facets */
        double *at = &box.facets[i / 9][i % 9 / 3][i % 3];
        *at = *at == 0.0 ? -0.0 : *at;
    }
    const ts_mesh_result binary = mesh_measured_file(solid_binary(&box), 1.0);
    assert_int_equal(binary.reason, TS_MESH_NONE);
    assert_true(binary.volume_mm3 == 24.0);
    assert_int_equal(mesh_measured_file(solid_text(&box), 1.0).reason, TS_MESH_NONE);
    solid_drop(&box);
}

static void a_missing_facet_is_shown_where_it_is_missing(void **state)
{
    (void)state;
    static const double at[3] = {100, 200, 300};
    solid box = {0};
    solid_add_box(&box, at, 2, 3, 4);
    for (size_t gone = 0; gone < 12; gone++) {
        solid holed = {0};
        for (size_t i = 0; i < 12; i++) {
            if (i != gone) {
                solid_add(&holed, box.facets[i][0], box.facets[i][1], box.facets[i][2]);
            }
        }
        const ts_mesh_result r = mesh_measured_file(solid_binary(&holed), 25.4);
        assert_int_equal(r.reason, TS_MESH_OPEN);
        assert_int_equal(r.open_edges, 3);
        int ends = 0;
        for (int corner = 0; corner < 3; corner++) {
            double mm[3];
            for (int axis = 0; axis < 3; axis++) {
                mm[axis] = box.facets[gone][corner][axis] * 25.4;
            }
            ends += memcmp(mm, r.at_mm, sizeof mm) == 0;
            ends += memcmp(mm, r.to_mm, sizeof mm) == 0;
        }
        assert_int_equal(ends, 2);
        solid_drop(&holed);
    }
    solid_drop(&box);
}

static void a_place_is_said_in_millimetres(void **state)
{
    (void)state;
    static const double at[3] = {-1.5, 0, 0.0625};
    solid box = {0};
    char sentence[TS_MESH_SENTENCE_BYTES];
    solid_add_box(&box, at, 2, 3, 4);
    box.count--;
    const ts_mesh_result r = mesh_measured_file(solid_binary(&box), 1.0);
    ts_mesh_sentence(&r, sentence, sizeof sentence);
    /* Facet 12 runs from corner 1 over 7 to 3; its edge that the file names first is 1-3,
     * in facet 1. */
    assert_string_equal(sentence, "the mesh is not closed: no second facet fits at 3 edges, one "
                                  "of them from (-1.500, 0.000, 4.063) to (-1.500, 3.000, 4.063) "
                                  "mm; mend the model there and export it again");
    solid_drop(&box);
}

static void a_facet_of_three_corners_in_line_sews_up_a_t_junction(void **state)
{
    (void)state;
    static const double origin[3] = {0, 0, 0};
    static const double middle[3] = {0, 0, 2};
    solid box = {0};
    solid_add_box(&box, origin, 2, 3, 4);
    /* Facet 1 runs 0, 1, 3; its side from corner 0 to corner 1 is the edge x = y = 0. */
    double whole[3][3];
    memcpy(whole, box.facets[0], sizeof whole);
    memcpy(box.facets[0][1], middle, sizeof middle);
    solid_add(&box, middle, whole[1], whole[2]);
    assert_int_equal(mesh_measured_file(solid_binary(&box), 1.0).reason, TS_MESH_OPEN);
    solid_add(&box, whole[0], whole[1], middle);
    const ts_mesh_result sewn = mesh_measured_file(solid_binary(&box), 1.0);
    assert_int_equal(sewn.reason, TS_MESH_NONE);
    assert_true(sewn.volume_mm3 == 24.0);
    assert_int_equal(sewn.shells, 1);
    solid_drop(&box);
}

static void a_body_inside_out_beside_another_is_refused(void **state)
{
    (void)state;
    static const double here[3] = {0, 0, 0};
    static const double there[3] = {10, 0, 0};
    solid two = {0};
    solid_add_box(&two, here, 2, 3, 4);
    solid_add_box(&two, there, 1, 1, 1);
    const ts_mesh_result both = mesh_measured_file(solid_binary(&two), 1.0);
    assert_true(both.volume_mm3 == 25.0);
    assert_int_equal(both.shells, 2);
    solid_turn_inside_out(&two, 12, 24);
    const ts_mesh_result one = mesh_measured_file(solid_binary(&two), 1.0);
    assert_int_equal(one.reason, TS_MESH_SHELL_TURNED);
    assert_true(one.at_mm[0] >= 10.0);
    solid_turn_inside_out(&two, 0, 12);
    const ts_mesh_result turned = mesh_measured_file(solid_binary(&two), 1.0);
    assert_int_equal(turned.reason, TS_MESH_NONE);
    assert_true(turned.inverted);
    assert_true(turned.volume_mm3 == 25.0);
    solid_drop(&two);
}

static void a_hollow_is_taken_off_and_said(void **state)
{
    (void)state;
    static const double outside[3] = {0, 0, 0};
    static const double inside[3] = {1, 1, 1};
    solid shell = {0};
    char note[TS_MESH_SENTENCE_BYTES];
    solid_add_box(&shell, outside, 4, 4, 4);
    solid_add_box(&shell, inside, 2, 2, 2);
    solid_turn_inside_out(&shell, 12, 24);
    for (int turns = 0; turns < 2; turns++) {
        const ts_mesh_result r = mesh_measured_file(solid_binary(&shell), 1.0);
        assert_int_equal(r.reason, TS_MESH_NONE);
        assert_true(r.volume_mm3 == 56.0);
        assert_int_equal(r.hollows, 1);
        mesh_expect_close(r.hollow_mm3, 8.0, 1e-15);
        assert_int_equal(r.inverted, turns == 1);
        assert_true(ts_mesh_note(&r, turns, note, sizeof note));
        assert_non_null(strstr(note, "8.000 mm3"));
        assert_false(ts_mesh_note(&r, turns + 1, note, sizeof note));
        solid_turn_inside_out(&shell, 0, 24);
    }
    solid_drop(&shell);
}

static void a_small_hollow_among_large_bodies_keeps_its_sign(void **state)
{
    (void)state;
    static const double outside[3] = {1000000, 1000000, 1000000};
    static const double inside[3] = {1000000.25, 1000000.25, 1000000.25};
    static const double far[3] = {-4000000, 0, 0};
    solid shells = {0};
    solid_add_box(&shells, far, 1000000, 1, 1);
    solid_add_box(&shells, outside, 1, 1, 1);
    solid_add_box(&shells, inside, 0.125, 0.125, 0.125);
    solid_turn_inside_out(&shells, 24, 36);
    const ts_mesh_result r = mesh_measured_file(solid_text(&shells), 1.0);
    assert_int_equal(r.reason, TS_MESH_NONE);
    assert_int_equal(r.shells, 3);
    assert_int_equal(r.hollows, 1);
    mesh_expect_close(r.hollow_mm3, 0.125 * 0.125 * 0.125, 1e-12);
    solid_drop(&shells);
}

static void a_skin_without_thickness_encloses_nothing(void **state)
{
    (void)state;
    static const double corner[3][3] = {{0.1, 0.2, 0.3}, {7.7, 0.4, 0.9}, {1.3, 5.5, 2.1}};
    solid skin = {0};
    solid_add(&skin, corner[0], corner[1], corner[2]);
    solid_add(&skin, corner[0], corner[2], corner[1]);
    assert_int_equal(mesh_measured_file(solid_binary(&skin), 1.0).reason, TS_MESH_FLAT);
    solid_drop(&skin);
    uint32_t draw = 1; /* the back begins at another corner, so its terms round differently */
    for (int i = 0; i < 100; i++) {
        double drawn[3][3];
        for (int k = 0; k < 9; k++) {
            draw = draw * 1664525 + 1013904223;
            drawn[k / 3][k % 3] = draw / 1e8;
        }
        solid_add(&skin, drawn[0], drawn[1], drawn[2]);
        solid_add(&skin, drawn[2], drawn[1], drawn[0]);
        assert_int_equal(mesh_measured_file(solid_binary(&skin), 1.0).reason, TS_MESH_FLAT);
        assert_int_equal(mesh_measured_file(solid_text(&skin), 1.0).reason, TS_MESH_FLAT);
        solid_drop(&skin);
    }
    solid_add(&skin, corner[0], corner[1], corner[1]);
    assert_int_equal(mesh_measured_file(solid_binary(&skin), 1.0).reason, TS_MESH_FLAT);
    solid_drop(&skin);
}

static void a_million_facets_add_up(void **state)
{
    (void)state;
    solid ring = {0};
    solid_add_torus(&ring, 10.0, 2.0, 1000, 500);
    assert_int_equal(ring.count, 1000000);
    /* The same sum in the plainest form, of the float32 that the file holds, with 64 bits
     * of mantissa where the machine has them. */
    long double six = 0.0L;
    for (size_t i = 0; i < ring.count; i++) {
        long double p[3][3];
        for (size_t k = 0; k < 9; k++) {
            p[k / 3][k % 3] = (long double)(float)ring.facets[i][k / 3][k % 3];
        }
        six += p[0][0] * (p[1][1] * p[2][2] - p[1][2] * p[2][1]) +
               p[0][1] * (p[1][2] * p[2][0] - p[1][0] * p[2][2]) +
               p[0][2] * (p[1][0] * p[2][1] - p[1][1] * p[2][0]);
    }
    const ts_mesh_result r = mesh_measured_file(solid_binary(&ring), 1.0);
    assert_int_equal(r.reason, TS_MESH_NONE);
    mesh_expect_close(r.volume_mm3, (double)(six / 6.0L), 1e-12);
    solid_drop(&ring);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mesh_turned_or_moved_keeps_its_volume),
        cmocka_unit_test(a_move_that_rounds_nothing_costs_no_digit),
        cmocka_unit_test(inches_scale_volume_and_places),
        cmocka_unit_test(neither_the_order_of_facets_nor_their_first_corner_matters),
        cmocka_unit_test(facets_without_area_change_nothing),
        cmocka_unit_test(minus_zero_is_zero),
        cmocka_unit_test(a_missing_facet_is_shown_where_it_is_missing),
        cmocka_unit_test(a_place_is_said_in_millimetres),
        cmocka_unit_test(a_facet_of_three_corners_in_line_sews_up_a_t_junction),
        cmocka_unit_test(a_body_inside_out_beside_another_is_refused),
        cmocka_unit_test(a_hollow_is_taken_off_and_said),
        cmocka_unit_test(a_small_hollow_among_large_bodies_keeps_its_sign),
        cmocka_unit_test(a_skin_without_thickness_encloses_nothing),
        cmocka_unit_test(a_million_facets_add_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
