#include <tallystone/papers/best.h>

#include <tallystone/base/text.h>

#include "papers/xlsx.h"

/* The best variants as they stand in the table, numbers as numbers: the owner sorts and
 * filters on. Names come from outside and stay text. */

#define HEADER_ROW 2
#define MM_A_CHARACTER 1.95
#define PADDING_MM 1.6

static bool is_numeric(ts_cell_kind kind)
{
    return kind == TS_CELL_NUMBER || kind == TS_CELL_MONEY;
}

static const char *format_of(const ts_table *table, const ts_column *column, const ts_cell *cell)
{
    static const char *const formats[] = {"#,##0", "#,##0.0", "#,##0.00", "#,##0.000"};

    if (column->kind == TS_CELL_MONEY) {
        return ts_xlsx_money_format(ts_cell_exponent(table, cell));
    }
    return formats[column->places >= 0 && column->places < (int)TS_COUNT_OF(formats)
                       ? column->places
                       : (int)TS_COUNT_OF(formats) - 1];
}

static void put_cell(ts_xlsx_sheet *sheet, ts_arena *arena, const ts_table *table, size_t row,
                     int column)
{
    const ts_column *of = &table->columns[column];
    const ts_cell *cell = &ts_table_at(table, row)[column];
    const int at = HEADER_ROW + 1 + (int)row;
    ts_xlsx_style style = {.align = is_numeric(of->kind) ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT};

    if (cell->kind == TS_CELL_NUMBER) {
        style.format = format_of(table, of, cell);
        ts_xlsx_number(sheet, at, column, cell->number, style);
    } else if (cell->kind == TS_CELL_MONEY) {
        style.format = format_of(table, of, cell);
        ts_xlsx_money(sheet, at, column, cell->money, ts_cell_exponent(table, cell), style);
    } else if (cell->kind == TS_CELL_TEXT || cell->kind == TS_CELL_WORD) {
        ts_xlsx_text(sheet, at, column, ts_text_show(arena, cell->text, 2000), style);
    }
}

ts_status ts_best_write(const char *path, ts_arena *arena, const ts_table *table, const char *title,
                        ts_date day, ts_diag *diag)
{
    const ts_xlsx_about about = {.title = title, .subject = "", .author = "", .day = day};
    ts_xlsx *book = ts_xlsx_new(arena, path, &about);
    ts_xlsx_sheet *sheet = ts_xlsx_add(book, "Best");
    const int columns = table->column_count - 1; /* a priced row has no message */

    ts_xlsx_merged(sheet, 0, 0, columns - 1, title, (ts_xlsx_style){.size_pt = 14, .bold = true});
    for (int c = 0; c < columns; c++) {
        const bool right = is_numeric(table->columns[c].kind);
        ts_xlsx_text(sheet, HEADER_ROW, c, table->columns[c].heading,
                     (ts_xlsx_style){.bold = true,
                                     .rule_below = true,
                                     .align = right ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT});
        ts_xlsx_width(sheet, c, table->columns[c].width * MM_A_CHARACTER + PADDING_MM);
        for (size_t row = 0; row < table->row_count; row++) {
            put_cell(sheet, arena, table, row, c);
        }
    }
    ts_xlsx_freeze(sheet, HEADER_ROW + 1, 1);
    ts_xlsx_page_setup(sheet, &(ts_xlsx_page){.paper = TS_PAPER_A4,
                                              .landscape = true,
                                              .fit_width = true,
                                              .repeat_rows = HEADER_ROW + 1,
                                              .margin_mm = 14,
                                              .header = "For the studio alone",
                                              .footer = title});
    return ts_xlsx_close(book, diag);
}
