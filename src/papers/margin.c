#include "papers/margin.h"
#include "papers/piece.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <math.h>

/* The owner's workbook: answers first, then the lines they rest on, then the cells that
 * may be changed. Every figure on Lines and Decision is a live formula, and its cached
 * value is the engine's. */

#define EDGE_MM 11.0 /* above and below an upright page */

const char *ts_margin_option(ts_margin_paper *paper, int option)
{
    const char *label =
        ts_piece_option(paper->arena, paper->paper->options[option]->needs, option == 0);
    return ts_text_show(paper->arena, label, 80);
}

const char *ts_margin_verdict(bool below)
{
    return below ? "below the floor" : "leaves enough";
}

bool ts_margin_percent(ts_ratio *out, ts_ratio price, ts_ratio cost)
{
    ts_ratio gain, part;
    int64_t hundredths;
    return price.num > 0 && ts_ratio_add(&gain, price, (ts_ratio){-cost.num, cost.den}) &&
           ts_ratio_div(&part, gain, price) && ts_ratio_mul(&part, part, (ts_ratio){10000, 1}) &&
           ts_div_round(&hundredths, part.num, part.den, TS_HALF_AWAY) &&
           ts_ratio_of(out, hundredths, 100);
}

void ts_margin_title(ts_margin_paper *paper, ts_xlsx_sheet *sheet, const char *title,
                     const char *under, int columns, double width_mm)
{
    (void)paper;
    ts_xlsx_merged(sheet, 0, 0, columns - 1, title,
                   (ts_xlsx_style){.size_pt = TS_MARGIN_TITLE_PT, .bold = true});
    ts_xlsx_height(sheet, 0, 19.5);
    ts_xlsx_merged(
        sheet, 1, 0, columns - 1, under,
        (ts_xlsx_style){.size_pt = TS_MARGIN_SMALL_PT, .wrap = true, .colour = 0x404040});
    int lines = ts_typeset_lines(under, TS_MARGIN_SMALL_PT, false, width_mm);
    ts_xlsx_height(sheet, 1, ts_typeset_height_pt(lines, TS_MARGIN_SMALL_PT) + 1.5);
    ts_xlsx_height(sheet, 2, 6);
}

/* Pages that an upright sheet is shrunk to, where less than a tenth of one is too much. */
static int pages_high(int paper, double high_pt)
{
    const double repeated_pt = 58, most = 0.1;
    double high_mm = paper == TS_PAPER_LETTER ? 279.4 : 297;
    double room_pt = (high_mm - 2 * EDGE_MM) * 72 / 25.4 - repeated_pt;
    double pages = (high_pt - repeated_pt) / room_pt, whole = floor(pages);
    return whole > 0 && pages - whole < most * whole ? (int)whole : 0;
}

void ts_margin_page(ts_margin_paper *paper, ts_xlsx_sheet *sheet, const char *name, int repeat,
                    ts_margin_way way, double high_pt)
{
    const ts_terms *terms = &paper->first->needs->terms;
    const char *word = ts_book_studio(paper->paper->book, "paper", terms->as_of);
    int kind = word == NULL ? 0 : ts_list_find(TS_LIST_PAPER, word);
    ts_xlsx_page page = {
        .paper = kind == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
        .landscape = way == TS_MARGIN_LANDSCAPE,
        .fit_width = true,
        .fit_height = repeat == 0 ? 1 : pages_high(kind, high_pt),
        .repeat_rows = repeat,
        .margin_mm = way == TS_MARGIN_LANDSCAPE ? 14 : 10,
        .edge_mm = way == TS_MARGIN_LANDSCAPE ? 0 : EDGE_MM,
        .header =
            paper->paper->draft ? "Draft \xc2\xb7 for the owner alone" : "For the owner alone",
        .footer = ts_arena_format(paper->arena, "%s \xc2\xb7 %s", terms->reference, name),
    };
    ts_xlsx_page_setup(sheet, &page);
}

const char *ts_margin_unchanged(ts_margin_paper *paper, const char *then)
{
    char cost[24], net[24], cost_is[TS_DECIMAL_TEXT], net_is[TS_DECIMAL_TEXT];
    const ts_costing *c = paper->first;
    ts_money minor = {0};
    ts_xlsx_cell(cost, paper->rows[0].cost, TS_LINES_COST, false);
    ts_xlsx_cell(net, paper->rows[0].net, TS_LINES_PRICE, false);
    ts_money_text(cost_is, ts_figure_money(&minor, c->cost, c->exponent) ? minor : (ts_money){0},
                  c->exponent);
    ts_money_text(net_is, ts_figure_money(&minor, c->net, c->exponent) ? minor : (ts_money){0},
                  c->exponent);
    return ts_arena_format(
        paper->arena, "=IF(AND(ROUND(Lines!%s-%s,%d)=0,ROUND(Lines!%s-%s,%d)=0),%s,\"%s\")", cost,
        cost_is, c->exponent, net, net_is, c->exponent, then, TS_MARGIN_CHANGED);
}

static void note_all(ts_margin_paper *paper)
{
    for (int o = 0; o < paper->paper->option_count; o++) {
        const ts_costing *c = paper->paper->options[o];
        for (int i = 0; i < c->line_count; i++) {
            ts_ledger_note(paper->ledger, c->lines[i].price);
        }
        ts_ledger_note(paper->ledger, c->to_pay);
        for (int i = 0; i < c->tax_count; i++) {
            ts_ledger_note(paper->ledger, c->taxes[i].amount);
        }
        for (int i = 0; i < c->stage_count; i++) {
            ts_ledger_note(paper->ledger, c->stages[i].amount);
        }
    }
}

ts_status ts_margin_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                          ts_diag *diag)
{
    ts_margin_paper *m = TS_NEW(arena, ts_margin_paper);
    m->arena = arena;
    m->paper = paper;
    m->first = paper->options[0];
    m->rows = TS_ARRAY(arena, ts_margin_rows, (size_t)paper->option_count);
    m->ledger = ts_ledger_new(arena, m->first->rounding);
    const ts_terms *terms = &m->first->needs->terms;
    const char *studio = ts_book_studio(paper->book, "name", terms->as_of);
    ts_xlsx_about about = {
        .title = ts_arena_format(arena, "Margin of %s", terms->reference),
        .subject = terms->title,
        .author = studio,
        .day = terms->date,
    };
    m->book = ts_xlsx_new(arena, path, &about);
    m->decision = ts_xlsx_add(m->book, "Decision");
    m->lines = ts_xlsx_add(m->book, "Lines");
    m->rates = ts_xlsx_add(m->book, "Rates");
    m->quantities = ts_xlsx_add(m->book, "Quantities");
    m->sensitivity = ts_xlsx_add(m->book, "Sensitivity");
    m->workings = ts_xlsx_add(m->book, "Workings");
    m->outlook = ts_outlook_of(arena, m->first);
    note_all(m);
    ts_margin_lines(m);
    ts_margin_sensitivity(m);
    ts_margin_decision(m);
    ts_margin_rates(m);
    ts_margin_quantities(m);
    ts_margin_links_write(m);
    ts_margin_workings(m);
    return ts_xlsx_close(m->book, diag);
}
