#include "papers/piece.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>

#include <cmocka.h>

#include <tallystone/base/text.h>

/* What a client reads about metal and stones: weights as laboratories round them, origin
 * words where law wants them, differences between options said whole. */

static ts_dec dec(const char *text)
{
    ts_dec value = {0};
    assert_int_equal(ts_dec_read(&value, text, '.', NULL), TS_NUMBER_OK);
    return value;
}

static int make_arena(void **state)
{
    *state = ts_arena_new(NULL, NULL);
    return 0;
}

static int drop_arena(void **state)
{
    ts_arena_free(*state);
    return 0;
}

static void weights_count_up_only_from_a_nine(void **state)
{
    static const struct {
        const char *carats, *shown, *source;
    } rows[] = {
        {"1.768", "1.76", "GIA, answers to questions: carat weight"},
        {"1.769", "1.77", "GIA, answers to questions: carat weight"},
        {"0.999", "1.00", "R. Cartier FGA on rounding of carats"},
        {"0.025", "0.02", "R. Cartier FGA on rounding of carats"},
        {"0.125", "0.12", "R. Cartier FGA on rounding of carats"},
        {"0.998", "0.99", "GIA, answers to questions: the same rule"},
        {"0.998999", "0.99", "GIA: weighed to thousandths, further decimals are not weighed"},
        {"1", "1.00", "GIA, answers to questions: the same rule"},
        {"10.009", "10.01", "GIA, answers to questions: the same rule"},
        {"0.009", "0.01", "GIA, answers to questions: the same rule"},
        {"0.008", "under 0.01", "memory: a weight of nothing is not said"},
    };
    for (size_t i = 0; i < TS_COUNT_OF(rows); i++) {
        assert_string_equal(ts_piece_carats(*state, dec(rows[i].carats)), rows[i].shown);
    }
}

static void weights_below_a_hundredth_keep_thousandths_in_columns(void **state)
{
    (void)state;
    assert_int_equal(ts_piece_carats_number(dec("0.004272")).e6, 4000);
    assert_int_equal(ts_piece_carats_number(dec("0.012")).e6, 10000);
    assert_int_equal(ts_piece_carats_number(dec("0.019")).e6, 20000);
}

/* Source: 16 CFR 23.25 (immediately before the name, equally conspicuous); ISO 18323 (no
 * abbreviation). */
static void the_origin_stands_in_full_immediately_before_the_species(void **state)
{
    assert_string_equal(ts_piece_stones(*state, 1, TS_SHAPE_ROUND, TS_ORIGIN_NATURAL, "diamond"),
                        "One round natural diamond");
    assert_string_equal(
        ts_piece_stones(*state, 18, TS_SHAPE_ROUND, TS_ORIGIN_LABORATORY, "diamond"),
        "18 round laboratory-grown diamonds");
    assert_string_equal(ts_piece_stones(*state, 1, TS_SHAPE_EMERALD, TS_ORIGIN_NATURAL, "emerald"),
                        "One emerald-cut natural emerald");
    assert_string_equal(ts_piece_stones(*state, 2, TS_SHAPE_PEAR, TS_ORIGIN_NATURAL, "ruby"),
                        "2 pear-shaped natural rubies");
    assert_string_equal(ts_piece_stones(*state, 3, TS_SHAPE_OVAL, TS_ORIGIN_NATURAL, "topaz"),
                        "3 oval natural topazes");
}

static void every_shape_has_words(void **state)
{
    (void)state;
    for (int shape = 1; shape < TS_SHAPE_COUNT; shape++) {
        assert_true(ts_piece_shape(shape)[0] != '\0');
    }
}

/* ---- whole pieces ---- */

static ts_alloy_row alloy_row(void)
{
    ts_alloy_row row = {.alloy = "750 yellow", .name = "18 karat yellow gold", .mark = "750"};
    row.fineness[TS_METAL_GOLD] = dec("750");
    row.fineness[TS_METAL_SILVER] = dec("125");
    return row;
}

static ts_stone_need diamond(void)
{
    return (ts_stone_need){.item = "centre stone",
                           .shape = TS_SHAPE_ROUND,
                           .species = "diamond",
                           .origin = TS_ORIGIN_NATURAL,
                           .setting = TS_SETTING_CLAW,
                           .colour = "F",
                           .clarity = "VS2",
                           .count = 1,
                           .length_mm = dec("6.5"),
                           .width_mm = dec("6.5"),
                           .depth_mm = dec("3.95"),
                           .carats = dec("1.018")};
}

static const char *said(const ts_piece_words *piece, const char *label)
{
    for (int i = 0; i < piece->count; i++) {
        if (strcmp(piece->lines[i].label, label) == 0) {
            return piece->lines[i].text;
        }
    }
    return "";
}

static void an_estimated_weight_is_about_and_a_stated_one_is_not(void **state)
{
    ts_alloy_row row = alloy_row();
    ts_metal_need metal = {.alloy = "750 yellow", .row = &row, .whole_g = dec("5.634512")};
    ts_stone_need stone = diamond();
    ts_quantities q = {.metals = &metal, .metal_count = 1, .stones = &stone, .stone_count = 1};
    ts_piece_words estimated = ts_piece_of(*state, &q);
    assert_string_equal(
        said(&estimated, "Centre stone"),
        "One round natural diamond, 6.50\u00a0mm across, 3.95\u00a0mm deep, about 1.01\u00a0ct, "
        "colour F, clarity VS2; claw setting");
    assert_string_equal(
        said(&estimated, "Metal"),
        "18 karat yellow gold: 750 of 1,000 parts gold (mark 750); about 5.63\u00a0g");
    stone.weight_stated = true;
    stone.client = true;
    ts_piece_words stated = ts_piece_of(*state, &q);
    assert_non_null(strstr(said(&stated, "Centre stone"), ", 1.01\u00a0ct,"));
    assert_non_null(strstr(said(&stated, "Centre stone"), "; yours"));
}

static void melee_is_counted_and_weighed_together(void **state)
{
    ts_melee_row step = {.species = "diamond",
                         .shape = TS_SHAPE_ROUND,
                         .origin = TS_ORIGIN_LABORATORY,
                         .colour = "E",
                         .clarity = "VS",
                         .carat_each = dec("0.012")};
    ts_melee_need need = {
        .lot = "the lot's own name", .step = &step, .set = 18, .diameter_mm = dec("1.4")};
    ts_quantities q = {.melee = &need, .melee_count = 1};
    ts_piece_words piece = ts_piece_of(*state, &q);
    assert_int_equal(piece.count, 1);
    assert_string_equal(
        piece.lines[0].text,
        "18 round laboratory-grown diamonds, 1.40\u00a0mm, about 0.21\u00a0ct in all, "
        "colour E, clarity VS");
}

static void a_difference_says_a_changed_label_whole(void **state)
{
    ts_piece_said one[] = {
        {"Metal", "gold"}, {"Small stones", "18"}, {"Small stones", "30"}, {"Finish", "matt"}};
    ts_piece_said two[] = {{"Metal", "gold"}, {"Small stones", "18"}};
    ts_piece_words first = {one, 4}, other = {two, 2};
    ts_piece_words rest = ts_piece_difference(*state, &first, &other);
    assert_int_equal(rest.count, 2);
    assert_string_equal(rest.lines[0].label, "Small stones");
    assert_string_equal(rest.lines[0].text, "18");
    assert_string_equal(rest.lines[1].label, "Without");
    assert_string_equal(rest.lines[1].text, "Finish: matt");
    assert_int_equal(ts_piece_difference(*state, &first, &first).count, 0);
}

static void an_option_is_called_by_its_label_then_by_its_name(void **state)
{
    ts_quantities q = {.terms = {.option_name = "base"}};
    assert_string_equal(ts_piece_option(*state, &q, true), "As described");
    q.terms.option_name = "low";
    assert_string_equal(ts_piece_option(*state, &q, false), "Low");
    q.terms.option_label = "in platinum";
    assert_string_equal(ts_piece_option(*state, &q, false), "In platinum");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weights_count_up_only_from_a_nine),
        cmocka_unit_test(weights_below_a_hundredth_keep_thousandths_in_columns),
        cmocka_unit_test(the_origin_stands_in_full_immediately_before_the_species),
        cmocka_unit_test(every_shape_has_words),
        cmocka_unit_test(an_estimated_weight_is_about_and_a_stated_one_is_not),
        cmocka_unit_test(melee_is_counted_and_weighed_together),
        cmocka_unit_test(a_difference_says_a_changed_label_whole),
        cmocka_unit_test(an_option_is_called_by_its_label_then_by_its_name),
    };
    return cmocka_run_group_tests(tests, make_arena, drop_arena);
}
