/* CSV as RFC 4180 has it: UTF-8, LF, quoted only where needed, text never a formula. */
#ifndef TS_BASE_CSVOUT_H
#define TS_BASE_CSVOUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

typedef struct ts_csv_out {
    FILE *to;
    bool started; /* a cell of this record has been written */
} ts_csv_out;

/* A cell of text from outside: one apostrophe more where it begins (after blanks or
 * apostrophes) with = + - @. */
void ts_csv_text(ts_csv_out *out, const char *text);
/* A cell of our own making (numbers, dates, words): as it is. */
void ts_csv_plain(ts_csv_out *out, const char *text);
/* The cell of ts_csv_text into memory, without a separator; answers its bytes. Twice the
 * text's length and three bytes hold any; what would not fit is left out whole. */
size_t ts_csv_text_into(char *buffer, size_t room, const char *text);
void ts_csv_end(ts_csv_out *out);

#endif
