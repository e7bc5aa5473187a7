#include <tallystone/design/design.h>

#include <tallystone/base/text.h>

#include "design/tables.h"

#include <stdint.h>
#include <string.h>

/* Starter sheets: a whole ring of each kind, to be changed rather than filled in.
 *
 * The rows stand in starters.def. What is said about them comes from the tables: each part
 * is headed by what it is, each measure without a note of its own has the table's, and after
 * a part the measures that it could also have are named. So a measure that is added to
 * fields.def shows up in every starter sheet. */

enum {
    SOLITAIRE = 1,
    HALO = 2,
    DOUBLE = 4,
    THREE = 8,
    ETERNITY = 16,
    ALL = SOLITAIRE | HALO | DOUBLE | THREE | ETERNITY
};

static const char *const kinds[] = {"solitaire", "halo", "double halo", "three stone",
                                    "eternity band"};

typedef struct start_row {
    int kinds;
    const char *part; /* NULL: `measure` is a remark */
    const char *measure, *value, *unit, *note;
} start_row;

/* clang-format off */
static const start_row rows[] = {
#define REMARK(kinds, text) {kinds, NULL, text, "", "", ""},
#define ROW(kinds, part, measure, value, unit, note) {kinds, part, measure, value, unit, note},
#include "design/starters.def"
#undef ROW
#undef REMARK
};
/* clang-format on */

#define DAYS_TO_DELIVER 60

typedef struct writer {
    ts_arena *arena;
    char *text;
    size_t length, room;
    const char *name;
    ts_date date;
} writer;

static void put(writer *to, char c)
{
    to->text = ts_arena_grow(to->arena, to->text, to->length, &to->room, 1);
    to->text[to->length++] = c;
}

static void put_text(writer *to, const char *text)
{
    for (; *text != '\0'; text++) {
        put(to, *text);
    }
}

/* RFC 4180: quoted where it holds a separator or a quotation mark. */
static void put_cell(writer *to, const char *cell, char after)
{
    const bool quoted = strpbrk(cell, ",;\"\t\r\n") != NULL;

    if (!quoted) {
        put_text(to, cell);
    }
    for (const char *at = cell; quoted && *at != '\0'; at++) {
        if (at == cell) {
            put(to, '"');
        }
        if (*at == '"') {
            put(to, '"');
        }
        put(to, *at);
        if (at[1] == '\0') {
            put(to, '"');
        }
    }
    put(to, after);
}

static void put_remark(writer *to, const char *text)
{
    put_cell(to, ts_arena_format(to->arena, "# %s", text), ',');
    put_text(to, ",,,\n");
}

/* The name as a cell: one line, and no formula. */
static const char *name_cell(writer *to)
{
    const char *name = ts_text_show(to->arena, ts_text_trim(to->arena, to->name), 200);
    const char *sign = name + strspn(name, " '");

    return *sign != '\0' && strchr("=+-@", *sign) != NULL ? ts_arena_format(to->arena, "'%s", name)
                                                          : name;
}

static const char *value_of(writer *to, const start_row *row)
{
    char day[TS_DATE_TEXT];

    if (strcmp(row->value, "{name}") == 0) {
        return name_cell(to);
    }
    if (strcmp(row->value, "{date}") == 0) {
        return ts_arena_text(to->arena, ts_date_text(day, to->date));
    }
    if (strcmp(row->value, "{later}") == 0) {
        return ts_arena_text(to->arena, ts_date_text(day, ts_date_plus(to->date, DAYS_TO_DELIVER)));
    }
    return row->value;
}

/* Kind of a row's part; NONE for options. */
static ts_part_kind kind_of(writer *to, const start_row *row)
{
    const size_t length = strcspn(row->part, " ");

    return ts_part_find(ts_arena_copy(to->arena, row->part, length));
}

static const char *note_of(writer *to, const start_row *row)
{
    const ts_part_kind kind = kind_of(to, row);
    size_t count = 0;

    if (row->note[0] != '\0' || kind == TS_PART_NONE) {
        return row->note;
    }
    const int position = ts_field_find(kind, row->measure);
    return position < 0 ? ts_label_field()->says : ts_part_fields(kind, &count)[position].says;
}

/* "# It may also say: alloy, made, joints." for the rows from `first` to `last`. */
static void put_others(writer *to, const start_row *first, const start_row *last, int kind)
{
    size_t count = 0;
    const ts_part_kind part = kind_of(to, first);
    const ts_field *fields = ts_part_fields(part, &count);
    uint32_t given = 0;
    const char *list = "";

    for (const start_row *row = first; row <= last; row++) {
        const bool own = (row->kinds & kind) != 0 && row->part != NULL;
        const int position = own ? ts_field_find(part, row->measure) : -1;

        given |= position < 0 ? 0 : UINT32_C(1) << position;
    }
    for (size_t i = 0; i < count; i++) {
        if ((given >> i & 1) == 0) {
            list = ts_text_joined(to->arena, list, ", ", fields[i].word);
        }
    }
    if (*list != '\0') {
        put_remark(to, ts_arena_format(to->arena, "It may also say: %s.", list));
    }
}

static void put_row(writer *to, const start_row *row)
{
    put_cell(to, row->part, ',');
    put_cell(to, row->measure, ',');
    put_cell(to, value_of(to, row), ',');
    put_cell(to, row->unit, ',');
    put_cell(to, note_of(to, row), '\n');
}

/* The head of a part: a blank row and what it is. */
static void put_head(writer *to, const start_row *row)
{
    const ts_part_kind kind = kind_of(to, row);

    put_text(to, ",,,,\n");
    if (kind != TS_PART_NONE) {
        put_remark(to, ts_arena_format(to->arena, "%s: %s", row->part, ts_part_says(kind)));
    }
}

/* The next row with a part from `row` on, remarks passed over; `end` for none. */
static const start_row *next_row(const start_row *row, const start_row *end, int kind)
{
    while (row < end && ((row->kinds & kind) == 0 || row->part == NULL)) {
        row++;
    }
    return row;
}

static void put_rows(writer *to, int kind)
{
    const start_row *end = rows + TS_COUNT_OF(rows);
    const start_row *first = NULL; /* of the part at hand */

    for (const start_row *row = rows; row < end; row++) {
        const start_row *here = next_row(row, end, kind);

        if ((row->kinds & kind) == 0 || here == end) {
            continue;
        }
        if (first == NULL || strcmp(first->part, here->part) != 0) {
            put_head(to, here);
            first = here;
        }
        if (row->part == NULL) {
            put_remark(to, row->measure);
            continue;
        }
        put_row(to, row);
        const start_row *next = next_row(row + 1, end, kind);
        if ((next == end || strcmp(next->part, row->part) != 0) &&
            kind_of(to, row) != TS_PART_NONE) {
            put_others(to, first, row, kind);
        }
    }
}

const char *const *ts_starter_kinds(size_t *count)
{
    *count = TS_COUNT_OF(kinds);
    return kinds;
}

const char *ts_starter_sheet(ts_arena *arena, const char *kind, const char *name, ts_date date)
{
    writer to = {.arena = arena, .name = name, .date = date};
    char *folded = ts_text_fold(arena, kind);

    for (char *at = folded; (at = strchr(at, '-')) != NULL; at++) {
        *at = ' ';
    }
    for (size_t i = 0; i < TS_COUNT_OF(kinds); i++) {
        if (strcmp(folded, kinds[i]) == 0) {
            put_text(&to, "part,measure,value,unit,note\n");
            put_remark(&to, "A starter sheet: change what differs, take out what is not wanted. "
                            "One measurement a row, in any order.");
            put_remark(&to, "A row whose part begins with # is a remark. The column note is for "
                            "you: no paper shows it.");
            put_rows(&to, 1 << i);
            put(&to, '\0');
            return to.text;
        }
    }
    return NULL;
}
