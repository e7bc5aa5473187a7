#include "bookfolder.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* The smallest books that load, invented; tests write over them what they are about. */

static const struct {
    const char *name;
    const char *text;
} small_set[] = {
    {"studio.csv", "field,value\nname,Test Studio\ncurrency,USD\n"},
    {"metals.csv", "metal,price,currency,per\ngold,2000,USD,troy ounce\n"},
    {"rates.csv", NULL},
    {"alloys.csv", "alloy,name,gold,density\n750 yellow,18 karat yellow,750,15.58\n"},
    {"melee.csv", NULL},
    {"stones.csv", NULL},
    {"labour.csv", "operation,craft,applies,per,minutes each\ncast,caster,asked,casting,30\n"},
    {"crafts.csv", "craft,rate per hour\ncaster,60\n"},
    {"services.csv", "service,applies,basis,price\n"},
    {"taxes.csv", "region,category,rate,name\nstate,all,7.25,sales tax\n"
                  "state,retained,0,sales tax\n"},
    {"accounts.csv", NULL},
    {"limits.csv", NULL},
    {"policy.csv", "rule,subject,above,value,unit\nmarkup,metal,,45,%\nat cost,labour,,,\n"
                   "payment,delivery,,,\nvalid,quote,,30,days\n"},
};

const char bookfolder_operations[] =
    "operation,craft,per,minutes each,metal,stone\n"
    "set claw,caster,stone,1,,\nset shared claw,caster,stone,1,,\nset bead,caster,stone,1,,\n"
    "set cut-down,caster,stone,1,,\nset channel,caster,stone,1,,\nset bezel,caster,stone,1,,\n"
    "set flush,caster,stone,1,,\nform round claw,caster,claw,1,,\n"
    "form pointed claw,caster,claw,1,,\nform flat claw,caster,claw,1,,\n"
    "form v claw,caster,claw,1,,\nform double claw,caster,claw,1,,\n"
    "cast,caster,casting,1,,\njoin,caster,joint,1,,\nunset,caster,stone,1,,\n";

static void path_of(const bookfolder *f, char *path, size_t size, const char *name)
{
    snprintf(path, size, "%s/%s", f->path, name);
}

void bookfolder_open(bookfolder *f)
{
    const char *parent = getenv("TMPDIR");

    memset(f, 0, sizeof *f);
    snprintf(f->path, sizeof f->path, "%s/books-XXXXXX", parent == NULL ? "build" : parent);
    assert_non_null(mkdtemp(f->path));
    for (size_t i = 0; i < sizeof small_set / sizeof small_set[0]; i++) {
        if (small_set[i].text != NULL) {
            bookfolder_write(f, small_set[i].name, small_set[i].text);
        }
    }
}

void bookfolder_write(const bookfolder *f, const char *name, const char *text)
{
    char path[600];

    path_of(f, path, sizeof path, name);
    FILE *to = fopen(path, "w");
    assert_non_null(to);
    assert_true(fputs(text, to) >= 0);
    assert_int_equal(0, fclose(to));
}

void bookfolder_remove(const bookfolder *f, const char *name)
{
    char path[600];

    path_of(f, path, sizeof path, name);
    assert_int_equal(0, unlink(path));
}

ts_status bookfolder_load(bookfolder *f)
{
    ts_arena_free(f->arena);
    f->arena = ts_arena_new(NULL, NULL);
    f->diag = ts_diag_new(f->arena);
    f->book = NULL;
    return ts_book_load(&f->book, f->arena, f->path, f->diag);
}

const char *bookfolder_said(bookfolder *f)
{
    memset(f->said, 0, sizeof f->said);
    FILE *to = fmemopen(f->said, sizeof f->said - 1, "w");
    assert_non_null(to);
    ts_diag_print(f->diag, to, false, true);
    fclose(to);
    return f->said;
}

void bookfolder_close(bookfolder *f)
{
    ts_arena_free(f->arena);
    for (size_t i = 0; i < sizeof small_set / sizeof small_set[0]; i++) {
        char path[600];

        path_of(f, path, sizeof path, small_set[i].name);
        unlink(path);
    }
    assert_int_equal(0, rmdir(f->path));
}

void bookfolder_expect(bookfolder *f, size_t errors, const char *sentence)
{
    const ts_status status = bookfolder_load(f);

    if (status != TS_FAULTY || f->book != NULL || ts_diag_errors(f->diag) != errors ||
        strstr(bookfolder_said(f), sentence) == NULL) {
        fail_msg("status %d, %zu faults; expected %zu: %s\nsaid:\n%s", (int)status,
                 ts_diag_errors(f->diag), errors, sentence, bookfolder_said(f));
    }
}

void bookfolder_expect_file(const char *name, const char *text, const char *sentence)
{
    bookfolder f;

    bookfolder_open(&f);
    bookfolder_write(&f, name, text);
    bookfolder_expect(&f, 1, sentence);
    bookfolder_close(&f);
}

ts_date bookfolder_day(const char *text)
{
    ts_date day = TS_DATE_NONE;

    assert_true(ts_date_read(&day, text));
    return day;
}
