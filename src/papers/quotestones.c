#include "papers/piece.h"
#include "papers/quotepage.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The client's second sheet: every stone, counted. Options that hold the same stones
 * share one list. */

enum { STONE, COUNT, SHAPE, SIZE, EACH, TOGETHER, COLOUR, CLARITY, ORIGIN, COLUMNS };

static const double widths_mm[COLUMNS] = {42, 14, 26, 36, 24, 26, 24, 24, 46};
static const char *const headings[COLUMNS] = {"Stone",    "Count",    "Shape",
                                              "Size, mm", "Each, ct", "Together, ct",
                                              "Colour",   "Clarity",  "Origin and species"};

typedef struct stone {
    const char *what, *shape, *size, *colour, *clarity, *origin;
    int count;
    ts_dec each, together;
    bool about;
} stone;

typedef struct list {
    stone *at;
    int count;
} list;

static bool same_text(const char *a, const char *b)
{
    return strcmp(a, b) == 0;
}

static bool same_stone(const stone *a, const stone *b)
{
    return a->count == b->count && a->each.e6 == b->each.e6 && a->about == b->about &&
           same_text(a->what, b->what) && same_text(a->shape, b->shape) &&
           same_text(a->size, b->size) && same_text(a->colour, b->colour) &&
           same_text(a->clarity, b->clarity) && same_text(a->origin, b->origin);
}

static bool same_list(const list *a, const list *b)
{
    if (a->count != b->count) {
        return false;
    }
    for (int i = 0; i < a->count; i++) {
        if (!same_stone(&a->at[i], &b->at[i])) {
            return false;
        }
    }
    return true;
}

static const char *given(const char *text)
{
    return text == NULL ? "" : text;
}

static stone feature(ts_arena *arena, const ts_stone_need *need)
{
    char length[TS_DECIMAL_TEXT], width[TS_DECIMAL_TEXT], depth[TS_DECIMAL_TEXT];
    const char *what = ts_piece_capital(arena, need->item);
    return (stone){
        .what = need->client ? ts_arena_format(arena, "%s (yours)", what) : what,
        .shape = ts_list_word(TS_LIST_SHAPE, need->shape),
        .size = ts_arena_format(
            arena, "%s \xc3\x97 %s \xc3\x97 %s", ts_dec_fixed(length, need->length_mm, 2),
            ts_dec_fixed(width, need->width_mm, 2), ts_dec_fixed(depth, need->depth_mm, 2)),
        .colour = given(need->colour),
        .clarity = given(need->clarity),
        .origin = ts_piece_species(arena, need->origin, need->species),
        .count = need->count,
        .each = need->carats,
        .together = (ts_dec){need->carats.e6 * need->count},
        .about = !need->weight_stated,
    };
}

static stone melee(ts_arena *arena, const ts_melee_need *need)
{
    char size[TS_DECIMAL_TEXT];
    const ts_melee_row *step = need->step;
    stone s = {
        .what = need->client ? "Small stones (yours)" : "Small stones",
        .shape = "",
        .size = ts_arena_text(arena, ts_dec_fixed(size, need->diameter_mm, 2)),
        .colour = "",
        .clarity = "",
        .origin = "",
        .count = need->set,
        .about = true,
    };
    if (step != NULL) {
        s.shape = ts_list_word(TS_LIST_SHAPE, step->shape);
        s.colour = given(step->colour);
        s.clarity = given(step->clarity);
        s.origin = ts_piece_species(arena, step->origin, step->species);
        s.each = step->carat_each;
        s.together = (ts_dec){step->carat_each.e6 * need->set};
    }
    return s;
}

static list list_of(ts_arena *arena, const ts_quantities *q)
{
    list l = {.at = TS_ARRAY(arena, stone, (size_t)(q->stone_count + q->melee_count) + 1)};
    for (int i = 0; i < q->stone_count; i++) {
        l.at[l.count++] = feature(arena, &q->stones[i]);
    }
    for (int i = 0; i < q->melee_count; i++) {
        l.at[l.count++] = melee(arena, &q->melee[i]);
    }
    return l;
}

/* ---- cells ---- */

static void put_weight(ts_xlsx_sheet *sheet, int row, int column, const stone *s, ts_dec carats)
{
    bool fine = carats.e6 < 9000; /* under a hundredth of a carat: thousandths */
    ts_xlsx_style style = {.align = TS_ALIGN_RIGHT};
    if (s->about) {
        style.format = fine ? "\"about \"0.000" : "\"about \"0.00";
    } else {
        style.format = fine ? "0.000" : "0.00";
    }
    if (carats.e6 > 0) {
        ts_xlsx_number(sheet, row, column, ts_piece_carats_number(carats), style);
    }
}

static void put_stone(ts_quote_page *page, ts_xlsx_sheet *sheet, int row, const stone *s)
{
    const char *texts[COLUMNS] = {
        [STONE] = s->what,    [SHAPE] = s->shape,     [SIZE] = s->size,
        [COLOUR] = s->colour, [CLARITY] = s->clarity, [ORIGIN] = s->origin};
    int most = 1;
    for (int c = 0; c < COLUMNS; c++) {
        if (texts[c] == NULL) {
            continue;
        }
        const char *text = ts_text_show(page->arena, texts[c], 300);
        int lines = ts_typeset_lines(text, 10, false, widths_mm[c]);
        most = lines > most ? lines : most;
        ts_xlsx_style style = {.wrap = true,
                               .align = c == SIZE ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                               .indent = c == SHAPE || c == COLOUR ? 1 : 0};
        ts_xlsx_text(sheet, row, c, text, style);
    }
    ts_xlsx_number(sheet, row, COUNT, (ts_dec){(int64_t)s->count * 1000000},
                   (ts_xlsx_style){.align = TS_ALIGN_RIGHT, .format = "0"});
    put_weight(sheet, row, EACH, s, s->each);
    put_weight(sheet, row, TOGETHER, s, s->together);
    ts_xlsx_height(sheet, row, ts_typeset_height_pt(most, 10) + 1);
}

static int put_list(ts_quote_page *page, ts_xlsx_sheet *sheet, int row, const char *whose,
                    const list *l)
{
    ts_xlsx_style style = {.bold = true, .wrap = true};
    int lines = ts_typeset_lines(whose, 10, true, 250);
    ts_xlsx_merged(sheet, row, 0, COLUMNS - 1, whose, style);
    ts_xlsx_height(sheet, row++, ts_typeset_height_pt(lines, 10) + 3);
    int stones = 0;
    for (int i = 0; i < l->count; i++) {
        put_stone(page, sheet, row++, &l->at[i]);
        stones += l->at[i].count;
    }
    ts_xlsx_style total = {.rule_above = true, .bold = true};
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_blank(sheet, row, c, total);
    }
    ts_xlsx_text(sheet, row, STONE, "In all", total);
    total.align = TS_ALIGN_RIGHT;
    total.format = "0";
    ts_xlsx_number(sheet, row, COUNT, (ts_dec){(int64_t)stones * 1000000}, total);
    ts_xlsx_height(sheet, row++, 16);
    ts_xlsx_height(sheet, row++, 10);
    return row;
}

/* The labels of the options from `from` on that hold the same stones. */
static const char *whose(ts_quote_page *page, const list *lists, int from)
{
    const ts_commission_paper *paper = page->paper;
    const char *text = "";
    int held = 0;
    for (int o = from; o < paper->option_count; o++) {
        if (same_list(&lists[from], &lists[o])) {
            held++;
            text = ts_text_joined(page->arena, text, " \xc2\xb7 ",
                                  ts_piece_option(page->arena, paper->options[o]->needs, o == 0));
        }
    }
    if (held == paper->option_count) {
        return held == 1 ? "In the piece" : "In every option";
    }
    return text;
}

static void set_page(ts_quote_page *page, ts_xlsx_sheet *sheet)
{
    const ts_terms *terms = &page->first->needs->terms;
    const char *word = ts_book_studio(page->paper->book, "paper", terms->as_of);
    const char *name = ts_book_studio(page->paper->book, "name", terms->as_of);
    int paper = word == NULL ? 0 : ts_list_find(TS_LIST_PAPER, word);
    ts_xlsx_page setup = {
        .paper = paper == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
        .landscape = true,
        .fit_width = true,
        .repeat_rows = 3,
        .margin_mm = 18,
        .header = page->paper->draft ? "Draft" : "",
        .footer = ts_arena_format(page->arena, "%s \xc2\xb7 Quotation %s \xc2\xb7 Stones",
                                  name == NULL ? "" : name, terms->reference),
    };
    ts_xlsx_page_setup(sheet, &setup);
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_width(sheet, c, widths_mm[c]);
    }
}

void ts_quote_stones(ts_quote_page *page)
{
    const ts_commission_paper *paper = page->paper;
    ts_xlsx_sheet *sheet = ts_xlsx_add(page->book, "Stones");
    set_page(page, sheet);
    const char *title =
        ts_arena_format(page->arena, "Stones of %s",
                        ts_text_show(page->arena, page->first->needs->terms.reference, 100));
    ts_xlsx_merged(sheet, 0, 0, COLUMNS - 1, title,
                   (ts_xlsx_style){.size_pt = TS_QUOTE_TITLE_PT, .bold = true});
    ts_xlsx_height(sheet, 0, 22);
    ts_xlsx_height(sheet, 1, 6);
    for (int c = 0; c < COLUMNS; c++) {
        bool figures = c == COUNT || c == SIZE || c == EACH || c == TOGETHER;
        ts_xlsx_style style = {.size_pt = TS_QUOTE_SMALL_PT,
                               .colour = 0x404040,
                               .rule_below = true,
                               .align = figures ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                               .indent = c == SHAPE || c == COLOUR ? 1 : 0};
        ts_xlsx_text(sheet, 2, c, headings[c], style);
    }
    ts_xlsx_height(sheet, 2, 14);
    ts_xlsx_height(sheet, 3, 5);
    ts_xlsx_freeze(sheet, 3, 0);
    list *lists = TS_ARRAY(page->arena, list, (size_t)paper->option_count);
    int row = 4;
    for (int o = 0; o < paper->option_count; o++) {
        lists[o] = list_of(page->arena, paper->options[o]->needs);
    }
    for (int o = 0; o < paper->option_count; o++) {
        bool held = false;
        for (int k = 0; k < o; k++) {
            held = held || same_list(&lists[k], &lists[o]);
        }
        if (!held) {
            row = put_list(page, sheet, row, whose(page, lists, o), &lists[o]);
        }
    }
}
