#include <tallystone/book/book.h>

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>
#include <tallystone/sheet/value.h>

#include "book/bookrows.h"
#include "book/judge.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* Loading the price books.
 *
 * Every file goes through the same steps: its text, its header, its rows. A row with a
 * fault is left out of the book, so that what is judged afterwards was read well; the
 * book is handed out only where nothing at all was wrong. A file that need not be there
 * is passed over only where the folder truly has none: one that may not be read is said. */

#define MOST_WORDS 40

typedef struct loading {
    ts_book *book;
    const char *folder;
    const ts_book_text *texts; /* one a file, or NULL: they are read from the folder */
    ts_arena *arena;
    ts_diag *diag;
    bool faulty[TS_BOOK_FILE_COUNT];
    ts_status status;
} loading;

/* One file while it is read: where each known column stands, -1 where it does not. */
typedef struct reader {
    loading *load;
    ts_book_file file;
    const ts_csv *csv;
    const ts_field *own;
    size_t own_count;
    const ts_field *common;
    size_t common_count;
    int cells[MOST_WORDS]; /* own columns, then the common ones */
} reader;

static size_t words_of(const char **words, ts_book_file file)
{
    size_t own_count = 0;
    size_t common_count = 0;
    const ts_field *own = ts_book_fields(file, &own_count);
    const ts_field *common = ts_book_common_fields(&common_count);

    for (size_t i = 0; i < own_count; i++) {
        words[i] = own[i].word;
    }
    for (size_t i = 0; i < common_count; i++) {
        words[own_count + i] = common[i].word;
    }
    return own_count + common_count;
}

/* ---- the header ---- */

static bool column_is_empty(const ts_csv *csv, int cell)
{
    for (size_t i = 1; i < csv->count; i++) {
        if (cell < csv->rows[i].count && csv->rows[i].cells[cell][0] != '\0') {
            return false;
        }
    }
    return true;
}

static void add_unknown_column(reader *r, const char *heading, int cell)
{
    const ts_place place = ts_csv_place(r->csv, r->load->arena, &r->csv->rows[0], cell);
    const char *words[MOST_WORDS];
    const size_t count = words_of(words, r->file);

    if (heading[0] == '\0') {
        if (!column_is_empty(r->csv, cell)) {
            ts_diag_add(r->load->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                        "a column without a heading holds values; name it or empty it");
        }
        return;
    }
    ts_diag_add(r->load->diag, TS_FAULT_COLUMN_UNKNOWN, &place,
                "\"%s\" is no column of this file: %s", ts_text_show(r->load->arena, heading, 60),
                ts_book_file_says(r->file));
    const int nearest = ts_nearest(heading, words, count);
    if (nearest >= 0) {
        ts_diag_hint(r->load->diag, "did you mean \"%s\"?", words[nearest]);
    }
}

/* Finds each column's cell; unknown ones and those that stand twice are faults. */
static void read_header(reader *r)
{
    const ts_csv_row *header = &r->csv->rows[0];
    const char *words[MOST_WORDS];
    const size_t count = words_of(words, r->file);

    for (size_t i = 0; i < MOST_WORDS; i++) {
        r->cells[i] = -1;
    }
    for (int cell = 0; cell < header->count; cell++) {
        size_t found = 0;

        while (found < count && !ts_text_same(words[found], header->cells[cell])) {
            found++;
        }
        if (found == count) {
            add_unknown_column(r, header->cells[cell], cell);
        } else if (r->cells[found] >= 0) {
            const ts_place place = ts_csv_place(r->csv, r->load->arena, header, cell);

            ts_diag_add(r->load->diag, TS_FAULT_COLUMN_TWICE, &place,
                        "the column \"%s\" stands here for the second time; keep one",
                        words[found]);
        } else {
            r->cells[found] = cell;
        }
    }
}

static bool is_needed(const ts_field *field)
{
    return field->need == TS_NEED_YES || field->need == TS_NEED_KEY;
}

/* Columns that every row needs are said once, not once a row. */
static bool has_columns(reader *r)
{
    const char *missing = "";

    for (size_t i = 0; i < r->own_count && r->csv->count > 1; i++) {
        if (r->cells[i] < 0 && is_needed(r->own + i)) {
            missing = ts_arena_format(r->load->arena, "%s%s\"%s\"", missing,
                                      missing[0] == '\0' ? "" : ", ", r->own[i].word);
        }
    }
    if (missing[0] == '\0') {
        return true;
    }
    const ts_place place = ts_csv_place(r->csv, r->load->arena, &r->csv->rows[0], -1);
    ts_diag_add(r->load->diag, TS_FAULT_COLUMN_MISSING, &place,
                "columns that every row needs are not there: %s", missing);
    return false;
}

/* ---- rows ---- */

static const char *text_at(const reader *r, const ts_csv_row *row, size_t column)
{
    const int cell = r->cells[column];

    return cell >= 0 && cell < row->count ? row->cells[cell] : "";
}

static void *member_of(ts_book_row *row, const ts_field *field)
{
    return (char *)row + field->offset;
}

/* What a member holds where its cell is empty. */
static void put_default(reader *r, ts_book_row *row, const ts_field *field)
{
    const bool is_text =
        field->kind == TS_KIND_NAME || field->kind == TS_KIND_LINE || field->kind == TS_KIND_TEXT;

    if (field->dflt[0] != '\0') {
        if (!ts_value_read(row, field, field->dflt, "", "", NULL, r->load->arena, r->load->diag)) {
            abort(); /* files.def contradicts itself */
        }
    } else if (is_text) {
        *(const char **)member_of(row, field) = "";
    } else if (field->kind == TS_KIND_DATE) {
        *(ts_date *)member_of(row, field) = TS_DATE_NONE;
    }
}

/* The values of `tiers` and `rounding` are words; which words is judged with the rule. */
static bool is_word_of_policy(const ts_book_row *row, const ts_field *field)
{
    const ts_policy_row *policy = (const ts_policy_row *)(const void *)row;

    return row->file == TS_BOOK_POLICY && field->kind == TS_KIND_AMOUNT &&
           (policy->rule == TS_RULE_TIERS || policy->rule == TS_RULE_ROUNDING);
}

static bool read_cell(reader *r, ts_book_row *row, const ts_csv_row *from, size_t column)
{
    const bool is_own = column < r->own_count;
    const ts_field *field = is_own ? r->own + column : r->common + (column - r->own_count);
    const char *text = text_at(r, from, column);
    const bool has_unit = field->kind == TS_KIND_AMOUNT;
    const size_t unit = has_unit ? (size_t)ts_book_column(r->file, "unit") : 0;
    const ts_cell_at at = {r->csv, from, r->cells[column], has_unit ? r->cells[unit] : -1};

    if (ts_text_empty(text)) {
        put_default(r, row, field);
        if (!is_needed(field)) {
            return true;
        }
        const ts_place place = ts_cell_place(&at, r->load->arena, false);
        ts_diag_add(r->load->diag, TS_FAULT_CELL_EMPTY, &place, "%s is empty; %s is expected: %s",
                    field->word, ts_kind_says(field->kind), field->says);
        return false;
    }
    if (is_own) {
        row->given |= (uint32_t)1 << column;
    }
    if (is_word_of_policy(row, field)) {
        ((ts_policy_row *)(void *)row)->word = ts_text_fold(r->load->arena, text);
        return true;
    }
    return ts_value_read(row, field, text, has_unit ? text_at(r, from, unit) : "", "", &at,
                         r->load->arena, r->load->diag);
}

/* What is looked up folded and printed as a dealer writes it: a lot, and what a rule is for. */
static const char *spelling(const reader *r, const ts_csv_row *from, const char *column)
{
    const char *text = text_at(r, from, (size_t)ts_book_column(r->file, column));

    return ts_text_trim(r->load->arena, text);
}

static void keep_spelling(const reader *r, ts_book_row *row, const ts_csv_row *from)
{
    if (r->file == TS_BOOK_MELEE) {
        ((ts_melee_row *)(void *)row)->spelt = spelling(r, from, "lot");
    } else if (r->file == TS_BOOK_STONES) {
        ((ts_offer_row *)(void *)row)->spelt = spelling(r, from, "lot");
    } else if (r->file == TS_BOOK_POLICY) {
        ((ts_policy_row *)(void *)row)->spelt = spelling(r, from, "subject");
    }
}

/* Reads one record into `row`; false where any of its cells has a fault. */
static bool read_row(reader *r, ts_book_row *row, const ts_csv_row *from)
{
    bool good = true;

    row->file = r->file;
    row->line = from->line;
    row->row = from->row;
    if (r->file == TS_BOOK_POLICY) {
        ((ts_policy_row *)(void *)row)->word = "";
    }
    keep_spelling(r, row, from);
    for (size_t i = 0; i < r->own_count + r->common_count; i++) {
        good = read_cell(r, row, from, i) && good;
        if (!good && i == 0 && r->file == TS_BOOK_POLICY) {
            return false; /* what the value may be hangs on the rule */
        }
    }
    return good;
}

static void read_rows(reader *r)
{
    const size_t size = ts_book_row_size(r->file);
    char *rows = ts_arena_alloc(r->load->arena, r->csv->count, size);
    size_t kept = 0;

    for (size_t i = 1; i < r->csv->count; i++) {
        ts_book_row *row = (ts_book_row *)(void *)(rows + kept * size);

        if (read_row(r, row, &r->csv->rows[i])) {
            kept++;
        } else {
            memset(row, 0, size);
        }
    }
    ts_book_rows_set(r->load->book, r->file, rows, kept);
}

/* ---- files ---- */

static bool is_absent(const char *path)
{
    struct stat about;

    return lstat(path, &about) != 0 && errno == ENOENT;
}

static void load_file(loading *load, ts_book_file file)
{
    const char *path = ts_arena_format(load->arena, "%s/%s", load->folder, ts_book_file_name(file));
    const char *words[MOST_WORDS];
    const size_t count = words_of(words, file);
    const size_t mark = ts_diag_mark(load->diag);
    ts_csv *csv = TS_NEW(load->arena, ts_csv);

    const ts_book_text *kept = load->texts == NULL ? NULL : &load->texts[file];
    const bool absent = kept == NULL ? is_absent(path) : kept->text == NULL;

    if (!ts_book_file_needed(file) && absent) {
        return;
    }
    const ts_status status = kept == NULL
                                 ? ts_csv_read(csv, load->arena, path, words, count, load->diag)
                                 : ts_csv_parse(csv, load->arena, path, absent ? "" : kept->text,
                                                kept->length, words, count, load->diag);
    load->status = ts_status_worse(load->status, status);
    if (csv->count > 0) {
        reader r = {.load = load, .file = file, .csv = csv};

        r.own = ts_book_fields(file, &r.own_count);
        r.common = ts_book_common_fields(&r.common_count);
        load->book->text[file] = csv;
        read_header(&r);
        if (has_columns(&r)) {
            read_rows(&r);
        }
    }
    load->faulty[file] = status != TS_OK || ts_diag_errors_since(load->diag, mark) > 0;
}

static int by_name_and_key(const void *one, const void *other)
{
    const int order =
        ts_book_compare_names(*(const ts_book_row *const *)one, *(const ts_book_row *const *)other);

    return order != 0 ? order : ts_book_by_key_and_day(one, other);
}

static void index_file(loading *load, ts_book_file file)
{
    const ts_book_slice rows = ts_book_rows(load->book, file);
    const ts_book_row **index = TS_ARRAY(load->arena, const ts_book_row *, rows.count + 1);
    size_t *key_end = TS_ARRAY(load->arena, size_t, rows.count + 1);

    for (size_t i = 0; i < rows.count; i++) {
        index[i] = ts_book_row_at(&rows, i);
    }
    qsort(index, rows.count, sizeof *index, by_name_and_key);
    for (size_t i = rows.count; i-- > 0;) {
        const bool goes_on =
            i + 1 < rows.count && ts_book_compare_keys(index[i], index[i + 1]) == 0;

        key_end[i] = goes_on ? key_end[i + 1] : i + 1;
    }
    load->book->by_name[file] = index;
    load->book->key_end[file] = key_end;
    load->book->runs[file] = ts_book_runs_of(load->arena, index, rows.count);
}

static bool has_folder(const char *folder, ts_diag *diag)
{
    struct stat about;
    const ts_place place = {.file = folder};

    if (stat(folder, &about) != 0) {
        ts_diag_add(diag, TS_FAULT_NOT_FOUND, &place,
                    "no folder of price books is there, or it may not be read");
        return false;
    }
    if (!S_ISDIR(about.st_mode)) {
        ts_diag_add(diag, TS_FAULT_NOT_FOUND, &place,
                    "this is a file; a folder of price books is expected");
        return false;
    }
    return true;
}

static ts_status load_all(const ts_book **out, loading *load)
{
    const size_t mark = ts_diag_mark(load->diag);

    load->book = TS_NEW(load->arena, ts_book);
    load->book->folder = ts_arena_text(load->arena, load->folder);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        load_file(load, (ts_book_file)file);
        index_file(load, (ts_book_file)file);
    }
    const ts_judging judging = {load->book, load->faulty, load->arena, load->diag};
    load->book->currency = ts_book_judge_studio(&judging);
    load->book->exponent = ts_currency_exponent(load->book->currency);
    ts_book_judge(&judging);
    if (ts_diag_errors_since(load->diag, mark) > 0) {
        load->status = ts_status_worse(load->status, TS_FAULTY);
    }
    if (load->status == TS_OK) {
        *out = load->book;
    }
    return load->status;
}

ts_status ts_book_load(const ts_book **out, ts_arena *arena, const char *folder, ts_diag *diag)
{
    loading load = {.folder = folder, .arena = arena, .diag = diag, .status = TS_OK};

    *out = NULL;
    return has_folder(folder, diag) ? load_all(out, &load) : TS_MISSING;
}

ts_status ts_book_parse(const ts_book **out, ts_arena *arena, const char *folder,
                        const ts_book_text *texts, ts_diag *diag)
{
    loading load = {
        .folder = folder, .texts = texts, .arena = arena, .diag = diag, .status = TS_OK};

    *out = NULL;
    return load_all(out, &load);
}

/* ---- places ---- */

/* The record that a row was read from: the one of its line. */
static const ts_csv_row *record_of(const ts_csv *csv, const ts_book_row *row)
{
    size_t low = 0;
    size_t high = csv->count;

    while (low < high) {
        const size_t middle = low + (high - low) / 2;

        if (csv->rows[middle].line < row->line) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < csv->count ? &csv->rows[low] : NULL;
}

ts_place ts_book_place(const ts_book *book, ts_arena *arena, const ts_book_row *row,
                       const char *column)
{
    const ts_csv *csv = book->text[row->file];
    const ts_csv_row *record = csv == NULL ? NULL : record_of(csv, row);
    int cell = -1;

    if (record == NULL) {
        return (ts_place){.file = ts_book_file_name(row->file), .line = row->line};
    }
    for (int i = 0; column != NULL && i < csv->rows[0].count; i++) {
        if (ts_text_same(csv->rows[0].cells[i], column)) {
            cell = i;
            break;
        }
    }
    return ts_csv_place(csv, arena, record, cell);
}
