#include <tallystone/register/reprice.h>

#include "register/holding.h"
#include "register/touch.h"

#include <string.h>

/* The nightly run. Only what is open and touched is costed, from stored quantities: no sheet
 * is read and nothing is measured. */

static const char *const class_words[TS_REPRICE_COUNT] = {
    [TS_REPRICE_FAULT] = "fault",         [TS_REPRICE_EXPIRED] = "expired",
    [TS_REPRICE_UNCHANGED] = "unchanged", [TS_REPRICE_BELOW] = "below floor",
    [TS_REPRICE_BEYOND] = "beyond",       [TS_REPRICE_WITHIN] = "within"};

static const char *const move_words[TS_MOVE_COUNT] = {"metal", "stones", "labour", "services",
                                                      "rates"};

const char *ts_reprice_word(ts_reprice_class one)
{
    return class_words[one] == NULL ? "" : class_words[one];
}

const char *ts_move_word(ts_move move)
{
    return move_words[move];
}

/* Which move a section's price belongs to. */
static ts_move move_of(ts_section section)
{
    switch (section) {
    case TS_SECTION_METAL:
        return TS_MOVE_METAL;
    case TS_SECTION_MELEE:
    case TS_SECTION_STONES:
        return TS_MOVE_STONES;
    case TS_SECTION_LABOUR:
    case TS_SECTION_OVERHEAD:
    case TS_SECTION_CONTINGENCY:
        return TS_MOVE_LABOUR;
    case TS_SECTION_SERVICES:
        return TS_MOVE_SERVICES;
    case TS_SECTION_NONE:
    case TS_SECTION_COUNT:
        break;
    }
    return TS_MOVE_RATES;
}

/* ---- what is open ---- */

static ts_date day_at(const ts_ask *ask, int column)
{
    char text[TS_DATE_TEXT] = "";
    ts_date date = TS_DATE_NONE;
    size_t length = 0;
    const char *bytes = ts_ask_peek(ask, column, &length);
    if (length < sizeof text) {
        memcpy(text, bytes, length);
    }
    return ts_date_read(&date, text) ? date : TS_DATE_NONE;
}

/* A text that is mostly that of the row before, and is then kept once. */
static const char *text_like(const char *before, const ts_ask *ask, ts_arena *keep, int column)
{
    size_t length = 0;
    const char *bytes = ts_ask_peek(ask, column, &length);
    const bool same =
        before != NULL && strlen(before) == length && memcmp(before, bytes, length) == 0;
    return same ? before : ts_arena_copy(keep, bytes, length);
}

static void load_open(ts_repricing *out, ts_arena *keep, ts_register *reg)
{
    /* most have one option: an array that grows by doubling would be copied over and over */
    size_t room = (size_t)ts_db_number(reg->db, "SELECT count(*) FROM standing WHERE state ="
                                                " 'open'");
    const ts_repriced *before = &(ts_repriced){0};
    /* ordered as the index is: nothing is sorted */
    ts_ask *ask = ts_db_ask(
        reg->db, "SELECT q.id, q.reference, q.revision, a.option, a.name, q.currency, q.exponent,"
                 " q.valid_until, a.total, a.margin, q.books FROM standing s CROSS JOIN quote q ON"
                 " q.id = s.quote CROSS JOIN alternative a ON a.quote = s.quote WHERE s.state ="
                 " 'open' ORDER BY s.quote, a.option");
    out->all = room == 0 ? NULL : TS_ARRAY(keep, ts_repriced, room);
    while (ts_ask_row(ask)) {
        out->all = ts_arena_grow(keep, out->all, out->count, &room, sizeof *out->all);
        out->all[out->count] = (ts_repriced){.quote = ts_ask_get_int(ask, 0),
                                             .reference = ts_ask_get_text(ask, keep, 1),
                                             .revision = (int)ts_ask_get_int(ask, 2),
                                             .option = (int)ts_ask_get_int(ask, 3),
                                             .name = text_like(before->name, ask, keep, 4),
                                             .currency = text_like(before->currency, ask, keep, 5),
                                             .exponent = (int)ts_ask_get_int(ask, 6),
                                             .valid_until = day_at(ask, 7),
                                             .was = {ts_ask_get_int(ask, 8)},
                                             .now = {ts_ask_get_int(ask, 8)},
                                             .has_margin = !ts_ask_is_null(ask, 9),
                                             .margin_pct = {ts_ask_get_int(ask, 9)},
                                             .books = ts_ask_get_int(ask, 10),
                                             .why = ""};
        before = &out->all[out->count++];
    }
    ts_ask_end(ask);
}

/* ---- one option ---- */

typedef struct night {
    ts_repricing *out;
    ts_arena *keep;
    ts_register *reg;
    const ts_book *book;
    ts_date on;
    ts_ask *needs;    /* ts_quantities_ask */
    ts_ask *sections; /* word and price of the sections of an option */
} night;

static int64_t minor_of(const ts_costing *costing, const ts_figure *figure)
{
    ts_money money = {0};
    return figure != NULL && ts_figure_money(&money, figure, costing->exponent) ? money.minor : 0;
}

static void split(const night *n, ts_repriced *one, const ts_costing *costing)
{
    int64_t rest = one->now.minor - one->was.minor;
    int64_t moved[TS_SECTION_COUNT] = {0};
    ts_ask_int(n->sections, 1, one->quote);
    ts_ask_int(n->sections, 2, one->option);
    while (ts_ask_row(n->sections)) {
        size_t length = 0;
        const char *word = ts_ask_peek(n->sections, 0, &length);
        for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
            const char *own = ts_list_word(TS_LIST_SECTION, s);
            if (strlen(own) == length && memcmp(own, word, length) == 0) {
                moved[s] = -ts_ask_get_int(n->sections, 1);
            }
        }
    }
    ts_ask_again(n->sections);
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        moved[s] += minor_of(costing, costing->section_price[s]);
        one->moves[move_of((ts_section)s)] += moved[s];
        rest -= moved[s];
    }
    one->moves[TS_MOVE_RATES] += rest;
}

/* Has the total moved further than the policy's tolerance? Without a rule any move has. */
static bool is_beyond(const night *n, const ts_repriced *one)
{
    const ts_policy_row *rule = ts_book_policy(n->book, TS_RULE_TOLERANCE, "reprice", n->on);
    ts_i128 moved = (ts_i128)one->now.minor - one->was.minor;
    moved = moved < 0 ? -moved : moved;
    const int64_t percent_e6 = rule == NULL ? 0 : rule->amount.value.e6;
    const int64_t size = one->was.minor < 0 ? -one->was.minor : one->was.minor;
    return moved * 100 * 1000000 > (ts_i128)size * percent_e6;
}

/* Costs stored quantities in scratch memory; NULL after a fault, whose sentence is kept. */
static const ts_costing *cost(const night *n, int64_t quote, int option, const char **why)
{
    ts_quantities *needs = NULL;
    ts_costing *costing = NULL;
    ts_diag *diag = ts_diag_new(n->reg->arena);
    if (ts_quantities_take(&needs, n->reg, n->needs, quote, option) != TS_OK) {
        return NULL; /* said already: the register is damaged */
    }
    const ts_status status = ts_register_cost(&costing, n->reg->arena, needs, n->book, n->on, diag);
    if (status == TS_OK) {
        return costing;
    }
    const char *first = ts_diag_first(diag);
    *why = ts_arena_text(n->keep, first == NULL ? "it cannot be costed by these books" : first);
    return NULL;
}

static void reprice_one(const night *n, ts_repriced *one)
{
    if (one->is == TS_REPRICE_FAULT) {
        return;
    }
    if (one->valid_until.days < n->on.days) {
        one->is = TS_REPRICE_EXPIRED;
        return;
    }
    if (!one->touched) {
        one->is = TS_REPRICE_UNCHANGED;
        one->has_now = true;
        return;
    }
    const ts_costing *costing = cost(n, one->quote, one->option, &one->why);
    n->out->costed++;
    if (costing == NULL) {
        one->is = TS_REPRICE_FAULT;
        return;
    }
    one->now = (ts_money){minor_of(costing, costing->total)};
    one->has_now = true;
    one->has_margin = costing->has_margin;
    one->margin_pct = costing->margin_pct;
    split(n, one, costing);
    one->is = costing->below_floor ? TS_REPRICE_BELOW
              : is_beyond(n, one)  ? TS_REPRICE_BEYOND
                                   : TS_REPRICE_WITHIN;
}

/* ---- metal still to buy ---- */

typedef struct bound {
    int64_t quote;
    int option;
} bound;

static size_t bound_of(bound **out, ts_register *reg)
{
    bound *list = NULL;
    size_t count = 0, room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT quote, option FROM standing WHERE state = 'accepted'"
                                     " AND bought = 0 ORDER BY quote");
    while (ts_ask_row(ask)) {
        list = ts_arena_grow(reg->arena, list, count, &room, sizeof *list);
        list[count++] = (bound){ts_ask_get_int(ask, 0), (int)ts_ask_get_int(ask, 1)};
    }
    ts_ask_end(ask);
    *out = list;
    return count;
}

static bool is_metal(const ts_line *line)
{
    return line->kind == TS_LINE_METAL || line->kind == TS_LINE_SPRUE ||
           line->kind == TS_LINE_BOUGHT;
}

static void fill_now(ts_exposed *one, const ts_costing *costing)
{
    for (int i = 0; costing != NULL && i < costing->line_count; i++) {
        const ts_line *line = &costing->lines[i];
        if (is_metal(line) && strcmp(line->item, one->item) == 0) {
            one->now = (ts_money){minor_of(costing, line->cost)};
            one->has_now = true;
        }
    }
}

static void expose(const night *n, const bound *of, size_t *room)
{
    const char *why = "";
    const ts_costing *costing = cost(n, of->quote, of->option, &why);
    ts_ask *ask =
        ts_db_ask(n->reg->db,
                  "SELECT q.reference, q.revision, a.name, l.item, l.unit, q.currency, q.exponent,"
                  " l.quantity, l.cost FROM line l JOIN quote q ON q.id = l.quote JOIN alternative"
                  " a ON a.quote = l.quote AND a.option = l.option WHERE l.quote = ?1 AND l.option"
                  " = ?2 AND l.kind IN (0, 1, 2) ORDER BY l.no");
    ts_ask_int(ask, 1, of->quote);
    ts_ask_int(ask, 2, of->option);
    while (ts_ask_row(ask)) {
        ts_exposed one = {.reference = ts_ask_get_text(ask, n->keep, 0),
                          .revision = (int)ts_ask_get_int(ask, 1),
                          .option = ts_ask_get_text(ask, n->keep, 2),
                          .item = ts_ask_get_text(ask, n->keep, 3),
                          .unit = ts_ask_get_text(ask, n->keep, 4),
                          .currency = ts_ask_get_text(ask, n->keep, 5),
                          .exponent = (int)ts_ask_get_int(ask, 6),
                          .quantity = {ts_ask_get_int(ask, 7)},
                          .was = {ts_ask_get_int(ask, 8)}};
        fill_now(&one, costing);
        n->out->exposed = ts_arena_grow(n->keep, n->out->exposed, n->out->exposed_count, room,
                                        sizeof *n->out->exposed);
        n->out->exposed[n->out->exposed_count++] = one;
    }
    ts_ask_end(ask);
}
_Static_assert(TS_LINE_METAL == 0 && TS_LINE_SPRUE == 1 && TS_LINE_BOUGHT == 2,
               "the kinds of line that `expose` asks for by number");

ts_status ts_register_reprice(ts_repricing *out, ts_arena *keep, ts_register *reg,
                              const ts_book *book, ts_date on)
{
    night n = {.out = out, .keep = keep, .reg = reg, .book = book, .on = on};
    bound *list = NULL;
    size_t room = 0;
    *out = (ts_repricing){.books = ""};
    load_open(out, keep, reg);
    const ts_footing today = ts_footing_of(reg->arena, book, on);
    ts_touch_doubtful(out, keep, reg, book, &today, on);
    ts_touch_changed(out, reg, &today);
    out->books = ts_arena_text(keep, out->books);
    const size_t count = bound_of(&list, reg);
    n.needs = ts_quantities_ask(reg);
    n.sections = ts_db_ask(reg->db, "SELECT section, price FROM total WHERE quote = ?1 AND option ="
                                    " ?2 AND item = ''");
    /* what one quote took of memory serves the next; trouble of the register is said in that
     * memory too, so nothing is taken back once there is any */
    for (size_t i = 0; i < out->count && ts_register_status(reg) == TS_OK; i++) {
        const ts_arena_mark mark = ts_arena_mark_of(reg->arena);
        reprice_one(&n, &out->all[i]);
        if (ts_register_status(reg) == TS_OK) {
            ts_arena_rewind(reg->arena, mark);
        }
    }
    for (size_t i = 0; i < count && ts_register_status(reg) == TS_OK; i++) {
        const ts_arena_mark mark = ts_arena_mark_of(reg->arena);
        expose(&n, &list[i], &room);
        if (ts_register_status(reg) == TS_OK) {
            ts_arena_rewind(reg->arena, mark);
        }
    }
    ts_ask_end(n.needs);
    ts_ask_end(n.sections);
    return ts_register_status(reg);
}
