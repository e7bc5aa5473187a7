#include <tallystone/costing/insight.h>

#include "costing/moved.h"

#include <math.h>
#include <string.h>

/* Drivers: one leaf of the trees moved at a time.
 *
 * The trees follow every rate within the way the price is made up. What decides that way (the
 * tier that a whole line falls into, whether there is a surcharge) is followed too, and where
 * a tenth more or less would decide otherwise, or nearly so, the changed books are costed. */

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

/* One costing's trees, moved leaf by leaf: its net, its cost, and what decided how the price
 * is made up. */
typedef struct mover {
    const ts_costing *costing;
    ts_arena *arena;
    ts_arena *scratch; /* empty between two prices */
    ts_flat *flat;
    bool *moves;    /* by position: hangs on the leaf that is moved */
    int *guards;    /* positions of the costing's guards */
    double near_by; /* what roundings, which the trees pass over, may come to */
} mover;

static mover begin(ts_arena *arena, const ts_costing *costing)
{
    mover m = {.costing = costing, .arena = arena, .scratch = ts_arena_beside(arena)};
    m.flat = ts_flat_guarded(arena, costing, &m.guards);
    m.moves = TS_ARRAY(arena, bool, (size_t)m.flat->count);
    m.near_by = (costing->line_count + 2) * pow(10.0, -costing->exponent);
    return m;
}

/* Works out from now on only what hangs on this leaf. */
static void follow(mover *m, int at)
{
    memset(m->moves, 0, (size_t)m->flat->count * sizeof *m->moves);
    m->moves[at] = true;
    ts_flat_follow(m->flat, m->moves);
}

/* Is the price surely made up as it was: the same tier, a surcharge as before? */
static bool made_up_alike(const mover *m)
{
    for (int i = 0; i < m->costing->guard_count; i++) {
        const ts_guard *guard = &m->costing->guards[i];
        const int at = m->guards[i];
        if (at < 0 || !m->moves[at]) {
            continue;
        }
        const double value = m->flat->values[at];
        const bool answer = guard->of_sign && value > 0.0;
        if (fabs(value) <= m->near_by || answer != guard->answer) {
            return false;
        }
    }
    return true;
}

/* Of the books really changed; NaN where they cannot be costed. */
static double margin_anew(const mover *m, const ts_book_row *row, const char *column, ts_dec value)
{
    const ts_book *book = ts_book_changed(m->scratch, m->costing->book, row, column, value);
    ts_costing *anew = NULL;
    ts_diag *diag = ts_diag_new(m->scratch);
    const ts_quantities *needs = ts_quantities_on(m->scratch, m->costing->needs, book);

    return ts_costing_of(&anew, m->scratch, needs, book, diag) == TS_OK
               ? ts_margin_moved(m->scratch, anew, NULL, 0.0)
               : (double)NAN;
}

/* The margin with so many tenths of a leaf; NaN where the books would not take the number. */
static double margin_with(const mover *m, int at, const ts_book_row *row, int tenths)
{
    const ts_figure *leaf = m->flat->figures[at];
    const ts_arena_mark mark = ts_arena_mark_of(m->scratch);
    const double own = m->flat->values[at];
    double margin = (double)NAN;
    ts_dec value;

    if (row != NULL && ts_figure_dec(&value, leaf) &&
        ts_div_round(&value.e6, (ts_i128)value.e6 * tenths, 10, TS_HALF_AWAY) &&
        ts_book_takes(m->scratch, m->costing->book, row, leaf->column, value)) {
        m->flat->values[at] = ts_dec_double(value);
        ts_flat_work(m->flat);
        margin =
            made_up_alike(m) ? ts_flat_margin(m->flat) : margin_anew(m, row, leaf->column, value);
        m->flat->values[at] = own;
    }
    ts_arena_rewind(m->scratch, mark);
    return margin;
}

/* False where the margin does not hang on the leaf. */
static bool move(ts_driver *out, mover *m, int at, double margin)
{
    const ts_figure *leaf = m->flat->figures[at];
    const ts_book_row *row = ts_book_row_on_line(m->costing->book, leaf->file, leaf->line);
    char text[TS_DECIMAL_TEXT];
    bool exact;

    follow(m, at);
    *out = (ts_driver){.name = leaf->name,
                       .less_pct = margin_with(m, at, row, 9),
                       .more_pct = margin_with(m, at, row, 11)};
    ts_flat_work(m->flat); /* as it stood */
    if (reach(out, margin) <= 1e-9) {
        return false;
    }
    out->origin = ts_arena_format(m->arena, "%s:%d %s", leaf->file, leaf->line, leaf->column);
    out->value = ts_arena_format(m->arena, "%s %s", ts_figure_text(text, leaf, &exact), leaf->unit);
    return true;
}

size_t ts_rate_drivers_of(ts_driver **out, ts_arena *arena, const ts_costing *costing)
{
    mover m = begin(arena, costing);
    const double margin = ts_flat_margin(m.flat);
    ts_driver *list = TS_ARRAY(arena, ts_driver, (size_t)m.flat->count + 1);
    size_t count = 0;
    for (int i = 0; i < m.flat->count; i++) {
        const ts_figure *leaf = m.flat->figures[i];
        if (leaf->op == TS_OP_BOOK && leaf->value.num != 0 && move(&list[count], &m, i, margin)) {
            count++;
        }
    }
    ts_arena_free(m.scratch);
    ts_drivers_sort(list, count, margin);
    *out = list;
    return count;
}
