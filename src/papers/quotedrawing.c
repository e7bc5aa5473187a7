#include "papers/quotepage.h"

#include <tallystone/base/text.h>

#include <math.h>

/* The drawing in the client's workbook: a small picture with a scale bar on the first sheet,
 * and the whole of it on a sheet of its own that prints at 100 %, so that what is marked 1:1
 * can be measured.
 *
 * A picture is tied to the cells under it. One column of explicit width and rows of explicit
 * height keep a program that has other fonts from stretching it; a row is at most 409 points
 * high, so a drawing lies over several. */

#define MARGIN_MM 16.0
#define PICTURE_FROM (TS_QUOTE_LAST - 1) /* the column where the picture begins */
#define PICTURE_LEAST_MM 38.0
#define PICTURE_MOST_MM 56.0
#define ROW_MOST_PT 200.0
#define POINTS_PER_MM (72.0 / 25.4)

double ts_quote_picture(ts_quote_page *page, double beside_pt, ts_diag *diag)
{
    ts_drawing_picture picture;

    if (page->paper->drawings == NULL) {
        return 0;
    }
    ts_drawing_ask ask = page->paper->drawings[0];
    ask.kind = TS_DRAWING_PICTURE;
    ask.high_mm = fmin(PICTURE_MOST_MM, fmax(PICTURE_LEAST_MM, beside_pt / POINTS_PER_MM));
    if (page->trial) {
        return ask.high_mm * POINTS_PER_MM + 1;
    }
    const ts_drawing *drawing = ts_drawing_of(page->arena, &ask);
    if (ts_drawing_is_empty(drawing) || !ts_drawing_png(&picture, page->arena, drawing, diag)) {
        return 0;
    }
    ts_xlsx_image image = {picture.png, picture.length, picture.width_mm, picture.height_mm,
                           picture.says};
    ts_xlsx_picture(page->sheet, page->row, PICTURE_FROM, &image);
    return picture.height_mm * POINTS_PER_MM + 1;
}

/* One drawing from `row` on; returns the row after it. */
static int put_drawing(ts_quote_page *page, ts_xlsx_sheet *sheet, int row,
                       const ts_drawing *drawing, ts_diag *diag)
{
    ts_drawing_picture picture;

    if (!ts_drawing_png(&picture, page->arena, drawing, diag)) {
        return row;
    }
    double rest_pt = picture.height_mm * POINTS_PER_MM + 2.0;
    ts_xlsx_image image = {picture.png, picture.length, picture.width_mm, picture.height_mm,
                           picture.says};
    ts_xlsx_picture(sheet, row, 0, &image);
    while (rest_pt > 0.0) {
        double take_pt = fmin(ROW_MOST_PT, rest_pt);
        ts_xlsx_height(sheet, row++, take_pt);
        rest_pt -= take_pt;
    }
    return row;
}

static void set_page(ts_quote_page *page, ts_xlsx_sheet *sheet, double width_mm)
{
    const ts_terms *terms = &page->first->needs->terms;
    const char *word = ts_book_studio(page->paper->book, "paper", terms->as_of);
    const char *name = ts_book_studio(page->paper->book, "name", terms->as_of);
    int paper = word == NULL ? TS_PAPER_A4 : ts_list_find(TS_LIST_PAPER, word);
    double wide_mm = paper == TS_PAPER_LETTER ? 215.9 : 210.0;
    ts_xlsx_page setup = {
        .paper = paper == TS_PAPER_LETTER ? TS_PAPER_LETTER : TS_PAPER_A4,
        .landscape = width_mm > wide_mm - 2.0 * MARGIN_MM,
        .margin_mm = MARGIN_MM,
        .header = page->paper->draft ? "Draft" : "",
        .footer = ts_arena_format(page->arena, "%s \xc2\xb7 Quotation %s \xc2\xb7 Drawing",
                                  name == NULL ? "" : name, terms->reference),
    };

    ts_xlsx_page_setup(sheet, &setup);
    ts_xlsx_width(sheet, 0, width_mm + 2.0);
}

void ts_quote_drawing(ts_quote_page *page, ts_diag *diag)
{
    const ts_commission_paper *paper = page->paper;
    const ts_drawing **shown =
        TS_ARRAY(page->arena, const ts_drawing *, (size_t)paper->option_count + 1);
    int *breaks = TS_ARRAY(page->arena, int, (size_t)paper->option_count + 1);
    int count = 0, row = 0, break_count = 0;
    double width_mm = 0.0, own_mm = 0.0;

    for (int o = 0; paper->drawings != NULL && o < paper->option_count; o++) {
        const ts_drawing *drawing = ts_drawing_of(page->arena, &paper->drawings[o]);
        bool is_new = !ts_drawing_is_empty(drawing);
        for (int k = 0; k < count; k++) {
            is_new = is_new && !ts_drawing_same(shown[k], drawing);
        }
        if (is_new) {
            shown[count++] = drawing;
            ts_drawing_size(drawing, &own_mm, NULL);
            width_mm = fmax(width_mm, own_mm);
        }
    }
    if (count == 0) {
        return;
    }
    ts_xlsx_sheet *sheet = ts_xlsx_add(page->book, "Drawing");
    set_page(page, sheet, width_mm);
    for (int i = 0; i < count; i++) {
        if (i > 0) {
            breaks[break_count++] = row;
        }
        row = put_drawing(page, sheet, row, shown[i], diag);
    }
    ts_xlsx_breaks(sheet, breaks, break_count);
}
