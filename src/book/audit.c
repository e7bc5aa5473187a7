#include <tallystone/book/audit.h>

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "book/auditing.h"
#include "book/bookrows.h"

#include <stdlib.h>
#include <string.h>

/* The books as a whole, on one day.
 *
 * Rows may be written for a lot, a craft or an operation that is spelt otherwise
 * elsewhere: nothing breaks, the row just never applies. Here every open name is held
 * against the names it could answer to, and the closed vocabulary against the operations
 * that the books price. */

#define MOST_GROUPS 8
#define MOST_SUGGESTED 200 /* as many warnings as are printed */

void ts_audit_add(const ts_auditing *a, ts_fault code, const ts_book_row *row, const char *column,
                  const char *sentence)
{
    const ts_place place = ts_book_place(a->book, a->arena, row, column);

    ts_diag_add(a->diag, code, &place, "%s", sentence);
}

void ts_audit_gap(const ts_auditing *a, const ts_book_row *before, const ts_book_row *next)
{
    const bool by_weight = next->file == TS_BOOK_STONES;
    ts_span below, above;
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    if (before == NULL || !ts_book_span(&below, before) || !ts_book_span(&above, next) ||
        below.to_e6 >= above.from_e6) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, next, by_weight ? "from ct" : "from mm",
                 ts_arena_format(a->arena,
                                 "\"%s\" has no step from %s to %s %s; its steps before and after "
                                 "leave these %s out",
                                 ts_text_show(a->arena, ts_book_row_name(before), 60),
                                 ts_dec_text(from, (ts_dec){below.to_e6}),
                                 ts_dec_text(to, (ts_dec){above.from_e6}), by_weight ? "ct" : "mm",
                                 by_weight ? "weights" : "sizes"));
}

/* ---- names ---- */

/* Groups of words that a name may be one of. */
typedef struct name_groups {
    const char *const *words[MOST_GROUPS];
    size_t counts[MOST_GROUPS];
    bool sorted[MOST_GROUPS]; /* by strcmp: names of the books, which are folded */
    size_t count;
} name_groups;

static void add_words(name_groups *n, const char *const *words, size_t count, bool sorted)
{
    n->words[n->count] = words;
    n->sorted[n->count] = sorted;
    n->counts[n->count++] = count;
}

static void add_list(name_groups *n, ts_list list)
{
    size_t count = 0;
    const char *const *words = ts_list_words(list, &count);

    add_words(n, words, count, false);
}

static void add_file(name_groups *n, const ts_auditing *a, ts_book_file file)
{
    const char *const *names = NULL;
    const size_t count = ts_book_names(&names, a->arena, a->book, file);

    add_words(n, names, count, true);
}

static int by_text(const void *one, const void *other)
{
    return strcmp(*(const char *const *)one, *(const char *const *)other);
}

static bool is_in_group(const name_groups *n, size_t group, const char *name)
{
    const char *const *words = n->words[group];

    if (n->sorted[group]) {
        return bsearch(&name, words, n->counts[group], sizeof *words, by_text) != NULL;
    }
    for (size_t i = 0; i < n->counts[group]; i++) {
        if (words[i] != NULL && ts_text_same(words[i], name)) {
            return true;
        }
    }
    return false;
}

static bool is_among(const name_groups *n, const char *name)
{
    for (size_t group = 0; group < n->count; group++) {
        if (is_in_group(n, group, name)) {
            return true;
        }
    }
    return false;
}

/* Warns of a name that nothing answers to, with the nearest that something does. */
static void audit_name(const ts_auditing *a, const name_groups *n, const ts_book_row *row,
                       const char *column, const char *name, const char *what)
{
    if (name[0] == '\0' || is_among(n, name)) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, row, column,
                 ts_arena_format(a->arena, "\"%s\" is no %s, so this row can never apply",
                                 ts_text_show(a->arena, name, 60), what));
    for (size_t g = 0; g < n->count && ts_diag_warnings(a->diag) <= MOST_SUGGESTED; g++) {
        const int nearest = ts_nearest(name, n->words[g], n->counts[g]);

        if (nearest >= 0) {
            ts_diag_hint(a->diag, "did you mean \"%s\"?", n->words[g][nearest]);
            return;
        }
    }
}

/* Sorts names and leaves each once; how many are left. */
static size_t distinct(const char **names, size_t count)
{
    size_t kept = 0;

    qsort(names, count, sizeof *names, by_text);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || strcmp(names[i], names[kept - 1]) != 0) {
            names[kept++] = names[i];
        }
    }
    return kept;
}

/* Species are open: every one that a lot or an offer names is known too. */
static size_t species_of(const char *const **out, const ts_auditing *a)
{
    const size_t count = a->book->melee.count + a->book->offers.count;
    const char **names = TS_ARRAY(a->arena, const char *, count + 1);
    size_t found = 0;

    for (size_t i = 0; i < a->book->melee.count; i++) {
        names[found++] = a->book->melee.at[i].species;
    }
    for (size_t i = 0; i < a->book->offers.count; i++) {
        names[found++] = a->book->offers.at[i].species;
    }
    *out = names;
    return distinct(names, found);
}

static void audit_labour(const ts_auditing *a)
{
    static const char *const client[] = {"client"};
    const char *const *species = NULL;
    const size_t species_count = species_of(&species, a);
    name_groups metals = {.count = 0};
    name_groups stones = {.count = 0};

    add_list(&metals, TS_LIST_METAL);
    add_file(&metals, a, TS_BOOK_ALLOYS);
    add_list(&stones, TS_LIST_SHAPE);
    add_list(&stones, TS_LIST_SPECIES);
    add_words(&stones, client, TS_COUNT_OF(client), false);
    add_words(&stones, species, species_count, true);
    for (size_t i = 0; i < a->book->labour.count; i++) {
        const ts_labour_row *row = &a->book->labour.at[i];

        audit_name(a, &metals, &row->head, "metal", row->metal, "alloy of alloys.csv and no metal");
        audit_name(a, &stones, &row->head, "stone", row->stone,
                   "shape, no species and not \"client\"");
    }
}

static void audit_taxes(const ts_auditing *a)
{
    static const char *const others[] = {"all", "retained"};
    name_groups categories = {.count = 0};

    add_list(&categories, TS_LIST_SECTION);
    add_file(&categories, a, TS_BOOK_SERVICES);
    add_words(&categories, others, TS_COUNT_OF(others), false);
    for (size_t i = 0; i < a->book->taxes.count; i++) {
        const ts_tax_row *row = &a->book->taxes.at[i];

        audit_name(a, &categories, &row->head, "category", row->category,
                   "section, no service of services.csv, not all and not retained");
    }
}

/* The stages of payment, whenever in force. */
static size_t stages_of(const char *const **out, const ts_auditing *a)
{
    const char **names = TS_ARRAY(a->arena, const char *, a->book->policy.count + 1);
    size_t found = 0;

    for (size_t i = 0; i < a->book->policy.count; i++) {
        if (a->book->policy.at[i].rule == TS_RULE_PAYMENT) {
            names[found++] = a->book->policy.at[i].subject;
        }
    }
    *out = names;
    return distinct(names, found);
}

static void audit_policy(const ts_auditing *a)
{
    static const char *const melee[] = {"melee"};
    const char *const *stages = NULL;
    const size_t stage_count = stages_of(&stages, a);
    name_groups priced = {.count = 0};
    name_groups spared = {.count = 0};
    name_groups kept = {.count = 0};

    add_list(&priced, TS_LIST_SECTION);
    add_file(&priced, a, TS_BOOK_MELEE);
    add_file(&priced, a, TS_BOOK_STONES);
    add_file(&priced, a, TS_BOOK_ALLOYS);
    add_file(&priced, a, TS_BOOK_CRAFTS);
    add_file(&priced, a, TS_BOOK_SERVICES);
    add_words(&spared, melee, TS_COUNT_OF(melee), false);
    add_file(&spared, a, TS_BOOK_MELEE);
    add_words(&kept, stages, stage_count, true);
    for (size_t i = 0; i < a->book->policy.count; i++) {
        const ts_policy_row *row = &a->book->policy.at[i];

        if (row->rule == TS_RULE_MARKUP || row->rule == TS_RULE_MARGIN ||
            row->rule == TS_RULE_AT_COST) {
            audit_name(a, &priced, &row->head, "subject", row->subject,
                       "section, lot, alloy, craft or service of these books");
        } else if (row->rule == TS_RULE_SPARES) {
            audit_name(a, &spared, &row->head, "subject", row->subject, "lot of melee.csv");
        } else if (row->rule == TS_RULE_KEEP) {
            audit_name(a, &kept, &row->head, "subject", row->subject, "stage of payment");
        }
    }
}

/* ---- tiers ---- */

static bool has_tiers(const ts_auditing *a, const char *section)
{
    size_t count = 0;
    const ts_book_row *const *rows = ts_book_named(&count, a->book, TS_BOOK_POLICY, section);

    for (size_t i = 0; i < count; i++) {
        if (ts_book_given(rows[i], "above") && ts_book_in_force(rows[i], a->on)) {
            return true;
        }
    }
    return false;
}

static void audit_tiers(const ts_auditing *a)
{
    for (int section = 1; section < TS_SECTION_COUNT; section++) {
        const char *word = ts_list_word(TS_LIST_SECTION, section);
        const ts_policy_row *row = ts_book_policy(a->book, TS_RULE_TIERS, word, a->on);

        if (row != NULL && strcmp(row->word, "whole") == 0 && has_tiers(a, word)) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "value",
                         ts_arena_format(a->arena,
                                         "under whole tiers the price of %s can fall where its "
                                         "cost passes a step of `above`; marginal tiers never do",
                                         word));
        }
    }
}

/* ---- operations ---- */

static const char *without_price(const ts_auditing *a, const char *missing, const char *operation)
{
    size_t count = 0;
    const ts_book_row *const *rows = ts_book_named(&count, a->book, TS_BOOK_LABOUR, operation);

    for (size_t i = 0; i < count; i++) {
        if (ts_book_in_force(rows[i], a->on)) {
            return missing;
        }
    }
    return ts_arena_format(a->arena, "%s%s%s", missing, missing[0] == '\0' ? "" : ", ", operation);
}

/* The operations that geometry counts, by the names that it gives them. */
static void audit_operations(const ts_auditing *a)
{
    static const char *const plain[] = {"cast", "join", "unset"};
    const char *missing = "";

    for (int setting = 1; setting < TS_SETTING_COUNT; setting++) {
        missing = without_price(
            a, missing,
            ts_arena_format(a->arena, "set %s", ts_list_word(TS_LIST_SETTING, setting)));
    }
    for (int style = 1; style < TS_CLAW_COUNT; style++) {
        missing = without_price(
            a, missing,
            ts_arena_format(a->arena, "form %s claw", ts_list_word(TS_LIST_CLAW, style)));
    }
    for (size_t i = 0; i < TS_COUNT_OF(plain); i++) {
        missing = without_price(a, missing, plain[i]);
    }
    if (missing[0] != '\0' && a->book->text[TS_BOOK_LABOUR] != NULL) {
        const ts_place place = {.file = a->book->text[TS_BOOK_LABOUR]->file, .line = 1};

        ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place,
                    "no row in force prices: %s; a piece that takes them cannot be priced",
                    missing);
    }
}

void ts_book_audit(const ts_book *book, ts_date on, ts_arena *arena, ts_diag *diag)
{
    const ts_auditing a = {book, on, arena, diag};

    ts_audit_metals(&a);
    ts_audit_melee(&a);
    ts_audit_offers(&a);
    ts_audit_labour_steps(&a);
    audit_labour(&a);
    audit_taxes(&a);
    audit_policy(&a);
    audit_tiers(&a);
    ts_audit_terms(&a);
    ts_audit_rules(&a);
    ts_audit_currencies(&a);
    audit_operations(&a);
}
