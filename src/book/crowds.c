#include "book/judge.h"

#include "book/bookrows.h"
#include "book/timeline.h"

#include <string.h>

/* How many rows may be in force side by side.
 *
 * A price takes in a fixed number of tiers, payment stages and taxes. What is beyond would be
 * passed over, and the figure would be wrong without a word; so the books are refused. */

typedef struct crowd {
    size_t most;
    const char *column;
    const char *what;
} crowd;

/* Rows sorted by ts_book_by_key_and_day: one of each key may be in force. */
static void judge_crowd(const ts_judging *j, const crowd *of, const ts_book_row *const *rows,
                        size_t count)
{
    bool *there = TS_ARRAY(j->arena, bool, count + 1);
    size_t now = 0;
    ts_timeline t;

    if (count <= of->most) {
        return;
    }
    ts_timeline_begin(&t, j->arena, rows, count);
    while (ts_timeline_next(&t)) {
        const ts_book_row *last = NULL;

        for (size_t i = 0; i < t.changed_count; i++) {
            const size_t key = t.changed[i];
            const ts_book_row *row = t.active[key];

            now = now + (row != NULL) - there[key];
            there[key] = row != NULL;
            last = row != NULL && (last == NULL || row->line > last->line) ? row : last;
        }
        if (now > of->most && last != NULL) {
            ts_book_fault(j, last->file == TS_BOOK_POLICY ? TS_FAULT_POLICY : TS_FAULT_BOOK_ROW,
                          last, of->column,
                          ts_arena_format(j->arena,
                                          "with this row %zu %s are in force at once; at most %zu "
                                          "can be",
                                          now, of->what, of->most));
            return;
        }
    }
}

static void judge_tiers(const ts_judging *j)
{
    for (int section = 1; section < TS_SECTION_COUNT; section++) {
        const char *word = ts_list_word(TS_LIST_SECTION, section);
        const crowd of = {TS_BOOK_MOST_TIERS, "above",
                          ts_arena_format(j->arena, "tiers of %s", word)};
        size_t count = 0;
        size_t kept = 0;
        const ts_book_row *const *rows = ts_book_named(&count, j->book, TS_BOOK_POLICY, word);
        const ts_book_row **tiers = TS_ARRAY(j->arena, const ts_book_row *, count + 1);

        for (size_t i = 0; i < count; i++) {
            if (ts_book_sets_price(ts_book_typed(rows[i]))) {
                tiers[kept++] = rows[i];
            }
        }
        judge_crowd(j, &of, tiers, kept);
    }
}

static void judge_stages(const ts_judging *j)
{
    static const crowd of = {TS_BOOK_MOST_STAGES, "subject", "payment stages"};
    const size_t count = j->book->policy.count;
    const ts_book_row **stages = TS_ARRAY(j->arena, const ts_book_row *, count + 1);
    size_t kept = 0;

    for (size_t i = 0; i < count; i++) { /* by subject, which is the key of one rule's rows */
        const ts_book_row *row = j->book->by_name[TS_BOOK_POLICY][i];

        const ts_policy_row *stage = ts_book_typed(row);

        if (stage->rule == TS_RULE_PAYMENT) {
            stages[kept++] = row;
        }
    }
    judge_crowd(j, &of, stages, kept);
}

static bool same_category(const ts_book_row *one, const ts_book_row *other)
{
    const ts_tax_row *left = ts_book_typed(one);
    const ts_tax_row *right = ts_book_typed(other);

    return strcmp(left->region, right->region) == 0 && strcmp(left->category, right->category) == 0;
}

static void judge_taxes(const ts_judging *j)
{
    static const crowd of = {TS_BOOK_MOST_TAXES, "name", "taxes of one region and category"};
    const ts_book_row *const *rows = j->book->by_name[TS_BOOK_TAXES];
    const size_t all = j->book->taxes.count;

    for (size_t first = 0; first < all;) {
        size_t end = first + 1;

        while (end < all && same_category(rows[first], rows[end])) {
            end++;
        }
        judge_crowd(j, &of, rows + first, end - first);
        first = end;
    }
}

void ts_book_judge_crowds(const ts_judging *j)
{
    judge_tiers(j);
    judge_stages(j);
    judge_taxes(j);
}
