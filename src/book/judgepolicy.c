#include "book/judge.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <assert.h>
#include <string.h>

/* The rules of policy.csv, row by row.
 *
 * One table says for each rule what its subject and its value may be. Whether an open
 * name (a lot, a craft) is in the books is the audit's matter: such a row merely never
 * applies. Where every row is good by itself, they are judged together. */

#define WHOLE ((int64_t)100 * 1000000) /* per cent */
#define UNIT ((int64_t)1000000)
#define MOST_VALID_DAYS 3650 /* ten years; market prices say nothing of longer */

/* What a subject may be: any name, or one of these words (sections by themselves, or those
 * that are worked out before what is a part of them: of a later one it would be nothing). */
enum { ANY_NAME = 1, A_SECTION = 2, A_METAL = 4, UP_TO_LABOUR = 8, UP_TO_OVERHEAD = 16 };
/* What a value may be. */
enum { PERCENT = 1, MONEY = 2, DAYS = 4, NOTHING = 8, A_WORD = 16, A_NUMBER = 32 };

typedef struct rule_row {
    int subject;
    const char *words[3]; /* subjects beside those */
    int value;
    bool under_whole; /* a percentage must stay below 100 */
    bool has_tiers;   /* `above` is let in */
    const char *means;
    const char *any; /* what any name may be the name of */
} rule_row;

#define ANY_LINE "a section, or a lot, alloy, craft or service by name (the narrower wins)"

static const rule_row rules[TS_RULE_COUNT] = {
    [TS_RULE_MARKUP] = {ANY_NAME,
                        {NULL},
                        PERCENT,
                        false,
                        true,
                        "price of a line = cost \xc3\x97 (1 + value)",
                        ANY_LINE},
    [TS_RULE_MARGIN] =
        {ANY_NAME, {NULL}, PERCENT, true, true, "price of a line = cost / (1 - value)", ANY_LINE},
    [TS_RULE_AT_COST] =
        {ANY_NAME, {NULL}, NOTHING, false, true, "price of a line = its cost", ANY_LINE},
    [TS_RULE_TIERS] =
        {A_SECTION,
         {NULL},
         A_WORD,
         false,
         false,
         "how rows of the section that have `above` price a line: each part of its cost by its own row, or the whole by the last row that it passes",
         NULL},
    [TS_RULE_SPARES] = {ANY_NAME,
                        {NULL},
                        PERCENT,
                        false,
                        false,
                        "stones bought beyond those that are set",
                        "melee, or a lot by name"},
    [TS_RULE_OVERHEAD] = {A_SECTION | UP_TO_LABOUR,
                          {"hour"},
                          PERCENT | MONEY,
                          false,
                          false,
                          "a part of the section's cost; of hour, money an hour of own crafts",
                          NULL},
    [TS_RULE_CONTINGENCY] = {A_SECTION | UP_TO_OVERHEAD,
                             {"cost"},
                             PERCENT,
                             false,
                             false,
                             "a part of the cost of it",
                             NULL},
    [TS_RULE_FLOOR] = {0, {"margin"}, PERCENT, true, false, "the least margin, of net", NULL},
    [TS_RULE_MINIMUM] = {0, {"net"}, MONEY, false, false, "the least that net is", NULL},
    [TS_RULE_ROUND_UP] = {0,
                          {"net", "total"},
                          MONEY | A_NUMBER,
                          false,
                          false,
                          "the step that it is raised to",
                          NULL},
    [TS_RULE_SURCHARGE] = {ANY_NAME,
                           {NULL},
                           PERCENT,
                           true,
                           false,
                           "what being paid so costs; grossed up, so that what is left is the same",
                           "a way of paying, as the sheet's `pays by` says it"},
    [TS_RULE_PAYMENT] =
        {ANY_NAME,
         {NULL},
         PERCENT | MONEY | NOTHING,
         false,
         false,
         "what is paid then, of what is to pay; the last without a value takes the rest",
         "a stage by name, in their order"},
    [TS_RULE_KEEP] = {ANY_NAME,
                      {NULL},
                      PERCENT | MONEY,
                      false,
                      false,
                      "what is kept where the client cancels after it",
                      "a stage of payment"},
    [TS_RULE_VALID] = {0, {"quote"}, DAYS, false, false, "how long a quote stands", NULL},
    [TS_RULE_TOLERANCE] = {0,
                           {"reprice"},
                           PERCENT,
                           false,
                           false,
                           "how far a total may move before it needs a person",
                           NULL},
    [TS_RULE_PLAUSIBLE] = {A_METAL,
                           {"metal"},
                           PERCENT,
                           false,
                           false,
                           "the most that its price moves from row to row",
                           NULL},
    [TS_RULE_STALE] = {0,
                       {"metals", "rates", "melee"},
                       DAYS,
                       false,
                       false,
                       "from what age on prices are old",
                       NULL},
    [TS_RULE_WEIGHT_ADJUSTS] =
        {0,
         {"metal"},
         PERCENT,
         false,
         false,
         "beyond it the metal follows the final weight; without it the price is fixed",
         NULL},
    [TS_RULE_ROUNDING] = {0,
                          {"half"},
                          A_WORD,
                          false,
                          false,
                          "which way a half goes, wherever something is rounded",
                          NULL},
};

static const char *word_of(const ts_policy_row *row)
{
    return ts_list_word(TS_LIST_RULE, row->rule);
}

static void add(const ts_judging *j, const ts_policy_row *row, const char *column,
                const char *sentence)
{
    ts_book_fault(j, TS_FAULT_POLICY, &row->head, column, sentence);
}

/* ---- subjects ---- */

/* Every word that the rule's subject may be; the count. `words` holds 16. */
static size_t subjects_of(const char **words, const rule_row *rule)
{
    const ts_list list = (rule->subject & A_METAL) != 0 ? TS_LIST_METAL : TS_LIST_SECTION;
    size_t listed = 0;
    size_t count = 0;
    const char *const *known = ts_list_words(list, &listed);

    if ((rule->subject & (UP_TO_LABOUR | UP_TO_OVERHEAD)) != 0) {
        listed = (rule->subject & UP_TO_LABOUR) != 0 ? TS_SECTION_OVERHEAD : TS_SECTION_CONTINGENCY;
    }
    for (size_t i = 1; (rule->subject & (A_SECTION | A_METAL)) != 0 && i < listed; i++) {
        words[count++] = known[i];
    }
    for (size_t i = 0; i < TS_COUNT_OF(rule->words) && rule->words[i] != NULL; i++) {
        words[count++] = rule->words[i];
    }
    return count;
}

static const char *listed(ts_arena *arena, const char *const *words, size_t count)
{
    const char *text = "";

    for (size_t i = 0; i < count; i++) {
        const char *gap = i == 0 ? "" : i + 1 == count ? " or " : ", ";

        text = ts_arena_format(arena, "%s%s%s", text, gap, words[i]);
    }
    return text;
}

static bool judge_subject(const ts_judging *j, const ts_policy_row *row, const rule_row *rule)
{
    const char *words[16] = {NULL};
    const size_t count = subjects_of(words, rule);

    if ((rule->subject & ANY_NAME) != 0) {
        if (row->subject[0] == '\0') {
            add(j, row, "subject",
                ts_arena_format(j->arena, "%s of what? a subject is expected", word_of(row)));
        }
        return row->subject[0] != '\0';
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i], row->subject) == 0) {
            return true;
        }
    }
    add(j, row, "subject",
        ts_arena_format(j->arena, "%s has no subject \"%s\"; %s is expected", word_of(row),
                        ts_text_show(j->arena, row->subject, 60), listed(j->arena, words, count)));
    const int nearest = ts_nearest(row->subject, words, count);
    if (nearest >= 0) {
        ts_diag_hint(j->diag, "did you mean \"%s\"?", words[nearest]);
    }
    return false;
}

static void judge_above(const ts_judging *j, const ts_policy_row *row, const rule_row *rule)
{
    if (!ts_book_given(&row->head, "above")) {
        return;
    }
    if (!rule->has_tiers) {
        add(j, row, "above",
            ts_arena_format(j->arena,
                            "%s has no tiers; `above` goes with markup, margin and at "
                            "cost",
                            word_of(row)));
    } else if (ts_list_find(TS_LIST_SECTION, row->subject) == 0) {
        add(j, row, "above",
            ts_arena_format(j->arena, "tiers go with a section, and \"%s\" is none",
                            ts_text_show(j->arena, row->subject, 60)));
    }
}

/* ---- values ---- */

static const char *values_of(ts_arena *arena, int value)
{
    static const struct {
        int bit;
        const char *says;
    } known[] = {
        {PERCENT, "a percentage (unit %)"},
        {MONEY, "an amount of money (unit: its currency)"},
        {DAYS, "a number of days (unit days)"},
        {NOTHING, "nothing"},
        {A_NUMBER, "a step in the quote's own currency (no unit)"},
    };
    const char *words[TS_COUNT_OF(known)] = {NULL};
    size_t count = 0;

    for (size_t i = 0; i < TS_COUNT_OF(known); i++) {
        if ((value & known[i].bit) != 0) {
            words[count++] = known[i].says;
        }
    }
    return listed(arena, words, count);
}

static int kind_of(const ts_policy_row *row)
{
    switch (row->amount.of) {
    case TS_AMOUNT_PERCENT:
        return PERCENT;
    case TS_AMOUNT_MONEY:
        return MONEY;
    case TS_AMOUNT_DAYS:
        return DAYS;
    case TS_AMOUNT_NONE:
        return A_NUMBER;
    case TS_AMOUNT_EACH:
    case TS_AMOUNT_PER_CT:
        break;
    }
    return 0;
}

/* The two words that the value of such a rule is one of. */
static const char *const *words_of(int rule)
{
    static const char *const tiers[] = {"marginal", "whole"};
    static const char *const rounding[] = {"away from zero", "to even"};

    return rule == TS_RULE_TIERS ? tiers : rounding;
}

static void judge_word(const ts_judging *j, const ts_policy_row *row)
{
    const char *const *words = words_of(row->rule);

    if (strcmp(row->word, words[0]) == 0 || strcmp(row->word, words[1]) == 0) {
        return;
    }
    add(j, row, "value",
        ts_arena_format(j->arena, "%s cannot be \"%s\"; %s is expected", word_of(row),
                        ts_text_show(j->arena, row->word, 60), listed(j->arena, words, 2)));
    const int nearest = ts_nearest(row->word, words, 2);
    if (nearest >= 0) {
        ts_diag_hint(j->diag, "did you mean \"%s\"?", words[nearest]);
    }
}

/* A step between two amounts that can be paid would be rounded to another, or to none. One
 * without a currency is in the quote's own: costing, which knows that, judges it. */
static void judge_step(const ts_judging *j, const ts_policy_row *row)
{
    const char *currency = row->amount.currency;
    const int64_t coin = ts_currency_coin(currency);
    char step[TS_DECIMAL_TEXT];
    char least[TS_DECIMAL_TEXT];

    if (row->amount.value.e6 == 0) {
        add(j, row, "value", "a step of 0 is none; an amount over 0 is expected");
    } else if (coin > 0 && row->amount.value.e6 % coin != 0) {
        add(j, row, "value",
            ts_arena_format(j->arena,
                            "a step of %s %s ends between two amounts that can be paid; a multiple "
                            "of %s %s is expected",
                            ts_dec_text(step, row->amount.value), currency,
                            ts_dec_text(least, (ts_dec){coin}), currency));
    }
}

/* Limits that hang on the rule: percentages under the whole, steps that can be paid, whole
 * days. */
static void judge_size(const ts_judging *j, const ts_policy_row *row, const rule_row *rule)
{
    const int kind = kind_of(row);
    char text[TS_DECIMAL_TEXT];

    if (kind == PERCENT && rule->under_whole && row->amount.value.e6 >= WHOLE) {
        add(j, row, "value",
            ts_arena_format(j->arena, "%s of %s %%: a part of the price stays under 100 %%",
                            word_of(row), ts_dec_text(text, row->amount.value)));
    } else if (kind == DAYS && row->amount.value.e6 % UNIT != 0) {
        add(j, row, "value",
            ts_arena_format(j->arena, "%s days: a whole number of days is expected",
                            ts_dec_text(text, row->amount.value)));
    } else if (kind == PERCENT && row->rule == TS_RULE_KEEP && row->amount.value.e6 > WHOLE) {
        add(j, row, "value",
            ts_arena_format(j->arena, "keep of %s %%: more than all that is to pay, 100 %%",
                            ts_dec_text(text, row->amount.value)));
    } else if (row->rule == TS_RULE_VALID && row->amount.value.e6 > MOST_VALID_DAYS * UNIT) {
        add(j, row, "value",
            ts_arena_format(j->arena, "%s days: a quote stands for at most %d, ten years",
                            ts_dec_text(text, row->amount.value), MOST_VALID_DAYS));
    } else if (row->rule == TS_RULE_ROUND_UP) {
        judge_step(j, row);
    }
}

/* Overhead is a part of a section's cost, or money an hour: never the other way round. */
static int value_of_overhead(const ts_policy_row *row)
{
    return strcmp(row->subject, "hour") == 0 ? MONEY : PERCENT;
}

static void judge_value(const ts_judging *j, const ts_policy_row *row, const rule_row *rule)
{
    const int value = row->rule == TS_RULE_OVERHEAD ? value_of_overhead(row) : rule->value;
    const bool given = ts_book_given(&row->head, "value");

    if (value == A_WORD) {
        judge_word(j, row);
        return;
    }
    if (!given && (value & NOTHING) != 0) {
        return;
    }
    if (!given || (kind_of(row) & value) == 0) {
        add(j, row, given && value != NOTHING ? "unit" : "value",
            ts_arena_format(j->arena, "%s of \"%s\" takes %s", word_of(row),
                            ts_text_show(j->arena, row->subject, 60), values_of(j->arena, value)));
        return;
    }
    judge_size(j, row, rule);
}

void ts_book_judge_rule(const ts_judging *j, const ts_policy_row *row)
{
    const rule_row *rule = &rules[row->rule];

    assert(row->rule > TS_RULE_NONE && row->rule < TS_RULE_COUNT);
    judge_above(j, row, rule);
    if (judge_subject(j, row, rule)) {
        judge_value(j, row, rule);
    }
}

void ts_book_judge_policy(const ts_judging *j)
{
    const size_t mark = ts_diag_mark(j->diag);

    for (size_t i = 0; i < j->book->policy.count; i++) {
        ts_book_judge_rule(j, &j->book->policy.at[i]);
    }
    if (!j->faulty[TS_BOOK_POLICY] && ts_diag_errors_since(j->diag, mark) == 0) {
        ts_book_judge_policy_days(j);
    }
}

ts_rule_help ts_book_rule_help(ts_arena *arena, ts_rule rule)
{
    const rule_row *row = &rules[rule];
    const char *words[16] = {NULL};
    const size_t count = subjects_of(words, row);

    return (ts_rule_help){
        .means = row->means,
        .subject = row->any != NULL ? row->any : listed(arena, words, count),
        .value = row->value == A_WORD ? listed(arena, words_of((int)rule), 2)
                                      : values_of(arena, row->value),
    };
}
