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

#include <tallystone/base/text.h>
#include <tallystone/design/variant.h>
#include <tallystone/geometry/memory.h>
#include <tallystone/quantities/recurring.h>

#include "design/sheet.h"
#include "design/tables.h"

/* Rows of variants on two roads: the one that remembers designs, geometry and labour, and the
 * one on which every row is read, measured and counted anew. Sheets and tables are drawn, over
 * every kind of column that an option can replace, with cells of every sort of fault; both
 * roads must come to the same bits and the same words. SEED draws others. */

#define SHEETS 90
#define ROWS 90
#define MOST_COLUMNS 7
#define POOL 6
#define SEED UINT64_C(20261125)

typedef struct trial {
    uint64_t state;
    ts_arena *arena, *scratch;
    const ts_book *book;
    ts_sheet *sheet;
    const ts_variant_columns *columns;
    size_t column_count;
    const char *pools[MOST_COLUMNS][POOL];
    char *header;
    ts_variant *quick, *whole;
    ts_geometry_memory *memory;
    ts_recurring *recurring;
    const char *cells[MOST_COLUMNS + 1];
    long rows, sound, faulty, kinds[TS_KIND_COUNT_OF], settings, bands, lists;
} trial;

/* What a road came to. */
typedef struct outcome {
    ts_status status;
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *needs;
    ts_diag *diag;
} outcome;

static uint64_t bits(trial *t)
{
    uint64_t z = t->state += UINT64_C(0x9e3779b97f4a7c15);

    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static int below(trial *t, int count)
{
    return (int)(bits(t) % (uint64_t)count);
}

/* ---- tables ---- */

static const char *one_of(trial *t, const char *const *words, size_t count)
{
    return words[below(t, (int)count)];
}

static const char *name_for(trial *t, const ts_field *field)
{
    static const char *const lots[] = {"natural melee G-VS", "laboratory-grown melee E-VS",
                                       "natural oval F-VS2", "no such lot"};
    static const char *const alloys[] = {"750 yellow", "585 rose", " Platinum  950", "925 tin",
                                         "585 white palladium"};
    static const char *const others[] = {"diamond", "sapphire", "Moissanite", "a",      "b",
                                         "centre",  "bank",     "state",      "halo a", "chalk"};

    if (strcmp(field->word, "lot") == 0) {
        return one_of(t, lots, TS_COUNT_OF(lots));
    }
    if (strcmp(field->word, "alloy") == 0) {
        return one_of(t, alloys, TS_COUNT_OF(alloys));
    }
    return one_of(t, others, TS_COUNT_OF(others));
}

static const char *number_for(trial *t, const ts_field *field)
{
    ts_dec least = {0}, most = {20000000};
    const char *unit = below(t, 6) == 0 ? (below(t, 2) == 0 ? " in" : " ct") : "";

    if (field->least[0] != '\0') {
        assert_int_equal(ts_dec_read(&least, field->least, '.', NULL), TS_NUMBER_OK);
    }
    if (field->most[0] != '\0') {
        assert_int_equal(ts_dec_read(&most, field->most, '.', NULL), TS_NUMBER_OK);
    }
    double from = (double)least.e6 / 1e6, to = fmin(from + 6.0, (double)most.e6 / 1e6);
    double value = from + (to - from) * (double)below(t, 1001) / 1000.0;
    value = below(t, 12) == 0 ? (double)most.e6 / 1e6 + 1.0 : value;
    if (field->kind == TS_KIND_COUNT) {
        return ts_arena_format(t->arena, "%.0f%s", value, below(t, 20) == 0 ? ".5" : "");
    }
    if (field->kind == TS_KIND_FIT && below(t, 3) == 0) {
        return "fit";
    }
    if (field->kind == TS_KIND_AMOUNT) {
        static const char *const units[] = {"", " each", " per ct", " USD each", " %", " EUR"};
        unit = units[below(t, (int)TS_COUNT_OF(units))];
    }
    return ts_arena_format(t->arena, "%.*f%s", below(t, 4), value, unit);
}

static const char *cell_for(trial *t, const ts_field *field)
{
    static const char *const sizes[] = {"6", "7.25", "L 1/2 UK", "54 EU", "16.5 mm diameter",
                                        "x", "99"};
    static const char *const days[] = {"2026-11-20", "2027-03-01", "2025-01-01", "soon"};
    static const char *const codes[] = {"USD", "eur", "JPY", "XXX"};
    static const char *const lines[] = {"as polished", "F", "VS2, sharp", "none", "No. 12"};
    size_t count = 0;
    const char *const *words = NULL;

    switch (below(t, 12)) {
    case 0:
        return "";
    case 1:
        return below(t, 2) == 0 ? "none" : "nonsense";
    default:
        break;
    }
    if (field->kind == TS_KIND_SIZE) {
        return one_of(t, sizes, TS_COUNT_OF(sizes));
    }
    if (field->kind == TS_KIND_WORD) {
        words = ts_list_words(field->list, &count);
        return words[1 + below(t, (int)count - 1)];
    }
    if (field->kind == TS_KIND_DATE) {
        return one_of(t, days, TS_COUNT_OF(days));
    }
    if (field->kind == TS_KIND_CURRENCY) {
        return one_of(t, codes, TS_COUNT_OF(codes));
    }
    if (field->kind == TS_KIND_NAME) {
        return name_for(t, field);
    }
    if (field->kind == TS_KIND_LINE || field->kind == TS_KIND_TEXT) {
        return one_of(t, lines, TS_COUNT_OF(lines));
    }
    return number_for(t, field);
}

/* A column of a part of the sheet: a measure mostly, else a station, a label, the part. */
static void draw_column(trial *t, size_t number)
{
    static const ts_field length = {.kind = TS_KIND_LENGTH, .least = "0.5", .most = "4"};
    const ts_sheet_part *part = &t->sheet->parts[below(t, (int)t->sheet->part_count)];
    const char *title = ts_title_of(t->arena, part->kind, part->name);
    size_t count = 0;
    const ts_field *fields = ts_part_fields(part->kind, &count);
    const ts_field *field = &fields[below(t, (int)count)];
    const int what = below(t, 14);

    for (int i = 0; i < POOL; i++) {
        t->pools[number][i] = what == 0   ? (below(t, 3) == 0 ? "none" : "")
                              : what == 1 ? (i % 2 == 0 ? "another name" : "")
                              : what == 2 && part->kind == TS_PART_SHANK ? number_for(t, &length)
                                                                         : cell_for(t, field);
    }
    if (what == 0 && part->kind != TS_PART_COMMISSION) {
        t->header = ts_arena_format(t->arena, "%s,%s", t->header, title);
        return;
    }
    t->kinds[field->kind]++;
    t->header = ts_arena_format(t->arena, "%s,%s/%s", t->header, title,
                                what == 1                                  ? "label"
                                : what == 2 && part->kind == TS_PART_SHANK ? "thickness 75"
                                                                           : field->word);
}

/* False where the columns drawn cannot stand together. */
static bool draw_table(trial *t)
{
    static const char *const known[] = {"variant"};
    ts_diag *diag = ts_diag_new(t->arena);
    ts_csv *csv = TS_NEW(t->arena, ts_csv);

    t->header = ts_arena_text(t->arena, "variant");
    t->column_count = 1 + (size_t)below(t, MOST_COLUMNS);
    for (size_t i = 0; i < t->column_count; i++) {
        draw_column(t, i);
    }
    ts_status status = ts_csv_parse(csv, t->arena, "table", t->header, strlen(t->header), known,
                                    TS_COUNT_OF(known), diag);
    return status == TS_OK &&
           ts_variant_columns_of(&t->columns, t->arena, t->sheet, csv, diag) == TS_OK;
}

static void draw_row(trial *t)
{
    t->cells[0] = "v";
    for (size_t i = 0; i < t->column_count; i++) {
        t->cells[i + 1] = t->pools[i][below(t, POOL)];
    }
}

/* ---- sameness ---- */

static bool same_text(const char *one, const char *other)
{
    return one == other || (one != NULL && other != NULL && strcmp(one, other) == 0);
}

static bool same_whence(const ts_whence *a, const ts_whence *b)
{
    return a->line == b->line && same_text(a->file, b->file) && same_text(a->says, b->says);
}

static bool same_amount(const ts_amount *a, const ts_amount *b)
{
    return a->of == b->of && a->value.e6 == b->value.e6 && same_text(a->currency, b->currency);
}

typedef struct said {
    trial *t;
    const char *text;
} said_all;

static void add_said(void *ctx, ts_fault code, const ts_place *at, const char *sentence)
{
    said_all *all = ctx;

    all->text = ts_arena_format(all->t->scratch, "%s%d %s:%d:%d %s\n", all->text, (int)code,
                                at->file == NULL ? "" : at->file, at->line, at->column, sentence);
}

static const char *said_of(trial *t, const outcome *of)
{
    said_all all = {t, ""};

    ts_diag_each(of->diag, add_said, &all);
    return all.text;
}

#define SAME(member) (a->member == b->member)
#define SAME_BITS(member) (memcmp(&a->member, &b->member, sizeof a->member) == 0)

static bool same_row_shape(const ts_row_shape *a, const ts_row_shape *b)
{
    bool same = SAME(copies) && SAME(stones) && SAME_BITS(diameter_mm) && SAME_BITS(spacing_mm) &&
                SAME_BITS(gap_mm) && SAME_BITS(line_mm) && SAME_BITS(offset_mm) &&
                SAME_BITS(outer_mm) && SAME_BITS(inner_mm) && SAME_BITS(under_seat_mm) &&
                SAME_BITS(narrowest_mm) && SAME_BITS(thinnest_mm) && SAME_BITS(claw_room_mm) &&
                SAME(has_claw_room) && SAME_BITS(metal_mm3) && SAME_BITS(seats_mm3) &&
                SAME_BITS(underside_mm) && SAME(size_count);

    for (int i = 0; same && i < a->size_count; i++) {
        same = SAME(sizes[i].stones) && SAME_BITS(sizes[i].diameter_mm);
    }
    return same;
}

static bool same_settings(const ts_design *d, const ts_geometry *a, const ts_geometry *b)
{
    bool same = true;

    for (int i = 0; i < d->stone_count; i++) {
        same = same && SAME_BITS(stones[i].length_mm) && SAME_BITS(stones[i].width_mm) &&
               SAME_BITS(stones[i].depth_mm) && SAME_BITS(stones[i].carats) &&
               SAME_BITS(stones[i].girdle_mm) && SAME_BITS(stones[i].spread) &&
               SAME_BITS(stones[i].estimate_carats) && SAME(stones[i].weight_stated) &&
               SAME(stones[i].size_estimated) && SAME(stones[i].is_plausible) &&
               SAME(stones[i].copies);
    }
    for (int i = 0; i < d->head_count; i++) {
        same = same && SAME(heads[i].copies) && SAME(heads[i].claws) && SAME(heads[i].tip_style) &&
               SAME(heads[i].tip_claws) && SAME_BITS(heads[i].claws_mm3) &&
               SAME_BITS(heads[i].rails_mm3) && SAME_BITS(heads[i].height_mm);
    }
    for (int i = 0; i < d->bezel_count; i++) {
        same = same && SAME(bezels[i].copies) && SAME_BITS(bezels[i].volume_mm3);
    }
    return same;
}

static bool same_geometry(const ts_design *d, const ts_geometry *a, const ts_geometry *b)
{
    bool same = SAME_BITS(bore_mm) && SAME_BITS(shank_mm3) && SAME_BITS(shank_seats_mm3) &&
                SAME(height.known) && SAME(height.stone) && SAME(height.holder.kind) &&
                SAME(height.holder.index) && SAME_BITS(height.girdle_mm) &&
                SAME_BITS(height.total_mm) && SAME_BITS(height.lowest_mm) &&
                SAME_BITS(height.shank_top_mm) && SAME_BITS(height.head_rise_mm) &&
                SAME(height.has_halo) && SAME_BITS(height.under_halo_mm) && same_settings(d, a, b);

    for (int i = 0; i < d->halo_count; i++) {
        same = same && same_row_shape(&a->halos[i], &b->halos[i]);
    }
    for (int i = 0; i < d->row_count; i++) {
        same = same && same_row_shape(&a->rows[i], &b->rows[i]);
    }
    return same;
}

static bool same_metals(const ts_quantities *a, const ts_quantities *b)
{
    bool same = SAME(metal_count) && SAME(bought_count) && SAME(trade_in_count) &&
                SAME(shank_mm3.e6) && SAME(stamp);

    for (int i = 0; same && i < a->metal_count; i++) {
        same = SAME(metals[i].row) && SAME(metals[i].finished_g.e6) && SAME(metals[i].whole_g.e6) &&
               SAME(metals[i].volume_mm3.e6) && SAME(metals[i].made_g.e6) &&
               SAME(metals[i].castings) && same_text(a->metals[i].alloy, b->metals[i].alloy) &&
               same_whence(&a->metals[i].whence, &b->metals[i].whence);
    }
    for (int i = 0; same && i < a->bought_count; i++) {
        same = same_text(a->bought[i].item, b->bought[i].item) && SAME(bought[i].count) &&
               same_text(a->bought[i].alloy, b->bought[i].alloy) &&
               same_amount(&a->bought[i].price, &b->bought[i].price) &&
               same_whence(&a->bought[i].whence, &b->bought[i].whence) &&
               SAME(bought[i].count_line);
    }
    for (int i = 0; same && i < a->trade_in_count; i++) {
        same = SAME(trade_ins[i].row) && SAME(trade_ins[i].weight_g.e6) &&
               SAME(trade_ins[i].used_g.e6) &&
               same_text(a->trade_ins[i].item, b->trade_ins[i].item) &&
               same_whence(&a->trade_ins[i].whence, &b->trade_ins[i].whence);
    }
    return same;
}

static bool same_stones(const ts_quantities *a, const ts_quantities *b)
{
    bool same = SAME(melee_count) && SAME(stone_count);

    for (int i = 0; same && i < a->melee_count; i++) {
        same = SAME(melee[i].step) && SAME(melee[i].diameter_mm.e6) && SAME(melee[i].set) &&
               SAME(melee[i].client) && same_text(a->melee[i].lot, b->melee[i].lot) &&
               same_whence(&a->melee[i].whence, &b->melee[i].whence);
    }
    for (int i = 0; same && i < a->stone_count; i++) {
        const ts_stone_need *one = &a->stones[i], *other = &b->stones[i];
        same = SAME(stones[i].shape) && SAME(stones[i].origin) && SAME(stones[i].setting) &&
               SAME(stones[i].count) && SAME(stones[i].length_mm.e6) &&
               SAME(stones[i].width_mm.e6) && SAME(stones[i].depth_mm.e6) &&
               SAME(stones[i].carats.e6) && SAME(stones[i].weight_stated) &&
               SAME(stones[i].spread_pct.e6) && SAME(stones[i].client) && SAME(stones[i].offer) &&
               SAME(stones[i].melee) && SAME(stones[i].count_line) && SAME(stones[i].price_line) &&
               SAME(stones[i].declared_line) && same_text(one->item, other->item) &&
               same_text(one->name, other->name) && same_text(one->species, other->species) &&
               same_text(one->colour, other->colour) && same_text(one->clarity, other->clarity) &&
               same_text(one->report, other->report) && same_amount(&one->price, &other->price) &&
               same_amount(&one->declared, &other->declared) &&
               same_whence(&one->whence, &other->whence);
    }
    return same;
}

static bool same_labour(const ts_quantities *a, const ts_quantities *b)
{
    bool same = SAME(work_count) && SAME(service_count);

    for (int i = 0; same && i < a->work_count; i++) {
        const ts_work_need *one = &a->works[i], *other = &b->works[i];
        same = SAME(works[i].has_size) && SAME(works[i].size_mm.e6) && SAME(works[i].client) &&
               SAME(works[i].count) && SAME(works[i].has_minutes) && SAME(works[i].minutes.e6) &&
               SAME(works[i].asked) && same_text(one->operation, other->operation) &&
               same_text(one->alloy, other->alloy) &&
               same_text(one->main_metal, other->main_metal) &&
               same_text(one->shape, other->shape) && same_text(one->species, other->species) &&
               same_whence(&one->whence, &other->whence);
    }
    for (int i = 0; same && i < a->service_count; i++) {
        same = same_text(a->services[i].service, b->services[i].service) &&
               SAME(services[i].count) && SAME(services[i].has_amount) &&
               same_amount(&a->services[i].amount, &b->services[i].amount) &&
               same_whence(&a->services[i].whence, &b->services[i].whence);
    }
    return same;
}

static bool same_terms(const ts_terms *a, const ts_terms *b)
{
    return same_text(a->reference, b->reference) && same_text(a->title, b->title) &&
           same_text(a->client, b->client) && same_text(a->currency, b->currency) &&
           SAME(exponent) && SAME(date.days) && SAME(as_of.days) && SAME(deliver_by.days) &&
           SAME(valid_until.days) && same_text(a->region, b->region) &&
           same_amount(&a->discount, &b->discount) && same_text(a->pays_by, b->pays_by) &&
           same_text(a->alloy, b->alloy) && same_text(a->finish, b->finish) &&
           same_text(a->inscription, b->inscription) && SAME(discount_line);
}

/* ---- both roads ---- */

static outcome go(trial *t, bool quickly)
{
    outcome of = {.diag = ts_diag_new(t->scratch)};

    of.status = ts_variant_design(&of.design, quickly ? t->quick : t->whole, t->scratch, t->cells,
                                  t->book, TS_DATE_NONE, of.diag);
    if (of.status == TS_OK) {
        of.status = quickly ? ts_geometry_figures_of(&of.geometry, t->memory, t->scratch, of.design,
                                                     of.diag)
                            : ts_geometry_of(&of.geometry, t->scratch, of.design, of.diag);
    }
    if (of.status == TS_OK) {
        of.status = quickly ? ts_recurring_quantities_of(&of.needs, t->recurring, t->scratch,
                                                         of.design, of.geometry, of.diag)
                            : ts_quantities_bare_of(&of.needs, t->scratch, of.design, of.geometry,
                                                    t->book, of.diag);
    }
    return of;
}

static void compare(trial *t)
{
    const outcome whole = go(t, false), quick = go(t, true);
    const char *said = said_of(t, &whole);
    bool same = whole.status == quick.status && strcmp(said, said_of(t, &quick)) == 0;

    if (same && whole.status == TS_OK) {
        same = same_geometry(whole.design, whole.geometry, quick.geometry) &&
               same_metals(whole.needs, quick.needs) && same_stones(whole.needs, quick.needs) &&
               same_labour(whole.needs, quick.needs) &&
               same_terms(&whole.needs->terms, &quick.needs->terms);
    }
    if (!same) {
        fprintf(stderr, "%s\n", t->header);
        for (size_t i = 0; i <= t->column_count; i++) {
            fprintf(stderr, "%s,", t->cells[i]);
        }
        fail_msg("the roads part: %s\nwhole: %s\nquick: %s", said, said, said_of(t, &quick));
    }
    t->rows++;
    t->sound += whole.status == TS_OK;
    t->faulty += whole.status != TS_OK;
}

static void run_sheet(trial *t, uint64_t seed)
{
    static const char *const demos[] = {"demo/halo.csv", "demo/three-stone.csv",
                                        "demo/eternity.csv"};
    ts_diag *diag = ts_diag_new(t->arena);
    ts_status status = TS_OK;

    if (seed % 3 != 0) {
        status = ts_sheet_read(&t->sheet, t->arena, demos[seed / 3 % TS_COUNT_OF(demos)], diag);
    } else {
        const char *text = random_sheet(t->arena, t->state);
        status = ts_sheet_parse(&t->sheet, t->arena, "drawn", text, strlen(text), diag);
    }
    if (status != TS_OK || !draw_table(t)) {
        return;
    }
    t->quick = ts_variant_new(t->arena, t->columns);
    ts_variant_remember(t->quick, t->arena, NULL, NULL);
    t->whole = ts_variant_new(t->arena, t->columns);
    t->recurring = ts_recurring_new(t->arena, t->book);
    const ts_arena_mark mark = ts_arena_mark_of(t->scratch);
    for (int i = 0; i < ROWS; i++) {
        draw_row(t);
        compare(t);
        ts_arena_rewind(t->scratch, mark);
    }
    t->lists += (long)ts_recurring_counts(t->recurring).found;
    ts_variant_free(t->quick);
}

/* Each kind that any measure has was a column. */
static void assert_every_kind(const trial *t)
{
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields((ts_part_kind)kind, &count);

        for (size_t i = 0; i < count; i++) {
            assert_true(t->kinds[fields[i].kind] > 0);
        }
    }
}

static void both_roads_come_to_the_same_bits_and_words(void **state)
{
    const char *asked = getenv("SEED");
    trial t = {.state = asked == NULL ? SEED : strtoull(asked, NULL, 10)};
    ts_arena *lasting = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(lasting);

    (void)state;
    assert_int_equal(ts_book_load(&t.book, lasting, "pricebooks", diag), TS_OK);
    t.memory = ts_geometry_memory_new(lasting);
    for (uint64_t i = 0; i < 4 * SHEETS; i++) {
        t.arena = ts_arena_new(NULL, NULL);
        t.scratch = ts_arena_new(NULL, NULL);
        run_sheet(&t, i);
        ts_arena_free(t.scratch);
        ts_arena_free(t.arena);
    }
    const ts_geometry_counts counts = ts_geometry_memory_counts(t.memory);
    assert_every_kind(&t);
    printf("%ld rows: %ld sound, %ld at fault; remembered: %llu settings, %llu bands, "
           "%ld lists\n",
           t.rows, t.sound, t.faulty, (unsigned long long)counts.settings_known,
           (unsigned long long)counts.bands_known, t.lists);
    assert_true(t.rows > 4000 && t.sound > t.rows / 8 && t.faulty > t.rows / 8);
    assert_true(counts.settings_known > 1000 && counts.bands_known > 100 && t.lists > 1000);
    ts_arena_free(lasting);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_roads_come_to_the_same_bits_and_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
