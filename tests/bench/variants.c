/* What the least program spends on a table of variants, and where the engine's time goes.
 *
 *     variants floor FILE          libcsv, strtod, and twelve columns of integers formatted
 *                                  for each row: no design, no books, no model
 *     variants stages SHEET FILE   nanoseconds a row of each room, and how often a recipe
 *                                  priced it
 *     variants check SHEET FILE    every row by recipe and by its trees: ends with 1 where a
 *                                  figure differs */
#include <csv.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <tallystone/base/csvlines.h>
#include <tallystone/costing/recipe.h>
#include <tallystone/design/variant.h>
#include <tallystone/geometry/memory.h>
#include <tallystone/quantities/recurring.h>

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

enum { CELLS, DESIGN, GEOMETRY, QUANTITIES, COSTING, TREES, STAGES };

typedef struct stages {
    ts_arena *read, *kept, *scratch;
    ts_diag *diag;
    const ts_book *book;
    ts_sheet *sheet;
    ts_csv_lines *lines;
    const ts_variant_columns *columns;
    ts_variant *variant;
    ts_geometry_memory *memory;
    ts_recurring *recurring;
    ts_recipes *recipes;
    bool check;
    long different;
    ts_csv_record record;
    double ns[STAGES], clock_ns;
    long rows, priced;
} stages;

static double now_ns(void)
{
    struct timespec at;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return 1e9 * (double)at.tv_sec + (double)at.tv_nsec;
}

static double lap(stages *s, int stage, double since)
{
    s->ns[stage] += now_ns() - since - s->clock_ns;
    return now_ns();
}

/* What asking the time takes: it is taken off every stage. */
static double clock_ns(void)
{
    const int times = 100000;
    const double begin = now_ns();

    for (int i = 0; i < times; i++) {
        now_ns();
    }
    return (now_ns() - begin) / times;
}

static bool same_brief(const ts_brief *a, const ts_brief *b)
{
    return a->exponent == b->exponent && a->cost.minor == b->cost.minor &&
           a->net.minor == b->net.minor && a->tax.minor == b->tax.minor &&
           a->total.minor == b->total.minor && a->has_margin == b->has_margin &&
           a->margin_pct.e6 == b->margin_pct.e6 && a->minutes.e6 == b->minutes.e6;
}

static void compare(stages *s, const ts_quantities *needs, ts_status status, const ts_brief *brief)
{
    ts_costing *costing = NULL;
    ts_brief plain;
    ts_status other = ts_costing_of(&costing, s->scratch, needs, s->book, s->diag);

    if (other == TS_OK && !ts_brief_of(&plain, costing)) {
        other = TS_OVERFLOW;
    }
    s->different += status != other || (other == TS_OK && !same_brief(brief, &plain));
}

static void run_line(stages *s, char *line, size_t length)
{
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *needs = NULL;
    ts_brief brief;
    double at = now_ns();
    const char separator = ts_csv_lines_head(s->lines)->separator;

    if (ts_csv_record_read(&s->record, line, length, separator) != TS_RECORD_ROW) {
        return;
    }
    at = lap(s, CELLS, at);
    ts_status status = ts_variant_design(&design, s->variant, s->scratch, s->record.cells, s->book,
                                         TS_DATE_NONE, s->diag);
    at = lap(s, DESIGN, at);
    if (status == TS_OK) {
        status = ts_geometry_figures_of(&geometry, s->memory, s->scratch, design, s->diag);
        at = lap(s, GEOMETRY, at);
    }
    if (status == TS_OK) {
        status =
            ts_recurring_quantities_of(&needs, s->recurring, s->scratch, design, geometry, s->diag);
        at = lap(s, QUANTITIES, at);
    }
    if (status == TS_OK) {
        status = ts_recipes_price(&brief, s->recipes, s->scratch, needs, s->diag);
        at = lap(s, COSTING, at);
    }
    if (s->check && needs != NULL) {
        compare(s, needs, status, &brief);
        lap(s, TREES, at);
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
        status = ts_csv_lines_open(&s->lines, s->kept, table, (ts_shard){1, 1}, s->diag);
    }
    if (status == TS_OK) {
        status = ts_variant_columns_of(&s->columns, s->kept, s->sheet, ts_csv_lines_head(s->lines),
                                       s->diag);
    }
    return status;
}

static void print_counts(const stages *s)
{
    const ts_geometry_counts known = ts_geometry_memory_counts(s->memory);
    const ts_recipe_counts counts = ts_recipes_counts(s->recipes);

    printf("# %ld rows, %ld priced\n", s->rows, s->priced);
    printf("# of %llu settings %llu were remembered, of %llu bands with rows %llu, of as many "
           "lists of labour %llu\n",
           (unsigned long long)known.settings, (unsigned long long)known.settings_known,
           (unsigned long long)known.bands, (unsigned long long)known.bands_known,
           (unsigned long long)ts_recurring_counts(s->recurring).found);
    printf("# by recipe %.3f %%: %llu recipes made, %llu refused, dropped %llu times, %d moves in "
           "the last\n",
           100.0 * (double)counts.replayed / (double)counts.priced, (unsigned long long)counts.made,
           (unsigned long long)counts.refused, (unsigned long long)counts.forgotten, counts.moves);
    if (s->check) {
        printf("# %ld different\n", s->different);
    }
}

static int run_stages(const char *sheet, const char *table, bool check)
{
    static const char *const names[STAGES] = {"cells",      "design",  "geometry",
                                              "quantities", "costing", "costing by trees"};
    static stages s;
    static char block[TS_CSV_BLOCK + 1];
    size_t length = 0;

    s.check = check;
    s.clock_ns = clock_ns();
    s.kept = ts_arena_new(NULL, NULL);
    s.read = ts_arena_new(NULL, NULL);
    s.scratch = ts_arena_new(NULL, NULL);
    s.diag = ts_diag_new(s.scratch);
    const ts_arena_mark mark = ts_arena_mark_of(s.scratch);
    if (open_all(&s, sheet, table) != TS_OK) {
        ts_diag_print(s.diag, stderr, false, false);
        return 1;
    }
    const ts_arena *const lasting[] = {s.read, NULL};
    s.variant = ts_variant_new(s.kept, s.columns);
    ts_variant_remember(s.variant, s.kept, NULL, NULL);
    s.memory = ts_geometry_memory_new(s.kept);
    s.recurring = ts_recurring_new(s.kept, s.book);
    s.recipes = ts_recipes_new(s.kept, s.book, lasting, NULL, NULL);
    while (ts_csv_lines_next(s.lines, block, &length, s.diag) == TS_OK && length > 0) {
        for (char *at = block; at < block + length;) {
            char *feed = memchr(at, '\n', (size_t)(block + length - at));
            char *end = feed == NULL ? block + length : feed;

            ts_diag_clear(s.diag);
            run_line(&s, at, (size_t)(end - at));
            ts_arena_rewind(s.scratch, mark);
            at = end + 1;
        }
    }
    for (int i = 0; i < STAGES - !check; i++) {
        printf("%s %.1f\n", names[i], s.ns[i] / (double)s.rows);
    }
    print_counts(&s);
    ts_csv_lines_close(s.lines);
    ts_recipes_free(s.recipes);
    ts_variant_free(s.variant);
    ts_arena_free(s.read);
    ts_arena_free(s.kept);
    ts_arena_free(s.scratch);
    return s.different == 0 ? 0 : 1;
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "floor") == 0) {
        return run_floor(argv[2]);
    }
    if (argc == 4 && (strcmp(argv[1], "stages") == 0 || strcmp(argv[1], "check") == 0)) {
        return run_stages(argv[2], argv[3], argv[1][0] == 'c');
    }
    fputs("usage: variants floor FILE | variants stages|check SHEET FILE\n", stderr);
    return 2;
}
