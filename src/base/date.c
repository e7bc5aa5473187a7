#include <tallystone/base/date.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

/* A day is a count, so comparing and adding are plain arithmetic; year, month and day
 * exist only where text is read or written. The conversion runs over eras of 400 years
 * (146097 days) that begin on 1 March, so the leap day is the last of its year and month
 * lengths follow (153 m + 2) / 5: the usual derivation from the Gregorian rule (every
 * fourth year, no century, every fourth century). */

#define DAYS_OF_ERA 146097
#define EPOCH_FROM_ERA 719468 /* days from 0000-03-01 to 1970-01-01 */

typedef struct civil {
    int year;
    int month; /* 1 to 12 */
    int day;   /* 1 to 31 */
} civil;

static int32_t days_of(civil at)
{
    const int year = at.month <= 2 ? at.year - 1 : at.year;
    const int month = at.month <= 2 ? at.month + 9 : at.month - 3; /* March is 0 */
    const int era = year / 400; /* years here are 1899 and later */
    const int year_of_era = year - era * 400;
    const int day_of_year = (153 * month + 2) / 5 + at.day - 1;
    const int day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return (int32_t)(era * DAYS_OF_ERA + day_of_era - EPOCH_FROM_ERA);
}

static civil civil_of(int32_t days)
{
    const int64_t shifted = (int64_t)days + EPOCH_FROM_ERA;
    const int64_t era = (shifted >= 0 ? shifted : shifted - (DAYS_OF_ERA - 1)) / DAYS_OF_ERA;
    const int day_of_era = (int)(shifted - era * DAYS_OF_ERA);
    const int year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    const int day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    const int month = (5 * day_of_year + 2) / 153; /* March is 0 */
    civil at;
    at.day = day_of_year - (153 * month + 2) / 5 + 1;
    at.month = month < 10 ? month + 3 : month - 9;
    at.year = (int)(era * 400) + year_of_era + (at.month <= 2 ? 1 : 0);
    return at;
}

static int month_length(int year, int month)
{
    static const int lengths[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month == 2 && leap ? 29 : lengths[month - 1];
}

static int digits(const char *text, int count)
{
    int value = 0;
    for (int i = 0; i < count; i++) {
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

bool ts_date_read(ts_date *out, const char *text)
{
    static const char form[] = "dddd-dd-dd";
    if (text == NULL || strlen(text) != sizeof form - 1) {
        return false;
    }
    for (size_t i = 0; i < sizeof form - 1; i++) {
        const bool is_digit = text[i] >= '0' && text[i] <= '9';
        if (form[i] == 'd' ? !is_digit : text[i] != form[i]) {
            return false;
        }
    }
    const civil at = {digits(text, 4), digits(text + 5, 2), digits(text + 8, 2)};
    if (at.year < 1900 || at.year > 2200 || at.month < 1 || at.month > 12 || at.day < 1 ||
        at.day > month_length(at.year, at.month)) {
        return false;
    }
    out->days = days_of(at);
    return true;
}

char *ts_date_text(char *buffer, ts_date date)
{
    buffer[0] = '\0';
    if (ts_date_given(date)) {
        const civil at = civil_of(date.days);
        snprintf(buffer, TS_DATE_TEXT, "%04d-%02d-%02d", at.year, at.month, at.day);
    }
    return buffer;
}

char *ts_date_words(char *buffer, ts_date date)
{
    static const char *const months[12] = {"January",   "February", "March",    "April",
                                           "May",       "June",     "July",     "August",
                                           "September", "October",  "November", "December"};
    buffer[0] = '\0';
    if (ts_date_given(date)) {
        const civil at = civil_of(date.days);
        snprintf(buffer, 32, "%d %s %d", at.day, months[at.month - 1], at.year);
    }
    return buffer;
}

ts_date ts_date_plus(ts_date date, int32_t days)
{
    if (!ts_date_given(date)) {
        return date;
    }
    const int64_t sum = (int64_t)date.days + days;
    const int64_t least = (int64_t)INT32_MIN + 1; /* INT32_MIN says "none" */
    return (ts_date){(int32_t)(sum < least ? least : sum > INT32_MAX ? INT32_MAX : sum)};
}

bool ts_date_given(ts_date date)
{
    return date.days != INT32_MIN;
}

ts_date ts_date_today(void)
{
    const time_t now = time(NULL);
    struct tm local;
    if (now == (time_t)-1 || localtime_r(&now, &local) == NULL) {
        return TS_DATE_NONE;
    }
    return (ts_date){days_of((civil){local.tm_year + 1900, local.tm_mon + 1, local.tm_mday})};
}
