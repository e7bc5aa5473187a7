#include "desk/issuing.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* What happens to a quote after it was issued: accept, decline, paid, refund, credit, bought,
 * deliver, cancel, void. One path for all; what may follow what stands in events.def. */

typedef struct happening {
    const ts_request *request;
    ts_event_kind kind;
    ts_register *reg;
    ts_life life;
    ts_quote *quote;
    ts_event event;
} happening;

/* ---- whom it is about ---- */

static ts_status find_quote(happening *h)
{
    int revision = 0;
    const ts_request *request = h->request;
    const ts_status status = ts_register_find(&h->life, &revision, h->reg, request->operands[0]);
    if (status != TS_OK) {
        return status;
    }
    ts_quote *bound = ts_life_binding(&h->life);
    ts_quote *newest = ts_life_newest(&h->life);
    const bool binds = ts_event_acts(h->kind) == TS_ACTS_BINDS && bound != NULL;
    h->quote = revision > 0 ? &h->life.quotes[revision - 1] : binds ? bound : newest;
    return TS_OK;
}

static ts_status find_void(happening *h)
{
    ts_event target;
    char *end = NULL;
    const char *text = h->request->operands[0];
    const long long id = strtoll(text, &end, 10);
    if (*text == '\0' || *end != '\0' || id < 1 || id == LLONG_MAX) {
        ts_diag_add(h->request->diag, TS_FAULT_EVENT_VALUE, NULL,
                    "\"%s\" is no event's number; `tallystone register REF` shows them",
                    ts_text_show(h->request->arena, text, 40));
        return TS_FAULTY;
    }
    ts_status status = ts_register_find_event(&target, h->reg, id);
    if (status == TS_OK) {
        status = ts_register_life(&h->life, h->reg, target.reference);
    }
    for (int i = 0; status == TS_OK && i < h->life.count; i++) {
        h->quote = h->life.quotes[i].id == target.quote ? &h->life.quotes[i] : h->quote;
    }
    h->event.voids = id;
    return status;
}

/* ---- what it needs ---- */

static ts_status choose_option(happening *h)
{
    const ts_request *request = h->request;
    const ts_quote *quote = h->quote;
    const char *names[64] = {0};
    char list[512] = "";
    for (int i = 0; i < quote->option_count && i < 64; i++) {
        names[i] = quote->options[i].name;
        const size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", names[i]);
        if (request->option != NULL ? ts_text_same(request->option, names[i])
                                    : quote->option_count == 1) {
            h->event.option = names[i];
            return TS_OK;
        }
    }
    if (request->option == NULL) {
        ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                    "%s-r%d offers several options; say which was accepted with --option NAME: %s",
                    ts_text_show(request->arena, quote->reference, 64), quote->revision, list);
        return TS_REFUSED;
    }
    ts_diag_add(request->diag, TS_FAULT_NAME_UNKNOWN, NULL,
                "%s-r%d has no option \"%s\"; it offers %s",
                ts_text_show(request->arena, quote->reference, 64), quote->revision,
                ts_text_show(request->arena, request->option, 60), list);
    const int near = ts_nearest(request->option, names, (size_t)quote->option_count);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", names[near]);
    }
    return TS_FAULTY;
}

static ts_status choose_way(happening *h)
{
    const ts_request *request = h->request;
    const char *by = request->event.by == NULL ? "bank" : request->event.by;
    const ts_book *book = NULL;
    const ts_status status = ts_book_load(&book, request->arena, request->books, request->diag);
    if (status != TS_OK) {
        return status;
    }
    const char **ways = TS_ARRAY(request->arena, const char *, book->accounts.count + 1);
    size_t count = 0;
    char list[512] = "";
    for (size_t i = 0; i < book->accounts.count; i++) {
        const ts_account_row *row = &book->accounts.at[i];
        if (!ts_book_current(book, &row->head, h->event.day) || !ts_book_is_way(book, row->what)) {
            continue;
        }
        if (ts_text_same(row->what, by)) {
            h->event.way = row->what;
            return TS_OK;
        }
        const size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", count == 0 ? "" : ", ", row->what);
        ways[count++] = row->what;
    }
    ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                "accounts.csv knows no way of paying \"%s\"; it knows %s",
                ts_text_show(request->arena, by, 60), count == 0 ? "none" : list);
    const int near = ts_nearest(by, ways, count);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", ways[near]);
    }
    return TS_FAULTY;
}

static ts_status judge_twin(const happening *h)
{
    const int64_t twin = h->request->event.again ? 0 : ts_register_twin(h->reg, &h->event);
    if (twin == 0) {
        return ts_register_status(h->reg);
    }
    ts_diag_add(h->request->diag, TS_FAULT_REFUSED, NULL,
                "event %d is the same payment%s; if another came in that looks alike, say --again",
                (int)twin,
                h->event.receipt[0] != '\0' ? " by its receipt"
                                            : ": the same reference, amount, day and way");
    return TS_REFUSED;
}

/* A stage is one of those that the quote is paid in. */
static ts_status choose_stage(happening *h)
{
    const ts_request *request = h->request;
    const char *const *names = NULL;
    const char *list = "";
    size_t count = 0;
    if (request->event.stage == NULL) {
        return TS_OK;
    }
    const ts_status status = ts_register_stages(&names, &count, h->reg, h->quote->id);
    if (status != TS_OK) {
        return status;
    }
    for (size_t i = 0; i < count; i++) {
        if (ts_text_same(names[i], request->event.stage)) {
            h->event.stage = names[i];
            return TS_OK;
        }
        list = ts_text_joined(request->arena, list, ", ", names[i]);
    }
    ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                "%s-r%d has no payment stage \"%s\"; it has %s",
                ts_text_show(request->arena, h->quote->reference, 64), h->quote->revision,
                ts_text_show(request->arena, request->event.stage, 60), list);
    const int near = ts_nearest(request->event.stage, names, count);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", names[near]);
    }
    return TS_FAULTY;
}

static ts_status take_money(happening *h)
{
    const ts_request *request = h->request;
    ts_status status = ts_desk_amount(&h->event.amount, request, request->operands[1], h->quote);
    h->event.has_amount = true;
    if (status == TS_OK && h->kind != TS_EVENT_CREDIT) {
        status = choose_way(h);
    }
    if (status == TS_OK) {
        status = choose_stage(h);
    }
    if (status == TS_OK && h->kind == TS_EVENT_PAID) {
        status = judge_twin(h);
    }
    return status;
}

static ts_status judge_tax(const happening *h)
{
    const ts_request *request = h->request;
    const ts_book *book = NULL;
    const ts_status status = ts_book_load(&book, request->arena, request->books, request->diag);
    if (status != TS_OK) {
        return status;
    }
    const char *moved =
        ts_register_tax_moved(h->reg, h->quote->id, h->quote->option, book, h->event.day);
    if (moved == NULL || h->quote->state != TS_STATE_ACCEPTED) {
        return ts_register_status(h->reg);
    }
    ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                "%s-r%d was taxed otherwise than %s is on that day (%s); `tallystone revise %s "
                "SHEET --out DIR` issues it with today's tax",
                ts_text_show(request->arena, h->quote->reference, 64), h->quote->revision,
                ts_text_show(request->arena, h->quote->region, 40), moved,
                ts_text_word(request->arena, h->quote->reference));
    return TS_REFUSED;
}

/* What this kind of event takes from the command line. */
static ts_status fill(happening *h)
{
    ts_status status = TS_OK;
    switch (h->kind) {
    case TS_EVENT_ACCEPT:
        /* a quote that cannot be accepted says that, not that an option is missing */
        return ts_life_refusal(&h->life, h->request->arena, &h->event) != NULL ? TS_OK
                                                                               : choose_option(h);
    case TS_EVENT_PAID:
    case TS_EVENT_REFUND:
    case TS_EVENT_CREDIT:
        return take_money(h);
    case TS_EVENT_DELIVER:
        return judge_tax(h);
    case TS_EVENT_CANCEL:
        if (h->request->event.keep != NULL) {
            h->event.has_amount = true;
            status = ts_desk_amount(&h->event.amount, h->request, h->request->event.keep, h->quote);
        }
        return status;
    case TS_EVENT_NONE:
    case TS_EVENT_ISSUE:
    case TS_EVENT_REVISE:
    case TS_EVENT_DECLINE:
    case TS_EVENT_BOUGHT:
    case TS_EVENT_VOID:
    case TS_EVENT_COUNT:
        break;
    }
    return status;
}

/* ---- saying it ---- */

static void say(const happening *h)
{
    const ts_request *request = h->request;
    const ts_quote *bound = ts_life_binding(&h->life);
    const ts_quote *quote = h->quote;
    for (int i = 0; i < h->life.count; i++) {
        quote = h->life.quotes[i].id == h->event.quote ? &h->life.quotes[i] : quote;
    }
    fprintf(request->result, "%s%s-r%d: %s", request->event.dry_run ? "would be: " : "",
            ts_text_show(request->arena, quote->reference, 64), quote->revision,
            ts_event_word(h->kind));
    if (h->event.has_amount) {
        fprintf(request->result, " %s%s", h->kind == TS_EVENT_CANCEL ? "keeping " : "",
                ts_desk_money(request, h->event.amount.minor, quote));
    }
    if (h->event.voids != 0) {
        fprintf(request->result, " event %d", (int)h->event.voids);
    }
    fprintf(request->result, "; %s, event %d\n", ts_state_word(quote->state), (int)h->event.id);
    if (bound != NULL) {
        const int64_t balance = ts_life_balance(&h->life);
        fprintf(request->said, "%s: received %s, %s %s\n",
                ts_text_show(request->arena, bound->reference, 64),
                ts_desk_money(request, h->life.paid - h->life.refunded, bound),
                balance >= 0 ? "still to pay" : "owed to the client",
                ts_desk_money(request, balance < 0 ? -balance : balance, bound));
    }
}

static const char *or_nothing(const char *text)
{
    return text == NULL ? "" : text;
}

static ts_status happen(happening *h)
{
    const ts_request *request = h->request;
    ts_status status = h->kind == TS_EVENT_VOID ? find_void(h) : find_quote(h);
    if (status != TS_OK) {
        return status;
    }
    h->event.kind = h->kind;
    h->event.quote = h->quote->id;
    h->event.reference = h->quote->reference;
    h->event.revision = h->quote->revision;
    h->event.currency = h->quote->currency;
    h->event.option = h->event.way = h->event.content = "";
    h->event.stage = or_nothing(request->event.stage);
    h->event.receipt = or_nothing(request->event.receipt);
    h->event.reason = or_nothing(request->event.reason);
    h->event.who = request->who;
    status = fill(h);
    if (status == TS_OK) {
        status = ts_register_add(h->reg, &h->life, &h->event);
    }
    if (status == TS_OK && !request->event.dry_run) {
        status = ts_register_commit(h->reg);
    }
    if (status == TS_OK) {
        say(h);
    }
    return status;
}

static ts_status run(const ts_request *request, ts_event_kind kind)
{
    happening h = {.request = request, .kind = kind};
    ts_status status = ts_desk_day(&h.event.day, request);
    status = ts_status_worse(status, ts_desk_texts(request));
    if (status == TS_OK) {
        status = ts_register_open(&h.reg, request->arena, ts_desk_register_path(request),
                                  TS_REGISTER_WRITE, request->diag);
    }
    if (status == TS_OK) {
        status = happen(&h);
    }
    ts_register_close(h.reg);
    return status;
}

#define ERRAND(word, KIND)                                                                         \
    ts_status ts_errand_##word(const ts_request *request)                                          \
    {                                                                                              \
        return run(request, TS_EVENT_##KIND);                                                      \
    }
ERRAND(accept, ACCEPT)
ERRAND(decline, DECLINE)
ERRAND(paid, PAID)
ERRAND(refund, REFUND)
ERRAND(credit, CREDIT)
ERRAND(bought, BOUGHT)
ERRAND(deliver, DELIVER)
ERRAND(cancel, CANCEL)
ERRAND(void, VOID)
