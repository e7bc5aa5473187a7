/* Heights over the finger, worked by hand from the division 43.0 : 2.5 : 14.5. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "geometry/height.h"

static bool near(double got, double expect)
{
    return fabs(got - expect) <= 1e-12 * fmax(1.0, fabs(expect));
}

static void the_parts_of_a_stone_add_up_to_its_depth(void **state)
{
    (void)state;
    for (double depth = 0.5; depth < 12.0; depth += 0.37) {
        double sum =
            ts_stone_crown_mm(depth) + ts_stone_girdle_mm(depth) + ts_stone_pavilion_mm(depth);

        assert_true(near(sum, depth));
    }
    /* the reference stone of 6.0 mm: depth 3.6, crown 14.5 %, girdle 2.5 %, pavilion 43 %
     * of the diameter */
    assert_true(near(ts_stone_crown_mm(3.6), 0.87));
    assert_true(near(ts_stone_girdle_mm(3.6), 0.15));
    assert_true(near(ts_stone_pavilion_mm(3.6), 2.58));
}

/* 0.5 over the finger, depth 3.6: girdle's upper edge 0.5 + 2.58 + 0.15, total 4.1; with the
 * least clearance of 0.3 the total comes down by 0.2. */
static void a_stone_is_stacked_on_its_clearance(void **state)
{
    const ts_rise_from from = {0.5, 3.6, 0.3, 1.8, 0.0};
    ts_rise rise = ts_rise_of(&from);

    (void)state;
    assert_true(near(rise.girdle_mm, 3.23));
    assert_true(near(rise.total_mm, 4.1));
    assert_true(near(rise.lowest_mm, 3.9));
}

static void metal_above_the_stone_counts(void **state)
{
    ts_rise_from from = {0.5, 3.6, 0.3, 1.8, 4.4};
    ts_rise rise = ts_rise_of(&from);

    (void)state;
    assert_true(near(rise.total_mm, 4.4));
    assert_true(near(rise.lowest_mm, 4.2)); /* the head comes down with its stone */
    assert_true(near(rise.girdle_mm, 3.23));
    from.head_top_mm = 0.0;
    from.shank_top_mm = 4.3; /* a thick shank stays where it is */
    rise = ts_rise_of(&from);
    assert_true(near(rise.total_mm, 4.3));
    assert_true(near(rise.lowest_mm, 4.3));
}

static void a_plain_band_stands_as_high_as_it_is_thick(void **state)
{
    const ts_rise_from from = {.shank_top_mm = 1.8};
    ts_rise rise = ts_rise_of(&from);

    (void)state;
    assert_true(near(rise.total_mm, 1.8));
    assert_true(near(rise.lowest_mm, 1.8));
}

static void a_clearance_below_the_least_is_raised_to_it(void **state)
{
    const ts_rise_from from = {0.1, 4.0, 0.3, 1.8, 4.0};
    ts_rise rise = ts_rise_of(&from);

    (void)state;
    assert_true(near(rise.total_mm, 4.1));
    assert_true(near(rise.lowest_mm, 4.3));
}

static void the_total_grows_with_depth_and_clearance(void **state)
{
    ts_rise_from from = {0.4, 3.0, 0.3, 1.8, 0.0};
    ts_rise before = ts_rise_of(&from);

    (void)state;
    for (int i = 0; i < 20; i++) {
        from.depth_mm += 0.1;
        from.culet_clearance_mm += 0.05;
        ts_rise after = ts_rise_of(&from);
        assert_true(after.total_mm > before.total_mm);
        assert_true(after.girdle_mm > before.girdle_mm);
        assert_true(after.girdle_mm < after.total_mm);
        assert_true(after.lowest_mm <= after.total_mm);
        before = after;
    }
}

static void room_beside_is_counted_from_the_outside_of_the_shank(void **state)
{
    (void)state;
    assert_true(near(ts_room_under_mm(4.0, 1.8), 2.2));
    assert_true(ts_room_under_mm(1.5, 1.8) < 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_parts_of_a_stone_add_up_to_its_depth),
        cmocka_unit_test(a_stone_is_stacked_on_its_clearance),
        cmocka_unit_test(metal_above_the_stone_counts),
        cmocka_unit_test(a_plain_band_stands_as_high_as_it_is_thick),
        cmocka_unit_test(a_clearance_below_the_least_is_raised_to_it),
        cmocka_unit_test(the_total_grows_with_depth_and_clearance),
        cmocka_unit_test(room_beside_is_counted_from_the_outside_of_the_shank),
    };

    return cmocka_run_group_tests_name("height", tests, NULL, NULL);
}
