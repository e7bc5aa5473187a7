#include "quantities/counting.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <string.h>

/* The built-in table of usual measurements.
 *
 * It is laid out as a book that holds nothing but limits, so that one lookup serves both: the
 * studio's own limits.csv, where there is one, stands in its place as a whole. */

/* Bits of the columns of limits.csv, in the order of files.def. */
enum {
    COLUMN_LIMIT = 1u << 0,
    SUBJECT = 1u << 1,
    SIZE = 1u << 3 | 1u << 4,
    LEAST = 1u << 5,
    MOST = 1u << 6,
    COLUMN_UNIT = 1u << 7,
    COLUMN_SOURCE = 1u << 8,
};

#define NO_DATE                                                                                    \
    {                                                                                              \
        INT32_MIN                                                                                  \
    }

static const ts_limit_row rows[] = {
#define LIMIT(name, narrowed, size_from, size_to, filled, low, high, of, origin)                   \
    {.head = {.file = TS_BOOK_LIMITS,                                                              \
              .given = COLUMN_LIMIT | (filled) | COLUMN_UNIT | COLUMN_SOURCE,                      \
              .from = NO_DATE,                                                                     \
              .until = NO_DATE,                                                                    \
              .note = ""},                                                                         \
     .limit = (name),                                                                              \
     .subject = (narrowed),                                                                        \
     .region = "",                                                                                 \
     .from_mm = {size_from},                                                                       \
     .to_mm = {size_to},                                                                           \
     .least = {low},                                                                               \
     .most = {high},                                                                               \
     .unit = (of),                                                                                 \
     .source = (origin)},
#include "quantities/limits.def"
#undef LIMIT
};

#define ROWS TS_COUNT_OF(rows)

const ts_book *ts_limits_of(ts_counting *c)
{
    if (c->book->text[TS_BOOK_LIMITS] != NULL) {
        return c->book;
    }
    if (c->built_in == NULL) {
        ts_book *book = TS_NEW(c->arena, ts_book);
        const ts_book_row **by_name = TS_ARRAY(c->arena, const ts_book_row *, ROWS);
        size_t *key_end = TS_ARRAY(c->arena, size_t, ROWS);
        for (size_t i = 0; i < ROWS; i++) {
            by_name[i] = &rows[i].head;
            key_end[i] = i + 1;
        }
        book->limits.at = rows;
        book->limits.count = ROWS;
        book->by_name[TS_BOOK_LIMITS] = by_name;
        book->key_end[TS_BOOK_LIMITS] = key_end;
        book->runs[TS_BOOK_LIMITS] = ts_book_runs_of(c->arena, by_name, ROWS);
        c->built_in = book;
    }
    return c->built_in;
}

/* ---- the studio's own limits, held against what is measured ---- */

/* Beside the built-in ones: its weights are law, which only the books know. */
static const ts_limit_row hallmark = {.limit = "hallmark weight", .unit = "g"};

typedef struct measured {
    const ts_limit_row *of[ROWS + 1]; /* one row of each limit, by name; then the hallmark's */
    const char *names[ROWS + 1];
    bool there[ROWS + 1]; /* has the studio a row of it in force? */
    size_t count;
} measured;

static void gather(measured *m)
{
    for (size_t i = 0; i <= ROWS; i++) {
        const ts_limit_row *row = i < ROWS ? &rows[i] : &hallmark;

        if (m->count == 0 || strcmp(m->names[m->count - 1], row->limit) != 0) {
            m->of[m->count] = row;
            m->names[m->count++] = row->limit;
        }
    }
}

static bool is_subject(const char *subject)
{
    return subject[0] == '\0' || ts_list_find(TS_LIST_METAL, subject) != 0 ||
           ts_list_find(TS_LIST_SHAPE, subject) != 0 || ts_list_find(TS_LIST_WEAR, subject) != 0;
}

typedef struct auditing {
    const ts_book *book;
    ts_arena *arena;
    ts_diag *diag;
} auditing;

static void add(const auditing *a, const ts_limit_row *row, const char *column, const char *says)
{
    const ts_place place = ts_book_place(a->book, a->arena, &row->head, column);

    ts_diag_add(a->diag, TS_FAULT_BOOK_ODD, &place, "%s", says);
}

static void audit_row(const auditing *a, measured *m, const ts_limit_row *row)
{
    size_t at = 0;

    while (at < m->count && !ts_text_same(m->names[at], row->limit)) {
        at++;
    }
    if (at == m->count) {
        const int nearest = ts_nearest(row->limit, m->names, m->count);

        add(a, row, "limit",
            ts_arena_format(a->arena, "nothing is measured as \"%s\", so this row can never apply",
                            ts_text_show(a->arena, row->limit, 60)));
        if (nearest >= 0) {
            ts_diag_hint(a->diag, "did you mean \"%s\"?", m->names[nearest]);
        }
        return;
    }
    m->there[at] = true;
    if (!is_subject(row->subject)) {
        add(a, row, "subject",
            ts_arena_format(a->arena,
                            "\"%s\" is no metal, no shape and no word of wear, so this row can "
                            "never apply",
                            ts_text_show(a->arena, row->subject, 60)));
    }
    if (!ts_text_empty(row->unit) && !ts_text_same(row->unit, m->of[at]->unit)) {
        add(a, row, "unit",
            ts_arena_format(a->arena,
                            "%s is held against numbers in %s, whatever this row says; %s "
                            "is expected",
                            row->limit, m->of[at]->unit, m->of[at]->unit));
    }
}

void ts_limits_audit(const ts_book *book, ts_date on, ts_arena *arena, ts_diag *diag)
{
    const auditing a = {book, arena, diag};
    const ts_book_row *const *current = NULL;
    measured m = {.count = 0};
    const char *missing = "";

    if (book->text[TS_BOOK_LIMITS] == NULL) {
        return;
    }
    gather(&m);
    const size_t count = ts_book_currents(&current, arena, book, TS_BOOK_LIMITS, on);
    for (size_t i = 0; i < count; i++) {
        audit_row(&a, &m, (const ts_limit_row *)(const void *)current[i]);
    }
    for (size_t i = 0; i < m.count; i++) {
        if (!m.there[i] && m.of[i] != &hallmark) {
            missing = ts_text_joined(arena, missing, ", ", m.names[i]);
        }
    }
    if (missing[0] != '\0') {
        const ts_place place = {.file = book->text[TS_BOOK_LIMITS]->file, .line = 1};

        ts_diag_add(diag, TS_FAULT_BOOK_ODD, &place,
                    "no row in force for: %s; no caution will be given of them", missing);
    }
}
