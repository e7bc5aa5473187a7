#include "papers/ordering.h"
#include "papers/piece.h"
#include "papers/typeset.h"
#include "papers/xlsx.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The order as a workbook: its tables as they are, one a sheet, under a title that says
 * whose they are, with the stones' sums by currency below. Sheets are not guarded: a buyer
 * ticks off, a bench moves weeks about. */

#define HEADER_ROW 4
#define TITLE_PT 14
#define SMALL_PT 9
#define MM_A_CHARACTER 1.95
#define PADDING_MM 1.6
#define WARNING 0x9c0006u
#define MOST_NAMED 8

/* Where the sums of Stones stand: columns of the table. */
enum { STONES_SET = 6, STONES_SPARES, STONES_STONES, STONES_CARATS, STONES_COST, STONES_CURRENCY };

typedef struct writer {
    ts_arena *arena;
    ts_xlsx *book;
    const ts_order *order;
    const ts_table *table;
    ts_xlsx_sheet *sheet;
    int shown; /* columns that the sheet has */
    int row;
} writer;

/* The sheet's column of a table's column, or -1 where a workbook leaves it out. */
static int place_of(const ts_table *table, int column)
{
    int place = 0;
    for (int c = 0; c < column; c++) {
        place += table->columns[c].width > 0;
    }
    return table->columns[column].width > 0 ? place : -1;
}

static double width_mm(const ts_column *column)
{
    return column->width * MM_A_CHARACTER + PADDING_MM;
}

static bool is_numeric(ts_cell_kind kind)
{
    return kind == TS_CELL_NUMBER || kind == TS_CELL_MONEY || kind == TS_CELL_DATE;
}

/* Two decimals always, further ones where there are any, all on one decimal point. */
static const char *number_format(int places)
{
    static const char *const formats[] = {"#,##0",      "#,##0.0",     "#,##0.00",    "#,##0.000",
                                          "#,##0.00??", "#,##0.00???", "#,##0.00????"};
    bool known = places >= 0 && places < (int)TS_COUNT_OF(formats);
    return formats[known ? places : (int)TS_COUNT_OF(formats) - 1];
}

/* ---- head ---- */

static const char *named(writer *w)
{
    const char *text = "";
    if (w->order->count > MOST_NAMED) {
        return ts_arena_format(w->arena, "%d commissions", w->order->count);
    }
    for (int i = 0; i < w->order->count; i++) {
        text =
            ts_text_joined(w->arena, text, ", ", w->order->commissions[i]->needs->terms.reference);
    }
    return text;
}

static void put_head(writer *w, const char *title, const char *note)
{
    char day[32];
    double all_mm = 0;
    for (int c = 0; c < w->table->column_count; c++) {
        if (w->table->columns[c].width > 0) {
            all_mm += width_mm(&w->table->columns[c]);
            w->shown++;
        }
    }
    ts_xlsx_style small = {.size_pt = SMALL_PT, .wrap = true, .colour = 0x404040};
    const char *whose = ts_arena_format(w->arena, "For %s \xc2\xb7 %s", named(w),
                                        ts_date_words(day, w->order->from));
    const char *texts[] = {ts_text_show(w->arena, whose, 600), note};
    ts_xlsx_merged(w->sheet, 0, 0, w->shown - 1, title,
                   (ts_xlsx_style){.size_pt = TITLE_PT, .bold = true});
    ts_xlsx_height(w->sheet, 0, 22);
    for (int i = 0; i < 2; i++) {
        int lines = ts_typeset_lines(texts[i], SMALL_PT, false, all_mm);
        ts_xlsx_merged(w->sheet, 1 + i, 0, w->shown - 1, texts[i], small);
        ts_xlsx_height(w->sheet, 1 + i, ts_typeset_height_pt(lines, SMALL_PT) + 1);
    }
    ts_xlsx_height(w->sheet, 3, 6);
}

static void put_headings(writer *w)
{
    int most = 1;
    for (int c = 0; c < w->table->column_count; c++) {
        const ts_column *column = &w->table->columns[c];
        int place = place_of(w->table, c);
        if (place < 0) {
            continue;
        }
        const char *text = ts_piece_capital(w->arena, column->heading);
        int lines = ts_typeset_lines(text, 10, true, width_mm(column));
        most = lines > most ? lines : most;
        ts_xlsx_text(
            w->sheet, HEADER_ROW, place, text,
            (ts_xlsx_style){.bold = true,
                            .wrap = true,
                            .bottom = true,
                            .rule_below = true,
                            .align = is_numeric(column->kind) ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                            .indent = is_numeric(column->kind) ? 0 : 1});
        ts_xlsx_width(w->sheet, place, width_mm(column));
    }
    ts_xlsx_height(w->sheet, HEADER_ROW, ts_typeset_height_pt(most, 10) + 3);
    ts_xlsx_freeze(w->sheet, HEADER_ROW + 1, 1);
    w->row = HEADER_ROW + 1;
}

/* ---- rows ---- */

static ts_xlsx_style style_of(const writer *w, const ts_cell *cell, const ts_column *column,
                              bool ruled)
{
    ts_xlsx_style style = {.rule_above = ruled};
    if (!is_numeric(column->kind)) {
        style.wrap = true;
        style.indent = 1;
        return style;
    }
    style.align = TS_ALIGN_RIGHT;
    if (column->kind == TS_CELL_MONEY) {
        style.format = ts_xlsx_money_format(ts_cell_exponent(w->table, cell));
    } else {
        style.format = column->kind == TS_CELL_DATE ? "yyyy-mm-dd" : number_format(column->places);
    }
    return style;
}

static bool is_text(const ts_cell *cell)
{
    return cell->kind == TS_CELL_TEXT || cell->kind == TS_CELL_WORD;
}

/* Room for text in a column: programs indent what stands beside a rule. */
static double text_mm(const ts_column *column)
{
    const double indent_mm = 2.5;
    return width_mm(column) - indent_mm;
}

/* Whose it is and how much, one after the other: a line ends between two of them, never within
 * a reference or before a unit, where a program would end it. */
static const char *whole_entries(const writer *w, const char *text, double room_mm)
{
    const char *above = "", *line = "";
    while (*text != '\0') {
        const char *comma = strstr(text, ", ");
        size_t length = comma == NULL ? strlen(text) : (size_t)(comma - text);
        const char *entry = ts_arena_copy(w->arena, text, length);
        const char *longer = ts_arena_format(w->arena, "%s, %s", line, entry);
        if (line[0] == '\0') {
            line = entry;
        } else if (ts_typeset_lines(longer, 10, false, room_mm) == 1) {
            line = longer;
        } else {
            above = ts_arena_format(w->arena, "%s%s,\n", above, line);
            line = entry;
        }
        text += length + (comma == NULL ? 0 : 2);
    }
    return ts_arena_format(w->arena, "%s%s", above, line);
}

static const char *text_of(const writer *w, const ts_cell *cell, const ts_column *column)
{
    const char *text = ts_text_show(w->arena, cell->text, 2000);
    return strcmp(column->heading, "for") == 0 ? whole_entries(w, text, text_mm(column)) : text;
}

static void put_cell(writer *w, int place, const ts_cell *cell, const ts_column *column,
                     ts_xlsx_style style)
{
    switch (cell->kind) {
    case TS_CELL_EMPTY:
        ts_xlsx_blank(w->sheet, w->row, place, style);
        return;
    case TS_CELL_TEXT:
    case TS_CELL_WORD:
        if (strcmp(column->heading, "late") == 0) {
            style.bold = true;
            style.colour = WARNING;
        }
        ts_xlsx_text(w->sheet, w->row, place, text_of(w, cell, column), style);
        return;
    case TS_CELL_NUMBER:
        ts_xlsx_number(w->sheet, w->row, place, cell->number, style);
        return;
    case TS_CELL_MONEY:
        ts_xlsx_money(w->sheet, w->row, place, cell->money, ts_cell_exponent(w->table, cell),
                      style);
        return;
    case TS_CELL_DATE:
        ts_xlsx_date(w->sheet, w->row, place, cell->date, style);
        return;
    }
}

/* Lines that the row's longest text takes. */
static int lines_of(const writer *w, const ts_cell *cells)
{
    int most = 1;
    for (int c = 0; c < w->table->column_count; c++) {
        const ts_column *column = &w->table->columns[c];
        if (column->width > 0 && is_text(&cells[c])) {
            int lines = ts_typeset_lines(text_of(w, &cells[c], column), 10, false, text_mm(column));
            most = lines > most ? lines : most;
        }
    }
    return most;
}

static void put_rows(writer *w)
{
    const ts_table *table = w->table;
    for (size_t r = 0; r < table->row_count; r++) {
        const ts_cell *cells = ts_table_at(table, r);
        int lines = lines_of(w, cells);
        for (int c = 0; c < table->column_count; c++) {
            int place = place_of(table, c);
            ts_xlsx_style style =
                style_of(w, &cells[c], &table->columns[c], ts_table_ruled(table, r));
            style.bottom = lines == 1; /* keeps off the rule above */
            if (place >= 0) {
                put_cell(w, place, &cells[c], &table->columns[c], style);
            }
        }
        ts_xlsx_height(w->sheet, w->row++, ts_typeset_height_pt(lines, 10) + 2);
    }
}

/* ---- the stones' sums, a row a currency ---- */

static const ts_cell *cell_at(const writer *w, size_t row, int column)
{
    return &ts_table_at(w->table, row)[column];
}

static bool is_of(const writer *w, size_t row, const char *currency)
{
    const ts_cell *cell = cell_at(w, row, STONES_CURRENCY);
    return cell->kind == TS_CELL_WORD && strcmp(cell->text, currency) == 0;
}

/* The sum of one column over the rows of a currency, in units. */
static ts_ratio sum_of(const writer *w, int column, const char *currency)
{
    ts_i128 sum = 0, scale = 1000000;
    for (size_t r = 0; r < w->table->row_count; r++) {
        const ts_cell *cell = cell_at(w, r, column);
        if (!is_of(w, r, currency)) {
            continue;
        }
        sum += cell->kind == TS_CELL_MONEY ? cell->money.minor : cell->number.e6;
        if (cell->kind == TS_CELL_MONEY) {
            scale = 1;
            for (int i = 0; i < ts_cell_exponent(w->table, cell); i++) {
                scale *= 10;
            }
        }
    }
    return (ts_ratio){sum, scale};
}

static void put_sum(writer *w, const char *currency, size_t first)
{
    char from[24], to[24], of[24], until[24];
    int top = HEADER_ROW + 1, bottom = HEADER_ROW + (int)w->table->row_count;
    int key = place_of(w->table, STONES_CURRENCY);
    for (int c = 0; c < w->table->column_count; c++) {
        int place = place_of(w->table, c);
        ts_xlsx_style style = style_of(w, cell_at(w, first, c), &w->table->columns[c], true);
        style.bold = style.bottom = true;
        if (place >= 0 && c >= STONES_SET && c <= STONES_COST) {
            const char *formula = ts_arena_format(
                w->arena, "=SUMIF(%s:%s,\"%s\",%s:%s)", ts_xlsx_cell(from, top, key, true),
                ts_xlsx_cell(to, bottom, key, true), currency, ts_xlsx_cell(of, top, place, false),
                ts_xlsx_cell(until, bottom, place, false));
            ts_xlsx_formula(w->sheet, w->row, place, formula, sum_of(w, c, currency), style);
        } else if (place >= 0) {
            const char *text = place == 0 ? "To buy" : c == STONES_CURRENCY ? currency : "";
            ts_xlsx_text(w->sheet, w->row, place, text, style);
        }
    }
    ts_xlsx_height(w->sheet, w->row++, 16);
}

static void put_sums(writer *w)
{
    for (size_t r = 0; r < w->table->row_count; r++) {
        const ts_cell *cell = cell_at(w, r, STONES_CURRENCY);
        bool is_first = cell->kind == TS_CELL_WORD;
        for (size_t k = 0; k < r && is_first; k++) {
            is_first = !is_of(w, k, cell->text);
        }
        if (is_first) {
            put_sum(w, cell->text, r);
        }
    }
}

/* ---- sheets ---- */

static void put_page(writer *w, const char *name)
{
    char day[32];
    const ts_costing *first = w->order->commissions[0];
    const char *word = ts_book_studio(first->book, "paper", first->needs->terms.as_of);
    int kind = word == NULL ? 0 : ts_list_find(TS_LIST_PAPER, word);
    ts_xlsx_page page = {.paper = kind == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
                         .landscape = true,
                         .fit_width = true,
                         .repeat_rows = HEADER_ROW + 1,
                         .margin_mm = 14,
                         .header = "For the studio alone",
                         .footer = ts_arena_format(w->arena, "Order of %s \xc2\xb7 %s",
                                                   ts_date_words(day, w->order->from), name)};
    ts_xlsx_page_setup(w->sheet, &page);
}

static void put_sheet(writer *w, const ts_table *table, const char *name, const char *note)
{
    w->table = table;
    w->sheet = ts_xlsx_add(w->book, name);
    w->shown = 0;
    put_head(w, name, note);
    put_headings(w);
    put_rows(w);
    if (table->kind == TS_TABLE_STONES) {
        put_sums(w);
    }
    if (table->row_count == 0) {
        ts_xlsx_text(w->sheet, w->row++, 0, "Nothing", (ts_xlsx_style){.indent = 1});
    }
    put_page(w, name);
}

ts_status ts_order_write(const char *path, ts_arena *arena, const ts_order *order, ts_diag *diag)
{
    const ts_costing *first = order->commissions[0];
    char day[32];
    ts_xlsx_about about = {
        .title = ts_arena_format(arena, "Order of %s", ts_date_words(day, order->from)),
        .author = ts_book_studio(first->book, "name", first->needs->terms.as_of),
        .day = order->from,
    };
    writer w = {.arena = arena, .order = order, .book = ts_xlsx_new(arena, path, &about)};
    put_sheet(&w, order->stones, "Stones",
              "By lot and size. Spares are those that each commission is charged with. What the "
              "client supplies stands last and is not bought. Costs of one currency are added, "
              "never of two.");
    put_sheet(&w, order->casting, "Casting",
              "By alloy. Old metal that goes into a piece is melted with the new, so loss and "
              "sprue are of both. Recovered: the part of the sprue that the refiner pays for.");
    put_sheet(&w, order->bench, "Bench",
              ts_arena_format(arena,
                              "By craft; what is due first comes first. Week 1 begins on %s; each "
                              "craft fills its minutes a week and waits for no other. Late: the "
                              "week ends after the day the client needs it.",
                              ts_date_words(day, order->from)));
    return ts_xlsx_close(w.book, diag);
}
