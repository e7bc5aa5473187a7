/* A quote of the register as a commission to buy and make for. */
#ifndef TS_DESK_PROMISED_H
#define TS_DESK_PROMISED_H

#include "desk/request.h"

#include <tallystone/costing/costing.h>
#include <tallystone/register/register.h>

/* Does this word of the command line name a quote? Whatever is a file, ends in .csv, holds a
 * '/' or is "-" names a sheet. */
bool ts_promised_is(const char *word);

/* What the quote's option takes, as it was stored, costed by the books of the day of `--as-of`,
 * else of its own pricing date. REF without a revision is the one accepted, else the newest
 * that is open; the option that --option names, else the one accepted, else the first. TS_REFUSED,
 * with the sentence, where the quote is neither open nor accepted. Arena. */
ts_status ts_promised_of(ts_costing **out, const ts_request *request, ts_register *reg,
                         const ts_book *book, const char *word) TS_MUST_USE;

#endif
