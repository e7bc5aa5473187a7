#include <tallystone/words/field.h>

#include <tallystone/base/date.h>
#include <tallystone/base/text.h>

#include <assert.h>
#include <stdio.h>
#include <string.h>

/* Units, kinds and currencies: what the reader of cells needs to know beside the words.
 *
 * A unit of weight serves grams and carats alike, so a field in carats takes a weight in
 * grams and the other way round. Ratios are kept as whole numbers: a conversion is one
 * exact product and one rounding. */

typedef struct unit_row {
    const char *word;
    const char *alias;
    ts_kind kind;
    int64_t num;
    int64_t den;
} unit_row;

/* clang-format off */
static const unit_row units[TS_UNIT_COUNT] = {
    [TS_UNIT_NONE] = {"", "", TS_KIND_NONE, 1, 1},
#define UNIT(id, word, alias, kind, num, den) \
    [TS_UNIT_##id] = {word, alias, TS_KIND_##kind, num, den},
#include <tallystone/words/units.def>
#undef UNIT
};
/* clang-format on */

typedef struct kind_row {
    const char *says;
    const char *unit;
    size_t bytes; /* of the member that keeps a value */
} kind_row;

static const kind_row kinds[TS_KIND_COUNT_OF] = {
    [TS_KIND_NONE] = {"", "", 0},
    [TS_KIND_LENGTH] = {"a length in mm or in", "mm", sizeof(ts_dec)},
    [TS_KIND_FIT] = {"a length in mm or in, or the word fit", "mm", sizeof(ts_dec)},
    [TS_KIND_ANGLE] = {"an angle in deg", "deg", sizeof(ts_dec)},
    [TS_KIND_GRAMS] = {"a weight in g, ct, dwt or oz t", "g", sizeof(ts_dec)},
    [TS_KIND_CARATS] = {"a weight in ct, g, dwt or oz t", "ct", sizeof(ts_dec)},
    [TS_KIND_VOLUME] = {"a volume in mm3", "mm3", sizeof(ts_dec)},
    [TS_KIND_MINUTES] = {"a time in min or h", "min", sizeof(ts_dec)},
    [TS_KIND_PERCENT] = {"a percentage", "%", sizeof(ts_dec)},
    [TS_KIND_NUMBER] = {"a number", "", sizeof(ts_dec)},
    [TS_KIND_COUNT] = {"a whole number", "", sizeof(int32_t)},
    [TS_KIND_AMOUNT] = {"an amount", "", sizeof(ts_amount)},
    [TS_KIND_SIZE] = {"a ring size", "", sizeof(ts_ring_size)},
    [TS_KIND_WORD] = {"a word of a list", "", sizeof(int32_t)},
    [TS_KIND_NAME] = {"a name", "", sizeof(const char *)},
    [TS_KIND_LINE] = {"one line of text", "", sizeof(const char *)},
    [TS_KIND_TEXT] = {"text", "", sizeof(const char *)},
    [TS_KIND_DATE] = {"a date as YYYY-MM-DD", "", sizeof(ts_date)},
    [TS_KIND_CURRENCY] = {"a currency code such as EUR", "", sizeof(const char *)},
};

/* Active codes by number of decimals. Funds codes that have a minor unit are in; metals,
 * bond units, testing and "no currency", which have none, are left out. Source: ISO 4217
 * list one as kept by datasets/currency-codes, February 2026 (exponents 0, 3 and 4); the
 * list of codes with two decimals from memory of it. */
typedef struct currency_row {
    int exponent;
    const char *codes; /* three letters and a space each */
} currency_row;

static const currency_row currencies[] = {
    {0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF "},
    {2, "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD "
        "CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP "
        "GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK "
        "LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO "
        "NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS "
        "SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST "
        "XAD XCD XCG YER ZAR ZMW ZWG "},
    {3, "BHD IQD JOD KWD LYD OMR TND "},
    {4, "CLF UYW "},
};

const char *ts_unit_word(ts_unit unit)
{
    assert((int)unit >= 0 && unit < TS_UNIT_COUNT);
    return units[unit].word;
}

ts_kind ts_unit_kind(ts_unit unit)
{
    assert((int)unit >= 0 && unit < TS_UNIT_COUNT);
    return units[unit].kind;
}

void ts_unit_ratio(ts_unit unit, int64_t *num, int64_t *den)
{
    assert((int)unit >= 0 && unit < TS_UNIT_COUNT);
    *num = units[unit].num;
    *den = units[unit].den;
}

const char *ts_unit_value(char *buffer, size_t size, ts_unit unit)
{
    int64_t num, den;
    char decimals[24] = "";
    size_t count = 0;
    ts_unit_ratio(unit, &num, &den);
    if (num == den) {
        snprintf(buffer, size, "%s", ts_kind_says(ts_unit_kind(unit)));
        return buffer;
    }
    /* Every ratio of the table ends as a decimal. */
    for (int64_t rest = num % den; rest != 0 && count + 1 < sizeof decimals; rest = rest % den) {
        rest *= 10;
        decimals[count++] = (char)('0' + rest / den);
    }
    snprintf(buffer, size, "%lld%s%s %s", (long long)(num / den), count > 0 ? "." : "", decimals,
             ts_kind_unit(ts_unit_kind(unit)));
    return buffer;
}

ts_unit ts_unit_find(const char *word)
{
    if (ts_text_empty(word)) {
        return TS_UNIT_NONE;
    }
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        const bool aliased = units[i].alias[0] != '\0' && ts_text_same(units[i].alias, word);
        if (aliased || ts_text_same(units[i].word, word)) {
            return (ts_unit)i;
        }
    }
    return TS_UNIT_NONE;
}

/* Appends what fits, whole or cut, and keeps the buffer terminated. */
static void append(char *buffer, size_t size, const char *text)
{
    const size_t used = strlen(buffer);
    const size_t room = size - 1 - used;
    const size_t length = strlen(text) < room ? strlen(text) : room;

    memcpy(buffer + used, text, length);
    buffer[used + length] = '\0';
}

/* The kind whose units a kind takes. */
static ts_kind unit_kind(ts_kind kind)
{
    if (kind == TS_KIND_CARATS) {
        return TS_KIND_GRAMS;
    }
    return kind == TS_KIND_FIT ? TS_KIND_LENGTH : kind;
}

void ts_kind_units(ts_kind kind, char *buffer, size_t size)
{
    int left = 0;

    if (size == 0) {
        return;
    }
    buffer[0] = '\0';
    if (kind == TS_KIND_AMOUNT) {
        append(buffer, size, "a currency code, each, per ct, % or days");
        return;
    }
    if (kind == TS_KIND_SIZE) {
        ts_list_sentence(TS_LIST_SIZE, buffer, size);
        return;
    }
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        left += units[i].kind == unit_kind(kind);
    }
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        if (units[i].kind != unit_kind(kind)) {
            continue;
        }
        if (buffer[0] != '\0') {
            append(buffer, size, left == 1 ? " or " : ", ");
        }
        append(buffer, size, units[i].word);
        left--;
    }
}

size_t ts_kind_bytes(ts_kind kind)
{
    assert((int)kind >= 0 && kind < TS_KIND_COUNT_OF);
    return kinds[kind].bytes;
}

const char *ts_kind_says(ts_kind kind)
{
    assert((int)kind >= 0 && kind < TS_KIND_COUNT_OF);
    return kinds[kind].says;
}

const char *ts_kind_unit(ts_kind kind)
{
    assert((int)kind >= 0 && kind < TS_KIND_COUNT_OF);
    return kinds[kind].unit;
}

int ts_currency_exponent(const char *code)
{
    if (code == NULL || strlen(code) != 3) {
        return -1;
    }
    for (size_t i = 0; i < TS_COUNT_OF(currencies); i++) {
        for (const char *at = currencies[i].codes; *at != '\0'; at += 4) {
            if (memcmp(at, code, 3) == 0) {
                return currencies[i].exponent;
            }
        }
    }
    return -1;
}

int64_t ts_currency_coin(const char *code)
{
    const int exponent = ts_currency_exponent(code);
    int64_t coin = exponent < 0 ? 0 : 1000000;

    for (int i = 0; i < exponent; i++) {
        coin /= 10;
    }
    return coin;
}

bool ts_field_holds(const ts_field *field, ts_dec value)
{
    ts_dec limit;
    const bool is_over =
        ts_dec_read(&limit, field->most, '.', NULL) == TS_NUMBER_OK && value.e6 > limit.e6;
    const bool is_under =
        ts_dec_read(&limit, field->least, '.', NULL) == TS_NUMBER_OK && value.e6 < limit.e6;

    return !is_over && !is_under;
}
