#include <tallystone/book/book.h>

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* Asking the books.
 *
 * Every answer is the row in force: of the rows of one key the one that began last among
 * those begun and not ended. Where the question is wider than a key (a size, an operation
 * with its stone and metal), rows that a later one of their own key has replaced are put
 * aside first, and the best of the others is taken. */

bool ts_book_in_force(const ts_book_row *row, ts_date on)
{
    const bool begun = !ts_date_given(row->from) || row->from.days <= on.days;

    return begun && (!ts_date_given(row->until) || on.days <= row->until.days);
}

ts_book_walk ts_book_walk_of(const ts_book *book, ts_book_file file, const char *name, ts_date on)
{
    size_t count = 0;
    const ts_book_row *const *named = ts_book_named(&count, book, file, name);
    const size_t first = named == NULL ? 0 : (size_t)(named - book->by_name[file]);

    return (ts_book_walk){book->by_name[file], book->key_end[file], first, first + count, on};
}

ts_book_walk ts_book_walk_all(const ts_book *book, ts_book_file file, ts_date on)
{
    return (ts_book_walk){book->by_name[file], book->key_end[file], 0,
                          ts_book_rows(book, file).count, on};
}

/* Rows of one key stand in order of their first day (none is the earliest), so the last of
 * them that is in force is the one. */
const ts_book_row *ts_book_walk_next(ts_book_walk *walk)
{
    while (walk->at < walk->end) {
        const size_t first = walk->at;

        walk->at = walk->key_end[first];
        for (size_t i = walk->at; i-- > first;) {
            if (ts_book_in_force(walk->rows[i], walk->on)) {
                return walk->rows[i];
            }
        }
    }
    return NULL;
}

bool ts_book_current(const ts_book *book, const ts_book_row *row, ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, row->file, ts_book_row_name(row), on);

    if (!ts_book_in_force(row, on)) {
        return false;
    }
    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        if (at == row) {
            return true;
        }
    }
    return false;
}

size_t ts_book_currents(const ts_book_row *const **out, ts_arena *arena, const ts_book *book,
                        ts_book_file file, ts_date on)
{
    ts_book_walk walk = ts_book_walk_all(book, file, on);
    const ts_book_row **rows = TS_ARRAY(arena, const ts_book_row *, walk.end + 1);
    size_t count = 0;

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        rows[count++] = row;
    }
    *out = rows;
    return count;
}

/* The row in force of a file whose key is the name alone. */
static const void *named_row(const ts_book *book, ts_book_file file, const char *name, ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, file, name, on);

    return ts_book_walk_next(&walk);
}

const char *ts_book_currency_column(ts_book_file file)
{
    return file == TS_BOOK_POLICY ? "unit" : "currency";
}

/* One that says nothing is none. */
const ts_studio_row *ts_book_studio_row(const ts_book *book, const char *field, ts_date on)
{
    const ts_studio_row *row = named_row(book, TS_BOOK_STUDIO, field, on);

    return row == NULL || row->value[0] == '\0' ? NULL : row;
}

const char *ts_book_studio(const ts_book *book, const char *field, ts_date on)
{
    const ts_studio_row *row = ts_book_studio_row(book, field, on);

    return row == NULL ? NULL : row->value;
}

const ts_metal_row *ts_book_metal(const ts_book *book, ts_metal_kind metal, ts_date on)
{
    return named_row(book, TS_BOOK_METALS, ts_list_word(TS_LIST_METAL, (int)metal), on);
}

bool ts_book_is_way(const ts_book *book, const char *what)
{
    static const char *const others[] = {"deposits", "receivable", "sales", "trade-in metal",
                                         "retained"};

    for (size_t i = 0; i < TS_COUNT_OF(others); i++) {
        if (strcmp(what, others[i]) == 0) {
            return false;
        }
    }
    for (size_t i = 0; i < book->taxes.count; i++) {
        if (ts_text_same(book->taxes.at[i].name, what)) {
            return false;
        }
    }
    return ts_text_after_word(what, "sales") == NULL;
}

const ts_alloy_row *ts_book_alloy(const ts_book *book, const char *alloy, ts_date on)
{
    return named_row(book, TS_BOOK_ALLOYS, alloy, on);
}

const ts_craft_row *ts_book_craft(const ts_book *book, const char *craft, ts_date on)
{
    return named_row(book, TS_BOOK_CRAFTS, craft, on);
}

/* The row of a lot whose step holds the size. */
static const void *step_row(const ts_book *book, ts_book_file file, const char *lot, ts_dec size,
                            ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, file, lot, on);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        ts_span span;

        ts_book_span(&span, row);
        if (span.from_e6 <= size.e6 && size.e6 < span.to_e6) {
            return row;
        }
    }
    return NULL;
}

const ts_melee_row *ts_book_melee(const ts_book *book, const char *lot, ts_dec size_mm, ts_date on)
{
    return step_row(book, TS_BOOK_MELEE, lot, size_mm, on);
}

const ts_offer_row *ts_book_offer(const ts_book *book, const char *lot, ts_dec carats, ts_date on)
{
    return step_row(book, TS_BOOK_STONES, lot, carats, on);
}

/* The keys of one lot stand in order of `from mm`. */
size_t ts_book_melee_steps(const ts_melee_row *const **out, ts_arena *arena, const ts_book *book,
                           const char *lot, ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_MELEE, lot, on);
    const ts_melee_row **steps = TS_ARRAY(arena, const ts_melee_row *, walk.end - walk.at + 1);
    size_t found = 0;

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        steps[found++] = (const ts_melee_row *)(const void *)row;
    }
    *out = steps;
    return found;
}

bool ts_book_has_alloy(const ts_book *book, const char *alloy)
{
    size_t count = 0;

    return ts_book_named(&count, book, TS_BOOK_ALLOYS, alloy) != NULL;
}

size_t ts_book_names(const char *const **out, ts_arena *arena, const ts_book *book,
                     ts_book_file file)
{
    const ts_book_row *const *rows = book->by_name[file];
    const size_t count = ts_book_rows(book, file).count;
    const char **names = TS_ARRAY(arena, const char *, count + 1);
    size_t found = 0;

    for (size_t i = 0; i < count; i++) {
        if (i == 0 || ts_book_compare_names(rows[i - 1], rows[i]) != 0) {
            names[found++] = ts_book_row_name(rows[i]);
        }
    }
    *out = names;
    return found;
}

static const ts_rate_row *rate_row(const ts_book *book, const char *from, const char *to,
                                   ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_RATES, from, on);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const ts_rate_row *rate = (const ts_rate_row *)(const void *)row;

        if (ts_text_same(rate->in, to)) {
            return rate;
        }
    }
    return NULL;
}

const ts_rate_row *ts_book_rate(const ts_book *book, const char *from, const char *to, ts_date on,
                                bool *inverse)
{
    const ts_rate_row *row = rate_row(book, from, to, on);

    *inverse = row == NULL;
    return row != NULL ? row : rate_row(book, to, from, on);
}

const ts_service_row *ts_book_service(const ts_book *book, const char *service, ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_SERVICES, service, on);
    const ts_book_row *first = NULL;

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        first = first == NULL || row->line < first->line ? row : first;
    }
    return (const ts_service_row *)(const void *)first;
}

const ts_policy_row *ts_book_policy(const ts_book *book, ts_rule rule, const char *subject,
                                    ts_date on)
{
    ts_book_walk walk = ts_book_walk_of(book, TS_BOOK_POLICY, subject, on);

    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        const ts_policy_row *policy = (const ts_policy_row *)(const void *)row;

        if (policy->rule == (int32_t)rule && !ts_book_given(row, "above")) {
            return policy;
        }
    }
    return NULL;
}

bool ts_book_sets_price(const ts_policy_row *row)
{
    return row->rule == TS_RULE_MARKUP || row->rule == TS_RULE_MARGIN ||
           row->rule == TS_RULE_AT_COST;
}

ts_metal_kind ts_alloy_main(const ts_alloy_row *alloy)
{
    static const struct {
        ts_metal_kind metal;
        int64_t least_e6; /* parts per thousand, in millionths */
    } sold_as[] = {
        {TS_METAL_PLATINUM, 500000000},
        {TS_METAL_GOLD, 333000000},
        {TS_METAL_PALLADIUM, 500000000},
    };
    ts_metal_kind most = TS_METAL_NONE;

    for (size_t i = 0; i < TS_COUNT_OF(sold_as); i++) {
        if (alloy->fineness[sold_as[i].metal].e6 >= sold_as[i].least_e6) {
            return sold_as[i].metal;
        }
    }
    for (int metal = 1; metal < TS_METAL_COUNT; metal++) {
        if (alloy->fineness[metal].e6 > alloy->fineness[most].e6) {
            most = (ts_metal_kind)metal;
        }
    }
    return most;
}
