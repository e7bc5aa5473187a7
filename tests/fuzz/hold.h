/* What every fuzz target shares: a claim that must hold, and faults that must read well. */
#ifndef TS_TESTS_FUZZ_HOLD_H
#define TS_TESTS_FUZZ_HOLD_H

#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/diag.h>
#include <tallystone/book/book.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

/* Ends the program where the claim does not hold, as a find of the fuzzer's. */
void hold(bool claim);
/* A stage that ended well said no error, and one that ended in faults said at least one;
 * whatever was said prints as whole lines without a control character. */
void hold_said(ts_status status, const ts_diag *diag);
/* A design through geometry, quantities (ts_quantities_of, or the bare ones of a stream) and
 * costing: where it ends well there are lines and a total. */
typedef ts_status hold_quantities(ts_quantities **out, ts_arena *arena, const ts_design *design,
                                  const ts_geometry *geometry, const ts_book *book, ts_diag *diag);
ts_status hold_price(ts_arena *arena, const ts_design *design, hold_quantities *quantities,
                     ts_diag *diag);
/* The shipped price books, read once; kept for the life of the program. */
const ts_book *hold_books(void);

#endif
