#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Terms of the policy that cannot all be meant: a floor that no rule reaches, and less kept
 * of a client who cancels late than of one who cancels early. */

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

/* Stages follow one another as their rows do. */
static void audit_keep(const ts_auditing *a)
{
    const ts_policy_row *last = NULL;

    for (size_t i = 0; i < a->book->policy.count; i++) {
        const ts_policy_row *stage = &a->book->policy.at[i];

        if (stage->rule != TS_RULE_PAYMENT || !ts_book_in_force(&stage->head, a->on)) {
            continue;
        }
        const ts_policy_row *keep = ts_book_policy(a->book, TS_RULE_KEEP, stage->subject, a->on);
        if (keep == NULL) {
            continue;
        }
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
