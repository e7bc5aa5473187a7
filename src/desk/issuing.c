#include "desk/issuing.h"

#include <tallystone/base/text.h>

#include <string.h>
#include <sys/stat.h>

/* The register's place, the day that counts, texts and amounts of the command line. */

enum { MOST_TEXT = 500 };

const char *ts_desk_register_path(const ts_request *request)
{
    ts_arena *arena = request->arena;
    if (request->event.register_file != NULL) {
        return request->event.register_file;
    }
    size_t length = strlen(request->books);
    while (length > 1 && request->books[length - 1] == '/') {
        length--;
    }
    const char *books = ts_arena_copy(arena, request->books, length);
    const char *last = strrchr(books, '/') == NULL ? books : strrchr(books, '/') + 1;
    if (strcmp(last, ".") == 0 || strcmp(last, "..") == 0) {
        return ts_arena_format(arena, "%s/../tallystone.db", books);
    }
    const char *folder = ts_file_folder(arena, books);
    return ts_arena_format(arena, "%s%stallystone.db", folder, strcmp(folder, "/") == 0 ? "" : "/");
}

ts_status ts_desk_register(ts_register **out, const ts_request *request, ts_register_use use)
{
    struct stat about;
    const char *path = ts_desk_register_path(request);
    *out = NULL;
    if (use == TS_REGISTER_READ && request->event.dry_run && stat(path, &about) != 0) {
        return TS_OK;
    }
    return ts_register_open(out, request->arena, path, use, request->diag);
}

ts_status ts_desk_day(ts_date *out, const ts_request *request)
{
    char day[32], now[32];
    const ts_date today = ts_date_today();
    *out = ts_date_given(request->event.on) ? request->event.on : today;
    if (out->days <= today.days) {
        return TS_OK;
    }
    ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                "--on %s lies after today, %s; only what has happened is recorded",
                ts_date_words(day, *out), ts_date_words(now, today));
    return TS_FAULTY;
}

static bool judge_text(const ts_request *request, const char *what, const char *text)
{
    if (text == NULL || (!ts_text_empty(text) && strlen(text) <= MOST_TEXT &&
                         ts_text_first_bad(text, strlen(text)) == strlen(text) &&
                         strpbrk(text, "\t\r\n") == NULL)) {
        return true;
    }
    ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                "--%s takes one line of text, at most %d bytes, not \"%s\"", what, MOST_TEXT,
                ts_text_show(request->arena, text, 60));
    return false;
}

ts_status ts_desk_texts(const ts_request *request)
{
    bool whole = judge_text(request, "reason", request->event.reason);
    whole = judge_text(request, "receipt", request->event.receipt) && whole;
    whole = judge_text(request, "stage", request->event.stage) && whole;
    whole = judge_text(request, "by", request->event.by) && whole;
    return whole ? TS_OK : TS_FAULTY;
}

ts_status ts_desk_refuse(const ts_request *request, const char *command, const char *sentence)
{
    fprintf(request->said, "tallystone: `%s`: %s\n", command, sentence);
    return TS_STATUS_COUNT;
}

ts_status ts_desk_amount(ts_money *out, const ts_request *request, const char *text,
                         const ts_quote *quote)
{
    ts_dec amount;
    ts_dec back;
    const bool read = ts_dec_read(&amount, text, '.', NULL) == TS_NUMBER_OK && amount.e6 > 0 &&
                      ts_money_from_dec(out, amount, quote->exponent, TS_HALF_AWAY) &&
                      ts_dec_from_money(&back, *out, quote->exponent, TS_HALF_AWAY);
    if (read && back.e6 == amount.e6) {
        return TS_OK;
    }
    ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                "\"%s\" is no amount of %s: a plain number above nothing with at most %d decimals "
                "is expected, as 350%s",
                ts_text_show(request->arena, text, 40), quote->currency, quote->exponent,
                quote->exponent > 0 ? ".50" : "");
    return TS_FAULTY;
}

const char *ts_desk_money(const ts_request *request, int64_t minor, const ts_quote *quote)
{
    char text[TS_DECIMAL_TEXT];
    return ts_arena_format(request->arena, "%s %s",
                           ts_money_text(text, (ts_money){minor}, quote->exponent),
                           quote->currency);
}
