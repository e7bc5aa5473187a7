#include <tallystone/papers/table.h>

#include <stddef.h>

/* The tables' columns, from columns.def, and cells put into rows. */

enum { SCREEN = true, PAPER = false };

/* One array a table: of columns.def each keeps the rows of its own name. */
#define COLUMN(table, id, heading, kind, places, width, shown)                                     \
    table##_COLUMN(heading, TS_CELL_##kind, places, width, shown)

#define QUANTITIES_COLUMN(...)
#define PRICE_COLUMN(...)
#define SUMMARY_COLUMN(...)
#define WHY_COLUMN(...)
#define STONES_COLUMN(...)
#define CASTING_COLUMN(...)
#define BENCH_COLUMN(...)
#define VARIANTS_COLUMN(...)

#undef QUANTITIES_COLUMN
#define QUANTITIES_COLUMN(...) {__VA_ARGS__},
static const ts_column quantities_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef QUANTITIES_COLUMN
#define QUANTITIES_COLUMN(...)

#undef PRICE_COLUMN
#define PRICE_COLUMN(...) {__VA_ARGS__},
static const ts_column price_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef PRICE_COLUMN
#define PRICE_COLUMN(...)

#undef SUMMARY_COLUMN
#define SUMMARY_COLUMN(...) {__VA_ARGS__},
static const ts_column summary_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef SUMMARY_COLUMN
#define SUMMARY_COLUMN(...)

#undef WHY_COLUMN
#define WHY_COLUMN(...) {__VA_ARGS__},
static const ts_column why_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef WHY_COLUMN
#define WHY_COLUMN(...)

#undef STONES_COLUMN
#define STONES_COLUMN(...) {__VA_ARGS__},
static const ts_column stones_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef STONES_COLUMN
#define STONES_COLUMN(...)

#undef CASTING_COLUMN
#define CASTING_COLUMN(...) {__VA_ARGS__},
static const ts_column casting_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef CASTING_COLUMN
#define CASTING_COLUMN(...)

#undef BENCH_COLUMN
#define BENCH_COLUMN(...) {__VA_ARGS__},
static const ts_column bench_columns[] = {
#include <tallystone/papers/columns.def>
};
#undef BENCH_COLUMN
#define BENCH_COLUMN(...)

#undef VARIANTS_COLUMN
#define VARIANTS_COLUMN(...) {__VA_ARGS__},
static const ts_column variants_columns[] = {
#include <tallystone/papers/columns.def>
};

#define COUNT_OF(array) ((int)(sizeof(array) / sizeof((array)[0])))

const ts_column *ts_table_columns(ts_table_kind kind, int *count)
{
    switch (kind) {
    case TS_TABLE_QUANTITIES:
        *count = COUNT_OF(quantities_columns);
        return quantities_columns;
    case TS_TABLE_PRICE:
        *count = COUNT_OF(price_columns);
        return price_columns;
    case TS_TABLE_SUMMARY:
        *count = COUNT_OF(summary_columns);
        return summary_columns;
    case TS_TABLE_WHY:
        *count = COUNT_OF(why_columns);
        return why_columns;
    case TS_TABLE_STONES:
        *count = COUNT_OF(stones_columns);
        return stones_columns;
    case TS_TABLE_CASTING:
        *count = COUNT_OF(casting_columns);
        return casting_columns;
    case TS_TABLE_BENCH:
        *count = COUNT_OF(bench_columns);
        return bench_columns;
    case TS_TABLE_VARIANTS:
        *count = COUNT_OF(variants_columns);
        return variants_columns;
    case TS_TABLE_COUNT:
        break;
    }
    *count = 0;
    return NULL;
}

ts_table *ts_table_new(ts_arena *arena, ts_table_kind kind, int exponent)
{
    ts_table *table = TS_NEW(arena, ts_table);
    table->kind = kind;
    table->columns = ts_table_columns(kind, &table->column_count);
    table->exponent = exponent;
    table->arena = arena;
    return table;
}

/* Rows come by the thousand; in blocks they take their own room and no more, where one array
 * that grows would leave its smaller ones behind. */
enum { BLOCK_ROWS = 16 };

struct ts_table_block {
    bool ruled[BLOCK_ROWS];
    ts_cell cells[]; /* row by row */
};

static struct ts_table_block *new_block(const ts_table *table)
{
    const size_t cells = (size_t)BLOCK_ROWS * (size_t)table->column_count * sizeof(ts_cell);
    return ts_arena_alloc(table->arena, 1, sizeof(struct ts_table_block) + cells);
}

ts_cell *ts_table_row(ts_table *table, bool ruled)
{
    const size_t row = table->row_count;
    if (row == table->block_count * BLOCK_ROWS) {
        table->blocks = ts_arena_grow(table->arena, table->blocks, table->block_count,
                                      &table->block_room, sizeof(struct ts_table_block *));
        table->blocks[table->block_count++] = new_block(table);
    }
    table->row_count++;
    table->blocks[row / BLOCK_ROWS]->ruled[row % BLOCK_ROWS] = ruled;
    return ts_table_at(table, row);
}

ts_cell *ts_table_at(const ts_table *table, size_t row)
{
    return table->blocks[row / BLOCK_ROWS]->cells + row % BLOCK_ROWS * (size_t)table->column_count;
}

bool ts_table_ruled(const ts_table *table, size_t row)
{
    return table->blocks[row / BLOCK_ROWS]->ruled[row % BLOCK_ROWS];
}

ts_cell ts_cell_text(const char *text)
{
    return (ts_cell){.kind = text == NULL ? TS_CELL_EMPTY : TS_CELL_TEXT, .text = text};
}

ts_cell ts_cell_word(const char *word)
{
    return (ts_cell){.kind = word == NULL ? TS_CELL_EMPTY : TS_CELL_WORD, .text = word};
}

ts_cell ts_cell_number(ts_dec number)
{
    return (ts_cell){.kind = TS_CELL_NUMBER, .number = number};
}

ts_cell ts_cell_money(ts_money money)
{
    return ts_cell_money_of(money, -1);
}

ts_cell ts_cell_money_of(ts_money money, int exponent)
{
    return (ts_cell){.kind = TS_CELL_MONEY, .money = money, .exponent = exponent};
}

ts_cell ts_cell_date(ts_date date)
{
    return ts_date_given(date) ? (ts_cell){.kind = TS_CELL_DATE, .date = date}
                               : (ts_cell){.kind = TS_CELL_EMPTY};
}

int ts_cell_exponent(const ts_table *table, const ts_cell *cell)
{
    return cell->exponent < 0 ? table->exponent : cell->exponent;
}

ts_cell ts_cell_figure_money(const ts_figure *figure, int exponent)
{
    ts_cell cell = {.kind = TS_CELL_MONEY, .figure = figure, .exponent = exponent};
    if (!ts_figure_money(&cell.money, figure, exponent)) {
        return (ts_cell){.kind = TS_CELL_EMPTY};
    }
    return cell;
}

ts_cell ts_cell_figure_number(const ts_figure *figure)
{
    ts_cell cell = {.kind = TS_CELL_NUMBER, .figure = figure};
    if (!ts_figure_dec(&cell.number, figure)) {
        return (ts_cell){.kind = TS_CELL_EMPTY};
    }
    return cell;
}
