#include "base/csvparts.h"

#include <tallystone/base/text.h>

#include "base/utf8.h"

#include <string.h>

/* Before a file is taken apart into cells it must be text at all. Spreadsheet programs
 * offer a dozen ways to save a table; each of the wrong ones has its own sentence here,
 * because "save as CSV UTF-8" is all that its owner needs to hear. */

enum { MOST_BAD = 20 };

static int line_number(const ts_csv *csv, size_t at, size_t *line_start)
{
    int line = 1;
    size_t start = 0;
    for (const char *end = memchr(csv->text, '\n', at); end != NULL;
         end = memchr(csv->text + start, '\n', at - start)) {
        start = (size_t)(end - csv->text) + 1;
        line++;
    }
    *line_start = start;
    return line;
}

ts_place ts_csvtext_place(const ts_csv *csv, size_t at)
{
    size_t start;
    ts_place place = {.file = csv->file, .width = 1};
    place.line = line_number(csv, at, &start);
    place.column = ts_text_characters(csv->text + start, at - start) + 1;
    place.line_text = csv->lines + start;
    return place;
}

static bool judge_size(const ts_csv *csv, ts_diag *diag)
{
    if (csv->length <= TS_CSV_MOST_BYTES) {
        return true;
    }
    const ts_place at = {.file = csv->file};
    ts_diag_add(diag, TS_FAULT_TOO_LARGE, &at, "the text is larger than %u MiB",
                TS_CSV_MOST_BYTES >> 20);
    return false;
}

/* UTF-16 and UTF-32 begin with a byte-order mark of their own. */
static bool judge_encoding(const ts_csv *csv, ts_diag *diag)
{
    const unsigned char *bytes = (const unsigned char *)csv->text;
    const bool little = csv->length >= 2 && bytes[0] == 0xFF && bytes[1] == 0xFE;
    const bool big = csv->length >= 2 && bytes[0] == 0xFE && bytes[1] == 0xFF;
    if (!little && !big) {
        return true;
    }
    const ts_place at = {.file = csv->file, .line = 1, .column = 1};
    ts_diag_add(
        diag, TS_FAULT_NOT_TEXT, &at,
        "the file is UTF-16 (\"Unicode text\", it begins with \\x%02X\\x%02X); UTF-8 is read",
        bytes[0], bytes[1]);
    ts_diag_hint(diag, "save it again as CSV with the encoding UTF-8");
    return false;
}

static void add_bad_sign(const ts_csv *csv, ts_arena *arena, ts_diag *diag, size_t at, size_t bytes)
{
    const ts_place place = ts_csvtext_place(csv, at);
    const char *sign = ts_arena_copy(arena, csv->text + at, bytes);
    ts_diag_add(diag, TS_FAULT_NOT_TEXT, &place,
                "a character that cannot be seen (%s) stands here; tables hold plain text",
                ts_text_show(arena, sign, 40));
    ts_diag_hint(diag, "take the character out");
}

/* Every character that may not stand is named; a byte that is no UTF-8, or a NUL, means
 * that the file as a whole is something else, and is named once. */
static bool judge_characters(const ts_csv *csv, ts_arena *arena, ts_diag *diag)
{
    size_t at = ts_text_first_bad(csv->text, csv->length);
    if (at == csv->length) {
        return true;
    }
    for (int bad = 0; at < csv->length && bad < MOST_BAD; bad++) {
        uint32_t code;
        const size_t bytes = ts_utf8_next(&code, csv->text + at, csv->length - at);
        if (code == TS_UTF8_BROKEN || code == 0) {
            const ts_place place = ts_csvtext_place(csv, at);
            ts_diag_add(diag, TS_FAULT_NOT_TEXT, &place,
                        code == 0 ? "the byte \\x%02X stands here; this is no text file"
                                  : "the byte \\x%02X stands here and is no UTF-8 text",
                        (unsigned)(unsigned char)csv->text[at]);
            ts_diag_hint(diag, "save the table again as CSV with the encoding UTF-8");
            return false;
        }
        add_bad_sign(csv, arena, diag, at, bytes);
        at += bytes;
        at += ts_text_first_bad(csv->text + at, csv->length - at);
    }
    return false;
}

/* A CR without LF was the line end of an old system; some programs still offer it. */
static bool judge_line_ends(const ts_csv *csv, ts_diag *diag)
{
    const char *end = csv->text + csv->length;
    const char *at = csv->text;
    while ((at = memchr(at, '\r', (size_t)(end - at))) != NULL) {
        if (at + 1 == end || at[1] != '\n') {
            const ts_place place = ts_csvtext_place(csv, (size_t)(at - csv->text));
            ts_diag_add(
                diag, TS_FAULT_NOT_CSV, &place,
                "a carriage return stands here without a line feed; lines end in LF or CRLF");
            ts_diag_hint(diag, "save the table again as CSV with the line ends of Unix or Windows");
            return false;
        }
        at++;
    }
    return true;
}

bool ts_csvtext_judge(const ts_csv *csv, ts_arena *arena, ts_diag *diag)
{
    return judge_size(csv, diag) && judge_encoding(csv, diag) &&
           judge_characters(csv, arena, diag) && judge_line_ends(csv, diag);
}
