/* What a ring takes: reference sheets against an independent program, and the rules of
 * weighing and counting one by one. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "piece.h"
#include "quantities/counting.h"
#include "table.h"

#define BOOKS "tests/reference/books"
#define SHEETS "tests/reference/sheets/"
#define ROWS_BYTES 8192

#define SHANK                                                                                      \
    "shank,profile top,flat,,\nshank,profile base,flat,,\nshank,width top,2,mm,\n"                 \
    "shank,width base,2,mm,\nshank,thickness top,1.8,mm,\nshank,thickness base,1.8,mm,\n"
#define STONE                                                                                      \
    "stone centre,shape,round,,\nstone centre,length,6.5,mm,\nstone centre,depth,3.9,mm,\n"        \
    "stone centre,species,diamond,,\nstone centre,origin,natural,,\nstone centre,setting,claw,,\n" \
    "stone centre,colour,F,,\n"
#define HEAD(claw)                                                                                 \
    "head centre,holds,centre,,\nhead centre,claws,6,,\nhead centre,claw style,round,,\n"          \
    "head centre,claw diameter," claw ",mm,\nhead centre,tip diameter,0.9,mm,\n"                   \
    "head centre,rails,1,,\nhead centre,rail diameter,0.9,mm,\nhead centre,inset,0.8,mm,\n"
#define CLEAR(mm) "head centre,culet clearance," mm ",mm,\n"
#define HALO(name, more)                                                                           \
    "halo " name ",around,centre,,\nhalo " name ",faces,up,,\nhalo " name                          \
    ",stone diameter,1.4,mm,\nhalo " name ",spacing,0.1,mm,\nhalo " name                           \
    ",lot,natural melee G-VS,,\nhalo " name ",setting,bead,,\nhalo " name                          \
    ",thickness,1.4,mm,\nhalo " name ",rim,0.35,mm,\n" more
#define RING_OF(alloy, more) "ring,size,6,US,\nring,alloy," alloy ",,\n" more
#define PRICED "stone centre,price,100,each,\n"

static piece counted(const char *rows)
{
    piece p = piece_open(rows, BOOKS);

    piece_count(&p);
    return p;
}

static const ts_work_need *work_of(const piece *p, const char *operation, const char *alloy)
{
    for (int i = 0; i < p->quantities->work_count; i++) {
        const ts_work_need *work = &p->quantities->works[i];
        if (strcmp(work->operation, operation) == 0 &&
            (alloy == NULL || (work->alloy != NULL && strcmp(work->alloy, alloy) == 0))) {
            return work;
        }
    }
    return NULL;
}

static const ts_metal_need *metal_of(const piece *p, const char *alloy)
{
    for (int i = 0; i < p->quantities->metal_count; i++) {
        if (strcmp(p->quantities->metals[i].alloy, alloy) == 0) {
            return &p->quantities->metals[i];
        }
    }
    fail_msg("no metal %s", alloy);
    return NULL;
}

/* ---- reference sheets ---- */

static void reference_sheets_agree_with_an_independent_program(void **state)
{
    table *figures = table_open("tests/reference/demo-quantities.csv");
    char last[64] = "";
    piece p = {.arena = NULL};

    (void)state;
    for (const table_row *row; (row = table_next(figures)) != NULL;) {
        const char *sheet = table_text(row, "sheet");
        if (strcmp(sheet, last) != 0) {
            char path[256];
            piece_close(&p);
            snprintf(last, sizeof last, "%s", sheet);
            snprintf(path, sizeof path, "%s%s.csv", SHEETS, sheet);
            p = piece_read(path, 0, BOOKS);
            piece_count(&p);
            assert_int_equal(p.status, TS_OK);
        }
        double got = piece_fact(&p, table_text(row, "part"), table_text(row, "measure"));
        double expect = table_number(row, "value");
        if (!(fabs(got - expect) <= table_number(row, "tol"))) {
            fail_msg("line %d: %s,%s is %.9f, expected %.9f", table_line(row),
                     table_text(row, "part"), table_text(row, "measure"), got, expect);
        }
    }
    piece_close(&p);
    table_close(figures);
}

static void bare_quantities_are_the_same_figures(void **state)
{
    static const char *const sheets[] = {"halo", "three-stone", "eternity"};

    (void)state;
    for (size_t i = 0; i < TS_COUNT_OF(sheets); i++) {
        char path[256];
        ts_quantities *bare = NULL;
        snprintf(path, sizeof path, "%s%s.csv", SHEETS, sheets[i]);
        piece p = piece_read(path, 0, BOOKS);
        piece_count(&p);
        assert_int_equal(
            ts_quantities_bare_of(&bare, p.arena, p.design, p.geometry, p.book, p.diag), TS_OK);
        assert_int_equal(bare->metal_count, p.quantities->metal_count);
        assert_int_equal(bare->work_count, p.quantities->work_count);
        assert_int_equal(bare->melee_count, p.quantities->melee_count);
        assert_int_equal(bare->stone_count, p.quantities->stone_count);
        for (int k = 0; k < bare->metal_count; k++) {
            assert_true(bare->metals[k].finished_g.e6 == p.quantities->metals[k].finished_g.e6);
        }
        for (int k = 0; k < bare->work_count; k++) {
            assert_int_equal(bare->works[k].count, p.quantities->works[k].count);
        }
        piece_close(&p);
    }
}

/* ---- weighing ---- */

static ts_counting desk_of(ts_arena *arena)
{
    return (ts_counting){.arena = arena, .diag = ts_diag_new(arena)};
}

static void a_weight_is_the_exact_product_rounded_once(void **state)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_counting c = desk_of(arena);

    (void)state;
    /* 178.122437 x 15.58 / 1000 = 2.77514756846 */
    assert_true(ts_weigh_grams(&c, (ts_dec){178122437}, (ts_dec){15580000}).e6 == 2775148);
    /* a tie, 0.0005 mm3 of 1 g/cm3, goes away from zero */
    assert_true(ts_weigh_grams(&c, (ts_dec){500}, (ts_dec){1000000}).e6 == 1);
    assert_true(ts_weigh_grams(&c, (ts_dec){499}, (ts_dec){1000000}).e6 == 0);
    /* 100 mm3 of 15.58 cast, 6 % lost in finishing: 1.558 / 1.06 = 1.46981132... */
    assert_true(ts_weigh_model(&c, (ts_dec){100000000}, (ts_dec){15580000}, (ts_dec){6000000}).e6 ==
                1469811);
    ts_arena_free(arena);
}

static void what_is_no_number_is_refused_and_never_printed(void **state)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_counting c = desk_of(arena);

    (void)state;
    assert_true(ts_weigh_measure(&c, nan(""), "a volume").e6 == 0);
    assert_int_equal(ts_diag_errors(c.diag), 1);
    assert_true(ts_weigh_measure(&c, HUGE_VAL, "another volume").e6 == 0);
    assert_int_equal(ts_diag_errors(c.diag), 2);
    assert_true(ts_weigh_measure(&c, 1.5, "a volume").e6 == 1500000);
    assert_int_equal(ts_diag_errors(c.diag), 2);
    ts_arena_free(arena);
}

/* ---- castings and joints ---- */

static void parts_of_one_alloy_are_one_casting(void **state)
{
    piece p =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("top", "halo top,gap,0.2,mm,\n"));

    (void)state;
    assert_int_equal(metal_of(&p, "750 yellow")->castings, 1);
    assert_int_equal(work_of(&p, "cast", "750 yellow")->count, 1);
    assert_null(work_of(&p, "join", NULL));
    piece_close(&p);
}

static void a_head_made_apart_is_a_casting_more_and_two_joints(void **state)
{
    piece p = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") "head centre,made,apart,,\n");

    (void)state;
    assert_int_equal(work_of(&p, "cast", "750 yellow")->count, 2);
    assert_int_equal(work_of(&p, "join", NULL)->count, 2);
    piece_close(&p);
}

static void a_part_of_another_alloy_is_joined_by_its_own_joints(void **state)
{
    piece p = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") "head centre,alloy,platinum 950,,\n"
                                                                "head centre,joints,5,,\n");

    (void)state;
    assert_int_equal(work_of(&p, "cast", "750 yellow")->count, 1);
    assert_int_equal(work_of(&p, "cast", "platinum 950")->count, 1);
    assert_int_equal(work_of(&p, "join", "platinum 950")->count, 5);
    assert_string_equal(work_of(&p, "join", NULL)->main_metal, "platinum");
    piece_close(&p);
}

/* Platinum takes the setter longer, and the work says so by the metal of what holds the stone. */
static void a_stone_is_set_in_the_metal_of_what_holds_it(void **state)
{
    piece head =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") "head centre,alloy,platinum 950,,\n");
    piece bezel = counted(
        SHANK
        "stone centre,shape,round,,\nstone centre,length,6.5,mm,\nstone centre,depth,3.9,mm,\n"
        "stone centre,species,diamond,,\nstone centre,origin,natural,,\n"
        "stone centre,setting,bezel,,\nstone centre,colour,F,,\n" PRICED
        "bezel centre,holds,centre,,\nbezel centre,wall,0.6,mm,\nbezel centre,height,3,mm,\n"
        "bezel centre,alloy,platinum 950,,\n");

    (void)state;
    assert_string_equal(work_of(&head, "set claw", NULL)->main_metal, "platinum");
    assert_string_equal(work_of(&bezel, "set bezel", NULL)->main_metal, "platinum");
    piece_close(&bezel);
    piece_close(&head);
}

static void what_is_bought_ready_made_is_no_casting_but_weighs(void **state)
{
    piece plain = counted(SHANK);
    piece p = counted(
        SHANK "metal bail,weight,0.5,g,\nmetal bail,count,2,,\nmetal bail,price,12,each,\n");

    (void)state;
    assert_int_equal(p.quantities->bought_count, 1);
    assert_int_equal(p.quantities->bought[0].count, 2);
    assert_int_equal(metal_of(&p, "750 yellow")->castings, 1);
    assert_true(metal_of(&p, "750 yellow")->finished_g.e6 ==
                metal_of(&plain, "750 yellow")->finished_g.e6);
    assert_true(metal_of(&p, "750 yellow")->whole_g.e6 ==
                metal_of(&plain, "750 yellow")->finished_g.e6 + 1000000);
    assert_int_equal(work_of(&p, "join", NULL)->count, 2);
    piece_close(&plain);
    piece_close(&p);
}

/* ---- old metal ---- */

static void old_metal_used_in_the_piece_comes_off_its_line(void **state)
{
    piece plain = counted(SHANK);
    piece some = counted(SHANK "trade-in old,alloy,750 yellow,,\ntrade-in old,weight,1,g,\n"
                               "trade-in old,use,in the piece,,\n");
    piece more = counted(SHANK "trade-in old,alloy,750 yellow,,\ntrade-in old,weight,50,g,\n"
                               "trade-in old,use,in the piece,,\n");
    int64_t whole = metal_of(&plain, "750 yellow")->finished_g.e6;

    (void)state;
    assert_true(metal_of(&some, "750 yellow")->finished_g.e6 == whole - 1000000);
    assert_true(metal_of(&some, "750 yellow")->whole_g.e6 == whole);
    assert_true(some.quantities->trade_ins[0].weight_g.e6 == 0);
    assert_true(metal_of(&more, "750 yellow")->finished_g.e6 == 0);
    assert_true(more.quantities->trade_ins[0].used_g.e6 == whole);
    assert_true(more.quantities->trade_ins[0].weight_g.e6 == 50000000 - whole);
    piece_close(&plain);
    piece_close(&some);
    piece_close(&more);
}

/* ---- melee and stones ---- */

static void melee_of_one_step_is_one_need_and_the_clients_apart(void **state)
{
    piece p = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("a", "halo a,gap,0.2,mm,\n")
                          HALO("b", "halo b,gap,2,mm,\n")
                              HALO("c", "halo c,gap,4,mm,\nhalo c,supplied by,client,,\n"));
    const ts_row_shape *halos = p.geometry->halos;

    (void)state;
    assert_int_equal(p.status, TS_OK);
    assert_int_equal(p.quantities->melee_count, 2);
    assert_int_equal(p.quantities->melee[0].set, halos[0].stones + halos[1].stones);
    assert_false(p.quantities->melee[0].client);
    assert_int_equal(p.quantities->melee[1].set, halos[2].stones);
    assert_true(p.quantities->melee[1].client);
    piece_close(&p);
}

static void a_size_that_no_step_holds_is_said_at_the_diameter(void **state)
{
    /* the design was built without books, which would have said it */
    piece p =
        piece_open(SHANK "row band,from,20,deg,\nrow band,to,60,deg,\nrow band,spacing,0.1,mm,\n"
                         "row band,stone diameter,1.15,mm,\nrow band,setting,bead,,\n"
                         "row band,lot,natural melee G-VS,,\n",
                   NULL);

    (void)state;
    assert_int_equal(ts_book_load(&p.book, p.arena, BOOKS, p.diag), TS_OK);
    piece_count(&p);
    assert_int_equal(p.status, TS_FAULTY);
    assert_true(piece_faults(&p, TS_FAULT_BOOK_GAP, "stones of 1.15 mm"));
    piece_close(&p);
}

static void a_stone_is_priced_by_its_weight_in_stones_or_its_size_in_melee(void **state)
{
    piece p = counted(
        SHANK "stone a,shape,oval,,\nstone a,length,7.7,mm,\nstone a,width,5.7,mm,\n"
              "stone a,depth,3.6,mm,\nstone a,weight,1,ct,\nstone a,species,diamond,,\n"
              "stone a,origin,natural,,\nstone a,setting,bead,,\n"
              "stone a,lot,natural oval F-VS2,,\n"
              "stone b,shape,round,,\nstone b,length,2,mm,\nstone b,depth,1.2,mm,\n"
              "stone b,species,diamond,,\nstone b,origin,natural,,\nstone b,setting,bead,,\n"
              "stone b,lot,natural melee G-VS,,\n");

    (void)state;
    assert_int_equal(p.status, TS_OK);
    assert_non_null(p.quantities->stones[0].offer);
    assert_null(p.quantities->stones[0].melee);
    assert_true(p.quantities->stones[0].offer->from_ct.e6 == 1000000);
    assert_null(p.quantities->stones[1].offer);
    assert_true(p.quantities->stones[1].melee->from_mm.e6 == 2000000);
    piece_close(&p);
}

/* ---- operations ---- */

static void shared_claws_are_formed_with_the_setting(void **state)
{
    piece p = counted(SHANK "row band,from,20,deg,\nrow band,to,60,deg,\nrow band,spacing,0.1,mm,\n"
                            "row band,stone diameter,1.4,mm,\nrow band,setting,shared claw,,\n"
                            "row band,lot,natural melee G-VS,,\n");

    (void)state;
    assert_non_null(work_of(&p, "set shared claw", NULL));
    for (int i = 0; i < p.quantities->work_count; i++) {
        assert_null(strstr(p.quantities->works[i].operation, "form "));
    }
    piece_close(&p);
}

static void equal_settings_are_one_line_and_other_sizes_another(void **state)
{
    piece p = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("a", "halo a,gap,0.2,mm,\n")
                          HALO("b", "halo b,gap,2,mm,\n"));
    int lines = 0;

    (void)state;
    for (int i = 0; i < p.quantities->work_count; i++) {
        lines += strncmp(p.quantities->works[i].operation, "set ", 4) == 0 ? 1 : 0;
    }
    assert_int_equal(lines, 2);
    assert_int_equal(work_of(&p, "set bead", NULL)->count,
                     p.geometry->halos[0].stones + p.geometry->halos[1].stones);
    assert_string_equal(work_of(&p, "set bead", NULL)->shape, "round");
    piece_close(&p);
}

static void what_always_applies_is_counted_by_what_it_says(void **state)
{
    piece p =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") "head centre,alloy,platinum 950,,\n");

    (void)state;
    assert_int_equal(work_of(&p, "polish", NULL)->count, 1);
    assert_int_equal(work_of(&p, "sort and check stones", NULL)->count, 1);
    assert_int_equal(work_of(&p, "clean up casting", "750 yellow")->count, 1);
    assert_int_equal(work_of(&p, "clean up casting", "platinum 950")->count, 1);
    assert_null(work_of(&p, "size ring", NULL)); /* asked, and not asked for */
    piece_close(&p);
}

/* ---- meshes ---- */

/* A cube of 10 mm: eight corners, twelve facets. */
static const char *cube_stl(ts_arena *arena)
{
    static const int corner[12][3] = {{0, 3, 1}, {0, 2, 3}, {4, 5, 7}, {4, 7, 6},
                                      {0, 1, 5}, {0, 5, 4}, {2, 7, 3}, {2, 6, 7},
                                      {0, 6, 2}, {0, 4, 6}, {1, 3, 7}, {1, 7, 5}};
    const char *text = "solid cube\n";

    for (int i = 0; i < 12; i++) {
        text = ts_arena_format(arena, "%sfacet normal 0 0 0\nouter loop\n", text);
        for (int k = 0; k < 3; k++) {
            int n = corner[i][k];
            text = ts_arena_format(arena, "%svertex %d %d %d\n", text, n & 1 ? 10 : 0,
                                   n & 2 ? 10 : 0, n & 4 ? 10 : 0);
        }
        text = ts_arena_format(arena, "%sendloop\nendfacet\n", text);
    }
    return ts_arena_format(arena, "%sendsolid cube\n", text);
}

static piece meshed_in(const char *replaces, const char *is, const char *unit)
{
    char rows[ROWS_BYTES];

    snprintf(rows, sizeof rows,
             SHANK STONE PRICED HEAD("1.1")
                 CLEAR("1") "mesh model,file,model.stl,,\nmesh model,unit,%s,,\n"
                            "mesh model,replaces,%s,,\nmesh model,is,%s,,\n",
             unit, replaces, is);
    piece p = piece_open(rows, BOOKS);
    p.design->mesh[0].bytes = cube_stl(p.arena);
    p.design->mesh[0].length = strlen(p.design->mesh[0].bytes);
    piece_count(&p);
    return p;
}

static piece meshed(const char *replaces, const char *is)
{
    return meshed_in(replaces, is, "mm");
}

static void a_mesh_takes_the_place_of_what_it_replaces(void **state)
{
    piece plain = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1"));
    piece all = meshed("all", "finished");
    piece model = meshed("all", "model");
    piece shank = meshed("shank", "finished");
    double head_g = piece_fact(&plain, "head centre", "volume") * 15.58 / 1000.0;

    (void)state;
    /* 1000 mm3 of 15.58; as a model less 6 % of finishing loss */
    assert_true(metal_of(&all, "750 yellow")->finished_g.e6 == 15580000);
    assert_true(metal_of(&model, "750 yellow")->finished_g.e6 == 14698113);
    assert_true(piece_near(ts_dec_double(metal_of(&shank, "750 yellow")->finished_g),
                           15.58 + head_g, 1e-6));
    assert_int_equal(metal_of(&all, "750 yellow")->castings, 1);
    /* how far the estimate was off: by weight, of what the mesh replaces */
    double shank_g = piece_fact(&plain, "shank", "volume") * 15.58 / 1000.0;
    assert_true(piece_near(piece_fact(&all, "mesh model", "weight"), 15.58, 1e-9));
    assert_true(piece_near(piece_fact(&all, "mesh model", "estimate"), shank_g + head_g, 1e-6));
    assert_true(piece_near(piece_fact(&all, "mesh model", "estimate off by"),
                           100.0 * ((shank_g + head_g) / 15.58 - 1.0), 1e-5));
    assert_true(piece_near(piece_fact(&model, "mesh model", "estimate off by"),
                           100.0 * ((shank_g + head_g) / 14.698113 - 1.0), 1e-5));
    assert_true(piece_near(piece_fact(&shank, "mesh model", "estimate"), shank_g, 1e-6));
    piece_close(&plain);
    piece_close(&all);
    piece_close(&model);
    piece_close(&shank);
}

/* ten millimetres each way hold no five times what the parts measure; as inches it is 25.4
 * times that, thrice over (an inch is 25.4 mm: ISO 31-1) */
static void a_mesh_in_the_wrong_unit_is_cautioned_of(void **state)
{
    piece mm = meshed("all", "finished");
    piece inch = meshed_in("all", "finished", "in");
    const ts_caution *caution = piece_caution(&inch, "mesh weight", "mesh model");

    (void)state;
    assert_null(piece_caution(&mm, "mesh weight", "mesh model"));
    assert_non_null(caution);
    assert_non_null(strstr(caution->sentence, "Is the unit the one it was drawn in?"));
    const double share =
        100.0 * piece_fact(&mm, "mesh model", "weight") / piece_fact(&mm, "mesh model", "estimate");
    assert_true(piece_near(ts_dec_double(caution->measured), share * 25.4 * 25.4 * 25.4, 1e-3));
    piece_close(&mm);
    piece_close(&inch);
}

static void a_mesh_that_nobody_read_is_a_fault(void **state)
{
    piece p = counted(SHANK "mesh model,file,model.stl,,\nmesh model,unit,mm,,\n"
                            "mesh model,replaces,all,,\nmesh model,is,model,,\n");

    (void)state;
    assert_int_equal(p.status, TS_FAULTY);
    assert_true(piece_faults(&p, TS_FAULT_NOT_FOUND, "mesh model"));
    piece_close(&p);
}

/* ---- terms ---- */

static void the_rings_size_reads_as_it_was_typed(void **state)
{
    static const char *const sizes[][2] = {
        {"ring,size,6.5,US,\nring,alloy,750 yellow,,\n", "US 6.5"},
        {"ring,size,L 1/2,UK,\nring,alloy,750 yellow,,\n", "UK L 1/2"},
        {"ring,size,Z+1,UK,\nring,alloy,750 yellow,,\n", "UK Z+1"},
        {"ring,size,54,EU,\nring,alloy,750 yellow,,\n", "EU 54"},
        {"ring,size,16.5,mm diameter,\nring,alloy,750 yellow,,\n", "16.5 mm diameter"},
    };

    (void)state;
    for (size_t i = 0; i < TS_COUNT_OF(sizes); i++) {
        char rows[1024];
        snprintf(rows, sizeof rows, "%s%s", sizes[i][0], SHANK);
        piece p = counted(rows);
        assert_string_equal(p.quantities->terms.size_text, sizes[i][1]);
        piece_close(&p);
    }
}

static void the_order_of_parts_changes_no_weight_and_no_count(void **state)
{
    piece one = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("a", "halo a,gap,0.2,mm,\n")
                            HALO("b", "halo b,gap,2,mm,\n"));
    piece two = counted(HALO("b", "halo b,gap,2,mm,\n") HALO("a", "halo a,gap,0.2,mm,\n")
                            HEAD("1.1") CLEAR("1") STONE PRICED SHANK);

    (void)state;
    assert_true(metal_of(&one, "750 yellow")->finished_g.e6 ==
                metal_of(&two, "750 yellow")->finished_g.e6);
    assert_int_equal(one.quantities->melee_count, two.quantities->melee_count);
    assert_int_equal(one.quantities->melee[0].set, two.quantities->melee[0].set);
    for (int i = 0; i < one.quantities->work_count; i++) {
        const ts_work_need *work = &one.quantities->works[i];
        assert_int_equal(work->count, work_of(&two, work->operation, work->alloy)->count);
    }
    piece_close(&one);
    piece_close(&two);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reference_sheets_agree_with_an_independent_program),
        cmocka_unit_test(bare_quantities_are_the_same_figures),
        cmocka_unit_test(a_weight_is_the_exact_product_rounded_once),
        cmocka_unit_test(what_is_no_number_is_refused_and_never_printed),
        cmocka_unit_test(parts_of_one_alloy_are_one_casting),
        cmocka_unit_test(a_head_made_apart_is_a_casting_more_and_two_joints),
        cmocka_unit_test(a_part_of_another_alloy_is_joined_by_its_own_joints),
        cmocka_unit_test(a_stone_is_set_in_the_metal_of_what_holds_it),
        cmocka_unit_test(what_is_bought_ready_made_is_no_casting_but_weighs),
        cmocka_unit_test(old_metal_used_in_the_piece_comes_off_its_line),
        cmocka_unit_test(melee_of_one_step_is_one_need_and_the_clients_apart),
        cmocka_unit_test(a_size_that_no_step_holds_is_said_at_the_diameter),
        cmocka_unit_test(a_stone_is_priced_by_its_weight_in_stones_or_its_size_in_melee),
        cmocka_unit_test(shared_claws_are_formed_with_the_setting),
        cmocka_unit_test(equal_settings_are_one_line_and_other_sizes_another),
        cmocka_unit_test(what_always_applies_is_counted_by_what_it_says),
        cmocka_unit_test(a_mesh_takes_the_place_of_what_it_replaces),
        cmocka_unit_test(a_mesh_in_the_wrong_unit_is_cautioned_of),
        cmocka_unit_test(a_mesh_that_nobody_read_is_a_fault),
        cmocka_unit_test(the_rings_size_reads_as_it_was_typed),
        cmocka_unit_test(the_order_of_parts_changes_no_weight_and_no_count),
    };

    return cmocka_run_group_tests_name("quantities", tests, NULL, NULL);
}
