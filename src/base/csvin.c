#include <tallystone/base/csvin.h>

#include <tallystone/base/file.h>
#include <tallystone/base/text.h>

#include "base/csvparts.h"
#include "base/formula.h"
#include "base/utf8.h"

#include <csv.h>
#include <string.h>

/* libcsv splits the text into cells and is strict about quotation marks; around it stand
 * the rules of spreadsheets: which separator, which row is the header, which rows are no
 * rows, and how far a file may go. It is fed one physical line at a time, so each record
 * knows its lines. Its buffer is ours and cannot grow: a cell over the limit stops there
 * instead of taking memory. After a fault in a record of one line reading goes on with
 * the next; where the record spans lines nobody can say where the next one begins, so
 * that fault is the last. */

enum { BUFFER = TS_CSV_MOST_CELL + 64, MOST_NAMED = 12 };

typedef enum record_kind {
    RECORD_END, /* no more text */
    RECORD_BLANK,
    RECORD_ROW,
    RECORD_BAD,     /* reported; the next record can be read */
    RECORD_LAST_BAD /* reported; the next record cannot be found */
} record_kind;

typedef struct reader {
    ts_csv *csv;
    ts_arena *arena;
    ts_diag *diag; /* NULL while a separator is tried: nothing is reported */
    struct csv_parser parser;
    size_t at; /* start of the next physical line */
    int line;  /* its number */
    int row;   /* records so far, blank ones too: the number of this one */
    /* this record */
    size_t record_at;
    int record_line;
    const char *cells[TS_CSV_MOST_CELLS];
    size_t seen;   /* cells of it so far */
    size_t filled; /* number of the last that is not empty */
    bool too_long; /* cell `seen` passed the limit of a cell */
    bool complete;
    unsigned char buffer[BUFFER];
} reader;

static void *never_grow(void *old, size_t size)
{
    (void)old;
    (void)size;
    return NULL;
}

static void begin_parser(reader *in)
{
    csv_init(&in->parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL);
    csv_set_delim(&in->parser, (unsigned char)in->csv->separator);
    csv_set_realloc_func(&in->parser, never_grow);
    csv_set_free_func(&in->parser, NULL);
    in->parser.entry_buf = in->buffer;
    in->parser.entry_size = sizeof in->buffer;
}

/* Sets it to the text's beginning. What is in its buffer and its cells does not matter. */
static void begin(reader *in, ts_csv *csv, ts_arena *arena, ts_diag *diag)
{
    in->csv = csv;
    in->arena = arena;
    in->diag = diag;
    in->at = 0;
    in->line = 1;
    in->row = 0;
    begin_parser(in);
}

/* A cell without its outer blanks and without the apostrophe that kept it from being a
 * formula. `text` is libcsv's buffer, NUL-terminated. */
static const char *clean_cell(ts_arena *arena, const char *text)
{
    if (*text == '\0') {
        return "";
    }
    const char *cell = ts_text_trim(arena, text);
    return *cell == '\'' && ts_formula_like(cell) ? ts_text_trim(arena, cell + 1) : cell;
}

static void on_cell(void *text, size_t length, void *ctx)
{
    reader *in = ctx;
    if (in->too_long) {
        return;
    }
    if (length > TS_CSV_MOST_CELL) {
        in->too_long = true;
        return;
    }
    bool empty = ts_text_empty(text);
    if (in->seen < TS_CSV_MOST_CELLS) { /* beyond, a cell only counts */
        in->cells[in->seen] = clean_cell(in->arena, text);
        empty = in->cells[in->seen][0] == '\0';
    }
    in->seen++;
    in->filled = empty ? in->filled : in->seen;
}

static void on_row(int end, void *ctx)
{
    (void)end;
    ((reader *)ctx)->complete = true;
}

/* The record as a row: for its place, and for the caller once it holds cells. */
static ts_csv_row record_row(const reader *in)
{
    size_t end = in->at;
    const char *text = in->csv->text;
    while (end > in->record_at && (text[end - 1] == '\n' || text[end - 1] == '\r')) {
        end--;
    }
    return (ts_csv_row){.row = in->row,
                        .line = in->record_line,
                        .raw_at = in->record_at,
                        .raw_length = end - in->record_at};
}

static void report_cell(reader *in, ts_fault code, const char *sentence, const char *hint)
{
    if (in->diag == NULL) {
        return;
    }
    const ts_csv_row row = record_row(in);
    const ts_place at = ts_csv_place(in->csv, in->arena, &row, (int)in->seen);
    ts_diag_add(in->diag, code, &at, "%s", sentence);
    ts_diag_hint(in->diag, "%s", hint);
}

static const char doubled_hint[] = "a cell that holds a quotation mark stands in quotation marks "
                                   "itself, and each one inside it twice: \"5\"\" wide\"";

/* A quotation mark or a letter at byte `at` of a one-line record, where it cannot stand. */
static void report_mark(reader *in, size_t at)
{
    if (in->diag == NULL) {
        return;
    }
    const ts_csv_row row = record_row(in);
    ts_place place = ts_csv_place(in->csv, in->arena, &row, (int)in->seen);
    place.column = ts_text_characters(in->csv->text + in->record_at, at - in->record_at) + 1;
    place.width = 1;
    ts_diag_add(in->diag, TS_FAULT_NOT_CSV, &place, "%s",
                in->parser.quoted ? "text follows the closing quotation mark of this cell"
                                  : "a quotation mark stands inside a cell that does not begin "
                                    "with one");
    ts_diag_hint(in->diag, "%s", doubled_hint);
}

/* The record cannot be read: says why, and starts afresh on the next line. `stop` is
 * where libcsv stopped. */
static record_kind give_up_record(reader *in, size_t stop)
{
    const bool one_line = in->record_line + 1 == in->line;
    if (in->too_long || csv_error(&in->parser) == CSV_ENOMEM) {
        report_cell(
            in, TS_FAULT_TOO_LARGE,
            ts_arena_format(in->arena, "this cell is longer than %u bytes", TS_CSV_MOST_CELL),
            one_line ? "shorten it"
                     : "it begins with a quotation mark; is there one that closes it?");
    } else if (one_line) {
        report_mark(in, stop);
    } else {
        report_cell(in, TS_FAULT_NOT_CSV,
                    ts_arena_format(in->arena,
                                    "the quotation mark that opens this cell is closed in line %d, "
                                    "where more text follows",
                                    in->line - 1),
                    doubled_hint);
    }
    begin_parser(in);
    return one_line ? RECORD_BAD : RECORD_LAST_BAD;
}

/* The text has ended inside a record. */
static record_kind finish(reader *in)
{
    if (csv_fini(&in->parser, on_cell, on_row, in) == 0) {
        return in->too_long ? give_up_record(in, in->at) : RECORD_ROW;
    }
    report_cell(in, TS_FAULT_NOT_CSV, "the quotation mark that opens this cell is never closed",
                "a quotation mark that is meant as one stands twice inside a quoted cell");
    return RECORD_LAST_BAD;
}

static record_kind read_record(reader *in)
{
    const ts_csv *csv = in->csv;
    in->record_at = in->at;
    in->record_line = in->line;
    in->seen = 0;
    in->filled = 0;
    in->too_long = false;
    in->complete = false;
    in->row++;
    while (in->at < csv->length) {
        const char *start = csv->text + in->at;
        const char *feed = memchr(start, '\n', csv->length - in->at);
        const size_t length = feed == NULL ? csv->length - in->at : (size_t)(feed - start) + 1;
        const size_t done = csv_parse(&in->parser, start, length, on_cell, on_row, in);
        in->at += length;
        in->line++;
        if (done < length || in->too_long) {
            return give_up_record(in, in->at - length + done);
        }
        if (in->complete) {
            return RECORD_ROW;
        }
        const char *line = csv->lines + in->record_at; /* NUL where the line ends */
        if (in->record_line + 1 == in->line && line[strspn(line, " \t")] == '\0') {
            return RECORD_BLANK;
        }
    }
    return in->record_at == csv->length ? RECORD_END : finish(in);
}

/* A record that says nothing: all cells empty, or a remark. */
static bool says_nothing(const reader *in)
{
    return in->filled == 0 || in->cells[0][0] == '#';
}

/* The first record that says something: the header, as it should be. */
static record_kind read_header(reader *in)
{
    record_kind kind = read_record(in);
    while (kind == RECORD_BLANK || (kind == RECORD_ROW && says_nothing(in))) {
        kind = read_record(in);
    }
    return kind;
}

static size_t stored(const reader *in)
{
    return in->seen < TS_CSV_MOST_CELLS ? in->seen : TS_CSV_MOST_CELLS;
}

static size_t count_known(const reader *in, const char *const *known, size_t known_count)
{
    size_t found = 0;
    for (size_t i = 0; i < stored(in); i++) {
        size_t word = 0;
        while (word < known_count && !ts_text_same(in->cells[i], known[word])) {
            word++;
        }
        found += word < known_count;
    }
    return found;
}

typedef struct words {
    const char *const *known;
    size_t count;
} words;

/* Tries the separators on the first row. False where none splits it into words that are
 * known, though it can be read (what cannot be read is reported by the reading). */
static bool find_separator(reader *in, ts_csv *csv, ts_arena *arena, words expected)
{
    static const char separators[] = {',', ';', '\t'};
    const ts_arena_mark mark = ts_arena_mark_of(arena);
    size_t most = 0;
    bool readable = true;
    char best = ',';
    for (size_t i = 0; i < sizeof separators; i++) {
        csv->separator = separators[i];
        begin(in, csv, arena, NULL);
        readable = read_header(in) <= RECORD_ROW && readable;
        /* a caller that expects nothing gets the separator that makes most cells */
        const size_t found =
            expected.count == 0 ? in->filled : count_known(in, expected.known, expected.count);
        if (found > most) {
            most = found;
            best = separators[i];
        }
        ts_arena_rewind(arena, mark);
    }
    csv->separator = best;
    return most > 0 || !readable;
}

static const char *list_words(ts_arena *arena, words expected)
{
    const char *list = "";
    for (size_t i = 0; i < expected.count && i < MOST_NAMED; i++) {
        list = ts_text_joined(arena, list, ", ", expected.known[i]);
    }
    return expected.count > MOST_NAMED ? ts_arena_format(arena, "%s, ...", list) : list;
}

static void report_empty(reader *in, words expected)
{
    const ts_place at = {.file = in->csv->file};
    ts_diag_add(in->diag, TS_FAULT_EMPTY, &at, "the file has no rows; its first names the columns");
    if (expected.count > 0) {
        ts_diag_hint(in->diag, "columns: %s", list_words(in->arena, expected));
    }
}

static void report_title(reader *in, words expected)
{
    const ts_csv_row row = record_row(in);
    const ts_place at = ts_csv_place(in->csv, in->arena, &row, -1);
    const char *raw = ts_arena_copy(in->arena, in->csv->text + row.raw_at, row.raw_length);
    ts_diag_add(in->diag, TS_FAULT_HEADER, &at, "the first row must name the columns; it reads: %s",
                ts_text_show(in->arena, raw, 80));
    ts_diag_hint(in->diag, "columns: %s", list_words(in->arena, expected));
}

/* Cells beyond the limit or beyond the header. True where the row can be kept. */
static bool judge_width(reader *in, size_t columns)
{
    const ts_csv_row row = record_row(in);
    if (in->filled > TS_CSV_MOST_CELLS) {
        const ts_place at = ts_csv_place(in->csv, in->arena, &row, (int)TS_CSV_MOST_CELLS);
        ts_diag_add(in->diag, TS_FAULT_TOO_LARGE, &at,
                    "the row has %zu cells; a table has at most %u columns", in->filled,
                    TS_CSV_MOST_CELLS);
        return false;
    }
    if (in->filled <= columns) {
        return true;
    }
    size_t extra = columns;
    while (in->cells[extra][0] == '\0') {
        extra++;
    }
    const ts_place at = ts_csv_place(in->csv, in->arena, &row, (int)extra);
    ts_diag_add(in->diag, TS_FAULT_CELL_EXTRA, &at,
                "\"%s\" stands in column %zu; the header names %zu columns",
                ts_text_show(in->arena, in->cells[extra], 40), extra + 1, columns);
    if (in->csv->separator == ',') {
        ts_diag_hint(in->diag, "a cell with a comma inside stands in quotation marks");
    }
    return false;
}

typedef struct table {
    ts_csv_row *rows;
    size_t count;
    size_t room;
} table;

/* Takes the record as a row of `columns` cells. */
static void keep_row(reader *in, table *to, size_t columns)
{
    ts_csv_row row = record_row(in);
    const char **cells = TS_ARRAY(in->arena, const char *, columns);
    for (size_t i = 0; i < columns; i++) {
        cells[i] = i < stored(in) ? in->cells[i] : "";
    }
    row.cells = cells;
    row.count = (int)columns;
    to->rows = ts_arena_grow(in->arena, to->rows, to->count, &to->room, sizeof *to->rows);
    to->rows[to->count++] = row;
    in->csv->rows = to->rows;
    in->csv->count = to->count;
}

static void report_rows(reader *in)
{
    const ts_csv_row row = record_row(in);
    const ts_place at = ts_csv_place(in->csv, in->arena, &row, -1);
    ts_diag_add(in->diag, TS_FAULT_TOO_LARGE, &at, "the table has more than %u rows",
                TS_CSV_MOST_ROWS);
}

/* Reads the rows under the header; false where any was faulty. Rows that cannot be read
 * count towards the limit too, so faults are as limited as rows. */
static bool read_rows(reader *in, table *to)
{
    const size_t columns = (size_t)to->rows[0].count;
    size_t unread = 0;
    bool well = true;
    for (;;) {
        const ts_arena_mark before = ts_arena_mark_of(in->arena);
        const record_kind kind = read_record(in);
        if (kind == RECORD_END || kind == RECORD_LAST_BAD) {
            return well && unread == 0 && kind == RECORD_END;
        }
        if (kind == RECORD_BLANK || (kind == RECORD_ROW && says_nothing(in))) {
            ts_arena_rewind(in->arena, before);
            continue;
        }
        if (to->count + unread > TS_CSV_MOST_ROWS) {
            report_rows(in);
            return false;
        }
        if (kind == RECORD_BAD) {
            unread++;
            continue;
        }
        well = judge_width(in, columns) && well;
        keep_row(in, to, columns);
    }
}

/* Reads the whole; false where anything was reported. */
static bool read_all(reader *in, words expected, bool header_known)
{
    table rows = {NULL, 0, 0};
    const record_kind kind = read_header(in);
    if (kind == RECORD_END) {
        report_empty(in, expected);
        return false;
    }
    if (kind != RECORD_ROW) {
        return false;
    }
    if (!header_known) {
        report_title(in, expected);
        return false;
    }
    if (!judge_width(in, in->filled)) {
        return false;
    }
    keep_row(in, &rows, in->filled);
    return read_rows(in, &rows);
}

/* The text with NUL for the bytes that end its lines. */
static const char *lines_of(ts_arena *arena, const char *text, size_t length)
{
    char *lines = ts_arena_copy(arena, text, length);
    for (char *at = lines; (at = memchr(at, '\n', length - (size_t)(at - lines))) != NULL; at++) {
        *at = '\0';
        if (at > lines && at[-1] == '\r') {
            at[-1] = '\0';
        }
    }
    return lines;
}

/* Six things, two of them a pointer with its count. NOLINTNEXTLINE(readability-function-size) */
ts_status ts_csv_parse(ts_csv *out, ts_arena *arena, const char *name, const char *text,
                       size_t length, const char *const *known, size_t known_count, ts_diag *diag)
{
    const words expected = {known, known_count};
    const size_t mark = length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    *out = (ts_csv){.file = name, .separator = ',', .point = '.'};
    out->text = text + mark;
    out->length = length - mark;
    out->lines = out->length > TS_CSV_MOST_BYTES ? "" : lines_of(arena, out->text, out->length);
    if (!ts_csvtext_judge(out, arena, diag)) {
        return TS_FAULTY;
    }
    reader in;
    const bool header_known = find_separator(&in, out, arena, expected);
    begin(&in, out, arena, diag);
    const bool rows_well = read_all(&in, expected, header_known);
    const bool mark_well = ts_csvmark_find(&out->point, out, arena, diag);
    return rows_well && mark_well ? TS_OK : TS_FAULTY;
}

ts_status ts_csv_read(ts_csv *out, ts_arena *arena, const char *path, const char *const *known,
                      size_t known_count, ts_diag *diag)
{
    char *text = NULL;
    size_t length = 0;
    const char *name = strcmp(path, "-") == 0 ? "(standard input)" : path;
    *out = (ts_csv){.file = name, .text = "", .lines = "", .separator = ',', .point = '.'};
    const ts_status status = ts_file_read(&text, &length, arena, path, TS_CSV_MOST_BYTES, diag);
    if (status != TS_OK) {
        return status;
    }
    return ts_csv_parse(out, arena, name, text, length, known, known_count, diag);
}
