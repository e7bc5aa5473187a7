#include <tallystone/costing/insight.h>

#include "costing/moved.h"

#include <math.h>
#include <string.h>

/* Drivers: one leaf of the trees moved at a time. */

double ts_margin_moved(ts_arena *scratch, const ts_costing *costing, const ts_figure *leaf,
                       double value)
{
    ts_flat *flat = ts_flat_of(scratch, costing);
    int at = leaf == NULL ? -1 : ts_flat_find(flat, leaf);
    if (at >= 0) {
        flat->values[at] = value;
        ts_flat_work(flat);
    }
    return ts_flat_margin(flat);
}

double ts_margin_unrounded(const ts_arena *arena, const ts_costing *costing)
{
    ts_arena *scratch = ts_arena_beside(arena);
    double margin = ts_margin_moved(scratch, costing, NULL, 0.0);
    ts_arena_free(scratch);
    return margin;
}

/* Works out from now on only what hangs on this leaf. */
static void follow(ts_flat *flat, bool *moves, int at)
{
    memset(moves, 0, (size_t)flat->count * sizeof *moves);
    moves[at] = true;
    ts_flat_follow(flat, moves);
}

/* ---- drivers ---- */

static double reach(const ts_driver *driver, double margin_pct)
{
    double less = isnan(driver->less_pct) ? 0.0 : fabs(driver->less_pct - margin_pct);
    double more = isnan(driver->more_pct) ? 0.0 : fabs(driver->more_pct - margin_pct);
    return fmax(less, more);
}

void ts_drivers_sort(ts_driver *drivers, size_t count, double margin_pct)
{
    for (size_t i = 1; i < count; i++) {
        ts_driver moved = drivers[i];
        size_t at = i;
        while (at > 0 && reach(&drivers[at - 1], margin_pct) < reach(&moved, margin_pct)) {
            drivers[at] = drivers[at - 1];
            at--;
        }
        drivers[at] = moved;
    }
}

static double moved_by(ts_flat *flat, int at, double factor)
{
    double own = flat->values[at];
    flat->values[at] = own * factor;
    ts_flat_work(flat);
    double margin = ts_flat_margin(flat);
    flat->values[at] = own;
    return margin;
}

size_t ts_rate_drivers_of(ts_driver **out, ts_arena *arena, const ts_costing *costing)
{
    ts_flat *flat = ts_flat_of(arena, costing);
    double margin = ts_flat_margin(flat);
    ts_driver *list = TS_ARRAY(arena, ts_driver, (size_t)flat->count + 1);
    bool *moves = TS_ARRAY(arena, bool, (size_t)flat->count);
    size_t count = 0;
    for (int i = 0; i < flat->count; i++) {
        const ts_figure *leaf = flat->figures[i];
        char text[TS_DECIMAL_TEXT];
        bool exact;
        if (leaf->op != TS_OP_BOOK || leaf->value.num == 0) {
            continue;
        }
        follow(flat, moves, i);
        ts_driver driver = {
            .name = leaf->name,
            .origin = ts_arena_format(arena, "%s:%d %s", leaf->file, leaf->line, leaf->column),
            .value =
                ts_arena_format(arena, "%s %s", ts_figure_text(text, leaf, &exact), leaf->unit),
            .less_pct = moved_by(flat, i, 0.9),
            .more_pct = moved_by(flat, i, 1.1)};
        ts_flat_work(flat); /* as it stood */
        if (reach(&driver, margin) > 1e-9) {
            list[count++] = driver;
        }
    }
    ts_drivers_sort(list, count, margin);
    *out = list;
    return count;
}
