#include "papers/margin.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>
#include <tallystone/costing/steps.h>

#include <string.h>

/* The sheet Lines: every line of every option, one block an option, then its totals down
 * to the margin. Cells are placed first and written afterwards, so that a formula can name
 * cells that stand below it. */

#define HEADER_ROW 3
/* Rows stand close, so that an option's block fits a printed page where it can. */
#define ROW_PT 12.75
#define STRONG_PT 15

static const double widths_mm[TS_LINES_COLUMNS] = {8, 24, 47, 23, 15, 23, 20, 26, 20, 19, 150};

#define PRINTED_MM 225.0 /* all but the last */

typedef struct pending {
    const ts_figure *figure;
    int row, column;
    bool negative;
    ts_xlsx_style style;
} pending;

typedef struct writer {
    ts_margin_paper *m;
    const ts_costing *costing;
    ts_margin_rows *rows;
    int option, row, first_row;
    pending *cells;
    size_t count, room;
    const ts_amount_named *amounts; /* in the order of their numbers */
    size_t amount_count;
    double *wide_mm; /* of each column, by the widest figure in it */
} writer;

/* ---- cells ---- */

static ts_xlsx_style figures(const char *format)
{
    return (ts_xlsx_style){.align = TS_ALIGN_RIGHT, .format = format};
}

static ts_xlsx_style money_style(const writer *w)
{
    return figures(ts_xlsx_money_format(w->costing->exponent));
}

static ts_xlsx_style rate_style(const ts_figure *figure)
{
    return figures(figure == NULL ? NULL : ts_margin_rate_format(figure->value));
}

static ts_xlsx_style quantity_style(const writer *w, const ts_figure *figure, const char *unit)
{
    int exponent = w->costing->exponent;
    return figures(figure == NULL ? NULL
                                  : ts_margin_quantity_format(figure->value, unit, exponent));
}

static void put(writer *w, const ts_figure *figure, int column, bool negative, ts_xlsx_style style)
{
    if (figure == NULL) {
        return;
    }
    w->cells = ts_arena_grow(w->m->arena, w->cells, w->count, &w->room, sizeof *w->cells);
    w->cells[w->count++] = (pending){figure, w->row, column, negative, style};
    ts_ledger_place_at(w->m->ledger, figure, w->row, column, negative);
}

static void write_cells(writer *w)
{
    for (size_t i = 0; i < w->count; i++) {
        const pending *cell = &w->cells[i];
        ts_ratio value = cell->figure->value;
        value.num = cell->negative ? -value.num : value.num;
        ts_margin_widen(&w->wide_mm[cell->column], value, cell->style.format);
        const char *formula = ts_ledger_formula(w->m->ledger, cell->figure, cell->negative);
        if (cell->figure->op == TS_OP_CONSTANT) {
            ts_dec number;
            if (ts_figure_dec(&number, cell->figure)) {
                ts_xlsx_number(w->m->lines, cell->row, cell->column, number, cell->style);
            }
            continue;
        }
        ts_xlsx_formula(w->m->lines, cell->row, cell->column, formula, value, cell->style);
    }
}

/* Gives the row the number by which `why` knows the amount of this name; lines and old metal
 * come before the totals, so what is named like one is looked for from the end. */
static void number_row(writer *w, const char *name, const ts_figure *figure, bool ruled)
{
    for (size_t i = w->amount_count; i > 0; i--) {
        if (w->amounts[i - 1].figure == figure && strcmp(w->amounts[i - 1].name, name) == 0) {
            ts_margin_link_add(w->m, w->row, (int)i, figure, ruled);
            return;
        }
    }
}

static void label(writer *w, int column, const char *text, ts_xlsx_style style)
{
    style.wrap = true;
    ts_xlsx_text(w->m->lines, w->row, column, text, style);
}

static double height_for(const char *text, int size_pt, bool bold, int column)
{
    return ts_typeset_height_pt(ts_typeset_lines(text, size_pt, bold, widths_mm[column]), size_pt);
}

static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* ---- origins ---- */

/* The rows that a figure rests on, as far as the lines already written: those say theirs. */
typedef struct origin {
    const ts_figure **met;
    size_t count, room;
    bool lines;
} origin;

static bool has_row(const origin *o, const ts_figure *figure)
{
    for (size_t i = 0; i < o->count; i++) {
        const ts_figure *met = o->met[i];
        if (met == figure || (met->line == figure->line && strcmp(met->file, figure->file) == 0)) {
            return true;
        }
    }
    return false;
}

static void add_origin(writer *w, origin *o, const ts_figure *figure)
{
    if (figure->arg_count > 0) {
        const ts_ledger_place *place = ts_ledger_find(w->m->ledger, figure);
        if (place != NULL && place->figure == figure) {
            o->lines = true;
            return;
        }
    }
    if (figure->file != NULL && figure->line > 0 && !has_row(o, figure)) {
        o->met = ts_arena_grow(w->m->arena, o->met, o->count, &o->room, sizeof *o->met);
        o->met[o->count++] = figure;
    }
    for (int i = 0; i < figure->arg_count; i++) {
        add_origin(w, o, figure->args[i]);
    }
}

static const char *origin_of(writer *w, const ts_figure *const *figures_of, int count)
{
    origin o = {0};
    const char *text = "";
    for (int i = 0; i < count; i++) {
        add_origin(w, &o, figures_of[i]);
    }
    for (size_t i = 0; i < o.count; i++) {
        text = ts_arena_format(w->m->arena, "%s%s%s:%d", text, i == 0 ? "" : " ", o.met[i]->file,
                               o.met[i]->line);
    }
    return o.lines
               ? ts_arena_format(w->m->arena, "%s%slines above", text, text[0] == '\0' ? "" : ", ")
               : text;
}

/* ---- lines ---- */

/* A line's own margin, as the owner reads it. */
static void put_margin(writer *w, const ts_line *line)
{
    char price[24], cost[24];
    ts_ratio percent;
    ts_xlsx_cell(price, w->row, TS_LINES_PRICE, false);
    ts_xlsx_cell(cost, w->row, TS_LINES_COST, false);
    const char *formula = ts_arena_format(w->m->arena, "=IF(%s>0,ROUND((%s-%s)/%s*100,2),\"\")",
                                          price, price, cost, price);
    if (ts_margin_percent(&percent, line->price->value, line->cost->value)) {
        ts_xlsx_formula(w->m->lines, w->row, TS_LINES_MARGIN, formula, percent, figures("0.00"));
    } else {
        ts_xlsx_formula_text(w->m->lines, w->row, TS_LINES_MARGIN, formula, "", figures("0.00"));
    }
}

/* The rule's words, with its percentage live where it has one of its own. */
static void put_rule_words(writer *w, const ts_line *line, ts_xlsx_style style)
{
    char value[TS_DECIMAL_TEXT];
    const ts_policy_row *row = line->rule_row;
    const char *words = line->rule == NULL ? "" : line->rule;
    if (row == NULL) {
        label(w, TS_LINES_RULE, words, style);
        return;
    }
    const char *kind = ts_list_word(TS_LIST_RULE, row->rule);
    const char *simple =
        ts_arena_format(w->m->arena, "%s %s %%", kind, ts_dec_text(value, row->amount.value));
    if (strcmp(words, simple) != 0) {
        label(w, TS_LINES_RULE, words, style);
        return;
    }
    const ts_figure *percent = ts_figure_book(
        w->m->arena, ts_arena_format(w->m->arena, "%s on %s", kind, row->subject),
        row->amount.value, "%", ts_book_file_name(row->head.file), row->head.line, "value");
    if (percent != NULL) {
        ts_xlsx_formula_text(w->m->lines, w->row, TS_LINES_RULE,
                             ts_arena_format(w->m->arena, "=\"%s \"&%s&\" %%\"", kind,
                                             ts_ledger_call(w->m->ledger, percent, true)),
                             words, style);
    }
}

/* A line's item. That its least price counts is live: another rate may lift it over. */
static void put_item(writer *w, const ts_line *line, const char *item)
{
    static const char said[] = " (minimum)";
    enum { MOST_LITERAL = 200 }; /* a formula's text holds 255 */
    const ts_xlsx_style style = {.wrap = true};
    const ts_figure *cost = line->cost;
    size_t length = strlen(item), end = sizeof said - 1;
    if (cost == NULL || cost->op != TS_OP_MAX || cost->arg_count != 2 || length > MOST_LITERAL ||
        strchr(item, '"') != NULL) {
        label(w, TS_LINES_ITEM, item, style);
        return;
    }
    bool at_least = length > end && strcmp(item + length - end, said) == 0;
    ts_xlsx_formula_text(w->m->lines, w->row, TS_LINES_ITEM,
                         ts_arena_format(w->m->arena, "=\"%.*s\"&IF(%s>%s,\"%s\",\"\")",
                                         (int)(at_least ? length - end : length), item,
                                         ts_ledger_call(w->m->ledger, cost->args[1], true),
                                         ts_ledger_call(w->m->ledger, cost->args[0], true), said),
                         item, style);
}

static void put_line(writer *w, const ts_line *line, bool new_section)
{
    ts_xlsx_style unit_style = {.indent = 1};
    ts_xlsx_style small = {.size_pt = TS_MARGIN_SMALL_PT, .wrap = true, .indent = 1};
    const ts_figure *all[] = {line->quantity, line->unit_cost, line->cost, line->price};
    const char *item = ts_text_show(w->m->arena, line->item, 300);
    const char *from = origin_of(w, all, 4);
    const char *rule = line->rule == NULL ? "" : line->rule;
    number_row(w, line->item, line->price, false);
    if (new_section) {
        ts_xlsx_style begins = {.wrap = true, .indent = 1};
        label(w, TS_LINES_SECTION, ts_list_word(TS_LIST_SECTION, (int)line->section), begins);
    }
    label(w, TS_LINES_UNIT, line->unit, unit_style);
    put_rule_words(w, line, small);
    label(w, TS_LINES_ORIGIN, from, small);
    put(w, line->quantity, TS_LINES_QUANTITY, false, quantity_style(w, line->quantity, line->unit));
    put(w, line->unit_cost, TS_LINES_UNIT_COST, false, rate_style(line->unit_cost));
    put(w, line->cost, TS_LINES_COST, false, money_style(w));
    put(w, line->price, TS_LINES_PRICE, false, money_style(w));
    put_item(w, line, item);
    put_margin(w, line);
    double height_pt = height_for(item, 10, false, TS_LINES_ITEM);
    height_pt = larger(height_pt, height_for(from, TS_MARGIN_SMALL_PT, false, TS_LINES_ORIGIN));
    height_pt = larger(height_pt, height_for(rule, TS_MARGIN_SMALL_PT, false, TS_LINES_RULE));
    ts_xlsx_height(w->m->lines, w->row, height_pt);
    w->row++;
}

/* ---- totals ---- */

static void rule_row(writer *w)
{
    for (int c = 0; c < TS_LINES_COLUMNS; c++) {
        ts_xlsx_blank(w->m->lines, w->row, c, (ts_xlsx_style){.rule_above = true});
    }
}

/* What `why` calls a total that the sheet names more fully. */
static const char *known_as(const char *item)
{
    static const char stage[] = "stage: ";
    if (strncmp(item, stage, sizeof stage - 1) == 0) {
        return item + sizeof stage - 1;
    }
    return strcmp(item, "raised to the minimum") == 0 ? "minimum" : item;
}

/* One total in the price column (cost: in its own); nothing where there is none. */
static void total(writer *w, const char *item, const ts_figure *figure, int column, bool negative,
                  bool strong)
{
    if (figure == NULL) {
        return;
    }
    ts_xlsx_style style = money_style(w);
    ts_xlsx_style words = {.bold = strong, .rule_above = strong};
    style.bold = style.rule_above = strong;
    if (strong) {
        rule_row(w);
    }
    number_row(w, known_as(item), figure, strong);
    label(w, TS_LINES_ITEM, item, words);
    put(w, figure, column, negative, style);
    ts_xlsx_height(w->m->lines, w->row, strong ? STRONG_PT : ROW_PT);
    w->row++;
}

static void tax_rows(writer *w)
{
    const ts_costing *c = w->costing;
    for (int i = 0; i < c->tax_count; i++) {
        const ts_tax *tax = &c->taxes[i];
        const ts_figure *rate = ts_figure_book(
            w->m->arena, ts_arena_format(w->m->arena, "rate of %s", tax->row->name), tax->row->rate,
            "%", ts_book_file_name(tax->row->head.file), tax->row->head.line, "rate");
        label(w, TS_LINES_ITEM, tax->row->name, (ts_xlsx_style){.wrap = true});
        label(w, TS_LINES_UNIT, "%", (ts_xlsx_style){.indent = 1});
        put(w, tax->base, TS_LINES_QUANTITY, false, quantity_style(w, tax->base, "%"));
        put(w, rate, TS_LINES_UNIT_COST, false, rate_style(rate));
        put(w, tax->amount, TS_LINES_PRICE, false, money_style(w));
        ts_xlsx_height(w->m->lines, w->row, ROW_PT);
        w->row++;
    }
}

static void trade_in_rows(writer *w)
{
    const ts_costing *c = w->costing;
    for (int i = 0; i < c->trade_in_count; i++) {
        const ts_trade_in_line *line = &c->trade_ins[i];
        const ts_figure *all[] = {line->amount};
        const char *item = ts_text_show(w->m->arena, line->item, 300);
        const char *from = origin_of(w, all, 1);
        number_row(w, line->item, line->amount, false);
        label(w, TS_LINES_ITEM, item, (ts_xlsx_style){.wrap = true});
        label(w, TS_LINES_UNIT, "g", (ts_xlsx_style){.indent = 1});
        label(w, TS_LINES_ORIGIN, from,
              (ts_xlsx_style){.size_pt = TS_MARGIN_SMALL_PT, .indent = 1});
        put(w, line->quantity, TS_LINES_QUANTITY, false, rate_style(line->quantity));
        put(w, line->rate, TS_LINES_UNIT_COST, false, rate_style(line->rate));
        put(w, line->amount, TS_LINES_PRICE, true, money_style(w));
        double height_pt = height_for(from, TS_MARGIN_SMALL_PT, false, TS_LINES_ORIGIN);
        ts_xlsx_height(w->m->lines, w->row,
                       larger(height_pt, height_for(item, 10, false, TS_LINES_ITEM)));
        w->row++;
    }
}

static void price_totals(writer *w)
{
    const ts_costing *c = w->costing;
    w->rows->cost = w->row;
    total(w, "cost", c->cost, TS_LINES_COST, false, true);
    total(w, "lines", c->lines_price, TS_LINES_PRICE, false, false);
    total(w, "discount", c->discount, TS_LINES_PRICE, true, false);
    total(w, "surcharge", c->surcharge, TS_LINES_PRICE, false, false);
    total(w, "raised to the minimum", c->ruled_minimum, TS_LINES_PRICE, false, false);
    total(w, "rounding", c->ruled_net_rounding, TS_LINES_PRICE, false, false);
    w->rows->net = w->row;
    total(w, "net", c->net, TS_LINES_PRICE, false, true);
    tax_rows(w);
    total(w, "tax", c->tax, TS_LINES_PRICE, false, false);
    total(w, "rounding of total", c->ruled_total_rounding, TS_LINES_PRICE, false, false);
    w->rows->total = w->row;
    total(w, "total", c->total, TS_LINES_PRICE, false, true);
    trade_in_rows(w);
    total(w, "trade-in", c->trade_in, TS_LINES_PRICE, true, false);
    if (c->to_pay != c->total) {
        total(w, "to pay", c->to_pay, TS_LINES_PRICE, false, true);
    }
    for (int i = 0; i < c->stage_count; i++) {
        total(w, ts_arena_format(w->m->arena, "stage: %s", c->stages[i].name), c->stages[i].amount,
              TS_LINES_PRICE, false, false);
    }
}

/* ---- what is left ---- */

static const ts_figure *earnings_of(writer *w, const ts_figure *income)
{
    const ts_costing *c = w->costing;
    ts_arena *arena = w->m->arena;
    const ts_figure **own = TS_ARRAY(arena, const ts_figure *, (size_t)c->line_count + 1);
    int count = 0;
    for (int i = 0; i < c->line_count; i++) {
        if (c->lines[i].own_labour) {
            own[count++] = c->lines[i].cost;
        }
    }
    if (count == 0 || !c->has_earnings) {
        return NULL;
    }
    const ts_figure *labour =
        ts_figure_of(arena, TS_OP_SUM, "cost of own labour", c->currency, own, count);
    const ts_figure *left = ts_figure_two(
        arena, TS_OP_SUM, "earned", c->currency,
        ts_figure_two(arena, TS_OP_SUB, "earned", c->currency, income, c->cost), labour);
    const ts_figure *hours =
        ts_figure_two(arena, TS_OP_DIV, "hours", "h", c->own_minutes,
                      ts_figure_constant(arena, "minutes an hour", (ts_dec){60000000}, ""));
    return ts_figure_round(
        arena, "earnings an hour", c->currency,
        ts_figure_two(arena, TS_OP_DIV, "earnings an hour", c->currency, left, hours), c->exponent,
        c->rounding);
}

/* The margin's formula; written after the figures, for it names their cells. */
static void put_percent(writer *w, const ts_figure *income)
{
    ts_ledger *ledger = w->m->ledger;
    const char *in = ts_ledger_call(ledger, income, true);
    const char *cost = ts_ledger_call(ledger, w->costing->cost, true);
    const char *formula =
        ts_arena_format(w->m->arena, "=IF(%s>0,ROUND((%s-%s)/%s*100,2),\"\")", in, in, cost, in);
    ts_xlsx_style style = figures("0.00");
    ts_ratio percent;
    style.bold = style.rule_above = true;
    if (w->costing->has_margin && ts_ratio_of(&percent, w->costing->margin_pct.e6, 1000000)) {
        ts_xlsx_formula(w->m->lines, w->rows->margin, TS_LINES_PRICE, formula, percent, style);
    } else {
        ts_xlsx_formula_text(w->m->lines, w->rows->margin, TS_LINES_PRICE, formula, "", style);
    }
}

static void put_verdict(writer *w)
{
    char margin[24], floor[24], self[24], guards[24];
    ts_xlsx_cell(margin, w->rows->margin, TS_LINES_PRICE, false);
    ts_xlsx_cell(floor, w->rows->floor, TS_LINES_PRICE, false);
    ts_xlsx_cell(self, w->rows->verdict, TS_LINES_PRICE, true);
    ts_xlsx_style style = {.bold = true, .align = TS_ALIGN_RIGHT};
    ts_xlsx_cell(guards, w->rows->guards, TS_LINES_PRICE, false);
    const char *formula = ts_arena_format(
        w->m->arena, "=IF(%s=\"%s\",\"%s\",IF(AND(ISNUMBER(%s),N(%s)>=%s),\"%s\",\"%s\"))", guards,
        TS_MARGIN_AGAIN, TS_MARGIN_AGAIN, margin, margin, floor, ts_margin_verdict(false),
        ts_margin_verdict(true));
    ts_xlsx_formula_text(w->m->lines, w->rows->verdict, TS_LINES_PRICE, formula,
                         ts_margin_verdict(w->costing->below_floor), style);
    ts_xlsx_warn(w->m->lines, w->rows->verdict, TS_LINES_PRICE,
                 ts_arena_format(w->m->arena, "=%s=\"%s\"", self, ts_margin_verdict(true)),
                 (ts_xlsx_style){.colour = TS_MARGIN_WARNING});
}

static void plain_row(writer *w, const char *item, const char *unit, bool strong)
{
    label(w, TS_LINES_ITEM, item, (ts_xlsx_style){.bold = strong, .rule_above = strong});
    label(w, TS_LINES_UNIT, unit, (ts_xlsx_style){.rule_above = strong, .indent = 1});
    ts_xlsx_height(w->m->lines, w->row, ROW_PT);
    w->row++;
}

static void result_rows(writer *w, const ts_figure **income)
{
    const ts_costing *c = w->costing;
    *income = ts_income_figure(w->m->arena, c);
    rule_row(w);
    w->rows->margin = w->row;
    plain_row(w, "margin", "%", true);
    if (c->has_floor) {
        const ts_figure *floor = ts_figure_book(w->m->arena, "floor of the margin", c->floor_pct,
                                                "%", ts_book_file_name(c->floor_row->head.file),
                                                c->floor_row->head.line, "value");
        w->rows->floor = w->row;
        put(w, floor, TS_LINES_PRICE, false, figures("0.00"));
        plain_row(w, "floor", "%", false);
        w->rows->verdict = w->row;
        plain_row(w, "does it leave enough", "", false);
    }
    w->rows->guards = w->row;
    plain_row(w, "still made up in the same way", "", false);
    const ts_figure *earnings = earnings_of(w, *income);
    if (earnings != NULL) {
        w->rows->earnings = w->row;
        put(w, earnings, TS_LINES_PRICE, false, money_style(w));
        plain_row(w, "earnings an hour", "", false);
    }
}

/* ---- blocks ---- */

static void put_block(writer *w)
{
    const ts_costing *c = w->costing;
    const ts_figure *income = NULL;
    ts_section last = TS_SECTION_NONE;
    size_t first_link = w->m->link_count;
    w->amount_count = ts_amounts_of(&w->amounts, w->m->arena, c);
    ts_ledger_option(w->m->ledger, w->option, ts_margin_option(w->m, w->option));
    ts_xlsx_merged(w->m->lines, w->row, 0, TS_LINES_COLUMNS - 1, ts_margin_option(w->m, w->option),
                   (ts_xlsx_style){.bold = true, .rule_below = true});
    ts_xlsx_height(w->m->lines, w->row, STRONG_PT);
    w->row++;
    ts_xlsx_height(w->m->lines, w->row, 2);
    w->row++;
    for (int i = 0; i < c->line_count; i++) {
        put_line(w, &c->lines[i], c->lines[i].section != last);
        last = c->lines[i].section;
    }
    price_totals(w);
    result_rows(w, &income);
    write_cells(w);
    ts_margin_links_find(w->m, first_link);
    if (income != NULL) {
        put_percent(w, income);
    }
    ts_margin_guard_put(w->m, c, w->rows->guards);
    if (c->has_floor) {
        put_verdict(w);
    }
    w->row += 2;
}

/* Sections of the first option, while its cells are the ones that formulas name. */
static void keep_sections(ts_margin_paper *m)
{
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        if (m->first->section_cost[s] != NULL) {
            m->section_cost[s] = ts_ledger_elsewhere(m->ledger, m->first->section_cost[s]);
            m->section_price[s] = ts_ledger_elsewhere(m->ledger, m->first->section_price[s]);
        }
    }
}

static void put_header(ts_margin_paper *m)
{
    static const char *const headings[TS_LINES_COLUMNS] = {
        "No.",  "Section", "Item",      "Quantity",           "Unit", "Unit cost", "Cost",
        "Rule", "Price",   "Margin, %", "Where it comes from"};
    for (int c = 0; c < TS_LINES_COLUMNS; c++) {
        bool right = c == TS_LINES_NUMBER || c == TS_LINES_QUANTITY || c == TS_LINES_UNIT_COST ||
                     c == TS_LINES_COST || c == TS_LINES_PRICE || c == TS_LINES_MARGIN;
        ts_xlsx_style style = {.bold = true,
                               .rule_below = true,
                               .align = right ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                               .indent = c == TS_LINES_SECTION || c == TS_LINES_RULE ||
                                         c == TS_LINES_ORIGIN || c == TS_LINES_UNIT};
        ts_xlsx_text(m->lines, HEADER_ROW, c, headings[c], style);
    }
    ts_xlsx_height(m->lines, HEADER_ROW, 16);
    ts_xlsx_freeze(m->lines, HEADER_ROW + 1, 0);
}

void ts_margin_lines(ts_margin_paper *m)
{
    ts_margin_title(m, m->lines,
                    ts_arena_format(m->arena, "Lines of %s", m->first->needs->terms.reference),
                    ts_arena_format(m->arena,
                                    "Amounts in %s. Every figure is worked out from the tinted "
                                    "cells of Rates and Quantities: change one and all follow. No. "
                                    "is what `tallystone why` takes, and leads to where the amount "
                                    "begins.",
                                    m->first->currency),
                    TS_LINES_ORIGIN, PRINTED_MM);
    put_header(m);
    int row = HEADER_ROW + 1;
    int *breaks = TS_ARRAY(m->arena, int, (size_t)m->paper->option_count + 1);
    double wide_mm[TS_LINES_COLUMNS];
    memcpy(wide_mm, widths_mm, sizeof wide_mm);
    for (int o = 0; o < m->paper->option_count; o++) {
        writer w = {.m = m,
                    .costing = m->paper->options[o],
                    .rows = &m->rows[o],
                    .option = o,
                    .wide_mm = wide_mm,
                    .row = row,
                    .first_row = row};
        put_block(&w);
        row = w.row;
        if (o == 0) {
            keep_sections(m);
        } else {
            breaks[o - 1] = w.first_row;
        }
    }
    for (int c = 0; c < TS_LINES_COLUMNS; c++) {
        ts_xlsx_width(m->lines, c, wide_mm[c]);
    }
    ts_margin_page(m, m->lines, "Lines", HEADER_ROW + 1, TS_MARGIN_UPRIGHT, 0);
    ts_xlsx_breaks(m->lines, breaks, m->paper->option_count - 1);
    ts_xlsx_print_area(m->lines, row - 1, TS_LINES_ORIGIN - 1); /* where from is for the screen */
    ts_xlsx_guard(m->lines);
}
