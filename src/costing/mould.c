#include "costing/mould.h"

#include <stdlib.h>
#include <string.h>

/* Whatever costing asks of the quantities beside the amounts of taken.def stands here
 * twice: once where it is copied, once where it is compared. What follows from a row of
 * the books (the name of an alloy, the lot of a step) is told by the row. */

/* ---- copies ---- */

typedef struct copier {
    ts_arena *arena;
    const ts_arena *const *lasting;
} copier;

static bool lasts(const copier *c, const char *text)
{
    for (const ts_arena *const *arena = c->lasting; *arena != NULL; arena++) {
        if (ts_arena_holds(*arena, text)) {
            return true;
        }
    }
    return false;
}

static const char *text(const copier *c, const char *of)
{
    return of == NULL || lasts(c, of) ? of : ts_arena_text(c->arena, of);
}

/* A word of a closed list stands in the program itself. */
static const char *word(const copier *c, ts_list list, const char *of)
{
    size_t count = 0;
    const char *const *words = ts_list_words(list, &count);
    for (size_t i = 0; of != NULL && i < count; i++) {
        if (words[i] == of) {
            return of;
        }
    }
    return text(c, of);
}

static void *array(const copier *c, const void *from, int count, size_t size)
{
    char *copy = ts_arena_alloc(c->arena, (size_t)count + 1, size);
    if (count > 0) {
        memcpy(copy, from, (size_t)count * size);
    }
    return copy;
}

static void copy_lists(const copier *c, ts_quantities *like)
{
#define COPY(list, count) like->list = array(c, like->list, like->count, sizeof *like->list)
    COPY(metals, metal_count);
    COPY(bought, bought_count);
    COPY(melee, melee_count);
    COPY(stones, stone_count);
    COPY(works, work_count);
    COPY(services, service_count);
    COPY(trade_ins, trade_in_count);
#undef COPY
    for (int i = 0; i < like->bought_count; i++) {
        like->bought[i].alloy = text(c, like->bought[i].alloy);
        like->bought[i].price.currency = text(c, like->bought[i].price.currency);
    }
    for (int i = 0; i < like->stone_count; i++) {
        ts_stone_need *stone = &like->stones[i];
        stone->name = text(c, stone->name);
        stone->price.currency = text(c, stone->price.currency);
        stone->declared.currency = text(c, stone->declared.currency);
    }
    for (int i = 0; i < like->work_count; i++) {
        ts_work_need *work = &like->works[i];
        work->operation = text(c, work->operation);
        work->alloy = text(c, work->alloy);
        work->main_metal = word(c, TS_LIST_METAL, work->main_metal);
        work->shape = word(c, TS_LIST_SHAPE, work->shape);
        work->species = text(c, work->species);
    }
    for (int i = 0; i < like->service_count; i++) {
        like->services[i].service = text(c, like->services[i].service);
        like->services[i].amount.currency = text(c, like->services[i].amount.currency);
    }
}

/* ---- sizes ---- */

static int by_size(const void *one, const void *other)
{
    const int64_t a = *(const int64_t *)one, b = *(const int64_t *)other;
    return (a > b) - (a < b);
}

ts_size_edges ts_size_edges_of(ts_arena *arena, const ts_book *book)
{
    int64_t *edges = TS_ARRAY(arena, int64_t, 2 * book->labour.count + 1);
    size_t count = 0;
    for (size_t i = 0; i < book->labour.count; i++) {
        const ts_labour_row *row = &book->labour.at[i];
        if (ts_book_given(&row->head, "from mm")) {
            edges[count++] = row->from_mm.e6;
        }
        if (ts_book_given(&row->head, "to mm")) {
            edges[count++] = row->to_mm.e6;
        }
    }
    if (count > 1) {
        qsort(edges, count, sizeof *edges, by_size);
    }
    return (ts_size_edges){edges, count};
}

/* The widest span about a size that holds no edge inside it. */
static ts_size_span span_of(const ts_size_edges *edges, int64_t size)
{
    ts_size_span span = {INT64_MIN, INT64_MAX};
    for (size_t i = 0; i < edges->count; i++) {
        if (edges->e6[i] > size) {
            span.to_e6 = edges->e6[i];
            break;
        }
        span.from_e6 = edges->e6[i];
    }
    return span;
}

void ts_mould_of(ts_mould *out, ts_arena *arena, const ts_quantities *needs,
                 const ts_size_edges *edges, const ts_arena *const *lasting)
{
    const copier c = {arena, lasting};
    ts_quantities *like = TS_NEW(arena, ts_quantities);
    ts_size_span *sizes = TS_ARRAY(arena, ts_size_span, (size_t)needs->work_count + 1);
    ts_takes takes;
    *like = *needs;
    copy_lists(&c, like);
    like->terms.currency = text(&c, needs->terms.currency);
    like->terms.region = text(&c, needs->terms.region);
    like->terms.pays_by = text(&c, needs->terms.pays_by);
    like->terms.discount.currency = text(&c, needs->terms.discount.currency);
    for (int i = 0; i < needs->work_count; i++) {
        sizes[i] = span_of(edges, needs->works[i].size_mm.e6);
    }
    ts_takes_of(&takes, needs);
    *out = (ts_mould){.like = like,
                      .sizes = sizes,
                      .has_client_stones = ts_takes_own(&takes, TS_TAKEN_CLIENT_STONES) > 0,
                      .has_studio_stones = ts_takes_own(&takes, TS_TAKEN_STUDIO_STONES) > 0};
}

/* ---- sameness ---- */

static bool same(const char *like, const char *now)
{
    return like == now || (like != NULL && now != NULL && strcmp(like, now) == 0);
}

static bool same_amount(const ts_amount *like, const ts_amount *now)
{
    return like->of == now->of && same(like->currency, now->currency);
}

static bool same_counts(const ts_quantities *a, const ts_quantities *b)
{
    return a->metal_count == b->metal_count && a->bought_count == b->bought_count &&
           a->melee_count == b->melee_count && a->stone_count == b->stone_count &&
           a->work_count == b->work_count && a->service_count == b->service_count &&
           a->trade_in_count == b->trade_in_count;
}

static bool same_terms(const ts_terms *a, const ts_terms *b)
{
    return a->exponent == b->exponent && a->as_of.days == b->as_of.days &&
           ts_date_given(a->valid_until) == ts_date_given(b->valid_until) &&
           (a->discount.value.e6 == 0) == (b->discount.value.e6 == 0) &&
           same_amount(&a->discount, &b->discount) && same(a->currency, b->currency) &&
           same(a->region, b->region) && same(a->pays_by, b->pays_by);
}

static bool same_metals(const ts_quantities *like, const ts_quantities *now)
{
    for (int i = 0; i < like->metal_count; i++) {
        const ts_metal_need *a = &like->metals[i], *b = &now->metals[i];
        if (a->row != b->row || (a->finished_g.e6 == 0) != (b->finished_g.e6 == 0)) {
            return false;
        }
    }
    for (int i = 0; i < like->bought_count; i++) {
        const ts_bought_need *a = &like->bought[i], *b = &now->bought[i];
        if (!same(a->alloy, b->alloy) || !same_amount(&a->price, &b->price)) {
            return false;
        }
    }
    for (int i = 0; i < like->trade_in_count; i++) {
        const ts_trade_in_need *a = &like->trade_ins[i], *b = &now->trade_ins[i];
        if (a->row != b->row || (a->weight_g.e6 == 0) != (b->weight_g.e6 == 0)) {
            return false;
        }
    }
    return true;
}

static bool same_stones(const ts_quantities *like, const ts_quantities *now)
{
    for (int i = 0; i < like->melee_count; i++) {
        const ts_melee_need *a = &like->melee[i], *b = &now->melee[i];
        if (a->step != b->step || a->client != b->client) {
            return false;
        }
    }
    for (int i = 0; i < like->stone_count; i++) {
        const ts_stone_need *a = &like->stones[i], *b = &now->stones[i];
        if (a->offer != b->offer || a->melee != b->melee || a->client != b->client ||
            !same_amount(&a->price, &b->price) || !same_amount(&a->declared, &b->declared) ||
            !same(a->name, b->name)) {
            return false;
        }
    }
    return true;
}

static bool same_work(const ts_work_need *a, const ts_work_need *b, const ts_size_span *size)
{
    return a->has_size == b->has_size && a->client == b->client &&
           a->has_minutes == b->has_minutes &&
           (!a->has_size || (size->from_e6 <= b->size_mm.e6 && b->size_mm.e6 < size->to_e6)) &&
           same(a->operation, b->operation) && same(a->alloy, b->alloy) &&
           same(a->main_metal, b->main_metal) && same(a->shape, b->shape) &&
           same(a->species, b->species);
}

static bool same_doing(const ts_mould *mould, const ts_quantities *now)
{
    const ts_quantities *like = mould->like;
    for (int i = 0; i < like->work_count; i++) {
        if (!same_work(&like->works[i], &now->works[i], &mould->sizes[i])) {
            return false;
        }
    }
    for (int i = 0; i < like->service_count; i++) {
        const ts_service_need *a = &like->services[i], *b = &now->services[i];
        if (a->has_amount != b->has_amount || !same_amount(&a->amount, &b->amount) ||
            !same(a->service, b->service)) {
            return false;
        }
    }
    return true;
}

bool ts_mould_fits(const ts_mould *mould, const ts_quantities *needs, const ts_takes *takes)
{
    const ts_quantities *like = mould->like;
    return same_counts(like, needs) && same_metals(like, needs) && same_stones(like, needs) &&
           mould->has_client_stones == (ts_takes_own(takes, TS_TAKEN_CLIENT_STONES) > 0) &&
           mould->has_studio_stones == (ts_takes_own(takes, TS_TAKEN_STUDIO_STONES) > 0) &&
           same_terms(&like->terms, &needs->terms) && same_doing(mould, needs);
}

/* ---- finding ---- */

static uint64_t mix(uint64_t hash, uint64_t more)
{
    hash = (hash ^ more) * UINT64_C(0x9e3779b97f4a7c15);
    return hash ^ hash >> 29;
}

/* Eight bytes and the length tell nearly all operations apart; a mould is compared in full. */
static uint64_t mix_text(uint64_t hash, const char *text)
{
    uint64_t last = 0;
    const size_t length = strlen(text), from = length < sizeof last ? 0 : length - sizeof last;

    memcpy(&last, text + from, length - from);
    return mix(hash, last ^ (uint64_t)length << 56);
}

uint64_t ts_mould_hash(const ts_quantities *needs)
{
    const ts_terms *terms = &needs->terms;
    const char *currency = terms->currency;
    uint64_t hash = (uint64_t)(uint32_t)terms->as_of.days << 16 |
                    (uint64_t)terms->discount.of << 8 |
                    (terms->discount.value.e6 == 0 ? 0 : UINT64_C(1) << 7) |
                    (uint64_t)terms->exponent << 1 | (terms->pays_by == NULL ? 0 : 1);
    for (int i = 0; currency != NULL && i < 3 && currency[i] != '\0'; i++) {
        hash = mix(hash, (uint64_t)(unsigned char)currency[i]);
    }
    hash = mix(hash, (uint64_t)needs->work_count << 32 | (uint32_t)needs->service_count);
    for (int i = 0; i < needs->metal_count; i++) {
        hash = mix(hash, (uint64_t)(uintptr_t)needs->metals[i].row);
    }
    for (int i = 0; i < needs->melee_count; i++) {
        hash = mix(hash, (uint64_t)(uintptr_t)needs->melee[i].step);
    }
    for (int i = 0; i < needs->stone_count; i++) {
        hash = mix(hash, (uint64_t)(uintptr_t)needs->stones[i].offer);
    }
    for (int i = 0; i < needs->work_count; i++) {
        hash = mix_text(hash, needs->works[i].operation);
    }
    return hash;
}
