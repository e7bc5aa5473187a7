#include "papers/margin.h"
#include "papers/typeset.h"

/* Each amount of Lines has the number by which `why` knows it. The number leads to the first
 * cell of the amount's chain on Workings, or to the rate or quantity that it rests on where
 * nothing stands between; from there what it is called leads back to the first line that
 * rests on it. What goes through another line's cell is that line's chain. */

void ts_margin_link_add(ts_margin_paper *m, int row, int number, const ts_figure *figure,
                        bool ruled)
{
    if (number == 0 || figure == NULL) {
        return;
    }
    m->links = ts_arena_grow(m->arena, m->links, m->link_count, &m->link_room, sizeof *m->links);
    m->links[m->link_count++] = (ts_margin_link){.row = row,
                                                 .number = number,
                                                 .ruled = ruled,
                                                 .figure = figure,
                                                 .work_index = -1,
                                                 .leaf_index = -1};
}

static void keep_leaf(ts_margin_link *link, ts_ledger *ledger, const ts_figure *figure, int index)
{
    bool is_rate = figure->op == TS_OP_BOOK;
    ts_ledger_leaf *leaf = is_rate ? &ledger->rates[index] : &ledger->quantities[index];
    if (leaf->used_by == 0) {
        leaf->used_by = link->row;
    }
    if (link->leaf_index < 0 || (is_rate && !link->leaf_is_rate)) {
        link->leaf_index = index;
        link->leaf_is_rate = is_rate;
    }
}

static void find(ts_margin_link *link, ts_ledger *ledger, const ts_figure *figure)
{
    if (figure->arg_count > 0) {
        const ts_ledger_place *place = ts_ledger_find(ledger, figure);
        if (place != NULL && place->row != link->row) {
            return;
        }
    }
    const ts_ledger_node *node = ts_ledger_at(ledger, figure);
    if (node->work >= 0) {
        ts_ledger_work *work = &ledger->works[node->work];
        if (work->used_by == 0) {
            work->used_by = link->row;
        }
        if (link->work_index < 0) {
            link->work_index = node->work;
        }
    }
    if (node->leaf >= 0) {
        keep_leaf(link, ledger, figure, node->leaf);
    }
    for (int i = 0; i < figure->arg_count; i++) {
        find(link, ledger, figure->args[i]);
    }
}

void ts_margin_links_find(ts_margin_paper *m, size_t first)
{
    for (size_t i = first; i < m->link_count; i++) {
        find(&m->links[i], m->ledger, m->links[i].figure);
    }
}

void ts_margin_links_write(ts_margin_paper *m)
{
    const ts_ledger *ledger = m->ledger;
    ts_xlsx_style style = {.align = TS_ALIGN_RIGHT, .size_pt = TS_MARGIN_SMALL_PT};
    for (size_t i = 0; i < m->link_count; i++) {
        const ts_margin_link *link = &m->links[i];
        ts_xlsx_spot to = {m->workings, 0, 0};
        if (link->work_index >= 0) {
            to.row = ledger->works[link->work_index].row;
        } else if (link->leaf_index >= 0) {
            to.sheet = link->leaf_is_rate ? m->rates : m->quantities;
            to.row = link->leaf_is_rate ? ledger->rates[link->leaf_index].row
                                        : ledger->quantities[link->leaf_index].row;
        }
        style.link = to.row > 0;
        style.rule_above = link->ruled;
        if (style.link) {
            ts_xlsx_link(m->lines, link->row, TS_LINES_NUMBER, &to, "", style);
        }
        ts_xlsx_number(m->lines, link->row, TS_LINES_NUMBER,
                       (ts_dec){(int64_t)link->number * 1000000}, style);
    }
}

void ts_margin_link_back(const ts_margin_paper *m, ts_xlsx_sheet *sheet, int row, int used_by,
                         const char *name, double width_mm)
{
    ts_xlsx_spot line = {m->lines, used_by, TS_LINES_ITEM};
    bool is_long = ts_typeset_lines(name, 10, false, width_mm) > 1;
    ts_xlsx_link(sheet, row, 0, &line, name,
                 (ts_xlsx_style){.size_pt = is_long ? TS_MARGIN_SMALL_PT : 0, .wrap = true});
}
