#include "costing/pricing.h"

#include <string.h>

/* What is charged upon other lines: overhead, contingency, services. */

/* A line whose cost is a percentage of an amount: quantity × unit cost / 100. */
static ts_line *percent_line(ts_pricing *p, ts_section section, ts_line_kind kind, const char *item,
                             const ts_figure *amount, const ts_figure *percent)
{
    ts_line *line =
        ts_line_add(p, section, kind, item, ts_list_word(TS_LIST_SECTION, (int)section));
    line->quantity = amount;
    line->unit = "%";
    line->unit_cost = percent;
    line->cost = ts_round_money(p, item, ts_percent_of(p, item, amount, percent));
    return line;
}

static const ts_figure *policy_cell(ts_pricing *p, const ts_policy_row *row, const char *name,
                                    const char *unit)
{
    return ts_rate_cell(p, name, row->amount.value, unit, &row->head, "value");
}

/* ---- overhead ---- */

static void overhead_by_hour(ts_pricing *p, const ts_policy_row *row)
{
    const ts_costing *out = p->out;
    const ts_figure **minutes = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->line_count + 1);
    int count = 0;
    for (int i = 0; i < out->line_count; i++) {
        if (out->lines[i].own_labour) {
            minutes[count++] = out->lines[i].minutes;
        }
    }
    if (count == 0) {
        return;
    }
    const ts_figure *sum =
        ts_figure_of(p->arena, TS_OP_SUM, "minutes of own crafts", "min", minutes, count);
    const ts_figure *hours =
        ts_figure_round(p->arena, "hours of own crafts", "h",
                        ts_figure_two(p->arena, TS_OP_DIV, "hours of own crafts", "h", sum,
                                      ts_constant(p, 60, "minutes an hour")),
                        6, p->mode);
    const char *currency = row->amount.currency;
    const ts_figure *rate =
        policy_cell(p, row, "overhead an hour", currency == NULL ? p->book->currency : currency);
    rate = ts_rate_convert(p, rate, currency, &row->head);
    ts_line *line =
        ts_line_add(p, TS_SECTION_OVERHEAD, TS_LINE_OVERHEAD, "overhead on own hours", "overhead");
    ts_line_cost(p, line, hours, "h", rate);
}

void ts_lines_of_overhead(ts_pricing *p)
{
    for (int s = TS_SECTION_METAL; s <= TS_SECTION_LABOUR; s++) {
        const char *word = ts_list_word(TS_LIST_SECTION, s);
        const ts_policy_row *row = ts_book_policy(p->book, TS_RULE_OVERHEAD, word, p->on);
        const ts_figure *cost = p->out->section_cost[s];
        if (row == NULL || cost == NULL) {
            continue;
        }
        const char *item = ts_arena_format(p->arena, "overhead on %s", word);
        percent_line(p, TS_SECTION_OVERHEAD, TS_LINE_OVERHEAD, item, cost,
                     policy_cell(p, row, item, "%"));
    }
    const ts_policy_row *hour = ts_book_policy(p->book, TS_RULE_OVERHEAD, "hour", p->on);
    if (hour != NULL) {
        overhead_by_hour(p, hour);
    }
}

/* ---- contingency ---- */

static const ts_figure *cost_so_far(ts_pricing *p)
{
    const ts_figure *parts[TS_SECTION_COUNT];
    int count = 0;
    for (int s = TS_SECTION_METAL; s <= TS_SECTION_OVERHEAD; s++) {
        if (p->out->section_cost[s] != NULL) {
            parts[count++] = p->out->section_cost[s];
        }
    }
    if (count == 0) {
        return NULL;
    }
    return ts_figure_of(p->arena, TS_OP_SUM, "cost of metal to overhead", p->currency, parts,
                        count);
}

void ts_lines_of_contingency(ts_pricing *p)
{
    for (int s = TS_SECTION_METAL; s <= TS_SECTION_OVERHEAD + 1; s++) {
        bool whole = s > TS_SECTION_OVERHEAD;
        const char *word = whole ? "cost" : ts_list_word(TS_LIST_SECTION, s);
        const ts_policy_row *row = ts_book_policy(p->book, TS_RULE_CONTINGENCY, word, p->on);
        const ts_figure *cost = whole ? cost_so_far(p) : p->out->section_cost[s];
        if (row == NULL || cost == NULL) {
            continue;
        }
        const char *item = ts_arena_format(p->arena, "contingency on %s", word);
        percent_line(p, TS_SECTION_CONTINGENCY, TS_LINE_CONTINGENCY, item, cost,
                     policy_cell(p, row, item, "%"));
    }
}

/* ---- services ---- */

/* How often a service applies by itself to this piece: once, or once for each stone that
 * it is for; 0 where it does not. */
static int applies(const ts_pricing *p, const ts_service_row *row)
{
    const ts_quantities *needs = p->needs;
    ts_applies word = (ts_applies)ts_list_find(TS_LIST_APPLIES, row->applies);
    int times = 0;
    switch (word) {
    case TS_APPLIES_ALWAYS:
        return 1;
    case TS_APPLIES_ASKED:
    case TS_APPLIES_OFFERED:
        return 0;
    case TS_APPLIES_CLIENT_STONE:
    case TS_APPLIES_STUDIO_STONE:
        for (int i = 0; i < needs->stone_count; i++) {
            bool wanted = needs->stones[i].client == (word == TS_APPLIES_CLIENT_STONE);
            times += wanted ? needs->stones[i].count : 0;
        }
        return times;
    case TS_APPLIES_NONE:
    case TS_APPLIES_COUNT:
        break;
    }
    for (int i = 0; i < needs->metal_count; i++) {
        if (ts_text_same(needs->metals[i].alloy, row->applies)) {
            return 1;
        }
    }
    return 0;
}

/* Declared values of the client's stones; a missing one is a fault where it is needed. */
static const ts_figure *client_value(ts_pricing *p, const ts_service_row *row)
{
    const ts_quantities *needs = p->needs;
    const ts_figure **parts = TS_ARRAY(p->arena, const ts_figure *, (size_t)needs->stone_count + 1);
    int count = 0;
    for (int i = 0; i < needs->stone_count; i++) {
        const ts_stone_need *need = &needs->stones[i];
        if (!need->client) {
            continue;
        }
        ts_place at = {.file = need->whence.file, .line = need->whence.line};
        if (need->declared.of == TS_AMOUNT_NONE) {
            ts_diag_add(p->diag, TS_FAULT_MEASURE_MISSING, &at,
                        "%s: \"declared value\" is missing; the service \"%s\" (services.csv:%d) "
                        "is a percentage of it",
                        need->item, row->service, row->head.line);
            continue;
        }
        const char *name = ts_arena_format(p->arena, "declared value of %s", need->item);
        const ts_figure *each =
            ts_rate_sheet(p, TS_TAKEN_STONE_DECLARED, i, name, need->declared,
                          (ts_whence){.file = need->whence.file, .line = need->declared_line});
        const ts_figure *pieces = ts_rate_taken(
            p, TS_TAKEN_STONE_COUNT, i, ts_arena_format(p->arena, "count of %s", need->item),
            "stones", ts_rate_counted(need->whence.file, need->count_line));
        parts[count++] = ts_round_money(
            p, name, ts_figure_two(p->arena, TS_OP_MUL, name, p->currency, each, pieces));
    }
    if (count == 0) {
        return ts_zero(p, "declared value of client stones");
    }
    return ts_figure_of(p->arena, TS_OP_SUM, "declared value of client stones", p->currency, parts,
                        count);
}

static const ts_figure *prices_above(ts_pricing *p)
{
    const ts_figure *parts[TS_SECTION_COUNT];
    int count = 0;
    for (int s = TS_SECTION_METAL; s < TS_SECTION_SERVICES; s++) {
        if (p->out->section_price[s] != NULL) {
            parts[count++] = p->out->section_price[s];
        }
    }
    if (count == 0) {
        return ts_zero(p, "price of all above");
    }
    return ts_figure_of(p->arena, TS_OP_SUM, "price of all above", p->currency, parts, count);
}

/* The amount that a percentage is taken of; NULL after a fault. */
static const ts_figure *base_of(ts_pricing *p, const ts_service_row *row,
                                const ts_service_need *need)
{
    if (need != NULL && need->has_amount) {
        const char *name = ts_arena_format(p->arena, "amount for %s", row->service);
        return ts_round_money(
            p, name,
            ts_rate_sheet(p, TS_TAKEN_SERVICE_AMOUNT, (int)(need - p->needs->services), name,
                          need->amount,
                          (ts_whence){.file = need->whence.file, .line = need->amount_line}));
    }
    switch ((ts_basis)row->basis) {
    case TS_BASIS_PRICE:
        return prices_above(p);
    case TS_BASIS_CLIENT_STONES:
        return client_value(p, row);
    case TS_BASIS_VALUE:
        return ts_figure_two(p->arena, TS_OP_SUM, "price of all above and client stones",
                             p->currency, prices_above(p), client_value(p, row));
    case TS_BASIS_NONE:
    case TS_BASIS_EACH:
    case TS_BASIS_COUNT:
        break;
    }
    return NULL;
}

static const ts_figure *price_cell(ts_pricing *p, const ts_service_row *row, bool money)
{
    const char *currency = row->currency == NULL ? p->book->currency : row->currency;
    const ts_figure *price = ts_rate_cell(p, ts_arena_format(p->arena, "price of %s", row->service),
                                          row->price, money ? currency : "%", &row->head, "price");
    return money ? ts_rate_convert(p, price, row->currency, &row->head) : price;
}

static void percent_service(ts_pricing *p, const ts_service_row *row, const ts_service_need *need,
                            int index)
{
    const ts_figure *base = base_of(p, row, need);
    if (!ts_pricing_fine(p, base, row->service) || (need == NULL && ts_pricing_nothing(p, base))) {
        return; /* what applies by itself does not charge a part of nothing */
    }
    ts_line *line = percent_line(p, TS_SECTION_SERVICES, TS_LINE_SERVICE, row->service, base,
                                 price_cell(p, row, false));
    line->key = row->service;
    line->need = index;
    ts_line_minimum(p, line, row->minimum, row->currency, &row->head);
}

/* How often a service is done: as the sheet says, or by itself. */
static const ts_figure *times_of(ts_pricing *p, const ts_service_row *row,
                                 const ts_service_need *need, int index)
{
    const char *name = ts_arena_format(p->arena, "count, %s", row->service);
    const ts_whence by_itself = {.says = "applies by itself"};
    if (need != NULL) {
        const int line = need->count_line > 0 ? need->count_line : need->whence.line;
        return ts_rate_taken(p, TS_TAKEN_SERVICE_COUNT, index, name, "each",
                             ts_rate_counted(need->whence.file, line));
    }
    switch ((ts_applies)ts_list_find(TS_LIST_APPLIES, row->applies)) {
    case TS_APPLIES_CLIENT_STONE:
        return ts_rate_taken(p, TS_TAKEN_CLIENT_STONES, 0, name, "each", by_itself);
    case TS_APPLIES_STUDIO_STONE:
        return ts_rate_taken(p, TS_TAKEN_STUDIO_STONES, 0, name, "each", by_itself);
    case TS_APPLIES_NONE:
    case TS_APPLIES_ALWAYS:
    case TS_APPLIES_ASKED:
    case TS_APPLIES_OFFERED:
    case TS_APPLIES_COUNT:
        break;
    }
    return ts_rate_taken(p, TS_TAKEN_ONCE, 0, name, "each", by_itself);
}

static void service_line(ts_pricing *p, const ts_service_row *row, const ts_service_need *need,
                         int index)
{
    if (row->basis != TS_BASIS_EACH) {
        percent_service(p, row, need, index);
        return;
    }
    const ts_figure *price = price_cell(p, row, true);
    if (!ts_pricing_fine(p, price, row->service)) {
        return;
    }
    const ts_figure *count = times_of(p, row, need, index);
    ts_line *line =
        ts_line_add(p, TS_SECTION_SERVICES, TS_LINE_SERVICE, row->service, row->service);
    line->need = index;
    ts_line_cost(p, line, count, "each", price);
    ts_line_minimum(p, line, row->minimum, row->currency, &row->head);
}

static bool asked_for(const ts_pricing *p, const char *service)
{
    for (int i = 0; i < p->needs->service_count; i++) {
        if (ts_text_same(p->needs->services[i].service, service)) {
            return true;
        }
    }
    return false;
}

/* Of the rows of one service and one `applies` only the latest begun counts. */
static bool superseded(const ts_pricing *p, const ts_service_row *row)
{
    for (size_t i = 0; i < p->book->services.count; i++) {
        const ts_service_row *other = &p->book->services.at[i];
        if (other != row && ts_text_same(other->service, row->service) &&
            ts_text_same(other->applies, row->applies) && ts_book_in_force(&other->head, p->on) &&
            other->head.from.days > row->head.from.days) {
            return true;
        }
    }
    return false;
}

static void offer(ts_pricing *p, const ts_service_row *row)
{
    ts_costing *out = p->out;
    if (row->basis != TS_BASIS_EACH) {
        return; /* a percentage has no price until it is asked for */
    }
    const ts_figure *price = ts_round_money(p, row->service, price_cell(p, row, true));
    if (!ts_pricing_fine(p, price, row->service)) {
        return;
    }
    out->offered[out->offered_count++] =
        (ts_offered){.service = row->service, .note = row->head.note, .price = price, .row = row};
}

void ts_lines_of_services(ts_pricing *p)
{
    const ts_book *book = p->book;
    p->out->offered = TS_ARRAY(p->arena, ts_offered, book->services.count + 1);
    for (int i = 0; i < p->needs->service_count; i++) {
        const ts_service_need *need = &p->needs->services[i];
        const ts_service_row *row = ts_book_service(book, need->service, p->on);
        if (row == NULL) {
            ts_place at = {.file = need->whence.file, .line = need->whence.line};
            ts_diag_add(p->diag, TS_FAULT_BOOK_GAP, &at,
                        "services.csv has no row in force for the service \"%s\"", need->service);
            continue;
        }
        service_line(p, row, need, i);
    }
    for (size_t i = 0; i < book->services.count; i++) {
        const ts_service_row *row = &book->services.at[i];
        if (!ts_book_in_force(&row->head, p->on) || superseded(p, row) ||
            asked_for(p, row->service)) {
            continue;
        }
        if (ts_list_find(TS_LIST_APPLIES, row->applies) == TS_APPLIES_OFFERED) {
            offer(p, row);
        } else if (applies(p, row) > 0) {
            service_line(p, row, NULL, -1);
        }
    }
}
