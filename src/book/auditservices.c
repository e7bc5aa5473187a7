#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

/* Services on the day: rows that nothing calls for, and services that a piece bears twice.
 *
 * A sheet that asks for a service takes the first of its rows in the file. A row that applies
 * by itself does so beside every other of its name. */

static ts_applies applies_of(const ts_service_row *row)
{
    return (ts_applies)ts_list_find(TS_LIST_APPLIES, row->applies);
}

/* Does it apply by itself, to some pieces alone? */
static bool is_bound(const ts_service_row *row)
{
    const ts_applies applies = applies_of(row);

    return applies == TS_APPLIES_NONE || applies == TS_APPLIES_CLIENT_STONE ||
           applies == TS_APPLIES_STUDIO_STONE;
}

static void add(const ts_auditing *a, const ts_service_row *row, const char *column,
                const char *sentence)
{
    ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, column, sentence);
}

static void audit_call(const ts_auditing *a, const ts_service_row *row)
{
    const ts_service_row *first = ts_book_service(a->book, row->service, a->on);
    const char *shown = ts_text_show(a->arena, row->service, 60);

    if (applies_of(row) == TS_APPLIES_NONE && ts_book_alloy(a->book, row->applies, a->on) == NULL) {
        add(a, row, "applies",
            ts_arena_format(
                a->arena, "alloys.csv has no row in force for \"%s\", so this row can never apply",
                ts_text_show(a->arena, row->applies, 60)));
    } else if (applies_of(row) == TS_APPLIES_OFFERED && row->basis != TS_BASIS_EACH) {
        add(a, row, "basis",
            ts_arena_format(a->arena,
                            "\"%s\" is offered, and a percentage has no price to print before it "
                            "is asked for; basis each is expected",
                            shown));
    } else if (applies_of(row) == TS_APPLIES_ASKED && first != row) {
        add(a, row, "service",
            ts_arena_format(
                a->arena,
                "a sheet that asks for \"%s\" takes its first row, line %d, so this one "
                "can never apply",
                shown, first->head.line));
    }
}

/* Of a service that always applies, other rows that apply by themselves come on top. */
static void audit_twice(const ts_auditing *a, const ts_service_row *row)
{
    ts_book_walk walk = ts_book_walk_of(a->book, TS_BOOK_SERVICES, row->service, a->on);

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_service_row *other = ts_book_typed(at);

        if (is_bound(other)) {
            const bool later = row->head.line > other->head.line;

            add(a, later ? row : other, "applies",
                ts_arena_format(a->arena,
                                "\"%s\" applies by line %d too, so that some pieces bear it twice; "
                                "keep one of them, or name them apart",
                                ts_text_show(a->arena, row->service, 60),
                                later ? other->head.line : row->head.line));
            return;
        }
    }
}

static void audit_part(const ts_auditing *a, const ts_service_row *row)
{
    char part[TS_DECIMAL_TEXT];

    if (row->basis != TS_BASIS_EACH && row->price.e6 > (int64_t)100 * 1000000) {
        add(a, row, "price",
            ts_arena_format(a->arena,
                            "%s %% is more than the whole that \"%s\" is a part of; less than 100 "
                            "%% is expected",
                            ts_dec_text(part, row->price),
                            ts_text_show(a->arena, row->service, 60)));
    }
}

void ts_audit_services(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_SERVICES, a->on);

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_service_row *row = ts_book_typed(at);

        audit_call(a, row);
        audit_part(a, row);
        if (applies_of(row) == TS_APPLIES_ALWAYS) {
            audit_twice(a, row);
        }
    }
}
