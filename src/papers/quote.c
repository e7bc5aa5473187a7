#include <tallystone/papers/workbook.h>

#include "papers/picture.h"
#include "papers/piece.h"
#include "papers/quotepage.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <string.h>

/* The client's workbook: head, the piece in words, the price, what to know, how to say
 * yes. It is read once, at a kitchen table, and printed on a page or two. What it is made
 * from here is prices, names and measurements; costs never come near this file. */

#define MARGIN_MM 16.0
#define LOGO_MOST_WIDE_MM 52.0
#define LOGO_MOST_HIGH_MM 18.0

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
            text = ts_arena_format(page->arena, "%s%s%s", text, text[0] == '\0' ? "" : " \xc2\xb7 ",
                                   parts[i]);
        }
    }
    return text;
}

static const char *numbered(ts_quote_page *page, const char *word, const char *number)
{
    return number[0] == '\0' ? "" : ts_arena_format(page->arena, "%s %s", word, number);
}

/* The logo at its true proportion inside the first two columns of one row; `height_mm`
 * is what it takes. */
static ts_status put_logo(ts_quote_page *page, int row, double *height_mm, ts_diag *diag)
{
    ts_picture picture;
    *height_mm = 0;
    if (page->paper->logo == NULL) {
        return TS_OK;
    }
    ts_status status =
        ts_picture_read(&picture, page->arena, page->paper->logo, page->paper->logo_length, diag);
    if (status != TS_OK) {
        return status;
    }
    double wide_mm = LOGO_MOST_WIDE_MM;
    double high_mm = wide_mm * picture.height_px / picture.width_px;
    if (high_mm > LOGO_MOST_HIGH_MM) {
        wide_mm *= LOGO_MOST_HIGH_MM / high_mm;
        high_mm = LOGO_MOST_HIGH_MM;
    }
    ts_xlsx_image image = {.png = picture.png,
                           .length = picture.length,
                           .width_mm = wide_mm,
                           .height_mm = high_mm,
                           .description =
                               ts_arena_format(page->arena, "Logo of %s", studio(page, "name"))};
    ts_xlsx_picture(page->sheet, row, 0, &image);
    *height_mm = high_mm;
    return TS_OK;
}

/* Logo at the left; name, address, ways to reach the studio at the right, one under the
 * other in rows that the logo spans. */
static ts_status put_letterhead(ts_quote_page *page, ts_diag *diag)
{
    enum { FROM = 2 };
    const char *lines[4];
    lines[0] = studio(page, "name");
    lines[1] =
        line_of(page, (const char *const[]){studio(page, "address"), studio(page, "place")}, 2);
    lines[2] =
        line_of(page, (const char *const[]){studio(page, "telephone"), studio(page, "email")}, 2);
    lines[3] = line_of(
        page,
        (const char *const[]){numbered(page, "registration", studio(page, "registration number")),
                              numbered(page, "tax number", studio(page, "tax number"))},
        2);
    double high_mm = 0, used_pt = 0;
    ts_status status = put_logo(page, page->row, &high_mm, diag);
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
    return status;
}

/* Three facts abreast: a small label over each. */
static void put_facts(ts_quote_page *page, const char *const labels[3], const char *const values[3],
                      const bool strong[3])
{
    int most = 1;
    for (int i = 0; i < 3; i++) {
        int lines = ts_typeset_lines(values[i], 10, strong[i], ts_quote_width_mm(2 * i, 2 * i + 1));
        most = lines > most ? lines : most;
    }
    int row = ts_quote_row(page, ts_typeset_height_pt(1, TS_QUOTE_SMALL_PT));
    for (int i = 0; i < 3; i++) {
        ts_xlsx_merged(page->sheet, row, 2 * i, 2 * i + 1, labels[i], small_grey);
    }
    row = ts_quote_row(page, ts_typeset_height_pt(most, 10) + 2);
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
    ts_quote_gap(page, 8);
    ts_quote_text(page, 0, TS_QUOTE_LAST, "Quotation, not an invoice", small_grey);
    ts_quote_text(page, 0, TS_QUOTE_LAST,
                  ts_text_empty(terms->title) ? terms->reference : terms->title, title_style);
    ts_quote_gap(page, 6);
    put_facts(page, (const char *const[3]){"For", "Reference", "Date"},
              (const char *const[3]){
                  brief(page, terms->client),
                  ts_arena_format(page->arena, "%s, %s", brief(page, terms->reference), revision),
                  ts_quote_date(page->arena, terms->date)},
              (const bool[3]){false, false, false});
    bool expected = ts_date_given(terms->deliver_by);
    put_facts(page,
              (const char *const[3]){"Valid until", expected ? "Expected by" : "",
                                     ts_text_empty(terms->pays_by) ? "" : "Payment by"},
              (const char *const[3]){ts_quote_date(page->arena, page->first->valid_until),
                                     expected ? ts_quote_date(page->arena, terms->deliver_by) : "",
                                     brief(page, terms->pays_by)},
              (const bool[3]){true, false, false});
}

/* ---- the piece ---- */

static void put_piece(ts_quote_page *page)
{
    ts_piece_words first = ts_piece_of(page->arena, page->first->needs);
    ts_quote_begin(page);
    ts_quote_heading(page, "The piece");
    for (int i = 0; i < first.count; i++) {
        ts_quote_pair(page, first.lines[i].label, first.lines[i].text);
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
        ts_quote_begin(page);
        if (o == 1) {
            ts_quote_heading(page, "The alternatives, where they differ");
        } else {
            ts_quote_gap(page, 4);
        }
        ts_quote_text(page, 0, TS_QUOTE_LAST, ts_piece_option(page->arena, q, false),
                      (ts_xlsx_style){.italic = true});
        for (int i = 0; i < rest.count; i++) {
            ts_quote_pair(page, rest.lines[i].label, rest.lines[i].text);
        }
        ts_quote_end(page);
    }
}

/* ---- how to say yes ---- */

static void put_acceptance(ts_quote_page *page)
{
    static const char *const fields[] = {"Option", "Name", "Date", "Signature"};
    const ts_xlsx_style line = {.rule_below = true};
    const ts_xlsx_style label = {.bottom = true, .colour = 0x404040};
    const ts_commission_paper *paper = page->paper;
    ts_quote_begin(page);
    ts_quote_heading(page, "To accept");
    ts_quote_text(page, 0, TS_QUOTE_LAST,
                  ts_arena_format(page->arena,
                                  "I have read this quotation, %s, and order the piece as chosen "
                                  "below.",
                                  brief(page, page->first->needs->terms.reference)),
                  (ts_xlsx_style){.wrap = true});
    if (paper->option_count > 1) {
        const char *text = "";
        for (int i = 0; i < paper->option_count; i++) {
            text = ts_arena_format(page->arena, "%s%s%s", text, i == 0 ? "Options: " : " \xc2\xb7 ",
                                   ts_piece_option(page->arena, paper->options[i]->needs, i == 0));
        }
        ts_quote_text(page, 0, TS_QUOTE_LAST, text, small_grey);
    }
    for (int i = paper->option_count > 1 ? 0 : 1; i < 4; i++) {
        int row = ts_quote_row(page, 21);
        ts_xlsx_text(page->sheet, row, 0, fields[i], label);
        ts_xlsx_merged(page->sheet, row, 1, 4, "", line);
    }
    ts_quote_end(page);
}

/* ---- the workbook ---- */

static void set_page(ts_quote_page *page)
{
    const ts_terms *terms = &page->first->needs->terms;
    int paper = ts_list_find(TS_LIST_PAPER, studio(page, "paper"));
    ts_xlsx_page setup = {
        .paper = paper == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
        .margin_mm = MARGIN_MM,
        .header = page->paper->draft ? "Draft" : "",
        .footer = ts_arena_format(page->arena, "%s \xc2\xb7 Quotation %s", studio(page, "name"),
                                  terms->reference),
    };
    ts_xlsx_page_setup(page->sheet, &setup);
    double height_mm = setup.paper == TS_PAPER_LETTER ? 279.4 : 297;
    page->room_pt = (height_mm - 32) * 72 / 25.4 * 0.99;
    for (int c = 0; c < TS_QUOTE_COLUMNS; c++) {
        ts_xlsx_width(page->sheet, c, ts_quote_width_mm(c, c));
    }
}

ts_status ts_quote_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                         ts_diag *diag)
{
    ts_quote_page *page = TS_NEW(arena, ts_quote_page);
    page->arena = arena;
    page->paper = paper;
    page->first = paper->options[0];
    const ts_terms *terms = &page->first->needs->terms;
    ts_xlsx_about about = {
        .title = ts_arena_format(arena, "Quotation %s", terms->reference),
        .subject = terms->title,
        .author = studio(page, "name"),
        .day = terms->date,
    };
    page->book = ts_xlsx_new(arena, path, &about);
    page->sheet = ts_xlsx_add(page->book, "Quote");
    set_page(page);
    ts_status status = put_letterhead(page, diag);
    if (status != TS_OK) {
        ts_xlsx_drop(page->book);
        return status;
    }
    put_identity(page);
    put_piece(page);
    ts_quote_picture(page, diag);
    ts_quote_price(page);
    put_alternatives(page);
    ts_quote_know(page);
    put_acceptance(page);
    ts_xlsx_breaks(page->sheet, page->breaks, page->break_count);
    ts_quote_drawing(page, diag);
    ts_quote_stones(page);
    return ts_xlsx_close(page->book, diag);
}
