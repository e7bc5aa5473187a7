#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/design/variant.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

/* A ring whose band is bent comes to what the ring built whole comes to: over drawn bands, with
 * units, faults, walls too high, sizes out of range, and the cells that no band has. */

#define ROWS 4000

static const char header[] = "variant,ring/size,shank/width top,shank/width base,"
                             "shank/thickness top,shank/thickness base,shank/wall\n";

typedef struct stream {
    ts_arena *kept, *bent_arena, *whole_arena;
    ts_diag *diag;
    const ts_book *book;
    ts_sheet *sheet;
    ts_csv *head; /* the columns point to it */
    const ts_variant_columns *columns;
    ts_variant *builds, *bends;
    uint64_t state;
} stream;

typedef struct rooms {
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *needs;
} rooms;

static unsigned draw(stream *s, unsigned below)
{
    s->state = s->state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(s->state >> 33) % below;
}

static stream begin(const char *sheet)
{
    static const char *const known[] = {"variant"};
    stream s = {.kept = ts_arena_new(NULL, NULL),
                .bent_arena = ts_arena_new(NULL, NULL),
                .whole_arena = ts_arena_new(NULL, NULL),
                .state = 20261125};

    s.head = TS_NEW(s.kept, ts_csv);
    s.diag = ts_diag_new(s.kept);
    assert_int_equal(TS_OK, ts_book_load(&s.book, s.kept, "pricebooks", s.diag));
    assert_int_equal(TS_OK, ts_sheet_read(&s.sheet, s.kept, sheet, s.diag));
    assert_int_equal(
        TS_OK, ts_csv_parse(s.head, s.kept, "bands.csv", header, strlen(header), known, 1, s.diag));
    assert_int_equal(TS_OK, ts_variant_columns_of(&s.columns, s.kept, s.sheet, s.head, s.diag));
    s.builds = ts_variant_new(s.kept, s.columns);
    s.bends = ts_variant_new(s.kept, s.columns);
    return s;
}

static void end(stream *s)
{
    ts_arena_free(s->kept);
    ts_arena_free(s->bent_arena);
    ts_arena_free(s->whole_arena);
}

static ts_status build(const stream *s, rooms *out, ts_variant *variant, ts_arena *arena,
                       const char *const *cells)
{
    ts_status status =
        ts_variant_design(&out->design, variant, arena, cells, s->book, TS_DATE_NONE, s->diag);

    if (status == TS_OK) {
        status = ts_geometry_of(&out->geometry, arena, out->design, s->diag);
    }
    if (status == TS_OK) {
        status =
            ts_quantities_bare_of(&out->needs, arena, out->design, out->geometry, s->book, s->diag);
    }
    return status;
}

static bool bend(const stream *s, rooms *ring, ts_arena *scratch, const char *const *cells)
{
    return ts_variant_reband(ring->design, s->bends, scratch, cells, s->diag) &&
           ts_geometry_reband(ring->geometry, scratch, ring->design, s->diag) &&
           ts_quantities_reband(ring->needs, ring->design, ring->geometry);
}

static void same_needs(const ts_quantities *bent, const ts_quantities *whole)
{
    assert_int_equal(bent->metal_count, whole->metal_count);
    for (int i = 0; i < whole->metal_count; i++) {
        assert_string_equal(bent->metals[i].alloy, whole->metals[i].alloy);
        assert_int_equal(bent->metals[i].finished_g.e6, whole->metals[i].finished_g.e6);
        assert_int_equal(bent->metals[i].whole_g.e6, whole->metals[i].whole_g.e6);
        assert_int_equal(bent->metals[i].castings, whole->metals[i].castings);
    }
    assert_int_equal(bent->melee_count, whole->melee_count);
    for (int i = 0; i < whole->melee_count; i++) {
        assert_int_equal(bent->melee[i].set, whole->melee[i].set);
    }
    assert_int_equal(bent->work_count, whole->work_count);
    for (int i = 0; i < whole->work_count; i++) {
        assert_int_equal(bent->works[i].count, whole->works[i].count);
    }
}

static const char *number(stream *s, char *out, unsigned least, unsigned most)
{
    static const char *const units[] = {"", " mm", "", ""};
    const unsigned hundredths = least + draw(s, most - least);

    if (draw(s, 60) == 0) {
        snprintf(out, 32, "0.0%u in", 6 + draw(s, 4));
    } else if (draw(s, 80) == 0) {
        snprintf(out, 32, "%u", 31 + draw(s, 40)); /* beyond the range */
    } else {
        snprintf(out, 32, "%u.%02u%s", hundredths / 100, hundredths % 100, units[draw(s, 4)]);
    }
    return out;
}

static void draw_cells(stream *s, char text[7][32], const char *cells[7])
{
    static const char *const sizes[] = {"6", "7 1/2", "4.25", "54 EU", "16.5 mm diameter", "12"};

    snprintf(text[0], 32, "v%u", draw(s, 1000));
    snprintf(text[1], 32, "%s", draw(s, 90) == 0 ? "80" : sizes[draw(s, 6)]);
    number(s, text[2], 150, 320);
    number(s, text[3], 150, 320);
    number(s, text[4], 90, 260);
    number(s, text[5], 90, 260);
    number(s, text[6], 0, 160); /* a wall may be higher than the shank is thick */
    for (int i = 0; i < 7; i++) {
        cells[i] = text[i];
    }
}

static void compare_over(const char *sheet, int *bent, int *refused)
{
    stream s = begin(sheet);
    rooms ring = {.design = NULL};
    static const char *const first[] = {"first", "6", "2.1", "2.2", "1.8", "1.7", "0.5"};
    char text[7][32];
    const char *cells[7];
    const ts_arena_mark bent_mark = ts_arena_mark_of(s.bent_arena);
    const ts_arena_mark whole_mark = ts_arena_mark_of(s.whole_arena);

    assert_int_equal(TS_OK, build(&s, &ring, s.builds, s.kept, first));
    ts_variant *wholes = ts_variant_new(s.kept, s.columns);
    for (int row = 0; row < ROWS; row++) {
        rooms whole = {.design = NULL};
        ts_diag_clear(s.diag);
        draw_cells(&s, text, cells);
        const bool is_bent = bend(&s, &ring, s.bent_arena, cells);
        ts_diag_clear(s.diag);
        const ts_status status = build(&s, &whole, wholes, s.whole_arena, cells);
        if (is_bent) {
            assert_int_equal(TS_OK, status);
            same_needs(ring.needs, whole.needs);
        }
        *bent += is_bent;
        *refused += status != TS_OK;
        assert_true(is_bent || status != TS_OK); /* no good row goes the long way */
        ts_arena_rewind(s.bent_arena, bent_mark);
        ts_arena_rewind(s.whole_arena, whole_mark);
    }
    end(&s);
}

static void bent_bands_come_to_what_whole_rings_come_to(void **state)
{
    int bent = 0, refused = 0;

    (void)state;
    compare_over("demo/halo.csv", &bent, &refused);
    compare_over("tests/bench/catalogue.csv", &bent, &refused);
    assert_true(bent > ROWS);         /* most rows are bent */
    assert_true(refused > ROWS / 20); /* and faults were among them */
}

static void rows_along_the_band_are_built_whole(void **state)
{
    stream s = begin("demo/eternity.csv");
    rooms ring = {.design = NULL};
    static const char *const cells[] = {"v", "6", "", "", "", "", ""};

    (void)state;
    assert_int_equal(TS_OK, build(&s, &ring, s.builds, s.kept, cells));
    assert_false(ts_variant_reband(ring.design, s.bends, s.kept, cells, s.diag));
    end(&s);
}

static void steady_cells_are_all_but_numbers_of_the_band(void **state)
{
    stream s = begin("demo/halo.csv");
    static const char *const one[] = {"a", "6", "2.1", "", "1.8", "", ""};
    static const char *const other[] = {"b", "7", "2.4 mm", "", "1.5", "", ""};
    static const char *const filled[] = {"b", "7", "2.4 mm", "", "1.5", "1.5", ""};
    static const char *const word[] = {"b", "none", "2.4", "", "1.5", "", ""};
    char key[256], same[256], more[256], none[256];

    (void)state;
    const size_t length = ts_variant_steady(key, sizeof key, s.bends, one);
    assert_int_equal(length, ts_variant_steady(same, sizeof same, s.bends, other));
    assert_memory_equal(key, same, length);
    const size_t longer = ts_variant_steady(more, sizeof more, s.bends, filled);
    assert_true(longer != length || memcmp(key, more, length) != 0);
    const size_t worded = ts_variant_steady(none, sizeof none, s.bends, word);
    assert_true(worded != length || memcmp(key, none, length) != 0);
    assert_int_equal(0, ts_variant_steady(none, 3, s.bends, word));
    end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bent_bands_come_to_what_whole_rings_come_to),
        cmocka_unit_test(rows_along_the_band_are_built_whole),
        cmocka_unit_test(steady_cells_are_all_but_numbers_of_the_band),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
