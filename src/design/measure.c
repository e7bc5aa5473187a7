#include "design/sheet.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* The word of a measure: one of the part's own, `label`, or a station of the shank.
 *
 * Most slips in a sheet are made here, so an unknown word is answered with what the part
 * does have, with the part that has such a measure, and with the nearest word. */

#define MOST_LISTED 12
#define HALF_TURN INT64_C(180000000)

/* clang-format off */
static const struct { const char *word; ts_row_what what; } stations[] = {
    {"width", TS_ROW_WIDTH}, {"thickness", TS_ROW_THICKNESS}, {"profile", TS_ROW_PROFILE},
};
/* clang-format on */

static ts_place place_of(const ts_sheet_reader *in)
{
    return ts_sheet_place(in->sheet, in->arena, in->row, TS_COLUMN_MEASURE);
}

/* True for text that begins as a number does. */
static bool looks_like_number(const char *text)
{
    return (*text >= '0' && *text <= '9') || strchr("+-.,", *text) != NULL;
}

static bool read_angle(const ts_sheet_reader *in, ts_dec *out, const char *text)
{
    const ts_place place = place_of(in);

    if (ts_dec_read(out, text, in->sheet->csv.point, NULL) != TS_NUMBER_OK) {
        ts_diag_add(in->diag, TS_FAULT_NUMBER, &place,
                    "\"%s\" is no angle of a station; plain degrees from the top are expected, "
                    "such as width 60",
                    ts_sheet_shown(in->arena, text));
        return false;
    }
    if (out->e6 <= 0 || out->e6 >= HALF_TURN) {
        ts_diag_add(in->diag, TS_FAULT_RANGE, &place,
                    "a station at %s deg is out of range; it lies between the top, 0, and the "
                    "base, 180",
                    ts_sheet_shown(in->arena, text));
        return false;
    }
    return true;
}

typedef enum answer { ANSWER_NO, ANSWER_YES, ANSWER_FAULT } answer;

static answer read_station(const ts_sheet_reader *in, ts_sheet_row *out, const char *text)
{
    for (size_t i = 0; i < TS_COUNT_OF(stations); i++) {
        const char *rest = ts_text_after_word(text, stations[i].word);

        if (rest != NULL && looks_like_number(rest)) {
            const bool well = read_angle(in, &out->angle, rest);

            out->what = well ? stations[i].what : TS_ROW_NONE;
            return well ? ANSWER_YES : ANSWER_FAULT;
        }
    }
    return ANSWER_NO;
}

/* "a bezel has holds, wall, height ... and label" where the list is short. */
static const char *list_measures(const ts_sheet_reader *in, ts_part_kind kind)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(kind, &count);
    const char *list = "";

    if (count > MOST_LISTED) {
        return "";
    }
    for (size_t i = 0; i < count; i++) {
        list = ts_text_joined(in->arena, list, ", ", fields[i].word);
    }
    return ts_arena_format(in->arena, "; it has %s%s and label", list,
                           kind == TS_PART_SHANK ? ", width 60 and the like" : "");
}

/* "; a head and a bezel have it" */
static const char *list_owners(const ts_sheet_reader *in, const char *word)
{
    const char *owners = "";
    int count = 0;

    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        if (ts_field_find((ts_part_kind)kind, word) >= 0) {
            owners = ts_arena_format(in->arena, "%s%sa %s", owners, count == 0 ? "" : ", ",
                                     ts_part_word((ts_part_kind)kind));
            count++;
        }
    }
    return count == 0 ? "" : ts_arena_format(in->arena, "; it is one of %s", owners);
}

static void add_unknown(const ts_sheet_reader *in, ts_sheet_row *out, ts_part_kind kind,
                        const char *word)
{
    const ts_place place = place_of(in);
    const char *words[TS_PART_FIELDS + 1];
    size_t count = 0;
    const ts_field *fields = ts_part_fields(kind, &count);

    for (size_t i = 0; i < count; i++) {
        words[i] = fields[i].word;
    }
    words[count] = "label";
    ts_diag_add(in->diag, TS_FAULT_MEASURE_UNKNOWN, &place, "\"%s\" is no measure of a %s%s%s",
                ts_sheet_shown(in->arena, word), ts_part_word(kind), list_owners(in, word),
                list_measures(in, kind));
    const int nearest = ts_nearest(word, words, count + 1);
    if (nearest < 0) {
        return;
    }
    ts_diag_hint(in->diag, "did you mean \"%s\"?", words[nearest]);
    out->what = (size_t)nearest == count ? TS_ROW_LABEL : TS_ROW_MEASURE;
    out->position = (size_t)nearest == count ? 0 : nearest;
}

bool ts_measure_read(ts_sheet_reader *in, ts_sheet_row *out, ts_part_named part, const char *text)
{
    const char *word = ts_claw_words(in->arena, text);
    const int position = ts_field_find(part.kind, word);

    out->what = TS_ROW_NONE;
    if (position >= 0) {
        out->what = TS_ROW_MEASURE;
        out->position = position;
        return true;
    }
    if (strcmp(word, ts_label_field()->word) == 0) {
        out->what = TS_ROW_LABEL;
        return true;
    }
    const answer station = part.kind == TS_PART_SHANK ? read_station(in, out, word) : ANSWER_NO;
    if (station != ANSWER_NO) {
        return station == ANSWER_YES;
    }
    if (part.guessed) {
        return false; /* the part's own fault has been said */
    }
    add_unknown(in, out, part.kind, word);
    return false;
}
