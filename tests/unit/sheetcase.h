/* Sheets for tests: a whole ring as text, rows taken out and put in, and the one fault that
 * must come out with its place. */
#ifndef TS_TESTS_SHEETCASE_H
#define TS_TESTS_SHEETCASE_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/book/book.h>
#include <tallystone/design/design.h>

typedef struct sheet_case {
    const char *without; /* rows that begin so are taken out, one beginning a line; or NULL */
    const char *with;    /* rows that are put at the end, or NULL */
    const char *fault;   /* the word of the one fault; NULL: there is none */
    const char *at;      /* the row of the fault begins so; "part" is the header */
    int cell;            /* the fault's cell, from 0; -1: the row as a whole */
    const char *says;    /* what its sentence or hint holds, or NULL */
} sheet_case;

/* A ring with every kind of part but mesh, without a fault. */
extern const char sheet_whole[];

typedef struct sheet_run {
    ts_arena *arena;
    ts_diag *diag;
    const ts_book *book; /* the books that ship; NULL until sheet_run_open loads them */
    char *text;          /* the sheet, borrowed by the sheet read */
    ts_sheet *sheet;
    ts_status status; /* of reading it */
    char said[65536]; /* what the faults print as */
} sheet_run;

void sheet_run_open(sheet_run *run, bool with_book);
void sheet_run_close(sheet_run *run);
/* Puts a sheet together and reads it, without designs. A fresh list of faults each time. */
void sheet_run_read(sheet_run *run, const char *base, const char *without, const char *with);
/* The design of an option, or NULL where it has faults. */
ts_design *sheet_run_design(sheet_run *run, int option);
/* Prints the faults into run->said, which is returned. */
const char *sheet_run_said(sheet_run *run);
/* The part of a kind and name; fails the test where it is missing. */
const ts_part *sheet_part_of(const ts_design *design, ts_part_kind kind, const char *name);

/* Reads the case over `base`, builds all its options, and fails the running test where
 * there is another fault than the one, or at another place. */
void sheet_case_check(sheet_run *run, const char *base, const sheet_case *one);

#endif
