/* A commission's papers, whole or not at all. */
#ifndef TS_DESK_RELEASE_H
#define TS_DESK_RELEASE_H

#include "desk/commission.h"

/* Writes OUT/NAME-draft-quote.xlsx for the client and OUT/studio/NAME-draft-margin.xlsx
 * for the owner, and says so. */
ts_status ts_release_draft(const ts_request *request, const ts_commission_run *run,
                           const char *name) TS_MUST_USE;

#endif
