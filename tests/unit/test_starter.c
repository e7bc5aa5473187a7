/* Starter sheets: each kind is a whole ring that the shipped books can price, is commented
 * throughout, and names every measure that its parts could have. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheetcase.h"

static ts_date day(const char *text)
{
    ts_date date = TS_DATE_NONE;

    assert_true(ts_date_read(&date, text));
    return date;
}

/* Reads a starter as a sheet; no fault is let in, in any option. */
static ts_design *read_starter(sheet_run *run, const char *kind, const char *name, ts_date date)
{
    const char *text = ts_starter_sheet(run->arena, kind, name, date);
    ts_design *base = NULL;

    assert_non_null(text);
    sheet_run_read(run, text, NULL, NULL);
    for (int i = 0; run->sheet != NULL && i <= ts_sheet_options(run->sheet); i++) {
        ts_design *design = sheet_run_design(run, i);

        base = i == 0 ? design : base;
    }
    if (base == NULL || ts_diag_errors(run->diag) != 0) {
        fail_msg("%s:\n%s", kind, sheet_run_said(run));
    }
    return base;
}

static void every_kind_is_a_sheet_without_a_fault(void **state)
{
    (void)state;
    size_t count = 0;
    const char *const *kinds = ts_starter_kinds(&count);
    sheet_run run;

    sheet_run_open(&run, true);
    assert_int_equal(count, 5);
    for (size_t i = 0; i < count; i++) {
        const ts_design *d = read_starter(&run, kinds[i], "REF-7", day("2026-11-25"));

        assert_string_equal(d->commission[0].reference, "REF-7");
        assert_int_equal(d->commission[0].date.days, day("2026-11-25").days);
        assert_int_equal(d->commission[0].deliver_by.days, day("2027-01-24").days);
        assert_true(ts_sheet_options(run.sheet) >= 2);
    }
    sheet_run_close(&run);
}

static void each_kind_is_what_its_name_says(void **state)
{
    (void)state;
    const ts_date date = day("2026-11-25");
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = read_starter(&run, "solitaire", "S", date);
    assert_true(d->stone_count == 1 && d->head_count == 1 && d->halo_count == 0);
    d = read_starter(&run, "halo", "S", date);
    assert_true(d->stone_count == 1 && d->halo_count == 1);
    d = read_starter(&run, "double halo", "S", date);
    assert_true(d->stone_count == 1 && d->halo_count == 2);
    const ts_halo *outer = (const ts_halo *)sheet_part_of(d, TS_PART_HALO, "outer");
    assert_int_equal(outer->around_ref.kind, TS_PART_HALO);
    d = read_starter(&run, "three stone", "S", date);
    assert_true(d->stone_count == 2 && d->stone[0].copies + d->stone[1].copies == 3);
    d = read_starter(&run, "eternity band", "S", date);
    assert_true(d->stone_count == 0 && d->row_count == 1);
    sheet_run_close(&run);
}

static void kinds_are_found_in_any_spelling(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, false);
    const ts_date date = day("2026-11-25");
    const char *one = ts_starter_sheet(run.arena, "double halo", "S", date);
    assert_string_equal(one, ts_starter_sheet(run.arena, "Double-Halo", "S", date));
    assert_string_equal(one, ts_starter_sheet(run.arena, " double  halo ", "S", date));
    assert_null(ts_starter_sheet(run.arena, "signet", "S", date));
    assert_null(ts_starter_sheet(run.arena, "", "S", date));
    sheet_run_close(&run);
}

/* A blank row parts the parts; every part is headed, every measure has a note, and the
 * measures of a part are all named: as rows, or in the remark after them. */
static void every_measure_is_explained_or_named(void **state)
{
    (void)state;
    static const ts_part_kind shown[] = {TS_PART_COMMISSION, TS_PART_RING,      TS_PART_SHANK,
                                         TS_PART_STONE,      TS_PART_HEAD,      TS_PART_HALO,
                                         TS_PART_SERVICE,    TS_PART_COMMISSION};
    sheet_run run;

    sheet_run_open(&run, false);
    const char *text = ts_starter_sheet(run.arena, "double halo", "S", day("2026-11-25"));
    for (size_t i = 0; i < sizeof shown / sizeof shown[0]; i++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields(shown[i], &count);

        assert_non_null(strstr(text, ts_part_says(shown[i])));
        for (size_t j = 0; j < count; j++) {
            assert_non_null(strstr(text, fields[j].word));
        }
    }
    for (const char *at = text; *at != '\0'; at += strcspn(at, "\n") + 1) {
        const char *end = at + strcspn(at, "\n");
        const bool own = *at != '#' && *at != '"' && *at != ',' && strncmp(at, "option", 6) != 0;

        if (own && end[-1] == ',') {
            fail_msg("no note: %.*s", (int)(end - at), at);
        }
    }
    sheet_run_close(&run);
}

static void a_name_stays_text(void **state)
{
    (void)state;
    static const char *const names[] = {"=1+1",  "@ring",           "-7",    " '+5",
                                        "a,b;c", "the \"old\" one", "# five"};
    sheet_run run;

    sheet_run_open(&run, true);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *text = ts_starter_sheet(run.arena, "halo", names[i], day("2026-11-25"));
        const char *cell = strstr(text, "commission,reference,") + strlen("commission,reference,");

        assert_null(strchr("=+-@", *cell));
        const ts_design *d = read_starter(&run, "halo", names[i], day("2026-11-25"));
        const char *trimmed = names[i] + strspn(names[i], " ");
        assert_string_equal(d->commission[0].reference, trimmed);
    }
    sheet_run_close(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_is_a_sheet_without_a_fault),
        cmocka_unit_test(each_kind_is_what_its_name_says),
        cmocka_unit_test(kinds_are_found_in_any_spelling),
        cmocka_unit_test(every_measure_is_explained_or_named),
        cmocka_unit_test(a_name_stays_text),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
