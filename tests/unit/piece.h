/* Designs for tests of geometry and quantities, from the text of a sheet.
 *
 *     piece p = piece_open("stone centre,shape,round,\n...", NULL);
 *     ...
 *     piece_close(&p);
 *
 * The rows of a commission are put before the text, and those of a ring of size US 6 in 750
 * yellow unless it begins with "ring,". A folder of books may be named; without it open words
 * are not looked up. */
#ifndef TS_TESTS_PIECE_H
#define TS_TESTS_PIECE_H

#include <stdbool.h>

#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

typedef struct piece {
    ts_arena *arena;
    ts_diag *diag;
    const ts_book *book;
    ts_sheet *sheet;
    ts_design *design;
    ts_geometry *geometry;
    ts_quantities *quantities;
    ts_status status; /* of the last stage */
} piece;

/* Sheet and design; fails the test where they have faults. */
piece piece_open(const char *rows, const char *books);
/* The same from a file, and an option of it. */
piece piece_read(const char *path, int option, const char *books);
/* And measured. `must` fails the test where geometry finds a fault. */
void piece_measure(piece *p, bool must);
void piece_count(piece *p);
void piece_close(piece *p);

/* True where a fault of that code was said whose sentence holds `words`. */
bool piece_faults(piece *p, ts_fault code, const char *words);
/* A fact's value in doubles; fails the test where there is none. */
double piece_fact(const piece *p, const char *part, const char *measure);
/* The caution of that limit about that part, or NULL. */
const ts_caution *piece_caution(const piece *p, const char *limit, const char *part);

/* Compared here because cmocka compares as floats. */
bool piece_near(double got, double expect, double relative);

#endif
