/* Weights of stones against published worked examples and measured diamonds. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "geometry/gemweight.h"
#include "table.h"

#define MOST_STONES 4000

static bool near(double got, double expect, double relative)
{
    return fabs(got - expect) <= relative * fabs(expect);
}

static ts_gem read_gem(const table_row *row)
{
    ts_gem gem = {
        .shape = (ts_shape)ts_list_find(TS_LIST_SHAPE, table_text(row, "shape")),
        .girdle = (ts_girdle)ts_list_find(TS_LIST_GIRDLE, table_text(row, "girdle")),
        .sg_thousandths =
            ts_species_sg((ts_species)ts_list_find(TS_LIST_SPECIES, table_text(row, "species"))),
        .length_mm = table_number(row, "length_mm"),
        .width_mm = table_number(row, "width_mm"),
        .depth_mm = table_number(row, "depth_mm"),
    };

    assert_true(gem.shape != TS_SHAPE_NONE && gem.sg_thousandths > 0);
    assert_true((gem.girdle != TS_GIRDLE_NONE) == table_given(row, "girdle"));
    return gem;
}

static void weights_agree_with_worked_examples(void **state)
{
    table *weights = table_open("tests/reference/gemweights.csv");

    (void)state;
    for (const table_row *row; (row = table_next(weights)) != NULL;) {
        ts_gem gem = read_gem(row);
        double expect_ct = table_number(row, "carats");
        double got_ct = ts_gem_carats(&gem);

        if (!(fabs(got_ct - expect_ct) <= table_number(row, "tol_ct"))) {
            fail_msg("line %d: %.9f ct, expected %.9f", table_line(row), got_ct, expect_ct);
        }
    }
    table_close(weights);
}

static void a_weight_gives_back_the_depth(void **state)
{
    table *weights = table_open("tests/reference/gemweights.csv");

    (void)state;
    for (const table_row *row; (row = table_next(weights)) != NULL;) {
        ts_gem gem = read_gem(row);
        double carats = ts_gem_carats(&gem);
        ts_gem bare = gem;

        bare.depth_mm = 0.0;
        assert_true(near(ts_gem_depth_mm(&bare, carats), gem.depth_mm, 1e-14));
    }
    table_close(weights);
}

static void factors_follow_length_over_width(void **state)
{
    table *rows = table_open("tests/reference/gemfactors.csv");
    int seen[TS_SHAPE_COUNT] = {0};

    (void)state;
    for (const table_row *row; (row = table_next(rows)) != NULL;) {
        int shape = ts_list_find(TS_LIST_SHAPE, table_text(row, "shape"));
        double got = ts_gem_factor((ts_shape)shape, table_number(row, "length_mm"),
                                   table_number(row, "width_mm"));

        seen[shape]++;
        if (!near(got, table_number(row, "factor"), 1e-12)) {
            fail_msg("line %d: factor %.9f", table_line(row), got);
        }
    }
    for (int shape = 1; shape < TS_SHAPE_COUNT; shape++) {
        assert_true(seen[shape] > 0);
        assert_true(strlen(ts_gem_factor_source((ts_shape)shape)) > 0);
    }
    table_close(rows);
}

static void factors_from_memory_say_so(void **state)
{
    (void)state;
    assert_string_equal("memory", ts_gem_factor_source(TS_SHAPE_RADIANT));
    assert_string_equal("memory", ts_gem_factor_source(TS_SHAPE_CUSHION));
    assert_string_equal("memory", ts_gem_factor_source(TS_SHAPE_ASSCHER));
    assert_true(strcmp("memory", ts_gem_factor_source(TS_SHAPE_ROUND)) != 0);
    assert_string_equal("", ts_gem_factor_source(TS_SHAPE_NONE));
}

static void no_shape_and_no_gravity_weigh_nothing(void **state)
{
    ts_gem gem = {TS_SHAPE_NONE, TS_GIRDLE_NONE, TS_SG_DIAMOND, 6.0, 6.0, 3.6};

    (void)state;
    assert_true(ts_gem_carats(&gem) == 0.0);
    assert_true(ts_gem_depth_mm(&gem, 1.0) == 0.0);
    gem.shape = TS_SHAPE_OVAL;
    gem.sg_thousandths = 0;
    assert_true(ts_gem_carats(&gem) == 0.0);
    assert_true(ts_gem_depth_mm(&gem, 1.0) == 0.0);
}

static void melee_agrees_with_the_published_sizes(void **state)
{
    table *melee = table_open("tests/reference/melee.csv");

    (void)state;
    for (const table_row *row; (row = table_next(melee)) != NULL;) {
        double diameter_mm = table_number(row, "diameter_mm");
        double carats = table_number(row, "carats");

        if (table_given(row, "tol_ct")) {
            double got_ct = ts_melee_carats(diameter_mm, TS_SG_DIAMOND);
            assert_true(fabs(got_ct - carats) <= table_number(row, "tol_ct"));
        } else {
            double got_mm = ts_round_diameter_mm(carats, TS_GIRDLE_NONE, TS_SG_DIAMOND);
            assert_true(fabs(got_mm - diameter_mm) <= table_number(row, "tol_mm"));
        }
    }
    /* facts of the trade: 0.0061 x 0.605 */
    assert_true(near(ts_melee_carats(1.0, TS_SG_DIAMOND), 0.0036905, 1e-14));
    assert_true(near(ts_melee_carats(2.0, 4000), 8.0 * 0.0036905 * 4.0 / 3.52, 1e-14));
    table_close(melee);
}

static void a_round_made_from_a_weight_weighs_it(void **state)
{
    (void)state;
    for (int girdle = 0; girdle < TS_GIRDLE_COUNT; girdle++) {
        for (double carats = 0.01; carats < 4.0; carats *= 1.03) {
            ts_gem gem = ts_round_from_carats(carats, (ts_girdle)girdle, TS_SG_DIAMOND);

            assert_true(near(ts_gem_carats(&gem), carats, 1e-13));
            assert_true(near(gem.depth_mm / gem.length_mm, 0.605, 1e-14));
        }
    }
}

/* Weights at the end of a class fit two diameters: the smaller is taken. */
static void of_two_diameters_the_smaller_is_taken(void **state)
{
    double just_under_ct = 0.0036905 * 1.03 * 4.12 * 4.12 * 4.12;
    double diameter_mm = ts_round_diameter_mm(just_under_ct, TS_GIRDLE_SLIGHTLY_THICK, 3520);

    (void)state;
    assert_true(near(diameter_mm, 4.12, 1e-13));
}

/* Dataset: median diameters of common weights; its depths (61 to 62 %) are a little over
 * 60.5 %, so measured stones are up to 2 % narrower. */
static void diameters_by_weight_agree_with_measured_stones(void **state)
{
    table *sizes = table_open("tests/reference/diamonds-diameter-by-carat.csv");

    (void)state;
    for (const table_row *row; (row = table_next(sizes)) != NULL;) {
        double median_mm = table_number(row, "diameter_median_mm");
        double got_mm =
            ts_round_diameter_mm(table_number(row, "carat"), TS_GIRDLE_NONE, TS_SG_DIAMOND);

        if (!near(got_mm, median_mm, 0.025)) {
            fail_msg("line %d: %.3f mm, measured %.3f", table_line(row), got_mm, median_mm);
        }
    }
    table_close(sizes);
}

static ts_gem measured_round(const table_row *row)
{
    return (ts_gem){TS_SHAPE_ROUND,         TS_GIRDLE_NONE,         TS_SG_DIAMOND,
                    table_number(row, "x"), table_number(row, "y"), table_number(row, "z")};
}

static int by_value(const void *one, const void *other)
{
    const double a = *(const double *)one;
    const double b = *(const double *)other;

    return (a > b) - (a < b);
}

/* Estimated over weighed, sorted. */
static size_t read_ratios(double *ratios)
{
    table *stones = table_open("tests/reference/diamonds-sample.csv");
    size_t count = 0;

    assert_true(table_count(stones) <= MOST_STONES);
    for (const table_row *row; (row = table_next(stones)) != NULL;) {
        ts_gem gem = measured_round(row);
        ratios[count++] = ts_gem_carats(&gem) / table_number(row, "carat");
    }
    table_close(stones);
    qsort(ratios, count, sizeof *ratios, by_value);
    return count;
}

static double share_within(const double *ratios, size_t count, double fraction)
{
    size_t within = 0;

    for (size_t i = 0; i < count; i++) {
        within += fabs(ratios[i] - 1.0) <= fraction;
    }
    return (double)within / (double)count;
}

static double mean_error(const double *ratios, size_t count, double factor)
{
    double sum = 0.0;

    for (size_t i = 0; i < count; i++) {
        sum += fabs(ratios[i] * factor - 1.0);
    }
    return sum / (double)count;
}

static void measured_diamonds_are_met_without_a_girdle_factor(void **state)
{
    static double ratios[MOST_STONES];
    size_t count = read_ratios(ratios);
    double median = (ratios[count / 2 - 1] + ratios[count / 2]) / 2.0;
    double error = mean_error(ratios, count, 1.0);

    (void)state;
    assert_int_equal(2000, count);
    assert_true(fabs(median - 1.0) <= 0.01);
    assert_true(fabs(median - 0.9970) <= 0.00006); /* dataset's own figure for the sample */
    assert_true(error < 0.017);
    assert_true(fabs(error - 0.01460) <= 0.000006); /* likewise */
    assert_true(ratios[count / 20] >= 0.950 && ratios[count - count / 20] <= 1.035);
    assert_true(share_within(ratios, count, 0.05) >= 0.97);
    assert_true(share_within(ratios, count, 0.10) >= 0.995);
    assert_true(mean_error(ratios, count, 1.02) > error);
    /* the spread that is said holds nine stones of ten */
    assert_true(share_within(ratios, count, ts_gem_spread(TS_SHAPE_ROUND, 3520)) >= 0.90);
}

static void every_impossible_row_is_flagged(void **state)
{
    table *stones = table_open("tests/reference/diamonds-impossible.csv");

    (void)state;
    assert_int_equal(100, table_count(stones));
    for (const table_row *row; (row = table_next(stones)) != NULL;) {
        ts_gem gem = measured_round(row);

        if (ts_gem_plausible(&gem, table_number(row, "depth"))) {
            fail_msg("line %d passes: %s", table_line(row), table_text(row, "why"));
        }
    }
    table_close(stones);
}

static void no_clean_row_is_flagged(void **state)
{
    table *stones = table_open("tests/reference/diamonds-sample.csv");

    (void)state;
    for (const table_row *row; (row = table_next(stones)) != NULL;) {
        ts_gem gem = measured_round(row);

        assert_true(ts_gem_plausible(&gem, table_number(row, "depth")));
        assert_true(ts_gem_plausible(&gem, 0.0));
    }
    table_close(stones);
}

static void slips_of_the_pen_are_not_plausible(void **state)
{
    ts_gem gem = {TS_SHAPE_OVAL, TS_GIRDLE_NONE, TS_SG_DIAMOND, 8.0, 6.0, 3.7};

    (void)state;
    assert_true(ts_gem_plausible(&gem, 0.0));
    assert_true(ts_gem_plausible(&gem, 61.7)); /* of the width */
    assert_false(ts_gem_plausible(&gem, 53.0));
    gem.depth_mm = 37.0;
    assert_false(ts_gem_plausible(&gem, 0.0));
    gem.depth_mm = 0.37;
    assert_false(ts_gem_plausible(&gem, 0.0));
    gem.depth_mm = (double)NAN;
    assert_false(ts_gem_plausible(&gem, 0.0));
    gem = (ts_gem){TS_SHAPE_ROUND, TS_GIRDLE_NONE, TS_SG_DIAMOND, 6.5, 0.0, 3.9};
    assert_true(ts_gem_plausible(&gem, 60.0)); /* a round may leave its width out */
    gem.shape = TS_SHAPE_OVAL;
    assert_false(ts_gem_plausible(&gem, 60.0));
}

/* The coloured-stone rules of the trade, carats = dimensions x SG x factor, lie within the
 * spread said for other species. Source: factors for round and pear 0.0018 (all tables),
 * heart 0.0018, marquise 0.0016, square 0.0023, rectangle 0.0025 (published lists). Ovals
 * are not among them: the lists' 0.0020 stands 11 to 14 % above 0.0062 / 3.52. */
static void coloured_stone_rules_lie_within_the_spread(void **state)
{
    const struct {
        ts_gem gem;
        double rule;
    } cases[] = {
        {{TS_SHAPE_ROUND, TS_GIRDLE_NONE, 4000, 6.0, 6.0, 3.6}, 0.0018},
        {{TS_SHAPE_PEAR, TS_GIRDLE_NONE, 4000, 7.5, 5.0, 3.0}, 0.0018},
        {{TS_SHAPE_HEART, TS_GIRDLE_NONE, 4000, 6.0, 6.2, 3.6}, 0.0018},
        {{TS_SHAPE_MARQUISE, TS_GIRDLE_NONE, 4000, 10.0, 5.0, 3.2}, 0.0016},
        {{TS_SHAPE_EMERALD, TS_GIRDLE_NONE, 2720, 6.0, 6.0, 4.0}, 0.0023},
        {{TS_SHAPE_EMERALD, TS_GIRDLE_NONE, 2720, 8.0, 6.0, 4.0}, 0.0025},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ts_gem *gem = &cases[i].gem;
        double rule_ct = gem->length_mm * gem->width_mm * gem->depth_mm * gem->sg_thousandths /
                         1000.0 * cases[i].rule;

        assert_true(near(rule_ct, ts_gem_carats(gem), ts_gem_spread(gem->shape, 4000)));
    }
}

static void the_spread_is_wider_where_less_is_known(void **state)
{
    (void)state;
    assert_true(ts_gem_spread(TS_SHAPE_ROUND, TS_SG_DIAMOND) == 0.035);
    assert_true(ts_gem_spread(TS_SHAPE_PEAR, TS_SG_DIAMOND) == 0.06);
    assert_true(ts_gem_spread(TS_SHAPE_ROUND, 4000) == 0.08);
}

static void a_larger_stone_never_weighs_less(void **state)
{
    (void)state;
    for (int shape = 1; shape < TS_SHAPE_COUNT; shape++) {
        ts_gem gem = {(ts_shape)shape, TS_GIRDLE_NONE, TS_SG_DIAMOND, 5.0, 5.0, 3.0};
        double least_ct = ts_gem_carats(&gem);

        for (gem.length_mm = 5.1; gem.length_mm < 18.0; gem.length_mm += 0.1) {
            double more_ct = ts_gem_carats(&gem);
            assert_true(more_ct > least_ct);
            least_ct = more_ct;
        }
        gem.depth_mm += 0.1;
        assert_true(ts_gem_carats(&gem) > least_ct);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_agree_with_worked_examples),
        cmocka_unit_test(a_weight_gives_back_the_depth),
        cmocka_unit_test(factors_follow_length_over_width),
        cmocka_unit_test(factors_from_memory_say_so),
        cmocka_unit_test(no_shape_and_no_gravity_weigh_nothing),
        cmocka_unit_test(melee_agrees_with_the_published_sizes),
        cmocka_unit_test(a_round_made_from_a_weight_weighs_it),
        cmocka_unit_test(of_two_diameters_the_smaller_is_taken),
        cmocka_unit_test(diameters_by_weight_agree_with_measured_stones),
        cmocka_unit_test(measured_diamonds_are_met_without_a_girdle_factor),
        cmocka_unit_test(every_impossible_row_is_flagged),
        cmocka_unit_test(no_clean_row_is_flagged),
        cmocka_unit_test(slips_of_the_pen_are_not_plausible),
        cmocka_unit_test(coloured_stone_rules_lie_within_the_spread),
        cmocka_unit_test(the_spread_is_wider_where_less_is_known),
        cmocka_unit_test(a_larger_stone_never_weighs_less),
    };

    return cmocka_run_group_tests_name("gemweight", tests, NULL, NULL);
}
