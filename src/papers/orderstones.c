#include "papers/ordering.h"
#include "papers/piece.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Stones by lot and size over all commissions, as the buyer asks for them. A stone out of a
 * lot is added to those of its lot, size, weight and words; one that a sheet prices, and one
 * that a client brings, is that very stone and stays in a row of its own. */

enum {
    STONE,
    LOT,
    DESCRIPTION,
    LENGTH,
    WIDTH,
    DEPTH,
    SET,
    SPARES,
    STONES,
    CARATS,
    COST,
    CURRENCY,
    SUPPLIER,
    FOR
};

typedef enum group { MELEE, FEATURE, CLIENTS } group;

typedef struct item {
    group group;
    const char *lot; /* "": of none */
    const char *stone, *description;
    ts_dec length_mm, width_mm, depth_mm; /* depth 0: of melee */
    const char *currency;                 /* "": nothing is paid */
    int exponent;
    int owner; /* the commission, where it is that very stone; -1: any of its kind */
    int64_t set, spares;
    ts_dec carats;
    ts_money cost;
    ts_order_whose whose;
} item;

typedef struct list {
    ts_ordering *o;
    item *at;
    size_t count, room;
} list;

/* ---- words ---- */

static void add_word(ts_arena *arena, const char **text, const char *word)
{
    if (!ts_text_empty(word)) {
        *text = ts_arena_format(arena, "%s, %s", *text, word);
    }
}

static const char *kind_of(ts_arena *arena, int shape, int origin, const char *species)
{
    const char *form = ts_piece_shape(shape);
    const char *what = ts_piece_species(arena, origin, species);
    return form[0] == '\0' ? what : ts_arena_format(arena, "%s %s", form, what);
}

static const char *feature_words(ts_arena *arena, const ts_stone_need *need)
{
    char carats[TS_DECIMAL_TEXT];
    const char *text = kind_of(arena, need->shape, need->origin, need->species);
    add_word(arena, &text, need->colour);
    add_word(arena, &text, need->clarity);
    if (!ts_text_empty(need->treatment)) {
        add_word(arena, &text, ts_arena_format(arena, "treatment: %s", need->treatment));
    }
    if (!ts_text_empty(need->report)) {
        add_word(arena, &text, ts_arena_format(arena, "report %s", need->report));
    }
    ts_dec_text(carats, need->carats);
    return need->weight_stated
               ? ts_arena_format(arena, "%s, %s ct each", text, carats)
               : ts_arena_format(arena, "%s, about %s ct each by its measurements", text, carats);
}

static const char *melee_words(ts_arena *arena, const ts_melee_row *step)
{
    const char *text = kind_of(arena, step->shape, step->origin, step->species);
    add_word(arena, &text, step->colour);
    add_word(arena, &text, step->clarity);
    return text;
}

/* ---- adding up ---- */

static int compare_dec(ts_dec a, ts_dec b)
{
    return (a.e6 > b.e6) - (a.e6 < b.e6);
}

static int compare_text(const char *a, const char *b)
{
    return strcmp(a == NULL ? "" : a, b == NULL ? "" : b);
}

/* The order of the rows; 0: one row. */
static int compare(const item *a, const item *b)
{
    const int parts[] = {
        (int)a->group - (int)b->group,           compare_text(a->lot, b->lot),
        compare_dec(a->length_mm, b->length_mm), compare_dec(a->width_mm, b->width_mm),
        compare_dec(a->depth_mm, b->depth_mm),   a->owner - b->owner,
        compare_text(a->stone, b->stone),        compare_text(a->description, b->description),
        compare_text(a->currency, b->currency),
    };
    for (size_t i = 0; i < TS_COUNT_OF(parts); i++) {
        if (parts[i] != 0) {
            return parts[i];
        }
    }
    return 0;
}

/* Adds to the row of the same kind, or puts in a new one where it belongs. */
static void add(list *l, int commission, const item *part)
{
    ts_ordering *o = l->o;
    size_t low = 0, high = l->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (compare(&l->at[middle], part) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    if (low == l->count || compare(&l->at[low], part) != 0) {
        l->at = ts_arena_grow(o->arena, l->at, l->count, &l->room, sizeof *l->at);
        memmove(l->at + low + 1, l->at + low, (l->count - low) * sizeof *l->at);
        l->count++;
        l->at[low] = *part;
    } else {
        item *row = &l->at[low];
        row->set += part->set;
        row->spares += part->spares;
        row->carats = ts_order_sum(o, row->carats, part->carats);
        o->is_past = !ts_money_add(&row->cost, row->cost, part->cost) || o->is_past;
    }
    ts_order_whose_add(o, &l->at[low].whose, commission,
                       (ts_dec){(part->set + part->spares) * 1000000}, "");
}

static const ts_line *line_of(const ts_costing *c, ts_line_kind kind, int need)
{
    for (int i = 0; i < c->line_count; i++) {
        if (c->lines[i].kind == kind && c->lines[i].need == need) {
            return &c->lines[i];
        }
    }
    return NULL;
}

static void put_cost(list *l, item *part, const ts_costing *c, const ts_line *line)
{
    part->currency = c->currency;
    part->exponent = c->exponent;
    if (line != NULL && !ts_figure_money(&part->cost, line->cost, c->exponent)) {
        l->o->is_past = true;
    }
}

static void add_melee(list *l, int commission, int index)
{
    char size[TS_DECIMAL_TEXT];
    ts_arena *arena = l->o->arena;
    const ts_costing *c = l->o->commissions[commission];
    const ts_melee_need *need = &c->needs->melee[index];
    const ts_line *line = line_of(c, TS_LINE_MELEE, index);
    ts_dec bought = {0};
    item part = {.group = need->client ? CLIENTS : MELEE,
                 .lot = need->client ? "" : need->lot,
                 .stone =
                     ts_arena_format(arena, "%s %s mm", need->client ? "melee" : need->step->spelt,
                                     ts_dec_fixed(size, need->diameter_mm, 2)),
                 .description = melee_words(arena, need->step),
                 .length_mm = need->diameter_mm,
                 .width_mm = need->diameter_mm,
                 .currency = "",
                 .owner = need->client ? commission : -1,
                 .set = need->set};
    if (!need->client) {
        put_cost(l, &part, c, line);
        if (line != NULL && ts_figure_dec(&bought, line->quantity)) {
            part.spares = bought.e6 / 1000000 - need->set;
        }
    }
    part.carats = ts_order_times(l->o, need->step->carat_each, part.set + part.spares);
    add(l, commission, &part);
}

static void add_feature(list *l, int commission, int index)
{
    char length[TS_DECIMAL_TEXT], width[TS_DECIMAL_TEXT];
    ts_arena *arena = l->o->arena;
    const ts_costing *c = l->o->commissions[commission];
    const ts_stone_need *need = &c->needs->stones[index];
    const char *lot = need->offer != NULL ? need->offer->lot : NULL;
    lot = lot == NULL && need->melee != NULL ? need->melee->lot : lot;
    const char *spelt = need->offer != NULL   ? need->offer->spelt
                        : need->melee != NULL ? need->melee->spelt
                                              : "";
    bool is_own = need->client || ts_text_empty(lot);
    item part = {.group = need->client ? CLIENTS : FEATURE,
                 .lot = is_own ? "" : lot,
                 .stone = need->item,
                 .description = feature_words(arena, need),
                 .length_mm = need->length_mm,
                 .width_mm = need->width_mm,
                 .depth_mm = need->depth_mm,
                 .currency = "",
                 .owner = is_own ? commission : -1,
                 .set = need->count,
                 .carats = ts_order_times(l->o, need->carats, need->count)};
    if (!is_own) {
        part.stone = ts_arena_format(arena, "%s %s \xc3\x97 %s mm", spelt,
                                     ts_dec_fixed(length, need->length_mm, 2),
                                     ts_dec_fixed(width, need->width_mm, 2));
    }
    if (!need->client) {
        put_cost(l, &part, c, line_of(c, TS_LINE_STONE, index));
    }
    add(l, commission, &part);
}

/* ---- rows ---- */

static void put_row(ts_ordering *o, ts_table *table, const item *part, bool ruled)
{
    ts_cell *row = ts_table_row(table, ruled);
    row[STONE] = ts_cell_text(part->stone);
    row[LOT] = ts_cell_text(part->lot);
    row[DESCRIPTION] = ts_cell_text(part->description);
    row[LENGTH] = ts_cell_number(part->length_mm);
    row[WIDTH] = ts_cell_number(part->width_mm);
    if (part->depth_mm.e6 > 0) {
        row[DEPTH] = ts_cell_number(part->depth_mm);
    }
    row[SET] = ts_order_count(part->set);
    row[SPARES] = ts_order_count(part->spares);
    row[STONES] = ts_order_count(part->set + part->spares);
    row[CARATS] = ts_cell_number(part->carats);
    if (part->group != CLIENTS) {
        row[COST] = ts_cell_money_of(part->cost, part->exponent);
        row[CURRENCY] = ts_cell_word(part->currency);
    }
    row[SUPPLIER] = ts_cell_word(part->group == CLIENTS ? "client" : "studio");
    row[FOR] = ts_cell_text(ts_order_whose_text(o, &part->whose, ""));
}

ts_table *ts_order_stones(ts_ordering *o)
{
    list l = {.o = o};
    for (int k = 0; k < o->count; k++) {
        const ts_quantities *needs = o->commissions[k]->needs;
        for (int i = 0; i < needs->melee_count; i++) {
            add_melee(&l, k, i);
        }
        for (int i = 0; i < needs->stone_count; i++) {
            add_feature(&l, k, i);
        }
    }
    ts_table *table = ts_table_new(o->arena, TS_TABLE_STONES, o->commissions[0]->exponent);
    for (size_t i = 0; i < l.count; i++) {
        put_row(o, table, &l.at[i], i > 0 && l.at[i].group != l.at[i - 1].group);
    }
    return table;
}
