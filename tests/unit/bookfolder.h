/* A folder of small price books for a test: written, loaded, and taken away again.
 *
 *     bookfolder f;
 *     bookfolder_open(&f);                       // a small good set, every file that is needed
 *     bookfolder_write(&f, "melee.csv", "lot,...\n");
 *     assert_int_equal(TS_OK, bookfolder_load(&f));
 *     bookfolder_close(&f); */
#ifndef TS_TESTS_BOOKFOLDER_H
#define TS_TESTS_BOOKFOLDER_H

#include <tallystone/book/book.h>

typedef struct bookfolder {
    char path[512];
    ts_arena *arena;
    ts_diag *diag;
    const ts_book *book; /* NULL until loaded without a fault */
    char said[16384];    /* what the diag prints, from bookfolder_said */
} bookfolder;

/* labour.csv with every operation that geometry counts; columns operation, craft, per, minutes
 * each, metal, stone. */
extern const char bookfolder_operations[];

/* Makes the folder under TMPDIR, or where the test runs, and writes the small set: studio in
 * USD, gold, one alloy, one craft, `cast`, no services, one region, a policy. */
void bookfolder_open(bookfolder *f);
void bookfolder_write(const bookfolder *f, const char *name, const char *text);
void bookfolder_remove(const bookfolder *f, const char *name);
/* Loads into a new arena and a new diag. */
ts_status bookfolder_load(bookfolder *f);
/* What the diag holds, as it prints. */
const char *bookfolder_said(bookfolder *f);
void bookfolder_close(bookfolder *f);

/* Loads, and fails the test unless it ends with TS_FAULTY, `errors` faults, and this
 * among what is said. */
void bookfolder_expect(bookfolder *f, size_t errors, const char *sentence);
/* Writes one file into a fresh small set and expects one fault. */
void bookfolder_expect_file(const char *name, const char *text, const char *sentence);
/* A day by its text; fails the test where it is none. */
ts_date bookfolder_day(const char *text);

#endif
