/* Text as users write it: folded for comparison, checked, and made safe to show. */
#ifndef TS_BASE_TEXT_H
#define TS_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>

#define TS_COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))

/* True where both read the same without regard to ASCII case, outer blanks and runs of
 * blanks (a no-break space is a blank). */
bool ts_text_same(const char *one, const char *other);
/* A copy in lower case (ASCII), without outer blanks, inner runs as one space. */
char *ts_text_fold(ts_arena *arena, const char *text);
/* A copy without outer blanks (spaces, tabs, no-break spaces). */
char *ts_text_trim(ts_arena *arena, const char *text);
/* True for NULL and for text of blanks alone. */
bool ts_text_empty(const char *text);
/* The rest of `text` after the word `prefix` and at least one blank, or NULL. */
const char *ts_text_after_word(const char *text, const char *prefix);

/* Byte offset of the first thing no reader may let in (bytes that are not UTF-8,
 * control characters save tab, LF and CR, bidirectional overrides and isolates,
 * noncharacters), or `length` where all is well. */
size_t ts_text_first_bad(const char *text, size_t length);
/* Text on one line and safe on a terminal: what ts_text_first_bad refuses, and tabs and
 * line breaks, become \xNN; backslashes stay. At most `most` characters, then "…". */
char *ts_text_show(ts_arena *arena, const char *text, size_t most);
/* The same, whole, as one word of a command that a person copies: what a shell would take apart
 * stands in single quotation marks. */
const char *ts_text_word(ts_arena *arena, const char *text);
/* A list in words with one more at its end, after `gap` where it is not the first. */
const char *ts_text_joined(ts_arena *arena, const char *list, const char *gap, const char *more);
/* Text in ASCII: signs with a plain form take it, all others become \xNN. */
char *ts_text_ascii(ts_arena *arena, const char *text);
/* Columns that well-formed UTF-8 takes on a terminal (wide characters two, combining none). */
int ts_text_width(const char *text);
/* Number of characters (code points) in the first `bytes` bytes. */
int ts_text_characters(const char *text, size_t bytes);

/* A reference as a file name: ASCII letters, digits and '-', others '_', at most 64,
 * never beginning with '-'. */
char *ts_text_file_name(ts_arena *arena, const char *reference);

#endif
