/* What the unit of an amount says: of what it is, and in which currency. */
#ifndef TS_SHEET_AMOUNT_H
#define TS_SHEET_AMOUNT_H

#include <stdbool.h>

#include <tallystone/base/arena.h>
#include <tallystone/words/field.h>

typedef enum ts_amount_fault {
    TS_AMOUNT_OK,
    TS_AMOUNT_NO_UNIT,     /* no unit of an amount */
    TS_AMOUNT_NO_CURRENCY, /* three letters that are no ISO 4217 code */
} ts_amount_fault;

/* Sets `of` and `currency` (in capitals, in the arena) from "", "%", "each", "per ct",
 * "days", "EUR", "EUR each" or "EUR per ct". */
ts_amount_fault ts_amount_unit_read(ts_amount *out, ts_arena *arena, const char *unit);
/* The unit as it would be typed, into `buffer`. */
void ts_amount_unit_text(char *buffer, size_t size, const ts_amount *amount);
/* The words such a unit may be, for suggestions; [0] is NULL. */
const char *const *ts_amount_words(size_t *count);
/* An ISO 4217 code that can be priced in, in capitals, in the arena; NULL for no code. */
const char *ts_currency_code(ts_arena *arena, const char *text);

#endif
