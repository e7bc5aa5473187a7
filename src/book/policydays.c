#include "book/judge.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"
#include "book/timeline.h"

#include <stdlib.h>
#include <string.h>

/* The rows of policy.csv together, on every day on which they can change.
 *
 * One subject cannot have a markup and a margin at once, and payment stages must be able
 * to add up to what is to pay. Each row by itself has been judged before. */

#define WHOLE ((int64_t)100 * 1000000) /* per cent */

static const ts_policy_row *policy_of(const ts_book_row *row)
{
    return (const ts_policy_row *)(const void *)row;
}

static void add(const ts_judging *j, const ts_policy_row *row, const char *column,
                const char *sentence)
{
    ts_book_fault(j, TS_FAULT_POLICY, &row->head, column, sentence);
}

/* ---- one rule a subject ---- */

/* Rows of one subject and tier side by side, in order of their first day. Above nothing and
 * above 0 is the same tier. */
static int by_tier(const ts_policy_row *one, const ts_policy_row *other)
{
    const int order = strcmp(one->subject, other->subject);

    if (order != 0) {
        return order;
    }
    return (one->above.e6 > other->above.e6) - (one->above.e6 < other->above.e6);
}

static int by_tier_and_day(const void *one, const void *other)
{
    const ts_policy_row *left = policy_of(*(const ts_book_row *const *)one);
    const ts_policy_row *right = policy_of(*(const ts_book_row *const *)other);
    const int order = by_tier(left, right);

    if (order != 0) {
        return order;
    }
    if (left->head.from.days != right->head.from.days) {
        return left->head.from.days < right->head.from.days ? -1 : 1;
    }
    return (left > right) - (left < right);
}

static int32_t last_day(const ts_policy_row *row)
{
    return ts_date_given(row->head.until) ? row->head.until.days : INT32_MAX;
}

static void add_contradiction(const ts_judging *j, const ts_policy_row *one,
                              const ts_policy_row *other)
{
    const bool later = one->head.line > other->head.line;
    const ts_policy_row *at = later ? one : other;
    const ts_policy_row *with = later ? other : one;

    add(j, at, "rule",
        ts_arena_format(j->arena,
                        "\"%s\" has a rule in line %d (%s), which is in force too; keep one, or "
                        "let one end before the other begins",
                        ts_text_show(j->arena, at->subject, 60), with->head.line,
                        ts_list_word(TS_LIST_RULE, with->rule)));
}

/* A tier's rows of one rule replace each other, unless one says 0 where another says nothing. */
static int kind_of(const ts_policy_row *row)
{
    return 2 * row->rule + (ts_book_given(&row->head, "above") ? 1 : 0);
}

/* Rows of one subject and tier, in order of their first day: each against the row of every
 * other kind that lasts longest of those before it. */
static void judge_tier(const ts_judging *j, const ts_book_row *const *rows, size_t count)
{
    const ts_policy_row *longest[2 * TS_RULE_COUNT] = {NULL};

    for (size_t i = 0; i < count; i++) {
        const ts_policy_row *row = policy_of(rows[i]);
        const int own = kind_of(row);

        for (int kind = 0; kind < 2 * TS_RULE_COUNT; kind++) {
            if (longest[kind] != NULL && kind != own &&
                last_day(longest[kind]) >= row->head.from.days) {
                add_contradiction(j, longest[kind], row);
            }
        }
        if (longest[own] == NULL || last_day(longest[own]) < last_day(row)) {
            longest[own] = row;
        }
    }
}

static void judge_tiers(const ts_judging *j)
{
    const size_t all = j->book->policy.count;
    const ts_book_row **rows = TS_ARRAY(j->arena, const ts_book_row *, all + 1);
    size_t count = 0;

    for (size_t i = 0; i < all; i++) {
        if (ts_book_sets_price(&j->book->policy.at[i])) {
            rows[count++] = &j->book->policy.at[i].head;
        }
    }
    qsort(rows, count, sizeof *rows, by_tier_and_day);
    for (size_t first = 0; first < count;) {
        size_t end = first + 1;

        while (end < count && by_tier(policy_of(rows[first]), policy_of(rows[end])) == 0) {
            end++;
        }
        judge_tier(j, rows + first, end - first);
        first = end;
    }
}

/* ---- payment stages ---- */

typedef struct stages {
    int64_t percent_e6;
    bool has_amounts;
    bool has_overflow;
    const ts_policy_row *rest; /* the first without a value */
    const ts_policy_row *last; /* in the file */
} stages;

static void count_stage(stages *s, const ts_policy_row *row)
{
    const bool is_rest = !ts_book_given(&row->head, "value");

    if (is_rest && (s->rest == NULL || row->head.line < s->rest->head.line)) {
        s->rest = row;
    } else if (!is_rest && row->amount.of == TS_AMOUNT_PERCENT) {
        s->has_overflow = s->has_overflow || s->percent_e6 > WHOLE;
        s->percent_e6 += s->has_overflow ? 0 : row->amount.value.e6;
    } else if (!is_rest) {
        s->has_amounts = true;
    }
    if (s->last == NULL || row->head.line > s->last->head.line) {
        s->last = row;
    }
}

static void judge_rest(const ts_judging *j, const stages *s)
{
    add(j, s->rest, "value",
        ts_arena_format(j->arena,
                        "the stage \"%s\" takes the rest, so \"%s\" in line %d cannot follow it; "
                        "give it a value or put it last",
                        ts_text_show(j->arena, s->rest->subject, 60),
                        ts_text_show(j->arena, s->last->subject, 60), s->last->head.line));
}

static void judge_sum(const ts_judging *j, const stages *s, ts_date day)
{
    char text[TS_DECIMAL_TEXT];
    char date[TS_DATE_TEXT];
    const bool dated = day.days > INT32_MIN + 1;
    const char *when = dated ? ts_arena_format(j->arena, " on %s", ts_date_text(date, day)) : "";

    if (s->percent_e6 > WHOLE || (s->rest == NULL && !s->has_amounts && s->percent_e6 != WHOLE)) {
        add(j, s->last, "value",
            ts_arena_format(j->arena,
                            "the payment stages add up to %s%s %%%s; 100 %% is expected, or less "
                            "and a last stage without a value, which takes the rest",
                            s->has_overflow ? "more than " : "",
                            ts_dec_text(text, (ts_dec){s->percent_e6}), when));
    } else if (s->rest == NULL && s->has_amounts) {
        add(j, s->last, "value",
            ts_arena_format(j->arena,
                            "payment stages in amounts%s need a last stage without a value, which "
                            "takes the rest",
                            when));
    }
}

static void judge_stages(const ts_judging *j, const ts_timeline *t)
{
    stages s = {0};

    for (size_t key = 0; key < t->keys; key++) {
        if (t->active[key] != NULL) {
            count_stage(&s, policy_of(t->active[key]));
        }
    }
    if (s.rest != NULL && s.rest != s.last) {
        judge_rest(j, &s);
    } else if (s.last != NULL) {
        judge_sum(j, &s, t->day);
    }
}

static void judge_payment(const ts_judging *j)
{
    const size_t all = j->book->policy.count;
    const ts_book_row **rows = TS_ARRAY(j->arena, const ts_book_row *, all + 1);
    const size_t mark = ts_diag_mark(j->diag);
    size_t count = 0;
    ts_timeline t;

    for (size_t i = 0; i < all; i++) {
        if (j->book->policy.at[i].rule == TS_RULE_PAYMENT) {
            rows[count++] = &j->book->policy.at[i].head;
        }
    }
    qsort(rows, count, sizeof *rows, ts_book_by_key_and_day);
    ts_timeline_begin(&t, j->arena, rows, count);
    /* the first day that is wrong is enough: later ones mostly repeat it */
    while (ts_diag_errors_since(j->diag, mark) == 0 && ts_timeline_next(&t)) {
        judge_stages(j, &t);
    }
}

void ts_book_judge_policy_days(const ts_judging *j)
{
    judge_tiers(j);
    judge_payment(j);
}
