#include "register/footing.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* Two books are compared by what their rows in force say, not by their text: rows move up and
 * down, and a price may be confirmed under a new day without changing. */

typedef struct gathering {
    ts_arena *arena;
    const ts_book *book;
    ts_date on;
    ts_footing_row *rows;
    size_t count;
    size_t room;
} gathering;

static bool counts(ts_book_file file)
{
    return file != TS_BOOK_LIMITS && file != TS_BOOK_ACCOUNTS && file != TS_BOOK_STUDIO;
}

static bool is_number(ts_kind kind)
{
    return kind == TS_KIND_NUMBER || kind == TS_KIND_PERCENT || kind == TS_KIND_AMOUNT;
}

/* One cell as it is compared: a number without needless zeros, words folded. */
static const char *cell_text(const gathering *g, const ts_csv *csv, const ts_field *field,
                             const char *cell)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec number;
    if (is_number(field->kind) && ts_dec_read(&number, cell, csv->point, NULL) == TS_NUMBER_OK) {
        return ts_arena_text(g->arena, ts_dec_text(text, number));
    }
    const char *fold = ts_text_fold(g->arena, cell);
    return strpbrk(fold, "\t\n") == NULL ? fold : ts_text_show(g->arena, fold, 2000);
}

static const ts_csv_row *csv_row_of(const ts_csv *csv, const ts_book_row *row)
{
    size_t low = 1, high = csv->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (csv->rows[middle].line < row->line) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < csv->count && csv->rows[low].line == row->line ? &csv->rows[low] : NULL;
}

static const char *cell_of(const ts_csv *csv, const ts_csv_row *row, const char *word)
{
    for (int i = 0; i < csv->rows[0].count && i < row->count; i++) {
        if (ts_text_same(csv->rows[0].cells[i], word)) {
            return row->cells[i];
        }
    }
    return "";
}

static const char *day_text(ts_arena *arena, ts_date date)
{
    char text[TS_DATE_TEXT];
    return ts_date_given(date) ? ts_arena_text(arena, ts_date_text(text, date)) : "";
}

static void add_row(gathering *g, const ts_book_row *row)
{
    const ts_csv *csv = g->book->text[row->file];
    const ts_csv_row *cells = csv == NULL ? NULL : csv_row_of(csv, row);
    size_t count = 0;
    const ts_field *fields = ts_book_fields(row->file, &count);
    ts_footing_row out = {.row = row,
                          .file = ts_book_file_name(row->file),
                          .name = "",
                          .key = "",
                          .says = "",
                          .begun = day_text(g->arena, row->from),
                          .ends = day_text(g->arena, row->until)};
    for (size_t i = 0; i < count && cells != NULL; i++) {
        const char *cell = cell_of(csv, cells, fields[i].word);
        const bool is_key = fields[i].need == TS_NEED_KEY || fields[i].need == TS_NEED_KEY_NO;
        const char *text = cell[0] == '\0' ? "" : cell_text(g, csv, &fields[i], cell);
        if (i == 0) {
            out.name = text;
            out.key = text;
        } else if (is_key) {
            out.key = ts_arena_format(g->arena, "%s\t%s", out.key, text);
        } else if (text[0] != '\0') {
            out.says = ts_arena_format(g->arena, "%s%s%s=%s", out.says, out.says[0] ? "\t" : "",
                                       fields[i].word, text);
        }
    }
    g->rows = ts_arena_grow(g->arena, g->rows, g->count, &g->room, sizeof *g->rows);
    g->rows[g->count++] = out;
}

static int by_file_and_key(const void *one, const void *other)
{
    const ts_footing_row *left = one;
    const ts_footing_row *right = other;
    const int files = strcmp(left->file, right->file);
    return files != 0 ? files : strcmp(left->key, right->key);
}

static size_t rows_in(const ts_book *book, ts_book_file file)
{
    switch (file) {
#define BOOK_FILE(id, name, type, member, needed, says)                                            \
    case TS_BOOK_##id:                                                                             \
        return book->member.count;
#include <tallystone/book/files.def>
    case TS_BOOK_FILE_COUNT:
        break;
    }
    return 0;
}

ts_footing ts_footing_of(ts_arena *arena, const ts_book *book, ts_date on)
{
    gathering g = {.arena = arena, .book = book, .on = on};
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const size_t count = counts((ts_book_file)file) ? rows_in(book, (ts_book_file)file) : 0;
        for (size_t i = 0; i < count; i++) {
            const ts_book_row *row = book->by_name[file][i];
            if (ts_book_current(book, row, on)) {
                add_row(&g, row);
            }
        }
    }
    if (g.count > 1) {
        qsort(g.rows, g.count, sizeof *g.rows, by_file_and_key);
    }
    return (ts_footing){g.rows, g.count};
}

const ts_footing_row *ts_footing_find(const ts_footing *footing, const char *file, const char *key)
{
    const ts_footing_row sought = {.file = file, .key = key};
    return footing->count == 0 ? NULL
                               : bsearch(&sought, footing->rows, footing->count,
                                         sizeof *footing->rows, by_file_and_key);
}

/* ---- what an option rests on ---- */

typedef struct standing {
    ts_arena *arena;
    const ts_footing *footing;
    bool *under;            /* one a row of the footing */
    const ts_figure **seen; /* open addressing, by address */
    size_t seen_room;
    size_t seen_count;
} standing;

static size_t place_of(const standing *s, const ts_figure *figure)
{
    size_t at = ((size_t)figure >> 4) * 0x9e3779b1u % s->seen_room;
    while (s->seen[at] != NULL && s->seen[at] != figure) {
        at = (at + 1) % s->seen_room;
    }
    return at;
}

static bool is_new(standing *s, const ts_figure *figure)
{
    if (s->seen_count * 2 >= s->seen_room) {
        const ts_figure **old = s->seen;
        const size_t old_room = s->seen_room;
        s->seen_room = old_room == 0 ? 1024 : old_room * 2;
        s->seen = TS_ARRAY(s->arena, const ts_figure *, s->seen_room);
        for (size_t i = 0; i < old_room; i++) {
            if (old[i] != NULL) {
                s->seen[place_of(s, old[i])] = old[i];
            }
        }
    }
    const size_t at = place_of(s, figure);
    if (s->seen[at] == figure) {
        return false;
    }
    s->seen[at] = figure;
    s->seen_count++;
    return true;
}

static void mark(const standing *s, const char *file, int line)
{
    for (size_t i = 0; i < s->footing->count; i++) {
        const ts_footing_row *row = &s->footing->rows[i];
        if (row->row->line == line && strcmp(row->file, file) == 0) {
            s->under[i] = true;
            return;
        }
    }
}

static void mark_row(const standing *s, const ts_book_row *row)
{
    if (row != NULL) {
        mark(s, ts_book_file_name(row->file), row->line);
    }
}

static void walk(standing *s, const ts_figure *figure)
{
    if (figure == NULL || !is_new(s, figure)) {
        return;
    }
    if (figure->op == TS_OP_BOOK) {
        mark(s, figure->file, figure->line);
    }
    for (int i = 0; i < figure->arg_count; i++) {
        walk(s, figure->args[i]);
    }
}

size_t ts_footing_under(const ts_footing_row *const **out, ts_arena *arena,
                        const ts_footing *footing, const ts_costing *costing)
{
    standing s = {
        .arena = arena, .footing = footing, .under = TS_ARRAY(arena, bool, footing->count + 1)};
    const ts_footing_row **rows = TS_ARRAY(arena, const ts_footing_row *, footing->count + 1);
    size_t count = 0;
    for (int i = 0; i < costing->line_count; i++) {
        const ts_line *line = &costing->lines[i];
        walk(&s, line->quantity);
        walk(&s, line->unit_cost);
        walk(&s, line->price);
        mark_row(&s, line->rule_row == NULL ? NULL : &line->rule_row->head);
    }
    walk(&s, costing->to_pay);
    for (int i = 0; i < costing->tax_count; i++) {
        mark_row(&s, &costing->taxes[i].row->head);
    }
    for (int i = 0; i < costing->stage_count; i++) {
        walk(&s, costing->stages[i].amount);
        mark_row(&s, &costing->stages[i].row->head);
    }
    mark_row(&s, costing->floor_row == NULL ? NULL : &costing->floor_row->head);
    for (size_t i = 0; i < footing->count; i++) {
        if (s.under[i]) {
            rows[count++] = &footing->rows[i];
        }
    }
    *out = rows;
    return count;
}

bool ts_footing_is_general(const char *file)
{
    return strcmp(file, "policy.csv") == 0 || strcmp(file, "rates.csv") == 0 ||
           strcmp(file, "labour.csv") == 0 || strcmp(file, "services.csv") == 0;
}

bool ts_footing_is_unseen(const char *file, const char *key)
{
    static const char *const rules[] = {"rounding", "tiers", "minimum", "round up", "surcharge"};
    for (size_t i = 0; i < TS_COUNT_OF(rules) && strcmp(file, "policy.csv") == 0; i++) {
        const size_t length = strlen(rules[i]);
        if (strncmp(key, rules[i], length) == 0 && (key[length] == '\t' || key[length] == '\0')) {
            return true;
        }
    }
    return false;
}
