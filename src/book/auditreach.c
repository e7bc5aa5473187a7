#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <stdlib.h>
#include <string.h>

/* What a row in force needs of another file, on the day: the hour of its craft, the price of
 * its metals, a tax for all that a region sells, an account for all that is posted. A sheet
 * would meet the gap only when it is priced, or the bookkeeper at the month's end. */

/* ---- crafts ---- */

static int by_craft(const void *one, const void *other)
{
    const ts_labour_row *left = *(const ts_labour_row *const *)one;
    const ts_labour_row *right = *(const ts_labour_row *const *)other;
    const int order = strcmp(left->craft, right->craft);

    return order != 0 ? order : (left > right) - (left < right);
}

static int by_word(const void *word, const void *row)
{
    const ts_labour_row *labour = *(const ts_labour_row *const *)row;

    return strcmp(word, labour->craft);
}

static void audit_idle(const ts_auditing *a, const ts_labour_row *const *rows, size_t count)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_CRAFTS, a->on);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const char *craft = ts_book_row_name(row);

        if (bsearch(craft, rows, count, sizeof *rows, by_word) == NULL) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, row, "craft",
                         ts_arena_format(a->arena,
                                         "no row of labour.csv in force is done by \"%s\", so this "
                                         "row can never apply",
                                         ts_text_show(a->arena, craft, 60)));
        }
    }
}

void ts_audit_crafts(const ts_auditing *a)
{
    const ts_labour_row **rows =
        TS_ARRAY(a->arena, const ts_labour_row *, a->book->labour.count + 1);
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_LABOUR, a->on);
    size_t count = 0;

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        rows[count++] = ts_book_typed(row);
    }
    qsort(rows, count, sizeof *rows, by_craft);
    for (size_t i = 0; i < count; i++) {
        const bool first = i == 0 || strcmp(rows[i - 1]->craft, rows[i]->craft) != 0;

        if (first && ts_book_craft(a->book, rows[i]->craft, a->on) == NULL) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, &rows[i]->head, "craft",
                         ts_arena_format(a->arena,
                                         "crafts.csv has no row in force for \"%s\", so that its "
                                         "hours cannot be priced",
                                         ts_text_show(a->arena, rows[i]->craft, 60)));
        }
    }
    audit_idle(a, rows, count);
}

/* ---- alloys ---- */

/* One warning a metal, at the first alloy that needs its price. */
static void audit_prices(const ts_auditing *a, const ts_alloy_row *row, bool *said)
{
    for (int metal = TS_METAL_GOLD; metal <= TS_METAL_SILVER; metal++) {
        const char *word = ts_list_word(TS_LIST_METAL, metal);

        if (row->fineness[metal].e6 > 0 && !said[metal] &&
            ts_book_metal(a->book, (ts_metal_kind)metal, a->on) == NULL) {
            said[metal] = true;
            ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, word,
                         ts_arena_format(a->arena,
                                         "metals.csv has no price of %s in force, so that \"%s\" "
                                         "cannot be priced",
                                         word, ts_text_show(a->arena, row->alloy, 60)));
        }
    }
}

/* The three digits of a fineness mark, in parts per thousand; 0 where it has others. */
static int marked(const char *mark)
{
    const char *digit = mark + strcspn(mark, "0123456789");
    int parts = 0;
    int count = 0;

    for (; *digit >= '0' && *digit <= '9'; digit++, count++) {
        parts = count < 3 ? parts * 10 + (*digit - '0') : parts;
    }
    return count == 3 ? parts : 0;
}

/* A mark promises at least its parts per thousand; laws on hallmarks let nothing be wanting. */
static void audit_mark(const ts_auditing *a, const ts_alloy_row *row)
{
    const ts_metal_kind metal = ts_alloy_main(row);
    const int parts = marked(row->mark);
    char is[TS_DECIMAL_TEXT];

    if (metal != TS_METAL_NONE && (int64_t)parts * 1000000 > row->fineness[metal].e6) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "mark",
                     ts_arena_format(a->arena,
                                     "\"%s\" is marked %s, and holds %s parts per thousand of %s; "
                                     "at least %d is expected",
                                     ts_text_show(a->arena, row->alloy, 60),
                                     ts_text_show(a->arena, row->mark, 20),
                                     ts_dec_text(is, row->fineness[metal]),
                                     ts_list_word(TS_LIST_METAL, (int)metal), parts));
    }
}

/* The client's old metal goes to the refiner, whose part of it is known. */
static void audit_payout(const ts_auditing *a, const ts_alloy_row *row)
{
    char given[TS_DECIMAL_TEXT];
    char got[TS_DECIMAL_TEXT];

    if (ts_book_given(&row->head, "recovery") && row->scrap_payout.e6 > row->recovery.e6) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "scrap payout",
                     ts_arena_format(a->arena,
                                     "%s %% is given for old \"%s\", of which a refiner pays %s %% "
                                     "(recovery); no more than that is expected",
                                     ts_dec_text(given, row->scrap_payout),
                                     ts_text_show(a->arena, row->alloy, 60),
                                     ts_dec_text(got, row->recovery)));
    }
}

void ts_audit_alloys(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_ALLOYS, a->on);
    bool said[TS_METAL_COUNT] = {false};

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_alloy_row *row = ts_book_typed(at);

        audit_prices(a, row, said);
        audit_mark(a, row);
        audit_payout(a, row);
    }
}

/* ---- taxes ---- */

typedef struct region {
    const ts_tax_row *first; /* in the file */
    bool all, retained;
    bool sections[TS_SECTION_COUNT];
} region;

static void judge_region(const ts_auditing *a, const region *r)
{
    const char *missing = "";

    for (int s = 1; s < TS_SECTION_COUNT && !r->all; s++) {
        if (!r->sections[s]) {
            missing = ts_text_joined(a->arena, missing, ", ", ts_list_word(TS_LIST_SECTION, s));
        }
    }
    if (missing[0] != '\0') {
        ts_audit_add(
            a, TS_FAULT_BOOK_ODD, &r->first->head, "region",
            ts_arena_format(a->arena,
                            "\"%s\" has no row in force for: %s; what is sold there cannot "
                            "be priced (a row for all is expected, of 0 %% where nothing "
                            "is due)",
                            ts_text_show(a->arena, r->first->region, 60), missing));
    }
    if (!r->retained) {
        ts_audit_add(a, TS_FAULT_BOOK_ODD, &r->first->head, "region",
                     ts_arena_format(a->arena,
                                     "\"%s\" has no row in force for retained, which what is kept "
                                     "of a cancelled order needs (0 %% where no tax is due on it)",
                                     ts_text_show(a->arena, r->first->region, 60)));
    }
}

void ts_audit_regions(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_TAXES, a->on);
    region r = {.first = NULL};

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_tax_row *row = ts_book_typed(at);

        if (r.first != NULL && strcmp(r.first->region, row->region) != 0) {
            judge_region(a, &r);
            r = (region){.first = NULL};
        }
        r.first = r.first == NULL || row->head.line < r.first->head.line ? row : r.first;
        r.all = r.all || strcmp(row->category, "all") == 0;
        r.retained = r.retained || strcmp(row->category, "retained") == 0;
        r.sections[ts_list_find(TS_LIST_SECTION, row->category)] = true;
    }
    if (r.first != NULL) {
        judge_region(a, &r);
    }
}

/* ---- accounts ---- */

#define MOST_NAMED 12

/* Names that nothing is there for, as many as a sentence bears. */
typedef struct missing {
    const char *text;
    size_t count;
} missing;

static void look_for_account(const ts_auditing *a, missing *m, const char *what)
{
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_ACCOUNTS, what, a->on);

    if (ts_book_walk_next(&walk) != NULL || ++m->count > MOST_NAMED) {
        return;
    }
    m->text = ts_text_joined(a->arena, m->text, ", ", ts_text_show(a->arena, what, 60));
}

/* The names of the taxes in force that come to something, or of all there are; each once. */
static size_t taxes_of(const char *const **out, const ts_auditing *a, bool all)
{
    const char **names = TS_ARRAY(a->arena, const char *, a->book->taxes.count + 1);
    size_t count = 0;

    for (size_t i = 0; i < a->book->taxes.count; i++) {
        const ts_tax_row *row = &a->book->taxes.at[i];

        if (all || (row->rate.e6 > 0 && ts_book_in_force(&row->head, a->on))) {
            names[count++] = all ? ts_text_fold(a->arena, row->name) : row->name;
        }
    }
    *out = names;
    return ts_names_distinct(names, count);
}

static void audit_sales(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_ACCOUNTS, a->on);
    ts_names sold = {.count = 0};
    ts_names taxes = {.count = 0}; /* "sales tax" is no kind of sale */
    const char *const *names = NULL;
    const size_t count = taxes_of(&names, a, true);

    ts_names_words(&taxes, names, count, true);
    ts_names_list(&sold, TS_LIST_SECTION);
    ts_names_file(&sold, a, TS_BOOK_SERVICES);
    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const char *what = ts_book_row_name(row);
        const char *category = ts_text_after_word(what, "sales");

        if (category != NULL && !ts_names_has(&taxes, what)) {
            ts_audit_name(a, &sold, row, "what", category,
                          "section and no service of services.csv");
        }
    }
}

void ts_audit_accounts(const ts_auditing *a)
{
    static const char *const posted[] = {"deposits", "receivable", "sales", "retained"};
    const char *const *taxes = NULL;
    missing m = {"", 0};

    if (a->book->accounts.count == 0) {
        return; /* a studio that keeps its books elsewhere */
    }
    for (size_t i = 0; i < TS_COUNT_OF(posted); i++) {
        look_for_account(a, &m, posted[i]);
    }
    const size_t count = taxes_of(&taxes, a, false);
    for (size_t i = 0; i < count; i++) {
        look_for_account(a, &m, taxes[i]);
    }
    if (m.count > 0) {
        const ts_place place = {.file = a->book->text[TS_BOOK_ACCOUNTS]->file, .line = 1};

        ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place,
                    "no row in force for: %s%s; the bookkeeper's journal posts to them", m.text,
                    m.count > MOST_NAMED ? " and others" : "");
    }
    audit_sales(a);
}
