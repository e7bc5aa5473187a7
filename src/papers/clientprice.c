#include "papers/clientprice.h"
#include "papers/piece.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Why this file exists: between the owner's lines and the client's lies one decision a
 * line, what may be seen. It is made here, before any cell is written. */

typedef struct builder {
    ts_arena *arena;
    ts_client_price *out;
    size_t room;
    ts_detail detail;
} builder;

/* ---- rows ---- */

/* The row of a label; a new one goes to the end of its section. */
static ts_client_row *row_of(builder *b, ts_section section, const char *label)
{
    ts_client_price *out = b->out;
    int at = out->count;
    for (int i = 0; i < out->count; i++) {
        if (out->rows[i].section == section && strcmp(out->rows[i].label, label) == 0) {
            return &out->rows[i];
        }
    }
    while (at > 0 && out->rows[at - 1].section > section) {
        at--;
    }
    out->rows = ts_arena_grow(b->arena, out->rows, (size_t)out->count, &b->room, sizeof *out->rows);
    memmove(out->rows + at + 1, out->rows + at, (size_t)(out->count - at) * sizeof *out->rows);
    size_t options = (size_t)out->option_count;
    out->rows[at] = (ts_client_row){.section = section,
                                    .label = label,
                                    .cells = TS_ARRAY(b->arena, ts_client_cell, options),
                                    .amounts = TS_ARRAY(b->arena, ts_money, options)};
    out->count++;
    return &out->rows[at];
}

static bool put(builder *b, ts_section section, const char *label, int option, ts_money amount)
{
    ts_client_row *row = row_of(b, section, label);
    row->cells[option] = TS_CLIENT_AMOUNT;
    return ts_money_add(&row->amounts[option], row->amounts[option], amount);
}

/* ---- labels ---- */

static const char *section_label(ts_section section)
{
    switch (section) {
    case TS_SECTION_METAL:
        return "Metal";
    case TS_SECTION_MELEE:
        return "Small stones";
    case TS_SECTION_STONES:
        return "Feature stones";
    case TS_SECTION_SERVICES:
        return "Services";
    case TS_SECTION_LABOUR:
    case TS_SECTION_OVERHEAD:
    case TS_SECTION_CONTINGENCY:
    case TS_SECTION_NONE:
    case TS_SECTION_COUNT:
        break;
    }
    return "Making";
}

static const char *melee_label(builder *b, const ts_melee_need *need)
{
    const ts_melee_row *step = need->step;
    if (step == NULL) {
        return "Small stones";
    }
    const char *stones = ts_piece_stones(b->arena, 0, 0, step->origin, step->species);
    const char *text = ts_arena_format(b->arena, "Small %s", stones + strspn(stones, "0 "));
    if (!ts_text_empty(step->colour)) {
        text = ts_arena_format(b->arena, "%s, colour %s", text, step->colour);
    }
    if (!ts_text_empty(step->clarity)) {
        text = ts_arena_format(b->arena, "%s, clarity %s", text, step->clarity);
    }
    return text;
}

static const char *metal_label(builder *b, const ts_costing *costing, const ts_line *line)
{
    const ts_quantities *q = costing->needs;
    if (line->kind == TS_LINE_BOUGHT || line->need < 0 || line->need >= q->metal_count) {
        return ts_piece_capital(b->arena, line->item);
    }
    const ts_metal_need *need = &q->metals[line->need];
    const char *name =
        need->row == NULL || ts_text_empty(need->row->name) ? need->alloy : need->row->name;
    return ts_piece_capital(b->arena, name);
}

static const char *label_of(builder *b, const ts_costing *costing, const ts_line *line)
{
    if (b->detail != TS_DETAIL_LINES) {
        return section_label(line->section);
    }
    switch (line->section) {
    case TS_SECTION_METAL:
        return metal_label(b, costing, line);
    case TS_SECTION_MELEE:
        return melee_label(b, &costing->needs->melee[line->need]);
    case TS_SECTION_STONES:
        return ts_piece_capital(b->arena, line->item);
    case TS_SECTION_SERVICES:
        return ts_piece_capital(b->arena, line->key);
    case TS_SECTION_LABOUR:
    case TS_SECTION_OVERHEAD:
    case TS_SECTION_CONTINGENCY:
    case TS_SECTION_NONE:
    case TS_SECTION_COUNT:
        break;
    }
    return "Making";
}

/* ---- sharing ---- */

static bool is_shared(ts_section section)
{
    return section == TS_SECTION_OVERHEAD || section == TS_SECTION_CONTINGENCY;
}

/* Adds `pool` to the amounts of an option's rows among [first, last), by price. */
static bool share_rows(builder *b, int option, int first, int last, ts_money pool)
{
    size_t count = (size_t)(last - first);
    int64_t *weights = TS_ARRAY(b->arena, int64_t, count + 1);
    int64_t *parts = TS_ARRAY(b->arena, int64_t, count + 1);
    int *which = TS_ARRAY(b->arena, int, count + 1);
    size_t kept = 0;
    for (int i = first; i < last; i++) {
        if (b->out->rows[i].cells[option] == TS_CLIENT_AMOUNT) {
            which[kept] = i;
            weights[kept++] = b->out->rows[i].amounts[option].minor;
        }
    }
    if (kept == 0 || !ts_split(parts, pool.minor, weights, kept)) {
        return false;
    }
    for (size_t k = 0; k < kept; k++) {
        ts_money *amount = &b->out->rows[which[k]].amounts[option];
        if (!ts_money_add(amount, *amount, (ts_money){parts[k]})) {
            return false;
        }
    }
    return true;
}

/* Overhead and contingency go to the sections by their price, in each section to its rows. */
static bool share(builder *b, int option, ts_money pool)
{
    int64_t weights[TS_SECTION_COUNT] = {0}, parts[TS_SECTION_COUNT] = {0};
    int first[TS_SECTION_COUNT + 1], row = 0;
    bool any = false;
    for (int s = 0; s < TS_SECTION_COUNT; s++) {
        first[s] = row;
        for (; row < b->out->count && (int)b->out->rows[row].section == s; row++) {
            weights[s] += b->out->rows[row].amounts[option].minor;
        }
        any = any || weights[s] > 0;
    }
    first[TS_SECTION_COUNT] = row;
    if (!any) {
        return put(b, TS_SECTION_LABOUR, "Making", option, pool);
    }
    if (!ts_split(parts, pool.minor, weights, TS_SECTION_COUNT)) {
        return false;
    }
    for (int s = 0; s < TS_SECTION_COUNT; s++) {
        if (parts[s] != 0 && !share_rows(b, option, first[s], first[s + 1], (ts_money){parts[s]})) {
            return false;
        }
    }
    return true;
}

/* ---- options ---- */

static bool put_line(builder *b, int option, const ts_costing *costing, const ts_line *line,
                     ts_money *pool)
{
    ts_money price;
    if (!ts_figure_money(&price, line->price, costing->exponent)) {
        return false;
    }
    if (is_shared(line->section)) {
        return ts_money_add(pool, *pool, price);
    }
    if (line->client_supplied) {
        if (b->detail == TS_DETAIL_LINES) {
            ts_client_row *row = row_of(b, line->section, label_of(b, costing, line));
            row->cells[option] =
                row->cells[option] == TS_CLIENT_NONE ? TS_CLIENT_YOURS : row->cells[option];
        }
        return true;
    }
    return put(b, line->section, label_of(b, costing, line), option, price);
}

static bool put_option(builder *b, int option, const ts_costing *costing)
{
    ts_money pool = {0};
    if (b->detail == TS_DETAIL_TOTAL) {
        ts_money sum;
        return ts_figure_money(&sum, costing->lines_price, costing->exponent) &&
               put(b, TS_SECTION_LABOUR, "The piece, complete", option, sum);
    }
    for (int i = 0; i < costing->line_count; i++) {
        if (!put_line(b, option, costing, &costing->lines[i], &pool)) {
            return false;
        }
    }
    return pool.minor == 0 || share(b, option, pool);
}

bool ts_client_price_of(ts_client_price *out, ts_arena *arena, const ts_commission_paper *paper,
                        ts_detail detail)
{
    *out = (ts_client_price){.option_count = paper->option_count};
    builder b = {.arena = arena, .out = out, .detail = detail};
    for (int i = 0; i < paper->option_count; i++) {
        if (!put_option(&b, i, paper->options[i])) {
            return false;
        }
    }
    return true;
}
