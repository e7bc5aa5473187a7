#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* What stops a price only when a sheet asks for it: names that no pricing rule answers for,
 * and currencies that no rate turns. Both are said before a client waits for the price. */

#define MOST_CURRENCIES 32

/* ---- rules ---- */

static bool has_rule(const ts_auditing *a, const char *subject)
{
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_POLICY, subject, a->on);

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_policy_row *row = ts_book_typed(at);

        if (row->above.e6 == 0 && ts_book_sets_price(row)) {
            return true;
        }
    }
    return false;
}

/* One warning a section, at the first name that stands without a rule. */
static void add_without_rule(const ts_auditing *a, const char *section, const char *name)
{
    const ts_place place = {.file = a->book->text[TS_BOOK_POLICY]->file, .line = 1};
    const char *what = name == NULL ? section
                                    : ts_arena_format(a->arena, "\"%s\", nor %s as a whole",
                                                      ts_text_show(a->arena, name, 60), section);

    ts_diag_add(
        a->diag, TS_FAULT_BOOK_ODD, &place,
        "no rule in force prices %s; a piece that takes it cannot be priced (markup, margin "
        "or at cost is expected)",
        what);
}

/* The names of a file, each of which may have a rule of its own. */
static void audit_names(const ts_auditing *a, ts_section section, ts_book_file file)
{
    const char *const *names = NULL;
    const char *word = ts_list_word(TS_LIST_SECTION, (int)section);
    const size_t count = has_rule(a, word) ? 0 : ts_book_names(&names, a->arena, a->book, file);

    for (size_t i = 0; i < count; i++) {
        ts_book_walk walk = ts_book_walk_of(a->book, file, names[i], a->on);

        if (ts_book_walk_next(&walk) != NULL && !has_rule(a, names[i])) {
            add_without_rule(a, word, names[i]);
            return;
        }
    }
}

/* Labour goes by its craft. */
static void audit_crafts(const ts_auditing *a)
{
    const char *word = ts_list_word(TS_LIST_SECTION, TS_SECTION_LABOUR);

    for (size_t i = 0; !has_rule(a, word) && i < a->book->labour.count; i++) {
        const ts_labour_row *row = &a->book->labour.at[i];

        if (ts_book_in_force(&row->head, a->on) && !has_rule(a, row->craft)) {
            add_without_rule(a, word, row->craft);
            return;
        }
    }
}

/* Sections that exist only where the policy asks for them. */
static void audit_charge(const ts_auditing *a, ts_section section, ts_rule rule)
{
    const char *word = ts_list_word(TS_LIST_SECTION, (int)section);

    for (size_t i = 0; !has_rule(a, word) && i < a->book->policy.count; i++) {
        const ts_policy_row *row = &a->book->policy.at[i];

        if (row->rule == (int)rule && ts_book_in_force(&row->head, a->on)) {
            add_without_rule(a, word, NULL);
            return;
        }
    }
}

void ts_audit_rules(const ts_auditing *a)
{
    audit_names(a, TS_SECTION_METAL, TS_BOOK_ALLOYS);
    audit_names(a, TS_SECTION_MELEE, TS_BOOK_MELEE);
    audit_names(a, TS_SECTION_STONES, TS_BOOK_STONES);
    audit_crafts(a);
    audit_charge(a, TS_SECTION_OVERHEAD, TS_RULE_OVERHEAD);
    audit_charge(a, TS_SECTION_CONTINGENCY, TS_RULE_CONTINGENCY);
    audit_names(a, TS_SECTION_SERVICES, TS_BOOK_SERVICES);
}

/* ---- currencies ---- */

typedef struct currencies {
    const char *seen[MOST_CURRENCIES];
    size_t count;
} currencies;

/* One warning a currency, at the first row in force that is in it. */
static void audit_currency(const ts_auditing *a, currencies *known, const ts_book_row *row,
                           const char *currency)
{
    bool inverse = false;

    if (currency == NULL || ts_text_same(currency, a->book->currency)) {
        return;
    }
    for (size_t i = 0; i < known->count; i++) {
        if (ts_text_same(known->seen[i], currency)) {
            return;
        }
    }
    if (known->count < MOST_CURRENCIES &&
        ts_book_rate(a->book, currency, a->book->currency, a->on, &inverse) == NULL &&
        ts_book_current(a->book, row, a->on)) {
        known->seen[known->count++] = currency;
        ts_audit_add(a, TS_FAULT_BOOK_ODD, row, ts_book_currency_column(row->file),
                     ts_arena_format(a->arena,
                                     "rates.csv has no rate in force that turns %s into %s, so "
                                     "what is priced in %s cannot be costed",
                                     currency, a->book->currency, currency));
    }
}

void ts_audit_currencies(const ts_auditing *a)
{
    const ts_book *book = a->book;
    currencies known = {.count = 0};

    for (size_t i = 0; i < book->metals.count; i++) {
        audit_currency(a, &known, &book->metals.at[i].head, book->metals.at[i].currency);
    }
    for (size_t i = 0; i < book->melee.count; i++) {
        audit_currency(a, &known, &book->melee.at[i].head, book->melee.at[i].currency);
    }
    for (size_t i = 0; i < book->offers.count; i++) {
        audit_currency(a, &known, &book->offers.at[i].head, book->offers.at[i].currency);
    }
    for (size_t i = 0; i < book->labour.count; i++) {
        audit_currency(a, &known, &book->labour.at[i].head, book->labour.at[i].currency);
    }
    for (size_t i = 0; i < book->services.count; i++) {
        audit_currency(a, &known, &book->services.at[i].head, book->services.at[i].currency);
    }
    for (size_t i = 0; i < book->policy.count; i++) {
        audit_currency(a, &known, &book->policy.at[i].head, book->policy.at[i].amount.currency);
    }
}
