#include "quantities/counting.h"

#include <math.h>
#include <string.h>

#include "geometry/height.h"

/* Cautions on proportion and agreement: what the eye finds wrong before a gauge does, and
 * measurements of a stone that can hardly belong together. */

#define WEIGHT_APART_PCT 15.0

static ts_dec percent(ts_counting *c, double part, double whole)
{
    return ts_weigh_measure(c, whole > 0.0 ? 100.0 * part / whole : 0.0, "a proportion");
}

static void check_halo_size(ts_counting *c, int index)
{
    const ts_halo *halo = &c->design->halo[index];
    const ts_row_shape *shape = &c->geometry->halos[index];
    const ts_stone_shape *held = &c->geometry->stones[halo->stone_ref.index];
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "halo stone",
                      .what = "diameter of its stones, of the held stone's width,",
                      .part = &halo->part,
                      .title = ts_count_title(c, &halo->part),
                      .field = TS_FIELD_HALO_STONE_DIAMETER,
                      .measured = percent(c, shape->diameter_mm, held->width_mm),
                      .defers = TS_ASK_BENCH};

    ts_caution_check(c, &check);
}

static void check_shank_to_centre(ts_counting *c, int centre)
{
    if (c->design->shank_count == 0 || centre < 0) {
        return;
    }
    const ts_shank *shank = &c->design->shank[0];
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "shank width to centre",
                      .what = "width at the top, of the centre's width,",
                      .part = &shank->part,
                      .title = ts_count_title(c, &shank->part),
                      .field = TS_FIELD_SHANK_WIDTH_TOP,
                      .measured = percent(c, ts_dec_double(shank->width_top),
                                          c->geometry->stones[centre].width_mm),
                      .defers = TS_ASK_BENCH};

    ts_caution_check(c, &check);
}

static void check_side_length(ts_counting *c, int index, int centre)
{
    const ts_stone *stone = &c->design->stone[index];
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "side stone length",
                      .what = "length, of the centre's length,",
                      .part = &stone->part,
                      .title = ts_count_title(c, &stone->part),
                      .field = TS_FIELD_STONE_LENGTH,
                      .measured = percent(c, c->geometry->stones[index].length_mm,
                                          c->geometry->stones[centre].length_mm),
                      .defers = TS_ASK_BENCH};

    if (stone->beside_ref.kind != TS_PART_NONE && index != centre) {
        ts_caution_check(c, &check);
    }
}

/* Of the table over the finger; 0 where nothing holds the stone there. */
static double table_mm(const ts_stone_shape *shape)
{
    return shape->girdle_mm > 0.0 ? shape->girdle_mm + ts_stone_crown_mm(shape->depth_mm) : 0.0;
}

static void check_side_height(ts_counting *c, int index, int centre)
{
    const ts_stone *stone = &c->design->stone[index];
    double own_mm = table_mm(&c->geometry->stones[index]);
    double centre_mm = table_mm(&c->geometry->stones[centre]);

    if (stone->beside_ref.kind == TS_PART_NONE || index == centre || !(own_mm > 0.0) ||
        !(centre_mm > 0.0)) {
        return;
    }
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "side stone height",
                      .what = "height of its table over the finger, of the centre's,",
                      .part = &stone->part,
                      .title = ts_count_title(c, &stone->part),
                      .field = TS_FIELD_STONE_DROP,
                      .measured = percent(c, own_mm, centre_mm),
                      .defers = TS_ASK_BENCH};
    ts_caution_check(c, &check);
}

/* ---- colour ---- */

/* A colour grade as a number, D 0 to Z 22; -1 for words that are none. */
static int grade_of(const char *colour)
{
    if (colour == NULL) {
        return -1;
    }
    while (*colour == ' ') {
        colour++;
    }
    size_t length = strcspn(colour, " ");
    char letter = *colour;
    if (length != 1 || colour[length + strspn(colour + length, " ")] != '\0') {
        return -1;
    }
    if (letter >= 'a' && letter <= 'z') {
        letter = (char)(letter - 'a' + 'A');
    }
    return letter >= 'D' && letter <= 'Z' ? letter - 'D' : -1;
}

static bool is_diamond(const char *species)
{
    return species != NULL &&
           ts_text_same(species, ts_list_word(TS_LIST_SPECIES, TS_SPECIES_DIAMOND));
}

/* A stone's neighbour at the centre, in grades apart. */
static void check_colour(ts_counting *c, int centre, const ts_part *part, ts_field_id field,
                         const char *colour)
{
    int own = grade_of(colour);
    int of_centre = grade_of(c->design->stone[centre].colour);

    if (own < 0 || of_centre < 0) {
        return;
    }
    int apart = own > of_centre ? own - of_centre : of_centre - own;
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "colour",
                      .what = "colour apart from the centre's by",
                      .part = part,
                      .title = ts_count_title(c, part),
                      .field = field,
                      .measured = {(int64_t)apart * 1000000},
                      .defers = "The stones should be laid side by side before they are set."};
    ts_caution_check(c, &check);
}

static const ts_melee_row *lot_row(const ts_counting *c, const char *lot, const ts_row_shape *shape)
{
    ts_dec diameter;

    if (shape->size_count == 0 || !ts_dec_from_double(&diameter, shape->sizes[0].diameter_mm)) {
        return NULL;
    }
    return ts_book_melee(c->book, lot, diameter, c->on);
}

static void check_colours(ts_counting *c, int centre)
{
    const ts_design *d = c->design;

    if (centre < 0 || !is_diamond(d->stone[centre].species)) {
        return;
    }
    for (int i = 0; i < d->stone_count; i++) {
        if (i != centre && is_diamond(d->stone[i].species)) {
            check_colour(c, centre, &d->stone[i].part, TS_FIELD_STONE_COLOUR, d->stone[i].colour);
        }
    }
    for (int i = 0; i < d->halo_count; i++) {
        const ts_melee_row *row = lot_row(c, d->halo[i].lot, &c->geometry->halos[i]);
        if (row != NULL && is_diamond(row->species)) {
            check_colour(c, centre, &d->halo[i].part, TS_FIELD_HALO_LOT, row->colour);
        }
    }
    for (int i = 0; i < d->row_count; i++) {
        const ts_melee_row *row = lot_row(c, d->row[i].lot, &c->geometry->rows[i]);
        if (row != NULL && is_diamond(row->species)) {
            check_colour(c, centre, &d->row[i].part, TS_FIELD_ROW_LOT, row->colour);
        }
    }
}

/* ---- a stone's measurements among themselves ---- */

static void add_stone_caution(ts_counting *c, const ts_stone *stone, ts_caution *caution,
                              ts_field_id field)
{
    caution->who = TS_CAUTION_MAKING;
    caution->part = ts_count_title(c, &stone->part);
    caution->whence = ts_whence_of(c, &stone->part, field, caution->source);
    ts_caution_add(c, caution);
}

static void check_measurements(ts_counting *c, int index)
{
    const ts_stone *stone = &c->design->stone[index];
    const ts_stone_shape *shape = &c->geometry->stones[index];
    const char *title = ts_count_title(c, &stone->part);
    ts_caution caution = {.unit = "%", .source = "common practice"};

    if (!shape->is_plausible) {
        caution.limit = "stone depth";
        caution.measured = percent(c, shape->depth_mm, fmin(shape->width_mm, shape->length_mm));
        caution.sentence = ts_arena_format(
            c->arena,
            "%s: a depth of %s%% of its width is hardly that of one stone (common practice). Its "
            "measurements should be taken again by a qualified bench or gemmologist.",
            title, ts_count_text(c, caution.measured));
        add_stone_caution(c, stone, &caution, TS_FIELD_STONE_DEPTH);
    }
    if (!shape->weight_stated || shape->size_estimated || !(shape->estimate_carats > 0.0)) {
        return;
    }
    double apart_pct = 100.0 * (shape->carats / shape->estimate_carats - 1.0);
    if (fabs(apart_pct) <= WEIGHT_APART_PCT) {
        return;
    }
    caution.limit = "weight to measurements";
    caution.source = "99.9 % of 53,840 measured round diamonds lie within 10 %";
    caution.measured = ts_weigh_measure(c, apart_pct, "a difference");
    caution.has_least = caution.has_most = true;
    caution.least = ts_weigh_measure(c, -WEIGHT_APART_PCT, "a limit");
    caution.most = ts_weigh_measure(c, WEIGHT_APART_PCT, "a limit");
    ts_dec whole_pct = ts_weigh_measure(c, round(fabs(apart_pct)), "a difference");
    caution.sentence = ts_arena_format(
        c->arena,
        "%s: its stated weight lies %s%% %s what its measurements give, %s ct (%s). A "
        "gemmologist should weigh and measure it again.",
        title, ts_count_text(c, whole_pct), apart_pct > 0.0 ? "above" : "below",
        ts_count_text(
            c, ts_weigh_measure(c, round(1000.0 * shape->estimate_carats) / 1000.0, "a weight")),
        caution.source);
    add_stone_caution(c, stone, &caution, TS_FIELD_STONE_WEIGHT);
}

void ts_count_harmony(ts_counting *c)
{
    int centre = ts_count_centre(c);

    for (int i = 0; i < c->design->halo_count; i++) {
        check_halo_size(c, i);
    }
    check_shank_to_centre(c, centre);
    for (int i = 0; i < c->design->stone_count; i++) {
        check_side_length(c, i, centre);
        check_side_height(c, i, centre);
    }
    check_colours(c, centre);
    for (int i = 0; i < c->design->stone_count; i++) {
        check_measurements(c, i);
    }
}
