/* Workbooks by the library alone: what a program would spend that only had the cells to write.
 *
 *     workbook TIMES SPEC FOLDER
 *
 * The spec, read once, is a line a cell:  B name · W (next worksheet) · n row column value ·
 * s row column text · f row column value formula · e row column (empty, with a format) ·
 * p row column file. A B line begins a workbook; all of them are written TIMES over. Freed memory
 * is kept as the program keeps it, so that neither side pays for giving it back. */
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <xlsxwriter.h>

#define LINES_MOST 200000
#define FORMATS 4

typedef struct line {
    char kind;
    lxw_row_t row;
    lxw_col_t column;
    double value;
    const char *text;
} line;

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

/* Fields are parted by tabs; the text begins after the fourth. */
static void read_line(char *at)
{
    line *one = &lines[line_count++];
    char *field = at;

    one->kind = at[0];
    for (int i = 0; i < 4 && field != NULL; i++) {
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

static void put_cell(lxw_worksheet *sheet, const line *one, lxw_format *const *formats)
{
    lxw_format *format = formats[one->column % FORMATS];

    switch (one->kind) {
    case 'n':
        worksheet_write_number(sheet, one->row, one->column, one->value, format);
        break;
    case 's':
        worksheet_write_string(sheet, one->row, one->column, one->text, format);
        break;
    case 'f':
        worksheet_write_formula_num(sheet, one->row, one->column, one->text, format, one->value);
        break;
    case 'e':
        worksheet_write_blank(sheet, one->row, one->column, format);
        break;
    case 'p':
        worksheet_insert_image(sheet, one->row, one->column, one->text);
        break;
    default:
        break;
    }
}

/* Writes the workbook that begins at a B line; returns where the next begins, 0 on trouble. */
static size_t write_one(size_t first, int number, const char *folder)
{
    char path[4096];
    lxw_format *formats[FORMATS];
    lxw_worksheet *sheet = NULL;
    size_t i = first + 1;

    snprintf(path, sizeof path, "%s/%s-%d.xlsx", folder, lines[first].text, number);
    lxw_workbook *book = workbook_new(path);
    for (int k = 0; k < FORMATS; k++) {
        formats[k] = workbook_add_format(book);
        format_set_num_format(formats[k], k % 2 == 0 ? "#,##0.00" : "0.###");
        if (k > 1) {
            format_set_bold(formats[k]);
        }
    }
    for (; i < line_count && lines[i].kind != 'B'; i++) {
        if (lines[i].kind == 'W') {
            sheet = workbook_add_worksheet(book, NULL);
        } else if (sheet != NULL) {
            put_cell(sheet, &lines[i], formats);
        }
    }
    return workbook_close(book) == LXW_NO_ERROR ? i : 0;
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
