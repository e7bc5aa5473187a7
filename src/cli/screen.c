/* The C library declares fopencookie under this name: unlike a stream into memory, one of ours
 * says when memory runs out. */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier) */
#include "cli/screen.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* Why this file exists: sentences are written once, without knowing how wide they are read.
 * A terminal that breaks them itself does so inside words and loses the indent. */

enum { FAR_INDENT = 44 };

/* Bytes of a colour's escape sequence at `at`, else 0. */
static size_t escape_at(const char *at)
{
    if (at[0] != '\033' || at[1] != '[') {
        return 0;
    }
    size_t length = 2 + strspn(at + 2, "0123456789;");
    return at[length] == '\0' ? length : length + 1;
}

/* Bytes of the next character, at least 1. */
static size_t character_at(const char *at)
{
    size_t length = 1;
    while (((unsigned char)at[length] & 0xc0u) == 0x80u) {
        length++;
    }
    return length;
}

static int width_of(ts_arena *arena, const char *at, size_t bytes)
{
    int width = 0;
    for (size_t i = 0; i < bytes;) {
        size_t escape = escape_at(at + i);
        size_t step = escape > 0 ? escape : character_at(at + i);
        width += escape > 0 ? 0 : ts_text_width(ts_arena_copy(arena, at + i, step));
        i += step;
    }
    return width;
}

/* Where the text of the last column begins: behind the last gap of two blanks and more in the
 * line's first half; without one two columns in. */
static int indent_of(ts_arena *arena, const char *line)
{
    size_t lead = strspn(line, " ");
    int indent = (int)lead + 2;
    for (const char *at = line + lead; *at != '\0';) {
        size_t word = strcspn(at, " ");
        size_t gap = strspn(at + word, " ");
        at += word + gap;
        int here = width_of(arena, line, (size_t)(at - line));
        if (here > FAR_INDENT) {
            break;
        }
        indent = gap > 1 && *at != '\0' ? here : indent;
    }
    return indent;
}

/* Bytes that fit into `room`, to the last blank outside backticks; else to the last blank; else
 * the whole first word, however wide. */
static size_t piece_of(ts_arena *arena, const char *text, int room)
{
    size_t outside = 0, any = 0;
    bool quoted = false;
    size_t lead = strspn(text, " ");
    int width = (int)lead;
    for (size_t i = lead; text[i] != '\0';) {
        size_t escape = escape_at(text + i);
        size_t step = escape > 0 ? escape : character_at(text + i);
        quoted = quoted != (text[i] == '`');
        if (text[i] == ' ' && (width <= room || any == 0)) {
            any = i;
            outside = quoted ? outside : i;
        }
        width += escape > 0 ? 0 : ts_text_width(ts_arena_copy(arena, text + i, step));
        i += step;
        if (width > room && any > 0) {
            return outside > 0 ? outside : any;
        }
    }
    return width > room && any > 0 ? any : strlen(text);
}

/* Colours are no text: they stay. */
static const char *in_ascii(ts_arena *arena, const char *line)
{
    const char *out = "";
    while (*line != '\0') {
        size_t escape = escape_at(line), text = 0;
        while (escape == 0 && line[text] != '\0' && escape_at(line + text) == 0) {
            text++;
        }
        const char *part = ts_arena_copy(arena, line, escape + text);
        out = ts_arena_format(arena, "%s%s", out, escape > 0 ? part : ts_text_ascii(arena, part));
        line += escape + text;
    }
    return out;
}

const char *ts_screen_line(ts_arena *arena, const char *line, int width, bool ascii)
{
    const char *out = "";
    line = ascii ? in_ascii(arena, line) : line;
    if (width <= 0 || width_of(arena, line, strlen(line)) <= width) {
        return line;
    }
    int indent = indent_of(arena, line), room = width;
    while (*line != '\0') {
        bool fits = width_of(arena, line, strlen(line)) <= room;
        size_t bytes = fits ? strlen(line) : piece_of(arena, line, room);
        out = ts_arena_format(arena, "%s%s%*s%.*s", out, out[0] == '\0' ? "" : "\n",
                              out[0] == '\0' ? 0 : indent, "", (int)bytes, line);
        line += bytes;
        line += strspn(line, " ");
        room = width - indent;
    }
    return out;
}

static ssize_t collect(void *cookie, const char *bytes, size_t length)
{
    ts_screening *s = cookie;
    if (s->room - s->length <= length) {
        s->room = 2 * s->room + length + 1;
        char *larger = ts_arena_alloc(s->arena, s->room, 1);
        if (s->length > 0) {
            memcpy(larger, s->bytes, s->length);
        }
        s->bytes = larger;
    }
    memcpy(s->bytes + s->length, bytes, length);
    s->length += length;
    return (ssize_t)length;
}

void ts_screening_begin(ts_screening *s, FILE *to, ts_no_memory_fn *no_memory, void *ctx)
{
    *s = (ts_screening){.to = to, .from = to, .arena = ts_arena_new(no_memory, ctx)};
}

void ts_screening_fit(ts_screening *s, int width, bool ascii)
{
    s->width = width;
    s->ascii = ascii;
    if (width > 0 || ascii) {
        s->from = fopencookie(s, "w", (cookie_io_functions_t){.write = collect});
        if (s->from == NULL) {
            ts_arena_exhausted(s->arena);
        }
    }
}

static void show(ts_screening *s)
{
    for (size_t at = 0; at < s->length;) {
        ts_arena_mark mark = ts_arena_mark_of(s->arena);
        const char *line = s->bytes + at;
        const char *feed = memchr(line, '\n', s->length - at);
        size_t length = feed == NULL ? s->length - at : (size_t)(feed - line);
        const char *text = ts_arena_copy(s->arena, line, length);
        fputs(ts_screen_line(s->arena, text, s->width, s->ascii), s->to);
        fputs(feed != NULL ? "\n" : "", s->to);
        at += length + (feed != NULL);
        ts_arena_rewind(s->arena, mark);
    }
}

void ts_screening_end(ts_screening *s)
{
    if (s->from != s->to) {
        fclose(s->from);
        s->from = s->to;
        show(s);
    }
    ts_arena_free(s->arena);
    *s = (ts_screening){.to = s->to, .from = s->to};
}
