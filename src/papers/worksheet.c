#include "papers/margin.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The sheet Workings: what stands between a rate and a line. Figures that are rounded on
 * the way, used more than once, or shared out by largest remainder; in the order in which
 * formulas first needed them, under the option that did. */

#define HEADER_ROW 3

static const double widths_mm[TS_WORK_COLUMNS] = {116, 30, 14, 24, 30, 24, 26, 84};

static void put_header(ts_margin_paper *m)
{
    static const char *const headings[TS_WORK_COLUMNS] = {
        "What", "Value", "Unit", "Weight", "Exact part", "Whole", "Remainder", "Name in formulas"};
    for (int c = 0; c < TS_WORK_COLUMNS; c++) {
        bool left = c == TS_WORK_WHAT || c == TS_WORK_UNIT || c == TS_WORK_NAME;
        ts_xlsx_style style = {.bold = true,
                               .rule_below = true,
                               .align = left ? TS_ALIGN_LEFT : TS_ALIGN_RIGHT,
                               .indent = c == TS_WORK_UNIT || c == TS_WORK_NAME ? 1 : 0};
        ts_xlsx_text(m->workings, HEADER_ROW, c, headings[c], style);
    }
    ts_xlsx_height(m->workings, HEADER_ROW, 16);
    ts_xlsx_freeze(m->workings, HEADER_ROW + 1, 0);
}

static ts_xlsx_style figures(const char *format)
{
    return (ts_xlsx_style){.align = TS_ALIGN_RIGHT, .format = format};
}

static void put_share(ts_margin_paper *m, const ts_ledger_work *work)
{
    ts_xlsx_formula(m->workings, work->row, TS_WORK_WEIGHT, work->weight, work->weight_value,
                    figures(ts_margin_rate_format(work->weight_value)));
    ts_xlsx_formula(m->workings, work->row, TS_WORK_PART, work->part, work->part_value,
                    figures(ts_margin_rate_format(work->part_value)));
    ts_xlsx_formula(m->workings, work->row, TS_WORK_WHOLE, work->whole, work->whole_value,
                    figures("#,##0"));
    ts_xlsx_formula(m->workings, work->row, TS_WORK_REST, work->rest, work->rest_value,
                    figures(ts_margin_rate_format(work->rest_value)));
}

static void put_work(ts_margin_paper *m, const ts_ledger_work *work)
{
    if (work->figure == NULL) {
        ts_xlsx_merged(m->workings, work->row, 0, TS_WORK_COLUMNS - 1, work->what,
                       (ts_xlsx_style){.bold = true, .bottom = true});
        ts_xlsx_height(m->workings, work->row, 20);
        return;
    }
    const char *what = ts_text_show(m->arena, work->what == NULL ? "" : work->what, 300);
    const char *unit = work->figure->unit == NULL ? "" : work->figure->unit;
    int lines = ts_typeset_lines(what, 10, false, widths_mm[TS_WORK_WHAT]);
    if (work->used_by > 0) {
        ts_margin_link_back(m, m->workings, work->row, work->used_by, what,
                            widths_mm[TS_WORK_WHAT]);
    } else {
        ts_xlsx_text(m->workings, work->row, TS_WORK_WHAT, what, (ts_xlsx_style){.wrap = true});
    }
    ts_xlsx_formula(m->workings, work->row, TS_WORK_VALUE, work->formula, work->value,
                    figures(ts_margin_rate_format(work->value)));
    ts_xlsx_text(m->workings, work->row, TS_WORK_UNIT, unit,
                 (ts_xlsx_style){.wrap = true, .indent = 1});
    ts_xlsx_text(m->workings, work->row, TS_WORK_NAME, work->name,
                 (ts_xlsx_style){.size_pt = TS_MARGIN_SMALL_PT, .indent = 1});
    if (!ts_xlsx_name(m->workings, work->row, TS_WORK_VALUE, work->name)) {
        ts_xlsx_fail(m->book, "a cell could not be named");
    }
    if (work->share) {
        put_share(m, work);
    }
    ts_xlsx_height(m->workings, work->row, ts_typeset_height_pt(lines, 10) + 1);
}

/* Columns are as wide as what stands in them. */
static void put_widths(ts_margin_paper *m)
{
    double wide_mm[TS_WORK_COLUMNS];
    memcpy(wide_mm, widths_mm, sizeof wide_mm);
    for (size_t i = 0; i < m->ledger->work_count; i++) {
        const ts_ledger_work *work = &m->ledger->works[i];
        if (work->figure != NULL) {
            ts_margin_widen(&wide_mm[TS_WORK_VALUE], work->value,
                            ts_margin_rate_format(work->value));
        }
        if (work->share) {
            ts_margin_widen(&wide_mm[TS_WORK_WEIGHT], work->weight_value,
                            ts_margin_rate_format(work->weight_value));
            ts_margin_widen(&wide_mm[TS_WORK_PART], work->part_value,
                            ts_margin_rate_format(work->part_value));
            ts_margin_widen(&wide_mm[TS_WORK_WHOLE], work->whole_value, "#,##0");
        }
    }
    for (int c = 0; c < TS_WORK_COLUMNS; c++) {
        ts_xlsx_width(m->workings, c, wide_mm[c]);
    }
}

void ts_margin_workings(ts_margin_paper *m)
{
    ts_margin_title(
        m, m->workings, "Workings",
        "Figures between the rates and the lines, each rounded where the engine rounds "
        "it. Nothing here needs changing. What is underlined leads to the first line that rests on "
        "it.",
        TS_WORK_COLUMNS, 270);
    put_header(m);
    for (size_t i = 0; i < m->ledger->work_count; i++) {
        put_work(m, &m->ledger->works[i]);
    }
    put_widths(m);
    ts_margin_page(m, m->workings, "Workings", HEADER_ROW + 1, TS_MARGIN_LANDSCAPE, 0);
    ts_xlsx_guard(m->workings);
}
