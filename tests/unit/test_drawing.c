/* The drawing as a list of marks and as SVG: what tests/independent/drawing.py measures from
 * outside is here held under the sanitizers too, with pieces that no demo sheet has. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/text.h>
#include <tallystone/book/book.h>
#include <tallystone/papers/drawing.h>

typedef struct bench {
    ts_arena *arena;
    ts_diag *diag;
    const ts_book *book;
} bench;

static int set_up(void **state)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    bench *b = TS_NEW(arena, bench);
    b->arena = arena;
    b->diag = ts_diag_new(arena);
    *state = b;
    return ts_book_load(&b->book, arena, "pricebooks", b->diag) == TS_OK ? 0 : -1;
}

static int tear_down(void **state)
{
    ts_arena_free(((bench *)*state)->arena);
    return 0;
}

/* A sheet's drawing; the sheet must be one that can be made. */
static const ts_drawing *drawn_as(bench *b, const char *text, ts_drawing_kind kind)
{
    ts_sheet *sheet = NULL;
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *quantities = NULL;
    ts_date as_of = TS_DATE_NONE;

    assert_int_equal(ts_sheet_parse(&sheet, b->arena, "sheet.csv", text, strlen(text), b->diag),
                     TS_OK);
    assert_int_equal(ts_design_of(&design, b->arena, sheet, 0, b->book, as_of, b->diag), TS_OK);
    assert_int_equal(ts_geometry_of(&geometry, b->arena, design, b->diag), TS_OK);
    assert_int_equal(ts_quantities_of(&quantities, b->arena, design, geometry, b->book, b->diag),
                     TS_OK);
    ts_drawing_ask ask = {design, geometry, quantities, kind, true, 0};
    return ts_drawing_of(b->arena, &ask);
}

static const char *svg_of(bench *b, const ts_drawing *drawing)
{
    const char *bytes = NULL;
    size_t length = 0;

    assert_int_equal(ts_drawing_bytes(&bytes, &length, b->arena, drawing, TS_DRAWING_SVG, b->diag),
                     TS_OK);
    return ts_arena_copy(b->arena, bytes, length);
}

/* How often something stands in a text. */
static int count_of(const char *text, const char *sought)
{
    int count = 0;

    for (text = strstr(text, sought); text != NULL; text = strstr(text + 1, sought)) {
        count++;
    }
    return count;
}

static const char head[] = "part,measure,value,unit\n"
                           "commission,reference,D-1,\n"
                           "commission,title,Drawn,\n"
                           "commission,client,invented,\n"
                           "commission,currency,USD,\n"
                           "commission,date,2026-11-25,\n"
                           "commission,region,state,\n"
                           "ring,alloy,750 yellow,\n";
static const char band[] = "ring,size,6,US\n"
                           "shank,profile top,flat,\nshank,profile base,court,\n"
                           "shank,width top,4,mm\nshank,width base,3,mm\n"
                           "shank,thickness top,2,mm\nshank,thickness base,2,mm\n";

static const char *sheet_of(bench *b, const char *one, const char *two, const char *three)
{
    return ts_arena_format(b->arena, "%s%s%s%s", head, one, two, three);
}

static const char *stone_of(bench *b, const char *shape, const char *length, const char *width)
{
    int value = ts_list_find(TS_LIST_SHAPE, shape);
    bool has_corner = ts_shape_corner((ts_shape)value) != TS_CORNER_NONE;

    return ts_arena_format(b->arena,
                           "stone centre,shape,%s,\nstone centre,length,%s,mm\n"
                           "stone centre,width,%s,mm\nstone centre,depth,3,mm\n"
                           "%s"
                           "stone centre,weight,1,ct\nstone centre,species,diamond,\n"
                           "stone centre,origin,natural,\nstone centre,setting,claw,\n"
                           "stone centre,price,100,USD each\n"
                           "head centre,holds,centre,\nhead centre,claws,6,\n"
                           "head centre,claw style,double,\nhead centre,tip style,v,\n"
                           "head centre,claw diameter,0.8,mm\nhead centre,tip diameter,0.6,mm\n"
                           "head centre,rails,1,\nhead centre,rail diameter,0.8,mm\n"
                           "head centre,inset,0.3,mm\nhead centre,culet clearance,1,mm\n",
                           shape, length, width, has_corner ? "stone centre,corner,0.8,mm\n" : "");
}

static void the_ending_of_a_name_tells_the_form(void **state)
{
    (void)state;
    assert_int_equal(ts_drawing_form_of("a.svg"), TS_DRAWING_SVG);
    assert_int_equal(ts_drawing_form_of("out/a.b.PNG"), TS_DRAWING_PNG);
    assert_int_equal(ts_drawing_form_of("a.pdf"), TS_DRAWING_PDF);
    assert_int_equal(ts_drawing_form_of(".svg"), TS_DRAWING_FORM_NONE);
    assert_int_equal(ts_drawing_form_of("svg"), TS_DRAWING_FORM_NONE);
    assert_int_equal(ts_drawing_form_of("a.svgz"), TS_DRAWING_FORM_NONE);
    assert_int_equal(ts_drawing_form_of(""), TS_DRAWING_FORM_NONE);
}

static void every_starter_sheet_is_drawn(void **state)
{
    bench *b = *state;
    size_t count = 0;
    const char *const *kinds = ts_starter_kinds(&count);

    for (size_t i = 0; i < count; i++) {
        ts_date date;
        assert_true(ts_date_read(&date, "2026-11-25"));
        const char *text = ts_starter_sheet(b->arena, kinds[i], "D-2", date);
        for (int kind = TS_DRAWING_SHEET; kind <= TS_DRAWING_PICTURE; kind++) {
            const ts_drawing *drawing = drawn_as(b, text, (ts_drawing_kind)kind);
            assert_false(ts_drawing_is_empty(drawing));
            assert_true(strlen(ts_drawing_says(drawing)) <= 250);
            assert_null(strstr(svg_of(b, drawing), "nan"));
        }
    }
}

/* Claws: on a round or oval six double ones; elsewhere some stand at corners and are v. */
static void every_shape_is_drawn_with_its_claws(void **state)
{
    bench *b = *state;
    static const char *const shapes[][3] = {
        {"round", "6", "6"},     {"oval", "8", "6"},     {"pear", "9", "6"},
        {"marquise", "10", "5"}, {"cushion", "7", "6"},  {"princess", "6", "6"},
        {"emerald", "8", "6"},   {"asscher", "6", "6"},  {"radiant", "7", "6"},
        {"heart", "6.5", "6.8"}, {"baguette", "7", "3"}, {"trillion", "6", "6.5"}};

    for (size_t i = 0; i < TS_COUNT_OF(shapes); i++) {
        const char *stone = stone_of(b, shapes[i][0], shapes[i][1], shapes[i][2]);
        const char *svg = svg_of(b, drawn_as(b, sheet_of(b, band, stone, ""), TS_DRAWING_SHEET));
        bool is_smooth = i < 2;
        assert_int_equal(count_of(svg, " id=\"stone-centre-1\""), 1);
        int claws = count_of(svg, " id=\"head-centre-claw-");
        assert_true(is_smooth ? claws == 12 : claws >= 6 && claws < 12);
        assert_null(strstr(svg, "nan"));
    }
}

static void stones_without_a_place_are_named_and_not_drawn(void **state)
{
    bench *b = *state;
    const char *loose = "stone loose,shape,round,\nstone loose,length,2,mm\n"
                        "stone loose,depth,1.2,mm\nstone loose,species,diamond,\n"
                        "stone loose,origin,natural,\nstone loose,setting,flush,\n"
                        "stone loose,price,50,USD each\nstone loose,count,60,\n";
    const char *svg = svg_of(b, drawn_as(b, sheet_of(b, band, loose, ""), TS_DRAWING_SHEET));

    assert_null(strstr(svg, "id=\"stone-loose-"));
    assert_non_null(strstr(svg, ">stone loose<"));
}

static void a_piece_without_measurements_has_a_page_that_says_so(void **state)
{
    bench *b = *state;
    const ts_drawing *drawing =
        drawn_as(b, sheet_of(b, "metal back,weight,2,g\n", "", ""), TS_DRAWING_SHEET);

    assert_true(ts_drawing_is_empty(drawing));
    assert_non_null(strstr(svg_of(b, drawing), "no measurements"));
}

static void only_what_is_seen_tells_drawings_apart(void **state)
{
    bench *b = *state;
    const char *stone = stone_of(b, "oval", "8", "6"), *other = stone_of(b, "oval", "8", "5.9");
    const char *alloy = "metal more,weight,1,g\n";
    const ts_drawing *one = drawn_as(b, sheet_of(b, band, stone, ""), TS_DRAWING_SHEET);
    const ts_drawing *heavier = drawn_as(b, sheet_of(b, band, stone, alloy), TS_DRAWING_SHEET);
    const ts_drawing *narrower = drawn_as(b, sheet_of(b, band, other, ""), TS_DRAWING_SHEET);

    assert_true(ts_drawing_same(one, heavier));
    assert_false(ts_drawing_same(one, narrower));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_ending_of_a_name_tells_the_form),
        cmocka_unit_test(every_starter_sheet_is_drawn),
        cmocka_unit_test(every_shape_is_drawn_with_its_claws),
        cmocka_unit_test(stones_without_a_place_are_named_and_not_drawn),
        cmocka_unit_test(a_piece_without_measurements_has_a_page_that_says_so),
        cmocka_unit_test(only_what_is_seen_tells_drawings_apart),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
