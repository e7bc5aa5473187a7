#include "book/auditing.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Prices on the day that hardly can be meant: far from the row that they take over from, far
 * from the step beside them, nothing at all; and lots of which a row is of another stone.
 *
 * Metals have a rule of the policy for their leaps. For all else a decimal point that stands one
 * place off is what is looked for: how far honest prices go is common practice. */

static const struct {
    ts_book_file file;
    const char *column;
    int factor; /* up to so many hundredths, or down by as much, is let be */
    const char *usual;
} prices[] = {
    {TS_BOOK_RATES, "rate", 125, "up or down by a quarter"},
    {TS_BOOK_MELEE, "price per ct", 200, "doubled or halved"},
    {TS_BOOK_STONES, "price per ct", 200, "doubled or halved"},
    {TS_BOOK_STONES, "price each", 200, "doubled or halved"},
    {TS_BOOK_LABOUR, "minutes each", 200, "doubled or halved"},
    {TS_BOOK_LABOUR, "price each", 200, "doubled or halved"},
    {TS_BOOK_CRAFTS, "rate per hour", 200, "doubled or halved"},
    {TS_BOOK_SERVICES, "price", 200, "doubled or halved"},
    {TS_BOOK_ALLOYS, "premium", 300, "three times as much or a third"},
};

static int64_t number_of(const ts_book_row *row, const ts_field *field)
{
    return ((const ts_dec *)(const void *)((const char *)row + field->offset))->e6;
}

static const char *currency_of(const ts_auditing *a, const ts_book_row *row)
{
    const ts_field *field = ts_book_field(row->file, "currency");
    const char *currency = NULL;

    if (field != NULL) {
        currency = *(const char *const *)(const void *)((const char *)row + field->offset);
    }
    return currency == NULL ? a->book->currency : currency;
}

/* Is one number more than so many hundredths of the other, whichever is larger? */
static bool is_far(int64_t one, int64_t other, int factor)
{
    const ts_i128 larger = one > other ? one : other;
    const ts_i128 smaller = one > other ? other : one;

    return smaller > 0 && larger * 100 > smaller * factor;
}

/* ---- from row to row ---- */

/* Of the rows of one key, first to end, the last that is in force on a day; NULL for none. */
static const ts_book_row *row_on(const ts_book_row *const *rows, size_t first, size_t end,
                                 ts_date on)
{
    while (end > first && !ts_book_in_force(rows[end - 1], on)) {
        end--;
    }
    return end > first ? rows[end - 1] : NULL;
}

static bool audit_leap(const ts_auditing *a, size_t price, const ts_book_row *was,
                       const ts_book_row *now)
{
    const ts_field *field = ts_book_field(now->file, prices[price].column);
    const int64_t before = number_of(was, field);
    const int64_t after = number_of(now, field);
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    if (!is_far(before, after, prices[price].factor) ||
        !ts_text_same(currency_of(a, was), currency_of(a, now))) {
        return false;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, now, prices[price].column,
                 ts_arena_format(a->arena,
                                 "\"%s\": %s went from %s in line %d to %s; %s at most is expected",
                                 ts_text_show(a->arena, ts_book_row_name(now), 60),
                                 prices[price].column, ts_dec_text(from, (ts_dec){before}),
                                 was->line, ts_dec_text(to, (ts_dec){after}), prices[price].usual));
    return true;
}

/* One warning a name: where a whole list slipped, its first row tells. */
static void audit_leaps(const ts_auditing *a, size_t price)
{
    const ts_book_file file = prices[price].file;
    const ts_book_row *const *rows = a->book->by_name[file];
    const size_t *key_end = a->book->key_end[file];
    const size_t count = ts_book_rows(a->book, file).count;
    const ts_book_row *said = NULL;

    for (size_t first = 0; first < count; first = key_end[first]) {
        const ts_book_row *now = row_on(rows, first, key_end[first], a->on);
        const ts_book_row *was = NULL;

        if (now != NULL && ts_date_given(now->from)) {
            was = row_on(rows, first, key_end[first], ts_date_plus(now->from, -1));
        }
        if (was != NULL && (said == NULL || ts_book_compare_names(said, now) != 0) &&
            audit_leap(a, price, was, now)) {
            said = now;
        }
    }
}

/* ---- from step to step ---- */

#define TEN_TIMES 1000

/* One warning a lot: of two steps far apart nobody knows which is wrong. */
static void audit_steps(const ts_auditing *a, ts_book_file file)
{
    const ts_field *field = ts_book_field(file, "price per ct");
    ts_book_walk walk = ts_book_walk_all(a->book, file, a->on);
    const ts_book_row *before = NULL;
    const ts_book_row *said = NULL;
    char here[TS_DECIMAL_TEXT];
    char there[TS_DECIMAL_TEXT];

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL; before = row) {
        if (before == NULL || ts_book_compare_names(before, row) != 0 ||
            (said != NULL && ts_book_compare_names(said, row) == 0) ||
            !ts_text_same(currency_of(a, before), currency_of(a, row)) ||
            !is_far(number_of(before, field), number_of(row, field), TEN_TIMES)) {
            continue;
        }
        said = row;
        ts_audit_add(
            a, TS_FAULT_BOOK_ODD, row, "price per ct",
            ts_arena_format(a->arena,
                            "\"%s\" costs %s a ct here and %s in the step below (line %d); "
                            "less than ten times as much is expected",
                            ts_text_show(a->arena, ts_book_row_name(row), 60),
                            ts_dec_text(here, (ts_dec){number_of(row, field)}),
                            ts_dec_text(there, (ts_dec){number_of(before, field)}), before->line));
    }
}

/* ---- for nothing ---- */

static void audit_free(const ts_auditing *a, ts_book_file file, const char *column,
                       const char *what)
{
    const ts_field *field = ts_book_field(file, column);
    ts_book_walk walk = ts_book_walk_all(a->book, file, a->on);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        if (ts_book_given(row, column) && number_of(row, field) == 0) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, row, column,
                         ts_arena_format(a->arena, "%s of 0 gives \"%s\" away", what,
                                         ts_text_show(a->arena, ts_book_row_name(row), 60)));
        }
    }
}

/* ---- lots of one stone ---- */

static const char *word_of(const ts_book_row *row, const ts_field *field)
{
    const void *member = (const char *)row + field->offset;

    return field->kind == TS_KIND_WORD ? ts_list_word(field->list, *(const int32_t *)member)
                                       : *(const char *const *)member;
}

static void audit_mixed(const ts_auditing *a, ts_book_file file, const char *column)
{
    const ts_field *field = ts_book_field(file, column);
    ts_book_walk walk = ts_book_walk_all(a->book, file, a->on);
    const ts_book_row *first = NULL;
    bool said = false;

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        if (first == NULL || ts_book_compare_names(first, row) != 0) {
            first = row;
            said = false;
        } else if (!said && !ts_text_same(word_of(first, field), word_of(row, field))) {
            said = true;
            ts_audit_add(a, TS_FAULT_BOOK_ODD, row, column,
                         ts_arena_format(a->arena,
                                         "\"%s\" is %s here and %s in line %d; a lot of one %s is "
                                         "expected, for papers name it",
                                         ts_text_show(a->arena, ts_book_row_name(row), 60),
                                         ts_text_show(a->arena, word_of(row, field), 60),
                                         ts_text_show(a->arena, word_of(first, field), 60),
                                         first->line, column));
        }
    }
}

/* Species are open, so only a slip of a known one is told, once a lot. */
static void audit_species(const ts_auditing *a, ts_book_file file)
{
    const ts_field *field = ts_book_field(file, "species");
    ts_book_walk walk = ts_book_walk_all(a->book, file, a->on);
    const ts_book_row *last = NULL;
    size_t count = 0;
    const char *const *words = ts_list_words(TS_LIST_SPECIES, &count);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const char *species = word_of(row, field);
        const bool again = last != NULL && ts_book_compare_names(last, row) == 0 &&
                           ts_text_same(word_of(last, field), species);
        int nearest = -1;

        last = row;
        if (!again && ts_list_find(TS_LIST_SPECIES, species) == 0) {
            nearest = ts_nearest(species, words, count);
        }
        if (nearest >= 0) {
            ts_audit_add(a, TS_FAULT_BOOK_ODD, row, "species",
                         ts_arena_format(a->arena,
                                         "\"%s\" is no species whose weight is known by measure; "
                                         "as it stands it is printed so",
                                         ts_text_show(a->arena, species, 60)));
            ts_diag_hint(a->diag, "did you mean \"%s\"?", words[nearest]);
        }
    }
}

void ts_audit_leaps(const ts_auditing *a)
{
    static const ts_book_file lots[] = {TS_BOOK_MELEE, TS_BOOK_STONES};
    static const char *const columns[] = {"species", "shape", "origin"};

    for (size_t i = 0; i < TS_COUNT_OF(prices); i++) {
        audit_leaps(a, i);
    }
    for (size_t i = 0; i < TS_COUNT_OF(lots); i++) {
        audit_steps(a, lots[i]);
        audit_free(a, lots[i], "price per ct", "a price");
        audit_species(a, lots[i]);
        for (size_t k = 0; k < TS_COUNT_OF(columns); k++) {
            audit_mixed(a, lots[i], columns[k]);
        }
    }
    audit_free(a, TS_BOOK_STONES, "price each", "a price");
    audit_free(a, TS_BOOK_CRAFTS, "rate per hour", "a rate");
}
