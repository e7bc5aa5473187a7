#include "book/judge.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"
#include "book/timeline.h"

/* Size steps that overlap.
 *
 * A lot has one row a step of size, and steps change with the days: a new list of prices
 * may cut the sizes otherwise than the old one. So each lot is followed through the days;
 * on each, the steps that changed are held against their neighbours in force. Two steps
 * that overlap would both price the same stone. */

static ts_span span_of(const ts_book_row *row)
{
    ts_span span;

    ts_book_span(&span, row);
    return span;
}

static void add_overlap(const ts_judging *j, const ts_book_row *one, const ts_book_row *other,
                        ts_date day)
{
    const ts_book_row *at = one->line > other->line ? one : other;
    const ts_book_row *with = at == one ? other : one;
    const bool dated = ts_date_given(one->from) || ts_date_given(other->from);
    char text[TS_DATE_TEXT];

    ts_book_fault(j, TS_FAULT_BOOK_TIE, at, at->file == TS_BOOK_STONES ? "from ct" : "from mm",
                  ts_arena_format(j->arena,
                                  "\"%s\": the sizes of this row overlap those of line %d, which "
                                  "is in force too%s%s; let one end where the other begins",
                                  ts_text_show(j->arena, ts_book_row_name(at), 60), with->line,
                                  dated ? " on " : "", dated ? ts_date_text(text, day) : ""));
}

/* Keys of one lot stand in order of `from`, so a step overlaps at most what stands next to
 * it, unless one that begins before that is wider still: then those two overlap as well. */
static void judge_key(const ts_judging *j, const ts_timeline *t, size_t key, bool *said)
{
    size_t before = key;
    size_t after = key + 1;

    if (t->active[key] == NULL) {
        return;
    }
    while (before > 0 && t->active[before - 1] == NULL) {
        before--;
    }
    while (after < t->keys && t->active[after] == NULL) {
        after++;
    }
    const ts_span span = span_of(t->active[key]);
    if (before > 0 && !said[key] && span_of(t->active[before - 1]).to_e6 > span.from_e6) {
        add_overlap(j, t->active[before - 1], t->active[key], t->day);
        said[key] = true;
    }
    if (after < t->keys && !said[after] && span.to_e6 > span_of(t->active[after]).from_e6) {
        add_overlap(j, t->active[key], t->active[after], t->day);
        said[after] = true;
    }
}

static void judge_lot(const ts_judging *j, const ts_book_row *const *rows, size_t count)
{
    bool *said = TS_ARRAY(j->arena, bool, count);
    ts_timeline t;

    ts_timeline_begin(&t, j->arena, rows, count);
    while (ts_timeline_next(&t)) {
        for (size_t i = 0; i < t.changed_count; i++) {
            judge_key(j, &t, t.changed[i], said);
        }
    }
}

static void judge_steps_of(const ts_judging *j, ts_book_file file)
{
    const ts_book_row *const *rows = j->book->by_name[file];
    const size_t all = ts_book_rows(j->book, file).count;

    for (size_t first = 0; first < all;) {
        size_t end = first + 1;

        while (end < all && ts_book_compare_names(rows[first], rows[end]) == 0) {
            end++;
        }
        judge_lot(j, rows + first, end - first);
        first = end;
    }
}

void ts_book_judge_steps(const ts_judging *j)
{
    judge_steps_of(j, TS_BOOK_MELEE);
    judge_steps_of(j, TS_BOOK_STONES);
}
