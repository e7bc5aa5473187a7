/* What a piece takes, written into records and read back; what no record of ours says is refused,
 * for a damaged file may say anything. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>

#include "register/needs.h"

#include "piece.h"

static piece counted(const char *path)
{
    piece p = piece_read(path, 0, "pricebooks");
    piece_measure(&p, true);
    piece_count(&p);
    return p;
}

static bool takes(piece *p, ts_need_kind kind, const char *record)
{
    ts_quantities *needs = TS_NEW(p->arena, ts_quantities);
    return ts_needs_take(needs, p->arena, ts_need_kind_word(kind), 0,
                         ts_arena_text(p->arena, record));
}

/* The record with its n-th field, counted from 0, replaced. */
static const char *with(piece *p, const char *record, int n, const char *field)
{
    const char *from = record;
    for (int i = 0; i < n; i++) {
        from = strchr(from, '\t');
        assert_non_null(from);
        from++;
    }
    return ts_arena_format(p->arena, "%.*s%s%s", (int)(from - record), record, field,
                           from + strcspn(from, "\t"));
}

static void every_record_reads_back_as_it_was_written(void **state)
{
    piece p = counted("demo/halo.csv");
    (void)state;
    ts_quantities *needs = TS_NEW(p.arena, ts_quantities);
    for (int kind = 0; kind < TS_NEED_KIND_COUNT; kind++) {
        for (int no = 0; no < ts_needs_count(p.quantities, (ts_need_kind)kind); no++) {
            const char *record = ts_need_record(p.arena, p.quantities, (ts_need_kind)kind, no);
            assert_true(ts_needs_take(needs, p.arena, ts_need_kind_word((ts_need_kind)kind), no,
                                      ts_arena_text(p.arena, record)));
            assert_string_equal(ts_need_record(p.arena, needs, (ts_need_kind)kind, no), record);
        }
    }
    piece_close(&p);
}

/* Fields are counted as needs.def has them; an amount and a whence are three each. */
static void a_field_that_stands_for_nothing_is_refused(void **state)
{
    static const struct {
        ts_need_kind kind;
        int field;
        const char *says;
        bool well;
    } cases[] = {
        {TS_NEED_KIND_TERMS, 0, "\\N", false},  {TS_NEED_KIND_TERMS, 0, "R", true},
        {TS_NEED_KIND_TERMS, 3, "\\N", false},  {TS_NEED_KIND_TERMS, 4, "4", true},
        {TS_NEED_KIND_TERMS, 4, "5", false},    {TS_NEED_KIND_TERMS, 4, "-1", false},
        {TS_NEED_KIND_TERMS, 9, "\\N", false},  {TS_NEED_KIND_TERMS, 11, "5", true},
        {TS_NEED_KIND_TERMS, 11, "6", false},   {TS_NEED_KIND_TERMS, 11, "-1", false},
        {TS_NEED_KIND_METAL, 0, "\\N", false},  {TS_NEED_KIND_METAL, 1, "", false},
        {TS_NEED_KIND_METAL, 1, "1x", false},   {TS_NEED_KIND_MELEE, 0, "\\N", false},
        {TS_NEED_KIND_STONE, 0, "\\N", false},  {TS_NEED_KIND_STONE, 1, "\\N", false},
        {TS_NEED_KIND_STONE, 2, "1", true},     {TS_NEED_KIND_STONE, 2, "99", false},
        {TS_NEED_KIND_STONE, 2, "-1", false},   {TS_NEED_KIND_STONE, 2, "4294967297", false},
        {TS_NEED_KIND_STONE, 4, "1", true},     {TS_NEED_KIND_STONE, 4, "99", false},
        {TS_NEED_KIND_STONE, 5, "1", true},     {TS_NEED_KIND_STONE, 5, "99", false},
        {TS_NEED_KIND_STONE, 6, "\\N", true},   {TS_NEED_KIND_WORK, 0, "\\N", false},
        {TS_NEED_KIND_WORK, 3, "\\N", true},    {TS_NEED_KIND_SERVICE, 0, "\\N", false},
        {TS_NEED_KIND_SERVICE, 4, "99", false}, {TS_NEED_KIND_SERVICE, 1, "1\t1", false},
    };
    (void)state;
    for (size_t i = 0; i < TS_COUNT_OF(cases); i++) {
        piece p = counted(cases[i].kind == TS_NEED_KIND_SERVICE ? "demo/three-stone.csv"
                                                                : "demo/halo.csv");
        assert_true(ts_needs_count(p.quantities, cases[i].kind) > 0);
        const char *record = ts_need_record(p.arena, p.quantities, cases[i].kind, 0);
        const char *other = with(&p, record, cases[i].field, cases[i].says);
        assert_true(takes(&p, cases[i].kind, record));
        if (takes(&p, cases[i].kind, other) != cases[i].well) {
            fail_msg("%s record, field %d as \"%s\"", ts_need_kind_word(cases[i].kind),
                     cases[i].field, cases[i].says);
        }
        piece_close(&p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_record_reads_back_as_it_was_written),
        cmocka_unit_test(a_field_that_stands_for_nothing_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
