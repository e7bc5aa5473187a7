/* The papers of one commission, written over and over from one price: what writing takes
 * without drawing the piece and without moving each rate and measurement.
 *
 *     papers TIMES SHEET FOLDER
 *
 * Freed memory is kept as the program keeps it. */
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>

#include <tallystone/papers/workbook.h>
#include <tallystone/quantities/quantities.h>

typedef struct bench {
    ts_arena *arena;
    ts_diag *diag;
    const ts_book *book;
    ts_sheet *sheet;
    const ts_costing *options[TS_MOST_OPTIONS + 1];
} bench;

static ts_status price(bench *b, int option)
{
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *quantities = NULL;
    ts_costing *costing = NULL;
    ts_status status =
        ts_design_of(&design, b->arena, b->sheet, option, b->book, TS_DATE_NONE, b->diag);
    if (status == TS_OK) {
        status = ts_geometry_of(&geometry, b->arena, design, b->diag);
    }
    if (status == TS_OK) {
        status = ts_quantities_of(&quantities, b->arena, design, geometry, b->book, b->diag);
    }
    if (status == TS_OK) {
        status = ts_costing_of(&costing, b->arena, quantities, b->book, b->diag);
    }
    b->options[option] = costing;
    return status;
}

static ts_status write_papers(bench *b, const ts_commission_paper *paper, int number,
                              const char *folder)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    const char *quote = ts_arena_format(arena, "%s/%d-quote.xlsx", folder, number);
    const char *margin = ts_arena_format(arena, "%s/%d-margin.xlsx", folder, number);
    ts_status status = ts_quote_write(quote, arena, paper, b->diag);
    if (status == TS_OK) {
        status = ts_margin_write(margin, arena, paper, b->diag);
    }
    ts_arena_free(arena);
    return status;
}

int main(int argc, char **argv)
{
    bench b = {.arena = ts_arena_new(NULL, NULL)};
    ts_status status = TS_FAULTY;

    mallopt(M_TRIM_THRESHOLD, 64 << 20);
    mallopt(M_MMAP_THRESHOLD, 32 << 20);
    b.diag = ts_diag_new(b.arena);
    if (argc == 4) {
        status = ts_book_load(&b.book, b.arena, "pricebooks", b.diag);
    }
    if (status == TS_OK) {
        status = ts_sheet_read(&b.sheet, b.arena, argv[2], b.diag);
    }
    int count = status == TS_OK ? 1 + ts_sheet_options(b.sheet) : 0;
    for (int i = 0; status == TS_OK && i < count; i++) {
        status = price(&b, i);
    }
    const ts_commission_paper paper = {
        .options = b.options, .option_count = count, .book = b.book, .draft = true};
    for (long i = 0; status == TS_OK && i < strtol(argv[1], NULL, 10); i++) {
        status = write_papers(&b, &paper, (int)i, argv[3]);
    }
    ts_diag_print(b.diag, stderr, false, false);
    ts_arena_free(b.arena);
    return status == TS_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
