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

static void audit_gap(const ts_auditing *a, const ts_melee_row *before, const ts_melee_row *row)
{
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    if (before->to_mm.e6 < row->from_mm.e6) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "from mm",
                     ts_arena_format(a->arena,
                                     "\"%s\" has no step from %s to %s mm; its steps before and "
                                     "after leave these sizes out",
                                     ts_text_show(a->arena, row->lot, 60),
                                     ts_dec_text(from, before->to_mm),
                                     ts_dec_text(to, row->from_mm)));
    }
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

void ts_audit_melee(const ts_auditing *a)
{
    const char *const *lots = NULL;
    const size_t lot_count = ts_book_names(&lots, a->arena, a->book, TS_BOOK_MELEE);

    for (size_t lot = 0; lot < lot_count; lot++) {
        const ts_melee_row *const *steps = NULL;
        const size_t count = ts_book_melee_steps(&steps, a->arena, a->book, lots[lot], a->on);

        for (size_t i = 0; i < count; i++) {
            if (i > 0) {
                audit_gap(a, steps[i - 1], steps[i]);
            }
            audit_weight(a, steps[i]);
        }
        audit_age(a, steps, count);
    }
}

/* ---- stones on offer ---- */

/* The row at which an offer's weights begin again after those of `row` ended with nothing to
 * follow; NULL where they go on, or go no further. */
static const ts_offer_row *offer_after_gap(const ts_auditing *a, const ts_offer_row *row)
{
    const ts_offer_row *next = NULL;
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_STONES, row->lot, a->on);

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_offer_row *other = (const ts_offer_row *)(const void *)at;

        if (other->from_ct.e6 <= row->to_ct.e6 && other->to_ct.e6 > row->to_ct.e6) {
            return NULL;
        }
        if (other->from_ct.e6 > row->to_ct.e6 &&
            (next == NULL || other->from_ct.e6 < next->from_ct.e6)) {
            next = other;
        }
    }
    return next;
}

void ts_audit_offers(const ts_auditing *a)
{
    for (size_t i = 0; i < a->book->offers.count; i++) {
        const ts_offer_row *row = &a->book->offers.at[i];
        const ts_offer_row *next =
            ts_book_current(a->book, &row->head, a->on) ? offer_after_gap(a, row) : NULL;
        char from[TS_DECIMAL_TEXT];
        char to[TS_DECIMAL_TEXT];

        if (next != NULL) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, &next->head, "from ct",
                         ts_arena_format(a->arena,
                                         "\"%s\" has no step from %s to %s ct; its steps before "
                                         "and after leave these weights out",
                                         ts_text_show(a->arena, row->lot, 60),
                                         ts_dec_text(from, row->to_ct),
                                         ts_dec_text(to, next->from_ct)));
        }
    }
}
