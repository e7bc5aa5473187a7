/* What the files of the export share. */
#ifndef TS_DESK_EXPORTING_H
#define TS_DESK_EXPORTING_H

#include "desk/request.h"

#include <tallystone/base/sha256.h>
#include <tallystone/register/entries.h>
#include <tallystone/register/register.h>

/* --- a file of the export (exportfile.c) --- */

typedef struct ts_export_file {
    const char *name; /* in the folder of the period */
    const char *path; /* where it is staged */
    FILE *to;         /* NULL once it is closed */
    ts_sha256 sha;
    char hash[TS_SHA256_TEXT];
    size_t rows;
    ts_i128 sum; /* in ten-thousandths of a unit of whatever currency */
    int decimals;
} ts_export_file;

/* A row of CSV while it is put together. */
typedef struct ts_export_row {
    ts_arena *arena;
    char *text;
    size_t used, room;
} ts_export_row;

/* Text from outside, never a formula; and text of our own. */
void ts_export_cell(ts_export_row *row, const char *text);
void ts_export_plain(ts_export_row *row, const char *text);
void ts_export_money(ts_export_row *row, int64_t minor, int exponent);
void ts_export_day(ts_export_row *row, ts_date day);
/* The whole row with its line end. */
const char *ts_export_end(ts_export_row *row);

ts_status ts_export_open(ts_export_file *file, const ts_request *request,
                         const char *name) TS_MUST_USE;
void ts_export_put(ts_export_file *file, const char *text);
void ts_export_add(ts_export_file *file, int64_t minor, int exponent);
/* Flushes, and fills `hash`. TS_IO with the sentence. Accepts one that never opened. */
ts_status ts_export_close(ts_export_file *file, const ts_request *request) TS_MUST_USE;
/* The sum as text; false where it is past what exact arithmetic holds. */
bool ts_export_sum(char *text, const ts_export_file *file);

/* --- the run --- */

/* A row or an entry that waits for its place in the order. */
typedef struct ts_export_kept {
    int64_t event;
    size_t order; /* of coming */
    ts_date day;
    const char *text;
} ts_export_kept;

typedef struct ts_export_list {
    ts_export_kept *at;
    size_t count, room;
} ts_export_list;

typedef enum ts_export_table {
    TS_EXPORT_QUOTES,
    TS_EXPORT_LINES,
    TS_EXPORT_TAXES,
    TS_EXPORT_PAYMENTS,
    TS_EXPORT_JOURNAL,
    TS_EXPORT_TABLES
} ts_export_table;

typedef struct ts_export {
    const ts_request *request;
    ts_arena *keep;  /* what outlives a reference */
    ts_arena *brief; /* of one reference; the register's */
    ts_register *reg;
    const ts_book *book;
    ts_period period;
    ts_export_file tables[TS_EXPORT_TABLES];
    ts_export_list taxes, payments, journal;
    ts_export_file *papers; /* the quotations, closed */
    size_t paper_count, paper_room;
    const char **accounts, **currencies; /* that the journal names, each once */
    size_t account_count, account_room, currency_count, currency_room;
} ts_export;

void ts_export_keep(ts_export *x, ts_export_list *list, const ts_event *event, const char *text);
/* Ids by the numbers of the register, which it gives once: "e12" an event (a payment, an entry),
 * "e12-2" the second tax of it, "q7" a quote, "q7-1-20" line 20 of its first option. Into the
 * arena. */
const char *ts_export_event_id(ts_arena *arena, int64_t event);
const char *ts_export_quote_id(ts_arena *arena, const ts_quote *quote);

/* --- parts of it --- */

/* Rows of quotes.csv and lines.csv for the quotes of a life, as it stands (exportquotes.c). */
ts_status ts_export_quotes(ts_export *x, const ts_life *life) TS_MUST_USE;
/* Rows of taxes.csv and payments.csv for an entry (exportmoney.c). */
ts_status ts_export_entry_rows(ts_export *x, const ts_entry *entry) TS_MUST_USE;
/* The entry in the journal (exportjournal.c), and at the end the journal's file. */
void ts_export_journal_entry(ts_export *x, const ts_entry *entry);
void ts_export_journal_file(ts_export *x);
/* The Quotation of a quote (exportpaper.c). */
ts_status ts_export_paper(ts_export *x, const ts_quote *quote) TS_MUST_USE;

/* How a staged export compares with the folder that is there (exportdiffer.c): NULL where both
 * are the same, else what differs, by ids. */
ts_status ts_export_differ(const char **what, const ts_export *x, const ts_export_file *manifest,
                           const char *folder) TS_MUST_USE;

#endif
