#include "design/build.h"

#include "design/tables.h"
#include "design/variant.h"

#include <string.h>

/* Stations of the shank between top and base: rows such as `width 60`.
 *
 * They are no fields of the tables, for there can be as many as one likes; each is read as
 * the measure at the top is, under its own name, and put in order of its angle. */

typedef struct station_value {
    ts_dec length;
    int32_t profile;
} station_value;

static ts_station_row *station_at(ts_shank *shank, ts_dec angle)
{
    int at = 0;

    while (at < shank->station_count && shank->stations[at].angle.e6 < angle.e6) {
        at++;
    }
    if (at < shank->station_count && shank->stations[at].angle.e6 == angle.e6) {
        return &shank->stations[at];
    }
    if (shank->station_count == TS_MOST_STATIONS) {
        return NULL;
    }
    memmove(&shank->stations[at + 1], &shank->stations[at],
            (size_t)(shank->station_count - at) * sizeof shank->stations[0]);
    shank->station_count++;
    shank->stations[at] = (ts_station_row){.angle = angle};
    return &shank->stations[at];
}

/* The measure at the top, under the station's own name: "width 60". */
ts_field ts_station_field(ts_arena *arena, const ts_sheet_row *row)
{
    char angle[TS_DECIMAL_TEXT];
    ts_field field = *ts_field_of(row->what == TS_ROW_WIDTH       ? TS_FIELD_SHANK_WIDTH_TOP
                                  : row->what == TS_ROW_THICKNESS ? TS_FIELD_SHANK_THICKNESS_TOP
                                                                  : TS_FIELD_SHANK_PROFILE_TOP);
    const int word = (int)(strchr(field.word, ' ') - field.word);

    field.word =
        ts_arena_format(arena, "%.*s %s", word, field.word, ts_dec_text(angle, row->angle));
    field.offset = row->what == TS_ROW_PROFILE ? offsetof(station_value, profile)
                                               : offsetof(station_value, length);
    return field;
}

static void read_station(const ts_build *b, ts_shank *shank, const ts_sheet_row *row)
{
    station_value value = {.profile = TS_PROFILE_NONE};
    const ts_field field = ts_station_field(b->arena, row);

    if (row->doubtful || !ts_build_read(b, &value, &field, row, "shank")) {
        return;
    }
    ts_station_row *station = station_at(shank, row->angle);
    if (station == NULL) {
        const ts_place place = ts_sheet_place(b->sheet, b->arena, row->row, TS_COLUMN_MEASURE);

        ts_diag_add(b->diag, TS_FAULT_TOO_LARGE, &place,
                    "a shank has at most %d stations between top and base", TS_MOST_STATIONS);
        return;
    }
    if (row->what == TS_ROW_WIDTH) {
        station->width = value.length;
        station->has_width = true;
    } else if (row->what == TS_ROW_THICKNESS) {
        station->thickness = value.length;
        station->has_thickness = true;
    } else {
        station->profile = value.profile;
    }
    station->row = row;
}

static bool same_station(const ts_sheet_row *one, const ts_sheet_row *other)
{
    return one->what == other->what && one->angle.e6 == other->angle.e6;
}

static bool is_replaced(const ts_part_rows *over, const ts_sheet_row *row)
{
    for (size_t i = 0; over != NULL && i < over->station_count; i++) {
        if (same_station(over->stations[i], row)) {
            return true;
        }
    }
    return false;
}

void ts_build_stations(const ts_build *b, ts_shank *shank, const ts_overlay *rows)
{
    for (size_t i = 0; rows->own != NULL && i < rows->own->station_count; i++) {
        if (!is_replaced(rows->over, rows->own->stations[i])) {
            read_station(b, shank, rows->own->stations[i]);
        }
    }
    for (size_t i = 0; rows->over != NULL && i < rows->over->station_count; i++) {
        if (!rows->over->stations[i]->takes_out) {
            read_station(b, shank, rows->over->stations[i]);
        }
    }
}
