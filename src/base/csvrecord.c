#include <tallystone/base/csvlines.h>

#include <tallystone/base/text.h>

#include "base/formula.h"
#include "base/utf8.h"

#include <string.h>

/* One line taken apart in place: RFC 4180 with blanks around cells, strict about quotation
 * marks as the reader of whole files is. A catalogue has millions of short cells, so nothing
 * is copied: what a cell does not need of the line (quotation marks, blanks, separators) is
 * where its end is put. */

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* A cell without its outer blanks and without the apostrophe that kept it from being a
 * formula. */
static char *trim(char *from, char *to)
{
    *to = '\0';
    for (size_t blank = ts_utf8_blank(from); blank > 0; blank = ts_utf8_blank(from)) {
        from += blank;
    }
    while (to > from) {
        size_t blank = ts_utf8_blank(to - 1); /* one byte, or two or three before the end */
        for (size_t back = 2; blank == 0 && back <= 3 && to - from >= (ptrdiff_t)back; back++) {
            blank = ts_utf8_blank(to - back) == back ? back : 0;
        }
        if (blank == 0) {
            break;
        }
        to -= blank;
    }
    *to = '\0';
    return from;
}

static char *clean(char *from, char *to)
{
    char *cell = trim(from, to);
    return *cell == '\'' && ts_formula_like(cell) ? trim(cell + 1, cell + strlen(cell)) : cell;
}

/* The cell that begins with a quotation mark at `from`: undoes doubled marks in place.
 * Answers where the cell's text ends, *at past its closing mark; NULL where none closes it. */
static char *unquote(char *from, const char *end, char **at)
{
    char *to = from;
    char *read = from + 1;
    while (read < end) {
        if (*read != '"') {
            *to++ = *read++;
        } else if (read + 1 < end && read[1] == '"') {
            *to++ = '"';
            read += 2;
        } else {
            *at = read + 1;
            return to;
        }
    }
    return NULL;
}

static bool keep(ts_csv_record *out, char *from, char *to)
{
    if (to - from > (ptrdiff_t)TS_CSV_MOST_CELL) {
        out->why = "a cell is longer than 8192 bytes";
        return false;
    }
    if (out->count == TS_CSV_MOST_CELLS) {
        out->why = "the row has more than 256 cells";
        return false;
    }
    const char *cell = clean(from, to);
    out->cells[out->count++] = cell;
    out->filled = *cell == '\0' ? out->filled : out->count;
    return true;
}

/* One cell from *at on; *at is left at its separator or at the end. */
static bool read_cell(ts_csv_record *out, char **at, char *end, char separator)
{
    char *from = *at;
    while (from < end && is_blank(*from) && *from != separator) {
        from++;
    }
    if (from < end && *from == '"') {
        char *past = NULL;
        char *to = unquote(from, end, &past);
        while (to != NULL && past < end && is_blank(*past) && *past != separator) {
            past++;
        }
        if (to == NULL) {
            out->why = "the quotation mark that opens a cell is not closed on its line; a record "
                       "stands on one line";
            return false;
        }
        if (past < end && *past != separator) {
            out->why = "text follows the closing quotation mark of a cell";
            return false;
        }
        *at = past;
        return keep(out, from, to);
    }
    char *to = memchr(from, separator, (size_t)(end - from));
    to = to == NULL ? end : to;
    if (memchr(from, '"', (size_t)(to - from)) != NULL) {
        out->why = "a quotation mark stands inside a cell that does not begin with one";
        return false;
    }
    *at = to;
    return keep(out, from, to);
}

/* The fast way for plain text, the whole rule for all else. */
static bool is_text(const char *line, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        const unsigned char byte = (unsigned char)line[i];
        if (byte < 0x20 || byte >= 0x7F) {
            return ts_text_first_bad(line + i, length - i) == length - i &&
                   memchr(line + i, '\r', length - i) == NULL;
        }
    }
    return true;
}

/* ---- lines that need none of this ---- */

/* Nearly every row of a catalogue is short and plain: ASCII, no quotation mark. Its separators
 * are found eight bytes at a time, as bits of a word; cells that begin or end with a blank or
 * an apostrophe go the whole way alone. */

#define SHORT_LINE 256 /* so that a line cannot have too many cells, nor one too long */
#define EACH_BYTE UINT64_C(0x0101010101010101)
#define HIGH_BITS (EACH_BYTE << 7)

/* The high bit of each byte that is 0, and of no other. */
static uint64_t zero_bytes(uint64_t word)
{
    return ~(((word & ~HIGH_BITS) + ~HIGH_BITS) | word | ~HIGH_BITS);
}

/* The first byte is the lowest. */
static uint64_t word_at(const char *from)
{
    uint64_t word;
    memcpy(&word, from, sizeof word);
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    word = __builtin_bswap64(word);
#endif
    return word;
}

static bool is_plain(uint64_t word)
{
    return (((word | (word - EACH_BYTE * 0x20)) & HIGH_BITS) | zero_bytes(word ^ EACH_BYTE * 0x7F) |
            zero_bytes(word ^ EACH_BYTE * '"')) == 0;
}

/* Bits of the separators of a line from 8 bytes on; false where the line is not plain. */
static bool find_separators(uint64_t *bits, const char *line, size_t length, char separator)
{
    const uint64_t each = EACH_BYTE * (unsigned char)separator;
    for (size_t at = 0; at < length; at += 8) {
        const size_t past = at + 8 > length ? at + 8 - length : 0;
        uint64_t word = word_at(line + at - past);
        if (past > 0) { /* the last bytes once more, moved to their place */
            word = word >> 8 * past | (EACH_BYTE * 'x') << 8 * (8 - past);
        }
        if (!is_plain(word)) {
            return false;
        }
        const uint64_t byte = ((zero_bytes(word ^ each) >> 7) * UINT64_C(0x0102040810204080)) >> 56;
        bits[at / 64] |= byte << at % 64;
    }
    return true;
}

static void keep_plain(ts_csv_record *out, char *from, char *to)
{
    const char *cell = from;
    *to = '\0';
    if (from < to && (*from == ' ' || *from == '\'' || to[-1] == ' ')) {
        cell = clean(from, to);
    }
    out->cells[out->count++] = cell;
    out->filled = *cell == '\0' ? out->filled : out->count;
}

/* The whole of a short plain line; false, with nothing done, for any other. */
static bool read_plain(ts_csv_record *out, char *line, size_t length, char separator)
{
    uint64_t bits[SHORT_LINE / 64] = {0};
    char *from = line;
    if (length < 8 || length >= SHORT_LINE || !find_separators(bits, line, length, separator)) {
        return false;
    }
    for (size_t at = 0; at < length; at += 64) {
        for (uint64_t left = bits[at / 64]; left != 0; left &= left - 1) {
            char *to = line + at + __builtin_ctzll(left);
            keep_plain(out, from, to);
            from = to + 1;
        }
    }
    keep_plain(out, from, line + length);
    return true;
}

static ts_record_kind kind_of(const ts_csv_record *record)
{
    return record->filled == 0 || record->cells[0][0] == '#' ? TS_RECORD_NOTHING : TS_RECORD_ROW;
}

ts_record_kind ts_csv_record_read(ts_csv_record *out, char *line, size_t length, char separator)
{
    out->count = 0;
    out->filled = 0;
    out->why = NULL;
    length -= length > 0 && line[length - 1] == '\r' ? 1 : 0;
    if (read_plain(out, line, length, separator)) {
        return kind_of(out);
    }
    if (!is_text(line, length)) {
        out->why = "the row holds a byte that is no UTF-8 text or a sign that cannot be seen";
        return TS_RECORD_BAD;
    }
    char *end = line + length;
    for (char *at = line;; at++) {
        if (!read_cell(out, &at, end, separator)) {
            return TS_RECORD_BAD;
        }
        if (at >= end) {
            break;
        }
    }
    return kind_of(out);
}
