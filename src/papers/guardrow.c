#include "papers/margin.h"

#include <string.h>

/* Live formulas follow every rate, but not how a price is made up: which tier a whole line
 * falls into, whether there is a surcharge at all, whether a part of nothing is a line. What
 * decided that is asked again of the changed cells; where one answer is another, the sheet
 * says that the engine has to be asked. */

enum { MOST_TEXT = 7500 }; /* of a formula's 8192 */

/* Does anything that may be changed stand below the figure? */
static bool is_live(const ts_figure *figure)
{
    bool live = figure->op == TS_OP_BOOK || figure->op == TS_OP_QUANTITY;
    for (int i = 0; !live && i < figure->arg_count; i++) {
        live = is_live(figure->args[i]);
    }
    return live;
}

/* Money and its parts have at most six decimals: what is nearer to nothing is nothing. */
static const char *question(ts_margin_paper *m, const ts_guard *guard)
{
    const char *sign = guard->of_sign ? (guard->answer ? ">" : "<=") : (guard->answer ? "=" : "<>");
    return ts_arena_format(m->arena, "ROUND(%s,9)%s0",
                           ts_ledger_call(m->ledger, guard->figure, true), sign);
}

/* A product that is 1 while each question has its answer; "" where nothing that may be changed
 * decides anything, NULL where it would be too long for a cell. */
static const char *product_of(ts_margin_paper *m, const ts_costing *costing)
{
    const char *text = "";
    for (int i = 0; i < costing->guard_count; i++) {
        const ts_guard *guard = &costing->guards[i];
        if (guard->figure == NULL || !is_live(guard->figure)) {
            continue;
        }
        const char *one = question(m, guard);
        if (strstr(text, one) == NULL) {
            /* a product, for a list takes but 255 */
            text = ts_arena_format(m->arena, "%s%s(%s)", text, text[0] == '\0' ? "" : "*", one);
        }
        if (strlen(text) > MOST_TEXT) {
            return NULL;
        }
    }
    return text;
}

void ts_margin_guard_put(ts_margin_paper *m, const ts_costing *costing, int row)
{
    char self[24];
    const char *product = product_of(m, costing);
    ts_xlsx_style style = {.align = TS_ALIGN_RIGHT, .wrap = true};
    ts_xlsx_cell(self, row, TS_LINES_PRICE, true);
    if (product == NULL) {
        ts_xlsx_text(m->lines, row, TS_LINES_PRICE, "not followed here", style);
        return;
    }
    const char *formula = "=\"" TS_MARGIN_HOLDS "\"";
    if (product[0] != '\0') {
        /* 1*, for some programs do not hold a lone truth to be 1 */
        formula = ts_arena_format(m->arena, "=IF(1*%s=1,\"%s\",\"%s\")", product, TS_MARGIN_HOLDS,
                                  TS_MARGIN_AGAIN);
    }
    ts_xlsx_formula_text(m->lines, row, TS_LINES_PRICE, formula, TS_MARGIN_HOLDS, style);
    ts_xlsx_warn(m->lines, row, TS_LINES_PRICE,
                 ts_arena_format(m->arena, "=%s=\"%s\"", self, TS_MARGIN_AGAIN),
                 (ts_xlsx_style){.colour = TS_MARGIN_WARNING});
}
