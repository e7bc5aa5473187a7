#include <tallystone/papers/workbook.h>

#include "papers/piece.h"
#include "papers/quotepage.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The client's workbook: head, the piece in words, the price, what to know, how to say
 * yes. It is read once, at a kitchen table, and printed on a page or two. What it is made
 * from here is prices, names and measurements; costs never come near this file. */

#define LOGO_MOST_WIDE_MM 52.0
#define LOGO_MOST_HIGH_MM 16.0

static const ts_xlsx_style small = {.size_pt = TS_QUOTE_SMALL_PT, .wrap = true};
static const ts_xlsx_style small_grey = {
    .size_pt = TS_QUOTE_SMALL_PT, .wrap = true, .colour = 0x404040};
static const ts_xlsx_style title_style = {.size_pt = TS_QUOTE_TITLE_PT, .bold = true, .wrap = true};

/* ---- head ---- */

static const char *studio(const ts_quote_page *page, const char *field)
{
    const char *value = ts_book_studio(page->paper->book, field, page->first->needs->terms.as_of);
    return value == NULL ? "" : value;
}

/* What is there of the parts, a mark between. */
static const char *line_of(ts_quote_page *page, const char *const *parts, int count)
{
    const char *text = "";
    for (int i = 0; i < count; i++) {
        if (!ts_text_empty(parts[i])) {
            text = ts_text_joined(page->arena, text, " \xc2\xb7 ", parts[i]);
        }
    }
    return text;
}

static const char *numbered(ts_quote_page *page, const char *word, const char *number)
{
    return number[0] == '\0' ? "" : ts_arena_format(page->arena, "%s %s", word, number);
}

/* The logo at its true proportion inside the first two columns of one row; `width_mm` and
 * `height_mm` are what it takes. */
static void put_logo(ts_quote_page *page, int row, double *width_mm, double *height_mm)
{
    const ts_picture *picture = page->paper->logo;
    *width_mm = *height_mm = 0;
    if (picture == NULL) {
        return;
    }
    double wide_mm = LOGO_MOST_WIDE_MM;
    double high_mm = wide_mm * picture->height_px / picture->width_px;
    if (high_mm > LOGO_MOST_HIGH_MM) {
        wide_mm *= LOGO_MOST_HIGH_MM / high_mm;
        high_mm = LOGO_MOST_HIGH_MM;
    }
    ts_xlsx_image image = {.png = picture->png,
                           .length = picture->length,
                           .width_mm = wide_mm,
                           .height_mm = high_mm,
                           .description =
                               ts_arena_format(page->arena, "Logo of %s", studio(page, "name"))};
    ts_xlsx_picture(page->sheet, row, 0, &image);
    *width_mm = wide_mm;
    *height_mm = high_mm;
}

/* What this paper is, and of which day: beside the logo, or under one that is wide. */
static void put_kind(ts_quote_page *page, int first_row, double logo_mm)
{
    const char *kind = "Quotation, not an invoice";
    const char *day = ts_quote_date(page->arena, page->first->needs->terms.date);
    if (logo_mm > ts_quote_width_mm(page, 0, 0) - 2) {
        ts_quote_text(page, 0, TS_QUOTE_LAST,
                      ts_arena_format(page->arena, "%s \xc2\xb7 %s", kind, day), small_grey);
        return;
    }
    int column = logo_mm > 0 ? 1 : 0;
    ts_xlsx_style style = {.size_pt = TS_QUOTE_SMALL_PT, .colour = 0x404040};
    ts_xlsx_text(page->sheet, first_row, column, kind, style);
    ts_xlsx_text(page->sheet, first_row + 1, column, day, style);
}

/* Logo at the left; name, address, ways to reach the studio at the right, one under the
 * other in rows that the logo spans. */
static void put_letterhead(ts_quote_page *page)
{
    enum { FROM = 2 };
    int first_row = page->row;
    const char *lines[4];
    lines[0] = studio(page, "name");
    const char *const reach[] = {studio(page, "address"), studio(page, "place"),
                                 studio(page, "telephone"), studio(page, "email")};
    lines[1] = line_of(page, reach, page->snug ? 4 : 2);
    lines[2] = page->snug ? "" : line_of(page, reach + 2, 2);
    lines[3] = line_of(
        page,
        (const char *const[]){numbered(page, "registration", studio(page, "registration number")),
                              numbered(page, "tax number", studio(page, "tax number"))},
        2);
    double wide_mm = 0, high_mm = 0, used_pt = 0;
    put_logo(page, page->row, &wide_mm, &high_mm);
    for (int i = 0; i < 4; i++) {
        if (lines[i][0] == '\0') {
            continue;
        }
        ts_xlsx_style style = i == 0 ? (ts_xlsx_style){.bold = true, .wrap = true} : small;
        style.align = TS_ALIGN_RIGHT;
        int rows = page->row;
        double before_pt = page->used_pt;
        ts_quote_text(page, FROM, TS_QUOTE_LAST, lines[i], style);
        used_pt += page->row > rows ? page->used_pt - before_pt : 0;
    }
    double logo_pt = high_mm * 72 / 25.4 + 4;
    if (logo_pt > used_pt) {
        ts_quote_row(page, logo_pt - used_pt);
    }
    while (page->row < first_row + 2) {
        ts_quote_row(page, ts_typeset_height_pt(1, TS_QUOTE_SMALL_PT));
    }
    put_kind(page, first_row, wide_mm);
}

/* Three facts abreast: a small label over each. */
static void put_facts(ts_quote_page *page, const char *const labels[3], const char *const values[3],
                      const bool strong[3])
{
    int most = 1;
    for (int i = 0; i < 3; i++) {
        int lines =
            ts_typeset_lines(values[i], 10, strong[i], ts_quote_width_mm(page, 2 * i, 2 * i + 1));
        most = lines > most ? lines : most;
    }
    int row = ts_quote_row(page, ts_typeset_height_pt(1, TS_QUOTE_SMALL_PT));
    for (int i = 0; i < 3; i++) {
        ts_xlsx_merged(page->sheet, row, 2 * i, 2 * i + 1, labels[i], small_grey);
    }
    row = ts_quote_row(page, ts_typeset_height_pt(most, 10));
    for (int i = 0; i < 3; i++) {
        ts_xlsx_style style = {.bold = strong[i], .wrap = true};
        ts_xlsx_merged(page->sheet, row, 2 * i, 2 * i + 1, values[i], style);
    }
}

/* Something short enough for a few lines of a narrow cell. */
static const char *brief(ts_quote_page *page, const char *text)
{
    return text == NULL ? "" : ts_text_show(page->arena, text, 200);
}

static void put_identity(ts_quote_page *page)
{
    const ts_terms *terms = &page->first->needs->terms;
    const ts_commission_paper *paper = page->paper;
    const char *revision =
        paper->draft ? "draft" : ts_arena_format(page->arena, "revision %d", paper->revision);
    ts_quote_gap(page, 6);
    ts_quote_text(page, 0, TS_QUOTE_LAST,
                  ts_text_empty(terms->title) ? terms->reference : terms->title, title_style);
    ts_quote_gap(page, 2);
    put_facts(page, (const char *const[3]){"For", "Reference", "Valid until"},
              (const char *const[3]){
                  brief(page, terms->client),
                  ts_arena_format(page->arena, "%s, %s", brief(page, terms->reference), revision),
                  ts_quote_date(page->arena, page->first->valid_until)},
              (const bool[3]){false, false, true});
}

/* ---- the piece ---- */

/* In words at the left, the picture beside them at the right. */
static void put_piece(ts_quote_page *page, ts_diag *diag)
{
    ts_piece_words first = ts_piece_of(page->arena, page->first->needs);
    if (page->snug) {
        first = ts_piece_closer(page->arena, &first);
    }
    ts_quote_begin(page);
    ts_quote_gap(page, 6);
    double before_pt = page->all_pt, beside_pt = 0;
    for (int i = 0; i < first.count; i++) {
        beside_pt +=
            ts_quote_pair_pt(page, first.lines[i].label, first.lines[i].text, TS_QUOTE_LAST - 2);
    }
    double picture_pt = ts_quote_picture(page, beside_pt, diag);
    page->last = picture_pt > 0 ? TS_QUOTE_LAST - 2 : TS_QUOTE_LAST;
    for (int i = 0; i < first.count; i++) {
        ts_quote_pair(page, first.lines[i].label, first.lines[i].text);
    }
    page->last = TS_QUOTE_LAST;
    double left_pt = picture_pt - (page->all_pt - before_pt);
    if (left_pt > 0) {
        ts_quote_row(page, left_pt);
    }
    ts_quote_end(page);
}

/* What each other option has in place of that: after the price, so that the first page
 * holds the piece and its total. */
static void put_alternatives(ts_quote_page *page)
{
    const ts_commission_paper *paper = page->paper;
    ts_piece_words first = ts_piece_of(page->arena, page->first->needs);
    for (int o = 1; o < paper->option_count; o++) {
        const ts_quantities *q = paper->options[o]->needs;
        ts_piece_words other = ts_piece_of(page->arena, q);
        ts_piece_words rest = ts_piece_difference(page->arena, &first, &other);
        const char *text = rest.count == 0 ? "As above." : "";
        for (int i = 0; i < rest.count; i++) {
            text = ts_arena_format(page->arena, "%s%s%s: %s", text, i == 0 ? "" : "\n",
                                   rest.lines[i].label, rest.lines[i].text);
        }
        if (o == 1) {
            ts_quote_begin(page);
            ts_quote_heading(page, "The alternatives, where they differ");
        }
        ts_quote_small_pair(page, ts_piece_option(page->arena, q, false), text);
    }
    if (paper->option_count > 1) {
        ts_quote_end(page);
    }
}

/* ---- how to say yes ---- */

/* A word and a line to write on, from column `from` to `to`. */
static void put_blank(ts_quote_page *page, int row, int from, int to, const char *word)
{
    const ts_xlsx_style line = {.rule_below = true};
    ts_xlsx_text(page->sheet, row, from, word,
                 (ts_xlsx_style){.bottom = true, .colour = 0x404040, .indent = from > 0});
    ts_xlsx_merged(page->sheet, row, from + 1, to, "", line);
}

/* Words that stay on one line, where they are few. */
static const char *unbroken(ts_quote_page *page, const char *text)
{
    enum { MOST = 60 };
    const char *out = "";
    if (strlen(text) > MOST) {
        return text;
    }
    for (const char *at = text; *at != '\0';) {
        int length = (int)strcspn(at, " ");
        out = ts_arena_format(page->arena, "%s%.*s%s", out, length, at,
                              at[length] == ' ' ? "\xc2\xa0" : "");
        at += length + (at[length] == ' ');
    }
    return out;
}

static void put_acceptance(ts_quote_page *page)
{
    enum { WRITING_PT = 19 };
    const ts_commission_paper *paper = page->paper;
    ts_quote_begin(page);
    ts_quote_gap(page, 6);
    const char *with = page->overleaf                ? " and what stands overleaf,"
                       : ts_text_empty(paper->terms) ? ""
                                                     : " and the terms that follow,";
    ts_quote_strong_pair(page, "To accept",
                         ts_arena_format(page->arena,
                                         "I have read this quotation%s and order the piece%s.",
                                         with, paper->option_count > 1 ? " as marked" : ""));
    if (paper->option_count > 1) {
        const char *text = "";
        for (int i = 0; i < paper->option_count; i++) {
            text = ts_arena_format(
                page->arena, "%s%s\xe2\x96\xa1\xc2\xa0%s", text, i == 0 ? "" : "    ",
                unbroken(page, ts_piece_option(page->arena, paper->options[i]->needs, i == 0)));
        }
        ts_quote_pair(page, "Mark one", text);
    }
    int row = ts_quote_row(page, WRITING_PT);
    if (page->snug) {
        put_blank(page, row, 0, 2, "Name, date");
        put_blank(page, row, 3, TS_QUOTE_LAST, "Signature");
    } else {
        put_blank(page, row, 0, 2, "Name");
        put_blank(page, row, 3, TS_QUOTE_LAST, "Date");
        put_blank(page, ts_quote_row(page, WRITING_PT), 0, TS_QUOTE_LAST, "Signature");
    }
    ts_quote_end(page);
}

/* ---- the workbook ---- */

static void set_page(ts_quote_page *page, const char *part)
{
    const ts_terms *terms = &page->first->needs->terms;
    int paper = ts_list_find(TS_LIST_PAPER, studio(page, "paper"));
    ts_xlsx_page setup = {
        .paper = paper == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
        .margin_mm = TS_QUOTE_MARGIN_MM,
        .edge_mm = TS_QUOTE_EDGE_MM,
        .header = page->paper->draft ? "Draft" : "",
        .footer = ts_arena_format(page->arena, "%s \xc2\xb7 Quotation %s%s", studio(page, "name"),
                                  terms->reference, part),
    };
    ts_xlsx_page_setup(page->sheet, &setup);
    double height_mm = setup.paper == TS_PAPER_LETTER ? 279.4 : 297;
    page->wider_mm = setup.paper == TS_PAPER_LETTER ? 215.9 - 210 : 0;
    page->last = TS_QUOTE_LAST;
    page->room_pt = (height_mm - 2 * TS_QUOTE_EDGE_MM) * 72 / 25.4 * 0.995;
    for (int c = 0; c < TS_QUOTE_COLUMNS; c++) {
        ts_xlsx_width(page->sheet, c, ts_quote_width_mm(page, c, c));
    }
}

static ts_quote_page *new_page(ts_arena *arena, const ts_commission_paper *paper)
{
    ts_quote_page *page = TS_NEW(arena, ts_quote_page);
    page->arena = arena;
    page->paper = paper;
    page->first = paper->options[0];
    return page;
}

/* The studio's terms on a sheet of their own, as on the back of the quotation; what to know
 * before them, where the first page has no room for it. */
static void put_overleaf(const ts_quote_page *page)
{
    ts_quote_page *own = new_page(page->arena, page->paper);
    own->book = page->book;
    own->sheet = ts_xlsx_add(page->book, page->overleaf ? "Overleaf" : "Terms");
    set_page(own, " \xc2\xb7 Overleaf");
    if (page->overleaf) {
        ts_quote_know(own);
        ts_quote_gap(own, 6);
    }
    if (!ts_text_empty(own->paper->terms)) {
        ts_quote_text(own, 0, TS_QUOTE_LAST, "Our terms", title_style);
        ts_quote_gap(own, 6);
        ts_quote_text(own, 0, TS_QUOTE_LAST, own->paper->terms, small);
    }
    ts_xlsx_print_area(own->sheet, own->row - 1, TS_QUOTE_LAST);
}

static void put_first_sheet(ts_quote_page *page, ts_diag *diag)
{
    page->sheet = ts_xlsx_add(page->book, "Quote");
    set_page(page, "");
    put_letterhead(page);
    put_identity(page);
    put_piece(page, diag);
    ts_quote_price(page);
    put_alternatives(page);
    if (!page->overleaf) {
        ts_quote_know(page);
    }
    put_acceptance(page);
}

/* Would all of it, down to the place to sign, go on one page? */
static bool goes_on_a_page(ts_arena *arena, const ts_commission_paper *paper,
                           const ts_xlsx_about *about, bool snug, bool overleaf)
{
    ts_quote_page *page = new_page(arena, paper);
    page->snug = snug;
    page->overleaf = overleaf;
    page->trial = true;
    page->book = ts_xlsx_new(arena, NULL, about);
    put_first_sheet(page, NULL);
    ts_xlsx_drop(page->book);
    return page->all_pt <= page->room_pt;
}

/* A ring with up to three options is to go on one page: set closer, where that makes it so, or
 * else with what to know on its back. */
static void choose_setting(ts_quote_page *page, const ts_xlsx_about *about)
{
    enum { MOST_OPTIONS = 3 };
    const ts_commission_paper *paper = page->paper;
    ts_arena *arena = page->arena;
    if (paper->option_count > MOST_OPTIONS || goes_on_a_page(arena, paper, about, false, false)) {
        return;
    }
    page->snug = goes_on_a_page(arena, paper, about, true, false);
    if (!page->snug && goes_on_a_page(arena, paper, about, true, true)) {
        page->snug = page->overleaf = true;
    }
}

ts_status ts_quote_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                         ts_diag *diag)
{
    ts_quote_page *page = new_page(arena, paper);
    const ts_terms *terms = &page->first->needs->terms;
    ts_xlsx_about about = {
        .title = ts_arena_format(arena, "Quotation %s", terms->reference),
        .subject = terms->title,
        .author = studio(page, "name"),
        .day = terms->date,
    };
    choose_setting(page, &about);
    page->book = ts_xlsx_new(arena, path, &about);
    put_first_sheet(page, diag);
    bool overleaf = page->overleaf || !ts_quote_terms(page);
    ts_xlsx_breaks(page->sheet, page->breaks, page->break_count);
    ts_xlsx_print_area(page->sheet, page->row - 1, TS_QUOTE_LAST);
    if (overleaf) {
        put_overleaf(page);
    }
    ts_quote_drawing(page, diag);
    ts_quote_stones(page);
    return ts_xlsx_close(page->book, diag);
}
