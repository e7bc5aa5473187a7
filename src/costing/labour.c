#include "costing/pricing.h"

/* Labour: the book's row that fits an operation best, and its time or its price. */

static ts_labour_key key_of(const ts_work_need *need)
{
    return (ts_labour_key){.operation = need->operation,
                           .has_size = need->has_size,
                           .size_mm = need->size_mm,
                           .alloy = need->alloy,
                           .main_metal = need->main_metal,
                           .shape = need->shape,
                           .species = need->species,
                           .client = need->client};
}

/* Is the operation there for another alloy too? Then the item names the alloy. */
static bool several_alloys(const ts_pricing *p, const ts_work_need *need)
{
    for (int i = 0; i < p->needs->work_count; i++) {
        const ts_work_need *other = &p->needs->works[i];
        if (other != need && ts_text_same(other->operation, need->operation) &&
            other->alloy != NULL && !ts_text_same(other->alloy, need->alloy)) {
            return true;
        }
    }
    return false;
}

static const char *item_of(ts_pricing *p, const ts_work_need *need)
{
    char size[TS_DECIMAL_TEXT];
    if (need->has_size) {
        return ts_arena_format(p->arena, "%s %s mm", need->operation,
                               ts_dec_fixed(size, need->size_mm, 2));
    }
    bool cast = ts_text_same(need->operation, "cast");
    if (need->alloy != NULL && (cast || several_alloys(p, need))) {
        return ts_arena_format(p->arena, "%s %s", need->operation, need->alloy);
    }
    return need->operation;
}

/* The row, or NULL after a fault. A counted operation without a price is never free. */
static const ts_labour_row *find(ts_pricing *p, const ts_work_need *need, const char *item)
{
    ts_labour_key key = key_of(need);
    const ts_labour_row *tie = NULL;
    const ts_labour_row *row = ts_book_labour(p->book, &key, p->on, &tie);
    ts_place at = {.file = need->whence.file, .line = need->whence.line};
    if (row == NULL) {
        ts_diag_add(p->diag, TS_FAULT_BOOK_GAP, need->whence.line > 0 ? &at : NULL,
                    "labour.csv has no row in force that prices \"%s\"%s%s", item,
                    need->alloy != NULL ? " in " : "", need->alloy != NULL ? need->alloy : "");
        return NULL;
    }
    if (tie != NULL) {
        at = ts_book_place(p->book, p->arena, &row->head, "operation");
        ts_diag_add(p->diag, TS_FAULT_BOOK_TIE, &at,
                    "this row and that on line %d fit \"%s\" equally well; narrow one of them",
                    tie->head.line, item);
        return NULL;
    }
    return row;
}

/* Planned minutes: set-up + each × count, or what a `work` row says. */
static const ts_figure *minutes_of(ts_pricing *p, const ts_work_need *need,
                                   const ts_labour_row *row, const char *item)
{
    const char *name = ts_arena_format(p->arena, "minutes, %s", item);
    const int index = (int)(need - p->needs->works);
    if (need->has_minutes) {
        ts_whence whence = need->whence;
        whence.says = "as the sheet says";
        return ts_rate_taken(p, TS_TAKEN_WORK_MINUTES, index, name, "min", whence);
    }
    const ts_figure *count =
        ts_rate_taken(p, TS_TAKEN_WORK_COUNT, index, ts_arena_format(p->arena, "count, %s", item),
                      "", need->whence);
    const ts_figure *each =
        ts_rate_cell(p, ts_arena_format(p->arena, "minutes each, %s", row->operation),
                     row->minutes_each, "min", &row->head, "minutes each");
    const ts_figure *work = ts_figure_two(p->arena, TS_OP_MUL, name, "min", each, count);
    if (row->setup_minutes.e6 == 0) {
        return work;
    }
    const ts_figure *setup =
        ts_rate_cell(p, ts_arena_format(p->arena, "set-up, %s", row->operation), row->setup_minutes,
                     "min", &row->head, "set-up minutes");
    return ts_figure_two(p->arena, TS_OP_SUM, name, "min", setup, work);
}

static const ts_craft_row *craft_of(ts_pricing *p, const ts_labour_row *row)
{
    const ts_craft_row *craft = ts_book_craft(p->book, row->craft, p->on);
    if (craft == NULL) {
        ts_place at = ts_book_place(p->book, p->arena, &row->head, "craft");
        ts_diag_add(p->diag, TS_FAULT_BOOK_GAP, &at,
                    "crafts.csv has no row in force for the craft \"%s\"", row->craft);
    }
    return craft;
}

static void by_time(ts_pricing *p, const ts_work_need *need, const ts_labour_row *row,
                    const char *item, int index)
{
    const ts_craft_row *craft = craft_of(p, row);
    if (craft == NULL) {
        return;
    }
    const ts_figure *hour =
        ts_rate_cell(p, ts_arena_format(p->arena, "an hour of the %s", row->craft),
                     craft->rate_per_hour, p->book->currency, &craft->head, "rate per hour");
    hour = ts_rate_convert(p, hour, NULL, &craft->head);
    if (!ts_pricing_fine(p, hour, item)) {
        return;
    }
    const char *name = ts_arena_format(p->arena, "a minute of the %s", row->craft);
    const ts_figure *minute =
        ts_figure_round(p->arena, name, p->currency,
                        ts_figure_two(p->arena, TS_OP_DIV, name, p->currency, hour,
                                      ts_constant(p, 60, "minutes an hour")),
                        6, p->mode);
    ts_line *line = ts_line_add(p, TS_SECTION_LABOUR, TS_LINE_LABOUR, item, row->craft);
    line->need = index;
    line->craft = row->craft;
    line->own_labour = craft->outside != TS_YES_YES;
    line->minutes = minutes_of(p, need, row, item);
    ts_line_cost(p, line, line->minutes, "min", minute);
}

void ts_line_minimum(ts_pricing *p, ts_line *line, ts_dec least, const char *currency,
                     const ts_book_row *row)
{
    if (least.e6 == 0) {
        return;
    }
    const ts_figure *floor =
        ts_rate_cell(p, ts_arena_format(p->arena, "minimum, %s", line->item), least,
                     currency == NULL ? p->book->currency : currency, row, "minimum");
    floor = ts_rate_convert(p, floor, currency, row);
    floor = ts_round_money(p, floor == NULL ? "" : floor->name, floor);
    const ts_figure *raised =
        ts_figure_two(p->arena, TS_OP_MAX, line->item, p->currency, line->cost, floor);
    if (raised != NULL && (raised->value.num != line->cost->value.num ||
                           raised->value.den != line->cost->value.den)) {
        line->at_minimum = true;
        line->item = ts_arena_format(p->arena, "%s (minimum)", line->item);
    }
    line->cost = raised;
}

static void by_piece(ts_pricing *p, const ts_work_need *need, const ts_labour_row *row,
                     const char *item, int index)
{
    const ts_figure *count =
        ts_rate_taken(p, TS_TAKEN_WORK_COUNT, index, ts_arena_format(p->arena, "count, %s", item),
                      "each", need->whence);
    const ts_figure *each = ts_rate_cell(
        p, ts_arena_format(p->arena, "price each, %s", row->operation), row->price_each,
        row->currency == NULL ? p->book->currency : row->currency, &row->head, "price each");
    each = ts_rate_convert(p, each, row->currency, &row->head);
    if (!ts_pricing_fine(p, each, item)) {
        return;
    }
    ts_line *line = ts_line_add(p, TS_SECTION_LABOUR, TS_LINE_PIECEWORK, item, row->craft);
    line->need = index;
    line->craft = row->craft;
    ts_line_cost(p, line, count, "each", each);
    ts_line_minimum(p, line, row->minimum, row->currency, &row->head);
}

void ts_lines_of_labour(ts_pricing *p)
{
    for (int i = 0; i < p->needs->work_count; i++) {
        const ts_work_need *need = &p->needs->works[i];
        const char *item = item_of(p, need);
        const ts_labour_row *row = find(p, need, item);
        if (row == NULL) {
            continue;
        }
        if (ts_book_given(&row->head, "price each") && !need->has_minutes) {
            by_piece(p, need, row, item, i);
        } else {
            by_time(p, need, row, item, i);
        }
    }
}
