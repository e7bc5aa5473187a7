/* Shank volumes against closed forms and independent quadrature, and what must hold of any
 * band whatever its measurements. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/profile.h"
#include "geometry/shank.h"
#include "table.h"

#define PI 3.14159265358979323846
#define MOST_STATIONS 8

static bool near(double got, double expect, double relative)
{
    return fabs(got - expect) <= relative * fabs(expect);
}

/* Reads "0:2.0:1.8:flat 180:2.0:1.8:half round". */
static int read_stations(ts_station *stations, const char *text)
{
    int count = 0;
    int used = 0;
    double degrees = 0.0;

    while (sscanf(text, "%lf:%lf:%lf:%n", &degrees, &stations[count].width_mm,
                  &stations[count].thickness_mm, &used) == 3) {
        char profile[32];
        size_t length = strcspn(text + used, "0123456789");

        assert_true(count < MOST_STATIONS && length < sizeof profile);
        memcpy(profile, text + used, length);
        profile[length] = '\0';
        stations[count].angle_rad = degrees * PI / 180.0;
        stations[count].profile = (ts_profile)ts_list_find(TS_LIST_PROFILE, profile);
        assert_true(stations[count].profile != TS_PROFILE_NONE);
        count++;
        text += (size_t)used + length;
    }
    assert_true(count >= 2 && degrees == 180.0);
    return count;
}

static ts_band read_band(const table_row *row, ts_station *stations)
{
    return (ts_band){
        .bore_radius_mm = table_number(row, "bore_radius_mm"),
        .wall_mm = table_number(row, "wall_mm"),
        .open_rad = table_number(row, "open_deg") * PI / 180.0,
        .stations = stations,
        .count = read_stations(stations, table_text(row, "stations")),
    };
}

static void volumes_agree_with_closed_forms_and_quadrature(void **state)
{
    table *shanks = table_open("tests/reference/shanks.csv");

    (void)state;
    for (const table_row *row; (row = table_next(shanks)) != NULL;) {
        ts_station stations[MOST_STATIONS];
        ts_band band = read_band(row, stations);
        double expect_mm3 = table_number(row, "volume_mm3");
        double got_mm3 = ts_band_volume_mm3(&band);

        if (!near(got_mm3, expect_mm3, table_number(row, "rel_tol"))) {
            fail_msg("line %d: %.12f mm3, expected %.12f", table_line(row), got_mm3, expect_mm3);
        }
    }
    table_close(shanks);
}

static void heights_are_blended_and_not_areas(void **state)
{
    const ts_station knife[] = {{0.0, 2.0, 1.8, TS_PROFILE_KNIFE_EDGE},
                                {PI, 2.0, 1.8, TS_PROFILE_HALF_ROUND}};
    ts_band band = {8.255, 0.0, 0.0, knife, 2};
    double blended_areas_mm3 = (160.224132059 + 100.147690611) / 2.0; /* 130.1859 */

    (void)state;
    assert_false(near(ts_band_volume_mm3(&band), blended_areas_mm3, 1e-3));
}

static void a_station_on_the_line_changes_nothing(void **state)
{
    const ts_station two[] = {{0.0, 2.0, 1.5, TS_PROFILE_COURT}, {PI, 4.0, 2.5, TS_PROFILE_COURT}};
    const ts_station three[] = {{0.0, 2.0, 1.5, TS_PROFILE_COURT},
                                {PI / 4.0, 2.5, 1.75, TS_PROFILE_COURT},
                                {PI, 4.0, 2.5, TS_PROFILE_COURT}};
    ts_band plain = {8.0, 0.0, 0.6, two, 2};
    ts_band split = {8.0, 0.0, 0.6, three, 3};

    (void)state;
    assert_true(near(ts_band_volume_mm3(&split), ts_band_volume_mm3(&plain), 1e-13));
}

static void top_and_base_exchanged_weigh_the_same(void **state)
{
    table *shanks = table_open("tests/reference/shanks.csv");

    (void)state;
    for (const table_row *row; (row = table_next(shanks)) != NULL;) {
        ts_station stations[MOST_STATIONS];
        ts_station turned[MOST_STATIONS];
        ts_band band = read_band(row, stations);
        ts_band other = band;

        for (int i = 0; i < band.count; i++) {
            turned[i] = stations[band.count - 1 - i];
            turned[i].angle_rad = PI - turned[i].angle_rad;
        }
        band.open_rad = 0.0;
        other.open_rad = 0.0;
        other.stations = turned;
        assert_true(near(ts_band_volume_mm3(&other), ts_band_volume_mm3(&band), 1e-13));
    }
    table_close(shanks);
}

static void volume_never_falls_when_a_thickness_or_width_grows(void **state)
{
    table *shanks = table_open("tests/reference/shanks.csv");

    (void)state;
    for (const table_row *row; (row = table_next(shanks)) != NULL;) {
        ts_station stations[MOST_STATIONS];
        ts_band band = read_band(row, stations);

        for (int i = 0; i < band.count; i++) {
            ts_station kept = stations[i];
            double least_mm3 = ts_band_volume_mm3(&band);
            for (int step = 0; step < 10; step++) {
                stations[i].thickness_mm += 0.15;
                double more_mm3 = ts_band_volume_mm3(&band);
                assert_true(more_mm3 > least_mm3);
                least_mm3 = more_mm3;
            }
            stations[i].width_mm += 0.2;
            assert_true(ts_band_volume_mm3(&band) > least_mm3);
            stations[i] = kept;
        }
    }
    table_close(shanks);
}

static void a_wall_only_ever_adds_and_ends_at_the_thickness(void **state)
{
    const ts_station knife[] = {{0.0, 2.0, 1.4, TS_PROFILE_KNIFE_EDGE},
                                {PI, 2.0, 2.0, TS_PROFILE_HALF_ROUND}};
    const ts_station flat[] = {{0.0, 2.0, 1.4, TS_PROFILE_FLAT}, {PI, 2.0, 2.0, TS_PROFILE_FLAT}};
    ts_band band = {8.255, 0.0, 0.0, knife, 2};
    ts_band full = {8.255, 0.0, 0.0, flat, 2};
    double least_mm3 = ts_band_volume_mm3(&band);

    (void)state;
    for (band.wall_mm = 0.1; band.wall_mm < 2.0; band.wall_mm += 0.1) {
        double more_mm3 = ts_band_volume_mm3(&band);
        assert_true(more_mm3 > least_mm3);
        least_mm3 = more_mm3;
    }
    band.wall_mm = 2.5;
    assert_true(near(ts_band_volume_mm3(&band), ts_band_volume_mm3(&full), 1e-13));
}

static void arcs_add_up_to_the_band(void **state)
{
    table *shanks = table_open("tests/reference/shanks.csv");

    (void)state;
    for (const table_row *row; (row = table_next(shanks)) != NULL;) {
        ts_station stations[MOST_STATIONS];
        ts_band band = read_band(row, stations);
        double whole_mm3 = ts_band_volume_mm3(&band);
        double sum_mm3 = 0.0;

        for (double at = -PI; at < PI - 0.1; at += PI / 7.0) {
            double part_mm3 = ts_band_arc_volume_mm3(&band, at, at + PI / 7.0);
            double mirrored_mm3 = ts_band_arc_volume_mm3(&band, -at - PI / 7.0, -at);
            assert_true(part_mm3 >= -1e-12 * whole_mm3);
            assert_true(fabs(part_mm3 - mirrored_mm3) <= 1e-12 * whole_mm3);
            sum_mm3 += part_mm3;
        }
        assert_true(near(sum_mm3, whole_mm3, 1e-12));
        assert_true(near(ts_band_arc_volume_mm3(&band, 0.0, PI), whole_mm3 / 2.0, 1e-12));
        assert_true(
            near(ts_band_arc_volume_mm3(&band, 1.0, 1.0 + 4.0 * PI), 2.0 * whole_mm3, 1e-12));
    }
    table_close(shanks);
}

/* Closed form: an even flat band of width w and thickness t over an angle a weighs
 * a ((R+t)^2 - R^2)/2 w. */
static void an_arc_of_an_even_band_is_its_share_of_the_ring(void **state)
{
    const ts_station flat[] = {{0.0, 3.0, 2.0, TS_PROFILE_FLAT}, {PI, 3.0, 2.0, TS_PROFILE_FLAT}};
    ts_band band = {8.0, 0.0, PI / 2.0, flat, 2};
    double per_rad_mm3 = (10.0 * 10.0 - 8.0 * 8.0) / 2.0 * 3.0;

    (void)state;
    assert_true(near(ts_band_arc_volume_mm3(&band, 1.0, 2.5), 1.5 * per_rad_mm3, 1e-13));
    assert_true(near(ts_band_arc_volume_mm3(&band, 3.0, 3.5), 0.5 * per_rad_mm3, 1e-12));
    /* a quarter is open: an eighth either side of the top */
    assert_true(near(ts_band_volume_mm3(&band), 1.5 * PI * per_rad_mm3, 1e-13));
    assert_true(ts_band_arc_volume_mm3(&band, 0.0, PI / 4.0) == 0.0);
    assert_true(
        near(ts_band_arc_volume_mm3(&band, 0.0, 1.0), (1.0 - PI / 4.0) * per_rad_mm3, 1e-12));
    assert_true(
        near(ts_band_arc_volume_mm3(&band, -1.0, 1.0), (2.0 - PI / 2.0) * per_rad_mm3, 1e-11));
    assert_true(ts_band_is_open_at(&band, -0.7));
    assert_true(ts_band_is_open_at(&band, 2.0 * PI + 0.7));
    assert_false(ts_band_is_open_at(&band, 0.8));
}

static void measurements_go_over_in_proportion_to_the_angle(void **state)
{
    const ts_station made[] = {{0.0, 2.0, 1.6, TS_PROFILE_KNIFE_EDGE},
                               {PI / 2.0, 3.0, 1.8, TS_PROFILE_HALF_ROUND},
                               {PI, 5.0, 1.4, TS_PROFILE_FLAT}};
    ts_band band = {8.255, 0.4, 0.0, made, 3};

    (void)state;
    assert_true(near(ts_band_width_mm(&band, 0.0), 2.0, 1e-14));
    assert_true(near(ts_band_width_mm(&band, PI / 4.0), 2.5, 1e-14));
    assert_true(near(ts_band_width_mm(&band, -PI / 4.0), 2.5, 1e-14));
    assert_true(near(ts_band_width_mm(&band, 0.75 * PI), 4.0, 1e-14));
    assert_true(near(ts_band_width_mm(&band, 1.25 * PI), 4.0, 1e-14));
    assert_true(near(ts_band_width_mm(&band, PI), 5.0, 1e-14));
    assert_true(near(ts_band_thickness_mm(&band, PI / 4.0), 1.7, 1e-14));
    assert_true(near(ts_band_thickness_mm(&band, 2.0 * PI + PI / 4.0), 1.7, 1e-14));
    for (double angle = 0.0; angle <= PI; angle += 0.1) {
        /* every profile stands at the full thickness in the middle and at the wall, or the
         * blend of walls, at the sides */
        double t = ts_band_thickness_mm(&band, angle);
        assert_true(near(ts_band_height_mm(&band, angle, 0.0), t, 1e-14));
        assert_true(ts_band_height_mm(&band, angle, 1.0) >= 0.4 - 1e-14);
        assert_true(ts_band_relief_mm(&band, angle, 0.5) == 0.0);
    }
    /* half-way: knife edge 0.4 + 1.3 x 0.5, half round 0.4 + 1.3 sqrt(0.75) */
    assert_true(
        near(ts_band_height_mm(&band, PI / 4.0, 0.5), 0.4 + 1.3 * (0.5 + sqrt(0.75)) / 2.0, 1e-14));
}

/* Areas worked by hand: w t, pi w t / 4, w t / 2, pi w t / 4 for a full ellipse, and court
 * 0.4 w t + 0.6 (pi/4) w t. */
static void sections_have_their_closed_areas(void **state)
{
    const struct {
        ts_profile profile;
        double share;
    } cases[] = {
        {TS_PROFILE_FLAT, 1.0},
        {TS_PROFILE_HALF_ROUND, PI / 4.0},
        {TS_PROFILE_KNIFE_EDGE, 0.5},
        {TS_PROFILE_ROUND_WIRE, PI / 4.0},
        {TS_PROFILE_COURT, 0.4 + 0.6 * PI / 4.0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ts_station even[] = {{0.0, 2.4, 1.7, cases[i].profile},
                                   {PI, 2.4, 1.7, cases[i].profile}};
        ts_band band = {8.0, 0.0, 0.0, even, 2};

        assert_true(near(ts_band_section_mm2(&band, 1.0), cases[i].share * 2.4 * 1.7, 1e-14));
    }
}

/* Court: sides of 0.4 t, 0.2 t of them hollowed on the inside. */
static void court_and_round_wire_are_arched_inside(void **state)
{
    const ts_station court[] = {{0.0, 2.0, 1.8, TS_PROFILE_COURT},
                                {PI, 2.0, 1.8, TS_PROFILE_COURT}};
    const ts_station wire[] = {{0.0, 2.0, 1.8, TS_PROFILE_ROUND_WIRE},
                               {PI, 2.0, 1.8, TS_PROFILE_ROUND_WIRE}};
    ts_band band = {8.0, 0.0, 0.0, court, 2};

    (void)state;
    assert_true(near(ts_band_height_mm(&band, 2.0, 1.0), 0.6 * 1.8, 1e-14));
    assert_true(near(ts_band_relief_mm(&band, 2.0, 1.0), 0.2 * 1.8, 1e-14));
    assert_true(ts_band_relief_mm(&band, 2.0, 0.0) == 0.0);
    band.stations = wire;
    assert_true(near(ts_band_height_mm(&band, 2.0, -1.0), 0.9, 1e-14));
    assert_true(near(ts_band_relief_mm(&band, 2.0, -1.0), 0.9, 1e-14));
}

/* The closed means of a curve against a midpoint sum, for any mixture of shapes. */
static void means_of_a_curve_agree_with_a_sum(void **state)
{
    const ts_curve curves[] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0},  {0.0, 0.0, 1.0},
                               {0.4, 0.7, 0.9}, {0.9, -0.9, 0.3}, {0.0, 1.3, -0.2}};
    const int steps = 20000;

    (void)state;
    for (size_t i = 0; i < sizeof curves / sizeof curves[0]; i++) {
        double mean = 0.0;
        double square = 0.0;

        for (int k = 0; k < steps; k++) {
            double phi = (k + 0.5) / steps * PI / 2.0;
            double h = ts_curve_at(curves[i], sin(phi));
            mean += h * cos(phi) * PI / 2.0 / steps;
            square += h * h * cos(phi) * PI / 2.0 / steps;
        }
        assert_true(fabs(ts_curve_mean_mm(curves[i]) - mean) < 1e-8);
        assert_true(fabs(ts_curve_mean_square_mm2(curves[i]) - square) < 1e-8);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(volumes_agree_with_closed_forms_and_quadrature),
        cmocka_unit_test(heights_are_blended_and_not_areas),
        cmocka_unit_test(a_station_on_the_line_changes_nothing),
        cmocka_unit_test(top_and_base_exchanged_weigh_the_same),
        cmocka_unit_test(volume_never_falls_when_a_thickness_or_width_grows),
        cmocka_unit_test(a_wall_only_ever_adds_and_ends_at_the_thickness),
        cmocka_unit_test(arcs_add_up_to_the_band),
        cmocka_unit_test(an_arc_of_an_even_band_is_its_share_of_the_ring),
        cmocka_unit_test(measurements_go_over_in_proportion_to_the_angle),
        cmocka_unit_test(sections_have_their_closed_areas),
        cmocka_unit_test(court_and_round_wire_are_arched_inside),
        cmocka_unit_test(means_of_a_curve_agree_with_a_sum),
    };

    return cmocka_run_group_tests_name("shank", tests, NULL, NULL);
}
