#include "papers/xlsxtext.h"
#include "papers/xlsx.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Why this file exists: what a workbook file does with text is full of small traps (codes in
 * cells, ampersands in headers, names that are cells). They are met here, without the
 * library, so that tests can. */

#define MOST_CELL_BYTES 32000u /* a cell holds 32,767 characters, no more than its bytes */
#define MOST_NAME 100u         /* the library keeps names in 128 bytes with the sheet's */
#define MOST_HEADER 90u        /* of text; the library keeps 255 bytes with its codes */
#define MOST_PROPERTY 250u

/* Texts of the properties end at 255 bytes, between characters. */
char *ts_xlsx_property_text(ts_arena *arena, const char *text)
{
    size_t length = text == NULL ? 0 : strlen(text);
    if (length > MOST_PROPERTY) {
        length = MOST_PROPERTY;
        while (length > 0 && ((unsigned char)text[length] & 0xc0u) == 0x80u) {
            length--;
        }
    }
    return ts_arena_copy(arena, text == NULL ? "" : text, length);
}

/* "_x0041_" in a file means the letter A: an underscore before four hexadecimal digits is
 * written as its own code, so that such text stays as it was typed (ECMA-376, ST_Xstring). */
static bool reads_as_code(const char *at)
{
    return strncmp(at, "_x", 2) == 0 && strspn(at + 2, "0123456789abcdefABCDEF") >= 4 &&
           at[6] == '_';
}

const char *ts_xlsx_cell_text(ts_arena *arena, const char *text)
{
    size_t length = strlen(text);
    if (length <= MOST_CELL_BYTES && strpbrk(text, "\r_") == NULL) {
        return text; /* nothing to be changed: nearly every text */
    }
    char *out = TS_ARRAY(arena, char, length * 7 + 4);
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        if (n > MOST_CELL_BYTES && ((unsigned char)text[i] & 0xc0u) != 0x80u) {
            memcpy(out + n, "\xe2\x80\xa6", 3);
            n += 3;
            break;
        }
        if (text[i] == '\r') {
            continue;
        }
        if (reads_as_code(text + i)) {
            memcpy(out + n, "_x005F", 6);
            n += 6;
        }
        out[n++] = text[i];
    }
    out[n] = '\0';
    return out;
}

/* Text of a header or footer: & doubled, one line, never half a character. */
const char *ts_xlsx_band_text(ts_arena *arena, const char *text)
{
    char *out = ts_arena_alloc(arena, MOST_HEADER * 2 + 8, 1);
    size_t n = 0;
    for (; *text != '\0'; text++) {
        bool begins = ((unsigned char)*text & 0xc0u) != 0x80u;
        if (n >= MOST_HEADER && begins) {
            break;
        }
        if (*text == '&') {
            out[n++] = '&';
        }
        out[n++] = (unsigned char)*text < ' ' ? ' ' : *text;
    }
    return out;
}

/* ---- names ---- */

static bool all_digits(const char *text)
{
    return text[0] != '\0' && text[strspn(text, "0123456789")] == '\0';
}

/* Up to three letters and digits alone: a cell. */
static bool like_cell(const char *name)
{
    size_t letters = strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
    return letters <= 3 && all_digits(name + letters);
}

/* R, C, R1, C1, RC, R1C1: a cell in the other notation. */
static bool like_row_column(const char *name)
{
    const char *at = name;
    if (*at == 'r' || *at == 'R') {
        at++;
        at += strspn(at, "0123456789");
    }
    if (*at == 'c' || *at == 'C') {
        at++;
        at += strspn(at, "0123456789");
    }
    return *at == '\0';
}

bool ts_xlsx_name_fits(const char *name)
{
    size_t length = strlen(name);
    size_t fine = strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_");
    return length > 0 && length <= MOST_NAME && fine == length && strspn(name, "0123456789") == 0 &&
           !like_cell(name) && !like_row_column(name) && !ts_text_same(name, "true") &&
           !ts_text_same(name, "false");
}

char *ts_xlsx_cell(char *buffer, int row, int column, bool fixed)
{
    char letters[8];
    int n = 0;
    for (int left = column + 1; left > 0 && n < 4; left = (left - 1) / 26) {
        letters[n++] = (char)('A' + (left - 1) % 26);
    }
    char *at = buffer;
    if (fixed) {
        *at++ = '$';
    }
    while (n > 0) {
        *at++ = letters[--n];
    }
    if (fixed) {
        *at++ = '$';
    }
    *ts_dec_put(at, (ts_dec){((int64_t)row + 1) * 1000000}) = '\0';
    return buffer;
}

/* ---- number formats ---- */

const char *ts_xlsx_money_format(int exponent)
{
    static const char *const formats[] = {"#,##0", "#,##0.0", "#,##0.00", "#,##0.000",
                                          "#,##0.0000"};
    return formats[exponent < 0 || exponent > 4 ? 2 : exponent];
}

const char *ts_xlsx_change_format(int exponent)
{
    static const char *const formats[] = {"+#,##0;-#,##0;0", "+#,##0.0;-#,##0.0;0.0",
                                          "+#,##0.00;-#,##0.00;0.00", "+#,##0.000;-#,##0.000;0.000",
                                          "+#,##0.0000;-#,##0.0000;0.0000"};
    return formats[exponent < 0 || exponent > 4 ? 2 : exponent];
}
