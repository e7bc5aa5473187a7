/* A sheet's rows: header, parts, measures, stations, options; what is wrong with one is said
 * at its cell, and nothing breaks whatever the text holds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheetcase.h"

/* The cases are judged whole, so that a slip is not reported a second time as missing. */
static void check_all(const char *base, const sheet_case *cases, size_t count)
{
    sheet_run run;

    sheet_run_open(&run, true);
    for (size_t i = 0; i < count; i++) {
        sheet_case_check(&run, base, &cases[i]);
    }
    sheet_run_close(&run);
}

#define CHECK(base, cases) check_all(base, cases, sizeof(cases) / sizeof((cases)[0]))

/* clang-format off */

static void columns_stand_in_any_order_and_some_may_be_missing(void **state)
{
    (void)state;
    static const char turned[] = "value,note,part,unit,measure\n"
                                 "T,,commission,,reference\nt,,commission,,title\n"
                                 "c,,commission,,client\nUSD,,commission,,currency\n"
                                 "2026-11-25,,commission,,date\nstate,,commission,,region\n"
                                 "585 yellow,,ring,,alloy\n12,,metal tag,mm3,volume\n";
    static const char bare[] = "Part;MEASURE;value\n"
                               "# a remark;;\n;;\n"
                               "commission;reference;T\ncommission;title;t\ncommission;client;c\n"
                               "commission;currency;USD\ncommission;date;2026-11-25\n"
                               "Commission;Region;State\nring;alloy;585  Yellow\n"
                               "metal   Tag;volume;12,5\n";
    static const sheet_case none[] = {{NULL, NULL, NULL, NULL, 0, NULL}};
    static const sheet_case remarks[] = {
        {NULL, "x,,# a remark in its own column,,y", NULL, NULL, 0, NULL},
        {NULL, ",a note alone,,,", NULL, NULL, 0, NULL},
        {NULL, "3,,metal tag,,cuont", "measure-unknown", "3,,metal tag", 4, "did you mean \"count\"?"},
    };

    CHECK(turned, none);
    CHECK(bare, none);
    CHECK(turned, remarks);
}

static void a_header_at_fault_is_said_at_its_cell(void **state)
{
    (void)state;
    static const sheet_case unknown[] = {
        {NULL, NULL, "column-unknown", "part,", 3, "did you mean \"unit\"?"}};
    static const sheet_case twice[] = {
        {NULL, NULL, "column-twice", "part,", 3, "the column `value` stands twice"}};
    static const sheet_case missing[] = {
        {NULL, NULL, "column-missing", "part,", -1, "the column `value` is missing"}};
    static const sheet_case empty_name[] = {
        {NULL, "ring,alloy,585 yellow,x,,", "column-unknown", "part,", 3, "this column has no name"}};
    static const sheet_case title[] = {{NULL, NULL, "header", "Design", -1, "must name the columns"}};

    /* with the header as it is the rest has no fault of its own */
#define REST "\ncommission,reference,T,,\ncommission,title,t,,\ncommission,client,c,,\n" \
             "commission,currency,USD,,\ncommission,date,2026-11-25,,\n" \
             "commission,region,state,,\nring,finish,dull,,\nmetal tag,volume,12,,\n"
    CHECK("part,measure,value,unti,note" REST "ring,alloy,585 yellow,,\n", unknown);
    CHECK("part,measure,value,value,note" REST "ring,alloy,585 yellow,,\n", twice);
    CHECK("part,measure,note" "\nring,alloy,585 yellow\n", missing);
    CHECK("part,measure,value,,note,unit" REST, empty_name);
    CHECK("Design of a ring\nring,alloy,585 yellow\n", title);
}

static void rows_that_name_nothing_known_are_faults_at_their_cell(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"shank,width top", "shnak,width top,2.2,mm,", "part-unknown", "shnak", 0,
         "did you mean \"shank\"?"},
        {"stone centre,depth", "stoen centre,depth,3.95,mm,", "part-unknown", "stoen", 0,
         "did you mean \"stone\"?"},
        {NULL, "gemstone,depth,3.95,mm,", "part-unknown", "gemstone", 0, "is no kind of part"},
        {NULL, "optoin a,ring/alloy,585 yellow,,", "part-unknown", "optoin", 0,
         "did you mean \"option\"?"},
        {"shank,width top", "shank,widht top,2.2,mm,", "measure-unknown", "shank,widht top", 1,
         "did you mean \"width top\"?"},
        {"bezel side,height", "bezel side,heigth,2,mm,", "measure-unknown", "bezel side,heigth", 1,
         "it has holds, wall, height, alloy, made, joints and label"},
        {NULL, "stone centre,claws,6,,", "measure-unknown", "stone centre,claws", 1,
         "it is one of a head"},
        {NULL, "ring,sizze,6,US,", "measure-unknown", "ring,sizze", 1, "did you mean \"size\"?"},
        {NULL, "shank,lable,band,,", "measure-unknown", "shank,lable", 1, "did you mean \"label\"?"},
        {NULL, "ring two,alloy,585 yellow,,", "part-name", "ring two", 0, "takes no name"},
        {NULL, "commission a,pays by,bank,,", "part-name", "commission a", 0, "takes no name"},
        {NULL, "stone halo,shape,round,,", "part-name", "stone halo", 0, "would mean another part"},
        {NULL, "metal a/b,volume,3,,", "part-name", "metal a/b", 0, "holds a /"},
        {NULL, ",alloy,585 yellow,,", "cell-empty", ",alloy", 0, "`part` is empty"},
        {NULL, "ring,,585 yellow,,", "cell-empty", "ring,,", 1, "`measure` is empty"},
        {NULL, "ring,finish,,,", "cell-empty", "ring,finish", 2, "is empty"},
    };

    CHECK(sheet_whole, cases);
}

static void a_measure_stands_once(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "shank,width top,2.3,mm,", "measure-twice", "shank,width top,2.3", 1,
         "stands in row 12 already"},
        {NULL, "SHANK,Width  Top,2.3,mm,", "measure-twice", "SHANK,Width", 1, "in row 12"},
        {NULL, "shank,width 60,2,mm,\nshank,width 60.0,2,mm,", "measure-twice",
         "shank,width 60.0", 1, NULL},
        {NULL, "shank,label,band,,\nshank,label,band two,,", "measure-twice", "shank,label,band two", 1,
         NULL},
        {NULL, "option a,ring/alloy,585 rose,,\noption a,ring/alloy,585 yellow,,", "measure-twice",
         "option a,ring/alloy,585 yellow", 1, "of this option"},
        {NULL, "option a,label,one,,\noption a,label,two,,", "measure-twice", "option a,label,two", 1,
         "the label of this option"},
        {NULL, "option a,metal tag,none,,\noption a,metal tag,none,,\n", "measure-twice",
         "option a,metal tag", 1, NULL},
        /* the same measure in two options, and in the sheet and an option */
        {NULL, "option a,ring/alloy,585 rose,,\noption b,ring/alloy,585 yellow,,", NULL, NULL, 0, NULL},
    };

    CHECK(sheet_whole, cases);
}

static void prong_is_read_as_claw(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"head centre,claw\nhead centre,claws",
         "head centre,prongs,6,,\nhead centre,Prong style,round,,\nhead centre,prong diameter,1.1,mm,",
         NULL, NULL, 0, NULL},
        {NULL, "head centre,first prong,30,deg,\nhalo top,point,prong,,", NULL, NULL, 0, NULL},
        {"stone centre,setting\nrow sides,setting",
         "stone centre,setting,prong,,\nrow sides,setting,Shared Prong,,", NULL, NULL, 0, NULL},
        {"shank,profile base", "shank,profile base,comfort fit,,", NULL, NULL, 0, NULL},
        {NULL, "head centre,prongs,6,,", "measure-twice", "head centre,prongs", 1, "\"prongs\""},
        {"stone centre,setting", "stone centre,setting,prongy,,", "word-unknown",
         "stone centre,setting", 2, "\"prongy\""},
    };

    CHECK(sheet_whole, cases);
}

static void stations_lie_between_top_and_base(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "shank,width 60,2,mm,\nshank,profile 60,court,,\nshank,thickness 12.5,1.8,mm,", NULL,
         NULL, 0, NULL},
        {NULL, "shank,width 0,2,mm,", "range", "shank,width 0", 1, "between the top, 0, and the base"},
        {NULL, "shank,width 180,2,mm,", "range", "shank,width 180", 1, NULL},
        {NULL, "shank,width -5,2,mm,", "range", "shank,width -5", 1, NULL},
        {NULL, "shank,width 60 deg,2,mm,", "number", "shank,width 60 deg", 1, "such as width 60"},
        {NULL, "shank,width 60,20,in,", "range", "shank,width 60", 2, "shank width 60"},
        {NULL, "shank,profile 60,cuort,,", "word-unknown", "shank,profile 60", 2, "\"court\""},
        {NULL, "shank,width tpo,2,mm,", "measure-unknown", "shank,width tpo", 1,
         "did you mean \"width top\"?"},
        {NULL, "bezel side,width 60,2,mm,", "measure-unknown", "bezel side,width 60", 1, NULL},
    };

    CHECK(sheet_whole, cases);
}

static void options_name_what_they_replace(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "option,ring/alloy,585 rose,,", "part-name", "option,", 0, "an option needs a name"},
        {NULL, "option base,ring/alloy,585 rose,,", "option-row", "option base", 0,
         "that is the sheet itself"},
        {NULL, "option a,alloy,585 rose,,", "option-row", "option a,alloy", 1,
         "did you mean \"ring/alloy\"?"},
        {NULL, "option a,halo wall,gone,,", "option-row", "option a,halo wall", 1, "the value none"},
        {NULL, "option a,/alloy,585 rose,,", "option-row", "option a,/alloy", 1, "half of PART/MEASURE"},
        {NULL, "option a,ring/,585 rose,,", "option-row", "option a,ring/", 1, "half of PART/MEASURE"},
        {NULL, "option a,rnig/alloy,585 rose,,", "option-row", "option a,rnig", 1,
         "did you mean \"ring\"?"},
        {NULL, "option a,ring/aloy,585 rose,,", "measure-unknown", "option a,ring/aloy", 1,
         "did you mean \"alloy\"?"},
        {NULL, "option a,halo wal,none,,", "option-row", "option a,halo wal", 1,
         "did you mean \"halo wall\"?"},
        {NULL, "option a,commission,none,,", "option-row", "option a,commission", 1,
         "can't leave the commission out"},
        {NULL, "option a,metal tag,none,,\noption a,metal tag/count,2,,", "option-row",
         "option a,metal tag/count", 1, "is left out by this option"},
        {NULL, "option a,head centre/inset,none,,", "option-row", "option a,head centre/inset", 1,
         "gives no \"inset\" of head centre"},
        {NULL, "option a,,none,,", "cell-empty", "option a,,", 1, "PART/MEASURE"},
        {NULL, "Option  A,Ring / Alloy,585 rose,,\noption a,HALO  WALL,None,,", NULL, NULL, 0, NULL},
        {NULL, "option a,ring/finish,none,,", NULL, NULL, 0, NULL},
    };

    CHECK(sheet_whole, cases);
}

/* clang-format on */

static void options_are_counted_and_limited(void **state)
{
    (void)state;
    char rows[2048] = "";
    sheet_run run;

    for (int i = 1; i <= TS_MOST_OPTIONS; i++) {
        snprintf(rows + strlen(rows), 64, "option o%d,ring/alloy,585 rose,,\n", i);
    }
    sheet_run_open(&run, true);
    sheet_run_read(&run, sheet_whole, NULL, rows);
    assert_int_equal(run.status, TS_OK);
    assert_int_equal(ts_sheet_options(run.sheet), TS_MOST_OPTIONS);
    snprintf(rows + strlen(rows), 64, "option more,ring/alloy,585 rose,,\n");
    const sheet_case beyond = {NULL,          rows, "too-large",
                               "option more", 0,    "a sheet has at most 20 options"};
    sheet_case_check(&run, sheet_whole, &beyond);
    sheet_run_close(&run);
}

static void parts_and_stations_are_limited(void **state)
{
    (void)state;
    const size_t size = 1 << 16;
    char *rows = malloc(size);
    sheet_run run;
    size_t used = 0;

    assert_non_null(rows);
    for (int i = 0; i < 1001; i++) {
        used += (size_t)snprintf(rows + used, size - used, "metal m%d,volume,3,mm3,\n", i);
    }
    sheet_run_open(&run, true);
    sheet_run_read(&run, sheet_whole, NULL, rows);
    assert_int_equal(run.status, TS_FAULTY);
    assert_non_null(strstr(sheet_run_said(&run), "a sheet has at most 1000 parts [too-large]"));
    used = 0;
    for (int i = 1; i <= 35; i++) {
        used += (size_t)snprintf(rows + used, size - used, "shank,width %d,2,mm,\n", i);
    }
    const sheet_case stations = {
        NULL, rows, "too-large", "shank,width 35", 1, "at most 34 stations"};
    sheet_case_check(&run, sheet_whole, &stations);
    sheet_run_close(&run);
    free(rows);
}

static void names_hold_no_line_breaks(void **state)
{
    (void)state;
    static const char text[] = "part,measure,value,unit,note\n\"ring\ntwo\",alloy,585 yellow,,\n"
                               "commission,title,\"two\nlines\",,\"a\nnote\"\n";
    sheet_run run;

    sheet_run_open(&run, false);
    sheet_run_read(&run, text, NULL, NULL);
    assert_int_equal(run.status, TS_FAULTY);
    assert_int_equal(ts_diag_errors(run.diag), 1);
    assert_non_null(strstr(sheet_run_said(&run), "sheet.csv:2:1: `part` holds a line break"));
    sheet_run_close(&run);
}

static void all_faults_come_out_in_one_run(void **state)
{
    (void)state;
    static const char *const said[] = {"[measure-unknown]", "[part-unknown]", "[number]",
                                       "[word-unknown]",    "[range]",        "[measure-missing]",
                                       "[name-unknown]",    "[measure-clash]"};
    sheet_run run;

    sheet_run_open(&run, true);
    sheet_run_read(&run, sheet_whole,
                   "shank,width top\nshank,width base\nshank,thickness top\nring,alloy\n"
                   "stone side,gap\nhead centre,holds\nhead centre,claws",
                   "shank,widht top,2.2,mm,\nshank,width base,wide,mm,\n"
                   "shank,thickness top,300,mm,\nring,alloy,750 yelow,,\n"
                   "head centre,holds,cnetre,,\nhead centre,claws,6,,\nhead centre,shared,9,,\n"
                   "hade centre,inset,0.2,mm,\nring,wear,dayly,,\n");
    assert_null(sheet_run_design(&run, 0));
    sheet_run_said(&run);
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++) {
        if (strstr(run.said, said[i]) == NULL) {
            fail_msg("%s expected in:\n%s", said[i], run.said);
        }
    }
    assert_int_equal(ts_diag_errors(run.diag), 9);
    sheet_run_close(&run);
}

static void a_missing_file_is_missing(void **state)
{
    (void)state;
    ts_sheet *sheet = NULL;
    sheet_run run;

    sheet_run_open(&run, false);
    assert_int_equal(ts_sheet_read(&sheet, run.arena, "tests/no-such-sheet.csv", run.diag),
                     TS_MISSING);
    assert_null(sheet);
    assert_int_equal(ts_sheet_read(&sheet, run.arena, "demo/halo.csv", run.diag), TS_OK);
    assert_string_equal(ts_sheet_file(sheet), "demo/halo.csv");
    assert_int_equal(ts_sheet_options(sheet), 3);
    sheet_run_close(&run);
}

/* ---- garbage ---- */

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u; /* Numerical Recipes' quick generator */
    return *seed >> 8;
}

/* Reads the text and builds whatever options come of it. */
static void survive(sheet_run *run, const char *text, size_t length)
{
    const ts_arena_mark mark = ts_arena_mark_of(run->arena);
    ts_sheet *sheet = NULL;
    ts_design *design = NULL;

    run->diag = ts_diag_new(run->arena);
    const ts_status read =
        ts_sheet_parse(&sheet, run->arena, "garbage.csv", text, length, run->diag);
    assert_true(read == TS_OK || read == TS_FAULTY);
    assert_true((read == TS_FAULTY) == (ts_diag_errors(run->diag) > 0));
    for (int i = 0; sheet != NULL && i <= ts_sheet_options(sheet); i++) {
        const ts_status built =
            ts_design_of(&design, run->arena, sheet, i, run->book, TS_DATE_NONE, run->diag);

        assert_true((built == TS_OK) == (design != NULL));
        assert_true(built == TS_OK || ts_diag_errors(run->diag) > 0);
    }
    sheet_run_said(run);
    ts_arena_rewind(run->arena, mark);
}

static void bytes_changed_at_random_never_break_it(void **state)
{
    (void)state;
    static const char more[] = "option a,ring/alloy,585 rose,,\noption a,halo wall,none,,\n"
                               "option b,stone side/count,1,,\nshank,width 60,2,mm,\n"
                               "mesh a,file,a.stl,,\nmesh a,replaces,shank; head centre,,\n";
    static const char bytes[] = ",;\n\"'#/=+-0129.: aeiou\xc3\xa9\x80\t";
    const size_t length = strlen(sheet_whole) + strlen(more);
    char *text = malloc(length + 1);
    uint32_t seed = 20261125u;
    sheet_run run;

    assert_non_null(text);
    sheet_run_open(&run, true);
    for (int i = 0; i < 400; i++) {
        snprintf(text, length + 1, "%s%s", sheet_whole, more);
        const uint32_t changes = 1 + next_random(&seed) % 40;
        for (uint32_t j = 0; j < changes; j++) {
            text[next_random(&seed) % length] = bytes[next_random(&seed) % (sizeof bytes - 1)];
        }
        survive(&run, text, i % 7 == 0 ? next_random(&seed) % length : length);
    }
    free(text);
    sheet_run_close(&run);
}

/* Rows put together of words that belong to sheets, in no sense. */
static void words_thrown_together_never_break_it(void **state)
{
    (void)state;
    static const char *const parts[] = {
        "commission", "ring", "shank",       "stone a",    "stone b",  "halo a",
        "halo b",     "halo", "head a",      "bezel",      "row a",    "metal",
        "mesh a",     "work", "service",     "trade-in",   "option a", "option b",
        "stone",      "head", "option base", "stone halo", "optin"};
    static const char *const measures[] = {
        "around", "under",  "beside", "holds",       "count",        "to",        "price",
        "lot",    "alloy",  "faces",  "gap",         "width 60",     "profile 7", "label",
        "drop",   "weight", "halo a", "halo a/drop", "stone a/none", "stone b",   "replaces",
        "shape",  "from",   "use",    "ring/alloy",  "shank/open",   "length",    "date"};
    static const char *const values[] = {"a",          "b",    "halo a", "halo b",     "stone a",
                                         "none",       "all",  "1",      "-1",         "2.5",
                                         "up",         "out",  "fit",    "585 yellow", "client",
                                         "2026-11-25", "halo", "stone",  "",           "round"};
    static const char *const units[] = {"", "mm", "each", "deg", "%", "USD", "ct", "US"};
    char text[16384];
    uint32_t seed = 7u;
    sheet_run run;

    sheet_run_open(&run, true);
    for (int i = 0; i < 400; i++) {
        size_t used = (size_t)snprintf(text, sizeof text, "part,measure,value,unit,note\n");
        for (int j = 0; j < 120; j++) {
            used += (size_t)snprintf(
                text + used, sizeof text - used, "%s,%s,%s,%s,\n",
                parts[next_random(&seed) % (sizeof parts / sizeof *parts)],
                measures[next_random(&seed) % (sizeof measures / sizeof *measures)],
                values[next_random(&seed) % (sizeof values / sizeof *values)],
                units[next_random(&seed) % (sizeof units / sizeof *units)]);
        }
        survive(&run, text, used);
    }
    sheet_run_close(&run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_stand_in_any_order_and_some_may_be_missing),
        cmocka_unit_test(a_header_at_fault_is_said_at_its_cell),
        cmocka_unit_test(rows_that_name_nothing_known_are_faults_at_their_cell),
        cmocka_unit_test(a_measure_stands_once),
        cmocka_unit_test(prong_is_read_as_claw),
        cmocka_unit_test(stations_lie_between_top_and_base),
        cmocka_unit_test(options_name_what_they_replace),
        cmocka_unit_test(options_are_counted_and_limited),
        cmocka_unit_test(parts_and_stations_are_limited),
        cmocka_unit_test(names_hold_no_line_breaks),
        cmocka_unit_test(all_faults_come_out_in_one_run),
        cmocka_unit_test(a_missing_file_is_missing),
        cmocka_unit_test(bytes_changed_at_random_never_break_it),
        cmocka_unit_test(words_thrown_together_never_break_it),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
