/* What the least program spends on a table of variants, and where the engine's time goes.
 *
 *     variants floor FILE          libcsv, strtod, and twelve columns of integers formatted
 *                                  for each row: no design, no books, no model
 *     variants stages SHEET FILE   nanoseconds a row of each stage
 *     variants check SHEET FILE    each row beside the same built whole and priced by trees */
#include <csv.h>
#include <malloc.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <tallystone/base/csvlines.h>
#include <tallystone/costing/recipe.h>
#include <tallystone/design/variant.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

#include "desk/banded.h"

#define COLUMNS 12
#define BLOCK (64 << 10)

/* ---- the floor ---- */

typedef struct floor_row {
    int64_t cents[COLUMNS];
    int count, rows;
    char out[BLOCK];
    size_t used;
} floor_row;

static void on_cell(void *text, size_t length, void *ctx)
{
    floor_row *row = ctx;

    (void)length;
    if (row->count < COLUMNS) {
        row->cents[row->count++] = (int64_t)(strtod(text, NULL) * 100.0);
    }
}

static size_t put_cents(char *to, int64_t cents)
{
    char text[24];
    size_t at = sizeof text;
    uint64_t left = cents < 0 ? (uint64_t)-cents : (uint64_t)cents;

    for (int digit = 0; digit < 3 || left > 0; digit++) {
        if (digit == 2) {
            text[--at] = '.';
        }
        text[--at] = (char)('0' + left % 10);
        left /= 10;
    }
    if (cents < 0) {
        text[--at] = '-';
    }
    memcpy(to, text + at, sizeof text - at);
    return sizeof text - at;
}

static void on_row(int end, void *ctx)
{
    floor_row *row = ctx;

    (void)end;
    if (sizeof row->out - row->used < (size_t)COLUMNS * 24) {
        fwrite(row->out, 1, row->used, stdout);
        row->used = 0;
    }
    for (int i = 0; i < COLUMNS; i++) {
        row->used += put_cents(row->out + row->used, row->cents[i % (row->count + 1)] + i);
        row->out[row->used++] = i + 1 < COLUMNS ? ',' : '\n';
    }
    row->count = 0;
    row->rows++;
}

static int run_floor(const char *path)
{
    static floor_row row;
    static char block[BLOCK];
    struct csv_parser parser;
    FILE *file = fopen(path, "rb");

    if (file == NULL || csv_init(&parser, CSV_STRICT | CSV_APPEND_NULL) != 0) {
        return 1;
    }
    for (size_t got = fread(block, 1, sizeof block, file); got > 0;
         got = fread(block, 1, sizeof block, file)) {
        csv_parse(&parser, block, got, on_cell, on_row, &row);
    }
    csv_fini(&parser, on_cell, on_row, &row);
    csv_free(&parser);
    fclose(file);
    fwrite(row.out, 1, row.used, stdout);
    return fflush(stdout) == 0 ? 0 : 1;
}

/* ---- the stages ---- */

/* How far a pass goes. The time of a stage is that of the pass that ends with it less that of the
 * pass before: no clock is read between rows. */
typedef enum reach { CELLS, NEEDS, PRICE, REACHES } reach;

typedef struct stages {
    ts_arena *read, *kept, *scratch;
    ts_diag *diag;
    const ts_book *book;
    ts_sheet *sheet;
    ts_csv_lines *lines;
    const ts_variant_columns *columns;
    ts_variant *variant;
    ts_banded *banded;
    ts_recipes *recipes;
    ts_csv_record record;
    long rows, priced, different;
    size_t heap; /* after the first thousand rows */
} stages;

static double now_ns(void)
{
    struct timespec at;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return 1e9 * (double)at.tv_sec + (double)at.tv_nsec;
}

static ts_status build_whole(void *ctx, ts_built *out, ts_variant *variant, ts_arena *arena,
                             const char *const *cells)
{
    const stages *s = ctx;
    ts_status status =
        ts_variant_design(&out->design, variant, arena, cells, s->book, TS_DATE_NONE, s->diag);

    if (status == TS_OK) {
        status = ts_geometry_of(&out->geometry, arena, out->design, s->diag);
    }
    if (status == TS_OK) {
        status =
            ts_quantities_bare_of(&out->needs, arena, out->design, out->geometry, s->book, s->diag);
    }
    return status;
}

static bool same_brief(const ts_brief *a, const ts_brief *b)
{
    return a->exponent == b->exponent && a->cost.minor == b->cost.minor &&
           a->net.minor == b->net.minor && a->tax.minor == b->tax.minor &&
           a->total.minor == b->total.minor && a->has_margin == b->has_margin &&
           a->margin_pct.e6 == b->margin_pct.e6 && a->minutes.e6 == b->minutes.e6;
}

/* The row built whole and priced by its trees: what `price` does. */
static void compare(stages *s, ts_status status, const ts_brief *brief)
{
    ts_built whole = {.design = NULL};
    ts_costing *costing = NULL;
    ts_brief plain;

    ts_diag_clear(s->diag);
    ts_status other = build_whole(s, &whole, s->variant, s->scratch, s->record.cells);
    if (other == TS_OK) {
        other = ts_costing_of(&costing, s->scratch, whole.needs, s->book, s->diag);
    }
    if (other == TS_OK && !ts_brief_of(&plain, costing)) {
        other = TS_OVERFLOW;
    }
    s->different += status != other || (other == TS_OK && !same_brief(brief, &plain));
}

static void run_line(stages *s, char *line, size_t length, reach to, bool check)
{
    ts_quantities *needs = NULL;
    ts_brief brief;
    ts_status status = TS_OK;
    const char separator = ts_csv_lines_head(s->lines)->separator;

    if (ts_csv_record_read(&s->record, line, length, separator) != TS_RECORD_ROW) {
        return;
    }
    if (to >= NEEDS) {
        status =
            ts_banded_needs(&needs, s->banded, s->variant, s->scratch, s->record.cells, s->diag);
    }
    if (to >= PRICE && status == TS_OK) {
        status = ts_recipes_price(&brief, s->recipes, s->scratch, needs, s->diag);
    }
    if (check) {
        compare(s, status, &brief);
    }
    s->rows++;
    s->priced += status == TS_OK;
}

static ts_status open_all(stages *s, const char *sheet, const char *table)
{
    ts_status status = ts_book_load(&s->book, s->read, "pricebooks", s->diag);

    if (status == TS_OK) {
        status = ts_sheet_read(&s->sheet, s->read, sheet, s->diag);
    }
    if (status == TS_OK) {
        status = ts_csv_lines_open(&s->lines, s->kept, table, "variant", (ts_shard){1, 1}, s->diag);
    }
    if (status == TS_OK) {
        status = ts_variant_columns_of(&s->columns, s->kept, s->sheet, ts_csv_lines_head(s->lines),
                                       s->diag);
    }
    return status;
}

static void run_block(stages *s, char *block, size_t length, reach to, bool check)
{
    const ts_arena_mark mark = ts_arena_mark_of(s->scratch);

    for (char *at = block; at < block + length;) {
        char *feed = memchr(at, '\n', (size_t)(block + length - at));
        char *end = feed == NULL ? block + length : feed;

        ts_diag_clear(s->diag);
        run_line(s, at, (size_t)(end - at), to, check);
        ts_arena_rewind(s->scratch, mark);
        at = end + 1;
        s->heap = s->rows == 1000 ? mallinfo2().uordblks : s->heap;
    }
}

/* Nanoseconds a row of a pass, books and sheet not counted; below nothing after a fault. */
static double run_pass(stages *s, const char *sheet, const char *table, reach to, bool check)
{
    static char block[TS_CSV_BLOCK + 1];
    size_t length = 0;

    *s = (stages){.read = ts_arena_new(NULL, NULL),
                  .kept = ts_arena_new(NULL, NULL),
                  .scratch = ts_arena_new(NULL, NULL)};
    s->diag = ts_diag_new(s->scratch);
    if (open_all(s, sheet, table) != TS_OK) {
        ts_diag_print(s->diag, stderr, false, false);
        return -1.0;
    }
    const ts_arena *const lasting[] = {s->read, NULL};
    s->variant = ts_variant_new(s->kept, s->columns);
    s->banded = ts_banded_new(s->kept, s->columns, NULL, NULL);
    ts_banded_builds(s->banded, build_whole, s);
    s->recipes = ts_recipes_new(s->kept, s->book, lasting, NULL, NULL);
    const double began = now_ns();
    while (ts_csv_lines_next(s->lines, block, &length, s->diag) == TS_OK && length > 0) {
        run_block(s, block, length, to, check);
    }
    return (now_ns() - began) / (double)s->rows;
}

static void close_all(stages *s)
{
    ts_csv_lines_close(s->lines);
    ts_recipes_free(s->recipes);
    ts_banded_free(s->banded);
    ts_arena_free(s->read);
    ts_arena_free(s->kept);
    ts_arena_free(s->scratch);
}

static void say_counts(const stages *s)
{
    const ts_recipe_counts counts = ts_recipes_counts(s->recipes);
    uint64_t bent, built;

    ts_banded_counts(s->banded, &bent, &built);
    printf("# %ld rows, %ld priced; %llu bent, %llu built whole\n", s->rows, s->priced,
           (unsigned long long)bent, (unsigned long long)built);
    printf("# by recipe %.3f %%: %llu recipes made, %llu refused, dropped %llu times, %d moves in "
           "the last\n",
           100.0 * (double)counts.replayed / (double)counts.priced, (unsigned long long)counts.made,
           (unsigned long long)counts.refused, (unsigned long long)counts.forgotten, counts.moves);
    printf("# heap in use after a thousand rows and at the end: %zu and %zu bytes\n", s->heap,
           mallinfo2().uordblks);
}

static int run_stages(const char *sheet, const char *table)
{
    static const char *const names[REACHES] = {"cells", "to quantities", "to the price"};
    static stages s;
    double before = 0.0;

    for (int i = 0; i < REACHES; i++) {
        const double ns = run_pass(&s, sheet, table, (reach)i, false);
        if (ns < 0.0) {
            return 1;
        }
        printf("%s %.1f\n", names[i], ns - before);
        before = ns;
        if (i + 1 == REACHES) {
            say_counts(&s);
        }
        close_all(&s);
    }
    return 0;
}

static int run_check(const char *sheet, const char *table)
{
    static stages s;

    if (run_pass(&s, sheet, table, PRICE, true) < 0.0) {
        return 1;
    }
    say_counts(&s);
    printf("# %ld different\n", s.different);
    close_all(&s);
    return s.different == 0 ? 0 : 1;
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "floor") == 0) {
        return run_floor(argv[2]);
    }
    if (argc == 4 && strcmp(argv[1], "stages") == 0) {
        return run_stages(argv[2], argv[3]);
    }
    if (argc == 4 && strcmp(argv[1], "check") == 0) {
        return run_check(argv[2], argv[3]);
    }
    fputs("usage: variants floor FILE | variants stages|check SHEET FILE\n", stderr);
    return 2;
}
