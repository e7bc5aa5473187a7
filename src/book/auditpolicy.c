#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <stdlib.h>
#include <string.h>

/* Rules of the policy on the day: what every price needs and no row says, and values that can
 * be worked with but are hardly meant. What is more than usual is common practice: the decimal
 * point that stands one place off, not the dear studio. */

#define MILLION ((int64_t)1000000)
#define WHOLE (100 * MILLION) /* per cent */

static void add(const ts_auditing *a, const ts_policy_row *row, const char *column,
                const char *sentence)
{
    ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, column, sentence);
}

/* ---- tiers ---- */

/* What a rule makes of a cost, as a fraction. */
static void factor_of(const ts_policy_row *row, ts_i128 *num, ts_i128 *den)
{
    const int64_t value = row->rule == TS_RULE_AT_COST ? 0 : row->amount.value.e6;

    *num = row->rule == TS_RULE_MARGIN ? WHOLE : WHOLE + value;
    *den = row->rule == TS_RULE_MARGIN ? WHOLE - value : WHOLE;
}

static bool falls(const ts_policy_row *below, const ts_policy_row *above)
{
    ts_i128 num[2];
    ts_i128 den[2];

    factor_of(below, &num[0], &den[0]);
    factor_of(above, &num[1], &den[1]);
    return num[1] * den[0] < num[0] * den[1];
}

/* A section's tiers in force, by `above`; how many. Loading lets no more be in force. */
static size_t tiers_of(const ts_auditing *a, const char *section,
                       const ts_policy_row *rows[TS_BOOK_MOST_TIERS])
{
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_POLICY, section, a->on);
    size_t count = 0;

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_policy_row *row = ts_book_typed(at);
        size_t place = count;

        if (!ts_book_sets_price(row) || count == TS_BOOK_MOST_TIERS) {
            continue;
        }
        for (count++; place > 0 && rows[place - 1]->above.e6 > row->above.e6; place--) {
            rows[place] = rows[place - 1];
        }
        rows[place] = row;
    }
    return count;
}

static void audit_tiers(const ts_auditing *a, const ts_policy_row *how, const char *section)
{
    const ts_policy_row *rows[TS_BOOK_MOST_TIERS] = {NULL};
    const size_t count = tiers_of(a, section, rows);
    char above[TS_DECIMAL_TEXT];

    if (count < 2) {
        add(a, how, "subject",
            ts_arena_format(a->arena,
                            "%s has no rows in force with `above`, so there are no tiers to share "
                            "a cost",
                            section));
        return;
    }
    for (size_t i = 1; i < count && strcmp(how->word, "whole") == 0; i++) {
        if (falls(rows[i - 1], rows[i])) {
            add(a, how, "value",
                ts_arena_format(a->arena,
                                "under whole tiers the price of %s can fall where its cost passes "
                                "%s (line %d); marginal tiers never do",
                                section, ts_dec_text(above, rows[i]->above), rows[i]->head.line));
            return;
        }
    }
}

void ts_audit_tiers(const ts_auditing *a)
{
    for (int section = 1; section < TS_SECTION_COUNT; section++) {
        const char *word = ts_list_word(TS_LIST_SECTION, section);
        const ts_policy_row *how = ts_book_policy(a->book, TS_RULE_TIERS, word, a->on);

        if (how != NULL) {
            audit_tiers(a, how, word);
        }
    }
}

/* ---- what is not there ---- */

static void add_missing(const ts_auditing *a, const char *sentence)
{
    const ts_place place = {.file = a->book->text[TS_BOOK_POLICY]->file, .line = 1};

    ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place, "%s", sentence);
}

/* Spares are taken in beside every lot. */
static void audit_spares(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_MELEE, a->on);

    if (ts_book_policy(a->book, TS_RULE_SPARES, "melee", a->on) != NULL) {
        return;
    }
    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const char *lot = ts_book_row_name(row);

        if (ts_book_policy(a->book, TS_RULE_SPARES, lot, a->on) == NULL) {
            add_missing(a, ts_arena_format(a->arena,
                                           "no rule in force says the spares of \"%s\", nor of "
                                           "melee; a piece that takes it cannot be priced (a row "
                                           "such as spares,melee,,4,%% is expected)",
                                           ts_text_show(a->arena, lot, 60)));
            return;
        }
    }
}

static void audit_needed(const ts_auditing *a, bool has_stage)
{
    if (!has_stage) {
        add_missing(a, "no stage of payment is in force, and no piece can be priced without one (a "
                       "row such as payment,on delivery,,100,% is expected)");
    }
    if (ts_book_policy(a->book, TS_RULE_VALID, "quote", a->on) == NULL) {
        add_missing(a, "no rule in force says how long a quote is valid; a sheet without \"valid "
                       "until\" cannot be priced (a row such as valid,quote,,21,days is expected)");
    }
    audit_spares(a);
}

/* ---- values ---- */

static const struct {
    ts_rule rule;
    int most; /* per cent */
} usual[] = {
    {TS_RULE_MARKUP, 1000},     {TS_RULE_SPARES, 100},         {TS_RULE_OVERHEAD, 300},
    {TS_RULE_CONTINGENCY, 100}, {TS_RULE_SURCHARGE, 25},       {TS_RULE_TOLERANCE, 100},
    {TS_RULE_PLAUSIBLE, 100},   {TS_RULE_WEIGHT_ADJUSTS, 100},
};

static void audit_usual(const ts_auditing *a, const ts_policy_row *row)
{
    char value[TS_DECIMAL_TEXT];

    for (size_t i = 0; i < TS_COUNT_OF(usual); i++) {
        if (row->rule == (int32_t)usual[i].rule && row->amount.of == TS_AMOUNT_PERCENT &&
            row->amount.value.e6 > usual[i].most * MILLION) {
            add(a, row, "value",
                ts_arena_format(
                    a->arena, "%s of %s %% for %s is out of the common; up to %d %% is usual",
                    ts_list_word(TS_LIST_RULE, row->rule), ts_dec_text(value, row->amount.value),
                    ts_text_show(a->arena, row->subject, 60), usual[i].most));
        }
    }
}

/* Amounts that a client pays are rounded to what can be paid. */
static void audit_coin(const ts_auditing *a, const ts_policy_row *row)
{
    const bool is_paid =
        row->rule == TS_RULE_PAYMENT || row->rule == TS_RULE_KEEP || row->rule == TS_RULE_MINIMUM;
    const char *currency = row->amount.currency == NULL ? a->book->currency : row->amount.currency;
    const int64_t coin = ts_currency_coin(currency);
    char value[TS_DECIMAL_TEXT];

    if (is_paid && row->amount.of == TS_AMOUNT_MONEY && coin > 0 &&
        row->amount.value.e6 % coin != 0) {
        add(a, row, "value",
            ts_arena_format(a->arena,
                            "%s %s cannot be paid and will be rounded; at most %d decimals are "
                            "expected in %s",
                            ts_dec_text(value, row->amount.value), currency,
                            ts_currency_exponent(currency), currency));
    }
}

/* A step without a currency is in the quote's own, which mostly is the studio's. */
static void audit_step(const ts_auditing *a, const ts_policy_row *row)
{
    const int64_t coin = ts_currency_coin(a->book->currency);
    char step[TS_DECIMAL_TEXT];

    if (row->rule == TS_RULE_ROUND_UP && row->amount.of == TS_AMOUNT_NONE && coin > 0 &&
        row->amount.value.e6 % coin != 0) {
        add(a, row, "value",
            ts_arena_format(a->arena,
                            "a step of %s ends between two amounts that can be paid in %s, so that "
                            "no quote in %s can be priced",
                            ts_dec_text(step, row->amount.value), a->book->currency,
                            a->book->currency));
    }
}

static void audit_days(const ts_auditing *a, const ts_policy_row *row)
{
    const int64_t days = row->amount.value.e6 / MILLION;

    if (row->rule != TS_RULE_VALID || (days > 0 && days <= 366)) {
        return;
    }
    add(a, row, "value",
        days == 0 ? "a quote valid for 0 days ends on the day that it is written; at least 1 is "
                    "expected"
                  : ts_arena_format(a->arena,
                                    "a quote valid for %d days outlives the prices it rests on; up "
                                    "to 366 is usual",
                                    (int)days));
}

/* Nothing is due at such a stage. */
static void audit_stage(const ts_auditing *a, const ts_policy_row *row, int64_t percent_e6)
{
    const bool is_rest = !ts_book_given(&row->head, "value");

    if ((is_rest && percent_e6 >= WHOLE) || (!is_rest && row->amount.value.e6 == 0)) {
        add(a, row, "value",
            ts_arena_format(a->arena, "nothing is left to pay at the stage \"%s\"",
                            ts_text_show(a->arena, row->subject, 60)));
    }
}

/* A part of all costs and a part of one of them: that one bears both. */
static void audit_contingency(const ts_auditing *a, const ts_policy_row *row)
{
    const ts_policy_row *whole = ts_book_policy(a->book, TS_RULE_CONTINGENCY, "cost", a->on);

    if (row->rule == TS_RULE_CONTINGENCY && whole != NULL && whole != row) {
        add(a, row, "subject",
            ts_arena_format(
                a->arena,
                "%s bears contingency twice: by this row, and as a part of cost by line "
                "%d",
                row->subject, whole->head.line));
    }
}

/* A way of paying is one that the bookkeeper has an account for. */
static void audit_way(const ts_auditing *a, const ts_policy_row *row, const ts_names *ways)
{
    if (row->rule == TS_RULE_SURCHARGE && a->book->accounts.count > 0) {
        ts_audit_name(a, ways, &row->head, "subject", row->subject,
                      "way of paying of accounts.csv");
    }
}

static size_t ways_of(const char *const **out, const ts_auditing *a)
{
    const char **ways = TS_ARRAY(a->arena, const char *, a->book->accounts.count + 1);
    size_t count = 0;

    for (size_t i = 0; i < a->book->accounts.count; i++) {
        const char *what = a->book->accounts.at[i].what;

        if (ts_book_is_way(a->book, what)) {
            ways[count++] = what;
        }
    }
    *out = ways;
    return ts_names_distinct(ways, count);
}

static int by_line(const void *one, const void *other)
{
    const ts_book_row *left = *(const ts_book_row *const *)one;
    const ts_book_row *right = *(const ts_book_row *const *)other;

    return (left->line > right->line) - (left->line < right->line);
}

/* The rows in force, as they stand in the file: stages follow one another so. */
static size_t rows_of(const ts_book_row ***out, const ts_auditing *a)
{
    const ts_book_row *const *rows = NULL;
    const size_t count = ts_book_currents(&rows, a->arena, a->book, TS_BOOK_POLICY, a->on);

    *out = TS_ARRAY(a->arena, const ts_book_row *, count + 1);
    memcpy(*out, rows, count * sizeof *rows);
    qsort(*out, count, sizeof **out, by_line);
    return count;
}

void ts_audit_policy(const ts_auditing *a)
{
    ts_names ways = {.count = 0};
    const char *const *words = NULL;
    const size_t word_count = ways_of(&words, a);
    const ts_book_row **rows = NULL;
    const size_t count = rows_of(&rows, a);
    bool has_stage = false;
    int64_t percent_e6 = 0;

    ts_names_words(&ways, words, word_count, true);
    for (size_t i = 0; i < count; i++) {
        const ts_policy_row *row = ts_book_typed(rows[i]);

        audit_usual(a, row);
        audit_coin(a, row);
        audit_step(a, row);
        audit_days(a, row);
        audit_contingency(a, row);
        audit_way(a, row, &ways);
        if (row->rule == TS_RULE_PAYMENT) {
            audit_stage(a, row, percent_e6);
            has_stage = true;
            percent_e6 += row->amount.of == TS_AMOUNT_PERCENT ? row->amount.value.e6 : 0;
        }
    }
    audit_needed(a, has_stage);
}
