#include <tallystone/quantities/quantities.h>

#include <string.h>

/* A list of quantities on other numbers of the books: it holds rows of theirs, by which costing
 * finds prices, and those must be of the books that are costed. */

static const void *row_in(const ts_book *book, const ts_book_row *row)
{
    return row == NULL ? NULL : ts_book_row_on_line(book, ts_book_file_name(row->file), row->line);
}

static void *copied(ts_arena *arena, const void *list, int count, size_t size)
{
    void *copy = ts_arena_alloc(arena, (size_t)count + 1, size);

    if (count > 0) {
        memcpy(copy, list, (size_t)count * size);
    }
    return copy;
}

#define COPIED(arena, list, count) copied(arena, list, count, sizeof *(list))

/* Every row begins with its head. */
#define HEAD(row) ((row) == NULL ? NULL : &(row)->head)

ts_quantities *ts_quantities_on(ts_arena *arena, const ts_quantities *needs, const ts_book *book)
{
    ts_quantities *on = TS_NEW(arena, ts_quantities);

    *on = *needs;
    on->metals = COPIED(arena, needs->metals, needs->metal_count);
    on->melee = COPIED(arena, needs->melee, needs->melee_count);
    on->stones = COPIED(arena, needs->stones, needs->stone_count);
    on->trade_ins = COPIED(arena, needs->trade_ins, needs->trade_in_count);
    for (int i = 0; i < on->metal_count; i++) {
        on->metals[i].row = row_in(book, HEAD(on->metals[i].row));
    }
    for (int i = 0; i < on->melee_count; i++) {
        on->melee[i].step = row_in(book, HEAD(on->melee[i].step));
    }
    for (int i = 0; i < on->stone_count; i++) {
        on->stones[i].offer = row_in(book, HEAD(on->stones[i].offer));
        on->stones[i].melee = row_in(book, HEAD(on->stones[i].melee));
    }
    for (int i = 0; i < on->trade_in_count; i++) {
        on->trade_ins[i].row = row_in(book, HEAD(on->trade_ins[i].row));
    }
    return on;
}
