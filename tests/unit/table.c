#include "table.h"

#include <errno.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* The reader of reference tables knows nothing of the project's own CSV reader on
 * purpose: a fault there must not be able to hide itself by spoiling the values it is
 * tested against. The file is taken apart in place; cells point into its text. */

struct table_row {
    const table *table;
    char **cells;
    int line;
};

struct table {
    char *path;
    char *text;
    char **cells; /* all cells of all rows, header first */
    size_t cell_count;
    size_t cell_room;
    char **header;
    size_t columns;
    table_row *rows;
    size_t count;
    size_t next;
};

typedef struct reader {
    table *table;
    char *at;
    int line;
} reader;

static void *grown(void *memory, size_t count, size_t size)
{
    void *more = realloc(memory, count * size);
    if (more == NULL) {
        fail_msg("no memory for a table");
    }
    return more;
}

static char *file_text(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        fail_msg("%s: %s", path, strerror(errno));
        return NULL;
    }
    char *text = NULL;
    size_t length = 0;
    size_t got = 0;
    do {
        text = grown(text, length + 65536 + 1, 1);
        got = fread(text + length, 1, 65536, file);
        length += got;
    } while (got != 0);
    if (ferror(file) != 0) {
        fail_msg("%s: reading broke off", path);
    }
    fclose(file);
    text[length] = '\0';
    if (strlen(text) != length) {
        fail_msg("%s: a NUL byte stands in the table", path);
    }
    return text;
}

static void keep_cell(table *t, char *cell)
{
    if (t->cell_count == t->cell_room) {
        t->cell_room = t->cell_room == 0 ? 1024 : t->cell_room * 2;
        t->cells = grown(t->cells, t->cell_room, sizeof *t->cells);
    }
    t->cells[t->cell_count++] = cell;
}

/* Takes the quotes off a cell in place; leaves r->at at the byte behind it. */
static char *quoted_cell(reader *r)
{
    int begun = r->line;
    char *cell = ++r->at;
    char *put = cell;
    for (;; r->at++) {
        if (*r->at == '\0') {
            fail_msg("%s:%d: a quoted cell does not end", r->table->path, begun);
        }
        if (*r->at == '"' && r->at[1] != '"') {
            break;
        }
        if (*r->at == '"') {
            r->at++;
        }
        r->line += *r->at == '\n';
        *put++ = *r->at;
    }
    r->at++;
    if (strchr(",\r\n", *r->at) == NULL) {
        fail_msg("%s:%d: something follows a closing quote", r->table->path, r->line);
    }
    *put = '\0';
    return cell;
}

/* Reads one record into the table's cells and returns how many cells it had. */
static size_t read_record(reader *r)
{
    size_t before = r->table->cell_count;
    for (;;) {
        char *cell = r->at;
        if (*r->at == '"') {
            cell = quoted_cell(r);
        } else {
            r->at += strcspn(r->at, ",\r\n");
        }
        char end = *r->at;
        keep_cell(r->table, cell);
        if (end == '\0') {
            break;
        }
        *r->at++ = '\0';
        if (end == ',') {
            continue;
        }
        r->at += end == '\r' && *r->at == '\n';
        r->line++;
        break;
    }
    return r->table->cell_count - before;
}

/* Moves to the next line that holds a record; false at the end of the file. */
static bool find_record(reader *r)
{
    while (*r->at == '#' || *r->at == '\r' || *r->at == '\n') {
        r->at += strcspn(r->at, "\n");
        if (*r->at == '\n') {
            r->at++;
            r->line++;
        }
    }
    return *r->at != '\0';
}

static size_t column_index(const table *t, const char *column)
{
    for (size_t i = 0; i < t->columns; i++) {
        if (strcmp(t->header[i], column) == 0) {
            return i;
        }
    }
    return SIZE_MAX;
}

/* Cells move while they grow, so rows get their pointers when all have been read. */
static void settle_rows(table *t)
{
    t->header = t->cells;
    size_t source = column_index(t, "source");
    if (source == SIZE_MAX) {
        fail_msg("%s: there is no column 'source'", t->path);
    }
    if (t->count == 0) {
        fail_msg("%s: the table has no rows", t->path);
    }
    for (size_t i = 0; i < t->count; i++) {
        table_row *row = &t->rows[i];
        row->table = t;
        row->cells = t->cells + (i + 1) * t->columns;
        if (row->cells[source][strspn(row->cells[source], " \t")] == '\0') {
            fail_msg("%s:%d: the row names no source", t->path, row->line);
        }
    }
}

table *table_open(const char *path)
{
    table *t = calloc(1, sizeof *t);
    if (t == NULL) {
        fail_msg("no memory for a table");
        return NULL;
    }
    t->path = grown(NULL, strlen(path) + 1, 1);
    memcpy(t->path, path, strlen(path) + 1);
    t->text = file_text(path);
    reader r = {.table = t, .at = t->text, .line = 1};
    if (find_record(&r)) {
        t->columns = read_record(&r);
    }
    size_t room = 0;
    while (find_record(&r)) {
        if (t->count == room) {
            room = room == 0 ? 256 : room * 2;
            t->rows = grown(t->rows, room, sizeof *t->rows);
        }
        int line = r.line;
        size_t cells = read_record(&r);
        if (cells != t->columns) {
            fail_msg("%s:%d: the row has %zu cells, the header %zu", path, line, cells, t->columns);
        }
        t->rows[t->count++] = (table_row){.line = line};
    }
    if (t->count == 0) {
        fail_msg("%s has no row: a loop over it would hold nothing", path);
    }
    settle_rows(t);
    return t;
}

void table_close(table *t)
{
    free(t->rows);
    free(t->cells);
    free(t->text);
    free(t->path);
    free(t);
}

size_t table_count(const table *t)
{
    return t->count;
}

const table_row *table_next(table *t)
{
    return t->next < t->count ? &t->rows[t->next++] : NULL;
}

void table_rewind(table *t)
{
    t->next = 0;
}

bool table_has(const table *t, const char *column)
{
    return column_index(t, column) != SIZE_MAX;
}

const char *table_text(const table_row *row, const char *column)
{
    size_t i = column_index(row->table, column);
    if (i == SIZE_MAX) {
        fail_msg("%s: there is no column '%s'", row->table->path, column);
        return "";
    }
    return row->cells[i];
}

double table_number(const table_row *row, const char *column)
{
    const char *text = table_text(row, column);
    char *end = NULL;
    double number = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(number)) {
        fail_msg("%s:%d: '%s' in column '%s' is no number", row->table->path, row->line, text,
                 column);
    }
    return number;
}

bool table_given(const table_row *row, const char *column)
{
    return table_text(row, column)[0] != '\0';
}

int table_line(const table_row *row)
{
    return row->line;
}
