#include "geometry/measuring.h"

#include <math.h>

#include <tallystone/base/text.h>

#include "geometry/gemweight.h"

/* A feature stone: what was measured, what was weighed, and what the one tells of the other.
 *
 * A stated weight always wins. Where the sheet gives no depth the weight gives it, and a
 * round known by its weight alone gets all its measurements from it. */

static double mm(ts_dec value)
{
    return ts_dec_double(value);
}

static ts_field_id field_of_fault(ts_outline_fault fault)
{
    switch (fault) {
    case TS_OUTLINE_FAULT_ROUND:
        return TS_FIELD_STONE_WIDTH;
    case TS_OUTLINE_FAULT_CORNER:
        return TS_FIELD_STONE_CORNER;
    case TS_OUTLINE_FAULT_NONE:
    case TS_OUTLINE_FAULT_SIZE:
    case TS_OUTLINE_FAULT_SHORT:
    case TS_OUTLINE_FAULT_LONG:
    case TS_OUTLINE_FAULT_VANISHED:
    case TS_OUTLINE_FAULT_SPLIT:
    case TS_OUTLINE_FAULT_PIECES:
    case TS_OUTLINE_FAULT_COUNT:
        break;
    }
    return TS_FIELD_STONE_LENGTH;
}

/* Why such a stone has no outline, and what would have one. */
static const char *outline_sentence(const ts_measuring *m, const ts_stone *stone,
                                    const ts_stone_shape *shape, ts_outline_fault fault)
{
    const char *title = ts_measuring_title(m, &stone->part);
    const char *word = ts_list_word(TS_LIST_SHAPE, stone->shape);
    double width_mm = shape->width_mm;
    double shorter_mm = fmin(shape->length_mm, width_mm);

    switch (fault) {
    case TS_OUTLINE_FAULT_ROUND:
        return ts_arena_format(m->arena,
                               "%s: %s and %s mm are more than 10 %% apart, so it is no round "
                               "stone; an oval has two such measurements",
                               title, ts_measuring_mm(m, shape->length_mm),
                               ts_measuring_mm(m, width_mm));
    case TS_OUTLINE_FAULT_SHORT:
        return ts_arena_format(
            m->arena, "%s: a %s %s mm wide is at least %s mm long; the length is %s mm", title,
            word, ts_measuring_mm(m, width_mm),
            ts_measuring_mm(m, (stone->shape == TS_SHAPE_HEART ? 0.75 : 1.0) * width_mm),
            ts_measuring_mm(m, shape->length_mm));
    case TS_OUTLINE_FAULT_LONG:
        return ts_arena_format(
            m->arena, "%s: a trillion %s mm wide is at most %s mm long; the length is %s mm", title,
            ts_measuring_mm(m, width_mm), ts_measuring_mm(m, 2.0 / sqrt(3.0) * width_mm),
            ts_measuring_mm(m, shape->length_mm));
    case TS_OUTLINE_FAULT_CORNER:
        return ts_arena_format(m->arena,
                               "%s: a corner of %s mm does not fit; it is at most half of the "
                               "shorter side, %s mm",
                               title, ts_measuring_mm(m, mm(stone->corner)),
                               ts_measuring_mm(m, shorter_mm / 2.0));
    case TS_OUTLINE_FAULT_NONE:
    case TS_OUTLINE_FAULT_SIZE:
    case TS_OUTLINE_FAULT_VANISHED:
    case TS_OUTLINE_FAULT_SPLIT:
    case TS_OUTLINE_FAULT_PIECES:
    case TS_OUTLINE_FAULT_COUNT:
        break;
    }
    return ts_arena_format(m->arena, "%s: a length and a width of a %s are expected", title, word);
}

/* Fills in depth, or all of a round, from the weight. False after a fault. */
static bool complete(ts_measuring *m, const ts_stone *stone, ts_gem *gem, bool *estimated)
{
    const char *title = ts_measuring_title(m, &stone->part);
    double carats = mm(stone->weight);
    bool has_size = gem->length_mm > 0.0 && gem->width_mm > 0.0;

    if (has_size && gem->depth_mm > 0.0) {
        return true;
    }
    if (carats > 0.0 && gem->sg_thousandths > 0 && (has_size || stone->shape == TS_SHAPE_ROUND)) {
        *estimated = true;
        if (has_size) {
            gem->depth_mm = ts_gem_depth_mm(gem, carats);
        } else {
            *gem = ts_round_from_carats(carats, gem->girdle, gem->sg_thousandths);
        }
        if (gem->length_mm > 0.0 && gem->depth_mm > 0.0) {
            return true;
        }
    }
    ts_measuring_refuse(m, &stone->part, has_size ? TS_FIELD_STONE_DEPTH : TS_FIELD_STONE_LENGTH,
                        ts_arena_format(m->arena,
                                        "%s: its weight does not tell its measurements; length, "
                                        "width and depth are expected",
                                        title));
    return false;
}

static bool weigh(ts_measuring *m, const ts_stone *stone, const ts_gem *gem, ts_stone_shape *shape)
{
    shape->estimate_carats = gem->sg_thousandths > 0 ? ts_gem_carats(gem) : 0.0;
    shape->is_plausible = ts_gem_plausible(gem, 0.0);
    shape->weight_stated = stone->weight.e6 > 0;
    shape->carats = shape->weight_stated ? mm(stone->weight) : shape->estimate_carats;
    shape->spread = shape->weight_stated ? 0.0 : ts_gem_spread(gem->shape, gem->sg_thousandths);
    if (shape->carats > 0.0) {
        return true;
    }
    ts_measuring_refuse(m, &stone->part, TS_FIELD_STONE_SPECIES,
                        ts_arena_format(m->arena,
                                        "%s: the specific gravity of %s is not known, so its "
                                        "measurements give no weight; a weight is expected",
                                        ts_measuring_title(m, &stone->part),
                                        ts_text_show(m->arena, stone->species, 40)));
    return false;
}

void ts_stone_measure(ts_measuring *m, int index)
{
    const ts_stone *stone = &m->design->stone[index];
    ts_stone_shape *shape = &m->out->stones[index];
    ts_outline *outline = &m->outlines[index];
    ts_gem gem = {.shape = (ts_shape)stone->shape,
                  .girdle = (ts_girdle)stone->girdle,
                  .length_mm = mm(stone->length),
                  .width_mm = mm(stone->width),
                  .depth_mm = mm(stone->depth)};
    int species = ts_list_find(TS_LIST_SPECIES, stone->species);

    shape->copies = stone->copies;
    if (species != 0) {
        gem.sg_thousandths = ts_species_sg((ts_species)species);
    }
    if (gem.shape == TS_SHAPE_ROUND && !(gem.width_mm > 0.0)) {
        gem.width_mm = gem.length_mm;
    }
    if (!complete(m, stone, &gem, &shape->size_estimated)) {
        return;
    }
    if (!(gem.width_mm > 0.0)) {
        gem.width_mm = gem.length_mm;
    }
    shape->length_mm = gem.length_mm;
    shape->width_mm = gem.width_mm;
    shape->depth_mm = gem.depth_mm;
    if (!weigh(m, stone, &gem, shape)) {
        return;
    }
    if (!ts_outline_of(outline, gem.shape, gem.length_mm, gem.width_mm, mm(stone->corner))) {
        ts_measuring_refuse(m, &stone->part, field_of_fault(outline->fault),
                            outline_sentence(m, stone, shape, outline->fault));
    }
}
