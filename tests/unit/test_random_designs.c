#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "randomsheet.h"

#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

#include "geometry/rows.h"

/* Ten thousand invented pieces through sheet, design, geometry and quantities.
 *
 * Measurements are drawn over the whole ranges of fields.def, usual ones more often, and put
 * together so that no rule across measures is broken. Whatever comes out of it, the laws below
 * hold; a law that is broken shows the sheet. The seed is fixed; SEED draws others. */

#define DESIGNS 10000
#define SEED UINT64_C(20261125)
#define ALL_PAIRS 300 /* stones up to which every pair is compared */

typedef enum law {
    LAW_READ,
    LAW_FAULTS,
    LAW_FINITE,
    LAW_APART,
    LAW_FULL,
    LAW_WEIGHS,
    LAW_FACTS,
    LAW_COUNT
} law;

typedef struct trial {
    ts_arena *arena;
    ts_diag *diag;
    const char *text; /* of the sheet */
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *quantities;
} trial;

static struct {
    ts_arena *arena;
    const ts_book *book;
    int broken[LAW_COUNT];
    int measured, counted, refused;
    int with[TS_PART_COUNT]; /* measured designs that have such a part */
    int row_pairs;
    int fits; /* halos whose diameter was chosen, and whose fullness was tried */
} all;

static void breaks(const trial *t, law which, const char *what, double value)
{
    if (all.broken[which]++ == 0) {
        fprintf(stderr, "%s (%.9g) in:\n%s\n", what, value, t->text);
        ts_diag_print(t->diag, stderr, false, false);
    }
}

/* ---- faults ---- */

/* Every fault said is of one of the codes in `words` ("[range] [figure]"). */
static bool said_only(const trial *t, const char *words)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    bool only = true;

    ts_diag_print(t->diag, to, false, false);
    fclose(to);
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        const char *code = strrchr(line, '[');
        if (strncmp(line, "random.csv:", 11) == 0 || strchr(line, '[') != NULL) {
            only = only && code != NULL && strstr(words, code) != NULL;
        }
    }
    free(text);
    return only;
}

/* A stage ends well or says why not, with the codes it may use. True where it ended well. */
static bool judge_stage(const trial *t, ts_status status, law which, const char *words)
{
    size_t errors = ts_diag_errors(t->diag);

    if ((status == TS_OK) != (errors == 0) || (status != TS_OK && status != TS_FAULTY)) {
        breaks(t, which, "a stage's status does not agree with its faults", (double)errors);
    }
    if (errors > 0 && !said_only(t, words)) {
        breaks(t, which, "a stage said a fault that is not its own", (double)errors);
    }
    return status == TS_OK;
}

/* ---- geometry ---- */

static void never_negative(const trial *t, double value, const char *what)
{
    if (!(value >= 0.0 && value < 1e12)) {
        breaks(t, LAW_FINITE, what, value);
    }
}

static void judge_spots(const trial *t, const ts_spot *spots, int count, const char *what)
{
    for (int i = 0; i < count; i++) {
        if (!isfinite(spots[i].x_mm + spots[i].y_mm + spots[i].z_mm + spots[i].angle_rad) ||
            !(spots[i].diameter_mm > 0.0)) {
            breaks(t, LAW_FINITE, what, i);
        }
    }
}

static void judge_row_figures(const trial *t, const ts_row_shape *row)
{
    never_negative(t, row->stones, "stones");
    never_negative(t, row->diameter_mm, "diameter");
    never_negative(t, row->spacing_mm, "spacing");
    never_negative(t, row->metal_mm3, "a halo's volume");
    never_negative(t, row->seats_mm3, "seats");
    if (!isfinite(row->claw_room_mm + row->underside_mm + row->gap_mm)) {
        breaks(t, LAW_FINITE, "a row's place", row->gap_mm);
    }
    judge_spots(t, row->spots, row->stones, "a small stone's place");
}

static void judge_figures(const trial *t)
{
    const ts_geometry *g = t->geometry;
    const ts_design *d = t->design;

    never_negative(t, g->shank_mm3, "the shank's volume");
    never_negative(t, g->shank_mm3 - g->shank_seats_mm3, "the shank's volume less seats");
    for (int i = 0; i < d->stone_count; i++) {
        never_negative(t, g->stones[i].carats, "carats");
        never_negative(t, g->stones[i].depth_mm, "a depth");
        judge_spots(t, g->stones[i].spots, g->stones[i].copies, "a stone's place");
    }
    for (int i = 0; i < d->head_count; i++) {
        never_negative(t, g->heads[i].claws_mm3, "the claws' volume");
        never_negative(t, g->heads[i].rails_mm3, "the rails' volume");
        never_negative(t, g->heads[i].height_mm, "a head's height");
        judge_spots(t, g->heads[i].claw_spots, g->heads[i].claw_spot_count, "a claw's place");
    }
    for (int i = 0; i < d->bezel_count; i++) {
        never_negative(t, g->bezels[i].volume_mm3, "a bezel's volume");
    }
    for (int i = 0; i < d->halo_count; i++) {
        judge_row_figures(t, &g->halos[i]);
    }
    for (int i = 0; i < d->row_count; i++) {
        judge_row_figures(t, &g->rows[i]);
    }
    never_negative(t, g->height.total_mm - g->height.lowest_mm + g->height.lowest_mm, "a height");
}

/* ---- halos ---- */

static void judge_apart(const trial *t, const ts_row_shape *row)
{
    for (int i = 0; i < row->stones; i++) {
        int others = row->stones <= ALL_PAIRS ? row->stones - 1 : 1;
        for (int k = 1; k <= others; k++) {
            const ts_spot *one = &row->spots[i], *other = &row->spots[(i + k) % row->stones];
            double apart_mm = hypot(one->x_mm - other->x_mm, one->y_mm - other->y_mm);
            if (apart_mm < row->diameter_mm - 1e-6) {
                breaks(t, LAW_APART, "two stones of a halo overlap", apart_mm);
                return;
            }
        }
    }
}

/* Stones of rows that face the same way stand apart, each pair of them compared. */
static void judge_rows_apart(const trial *t, int one, int other)
{
    const ts_row_shape *a = &t->geometry->rows[one], *b = &t->geometry->rows[other];

    if (t->design->row[one].faces != t->design->row[other].faces) {
        return;
    }
    for (int i = 0; i < a->stones; i++) {
        for (int k = 0; k < b->stones; k++) {
            const ts_spot *p = &a->spots[i], *q = &b->spots[k];
            double apart_mm = hypot(hypot(p->x_mm - q->x_mm, p->y_mm - q->y_mm), p->z_mm - q->z_mm);
            if (apart_mm < (p->diameter_mm + q->diameter_mm) / 2.0 - 2e-6) {
                breaks(t, LAW_APART, "stones of two rows overlap", apart_mm);
                return;
            }
        }
    }
}

/* One count more, spread evenly, leaves less room than was asked for, or cannot be laid. */
static void judge_full(const trial *t, const ts_halo *halo, const ts_row_shape *row)
{
    const ts_stone *held = &t->design->stone[halo->stone_ref.index];
    const ts_stone_shape *shape = &t->geometry->stones[halo->stone_ref.index];
    int more = halo->multiple > 1 ? halo->multiple : 1;
    ts_outline outline;
    ts_closed_row other;
    ts_closed_ask ask = {
        .offset_mm = row->offset_mm,
        .diameter_mm = row->diameter_mm,
        .spacing_mm = ts_dec_double(halo->spacing),
        .multiple = 1,
        .start =
            ts_shape_has_tip((ts_shape)held->shape) ? (ts_point_of)halo->point : TS_POINT_STONE,
    };

    if (row->spacing_mm < ask.spacing_mm - 1e-6) {
        breaks(t, LAW_FULL, "a halo has less spacing than asked", row->spacing_mm);
    }
    if (row->stones % more != 0) {
        breaks(t, LAW_FULL, "a halo's count is not the multiple asked", row->stones);
    }
    if (!ts_outline_of(&outline, (ts_shape)held->shape, shape->length_mm, shape->width_mm,
                       ts_dec_double(held->corner))) {
        breaks(t, LAW_FULL, "an outline was drawn once and not again", held->shape);
        return;
    }
    if (ts_closed_row_spread(&other, &outline, &ask, row->stones + more) &&
        other.spacing_mm > ask.spacing_mm + 1e-6) {
        breaks(t, LAW_FULL, "one more stone would fit", other.spacing_mm);
    }
    all.fits++;
}

/* ---- quantities ---- */

static double volume_of_alloy_mm3(const trial *t, const char *alloy)
{
    const ts_design *d = t->design;
    const ts_geometry *g = t->geometry;
    double sum = 0.0;

#define ADD(own, mm3) sum += strcmp(ts_design_alloy(d, own), alloy) == 0 ? (mm3) : 0.0
    if (d->shank_count > 0) {
        ADD(d->shank[0].alloy, g->shank_mm3 - g->shank_seats_mm3);
    }
    for (int i = 0; i < d->head_count; i++) {
        ADD(d->head[i].alloy, g->heads[i].copies * (g->heads[i].claws_mm3 + g->heads[i].rails_mm3));
    }
    for (int i = 0; i < d->bezel_count; i++) {
        ADD(d->bezel[i].alloy, g->bezels[i].copies * g->bezels[i].volume_mm3);
    }
    for (int i = 0; i < d->halo_count; i++) {
        ADD(d->halo[i].alloy, g->halos[i].copies * g->halos[i].metal_mm3);
    }
    for (int i = 0; i < d->metal_count; i++) {
        ADD(d->metal[i].alloy, d->metal[i].count * ts_dec_double(d->metal[i].volume));
    }
#undef ADD
    return sum;
}

static double given_g(const trial *t, const char *alloy)
{
    double sum = 0.0;

    for (int i = 0; i < t->design->metal_count; i++) {
        const ts_metal *metal = &t->design->metal[i];
        if (strcmp(ts_design_alloy(t->design, metal->alloy), alloy) == 0) {
            sum += metal->count * ts_dec_double(metal->weight);
        }
    }
    return sum;
}

/* Each alloy weighs its volumes times its density, and what was given as a weight. */
static void judge_weights(const trial *t)
{
    for (int i = 0; i < t->quantities->metal_count; i++) {
        const ts_metal_need *need = &t->quantities->metals[i];
        double expect_g =
            volume_of_alloy_mm3(t, need->alloy) * ts_dec_double(need->row->density) / 1000.0 +
            given_g(t, need->alloy);
        double got_g = ts_dec_double(need->whole_g);
        if (!(fabs(got_g - expect_g) <= 1e-5 + 1e-9 * expect_g)) {
            breaks(t, LAW_WEIGHS, "a weight that is not its volumes'", got_g - expect_g);
        }
    }
}

static void judge_facts(const trial *t)
{
    for (int i = 0; i < t->quantities->fact_count; i++) {
        const ts_fact *fact = &t->quantities->facts[i];
        bool amount = strcmp(fact->unit, "mm3") == 0 || strcmp(fact->unit, "g") == 0 ||
                      strcmp(fact->unit, "ct") == 0 || strcmp(fact->measure, "count") == 0 ||
                      strcmp(fact->measure, "stones") == 0;
        if (amount && fact->value.e6 < 0) {
            breaks(t, LAW_FACTS, "a fact below nothing", ts_dec_double(fact->value));
        }
        if (fact->part == NULL || fact->part[0] == '\0' || fact->measure[0] == '\0') {
            breaks(t, LAW_FACTS, "a fact about nothing", i);
        }
    }
    for (int i = 0; i < t->quantities->melee_count; i++) {
        if (t->quantities->melee[i].set < 1) {
            breaks(t, LAW_FACTS, "melee of no stones", t->quantities->melee[i].set);
        }
    }
}

/* ---- one piece ---- */

static void tally(const trial *t)
{
    const ts_design *d = t->design;

    all.measured++;
#define PART(id, word, type, member, naming, says) all.with[TS_PART_##id] += d->member##_count > 0;
#include <tallystone/design/parts.def>
#undef PART
}

static void judge_measured(const trial *t)
{
    tally(t);
    judge_figures(t);
    for (int i = 0; i < t->design->halo_count; i++) {
        judge_apart(t, &t->geometry->halos[i]);
        judge_full(t, &t->design->halo[i], &t->geometry->halos[i]);
    }
    for (int i = 0; i < t->design->row_count; i++) {
        for (int k = 0; k < i; k++) {
            judge_rows_apart(t, i, k);
            all.row_pairs++;
        }
    }
}

static void run_one(uint64_t seed)
{
    trial t = {.arena = ts_arena_new(NULL, NULL)};
    ts_sheet *sheet = NULL;

    t.diag = ts_diag_new(t.arena);
    t.text = random_sheet(t.arena, seed);
    ts_status status =
        ts_sheet_parse(&sheet, t.arena, "random.csv", t.text, strlen(t.text), t.diag);
    if (judge_stage(&t, status, LAW_READ, "")) {
        status = ts_design_of(&t.design, t.arena, sheet, 0, all.book, TS_DATE_NONE, t.diag);
        if (!judge_stage(&t, status, LAW_READ, "[book-gap]")) {
            ts_arena_free(t.arena);
            return;
        }
        status = ts_geometry_of(&t.geometry, t.arena, t.design, t.diag);
        if (judge_stage(&t, status, LAW_FAULTS, "[cannot-be-made]")) {
            judge_measured(&t);
            status =
                ts_quantities_of(&t.quantities, t.arena, t.design, t.geometry, all.book, t.diag);
            if (judge_stage(&t, status, LAW_FAULTS, "")) {
                judge_weights(&t);
                judge_facts(&t);
                all.counted++;
            }
        } else {
            all.refused++;
        }
    }
    ts_arena_free(t.arena);
}

static int run_all(void **state)
{
    const char *asked = getenv("SEED");
    uint64_t seed = asked != NULL ? strtoull(asked, NULL, 10) : SEED;

    (void)state;
    all.arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(all.arena);
    if (ts_book_load(&all.book, all.arena, "pricebooks", diag) != TS_OK) {
        return -1;
    }
    for (uint64_t i = 0; i < DESIGNS; i++) {
        run_one(seed * DESIGNS + i);
    }
    return 0;
}

static int drop_all(void **state)
{
    (void)state;
    ts_arena_free(all.arena);
    return 0;
}

/* ---- the laws ---- */

static void every_sheet_within_its_ranges_is_read_and_built_but_for_gaps_in_the_books(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_READ], 0);
}

static void geometry_refuses_what_cannot_be_made_and_nothing_else_is_refused(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_FAULTS], 0);
}

static void no_volume_weight_or_place_is_negative_or_no_number(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_FINITE], 0);
}

static void stones_of_halos_and_rows_never_overlap(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_APART], 0);
}

static void one_more_stone_would_not_fit_in_a_halo(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_FULL], 0);
}

static void each_alloy_weighs_its_volumes_times_its_density(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_WEIGHS], 0);
}

static void facts_are_about_something_and_not_below_nothing(void **state)
{
    (void)state;
    assert_int_equal(all.broken[LAW_FACTS], 0);
}

/* The laws mean little where hardly anything could be measured. */
static void the_draw_reaches_every_part_and_both_ends(void **state)
{
    static const ts_part_kind kinds[] = {TS_PART_SHANK, TS_PART_STONE, TS_PART_HEAD,  TS_PART_BEZEL,
                                         TS_PART_HALO,  TS_PART_ROW,   TS_PART_METAL, TS_PART_WORK};

    (void)state;
    printf("%d measured, %d of them counted, %d refused; %d halos\n", all.measured, all.counted,
           all.refused, all.fits);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        printf("  %s in %d\n", ts_part_word(kinds[i]), all.with[kinds[i]]);
        assert_true(all.with[kinds[i]] > DESIGNS / 20);
    }
    printf("  pairs of rows: %d\n", all.row_pairs);
    assert_true(all.row_pairs > DESIGNS / 100);
    assert_true(all.counted > DESIGNS / 5);
    assert_true(all.refused > DESIGNS / 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_sheet_within_its_ranges_is_read_and_built_but_for_gaps_in_the_books),
        cmocka_unit_test(geometry_refuses_what_cannot_be_made_and_nothing_else_is_refused),
        cmocka_unit_test(no_volume_weight_or_place_is_negative_or_no_number),
        cmocka_unit_test(stones_of_halos_and_rows_never_overlap),
        cmocka_unit_test(one_more_stone_would_not_fit_in_a_halo),
        cmocka_unit_test(each_alloy_weighs_its_volumes_times_its_density),
        cmocka_unit_test(facts_are_about_something_and_not_below_nothing),
        cmocka_unit_test(the_draw_reaches_every_part_and_both_ends),
    };

    return cmocka_run_group_tests(tests, run_all, drop_all);
}
