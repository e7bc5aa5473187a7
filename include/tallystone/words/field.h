/* A field: one measure of a part, or one column of a book, described once.
 *
 * The kind carries the behaviour (how a cell is read, ranged and printed); the row says
 * where the value is kept. Reader, help, starter sheet and suggestions derive from it. */
#ifndef TS_WORDS_FIELD_H
#define TS_WORDS_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/decimal.h>
#include <tallystone/words/words.h>

typedef enum ts_kind {
    TS_KIND_NONE,
    TS_KIND_LENGTH,   /* ts_dec, mm */
    TS_KIND_FIT,      /* ts_dec, mm; 0 for the word `fit` */
    TS_KIND_ANGLE,    /* ts_dec, degrees */
    TS_KIND_GRAMS,    /* ts_dec, g */
    TS_KIND_CARATS,   /* ts_dec, ct */
    TS_KIND_VOLUME,   /* ts_dec, mm3 */
    TS_KIND_MINUTES,  /* ts_dec, min */
    TS_KIND_PERCENT,  /* ts_dec, % */
    TS_KIND_NUMBER,   /* ts_dec, in the unit that the heading names */
    TS_KIND_COUNT,    /* int32_t */
    TS_KIND_AMOUNT,   /* ts_amount: the unit says of what */
    TS_KIND_SIZE,     /* ts_ring_size */
    TS_KIND_WORD,     /* int32_t of the field's list */
    TS_KIND_NAME,     /* const char *, folded: an alloy, lot, part, region ... */
    TS_KIND_LINE,     /* const char *, one line as written */
    TS_KIND_TEXT,     /* const char *, may hold line breaks */
    TS_KIND_DATE,     /* ts_date */
    TS_KIND_CURRENCY, /* const char *, an ISO 4217 code in capitals */
    TS_KIND_COUNT_OF
} ts_kind;

typedef enum ts_unit {
    TS_UNIT_NONE,
#define UNIT(id, word, alias, kind, num, den) TS_UNIT_##id,
#include <tallystone/words/units.def>
#undef UNIT
    TS_UNIT_COUNT
} ts_unit;

/* What an amount is of. */
typedef enum ts_amount_of {
    TS_AMOUNT_NONE,   /* a plain number */
    TS_AMOUNT_MONEY,  /* `currency`, or NULL for the one at hand */
    TS_AMOUNT_EACH,   /* money for each */
    TS_AMOUNT_PER_CT, /* money for a carat */
    TS_AMOUNT_PERCENT,
    TS_AMOUNT_DAYS,
} ts_amount_of;

typedef struct ts_amount {
    ts_dec value;
    ts_amount_of of;
    const char *currency;
} ts_amount;

typedef struct ts_ring_size {
    ts_size_system system;
    ts_dec number; /* UK: letters counted from A = 0, halves .5, Z+1 = 26 */
} ts_ring_size;

typedef enum ts_need {
    TS_NEED_NO,     /* may be missing */
    TS_NEED_YES,    /* a fault where missing */
    TS_NEED_KEY,    /* a book column that must be filled and names the row */
    TS_NEED_KEY_NO, /* names the row, may be empty */
    TS_NEED_SOME,   /* needed in some cases: the room's own judgement says when */
} ts_need;

typedef struct ts_field {
    const char *word;
    ts_kind kind;
    ts_list list;
    ts_need need;
    const char *least; /* decimal text in the base unit, or "" */
    const char *most;
    const char *dflt; /* what is read where nothing is given, or "" */
    const char *says;
    size_t offset; /* of the member in the part's or row's struct */
} ts_field;

/* Word, kind and exact ratio of a unit. */
const char *ts_unit_word(ts_unit unit);
ts_kind ts_unit_kind(ts_unit unit);
void ts_unit_ratio(ts_unit unit, int64_t *num, int64_t *den);
/* "25.4 mm": the unit in its kind's base, exactly; what its kind says for the base itself. Into
 * `buffer`, which it answers. */
const char *ts_unit_value(char *buffer, size_t size, ts_unit unit);
/* A unit by word or alias, folded; TS_UNIT_NONE where unknown. */
ts_unit ts_unit_find(const char *word);
/* "mm or in": the units that a kind takes, into `buffer`. */
void ts_kind_units(ts_kind kind, char *buffer, size_t size);
/* Bytes of the member that keeps a value of the kind; 0 for none. */
size_t ts_kind_bytes(ts_kind kind);
/* "a length in mm", "a whole number", ...: for faults and help. */
const char *ts_kind_says(ts_kind kind);
/* The unit printed for a kind's values: "mm", "g", "ct", "deg", "mm3", "min", "%", "". */
const char *ts_kind_unit(ts_kind kind);

/* Does the value lie within the field's range, its ends included? */
bool ts_field_holds(const ts_field *field, ts_dec value);

/* ISO 4217: the number of decimals of a currency, -1 for an unknown code. Source: ISO
 * 4217 list one (datasets/currency-codes, February 2026). */
int ts_currency_exponent(const char *code);
/* The least amount of it that can be paid, in millionths; 0 for an unknown code. */
int64_t ts_currency_coin(const char *code);

#endif
