#include "randomsheet.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include <tallystone/design/design.h>

#include "design/tables.h"

/* A sheet is put together part by part, so that what one measure says of another (a corner only
 * where the shape has one, an end after a beginning) is right; the numbers are free. Those of
 * `usual` lie where rings have them. A sheet is calm, odd or wild: in an odd one every eighth
 * number is taken from the whole range of its field, in a wild one every second. */

typedef struct draw {
    ts_arena *arena;
    uint64_t state;
    char *text;
    size_t length, room;
    int wild_of_16;
} draw;

static const char *const alloys[] = {"750 yellow", "585 white palladium", "platinum 950",
                                     "silver 925", "916 rose"};
static const char *const lots[] = {"natural melee G-VS", "laboratory-grown melee E-VS"};
static const char *const names[] = {"a", "b", "c", "d"};

/* splitmix64, by its published constants (public domain) */
static uint64_t bits(draw *d)
{
    uint64_t z = d->state += UINT64_C(0x9e3779b97f4a7c15);

    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static double share(draw *d)
{
    return (double)(bits(d) >> 11) / 9007199254740992.0;
}

static int below(draw *d, int count)
{
    return (int)(bits(d) % (uint64_t)count);
}

static bool once_in(draw *d, int count)
{
    return below(d, count) == 0;
}

static void row(draw *d, const char *part, const char *measure, const char *value, const char *unit)
{
    const char *line = ts_arena_format(d->arena, "%s,%s,%s,%s,\n", part, measure, value, unit);

    for (const char *at = line; *at != '\0'; at++) {
        d->text = ts_arena_grow(d->arena, d->text, d->length, &d->room, 1);
        d->text[d->length++] = *at;
    }
}

/* A number between two, with up to three decimals: evenly where one is not above zero, else by
 * its logarithm, so that small and large ones come as often. */
static double number(draw *d, double low, double high)
{
    static const double grain[] = {1.0, 10.0, 100.0, 1000.0};
    double g = grain[below(d, 4)];
    double value = low > 0.0 ? low * pow(high / low, share(d)) : low + (high - low) * share(d);

    value = once_in(d, 40) ? (once_in(d, 2) ? low : high) : round(value * g) / g;
    return round(fmin(high, fmax(low, value)) * 1e3) / 1e3;
}

static double range_end(const char *text, double otherwise)
{
    ts_dec value;

    return ts_dec_read(&value, text, '.', NULL) == TS_NUMBER_OK ? ts_dec_double(value) : otherwise;
}

/* A number for a field, from the usual range or, in odd sheets, from the whole one. */
static double drawn(draw *d, ts_field_id field, double low, double high)
{
    const ts_field *f = ts_field_of(field);

    if (below(d, 16) < d->wild_of_16) {
        return number(d, range_end(f->least, 0.0), range_end(f->most, 1000.0));
    }
    return number(d, low, high);
}

static const char *plain(draw *d, double value)
{
    return ts_arena_format(d->arena, "%.3f", value);
}

static double measure(draw *d, const char *part, ts_field_id field, double low, double high)
{
    double value = drawn(d, field, low, high);

    row(d, part, ts_field_of(field)->word, plain(d, value), "");
    return value;
}

static int count(draw *d, const char *part, ts_field_id field, int low, int high)
{
    int value = (int)drawn(d, field, low, high + 0.999);

    row(d, part, ts_field_of(field)->word, ts_arena_format(d->arena, "%d", value), "");
    return value;
}

static int word(draw *d, const char *part, ts_field_id field)
{
    const ts_field *f = ts_field_of(field);
    size_t words = 0;
    const char *const *list = ts_list_words(f->list, &words);
    int value = 1 + below(d, (int)words - 1);

    row(d, part, f->word, list[value], "");
    return value;
}

static void name(draw *d, const char *part, ts_field_id field, const char *value)
{
    row(d, part, ts_field_of(field)->word, value, "");
}

static void metal_measures(draw *d, const char *part, ts_field_id alloy, ts_field_id made,
                           ts_field_id joints)
{
    if (once_in(d, 6)) {
        name(d, part, alloy, alloys[below(d, 5)]);
    }
    if (once_in(d, 6)) {
        word(d, part, made);
        count(d, part, joints, 0, 3);
    }
}

/* ---- parts ---- */

static void put_commission(draw *d)
{
    row(d, "commission", "reference", "RANDOM", "");
    row(d, "commission", "title", "a piece drawn at random", "");
    row(d, "commission", "client", "nobody", "");
    row(d, "commission", "currency", "USD", "");
    row(d, "commission", "date", "2026-11-25", "");
    row(d, "commission", "region", "state", "");
}

static void put_ring(draw *d)
{
    row(d, "ring", "size", plain(d, number(d, 8.0, once_in(d, 4) ? 40.0 : 22.0)), "mm diameter");
    row(d, "ring", "alloy", alloys[below(d, 5)], "");
    if (once_in(d, 3)) {
        measure(d, "ring", TS_FIELD_RING_HEIGHT_LIMIT, 4.0, 9.0);
        word(d, "ring", TS_FIELD_RING_WEAR);
    }
}

/* Returns the least thickness of all. */
static double put_stations(draw *d, double thinnest_mm)
{
    int angle = 10 + below(d, 50);

    for (; angle < 180; angle += 20 + below(d, 90)) {
        int what = 1 + below(d, 7);
        if ((what & 1) != 0) {
            row(d, "shank", ts_arena_format(d->arena, "width %d", angle),
                plain(d, drawn(d, TS_FIELD_SHANK_WIDTH_TOP, 1.5, 6.0)), "");
        }
        if ((what & 2) != 0) {
            double thick_mm = drawn(d, TS_FIELD_SHANK_THICKNESS_TOP, 1.2, 2.5);
            row(d, "shank", ts_arena_format(d->arena, "thickness %d", angle), plain(d, thick_mm),
                "");
            thinnest_mm = fmin(thinnest_mm, thick_mm);
        }
        if ((what & 4) != 0) {
            row(d, "shank", ts_arena_format(d->arena, "profile %d", angle),
                ts_list_word(TS_LIST_PROFILE, 1 + below(d, TS_PROFILE_COUNT - 1)), "");
        }
    }
    return thinnest_mm;
}

static void put_shank(draw *d)
{
    word(d, "shank", TS_FIELD_SHANK_PROFILE_TOP);
    word(d, "shank", TS_FIELD_SHANK_PROFILE_BASE);
    measure(d, "shank", TS_FIELD_SHANK_WIDTH_TOP, 1.6, 8.0);
    measure(d, "shank", TS_FIELD_SHANK_WIDTH_BASE, 1.6, 6.0);
    double thick_mm = measure(d, "shank", TS_FIELD_SHANK_THICKNESS_TOP, 1.2, 2.6);
    thick_mm = fmin(thick_mm, measure(d, "shank", TS_FIELD_SHANK_THICKNESS_BASE, 1.2, 2.2));
    if (once_in(d, 4)) {
        measure(d, "shank", TS_FIELD_SHANK_OPEN, 0.0, 60.0);
    }
    if (once_in(d, 4)) {
        thick_mm = put_stations(d, thick_mm);
    }
    if (once_in(d, 2)) {
        double wall_mm = drawn(d, TS_FIELD_SHANK_WALL, 0.0, 1.2);
        name(d, "shank", TS_FIELD_SHANK_WALL, plain(d, fmin(wall_mm, floor(thick_mm * 1e3) / 1e3)));
    }
    metal_measures(d, "shank", TS_FIELD_SHANK_ALLOY, TS_FIELD_SHANK_MADE, TS_FIELD_SHANK_JOINTS);
}

/* Length, width, depth or a weight, and the corner: what a shape asks for. */
static void put_size(draw *d, const char *part, int32_t shape)
{
    double width_mm = drawn(d, TS_FIELD_STONE_WIDTH, 2.5, 10.0);
    double length_mm = shape == TS_SHAPE_ROUND ? width_mm * (1.0 + 0.05 * share(d))
                                               : fmin(60.0, width_mm * number(d, 0.9, 2.0));

    if (shape == TS_SHAPE_ROUND && once_in(d, 8)) {
        measure(d, part, TS_FIELD_STONE_WEIGHT, 0.1, 3.0);
        return;
    }
    width_mm = fmin(width_mm, 57.0);
    length_mm = fmax(0.5, fmin(60.0, length_mm));
    name(d, part, TS_FIELD_STONE_LENGTH, plain(d, length_mm));
    name(d, part, TS_FIELD_STONE_WIDTH, plain(d, width_mm));
    if (once_in(d, 5)) {
        measure(d, part, TS_FIELD_STONE_WEIGHT, 0.1, 3.0);
    } else {
        name(d, part, TS_FIELD_STONE_DEPTH,
             plain(d, fmax(0.5, fmin(60.0, drawn(d, TS_FIELD_STONE_DEPTH, 0.45, 0.8) *
                                               (d->wild_of_16 > 0 ? 1.0 : width_mm)))));
    }
    if (ts_shape_corner((ts_shape)shape) != TS_CORNER_NONE) {
        measure(d, part, TS_FIELD_STONE_CORNER, 0.05 * width_mm, 0.3 * width_mm);
    }
}

static void put_stone(draw *d, const char *part, int index)
{
    int32_t shape = word(d, part, TS_FIELD_STONE_SHAPE);

    put_size(d, part, shape);
    word(d, part, TS_FIELD_STONE_ORIGIN);
    word(d, part, TS_FIELD_STONE_SETTING);
    if (once_in(d, 3)) {
        word(d, part, TS_FIELD_STONE_GIRDLE);
    }
    name(d, part, TS_FIELD_STONE_SPECIES,
         ts_list_word(TS_LIST_SPECIES, 1 + below(d, TS_SPECIES_COUNT - 1)));
    row(d, part, "price", plain(d, number(d, 1.0, 9000.0)), "each");
    if (index > 0 && once_in(d, 2)) {
        name(d, part, TS_FIELD_STONE_BESIDE, "a");
        measure(d, part, TS_FIELD_STONE_GAP, 0.0, 1.0);
        name(d, part, TS_FIELD_STONE_COUNT, once_in(d, 3) ? "1" : "2");
        if (ts_shape_has_tip((ts_shape)shape)) {
            word(d, part, TS_FIELD_STONE_TIP);
        }
        measure(d, part, TS_FIELD_STONE_DROP, 0.0, 1.5);
    } else if (once_in(d, 6)) {
        name(d, part, TS_FIELD_STONE_COUNT, ts_arena_format(d->arena, "%d", 1 + below(d, 6)));
    }
    if (once_in(d, 4)) {
        measure(d, part, TS_FIELD_STONE_TURN, -90.0, 90.0);
    }
}

static void put_head(draw *d, const char *part, const char *stone)
{
    name(d, part, TS_FIELD_HEAD_HOLDS, stone);
    int claws = count(d, part, TS_FIELD_HEAD_CLAWS, 2, 8);
    word(d, part, TS_FIELD_HEAD_CLAW_STYLE);
    measure(d, part, TS_FIELD_HEAD_CLAW_DIAMETER, 0.6, 1.4);
    measure(d, part, TS_FIELD_HEAD_TIP_DIAMETER, 0.5, 1.2);
    count(d, part, TS_FIELD_HEAD_RAILS, 0, 3);
    measure(d, part, TS_FIELD_HEAD_RAIL_DIAMETER, 0.6, 1.2);
    measure(d, part, TS_FIELD_HEAD_CULET_CLEARANCE, 0.0, 2.5);
    if (once_in(d, 2)) {
        measure(d, part, TS_FIELD_HEAD_INSET, 0.0, 1.0);
    }
    if (once_in(d, 3)) {
        word(d, part, TS_FIELD_HEAD_TIP_STYLE);
    }
    if (once_in(d, 2)) {
        measure(d, part, TS_FIELD_HEAD_FIRST_CLAW, -180.0, 180.0);
    }
    if (once_in(d, 6)) {
        name(d, part, TS_FIELD_HEAD_SHARED, ts_arena_format(d->arena, "%d", below(d, claws + 1)));
    }
    metal_measures(d, part, TS_FIELD_HEAD_ALLOY, TS_FIELD_HEAD_MADE, TS_FIELD_HEAD_JOINTS);
}

static void put_bezel(draw *d, const char *part, const char *stone)
{
    name(d, part, TS_FIELD_BEZEL_HOLDS, stone);
    measure(d, part, TS_FIELD_BEZEL_WALL, 0.3, 1.0);
    measure(d, part, TS_FIELD_BEZEL_HEIGHT, 1.0, 4.0);
    metal_measures(d, part, TS_FIELD_BEZEL_ALLOY, TS_FIELD_BEZEL_MADE, TS_FIELD_BEZEL_JOINTS);
}

/* Facing up, `gap` says where it lies; facing out, the first one up on the same stone or an
 * offset. */
static void put_halo_place(draw *d, const char *part, const char *up)
{
    bool out = once_in(d, 4);

    row(d, part, "faces", out ? "out" : "up", "");
    if (!out) {
        double gap_mm = measure(d, part, TS_FIELD_HALO_GAP, 0.05, 0.8);
        double drop_mm = drawn(d, TS_FIELD_HALO_DROP, 0.0, 1.0);
        name(d, part, TS_FIELD_HALO_DROP, plain(d, gap_mm < 0.0 ? fmax(0.1, drop_mm) : drop_mm));
        return;
    }
    if (up != NULL) {
        name(d, part, TS_FIELD_HALO_UNDER, up);
    } else {
        measure(d, part, TS_FIELD_HALO_OFFSET, 0.0, 2.0);
    }
    measure(d, part, TS_FIELD_HALO_DROP, 0.0, 3.0);
}

static void put_halo(draw *d, const char *part, const char *around, const char *up)
{
    name(d, part, TS_FIELD_HALO_AROUND, around);
    put_halo_place(d, part, up);
    if (once_in(d, 5)) {
        name(d, part, TS_FIELD_HALO_STONE_DIAMETER, "fit");
    } else {
        measure(d, part, TS_FIELD_HALO_STONE_DIAMETER, 0.8, 2.2);
    }
    measure(d, part, TS_FIELD_HALO_SPACING, 0.05, 0.3);
    name(d, part, TS_FIELD_HALO_LOT, lots[below(d, 2)]);
    word(d, part, TS_FIELD_HALO_SETTING);
    measure(d, part, TS_FIELD_HALO_THICKNESS, 0.8, 1.8);
    measure(d, part, TS_FIELD_HALO_RIM, 0.1, 0.5);
    if (once_in(d, 3)) {
        measure(d, part, TS_FIELD_HALO_INNER_RIM, 0.1, 0.5);
    }
    if (once_in(d, 4)) {
        count(d, part, TS_FIELD_HALO_MULTIPLE, 1, 8);
    }
    if (once_in(d, 4)) {
        word(d, part, TS_FIELD_HALO_POINT);
    }
    metal_measures(d, part, TS_FIELD_HALO_ALLOY, TS_FIELD_HALO_MADE, TS_FIELD_HALO_JOINTS);
}

static void put_row(draw *d, const char *part)
{
    double from_deg = drawn(d, TS_FIELD_ROW_FROM, 0.0, 60.0);
    double d_mm;

    from_deg = fmin(from_deg, 179.0);
    name(d, part, TS_FIELD_ROW_FROM, plain(d, from_deg));
    if (once_in(d, 2)) {
        name(d, part, TS_FIELD_ROW_TO, plain(d, from_deg + 0.5 + (179.5 - from_deg) * share(d)));
    } else {
        count(d, part, TS_FIELD_ROW_COUNT, 1, 12);
    }
    d_mm = measure(d, part, TS_FIELD_ROW_STONE_DIAMETER, 0.8, 2.2);
    measure(d, part, TS_FIELD_ROW_SPACING, 0.05, 0.3);
    name(d, part, TS_FIELD_ROW_LOT, lots[below(d, 2)]);
    word(d, part, TS_FIELD_ROW_SETTING);
    row(d, part, "faces", once_in(d, 4) ? "side" : "out", "");
    if (once_in(d, 3)) {
        name(d, part, TS_FIELD_ROW_SHOULDERS, once_in(d, 2) ? "1" : "2");
        count(d, part, TS_FIELD_ROW_LINES, 1, 3);
    }
    if (d_mm > 0.6 && once_in(d, 4)) {
        name(d, part, TS_FIELD_ROW_END_DIAMETER, plain(d, 0.5 + (d_mm - 0.502) * share(d)));
    }
}

static void put_metal(draw *d)
{
    if (once_in(d, 2)) {
        measure(d, "metal extra", TS_FIELD_METAL_VOLUME, 1.0, 200.0);
    } else {
        measure(d, "metal extra", TS_FIELD_METAL_WEIGHT, 0.1, 5.0);
    }
    name(d, "metal extra", TS_FIELD_METAL_COUNT, ts_arena_format(d->arena, "%d", 1 + below(d, 4)));
    if (once_in(d, 3)) {
        row(d, "metal extra", "price", plain(d, number(d, 1.0, 90.0)), "each");
    }
    metal_measures(d, "metal extra", TS_FIELD_METAL_ALLOY, TS_FIELD_METAL_MADE,
                   TS_FIELD_METAL_JOINTS);
}

/* ---- the whole ---- */

/* A stone with what holds it and goes round it. */
static void put_held(draw *d, int index)
{
    const char *stone = names[index];
    const char *part = ts_arena_format(d->arena, "stone %s", stone);
    const char *around = stone, *up = NULL;

    put_stone(d, part, index);
    if (once_in(d, 3)) {
        put_bezel(d, ts_arena_format(d->arena, "bezel %s", stone), stone);
    } else {
        put_head(d, ts_arena_format(d->arena, "head %s", stone), stone);
    }
    for (int i = 0; i < 3 && once_in(d, 2); i++) {
        const char *title = ts_arena_format(d->arena, "halo %s%d", stone, i);
        size_t before = d->length;
        put_halo(d, title, around, up);
        d->text = ts_arena_grow(d->arena, d->text, d->length, &d->room, 1);
        d->text[d->length] = '\0';
        if (strstr(d->text + before, "faces,up") == NULL) {
            break;
        }
        around = up = title;
    }
}

const char *random_sheet(ts_arena *arena, uint64_t seed)
{
    static const int wild[] = {0, 0, 2, 8};
    draw d = {.arena = arena, .state = seed};

    d.wild_of_16 = wild[below(&d, 4)];
    row(&d, "part", "measure", "value", "unit,note");
    d.length--; /* the header has no comma after its last word */
    d.text[d.length - 1] = '\n';
    put_commission(&d);
    put_ring(&d);
    put_shank(&d);
    for (int i = 0, stones = below(&d, 4); i < stones; i++) {
        put_held(&d, i);
    }
    for (int i = 0; i < 2 && once_in(&d, 3); i++) {
        put_row(&d, ts_arena_format(arena, "row %s", names[i]));
    }
    if (once_in(&d, 4)) {
        put_metal(&d);
    }
    if (once_in(&d, 4)) {
        row(&d, "work w", "operation", "hand finishing", "");
        measure(&d, "work w", TS_FIELD_WORK_MINUTES, 1.0, 90.0);
    }
    d.text = ts_arena_grow(arena, d.text, d.length, &d.room, 1);
    d.text[d.length] = '\0';
    return d.text;
}
