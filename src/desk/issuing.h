/* What the errands about the register have in common. */
#ifndef TS_DESK_ISSUING_H
#define TS_DESK_ISSUING_H

#include "desk/request.h"

#include <tallystone/register/register.h>

/* The register that --register names, or tallystone.db beside the books' folder. A dry run
 * of `issue` goes on without one: TS_OK and *out NULL. */
ts_status ts_desk_register(ts_register **out, const ts_request *request,
                           ts_register_use use) TS_MUST_USE;
const char *ts_desk_register_path(const ts_request *request);
/* The day an event counts: --on, or today; TS_FAULTY for a day after today. */
ts_status ts_desk_day(ts_date *out, const ts_request *request) TS_MUST_USE;
/* Texts of the command line that are kept: one line of well-formed text each, not too long. */
ts_status ts_desk_texts(const ts_request *request) TS_MUST_USE;
/* Said for a slip of the command line: exit 64. */
ts_status ts_desk_refuse(const ts_request *request, const char *command, const char *sentence);
/* An amount "350.00" in a currency; TS_FAULTY where it is none, not above nothing, or has more
 * decimals than the currency. */
ts_status ts_desk_amount(ts_money *out, const ts_request *request, const char *text,
                         const ts_quote *quote) TS_MUST_USE;
/* "1 250.00 USD". Into the arena. */
const char *ts_desk_money(const ts_request *request, int64_t minor, const ts_quote *quote);

#endif
