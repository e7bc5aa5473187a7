#include "desk/exporting.h"
#include "desk/issuing.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* `export`: the bookkeeper's folder of a period. Everything is staged, compared with what stands
 * there, and comes out in one step; only then is a period closed. Memory grows with what moved
 * money in the period, not with the register. */

static const char *const names[TS_EXPORT_TABLES] = {"quotes.csv", "lines.csv", "taxes.csv",
                                                    "payments.csv", "books.journal"};
static const char *const heads[TS_EXPORT_TABLES] = {
    "id,reference,revision,option,state,replaces,client,region,currency,issued,accepted,delivered,"
    "net,tax,total,trade-in,to pay,paid,balance\n",
    "id,reference,revision,option,line,section,item,quantity,unit,price,tax category\n",
    "id,date,reference,revision,event,region,category,name,rate,base,tax,currency,home rate,"
    "home tax\n",
    "id,date,written,reference,stage,by,receipt,amount,currency,voids\n",
    "",
};

/* ---- one reference ---- */

typedef struct asking {
    ts_export *x;
    ts_status status;
} asking;

static const ts_kept_price *price_of(void *ctx, int64_t quote, int option)
{
    asking *a = ctx;
    ts_kept_price *price = TS_NEW(a->x->brief, ts_kept_price);
    a->status = ts_register_price(price, a->x->reg, quote, option);
    return a->status == TS_OK ? price : NULL;
}

static bool is_in(ts_period period, ts_date day)
{
    return day.days >= period.from.days && day.days <= period.to.days;
}

static ts_status put_entries(ts_export *x, const ts_life *life)
{
    ts_entry *entries = NULL;
    asking a = {x, TS_OK};
    ts_status status = ts_entries_of(&entries, x->brief, life, x->book, price_of, &a);
    if (status != TS_OK) {
        return a.status == TS_OK ? status : a.status;
    }
    for (size_t i = 0; i < life->event_count; i++) {
        if (is_in(x->period, life->events[i].day)) {
            status = ts_status_worse(status, ts_export_entry_rows(x, &entries[i]));
            ts_export_journal_entry(x, &entries[i]);
        }
    }
    return status;
}

static ts_status put_papers(ts_export *x, const ts_life *life)
{
    ts_status status = TS_OK;
    for (size_t i = 0; i < life->event_count; i++) {
        const ts_event *event = &life->events[i];
        const bool issued = event->kind == TS_EVENT_ISSUE || event->kind == TS_EVENT_REVISE;
        for (int k = 0; k < life->count && issued && is_in(x->period, event->day); k++) {
            if (life->quotes[k].id == event->quote) {
                status = ts_status_worse(status, ts_export_paper(x, &life->quotes[k]));
            }
        }
    }
    return status;
}

static ts_status put_reference(ts_export *x, const char *reference)
{
    ts_life life;
    ts_status status = ts_register_life(&life, x->reg, reference);
    if (status != TS_OK) {
        return status;
    }
    status = put_entries(x, &life);
    status = ts_status_worse(status, put_papers(x, &life));
    ts_life_stand(&life, x->brief, x->period.to);
    return ts_status_worse(status, ts_export_quotes(x, &life));
}

/* ---- the files ---- */

static int by_event(const void *one, const void *other)
{
    const ts_export_kept *left = one;
    const ts_export_kept *right = other;
    if (left->event != right->event) {
        return left->event < right->event ? -1 : 1;
    }
    return (left->order > right->order) - (left->order < right->order);
}

static void put_list(ts_export_file *file, ts_export_list *list)
{
    if (list->count > 1) {
        qsort(list->at, list->count, sizeof *list->at, by_event);
    }
    for (size_t i = 0; i < list->count; i++) {
        ts_export_put(file, list->at[i].text);
        file->rows++;
    }
}

static ts_status put_manifest(ts_export *x, ts_export_file *manifest)
{
    char sum[TS_DECIMAL_TEXT];
    const char *head = ts_register_head_on(x->reg, x->period.to);
    ts_export_put(manifest, "file,rows,sum,sha256,register head\n");
    for (size_t i = 0; i < TS_EXPORT_TABLES + x->paper_count; i++) {
        const ts_export_file *file =
            i < TS_EXPORT_TABLES ? &x->tables[i] : &x->papers[i - TS_EXPORT_TABLES];
        if (!ts_export_sum(sum, file)) {
            ts_diag_add(x->request->diag, TS_FAULT_FIGURE, NULL,
                        "the sum of %s is past what exact arithmetic holds", file->name);
            return TS_OVERFLOW;
        }
        ts_export_put(manifest, ts_arena_format(x->keep, "%s,%zu,%s,%s,%s\n", file->name,
                                                file->rows, sum, file->hash, head));
    }
    return TS_OK;
}

static ts_status open_tables(ts_export *x)
{
    ts_status status = TS_OK;
    for (int i = 0; i < TS_EXPORT_TABLES && status == TS_OK; i++) {
        status = ts_export_open(&x->tables[i], x->request, names[i]);
        if (status == TS_OK) {
            ts_export_put(&x->tables[i], heads[i]);
        }
    }
    return status;
}

static ts_status close_tables(ts_export *x)
{
    ts_status status = TS_OK;
    for (int i = 0; i < TS_EXPORT_TABLES; i++) {
        status = ts_status_worse(status, ts_export_close(&x->tables[i], x->request));
    }
    return status;
}

static ts_status put_references(ts_export *x)
{
    ts_status status = TS_OK;
    const char *const *list = NULL;
    const size_t count = ts_register_touched(&list, x->reg, x->period);
    for (size_t i = 0; i < count && ts_register_status(x->reg) == TS_OK; i++) {
        const ts_arena_mark mark = ts_arena_mark_of(x->brief);
        const ts_status ended = put_reference(x, list[i]);
        status = ts_status_worse(status, ended);
        if (ts_register_status(x->reg) == TS_OK) {
            ts_arena_rewind(x->brief, mark);
        }
        if (ended == TS_IO || ended == TS_CANNOT_CREATE) {
            break;
        }
    }
    return ts_status_worse(status, ts_register_status(x->reg));
}

/* Stages everything. All that the books lack comes out in one run. */
static ts_status stage(ts_export *x, ts_export_file *manifest)
{
    ts_status status = open_tables(x);
    if (status == TS_OK) {
        status = put_references(x);
    }
    if (status == TS_OK && ts_diag_errors(x->request->diag) > 0) {
        status = TS_FAULTY;
    }
    if (status == TS_OK) {
        put_list(&x->tables[TS_EXPORT_TAXES], &x->taxes);
        put_list(&x->tables[TS_EXPORT_PAYMENTS], &x->payments);
        ts_export_journal_file(x);
    }
    status = ts_status_worse(status, close_tables(x));
    if (status == TS_OK) {
        status = ts_export_open(manifest, x->request, "manifest.csv");
    }
    if (status == TS_OK) {
        status = put_manifest(x, manifest);
    }
    return ts_status_worse(status, ts_export_close(manifest, x->request));
}

/* ---- putting it in place ---- */

static const char *folder_name(const ts_export *x)
{
    char from[TS_DATE_TEXT], to[TS_DATE_TEXT];
    return ts_arena_format(x->keep, "%s--%s", ts_date_text(from, x->period.from),
                           ts_date_text(to, x->period.to));
}

/* `there`: a folder stands in the place; `same`: and holds the same. */
static ts_status compare(bool *there, bool *same, const ts_export *x,
                         const ts_export_file *manifest, const char *folder)
{
    struct stat about;
    const char *what = NULL;
    *there = lstat(folder, &about) == 0;
    *same = false;
    if (!*there || !S_ISDIR(about.st_mode)) {
        return TS_OK; /* the outbox says what stands there */
    }
    const ts_status status = ts_export_differ(&what, x, manifest, folder);
    *same = status == TS_OK && what == NULL;
    if (status != TS_OK || *same || x->request->event.replace) {
        return status;
    }
    ts_diag_add(x->request->diag, TS_FAULT_REFUSED, NULL,
                "%s is there and differs, so it stays: %s; --replace puts the new one in its place",
                ts_text_show(x->keep, folder, 200), what);
    return TS_REFUSED;
}

static ts_status close_period(const ts_export *x)
{
    const ts_request *request = x->request;
    if (!request->event.close || request->event.dry_run) {
        return TS_OK;
    }
    const ts_status status = ts_register_close_period(x->reg, x->period, request->who);
    return status == TS_OK ? ts_register_commit(x->reg) : status;
}

static void say(const ts_export *x, const char *folder, bool there, bool same)
{
    const ts_request *request = x->request;
    const char *would = request->event.dry_run ? "would be: " : "";
    fprintf(request->result, "%s%s\n", would, folder);
    fprintf(request->said,
            "%s%zu quotes, %zu taxes, %zu payments, %zu entries, %zu quotations%s%s\n", would,
            x->tables[TS_EXPORT_QUOTES].rows, x->tables[TS_EXPORT_TAXES].rows,
            x->tables[TS_EXPORT_PAYMENTS].rows, x->tables[TS_EXPORT_JOURNAL].rows, x->paper_count,
            same    ? "; it is there already, the same to the byte"
            : there ? "; in the place of the one that differed"
                    : "",
            request->event.close ? "; the period is closed" : "");
}

static ts_status bring_out(const ts_export *x, const ts_export_file *manifest, const char *folder)
{
    bool there = false, same = false;
    const ts_request *request = x->request;
    ts_status status = compare(&there, &same, x, manifest, folder);
    if (status == TS_OK && !same && !request->event.dry_run) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    if (status == TS_OK) {
        status = close_period(x);
    }
    if (status == TS_OK) {
        say(x, folder, there, same);
    }
    return status;
}

static ts_status run(ts_export *x)
{
    ts_export_file manifest = {0};
    const ts_request *request = x->request;
    const char *name = folder_name(x);
    ts_status status = ts_outbox_open(request->outbox, request->arena, request->out, request->diag);
    if (status == TS_OK) {
        status = ts_outbox_whole(*request->outbox, name, request->event.replace, request->diag);
    }
    if (status == TS_OK) {
        status = stage(x, &manifest);
    }
    if (status == TS_OK) {
        status = bring_out(x, &manifest, ts_arena_format(x->keep, "%s/%s", request->out, name));
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

/* ---- the errand ---- */

static ts_status judge_days(const ts_request *request)
{
    char day[32], now[32];
    const ts_event_ask *ask = &request->event;
    if (!ts_date_given(ask->from) || !ts_date_given(ask->to) || request->out == NULL) {
        return ts_desk_refuse(request, "export",
                              "--from DATE, --to DATE and --out DIR are needed; both days belong "
                              "to the period");
    }
    if (ask->from.days > ask->to.days) {
        return ts_desk_refuse(request, "export", "--from lies after --to");
    }
    if (ask->to.days > ts_date_today().days) {
        ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                    "--to %s lies after today, %s; only a period that has come to its last day is "
                    "exported",
                    ts_date_words(day, ask->to), ts_date_words(now, ts_date_today()));
        return TS_FAULTY;
    }
    return TS_OK;
}

ts_status ts_errand_export(const ts_request *request)
{
    ts_export x = {.request = request, .period = {request->event.from, request->event.to}};
    const bool writes = request->event.close && !request->event.dry_run;
    ts_status status = judge_days(request);
    if (status != TS_OK) {
        return status;
    }
    x.keep = ts_arena_new(request->no_memory, request->no_memory_ctx);
    x.brief = ts_arena_new(request->no_memory, request->no_memory_ctx);
    status = ts_register_open(&x.reg, x.brief, ts_desk_register_path(request),
                              writes ? TS_REGISTER_WRITE : TS_REGISTER_READ, request->diag);
    if (status == TS_OK) {
        status = ts_book_load(&x.book, request->arena, request->books, request->diag);
    }
    if (status == TS_OK) {
        status = run(&x);
    }
    ts_register_close(x.reg);
    ts_arena_free(x.brief);
    ts_arena_free(x.keep);
    return status;
}
