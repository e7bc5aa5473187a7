/* CSV of any length, read a block of whole lines at a time.
 *
 * The reading rules are those of csvin.h (separator, byte-order mark, CRLF, apostrophes,
 * what no text may hold), with one more: a record is one line. So a table of a hundred
 * million rows is read in constant memory, a slip spoils its own row and no other, and a
 * file can be cut at any line end. */
#ifndef TS_BASE_CSVLINES_H
#define TS_BASE_CSVLINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/csvin.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/status.h>

/* The longest line that is read, and the room of a block. */
#define TS_CSV_BLOCK ((size_t)128 << 10)

typedef struct ts_csv_lines ts_csv_lines;

/* Which part of a file is read: number `index` of `count`, from 1; 1 of 1 is the whole. */
typedef struct ts_shard {
    int index, count;
} ts_shard;

/* Opens a file ("-" or NULL: standard input, only as a whole) and reads its header. The
 * decimal mark of a file parted by semicolons or tabs is the one that the first 64 KiB
 * prove, save in the column called `names` (NULL: none), where 1.1 may be a name. Owns the
 * descriptor until ts_csv_lines_close, which accepts NULL. */
ts_status ts_csv_lines_open(ts_csv_lines **out, ts_arena *arena, const char *path,
                            const char *names, ts_shard shard, ts_diag *diag) TS_MUST_USE;
void ts_csv_lines_close(ts_csv_lines *lines);

/* The header: file, separator, point and rows[0]. Borrowed. */
const ts_csv *ts_csv_lines_head(const ts_csv_lines *lines);

/* The next whole lines into `buffer` (TS_CSV_BLOCK + 1 bytes); *length 0 at the end. What is
 * there is given at once: a program that feeds rows one by one is answered one by one. */
ts_status ts_csv_lines_next(ts_csv_lines *lines, char *buffer, size_t *length,
                            ts_diag *diag) TS_MUST_USE;

/* Bytes read so far and in all (of this part), for progress; false for a stream. */
bool ts_csv_lines_progress(const ts_csv_lines *lines, int64_t *done, int64_t *all);

typedef enum ts_record_kind {
    TS_RECORD_NOTHING, /* blank, all cells empty, or a remark */
    TS_RECORD_ROW,
    TS_RECORD_BAD, /* `why` says what is wrong; cells before it can be used */
} ts_record_kind;

/* One record. Cells are NUL-terminated in the line itself. */
typedef struct ts_csv_record {
    const char *cells[TS_CSV_MOST_CELLS];
    size_t count;  /* cells, empty ones at the end too */
    size_t filled; /* number of the last that is not empty */
    const char *why;
} ts_csv_record;

/* Takes a line apart in place. `line` holds `length` bytes without its LF, and one more
 * that is overwritten. */
ts_record_kind ts_csv_record_read(ts_csv_record *out, char *line, size_t length, char separator);

#endif
