#include "book/bookrows.h"

#include <tallystone/base/hash.h>
#include <tallystone/base/text.h>

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Every file's columns, made from files.def.
 *
 * The table is expanded for the row types, the files, and the columns with the place of
 * each member. From here on all files are read, compared and looked up by one and the same
 * code, which knows a row only as bytes and a list of fields. */

/* clang-format off */
#define BOOK_FILE(id, name, type, member, needed, says) typedef type row_of_##id;
#include <tallystone/book/files.def>

typedef struct file_row {
    const char *name;
    bool needed;
    const char *says;
    size_t size;
    int first; /* of its columns */
} file_row;

/* Counts the columns: FIRST_x is the position of file x's first. */
#define PASTED(one, other) one##other
#define COLUMN_AT(line) PASTED(COLUMN_, line)
enum column_position {
#define BOOK_FILE(id, name, type, member, needed, says) FIRST_##id, BEFORE_##id = FIRST_##id - 1,
#define BOOK_COLUMN(file, word, member, kind, list, need, least, most, dflt, says) \
    COLUMN_AT(__LINE__),
#include <tallystone/book/files.def>
    COLUMN_COUNT
};

static const file_row files[TS_BOOK_FILE_COUNT] = {
#define BOOK_FILE(id, name, type, member, needed, says) \
    [TS_BOOK_##id] = {name, needed, says, sizeof(type), FIRST_##id},
#include <tallystone/book/files.def>
};

static const ts_field fields[COLUMN_COUNT] = {
#define BOOK_COLUMN(file, word, member, kind, list, need, least, most, dflt, says) \
    {word, TS_KIND_##kind, TS_LIST_##list, TS_NEED_##need, least, most, dflt, says, \
     offsetof(row_of_##file, member)},
#include <tallystone/book/files.def>
};
/* clang-format on */

static const ts_field common[] = {
    {"from", TS_KIND_DATE, TS_LIST_NONE, TS_NEED_NO, "", "", "", "first day in force",
     offsetof(ts_book_row, from)},
    {"until", TS_KIND_DATE, TS_LIST_NONE, TS_NEED_NO, "", "", "", "last day in force",
     offsetof(ts_book_row, until)},
    {"note", TS_KIND_TEXT, TS_LIST_NONE, TS_NEED_NO, "", "", "", "for the studio alone",
     offsetof(ts_book_row, note)},
};

const char *ts_book_file_name(ts_book_file file)
{
    assert((int)file >= 0 && file < TS_BOOK_FILE_COUNT);
    return files[file].name;
}

bool ts_book_file_needed(ts_book_file file)
{
    return files[file].needed;
}

const char *ts_book_file_says(ts_book_file file)
{
    return files[file].says;
}

size_t ts_book_row_size(ts_book_file file)
{
    return files[file].size;
}

const ts_field *ts_book_fields(ts_book_file file, size_t *count)
{
    assert((int)file >= 0 && file < TS_BOOK_FILE_COUNT);
    const int end = file + 1 < TS_BOOK_FILE_COUNT ? files[file + 1].first : COLUMN_COUNT;

    *count = (size_t)(end - files[file].first);
    return fields + files[file].first;
}

const ts_field *ts_book_common_fields(size_t *count)
{
    *count = TS_COUNT_OF(common);
    return common;
}

int ts_book_column(ts_book_file file, const char *word)
{
    size_t count = 0;
    const ts_field *own = ts_book_fields(file, &count);

    for (size_t i = 0; i < count; i++) {
        if (strcmp(own[i].word, word) == 0) {
            return (int)i;
        }
    }
    return -1;
}

const ts_field *ts_book_field(ts_book_file file, const char *word)
{
    size_t count = 0;
    const int position = ts_book_column(file, word);

    return position < 0 ? NULL : &ts_book_fields(file, &count)[position];
}

bool ts_book_given(const ts_book_row *row, const char *column)
{
    const int position = ts_book_column(row->file, column);

    return position >= 0 && (row->given >> position & 1) != 0;
}

ts_book_slice ts_book_rows(const ts_book *book, ts_book_file file)
{
    ts_book_slice slice = {NULL, 0, ts_book_row_size(file)};

    switch (file) {
/* clang-format off */
#define BOOK_FILE(id, name, type, member, needed, says) \
    case TS_BOOK_##id: \
        slice.at = (const char *)book->member.at; \
        slice.count = book->member.count; \
        break;
#include <tallystone/book/files.def>
    /* clang-format on */
    case TS_BOOK_FILE_COUNT:
        break;
    }
    return slice;
}

void ts_book_rows_set(ts_book *book, ts_book_file file, const void *rows, size_t count)
{
    switch (file) {
/* clang-format off */
#define BOOK_FILE(id, name, type, member_, needed, says) \
    case TS_BOOK_##id: \
        book->member_.at = rows; \
        book->member_.count = count; \
        break;
#include <tallystone/book/files.def>
    /* clang-format on */
    case TS_BOOK_FILE_COUNT:
        break;
    }
}

const ts_book_row *ts_book_row_at(const ts_book_slice *rows, size_t index)
{
    return (const ts_book_row *)(const void *)(rows->at + index * rows->size);
}

static const void *member_of(const ts_book_row *row, const ts_field *field)
{
    return (const char *)row + field->offset;
}

static const char *text_of(const ts_book_row *row, const ts_field *field)
{
    const char *text = *(const char *const *)member_of(row, field);

    return text == NULL ? "" : text;
}

const char *ts_book_row_name(const ts_book_row *row)
{
    size_t count = 0;
    const ts_field *own = ts_book_fields(row->file, &count);

    if (row->file == TS_BOOK_POLICY) {
        return ((const ts_policy_row *)(const void *)row)->subject;
    }
    if (own->kind == TS_KIND_WORD) {
        return ts_list_word(own->list, *(const int32_t *)member_of(row, own));
    }
    return text_of(row, own);
}

static int by_number(int64_t one, int64_t other)
{
    return (one > other) - (one < other);
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Most that are compared while a book is put in order are the same. */
static int by_text(const char *one, const char *other)
{
    if (strcmp(one, other) == 0) {
        return 0;
    }
    while (*one != '\0' && (*one == *other || lower(*one) == lower(*other))) {
        one++;
        other++;
    }
    return (unsigned char)lower(*one) - (unsigned char)lower(*other);
}

int ts_book_compare_names(const ts_book_row *one, const ts_book_row *other)
{
    return by_text(ts_book_row_name(one), ts_book_row_name(other));
}

static int by_field(const ts_book_row *one, const ts_book_row *other, const ts_field *field)
{
    if (field->kind == TS_KIND_WORD) {
        return by_number(*(const int32_t *)member_of(one, field),
                         *(const int32_t *)member_of(other, field));
    }
    if (field->kind == TS_KIND_NUMBER) {
        return by_number(((const ts_dec *)member_of(one, field))->e6,
                         ((const ts_dec *)member_of(other, field))->e6);
    }
    return by_text(text_of(one, field), text_of(other, field)); /* all other keys are text */
}

int ts_book_compare_keys(const ts_book_row *one, const ts_book_row *other)
{
    size_t count = 0;
    const ts_field *own = ts_book_fields(one->file, &count);

    for (size_t i = 0; i < count; i++) {
        if (own[i].need != TS_NEED_KEY && own[i].need != TS_NEED_KEY_NO) {
            continue;
        }
        /* an empty cell is another key than a zero */
        int order = by_number(one->given >> i & 1, other->given >> i & 1);
        order = order != 0 ? order : by_field(one, other, own + i);
        if (order != 0) {
            return order;
        }
    }
    return 0;
}

/* Equal names, by_text, have one hash. */
static size_t hash_of(const char *name)
{
    uint64_t hash = TS_HASH_NONE;

    for (; *name != '\0'; name++) {
        hash = ts_hash_word(hash, (unsigned char)lower(*name));
    }
    return (size_t)(hash ^ hash >> 32);
}

/* Where a name stands among the runs, or would: there is always an empty place. */
static size_t run_at(const ts_book_runs *runs, const char *name)
{
    size_t at = hash_of(name) & (runs->room - 1);

    while (runs->at[at].count > 0 && by_text(runs->at[at].name, name) != 0) {
        at = (at + 1) & (runs->room - 1);
    }
    return at;
}

ts_book_runs ts_book_runs_of(ts_arena *arena, const ts_book_row *const *rows, size_t count)
{
    size_t names = 0;
    ts_book_runs runs = {.room = 4};

    for (size_t i = 0; i < count; i++) {
        names += i == 0 || ts_book_compare_names(rows[i - 1], rows[i]) != 0;
    }
    while (runs.room < 2 * names) {
        runs.room *= 2;
    }
    runs.at = TS_ARRAY(arena, ts_book_run, runs.room);
    for (size_t i = 0; i < count; i++) {
        const char *name = ts_book_row_name(rows[i]);
        ts_book_run *run = &runs.at[run_at(&runs, name)];

        *run = run->count == 0 ? (ts_book_run){name, i, 0} : *run;
        run->count++;
    }
    return runs;
}

const ts_book_row *const *ts_book_named(size_t *count, const ts_book *book, ts_book_file file,
                                        const char *name)
{
    const ts_book_runs *runs = &book->runs[file];
    const ts_book_run *run = &runs->at[run_at(runs, name == NULL ? "" : name)];

    *count = run->count;
    return *count == 0 ? NULL : book->by_name[file] + run->first;
}

int ts_book_by_key_and_day(const void *one, const void *other)
{
    const ts_book_row *left = *(const ts_book_row *const *)one;
    const ts_book_row *right = *(const ts_book_row *const *)other;
    int order = ts_book_compare_keys(left, right);

    order = order != 0 ? order : by_number(left->from.days, right->from.days);
    return order != 0 ? order : (left > right) - (left < right);
}

static bool put_span(ts_span *out, const ts_book_row *row, ts_dec from, ts_dec to)
{
    /* what was not given is 0; a `to` that was given is over 0 */
    const bool has_from = from.e6 != 0 || ts_book_given(row, "from mm");

    out->from_e6 = has_from ? from.e6 : INT64_MIN;
    out->to_e6 = to.e6 != 0 ? to.e6 : INT64_MAX;
    return has_from || to.e6 != 0;
}

bool ts_book_span(ts_span *out, const ts_book_row *row)
{
    const void *any = row;

    *out = (ts_span){INT64_MIN, INT64_MAX};
    if (row->file == TS_BOOK_MELEE) {
        const ts_melee_row *step = any;
        *out = (ts_span){step->from_mm.e6, step->to_mm.e6};
        return true;
    }
    if (row->file == TS_BOOK_STONES) {
        const ts_offer_row *offer = any;
        *out = (ts_span){offer->from_ct.e6, offer->to_ct.e6};
        return true;
    }
    if (row->file == TS_BOOK_LABOUR) {
        const ts_labour_row *labour = any;
        return put_span(out, row, labour->from_mm, labour->to_mm);
    }
    if (row->file == TS_BOOK_LIMITS) {
        const ts_limit_row *limit = any;
        return put_span(out, row, limit->from_mm, limit->to_mm);
    }
    return false;
}
