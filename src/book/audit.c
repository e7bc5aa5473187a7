#include <tallystone/book/audit.h>

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
    return ts_names_distinct(names, found);
}

static void audit_labour(const ts_auditing *a)
{
    static const char *const client[] = {"client"};
    const char *const *species = NULL;
    const size_t species_count = species_of(&species, a);
    ts_names metals = {.count = 0};
    ts_names stones = {.count = 0};

    ts_names_list(&metals, TS_LIST_METAL);
    ts_names_file(&metals, a, TS_BOOK_ALLOYS);
    ts_names_list(&stones, TS_LIST_SHAPE);
    ts_names_list(&stones, TS_LIST_SPECIES);
    ts_names_words(&stones, client, TS_COUNT_OF(client), false);
    ts_names_words(&stones, species, species_count, true);
    for (size_t i = 0; i < a->book->labour.count; i++) {
        const ts_labour_row *row = &a->book->labour.at[i];

        ts_audit_name(a, &metals, &row->head, "metal", row->metal,
                      "alloy of alloys.csv and no metal");
        ts_audit_name(a, &stones, &row->head, "stone", row->stone,
                      "shape, no species and not \"client\"");
    }
}

static void audit_taxes(const ts_auditing *a)
{
    static const char *const others[] = {"all", "retained"};
    ts_names categories = {.count = 0};

    ts_names_list(&categories, TS_LIST_SECTION);
    ts_names_file(&categories, a, TS_BOOK_SERVICES);
    ts_names_words(&categories, others, TS_COUNT_OF(others), false);
    for (size_t i = 0; i < a->book->taxes.count; i++) {
        const ts_tax_row *row = &a->book->taxes.at[i];

        ts_audit_name(a, &categories, &row->head, "category", row->category,
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
    return ts_names_distinct(names, found);
}

static void audit_policy(const ts_auditing *a)
{
    static const char *const melee[] = {"melee"};
    const char *const *stages = NULL;
    const size_t stage_count = stages_of(&stages, a);
    ts_names priced = {.count = 0};
    ts_names spared = {.count = 0};
    ts_names kept = {.count = 0};

    ts_names_list(&priced, TS_LIST_SECTION);
    ts_names_file(&priced, a, TS_BOOK_MELEE);
    ts_names_file(&priced, a, TS_BOOK_STONES);
    ts_names_file(&priced, a, TS_BOOK_ALLOYS);
    ts_names_file(&priced, a, TS_BOOK_CRAFTS);
    ts_names_file(&priced, a, TS_BOOK_SERVICES);
    ts_names_words(&spared, melee, TS_COUNT_OF(melee), false);
    ts_names_file(&spared, a, TS_BOOK_MELEE);
    ts_names_words(&kept, stages, stage_count, true);
    for (size_t i = 0; i < a->book->policy.count; i++) {
        const ts_policy_row *row = &a->book->policy.at[i];

        if (ts_book_sets_price(row)) {
            ts_audit_name(a, &priced, &row->head, "subject", row->subject,
                          "section, lot, alloy, craft or service of these books");
        } else if (row->rule == TS_RULE_SPARES) {
            ts_audit_name(a, &spared, &row->head, "subject", row->subject, "lot of melee.csv");
        } else if (row->rule == TS_RULE_KEEP) {
            ts_audit_name(a, &kept, &row->head, "subject", row->subject, "stage of payment");
        }
    }
}

/* Papers are headed by the studio's name. */
static void audit_studio(const ts_auditing *a)
{
    if (ts_book_studio(a->book, "name", a->on) == NULL) {
        const ts_place place = {.file = a->book->text[TS_BOOK_STUDIO]->file, .line = 1};

        ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place,
                    "the studio's name is not said, which heads every paper; a row such as "
                    "name,Quillmere is expected");
    }
}

void ts_book_audit(const ts_book *book, ts_date on, ts_arena *arena, ts_diag *diag)
{
    const ts_auditing a = {book, on, arena, diag};

    audit_studio(&a);
    ts_audit_metals(&a);
    ts_audit_melee(&a);
    ts_audit_offers(&a);
    ts_audit_labour_steps(&a);
    ts_audit_ties(&a);
    audit_labour(&a);
    audit_taxes(&a);
    audit_policy(&a);
    ts_audit_tiers(&a);
    ts_audit_policy(&a);
    ts_audit_terms(&a);
    ts_audit_rules(&a);
    ts_audit_currencies(&a);
    ts_audit_counted(&a);
    ts_audit_crafts(&a);
    ts_audit_alloys(&a);
    ts_audit_regions(&a);
    ts_audit_accounts(&a);
    ts_audit_services(&a);
    ts_audit_leaps(&a);
    ts_audit_limits(&a);
}
