#include "papers/xlsx.h"
#include "papers/png.h"
#include "papers/xlsxtext.h"
#include "papers/xlsxwhole.h"

#include <tallystone/base/reserve.h>

#include <string.h>
#include <xlsxwriter.h>

/* Why this file exists: the workbook library is met here and nowhere else. It validates
 * little and overruns some of its own fixed arrays, so that every length, name and number
 * is judged before it is handed over. Its clock and its default font are set right at the
 * beginning of each workbook. */

#define FAMILY "Arial" /* Liberation Sans and others have its widths, every program maps it */
#define BODY_PT 10
#define MEASURING_PT 9.5
#define MOST_ROWS 1000000

typedef struct look {
    ts_xlsx_style style;
    lxw_format *format;
} look;

struct ts_xlsx {
    ts_arena *arena;
    const char *path;
    lxw_workbook *book;
    look *looks;
    size_t look_count, look_room;
    size_t last_look; /* cells beside one another mostly have the same */
    lxw_error error;
    const char *trouble; /* ours; NULL: none */
    int name_count;
};

struct ts_xlsx_sheet {
    ts_xlsx *book;
    lxw_worksheet *sheet;
    const char *name;
};

static void keep_error(ts_xlsx *book, lxw_error error)
{
    /* a text that got no memory is a text that is not found */
    if (error == LXW_ERROR_MEMORY_MALLOC_FAILED ||
        error == LXW_ERROR_SHARED_STRING_INDEX_NOT_FOUND) {
        ts_arena_exhausted(book->arena);
    }
    if (book->error == LXW_NO_ERROR) {
        book->error = error;
    }
}

void ts_xlsx_fail(ts_xlsx *book, const char *why)
{
    if (book->trouble == NULL) {
        book->trouble = why;
    }
}

/* ---- the workbook ---- */

/* The first format is the file's default: a column's width is counted in its digits. At 9.5
 * points a digit of the family is 7.04 pixels of 96 to the inch wide; at 10 it is 7.41, which
 * some programs round to 7 and others do not, and their columns differ by 6 %. */
static void set_default_font(lxw_workbook *book)
{
    lxw_format *first = STAILQ_FIRST(book->formats);
    if (first != NULL) {
        format_set_font_name(first, FAMILY);
        format_set_font_size(first, MEASURING_PT);
    }
}

ts_xlsx *ts_xlsx_new(ts_arena *arena, const char *path, const ts_xlsx_about *about)
{
    ts_reserve(arena);
    ts_xlsx *book = TS_NEW(arena, ts_xlsx);
    book->arena = arena;
    if (path == NULL) {
        return book;
    }
    book->path = ts_arena_text(arena, path);
    book->book = workbook_new(path);
    if (book->book == NULL) {
        keep_error(book, LXW_ERROR_MEMORY_MALLOC_FAILED);
        return book;
    }
    set_default_font(book->book);
    lxw_doc_properties properties = {
        .title = ts_xlsx_property_text(arena, about->title),
        .subject = ts_xlsx_property_text(arena, about->subject),
        .author = ts_xlsx_property_text(arena, about->author),
        /* 0 would mean the clock. */
        .created = about->day.days > 0 ? (time_t)about->day.days * 86400 : 1,
    };
    keep_error(book, workbook_set_properties(book->book, &properties));
    keep_error(book, workbook_set_custom_property_string(book->book, "Language", "en"));
    return book;
}

ts_xlsx_sheet *ts_xlsx_add(ts_xlsx *book, const char *name)
{
    ts_xlsx_sheet *sheet = TS_NEW(book->arena, ts_xlsx_sheet);
    sheet->book = book;
    sheet->name = name;
    if (book->book == NULL) {
        return sheet;
    }
    sheet->sheet = workbook_add_worksheet(book->book, name);
    if (sheet->sheet == NULL) {
        keep_error(book, LXW_ERROR_SHEETNAME_ALREADY_USED);
    } else {
        worksheet_gridlines(sheet->sheet, LXW_HIDE_ALL_GRIDLINES);
    }
    return sheet;
}

ts_status ts_xlsx_close(ts_xlsx *book, ts_diag *diag)
{
    if (book->trouble != NULL || book->error != LXW_NO_ERROR) {
        const char *why = book->trouble != NULL ? book->trouble : lxw_strerror(book->error);
        ts_diag_add(diag, TS_FAULT_OUTPUT, NULL, "a workbook could not be made: %s", why);
        ts_xlsx_drop(book);
        return TS_IO;
    }
    lxw_error error = workbook_close(book->book);
    book->book = NULL;
    if (error == LXW_ERROR_MEMORY_MALLOC_FAILED) {
        ts_arena_exhausted(book->arena);
    }
    if (error != LXW_NO_ERROR) {
        /* the library tells of its packing; a person is told of the disk */
        ts_diag_add(diag, TS_FAULT_OUTPUT, NULL,
                    "a workbook could not be written: the disk is full or refuses");
        return TS_IO;
    }
    if (!ts_xlsx_is_whole(book->path)) {
        ts_diag_add(diag, TS_FAULT_OUTPUT, NULL,
                    "a workbook could not be made whole: is there room where it goes, and where "
                    "its temporary files go ($TMPDIR)?");
        return TS_IO;
    }
    return TS_OK;
}

void ts_xlsx_drop(ts_xlsx *book)
{
    if (book->book != NULL) {
        lxw_workbook_free(book->book);
        book->book = NULL;
    }
}

/* ---- looks ---- */

static bool same_look(const ts_xlsx_style *a, const ts_xlsx_style *b)
{
    return a->size_pt == b->size_pt && a->bold == b->bold && a->italic == b->italic &&
           a->wrap == b->wrap && a->rule_above == b->rule_above && a->rule_below == b->rule_below &&
           a->input == b->input && a->bottom == b->bottom && a->align == b->align &&
           a->indent == b->indent && a->colour == b->colour && a->link == b->link &&
           (a->format == b->format ||
            (a->format != NULL && b->format != NULL && strcmp(a->format, b->format) == 0));
}

static void set_alignment(lxw_format *format, const ts_xlsx_style *style)
{
    static const uint8_t across[] = {LXW_ALIGN_LEFT, LXW_ALIGN_RIGHT, LXW_ALIGN_CENTER};
    format_set_align(format, across[style->align]);
    format_set_align(format, style->bottom ? LXW_ALIGN_VERTICAL_BOTTOM : LXW_ALIGN_VERTICAL_TOP);
    if (style->indent > 0) {
        format_set_indent(format, (uint8_t)style->indent);
    }
    if (style->wrap) {
        format_set_text_wrap(format);
    }
}

static void set_lines(lxw_format *format, const ts_xlsx_style *style)
{
    if (style->rule_above) {
        format_set_top(format, LXW_BORDER_HAIR);
    }
    if (style->rule_below) {
        format_set_bottom(format, LXW_BORDER_HAIR);
    }
    if (style->input) {
        format_set_unlocked(format);
        format_set_bg_color(format, 0xf6f2e4);
        format_set_bottom(format, LXW_BORDER_HAIR);
    }
}

static lxw_format *make_format(ts_xlsx *book, const ts_xlsx_style *style)
{
    lxw_format *format = workbook_add_format(book->book);
    if (format == NULL) {
        keep_error(book, LXW_ERROR_MEMORY_MALLOC_FAILED);
        return NULL;
    }
    format_set_font_name(format, FAMILY);
    format_set_font_size(format, style->size_pt == 0 ? BODY_PT : style->size_pt);
    if (style->bold) {
        format_set_bold(format);
    }
    if (style->italic) {
        format_set_italic(format);
    }
    if (style->link) {
        format_set_underline(format, LXW_UNDERLINE_SINGLE);
    }
    if (style->colour != 0) {
        format_set_font_color(format, style->colour);
    }
    if (style->format != NULL) {
        format_set_num_format(format, style->format);
    }
    set_alignment(format, style);
    set_lines(format, style);
    return format;
}

static lxw_format *format_of(ts_xlsx *book, const ts_xlsx_style *style)
{
    if (book->look_count > 0 && same_look(&book->looks[book->last_look].style, style)) {
        return book->looks[book->last_look].format;
    }
    for (size_t i = 0; i < book->look_count; i++) {
        if (same_look(&book->looks[i].style, style)) {
            book->last_look = i;
            return book->looks[i].format;
        }
    }
    book->last_look = book->look_count;
    book->looks = ts_arena_grow(book->arena, book->looks, book->look_count, &book->look_room,
                                sizeof *book->looks);
    look *made = &book->looks[book->look_count++];
    *made = (look){*style, make_format(book, style)};
    return made->format;
}

/* ---- cells ---- */

static bool fits(ts_xlsx_sheet *sheet, int row, int column)
{
    if (row < 0 || row >= MOST_ROWS || column < 0 || column >= 250) {
        ts_xlsx_fail(sheet->book, "a sheet would have more than a million rows or 250 columns");
    }
    return sheet->sheet != NULL && sheet->book->trouble == NULL;
}

void ts_xlsx_text(ts_xlsx_sheet *sheet, int row, int column, const char *text, ts_xlsx_style style)
{
    if (!fits(sheet, row, column)) {
        return;
    }
    const char *kept = ts_xlsx_cell_text(sheet->book->arena, text == NULL ? "" : text);
    keep_error(sheet->book, worksheet_write_string(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column,
                                                   kept, format_of(sheet->book, &style)));
}

void ts_xlsx_merged(ts_xlsx_sheet *sheet, int row, int column, int last, const char *text,
                    ts_xlsx_style style)
{
    if (last > column && fits(sheet, row, last)) {
        keep_error(sheet->book, worksheet_merge_range(
                                    sheet->sheet, (lxw_row_t)row, (lxw_col_t)column, (lxw_row_t)row,
                                    (lxw_col_t)last, "", format_of(sheet->book, &style)));
    }
    ts_xlsx_text(sheet, row, column, text, style);
}

void ts_xlsx_blank(ts_xlsx_sheet *sheet, int row, int column, ts_xlsx_style style)
{
    if (fits(sheet, row, column)) {
        keep_error(sheet->book,
                   worksheet_write_blank(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column,
                                         format_of(sheet->book, &style)));
    }
}

static void write_double(ts_xlsx_sheet *sheet, int row, int column, double value,
                         const ts_xlsx_style *style)
{
    if (!(value >= -1e15 && value <= 1e15)) { /* not finite, or past what a cell shows */
        ts_xlsx_fail(sheet->book, "a figure is past what a workbook holds");
        return;
    }
    if (fits(sheet, row, column)) {
        keep_error(sheet->book,
                   worksheet_write_number(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column, value,
                                          format_of(sheet->book, style)));
    }
}

void ts_xlsx_number(ts_xlsx_sheet *sheet, int row, int column, ts_dec number, ts_xlsx_style style)
{
    write_double(sheet, row, column, (double)number.e6 / 1e6, &style);
}

static double power_of_ten(int exponent)
{
    double power = 1;
    for (int i = 0; i < exponent; i++) {
        power *= 10;
    }
    return power;
}

void ts_xlsx_money(ts_xlsx_sheet *sheet, int row, int column, ts_money money, int exponent,
                   ts_xlsx_style style)
{
    write_double(sheet, row, column, (double)money.minor / power_of_ten(exponent), &style);
}

void ts_xlsx_date(ts_xlsx_sheet *sheet, int row, int column, ts_date date, ts_xlsx_style style)
{
    enum { UNIX_DAY_IN_SHEETS = 25569 }; /* 1970-01-01 counted from 1899-12-30 */
    if (style.format == NULL) {
        style.format = "d mmmm yyyy";
    }
    write_double(sheet, row, column, (double)date.days + UNIX_DAY_IN_SHEETS, &style);
}

void ts_xlsx_formula(ts_xlsx_sheet *sheet, int row, int column, const char *formula, ts_ratio value,
                     ts_xlsx_style style)
{
    enum { MOST_FORMULA = 8192 };
    double shown = (double)value.num / (double)value.den;
    if (!(shown >= -1e15 && shown <= 1e15)) {
        ts_xlsx_fail(sheet->book, "a figure is past what a workbook holds");
        return;
    }
    if (strlen(formula) > MOST_FORMULA) {
        ts_xlsx_fail(sheet->book, "a formula is longer than a cell holds");
        return;
    }
    if (fits(sheet, row, column)) {
        keep_error(sheet->book,
                   worksheet_write_formula_num(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column,
                                               formula, format_of(sheet->book, &style), shown));
    }
}

void ts_xlsx_formula_text(ts_xlsx_sheet *sheet, int row, int column, const char *formula,
                          const char *value, ts_xlsx_style style)
{
    if (fits(sheet, row, column)) {
        keep_error(sheet->book,
                   worksheet_write_formula_str(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column,
                                               formula, format_of(sheet->book, &style), value));
    }
}

void ts_xlsx_link(ts_xlsx_sheet *sheet, int row, int column, const ts_xlsx_spot *to,
                  const char *text, ts_xlsx_style style)
{
    char cell[24];
    if (!fits(sheet, row, column) || to->sheet->sheet == NULL) {
        return;
    }
    style.link = true;
    const char *where = ts_arena_format(sheet->book->arena, "internal:%s!%s", to->sheet->name,
                                        ts_xlsx_cell(cell, to->row, to->column, false));
    keep_error(sheet->book,
               worksheet_write_url_opt(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column, where,
                                       format_of(sheet->book, &style),
                                       ts_xlsx_cell_text(sheet->book->arena, text), NULL));
}

/* ---- names ---- */

bool ts_xlsx_name(ts_xlsx_sheet *sheet, int row, int column, const char *name)
{
    char cell[24];
    if (!ts_xlsx_name_fits(name) || !fits(sheet, row, column)) {
        return false;
    }
    const char *formula = ts_arena_format(sheet->book->arena, "=%s!%s", sheet->name,
                                          ts_xlsx_cell(cell, row, column, true));
    keep_error(sheet->book, workbook_define_name(sheet->book->book, name, formula));
    return true;
}

/* ---- the sheet as a page ---- */

void ts_xlsx_width(ts_xlsx_sheet *sheet, int column, double width_mm)
{
    if (fits(sheet, 0, column)) {
        uint32_t pixels = (uint32_t)(width_mm / 25.4 * 96 + 0.5);
        keep_error(sheet->book, worksheet_set_column_pixels(sheet->sheet, (lxw_col_t)column,
                                                            (lxw_col_t)column, pixels, NULL));
    }
}

void ts_xlsx_height(ts_xlsx_sheet *sheet, int row, double height_pt)
{
    if (fits(sheet, row, 0)) {
        double most_pt = 409; /* of any row */
        keep_error(sheet->book, worksheet_set_row(sheet->sheet, (lxw_row_t)row,
                                                  height_pt > most_pt ? most_pt : height_pt, NULL));
    }
}

void ts_xlsx_freeze(ts_xlsx_sheet *sheet, int rows, int columns)
{
    if (sheet->sheet != NULL) {
        worksheet_freeze_panes(sheet->sheet, (lxw_row_t)rows, (lxw_col_t)columns);
    }
}

void ts_xlsx_page_setup(ts_xlsx_sheet *sheet, const ts_xlsx_page *page)
{
    enum { LETTER = 1, A4 = 9 };
    if (sheet->sheet == NULL) {
        return;
    }
    lxw_worksheet *at = sheet->sheet;
    ts_arena *arena = sheet->book->arena;
    worksheet_set_paper(at, page->paper == TS_PAPER_LETTER ? LETTER : A4);
    if (page->landscape) {
        worksheet_set_landscape(at);
    }
    double side_in = page->margin_mm / 25.4;
    double edge_in = (page->edge_mm > 0 ? page->edge_mm : 16) / 25.4;
    worksheet_set_margins(at, side_in, side_in, edge_in, edge_in);
    if (page->fit_width) {
        worksheet_fit_to_pages(at, 1, (uint16_t)page->fit_height);
    }
    if (page->repeat_rows > 0) {
        keep_error(sheet->book, worksheet_repeat_rows(at, 0, (lxw_row_t)page->repeat_rows - 1));
    }
    lxw_header_footer_options from_edge = {.margin = edge_in / 2};
    if (page->header != NULL && page->header[0] != '\0') {
        const char *text = ts_arena_format(arena, "&C&\"" FAMILY ",Bold\"&10 %s",
                                           ts_xlsx_band_text(arena, page->header));
        keep_error(sheet->book, worksheet_set_header_opt(at, text, &from_edge));
    }
    const char *text = ts_arena_format(
        arena, "&L&\"" FAMILY ",Regular\"&9 %s&R&\"" FAMILY ",Regular\"&9 page &P of &N",
        ts_xlsx_band_text(arena, page->footer == NULL ? "" : page->footer));
    keep_error(sheet->book, worksheet_set_footer_opt(at, text, &from_edge));
}

void ts_xlsx_breaks(ts_xlsx_sheet *sheet, const int *rows, int count)
{
    if (sheet->sheet == NULL || count == 0) {
        return;
    }
    lxw_row_t *kept = TS_ARRAY(sheet->book->arena, lxw_row_t, (size_t)count + 1);
    for (int i = 0; i < count; i++) {
        kept[i] = (lxw_row_t)rows[i];
    }
    keep_error(sheet->book, worksheet_set_h_pagebreaks(sheet->sheet, kept));
}

void ts_xlsx_print_area(ts_xlsx_sheet *sheet, int last_row, int last_column)
{
    if (fits(sheet, last_row, last_column)) {
        keep_error(sheet->book, worksheet_print_area(sheet->sheet, 0, 0, (lxw_row_t)last_row,
                                                     (lxw_col_t)last_column));
    }
}

void ts_xlsx_guard(ts_xlsx_sheet *sheet)
{
    if (sheet->sheet != NULL) {
        lxw_protection let = {.format_cells = LXW_TRUE,
                              .format_columns = LXW_TRUE,
                              .format_rows = LXW_TRUE,
                              .autofilter = LXW_TRUE,
                              .sort = LXW_TRUE};
        worksheet_protect(sheet->sheet, NULL, &let);
    }
}

/* ---- pictures and charts ---- */

void ts_xlsx_picture(ts_xlsx_sheet *sheet, int row, int column, const ts_xlsx_image *image)
{
    ts_png_size size;
    if (!fits(sheet, row, column) || !ts_png_size_of(&size, image->png, image->length)) {
        return;
    }
    lxw_image_options options = {.x_scale = image->width_mm / 25.4 * size.dpi[0] / size.dots[0],
                                 .y_scale = image->height_mm / 25.4 * size.dpi[1] / size.dots[1],
                                 .object_position = LXW_OBJECT_MOVE_DONT_SIZE,
                                 .description =
                                     ts_xlsx_property_text(sheet->book->arena, image->description)};
    keep_error(sheet->book,
               worksheet_insert_image_buffer_opt(sheet->sheet, (lxw_row_t)row, (lxw_col_t)column,
                                                 image->png, image->length, &options));
}

static void dress_bars(lxw_chart *chart, const ts_xlsx_bars *bars)
{
    char family[] = FAMILY;
    lxw_chart_font small = {.name = family, .size = 9};
    lxw_chart_font heading = {.name = family, .size = 10, .bold = LXW_EXPLICIT_FALSE};
    lxw_chart_line no_line = {.none = LXW_TRUE};
    lxw_chart_line hairline = {.color = 0xbfbfbf, .width = 0.5F};
    chart_title_set_name(chart, bars->title);
    chart_title_set_name_font(chart, &heading);
    /* In a bar chart the library's y axis is the one of the categories. */
    chart_axis_set_reverse(chart->y_axis); /* first row at the top */
    chart_axis_set_num_font(chart->y_axis, &small);
    chart_axis_set_line(chart->y_axis, &hairline);
    chart_axis_set_major_tick_mark(chart->y_axis, LXW_CHART_AXIS_TICK_MARK_NONE);
    chart_set_series_gap(chart, 45);
    chart_chartarea_set_line(chart, &no_line);
    if (bars->from_zero) {
        chart_axis_set_min(chart->x_axis, 0);
    }
    if (bars->other_column == 0) {
        chart_legend_set_position(chart, LXW_CHART_LEGEND_NONE);
        chart_axis_off(chart->x_axis);
        chart_axis_major_gridlines_set_visible(chart->x_axis, LXW_FALSE);
        return;
    }
    chart_set_series_overlap(chart, 40); /* both may go one way: neither hides the other */
    chart_legend_set_position(chart, LXW_CHART_LEGEND_BOTTOM);
    chart_legend_set_font(chart, &small);
    chart_axis_set_label_position(chart->y_axis, LXW_CHART_AXIS_LABEL_POSITION_LOW);
    chart_axis_set_num_font(chart->x_axis, &small);
    chart_axis_set_num_format(chart->x_axis, bars->format);
    chart_axis_set_line(chart->x_axis, &no_line);
    chart_axis_major_gridlines_set_line(chart->x_axis, &hairline);
}

static void add_bars(lxw_chart *chart, ts_xlsx_sheet *sheet, const ts_xlsx_bars *bars, int set)
{
    static const uint32_t greys[] = {0x595959, 0xb3b3b3};
    int column = set == 0 ? bars->value_column : bars->other_column;
    char family[] = FAMILY;
    lxw_chart_fill fill = {.color = greys[set]};
    lxw_chart_font small = {.name = family, .size = 9};
    lxw_chart_series *series = chart_add_series(chart, NULL, NULL);
    chart_series_set_categories(series, sheet->name, (lxw_row_t)bars->first_row,
                                (lxw_col_t)bars->label_column, (lxw_row_t)bars->last_row,
                                (lxw_col_t)bars->label_column);
    chart_series_set_values(series, sheet->name, (lxw_row_t)bars->first_row, (lxw_col_t)column,
                            (lxw_row_t)bars->last_row, (lxw_col_t)column);
    chart_series_set_fill(series, &fill);
    if (bars->other_column == 0) {
        chart_series_set_labels(series);
        chart_series_set_labels_num_format(series, bars->format);
        chart_series_set_labels_font(series, &small);
    } else {
        chart_series_set_name(series, bars->names[set]);
    }
}

void ts_xlsx_bar_chart(ts_xlsx_sheet *sheet, const ts_xlsx_bars *bars)
{
    if (!fits(sheet, bars->last_row, bars->column)) {
        return;
    }
    lxw_chart *chart = workbook_add_chart(sheet->book->book, LXW_CHART_BAR);
    if (chart == NULL) {
        keep_error(sheet->book, LXW_ERROR_MEMORY_MALLOC_FAILED);
        return;
    }
    add_bars(chart, sheet, bars, 0);
    if (bars->other_column > 0) {
        add_bars(chart, sheet, bars, 1);
    }
    dress_bars(chart, bars);
    lxw_chart_options options = {.x_scale = bars->width_px / 480.0,
                                 .y_scale = bars->height_px / 288.0,
                                 .object_position = LXW_OBJECT_MOVE_DONT_SIZE,
                                 .description =
                                     ts_xlsx_property_text(sheet->book->arena, bars->description)};
    keep_error(sheet->book, worksheet_insert_chart_opt(sheet->sheet, (lxw_row_t)bars->row,
                                                       (lxw_col_t)bars->column, chart, &options));
}

void ts_xlsx_warn(ts_xlsx_sheet *sheet, int row, int column, const char *formula,
                  ts_xlsx_style style)
{
    if (!fits(sheet, row, column)) {
        return;
    }
    lxw_format *format = workbook_add_format(sheet->book->book);
    if (format == NULL) {
        keep_error(sheet->book, LXW_ERROR_MEMORY_MALLOC_FAILED);
        return;
    }
    format_set_bold(format);
    format_set_font_color(format, style.colour);
    lxw_conditional_format when = {.type = LXW_CONDITIONAL_TYPE_FORMULA,
                                   .value_string =
                                       ts_arena_format(sheet->book->arena, "%s", formula),
                                   .format = format};
    keep_error(sheet->book, worksheet_conditional_format_cell(sheet->sheet, (lxw_row_t)row,
                                                              (lxw_col_t)column, &when));
}
