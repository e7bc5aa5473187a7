#include "papers/margin.h"
#include "papers/piece.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The owner's first sheet: three questions, answered before any table is read. Does it
 * leave enough, what is it made of, what could go wrong. */

enum { LABEL, COST, NET, MARGIN, FLOOR, VERDICT, HOURLY, TOTAL, CHANGE, POINTS, COLUMNS };
/* The table of sections, in the same columns. */
enum { SECTION = LABEL, SECTION_COST = COST, SHARE = NET, PRICE = MARGIN, SECTION_MARGIN = FLOOR };

static const double widths_mm[COLUMNS] = {58, 25, 26, 22, 20, 30, 25, 27, 25, 27};

typedef struct writer {
    ts_margin_paper *m;
    int row;
} writer;

static ts_xlsx_style figures(const char *format)
{
    return (ts_xlsx_style){.bottom = true, .align = TS_ALIGN_RIGHT, .format = format};
}

static ts_xlsx_style money_style(const writer *w)
{
    return figures(ts_xlsx_money_format(w->m->first->exponent));
}

static void question(writer *w, const char *text)
{
    ts_xlsx_height(w->m->decision, w->row++, 8);
    ts_xlsx_merged(w->m->decision, w->row, 0, COLUMNS - 1, text, (ts_xlsx_style){.bold = true});
    ts_xlsx_height(w->m->decision, w->row++, 17);
}

static void headings(writer *w, const char *const *texts, int count)
{
    for (int c = 0; c < count; c++) {
        ts_xlsx_style style = {.size_pt = TS_MARGIN_SMALL_PT,
                               .rule_below = true,
                               .colour = 0x404040,
                               .align = c == LABEL ? TS_ALIGN_LEFT : TS_ALIGN_RIGHT};
        ts_xlsx_text(w->m->decision, w->row, c, texts[c], style);
    }
    ts_xlsx_height(w->m->decision, w->row++, 14);
}

/* ---- does it leave enough ---- */

static const char *lines_cell(writer *w, int row, int column)
{
    char cell[24];
    return ts_arena_format(w->m->arena, "=Lines!%s", ts_xlsx_cell(cell, row, column, false));
}

static void put_figure(writer *w, int column, int row, int from, const ts_figure *figure)
{
    ts_xlsx_formula(w->m->decision, w->row, column, lines_cell(w, row, from), figure->value,
                    money_style(w));
}

static void put_margin(writer *w, const ts_costing *c, const ts_margin_rows *rows)
{
    char margin[24], floor[24];
    ts_ratio value;
    ts_xlsx_style style = figures("0.00");
    const char *formula = lines_cell(w, rows->margin, TS_LINES_PRICE);
    style.bold = true;
    if (c->has_margin && ts_ratio_of(&value, c->margin_pct.e6, 1000000)) {
        ts_xlsx_formula(w->m->decision, w->row, MARGIN, formula, value, style);
    } else {
        ts_xlsx_formula_text(w->m->decision, w->row, MARGIN, formula, "", style);
    }
    if (!c->has_floor || !ts_ratio_of(&value, c->floor_pct.e6, 1000000)) {
        return;
    }
    ts_xlsx_formula(w->m->decision, w->row, FLOOR, lines_cell(w, rows->floor, TS_LINES_PRICE),
                    value, figures("0.00"));
    ts_xlsx_formula_text(w->m->decision, w->row, VERDICT,
                         lines_cell(w, rows->verdict, TS_LINES_PRICE),
                         ts_margin_verdict(c->below_floor),
                         (ts_xlsx_style){.bottom = true, .align = TS_ALIGN_RIGHT});
    const char *missed =
        ts_arena_format(w->m->arena, "=N(%s)<%s", ts_xlsx_cell(margin, w->row, MARGIN, true),
                        ts_xlsx_cell(floor, w->row, FLOOR, true));
    ts_xlsx_style warning = {.colour = TS_MARGIN_WARNING};
    ts_xlsx_warn(w->m->decision, w->row, MARGIN, missed, warning);
    ts_xlsx_warn(w->m->decision, w->row, VERDICT, missed, warning);
}

/* How an option differs from the first in total and in margin. */
static void put_change(writer *w, int option, int first_row)
{
    const ts_costing *c = w->m->paper->options[option];
    char here[24], there[24];
    ts_ratio value;
    const ts_ratio first = w->m->first->total->value;
    if (option == 0) {
        return;
    }
    if (ts_ratio_add(&value, c->total->value, (ts_ratio){-first.num, first.den})) {
        const char *formula =
            ts_arena_format(w->m->arena, "=%s-%s", ts_xlsx_cell(here, w->row, TOTAL, false),
                            ts_xlsx_cell(there, first_row, TOTAL, false));
        ts_xlsx_formula(w->m->decision, w->row, CHANGE, formula, value,
                        figures(ts_xlsx_change_format(c->exponent)));
    }
    if (c->has_margin && w->m->first->has_margin &&
        ts_ratio_of(&value, c->margin_pct.e6 - w->m->first->margin_pct.e6, 1000000)) {
        const char *formula = ts_arena_format(w->m->arena, "=ROUND(N(%s)-N(%s),2)",
                                              ts_xlsx_cell(here, w->row, MARGIN, false),
                                              ts_xlsx_cell(there, first_row, MARGIN, false));
        ts_xlsx_formula(w->m->decision, w->row, POINTS, formula, value,
                        figures(ts_xlsx_change_format(2)));
    }
}

static void put_options(writer *w)
{
    static const char *const texts[COLUMNS] = {
        "Option",  "Cost",          "Net price",      "Margin, %",     "Floor, %",
        "Verdict", "Earns an hour", "Total with tax", "Total changes", "Margin changes"};
    headings(w, texts, COLUMNS);
    int first_row = w->row;
    for (int o = 0; o < w->m->paper->option_count; o++) {
        const ts_costing *c = w->m->paper->options[o];
        const ts_margin_rows *rows = &w->m->rows[o];
        const char *label = ts_margin_option(w->m, o);
        int lines = ts_typeset_lines(label, 10, false, widths_mm[LABEL]);
        ts_xlsx_text(w->m->decision, w->row, LABEL, label,
                     (ts_xlsx_style){.wrap = true, .bottom = true});
        put_figure(w, COST, rows->cost, TS_LINES_COST, c->cost);
        put_figure(w, NET, rows->net, TS_LINES_PRICE, c->net);
        put_margin(w, c, rows);
        put_figure(w, TOTAL, rows->total, TS_LINES_PRICE, c->total);
        ts_ratio hourly;
        int64_t minor = 1;
        for (int i = 0; i < c->exponent; i++) {
            minor *= 10;
        }
        if (rows->earnings > 0 && ts_ratio_of(&hourly, c->earnings_per_hour.minor, minor)) {
            ts_xlsx_formula(w->m->decision, w->row, HOURLY,
                            lines_cell(w, rows->earnings, TS_LINES_PRICE), hourly, money_style(w));
        }
        put_change(w, o, first_row);
        ts_xlsx_height(w->m->decision, w->row++, ts_typeset_height_pt(lines, 10) + 2.5);
    }
}

/* "In platinum 950 leaves most, 37.64 %; As described least, 36.82 %. The floor is 30 %." */
static const char *comparison(ts_margin_paper *m)
{
    char most_is[TS_DECIMAL_TEXT], least_is[TS_DECIMAL_TEXT], floor_is[TS_DECIMAL_TEXT];
    int most = 0, least = 0, below = 0;
    for (int o = 0; o < m->paper->option_count; o++) {
        const ts_costing *c = m->paper->options[o];
        most = c->margin_pct.e6 > m->paper->options[most]->margin_pct.e6 ? o : most;
        least = c->margin_pct.e6 < m->paper->options[least]->margin_pct.e6 ? o : least;
        below += c->has_floor && c->below_floor;
    }
    const char *text = ts_arena_format(
        m->arena, "%s leaves most, %s %%; %s least, %s %%.", ts_margin_option(m, most),
        ts_dec_fixed(most_is, m->paper->options[most]->margin_pct, 2), ts_margin_option(m, least),
        ts_dec_fixed(least_is, m->paper->options[least]->margin_pct, 2));
    if (!m->first->has_floor) {
        return text;
    }
    return ts_arena_format(
        m->arena, "%s The floor is %s %%: %s.", text, ts_dec_text(floor_is, m->first->floor_pct),
        below == 0 ? "none is below it"
                   : ts_arena_format(m->arena, "%d of %d below it", below, m->paper->option_count));
}

/* The options' margins as bars, at the foot of the sheet: what is asked first stands above. */
static void put_comparison(writer *w, int first_row)
{
    const ts_commission_paper *paper = w->m->paper;
    int count = paper->option_count, lowest = 0;
    for (int o = 0; o < count; o++) {
        lowest =
            paper->options[o]->margin_pct.e6 < paper->options[lowest]->margin_pct.e6 ? o : lowest;
    }
    ts_xlsx_bars bars = {.first_row = first_row,
                         .last_row = first_row + count - 1,
                         .label_column = LABEL,
                         .value_column = MARGIN,
                         .row = w->row + 1,
                         .column = LABEL,
                         .width_px = 1020,
                         .height_px = 44 + count * 24,
                         .from_zero = paper->options[lowest]->margin_pct.e6 >= 0,
                         .title = "Margin of each option, %",
                         .format = "0.00",
                         .description = comparison(w->m)};
    ts_xlsx_height(w->m->decision, w->row++, 8);
    ts_xlsx_bar_chart(w->m->decision, &bars);
    ts_xlsx_height(w->m->decision, w->row++, bars.height_px * 0.75 + 6);
}

/* ---- what is it made of ---- */

static int thousandths_of(const ts_costing *c, ts_section section)
{
    ts_ratio part;
    int64_t thousandths;
    if (c->cost->value.num <= 0 ||
        !ts_ratio_div(&part, c->section_cost[section]->value, c->cost->value) ||
        !ts_ratio_mul(&part, part, (ts_ratio){1000, 1}) ||
        !ts_div_round(&thousandths, part.num, part.den, TS_HALF_AWAY)) {
        return 0;
    }
    return (int)thousandths;
}

static void put_section(writer *w, ts_section section, int total_row)
{
    const ts_costing *c = w->m->first;
    char cost[24], all[24], price[24];
    ts_xlsx_style money = money_style(w);
    ts_ratio value;
    ts_xlsx_text(w->m->decision, w->row, SECTION,
                 ts_piece_capital(w->m->arena, ts_list_word(TS_LIST_SECTION, (int)section)),
                 (ts_xlsx_style){.bottom = true});
    ts_xlsx_formula(w->m->decision, w->row, SECTION_COST, w->m->section_cost[section],
                    c->section_cost[section]->value, money);
    ts_xlsx_cell(cost, w->row, SECTION_COST, false);
    ts_xlsx_cell(all, total_row, SECTION_COST, true);
    if (c->cost->value.num > 0 && ts_ratio_of(&value, thousandths_of(c, section), 10)) {
        ts_xlsx_formula(
            w->m->decision, w->row, SHARE,
            ts_arena_format(w->m->arena, "=IF(%s>0,ROUND(%s/%s*100,1),0)", all, cost, all), value,
            figures("0.0"));
    }
    ts_xlsx_formula(w->m->decision, w->row, PRICE, w->m->section_price[section],
                    c->section_price[section]->value, money);
    ts_xlsx_cell(price, w->row, PRICE, false);
    const char *formula = ts_arena_format(w->m->arena, "=IF(%s>0,ROUND((%s-%s)/%s*100,2),\"\")",
                                          price, price, cost, price);
    if (ts_margin_percent(&value, c->section_price[section]->value,
                          c->section_cost[section]->value)) {
        ts_xlsx_formula(w->m->decision, w->row, SECTION_MARGIN, formula, value, figures("0.00"));
    } else {
        ts_xlsx_formula_text(w->m->decision, w->row, SECTION_MARGIN, formula, "", figures("0.00"));
    }
    ts_xlsx_height(w->m->decision, w->row++, 16);
}

/* The finding in words, largest part first: "labour 46.1 % of the cost, metal ...". */
static const char *finding(ts_margin_paper *m)
{
    const char *text = "";
    bool said[TS_SECTION_COUNT] = {false};
    for (int n = 0; n < TS_SECTION_COUNT; n++) {
        int best = -1;
        for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
            if (m->first->section_cost[s] != NULL && !said[s] &&
                (best < 0 || thousandths_of(m->first, (ts_section)s) >
                                 thousandths_of(m->first, (ts_section)best))) {
                best = s;
            }
        }
        if (best < 0) {
            break;
        }
        said[best] = true;
        int part = thousandths_of(m->first, (ts_section)best);
        text = ts_arena_format(m->arena, "%s%s%s %d.%d %%", text, text[0] == '\0' ? "" : ", ",
                               ts_list_word(TS_LIST_SECTION, best), part / 10, part % 10);
    }
    return ts_arena_format(m->arena, "Parts of the cost: %s", text);
}

static void put_sections(writer *w)
{
    static const char *const texts[] = {"Section", "Cost", "Share of it, %", "Price", "Margin, %"};
    const ts_costing *c = w->m->first;
    int first_row = w->row + 1, count = 0;
    headings(w, texts, 5);
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        count += c->section_cost[s] != NULL;
    }
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        if (c->section_cost[s] != NULL) {
            put_section(w, (ts_section)s, first_row + count);
        }
    }
    char first[24], last[24];
    ts_xlsx_style words = {.bold = true, .rule_above = true, .bottom = true};
    ts_xlsx_style money = money_style(w);
    money.bold = money.rule_above = true;
    for (int column = SECTION; column <= SECTION_MARGIN; column++) {
        ts_xlsx_blank(w->m->decision, w->row, column, words);
    }
    ts_xlsx_text(w->m->decision, w->row, SECTION, "Cost", words);
    ts_xlsx_formula(w->m->decision, w->row, SECTION_COST,
                    ts_arena_format(w->m->arena, "=SUM(%s:%s)",
                                    ts_xlsx_cell(first, first_row, SECTION_COST, false),
                                    ts_xlsx_cell(last, first_row + count - 1, SECTION_COST, false)),
                    c->cost->value, money);
    ts_xlsx_height(w->m->decision, w->row++, 16);
    ts_xlsx_bars bars = {.first_row = first_row,
                         .last_row = first_row + count - 1,
                         .label_column = SECTION,
                         .value_column = SECTION_COST,
                         .row = first_row - 1,
                         .column = VERDICT,
                         .width_px = 500,
                         .height_px = (count + 2) * 21 + 10,
                         .title = ts_arena_format(w->m->arena, "Cost by section, %s", c->currency),
                         .format = ts_xlsx_money_format(c->exponent),
                         .description = finding(w->m)};
    if (count > 0) {
        ts_xlsx_bar_chart(w->m->decision, &bars);
    }
}

/* ---- what could go wrong ---- */

static void put_risk(writer *w, const char *whose, const char *sentence)
{
    double width_mm = 0;
    for (int c = COST; c < COLUMNS; c++) {
        width_mm += widths_mm[c];
    }
    ts_xlsx_style style = {.wrap = true};
    const char *text = ts_text_show(w->m->arena, sentence, 1500);
    int lines = ts_typeset_lines(text, 10, false, width_mm);
    int labels = ts_typeset_lines(whose, 10, false, widths_mm[LABEL]);
    ts_xlsx_text(w->m->decision, w->row, LABEL, whose, style);
    ts_xlsx_merged(w->m->decision, w->row, COST, COLUMNS - 1, text, style);
    ts_xlsx_height(w->m->decision, w->row++,
                   ts_typeset_height_pt(lines > labels ? lines : labels, 10) + 1);
}

static bool said_before(const ts_commission_paper *paper, int option, const char *sentence)
{
    for (int o = 0; o < option; o++) {
        const ts_quantities *q = paper->options[o]->needs;
        for (int i = 0; i < q->caution_count; i++) {
            if (strcmp(q->cautions[i].sentence, sentence) == 0) {
                return true;
            }
        }
    }
    return false;
}

static int put_cautions(writer *w, int option)
{
    const ts_quantities *q = w->m->paper->options[option]->needs;
    int count = 0;
    for (int i = 0; i < q->caution_count; i++) {
        const ts_caution *caution = &q->cautions[i];
        if (said_before(w->m->paper, option, caution->sentence)) {
            continue;
        }
        const char *whose = caution->who == TS_CAUTION_WEAR ? "In wear" : "In making";
        whose = ts_arena_format(w->m->arena, "%s: %s, %s", whose, caution->part, caution->limit);
        const char *sentence = caution->sentence;
        if (option > 0) {
            sentence =
                ts_arena_format(w->m->arena, "%s: %s", ts_margin_option(w->m, option), sentence);
        }
        if (!ts_text_empty(caution->source)) {
            sentence = ts_arena_format(w->m->arena, "%s [limit: %s]", sentence, caution->source);
        }
        put_risk(w, ts_text_show(w->m->arena, whose, 120), sentence);
        count++;
    }
    return count;
}

/* Stones bought by an estimated weight: their price moves with it. */
static int put_estimates(writer *w)
{
    char spread[TS_DECIMAL_TEXT];
    const ts_quantities *q = w->m->first->needs;
    int count = 0;
    for (int i = 0; i < q->stone_count; i++) {
        const ts_stone_need *need = &q->stones[i];
        if (need->weight_stated || need->client || need->spread_pct.e6 == 0) {
            continue;
        }
        put_risk(
            w,
            ts_arena_format(w->m->arena, "Estimate: %s", ts_text_show(w->m->arena, need->item, 60)),
            ts_arena_format(w->m->arena,
                            "its weight is estimated from measurements and may lie %s %% to "
                            "either side; weigh it before it is bought.",
                            ts_dec_text(spread, need->spread_pct)));
        count++;
    }
    return count;
}

/* What Sensitivity says, a line each: it is the engine's, so it steps aside where a cell
 * that it rests on was changed. `there` is an expression. */
static void put_outlook(writer *w, const char *whose, const char *there, const char *sentence)
{
    put_risk(w, whose, sentence);
    ts_xlsx_formula_text(w->m->decision, w->row - 1, COST, ts_margin_unchanged(w->m, there),
                         sentence, (ts_xlsx_style){.wrap = true});
}

static const char *sensitivity_cell(writer *w, int row)
{
    char cell[24];
    return ts_arena_format(w->m->arena, "Sensitivity!%s", ts_xlsx_cell(cell, row, 0, true));
}

static void put_outlooks(writer *w)
{
    const ts_margin_paper *m = w->m;
    const char *metals = m->outlook.metals[0], *there = sensitivity_cell(w, m->metal_row);
    for (int i = 1; i < m->outlook.metal_count; i++) {
        metals = ts_arena_format(m->arena, "%s %s", metals, m->outlook.metals[i]);
        there =
            ts_arena_format(m->arena, "%s&\" \"&%s", there, sensitivity_cell(w, m->metal_row + i));
    }
    put_outlook(w, "Metal price", there, metals);
    put_outlook(w, "How sure", sensitivity_cell(w, m->range_row), m->outlook.range);
    put_outlook(w, "Cash", sensitivity_cell(w, m->cash_row), m->outlook.cash);
    put_outlook(w, m->outlook.is_late ? "Caution: ready too late" : "Ready",
                sensitivity_cell(w, m->ready_row), m->outlook.ready);
}

/* Columns are as wide as the amounts in them. */
static void put_widths(ts_margin_paper *m)
{
    const char *money = ts_xlsx_money_format(m->first->exponent);
    double wide_mm[COLUMNS];
    memcpy(wide_mm, widths_mm, sizeof wide_mm);
    for (int o = 0; o < m->paper->option_count; o++) {
        const ts_costing *c = m->paper->options[o];
        ts_margin_widen(&wide_mm[COST], c->cost->value, money);
        ts_margin_widen(&wide_mm[NET], c->net->value, money);
        ts_margin_widen(&wide_mm[TOTAL], c->total->value, money);
        ts_margin_widen(&wide_mm[CHANGE], c->total->value, money);
    }
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        if (m->first->section_price[s] != NULL) {
            ts_margin_widen(&wide_mm[PRICE], m->first->section_price[s]->value, money);
        }
    }
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_width(m->decision, c, wide_mm[c]);
    }
}

void ts_margin_decision(ts_margin_paper *m)
{
    writer w = {.m = m, .row = 2};
    const ts_terms *terms = &m->first->needs->terms;
    char date[32], until[32];
    const char *title = ts_text_empty(terms->title) ? terms->reference : terms->title;
    ts_margin_title(
        m, m->decision, ts_text_show(m->arena, title, 90),
        ts_arena_format(m->arena,
                        "%s \xc2\xb7 for %s \xc2\xb7 %s, valid until %s \xc2\xb7 amounts in %s",
                        terms->reference,
                        ts_text_show(m->arena, terms->client == NULL ? "" : terms->client, 60),
                        ts_date_words(date, terms->date),
                        ts_date_words(until, m->first->valid_until), m->first->currency),
        COLUMNS, 280);
    put_widths(m);
    question(&w, "Does it leave enough?");
    int options_row = w.row + 1;
    put_options(&w);
    question(&w, m->paper->option_count > 1
                     ? ts_arena_format(m->arena, "What is it made of? (%s)", ts_margin_option(m, 0))
                     : "What is it made of?");
    put_sections(&w);
    question(&w, "What could go wrong?");
    int count = 0;
    for (int o = 0; o < m->paper->option_count; o++) {
        count += put_cautions(&w, o);
    }
    count += put_estimates(&w);
    if (count == 0) {
        put_risk(&w, "Nothing found",
                 "Every measurement lies inside its usual limits, and every weight that is paid "
                 "for was stated.");
    }
    put_outlooks(&w);
    if (m->paper->option_count > 1) {
        put_comparison(&w, options_row);
    }
    ts_margin_page(m, m->decision, "Decision", 0, TS_MARGIN_LANDSCAPE, 0);
    ts_xlsx_guard(m->decision);
}
