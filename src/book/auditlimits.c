#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* Usual measurements on the day: sizes that a limit leaves out, regions that are none. What is
 * measured, and against which subjects, is the matter of whoever measures. */

static bool continues(const ts_limit_row *one, const ts_limit_row *other)
{
    return strcmp(one->limit, other->limit) == 0 && strcmp(one->subject, other->subject) == 0 &&
           strcmp(one->region, other->region) == 0;
}

/* Rows of one limit, subject and region stand in the order of their sizes. */
void ts_audit_limits(const ts_auditing *a)
{
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_LIMITS, a->on);
    const ts_limit_row *before = NULL;
    ts_names regions = {.count = 0};

    ts_names_file(&regions, a, TS_BOOK_TAXES);
    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_limit_row *row = ts_book_typed(at);

        if (before != NULL && continues(before, row)) {
            ts_audit_gap(a, &before->head, at);
        }
        before = row;
        ts_audit_name(a, &regions, at, "region", row->region, "region of taxes.csv");
    }
}
