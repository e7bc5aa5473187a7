#include "desk/again.h"
#include "desk/issuing.h"
#include "desk/release.h"

#include <tallystone/base/csvout.h>
#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* `register`: the list, one quote with its history and the next sensible command, and what
 * looks after the file: --verify, --backup, --status, --reproduce. */

typedef struct entry {
    const ts_life *life;
    const ts_quote *quote;
    const char *state; /* "expired" is read off the date */
    int order;
} entry;

static const char *day_text(const ts_request *request, ts_date date)
{
    char text[TS_DATE_TEXT];
    return ts_date_given(date) ? ts_arena_text(request->arena, ts_date_text(text, date)) : "";
}

static bool is_expired(const ts_quote *quote, ts_date today)
{
    return quote->state == TS_STATE_OPEN && quote->valid_until.days < today.days;
}

static const char *state_of(const ts_quote *quote, ts_date today)
{
    return is_expired(quote, today) ? "expired" : ts_state_word(quote->state);
}

/* ---- the list ---- */

static int by_state_and_age(const void *one, const void *other)
{
    const entry *left = one;
    const entry *right = other;
    if (left->order != right->order) {
        return left->order < right->order ? -1 : 1;
    }
    if (left->quote->issued.days != right->quote->issued.days) {
        return left->quote->issued.days < right->quote->issued.days ? -1 : 1;
    }
    const int clients = strcmp(left->quote->client, right->quote->client);
    return clients != 0 ? clients : (left->quote->id > right->quote->id) - 1;
}

static ts_status entries_of(entry **out, size_t *count, ts_register *reg, const ts_request *request)
{
    const char *const *list = NULL;
    entry *entries = NULL;
    size_t room = 0;
    const ts_date today = ts_date_today();
    const size_t references = ts_register_references(&list, reg);
    *count = 0;
    for (size_t i = 0; i < references; i++) {
        ts_life *life = TS_NEW(request->arena, ts_life);
        const ts_status status = ts_register_life(life, reg, list[i]);
        if (status != TS_OK) {
            return status;
        }
        for (int k = 0; k < life->count; k++) {
            const ts_quote *quote = &life->quotes[k];
            const bool expired = is_expired(quote, today);
            entries = ts_arena_grow(request->arena, entries, *count, &room, sizeof *entries);
            entries[(*count)++] =
                (entry){life, quote, state_of(quote, today), 2 * (int)quote->state + expired};
        }
    }
    if (*count > 1) {
        qsort(entries, *count, sizeof *entries, by_state_and_age);
    }
    *out = entries;
    return ts_register_status(reg);
}

static bool holds_money(const entry *one)
{
    return ts_life_binding(one->life) == one->quote;
}

static void list_csv(const ts_request *request, const entry *entries, size_t count)
{
    char money[TS_DECIMAL_TEXT];
    ts_csv_out out = {.to = request->result};
    fputs("reference,revision,option,state,client,title,currency,total,issued,valid until,accepted,"
          "delivered,bought,to pay,received,balance\n",
          request->result);
    for (size_t i = 0; i < count; i++) {
        const ts_quote *quote = entries[i].quote;
        const ts_quote_option *option = &quote->options[quote->option];
        const ts_life *life = entries[i].life;
        ts_csv_text(&out, quote->reference);
        ts_csv_plain(&out, ts_arena_format(request->arena, "%d", quote->revision));
        ts_csv_text(&out, option->name);
        ts_csv_plain(&out, entries[i].state);
        ts_csv_text(&out, ts_text_show(request->arena, quote->client, 500));
        ts_csv_text(&out, ts_text_show(request->arena, quote->title, 500));
        ts_csv_plain(&out, quote->currency);
        ts_csv_plain(&out, ts_money_text(money, option->total, quote->exponent));
        ts_csv_plain(&out, day_text(request, quote->issued));
        ts_csv_plain(&out, day_text(request, quote->valid_until));
        ts_csv_plain(&out, day_text(request, quote->accepted));
        ts_csv_plain(&out, day_text(request, quote->delivered));
        ts_csv_plain(&out, quote->bought ? "yes" : "no");
        ts_csv_plain(&out, ts_money_text(money, option->to_pay, quote->exponent));
        const int64_t received = holds_money(&entries[i]) ? life->paid - life->refunded : 0;
        const int64_t balance = holds_money(&entries[i]) ? ts_life_balance(life) : 0;
        ts_csv_plain(&out, ts_money_text(money, (ts_money){received}, quote->exponent));
        ts_csv_plain(&out, ts_money_text(money, (ts_money){balance}, quote->exponent));
        ts_csv_end(&out);
    }
}

/* A cell of the list, filled up to its width. */
static void put(const ts_request *request, const char *text, int width, bool right)
{
    const char *shown = ts_text_show(request->arena, text, (size_t)width);
    const int blanks = width - ts_text_width(shown);
    fprintf(request->result, "%*s%s%*s  ", right && blanks > 0 ? blanks : 0, "", shown,
            !right && blanks > 0 ? blanks : 0, "");
}

static void list_screen(const ts_request *request, const entry *entries, size_t count)
{
    const ts_date today = ts_date_today();
    fprintf(request->result, "%-16s  %-9s  %-16s  %14s  %-10s  %4s\n", "quote", "state", "client",
            "total", "issued", "days");
    for (size_t i = 0; i < count; i++) {
        const ts_quote *quote = entries[i].quote;
        const ts_money total = quote->options[quote->option].total;
        put(request, ts_arena_format(request->arena, "%s-r%d", quote->reference, quote->revision),
            16, false);
        put(request, entries[i].state, 9, false);
        put(request, quote->client, 16, false);
        put(request, ts_desk_money(request, total.minor, quote), 14, true);
        put(request, day_text(request, quote->issued), 10, false);
        fprintf(request->result, "%4d\n", (int)(today.days - quote->issued.days));
    }
}

/* ---- one quote ---- */

static void show_options(const ts_request *request, const ts_quote *quote)
{
    for (int i = 0; i < quote->option_count; i++) {
        const ts_quote_option *option = &quote->options[i];
        const bool chosen = ts_date_given(quote->accepted) && i == quote->option;
        const int64_t due = option->to_pay.minor; /* below nothing: old metal above the price */
        fprintf(request->result, "  %s%s%s: total %s, %s %s%s\n",
                ts_text_show(request->arena, option->name, 40), option->label[0] ? ", " : "",
                ts_text_show(request->arena, option->label, 60),
                ts_desk_money(request, option->total.minor, quote),
                due >= 0 ? "to pay" : "owed to the client",
                ts_desk_money(request, due < 0 ? -due : due, quote), chosen ? " (accepted)" : "");
    }
}

static void show_event(const ts_request *request, const ts_life *life, size_t at)
{
    const ts_event *event = &life->events[at];
    const ts_quote *quote = &life->quotes[0];
    FILE *to = request->result;
    fprintf(to, "  %4d  %s  r%d  %s", (int)event->id, day_text(request, event->day),
            event->revision, ts_event_word(event->kind));
    if (event->option[0] != '\0') {
        fprintf(to, " option %s", ts_text_show(request->arena, event->option, 40));
    }
    if (event->has_amount) {
        fprintf(to, " %s%s", event->kind == TS_EVENT_CANCEL ? "keeping " : "",
                ts_desk_money(request, event->amount.minor, quote));
    }
    if (event->way[0] != '\0') {
        fprintf(to, " by %s", ts_text_show(request->arena, event->way, 40));
    }
    if (event->stage[0] != '\0') {
        fprintf(to, " (%s)", ts_text_show(request->arena, event->stage, 40));
    }
    if (event->receipt[0] != '\0') {
        fprintf(to, " receipt %s", ts_text_show(request->arena, event->receipt, 40));
    }
    if (event->voids != 0) {
        fprintf(to, " of event %d", (int)event->voids);
    }
    if (event->reason[0] != '\0') {
        fprintf(to, ": %s", ts_text_show(request->arena, event->reason, 200));
    }
    fprintf(to, "%s\n", life->voided[at] ? "  [voided]" : "");
}

/* An open quote is accepted while it stands; beside a piece that is handed over it cannot be. */
static const char *next_of_open(const ts_request *request, const ts_life *life,
                                const ts_quote *quote)
{
    const ts_quote *bound = ts_life_binding(life);
    const char *ref = ts_text_word(request->arena, quote->reference);
    if (bound != NULL && bound->state == TS_STATE_DELIVERED) {
        return ts_arena_format(request->arena, "tallystone decline %s", ref);
    }
    return ts_arena_format(request->arena,
                           is_expired(quote, ts_date_today())
                               ? "tallystone revise %s SHEET --out DIR"
                               : "tallystone accept %s",
                           ref);
}

/* The first money is for the first stage, by the name that the quote gives it. */
static const char *next_of_unpaid(const ts_request *request, ts_register *reg,
                                  const ts_quote *quote)
{
    const char *const *stages = NULL;
    size_t count = 0;
    const char *ref = ts_text_word(request->arena, quote->reference);
    if (ts_register_stages(&stages, &count, reg, quote->id) != TS_OK || count == 0) {
        return ts_arena_format(request->arena, "tallystone paid %s AMOUNT", ref);
    }
    return ts_arena_format(request->arena, "tallystone paid %s AMOUNT --stage %s", ref,
                           ts_text_word(request->arena, stages[0]));
}

/* The next sensible command, by how the quote stands. */
static const char *next_of(const ts_request *request, ts_register *reg, const ts_life *life,
                           const ts_quote *quote)
{
    const char *ref = ts_text_word(request->arena, quote->reference);
    const int64_t balance = ts_life_balance(life);
    switch (quote->state) {
    case TS_STATE_OPEN:
        return next_of_open(request, life, quote);
    case TS_STATE_ACCEPTED:
        if (balance > 0 && life->paid == 0) {
            return next_of_unpaid(request, reg, quote);
        }
        return ts_arena_format(
            request->arena, quote->bought ? "tallystone deliver %s" : "tallystone bought %s", ref);
    case TS_STATE_DELIVERED:
        return balance > 0 ? ts_arena_format(request->arena, "tallystone paid %s AMOUNT", ref)
                           : NULL;
    case TS_STATE_CANCELLED:
        return ts_life_held(life) > 0
                   ? ts_arena_format(request->arena, "tallystone refund %s AMOUNT", ref)
                   : NULL;
    case TS_STATE_NONE:
    case TS_STATE_DECLINED:
    case TS_STATE_REPLACED:
    case TS_STATE_COUNT:
        break;
    }
    return NULL;
}

static void show_money(const ts_request *request, const ts_life *life)
{
    const ts_quote *bound = ts_life_binding(life);
    if (bound == NULL) {
        return;
    }
    const int64_t balance = ts_life_balance(life);
    fprintf(request->result, "received %s, given back %s, %s %s\n",
            ts_desk_money(request, life->paid, bound),
            ts_desk_money(request, life->refunded, bound),
            balance >= 0 ? "still to pay" : "owed to the client",
            ts_desk_money(request, balance < 0 ? -balance : balance, bound));
}

static ts_status show(const ts_request *request, ts_register *reg)
{
    ts_life life;
    int revision = 0;
    const ts_date today = ts_date_today();
    const ts_status status = ts_register_find(&life, &revision, reg, request->operands[0]);
    if (status != TS_OK) {
        return status;
    }
    const ts_quote *meant = revision > 0 ? &life.quotes[revision - 1] : ts_life_newest(&life);
    for (int i = 0; i < life.count; i++) {
        const ts_quote *quote = &life.quotes[i];
        if (revision > 0 && quote != meant) {
            continue;
        }
        fprintf(request->result, "%s-r%d  %s, issued %s, valid until %s\n  %s, for %s\n",
                ts_text_show(request->arena, quote->reference, 64), quote->revision,
                state_of(quote, today), day_text(request, quote->issued),
                day_text(request, quote->valid_until),
                ts_text_show(request->arena, quote->title, 80),
                ts_text_show(request->arena, quote->client, 60));
        show_options(request, quote);
    }
    fputs("events:\n", request->result);
    for (size_t i = 0; i < life.event_count; i++) {
        show_event(request, &life, i);
    }
    show_money(request, &life);
    const ts_quote *bound = ts_life_binding(&life);
    const bool acts_on_bound = meant->state != TS_STATE_OPEN && revision == 0 && bound != NULL;
    const char *next = next_of(request, reg, &life, acts_on_bound ? bound : meant);
    if (next != NULL) {
        fprintf(request->result, "next: %s\n", next);
    }
    return ts_register_status(reg);
}

/* ---- looking after ---- */

static ts_status verify(const ts_request *request, ts_register *reg)
{
    size_t events = 0, quotes = 0;
    const ts_status status = ts_register_verify(&events, &quotes, reg);
    if (status == TS_OK) {
        fprintf(request->result, "%zu quote%s, %zu event%s: all as written; head %s\n", quotes,
                quotes == 1 ? "" : "s", events, events == 1 ? "" : "s", ts_register_head(reg));
    }
    return status;
}

static ts_status back_up(const ts_request *request, ts_register *reg)
{
    const char *path = NULL;
    const char *file = request->event.backup;
    const char *name = strrchr(file, '/') == NULL ? file : strrchr(file, '/') + 1;
    struct stat own, there;
    if (stat(ts_desk_register_path(request), &own) == 0 && stat(file, &there) == 0 &&
        own.st_ino == there.st_ino && own.st_dev == there.st_dev) {
        ts_diag_add(request->diag, TS_FAULT_OUTPUT, NULL,
                    "%s is the register itself; a copy needs a name of its own",
                    ts_text_show(request->arena, file, 200));
        return TS_CANNOT_CREATE;
    }
    ts_status status = ts_outbox_open(request->outbox, request->arena,
                                      ts_file_folder(request->arena, file), request->diag);
    if (status == TS_OK) {
        status = ts_outbox_file(&path, *request->outbox, name, false, request->diag);
    }
    if (status == TS_OK) {
        status = ts_register_backup(reg, path);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    if (status == TS_OK) {
        fprintf(request->said, "%s: a whole copy, checked\n",
                ts_text_show(request->arena, file, 200));
    }
    return status;
}

static ts_status say_ran(const ts_request *request, ts_register *reg)
{
    const ts_ran ran = ts_register_ran(reg);
    if (ts_register_status(reg) != TS_OK) {
        return ts_register_status(reg);
    }
    if (ran.ended == NULL) {
        fputs("`reprice` has not run yet\n", request->result);
        return TS_OK;
    }
    fprintf(request->result, "`reprice` last ended %s for %s with %d, on books %.12s: %s\n",
            ran.ended, ran.day, ran.status, ran.books, ran.said);
    return TS_OK;
}

/* ---- the same papers again ---- */

static ts_status judge_papers(const ts_request *request, ts_register *reg, const ts_quote *quote,
                              const ts_release *release)
{
    char hash[TS_SHA256_TEXT];
    const ts_kept_file *papers = NULL;
    const size_t count = ts_register_papers(&papers, reg, quote->id);
    for (int i = 0; i < TS_RELEASE_PAPERS; i++) {
        char *bytes = NULL;
        size_t length = 0;
        bool same = false;
        const ts_status status = ts_file_read(&bytes, &length, request->arena, release->paths[i],
                                              (size_t)1 << 30, request->diag);
        if (status != TS_OK) {
            return status;
        }
        ts_sha256_of(hash, bytes, length);
        for (size_t k = 0; k < count; k++) {
            same = same || (strcmp(papers[k].name, release->names[i]) == 0 &&
                            strcmp(papers[k].hash, hash) == 0);
        }
        if (!same) {
            ts_diag_add(request->diag, TS_FAULT_REGISTER, NULL,
                        "%s would not be the paper that was issued: this program writes papers "
                        "otherwise than the one that issued it; nothing was written",
                        release->names[i]);
            return TS_FAULTY;
        }
    }
    return ts_register_status(reg);
}

static ts_status reproduce(const ts_request *request, ts_register *reg)
{
    ts_life life;
    ts_release release;
    ts_commission_run run;
    const ts_kept_file *files = NULL;
    size_t count = 0;
    int revision = 0;
    ts_status status = ts_register_find(&life, &revision, reg, request->event.reproduce);
    if (status != TS_OK) {
        return status;
    }
    const ts_quote *quote =
        revision > 0 ? &life.quotes[revision - 1] : &life.quotes[life.count - 1];
    status = ts_register_files(&files, &count, reg, quote->id);
    if (status == TS_OK) {
        status = ts_commission_again(&run, request->arena, quote, files, count, request->diag);
    }
    if (status == TS_OK) {
        status = ts_release_stage(&release, request, &run, quote->file_name, quote->revision);
    }
    if (status == TS_OK) {
        status = judge_papers(request, reg, quote, &release);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    for (int i = 0; status == TS_OK && i < TS_RELEASE_PAPERS; i++) {
        fprintf(request->result, "%s/%s\n", request->out, release.names[i]);
    }
    return status;
}

static ts_status list(const ts_request *request, ts_register *reg)
{
    entry *entries = NULL;
    size_t count = 0;
    const ts_status status = entries_of(&entries, &count, reg, request);
    if (status != TS_OK) {
        return status;
    }
    if (request->csv) {
        list_csv(request, entries, count);
    } else {
        list_screen(request, entries, count);
    }
    return TS_OK;
}

static ts_status serve(const ts_request *request, ts_register *reg)
{
    if (request->event.verify) {
        return verify(request, reg);
    }
    if (request->event.backup != NULL) {
        return back_up(request, reg);
    }
    if (request->event.status) {
        return say_ran(request, reg);
    }
    if (request->event.reproduce != NULL) {
        return reproduce(request, reg);
    }
    return request->operand_count > 0 ? show(request, reg) : list(request, reg);
}

ts_status ts_errand_register(const ts_request *request)
{
    ts_register *reg = NULL;
    const int asked = request->event.verify + (request->event.backup != NULL) +
                      request->event.status + (request->event.reproduce != NULL) +
                      (request->operand_count > 0);
    if (asked > 1) {
        return ts_desk_refuse(request, "register",
                              "REF, --verify, --backup, --status and --reproduce are asked one at "
                              "a time");
    }
    if (request->event.reproduce != NULL && request->out == NULL) {
        return ts_desk_refuse(request, "register", "--reproduce needs --out DIR");
    }
    ts_status status = ts_register_open(&reg, request->arena, ts_desk_register_path(request),
                                        TS_REGISTER_READ, request->diag);
    if (status == TS_OK) {
        status = serve(request, reg);
    }
    ts_register_close(reg);
    return status;
}
