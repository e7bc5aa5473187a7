#include "papers/outlook.h"

#include <tallystone/costing/insight.h>
#include <tallystone/papers/cash.h>

/* Sentences about what is not certain. They stand on the owner's first sheet and on
 * Sensitivity, and are made here alone so that both say the same. */

/* ---- metal ---- */

static const char *floor_text(ts_arena *arena, const ts_costing *c)
{
    char floor[TS_DECIMAL_TEXT];
    return ts_arena_text(arena, ts_dec_text(floor, c->floor_pct));
}

static const char *metal_sentence(ts_arena *arena, const ts_costing *c, const ts_break_even *one)
{
    char price[TS_DECIMAL_TEXT], now[TS_DECIMAL_TEXT], beyond[TS_DECIMAL_TEXT];
    bool exact;
    return ts_arena_format(
        arena,
        "The margin meets the floor of %s %% with %s at %s %s a %s (now %s); at %s it is under "
        "the floor.",
        floor_text(arena, c), ts_list_word(TS_LIST_METAL, (int)one->metal),
        ts_dec_fixed(price, one->price, one->places), one->market->unit, one->per,
        ts_figure_text(now, one->market, &exact), ts_dec_fixed(beyond, one->beyond, one->places));
}

/* Metals that bring it there come first, the others share a sentence. */
static void say_metals(ts_outlook *out, ts_arena *arena, const ts_costing *c)
{
    const ts_break_even *list = NULL;
    size_t count = ts_break_evens_of(&list, arena, c);
    const char *others = "";
    out->metals = TS_ARRAY(arena, const char *, count + 1);
    for (size_t i = 0; i < count; i++) {
        if (list[i].found) {
            out->metals[out->metal_count++] = metal_sentence(arena, c, &list[i]);
        } else {
            others = ts_arena_format(arena, "%s%s%s alone", others, others[0] == '\0' ? "" : " or ",
                                     ts_list_word(TS_LIST_METAL, (int)list[i].metal));
        }
    }
    if (others[0] != '\0') {
        out->metals[out->metal_count++] =
            ts_arena_format(arena, "No price of %s brings the margin to the floor of %s %%.",
                            others, floor_text(arena, c));
    }
    if (count == 0) {
        out->metals[out->metal_count++] =
            c->has_floor ? "The price rests on no metal's market price."
                         : "The policy names no floor, so no metal price misses it.";
    }
}

/* ---- how sure ---- */

static const char *range_sentence(ts_arena *arena, const ts_costing *c)
{
    char until[32];
    ts_range range = ts_range_of(arena, c, TS_RANGE_DRAWS, TS_RANGE_SEED);
    if (!range.known) {
        return "No spread is known: that takes three dated prices of a metal, or a stone's weight "
               "that was estimated.";
    }
    const char *text = ts_arena_format(
        arena,
        "While the price stands, until %s, the margin lies between %.1f and %.1f %% in eight "
        "cases of ten; half of all lie under %.1f %%",
        ts_date_words(until, c->valid_until), range.low_pct, range.high_pct, range.middle_pct);
    if (!c->has_floor) {
        return ts_arena_format(arena, "%s.", text);
    }
    return range.under_floor > 0.0
               ? ts_arena_format(arena, "%s, %.1f in a hundred under the floor.", text,
                                 100.0 * range.under_floor)
               : ts_arena_format(arena, "%s, none under the floor.", text);
}

/* ---- ready ---- */

static void say_ready(ts_outlook *out, ts_arena *arena, const ts_costing *c)
{
    char day[32], due[32];
    ts_ready ready = ts_ready_of(c);
    if (!ready.known) {
        out->ready = "No day can be said: crafts.csv does not give every own craft its minutes a "
                     "week.";
        return;
    }
    const char *slowest = ready.slowest == NULL
                              ? ""
                              : ts_arena_format(arena, "; the %s takes longest", ready.slowest);
    out->is_late = ready.late;
    out->ready = ts_arena_format(arena,
                                 "Ready at the earliest in %d week%s, by %s: own crafts one after "
                                 "another at their minutes a week%s.",
                                 ready.weeks, ready.weeks == 1 ? "" : "s",
                                 ts_date_words(day, ready.by), slowest);
    if (ready.late) {
        out->ready =
            ts_arena_format(arena, "%s Caution: that is after %s, the day the client needs it.",
                            out->ready, ts_date_words(due, c->needs->terms.deliver_by));
    }
}

ts_outlook ts_outlook_of(ts_arena *arena, const ts_costing *costing)
{
    ts_outlook out = {0};
    say_metals(&out, arena, costing);
    out.range = range_sentence(arena, costing);
    say_ready(&out, arena, costing);
    out.cash = ts_cash_words(arena, costing);
    return out;
}
