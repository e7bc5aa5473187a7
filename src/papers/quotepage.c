#include "papers/quotepage.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>
#include <tallystone/words/field.h>

#include <math.h>
#include <string.h>

/* Laying out the client's sheet: heights are computed from the text, because no program
 * measures merged cells, and pages end between parts rather than in them. */

static const double widths_mm[TS_QUOTE_COLUMNS] = {30, 44, 26, 26, 26, 26};

#define ELASTIC 1 /* the column that takes what is left of a wider paper */

#define AIR_PT 3.0       /* for an empty line of a text */
#define SNUG 0.6         /* of the air between parts where all is to go on one page */
#define LINE_PT 12.0     /* rows so high hold text */
#define PIXEL_PT 0.75    /* heights of whole pixels are the same in every program */
#define MOST_BYTES 1400u /* of one row: it stays well under the highest row there can be */

static const ts_xlsx_style heading_style = {.bold = true};
static const ts_xlsx_style label_style = {.wrap = true, .colour = 0x404040};
static const ts_xlsx_style small_label_style = {
    .size_pt = TS_QUOTE_SMALL_PT, .wrap = true, .colour = 0x404040};
static const ts_xlsx_style body_style = {.wrap = true};
static const ts_xlsx_style small_style = {.size_pt = TS_QUOTE_SMALL_PT, .wrap = true};

int ts_quote_row(ts_quote_page *page, double height_pt)
{
    height_pt = ceil(height_pt / PIXEL_PT) * PIXEL_PT;
    if (page->snug && height_pt >= LINE_PT) {
        height_pt -= PIXEL_PT; /* a line of 10 points is 11.2 high from top to bottom */
    }
    if (page->used_pt + height_pt > page->room_pt) {
        page->used_pt = 0; /* the program ends the page here by itself */
    }
    page->used_pt += height_pt;
    page->all_pt += height_pt;
    ts_xlsx_height(page->sheet, page->row, height_pt);
    return page->row++;
}

void ts_quote_gap(ts_quote_page *page, double height_pt)
{
    bool first = page->row == page->block_row;
    if (page->used_pt > 0) {
        ts_quote_row(page, page->snug ? height_pt * SNUG : height_pt);
    }
    if (first) {
        ts_quote_begin(page); /* air before a part stays behind when the part moves */
    }
}

void ts_quote_begin(ts_quote_page *page)
{
    page->block_row = page->row;
    page->block_pt = page->used_pt;
    page->block_all_pt = page->all_pt;
}

void ts_quote_end(ts_quote_page *page)
{
    bool crossed = page->used_pt < page->block_pt;
    int most = (int)(sizeof page->breaks / sizeof page->breaks[0]);
    if (!crossed || page->block_pt == 0 || page->break_count == most) {
        return;
    }
    double moved_pt = page->all_pt - page->block_all_pt;
    if (moved_pt > page->room_pt) {
        return; /* higher than a page: it flows */
    }
    page->breaks[page->break_count++] = page->block_row;
    page->used_pt = moved_pt;
}

bool ts_quote_fits(const ts_quote_page *page, double height_pt)
{
    return page->used_pt + height_pt <= page->room_pt;
}

double ts_quote_width_mm(const ts_quote_page *page, int from, int to)
{
    double width_mm = 0;
    for (int c = from; c <= to; c++) {
        width_mm += widths_mm[c] + (c == ELASTIC ? page->wider_mm : 0);
    }
    return width_mm;
}

/* Bytes of the first row's share: to a line break, else to a blank before the limit. */
static size_t share_of(const char *text)
{
    size_t length = strcspn(text, "\n");
    if (length <= MOST_BYTES) {
        return length;
    }
    size_t at = MOST_BYTES;
    while (at > MOST_BYTES / 2 && text[at] != ' ') {
        at--;
    }
    if (text[at] != ' ') {
        at = MOST_BYTES;
        while (((unsigned char)text[at] & 0xc0u) == 0x80u) {
            at--;
        }
    }
    return at;
}

static int size_of(ts_xlsx_style style)
{
    return style.size_pt == 0 ? 10 : style.size_pt;
}

static double height_of(const char *text, ts_xlsx_style style, double width_mm)
{
    int size = size_of(style);
    return ts_typeset_height_pt(ts_typeset_lines(text, size, style.bold, width_mm), size);
}

/* The first row's share of a text, "" for an empty line; moves past it. */
static const char *take_row(ts_arena *arena, const char **text)
{
    size_t length = share_of(*text);
    const char *part = ts_arena_copy(arena, *text, length);
    *text += length;
    *text += strspn(*text, " ");
    *text += **text == '\n';
    return ts_text_empty(part) ? "" : part;
}

double ts_quote_text_pt(ts_quote_page *page, int from, int to, const char *text,
                        ts_xlsx_style style)
{
    double sum_pt = 0;
    while (*text != '\0') {
        const char *part = take_row(page->arena, &text);
        sum_pt +=
            part[0] == '\0' ? AIR_PT : height_of(part, style, ts_quote_width_mm(page, from, to));
    }
    return sum_pt;
}

void ts_quote_text(ts_quote_page *page, int from, int to, const char *text, ts_xlsx_style style)
{
    double width_mm = ts_quote_width_mm(page, from, to);
    style.wrap = true;
    while (*text != '\0') {
        const char *part = take_row(page->arena, &text);
        if (part[0] == '\0') {
            ts_quote_gap(page, AIR_PT);
            continue;
        }
        int row = ts_quote_row(page, height_of(part, style, width_mm));
        ts_xlsx_merged(page->sheet, row, from, to, part, style);
    }
}

void ts_quote_heading(ts_quote_page *page, const char *text)
{
    ts_quote_gap(page, 5.25);
    int row = ts_quote_row(page, 13.5);
    ts_xlsx_merged(page->sheet, row, 0, TS_QUOTE_LAST, text, heading_style);
}

static void keep_pair(ts_quote_page *page, const char *label, const char *text)
{
    ts_piece_words *said = page->said;
    said->lines = ts_arena_grow(page->arena, said->lines, (size_t)said->count, &page->said_room,
                                sizeof *said->lines);
    said->lines[said->count++] = (ts_piece_said){label, text};
}

static void put_pair(ts_quote_page *page, const char *label, const char *text, ts_xlsx_style named,
                     ts_xlsx_style style)
{
    if (page->said != NULL) {
        keep_pair(page, label, text);
        return;
    }
    double label_pt = height_of(label, named, ts_quote_width_mm(page, 0, 0));
    double width_mm = ts_quote_width_mm(page, 1, page->last);
    bool first = true;
    while (*text != '\0') {
        bool is_whole = strlen(text) <= MOST_BYTES; /* lines stay together in one cell */
        size_t length = is_whole ? strlen(text) : share_of(text);
        const char *part = ts_arena_copy(page->arena, text, length);
        text += length;
        text += strspn(text, " \n");
        double height_pt = height_of(part, style, width_mm);
        if (first && label_pt > height_pt) {
            height_pt = label_pt;
        }
        int row = ts_quote_row(page, height_pt);
        if (first) {
            ts_xlsx_text(page->sheet, row, 0, label, named);
        }
        ts_xlsx_merged(page->sheet, row, 1, page->last, part, style);
        first = false;
    }
}

double ts_quote_pair_pt(const ts_quote_page *page, const char *label, const char *text, int last)
{
    double label_pt = height_of(label, label_style, ts_quote_width_mm(page, 0, 0));
    return fmax(label_pt, height_of(text, body_style, ts_quote_width_mm(page, 1, last)));
}

void ts_quote_pair(ts_quote_page *page, const char *label, const char *text)
{
    bool small = page->snug && page->last == TS_QUOTE_LAST;
    put_pair(page, label, text, small ? small_label_style : label_style,
             small ? small_style : body_style);
}

void ts_quote_small_pair(ts_quote_page *page, const char *label, const char *text)
{
    put_pair(page, label, text, small_label_style, small_style);
}

void ts_quote_strong_pair(ts_quote_page *page, const char *label, const char *text)
{
    put_pair(page, label, text, heading_style, body_style);
}

const char *ts_quote_money(ts_arena *arena, ts_money money, int exponent, const char *currency)
{
    char text[TS_DECIMAL_TEXT];
    char grouped[TS_DECIMAL_TEXT];
    char *out = grouped;
    for (const char *at = ts_money_grouped(text, money, exponent); *at != '\0'; at++) {
        bool is_blank = at[0] == '\xc2' && at[1] == '\xa0';
        *out++ = is_blank ? ',' : *at; /* as the cells beside it show amounts */
        at += is_blank;
    }
    *out = '\0';
    return ts_arena_format(arena, "%s\u00a0%s", grouped, currency);
}

const char *ts_quote_date(ts_arena *arena, ts_date date)
{
    char text[32];
    return ts_arena_text(arena, ts_date_words(text, date));
}
