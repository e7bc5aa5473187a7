#include <tallystone/base/csvout.h>

#include "base/formula.h"
#include "base/utf8.h"

#include <string.h>

/* RFC 4180 section 2, save that records end in LF as the project's files do. Errors of
 * the stream stay in the stream: whoever opened it asks ferror once at the end. */

bool ts_formula_like(const char *text)
{
    for (;;) {
        const size_t blank = ts_utf8_blank(text);
        if (blank == 0 && *text != '\'' && *text != '\r' && *text != '\n') {
            return *text != '\0' && strchr("=+-@", *text) != NULL;
        }
        text += blank == 0 ? 1 : blank;
    }
}

/* Blanks at the ends are quoted too: RFC 4180 has them as part of the cell, yet many
 * readers take bare ones off. */
static bool needs_quotes(const char *text)
{
    char last = 'x';
    if (*text == ' ' || *text == '\t') {
        return true;
    }
    for (; *text != '\0'; text++) {
        last = *text;
        if (last == ',' || last == '"' || last == '\r' || last == '\n') {
            return true;
        }
    }
    return last == ' ' || last == '\t';
}

/* Cells are short: the stream is locked once a cell and its bytes go one by one. */
static void put_cell(ts_csv_out *out, const char *before, const char *text)
{
    FILE *to = out->to;
    const bool quoted = needs_quotes(text);
    flockfile(to);
    if (out->started) {
        putc_unlocked(',', to);
    }
    out->started = true;
    if (quoted) {
        putc_unlocked('"', to);
    }
    for (; *before != '\0'; before++) {
        putc_unlocked(*before, to);
    }
    for (; *text != '\0'; text++) {
        if (quoted && *text == '"') {
            putc_unlocked('"', to);
        }
        putc_unlocked(*text, to);
    }
    if (quoted) {
        putc_unlocked('"', to);
    }
    funlockfile(to);
}

void ts_csv_text(ts_csv_out *out, const char *text)
{
    text = text == NULL ? "" : text;
    put_cell(out, ts_formula_like(text) ? "'" : "", text);
}

void ts_csv_plain(ts_csv_out *out, const char *text)
{
    put_cell(out, "", text == NULL ? "" : text);
}

size_t ts_csv_text_into(char *buffer, size_t room, const char *text)
{
    const size_t length = strlen(text);
    const bool quoted = needs_quotes(text);
    size_t used = 0;
    if (room < 2 * length + 3) {
        return 0;
    }
    if (quoted) {
        buffer[used++] = '"';
    }
    if (ts_formula_like(text)) {
        buffer[used++] = '\'';
    }
    for (size_t i = 0; i < length; i++) {
        if (quoted && text[i] == '"') {
            buffer[used++] = '"';
        }
        buffer[used++] = text[i];
    }
    if (quoted) {
        buffer[used++] = '"';
    }
    return used;
}

void ts_csv_end(ts_csv_out *out)
{
    fputc('\n', out->to);
    out->started = false;
}
