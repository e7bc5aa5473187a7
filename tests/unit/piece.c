#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "piece.h"

#define PREFACE                                                                                    \
    "part,measure,value,unit,note\n"                                                               \
    "commission,reference,TEST,,\n"                                                                \
    "commission,title,a piece for a test,,\n"                                                      \
    "commission,client,nobody,,\n"                                                                 \
    "commission,currency,USD,,\n"                                                                  \
    "commission,date,2026-11-25,,\n"                                                               \
    "commission,region,state,,\n"
#define RING                                                                                       \
    "ring,size,6,US,\n"                                                                            \
    "ring,alloy,750 yellow,,\n"

static void say(const piece *p)
{
    ts_diag_print(p->diag, stderr, false, false);
}

static piece begin(const char *books)
{
    piece p = {.arena = ts_arena_new(NULL, NULL)};

    p.diag = ts_diag_new(p.arena);
    if (books != NULL && ts_book_load(&p.book, p.arena, books, p.diag) != TS_OK) {
        say(&p);
        fail_msg("the books of %s cannot be used", books);
    }
    return p;
}

static void build(piece *p, int option)
{
    p->status =
        ts_design_of(&p->design, p->arena, p->sheet, option, p->book, TS_DATE_NONE, p->diag);
    if (p->status != TS_OK) {
        say(p);
        fail_msg("the test's sheet has faults");
    }
}

piece piece_open(const char *rows, const char *books)
{
    piece p = begin(books);
    bool has_ring = strncmp(rows, "ring,", 5) == 0;
    const char *text = ts_arena_format(p.arena, "%s%s%s", PREFACE, has_ring ? "" : RING, rows);

    if (ts_sheet_parse(&p.sheet, p.arena, "test.csv", text, strlen(text), p.diag) != TS_OK) {
        say(&p);
        fail_msg("the test's sheet cannot be read");
    }
    build(&p, 0);
    return p;
}

piece piece_read(const char *path, int option, const char *books)
{
    piece p = begin(books);

    if (ts_sheet_read(&p.sheet, p.arena, path, p.diag) != TS_OK) {
        say(&p);
        fail_msg("%s cannot be read", path);
    }
    build(&p, option);
    return p;
}

void piece_measure(piece *p, bool must)
{
    p->status = ts_geometry_of(&p->geometry, p->arena, p->design, p->diag);
    if (must && p->status != TS_OK) {
        say(p);
        fail_msg("geometry refuses the test's sheet");
    }
}

void piece_count(piece *p)
{
    if (p->geometry == NULL) {
        piece_measure(p, true);
    }
    p->status =
        ts_quantities_of(&p->quantities, p->arena, p->design, p->geometry, p->book, p->diag);
}

void piece_close(piece *p)
{
    ts_arena_free(p->arena);
    p->arena = NULL;
}

bool piece_faults(piece *p, ts_fault code, const char *words)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    const char *mark = ts_arena_format(p->arena, "[%s]", ts_fault_word(code));
    bool found = false;

    ts_diag_print(p->diag, to, false, false);
    fclose(to);
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        found = found || (strstr(line, mark) != NULL && strstr(line, words) != NULL);
    }
    if (!found) {
        say(p);
    }
    free(text);
    return found;
}

double piece_fact(const piece *p, const char *part, const char *measure)
{
    for (int i = 0; i < p->quantities->fact_count; i++) {
        const ts_fact *fact = &p->quantities->facts[i];
        if (strcmp(fact->part, part) == 0 && strcmp(fact->measure, measure) == 0) {
            return ts_dec_double(fact->value);
        }
    }
    fail_msg("no fact %s,%s", part, measure);
    return 0.0;
}

const ts_caution *piece_caution(const piece *p, const char *limit, const char *part)
{
    for (int i = 0; i < p->quantities->caution_count; i++) {
        const ts_caution *caution = &p->quantities->cautions[i];
        if (strcmp(caution->limit, limit) == 0 && strcmp(caution->part, part) == 0) {
            return caution;
        }
    }
    return NULL;
}

bool piece_near(double got, double expect, double relative)
{
    return fabs(got - expect) <= relative * fmax(1.0, fabs(expect));
}
