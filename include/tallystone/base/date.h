/* Calendar days (ISO 8601, proleptic Gregorian), as a count that can be compared. */
#ifndef TS_BASE_DATE_H
#define TS_BASE_DATE_H

#include <stdbool.h>
#include <stdint.h>

/* Days since 1970-01-01. TS_DATE_NONE where a row says nothing. */
typedef struct ts_date {
    int32_t days;
} ts_date;

#define TS_DATE_NONE ((ts_date){INT32_MIN})
#define TS_DATE_TEXT 16

/* Reads YYYY-MM-DD exactly, years 1900 to 2200; false for 31 February and the like. */
bool ts_date_read(ts_date *out, const char *text);
char *ts_date_text(char *buffer, ts_date date);
/* As a person reads it: "9 March 2026". `buffer` holds 32 bytes. */
char *ts_date_words(char *buffer, ts_date date);
ts_date ts_date_plus(ts_date date, int32_t days);
bool ts_date_given(ts_date date);
ts_date ts_date_today(void);

#endif
