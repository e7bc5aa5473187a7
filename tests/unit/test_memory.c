/* What was kept of a design that turned out to be none is forgotten, and nothing else is. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/slots.h>

#include "geometry/recollect.h"

#include "piece.h"

/* A measured design as the memory meets it while it is measured. */
static ts_measuring measured(piece *p, const char *path)
{
    *p = piece_read(path, 0, "pricebooks");
    piece_measure(p, true);
    const ts_design *d = p->design;
    ts_measuring m = {.out = p->geometry,
                      .arena = p->arena,
                      .design = d,
                      .diag = p->diag,
                      .outlines = TS_ARRAY(p->arena, ts_outline, (size_t)d->stone_count + 1),
                      .halo_good = TS_ARRAY(p->arena, bool, (size_t)d->halo_count + 1),
                      .has_band = true};
    for (int i = 0; i < d->stone_count; i++) {
        m.outlines[i].count = 1;
    }
    memset(m.halo_good, 1, (size_t)d->halo_count);
    return m;
}

/* Settings and bands go the same way; a band needs rows, a setting stones. */
typedef struct way {
    const char *one, *other;
    bool (*find)(ts_geometry_memory *, ts_measuring *);
    void (*keep)(ts_geometry_memory *, const ts_measuring *);
} way;

static void drops_the_last_alone(const way *by)
{
    piece one, other;
    ts_measuring first = measured(&one, by->one), second = measured(&other, by->other);
    second.out->bore_mm += 0.25; /* the same band for another finger is another */
    ts_geometry_memory *memory = ts_geometry_memory_new(one.arena);
    assert_false(by->find(memory, &first));
    by->keep(memory, &first);
    assert_false(by->find(memory, &second));
    by->keep(memory, &second);
    ts_memory_drop(memory);
    assert_true(by->find(memory, &first));
    assert_false(by->find(memory, &second));
    by->keep(memory, &second);
    assert_true(by->find(memory, &second));
    ts_memory_drop(memory); /* nothing is being kept */
    assert_true(by->find(memory, &second));
    assert_true(by->find(memory, &first));
    piece_close(&one);
    piece_close(&other);
}

static void a_setting_that_is_dropped_is_measured_again(void **state)
{
    static const way by = {"demo/halo.csv", "demo/three-stone.csv", ts_memory_setting,
                           ts_memory_keep_setting};
    (void)state;
    drops_the_last_alone(&by);
}

static void a_band_that_is_dropped_is_measured_again(void **state)
{
    static const way by = {"demo/eternity.csv", "demo/eternity.csv", ts_memory_band,
                           ts_memory_keep_band};
    (void)state;
    drops_the_last_alone(&by);
}

static void no_memory_has_nothing_to_drop(void **state)
{
    (void)state;
    ts_memory_drop(NULL);
}

/* ---- the slots below ---- */

static bool is_known(ts_slots *slots, int key)
{
    ts_slots_begin(slots);
    ts_slots_put_int(slots, key);
    return ts_slots_find(slots) != NULL;
}

/* A piece that does not fit drops what was kept of its key, and what is kept next is another's. */
static void what_does_not_fit_is_not_kept(void **state)
{
    static const char bytes[64] = "a piece";
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_slots *slots = ts_slots_new(arena, 2, 72);
    (void)state;
    assert_false(is_known(slots, 1));
    ts_slots_keep(slots);
    assert_non_null(ts_slots_add(slots, bytes, 64));
    assert_true(is_known(slots, 1));
    assert_false(is_known(slots, 2));
    ts_slots_keep(slots);
    assert_non_null(ts_slots_add(slots, bytes, 57));
    assert_null(ts_slots_add(slots, bytes, 1));
    assert_null(ts_slots_add(slots, bytes, 0));
    assert_false(is_known(slots, 2));
    assert_false(is_known(slots, 3));
    ts_slots_keep(slots); /* where the dropped one lay */
    assert_true(is_known(slots, 3));
    assert_true(is_known(slots, 1));
    ts_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_setting_that_is_dropped_is_measured_again),
        cmocka_unit_test(a_band_that_is_dropped_is_measured_again),
        cmocka_unit_test(no_memory_has_nothing_to_drop),
        cmocka_unit_test(what_does_not_fit_is_not_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
