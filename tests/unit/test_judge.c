/* Rules across measures and names between parts: each bad row gets its one fault, at its own
 * line, column and cell, and nothing follows from it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheetcase.h"

static void check_all(const char *base, const sheet_case *cases, size_t count)
{
    sheet_run run;

    sheet_run_open(&run, true);
    for (size_t i = 0; i < count; i++) {
        sheet_case_check(&run, base, &cases[i]);
    }
    sheet_run_close(&run);
}

#define CHECK(cases) check_all(sheet_whole, cases, sizeof(cases) / sizeof((cases)[0]))

static void the_whole_sheet_has_no_fault(void **state)
{
    (void)state;
    static const sheet_case cases[] = {{NULL, NULL, NULL, NULL, 0, NULL}};

    CHECK(cases);
}

/* clang-format off */

static void parts_that_every_sheet_needs_are_missed_by_name(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"commission,", NULL, "part-missing", "part", -1, "`commission` is missing"},
        {"ring,", NULL, "part-missing", "part", -1, "`ring` is missing"},
        {"shank,\nrow\nmetal", NULL, "part-missing", "part", -1, "`shank` is missing"},
        /* metal parts give the metal: a pendant */
        {"shank,\nrow\nring,size", NULL, NULL, NULL, 0, NULL},
        {"shank,", NULL, "part-missing", "row sides,from", 0, "lies along the shank"},
        {"ring,size", NULL, "measure-missing", "ring,alloy", 0, "a shank goes round it"},
    };

    CHECK(cases);
}

static void measures_that_a_part_needs_are_missed_by_name(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"shank,width top", NULL, "measure-missing", "shank,profile top", 0,
         "shank: \"width top\" is missing; a length in mm or in is expected, from 0.3 to 30"},
        {"stone centre,origin", NULL, "measure-missing", "stone centre,shape", 0,
         "natural or laboratory-grown is expected"},
        {"head centre,claws", NULL, "measure-missing", "head centre,holds", 0, "from 2 to 24"},
        {"commission,region", NULL, "measure-missing", "commission,reference", 0, "\"region\""},
        {"trade-in old,weight", NULL, "measure-missing", "trade-in old,alloy", 0, "\"weight\""},
    };

    CHECK(cases);
}

static void a_stone_is_described_as_its_shape_asks(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"stone centre,length\nstone centre,depth", "stone centre,weight,1,ct,", NULL, NULL, 0, NULL},
        {"stone centre,depth", "stone centre,weight,1,ct,", NULL, NULL, 0, NULL},
        {"stone centre,depth", NULL, "measure-missing", "stone centre,shape", 0,
         "\"depth\" is missing, and so is a weight"},
        {"stone centre,length\nstone centre,depth", NULL, "measure-missing", "stone centre,shape", 0,
         "a round needs a length and a depth, or a weight"},
        {"stone centre,length", "stone centre,weight,1,ct,", "measure-missing", "stone centre,shape", 0,
         "\"length\" is missing"},
        {NULL, "stone centre,width,6.0,mm,", NULL, NULL, 0, NULL},
        {NULL, "stone centre,width,5.9,mm,", "measure-clash", "stone centre,width", 2,
         "6.5 and 5.9 mm are more than 10 % apart"},
        {"stone side,width", NULL, "measure-missing", "stone side,shape", 0, "\"width\""},
        {"stone side,depth", "stone side,weight,0.15,ct,", NULL, NULL, 0, NULL},
        {"stone side,depth", NULL, "measure-missing", "stone side,shape", 0, "\"depth\""},
        {"stone side,shape", "stone side,shape,cushion,,", "measure-missing", "stone side,length", 0,
         "the radius of its corners"},
        {"stone side,shape", "stone side,shape,emerald,,", "measure-missing", "stone side,length", 0,
         "45 deg"},
        {"stone side,shape", "stone side,shape,radiant,,\nstone side,corner,0.6,mm,", NULL, NULL, 0, NULL},
        {NULL, "stone side,corner,0.6,mm,", "measure-clash", "stone side,corner", 2,
         "its shape, pear, takes no corner"},
        {NULL, "stone side,tip,out,,", NULL, NULL, 0, NULL},
        {"stone side,shape", "stone side,shape,oval,,\nstone side,tip,in,,", "measure-clash",
         "stone side,tip", 2, "its shape, oval, has no tip"},
        {"stone side,species", "stone side,species,diamnod,,", "name-unknown", "stone side,species", 2,
         "did you mean \"diamond\"?"},
        {"stone side,species", "stone side,species,benitoite,,\nstone side,weight,0.2,ct,", NULL, NULL, 0, NULL},
    };

    CHECK(cases);
}

static void a_stone_has_one_source_and_one_price(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"stone side,price", NULL, "measure-missing", "stone side,shape", 0,
         "\"price\" is missing, and so are a `lot` and `supplied by` client"},
        {NULL, "stone side,lot,natural pear F-VS2,,", "measure-clash", "stone side,lot", 2,
         "exclude each other"},
        {NULL, "stone side,supplied by,client,,", "measure-clash", "stone side,supplied by", 2,
         "exclude each other"},
        {NULL, "stone side,supplied by,studio,,", NULL, NULL, 0, NULL},
        {"stone side,price", "stone side,supplied by,client,,", NULL, NULL, 0, NULL},
        {"stone side,price", "stone side,supplied by,client,,\nstone side,declared value,900,EUR,\n"
         "stone side,out of,old piece,,", NULL, NULL, 0, NULL},
        {NULL, "stone side,declared value,900,,", "measure-clash", "stone side,declared value", 2,
         "said of a client's stone"},
        {NULL, "stone side,out of,old piece,,", "measure-clash", "stone side,out of", 2,
         "said of a client's stone"},
        {"stone side,price", "stone side,price,150,USD,", "unit-wrong", "stone side,price", 3,
         "each or per ct"},
        {"stone side,price", "stone side,price,150,,", "unit-missing", "stone side,price", 3,
         "each or per ct"},
        {"stone side,price", "stone side,price,150,EUR per ct,", NULL, NULL, 0, NULL},
        {"stone side,price", "stone side,price,150,%,", "unit-wrong", "stone side,price", 3, "in %"},
        {"stone side,price", "stone side,supplied by,client,,\nstone side,declared value,9,per ct,",
         "unit-wrong", "stone side,declared value", 3, "a currency code, or each"},
        /* a faulty source is not missed as well */
        {"stone side,price", "stone side,price,many,each,", "number", "stone side,price", 2, NULL},
    };

    CHECK(cases);
}

static void a_lot_must_hold_such_stones(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"stone centre,lot", "stone centre,lot,laboratory-grown round E-VS1,,", "measure-clash",
         "stone centre,lot", 2, "holds laboratory-grown round diamond; the sheet says natural round"},
        {"stone centre,lot", "stone centre,lot,natural oval F-VS2,,", "measure-clash",
         "stone centre,lot", 2, "natural oval diamond"},
        {"stone centre,lot", "stone centre,lot,natural melee G-VS,,", NULL, NULL, 0, NULL},
        {"stone centre,lot", "stone centre,lot,natural ruond F-VS2,,", "name-unknown",
         "stone centre,lot", 2, "did you mean \"natural round f-vs2\"?"},
        {"halo top,lot", "halo top,lot,natural round F-VS2,,", "name-unknown", "halo top,lot", 2,
         "no row of melee.csv has the lot"},
        {"halo top,stone diameter", "halo top,stone diameter,20,mm,", "book-gap",
         "halo top,stone diameter", 2, "no size step for 20 mm; its steps go from 0.5 up to"},
        {"row sides,stone diameter", "row sides,stone diameter,9,mm,", "book-gap",
         "row sides,stone diameter", 2, "its steps go from 0.5 up to"},
    };

    CHECK(cases);
}

static void open_words_must_be_in_the_books_on_the_day(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"ring,alloy", "ring,alloy,750 yelow,,", "name-unknown", "ring,alloy", 2,
         "did you mean \"750 yellow\"?"},
        {"commission,region", "commission,region,atlantis,,", "name-unknown", "commission,region", 2,
         "no row of taxes.csv has the region \"atlantis\""},
        {NULL, "head centre,alloy,platnum 950,,", "name-unknown", "head centre,alloy", 2,
         "did you mean \"platinum 950\"?"},
        {"work polish,operation", "work polish,operation,hand finishng,,", "name-unknown",
         "work polish,operation", 2, "did you mean \"hand finishing\"?"},
        {"service report,service", "service report,service,laboratory reprot,,", "name-unknown",
         "service report,service", 2, "did you mean \"laboratory report\"?"},
        {"work polish,operation", "work polish,operation,form round prong,,", NULL, NULL, 0, NULL},
        {"trade-in old,alloy", "trade-in old,alloy,585 yello,,", "name-unknown", "trade-in old,alloy",
         2, "585 yellow"},
    };

    CHECK(cases);
}

static void a_day_without_rows_is_a_gap(void **state)
{
    (void)state;
    static const char base[] = "part,measure,value,unit,note\n"
                               "commission,reference,T-2,,\ncommission,title,t,,\n"
                               "commission,client,c,,\ncommission,currency,USD,,\n"
                               "commission,date,2025-06-01,,\ncommission,region,state,,\n"
                               "ring,alloy,585 yellow,,\nmetal tag,volume,12,mm3,\n";
    static const sheet_case cases[] = {
        {NULL, NULL, NULL, NULL, 0, NULL},
        {NULL, "ring,finish,dull,,\nmetal tag,alloy,750 white palladium,,", "book-gap",
         "metal tag,alloy", 2, "no row of it is in force on 2025-06-01"},
    };

    check_all(base, cases, 2);
}

static void names_of_parts_are_found_or_missed(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"head centre,holds", "head centre,holds,cnetre,,", "name-unknown", "head centre,holds", 2,
         "did you mean \"centre\"?"},
        {"head centre,holds", "head centre,holds,stone centre,,", NULL, NULL, 0, NULL},
        {"head centre,holds", "head centre,holds,halo top,,", "name-unknown", "head centre,holds", 2,
         "names no stone"},
        {"bezel side,holds", "bezel side,holds,edge,,", "name-unknown", "bezel side,holds", 2, NULL},
        {"halo top,around", "halo top,around,center,,", "name-unknown", "halo top,around", 2,
         "did you mean \"centre\"?"},
        {"halo wall,under", "halo wall,under,top,,", NULL, NULL, 0, NULL},
        {"halo wall,under", "halo wall,under,halo tpo,,", "name-unknown", "halo wall,under", 2,
         "did you mean"},
        {"stone side,beside", "stone side,beside,halo top,,", NULL, NULL, 0, NULL},
        {"stone side,beside", "stone side,beside,halo rim,,", "name-unknown", "stone side,beside", 2,
         "names no stone or halo"},
    };

    CHECK(cases);
}

static void circles_are_said_once(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"stone side,beside", "stone side,beside,side,,", "name-circle", "stone side,beside", 2,
         "stone side, stone side"},
        {"halo wall,around\nhalo wall,faces\nhalo wall,under\nhalo top,around",
         "halo wall,around,halo top,,\nhalo wall,faces,up,,\nhalo wall,gap,0.1,mm,\n"
         "halo top,around,halo wall,,",
         "name-circle", "halo wall,around", 2, "halo top, halo wall, halo top"},
    };

    sheet_run run;
    sheet_run_open(&run, true);
    for (size_t i = 0; i < 2; i++) {
        sheet_case_check(&run, sheet_whole, &cases[i]);
    }
    /* through a stone: halo top around side, which stands beside halo top */
    sheet_run_read(&run, sheet_whole, "halo top,around\nstone side,beside\nhalo wall,around",
                   "halo top,around,side,,\nstone side,beside,halo top,,\nhalo wall,around,side,,\n");
    assert_null(sheet_run_design(&run, 0));
    assert_int_equal(ts_diag_errors(run.diag), 1);
    assert_non_null(strstr(sheet_run_said(&run), "stone side, halo top, stone side"));
    sheet_run_close(&run);
}

static void heads_and_places_agree(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"head centre,rail diameter", NULL, "measure-missing", "head centre,holds", 0, "it has rails"},
        {"head centre,rail", "head centre,rails,0,,", NULL, NULL, 0, NULL},
        {NULL, "head centre,shared,6,,", NULL, NULL, 0, NULL},
        {NULL, "head centre,shared,7,,", "measure-clash", "head centre,shared", 2, "for it has 6"},
        {"head centre,claws", "head centre,claws,1,,", "range", "head centre,claws", 2, NULL},
        {"stone side,gap", NULL, "measure-missing", "stone side,shape", 0, "it stands beside another"},
        {"stone side,beside", NULL, "measure-clash", "stone side,gap", 2, "which is not said"},
        {"stone side,count", "stone side,count,3,,", "measure-clash", "stone side,count", 2,
         "a mirrored pair"},
        {"stone side,count", "stone side,count,1,,", NULL, NULL, 0, NULL},
    };

    CHECK(cases);
}

static void halos_are_placed_as_they_face(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"halo top,gap", NULL, "measure-missing", "halo top,around", 0, "it faces up"},
        {NULL, "halo top,offset,0.5,mm,", "measure-clash", "halo top,offset", 2, "takes no `offset`"},
        {NULL, "halo wall,gap,0.5,mm,", "measure-clash", "halo wall,gap", 2, "takes no `gap`"},
        {NULL, "halo wall,offset,1.2,mm,", "measure-clash", "halo wall,offset", 2,
         "exclude each other"},
        {"halo wall,under", NULL, "measure-missing", "halo wall,around", 0,
         "\"under\" is missing, and so is `offset`"},
        {"halo wall,under", "halo wall,offset,1.2,mm,", NULL, NULL, 0, NULL},
        {"halo top,faces", "halo top,faces,side,,", "word-unknown", "halo top,faces", 2,
         "up or out is expected"},
        {"halo top,gap", "halo top,gap,-0.2,mm,", "measure-clash", "halo top,gap", 2,
         "only with a `drop` over 0"},
        {"halo top,gap", "halo top,gap,-0.2,mm,\nhalo top,drop,0.8,mm,", NULL, NULL, 0, NULL},
        {"halo top,around", "halo top,around,side,,", "measure-clash", "halo wall,under", 2,
         "one stone is expected for both"},
        {NULL, "halo third,around,halo wall,,\nhalo third,faces,up,,\nhalo third,gap,0.1,mm,\n"
               "halo third,stone diameter,1,mm,\nhalo third,spacing,0.1,mm,\n"
               "halo third,lot,natural melee G-VS,,\nhalo third,setting,bead,,\n"
               "halo third,thickness,1,mm,\nhalo third,rim,0.3,mm,",
         "measure-clash", "halo third,around", 2, "which faces out"},
    };

    CHECK(cases);
}

static void rows_along_the_shank_have_an_end(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {"row sides,to", NULL, "measure-missing", "row sides,from", 0, "so is `count`"},
        {"row sides,to", "row sides,count,8,,", NULL, NULL, 0, NULL},
        {NULL, "row sides,count,8,,", "measure-clash", "row sides,count", 2, "exclude each other"},
        {"row sides,to", "row sides,to,30,deg,", "measure-clash", "row sides,to", 2,
         "an end further from the top"},
        {NULL, "row sides,faces,up,,", "word-unknown", "row sides,faces", 2, "out or side"},
        {NULL, "row sides,faces,side,,", NULL, NULL, 0, NULL},
        {NULL, "row sides,end diameter,1.3,mm,", "measure-clash", "row sides,end diameter", 2,
         "a smaller one is expected"},
        {NULL, "row sides,end diameter,1,mm,", NULL, NULL, 0, NULL},
    };

    CHECK(cases);
}

static void the_rest_of_the_piece_agrees(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "metal tag,weight,1,g,", "measure-clash", "metal tag,weight", 2, "exclude each other"},
        {"metal tag,volume", "metal tag,count,2,,", "measure-missing", "metal tag,count", 0,
         "so is `weight`"},
        {NULL, "metal tag,price,40,,", NULL, NULL, 0, NULL},
        {NULL, "metal tag,price,40,EUR,", NULL, NULL, 0, NULL},
        {NULL, "metal tag,price,40,per ct,", "unit-wrong", "metal tag,price", 3, "each"},
        {NULL, "work polish,count,1,,", "measure-clash", "work polish,count", 2, NULL},
        {"work polish,minutes", NULL, "measure-missing", "work polish,operation", 0, "so is `minutes`"},
        {NULL, "service report,count,1,,\nservice report,amount,100,,", "measure-clash",
         "service report,amount", 2, NULL},
        {NULL, "service report,amount,100,each,", "unit-wrong", "service report,amount", 3, NULL},
        {NULL, "trade-in old,use,in the piece,,", "measure-clash", "trade-in old,use", 2,
         "no part of the piece is of 585 yellow"},
        {NULL, "trade-in old,use,in the piece,,\nhead centre,alloy,585 yellow,,", NULL, NULL, 0, NULL},
        {NULL, "shank,wall,1.7,mm,", NULL, NULL, 0, NULL},
        {NULL, "shank,wall,1.75,mm,", "measure-clash", "shank,wall", 2, "1.7 mm at its thinnest"},
        {NULL, "shank,thickness 90,1.2,mm,\nshank,wall,1.5,mm,", "measure-clash", "shank,wall", 2,
         "1.2 mm at its thinnest"},
        {"shank,profile", "shank,profile top,flat,,\nshank,profile base,court,,\nshank,wall,3,mm,",
         NULL, NULL, 0, NULL},
        {NULL, "shank,open,360,deg,", "range", "shank,open", 2, NULL},
    };

    CHECK(cases);
}

static void the_commission_agrees_with_itself(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "commission,deliver by,2026-11-24,,", "measure-clash", "commission,deliver by", 2,
         "lies before the quote's date"},
        {NULL, "commission,deliver by,2026-11-25,,", NULL, NULL, 0, NULL},
        {NULL, "commission,valid until,2026-01-31,,", "measure-clash", "commission,valid until", 2,
         "lies before"},
        {NULL, "commission,discount,100,%,", NULL, NULL, 0, NULL},
        {NULL, "commission,discount,100.01,%,", "range", "commission,discount", 2, "from 0 to 100 %"},
        {NULL, "commission,discount,250,,", NULL, NULL, 0, NULL},
        {NULL, "commission,discount,250,each,", "unit-wrong", "commission,discount", 3,
         "% or a currency code"},
        {"commission,currency", "commission,currency,XAU,,", "currency", "commission,currency", 2, NULL},
        {"commission,date", "commission,date,2026-02-30,,", "date", "commission,date", 2, NULL},
    };

    CHECK(cases);
}

static void meshes_replace_each_part_once(void **state)
{
    (void)state;
#define MESH(name, replaces) "mesh " name ",file," name ".stl,,\nmesh " name ",unit,mm,,\n" \
    "mesh " name ",is,model,,\nmesh " name ",replaces," replaces ",,\n"
    static const sheet_case cases[] = {
        {NULL, MESH("a", "all"), NULL, NULL, 0, NULL},
        {NULL, MESH("a", "shank; head centre; halo top"), NULL, NULL, 0, NULL},
        {"shank,\nrow\nmetal\nring,size", MESH("a", "head centre"), NULL, NULL, 0, NULL},
        {NULL, MESH("a", "shank; head center"), "name-unknown", "mesh a,replaces", 2,
         "did you mean \"head centre\"?"},
        {NULL, MESH("a", "stone centre"), "name-unknown", "mesh a,replaces", 2, "no part in metal"},
        {NULL, MESH("a", "shank") MESH("b", "head centre; shank"), "measure-clash", "mesh b,replaces",
         2, "shank is replaced by mesh a already"},
        {NULL, MESH("a", "all") MESH("b", "shank"), "measure-clash", "mesh b,replaces", 2, NULL},
        {NULL, MESH("a", "shank") MESH("b", "all"), "measure-clash", "mesh b,replaces", 2,
         "nothing is left for mesh a"},
        {NULL, "mesh a,file,../ring.stl,,\nmesh a,unit,mm,,\nmesh a,is,model,,\nmesh a,replaces,all,,",
         "not-a-file", "mesh a,file", 2, "no plain file name"},
    };

    CHECK(cases);
}

static void an_option_is_at_fault_where_its_row_stands(void **state)
{
    (void)state;
    static const sheet_case cases[] = {
        {NULL, "option low,halo top,none,,", "name-unknown", "option low,halo top", 1,
         "halo wall refers to halo top, which is left out here"},
        {NULL, "option low,halo top,none,,\noption low,halo wall,none,,", NULL, NULL, 0, NULL},
        {NULL, "option plain,bezel side,none,,\noption plain,stone side,none,,", NULL, NULL, 0, NULL},
        {NULL, "option plain,stone side,none,,", "name-unknown", "option plain,stone side", 1,
         "bezel side refers to stone side"},
        {NULL, "option a,ring/alloy,750 yelow,,", "name-unknown", "option a,ring/alloy", 2, NULL},
        {NULL, "option a,halo top/gap,none,,", "measure-missing", "option a,halo top/gap", 1,
         "it faces up"},
        {NULL, "option a,halo top/gap,-0.1,mm,", "measure-clash", "option a,halo top/gap", 2, NULL},
        {NULL, "option a,stone side/lot,natural pear F-VS2,,", "measure-clash",
         "option a,stone side/lot", 2, NULL},
        {NULL, "option a,stone side/lot,natural pear F-VS2,,\noption a,stone side/price,none,,", NULL,
         NULL, 0, NULL},
        {NULL, "option a,shank/width 60,2,mm,", NULL, NULL, 0, NULL},
        {NULL, "option a,shank/width 60,200,mm,", "range", "option a,shank/width 60", 2, "width 60"},
        {NULL, "option a,halo tpo/lot,natural melee G-VS,,", "option-row", "option a,halo tpo", 1,
         "did you mean \"halo top\"?"},
        {"metal tag", "option a,shank,none,,\noption a,row sides,none,,", "part-missing",
         "option a,shank", 1, NULL},
        {NULL, "option a,ring,none,,", "part-missing", "option a,ring", 1, NULL},
        /* the sheet's own fault is not said again for its options */
        {"ring,alloy", "ring,alloy,750 yelow,,\noption a,ring/wear,daily,,\noption b,ring/wear,daily,,",
         "name-unknown", "ring,alloy", 2, NULL},
        {"shank,width top", "option a,ring/wear,daily,,", "measure-missing", "shank,profile top", 0, NULL},
        {"stone side,gap", "option a,ring/wear,daily,,", "measure-missing", "stone side,shape", 0, NULL},
    };

    CHECK(cases);
}
/* clang-format on */

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_whole_sheet_has_no_fault),
        cmocka_unit_test(parts_that_every_sheet_needs_are_missed_by_name),
        cmocka_unit_test(measures_that_a_part_needs_are_missed_by_name),
        cmocka_unit_test(a_stone_is_described_as_its_shape_asks),
        cmocka_unit_test(a_stone_has_one_source_and_one_price),
        cmocka_unit_test(a_lot_must_hold_such_stones),
        cmocka_unit_test(open_words_must_be_in_the_books_on_the_day),
        cmocka_unit_test(a_day_without_rows_is_a_gap),
        cmocka_unit_test(names_of_parts_are_found_or_missed),
        cmocka_unit_test(circles_are_said_once),
        cmocka_unit_test(heads_and_places_agree),
        cmocka_unit_test(halos_are_placed_as_they_face),
        cmocka_unit_test(rows_along_the_shank_have_an_end),
        cmocka_unit_test(the_rest_of_the_piece_agrees),
        cmocka_unit_test(the_commission_agrees_with_itself),
        cmocka_unit_test(meshes_replace_each_part_once),
        cmocka_unit_test(an_option_is_at_fault_where_its_row_stands),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
