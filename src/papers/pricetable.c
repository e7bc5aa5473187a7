#include <tallystone/papers/table.h>

#include <string.h>

/* The rows of `tallystone price`: lines, old metal, totals, payment stages. */

enum { REFERENCE, OPTION, SECTION, ITEM, QUANTITY, UNIT, UNIT_COST, COST, PRICE, ORIGIN };

typedef struct writer {
    ts_table *table;
    const ts_costing *costing;
    bool every;
} writer;

static ts_cell *row_of(writer *w, const char *section, const char *item, bool ruled)
{
    const ts_terms *terms = &w->costing->needs->terms;
    ts_cell *row = ts_table_row(w->table, ruled);
    row[REFERENCE] = ts_cell_text(terms->reference);
    row[OPTION] = ts_cell_text(terms->option_name);
    row[SECTION] = ts_cell_word(section);
    row[ITEM] = ts_cell_text(item);
    return row;
}

static void line_row(writer *w, const ts_line *line)
{
    int exponent = w->costing->exponent;
    const ts_figure *figures[] = {line->quantity, line->unit_cost, line->cost, line->price};
    ts_cell *row = row_of(w, ts_list_word(TS_LIST_SECTION, (int)line->section), line->item, false);
    row[QUANTITY] = ts_cell_figure_number(line->quantity);
    row[UNIT] = ts_cell_word(line->unit);
    row[UNIT_COST] = ts_cell_figure_number(line->unit_cost);
    row[COST] = ts_cell_figure_money(line->cost, exponent);
    row[PRICE] = ts_cell_figure_money(line->price, exponent);
    row[ORIGIN] = ts_cell_text(ts_figure_origin(w->table->arena, figures, 4));
}

static ts_cell negative(ts_cell cell)
{
    cell.money.minor = -cell.money.minor;
    cell.figure = NULL;
    return cell;
}

static void trade_in_row(writer *w, const ts_trade_in_line *line)
{
    const ts_figure *figures[] = {line->amount};
    ts_cell *row = row_of(w, "trade-in", line->item, false);
    row[QUANTITY] = ts_cell_figure_number(line->quantity);
    row[UNIT] = ts_cell_word("g");
    row[UNIT_COST] = ts_cell_figure_number(line->rate);
    row[PRICE] = negative(ts_cell_figure_money(line->amount, w->costing->exponent));
    row[ORIGIN] = ts_cell_text(ts_figure_origin(w->table->arena, figures, 1));
}

/* One total; `sign` -1 writes it negative. NULL counts as nothing. */
static void total_row(writer *w, const char *item, const ts_figure *figure, int sign, bool ruled)
{
    if (figure == NULL && !w->every) {
        return;
    }
    ts_cell *row = row_of(w, "total", item, ruled);
    ts_cell amount = figure == NULL ? ts_cell_money((ts_money){0})
                                    : ts_cell_figure_money(figure, w->costing->exponent);
    row[strcmp(item, "cost") == 0 ? COST : PRICE] = sign < 0 ? negative(amount) : amount;
}

/* Old metal above the price turns the payment round; a script's columns keep the sign. */
static bool is_turned(const writer *w)
{
    ts_money due;
    return !w->every && ts_figure_money(&due, w->costing->to_pay, w->costing->exponent) &&
           due.minor < 0;
}

static void totals(writer *w)
{
    const ts_costing *c = w->costing;
    total_row(w, "cost", c->cost, 1, true);
    total_row(w, "lines", c->lines_price, 1, false);
    total_row(w, "discount", c->discount, -1, false);
    total_row(w, "surcharge", c->surcharge, 1, false);
    total_row(w, "minimum", c->minimum, 1, false);
    total_row(w, "rounding", c->net_rounding, 1, false);
    total_row(w, "net", c->net, 1, true);
    total_row(w, "tax", c->tax, 1, false);
    if (c->total_rounding != NULL) {
        total_row(w, "rounding of total", c->total_rounding, 1, false);
    }
    total_row(w, "total", c->total, 1, true);
    total_row(w, "trade-in", c->trade_in, -1, false);
    const bool turned = is_turned(w);
    total_row(w, turned ? "owed to the client" : "to pay", c->to_pay, turned ? -1 : 1,
              c->trade_in != NULL);
    ts_cell *row = row_of(w, "total", "margin", false);
    row[UNIT] = ts_cell_word("%");
    if (c->has_margin) {
        row[PRICE] = ts_cell_number(c->margin_pct);
    }
}

void ts_price_rows(ts_table *table, const ts_costing *costing, bool every)
{
    writer w = {table, costing, every};
    for (int i = 0; i < costing->line_count; i++) {
        line_row(&w, &costing->lines[i]);
    }
    for (int i = 0; i < costing->trade_in_count; i++) {
        trade_in_row(&w, &costing->trade_ins[i]);
    }
    totals(&w);
    const bool turned = is_turned(&w);
    for (int i = 0; i < costing->stage_count; i++) {
        const ts_stage *stage = &costing->stages[i];
        const ts_cell amount = ts_cell_figure_money(stage->amount, costing->exponent);
        const char *name =
            turned ? ts_arena_format(table->arena, "%s, to the client", stage->name) : stage->name;
        ts_cell *row = row_of(&w, "payment", name, i == 0);
        row[PRICE] = turned ? negative(amount) : amount;
    }
}

static void difference_row(writer *w, const char *item, ts_money amount)
{
    ts_cell *row = row_of(w, "difference", item, false);
    row[PRICE] = ts_cell_money_of(amount, w->costing->exponent);
}

void ts_difference_rows(ts_table *table, const ts_costing *first, const ts_costing *other)
{
    writer w = {.table = table, .costing = other, .every = true};
    ts_difference d;
    if (!ts_costing_difference(&d, first, other)) {
        return;
    }
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        difference_row(&w, ts_list_word(TS_LIST_SECTION, s), d.section[s]);
    }
    difference_row(&w, "adjustments", d.adjustments);
    difference_row(&w, "tax", d.tax);
    difference_row(&w, "total", d.total);
}

void ts_summary_row(ts_table *table, const ts_costing *costing)
{
    enum { S_REFERENCE, S_OPTION, S_COST, S_NET, S_TOTAL, S_CURRENCY, S_MARGIN, S_VERDICT };
    const ts_terms *terms = &costing->needs->terms;
    ts_cell *row = ts_table_row(table, false);
    row[S_REFERENCE] = ts_cell_text(terms->reference);
    row[S_OPTION] =
        ts_cell_text(terms->option_label != NULL ? terms->option_label : terms->option_name);
    row[S_COST] = ts_cell_figure_money(costing->cost, costing->exponent);
    row[S_NET] = ts_cell_figure_money(costing->net, costing->exponent);
    row[S_TOTAL] = ts_cell_figure_money(costing->total, costing->exponent);
    row[S_CURRENCY] = ts_cell_word(costing->currency);
    if (costing->has_margin) {
        row[S_MARGIN] = ts_cell_number(costing->margin_pct);
    }
    if (costing->has_floor) {
        row[S_VERDICT] = ts_cell_word(costing->below_floor ? "below floor" : "above");
    }
}
