#include "book/judge.h"

#include <tallystone/base/file.h>
#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* What loading judges beyond single cells: faults that make a row useless or the books
 * ambiguous. What is merely odd is the audit's matter.
 *
 * Rows with faults of their own are not in the book any more, so nothing is said twice;
 * what another file must hold is judged only where that file was read without a fault. */

#define MOST_SUGGESTED 200
#define PER_MILLE ((int64_t)1000 * 1000000)

void ts_book_fault(const ts_judging *j, ts_fault code, const ts_book_row *row, const char *column,
                   const char *sentence)
{
    const ts_place place = ts_book_place(j->book, j->arena, row, column);

    ts_diag_add(j->diag, code, &place, "%s", sentence);
}

/* The nearest word, for as many faults as are printed. */
static void suggest(const ts_judging *j, const char *typed, const char *const *words, size_t count)
{
    const int nearest =
        ts_diag_errors(j->diag) > MOST_SUGGESTED ? -1 : ts_nearest(typed, words, count);

    if (nearest >= 0) {
        ts_diag_hint(j->diag, "did you mean \"%s\"?", words[nearest]);
    }
}

/* ---- every file ---- */

static void judge_twice(const ts_judging *j, ts_book_file file)
{
    const ts_book_row *const *rows = j->book->by_name[file];
    const size_t *key_end = j->book->key_end[file];
    const size_t count = ts_book_rows(j->book, file).count;

    for (size_t i = 1; i < count; i++) {
        const ts_book_row *one = rows[i - 1];

        if (i < key_end[i - 1] && one->from.days == rows[i]->from.days) {
            ts_book_fault(j, TS_FAULT_BOOK_TWICE, rows[i], NULL,
                          ts_arena_format(j->arena,
                                          "line %d has the same key (%s) and the same first day; "
                                          "keep one, or give this one a later `from`",
                                          one->line,
                                          ts_text_show(j->arena, ts_book_row_name(one), 60)));
        }
    }
}

static void judge_days(const ts_judging *j, const ts_book_row *row)
{
    char from[TS_DATE_TEXT];
    char until[TS_DATE_TEXT];

    if (!ts_date_given(row->from) || !ts_date_given(row->until) ||
        row->from.days <= row->until.days) {
        return;
    }
    ts_book_fault(j, TS_FAULT_BOOK_ROW, row, "until",
                  ts_arena_format(j->arena,
                                  "until %s is before from %s; the last day must not come before "
                                  "the first",
                                  ts_date_text(until, row->until), ts_date_text(from, row->from)));
}

static void judge_span(const ts_judging *j, const ts_book_row *row)
{
    ts_span span;
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];
    const char *unit = row->file == TS_BOOK_STONES ? "ct" : "mm";

    if (!ts_book_span(&span, row) || span.from_e6 < span.to_e6) {
        return;
    }
    ts_book_fault(j, TS_FAULT_BOOK_ROW, row, ts_arena_format(j->arena, "to %s", unit),
                  ts_arena_format(j->arena,
                                  "from %s to %s %s holds no size; `to`, which is not included, "
                                  "must be over `from`",
                                  ts_dec_text(from, (ts_dec){span.from_e6}),
                                  ts_dec_text(to, (ts_dec){span.to_e6}), unit));
}

static void judge_file(const ts_judging *j, ts_book_file file)
{
    const ts_book_slice rows = ts_book_rows(j->book, file);

    for (size_t i = 0; i < rows.count; i++) {
        judge_days(j, ts_book_row_at(&rows, i));
        judge_span(j, ts_book_row_at(&rows, i));
    }
    judge_twice(j, file);
}

/* ---- the studio ---- */

static const char *const studio_fields[] = {
    "name",  "address",  "place", "registration number", "tax number", "telephone",
    "email", "currency", "paper", "quote detail",        "logo",       "terms",
};

const char *const *ts_book_studio_fields(size_t *count)
{
    *count = TS_COUNT_OF(studio_fields);
    return studio_fields;
}

static void judge_studio_word(const ts_judging *j, const ts_studio_row *row, ts_list list)
{
    char words[160];
    size_t count = 0;
    const char *const *known = ts_list_words(list, &count);

    if (row->value[0] == '\0' || ts_list_find(list, row->value) != 0) {
        return;
    }
    ts_list_sentence(list, words, sizeof words);
    ts_book_fault(j, TS_FAULT_WORD_UNKNOWN, &row->head, "value",
                  ts_arena_format(j->arena, "%s \"%s\" is not known; %s is expected", row->field,
                                  ts_text_show(j->arena, row->value, 60), words));
    suggest(j, row->value, known, count);
}

static void judge_studio_file(const ts_judging *j, const ts_studio_row *row)
{
    if (row->value[0] != '\0' && !ts_file_plain_name(row->value)) {
        ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, "value",
                      ts_arena_format(j->arena,
                                      "%s \"%s\" is no plain file name; a file in the books' own "
                                      "folder is expected",
                                      row->field, ts_text_show(j->arena, row->value, 60)));
    }
}

static void judge_studio_row(const ts_judging *j, const ts_studio_row *row)
{
    size_t known = 0;

    while (known < TS_COUNT_OF(studio_fields) && strcmp(studio_fields[known], row->field) != 0) {
        known++;
    }
    if (known == TS_COUNT_OF(studio_fields)) {
        ts_book_fault(j, TS_FAULT_WORD_UNKNOWN, &row->head, "field",
                      ts_arena_format(j->arena,
                                      "\"%s\" is nothing that is said of a studio; "
                                      "`tallystone help studio.csv` lists what is",
                                      ts_text_show(j->arena, row->field, 60)));
        suggest(j, row->field, studio_fields, TS_COUNT_OF(studio_fields));
    } else if (strcmp(row->field, "paper") == 0) {
        judge_studio_word(j, row, TS_LIST_PAPER);
    } else if (strcmp(row->field, "quote detail") == 0) {
        judge_studio_word(j, row, TS_LIST_DETAIL);
    } else if (strcmp(row->field, "logo") == 0 || strcmp(row->field, "terms") == 0) {
        judge_studio_file(j, row);
    }
}

/* The code in capitals, or NULL with a fault. */
static const char *code_of(const ts_judging *j, const ts_studio_row *row)
{
    char code[4] = "";

    for (size_t i = 0; i < 3 && row->value[i] != '\0'; i++) {
        const char c = row->value[i];
        code[i] = (char)(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
    }
    if (strlen(row->value) == 3 && ts_currency_exponent(code) >= 0) {
        return ts_arena_text(j->arena, code);
    }
    ts_book_fault(j, TS_FAULT_CURRENCY, &row->head, "value",
                  ts_arena_format(j->arena,
                                  "\"%s\" is no ISO 4217 currency that can be priced in; three "
                                  "letters such as EUR are expected",
                                  ts_text_show(j->arena, row->value, 60)));
    return NULL;
}

const char *ts_book_judge_studio(const ts_judging *j)
{
    const char *currency = NULL;
    const ts_studio_row *first = NULL;

    for (size_t i = 0; i < j->book->studio.count; i++) {
        const ts_studio_row *row = &j->book->studio.at[i];

        judge_studio_row(j, row);
        if (strcmp(row->field, "currency") != 0) {
            continue;
        }
        const char *code = code_of(j, row);
        if (first == NULL) {
            first = row;
            currency = code;
        } else if (code != NULL && currency != NULL && strcmp(code, currency) != 0) {
            ts_book_fault(j, TS_FAULT_CURRENCY, &row->head, "value",
                          ts_arena_format(j->arena,
                                          "the studio's currency cannot change: line %d says %s",
                                          first->head.line, currency));
        }
    }
    if (first == NULL && !j->faulty[TS_BOOK_STUDIO]) {
        const ts_place place = {.file = j->book->text[TS_BOOK_STUDIO]->file, .line = 1};

        ts_diag_add(j->diag, TS_FAULT_CURRENCY, &place,
                    "the studio's currency is not said; a row such as currency,EUR is expected");
    }
    return currency;
}

/* ---- single files ---- */

static void judge_alloy(const ts_judging *j, const ts_alloy_row *row)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec sum = {0};

    for (int metal = 1; metal < TS_METAL_COUNT; metal++) {
        sum.e6 += row->fineness[metal].e6; /* each at most 1000 */
    }
    if (sum.e6 > PER_MILLE) {
        ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, NULL,
                      ts_arena_format(j->arena,
                                      "the metals of \"%s\" add up to %s parts per thousand; "
                                      "at most 1000 is expected",
                                      ts_text_show(j->arena, row->alloy, 60),
                                      ts_dec_text(text, sum)));
    }
}

static void judge_alloys(const ts_judging *j)
{
    for (size_t i = 0; i < j->book->alloys.count; i++) {
        judge_alloy(j, &j->book->alloys.at[i]);
    }
}

static void judge_rates(const ts_judging *j)
{
    for (size_t i = 0; i < j->book->rates.count; i++) {
        const ts_rate_row *row = &j->book->rates.at[i];

        if (strcmp(row->currency, row->in) == 0) {
            ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, "in",
                          ts_arena_format(j->arena,
                                          "%s is turned into itself; another currency "
                                          "is expected",
                                          row->in));
        }
    }
}

/* Of two columns one must be filled and only one. */
static bool judge_either(const ts_judging *j, const ts_book_row *row, const char *one,
                         const char *other)
{
    const bool has_one = ts_book_given(row, one);
    const bool has_other = ts_book_given(row, other);

    if (has_one == has_other) {
        ts_book_fault(j, TS_FAULT_BOOK_ROW, row, has_one ? other : NULL,
                      ts_arena_format(j->arena,
                                      has_one ? "both %s and %s are given; one of them is expected"
                                              : "neither %s nor %s is given; one of them is "
                                                "expected",
                                      one, other));
    }
    return has_one != has_other;
}

static void judge_stones(const ts_judging *j)
{
    for (size_t i = 0; i < j->book->offers.count; i++) {
        judge_either(j, &j->book->offers.at[i].head, "price per ct", "price each");
    }
}

static bool has_craft(const ts_book *book, const char *craft)
{
    size_t count = 0;

    return ts_book_named(&count, book, TS_BOOK_CRAFTS, craft) != NULL;
}

static void judge_craft(const ts_judging *j, const ts_labour_row *row, const char *const *crafts,
                        size_t count)
{
    if (j->faulty[TS_BOOK_CRAFTS] || has_craft(j->book, row->craft)) {
        return;
    }
    ts_book_fault(j, TS_FAULT_NAME_UNKNOWN, &row->head, "craft",
                  ts_arena_format(j->arena, "no craft \"%s\" is in crafts.csv",
                                  ts_text_show(j->arena, row->craft, 60)));
    suggest(j, row->craft, crafts, count);
}

/* By the minute or by the piece: what belongs to the other would be passed over. */
static void judge_pay(const ts_judging *j, const ts_labour_row *row)
{
    if (!judge_either(j, &row->head, "minutes each", "price each")) {
        return;
    }
    const bool bought = ts_book_given(&row->head, "price each");
    if (bought && row->setup_minutes.e6 != 0) {
        ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, "set-up minutes",
                      "set-up minutes go with minutes each; this row is bought in by the piece");
    }
    if (!bought && row->minimum.e6 != 0) {
        ts_book_fault(
            j, TS_FAULT_BOOK_ROW, &row->head, "minimum",
            "a minimum goes with price each; this row is in minutes, at the craft's rate");
    }
}

static void judge_labour(const ts_judging *j)
{
    const char *const *crafts = NULL;
    const size_t craft_count = ts_book_names(&crafts, j->arena, j->book, TS_BOOK_CRAFTS);

    for (size_t i = 0; i < j->book->labour.count; i++) {
        const ts_labour_row *row = &j->book->labour.at[i];

        judge_pay(j, row);
        judge_craft(j, row, crafts, craft_count);
        if (row->applies != TS_APPLIES_ALWAYS && row->applies != TS_APPLIES_ASKED) {
            ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, "applies",
                          ts_arena_format(j->arena,
                                          "\"%s\" is for services; of an operation always or "
                                          "asked is expected",
                                          ts_list_word(TS_LIST_APPLIES, row->applies)));
        }
    }
}

static void judge_services(const ts_judging *j)
{
    size_t word_count = 0;
    const char *const *words = ts_list_words(TS_LIST_APPLIES, &word_count);
    const char *const *alloys = NULL;
    const size_t alloy_count = ts_book_names(&alloys, j->arena, j->book, TS_BOOK_ALLOYS);

    for (size_t i = 0; i < j->book->services.count && !j->faulty[TS_BOOK_ALLOYS]; i++) {
        const ts_service_row *row = &j->book->services.at[i];

        if (ts_list_find(TS_LIST_APPLIES, row->applies) != 0 ||
            ts_book_has_alloy(j->book, row->applies)) {
            continue;
        }
        ts_book_fault(j, TS_FAULT_NAME_UNKNOWN, &row->head, "applies",
                      ts_arena_format(j->arena,
                                      "\"%s\" is neither a word of `applies` nor an alloy of "
                                      "alloys.csv; always, asked, offered, client stone, studio "
                                      "stone or an alloy is expected",
                                      ts_text_show(j->arena, row->applies, 60)));
        if (ts_nearest(row->applies, words, word_count) >= 0) {
            suggest(j, row->applies, words, word_count);
        } else {
            suggest(j, row->applies, alloys, alloy_count);
        }
    }
}

static void judge_limits(const ts_judging *j)
{
    char least[TS_DECIMAL_TEXT];
    char most[TS_DECIMAL_TEXT];

    for (size_t i = 0; i < j->book->limits.count; i++) {
        const ts_limit_row *row = &j->book->limits.at[i];

        if (ts_book_given(&row->head, "least") && ts_book_given(&row->head, "most") &&
            row->least.e6 > row->most.e6) {
            ts_book_fault(j, TS_FAULT_BOOK_ROW, &row->head, "most",
                          ts_arena_format(j->arena,
                                          "least %s is over most %s, which no measurement meets; "
                                          "exchange them or mend one",
                                          ts_dec_text(least, row->least),
                                          ts_dec_text(most, row->most)));
        }
    }
}

void ts_book_judge(const ts_judging *j)
{
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        judge_file(j, (ts_book_file)file);
    }
    judge_alloys(j);
    judge_rates(j);
    judge_stones(j);
    judge_labour(j);
    judge_services(j);
    judge_limits(j);
    ts_book_judge_crowds(j);
    ts_book_judge_steps(j);
    ts_book_judge_policy(j);
}

void ts_book_judge_row(const ts_judging *j, const ts_book_row *row)
{
    if (row->file == TS_BOOK_ALLOYS) {
        judge_alloy(j, ts_book_typed(row));
    } else if (row->file == TS_BOOK_POLICY) {
        ts_book_judge_rule(j, ts_book_typed(row));
    }
}
