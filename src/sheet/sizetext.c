#include "sheet/sizetext.h"

#include <tallystone/sheet/value.h>

#include <stdio.h>
#include <string.h>

/* Ring sizes as the trade writes them.
 *
 * British sizes are letters with halves, and go on after Z as Z+1, Z+2; American ones are
 * numbers with halves and quarters, written as decimals or as fractions, on a keyboard or
 * with the signs that spreadsheet programs put in by themselves. All other systems are
 * plain numbers. What a size measures is geometry's matter. */

#define ONE ((int64_t)1000000)
#define LAST_LETTER 25 /* Z, counted from A = 0 */

typedef struct fraction {
    const char *text;
    int64_t e6;
} fraction;

static const fraction fractions[] = {
    {"1/2", ONE / 2},      {"\xc2\xbd", ONE / 2}, {"1/4", ONE / 4},
    {"\xc2\xbc", ONE / 4}, {"3/4", ONE / 4 * 3},  {"\xc2\xbe", ONE / 4 * 3},
};

static const char *past_blanks(const char *text)
{
    for (;;) {
        if (*text == ' ' || *text == '\t') {
            text++;
        } else if (strncmp(text, "\xc2\xa0", 2) == 0) { /* no-break space */
            text += 2;
        } else {
            return text;
        }
    }
}

/* A fraction that ends the text, in millionths; 0 where the text ends at once, -1 where
 * something else stands there. */
static int64_t fraction_of(const char *text)
{
    text = past_blanks(text);
    if (*text == '\0') {
        return 0;
    }
    for (size_t i = 0; i < sizeof fractions / sizeof fractions[0]; i++) {
        const size_t length = strlen(fractions[i].text);

        if (strncmp(text, fractions[i].text, length) == 0) {
            return *past_blanks(text + length) == '\0' ? fractions[i].e6 : -1;
        }
    }
    return -1;
}

/* Up to three digits; false where there are none or more. */
static bool digits_of(const char **text, int64_t *whole)
{
    int count = 0;

    *whole = 0;
    for (; **text >= '0' && **text <= '9'; (*text)++) {
        if (++count > 3) {
            return false;
        }
        *whole = *whole * 10 + (**text - '0');
    }
    return count > 0;
}

static bool letters_of(ts_dec *out, const char *text)
{
    int64_t letter = 0;
    int64_t more = 0;

    if (*text >= 'a' && *text <= 'z') {
        letter = *text - 'a';
    } else if (*text >= 'A' && *text <= 'Z') {
        letter = *text - 'A';
    } else {
        return false;
    }
    text = past_blanks(text + 1);
    if (letter == LAST_LETTER && *text == '+') {
        text = past_blanks(text + 1);
        if (!digits_of(&text, &more) || more == 0) {
            return false;
        }
    }
    const int64_t half = fraction_of(text);
    if (half != 0 && half != ONE / 2) {
        return false;
    }
    out->e6 = (letter + more) * ONE + half;
    return true;
}

/* "6 1/2", "6½", "1/2": a whole number and a fraction, or either alone. */
static bool mixed_of(ts_dec *out, const char *text)
{
    int64_t whole = 0;
    int64_t part = fraction_of(text);

    if (part <= 0) {
        if (!digits_of(&text, &whole)) {
            return false;
        }
        part = fraction_of(text);
    }
    if (part < 0) {
        return false;
    }
    out->e6 = whole * ONE + part;
    return true;
}

bool ts_ring_size_read(ts_ring_size *out, const char *value, ts_size_system system, char point)
{
    ts_dec number = {0};
    bool read = false;

    if (value == NULL || system == TS_SIZE_NONE) {
        return false;
    }
    value = past_blanks(value);
    if (system == TS_SIZE_UK) {
        read = letters_of(&number, value);
    } else {
        read = ts_dec_read(&number, value, point, NULL) == TS_NUMBER_OK;
        if (!read && system == TS_SIZE_US) {
            read = mixed_of(&number, value);
        }
    }
    if (read) {
        out->system = system;
        out->number = number;
    }
    return read;
}

char *ts_ring_size_text(char *buffer, ts_ring_size size)
{
    char number[TS_DECIMAL_TEXT];

    buffer[0] = '\0';
    if (size.system == TS_SIZE_NONE) {
        return buffer;
    }
    if (size.system != TS_SIZE_UK || size.number.e6 < 0) {
        snprintf(buffer, TS_SIZE_TEXT, "%s", ts_dec_text(number, size.number));
        return buffer;
    }
    const int64_t letters = size.number.e6 / ONE;
    const char *half = size.number.e6 % ONE == ONE / 2 ? " 1/2" : "";
    if (letters <= LAST_LETTER) {
        snprintf(buffer, TS_SIZE_TEXT, "%c%s", (char)('A' + letters), half);
    } else {
        snprintf(buffer, TS_SIZE_TEXT, "Z+%lld%s", (long long)(letters - LAST_LETTER), half);
    }
    return buffer;
}

const char *ts_size_example(ts_size_system system)
{
    switch (system) {
    case TS_SIZE_UK:
        return "a letter such as L, L 1/2 or Z+1";
    case TS_SIZE_US:
        return "a number such as 6, 6.5 or 6 1/4";
    case TS_SIZE_EU:
    case TS_SIZE_CIRCUMFERENCE:
        return "a number such as 52";
    case TS_SIZE_CH:
    case TS_SIZE_JP:
        return "a number such as 12";
    case TS_SIZE_DIAMETER:
        return "a number such as 16.5";
    case TS_SIZE_NONE:
    case TS_SIZE_COUNT:
        break;
    }
    return "a size";
}
