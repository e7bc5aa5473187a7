#include <tallystone/base/csvout.h>
#include <tallystone/papers/table.h>

/* The CSV form of a table: RFC 4180, every column, decimals as they are. */

static void write_cell(ts_csv_out *out, const ts_table *table, const ts_cell *cell)
{
    char text[TS_DECIMAL_TEXT];
    switch (cell->kind) {
    case TS_CELL_EMPTY:
        ts_csv_plain(out, "");
        return;
    case TS_CELL_TEXT:
        ts_csv_text(out, cell->text);
        return;
    case TS_CELL_WORD:
        ts_csv_plain(out, cell->text);
        return;
    case TS_CELL_NUMBER:
        ts_csv_plain(out, ts_dec_text(text, cell->number));
        return;
    case TS_CELL_MONEY:
        ts_csv_plain(out, ts_money_text(text, cell->money, ts_cell_exponent(table, cell)));
        return;
    case TS_CELL_DATE:
        ts_csv_plain(out, ts_date_text(text, cell->date));
        return;
    }
}

void ts_table_csv(const ts_table *table, FILE *to, bool header)
{
    ts_csv_out out = {.to = to};
    if (header) {
        for (int c = 0; c < table->column_count; c++) {
            ts_csv_plain(&out, table->columns[c].heading);
        }
        ts_csv_end(&out);
    }
    for (size_t r = 0; r < table->row_count; r++) {
        const ts_cell *row = ts_table_at(table, r);
        for (int c = 0; c < table->column_count; c++) {
            write_cell(&out, table, &row[c]);
        }
        ts_csv_end(&out);
    }
}
