/* Workbooks by the library alone: what a program would spend that only had them to write.
 *
 *     workbook TIMES SPEC FOLDER
 *
 * The spec, read once, is lines of six fields, parted by tabs: kind, row, column, value, format,
 * text. A B line begins a workbook; all of them are written TIMES over.
 *
 *     B name                 F half points, flags, colour, indent, number format
 *     W name of a worksheet  w column, width · h row, height · m row, column, last column
 *     n number · s text · f formula and its value · e empty, with a format
 *     l cell, where it leads | its text (a number follows as a cell) · d name and what it stands
 * for k cell, formula of a condition · p picture · c chart, its categories | its values | ... g
 * paper, lying, pages high, margins · o 0 head or 1 foot, margin, text · r first rows again, up to
 *     a print area's last cell · z panes frozen · b rows where pages break · D title | subject |
 * author
 *
 * Without F lines, four formats go round. Freed memory is kept as the program keeps it, so that
 * neither side pays for giving it back. */
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <xlsxwriter.h>

#define LINES_MOST 200000
#define FORMATS 4
#define FORMATS_MOST 256

typedef struct line {
    char kind;
    lxw_row_t row;
    lxw_col_t column;
    double value;
    unsigned format;
    const char *text;
} line;

/* What a workbook is written with. */
typedef struct pen {
    lxw_workbook *book;
    lxw_worksheet *sheet;
    lxw_format *formats[FORMATS_MOST];
    unsigned format_count;
} pen;

/* Flags of an F line. */
enum {
    BOLD = 1,
    ITALIC = 2,
    UNDERLINED = 4,
    WRAPPED = 8,
    RULE_ABOVE = 16,
    RULE_BELOW = 32,
    FILLED = 64,
    RIGHT = 128,
    CENTRED = 256,
    AT_TOP = 512
};

static line lines[LINES_MOST];
static size_t line_count;

static char *whole(const char *path)
{
    FILE *from = fopen(path, "rb");
    char *text = NULL;
    long end = -1;

    if (from == NULL) {
        return NULL;
    }
    if (fseek(from, 0, SEEK_END) == 0) {
        end = ftell(from);
    }
    if (end > 0 && (text = calloc((size_t)end + 1, 1)) != NULL) {
        rewind(from);
        text[fread(text, 1, (size_t)end, from)] = '\0';
    }
    fclose(from);
    return text;
}

/* Fields are parted by tabs; the text begins after the fifth. */
static void read_line(char *at)
{
    line *one = &lines[line_count++];
    char *field = at;

    one->kind = at[0];
    for (int i = 0; i < 5 && field != NULL; i++) {
        field = strchr(field, '\t');
        if (field == NULL) {
            break;
        }
        *field++ = '\0';
        if (i == 0) {
            one->row = (lxw_row_t)strtoul(field, NULL, 10);
        } else if (i == 1) {
            one->column = (lxw_col_t)strtoul(field, NULL, 10);
        } else if (i == 2) {
            one->value = strtod(field, NULL);
        } else if (i == 3) {
            one->format = (unsigned)strtoul(field, NULL, 10);
        }
    }
    one->text = field == NULL ? "" : field;
}

static int read_spec(char *text)
{
    for (char *at = strtok(text, "\n"); at != NULL; at = strtok(NULL, "\n")) {
        if (line_count == LINES_MOST) {
            return 1;
        }
        read_line(at);
    }
    return 0;
}

/* "internal:Sheet!A1|its text" */
static void put_link(const pen *p, const line *one, lxw_format *format)
{
    char where[256];
    size_t length = strcspn(one->text, "|");

    snprintf(where, sizeof where, "%.*s", (int)length, one->text);
    worksheet_write_url_opt(p->sheet, one->row, one->column, where, format,
                            one->text + length + (one->text[length] == '|'), NULL);
}

static void put_cell(const pen *p, const line *one)
{
    lxw_format *format = p->format_count > 0 && one->format < p->format_count
                             ? p->formats[one->format]
                             : p->formats[one->column % FORMATS];

    switch (one->kind) {
    case 'n':
        worksheet_write_number(p->sheet, one->row, one->column, one->value, format);
        break;
    case 's':
        worksheet_write_string(p->sheet, one->row, one->column, one->text, format);
        break;
    case 'f':
        worksheet_write_formula_num(p->sheet, one->row, one->column, one->text, format, one->value);
        break;
    case 'e':
        worksheet_write_blank(p->sheet, one->row, one->column, format);
        break;
    case 'm':
        worksheet_merge_range(p->sheet, one->row, one->column, one->row, (lxw_col_t)one->value, "",
                              format);
        break;
    case 'l':
        put_link(p, one, format);
        break;
    default:
        break;
    }
}

/* ---- pages ---- */

static void put_breaks(const pen *p, const char *text)
{
    lxw_row_t rows[64] = {0};
    char *end = NULL;

    for (int i = 0; i < 63; i++) {
        rows[i] = (lxw_row_t)strtoul(text, &end, 10);
        if (end == text) {
            rows[i] = 0;
            break;
        }
        text = end;
    }
    worksheet_set_h_pagebreaks(p->sheet, rows);
}

static void put_paper(const pen *p, const line *one)
{
    double margins[4] = {0};

    worksheet_set_paper(p->sheet, (uint8_t)one->row);
    if (one->column != 0) {
        worksheet_set_landscape(p->sheet);
    }
    if (one->value >= 0) {
        worksheet_fit_to_pages(p->sheet, 1, (uint16_t)one->value);
    }
    if (sscanf(one->text, "%lf %lf %lf %lf", &margins[0], &margins[1], &margins[2], &margins[3]) ==
        4) {
        worksheet_set_margins(p->sheet, margins[0], margins[1], margins[2], margins[3]);
    }
}

static void put_band(const pen *p, const line *one)
{
    lxw_header_footer_options from_edge = {.margin = one->value};

    if (one->row == 0) {
        worksheet_set_header_opt(p->sheet, one->text, &from_edge);
    } else {
        worksheet_set_footer_opt(p->sheet, one->text, &from_edge);
    }
}

static void put_page(const pen *p, const line *one)
{
    switch (one->kind) {
    case 'g':
        worksheet_gridlines(p->sheet, LXW_HIDE_ALL_GRIDLINES);
        put_paper(p, one);
        break;
    case 'o':
        put_band(p, one);
        break;
    case 'r':
        worksheet_repeat_rows(p->sheet, 0, one->row);
        break;
    case 'a':
        worksheet_print_area(p->sheet, 0, 0, one->row, one->column);
        break;
    case 'z':
        worksheet_freeze_panes(p->sheet, one->row, one->column);
        break;
    case 'b':
        put_breaks(p, one->text);
        break;
    default:
        put_cell(p, one);
        break;
    }
}

static void put_properties(const pen *p, const char *text)
{
    char kept[1024];
    char *fields[3] = {kept, NULL, NULL};

    snprintf(kept, sizeof kept, "%s", text);
    for (int i = 0; i < 2; i++) {
        char *bar = fields[i] == NULL ? NULL : strchr(fields[i], '|');
        if (bar != NULL) {
            *bar = '\0';
            fields[i + 1] = bar + 1;
        }
    }
    lxw_doc_properties properties = {
        .title = fields[0], .subject = fields[1], .author = fields[2], .created = 1};
    workbook_set_properties(p->book, &properties);
    workbook_set_custom_property_string(p->book, "Language", "en");
}

static void put_chart(const pen *p, const line *one)
{
    char ranges[2048];
    lxw_chart *chart = workbook_add_chart(p->book, LXW_CHART_BAR);

    snprintf(ranges, sizeof ranges, "%s", one->text);
    for (char *names = strtok(ranges, "|"); names != NULL; names = strtok(NULL, "|")) {
        char *values = strtok(NULL, "|");
        if (values != NULL) {
            chart_add_series(chart, names, values);
        }
    }
    worksheet_insert_chart(p->sheet, one->row, one->column, chart);
}

static void put_condition(const pen *p, const line *one)
{
    lxw_conditional_format condition = {.type = LXW_CONDITIONAL_TYPE_FORMULA,
                                        .value_string = (char *)(uintptr_t)one->text,
                                        .format = p->formats[0]};

    worksheet_conditional_format_cell(p->sheet, one->row, one->column, &condition);
}

/* "name=Sheet!$A$1" */
static void define(const pen *p, const char *text)
{
    char name[256];
    size_t length = strcspn(text, "=");

    snprintf(name, sizeof name, "%.*s", (int)length, text);
    workbook_define_name(p->book, name, text + length);
}

static void add_format(pen *p, const line *one)
{
    unsigned flags = one->column;
    lxw_format *format = workbook_add_format(p->book);

    format_set_font_name(format, "Arial");
    format_set_font_size(format, one->row / 2.0);
    format_set_font_color(format, (lxw_color_t)one->value);
    format_set_align(format, flags & RIGHT     ? LXW_ALIGN_RIGHT
                             : flags & CENTRED ? LXW_ALIGN_CENTER
                                               : LXW_ALIGN_LEFT);
    format_set_align(format, flags & AT_TOP ? LXW_ALIGN_VERTICAL_TOP : LXW_ALIGN_VERTICAL_BOTTOM);
    format_set_indent(format, (uint8_t)one->format);
    if (one->text[0] != '\0') {
        format_set_num_format(format, one->text);
    }
    if (flags & BOLD) {
        format_set_bold(format);
    }
    if (flags & ITALIC) {
        format_set_italic(format);
    }
    if (flags & UNDERLINED) {
        format_set_underline(format, LXW_UNDERLINE_SINGLE);
    }
    if (flags & WRAPPED) {
        format_set_text_wrap(format);
    }
    if (flags & RULE_ABOVE) {
        format_set_top(format, LXW_BORDER_HAIR);
    }
    if (flags & RULE_BELOW) {
        format_set_bottom(format, LXW_BORDER_HAIR);
    }
    if (flags & FILLED) {
        format_set_bg_color(format, 0xf6f2e4);
    }
    p->formats[p->format_count++] = format;
}

static void put(pen *p, const line *one)
{
    switch (one->kind) {
    case 'F':
        if (p->format_count < FORMATS_MOST) {
            add_format(p, one);
        }
        break;
    case 'W':
        p->sheet = workbook_add_worksheet(p->book, one->text[0] == '\0' ? NULL : one->text);
        break;
    case 'w':
        worksheet_set_column(p->sheet, one->column, one->column, one->value, NULL);
        break;
    case 'h':
        worksheet_set_row(p->sheet, one->row, one->value, NULL);
        break;
    case 'd':
        define(p, one->text);
        break;
    case 'k':
        put_condition(p, one);
        break;
    case 'p':
        worksheet_insert_image(p->sheet, one->row, one->column, one->text);
        break;
    case 'c':
        put_chart(p, one);
        break;
    case 'D':
        put_properties(p, one->text);
        break;
    default:
        put_page(p, one);
        break;
    }
}

static void four_formats(pen *p)
{
    for (int k = 0; k < FORMATS; k++) {
        p->formats[k] = workbook_add_format(p->book);
        format_set_num_format(p->formats[k], k % 2 == 0 ? "#,##0.00" : "0.###");
        if (k > 1) {
            format_set_bold(p->formats[k]);
        }
    }
}

/* Writes the workbook that begins at a B line; returns where the next begins, 0 on trouble. */
static size_t write_one(size_t first, int number, const char *folder)
{
    char path[4096];
    size_t i = first + 1;

    snprintf(path, sizeof path, "%s/%s-%d.xlsx", folder, lines[first].text, number);
    pen p = {.book = workbook_new(path)};
    if (i < line_count && lines[i].kind != 'F') {
        four_formats(&p);
    }
    for (; i < line_count && lines[i].kind != 'B'; i++) {
        put(&p, &lines[i]);
    }
    return workbook_close(p.book) == LXW_NO_ERROR ? i : 0;
}

int main(int argc, char **argv)
{
    /* borrowed by the lines, to the end of the program */
    static char *text = NULL;

    text = argc == 4 ? whole(argv[2]) : NULL;
    if (text == NULL || read_spec(text) != 0 || line_count == 0 || lines[0].kind != 'B') {
        fprintf(stderr, "workbook: TIMES SPEC FOLDER\n");
        return 64;
    }
    mallopt(M_TRIM_THRESHOLD, 64 << 20);
    mallopt(M_MMAP_THRESHOLD, 32 << 20);
    for (int number = 0; number < atoi(argv[1]); number++) {
        for (size_t at = 0; at < line_count;) {
            at = write_one(at, number, argv[3]);
            if (at == 0) {
                fprintf(stderr, "workbook: cannot write in %s\n", argv[3]);
                return 74;
            }
        }
    }
    return 0;
}
