#include "base/window.h"

#include <tallystone/base/text.h>

#include "base/utf8.h"

#include <string.h>

/* A person mends a fault in a spreadsheet, an editor or a terminal; the window serves
 * all three: it names the cell as a spreadsheet does, shows the line as an editor does,
 * and marks the cell. The line is somebody's text, so each character is made safe and
 * measured before it is shown; the mark counts columns of what is shown, not bytes of
 * what was read. */

enum { MOST_COLUMNS = 100, LEAST_COLUMNS = 24, BEFORE_CELL = 40, MOST_HEADING = 40 };

/* One character of the line as it will be shown. */
typedef struct piece {
    const char *from; /* in the line */
    size_t bytes;
    char text[20]; /* up to four \xNN */
    int width;
} piece;

static const struct {
    const char *sign;
    const char *plain;
} plain_forms[] = {
    {"\xE2\x80\xA6", "..."}, {"\xE2\x80\x93", "-"},  {"\xE2\x80\x94", "-"},  {"\xE2\x80\x98", "'"},
    {"\xE2\x80\x99", "'"},   {"\xE2\x80\x9C", "\""}, {"\xE2\x80\x9D", "\""}, {"\xE2\x88\x92", "-"},
    {"\xE2\x89\xA4", "<="},  {"\xE2\x89\xA5", ">="}, {"\xE2\x86\x92", "->"}, {"\xC3\x97", "x"},
    {"\xC2\xB0", " deg"},    {"\xC2\xB1", "+-"},     {"\xC2\xB7", "."},      {"\xC2\xB2", "2"},
    {"\xC2\xB3", "3"},       {"\xC2\xA0", " "},
};

static const char *plain_form(const char *from, size_t bytes)
{
    for (size_t i = 0; i < TS_COUNT_OF(plain_forms); i++) {
        if (strlen(plain_forms[i].sign) == bytes && memcmp(plain_forms[i].sign, from, bytes) == 0) {
            return plain_forms[i].plain;
        }
    }
    return NULL;
}

static void escape(piece *out)
{
    for (size_t i = 0; i < out->bytes; i++) {
        snprintf(out->text + 4 * i, 5, "\\x%02X", (unsigned)(unsigned char)out->from[i]);
    }
}

static piece piece_of(const char *from, size_t length, bool unicode)
{
    uint32_t code;
    piece out = {.from = from};
    out.bytes = ts_utf8_next(&code, from, length);
    const bool line_break = code == '\n' || code == '\r' || code == 0x2028 || code == 0x2029;
    const char *plain = code < 0x80 || unicode ? NULL : plain_form(from, out.bytes);
    if (code == '\t') {
        out.text[0] = ' '; /* a tab parts cells; one column keeps the mark in step */
    } else if (plain != NULL) {
        memcpy(out.text, plain, strlen(plain) + 1);
    } else if (ts_utf8_unseen(code) || line_break || (code >= 0x80 && !unicode)) {
        escape(&out);
    } else {
        memcpy(out.text, from, out.bytes);
    }
    out.width = ts_text_width(out.text);
    return out;
}

char *ts_text_ascii(ts_arena *arena, const char *text)
{
    const size_t length = strlen(text);
    char *shown = ts_arena_alloc(arena, length * 4 + 1, 1);
    size_t used = 0;
    for (size_t at = 0; at < length;) {
        const piece next = piece_of(text + at, length - at, false);
        const size_t bytes = strlen(next.text);
        memcpy(shown + used, next.text, bytes);
        used += bytes;
        at += next.bytes;
    }
    return shown;
}

/* Where the shown part of a line begins: at its start, or some columns before the cell
 * where cell and line would not fit. `column` counts characters from 1. */
static const char *first_shown(const char *line, int column, bool unicode, int most)
{
    const char *end = line + strlen(line);
    int width = 0;
    int before = 0; /* columns before the cell */
    int character = 1;
    for (const char *at = line; at < end && width <= most; character++) {
        const piece next = piece_of(at, (size_t)(end - at), unicode);
        width += next.width;
        at += next.bytes;
    }
    if (width <= most) {
        return line;
    }
    const char *at = line;
    for (character = 1; at < end && character < column; character++) {
        const piece next = piece_of(at, (size_t)(end - at), unicode);
        before += next.width;
        at += next.bytes;
    }
    at = line;
    const int keep = BEFORE_CELL < most / 2 ? BEFORE_CELL : most / 2;
    while (at < end && before > keep) {
        const piece next = piece_of(at, (size_t)(end - at), unicode);
        before -= next.width;
        at += next.bytes;
    }
    return at;
}

typedef struct mark {
    int before; /* columns to the left of the mark, from the bar on */
    int width;
} mark;

/* Prints the line from `at` on and says where the mark belongs. `character` is the
 * number of the first character printed. */
static mark print_line(const char *at, int character, const ts_place *place, FILE *to,
                       const ts_window *window)
{
    const bool unicode = window->unicode;
    const char *cut = unicode ? "\xE2\x80\xA6" : "...";
    const char *end = at + strlen(at);
    int whole = 0; /* what is left would take */
    for (const char *p = at; p < end && whole <= window->columns;) {
        const piece next = piece_of(p, (size_t)(end - p), unicode);
        whole += next.width;
        p += next.bytes;
    }
    const int last = place->column + (place->width > 1 ? place->width - 1 : 0);
    int used = 0;
    mark under = {0, 0};
    if (character > 1) {
        fputs(cut, to);
        used = ts_text_width(cut);
    }
    under.before = used;
    for (; at < end; character++) {
        const piece next = piece_of(at, (size_t)(end - at), unicode);
        const int kept = used + whole > window->columns ? ts_text_width(cut) : 0;
        if (used + next.width > window->columns - kept) {
            fputs(cut, to);
            break;
        }
        fputs(next.text, to);
        used += next.width;
        whole -= next.width;
        at += next.bytes;
        under.before += character < place->column ? next.width : 0;
        under.width += character >= place->column && character <= last ? next.width : 0;
    }
    under.width = under.width < 1 ? 1 : under.width;
    return under;
}

static void print_mark(mark under, int indent, FILE *to, bool colour)
{
    fprintf(to, "%*s", indent + under.before, "");
    fputs(colour ? "\x1b[31m" : "", to);
    for (int i = 0; i < under.width; i++) {
        fputc('^', to);
    }
    fputs(colour ? "\x1b[0m\n" : "\n", to);
}

/* "D7 (unit)", "row 7", or nothing. */
static const char *label_of(ts_arena *arena, const ts_place *at, bool unicode)
{
    if (at->row <= 0) {
        return "";
    }
    if (at->cell <= 0) {
        return ts_arena_format(arena, "row %d", at->row);
    }
    char name[16];
    ts_cell_name(name, at->row, at->cell);
    if (ts_text_empty(at->heading)) {
        return ts_arena_text(arena, name);
    }
    const char *heading = ts_text_show(arena, at->heading, MOST_HEADING);
    return ts_arena_format(arena, "%s (%s)", name,
                           unicode ? heading : ts_text_ascii(arena, heading));
}

void ts_window_print(ts_arena *arena, const ts_place *at, FILE *to, const ts_window *asked)
{
    ts_window window = *asked;
    const bool unicode = window.unicode;
    const char *label = label_of(arena, at, unicode);
    if (at->line_text == NULL) {
        if (*label != '\0') {
            fprintf(to, "  %s\n", label);
        }
        return;
    }
    const int indent = ts_text_width(label) + (*label == '\0' ? 4 : 5);
    const int columns = window.columns <= 0 ? MOST_COLUMNS : window.columns - indent;
    window.columns = columns < LEAST_COLUMNS ? LEAST_COLUMNS : columns;
    const char *start = first_shown(at->line_text, at->column, unicode, window.columns);
    const int skipped = ts_text_characters(at->line_text, (size_t)(start - at->line_text));
    fprintf(to, *label == '\0' ? "  %s| " : "  %s | ", label);
    const mark under = print_line(start, skipped + 1, at, to, &window);
    fputc('\n', to);
    if (at->column > 0 && (at->cell > 0 || at->row <= 0)) {
        print_mark(under, indent, to, window.colour);
    }
}
