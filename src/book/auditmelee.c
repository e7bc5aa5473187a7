#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Melee on the day: steps that leave sizes out, weights that no stone of the size has,
 * lots whose prices are old; and the steps of stones on offer.
 *
 * A round brilliant of 60.5 % depth weighs 0.0061 d2 x 0.605 d = 0.0036905 d3 carats
 * (handbook formula for rounds, and the depth that the sheets take for melee); another
 * species by its specific gravity over diamond's 3.52. Averages of public sieve charts lie
 * up to 18 % above that from 1.1 mm on, so what is within a fifth of it is let be. */

#define MILLION ((int64_t)1000000)
#define PER_MM3_E7 36905 /* 0.0036905 */
#define DIAMOND_SG 3520
#define FAR 5 /* a fifth */

/* What a round of the step's middle weighs, in millionths of a carat; 0 where unknown. */
static int64_t expected_e6(const ts_melee_row *row)
{
    const int species = ts_list_find(TS_LIST_SPECIES, row->species);
    const ts_i128 middle = (row->from_mm.e6 + row->to_mm.e6) / 2;
    int64_t carats = 0;

    if (species == TS_SPECIES_NONE || row->shape != TS_SHAPE_ROUND) {
        return 0;
    }
    /* d in millionths, cubed: 10^18; the factor 10^7; carats in millionths again */
    const ts_i128 num = middle * middle * middle * PER_MM3_E7 * ts_species_sg((ts_species)species);
    const ts_i128 den = (ts_i128)10000000 * MILLION * MILLION * DIAMOND_SG;
    return ts_div_round(&carats, num, den, TS_HALF_AWAY) ? carats : 0;
}

static void audit_weight(const ts_auditing *a, const ts_melee_row *row)
{
    const int64_t expected = expected_e6(row);
    const int64_t stated = row->carat_each.e6;
    const int64_t off = stated > expected ? stated - expected : expected - stated;
    char is[TS_DECIMAL_TEXT];
    char would[TS_DECIMAL_TEXT];
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    if (!ts_book_given(&row->head, "carat each") || expected == 0 || off * FAR <= expected) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "carat each",
                 ts_arena_format(a->arena,
                                 "%s ct each is more than 20 %% off what a round %s of %s to %s mm "
                                 "weighs, about %s ct",
                                 ts_dec_text(is, row->carat_each),
                                 ts_text_show(a->arena, row->species, 60),
                                 ts_dec_text(from, row->from_mm), ts_dec_text(to, row->to_mm),
                                 ts_dec_text(would, (ts_dec){expected})));
}

/* One warning a lot, at its oldest row in force. */
static void audit_age(const ts_auditing *a, const ts_melee_row *const *steps, size_t count)
{
    const ts_policy_row *rule = ts_book_policy(a->book, TS_RULE_STALE, "melee", a->on);
    const ts_melee_row *oldest = NULL;

    for (size_t i = 0; i < count; i++) {
        if (ts_date_given(steps[i]->head.from) &&
            (oldest == NULL || steps[i]->head.from.days < oldest->head.from.days)) {
            oldest = steps[i];
        }
    }
    if (rule == NULL || oldest == NULL) {
        return;
    }
    const int64_t age = (int64_t)a->on.days - oldest->head.from.days;
    if (age > rule->amount.value.e6 / MILLION) {
        ts_audit_add(a, TS_FAULT_BOOK_STALE, &oldest->head, "from",
                     ts_arena_format(a->arena,
                                     "\"%s\" has prices that are %d days old on the pricing date; "
                                     "the policy lets them be %d",
                                     ts_text_show(a->arena, oldest->lot, 60), (int)age,
                                     (int)(rule->amount.value.e6 / MILLION)));
    }
}

/* The steps of a lot stand in the order of their sizes, or weights, and do not overlap. */
void ts_audit_melee(const ts_auditing *a)
{
    const char *const *lots = NULL;
    const size_t lot_count = ts_book_names(&lots, a->arena, a->book, TS_BOOK_MELEE);

    for (size_t lot = 0; lot < lot_count; lot++) {
        const ts_melee_row *const *steps = NULL;
        const size_t count = ts_book_melee_steps(&steps, a->arena, a->book, lots[lot], a->on);

        for (size_t i = 0; i < count; i++) {
            ts_audit_gap(a, i > 0 ? &steps[i - 1]->head : NULL, &steps[i]->head);
            audit_weight(a, steps[i]);
        }
        audit_age(a, steps, count);
    }
}

/* ---- stones on offer ---- */

void ts_audit_offers(const ts_auditing *a)
{
    const char *const *lots = NULL;
    const size_t count = ts_book_names(&lots, a->arena, a->book, TS_BOOK_STONES);

    for (size_t lot = 0; lot < count; lot++) {
        const ts_book_row *before = NULL;
        ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_STONES, lots[lot], a->on);

        for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL; before = row) {
            ts_audit_gap(a, before, row);
        }
    }
}
