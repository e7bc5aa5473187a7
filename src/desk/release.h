/* A commission's papers, whole or not at all. */
#ifndef TS_DESK_RELEASE_H
#define TS_DESK_RELEASE_H

#include "desk/commission.h"

enum { TS_RELEASE_PAPERS = 2, TS_RELEASE_STUDIO = 2 };

/* What was staged: names below --out, where they lie until they come out, and the files of
 * the studio (logo, terms) that they were made with. */
typedef struct ts_release {
    const char *names[TS_RELEASE_PAPERS];
    const char *paths[TS_RELEASE_PAPERS];
    ts_kept_file studio[TS_RELEASE_STUDIO];
    size_t studio_count;
} ts_release;

/* Are the files there that studio.csv names on that day, and can they be read? */
ts_status ts_release_check(const ts_request *request, const ts_book *book, ts_date on) TS_MUST_USE;

/* Writes OUT/NAME-draft-quote.xlsx for the client and OUT/studio/NAME-draft-margin.xlsx
 * for the owner, and says so. */
ts_status ts_release_draft(const ts_request *request, const ts_commission_run *run,
                           const char *name) TS_MUST_USE;

/* Stages the papers of a revision (0: a draft) in the request's outbox, which the caller
 * commits or drops. */
ts_status ts_release_stage(ts_release *release, const ts_request *request,
                           const ts_commission_run *run, const char *name,
                           int revision) TS_MUST_USE;

#endif
