#include "papers/clientprice.h"
#include "papers/piece.h"
#include "papers/quotepage.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The price on the client's sheet: options side by side, each complete, down to what is
 * to pay and when. Amounts are values, not formulas: a quotation is a promise. */

#define TOTAL_PT TS_QUOTE_TITLE_PT

/* Options `from` to `from + count` of one table; prices stand in the last columns. */
typedef struct table {
    ts_quote_page *page;
    const ts_client_price *price;
    int from, count;
} table;

static int column_of(const table *t, int k)
{
    return TS_QUOTE_COLUMNS - t->count + k;
}

static const ts_costing *costing_of(const table *t, int k)
{
    return t->page->paper->options[t->from + k];
}

static ts_xlsx_style amount_style(const table *t)
{
    return (ts_xlsx_style){.align = TS_ALIGN_RIGHT,
                           .format = ts_xlsx_money_format(t->page->first->exponent)};
}

static double label_height(const table *t, const char *label, ts_xlsx_style style)
{
    int size = style.size_pt == 0 ? 10 : style.size_pt;
    double width_mm = ts_quote_width_mm(t->page, 0, column_of(t, 0) - 1);
    int lines = ts_typeset_lines(label, size, style.bold, width_mm);
    return ts_typeset_height_pt(lines, size) + (style.rule_above ? 3 : 0);
}

/* A row with its label; a rule goes over the whole table. */
static int label_row(const table *t, const char *label, ts_xlsx_style style)
{
    int row = ts_quote_row(t->page, label_height(t, label, style));
    style.wrap = true;
    style.align = TS_ALIGN_LEFT;
    style.format = NULL;
    ts_xlsx_merged(t->page->sheet, row, 0, column_of(t, 0) - 1, label, style);
    return row;
}

static void put_money(const table *t, int row, int k, ts_money money, ts_xlsx_style style)
{
    ts_xlsx_money(t->page->sheet, row, column_of(t, k), money, t->page->first->exponent, style);
}

static void put_word(const table *t, int row, int k, const char *word, ts_xlsx_style style)
{
    style.align = TS_ALIGN_RIGHT;
    ts_xlsx_text(t->page->sheet, row, column_of(t, k), word, style);
}

/* ---- headings and lines ---- */

/* What the table is, and over its prices the options where there are several. */
static void put_head(const table *t, const char *title, bool strong)
{
    static const ts_xlsx_style style = {
        .size_pt = TS_QUOTE_SMALL_PT, .wrap = true, .bottom = true, .align = TS_ALIGN_RIGHT};
    int most = 1, options = t->page->paper->option_count > 1 ? t->count : 0;
    for (int k = 0; k < options; k++) {
        const char *label =
            ts_piece_option(t->page->arena, costing_of(t, k)->needs, t->from + k == 0);
        int lines = ts_typeset_lines(label, TS_QUOTE_SMALL_PT, false,
                                     ts_quote_width_mm(t->page, TS_QUOTE_LAST, TS_QUOTE_LAST));
        most = lines > most ? lines : most;
    }
    int row = ts_quote_row(t->page, ts_typeset_height_pt(most, TS_QUOTE_SMALL_PT) + 3);
    ts_xlsx_merged(t->page->sheet, row, 0, column_of(t, 0) - 1, title,
                   (ts_xlsx_style){.bold = strong, .wrap = true, .bottom = true});
    for (int k = 0; k < options; k++) {
        ts_xlsx_text(t->page->sheet, row, column_of(t, k),
                     ts_piece_option(t->page->arena, costing_of(t, k)->needs, t->from + k == 0),
                     style);
    }
}

static void put_client_row(const table *t, const ts_client_row *line)
{
    ts_xlsx_style style = amount_style(t);
    int row = label_row(t, line->label, style);
    for (int k = 0; k < t->count; k++) {
        switch (line->cells[t->from + k]) {
        case TS_CLIENT_AMOUNT:
            put_money(t, row, k, line->amounts[t->from + k], style);
            break;
        case TS_CLIENT_YOURS:
            put_word(t, row, k, "yours", style);
            break;
        case TS_CLIENT_NONE:
            put_word(t, row, k, "\xe2\x80\x93", style);
            break;
        }
    }
}

/* ---- totals ---- */

typedef const ts_figure *pick_fn(const ts_costing *costing);

static const ts_figure *lines_of(const ts_costing *c)
{
    return c->lines_price;
}
static const ts_figure *discount_of(const ts_costing *c)
{
    return c->discount;
}
static const ts_figure *surcharge_of(const ts_costing *c)
{
    return c->surcharge;
}
static const ts_figure *minimum_of(const ts_costing *c)
{
    return c->minimum;
}
static const ts_figure *net_rounding_of(const ts_costing *c)
{
    return c->net_rounding;
}
static const ts_figure *net_of(const ts_costing *c)
{
    return c->net;
}
static const ts_figure *total_rounding_of(const ts_costing *c)
{
    return c->total_rounding;
}
static const ts_figure *total_of(const ts_costing *c)
{
    return c->total;
}
static const ts_figure *trade_in_of(const ts_costing *c)
{
    return c->trade_in;
}
static bool any(const ts_commission_paper *paper, pick_fn *pick)
{
    for (int i = 0; i < paper->option_count; i++) {
        if (pick(paper->options[i]) != NULL) {
            return true;
        }
    }
    return false;
}

/* A figure of each option in a row, `sign` -1 as what is taken off; no row where none has. */
static void put_figures(const table *t, const char *label, pick_fn *pick, int sign,
                        ts_xlsx_style style)
{
    if (!any(t->page->paper, pick)) {
        return;
    }
    int row = label_row(t, label, style);
    for (int k = 0; k < t->count; k++) {
        ts_money money = {0};
        const ts_figure *figure = pick(costing_of(t, k));
        if (figure == NULL || !ts_figure_money(&money, figure, t->page->first->exponent)) {
            put_word(t, row, k, "\xe2\x80\x93", style);
            continue;
        }
        put_money(t, row, k, (ts_money){sign * money.minor}, style);
    }
}

/* ---- tax ---- */

/* Tax of one name and rate in an option; `base` and `amount` over all its groups. */
static bool tax_of(const ts_costing *c, const ts_tax_row *like, ts_money *base, ts_money *amount)
{
    bool found = false;
    *base = *amount = (ts_money){0};
    for (int i = 0; i < c->tax_count; i++) {
        const ts_tax *tax = &c->taxes[i];
        ts_money b, a;
        if (tax->row->rate.e6 != like->rate.e6 || !ts_text_same(tax->row->name, like->name) ||
            !ts_figure_money(&b, tax->base, c->exponent) ||
            !ts_figure_money(&a, tax->amount, c->exponent)) {
            continue;
        }
        found = ts_money_add(base, *base, b) && ts_money_add(amount, *amount, a);
    }
    return found;
}

static bool seen_before(const ts_commission_paper *paper, int option, int tax)
{
    const ts_tax_row *like = paper->options[option]->taxes[tax].row;
    for (int o = 0; o <= option; o++) {
        int most = o == option ? tax : paper->options[o]->tax_count;
        for (int i = 0; i < most; i++) {
            const ts_tax_row *row = paper->options[o]->taxes[i].row;
            if (row->rate.e6 == like->rate.e6 && ts_text_same(row->name, like->name)) {
                return true;
            }
        }
    }
    return false;
}

static const char *base_words(const table *t, const ts_tax_row *like)
{
    bool lessened = like->trade_in == TS_REDUCES_YES && t->page->first->trade_in != NULL;
    return like->rate.e6 == 0 ? "of it not taxed"
           : lessened         ? "of it taxed, less your old metal"
                              : "of it taxed";
}

/* The taxed amount, where it is not the net and not that of the tax just written. */
static void put_base_row(const table *t, const ts_tax_row *like, const ts_tax_row *before)
{
    ts_xlsx_style small = {.size_pt = TS_QUOTE_SMALL_PT,
                           .align = TS_ALIGN_RIGHT,
                           .colour = 0x404040,
                           .format = ts_xlsx_money_format(t->page->first->exponent)};
    bool differs = false, repeats = before != NULL;
    ts_money base, amount, net, last;
    for (int k = 0; k < t->count; k++) {
        const ts_costing *c = costing_of(t, k);
        bool has = tax_of(c, like, &base, &amount);
        differs = differs ||
                  (has && ts_figure_money(&net, c->net, c->exponent) && net.minor != base.minor);
        repeats = repeats && has == tax_of(c, before, &last, &amount) && last.minor == base.minor;
    }
    if (!differs || repeats) {
        return;
    }
    int row = label_row(t, base_words(t, like), small);
    for (int k = 0; k < t->count; k++) {
        if (tax_of(costing_of(t, k), like, &base, &amount)) {
            put_money(t, row, k, base, small);
        }
    }
}

static void put_tax_row(const table *t, const ts_tax_row *like)
{
    char rate[TS_DECIMAL_TEXT];
    ts_xlsx_style style = amount_style(t);
    ts_money base, amount;
    int row = label_row(t,
                        ts_arena_format(t->page->arena, "%s, %s %%",
                                        ts_piece_capital(t->page->arena, like->name),
                                        ts_dec_text(rate, like->rate)),
                        style);
    for (int k = 0; k < t->count; k++) {
        if (tax_of(costing_of(t, k), like, &base, &amount)) {
            put_money(t, row, k, amount, style);
        } else {
            put_word(t, row, k, "\xe2\x80\x93", style);
        }
    }
}

static void put_taxes(const table *t)
{
    const ts_commission_paper *paper = t->page->paper;
    const ts_tax_row *before = NULL;
    for (int o = 0; o < paper->option_count; o++) {
        for (int i = 0; i < paper->options[o]->tax_count; i++) {
            if (!seen_before(paper, o, i)) {
                put_base_row(t, paper->options[o]->taxes[i].row, before);
                put_tax_row(t, paper->options[o]->taxes[i].row);
                before = paper->options[o]->taxes[i].row;
            }
        }
    }
}

/* ---- total, difference, old metal ---- */

/* The total stands out, but never at the price of being cut. */
static int total_size(const table *t)
{
    char text[TS_DECIMAL_TEXT];
    double room_pt = (ts_quote_width_mm(t->page, TS_QUOTE_LAST, TS_QUOTE_LAST) - 2) * 72 / 25.4;
    int size = TOTAL_PT;
    for (int k = 0; k < t->count; k++) {
        ts_money money = {0};
        if (!ts_figure_money(&money, costing_of(t, k)->total, t->page->first->exponent)) {
            continue;
        }
        ts_money_grouped(text, money, t->page->first->exponent);
        while (size > 10 && ts_typeset_width_pt(text, size, true) > room_pt) {
            size--;
        }
    }
    return size;
}

static void put_total(const table *t)
{
    ts_xlsx_style style = amount_style(t);
    style.bold = true;
    style.rule_above = true;
    style.bottom = true;
    style.size_pt = total_size(t);
    put_figures(t, "Total with tax", total_of, 1, style);
}

static void put_difference(const table *t)
{
    if (t->page->paper->option_count < 2) {
        return;
    }
    ts_xlsx_style style = amount_style(t);
    style.size_pt = TS_QUOTE_SMALL_PT;
    style.format = ts_xlsx_change_format(t->page->first->exponent);
    int row =
        label_row(t,
                  ts_arena_format(t->page->arena, "Difference to \xe2\x80\x9c%s\xe2\x80\x9d",
                                  ts_piece_option(t->page->arena, t->page->first->needs, true)),
                  style);
    for (int k = 0; k < t->count; k++) {
        ts_difference difference;
        if (t->from + k > 0 &&
            ts_costing_difference(&difference, t->page->first, costing_of(t, k))) {
            put_money(t, row, k, difference.total, style);
        }
    }
}

/* ---- what is to pay, and which way ---- */

/* What is to pay of an option, or a stage of it; without its sign, which `is_turned` has. */
#define WHOLE (-1)

static bool due_of(const ts_costing *c, int stage, ts_money *due, bool *is_turned)
{
    ts_money whole = {0};
    const ts_figure *figure = stage == WHOLE           ? c->to_pay
                              : stage < c->stage_count ? c->stages[stage].amount
                                                       : NULL;
    *due = (ts_money){0};
    *is_turned = ts_figure_money(&whole, c->to_pay, c->exponent) && whole.minor < 0;
    bool fine = figure != NULL && ts_figure_money(due, figure, c->exponent);
    due->minor = *is_turned ? -due->minor : due->minor;
    return fine;
}

/* Does an option of the table go that way? */
static bool any_due(const table *t, bool turned)
{
    bool found = false;
    for (int k = 0; k < t->count; k++) {
        ts_money due;
        bool is_turned;
        found = found || (due_of(costing_of(t, k), WHOLE, &due, &is_turned) && is_turned == turned);
    }
    return found;
}

/* Old metal above the price turns the payment round: such options have a row of their own. */
static void put_due(const table *t, const char *label, int stage, bool turned, ts_xlsx_style style)
{
    if (!any_due(t, turned)) {
        return;
    }
    int row = label_row(t, label, style);
    for (int k = 0; k < t->count; k++) {
        ts_money due;
        bool is_turned;
        bool fine = due_of(costing_of(t, k), stage, &due, &is_turned);
        if (fine && is_turned == turned) {
            put_money(t, row, k, due, style);
        } else {
            put_word(t, row, k, "\xe2\x80\x93", style);
        }
    }
}

static bool trade_in_sum(const ts_costing *c, int need, ts_money *sum)
{
    bool found = false;
    *sum = (ts_money){0};
    for (int i = 0; i < c->trade_in_count; i++) {
        ts_money amount;
        if (c->trade_ins[i].need == need &&
            ts_figure_money(&amount, c->trade_ins[i].amount, c->exponent)) {
            found = ts_money_add(sum, *sum, amount);
        }
    }
    return found;
}

/* Old metal by the lot brought in; lots are those of the sheet, the same in each option. */
static void put_trade_ins(const table *t)
{
    char grams[TS_DECIMAL_TEXT];
    const ts_quantities *q = t->page->first->needs;
    ts_xlsx_style style = amount_style(t);
    bool some = false;
    for (int i = 0; i < q->trade_in_count; i++) {
        const ts_trade_in_need *need = &q->trade_ins[i];
        ts_money sum;
        if (need->weight_g.e6 == 0) {
            continue;
        }
        const char *name = need->row == NULL ? need->alloy : need->row->name;
        int row =
            label_row(t,
                      ts_arena_format(t->page->arena, "Your old metal, %s\u00a0g of %s, taken in",
                                      ts_dec_fixed(grams, need->weight_g, 2), name),
                      style);
        for (int k = 0; k < t->count; k++) {
            if (trade_in_sum(costing_of(t, k), i, &sum)) {
                put_money(t, row, k, (ts_money){-sum.minor}, style);
                some = true;
            }
        }
    }
    if (some) {
        style.bold = true;
        style.rule_above = true;
        style.bottom = true;
        put_due(t, "To pay", WHOLE, false, style);
        put_due(t, "What we owe you", WHOLE, true, style);
    }
}

/* ---- stages ---- */

static const char *stage_label(const table *t, int index, bool turned)
{
    const ts_stage *stage = &t->page->first->stages[index];
    const bool has_when = !ts_text_empty(stage->when);
    return ts_arena_format(
        t->page->arena, "%s%s%s%s", ts_piece_capital(t->page->arena, stage->name),
        turned ? ", we pay you" : "", has_when ? ": " : "", has_when ? stage->when : "");
}

/* The heights of their rows. */
static double stages_pt(const table *t, ts_xlsx_style style)
{
    double wanted_pt = 0;
    for (int turned = 0; turned < 2; turned++) {
        for (int s = 0; any_due(t, turned == 1) && s < t->page->first->stage_count; s++) {
            wanted_pt += label_height(t, stage_label(t, s, turned == 1), style);
        }
    }
    return wanted_pt;
}

/* How the options are paid for, or those of them with a fee; NULL where they differ. */
static const char *way_of(const table *t, bool with_fee)
{
    const ts_commission_paper *paper = t->page->paper;
    const char *way = NULL;
    for (int i = 0; i < paper->option_count; i++) {
        const char *own = paper->options[i]->needs->terms.pays_by;
        if (with_fee && surcharge_of(paper->options[i]) == NULL) {
            continue;
        }
        own = own == NULL ? "" : own;
        if (way != NULL && !ts_text_same(way, own)) {
            return NULL;
        }
        way = own;
    }
    return way;
}

/* Each option's own way of paying, where they differ. */
static void put_ways(const table *t)
{
    ts_xlsx_style plain = amount_style(t);
    int row = label_row(t, "Paid by", plain);
    for (int k = 0; k < t->count; k++) {
        const char *way = costing_of(t, k)->needs->terms.pays_by;
        put_word(t, row, k,
                 ts_text_empty(way) ? "\xe2\x80\x93" : ts_text_show(t->page->arena, way, 60),
                 plain);
    }
}

/* What is to pay and when: a heading where no old metal has made a row of it already. */
static void put_stages(const table *t)
{
    ts_xlsx_style plain = amount_style(t);
    bool has_row = any(t->page->paper, trade_in_of);
    double wanted_pt = 4 + label_height(t, "in stages:", plain) + stages_pt(t, plain);
    const char *way = any_due(t, false) ? way_of(t, false) : "";
    wanted_pt += way == NULL ? label_height(t, "Paid by", plain) : 0;
    bool moves = !ts_quote_fits(t->page, wanted_pt);
    ts_quote_begin(t->page);
    ts_quote_gap(t->page, 4);
    const char *title = has_row ? "In stages:" : "To pay, in stages:";
    if (!ts_text_empty(way)) {
        title = ts_arena_format(t->page->arena, "%s by %s, in stages:", has_row ? "Paid" : "To pay",
                                ts_text_show(t->page->arena, way, 60));
    }
    if (moves) {
        put_head(t, title, !has_row); /* a new page names its columns again */
    } else {
        label_row(t, title, (ts_xlsx_style){.bold = !has_row});
    }
    if (way == NULL) {
        put_ways(t);
    }
    for (int s = 0; s < t->page->first->stage_count; s++) {
        put_due(t, stage_label(t, s, false), s, false, plain);
        put_due(t, stage_label(t, s, true), s, true, plain);
    }
}

/* ---- the tables ---- */

static void put_table(const table *t)
{
    ts_xlsx_style plain = amount_style(t);
    ts_xlsx_style ruled = plain;
    const ts_commission_paper *paper = t->page->paper;
    ruled.rule_above = true;
    ruled.bottom = true;
    put_head(t, ts_arena_format(t->page->arena, "The price, in %s", t->page->first->currency),
             true);
    bool changes = any(paper, discount_of) || any(paper, surcharge_of) || any(paper, minimum_of);
    bool one = t->price->count == 1; /* a single line would say the price twice */
    for (int i = 0; !one && i < t->price->count; i++) {
        put_client_row(t, &t->price->rows[i]);
    }
    if (changes || (!one && any(paper, net_rounding_of))) {
        put_figures(t, "Sum", lines_of, 1, ruled);
        put_figures(t, "Discount", discount_of, -1, plain);
        const char *way = way_of(t, true);
        put_figures(t,
                    ts_text_empty(way)
                        ? "Fee for the way of paying"
                        : ts_arena_format(t->page->arena, "Fee for paying by %s", way),
                    surcharge_of, 1, plain);
        put_figures(t, "Raised to our least price", minimum_of, 1, plain);
        put_figures(t, "Rounding", net_rounding_of, 1, plain);
    }
    put_figures(t, "Price before tax", net_of, 1, ruled);
    put_taxes(t);
    put_figures(t, "Rounding of the total", total_rounding_of, 1, plain);
    put_total(t);
    put_difference(t);
    put_trade_ins(t);
}

/* Tables of at most four options, as even as can be. */
static int abreast(int options)
{
    int tables = (options + TS_QUOTE_ABREAST - 1) / TS_QUOTE_ABREAST;
    return (options + tables - 1) / tables;
}

void ts_quote_price(ts_quote_page *page)
{
    const ts_book *book = page->paper->book;
    const char *word = ts_book_studio(book, "quote detail", page->first->needs->terms.as_of);
    int detail = word == NULL ? 0 : ts_list_find(TS_LIST_DETAIL, word);
    ts_client_price price;
    if (!ts_client_price_of(&price, page->arena, page->paper,
                            detail == 0 ? TS_DETAIL_LINES : (ts_detail)detail)) {
        ts_xlsx_fail(page->book, "the client's amounts left the range of exact arithmetic");
        return;
    }
    int step = abreast(page->paper->option_count);
    for (int from = 0; from < page->paper->option_count; from += step) {
        int left = page->paper->option_count - from;
        table t = {page, &price, from, left < step ? left : step};
        ts_quote_begin(page);
        ts_quote_gap(page, 6);
        put_table(&t);
        ts_quote_end(page);
        put_stages(&t);
        ts_quote_end(page);
    }
}
