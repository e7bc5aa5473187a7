#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Terms of the policy that cannot all be meant: a floor that no rule reaches, less kept of a
 * client who cancels late than of one who cancels early, and more kept than was paid. */

#define HUNDRED ((ts_i128)100000000)

/* Is the margin that a rule leaves as large as this, both in per cent? A markup of m per cent
 * leaves m / (100 + m). */
static bool reaches(const ts_policy_row *row, ts_dec floor)
{
    const ts_i128 value = row->amount.value.e6;

    if (row->rule == TS_RULE_MARGIN) {
        return value >= floor.e6;
    }
    return row->rule == TS_RULE_MARKUP && value * HUNDRED >= (value + HUNDRED) * floor.e6;
}

static void audit_floor(const ts_auditing *a)
{
    const ts_policy_row *floor = ts_book_policy(a->book, TS_RULE_FLOOR, "margin", a->on);
    char text[TS_DECIMAL_TEXT];
    bool has_rules = false;

    if (floor == NULL) {
        return;
    }
    for (size_t i = 0; i < a->book->policy.count; i++) {
        const ts_policy_row *row = &a->book->policy.at[i];
        const bool is_rule = row->rule == TS_RULE_MARGIN || row->rule == TS_RULE_MARKUP;

        if (is_rule && ts_book_in_force(&row->head, a->on)) {
            has_rules = true;
            if (reaches(row, floor->amount.value)) {
                return;
            }
        }
    }
    if (has_rules) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &floor->head, "value",
                     ts_arena_format(a->arena,
                                     "no rule in force leaves a margin of %s %%, so that every "
                                     "piece is under this floor before minimum and rounding",
                                     ts_dec_text(text, floor->amount.value)));
    }
}

/* What has been paid up to a stage, where that can be told: in per cent of all, or in amounts of
 * one currency. */
typedef struct paid {
    ts_amount sum;
    bool is_known;
} paid;

static void pay(paid *p, const ts_policy_row *stage, bool is_first)
{
    if (is_first) {
        *p = (paid){stage->amount, true};
    } else {
        p->is_known = p->is_known && p->sum.of == stage->amount.of &&
                      (p->sum.of == TS_AMOUNT_PERCENT ||
                       (p->sum.currency != NULL && stage->amount.currency != NULL &&
                        ts_text_same(p->sum.currency, stage->amount.currency)));
        p->sum.value.e6 += stage->amount.value.e6; /* two dozen of at most 10^15 */
    }
    /* the rest is all that there is, of which no more than all is kept */
    p->is_known = p->is_known && ts_book_given(&stage->head, "value");
}

static void audit_kept(const ts_auditing *a, const paid *p, const ts_policy_row *keep)
{
    const bool is_percent = keep->amount.of == TS_AMOUNT_PERCENT;
    const char *unit = is_percent ? "%" : keep->amount.currency;
    char kept[TS_DECIMAL_TEXT];
    char sum[TS_DECIMAL_TEXT];

    if (!p->is_known || p->sum.of != keep->amount.of || keep->amount.value.e6 <= p->sum.value.e6 ||
        unit == NULL ||
        (!is_percent && (p->sum.currency == NULL || !ts_text_same(p->sum.currency, unit)))) {
        return;
    }
    ts_audit_add(
        a, TS_FAULT_BOOK_ODD, &keep->head, "value",
        ts_arena_format(a->arena,
                        "%s %s has been paid after \"%s\", but %s %s is kept; no more than "
                        "was paid is expected",
                        ts_dec_text(sum, p->sum.value), unit,
                        ts_text_show(a->arena, keep->subject, 60),
                        ts_dec_text(kept, keep->amount.value), unit));
}

/* Stages follow one another as their rows do. */
static void audit_keep(const ts_auditing *a)
{
    paid sum = {.is_known = false};
    bool is_first = true;
    const ts_policy_row *last = NULL;

    for (size_t i = 0; i < a->book->policy.count; i++) {
        const ts_policy_row *stage = &a->book->policy.at[i];

        if (stage->rule != TS_RULE_PAYMENT || !ts_book_current(a->book, &stage->head, a->on)) {
            continue;
        }
        pay(&sum, stage, is_first);
        is_first = false;
        const ts_policy_row *keep = ts_book_policy(a->book, TS_RULE_KEEP, stage->subject, a->on);
        if (keep == NULL) {
            continue;
        }
        audit_kept(a, &sum, keep);
        if (last != NULL && last->amount.of == keep->amount.of &&
            ts_text_same(last->unit, keep->unit) && keep->amount.value.e6 < last->amount.value.e6) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, &keep->head, "value",
                         ts_arena_format(a->arena,
                                         "less is kept after \"%s\" than after \"%s\", which comes "
                                         "before it",
                                         ts_text_show(a->arena, keep->subject, 60),
                                         ts_text_show(a->arena, last->subject, 60)));
        }
        last = keep;
    }
}

void ts_audit_terms(const ts_auditing *a)
{
    audit_floor(a);
    audit_keep(a);
}
