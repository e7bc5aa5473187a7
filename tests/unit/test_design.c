/* What a design holds once its sheet is read: typed values, defaults, references, the lot's
 * sizes; and two laws: an option that replaces nothing is the sheet, and the order of the rows
 * never matters. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/sheet/value.h>

#include "sheetcase.h"

/* The design of sheet_whole with these rows instead; fails the test on any fault. */
static ts_design *design_with(sheet_run *run, const char *without, const char *with, int option)
{
    sheet_run_read(run, sheet_whole, without, with);
    ts_design *design = run->sheet == NULL ? NULL : sheet_run_design(run, option);
    if (design == NULL || ts_diag_errors(run->diag) != 0) {
        fail_msg("no fault is expected, but:\n%s", sheet_run_said(run));
    }
    return design;
}

/* ---- the tables ---- */

static void every_part_has_at_most_32_measures_of_one_word_each(void **state)
{
    (void)state;
    size_t all = 0;

    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields((ts_part_kind)kind, &count);

        assert_in_range(count, 1, TS_PART_FIELDS);
        assert_true(ts_part_word((ts_part_kind)kind)[0] != '\0');
        assert_true(ts_part_says((ts_part_kind)kind)[0] != '\0');
        for (size_t i = 0; i < count; i++) {
            assert_int_equal(ts_field_position((ts_field_id)(all + i)), i);
            assert_true(fields[i].says[0] != '\0');
            assert_true(fields[i].kind != TS_KIND_WORD || fields[i].list != TS_LIST_NONE);
            for (size_t j = 0; j < i; j++) {
                assert_string_not_equal(fields[i].word, fields[j].word);
            }
        }
        all += count;
    }
    assert_int_equal(all, TS_FIELD_COUNT);
}

/* A value that the field takes: its first word, the middle of its range, an example. */
static void example_of(const ts_field *field, char *value, char *unit, size_t size)
{
    *unit = '\0';
    switch (field->kind) {
    case TS_KIND_WORD:
        /* halos and rows both face out; up and side are for one of them */
        snprintf(value, size, "%s",
                 ts_list_word(field->list, field->list == TS_LIST_FACES ? TS_FACES_OUT : 1));
        return;
    case TS_KIND_SIZE:
        snprintf(value, size, "L 1/2");
        snprintf(unit, size, "UK");
        return;
    case TS_KIND_DATE:
        snprintf(value, size, "2026-12-31");
        return;
    case TS_KIND_CURRENCY:
        snprintf(value, size, "EUR");
        return;
    case TS_KIND_AMOUNT:
        snprintf(value, size, "250.5");
        return;
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
        snprintf(value, size, "centre");
        return;
    case TS_KIND_NONE:
    case TS_KIND_LENGTH:
    case TS_KIND_FIT:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
    case TS_KIND_PERCENT:
    case TS_KIND_NUMBER:
    case TS_KIND_COUNT:
    case TS_KIND_COUNT_OF:
        break;
    }
    snprintf(value, size, "%s", field->most);
    snprintf(unit, size, "%s", ts_kind_unit(field->kind));
}

/* A stage of the reading said something of the value: its number, word, unit, range. */
static bool value_refused(const char *said)
{
    static const char *const words[] = {"[number",       "[unit-",         "[range]",
                                        "[date]",        "[word-unknown]", "[text]",
                                        "[cell-empty]",  "[currency]",     "[measure-unknown]",
                                        "[part-unknown]"};
    const char *line = strstr(said, "sheet.csv:2:");

    while (line != NULL) {
        const char *end = strchr(line, '\n');

        for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
            const char *word = strstr(line, words[i]);

            if (word != NULL && word < end) {
                return true;
            }
        }
        line = strstr(end, "sheet.csv:2:");
    }
    return false;
}

static void the_limits_of_every_measure_are_read_and_no_more(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, false);
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields((ts_part_kind)kind, &count);

        for (size_t i = 0; i < count; i++) {
            char base[512];
            char value[128];
            char unit[64];
            const bool price = kind == TS_PART_STONE && strcmp(fields[i].word, "price") == 0;

            example_of(&fields[i], value, unit, sizeof unit);
            snprintf(base, sizeof base, "part,measure,value,unit,note\n%s,%s,%s,%s,\n",
                     ts_part_word((ts_part_kind)kind), fields[i].word, value,
                     price ? "each" : unit);
            sheet_run_read(&run, base, NULL, NULL);
            assert_int_equal(run.status, TS_OK);
            sheet_run_design(&run, 0);
            if (value_refused(sheet_run_said(&run))) {
                fail_msg("%s\nis refused:\n%s", base, run.said);
            }
            if (fields[i].most[0] == '\0' || fields[i].kind == TS_KIND_AMOUNT) {
                continue;
            }
            snprintf(base, sizeof base, "part,measure,value,unit,note\n%s,%s,%s.5,%s,\n",
                     ts_part_word((ts_part_kind)kind), fields[i].word, fields[i].most, unit);
            sheet_run_read(&run, base, NULL, NULL);
            sheet_run_design(&run, 0);
            if (!value_refused(sheet_run_said(&run))) {
                fail_msg("%s\nis beyond what may be, and not refused:\n%s", base, run.said);
            }
        }
    }
    sheet_run_close(&run);
}

/* ---- values ---- */

static void values_are_typed_and_defaults_filled_in(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = design_with(&run, "shank,width top\nstone side,depth",
                                     "shank,width top,0.1,in,\nstone side,weight,0.03,g,\n"
                                     "halo top,label,halo of eighteen,,\n",
                                     0);
    assert_int_equal(d->commission_count, 1);
    assert_string_equal(d->commission[0].region, "state");
    assert_string_equal(d->commission[0].title, "A ring");
    assert_int_equal(d->exponent, 2);
    assert_int_equal(d->as_of.days, d->commission[0].date.days);
    assert_false(ts_date_given(d->commission[0].deliver_by));
    assert_int_equal(d->commission[0].discount.of, TS_AMOUNT_NONE);
    assert_int_equal(d->ring[0].size.system, TS_SIZE_US);
    assert_int_equal(d->shank[0].profile_top, TS_PROFILE_HALF_ROUND);
    assert_int_equal(d->shank[0].width_top.e6, 2540000);
    assert_int_equal(d->shank[0].wall.e6, 0);
    assert_int_equal(d->shank[0].made, TS_MADE_CAST);
    assert_null(d->shank[0].alloy);
    assert_int_equal(d->stone_count, 2);
    const ts_stone *side = (const ts_stone *)sheet_part_of(d, TS_PART_STONE, "side");
    assert_int_equal(side->weight.e6, 150000); /* 0.03 g */
    assert_int_equal(side->count, 2);
    assert_int_equal(side->copies, 2);
    assert_int_equal(side->supplied_by, TS_SUPPLIER_STUDIO);
    assert_int_equal(side->price.of, TS_AMOUNT_EACH);
    assert_string_equal(side->price.currency, "USD");
    assert_int_equal(side->declared.of, TS_AMOUNT_NONE);
    assert_string_equal(sheet_part_of(d, TS_PART_HALO, "top")->label, "halo of eighteen");
    assert_null(sheet_part_of(d, TS_PART_HALO, "wall")->label);
    assert_int_equal(d->row[0].shoulders, 2);
    assert_int_equal(d->row[0].lines, 1);
    assert_int_equal(d->row[0].faces, TS_FACES_OUT);
    assert_int_equal(d->service[0].count, 1);
    assert_int_equal(d->trade_in[0].use, TS_USE_CREDIT);
    sheet_run_close(&run);
}

static void plain_amounts_are_in_the_commissions_currency(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d =
        design_with(&run, "commission,currency",
                    "commission,currency,EUR,,\ncommission,discount,50,,\nmetal tag,price,40,,\n"
                    "service report,amount,900,,\n",
                    0);
    assert_int_equal(d->commission[0].discount.of, TS_AMOUNT_MONEY);
    assert_string_equal(d->commission[0].discount.currency, "EUR");
    assert_int_equal(d->metal[0].price.of, TS_AMOUNT_EACH);
    assert_string_equal(d->metal[0].price.currency, "EUR");
    assert_int_equal(d->service[0].amount.of, TS_AMOUNT_MONEY);
    assert_string_equal(d->service[0].amount.currency, "EUR");
    d = design_with(&run, NULL, "commission,discount,5,%,\nmetal tag,price,40,KWD each,\n", 0);
    assert_int_equal(d->commission[0].discount.of, TS_AMOUNT_PERCENT);
    assert_string_equal(d->metal[0].price.currency, "KWD");
    sheet_run_close(&run);
}

static void what_is_given_is_told_from_defaults(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = design_with(&run, NULL, NULL, 0);
    const ts_part *stone = sheet_part_of(d, TS_PART_STONE, "side");
    assert_true(ts_part_has(stone, TS_FIELD_STONE_COUNT));
    assert_false(ts_part_has(stone, TS_FIELD_STONE_TURN));
    assert_int_equal(ts_part_line(stone, TS_FIELD_STONE_COUNT), 31);
    assert_int_equal(ts_part_line(stone, TS_FIELD_STONE_TURN), 0);
    const ts_place given = ts_part_place(d, run.arena, stone, TS_FIELD_STONE_COUNT);
    assert_int_equal(given.line, 31);
    assert_int_equal(given.cell, 3);
    const ts_place any = ts_part_place(d, run.arena, stone, TS_FIELD_STONE_TURN);
    assert_int_equal(any.line, 23);
    assert_int_equal(any.cell, 1);
    assert_string_equal(ts_part_title(run.arena, stone), "stone side");
    assert_string_equal(ts_part_title(run.arena, &d->shank[0].part), "shank");
    assert_string_equal(ts_design_alloy(d, NULL), "750 yellow");
    assert_string_equal(ts_design_alloy(d, "silver 925"), "silver 925");
    sheet_run_close(&run);
}

static void stations_stand_in_order_of_their_angle(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = design_with(&run, NULL,
                                     "shank,width 90,2,mm,\nshank,thickness 30.5,1.9,mm,\n"
                                     "shank,profile 90,court,,\nshank,width 30.5,2.1,mm,\n"
                                     "option a,shank/width 90,3,mm,\noption a,shank/width 5,2,mm,\n"
                                     "option a,shank/thickness 30.5,none,,\n",
                                     0);
    assert_int_equal(d->shank[0].station_count, 2);
    const ts_station_row *at = d->shank[0].stations;
    assert_int_equal(at[0].angle.e6, 30500000);
    assert_true(at[0].has_width && at[0].has_thickness);
    assert_int_equal(at[0].profile, TS_PROFILE_NONE);
    assert_int_equal(at[1].angle.e6, 90000000);
    assert_true(at[1].has_width && !at[1].has_thickness);
    assert_int_equal(at[1].profile, TS_PROFILE_COURT);
    d = sheet_run_design(&run, 1);
    assert_non_null(d);
    at = d->shank[0].stations;
    assert_int_equal(d->shank[0].station_count, 3);
    assert_int_equal(at[0].angle.e6, 5000000);
    assert_false(at[1].has_thickness);
    assert_int_equal(at[2].width.e6, 3000000);
    sheet_run_close(&run);
}

static void references_lead_to_parts(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d =
        design_with(&run, "stone side,beside", "stone side,beside,halo top,,\n", 0);
    const ts_stone *side = (const ts_stone *)sheet_part_of(d, TS_PART_STONE, "side");
    const ts_halo *wall = (const ts_halo *)sheet_part_of(d, TS_PART_HALO, "wall");
    const ts_part *centre = sheet_part_of(d, TS_PART_STONE, "centre");
    assert_ptr_equal(ts_design_part(d, d->head[0].holds_ref), centre);
    assert_ptr_equal(ts_design_part(d, d->bezel[0].holds_ref), &side->part);
    assert_ptr_equal(ts_design_part(d, side->beside_ref), sheet_part_of(d, TS_PART_HALO, "top"));
    assert_ptr_equal(ts_design_part(d, wall->around_ref), centre);
    assert_ptr_equal(ts_design_part(d, wall->under_ref), sheet_part_of(d, TS_PART_HALO, "top"));
    assert_ptr_equal(ts_design_part(d, wall->stone_ref), centre);
    assert_null(ts_design_part(d, ((const ts_stone *)centre)->beside_ref));
    /* a halo around a halo: the stone at the bottom */
    d = design_with(&run, "halo wall,around\nhalo wall,faces\nhalo wall,under",
                    "halo wall,around,Halo  Top,,\nhalo wall,faces,up,,\nhalo wall,gap,0.1,mm,\n",
                    0);
    wall = (const ts_halo *)sheet_part_of(d, TS_PART_HALO, "wall");
    assert_int_equal(wall->around_ref.kind, TS_PART_HALO);
    assert_ptr_equal(ts_design_part(d, wall->stone_ref), sheet_part_of(d, TS_PART_STONE, "centre"));
    sheet_run_close(&run);
}

static void one_part_of_a_kind_may_go_without_a_name(void **state)
{
    (void)state;
    static const char base[] =
        "part,measure,value,unit,note\n"
        "commission,reference,T,,\ncommission,title,t,,\ncommission,client,c,,\n"
        "commission,currency,USD,,\ncommission,date,2026-11-25,,\ncommission,region,state,,\n"
        "ring,alloy,585 yellow,,\nmetal,volume,40,mm3,\n"
        "stone,shape,round,,\nstone,weight,1,ct,\nstone,species,diamond,,\n"
        "stone,origin,natural,,\nstone,setting,bezel,,\nstone,price,900,per ct,\n"
        "bezel,holds,stone,,\nbezel,wall,0.6,mm,\nbezel,height,2,mm,\n"
        "halo,around,stone,,\nhalo,faces,up,,\nhalo,gap,0.2,mm,\nhalo,stone diameter,1.3,mm,\n"
        "halo,spacing,0.1,mm,\nhalo,lot,natural melee G-VS,,\nhalo,setting,bead,,\n"
        "halo,thickness,1.3,mm,\nhalo,rim,0.3,mm,\n"
        "halo outer,around,halo,,\nhalo outer,faces,up,,\nhalo outer,gap,0.1,mm,\n"
        "halo outer,stone diameter,fit,,\nhalo outer,spacing,0.1,mm,\n"
        "halo outer,lot,natural melee G-VS,,\nhalo outer,setting,bead,,\n"
        "halo outer,thickness,1.3,mm,\nhalo outer,rim,0.3,mm,\n";
    sheet_run run;

    sheet_run_open(&run, true);
    sheet_run_read(&run, base, NULL, NULL);
    const ts_design *d = sheet_run_design(&run, 0);
    if (d == NULL) {
        fail_msg("%s", sheet_run_said(&run));
    }
    const ts_halo *outer = (const ts_halo *)sheet_part_of(d, TS_PART_HALO, "outer");
    assert_ptr_equal(ts_design_part(d, d->bezel[0].holds_ref), &d->stone[0].part);
    assert_ptr_equal(ts_design_part(d, outer->around_ref), sheet_part_of(d, TS_PART_HALO, ""));
    assert_ptr_equal(ts_design_part(d, outer->stone_ref), &d->stone[0].part);
    assert_string_equal(ts_part_title(run.arena, &d->stone[0].part), "stone");
    sheet_run_close(&run);
}

static void a_lots_steps_are_laid_out_at_their_middles(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = design_with(&run, NULL, "row sides,end diameter,1.0,mm,\n", 0);
    const ts_halo *wall = (const ts_halo *)sheet_part_of(d, TS_PART_HALO, "wall");
    const ts_melee_row *const *steps = NULL;
    const size_t count =
        ts_book_melee_steps(&steps, run.arena, run.book, "natural melee g-vs", d->as_of);
    assert_true(count > 10);
    assert_int_equal(wall->stone_diameter.e6, 0); /* fit */
    assert_int_equal(wall->fit_count, count);
    assert_int_equal(d->row[0].fit_count, count);
    for (size_t i = 0; i < count; i++) {
        const int64_t twice = steps[i]->from_mm.e6 + steps[i]->to_mm.e6;

        assert_int_equal(wall->fit_mm[i].e6 * 2, twice);
        assert_int_equal(d->row[0].fit_mm[i].e6 * 2, twice);
        assert_true(i == 0 || wall->fit_mm[i].e6 > wall->fit_mm[i - 1].e6);
    }
    sheet_run_close(&run);
}

static void a_mesh_replaces_what_it_names(void **state)
{
    (void)state;
    static const char named[] = "mesh a,file,a.stl,,\nmesh a,unit,mm,,\nmesh a,is,model,,\n"
                                "mesh a,replaces,Shank;  head centre ,,\n";
    static const char all[] = "mesh a,file,a.stl,,\nmesh a,unit,mm,,\nmesh a,is,model,,\n"
                              "mesh a,replaces,ALL,,\nmetal post,weight,0.2,g,\n"
                              "metal post,price,4,each,\n";
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *d = design_with(&run, NULL, named, 0);
    assert_int_equal(d->mesh[0].replaced_count, 2);
    assert_true(ts_design_replaced(d, &d->shank[0].part));
    assert_true(ts_design_replaced(d, &d->head[0].part));
    assert_false(ts_design_replaced(d, &d->halo[0].part));
    assert_false(ts_design_replaced(d, &d->stone[0].part));
    d = design_with(&run, NULL, all, 0);
    assert_true(d->mesh[0].replaces_all);
    assert_true(ts_design_replaced(d, &d->halo[0].part));
    assert_true(ts_design_replaced(d, sheet_part_of(d, TS_PART_METAL, "tag")));
    /* bought ready-made: it is not in the model */
    assert_false(ts_design_replaced(d, sheet_part_of(d, TS_PART_METAL, "post")));
    assert_false(ts_design_replaced(d, &d->stone[0].part));
    sheet_run_close(&run);
}

static void a_day_given_wins_over_the_sheets(void **state)
{
    (void)state;
    sheet_run run;
    ts_design *design = NULL;
    ts_date day;

    sheet_run_open(&run, true);
    assert_true(ts_date_read(&day, "2026-12-24"));
    sheet_run_read(&run, sheet_whole, NULL, NULL);
    assert_int_equal(ts_design_of(&design, run.arena, run.sheet, 0, run.book, day, run.diag),
                     TS_OK);
    assert_int_equal(design->as_of.days, day.days);
    assert_true(ts_date_read(&day, "2020-01-01"));
    assert_int_equal(ts_design_of(&design, run.arena, run.sheet, 0, run.book, day, run.diag),
                     TS_FAULTY);
    assert_non_null(strstr(sheet_run_said(&run), "in force on 2020-01-01 [book-gap]"));
    sheet_run_close(&run);
}

/* ---- laws ---- */

/* True where two designs say the same: part by part by name, measure by measure as typed. */
static void assert_same_part(const ts_part *one, const ts_part *other)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(one->kind, &count);

    assert_string_equal(one->name, other->name);
    assert_int_equal(one->given, other->given);
    assert_true((one->label == NULL) == (other->label == NULL));
    for (size_t i = 0; i < count; i++) {
        char value[2][256];
        char unit[2][64];

        ts_value_text(value[0], sizeof value[0], unit[0], sizeof unit[0], one, &fields[i]);
        ts_value_text(value[1], sizeof value[1], unit[1], sizeof unit[1], other, &fields[i]);
        assert_string_equal(value[0], value[1]);
        assert_string_equal(unit[0], unit[1]);
    }
}

static int parts_of(const ts_design *design, ts_part_kind kind)
{
    int count = 0;

    while (ts_design_part(design, (ts_ref){kind, count}) != NULL) {
        count++;
    }
    return count;
}

static void assert_same(const ts_design *one, const ts_design *other)
{
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        const int count = parts_of(one, (ts_part_kind)kind);

        assert_int_equal(count, parts_of(other, (ts_part_kind)kind));
        for (int i = 0; i < count; i++) {
            const ts_part *part = ts_design_part(one, (ts_ref){(ts_part_kind)kind, i});

            assert_same_part(part, sheet_part_of(other, (ts_part_kind)kind, part->name));
        }
    }
    assert_int_equal(one->as_of.days, other->as_of.days);
    assert_int_equal(one->exponent, other->exponent);
}

static void an_option_that_replaces_nothing_is_the_sheet(void **state)
{
    (void)state;
    sheet_run run;

    sheet_run_open(&run, true);
    const ts_design *base = design_with(&run, NULL, "option same,label,The same again,,\n", 0);
    assert_int_equal(ts_sheet_options(run.sheet), 1);
    const ts_design *same = sheet_run_design(&run, 1);
    assert_non_null(same);
    assert_same(base, same);
    assert_string_equal(base->option_name, "base");
    assert_null(base->option_label);
    assert_string_equal(same->option_name, "same");
    assert_string_equal(same->option_label, "The same again");
    assert_int_equal(same->option, 1);
    sheet_run_close(&run);
}

/* An option gives the design that the sheet gives with those rows in its own. */
static void an_option_is_the_sheet_with_its_rows_replaced(void **state)
{
    (void)state;
    sheet_run run;
    sheet_run other;

    sheet_run_open(&run, true);
    sheet_run_open(&other, true);
    design_with(&run, NULL,
                "option a,ring/alloy,platinum 950,,\noption a,halo wall,none,,\n"
                "option a,stone centre/length,0.25,in,\noption a,stone centre/girdle,thin,,\n"
                "option a,stone side/lot,natural pear F-VS2,,\noption a,stone side/price,none,,\n",
                0);
    const ts_design *option = sheet_run_design(&run, 1);
    if (option == NULL) {
        fail_msg("%s", sheet_run_said(&run));
    }
    const ts_design *whole =
        design_with(&other, "ring,alloy\nhalo wall,\nstone centre,length\nstone side,price",
                    "ring,alloy,platinum 950,,\nstone centre,length,0.25,in,\n"
                    "stone centre,girdle,thin,,\nstone side,lot,natural pear F-VS2,,\n",
                    0);
    assert_same(option, whole);
    sheet_run_close(&run);
    sheet_run_close(&other);
}

static uint32_t next_random(uint32_t *seed)
{
    *seed = *seed * 1664525u + 1013904223u; /* Numerical Recipes' quick generator */
    return *seed >> 8;
}

/* The lines under the header in another order. */
static char *shuffled(const char *text, uint32_t *seed)
{
    const char *lines[256];
    size_t count = 0;
    char *out = malloc(strlen(text) + 1);
    char *to = out;

    assert_non_null(out);
    for (const char *at = text; *at != '\0'; at += strcspn(at, "\n") + 1) {
        assert_true(count < 256);
        lines[count++] = at;
    }
    for (size_t i = count - 1; i > 1; i--) {
        const size_t j = 1 + next_random(seed) % i;
        const char *line = lines[i];

        lines[i] = lines[j];
        lines[j] = line;
    }
    for (size_t i = 0; i < count; i++) {
        const size_t length = strcspn(lines[i], "\n") + 1;

        memcpy(to, lines[i], length);
        to += length;
    }
    *to = '\0';
    return out;
}

static void the_order_of_rows_never_matters(void **state)
{
    (void)state;
    static const char more[] = "option a,halo wall,none,,\noption a,shank/width 60,2,mm,\n"
                               "shank,width 60,1.9,mm,\nhalo wall,label,wall,,\n";
    uint32_t seed = 20261125u;
    sheet_run run;
    sheet_run other;

    sheet_run_open(&run, true);
    sheet_run_open(&other, true);
    const ts_design *base = design_with(&run, NULL, more, 0);
    const ts_design *option = sheet_run_design(&run, 1);
    assert_non_null(option);
    for (int i = 0; i < 20; i++) {
        char *text = shuffled(run.text, &seed);

        sheet_run_read(&other, text, NULL, NULL);
        free(text);
        assert_int_equal(other.status, TS_OK);
        const ts_design *again = sheet_run_design(&other, 0);
        const ts_design *option_again = sheet_run_design(&other, 1);
        assert_non_null(again);
        assert_non_null(option_again);
        assert_same(base, again);
        assert_same(option, option_again);
        assert_int_equal(again->shank[0].stations[0].width.e6, 1900000);
        assert_int_equal(option_again->shank[0].stations[0].width.e6, 2000000);
    }
    sheet_run_close(&run);
    sheet_run_close(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_part_has_at_most_32_measures_of_one_word_each),
        cmocka_unit_test(the_limits_of_every_measure_are_read_and_no_more),
        cmocka_unit_test(values_are_typed_and_defaults_filled_in),
        cmocka_unit_test(plain_amounts_are_in_the_commissions_currency),
        cmocka_unit_test(what_is_given_is_told_from_defaults),
        cmocka_unit_test(stations_stand_in_order_of_their_angle),
        cmocka_unit_test(references_lead_to_parts),
        cmocka_unit_test(one_part_of_a_kind_may_go_without_a_name),
        cmocka_unit_test(a_lots_steps_are_laid_out_at_their_middles),
        cmocka_unit_test(a_mesh_replaces_what_it_names),
        cmocka_unit_test(a_day_given_wins_over_the_sheets),
        cmocka_unit_test(an_option_that_replaces_nothing_is_the_sheet),
        cmocka_unit_test(an_option_is_the_sheet_with_its_rows_replaced),
        cmocka_unit_test(the_order_of_rows_never_matters),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
