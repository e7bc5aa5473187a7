#include <tallystone/base/csvlines.h>

#include <tallystone/base/decimal.h>
#include <tallystone/base/file.h>
#include <tallystone/base/text.h>

#include "base/csvparts.h"
#include "base/trouble.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

/* Blocks of whole lines. What follows the last line end of a read waits for the next one. A
 * line belongs to the part of the file in which its first byte lies, so parts meet at line
 * ends without knowing of each other. The header is given to the reader of small tables
 * (csvin.c), so it is judged and shown as in every other file. */

#define PROOF_BYTES ((size_t)64 << 10)

struct ts_csv_lines {
    int fd;
    bool owned;
    bool ended;
    const char *name;
    ts_csv head;
    int names;  /* column of names, which prove no decimal mark; -1: none */
    char *kept; /* read, not given out yet */
    size_t kept_length;
    int64_t at;         /* offset in the file of the next line */
    int64_t start, end; /* of the part; end -1: of a stream, INT64_MAX: of the last part */
    int64_t size;
};

static ts_status refuse_read(const ts_csv_lines *lines, ts_diag *diag)
{
    char text[TS_TROUBLE_TEXT];
    const ts_place at = {.file = lines->name};
    const int error = errno;
    ts_diag_add(diag, TS_FAULT_NOT_FOUND, &at, "the table cannot be read: %s",
                ts_trouble_text(text, error));
    return TS_IO;
}

static ts_status refuse_line(const ts_csv_lines *lines, ts_diag *diag)
{
    const ts_place at = {.file = lines->name};
    ts_diag_add(diag, TS_FAULT_TOO_LARGE, &at,
                "a line of the table is longer than %zu KiB; a record stands on one line",
                TS_CSV_BLOCK >> 10);
    return TS_FAULTY;
}

/* Reads once behind what `buffer` holds; *length grows, `ended` is set at the end. */
static ts_status read_more(ts_csv_lines *lines, char *buffer, size_t *length, ts_diag *diag)
{
    ssize_t got;
    do {
        got = read(lines->fd, buffer + *length, TS_CSV_BLOCK - *length);
    } while (got < 0 && errno == EINTR);
    if (got < 0) {
        return refuse_read(lines, diag);
    }
    lines->ended = got == 0;
    *length += (size_t)got;
    return TS_OK;
}

/* ---- the header ---- */

/* A line of blanks, quotation marks and separators, or a remark. */
static bool says_nothing(const char *line, size_t length)
{
    size_t at = 0;
    while (at < length && memchr(" \t\r\"", line[at], 4) != NULL) {
        at++;
    }
    if (at < length && line[at] == '#') {
        return true;
    }
    while (at < length && memchr(" \t\r\",;", line[at], 6) != NULL) {
        at++;
    }
    return at == length;
}

/* Bytes up to the end of the first line that says something; 0 where none is whole yet. */
static size_t header_end(const ts_csv_lines *lines)
{
    const char *text = lines->kept;
    const size_t length = lines->kept_length;
    size_t at = length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    while (at < length) {
        const char *feed = memchr(text + at, '\n', length - at);
        if (feed == NULL && !lines->ended) {
            return 0;
        }
        const size_t end = feed == NULL ? length : (size_t)(feed - text) + 1;
        const size_t past = feed == NULL ? end : end - 1;
        if (!says_nothing(text + at, past - at)) {
            return end;
        }
        at = end;
    }
    return lines->ended ? length : 0;
}

static ts_status read_head(ts_csv_lines *lines, ts_arena *arena, size_t *end, ts_diag *diag)
{
    ts_status status = TS_OK;
    for (*end = 0; status == TS_OK && *end == 0 && !lines->ended;) {
        if (lines->kept_length == TS_CSV_BLOCK) {
            return refuse_line(lines, diag);
        }
        status = read_more(lines, lines->kept, &lines->kept_length, diag);
        *end = header_end(lines);
    }
    if (status != TS_OK) {
        return status;
    }
    const char *text = ts_arena_copy(arena, lines->kept, *end);
    return ts_csv_parse(&lines->head, arena, lines->name, text, *end, NULL, 0, diag);
}

/* ---- the decimal mark ---- */

/* What the first word of each cell proves: a unit may follow it. */
static char mark_of_line(const ts_csv_lines *lines, ts_arena *arena, const char *line,
                         size_t length, const char **cell)
{
    ts_csv_record record;
    char *copy = ts_arena_copy(arena, line, length);
    char mark = 0;
    if (ts_csv_record_read(&record, copy, length, lines->head.separator) != TS_RECORD_ROW) {
        return 0;
    }
    for (size_t i = 0; mark == 0 && i < record.count; i++) {
        if ((int)i == lines->names) {
            continue;
        }
        const char *word = ts_arena_copy(arena, record.cells[i], strcspn(record.cells[i], " "));
        mark = ts_csvmark_proved(word);
        *cell = word;
    }
    return mark;
}

/* A cell that proves a mark, and its line. */
typedef struct proof {
    const char *cell;
    int line;
} proof;

static ts_status refuse_marks(const ts_csv_lines *lines, proof point, proof comma, ts_diag *diag)
{
    const ts_place place = {.file = lines->name,
                            .line = point.line > comma.line ? point.line : comma.line};
    ts_diag_add(diag, TS_FAULT_NUMBER_UNCLEAR, &place,
                "\"%s\" in line %d has a decimal comma, but \"%s\" in line %d has a decimal point; "
                "one file uses one of them",
                comma.cell, comma.line, point.cell, point.line);
    return TS_FAULTY;
}

static int lines_in(const char *text, size_t length)
{
    int count = 0;
    for (size_t i = 0; i < length; i++) {
        count += text[i] == '\n';
    }
    return count;
}

static ts_status find_mark(ts_csv_lines *lines, ts_arena *arena, size_t from, ts_diag *diag)
{
    ts_status status = TS_OK;
    int number = lines_in(lines->kept, from);
    proof proofs[2] = {{NULL, 0}, {NULL, 0}}; /* of a point, of a comma */
    lines->head.point = '.';
    while (status == TS_OK && lines->kept_length < PROOF_BYTES && !lines->ended) {
        status = read_more(lines, lines->kept, &lines->kept_length, diag);
    }
    for (size_t at = from; status == TS_OK && at < lines->kept_length;) {
        const char *line = lines->kept + at;
        const char *feed = memchr(line, '\n', lines->kept_length - at);
        const size_t length = feed == NULL ? lines->kept_length - at : (size_t)(feed - line);
        if (at + length > PROOF_BYTES) {
            break;
        }
        const ts_arena_mark before = ts_arena_mark_of(arena);
        const char *cell = "";
        number++;
        const char mark = mark_of_line(lines, arena, line, length, &cell);
        if (mark == 0 || proofs[mark == ','].cell != NULL) {
            ts_arena_rewind(arena, before);
        } else {
            proofs[mark == ','] = (proof){cell, number};
            lines->head.point = mark;
        }
        at += length + 1;
    }
    return proofs[0].cell != NULL && proofs[1].cell != NULL
               ? refuse_marks(lines, proofs[0], proofs[1], diag)
               : status;
}

/* ---- parts of a file ---- */

/* Moves to the first line that begins at or after `target`. */
static ts_status seek_line(ts_csv_lines *lines, int64_t target, ts_diag *diag)
{
    int64_t at = target - 1;
    lines->kept_length = 0;
    lines->ended = false;
    if (lseek(lines->fd, (off_t)at, SEEK_SET) < 0) {
        return refuse_read(lines, diag);
    }
    while (!lines->ended) {
        ts_status status = read_more(lines, lines->kept, &lines->kept_length, diag);
        if (status != TS_OK) {
            return status;
        }
        const char *feed = memchr(lines->kept, '\n', lines->kept_length);
        if (feed != NULL) {
            const size_t past = (size_t)(feed - lines->kept) + 1;
            lines->kept_length -= past;
            memmove(lines->kept, lines->kept + past, lines->kept_length);
            lines->at = at + (int64_t)past;
            return TS_OK;
        }
        at += (int64_t)lines->kept_length;
        lines->kept_length = 0;
    }
    lines->at = at;
    return TS_OK;
}

static ts_status take_part(ts_csv_lines *lines, ts_shard shard, int64_t size, ts_diag *diag)
{
    const int64_t body = lines->at;
    lines->size = size;
    const ts_i128 length = size > body ? size - body : 0;
    lines->start = body + (int64_t)(length * (shard.index - 1) / shard.count);
    lines->end = shard.index == shard.count ? INT64_MAX
                                            : body + (int64_t)(length * shard.index / shard.count);
    return lines->start == body ? TS_OK : seek_line(lines, lines->start, diag);
}

static ts_status begin(ts_csv_lines *lines, ts_arena *arena, const char *names, ts_shard shard,
                       int64_t size, ts_diag *diag)
{
    size_t end = 0;
    ts_status status = read_head(lines, arena, &end, diag);
    for (int i = 0; status == TS_OK && names != NULL && i < lines->head.rows[0].count; i++) {
        lines->names = ts_text_same(lines->head.rows[0].cells[i], names) ? i : lines->names;
    }
    if (status == TS_OK && lines->head.separator != ',') {
        status = find_mark(lines, arena, end, diag);
    }
    if (status != TS_OK) {
        return status;
    }
    lines->at = (int64_t)end;
    lines->kept_length -= end;
    memmove(lines->kept, lines->kept + end, lines->kept_length);
    return lines->owned ? take_part(lines, shard, size, diag) : TS_OK;
}

ts_status ts_csv_lines_open(ts_csv_lines **out, ts_arena *arena, const char *path,
                            const char *names, ts_shard shard, ts_diag *diag)
{
    ts_csv_lines *lines = TS_NEW(arena, ts_csv_lines);
    int64_t size = 0;
    *out = NULL;
    *lines = (ts_csv_lines){.fd = STDIN_FILENO, .name = "(standard input)", .end = -1, .names = -1};
    lines->owned = path != NULL && strcmp(path, "-") != 0;
    if (lines->owned) {
        lines->name = path;
        const ts_status opened = ts_file_open(&lines->fd, &size, arena, path, diag);
        if (opened != TS_OK) {
            return opened;
        }
    }
    lines->kept = ts_arena_alloc(arena, TS_CSV_BLOCK + 1, 1);
    const ts_status status = begin(lines, arena, names, shard, size, diag);
    if (status != TS_OK) {
        ts_csv_lines_close(lines);
        return status;
    }
    *out = lines;
    return TS_OK;
}

void ts_csv_lines_close(ts_csv_lines *lines)
{
    if (lines != NULL && lines->owned && lines->fd >= 0) {
        close(lines->fd);
        lines->fd = -1;
    }
}

const ts_csv *ts_csv_lines_head(const ts_csv_lines *lines)
{
    return &lines->head;
}

/* ---- blocks ---- */

/* Bytes of the block's lines that begin inside the part. */
static size_t inside(const ts_csv_lines *lines, const char *text, size_t length)
{
    if (lines->end < 0 || lines->at + (int64_t)length <= lines->end) {
        return length;
    }
    if (lines->at >= lines->end) {
        return 0;
    }
    /* the last line is the one that holds the byte before the end */
    const size_t last = (size_t)(lines->end - 1 - lines->at);
    const char *feed = memchr(text + last, '\n', length - last);
    return feed == NULL ? length : (size_t)(feed - text) + 1;
}

/* Bytes up to the last line end. */
static size_t whole_lines(const char *text, size_t length)
{
    while (length > 0 && text[length - 1] != '\n') {
        length--;
    }
    return length;
}

ts_status ts_csv_lines_next(ts_csv_lines *lines, char *buffer, size_t *length, ts_diag *diag)
{
    size_t filled = lines->kept_length;
    *length = 0;
    if (lines->end >= 0 && lines->at >= lines->end) {
        return TS_OK;
    }
    memcpy(buffer, lines->kept, filled);
    size_t whole = whole_lines(buffer, filled);
    while (whole == 0 && !lines->ended) {
        if (filled == TS_CSV_BLOCK) {
            return refuse_line(lines, diag);
        }
        const ts_status status = read_more(lines, buffer, &filled, diag);
        if (status != TS_OK) {
            return status;
        }
        whole = whole_lines(buffer, filled);
    }
    if (whole == 0) {
        whole = filled; /* the last line lacks its end */
    }
    const size_t given = inside(lines, buffer, whole);
    lines->kept_length = filled - whole;
    memcpy(lines->kept, buffer + whole, lines->kept_length);
    lines->at += (int64_t)whole;
    *length = given;
    return TS_OK;
}

bool ts_csv_lines_progress(const ts_csv_lines *lines, int64_t *done, int64_t *all)
{
    *done = lines->at - lines->start;
    *all = (lines->end == INT64_MAX ? lines->size : lines->end) - lines->start;
    return lines->owned && *all > 0;
}
