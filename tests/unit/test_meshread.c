/* Every file of the reference folder is measured or refused as its table says; limits,
 * and text however it is laid out or broken. */
#include <float.h>
#include <limits.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include <cmocka.h>

#include "geometry/mesh.h"
#include "geometry/meshnumber.h"
#include "solid.h"
#include "table.h"

/* --- the reference files ----------------------------------------------------------- */

static const struct outcome {
    const char *word;
    ts_mesh_reason reason;
    bool inverted, lacks_endsolid, stray;
} outcomes[] = {
    {"measured", TS_MESH_NONE, false, false, false},
    {"turned", TS_MESH_NONE, true, false, false},
    {"measured-unended", TS_MESH_NONE, false, true, false},
    {"measured-stray", TS_MESH_NONE, false, false, true},
    {"empty", TS_MESH_EMPTY, false, false, false},
    {"header-only", TS_MESH_HEADER_ONLY, false, false, false},
    {"no-facets", TS_MESH_NO_FACETS, false, false, false},
    {"facets-missing", TS_MESH_FACETS_MISSING, false, false, false},
    {"facets-extra", TS_MESH_FACETS_EXTRA, false, false, false},
    {"cut-short", TS_MESH_CUT_SHORT, false, false, false},
    {"comma", TS_MESH_COMMA, false, false, false},
    {"corners", TS_MESH_CORNERS, false, false, false},
    {"not-finite", TS_MESH_NOT_FINITE, false, false, false},
    {"open", TS_MESH_OPEN, false, false, false},
    {"crowded", TS_MESH_CROWDED, false, false, false},
    {"disagree", TS_MESH_DISAGREE, false, false, false},
};

static const struct outcome *outcome_of(const table_row *row)
{
    for (size_t i = 0; i < sizeof outcomes / sizeof outcomes[0]; i++) {
        if (strcmp(outcomes[i].word, table_text(row, "outcome")) == 0) {
            return &outcomes[i];
        }
    }
    fail_msg("line %d: no such outcome", table_line(row));
    return NULL;
}

static file reference_file(const char *name)
{
    char path[256];
    file f = {mesh_grown(NULL, (size_t)1 << 20), 0};
    snprintf(path, sizeof path, "tests/reference/stl/%s", name);
    FILE *stream = fopen(path, "rb");
    if (stream == NULL) {
        fail_msg("%s cannot be opened", path);
        return f;
    }
    f.length = fread(f.bytes, 1, (size_t)1 << 20, stream);
    assert_true(feof(stream) != 0);
    fclose(stream);
    return f;
}

static void expect_count(const table_row *row, const char *column, double got)
{
    if (table_given(row, column) && got != table_number(row, column)) {
        fail_msg("%s: %s is %.0f, not %s", table_text(row, "file"), column, got,
                 table_text(row, column));
    }
}

static void expect_row(const table_row *row, const ts_mesh_result *r)
{
    const struct outcome *want = outcome_of(row);
    if (r->reason != want->reason) {
        char sentence[TS_MESH_SENTENCE_BYTES];
        ts_mesh_sentence(r, sentence, sizeof sentence);
        fail_msg("%s should be %s but: %s", table_text(row, "file"), want->word, sentence);
    }
    assert_int_equal(r->inverted, want->inverted);
    assert_int_equal(r->lacks_endsolid, want->lacks_endsolid);
    assert_int_equal(r->stray_bytes != 0, want->stray);
    expect_count(row, "facets", (double)r->facets);
    expect_count(row, "flat_facets", (double)r->flat_facets);
    expect_count(row, "shells", (double)r->shells);
    expect_count(row, "hollows", (double)r->hollows);
    expect_count(row, "open_edges", (double)r->open_edges);
    expect_count(row, "promised", (double)r->promised);
    expect_count(row, "held", (double)r->held);
    expect_count(row, "line", (double)r->line);
    expect_count(row, "facet", (double)r->facet);
    if (r->reason == TS_MESH_NONE) {
        mesh_expect_close(r->volume_mm3, table_number(row, "volume_mm3"), 1e-9);
    } else {
        assert_false(table_given(row, "volume_mm3"));
        assert_true(r->volume_mm3 == 0.0);
    }
}

static void every_reference_file_is_measured_or_refused_as_its_table_says(void **state)
{
    (void)state;
    table *meshes = table_open("tests/reference/meshes.csv");
    assert_int_equal(table_count(meshes), 48);
    for (const table_row *row; (row = table_next(meshes)) != NULL;) {
        const ts_mesh_result r = mesh_measured_file(reference_file(table_text(row, "file")), 1.0);
        expect_row(row, &r);
    }
    table_close(meshes);
}

static void every_refusal_has_a_sentence_and_no_measured_mesh_has_one(void **state)
{
    (void)state;
    table *meshes = table_open("tests/reference/meshes.csv");
    for (const table_row *row; (row = table_next(meshes)) != NULL;) {
        char sentence[TS_MESH_SENTENCE_BYTES];
        const ts_mesh_result r = mesh_measured_file(reference_file(table_text(row, "file")), 1.0);
        ts_mesh_sentence(&r, sentence, sizeof sentence);
        assert_int_equal(r.reason == TS_MESH_NONE, strlen(sentence) == 0);
        assert_null(strstr(sentence, "invalid"));
        if (r.reason == TS_MESH_FACETS_MISSING || r.reason == TS_MESH_FACETS_EXTRA) {
            char counts[64];
            snprintf(counts, sizeof counts, "promises %s facets and holds %s",
                     table_text(row, "promised"), table_text(row, "held"));
            assert_non_null(strstr(sentence, counts));
        }
    }
    table_close(meshes);
}

static void sentences_of_any_reason_fit_and_differ(void **state)
{
    (void)state;
    static char sentences[TS_MESH_REASON_COUNT][TS_MESH_SENTENCE_BYTES];
    for (int i = 1; i < TS_MESH_REASON_COUNT; i++) {
        ts_mesh_result r = {.reason = (ts_mesh_reason)i, .expected = "a number", .is_text = true};
        r.facets = r.facet = r.line = r.corners = r.open_edges = r.shells = LONG_MAX;
        r.promised = r.held = ULONG_MAX;
        memset(r.word, 'w', sizeof r.word - 1);
        for (int axis = 0; axis < 3; axis++) {
            r.at_mm[axis] = r.to_mm[axis] = -1e12;
        }
        ts_mesh_sentence(&r, sentences[i], sizeof sentences[i]);
        assert_true(strlen(sentences[i]) > 20);
        assert_true(strlen(sentences[i]) < TS_MESH_SENTENCE_BYTES - 1);
        for (int j = 1; j < i; j++) {
            assert_string_not_equal(sentences[i], sentences[j]);
        }
    }
}

static void the_count_of_a_file_asks_for_no_memory(void **state)
{
    (void)state;
    struct rusage before;
    struct rusage after;
    file f = reference_file("count_huge.stl");
    assert_int_equal(getrusage(RUSAGE_SELF, &before), 0);
    const ts_mesh_result r = mesh_measured_file(f, 1.0);
    assert_int_equal(getrusage(RUSAGE_SELF, &after), 0);
    assert_int_equal(r.reason, TS_MESH_FACETS_MISSING);
    assert_true(r.promised == 4294967295UL);
    assert_true(after.ru_maxrss - before.ru_maxrss < 16 * 1024); /* KiB */
}

static void limits_are_refused_before_anything_is_read(void **state)
{
    (void)state;
    char one = 's';
    assert_int_equal(mesh_measured(&one, TS_MESH_BYTES_MOST + 1, 1.0).reason, TS_MESH_TOO_LARGE);

    const size_t facets = (size_t)TS_MESH_FACETS_MOST + 1;
    char *bytes = calloc(BINARY_BYTES(facets), 1); /* never touched, so never there */
    assert_non_null(bytes);
    mesh_put_count(bytes + 80, (uint32_t)facets);
    assert_int_equal(mesh_measured(bytes, BINARY_BYTES(facets), 1.0).reason, TS_MESH_TOO_MANY);
    free(bytes);
}

static void working_memory_is_given_back(void **state)
{
    (void)state;
    ts_mesh_result r;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    char *kept = ts_arena_text(arena, "kept");
    const ts_arena_mark before = ts_arena_mark_of(arena);
    file f = reference_file("ring_halfround_coarse_ascii.stl");
    assert_int_equal(ts_mesh_measure(&r, arena, f.bytes, f.length, 1.0), TS_MESH_NONE);
    const ts_arena_mark after = ts_arena_mark_of(arena);
    assert_ptr_equal(before.block, after.block);
    assert_int_equal(before.used, after.used);
    assert_string_equal(kept, "kept");
    free(f.bytes);
    ts_arena_free(arena);
}

/* --- text --------------------------------------------------------------------------- */

#define FACET(a, b, c)                                                                             \
    "facet normal 0 0 1\nouter loop\nvertex " a "\nvertex " b "\nvertex " c "\nendloop\nendfacet\n"
#define PYRAMID                                                                                    \
    FACET("0 0 0", "0 1.5 0", "1 0 0")                                                             \
    FACET("0 0 0", "1 0 0", "0 0 1")                                                               \
    FACET("0 0 0", "0 0 1", "0 1.5 0") FACET("1.00 0 0", "0 15E-1 0", "-0 +0 1e0")

static void text_is_read_however_it_is_laid_out(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "solid\n" PYRAMID "endsolid\n",
        "  \n\tsolid facet of my heart\r" PYRAMID "endsolid",
        "\xef\xbb\xbfsolid a\n" PYRAMID "endsolid a\n\n \n",
        "SOLID a\n" PYRAMID "EndSolid",
        "solid a\nfacet normal nan nan nan outer loop vertex 0 0 0 vertex 0 1.5 0 vertex 1 0 0 "
        "endloop endfacet\n" FACET("0 0 0", "1 0 0", "0 0 1") FACET("0 0 0", "0 0 1", "0 1.5 0")
            FACET("1 0 0", "0 1.5 0", "0 0 1") "endsolid\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        const ts_mesh_result r = mesh_measured_text(texts[i]);
        assert_int_equal(r.reason, TS_MESH_NONE);
        assert_true(r.is_text);
        assert_true(r.volume_mm3 == 0.25);
        assert_false(r.lacks_endsolid);
        assert_int_equal(r.stray_bytes, 0);
    }
}

static void text_that_cannot_be_read_is_refused_at_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ts_mesh_reason reason;
        long line;
        const char *expected, *word;
    } cases[] = {
        {"o ring\nv 0 0 0\n", TS_MESH_NOT_STL, 0, NULL, ""},
        {"solid", TS_MESH_NO_FACETS, 0, NULL, ""},
        {"solid a\nendsolid a\n", TS_MESH_NO_FACETS, 0, NULL, ""},
        {"solid a\nfaset normal 0 0 1\n", TS_MESH_WORD, 2, "facet", "faset"},
        {"solid a\nfacet\n0 0 1\n", TS_MESH_WORD, 3, "normal", "0"},
        {"solid a\nfacet normal 0 0 1\nouter\nring\n", TS_MESH_WORD, 4, "loop", "ring"},
        {"solid a\r\n" FACET("0 0 0", "1 0 0 4", "0 1 0"), TS_MESH_WORD, 5, "vertex", "4"},
        {"solid a\n" FACET("0 0 0", "1 0", "0 1 0"), TS_MESH_WORD, 6, "a number", "vertex"},
        {"solid a\n" FACET("0 0 0", "1 0x1 0", "0 1 0"), TS_MESH_WORD, 5, "a number", "0x1"},
        {"solid a\n" FACET("0 0 0", "1 1e 0", "0 1 0"), TS_MESH_WORD, 5, "a number", "1e"},
        {"solid a\n" FACET("0 0 0", "1 \xc3\xa9 0", "0 1 0"), TS_MESH_WORD, 5, "a number",
         "\\xC3\\xA9"},
        {"solid a\n" FACET("0 0 0", "1,5 0 0", "0 1 0"), TS_MESH_COMMA, 5, NULL, "1,5"},
        {"solid a\n" FACET("0 0 0", "1, 0, 0", "0 1 0"), TS_MESH_COMMA, 5, NULL, "1,"},
        {"solid a\n" FACET("0 0 0", "1 -1.#IND 0", "0 1 0"), TS_MESH_NOT_FINITE, 5, NULL,
         "-1.#IND"},
        {"solid a\n" FACET("0 0 0", "1 0 1e39", "0 1 0"), TS_MESH_NOT_FINITE, 5, NULL, "1e39"},
        {"solid a\n" FACET("0 0 0", "Infinity 0 0", "0 1 0"), TS_MESH_NOT_FINITE, 5, NULL,
         "Infinity"},
        {"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nendloop\n", TS_MESH_CORNERS, 5,
         NULL, "endloop"},
        {"solid a\n" PYRAMID "endsolid\n" FACET("0 0 0", "1 0 0", "0 1 0"), TS_MESH_WORD, 31,
         "solid", "facet"},
        {"solid a\n" FACET("0 0 0", "1 0 0", "0 1 0") "fac", TS_MESH_CUT_SHORT, 9, NULL, ""},
        {"solid a\n" FACET("0 0 0", "1 0 0", "0 1 0") "facet normal 0 0 1\nouter loop\nvertex 0 0",
         TS_MESH_CUT_SHORT, 11, NULL, ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ts_mesh_result r = mesh_measured_text(cases[i].text);
        if (r.reason != cases[i].reason || r.line != cases[i].line) {
            fail_msg("case %zu: reason %d on line %ld", i, (int)r.reason, r.line);
        }
        assert_string_equal(r.word, cases[i].word);
        assert_string_equal(r.expected == NULL ? "" : r.expected,
                            cases[i].expected == NULL ? "" : cases[i].expected);
    }
}

static void stray_text_and_a_missing_end_are_said(void **state)
{
    (void)state;
    char note[TS_MESH_SENTENCE_BYTES];
    const ts_mesh_result stray =
        mesh_measured_text("solid a\n" PYRAMID "endsolid a\nmade by hand\n");
    assert_int_equal(stray.reason, TS_MESH_NONE);
    assert_int_equal(stray.stray_bytes, strlen("made by hand\n"));
    assert_true(ts_mesh_note(&stray, 0, note, sizeof note));
    assert_string_equal(note, "13 bytes behind the last facet were not read");
    assert_false(ts_mesh_note(&stray, 1, note, sizeof note));

    const ts_mesh_result unended = mesh_measured_text("solid a\n" PYRAMID);
    assert_int_equal(unended.reason, TS_MESH_NONE);
    assert_true(unended.lacks_endsolid);
    assert_true(ts_mesh_note(&unended, 0, note, sizeof note));
    assert_non_null(strstr(note, "endsolid"));
    assert_true(mesh_measured_text("solid a\n" PYRAMID "endsol").lacks_endsolid);
}

static void a_coordinate_reads_as_the_c_library_reads_it(void **state)
{
    (void)state;
    /* Source: strtod of the C library, which rounds to nearest; exact up to 15 digits. */
    static const char *const exact[] = {"0",
                                        "-0.0",
                                        "1",
                                        "+7",
                                        ".5",
                                        "5.",
                                        "8.255",
                                        "-0.000123456789012",
                                        "1e22",
                                        "123456e-7",
                                        "9.99999999999999e-5",
                                        "1E+05",
                                        "0.1000000000000000000000000",
                                        "00012.50e01",
                                        "0.333333333333333000000",
                                        "8.25512345678912300000",
                                        "-0.987654321098765000000",
                                        "1e24",
                                        "1000000000000000000000000"};
    static const char *const near[] = {"0.12345678901234567",  "1.7976931348623157",
                                       "-299792458.123456789", "6.02214076e-23",
                                       "1.17549435e-38",       "12345678901234567890123.5",
                                       "3.40282346e38",        "1e-300"};
    for (size_t i = 0; i < sizeof exact / sizeof exact[0]; i++) {
        double got = 1234.5;
        assert_int_equal(
            ts_coordinate_read(&got, (const unsigned char *)exact[i], strlen(exact[i])),
            TS_COORDINATE_OK);
        const double want = strtod(exact[i], NULL);
        if (got != want) {
            fail_msg("%s is read as %.17g", exact[i], got);
        }
    }
    for (size_t i = 0; i < sizeof near / sizeof near[0]; i++) {
        double got = 1234.5;
        assert_int_equal(ts_coordinate_read(&got, (const unsigned char *)near[i], strlen(near[i])),
                         TS_COORDINATE_OK);
        mesh_expect_close(got, strtod(near[i], NULL), 4 * DBL_EPSILON);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_reference_file_is_measured_or_refused_as_its_table_says),
        cmocka_unit_test(every_refusal_has_a_sentence_and_no_measured_mesh_has_one),
        cmocka_unit_test(sentences_of_any_reason_fit_and_differ),
        cmocka_unit_test(the_count_of_a_file_asks_for_no_memory),
        cmocka_unit_test(limits_are_refused_before_anything_is_read),
        cmocka_unit_test(working_memory_is_given_back),
        cmocka_unit_test(text_is_read_however_it_is_laid_out),
        cmocka_unit_test(text_that_cannot_be_read_is_refused_at_its_line),
        cmocka_unit_test(stray_text_and_a_missing_end_are_said),
        cmocka_unit_test(a_coordinate_reads_as_the_c_library_reads_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
