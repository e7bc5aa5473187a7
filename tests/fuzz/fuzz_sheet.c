/* Any bytes as a design sheet, through every room up to the price of each option: a price or
 * faults, never both and never neither. */
#include "hold.h"

#include <tallystone/design/design.h>

/* A sheet with many options takes as long as many sheets: so many of them say enough. */
#define OPTIONS 3

static ts_status price(ts_arena *arena, const ts_sheet *sheet, int option, ts_diag *diag)
{
    ts_design *design = NULL;
    ts_status status =
        ts_design_of(&design, arena, sheet, option, hold_books(), TS_DATE_NONE, diag);
    for (int i = 0; status == TS_OK && i < design->mesh_count; i++) {
        design->mesh[i].bytes = ""; /* no file is read: an empty one is refused in a sentence */
    }
    return status == TS_OK ? hold_price(arena, design, ts_quantities_of, diag) : status;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_sheet *sheet = NULL;
    ts_status status = ts_sheet_parse(&sheet, arena, "fuzz.csv", (const char *)bytes, length, diag);
    hold(status == TS_OK || status == TS_FAULTY);
    for (int option = 0; sheet != NULL && option <= ts_sheet_options(sheet) && option <= OPTIONS;
         option++) {
        const ts_status priced = price(arena, sheet, option, diag);
        hold(priced == TS_OK || priced == TS_FAULTY);
        status = ts_status_worse(status, priced);
    }
    hold_said(status, diag);
    ts_arena_free(arena);
    return 0;
}
