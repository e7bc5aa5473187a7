#include "sheetcase.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A fault is told by what is printed of it: line, column, cell and word, as its reader will
 * see them. Where they must be is counted out here from the sheet's own text, so rows can be
 * put in and taken out without a number to be changed. Cells hold no commas here. */

const char sheet_whole[] = "part,measure,value,unit,note\n"
                           "commission,reference,T-1,,\n"
                           "commission,title,A ring,,\n"
                           "commission,client,somebody,,\n"
                           "commission,currency,USD,,\n"
                           "commission,date,2026-11-25,,\n"
                           "commission,region,state,,\n"
                           "ring,size,6,US,\n"
                           "ring,alloy,750 yellow,,\n"
                           "shank,profile top,half round,,\n"
                           "shank,profile base,flat,,\n"
                           "shank,width top,2.2,mm,\n"
                           "shank,width base,2.4,mm,\n"
                           "shank,thickness top,1.8,mm,\n"
                           "shank,thickness base,1.7,mm,\n"
                           "stone centre,shape,round,,\n"
                           "stone centre,length,6.5,mm,\n"
                           "stone centre,depth,3.95,mm,\n"
                           "stone centre,species,diamond,,\n"
                           "stone centre,origin,natural,,\n"
                           "stone centre,setting,claw,,\n"
                           "stone centre,lot,natural round F-VS2,,\n"
                           "stone side,shape,pear,,\n"
                           "stone side,length,4.6,mm,\n"
                           "stone side,width,3,mm,\n"
                           "stone side,depth,1.85,mm,\n"
                           "stone side,species,diamond,,\n"
                           "stone side,origin,natural,,\n"
                           "stone side,setting,bezel,,\n"
                           "stone side,price,150,each,\n"
                           "stone side,count,2,,\n"
                           "stone side,beside,centre,,\n"
                           "stone side,gap,0.2,mm,\n"
                           "head centre,holds,centre,,\n"
                           "head centre,claws,6,,\n"
                           "head centre,claw style,round,,\n"
                           "head centre,claw diameter,1.1,mm,\n"
                           "head centre,tip diameter,0.9,mm,\n"
                           "head centre,rails,2,,\n"
                           "head centre,rail diameter,0.9,mm,\n"
                           "head centre,culet clearance,2.2,mm,\n"
                           "bezel side,holds,side,,\n"
                           "bezel side,wall,0.5,mm,\n"
                           "bezel side,height,2,mm,\n"
                           "halo top,around,centre,,\n"
                           "halo top,faces,up,,\n"
                           "halo top,gap,0.5,mm,\n"
                           "halo top,stone diameter,1.4,mm,\n"
                           "halo top,spacing,0.1,mm,\n"
                           "halo top,lot,natural melee G-VS,,\n"
                           "halo top,setting,cut-down,,\n"
                           "halo top,thickness,1.4,mm,\n"
                           "halo top,rim,0.35,mm,\n"
                           "halo wall,around,centre,,\n"
                           "halo wall,faces,out,,\n"
                           "halo wall,under,halo top,,\n"
                           "halo wall,stone diameter,fit,,\n"
                           "halo wall,spacing,0.1,mm,\n"
                           "halo wall,lot,natural melee G-VS,,\n"
                           "halo wall,setting,bead,,\n"
                           "halo wall,thickness,1.1,mm,\n"
                           "halo wall,rim,0.3,mm,\n"
                           "halo wall,drop,2.5,mm,\n"
                           "row sides,from,30,deg,\n"
                           "row sides,to,60,deg,\n"
                           "row sides,stone diameter,1.3,mm,\n"
                           "row sides,spacing,0.1,mm,\n"
                           "row sides,lot,natural melee G-VS,,\n"
                           "row sides,setting,bead,,\n"
                           "metal tag,volume,12,mm3,\n"
                           "work polish,operation,hand finishing,,\n"
                           "work polish,minutes,30,min,\n"
                           "service report,service,laboratory report,,\n"
                           "trade-in old,alloy,585 yellow,,\n"
                           "trade-in old,weight,4.2,g,\n";

void sheet_run_open(sheet_run *run, bool with_book)
{
    memset(run, 0, sizeof *run);
    run->arena = ts_arena_new(NULL, NULL);
    run->diag = ts_diag_new(run->arena);
    if (with_book) {
        assert_int_equal(ts_book_load(&run->book, run->arena, "pricebooks", run->diag), TS_OK);
    }
}

void sheet_run_close(sheet_run *run)
{
    free(run->text);
    ts_arena_free(run->arena);
}

/* True where the line begins with one of the beginnings, which stand one a line. */
static bool is_among(const char *line, const char *beginnings)
{
    while (beginnings != NULL && *beginnings != '\0') {
        const size_t length = strcspn(beginnings, "\n");

        if (strncmp(line, beginnings, length) == 0) {
            return true;
        }
        beginnings += length + (beginnings[length] == '\n');
    }
    return false;
}

static char *put_together(const char *base, const char *without, const char *with)
{
    char *text = malloc(strlen(base) + (with == NULL ? 0 : strlen(with)) + 2);
    char *to = text;

    assert_non_null(text);
    while (*base != '\0') {
        const size_t length = strcspn(base, "\n") + 1;

        if (!is_among(base, without)) {
            memcpy(to, base, length);
            to += length;
        }
        base += length;
    }
    strcpy(to, with == NULL ? "" : with);
    if (with != NULL && with[0] != '\0' && with[strlen(with) - 1] != '\n') {
        strcat(to, "\n");
    }
    return text;
}

void sheet_run_read(sheet_run *run, const char *base, const char *without, const char *with)
{
    free(run->text);
    run->text = put_together(base, without, with);
    run->diag = ts_diag_new(run->arena);
    run->status = ts_sheet_parse(&run->sheet, run->arena, "sheet.csv", run->text, strlen(run->text),
                                 run->diag);
}

ts_design *sheet_run_design(sheet_run *run, int option)
{
    ts_design *design = NULL;
    const ts_status status =
        ts_design_of(&design, run->arena, run->sheet, option, run->book, TS_DATE_NONE, run->diag);

    assert_true((status == TS_OK) == (design != NULL));
    return design;
}

const char *sheet_run_said(sheet_run *run)
{
    FILE *to = fmemopen(run->said, sizeof run->said, "w");

    assert_non_null(to);
    ts_diag_print(run->diag, to, false, true);
    fclose(to);
    return run->said;
}

const ts_part *sheet_part_of(const ts_design *design, ts_part_kind kind, const char *name)
{
    const ts_part *part = NULL;

    for (int i = 0; (part = ts_design_part(design, (ts_ref){kind, i})) != NULL; i++) {
        if (strcmp(part->name, name) == 0) {
            return part;
        }
    }
    fail_msg("no %s \"%s\"", ts_part_word(kind), name);
    return NULL;
}

/* "sheet.csv:12:9: " for a cell of the last row that begins so; the cell's name too. */
static void place_of(char *place, char *cell, size_t size, const char *text, const sheet_case *one)
{
    const char *row = NULL;
    int line = 0;
    int found = 0;
    int column = 1;

    for (const char *at = text; *at != '\0'; at += strcspn(at, "\n") + 1) {
        line++;
        if (strncmp(at, one->at, strlen(one->at)) == 0) {
            row = at;
            found = line;
        }
    }
    if (row == NULL) {
        fail_msg("no row begins with \"%s\"", one->at);
        return;
    }
    for (int passed = 0; passed < one->cell; passed++) {
        column += (int)strcspn(row + column - 1, ",\n") + 1;
    }
    snprintf(place, size, "sheet.csv:%d:%d: ", found, column);
    if (one->cell < 0) {
        snprintf(cell, size, "row %d", found);
    } else {
        snprintf(cell, size, "\n  %c%d ", 'A' + one->cell, found);
    }
}

void sheet_case_check(sheet_run *run, const char *base, const sheet_case *one)
{
    char place[64];
    char cell[64];
    char word[64];

    sheet_run_read(run, base, one->without, one->with);
    for (int i = 0; run->sheet != NULL && i <= ts_sheet_options(run->sheet); i++) {
        sheet_run_design(run, i);
    }
    const char *said = sheet_run_said(run);
    const char *with = one->with == NULL ? "" : one->with;
    if (one->fault == NULL) {
        if (ts_diag_errors(run->diag) != 0) {
            fail_msg("with \"%s\": no fault is expected, but:\n%s", with, said);
        }
        return;
    }
    snprintf(word, sizeof word, " [%s]\n", one->fault);
    place_of(place, cell, sizeof place, run->text, one);
    if (ts_diag_errors(run->diag) != 1 || strstr(said, place) == NULL ||
        strstr(said, word) == NULL || (one->cell >= 0 && strstr(said, cell) == NULL) ||
        (one->says != NULL && strstr(said, one->says) == NULL)) {
        fail_msg("without \"%s\", with \"%s\": %s%s(cell%s) expected, saying \"%s\", but:\n%s",
                 one->without == NULL ? "" : one->without, with, place, word, cell,
                 one->says == NULL ? "" : one->says, said);
    }
}
