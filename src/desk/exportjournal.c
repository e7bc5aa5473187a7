#include "desk/exporting.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* books.journal: plain text that both common programs for such journals read. Every account and
 * currency is declared; a currency's format stands on a line of its own, since one of them does
 * not see it otherwise. No balance is asserted: a bookkeeper may put the file beside others. */

/* ---- accounts ---- */

static const ts_account_row *row_of(const ts_export *x, const char *what, ts_date day)
{
    for (size_t i = 0; i < x->book->accounts.count; i++) {
        const ts_account_row *row = &x->book->accounts.at[i];
        if (ts_text_same(row->what, what) && ts_book_current(x->book, &row->head, day)) {
            return row;
        }
    }
    return NULL;
}

static const ts_account_row *sales_row(const ts_export *x, const ts_posting *posting, ts_date day)
{
    const char *words[] = {posting->service, posting->word};
    for (size_t i = 0; i < TS_COUNT_OF(words); i++) {
        const char *what = ts_arena_format(x->keep, "sales %s", words[i]);
        const ts_account_row *row = words[i][0] == '\0' ? NULL : row_of(x, what, day);
        if (row != NULL) {
            return row;
        }
    }
    return row_of(x, "sales", day);
}

static const char *what_of(const ts_posting *posting)
{
    switch (posting->account) {
    case TS_ACCOUNT_WAY:
    case TS_ACCOUNT_TAX:
        return posting->word;
    case TS_ACCOUNT_DEPOSITS:
        return "deposits";
    case TS_ACCOUNT_RECEIVABLE:
        return "receivable";
    case TS_ACCOUNT_SALES:
        return "sales";
    case TS_ACCOUNT_RETAINED:
        return "retained";
    }
    return "";
}

/* Old metal is posted to its own account where there is one. */
static const ts_account_row *way_row(const ts_export *x, const char *way, ts_date day)
{
    const ts_account_row *metal =
        strcmp(way, "trade-in") == 0 ? row_of(x, "trade-in metal", day) : NULL;
    return metal != NULL ? metal : row_of(x, way, day);
}

/* Could a reader of the journal take it for something else? */
static bool can_stand(const char *account)
{
    return account[0] != '\0' && strchr("([*!;~=0123456789", account[0]) == NULL &&
           strpbrk(account, ";\t\r\n") == NULL && strstr(account, "  ") == NULL;
}

static const char *account_of(ts_export *x, const ts_posting *posting, ts_date day)
{
    const char *what = what_of(posting);
    const ts_account_row *row = posting->account == TS_ACCOUNT_SALES ? sales_row(x, posting, day)
                                : posting->account == TS_ACCOUNT_WAY ? way_row(x, what, day)
                                                                     : row_of(x, what, day);
    if (row == NULL) {
        ts_diag_add(x->request->diag, TS_FAULT_BOOK_GAP, NULL,
                    "accounts.csv has no row in force for \"%s\"; the journal posts to it",
                    ts_text_show(x->keep, what, 60));
        return "";
    }
    const char *account = ts_text_trim(x->keep, row->account);
    if (!can_stand(account)) {
        ts_place at = ts_book_place(x->book, x->request->arena, &row->head, "account");
        ts_diag_add(x->request->diag, TS_FAULT_BOOK_ROW, &at,
                    "the account \"%s\" cannot stand in a journal: a name without semicolons and "
                    "double blanks that begins with a letter is expected",
                    ts_text_show(x->keep, account, 60));
    }
    return account;
}

/* ---- entries ---- */

static void note_word(ts_arena *arena, const char ***list, size_t *count, size_t *room,
                      const char *word)
{
    for (size_t i = 0; i < *count; i++) {
        if (strcmp((*list)[i], word) == 0) {
            return;
        }
    }
    *list = ts_arena_grow(arena, *list, *count, room, sizeof **list);
    (*list)[(*count)++] = word;
}

/* Text of a quote in the line that names an entry: what would begin a comment or part the
 * payee from a note becomes something that does not. */
static const char *plain_line(ts_arena *arena, const char *text)
{
    char *line = ts_arena_text(arena, ts_text_show(arena, text, 200));
    for (char *at = line; *at != '\0'; at++) {
        *at = *at == ';' ? ',' : *at == '|' ? '/' : *at;
    }
    return line;
}

static const char *title_of(ts_export *x, const ts_entry *entry)
{
    const ts_event *event = entry->event;
    const char *text = ts_arena_format(x->keep, "%s-r%d %s", entry->quote->reference,
                                       entry->quote->revision, ts_event_word(event->kind));
    if (event->stage[0] != '\0') {
        text = ts_arena_format(x->keep, "%s, %s", text, event->stage);
    }
    if (event->voids != 0) {
        text =
            ts_arena_format(x->keep, "%s of %s", text, ts_export_event_id(x->keep, event->voids));
    }
    return plain_line(x->keep, text);
}

typedef struct sum {
    const char *account;
    int64_t minor;
} sum;

/* Postings to one account are one line, where they do not cancel out. */
static size_t sums_of(sum *sums, ts_export *x, const ts_entry *entry)
{
    size_t count = 0;
    for (int i = 0; i < entry->posting_count; i++) {
        const ts_posting *posting = &entry->postings[i];
        const char *account = account_of(x, posting, entry->rate_day);
        size_t at = 0;
        while (at < count && strcmp(sums[at].account, account) != 0) {
            at++;
        }
        if (at == count) {
            sums[count++] = (sum){account, 0};
        }
        sums[at].minor += posting->minor;
    }
    return count;
}

void ts_export_journal_entry(ts_export *x, const ts_entry *entry)
{
    char day[TS_DATE_TEXT], money[TS_DECIMAL_TEXT];
    const ts_quote *quote = entry->quote;
    sum *sums = TS_ARRAY(x->keep, sum, (size_t)entry->posting_count + 1);
    const size_t count = sums_of(sums, x, entry);
    const char *text = ts_arena_format(
        x->keep, "%s (%s) %s\n", ts_date_text(day, entry->event->day),
        ts_export_event_id(x->keep, entry->event->id), count == 0 ? "" : title_of(x, entry));
    bool moves = false;
    for (size_t i = 0; i < count; i++) {
        if (sums[i].minor == 0) {
            continue;
        }
        moves = true;
        note_word(x->keep, &x->accounts, &x->account_count, &x->account_room, sums[i].account);
        text = ts_arena_format(x->keep, "%s    %s  %s %s\n", text, sums[i].account,
                               ts_money_text(money, (ts_money){sums[i].minor}, quote->exponent),
                               quote->currency);
        if (sums[i].minor > 0) {
            ts_export_add(&x->tables[TS_EXPORT_JOURNAL], sums[i].minor, quote->exponent);
        }
    }
    if (moves) {
        const char *currency = ts_arena_format(x->keep, "%s%d", quote->currency, quote->exponent);
        note_word(x->keep, &x->currencies, &x->currency_count, &x->currency_room, currency);
        ts_export_keep(x, &x->journal, entry->event, text);
    }
}

/* ---- the file ---- */

static int by_word(const void *one, const void *other)
{
    return strcmp(*(const char *const *)one, *(const char *const *)other);
}

static int by_day(const void *one, const void *other)
{
    const ts_export_kept *left = one;
    const ts_export_kept *right = other;
    if (left->day.days != right->day.days) {
        return left->day.days < right->day.days ? -1 : 1;
    }
    return (left->event > right->event) - (left->event < right->event);
}

void ts_export_journal_file(ts_export *x)
{
    /* without decimals one program takes the comma for a decimal mark, and with a bare point the
     * other reads no format */
    static const char *const decimals[] = {"0", "0", "00", "000", "0000"};
    ts_export_file *file = &x->tables[TS_EXPORT_JOURNAL];
    if (x->journal.count == 0) {
        return;
    }
    qsort(x->currencies, x->currency_count, sizeof *x->currencies, by_word);
    qsort(x->accounts, x->account_count, sizeof *x->accounts, by_word);
    qsort(x->journal.at, x->journal.count, sizeof *x->journal.at, by_day);
    for (size_t i = 0; i < x->currency_count; i++) {
        const char *code = ts_arena_copy(x->keep, x->currencies[i], 3);
        ts_export_put(file, ts_arena_format(x->keep, "commodity %s\n    format 1,000.%s %s\n", code,
                                            decimals[x->currencies[i][3] - '0'], code));
    }
    for (size_t i = 0; i < x->account_count; i++) {
        ts_export_put(file, ts_arena_format(x->keep, "account %s\n", x->accounts[i]));
    }
    for (size_t i = 0; i < x->journal.count; i++) {
        ts_export_put(file, "\n");
        ts_export_put(file, x->journal.at[i].text);
        file->rows++;
    }
}
