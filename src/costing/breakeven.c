#include <tallystone/costing/insight.h>

#include "costing/spans.h"

/* The market price at which the margin meets the floor, exactly.
 *
 *      over the floor                          The margin that is printed goes up and down
 *        |\  |\                                with every cent that is rounded and every step
 *        | \ | \ |\                            that net is rounded up to, and a tier can lift
 *     ---+--\|--\+-\-|\------ price            it at once. So nothing is solved: ranges of
 *      today     \  \| \                       prices are judged whole (spans.h), from today's
 *                 ^last kept                   outward; what cannot be judged is halved, and
 *                                              a single price is costed by the engine itself.
 */

#define FARTHEST 1000 /* times today's price */

typedef struct seeker {
    const ts_costing *costing;
    const ts_metal_row *row;
    ts_arena *arena; /* of the trees that are judged by; NULL: the option's own */
    ts_arena *own;   /* of its spans */
    ts_spans *spans;
    int64_t step;  /* millionths, below 0 where prices fall */
    int64_t same;  /* the last price at which it is as today */
    int64_t other; /* the first at which it is not; 0: not found yet */
    bool stopped;  /* exact arithmetic holds no such price */
} seeker;

static double price_of(int64_t e6)
{
    return (double)e6 / 1e6;
}

/* Costs the option anew at a price, and judges by its trees from then on. */
static bool cost_at(seeker *s, int64_t e6, bool *kept)
{
    ts_arena *arena = ts_arena_beside(s->own);
    const ts_book *book =
        ts_book_changed(arena, s->costing->book, &s->row->head, "price", (ts_dec){e6});
    ts_costing *costing = NULL;
    if (ts_costing_of(&costing, arena, s->costing->needs, book, ts_diag_new(arena)) != TS_OK) {
        ts_arena_free(arena);
        return false;
    }
    *kept = !costing->below_floor;
    s->spans = ts_spans_of(arena, costing, s->row->head.line);
    if (s->arena != NULL) {
        ts_arena_free(s->arena);
    }
    s->arena = arena;
    return true;
}

/* Goes through the prices from `near` to `far`, in this order; true ends the search. */
static bool seek(seeker *s, int64_t near, int64_t far)
{
    const bool was_kept = !s->costing->below_floor;
    const bool up = near <= far;
    const ts_floor_verdict verdict =
        ts_spans_judge(s->spans, price_of(up ? near : far), price_of(up ? far : near));
    bool kept = verdict == TS_FLOOR_KEPT;
    if (verdict == TS_FLOOR_UNSURE && near != far) {
        const int64_t middle = near + (far - near) / s->step / 2 * s->step;
        return seek(s, near, middle) || seek(s, middle + s->step, far);
    }
    if (verdict == TS_FLOOR_UNSURE && !cost_at(s, near, &kept)) {
        s->stopped = true;
        return true;
    }
    if (kept != was_kept) {
        s->other = near;
        return true;
    }
    s->same = far;
    return false;
}

/* The next range outward, about a tenth of the price; true: found. */
static bool seek_on(seeker *s, int64_t today, int64_t unit)
{
    const int64_t least = unit, most = today * FARTHEST / unit * unit;
    const int64_t tenth = s->same / 10 / unit * unit + unit;
    const int64_t grid = s->same / unit * unit;
    int64_t near = s->step > 0 ? grid + unit : (grid == s->same ? grid - unit : grid);
    int64_t far = s->step > 0 ? near + tenth : near - tenth;
    far = far > most ? most : far < least ? least : far;
    if (s->stopped || near < least || near > most) {
        s->stopped = true;
        return false;
    }
    return seek(s, near, far) && !s->stopped;
}

static seeker begin(ts_arena *arena, const ts_costing *costing, const ts_metal_row *row,
                    int64_t step)
{
    seeker s = {.costing = costing, .row = row, .step = step, .same = row->price.e6};
    s.own = ts_arena_beside(arena);
    s.spans = ts_spans_of(s.own, costing, row->head.line);
    return s;
}

static void end(seeker *s)
{
    if (s->arena != NULL) {
        ts_arena_free(s->arena);
    }
    ts_arena_free(s->own);
}

/* ---- one metal ---- */

static int places_of(ts_dec price)
{
    return price.e6 >= 100000000 ? 2 : price.e6 >= 1000000 ? 4 : 6;
}

static ts_dec step_of(int places)
{
    return (ts_dec){places == 2 ? 10000 : places == 4 ? 100 : 1};
}

static void tell(ts_break_even *out, const seeker *s)
{
    const bool rising = s->step > 0;
    out->found = true;
    out->above = rising == out->kept;
    out->price.e6 = out->kept ? s->same : s->other;
    out->beyond.e6 = out->kept ? s->other : s->same;
}

static void search(ts_break_even *out, ts_arena *arena, const ts_costing *costing)
{
    const int64_t today = out->row->price.e6;
    const int64_t unit = out->step.e6;
    seeker up = begin(arena, costing, out->row, unit);
    seeker down = begin(arena, costing, out->row, -unit);
    while (!out->found && !(up.stopped && down.stopped)) {
        if (seek_on(&up, today, unit)) {
            tell(out, &up);
        } else if (seek_on(&down, today, unit)) {
            tell(out, &down);
        }
    }
    end(&up);
    end(&down);
}

/* ---- all metals ---- */

size_t ts_break_evens_of(const ts_break_even **out, ts_arena *arena, const ts_costing *costing)
{
    *out = NULL;
    if (!costing->has_floor) {
        return 0;
    }
    ts_arena *scratch = ts_arena_beside(arena);
    /* also of what decides how the price is made up: it can hang on old metal alone */
    const ts_flat *flat = ts_spans_of(scratch, costing, -1)->flat;
    ts_break_even *list = TS_ARRAY(arena, ts_break_even, TS_METAL_COUNT);
    size_t count = 0;
    for (int i = 0; i < flat->count && count < TS_METAL_COUNT; i++) {
        const ts_metal_row *row = ts_flat_market(costing, flat->figures[i]);
        if (row == NULL) {
            continue;
        }
        list[count] = (ts_break_even){.market = flat->figures[i],
                                      .row = row,
                                      .metal = (ts_metal_kind)row->metal,
                                      .per = ts_list_word(TS_LIST_PER_WEIGHT, row->per),
                                      .kept = !costing->below_floor,
                                      .places = places_of(row->price),
                                      .step = step_of(places_of(row->price))};
        search(&list[count++], scratch, costing);
    }
    ts_arena_free(scratch);
    *out = list;
    return count;
}
