#include <tallystone/book/book.h>

#include <tallystone/words/field.h>

#include "book/bookrows.h"
#include "book/judge.h"

#include <assert.h>
#include <string.h>

/* What if one cell of the books said something else.
 *
 * A tenth more of a recovery of 97 % is no recovery, so what loading would refuse of the row is
 * asked first. Books that differ in a cell share everything with those they were made of but
 * the rows of one file. */

/* Where a row keeps the number of a column: an amount begins with it. */
static ts_dec *number_in(void *row, const ts_field *field)
{
    assert(field->kind == TS_KIND_NUMBER || field->kind == TS_KIND_PERCENT ||
           field->kind == TS_KIND_AMOUNT);
    return (ts_dec *)(void *)((char *)row + field->offset);
}

const ts_book_row *ts_book_row_on_line(const ts_book *book, const char *file_name, int line)
{
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        if (strcmp(ts_book_file_name((ts_book_file)file), file_name) != 0) {
            continue;
        }
        const ts_book_slice rows = ts_book_rows(book, (ts_book_file)file);
        for (size_t i = 0; i < rows.count; i++) {
            if (ts_book_row_at(&rows, i)->line == line) {
                return ts_book_row_at(&rows, i);
            }
        }
    }
    return NULL;
}

bool ts_book_takes(ts_arena *scratch, const ts_book *book, const ts_book_row *row,
                   const char *column, ts_dec value)
{
    const ts_field *field = ts_book_field(row->file, column);
    if (field == NULL || !ts_field_holds(field, value)) {
        return false;
    }
    if (row->file != TS_BOOK_ALLOYS && row->file != TS_BOOK_POLICY) {
        return true; /* no rule of another file weighs a number against others of its row */
    }
    const size_t size = ts_book_row_size(row->file);
    const bool faulty[TS_BOOK_FILE_COUNT] = {false};
    const ts_judging j = {book, faulty, scratch, ts_diag_new(scratch)};
    ts_book_row *changed = ts_arena_alloc(scratch, 1, size);
    memcpy(changed, row, size);
    *number_in(changed, field) = value;
    ts_book_judge_row(&j, changed);
    return ts_diag_errors(j.diag) == 0;
}

const ts_book *ts_book_changed(ts_arena *arena, const ts_book *book, const ts_book_row *row,
                               const char *column, ts_dec value)
{
    const ts_field *field = ts_book_field(row->file, column);
    const ts_book_slice own = ts_book_rows(book, row->file);
    char *rows = ts_arena_alloc(arena, own.count, own.size);
    const ts_book_row **by_name = TS_ARRAY(arena, const ts_book_row *, own.count);
    ts_book *changed = TS_NEW(arena, ts_book);

    assert(field != NULL);
    memcpy(rows, own.at, own.count * own.size);
    *number_in(rows + ((const char *)row - own.at), field) = value;
    for (size_t i = 0; i < own.count; i++) {
        const char *at = (const char *)book->by_name[row->file][i];
        by_name[i] = (const ts_book_row *)(const void *)(rows + (at - own.at));
    }
    *changed = *book;
    ts_book_rows_set(changed, row->file, rows, own.count);
    changed->by_name[row->file] = by_name;
    return changed;
}
