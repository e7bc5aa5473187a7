#include <tallystone/costing/insight.h>

#include "costing/moved.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Break-even prices and drivers: one leaf of the trees moved at a time. */

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

/* ---- break-even ---- */

/* What is left over the floor, in money: (income)(1 - floor) - cost. Piecewise linear in
 * a market price, so that a secant within a piece ends on its zero. */
static double over_floor(ts_flat *flat, int at, double price, double floor)
{
    flat->values[at] = price;
    ts_flat_work(flat);
    double income = flat->values[flat->net];
    if (flat->surcharge >= 0) {
        income -= flat->values[flat->surcharge];
    }
    return income * (1.0 - floor) - flat->values[flat->cost];
}

/* A bracket that shrinks by the secant's point, or by halves where that stalls. */
static double shrink(ts_flat *flat, int at, double floor, double low, double high)
{
    double at_low = over_floor(flat, at, low, floor);
    double at_high = over_floor(flat, at, high, floor);
    for (int i = 0; i < 200 && high - low > 1e-9 * high; i++) {
        double middle = low + (high - low) * at_low / (at_low - at_high);
        if (i % 3 == 2 || !(middle > low && middle < high)) {
            middle = 0.5 * (low + high);
        }
        double here = over_floor(flat, at, middle, floor);
        if (here == 0.0) {
            return middle;
        }
        if ((here > 0.0) == (at_low > 0.0)) {
            low = middle;
            at_low = here;
        } else {
            high = middle;
            at_high = here;
        }
    }
    return 0.5 * (low + high);
}

/* The nearest price on either side of today's at which the sign changes. */
static ts_break_even search(ts_flat *flat, int at, double today, double floor)
{
    ts_break_even result = {.market = flat->figures[at]};
    double here = over_floor(flat, at, today, floor);
    double low = today, high = today;
    for (int i = 0; i < 200 && !result.found; i++) {
        double further = high * 1.05, nearer = low / 1.05;
        double price = 0.0;
        if (further <= today * 1000.0 &&
            (over_floor(flat, at, further, floor) > 0.0) != (here > 0.0)) {
            price = shrink(flat, at, floor, high, further);
            result.above = here > 0.0;
            result.found = true;
        } else if ((over_floor(flat, at, nearer, floor) > 0.0) != (here > 0.0)) {
            price = shrink(flat, at, floor, nearer, low);
            result.above = here <= 0.0;
            result.found = true;
        }
        high = further;
        low = nearer;
        result.found = result.found && ts_dec_from_double(&result.price, price);
    }
    flat->values[at] = today;
    ts_flat_work(flat);
    return result;
}

static const ts_metal_row *metal_row(const ts_costing *costing, const ts_figure *leaf)
{
    const ts_book *book = costing->book;
    if (leaf->op != TS_OP_BOOK || strcmp(leaf->file, ts_book_file_name(TS_BOOK_METALS)) != 0) {
        return NULL;
    }
    for (size_t i = 0; i < book->metals.count; i++) {
        if (book->metals.at[i].head.line == leaf->line) {
            return &book->metals.at[i];
        }
    }
    return NULL;
}

size_t ts_break_evens_of(const ts_break_even **out, ts_arena *arena, const ts_costing *costing)
{
    *out = NULL;
    if (!costing->has_floor) {
        return 0;
    }
    ts_flat *flat = ts_flat_of(arena, costing);
    ts_break_even *list = TS_ARRAY(arena, ts_break_even, (size_t)flat->count + 1);
    double floor = ts_dec_double(costing->floor_pct) / 100.0;
    bool *moves = TS_ARRAY(arena, bool, (size_t)flat->count);
    size_t count = 0;
    for (int i = 0; i < flat->count; i++) {
        const ts_metal_row *row = metal_row(costing, flat->figures[i]);
        if (row == NULL) {
            continue;
        }
        follow(flat, moves, i);
        list[count] = search(flat, i, flat->values[i], floor);
        list[count].metal = (ts_metal_kind)row->metal;
        list[count].per = ts_list_word(TS_LIST_PER_WEIGHT, row->per);
        count++;
    }
    *out = list;
    return count;
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
