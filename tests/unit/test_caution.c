/* Cautions: what is unusual is said with its limit and the limit's origin, what is usual is not;
 * and the built-in table of limits. */
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

#define BOOKS "tests/reference/books"
#define SHEETS "tests/reference/sheets/"

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

/* ---- cautions ---- */

/* By hand, half open: 30 deg. The head's foot is 3.25 - 0.8 = 2.45 mm from the middle and 1 mm over
 * the finger, US 6 is 16.507 mm inside: (8.253 + 1) sin 30 - 2.45 cos 30 = 2.505 mm from the end's
 * plane, less half a claw, 0.55. Half open 10 deg it stands in the metal. */
static void ends_of_an_open_shank_should_reach_what_they_carry(void **state)
{
    piece wide = counted(SHANK "shank,open,60,deg,\n" STONE PRICED HEAD("1.1") CLEAR("1"));
    piece snug = counted(SHANK "shank,open,20,deg,\n" STONE PRICED HEAD("1.1") CLEAR("1"));
    piece joined = counted(SHANK "shank,open,60,deg,\n" STONE PRICED HEAD("1.1")
                               CLEAR("1") "metal bridge,volume,10,mm3,\n");
    const ts_caution *caution = piece_caution(&wide, "shank end", "shank");

    (void)state;
    assert_non_null(caution);
    assert_true(caution->measured.e6 >= 1954000 && caution->measured.e6 <= 1956000);
    assert_non_null(strstr(caution->sentence, "nearest head or bezel 1.9"));
    assert_non_null(strstr(caution->sentence, "A qualified bench"));
    assert_null(piece_caution(&snug, "shank end", "shank"));
    assert_null(piece_caution(&joined, "shank end", "shank"));
    piece_close(&wide);
    piece_close(&snug);
    piece_close(&joined);
}

static void thin_claws_are_named_with_what_is_usual(void **state)
{
    piece thin = counted(SHANK STONE PRICED HEAD("0.6") CLEAR("1"));
    piece usual = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1"));
    const ts_caution *caution = piece_caution(&thin, "claw diameter", "head centre");

    (void)state;
    assert_non_null(caution);
    assert_true(caution->measured.e6 == 600000 && caution->least.e6 == 1100000);
    assert_non_null(strstr(caution->sentence, "0.6 mm"));
    assert_non_null(strstr(caution->sentence, "1.1 to 1.3 mm"));
    assert_non_null(strstr(caution->sentence, "common practice"));
    assert_non_null(strstr(caution->sentence, "qualified bench"));
    assert_null(piece_caution(&usual, "claw diameter", "head centre"));
    assert_true(caution->whence.line > 0);
    piece_close(&thin);
    piece_close(&usual);
}

static void daily_wear_tightens_the_culets_clearance(void **state)
{
    piece daily = counted(RING_OF("750 yellow", "ring,wear,daily,,\n")
                              SHANK STONE PRICED HEAD("1.1") CLEAR("0.4"));
    piece seldom = counted(RING_OF("750 yellow", "ring,wear,occasional,,\n")
                               SHANK STONE PRICED HEAD("1.1") CLEAR("0.4"));

    (void)state;
    assert_non_null(piece_caution(&daily, "culet clearance", "head centre"));
    assert_int_equal(piece_caution(&daily, "culet clearance", "head centre")->who, TS_CAUTION_WEAR);
    assert_null(piece_caution(&seldom, "culet clearance", "head centre"));
    piece_close(&daily);
    piece_close(&seldom);
}

static void a_ring_over_the_wearers_limit_is_said(void **state)
{
    piece p = counted(RING_OF("750 yellow", "ring,height limit,6,mm,\n")
                          SHANK STONE PRICED HEAD("1.1") CLEAR("2.5"));

    (void)state;
    assert_non_null(piece_caution(&p, "height limit", "ring"));
    piece_close(&p);
}

static void nickel_in_the_alloy_is_said_and_its_absence_not(void **state)
{
    piece with = counted(RING_OF("585 white nickel", "") SHANK);
    piece without = counted(RING_OF("585 white palladium", "") SHANK);

    (void)state;
    assert_non_null(piece_caution(&with, "nickel", "585 white nickel"));
    assert_null(piece_caution(&without, "nickel", "585 white palladium"));
    piece_close(&with);
    piece_close(&without);
}

static void a_stone_that_nothing_holds_is_said(void **state)
{
    piece loose = counted(SHANK STONE PRICED);
    piece held = counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1"));

    (void)state;
    assert_non_null(piece_caution(&loose, "stone held", "stone centre"));
    assert_null(piece_caution(&held, "stone held", "stone centre"));
    piece_close(&loose);
    piece_close(&held);
}

static void claws_that_meet_a_halo_are_said(void **state)
{
    piece p =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("top", "halo top,gap,0,mm,\n"));

    (void)state;
    /* on the axis claw and stone stand in one line: 0.7 - 0.7 - 0.55 */
    assert_true(piece_near(piece_fact(&p, "halo top", "claw room"), -0.55, 1e-6));
    assert_non_null(piece_caution(&p, "claw room", "halo top"));
    piece_close(&p);
}

static void colours_far_apart_are_said_and_other_words_passed_over(void **state)
{
    piece apart = counted(SHANK "stone centre,shape,round,,\nstone centre,length,6.5,mm,\n"
                                "stone centre,depth,3.9,mm,\nstone centre,species,diamond,,\n"
                                "stone centre,origin,natural,,\nstone centre,setting,claw,,\n"
                                "stone centre,colour,D,,\n" PRICED HEAD("1.1") CLEAR("1")
                                    HALO("top", "halo top,gap,0.3,mm,\n"));
    piece near =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") HALO("top", "halo top,gap,0.3,mm,\n"));
    piece words = counted(SHANK "stone centre,shape,round,,\nstone centre,length,6.5,mm,\n"
                                "stone centre,depth,3.9,mm,\nstone centre,species,diamond,,\n"
                                "stone centre,origin,natural,,\nstone centre,setting,claw,,\n"
                                "stone centre,colour,fancy yellow,,\n" PRICED HEAD("1.1") CLEAR("1")
                                    HALO("top", "halo top,gap,0.3,mm,\n"));

    (void)state;
    /* melee G beside D is three grades, beside F one; two are usual */
    assert_non_null(piece_caution(&apart, "colour", "halo top"));
    assert_true(piece_caution(&apart, "colour", "halo top")->measured.e6 == 3000000);
    assert_null(piece_caution(&near, "colour", "halo top"));
    assert_null(piece_caution(&words, "colour", "halo top"));
    piece_close(&apart);
    piece_close(&near);
    piece_close(&words);
}

#define SIDE(length, more)                                                                         \
    "stone side,shape,round,,\nstone side,length," length ",mm,\nstone side,depth,2,mm,\n"         \
    "stone side,species,diamond,,\nstone side,origin,natural,,\nstone side,setting,bead,,\n"       \
    "stone side,count,2,,\nstone side,beside,centre,,\nstone side,gap,0.3,mm,\n"                   \
    "stone side,price,100,each,\n" more
#define SIDE_HEAD                                                                                  \
    "head side,holds,side,,\nhead side,claws,4,,\nhead side,claw style,round,,\n"                  \
    "head side,claw diameter,0.8,mm,\nhead side,tip diameter,0.7,mm,\nhead side,rails,1,,\n"       \
    "head side,rail diameter,0.7,mm,\nhead side,inset,0.4,mm,\nhead side,culet clearance,3.4,mm,\n"

static void proportions_to_the_centre_are_said_as_a_table_and_a_sentence(void **state)
{
    piece usual =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") SIDE("3.3", "stone side,drop,0.5,mm,\n"));
    piece odd = counted(
        "ring,size,6,US,\nring,alloy,750 yellow,,\n"
        "shank,profile top,flat,,\nshank,profile base,flat,,\n"
        "shank,width top,5,mm,\nshank,width base,2,mm,\n"
        "shank,thickness top,1.8,mm,\nshank,thickness base,1.8,mm,\n" STONE PRICED HEAD("1.1")
            CLEAR("1") SIDE("6", SIDE_HEAD)
                HALO("top", "halo top,gap,3,mm,\nhalo top,drop,0.7,mm,\n"));
    piece small =
        counted(SHANK STONE PRICED HEAD("1.1") CLEAR("1") SIDE("2", "stone side,drop,3,mm,\n"));

    (void)state;
    static const char *const limits[][2] = {{"side stone length", "stone side"},
                                            {"side stone height", "stone side"},
                                            {"shank width to centre", "shank"}};
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        const ts_caution *caution = piece_caution(&odd, limits[i][0], limits[i][1]);
        assert_non_null(caution);
        assert_string_equal(caution->unit, "%");
        assert_non_null(strstr(caution->sentence, "usual: "));
        assert_non_null(strstr(caution->sentence, caution->source));
        assert_non_null(strstr(caution->sentence, "qualified bench"));
        assert_null(piece_caution(&usual, limits[i][0], limits[i][1]));
    }
    /* 6 of 6.5; tables at 3.4 + 2 and 1 + 3.9; and one that is 3 below the centre's girdle,
     * at 1 + 45.5/60 of 3.9, and 14.5/60 of 2 over its own */
    assert_true(
        piece_near(ts_dec_double(piece_caution(&odd, "side stone height", "stone side")->measured),
                   540.0 / 4.9, 1e-6));
    assert_true(
        piece_near(ts_dec_double(piece_caution(&odd, "side stone length", "stone side")->measured),
                   600.0 / 6.5, 1e-6));
    double girdle_mm = 1.0 + 45.5 / 60.0 * 3.9;
    assert_true(piece_near(
        ts_dec_double(piece_caution(&small, "side stone height", "stone side")->measured),
        100.0 * (girdle_mm - 3.0 + 14.5 / 60.0 * 2.0) / 4.9, 1e-6));
    assert_null(piece_caution(&odd, "halo stone", "halo top")); /* 1.4 of 6.5 */
    piece_close(&usual);
    piece_close(&odd);
    piece_close(&small);
}

static void a_bezel_too_low_has_its_culet_on_the_finger(void **state)
{
    piece low = counted(SHANK STONE PRICED
                        "bezel b,holds,centre,,\nbezel b,wall,0.8,mm,\nbezel b,height,1.4,mm,\n");
    piece high = counted(SHANK STONE PRICED
                         "bezel b,holds,centre,,\nbezel b,wall,0.8,mm,\nbezel b,height,3,mm,\n");
    /* 1.8 + 3 - a third of the crown - pavilion and girdle */
    double clearance_mm = 4.8 - 14.5 / 180.0 * 3.9 - 45.5 / 60.0 * 3.9;

    (void)state;
    assert_non_null(piece_caution(&low, "culet clearance", "bezel b"));
    assert_null(piece_caution(&high, "culet clearance", "bezel b"));
    assert_true(piece_near(piece_fact(&low, "height", "total"), 3.9, 1e-6));
    assert_true(piece_near(piece_fact(&high, "height", "total"), clearance_mm + 3.9, 1e-6));
    assert_true(
        piece_near(piece_fact(&high, "height", "girdle"), clearance_mm + 45.5 / 60.0 * 3.9, 1e-6));
    piece_close(&low);
    piece_close(&high);
}

static void a_weight_far_from_its_measurements_is_said(void **state)
{
    piece p = counted(SHANK STONE PRICED "stone centre,weight,2,ct,\n" HEAD("1.1") CLEAR("1"));

    (void)state;
    assert_non_null(piece_caution(&p, "weight to measurements", "stone centre"));
    piece_close(&p);
}

static void a_hallmark_is_a_matter_of_the_region(void **state)
{
    piece three = piece_read(SHEETS "three-stone.csv", 0, BOOKS); /* "vat country" */
    piece halo = piece_read(SHEETS "halo.csv", 0, BOOKS);

    (void)state;
    piece_count(&three);
    piece_count(&halo);
    /* all metal of the piece, well over 1 g of gold and 0.5 g of platinum */
    assert_non_null(piece_caution(&three, "hallmark weight", "gold"));
    assert_non_null(piece_caution(&three, "hallmark weight", "platinum"));
    assert_true(piece_caution(&three, "hallmark weight", "gold")->measured.e6 ==
                three.quantities->metals[0].whole_g.e6 + three.quantities->metals[1].whole_g.e6);
    assert_null(piece_caution(&halo, "hallmark weight", "gold"));
    piece_close(&three);
    piece_close(&halo);
}

/* ---- the built-in table ---- */

static void without_limits_csv_the_built_in_table_says_the_same(void **state)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    const ts_book *book = NULL;

    (void)state;
    assert_int_equal(ts_book_load(&book, arena, BOOKS, diag), TS_OK);
    ts_book other = *book;
    other.text[TS_BOOK_LIMITS] = NULL;
    ts_counting c = {.arena = arena, .diag = diag, .book = &other};
    const ts_book *built_in = ts_limits_of(&c);
    ts_date on;
    int compared = 0;
    assert_true(ts_date_read(&on, "2026-11-25"));
    assert_ptr_not_equal(built_in, &other);
    for (size_t i = 0; i < book->limits.count; i++) {
        const ts_limit_row *row = &book->limits.at[i];
        ts_dec size = {(row->from_mm.e6 + row->to_mm.e6) / 2};
        if (strcmp(row->limit, "hallmark weight") == 0) {
            continue; /* of a region: only the books know regions */
        }
        const ts_limit_row *ours =
            ts_book_limit(built_in, row->limit, row->subject, NULL, &size, on);
        assert_non_null(ours);
        assert_true(ours->least.e6 == row->least.e6 && ours->most.e6 == row->most.e6);
        assert_int_equal(ts_book_given(&ours->head, "least"), ts_book_given(&row->head, "least"));
        assert_int_equal(ts_book_given(&ours->head, "most"), ts_book_given(&row->head, "most"));
        assert_string_equal(ours->unit, row->unit);
        assert_string_equal(ours->source, row->source);
        compared++;
    }
    assert_int_equal(compared, (int)built_in->limits.count);
    assert_int_equal(ts_diag_errors(diag), 0);
    ts_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ends_of_an_open_shank_should_reach_what_they_carry),
        cmocka_unit_test(thin_claws_are_named_with_what_is_usual),
        cmocka_unit_test(daily_wear_tightens_the_culets_clearance),
        cmocka_unit_test(a_ring_over_the_wearers_limit_is_said),
        cmocka_unit_test(nickel_in_the_alloy_is_said_and_its_absence_not),
        cmocka_unit_test(a_stone_that_nothing_holds_is_said),
        cmocka_unit_test(claws_that_meet_a_halo_are_said),
        cmocka_unit_test(colours_far_apart_are_said_and_other_words_passed_over),
        cmocka_unit_test(proportions_to_the_centre_are_said_as_a_table_and_a_sentence),
        cmocka_unit_test(a_bezel_too_low_has_its_culet_on_the_finger),
        cmocka_unit_test(a_weight_far_from_its_measurements_is_said),
        cmocka_unit_test(a_hallmark_is_a_matter_of_the_region),
        cmocka_unit_test(without_limits_csv_the_built_in_table_says_the_same),
    };

    return cmocka_run_group_tests_name("caution", tests, NULL, NULL);
}
