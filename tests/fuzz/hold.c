#include "hold.h"

#include <stdio.h>
#include <stdlib.h>

#include <tallystone/costing/costing.h>

void hold(bool claim)
{
    if (!claim) {
        abort();
    }
}

static void hold_text(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const unsigned char c = (unsigned char)text[i];
        hold((c >= 0x20 && c != 0x7f) || c == '\n' || c == '\t');
    }
    hold(length == 0 || text[length - 1] == '\n');
}

void hold_said(ts_status status, const ts_diag *diag)
{
    hold(status != TS_OK || ts_diag_errors(diag) == 0);
    hold(status != TS_FAULTY || ts_diag_errors(diag) > 0);
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    hold(to != NULL);
    ts_diag_print(diag, to, false, true);
    hold(fclose(to) == 0);
    hold_text(text, length);
    free(text);
}

const ts_book *hold_books(void)
{
    static const ts_book *books; /* read by the first input, for all of them */
    static ts_arena *arena;
    if (books == NULL) {
        arena = ts_arena_new(NULL, NULL);
        ts_diag *diag = ts_diag_new(arena);
        if (ts_book_load(&books, arena, "pricebooks", diag) != TS_OK) {
            ts_diag_print(diag, stderr, false, false);
            hold(false);
        }
    }
    return books;
}

ts_status hold_price(ts_arena *arena, const ts_design *design, hold_quantities *quantities,
                     ts_diag *diag)
{
    ts_geometry *geometry = NULL;
    ts_quantities *needs = NULL;
    ts_costing *costing = NULL;
    ts_status status = ts_geometry_of(&geometry, arena, design, diag);
    if (status == TS_OK) {
        status = quantities(&needs, arena, design, geometry, hold_books(), diag);
    }
    if (status == TS_OK) {
        status = ts_costing_of(&costing, arena, needs, hold_books(), diag);
    }
    hold(status != TS_OK || (costing->total != NULL && costing->line_count > 0));
    return status;
}
