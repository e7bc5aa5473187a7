#include "design/sheet.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* The rows of a sheet by part: what a part cell names, and where its rows are kept.
 *
 * A part is what has the same kind and name, wherever its rows stand. One measure of one
 * part has one place in a layer, so a second row for it is found when it is put there. */

/* ---- parts ---- */

static void add_kind_fault(ts_sheet_reader *in, const char *word, ts_column column, bool in_option,
                           ts_part_named *out)
{
    size_t count = 0;
    const char *const *words = ts_part_words(&count);
    const char *known[TS_PART_COUNT + 1];
    const ts_place place = ts_sheet_place(in->sheet, in->arena, in->row, column);

    memcpy(known, words, count * sizeof *words);
    known[count] = in_option ? NULL : "option";
    ts_diag_add(in->diag, in_option ? TS_FAULT_OPTION_ROW : TS_FAULT_PART_UNKNOWN, &place,
                "\"%s\" is no kind of part; %s", ts_sheet_shown(in->arena, word),
                in_option ? "an option names what it replaces as PART/MEASURE, such as ring/alloy"
                          : "a kind and a name are expected, such as ring or stone centre");
    const int nearest = ts_nearest(word, known, count + 1);
    if (nearest < 0) {
        return;
    }
    ts_diag_hint(in->diag, "did you mean \"%s\"?", known[nearest]);
    out->kind = (size_t)nearest < count ? (ts_part_kind)nearest : TS_PART_NONE;
}

/* Stones and halos are referred to by name: `halo NAME` must mean the halo. */
static bool name_is_clear(ts_part_kind kind, const char *name)
{
    if (kind != TS_PART_STONE) {
        return true;
    }
    return !ts_text_same(name, "halo") && !ts_text_same(name, "stone") &&
           ts_text_after_word(name, "halo") == NULL && ts_text_after_word(name, "stone") == NULL;
}

static void judge_name(ts_sheet_reader *in, ts_part_named *part, ts_column column)
{
    const char *name = ts_sheet_shown(in->arena, part->name);
    const char *word = ts_part_word(part->kind);
    const char *wrong = NULL;

    if (*part->name == '\0') {
        return;
    }
    if (!ts_part_many(part->kind)) {
        wrong = ts_arena_format(in->arena, "there is one %s and it takes no name; `%s` is expected",
                                word, word);
        part->name = "";
    } else if (strchr(part->name, '/') != NULL) {
        wrong =
            ts_arena_format(in->arena, "the name \"%s\" holds a /, which parts PART/MEASURE", name);
    } else if (!name_is_clear(part->kind, part->name)) {
        wrong = ts_arena_format(in->arena,
                                "a stone can't be called \"%s\": a name that begins with stone "
                                "or halo would mean another part",
                                name);
    }
    if (wrong != NULL) {
        const ts_place place = ts_sheet_place(in->sheet, in->arena, in->row, column);

        ts_diag_add(in->diag, TS_FAULT_PART_NAME, &place, "%s", wrong);
        part->doubtful = true;
    }
}

ts_part_named ts_part_named_read(ts_sheet_reader *in, const char *text, ts_column column,
                                 bool in_option)
{
    ts_part_named out = {.kind = TS_PART_NONE, .name = ""};
    const char *folded = ts_text_fold(in->arena, text);
    const char *blank = strchr(folded, ' ');
    const size_t length = blank == NULL ? strlen(folded) : (size_t)(blank - folded);
    const char *word = ts_arena_copy(in->arena, folded, length);

    out.kind = ts_part_find(word);
    out.name = blank == NULL ? "" : blank + 1;
    if (out.kind == TS_PART_NONE) {
        out.doubtful = true;
        out.guessed = true;
        add_kind_fault(in, word, column, in_option, &out);
        if (!ts_part_many(out.kind)) {
            out.name = "";
        }
        return out;
    }
    judge_name(in, &out, column);
    return out;
}

int ts_sheet_part_find(const ts_sheet *sheet, ts_part_kind kind, const char *name)
{
    for (size_t i = 0; i < sheet->part_count; i++) {
        if (sheet->parts[i].kind == kind && strcmp(sheet->parts[i].name, name) == 0) {
            return (int)i;
        }
    }
    return -1;
}

/* The part's number, a new one where it is met first; -1 beyond the limit. */
static int part_number(ts_sheet_reader *in, ts_part_named part)
{
    ts_sheet *sheet = in->sheet;
    const int found = ts_sheet_part_find(sheet, part.kind, part.name);

    if (found >= 0) {
        return found;
    }
    if (sheet->part_count == TS_MOST_PARTS) {
        const ts_place place = ts_sheet_place(sheet, in->arena, in->row, TS_COLUMN_PART);

        if (!in->parts_full) {
            ts_diag_add(in->diag, TS_FAULT_TOO_LARGE, &place, "a sheet has at most %d parts",
                        TS_MOST_PARTS);
        }
        in->parts_full = true;
        return -1;
    }
    sheet->parts = ts_arena_grow(in->arena, sheet->parts, sheet->part_count, &sheet->part_room,
                                 sizeof *sheet->parts);
    sheet->parts[sheet->part_count] = (ts_sheet_part){part.kind, part.name};
    return (int)sheet->part_count++;
}

/* ---- keeping ---- */

static bool is_station(const ts_sheet_row *row)
{
    return row->what == TS_ROW_WIDTH || row->what == TS_ROW_THICKNESS ||
           row->what == TS_ROW_PROFILE;
}

/* Where a station's row stands or may be put; NULL where there are too many. */
static const ts_sheet_row **station_slot(ts_sheet_reader *in, ts_part_rows *rows,
                                         const ts_sheet_row *row)
{
    for (size_t i = 0; i < rows->station_count; i++) {
        if (rows->stations[i]->what == row->what && rows->stations[i]->angle.e6 == row->angle.e6) {
            return &rows->stations[i];
        }
    }
    if (rows->station_count == 3 * (size_t)TS_MOST_STATIONS) {
        const ts_place place = ts_sheet_place(in->sheet, in->arena, in->row, TS_COLUMN_MEASURE);

        ts_diag_add(in->diag, TS_FAULT_TOO_LARGE, &place,
                    "a shank has at most %d stations between top and base", TS_MOST_STATIONS);
        return NULL;
    }
    rows->stations = ts_arena_grow(in->arena, rows->stations, rows->station_count,
                                   &rows->station_room, sizeof(const ts_sheet_row *));
    rows->stations[rows->station_count] = NULL;
    return &rows->stations[rows->station_count++];
}

static const ts_sheet_row **slot_of(ts_sheet_reader *in, ts_part_rows *rows,
                                    const ts_sheet_row *row)
{
    if (is_station(row)) {
        return station_slot(in, rows, row);
    }
    switch (row->what) {
    case TS_ROW_MEASURE:
        return &rows->measures[row->position];
    case TS_ROW_LABEL:
        return &rows->label;
    case TS_ROW_DROP:
        return &rows->drop;
    case TS_ROW_NONE:
    case TS_ROW_WIDTH:
    case TS_ROW_THICKNESS:
    case TS_ROW_PROFILE:
        break;
    }
    return NULL;
}

void ts_sheet_keep(ts_sheet_reader *in, ts_part_named part, ts_sheet_row row)
{
    const int number = part_number(in, part);

    if (number < 0) {
        return;
    }
    ts_part_rows **at = &in->sheet->layers[row.layer].parts[number];
    if (*at == NULL) {
        *at = TS_NEW(in->arena, ts_part_rows);
    }
    ts_part_rows *rows = *at;
    ts_sheet_row *kept = TS_NEW(in->arena, ts_sheet_row);
    *kept = row;
    if (rows->first == NULL || (!rows->sound && !row.doubtful)) {
        rows->first = kept;
    }
    rows->sound = rows->sound || !row.doubtful;
    const ts_sheet_row **slot = slot_of(in, rows, &row);
    if (slot == NULL || (*slot != NULL && row.doubtful)) {
        return;
    }
    if (*slot == NULL || (*slot)->doubtful) {
        *slot = kept;
        return;
    }
    const ts_place place = ts_sheet_place(in->sheet, in->arena, row.row, TS_COLUMN_MEASURE);
    ts_diag_add(in->diag, TS_FAULT_MEASURE_TWICE, &place,
                "\"%s\" of %s stands in row %d already; keep one of the two rows",
                ts_sheet_shown(in->arena, ts_sheet_cell(in->sheet, row.row, TS_COLUMN_MEASURE)),
                row.layer == 0 ? ts_title_shown(in->arena, part.kind, part.name) : "this option",
                (*slot)->row->row);
}
