#include "sheet/amount.h"

#include <tallystone/base/text.h>

#include <stdio.h>
#include <string.h>

/* The units of an amount.
 *
 * One measure can be money, a percentage or days, and money can be for the whole, for
 * each or for a carat: `discount`, `price` and the policy's values are all of this kind.
 * Which of them a row may use is for the room to judge that knows the row. */

static const char *const words[] = {
    [TS_AMOUNT_NONE] = NULL,       [TS_AMOUNT_MONEY] = NULL,  [TS_AMOUNT_EACH] = "each",
    [TS_AMOUNT_PER_CT] = "per ct", [TS_AMOUNT_PERCENT] = "%", [TS_AMOUNT_DAYS] = "days",
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Three letters in capitals into `code` (4 bytes); the text behind them, or NULL. */
static const char *code_of(char *code, const char *text)
{
    for (int i = 0; i < 3; i++) {
        if (!is_letter(text[i])) {
            return NULL;
        }
        code[i] = (char)(text[i] >= 'a' ? text[i] - 'a' + 'A' : text[i]);
    }
    code[3] = '\0';
    return text[3] == '\0' || text[3] == ' ' ? text + 3 : NULL;
}

const char *ts_currency_code(ts_arena *arena, const char *text)
{
    char code[4];
    const char *folded = ts_text_fold(arena, text);
    const char *rest = code_of(code, folded);

    if (rest == NULL || *rest != '\0' || ts_currency_exponent(code) < 0) {
        return NULL;
    }
    return ts_arena_text(arena, code);
}

static ts_amount_of plain_unit(const char *unit)
{
    if (strcmp(unit, "percent") == 0) {
        return TS_AMOUNT_PERCENT;
    }
    if (strcmp(unit, "day") == 0) {
        return TS_AMOUNT_DAYS;
    }
    for (size_t i = 0; i < TS_COUNT_OF(words); i++) {
        if (words[i] != NULL && strcmp(words[i], unit) == 0) {
            return (ts_amount_of)i;
        }
    }
    return TS_AMOUNT_NONE;
}

ts_amount_fault ts_amount_unit_read(ts_amount *out, ts_arena *arena, const char *unit)
{
    char code[4];
    const char *folded = ts_text_fold(arena, unit);

    out->currency = NULL;
    out->of = plain_unit(folded);
    if (*folded == '\0' || out->of != TS_AMOUNT_NONE) {
        return TS_AMOUNT_OK;
    }
    const char *rest = code_of(code, folded);
    if (rest == NULL || strncmp(folded, "per ", 4) == 0) {
        return TS_AMOUNT_NO_UNIT;
    }
    if (*rest == '\0') {
        out->of = TS_AMOUNT_MONEY;
    } else {
        out->of = plain_unit(rest + 1);
        if (out->of != TS_AMOUNT_EACH && out->of != TS_AMOUNT_PER_CT) {
            return TS_AMOUNT_NO_UNIT;
        }
    }
    if (ts_currency_exponent(code) < 0) {
        return TS_AMOUNT_NO_CURRENCY;
    }
    out->currency = ts_arena_text(arena, code);
    return TS_AMOUNT_OK;
}

void ts_amount_unit_text(char *buffer, size_t size, const ts_amount *amount)
{
    const char *word = words[amount->of] != NULL ? words[amount->of] : "";
    const char *currency = amount->currency != NULL ? amount->currency : "";
    const char *between = *word != '\0' && *currency != '\0' ? " " : "";

    snprintf(buffer, size, "%s%s%s", currency, between, word);
}

const char *const *ts_amount_words(size_t *count)
{
    *count = TS_COUNT_OF(words);
    return words;
}
