#include "quantities/counting.h"

#include <stdlib.h>
#include <string.h>

/* Stones by lot.
 *
 * Melee of one lot and size step is one need, however many halos and rows it goes into: it is
 * sorted, bought and priced together. What the client supplies is kept apart. Needs stand in
 * the order of lot and size, so that the order of the sheet's rows changes nothing. */

/* A halo or row, as far as its stones go. */
typedef struct melee_source {
    const ts_part *part;
    ts_field_id size_field;
    const char *lot;
    bool client;
    const ts_row_shape *shape;
} melee_source;

static const ts_melee_row *step_of(ts_counting *c, const melee_source *from, ts_dec diameter)
{
    const ts_melee_row *step = ts_book_melee(c->book, from->lot, diameter, c->on);

    if (step == NULL) {
        ts_place at = ts_part_place(c->design, c->arena, from->part, from->size_field);
        ts_diag_add(c->diag, TS_FAULT_BOOK_GAP, &at,
                    "%s: melee.csv has no row in force for stones of %s mm in the lot \"%s\"",
                    ts_count_title(c, from->part), ts_count_text(c, diameter), from->lot);
    }
    return step;
}

static void add_melee(ts_counting *c, const melee_source *from, ts_dec diameter, int count)
{
    ts_quantities *out = c->out;
    const ts_melee_row *step = step_of(c, from, diameter);

    if (step == NULL) {
        return;
    }
    for (int i = 0; i < out->melee_count; i++) {
        ts_melee_need *need = &out->melee[i];
        if (need->step == step && need->client == from->client) {
            need->set += count;
            need->whence.says =
                ts_count_also(c, need->whence.says, ts_count_times(c, from->part, count));
            return;
        }
    }
    out->melee = ts_arena_grow(c->arena, out->melee, (size_t)out->melee_count, &c->melee_room,
                               sizeof *out->melee);
    out->melee[out->melee_count++] =
        (ts_melee_need){.lot = from->lot,
                        .step = step,
                        .diameter_mm = diameter,
                        .set = count,
                        .client = from->client,
                        .whence = ts_whence_of(c, from->part, from->size_field,
                                               ts_count_times(c, from->part, count))};
}

static void add_source(ts_counting *c, const melee_source *from)
{
    const ts_row_shape *shape = from->shape;

    for (int i = 0; i < shape->size_count; i++) {
        add_melee(c, from, ts_weigh_measure(c, shape->sizes[i].diameter_mm, "a stone's diameter"),
                  shape->sizes[i].stones * shape->copies);
    }
}

static int by_lot_and_size(const void *one, const void *other)
{
    const ts_melee_need *a = one, *b = other;
    int names = strcmp(a->lot, b->lot);

    if (names != 0) {
        return names;
    }
    if (a->diameter_mm.e6 != b->diameter_mm.e6) {
        return a->diameter_mm.e6 < b->diameter_mm.e6 ? -1 : 1;
    }
    return (int)a->client - (int)b->client;
}

void ts_count_melee(ts_counting *c)
{
    const ts_design *d = c->design;

    for (int i = 0; i < d->halo_count; i++) {
        melee_source from = {&d->halo[i].part, TS_FIELD_HALO_STONE_DIAMETER, d->halo[i].lot,
                             d->halo[i].supplied_by == TS_SUPPLIER_CLIENT, &c->geometry->halos[i]};
        add_source(c, &from);
    }
    for (int i = 0; i < d->row_count; i++) {
        melee_source from = {&d->row[i].part, TS_FIELD_ROW_STONE_DIAMETER, d->row[i].lot,
                             d->row[i].supplied_by == TS_SUPPLIER_CLIENT, &c->geometry->rows[i]};
        add_source(c, &from);
    }
    if (c->out->melee_count > 1) {
        qsort(c->out->melee, (size_t)c->out->melee_count, sizeof *c->out->melee, by_lot_and_size);
    }
}

ts_dec ts_count_row_carats(ts_counting *c, const char *lot, const ts_row_shape *shape)
{
    ts_dec sum = {0};

    for (int i = 0; i < shape->size_count; i++) {
        ts_dec diameter = ts_weigh_measure(c, shape->sizes[i].diameter_mm, "a stone's diameter");
        const ts_melee_row *step = ts_book_melee(c->book, lot, diameter, c->on);
        if (step != NULL) {
            sum = ts_weigh_sum(
                c, sum,
                ts_weigh_times(c, step->carat_each, shape->sizes[i].stones * shape->copies));
        }
    }
    return sum;
}

/* ---- feature stones ---- */

static bool lot_exists(const ts_counting *c, ts_book_file file, const char *lot)
{
    const char *const *names = NULL;
    size_t count = ts_book_names(&names, c->arena, c->book, file);

    for (size_t i = 0; i < count; i++) {
        if (ts_text_same(names[i], lot)) {
            return true;
        }
    }
    return false;
}

/* The row that prices a stone by its lot: of stones.csv by weight, else of melee.csv by size. */
static void find_offer(ts_counting *c, const ts_stone *stone, ts_stone_need *need, int index)
{
    ts_dec size = ts_count_stone_size(c, index);

    need->offer = ts_book_offer(c->book, stone->lot, need->carats, c->on);
    if (need->offer != NULL) {
        return;
    }
    need->melee = ts_book_melee(c->book, stone->lot, size, c->on);
    if (need->melee != NULL) {
        return;
    }
    bool is_melee = lot_exists(c, TS_BOOK_MELEE, stone->lot);
    ts_place at = ts_part_place(c->design, c->arena, &stone->part, TS_FIELD_STONE_LOT);
    ts_diag_add(c->diag, TS_FAULT_BOOK_GAP, &at,
                "%s: %s has no row in force for a stone of %s %s in the lot \"%s\"",
                ts_count_title(c, &stone->part), is_melee ? "melee.csv" : "stones.csv",
                ts_count_text(c, is_melee ? size : need->carats), is_melee ? "mm" : "ct",
                stone->lot);
}

static const char *or_null(const char *text)
{
    return ts_text_empty(text) ? NULL : text;
}

static void put_stone(ts_counting *c, int index)
{
    const ts_stone *stone = &c->design->stone[index];
    const ts_stone_shape *shape = &c->geometry->stones[index];
    ts_stone_need *need = &c->out->stones[c->out->stone_count++];

    *need = (ts_stone_need){
        .item = ts_count_item(c, &stone->part),
        .name = stone->part.name[0] != '\0' ? stone->part.name : "stone",
        .shape = stone->shape,
        .species = stone->species,
        .origin = stone->origin,
        .setting = stone->setting,
        .colour = or_null(stone->colour),
        .clarity = or_null(stone->clarity),
        .treatment = or_null(stone->treatment),
        .report = or_null(stone->report),
        .condition = or_null(stone->condition),
        .count = shape->copies,
        .length_mm = ts_weigh_measure(c, shape->length_mm, "a stone's length"),
        .width_mm = ts_weigh_measure(c, shape->width_mm, "a stone's width"),
        .depth_mm = ts_weigh_measure(c, shape->depth_mm, "a stone's depth"),
        .carats = ts_weigh_measure(c, shape->carats, "a stone's weight"),
        .weight_stated = shape->weight_stated,
        .spread_pct = ts_weigh_measure(c, 100.0 * shape->spread, "a weight's spread"),
        .client = stone->supplied_by == TS_SUPPLIER_CLIENT,
        .price = stone->price,
        .declared = stone->declared,
        .whence = ts_whence_of(c, &stone->part,
                               shape->weight_stated ? TS_FIELD_STONE_WEIGHT : TS_FIELD_STONE_LENGTH,
                               NULL),
        .count_line = ts_part_line(&stone->part, TS_FIELD_STONE_COUNT),
        .price_line = ts_part_line(&stone->part, TS_FIELD_STONE_PRICE),
        .declared_line = ts_part_line(&stone->part, TS_FIELD_STONE_DECLARED)};
    if (!need->client && need->price.of == TS_AMOUNT_NONE && !ts_text_empty(stone->lot)) {
        find_offer(c, stone, need, index);
    }
}

void ts_count_stones(ts_counting *c)
{
    c->out->stones = TS_ARRAY(c->arena, ts_stone_need, (size_t)c->design->stone_count + 1);
    for (int i = 0; i < c->design->stone_count; i++) {
        put_stone(c, i);
    }
}
