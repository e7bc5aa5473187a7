#include <tallystone/base/text.h>

#include "base/fold.h"
#include "base/utf8.h"

#include <stdio.h>
#include <string.h>

/* Words in sheets and books are typed by people: capitals, double spaces and the
 * no-break spaces that spreadsheet programs slip in do not make another word. The same
 * file guards the way out: whatever a file or a file name held, what is shown is one
 * line of plain characters. Only ASCII letters change case, so no locale has a say. */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

const char *ts_fold_start(const char *text)
{
    if (*text > ' ' && *text < 0x7F) {
        return text;
    }
    for (size_t blank = ts_utf8_blank(text); blank > 0; blank = ts_utf8_blank(text)) {
        text += blank;
    }
    return text;
}

char ts_fold_next(const char **at)
{
    const char *rest = ts_fold_start(*at);
    if (rest == *at) {
        const char c = lower(**at);
        *at += c == '\0' ? 0 : 1;
        return c;
    }
    *at = rest;
    return *rest == '\0' ? '\0' : ' ';
}

static bool is_plain(char c)
{
    return c > ' ' && c < 0x7F;
}

/* Nearly all words are plain letters with single spaces between them: those are compared
 * byte by byte, and only what is left goes the slow way. */
bool ts_text_same(const char *one, const char *other)
{
    if (one == other) {
        return true;
    }
    one = ts_fold_start(one == NULL ? "" : one);
    other = ts_fold_start(other == NULL ? "" : other);
    for (;; one++, other++) {
        if (is_plain(*one) && is_plain(*other)) {
            if (lower(*one) != lower(*other)) {
                return false;
            }
        } else if (*one != ' ' || *other != ' ' || !is_plain(one[1]) || !is_plain(other[1])) {
            break;
        }
    }
    for (;;) {
        const char left = ts_fold_next(&one);
        if (left != ts_fold_next(&other)) {
            return false;
        }
        if (left == '\0') {
            return true;
        }
    }
}

char *ts_text_fold(ts_arena *arena, const char *text)
{
    text = ts_fold_start(text == NULL ? "" : text);
    char *copy = ts_arena_copy(arena, text, strlen(text)); /* folded it is no longer */
    size_t length = 0;
    for (char c = ts_fold_next(&text); c != '\0'; c = ts_fold_next(&text)) {
        copy[length++] = c;
    }
    copy[length] = '\0';
    return copy;
}

char *ts_text_trim(ts_arena *arena, const char *text)
{
    text = ts_fold_start(text == NULL ? "" : text);
    size_t length = strlen(text);
    for (size_t blank = 1; blank > 0; length -= blank) {
        blank = ts_utf8_blank_before(text, length);
    }
    return ts_arena_copy(arena, text, length);
}

bool ts_text_empty(const char *text)
{
    return text == NULL || *ts_fold_start(text) == '\0';
}

const char *ts_text_after_word(const char *text, const char *prefix)
{
    if (text == NULL || prefix == NULL) {
        return NULL;
    }
    text = ts_fold_start(text);
    prefix = ts_fold_start(prefix);
    for (char c = ts_fold_next(&prefix); c != '\0'; c = ts_fold_next(&prefix)) {
        if (ts_fold_next(&text) != c) {
            return NULL;
        }
    }
    const char *rest = ts_fold_start(text);
    return rest == text || *rest == '\0' ? NULL : rest;
}

size_t ts_text_first_bad(const char *text, size_t length)
{
    size_t at = 0;
    while (at < length) {
        const unsigned char byte = (unsigned char)text[at];
        if (byte >= 0x20 && byte < 0x7F) {
            at++;
            continue;
        }
        uint32_t code;
        const size_t bytes = ts_utf8_next(&code, text + at, length - at);
        if (ts_utf8_refused(code)) {
            return at;
        }
        at += bytes;
    }
    return length;
}

/* What is not seen as it is: refused and invisible characters and every kind of line break. */
static bool needs_escape(uint32_t code)
{
    return ts_utf8_unseen(code) || code == '\t' || code == '\n' || code == '\r' || code == 0x2028 ||
           code == 0x2029;
}

/* Printable letters of ASCII alone, as most texts are. */
static bool is_all_plain(const char *text)
{
    while (*text >= ' ' && *text <= '~') {
        text++;
    }
    return *text == '\0';
}

char *ts_text_show(ts_arena *arena, const char *text, size_t most)
{
    static const char cut[] = "\xE2\x80\xA6";
    text = text == NULL ? "" : text;
    const size_t length = strlen(text);
    const size_t longest = length < most ? length : most;
    if (length <= most && is_all_plain(text)) {
        return ts_arena_copy(arena, text, length);
    }
    char *shown = ts_arena_alloc(arena, longest * 4 + sizeof cut, 1);
    size_t used = 0;
    size_t characters = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code;
        const size_t bytes = ts_utf8_next(&code, text + at, length - at);
        const bool escape = needs_escape(code);
        characters += escape ? bytes * 4 : 1;
        if (characters > most) {
            memcpy(shown + used, cut, sizeof cut);
            return shown;
        }
        for (size_t i = 0; i < bytes; i++, at++) {
            if (escape) {
                snprintf(shown + used, 5, "\\x%02X", (unsigned)(unsigned char)text[at]);
                used += 4;
            } else {
                shown[used++] = text[at];
            }
        }
    }
    return shown;
}

const char *ts_text_word(ts_arena *arena, const char *text)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
                                "-_./:@%+,";
    const char *shown = ts_text_show(arena, text, SIZE_MAX);
    const size_t length = strlen(shown);
    if (length > 0 && shown[strspn(shown, plain)] == '\0') {
        return shown;
    }
    char *word = ts_arena_alloc(arena, length * 4 + 3, 1);
    size_t used = 0;
    word[used++] = '\'';
    for (const char *at = shown; *at != '\0'; at++) {
        if (*at == '\'') {
            memcpy(word + used, "'\\''", 4);
            used += 4;
        } else {
            word[used++] = *at;
        }
    }
    word[used++] = '\'';
    word[used] = '\0';
    return word;
}

const char *ts_text_joined(ts_arena *arena, const char *list, const char *gap, const char *more)
{
    return ts_arena_format(arena, "%s%s%s", list, list[0] == '\0' ? "" : gap, more);
}

int ts_text_width(const char *text)
{
    int width = 0;
    size_t left = text == NULL ? 0 : strlen(text);
    while (left > 0) {
        uint32_t code;
        const size_t bytes = ts_utf8_next(&code, text, left);
        width += ts_utf8_width(code);
        text += bytes;
        left -= bytes;
    }
    return width;
}

int ts_text_characters(const char *text, size_t bytes)
{
    int characters = 0;
    for (size_t i = 0; i < bytes; i++) {
        characters += ((unsigned char)text[i] & 0xC0) != 0x80;
    }
    return characters;
}

char *ts_text_file_name(ts_arena *arena, const char *reference)
{
    enum { MOST = 64 };
    char name[MOST + 1];
    size_t used = 0;
    const char *at = reference == NULL ? "" : reference;
    for (size_t left = strlen(at); left > 0 && used < MOST;) {
        uint32_t code;
        const size_t bytes = ts_utf8_next(&code, at, left);
        const bool kept = (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z') ||
                          (*at >= '0' && *at <= '9') || (*at == '-' && used > 0);
        name[used++] = kept ? *at : '_';
        at += bytes;
        left -= bytes;
    }
    if (used == 0) {
        name[used++] = '_';
    }
    return ts_arena_copy(arena, name, used);
}
