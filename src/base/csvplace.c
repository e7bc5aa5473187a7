#include <tallystone/base/csvin.h>

#include <tallystone/base/text.h>

#include "base/utf8.h"

#include <string.h>

/* libcsv tells what a cell holds, not where it stood. Most cells are never asked for
 * their place, so none is kept: when a fault is reported the record's own text is walked
 * again. A quotation mark opens and closes, a doubled one does both, so a walk that
 * turns at every mark meets the same separators as the reader did. */

typedef struct walk {
    const ts_csv *csv;
    size_t at;    /* in the text */
    size_t end;   /* of the record, without its line end */
    size_t start; /* of the physical line */
    int line;
} walk;

/* Moves past one cell, to its separator or to the record's end. */
static void pass_cell(walk *to)
{
    bool quoted = false;
    for (; to->at < to->end; to->at++) {
        const char c = to->csv->text[to->at];
        if (c == to->csv->separator && !quoted) {
            return;
        }
        if (c == '"') {
            quoted = !quoted;
        } else if (c == '\n') {
            to->start = to->at + 1;
            to->line++;
        }
    }
}

static size_t blank_at(const walk *to, size_t at)
{
    return to->csv->text[at] == to->csv->separator ? 0 : ts_utf8_blank(to->csv->lines + at);
}

/* Characters of the cell at `to`, blanks around it left out, in its first line. */
static int width_of(const walk *to)
{
    walk rest = *to;
    pass_cell(&rest);
    size_t end = to->at;
    for (size_t at = to->at; at < rest.at && to->csv->lines[at] != '\0';) {
        const size_t blank = blank_at(to, at);
        at += blank > 0 ? blank : 1;
        end = blank > 0 ? end : at;
    }
    return ts_text_characters(to->csv->text + to->at, end - to->at);
}

ts_place ts_csv_place(const ts_csv *csv, ts_arena *arena, const ts_csv_row *row, int cell)
{
    (void)arena; /* all that a place holds is borrowed from `csv` */
    ts_place place = {.file = csv->file, .line = row->line, .column = 1, .row = row->row};
    place.line_text = csv->lines + row->raw_at;
    if (cell < 0) {
        return place;
    }
    walk to = {csv, row->raw_at, row->raw_at + row->raw_length, row->raw_at, row->line};
    for (int passed = 0; passed < cell && to.at < to.end; passed++) {
        pass_cell(&to);
        to.at += to.at < to.end ? 1 : 0;
    }
    for (size_t blank = 1; blank > 0 && to.at < to.end; to.at += blank) {
        blank = blank_at(&to, to.at);
    }
    place.line = to.line;
    place.line_text = csv->lines + to.start;
    place.column = ts_text_characters(csv->text + to.start, to.at - to.start) + 1;
    place.width = width_of(&to);
    place.cell = cell + 1;
    if (csv->count > 0 && cell < csv->rows[0].count) {
        place.heading = csv->rows[0].cells[cell];
    }
    return place;
}
