#include "papers/margin.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* The sheets Rates and Quantities: the cells that everything rests on, each once, each
 * with the row it came from. Only these may be changed. */

#define HEADER_ROW 3
#define HEAD_PT 58.0 /* of all down to the headings */

enum { WHAT, VALUE, UNIT, WHERE, HOW, NAME, COLUMNS };

static const double rates_mm[COLUMNS] = {90, 30, 14, 29, 27, 84};
static const double quantities_mm[COLUMNS] = {74, 24, 17, 28, 57, 84};

typedef struct writer {
    ts_margin_paper *m;
    ts_xlsx_sheet *sheet;
    const double *widths_mm;
    int row;
    double high_pt;  /* of the rows so far */
    double value_mm; /* the column of figures */
} writer;

static void put_header(writer *w, const char *const headings[COLUMNS])
{
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_style style = {.bold = true,
                               .rule_below = true,
                               .align = c == VALUE ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                               .indent = c == UNIT ? 1 : 0};
        ts_xlsx_text(w->sheet, HEADER_ROW, c, headings[c], style);
        ts_xlsx_width(w->sheet, c, w->widths_mm[c]);
    }
    ts_xlsx_height(w->sheet, HEADER_ROW, 16);
    ts_xlsx_freeze(w->sheet, HEADER_ROW + 1, 0);
    w->value_mm = w->widths_mm[VALUE];
    w->row = HEADER_ROW + 1;
    w->high_pt = HEAD_PT;
}

static void heading(writer *w, const char *text)
{
    ts_xlsx_height(w->sheet, w->row++, 4.5);
    ts_xlsx_merged(w->sheet, w->row, 0, COLUMNS - 1, text, (ts_xlsx_style){.bold = true});
    ts_xlsx_height(w->sheet, w->row++, 13.5);
    w->high_pt += 18;
}

/* What it is leads back to the row of Lines that uses it; 0: to none. */
static void put_words(writer *w, const char *const texts[COLUMNS], int used_by)
{
    double most_pt = ts_typeset_height_pt(1, 10);
    for (int c = 0; c < NAME; c++) {
        if (texts[c] == NULL) {
            continue;
        }
        int size = c == WHAT || c == UNIT ? 10 : TS_MARGIN_SMALL_PT;
        const char *text = ts_text_show(w->m->arena, texts[c], 300);
        double height_pt =
            ts_typeset_height_pt(ts_typeset_lines(text, size, false, w->widths_mm[c]), size);
        most_pt = height_pt > most_pt ? height_pt : most_pt;
        if (c == WHAT && used_by > 0) {
            ts_margin_link_back(w->m, w->sheet, w->row, used_by, text, w->widths_mm[c]);
            continue;
        }
        ts_xlsx_text(w->sheet, w->row, c, text,
                     (ts_xlsx_style){.size_pt = size, .wrap = true, .indent = c == UNIT ? 1 : 0});
    }
    if (texts[NAME] != NULL) {
        ts_xlsx_text(w->sheet, w->row, NAME, texts[NAME],
                     (ts_xlsx_style){.size_pt = TS_MARGIN_SMALL_PT});
    }
    ts_xlsx_height(w->sheet, w->row, most_pt);
    w->high_pt += most_pt;
}

/* A figure of the value column; the column is as wide as its widest. */
static void put_value(writer *w, ts_dec value, const char *unit, bool input)
{
    bool counted = ts_text_empty(unit) && value.e6 % 1000000 == 0;
    ts_ratio ratio = {0, 1};
    if (!ts_ratio_of(&ratio, value.e6, 1000000)) {
        return;
    }
    const char *format = ts_margin_quantity_format(ratio, counted ? "each" : unit, -1);
    ts_margin_widen(&w->value_mm, ratio, format);
    ts_xlsx_number(w->sheet, w->row, VALUE, value,
                   (ts_xlsx_style){.input = input, .align = TS_ALIGN_RIGHT, .format = format});
}

static void put_leaf(writer *w, ts_ledger_leaf *leaf, const char *where, const char *how)
{
    ts_dec value = {0};
    const ts_figure *figure = leaf->figure;
    if (!ts_figure_dec(&value, figure)) {
        ts_xlsx_fail(w->m->book, "a rate has more than six decimals");
        return;
    }
    put_words(w,
              (const char *const[COLUMNS]){[WHAT] = figure->name,
                                           [UNIT] = figure->unit,
                                           [WHERE] = where,
                                           [HOW] = how,
                                           [NAME] = leaf->name},
              leaf->used_by);
    leaf->row = w->row;
    put_value(w, value, figure->unit, true);
    if (!ts_xlsx_name(w->sheet, w->row, VALUE, leaf->name)) {
        ts_xlsx_fail(w->m->book, "a cell could not be named");
    }
    w->row++;
}

/* Names are for formulas on the screen: what is printed ends before them. */
static double printed_mm(const writer *w)
{
    double sum_mm = 0;
    for (int c = 0; c < NAME; c++) {
        sum_mm += w->widths_mm[c];
    }
    return sum_mm;
}

/* ---- rates ---- */

static int file_order(const char *file)
{
    for (int f = 0; f < TS_BOOK_FILE_COUNT; f++) {
        if (strcmp(ts_book_file_name((ts_book_file)f), file) == 0) {
            return f;
        }
    }
    return TS_BOOK_FILE_COUNT;
}

/* Where a rate stands: by book, then by row; cells of one row as they were met. */
typedef struct standing {
    ts_ledger_leaf *leaf;
    int file, line;
    size_t met;
} standing;

static int by_standing(const void *one, const void *other)
{
    const standing *a = one, *b = other;
    if (a->file != b->file) {
        return a->file < b->file ? -1 : 1;
    }
    if (a->line != b->line) {
        return a->line < b->line ? -1 : 1;
    }
    return (a->met > b->met) - (a->met < b->met);
}

static const standing *in_book_order(ts_margin_paper *m)
{
    const ts_ledger *ledger = m->ledger;
    standing *sorted = TS_ARRAY(m->arena, standing, ledger->rate_count + 1);
    for (size_t i = 0; i < ledger->rate_count; i++) {
        const ts_figure *figure = ledger->rates[i].figure;
        sorted[i] = (standing){&ledger->rates[i], file_order(figure->file), figure->line, i};
    }
    qsort(sorted, ledger->rate_count, sizeof *sorted, by_standing);
    return sorted;
}

void ts_margin_rates(ts_margin_paper *m)
{
    writer w = {.m = m, .sheet = m->rates, .widths_mm = rates_mm};
    ts_margin_title(m, m->rates, "Rates in force",
                    "Cells of the price books that the lines rest on. Tinted cells may be changed: "
                    "every sheet follows; the books do not.",
                    NAME, printed_mm(&w));
    put_header(&w, (const char *const[COLUMNS]){"What", "Value", "Unit", "Book row", "Column",
                                                "Name in formulas"});
    const standing *sorted = in_book_order(m);
    const char *last = "";
    for (size_t i = 0; i < m->ledger->rate_count; i++) {
        const ts_figure *figure = sorted[i].leaf->figure;
        if (strcmp(last, figure->file) != 0) {
            heading(&w, figure->file);
            last = figure->file;
        }
        put_leaf(&w, sorted[i].leaf, ts_arena_format(m->arena, "%s:%d", figure->file, figure->line),
                 figure->column);
    }
    ts_margin_page(m, m->rates, "Rates", HEADER_ROW + 1, TS_MARGIN_UPRIGHT, w.high_pt);
    ts_xlsx_width(m->rates, VALUE, w.value_mm);
    ts_xlsx_print_area(m->rates, w.row - 1, NAME - 1);
}

/* ---- quantities ---- */

static const char *where_of(ts_margin_paper *m, const char *file, int line)
{
    return file == NULL || line == 0 ? NULL : ts_arena_format(m->arena, "%s:%d", file, line);
}

/* The options a quantity is used in, where it is not all of them. */
static const char *options_of(ts_margin_paper *m, const ts_ledger_leaf *leaf)
{
    const char *says = leaf->figure->says == NULL ? "" : leaf->figure->says;
    const char *names = "";
    int count = 0;
    for (int o = 0; o < m->paper->option_count; o++) {
        if ((leaf->options >> (unsigned)o & 1u) != 0) {
            count++;
            names = ts_text_joined(m->arena, names, ", ", ts_margin_option(m, o));
        }
    }
    if (count == m->paper->option_count) {
        return says;
    }
    return ts_arena_format(m->arena, "%s%sin: %s", says, says[0] == '\0' ? "" : "; ", names);
}

static bool same_fact(const ts_fact *a, const ts_fact *b)
{
    const char *one = a->word == NULL ? "" : a->word, *other = b->word == NULL ? "" : b->word;
    return a->value.e6 == b->value.e6 && strcmp(one, other) == 0 &&
           ts_text_same(a->part, b->part) && ts_text_same(a->measure, b->measure);
}

static bool holds(const ts_quantities *q, const ts_fact *fact)
{
    for (int i = 0; i < q->fact_count; i++) {
        if (same_fact(&q->facts[i], fact)) {
            return true;
        }
    }
    return false;
}

static void put_fact(writer *w, const ts_fact *fact)
{
    const char *what = ts_arena_format(w->m->arena, "%s, %s", fact->part, fact->measure);
    put_words(
        w,
        (const char *const[COLUMNS]){[WHAT] = what,
                                     [UNIT] = fact->unit,
                                     [WHERE] = where_of(w->m, fact->whence.file, fact->whence.line),
                                     [HOW] = fact->whence.says},
        0);
    if (fact->word != NULL) {
        ts_xlsx_text(w->sheet, w->row, VALUE, ts_text_show(w->m->arena, fact->word, 60),
                     (ts_xlsx_style){.align = TS_ALIGN_RIGHT, .wrap = true});
    } else {
        put_value(w, fact->value, fact->unit, false);
    }
    w->row++;
}

/* Does a cell above say the same, so that it would only be said again? */
static bool said_above(const ts_margin_paper *m, const ts_fact *fact)
{
    const char *says = fact->whence.says;
    for (size_t i = 0; i < m->ledger->quantity_count && !ts_text_empty(says); i++) {
        const ts_figure *figure = m->ledger->quantities[i].figure;
        ts_dec value;
        if (ts_figure_dec(&value, figure) && value.e6 == fact->value.e6 && fact->word == NULL &&
            figure->line == fact->whence.line && figure->says != NULL &&
            strcmp(figure->says, says) == 0) {
            return true;
        }
    }
    return false;
}

static void put_facts(writer *w)
{
    const ts_commission_paper *paper = w->m->paper;
    const ts_quantities *first = w->m->first->needs;
    heading(w, "The piece in numbers");
    for (int i = 0; i < first->fact_count; i++) {
        if (!said_above(w->m, &first->facts[i])) {
            put_fact(w, &first->facts[i]);
        }
    }
    for (int o = 1; o < paper->option_count; o++) {
        const ts_quantities *q = paper->options[o]->needs;
        bool headed = false;
        for (int i = 0; i < q->fact_count; i++) {
            if (holds(first, &q->facts[i]) || said_above(w->m, &q->facts[i])) {
                continue;
            }
            if (!headed) {
                heading(
                    w, ts_arena_format(w->m->arena, "What differs: %s", ts_margin_option(w->m, o)));
                headed = true;
            }
            put_fact(w, &q->facts[i]);
        }
    }
}

void ts_margin_quantities(ts_margin_paper *m)
{
    writer w = {.m = m, .sheet = m->quantities, .widths_mm = quantities_mm};
    ts_margin_title(m, m->quantities, "Quantities",
                    "What the piece takes. Tinted cells may be changed: the lines follow; the "
                    "piece in numbers, further down, is measured from the sheet and does not.",
                    NAME, printed_mm(&w));
    put_header(&w, (const char *const[COLUMNS]){"What", "Value", "Unit", "Sheet row",
                                                "How it comes about", "Name in formulas"});
    for (size_t i = 0; i < m->ledger->quantity_count; i++) {
        ts_ledger_leaf *leaf = &m->ledger->quantities[i];
        put_leaf(&w, leaf, where_of(m, leaf->figure->file, leaf->figure->line),
                 options_of(m, leaf));
    }
    put_facts(&w);
    ts_margin_page(m, m->quantities, "Quantities", HEADER_ROW + 1, TS_MARGIN_UPRIGHT, w.high_pt);
    ts_xlsx_width(m->quantities, VALUE, w.value_mm);
    ts_xlsx_print_area(m->quantities, w.row - 1, NAME - 1);
}
