#include "papers/ordering.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Metal by alloy over all commissions, as the caster weighs it in. Old metal that is used in
 * a piece is melted with the new, so finishing loss and sprue are those of the whole melt:
 *
 *   with loss = (bought + old) × (1 + finishing loss)     to cast = with loss + sprue
 *   sprue     = with loss × sprue                         to buy  = to cast - old
 *   recovered = sprue × recovery, what the refiner pays for of its fine metal
 *
 * Without old metal these are the quantities of the price's metal lines. Parts that are
 * bought ready-made stand below, for they have to be ordered too. */

enum {
    ALLOY,
    ITEM,
    MADE,
    COUNT,
    FINISHED,
    WITH_LOSS,
    SPRUE,
    TO_CAST,
    OLD_METAL,
    TO_BUY,
    RECOVERED,
    FOR
};

typedef struct melt {
    bool ready_made;
    const char *alloy, *item;
    int64_t count; /* castings, or parts */
    ts_dec finished_g, with_loss_g, sprue_g, old_g, recovered_g;
    ts_order_whose whose;
} melt;

typedef struct list {
    ts_ordering *o;
    melt *at;
    size_t count, room;
} list;

static int compare(const melt *one, bool ready_made, const char *alloy, const char *item)
{
    if (one->ready_made != ready_made) {
        return one->ready_made ? 1 : -1;
    }
    int order = strcmp(one->alloy, alloy);
    return order != 0 || !ready_made ? order : strcmp(one->item, item);
}

/* The row of an alloy or a ready-made part, at its place. */
static melt *row_of(list *l, bool ready_made, const char *alloy, const char *item)
{
    size_t at = 0;
    while (at < l->count && compare(&l->at[at], ready_made, alloy, item) < 0) {
        at++;
    }
    if (at == l->count || compare(&l->at[at], ready_made, alloy, item) != 0) {
        l->at = ts_arena_grow(l->o->arena, l->at, l->count, &l->room, sizeof *l->at);
        memmove(l->at + at + 1, l->at + at, (l->count - at) * sizeof *l->at);
        l->count++;
        l->at[at] = (melt){.ready_made = ready_made, .alloy = alloy, .item = item};
    }
    return &l->at[at];
}

static ts_dec old_metal(ts_ordering *o, const ts_quantities *needs, const char *alloy)
{
    ts_dec used = {0};
    for (int i = 0; i < needs->trade_in_count; i++) {
        if (ts_text_same(needs->trade_ins[i].alloy, alloy)) {
            used = ts_order_sum(o, used, needs->trade_ins[i].used_g);
        }
    }
    return used;
}

static void add_metal(list *l, int commission, const ts_metal_need *need)
{
    ts_ordering *o = l->o;
    const ts_alloy_row *alloy = need->row;
    ts_dec old = old_metal(o, o->commissions[commission]->needs, need->alloy);
    ts_dec finished = ts_order_sum(o, need->finished_g, old);
    if (finished.e6 == 0) {
        return; /* ready-made parts alone */
    }
    ts_dec loss = ts_order_percent(o, commission, finished, alloy->finishing_loss);
    ts_dec with_loss = ts_order_sum(o, finished, loss);
    ts_dec sprue = ts_order_percent(o, commission, with_loss, alloy->sprue);
    ts_dec recovered = ts_order_percent(o, commission, sprue, alloy->recovery);
    melt *row = row_of(l, false, need->alloy, alloy->name);
    row->count += need->castings;
    row->finished_g = ts_order_sum(o, row->finished_g, finished);
    row->with_loss_g = ts_order_sum(o, row->with_loss_g, with_loss);
    row->sprue_g = ts_order_sum(o, row->sprue_g, sprue);
    row->old_g = ts_order_sum(o, row->old_g, old);
    row->recovered_g = ts_order_sum(o, row->recovered_g, recovered);
    ts_order_whose_add(o, &row->whose, commission, ts_order_sum(o, with_loss, sprue), "g");
}

static void put_melt(ts_ordering *o, ts_cell *row, const melt *m)
{
    ts_dec to_cast = ts_order_sum(o, m->with_loss_g, m->sprue_g);
    row[FINISHED] = ts_cell_number(m->finished_g);
    row[WITH_LOSS] = ts_cell_number(m->with_loss_g);
    row[SPRUE] = ts_cell_number(m->sprue_g);
    row[TO_CAST] = ts_cell_number(to_cast);
    row[OLD_METAL] = ts_cell_number(m->old_g);
    row[TO_BUY] = ts_cell_number((ts_dec){to_cast.e6 - m->old_g.e6});
    row[RECOVERED] = ts_cell_number(m->recovered_g);
}

static void put_row(ts_ordering *o, ts_table *table, const melt *m, bool ruled)
{
    ts_cell *row = ts_table_row(table, ruled);
    row[ALLOY] = ts_cell_text(m->alloy);
    row[ITEM] = ts_cell_text(m->item);
    row[MADE] = ts_cell_word(m->ready_made ? "ready-made" : "cast");
    row[COUNT] = ts_order_count(m->count);
    row[FOR] = ts_cell_text(ts_order_whose_text(o, &m->whose, m->ready_made ? "" : "g"));
    if (!m->ready_made) {
        put_melt(o, row, m);
    }
}

ts_table *ts_order_casting(ts_ordering *o)
{
    list l = {.o = o};
    for (int k = 0; k < o->count; k++) {
        const ts_quantities *needs = o->commissions[k]->needs;
        for (int i = 0; i < needs->metal_count; i++) {
            add_metal(&l, k, &needs->metals[i]);
        }
        for (int i = 0; i < needs->bought_count; i++) {
            const ts_bought_need *need = &needs->bought[i];
            melt *row = row_of(&l, true, need->alloy, need->item);
            row->count += need->count;
            ts_order_whose_add(o, &row->whose, k, (ts_dec){(int64_t)need->count * 1000000}, "");
        }
    }
    ts_table *table = ts_table_new(o->arena, TS_TABLE_CASTING, o->commissions[0]->exponent);
    for (size_t i = 0; i < l.count; i++) {
        put_row(o, table, &l.at[i], i > 0 && l.at[i].ready_made && !l.at[i - 1].ready_made);
    }
    return table;
}
