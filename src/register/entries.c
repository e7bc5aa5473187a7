#include <tallystone/register/entries.h>

#include <tallystone/base/text.h>

#include <assert.h>
#include <string.h>

/* The bookkeeper's view of a life. It is played once in the order of writing, with a few
 * tallies; everything that an entry does to them stands in the entry, so that a void is the
 * same entry with every sign turned. */

typedef struct ledger {
    ts_arena *arena;
    const ts_life *life;
    const ts_book *book;
    ts_price_fn *price_of;
    void *ctx;
    ts_entry *entries;
    const ts_kept_price *price; /* of the quote that the event is of */
    ts_rounding mode;
    int *options; /* the accepted one, by quote */
    int64_t held, deposits, receivable, credited;
    int delivered;
    ts_entry_tax *declared; /* by tax, all that was declared so far */
    int declared_count;
    size_t declared_room;
    bool overflow;
} ledger;

static bool same_tax(const ts_entry_tax *one, const ts_entry_tax *other)
{
    return one->rate.e6 == other->rate.e6 && strcmp(one->region, other->region) == 0 &&
           strcmp(one->category, other->category) == 0 && strcmp(one->name, other->name) == 0;
}

static ts_entry_tax tax_of(const ts_kept_tax *kept)
{
    return (ts_entry_tax){.region = kept->region,
                          .category = kept->category,
                          .name = kept->name,
                          .rate = kept->rate,
                          .of_quote = true};
}

/* What was declared of a tax so far; zeros where nothing was. */
static ts_entry_tax declared_of(const ledger *l, const ts_entry_tax *like)
{
    for (int i = 0; i < l->declared_count; i++) {
        if (same_tax(&l->declared[i], like)) {
            return l->declared[i];
        }
    }
    ts_entry_tax none = *like;
    none.base = none.tax = 0;
    return none;
}

/* ---- building an entry ---- */

static void post(ledger *l, ts_entry *entry, ts_posting posting)
{
    if (posting.minor == 0) {
        return;
    }
    entry->postings = ts_arena_grow(l->arena, entry->postings, (size_t)entry->posting_count,
                                    &entry->posting_room, sizeof *entry->postings);
    entry->postings[entry->posting_count++] = posting;
}

static void post_to(ledger *l, ts_entry *entry, ts_account account, const char *word, int64_t minor)
{
    post(l, entry, (ts_posting){.account = account, .word = word, .service = "", .minor = minor});
}

static void add_tax(ledger *l, ts_entry *entry, ts_entry_tax tax)
{
    entry->taxes = ts_arena_grow(l->arena, entry->taxes, (size_t)entry->tax_count, &entry->tax_room,
                                 sizeof *entry->taxes);
    entry->taxes[entry->tax_count++] = tax;
}

/* A row of tax, and its posting. */
static void declare(ledger *l, ts_entry *entry, ts_entry_tax tax)
{
    if (tax.base == 0 && tax.tax == 0) {
        return;
    }
    add_tax(l, entry, tax);
    post_to(l, entry, TS_ACCOUNT_TAX, tax.name, -tax.tax);
}

/* Only of an event that needs_price: the others are entered without. */
static const ts_kept_price *price_of(const ledger *l)
{
    assert(l->price != NULL);
    return l->price;
}

static int64_t balance_of(const ts_entry *entry)
{
    int64_t sum = 0;
    for (int i = 0; i < entry->posting_count; i++) {
        sum += entry->postings[i].minor;
    }
    return sum;
}

/* amount × part / whole, rounded once. */
static int64_t share_of(ledger *l, int64_t amount, int64_t part, int64_t whole)
{
    int64_t share = 0;
    if (whole != 0 && !ts_div_round(&share, (ts_i128)amount * part, whole, l->mode)) {
        l->overflow = true;
    }
    return share;
}

/* No more than what is left to be declared. */
static int64_t cut(int64_t share, int64_t whole, int64_t left)
{
    if (whole < 0) {
        return share;
    }
    left = left < 0 ? 0 : left;
    return share < left ? share : left;
}

/* ---- tax on what comes in and on what is given back ---- */

static void declare_payment(ledger *l, ts_entry *entry, int64_t amount)
{
    const ts_kept_price *price = price_of(l);
    const bool is_last = l->held + amount >= price->total;
    for (int i = 0; i < price->tax_count; i++) {
        const ts_kept_tax *kept = &price->taxes[i];
        ts_entry_tax tax = tax_of(kept);
        const ts_entry_tax before = declared_of(l, &tax);
        tax.base = kept->base - before.base;
        tax.tax = kept->amount - before.tax;
        if (!is_last) {
            tax.base = cut(share_of(l, amount, kept->base, price->total), kept->base, tax.base);
            tax.tax = cut(share_of(l, amount, kept->amount, price->total), kept->amount, tax.tax);
        }
        if (kept->on_payment) {
            declare(l, entry, tax);
        }
    }
}

static const ts_kept_tax *kept_of(const ledger *l, const ts_entry_tax *like)
{
    for (int i = 0; i < price_of(l)->tax_count; i++) {
        const ts_entry_tax tax = tax_of(&price_of(l)->taxes[i]);
        if (same_tax(&tax, like)) {
            return &price_of(l)->taxes[i];
        }
    }
    return NULL;
}

/* Was all that is declared declared by the taxes of this quote? Not after a revision that is
 * taxed otherwise. */
static bool is_of_quote(const ledger *l)
{
    for (int i = 0; i < l->declared_count; i++) {
        const ts_entry_tax *one = &l->declared[i];
        if ((one->base != 0 || one->tax != 0) && kept_of(l, one) == NULL) {
            return false;
        }
    }
    return true;
}

/* Takes back what was declared on an amount that is given back, of so much that is held. */
static void take_back(ledger *l, ts_entry *entry, int64_t amount, int64_t held)
{
    const bool plain = is_of_quote(l);
    for (int i = 0; i < l->declared_count; i++) {
        ts_entry_tax tax = l->declared[i];
        const ts_kept_tax *kept = kept_of(l, &tax);
        if (amount < held && plain && kept != NULL) {
            const int64_t total = price_of(l)->total;
            tax.base = cut(share_of(l, amount, kept->base, total), kept->base, tax.base);
            tax.tax = cut(share_of(l, amount, kept->amount, total), kept->amount, tax.tax);
        } else if (amount < held) {
            tax.base = share_of(l, amount, tax.base, held);
            tax.tax = share_of(l, amount, tax.tax, held);
        }
        tax.base = -tax.base;
        tax.tax = -tax.tax;
        declare(l, entry, tax);
    }
}

/* ---- the events ---- */

static void enter_paid(ledger *l, ts_entry *entry)
{
    const int64_t amount = entry->event->amount.minor;
    post_to(l, entry, TS_ACCOUNT_WAY, entry->event->way, amount);
    entry->held = amount;
    if (l->delivered > 0) {
        post_to(l, entry, TS_ACCOUNT_RECEIVABLE, "", -amount);
        return;
    }
    declare_payment(l, entry, amount);
    post_to(l, entry, TS_ACCOUNT_DEPOSITS, "", -balance_of(entry));
}

static void enter_refund(ledger *l, ts_entry *entry)
{
    const int64_t amount = entry->event->amount.minor;
    post_to(l, entry, TS_ACCOUNT_WAY, entry->event->way, -amount);
    take_back(l, entry, amount, l->held);
    post_to(l, entry, TS_ACCOUNT_DEPOSITS, "", -balance_of(entry));
    entry->held = -amount;
}

/* The tax within what is kept: kept × rate / (100 + all rates). */
static void declare_retained(ledger *l, ts_entry *entry, int64_t kept)
{
    const int64_t hundred = 100000000;
    int64_t rates = hundred, left = kept;
    bool any = false;
    int first = entry->tax_count;
    for (size_t i = 0; i < l->book->taxes.count; i++) {
        const ts_tax_row *row = &l->book->taxes.at[i];
        if (ts_text_same(row->region, entry->quote->region) &&
            ts_text_same(row->category, "retained") &&
            ts_book_current(l->book, &row->head, entry->event->day)) {
            rates += row->rate.e6;
        }
    }
    for (size_t i = 0; i < l->book->taxes.count; i++) {
        const ts_tax_row *row = &l->book->taxes.at[i];
        if (!ts_text_same(row->region, entry->quote->region) ||
            !ts_text_same(row->category, "retained") ||
            !ts_book_current(l->book, &row->head, entry->event->day)) {
            continue;
        }
        const int64_t tax = share_of(l, kept, row->rate.e6, rates);
        any = true;
        left -= tax;
        declare(l, entry,
                (ts_entry_tax){.region = row->region,
                               .category = row->category,
                               .name = row->name,
                               .rate = row->rate,
                               .base = kept,
                               .tax = tax});
    }
    for (int i = first; i < entry->tax_count; i++) {
        entry->taxes[i].base = left;
    }
    if (!any) {
        entry->why = ts_arena_format(l->arena,
                                     "taxes.csv has no row in force for the region \"%s\" and "
                                     "\"retained\": what is kept of a cancelled order needs one",
                                     ts_text_show(l->arena, entry->quote->region, 60));
    }
}

static void enter_cancel(ledger *l, ts_entry *entry)
{
    const int64_t kept = entry->event->has_amount ? entry->event->amount.minor : 0;
    if (kept == 0) {
        return;
    }
    take_back(l, entry, kept, l->held);
    post_to(l, entry, TS_ACCOUNT_DEPOSITS, "", kept - balance_of(entry));
    declare_retained(l, entry, kept);
    post_to(l, entry, TS_ACCOUNT_RETAINED, "", -balance_of(entry));
    entry->held = -kept;
}

static void enter_deliver(ledger *l, ts_entry *entry)
{
    const ts_kept_price *price = price_of(l);
    post_to(l, entry, TS_ACCOUNT_DEPOSITS, "", -l->deposits);
    for (int i = 0; i < l->declared_count; i++) { /* by a rate that is the quote's no more */
        ts_entry_tax tax = l->declared[i];
        if (kept_of(l, &tax) == NULL) {
            tax.base = -tax.base;
            tax.tax = -tax.tax;
            declare(l, entry, tax);
        }
    }
    for (int i = 0; i < price->tax_count; i++) {
        ts_entry_tax tax = tax_of(&price->taxes[i]);
        const ts_entry_tax before = declared_of(l, &tax);
        tax.base = price->taxes[i].base - before.base;
        tax.tax = price->taxes[i].amount - before.tax;
        declare(l, entry, tax);
    }
    for (int i = 0; i < price->sale_count; i++) {
        const ts_kept_sale *sale = &price->sales[i];
        post(l, entry,
             (ts_posting){.account = TS_ACCOUNT_SALES,
                          .word = sale->section,
                          .service = sale->service,
                          .minor = -sale->amount});
    }
    post_to(l, entry, TS_ACCOUNT_RECEIVABLE, "", -balance_of(entry));
    entry->delivered = 1;
}

static void enter_credit(ledger *l, ts_entry *entry)
{
    const int64_t amount = entry->event->amount.minor;
    const int64_t open = l->receivable > 0 ? l->receivable : 0;
    const int64_t off = amount < open ? amount : open;
    take_back(l, entry, amount, price_of(l)->total - l->credited);
    post_to(l, entry, TS_ACCOUNT_SALES, "", amount - balance_of(entry));
    post_to(l, entry, TS_ACCOUNT_RECEIVABLE, "", -off);
    post_to(l, entry, TS_ACCOUNT_WAY, "bank", off - amount);
    entry->credited = amount;
}

static int64_t posted_to(const ts_entry *entry, ts_account account)
{
    int64_t sum = 0;
    for (int i = 0; i < entry->posting_count; i++) {
        sum += entry->postings[i].account == account ? entry->postings[i].minor : 0;
    }
    return sum;
}

static const ts_entry *voided_by(const ledger *l, const ts_event *event)
{
    for (size_t i = 0; i < l->life->event_count; i++) {
        if (l->life->events[i].id == event->voids && l->entries[i].event != NULL) {
            return &l->entries[i];
        }
    }
    return NULL;
}

static void turn_postings(ledger *l, ts_entry *entry, const ts_entry *target, bool all)
{
    for (int i = 0; i < target->posting_count; i++) {
        ts_posting posting = target->postings[i];
        posting.minor = -posting.minor;
        if (all || posting.account == TS_ACCOUNT_WAY) {
            post(l, entry, posting);
        }
    }
}

static void enter_void(ledger *l, ts_entry *entry)
{
    const ts_entry *target = voided_by(l, entry->event);
    if (target == NULL) {
        return;
    }
    entry->rate_day = target->rate_day;
    entry->held = -target->held;
    entry->credited = -target->credited;
    entry->delivered = -target->delivered;
    /* where the money is now: in the sale once there is one, else in the deposits */
    const ts_event_kind kind = target->event->kind;
    const ts_account now = l->delivered > 0 ? TS_ACCOUNT_RECEIVABLE : TS_ACCOUNT_DEPOSITS;
    const bool moved =
        (kind == TS_EVENT_PAID || kind == TS_EVENT_REFUND) && posted_to(target, now) == 0;
    turn_postings(l, entry, target, !moved);
    if (moved) {
        post_to(l, entry, now, "", -balance_of(entry));
        return;
    }
    entry->why = target->why;
    for (int i = 0; i < target->tax_count; i++) {
        ts_entry_tax tax = target->taxes[i];
        tax.base = -tax.base;
        tax.tax = -tax.tax;
        add_tax(l, entry, tax);
    }
    const int64_t left = l->receivable + posted_to(entry, TS_ACCOUNT_RECEIVABLE);
    if (target->delivered > 0 && left != 0) { /* what came in since is a deposit again */
        post_to(l, entry, TS_ACCOUNT_RECEIVABLE, "", -left);
        post_to(l, entry, TS_ACCOUNT_DEPOSITS, "", left);
    }
}

/* ---- playing ---- */

static void apply(ledger *l, const ts_entry *entry)
{
    l->held += entry->held;
    l->credited += entry->credited;
    l->delivered += entry->delivered;
    for (int i = 0; i < entry->posting_count; i++) {
        const ts_posting *posting = &entry->postings[i];
        l->deposits += posting->account == TS_ACCOUNT_DEPOSITS ? posting->minor : 0;
        l->receivable += posting->account == TS_ACCOUNT_RECEIVABLE ? posting->minor : 0;
    }
    for (int i = 0; i < entry->tax_count; i++) {
        const ts_entry_tax *tax = &entry->taxes[i];
        int at = 0;
        if (!tax->of_quote) {
            continue;
        }
        while (at < l->declared_count && !same_tax(&l->declared[at], tax)) {
            at++;
        }
        if (at == l->declared_count) {
            l->declared = ts_arena_grow(l->arena, l->declared, (size_t)l->declared_count,
                                        &l->declared_room, sizeof *l->declared);
            l->declared[l->declared_count++] = *tax;
        } else {
            l->declared[at].base += tax->base;
            l->declared[at].tax += tax->tax;
        }
    }
}

static void enter(ledger *l, ts_entry *entry)
{
    switch (entry->event->kind) {
    case TS_EVENT_PAID:
        enter_paid(l, entry);
        return;
    case TS_EVENT_REFUND:
        enter_refund(l, entry);
        return;
    case TS_EVENT_CREDIT:
        enter_credit(l, entry);
        return;
    case TS_EVENT_DELIVER:
        enter_deliver(l, entry);
        return;
    case TS_EVENT_CANCEL:
        enter_cancel(l, entry);
        return;
    case TS_EVENT_VOID:
        enter_void(l, entry);
        return;
    case TS_EVENT_ISSUE:
    case TS_EVENT_REVISE:
    case TS_EVENT_ACCEPT:
    case TS_EVENT_DECLINE:
    case TS_EVENT_BOUGHT:
    case TS_EVENT_NONE:
    case TS_EVENT_COUNT:
        return;
    }
}

static int quote_at(const ts_life *life, int64_t id)
{
    for (int i = 0; i < life->count; i++) {
        if (life->quotes[i].id == id) {
            return i;
        }
    }
    return -1;
}

static void note_accepted(ledger *l, const ts_event *event, int at)
{
    const ts_quote *quote = &l->life->quotes[at];
    for (int i = 0; event->kind == TS_EVENT_ACCEPT && i < quote->option_count; i++) {
        if (strcmp(quote->options[i].name, event->option) == 0) {
            l->options[at] = i;
        }
    }
}

ts_rounding ts_entries_rounding(const ts_book *book, ts_date day)
{
    const ts_policy_row *half =
        book == NULL ? NULL : ts_book_policy(book, TS_RULE_ROUNDING, "half", day);
    return half != NULL && ts_text_same(half->word, "to even") ? TS_HALF_EVEN : TS_HALF_AWAY;
}

static bool needs_price(ts_event_kind kind)
{
    return kind == TS_EVENT_PAID || kind == TS_EVENT_REFUND || kind == TS_EVENT_CREDIT ||
           kind == TS_EVENT_DELIVER || kind == TS_EVENT_CANCEL;
}

ts_status ts_entries_of(ts_entry **out, ts_arena *arena, const ts_life *life, const ts_book *book,
                        ts_price_fn *price, void *ctx)
{
    ledger l = {.arena = arena, .life = life, .book = book, .price_of = price, .ctx = ctx};
    l.entries = TS_ARRAY(arena, ts_entry, life->event_count + 1);
    l.options = TS_ARRAY(arena, int, (size_t)life->count + 1);
    *out = l.entries;
    for (size_t i = 0; i < life->event_count; i++) {
        const ts_event *event = &life->events[i];
        ts_entry *entry = &l.entries[i];
        const int at = quote_at(life, event->quote);
        *entry = (ts_entry){.event = event, .rate_day = event->day};
        if (at < 0) {
            continue; /* --verify names it */
        }
        entry->quote = &life->quotes[at];
        note_accepted(&l, event, at);
        l.mode = ts_entries_rounding(book, event->day);
        l.price = needs_price(event->kind) ? l.price_of(l.ctx, event->quote, l.options[at]) : NULL;
        if (needs_price(event->kind) && l.price == NULL) {
            return TS_FAULTY;
        }
        enter(&l, entry);
        apply(&l, entry);
    }
    return l.overflow ? TS_OVERFLOW : TS_OK;
}
