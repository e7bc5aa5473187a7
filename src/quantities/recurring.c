#include "quantities/recur.h"

#include <tallystone/base/hash.h>

#include <string.h>

/* The key is whatever lots.c and operations.c look at in the design, in its geometry and in
 * the metals counted before; in weights they have no part, so rows that differ in a width or
 * a finger's size share it. Text that is kept is the books' own where they have it, so that
 * later rooms know it by its place; else it lies in the slot. */

#define SLOTS 96
#define SLOT_BYTES 6144
#define SIGHTS 2048
#define TEXTS 256

struct ts_recurring {
    ts_slots *slots;
    const ts_book *book;
    const char *texts[TEXTS]; /* of the books, by hash of what they say */
    uint32_t seen[SIGHTS];    /* keys that were met and not kept; of one place the later */
};

ts_recurring *ts_recurring_new(ts_arena *arena, const ts_book *book)
{
    ts_recurring *r = TS_NEW(arena, ts_recurring);

    r->slots = ts_slots_new(arena, SLOTS, SLOT_BYTES);
    r->book = book;
    return r;
}

const ts_book *ts_recurring_book(const ts_recurring *r)
{
    return r->book;
}

ts_slots_counts ts_recurring_counts(const ts_recurring *r)
{
    return ts_slots_counts_of(r->slots);
}

/* ---- the key ---- */

static void put_double(ts_slots *s, double number)
{
    ts_slots_put(s, &number, sizeof number);
}

static void put_row(ts_slots *s, const ts_row_shape *shape)
{
    ts_slots_put_int(s, shape->copies);
    ts_slots_put_int(s, shape->size_count);
    for (int i = 0; i < shape->size_count; i++) {
        put_double(s, shape->sizes[i].diameter_mm);
        ts_slots_put_int(s, shape->sizes[i].stones);
    }
}

static void put_melee(ts_slots *s, const ts_counting *c)
{
    const ts_design *d = c->design;

    ts_slots_put_int(s, d->halo_count);
    for (int i = 0; i < d->halo_count; i++) {
        const ts_halo *halo = &d->halo[i];
        const int words[] = {halo->setting, halo->supplied_by,
                             ts_part_line(&halo->part, TS_FIELD_HALO_SETTING),
                             ts_part_line(&halo->part, TS_FIELD_HALO_STONE_DIAMETER)};
        ts_slots_put(s, words, sizeof words);
        ts_slots_put_text(s, halo->lot);
        ts_slots_put_text(s, ts_count_alloy_of(c, &halo->part, halo->alloy));
        put_row(s, &c->geometry->halos[i]);
    }
    ts_slots_put_int(s, d->row_count);
    for (int i = 0; i < d->row_count; i++) {
        const ts_row *row = &d->row[i];
        const int words[] = {row->setting, row->supplied_by,
                             ts_part_line(&row->part, TS_FIELD_ROW_SETTING),
                             ts_part_line(&row->part, TS_FIELD_ROW_STONE_DIAMETER)};
        ts_slots_put(s, words, sizeof words);
        ts_slots_put_text(s, row->lot);
        put_row(s, &c->geometry->rows[i]);
    }
    ts_slots_put_text(
        s, d->shank_count > 0 ? ts_count_alloy_of(c, &d->shank[0].part, d->shank[0].alloy) : NULL);
}

static void put_stones(ts_slots *s, const ts_counting *c)
{
    const ts_design *d = c->design;

    ts_slots_put_int(s, d->stone_count);
    for (int i = 0; i < d->stone_count; i++) {
        const ts_stone *stone = &d->stone[i];
        const ts_stone_shape *shape = &c->geometry->stones[i];
        const int words[] = {stone->setting,
                             stone->shape,
                             stone->supplied_by,
                             stone->out_of,
                             shape->copies,
                             ts_part_line(&stone->part, TS_FIELD_STONE_SETTING),
                             ts_part_line(&stone->part, TS_FIELD_STONE_OUT_OF)};
        ts_slots_put(s, words, sizeof words);
        ts_slots_put_text(s, stone->species);
        put_double(s, shape->length_mm);
        put_double(s, shape->width_mm);
    }
}

static void put_holders(ts_slots *s, const ts_counting *c)
{
    const ts_design *d = c->design;

    ts_slots_put_int(s, d->head_count);
    for (int i = 0; i < d->head_count; i++) {
        const ts_head *head = &d->head[i];
        const ts_head_shape *shape = &c->geometry->heads[i];
        const int words[] = {head->claw_style,      (int)head->holds_ref.kind,
                             head->holds_ref.index, shape->copies,
                             shape->claws,          (int)shape->tip_style,
                             shape->tip_claws,      ts_part_line(&head->part, TS_FIELD_HEAD_CLAWS)};
        ts_slots_put(s, words, sizeof words);
        ts_slots_put_text(s, ts_count_alloy_of(c, &head->part, head->alloy));
    }
    ts_slots_put_int(s, d->bezel_count);
    for (int i = 0; i < d->bezel_count; i++) {
        const ts_bezel *bezel = &d->bezel[i];
        ts_slots_put_int(s, (int)bezel->holds_ref.kind);
        ts_slots_put_int(s, bezel->holds_ref.index);
        ts_slots_put_text(s, ts_count_alloy_of(c, &bezel->part, bezel->alloy));
    }
}

static void put_metals(ts_slots *s, const ts_counting *c)
{
    ts_slots_put_text(s, ts_design_alloy(c->design, NULL));
    ts_slots_put_int(s, c->out->metal_count);
    for (int i = 0; i < c->out->metal_count; i++) {
        const ts_metal_need *metal = &c->out->metals[i];
        ts_slots_put_text(s, metal->alloy);
        ts_slots_put_int(s, metal->castings);
        ts_slots_put_int(s, metal->whence.line);
    }
    ts_slots_put_int(s, c->joints);
    ts_slots_put_int(s, c->joint_alloys);
    for (int i = 0; i < c->joint_alloys; i++) {
        ts_slots_put_text(s, c->joint_of[i]);
        ts_slots_put_int(s, c->joint_counts[i]);
    }
}

static void put_asked(ts_slots *s, const ts_counting *c)
{
    ts_slots_put_int(s, c->design->work_count);
    for (int i = 0; i < c->design->work_count; i++) {
        const ts_work *work = &c->design->work[i];
        const int words[] = {work->count, ts_part_line(&work->part, TS_FIELD_WORK_MINUTES),
                             ts_part_line(&work->part, TS_FIELD_WORK_COUNT)};
        ts_slots_put(s, words, sizeof words);
        ts_slots_put(s, &work->minutes.e6, sizeof work->minutes.e6);
        ts_slots_put_text(s, work->operation);
    }
}

static void make_key(ts_slots *s, const ts_counting *c)
{
    ts_slots_begin(s);
    ts_slots_put(s, &c->file, sizeof c->file);
    ts_slots_put_int(s, c->on.days);
    put_metals(s, c);
    put_melee(s, c);
    put_stones(s, c);
    put_holders(s, c);
    put_asked(s, c);
}

/* ---- what is kept ---- */

typedef struct kept_head {
    int melee_count, work_count;
} kept_head;

bool ts_recurring_find(ts_recurring *r, ts_counting *c)
{
    make_key(r->slots, c);
    char *at = ts_slots_find(r->slots);
    if (at == NULL) {
        return false;
    }
    const kept_head *head = ts_slots_next(&at, sizeof *head);
    ts_quantities *out = c->out;
    out->melee_count = head->melee_count;
    out->melee = ts_slots_next(&at, (size_t)head->melee_count * sizeof *out->melee);
    out->work_count = head->work_count;
    out->works = ts_slots_next(&at, (size_t)head->work_count * sizeof *out->works);
    return true;
}

static const char *of_alloys(const ts_book *book, const char *text)
{
    for (size_t i = 0; i < book->alloys.count; i++) {
        if (strcmp(book->alloys.at[i].alloy, text) == 0) {
            return book->alloys.at[i].alloy;
        }
    }
    return NULL;
}

static const char *of_labour(const ts_book *book, const char *text)
{
    for (size_t i = 0; i < book->labour.count; i++) {
        if (strcmp(book->labour.at[i].operation, text) == 0) {
            return book->labour.at[i].operation;
        }
    }
    return NULL;
}

static const char *of_melee(const ts_book *book, const char *text)
{
    for (size_t i = 0; i < book->melee.count; i++) {
        if (strcmp(book->melee.at[i].species, text) == 0) {
            return book->melee.at[i].species;
        }
    }
    return NULL;
}

static const char *kept_text(ts_slots *s, const char *books, const char *text)
{
    return books != NULL ? books : ts_slots_add_text(s, text);
}

typedef const char *search_fn(const ts_book *book, const char *text);

/* The books' own text that says the same, searched for once. */
static const char *of_books(ts_recurring *r, search_fn *search, const char *text)
{
    if (text == NULL) {
        return NULL;
    }
    const char **known = &r->texts[ts_hash_text(TS_HASH_NONE, text) % TEXTS];
    if (*known == NULL || strcmp(*known, text) != 0) {
        const char *found = search(r->book, text);
        *known = found != NULL ? found : *known;
        return found;
    }
    return *known;
}

/* To keep a list takes as long as to count it, so one that never comes again is not kept. */
static bool met_before(ts_recurring *r)
{
    const uint64_t hash = ts_slots_hash(r->slots);
    uint32_t *at = &r->seen[(hash >> 8) % SIGHTS];
    const bool met = *at == (uint32_t)(hash >> 32);

    *at = (uint32_t)(hash >> 32);
    return met;
}

void ts_recurring_keep(ts_recurring *r, const ts_counting *c)
{
    ts_slots *s = r->slots;
    const ts_quantities *out = c->out;
    const kept_head head = {out->melee_count, out->work_count};

    if (!met_before(r)) {
        return;
    }
    ts_slots_keep(s);
    ts_slots_add(s, &head, sizeof head);
    ts_melee_need *melee =
        ts_slots_add(s, out->melee, (size_t)out->melee_count * sizeof *out->melee);
    ts_work_need *works = ts_slots_add(s, out->works, (size_t)out->work_count * sizeof *out->works);
    for (int i = 0; melee != NULL && i < out->melee_count; i++) {
        const bool is_books = strcmp(melee[i].step->lot, melee[i].lot) == 0;
        melee[i].lot = kept_text(s, is_books ? melee[i].step->lot : NULL, melee[i].lot);
    }
    for (int i = 0; works != NULL && i < out->work_count; i++) {
        ts_work_need *work = &works[i];
        work->operation = kept_text(s, of_books(r, of_labour, work->operation), work->operation);
        work->alloy = kept_text(s, of_books(r, of_alloys, work->alloy), work->alloy);
        work->species = kept_text(s, of_books(r, of_melee, work->species), work->species);
    }
}
