#include <tallystone/base/decimal.h>

#include <assert.h>
#include <string.h>

/* Numbers as text, both ways.
 *
 * The C library reads and prints numbers by its locale and through doubles; here neither
 * has a say. Reading names the byte it stumbles over. Writing is what a stream of a million
 * variants spends its time on, so digits are put down from the right, two at a time,
 * without a format string. */

#define MOST_WHOLE 12 /* digits before the point */
#define MOST_PLACES 6 /* digits behind it */
#define MOST_EXPONENT 4

static const uint64_t powers[] = {1, 10, 100, 1000, 10000, 100000, 1000000};

/* What has been seen of a number; places are byte offsets in the text. */
typedef struct number {
    const char *text;
    size_t at;
    size_t digits;   /* of both sides */
    size_t too_wide; /* the thirteenth digit before the point, or 0 */
    size_t too_fine; /* the first digit behind the sixth decimal that says something, or 0 */
    uint64_t e6;
} number;

static size_t blank_length(const char *text)
{
    if (*text == ' ' || *text == '\t') {
        return 1;
    }
    return strncmp(text, "\xc2\xa0", 2) == 0 ? 2 : 0; /* no-break space */
}

static size_t after_blanks(const char *text, size_t at)
{
    for (size_t length; (length = blank_length(text + at)) != 0;) {
        at += length;
    }
    return at;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool take_sign(number *n)
{
    const char *sign = n->text + n->at;
    if (*sign == '+' || *sign == '-') {
        n->at++;
        return *sign == '-';
    }
    if (strncmp(sign, "\xe2\x88\x92", 3) == 0) { /* U+2212, the minus sign of typography */
        n->at += 3;
        return true;
    }
    return false;
}

static void take_whole(number *n)
{
    size_t count = 0;
    for (; is_digit(n->text[n->at]); n->at++) {
        if (++count > MOST_WHOLE) {
            n->too_wide = n->too_wide != 0 ? n->too_wide : n->at;
            continue;
        }
        n->e6 = n->e6 * 10 + (uint64_t)(n->text[n->at] - '0');
    }
    n->digits += count;
}

static void take_places(number *n)
{
    size_t count = 0;
    for (; is_digit(n->text[n->at]); n->at++) {
        uint64_t digit = (uint64_t)(n->text[n->at] - '0');
        if (++count <= MOST_PLACES) {
            n->e6 = n->e6 * 10 + digit;
        } else if (digit != 0 && n->too_fine == 0) {
            n->too_fine = n->at;
        }
    }
    n->digits += count;
    n->e6 *= powers[count < MOST_PLACES ? MOST_PLACES - count : 0];
}

/* True where the text goes on as ",234" and ends there: digits stood before it. */
static bool is_unclear(const number *n, char point)
{
    const char *rest = n->text + n->at;
    if (n->digits == 0 || *rest != (point == ',' ? '.' : ',')) {
        return false;
    }
    for (int i = 1; i <= 3; i++) {
        if (!is_digit(rest[i])) {
            return false;
        }
    }
    return rest[after_blanks(rest, 4)] == '\0';
}

static ts_number_fault fault_at(size_t *where, size_t at, ts_number_fault fault)
{
    if (where != NULL) {
        *where = at;
    }
    return fault;
}

ts_number_fault ts_dec_read(ts_dec *out, const char *text, char point, size_t *where)
{
    if (text == NULL) {
        return fault_at(where, 0, TS_NUMBER_EMPTY);
    }
    number n = {.text = text, .at = after_blanks(text, 0)};
    if (text[n.at] == '\0') {
        return fault_at(where, n.at, TS_NUMBER_EMPTY);
    }
    bool negative = take_sign(&n);
    take_whole(&n);
    if (is_unclear(&n, point)) {
        return fault_at(where, n.at, TS_NUMBER_AMBIGUOUS);
    }
    size_t mark = n.at;
    n.at += text[mark] == point && point != '\0';
    take_places(&n);
    if (n.digits == 0) {
        return fault_at(where, mark, TS_NUMBER_BAD);
    }
    n.at = after_blanks(text, n.at);
    if (text[n.at] != '\0') {
        return fault_at(where, n.at, TS_NUMBER_BAD);
    }
    if (n.too_wide != 0) {
        return fault_at(where, n.too_wide, TS_NUMBER_RANGE);
    }
    if (n.too_fine != 0) {
        return fault_at(where, n.too_fine, TS_NUMBER_DECIMALS);
    }
    out->e6 = negative ? -(int64_t)n.e6 : (int64_t)n.e6;
    return TS_NUMBER_OK;
}

/* "00" to "99": the digits of a number below a hundred. */
static const char pairs[] = "00010203040506070809101112131415161718192021222324"
                            "25262728293031323334353637383940414243444546474849"
                            "50515253545556575859606162636465666768697071727374"
                            "75767778798081828384858687888990919293949596979899";

/* Puts digits down leftwards from `end`: exactly `count` of them. */
static char *put_count(char *end, uint64_t size, int count)
{
    for (; count >= 2; count -= 2) {
        end -= 2;
        memcpy(end, pairs + 2 * (size % 100), 2);
        size /= 100;
    }
    if (count == 1) {
        *--end = (char)('0' + size % 10);
    }
    return end;
}

/* The same for as many digits as the number has, at least one. */
static char *put_whole(char *end, uint64_t size)
{
    for (; size >= 100; size /= 100) {
        end -= 2;
        memcpy(end, pairs + 2 * (size % 100), 2);
    }
    return put_count(end, size, size >= 10 ? 2 : 1);
}

/* The same with a no-break space before every three digits from the right: it is in
 * every font, and no line breaks at it. */
static char *put_grouped(char *end, uint64_t size)
{
    for (; size >= 1000; size /= 1000) {
        end = put_count(end, size % 1000, 3);
        end -= 2;
        memcpy(end, "\xc2\xa0", 2);
    }
    return put_whole(end, size);
}

static int digit_count(uint64_t size)
{
    int count = 1;
    for (; size >= 10000; size /= 10000) {
        count += 4;
    }
    return count + (size >= 10) + (size >= 100) + (size >= 1000);
}

/* size / 10^places: by a constant each, which the compiler multiplies by. */
static uint64_t whole_of(uint64_t size, int places)
{
    switch (places) {
    case 0:
        return size;
    case 2:
        return size / 100;
    case 6:
        return size / 1000000;
    default:
        return size / powers[places];
    }
}

/* Writes ±size/10^places at `to` and answers where it ends; a size of 0 has no sign. */
static char *put_plain(char *to, bool negative, uint64_t size, int places)
{
    const uint64_t whole = whole_of(size, places);
    if (negative && size != 0) {
        *to++ = '-';
    }
    to += digit_count(whole);
    put_whole(to, whole);
    if (places > 0) {
        *to = '.';
        to += places + 1;
        put_count(to, size - whole * powers[places], places);
    }
    return to;
}

/* The same in groups of three. */
static char *put_in_threes(char *to, bool negative, uint64_t size, int places)
{
    char room[TS_DECIMAL_TEXT];
    char *end = room + sizeof room;
    char *at = end;
    uint64_t whole = size;
    if (places > 0) {
        whole = size / powers[places];
        at = put_count(at, size - whole * powers[places], places);
        *--at = '.';
    }
    at = put_grouped(at, whole);
    if (negative && size != 0) {
        *--at = '-';
    }
    memcpy(to, at, (size_t)(end - at));
    return to + (end - at);
}

static char *ended(char *buffer, char *end)
{
    *end = '\0';
    return buffer;
}

static uint64_t size_of(int64_t value)
{
    return value < 0 ? -(uint64_t)value : (uint64_t)value;
}

char *ts_dec_put(char *to, ts_dec a)
{
    const uint64_t size = size_of(a.e6);
    const uint64_t whole = size / 1000000;
    uint32_t rest = (uint32_t)(size - whole * 1000000);
    int places = MOST_PLACES;
    if (rest == 0) {
        return put_plain(to, a.e6 < 0, whole, 0);
    }
    if (rest % 1000 == 0) {
        rest /= 1000;
        places = 3;
    }
    for (; rest % 10 == 0; places--) {
        rest /= 10;
    }
    return put_plain(to, a.e6 < 0, whole * powers[places] + rest, places);
}

char *ts_dec_text(char *buffer, ts_dec a)
{
    return ended(buffer, ts_dec_put(buffer, a));
}

char *ts_dec_fixed(char *buffer, ts_dec a, int places)
{
    assert(places >= 0 && places <= MOST_PLACES);
    uint64_t unit = powers[MOST_PLACES - places];
    uint64_t size = size_of(a.e6);
    uint64_t whole = size / unit;
    whole += size - whole * unit >= unit - unit / 2; /* units are even, or 1 with no rest */
    return ended(buffer, put_plain(buffer, a.e6 < 0, whole, places));
}

char *ts_money_put(char *to, ts_money a, int exponent)
{
    assert(exponent >= 0 && exponent <= MOST_EXPONENT);
    return put_plain(to, a.minor < 0, size_of(a.minor), exponent);
}

char *ts_money_text(char *buffer, ts_money a, int exponent)
{
    return ended(buffer, ts_money_put(buffer, a, exponent));
}

char *ts_money_grouped(char *buffer, ts_money a, int exponent)
{
    assert(exponent >= 0 && exponent <= MOST_EXPONENT);
    return ended(buffer, put_in_threes(buffer, a.minor < 0, size_of(a.minor), exponent));
}
