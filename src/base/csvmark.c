#include "base/csvparts.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Where the comma parts cells, the decimal mark is the point. In files parted by
 * semicolons or tabs either may be meant, so the file itself must prove it: by a number
 * whose mark cannot be a thousands mark. `12,5`, `0,785` and `1,2345` prove; `1,234` has
 * two readings and proves nothing (the reader of numbers will ask). */

typedef struct proof {
    const ts_csv_row *row;
    int cell;
} proof;

static size_t digits_at(const char *text)
{
    return strspn(text, "0123456789");
}

/* The mark that this cell proves, or 0: an optional sign, digits, one mark, digits. */
char ts_csvmark_proved(const char *text)
{
    static const char minus[] = "\xE2\x88\x92"; /* U+2212 */
    if (strncmp(text, minus, sizeof minus - 1) == 0) {
        text += sizeof minus - 1;
    } else if (*text == '+' || *text == '-') {
        text++;
    }
    const size_t before = digits_at(text);
    const char mark = text[before];
    if (before == 0 || (mark != ',' && mark != '.')) {
        return 0;
    }
    const size_t after = digits_at(text + before + 1);
    if (after == 0 || text[before + 1 + after] != '\0') {
        return 0;
    }
    const bool two_readings = before <= 3 && text[0] != '0' && after == 3;
    return two_readings ? 0 : mark;
}

/* A note is text, also where it says no more than "1,5". */
static bool is_note(const ts_csv *csv, int cell)
{
    return ts_text_same(csv->rows[0].cells[cell], "note");
}

bool ts_csvmark_find(char *point, const ts_csv *csv, ts_arena *arena, ts_diag *diag)
{
    proof comma = {NULL, 0};
    proof dot = {NULL, 0};
    *point = '.';
    for (size_t i = 1; csv->separator != ',' && i < csv->count; i++) {
        for (int cell = 0; cell < csv->rows[i].count; cell++) {
            const char mark = ts_csvmark_proved(csv->rows[i].cells[cell]);
            proof *first = mark == ',' ? &comma : &dot;
            const proof *other = mark == ',' ? &dot : &comma;
            if (mark == 0 || first->row != NULL || is_note(csv, cell)) {
                continue;
            }
            *first = (proof){&csv->rows[i], cell};
            if (other->row == NULL) {
                *point = mark;
                continue;
            }
            const ts_place here = ts_csv_place(csv, arena, first->row, cell);
            const ts_place there = ts_csv_place(csv, arena, other->row, other->cell);
            char name[16];
            ts_diag_add(diag, TS_FAULT_NUMBER_UNCLEAR, &here,
                        "\"%s\" has a decimal %s, but \"%s\" in %s (line %d) has a decimal %s; "
                        "one file uses one of them",
                        first->row->cells[cell], mark == ',' ? "comma" : "point",
                        other->row->cells[other->cell], ts_cell_name(name, there.row, there.cell),
                        there.line, mark == ',' ? "point" : "comma");
            return false;
        }
    }
    return true;
}
