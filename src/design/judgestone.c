#include "design/build.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* Rules across the measures of a stone: what describes it, what it costs, where it stands,
 * and that the lot it is taken from is of such stones. */

static bool has(const ts_part *part, ts_field_id field)
{
    return ts_part_has(part, field);
}

static bool sound(const ts_part *part, ts_field_id field)
{
    return ts_build_sound(part, field);
}

/* ---- measurements ---- */

/* Length (and width) with depth or weight; a round by weight alone. */
static void judge_measurements(const ts_build *b, const ts_stone *stone)
{
    const ts_part *part = &stone->part;
    const bool round = stone->shape == TS_SHAPE_ROUND;
    const bool weighed = has(part, TS_FIELD_STONE_WEIGHT);
    const bool measured = has(part, TS_FIELD_STONE_LENGTH) || has(part, TS_FIELD_STONE_WIDTH) ||
                          has(part, TS_FIELD_STONE_DEPTH);

    if (!sound(part, TS_FIELD_STONE_SHAPE) || (round && weighed && !measured)) {
        return;
    }
    if (round && !measured) {
        ts_build_missing(b, part, TS_FIELD_STONE_LENGTH,
                         ": a round needs a length and a depth, or a weight");
        return;
    }
    ts_build_missing(b, part, TS_FIELD_STONE_LENGTH, "");
    if (!round) {
        ts_build_missing(b, part, TS_FIELD_STONE_WIDTH, "");
    }
    if (!weighed && sound(part, TS_FIELD_STONE_WEIGHT)) {
        ts_build_missing(b, part, TS_FIELD_STONE_DEPTH, ", and so is a weight that would give it");
    }
}

/* As geometry has it: neither measure more than 1.1 of the other. */
static void judge_round(const ts_build *b, const ts_stone *stone)
{
    const ts_part *part = &stone->part;
    const int64_t length = stone->length.e6;
    const int64_t width = stone->width.e6;
    char long_text[TS_DECIMAL_TEXT];
    char wide_text[TS_DECIMAL_TEXT];

    if (stone->shape != TS_SHAPE_ROUND || !ts_build_has(part, TS_FIELD_STONE_LENGTH) ||
        !ts_build_has(part, TS_FIELD_STONE_WIDTH)) {
        return;
    }
    if (10 * length > 11 * width || 10 * width > 11 * length) {
        ts_build_fault(
            b, TS_FAULT_MEASURE_CLASH, part,
            ts_build_later(part, TS_FIELD_STONE_LENGTH, TS_FIELD_STONE_WIDTH),
            "%s: %s and %s mm are more than 10 %% apart, so it is no round stone; an oval has two "
            "such measurements",
            ts_build_title(b, part), ts_dec_text(long_text, stone->length),
            ts_dec_text(wide_text, stone->width));
    }
}

static void judge_shape(const ts_build *b, const ts_stone *stone)
{
    const ts_part *part = &stone->part;

    if (!sound(part, TS_FIELD_STONE_SHAPE)) {
        return;
    }
    const char *shape = ts_list_word(TS_LIST_SHAPE, stone->shape);
    const ts_corner corner = ts_shape_corner((ts_shape)stone->shape);
    if (corner != TS_CORNER_NONE) {
        ts_build_missing(b, part, TS_FIELD_STONE_CORNER,
                         corner == TS_CORNER_RADIUS
                             ? ": the radius of its corners"
                             : ": the leg that is cut from each side at 45 deg");
    } else if (ts_build_has(part, TS_FIELD_STONE_CORNER)) {
        ts_build_fault(
            b, TS_FAULT_MEASURE_CLASH, part,
            ts_build_later(part, TS_FIELD_STONE_SHAPE, TS_FIELD_STONE_CORNER),
            "%s: its shape, %s, takes no corner; cushion, emerald, asscher and radiant do",
            ts_build_title(b, part), shape);
    }
    if (ts_build_has(part, TS_FIELD_STONE_TIP) && !ts_shape_has_tip((ts_shape)stone->shape)) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                       ts_build_later(part, TS_FIELD_STONE_SHAPE, TS_FIELD_STONE_TIP),
                       "%s: its shape, %s, has no tip that could point anywhere; pear, marquise, "
                       "heart and trillion have",
                       ts_build_title(b, part), shape);
    }
}

/* Without a known species only a weighing tells the weight. */
static void judge_species(const ts_build *b, const ts_stone *stone)
{
    const ts_part *part = &stone->part;
    size_t count = 0;
    const char *const *words = ts_list_words(TS_LIST_SPECIES, &count);

    if (!ts_build_has(part, TS_FIELD_STONE_SPECIES) || has(part, TS_FIELD_STONE_WEIGHT) ||
        !sound(part, TS_FIELD_STONE_WEIGHT) || ts_list_find(TS_LIST_SPECIES, stone->species) != 0) {
        return;
    }
    ts_build_fault(b, TS_FAULT_NAME_UNKNOWN, part, TS_FIELD_STONE_SPECIES,
                   "%s: the specific gravity of \"%s\" is not known, so its weight can't be "
                   "estimated; a known species, or its `weight`, is expected",
                   ts_build_title(b, part), ts_sheet_shown(b->arena, stone->species));
    const int nearest = ts_nearest(stone->species, words, count);
    if (nearest >= 0) {
        ts_diag_hint(b->diag, "did you mean \"%s\"?", words[nearest]);
    }
}

/* ---- what it costs ---- */

/* The two of price, lot and client's stone that contradict each other, if any. */
static void judge_sources(const ts_build *b, const ts_stone *stone)
{
    static const ts_field_id sources[] = {TS_FIELD_STONE_PRICE, TS_FIELD_STONE_LOT,
                                          TS_FIELD_STONE_SUPPLIED_BY};
    const ts_part *part = &stone->part;
    const bool client = stone->supplied_by == TS_SUPPLIER_CLIENT;
    ts_field_id said = TS_FIELD_COUNT;

    if (!sound(part, TS_FIELD_STONE_SUPPLIED_BY)) {
        return;
    }
    for (size_t i = 0; i < TS_COUNT_OF(sources); i++) {
        if (!has(part, sources[i]) || (sources[i] == TS_FIELD_STONE_SUPPLIED_BY && !client)) {
            continue;
        }
        if (said == TS_FIELD_COUNT) {
            said = sources[i];
            continue;
        }
        if (!sound(part, said) || !sound(part, sources[i])) {
            return;
        }
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, ts_build_later(part, said, sources[i]),
                       "%s: `%s` and `%s` exclude each other; a stone has a `price`, or a `lot`, "
                       "or is `supplied by` client",
                       ts_build_title(b, part), ts_field_of(said)->word,
                       ts_field_of(sources[i])->word);
        return;
    }
    if (said == TS_FIELD_COUNT) {
        ts_build_missing(b, part, TS_FIELD_STONE_PRICE,
                         ", and so are a `lot` and `supplied by` client, one of which would serve");
    }
}

static void judge_client(const ts_build *b, const ts_stone *stone)
{
    static const ts_field_id clients[] = {TS_FIELD_STONE_DECLARED, TS_FIELD_STONE_OUT_OF};
    const ts_part *part = &stone->part;

    if (!sound(part, TS_FIELD_STONE_SUPPLIED_BY) || stone->supplied_by == TS_SUPPLIER_CLIENT) {
        return;
    }
    for (size_t i = 0; i < TS_COUNT_OF(clients); i++) {
        if (ts_build_has(part, clients[i])) {
            ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                           ts_build_later(part, clients[i], TS_FIELD_STONE_SUPPLIED_BY),
                           "%s: `%s` is said of a client's stone; `supplied by` client is expected "
                           "beside it",
                           ts_build_title(b, part), ts_field_of(clients[i])->word);
        }
    }
}

static void judge_price(const ts_build *b, ts_stone *stone)
{
    const ts_part *part = &stone->part;

    if (ts_build_has(part, TS_FIELD_STONE_PRICE) && stone->price.of != TS_AMOUNT_EACH &&
        stone->price.of != TS_AMOUNT_PER_CT) {
        ts_amount_refuse(b, part, TS_FIELD_STONE_PRICE, &stone->price,
                         "each or per ct, with or without a currency (EUR each)");
    }
    ts_amount_settle(b, &stone->price);
    if (ts_build_has(part, TS_FIELD_STONE_DECLARED)) {
        if (stone->declared.of > TS_AMOUNT_EACH) {
            ts_amount_refuse(b, part, TS_FIELD_STONE_DECLARED, &stone->declared,
                             "a currency code, or each");
        }
        ts_amount_settle(b, &stone->declared);
    }
}

/* ---- its place ---- */

static void judge_place(const ts_build *b, const ts_stone *stone)
{
    static const ts_field_id besides[] = {TS_FIELD_STONE_GAP, TS_FIELD_STONE_TIP};
    const ts_part *part = &stone->part;

    if (has(part, TS_FIELD_STONE_BESIDE)) {
        ts_build_missing(b, part, TS_FIELD_STONE_GAP, ": it stands beside another");
        if (sound(part, TS_FIELD_STONE_COUNT) && stone->count > 2) {
            ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                           ts_build_later(part, TS_FIELD_STONE_BESIDE, TS_FIELD_STONE_COUNT),
                           "%s: %ld of it can't stand beside one stone; one, or two as a mirrored "
                           "pair, are expected",
                           ts_build_title(b, part), (long)stone->count);
        }
        return;
    }
    for (size_t i = 0; i < TS_COUNT_OF(besides); i++) {
        if (ts_build_has(part, besides[i]) && sound(part, TS_FIELD_STONE_BESIDE)) {
            ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, besides[i],
                           "%s: `%s` is counted from what it stands `beside`, which is not said",
                           ts_build_title(b, part), ts_field_of(besides[i])->word);
        }
    }
}

/* ---- its lot ---- */

/* What a lot holds; `fits` where some row in force is of such stones. */
typedef struct lot_says {
    bool known;
    bool fits;
    int32_t shape, origin;
    const char *species;
} lot_says;

static void compare(lot_says *lot, const ts_stone *stone, int32_t shape, int32_t origin,
                    const char *species)
{
    if (!lot->known) {
        *lot = (lot_says){true, false, shape, origin, species};
    }
    lot->fits = lot->fits || (shape == stone->shape && origin == stone->origin &&
                              strcmp(species, stone->species) == 0);
}

static lot_says lot_of(const ts_build *b, const ts_stone *stone)
{
    const ts_date on = b->design->as_of;
    lot_says lot = {.known = false};

    for (size_t i = 0; i < b->book->offers.count; i++) {
        const ts_offer_row *row = &b->book->offers.at[i];

        if (strcmp(row->lot, stone->lot) == 0 && ts_book_in_force(&row->head, on)) {
            compare(&lot, stone, row->shape, row->origin, row->species);
        }
    }
    for (size_t i = 0; !lot.known && i < b->book->melee.count; i++) {
        const ts_melee_row *row = &b->book->melee.at[i];

        if (strcmp(row->lot, stone->lot) == 0 && ts_book_in_force(&row->head, on)) {
            compare(&lot, stone, row->shape, row->origin, row->species);
        }
    }
    return lot;
}

/* A natural stone out of a laboratory-grown lot would be a false promise to the client. */
static void judge_lot(const ts_build *b, const ts_stone *stone)
{
    const ts_part *part = &stone->part;

    if (b->book == NULL || !ts_build_has(part, TS_FIELD_STONE_LOT) ||
        !ts_build_has(part, TS_FIELD_STONE_SHAPE) || !ts_build_has(part, TS_FIELD_STONE_ORIGIN) ||
        !ts_build_has(part, TS_FIELD_STONE_SPECIES) || !ts_date_given(b->design->as_of)) {
        return;
    }
    const lot_says lot = lot_of(b, stone);
    if (!lot.known || lot.fits) {
        return;
    }
    ts_build_fault(
        b, TS_FAULT_MEASURE_CLASH, part, TS_FIELD_STONE_LOT,
        "%s: the lot \"%s\" holds %s %s %s; the sheet says %s %s %s", ts_build_title(b, part),
        ts_sheet_shown(b->arena, stone->lot), ts_list_word(TS_LIST_ORIGIN, lot.origin),
        ts_list_word(TS_LIST_SHAPE, lot.shape), ts_sheet_shown(b->arena, lot.species),
        ts_list_word(TS_LIST_ORIGIN, stone->origin), ts_list_word(TS_LIST_SHAPE, stone->shape),
        ts_sheet_shown(b->arena, stone->species));
}

void ts_judge_stones(ts_build *b)
{
    for (int i = 0; i < b->design->stone_count; i++) {
        ts_stone *stone = &b->design->stone[i];

        judge_measurements(b, stone);
        judge_round(b, stone);
        judge_shape(b, stone);
        judge_species(b, stone);
        judge_sources(b, stone);
        judge_client(b, stone);
        judge_price(b, stone);
        judge_place(b, stone);
        judge_lot(b, stone);
    }
}
