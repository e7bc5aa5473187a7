#include "quantities/counting.h"

#include "geometry/height.h"

/* Cautions on strength, safety and law.
 *
 * A caution never blocks. Each names the measurement, what is usual, where that comes from, and
 * who decides. Limits are the books' own rows; `wear` narrows them as the subject. */

#define ASK_OFFICE "An assay office or the law of the place decides."
#define ASK_WEARER "A qualified bench should say what is safe to wear."

void ts_caution_add(ts_counting *c, const ts_caution *caution)
{
    ts_quantities *out = c->out;

    out->cautions = ts_arena_grow(c->arena, out->cautions, (size_t)out->caution_count,
                                  &c->caution_room, sizeof *out->cautions);
    out->cautions[out->caution_count++] = *caution;
}

bool ts_limit_broken(const ts_limit_row *row, ts_dec measured)
{
    return (ts_book_given(&row->head, "least") && measured.e6 < row->least.e6) ||
           (ts_book_given(&row->head, "most") && measured.e6 > row->most.e6);
}

/* " mm", "%": a unit as it follows a figure. Claws are counted in themselves. */
static const char *unit_after(const ts_counting *c, const char *unit)
{
    if (ts_text_empty(unit) || ts_text_same(unit, "claws")) {
        return "";
    }
    return ts_text_same(unit, "%") ? unit : ts_arena_format(c->arena, " %s", unit);
}

static const char *usual(const ts_counting *c, const ts_caution *caution)
{
    const char *unit = unit_after(c, caution->unit);
    const char *least = ts_count_text(c, caution->least);
    const char *most = ts_count_text(c, caution->most);

    if (caution->has_least && caution->has_most) {
        return ts_arena_format(c->arena, "%s to %s%s", least, most, unit);
    }
    if (caution->has_least) {
        return ts_arena_format(c->arena, "at least %s%s", least, unit);
    }
    return ts_arena_format(c->arena, "at most %s%s", most, unit);
}

/* Two decimals are what a gauge tells; the caution itself keeps them all. */
static const char *shown(const ts_counting *c, ts_dec value)
{
    char text[TS_DECIMAL_TEXT];

    if (value.e6 % 10000 != 0) {
        return ts_arena_text(c->arena, ts_dec_fixed(text, value, 2));
    }
    return ts_count_text(c, value);
}

void ts_caution_check(ts_counting *c, const ts_check *check)
{
    const ts_limit_row *row = ts_book_limit(ts_limits_of(c), check->limit, check->subject,
                                            check->region, check->size_mm, c->on);

    if (row == NULL || !ts_limit_broken(row, check->measured)) {
        return;
    }
    ts_caution caution = {.who = check->who,
                          .limit = check->limit,
                          .part = check->title,
                          .measured = check->measured,
                          .has_least = ts_book_given(&row->head, "least"),
                          .has_most = ts_book_given(&row->head, "most"),
                          .least = row->least,
                          .most = row->most,
                          .unit = row->unit,
                          .source = row->source};
    caution.sentence =
        ts_arena_format(c->arena, "%s: %s %s%s; usual: %s (%s). %s", check->title,
                        check->what != NULL ? check->what : check->limit, shown(c, check->measured),
                        unit_after(c, row->unit), usual(c, &caution), row->source, check->defers);
    caution.whence = ts_whence_of(c, check->part, check->field, row->source);
    ts_caution_add(c, &caution);
}

/* ---- the shank ---- */

static ts_dec least_of(ts_dec one, ts_dec other)
{
    return one.e6 < other.e6 ? one : other;
}

static void check_shank(ts_counting *c)
{
    if (c->design->shank_count == 0) {
        return;
    }
    const ts_shank *shank = &c->design->shank[0];
    ts_dec width = least_of(shank->width_top, shank->width_base);
    ts_dec thickness = least_of(shank->thickness_top, shank->thickness_base);
    bool top_wider = shank->width_base.e6 < shank->width_top.e6;
    bool top_thicker = shank->thickness_base.e6 < shank->thickness_top.e6;

    for (int i = 0; i < shank->station_count; i++) {
        const ts_station_row *at = &shank->stations[i];
        width = at->has_width ? least_of(width, at->width) : width;
        thickness = at->has_thickness ? least_of(thickness, at->thickness) : thickness;
    }
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "shank width",
                      .part = &shank->part,
                      .title = ts_count_title(c, &shank->part),
                      .field = top_wider ? TS_FIELD_SHANK_WIDTH_BASE : TS_FIELD_SHANK_WIDTH_TOP,
                      .measured = width,
                      .defers = TS_ASK_BENCH};
    ts_caution_check(c, &check);
    const char *alloy = ts_count_alloy_of(c, &shank->part, shank->alloy);
    check.limit = "shank thickness";
    check.subject = ts_count_main_metal(c, alloy);
    check.field = top_thicker ? TS_FIELD_SHANK_THICKNESS_BASE : TS_FIELD_SHANK_THICKNESS_TOP;
    check.measured = thickness;
    ts_caution_check(c, &check);
    if (c->geometry->has_end_room) {
        check.limit = "shank end";
        check.what = "room between its ends and the nearest head or bezel";
        check.subject = NULL;
        check.field = TS_FIELD_SHANK_OPEN;
        check.measured = ts_weigh_measure(c, c->geometry->end_room_mm, "a gap");
        ts_caution_check(c, &check);
    }
}

/* ---- rows and halos ---- */

static void check_row(ts_counting *c, int index)
{
    const ts_row *row = &c->design->row[index];
    const ts_row_shape *shape = &c->geometry->rows[index];
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "shank thickness with stones",
                      .what = "thickness of the shank that it is set in",
                      .part = &row->part,
                      .title = ts_count_title(c, &row->part),
                      .field = TS_FIELD_ROW_STONE_DIAMETER,
                      .measured = ts_weigh_measure(c, shape->thinnest_mm, "a thickness"),
                      .defers = TS_ASK_BENCH};

    if (c->design->shank_count == 0) {
        return;
    }
    ts_caution_check(c, &check);
    if (row->faces != TS_FACES_SIDE) {
        double taken_mm =
            row->lines * shape->diameter_mm + (row->lines - 1) * ts_dec_double(row->spacing);
        check.limit = "shank beyond row";
        check.what = "metal beside its stones, across the shank,";
        check.measured = ts_weigh_measure(c, shape->narrowest_mm - taken_mm, "a width");
        ts_caution_check(c, &check);
    }
    check.limit = "metal under seat";
    check.what = "metal left under its seats";
    check.measured = ts_weigh_measure(c, shape->under_seat_mm, "a thickness");
    ts_caution_check(c, &check);
    check.limit = "melee spacing";
    check.what = "spacing between its stones";
    check.field = TS_FIELD_ROW_SPACING;
    check.measured = ts_weigh_measure(c, shape->spacing_mm, "a spacing");
    ts_caution_check(c, &check);
}

/* The room that a setter needs is a matter of geometry, not of custom: below zero claw and
 * stone want the same place. */
static void check_claw_room(ts_counting *c, int index)
{
    const ts_halo *halo = &c->design->halo[index];
    const ts_row_shape *shape = &c->geometry->halos[index];
    ts_dec room = ts_weigh_measure(c, shape->claw_room_mm, "the claws' room");
    const char *title = ts_count_title(c, &halo->part);

    if (!shape->has_claw_room || room.e6 >= 0) {
        return;
    }
    ts_caution caution = {.limit = "claw room",
                          .part = title,
                          .measured = room,
                          .has_least = true,
                          .unit = "mm",
                          .source = "geometry of the sheet"};
    caution.sentence = ts_arena_format(
        c->arena,
        "%s: claws and stones overlap by %s mm in plan; turning the claws (first claw), a wider "
        "gap or another multiple gives them room. %s",
        title, shown(c, (ts_dec){-room.e6}), TS_ASK_BENCH);
    caution.whence = ts_whence_of(c, &halo->part, TS_FIELD_HALO_GAP, "claw room");
    ts_caution_add(c, &caution);
}

static void check_halo(ts_counting *c, int index)
{
    const ts_halo *halo = &c->design->halo[index];
    const ts_row_shape *shape = &c->geometry->halos[index];
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "melee spacing",
                      .what = "spacing between its stones",
                      .part = &halo->part,
                      .title = ts_count_title(c, &halo->part),
                      .field = TS_FIELD_HALO_SPACING,
                      .measured = ts_weigh_measure(c, shape->spacing_mm, "a spacing"),
                      .defers = TS_ASK_BENCH};

    ts_caution_check(c, &check);
    check.limit = "rim";
    check.what = "rim outside its stones";
    check.field = TS_FIELD_HALO_RIM;
    check.measured = halo->rim;
    ts_caution_check(c, &check);
    check.limit = "metal under seat";
    check.what = "metal left under its seats";
    check.field = TS_FIELD_HALO_THICKNESS;
    check.measured = ts_weigh_measure(c, shape->under_seat_mm, "a thickness");
    ts_caution_check(c, &check);
    check_claw_room(c, index);
}

/* ---- heads, bezels, what holds a stone ---- */

static const char *wear_of(const ts_counting *c)
{
    int wear = c->design->ring_count > 0 ? c->design->ring[0].wear : TS_WEAR_NONE;

    return wear == TS_WEAR_NONE ? NULL : ts_list_word(TS_LIST_WEAR, wear);
}

static void check_head(ts_counting *c, int index)
{
    const ts_head *head = &c->design->head[index];
    int stone = head->holds_ref.index;
    ts_dec size = ts_count_stone_size(c, stone);
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "claw diameter",
                      .subject = wear_of(c),
                      .size_mm = &size,
                      .part = &head->part,
                      .title = ts_count_title(c, &head->part),
                      .field = TS_FIELD_HEAD_CLAW_DIAMETER,
                      .measured = head->claw_diameter,
                      .defers = TS_ASK_BENCH};

    ts_caution_check(c, &check);
    check.limit = "claws";
    check.subject = ts_list_word(TS_LIST_SHAPE, c->design->stone[stone].shape);
    check.field = TS_FIELD_HEAD_CLAWS;
    check.measured = (ts_dec){(int64_t)head->claws * 1000000};
    ts_caution_check(c, &check);
    if (c->design->ring_count > 0 && c->geometry->bore_mm > 0.0) {
        check.who = TS_CAUTION_WEAR;
        check.limit = "culet clearance";
        check.subject = wear_of(c);
        check.size_mm = NULL;
        check.field = TS_FIELD_HEAD_CULET_CLEARANCE;
        check.measured = head->culet_clearance;
        check.defers = ASK_WEARER;
        ts_caution_check(c, &check);
    }
}

static void check_bezel(ts_counting *c, int index)
{
    const ts_bezel *bezel = &c->design->bezel[index];
    ts_dec size = ts_count_stone_size(c, bezel->holds_ref.index);
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "bezel wall",
                      .subject = wear_of(c),
                      .size_mm = &size,
                      .part = &bezel->part,
                      .title = ts_count_title(c, &bezel->part),
                      .field = TS_FIELD_BEZEL_WALL,
                      .measured = bezel->wall,
                      .defers = TS_ASK_BENCH};

    ts_caution_check(c, &check);
    if (c->design->ring_count > 0 && c->geometry->bore_mm > 0.0) {
        const ts_stone_shape *held = &c->geometry->stones[bezel->holds_ref.index];
        double below_mm = ts_stone_pavilion_mm(held->depth_mm) + ts_stone_girdle_mm(held->depth_mm);
        check.who = TS_CAUTION_WEAR;
        check.limit = "culet clearance";
        check.subject = wear_of(c);
        check.size_mm = NULL;
        check.field = TS_FIELD_BEZEL_HEIGHT;
        check.measured = ts_weigh_measure(c, held->girdle_mm - below_mm, "a clearance");
        check.defers = ASK_WEARER;
        ts_caution_check(c, &check);
    }
}

static bool is_held(const ts_counting *c, int stone)
{
    const ts_design *d = c->design;

    for (int i = 0; i < d->head_count; i++) {
        if (d->head[i].holds_ref.kind == TS_PART_STONE && d->head[i].holds_ref.index == stone) {
            return true;
        }
    }
    for (int i = 0; i < d->bezel_count; i++) {
        if (d->bezel[i].holds_ref.kind == TS_PART_STONE && d->bezel[i].holds_ref.index == stone) {
            return true;
        }
    }
    return false;
}

/* Claws and bezels must come from somewhere; beads and walls are raised from metal that is
 * there. A mesh may hold the head, so nothing is said beside one. */
static void check_held(ts_counting *c, int index)
{
    const ts_stone *stone = &c->design->stone[index];
    bool needs_holder = stone->setting == TS_SETTING_CLAW || stone->setting == TS_SETTING_BEZEL ||
                        stone->setting == TS_SETTING_SHARED_CLAW;

    if (!needs_holder || is_held(c, index) || c->design->mesh_count > 0) {
        return;
    }
    const char *title = ts_count_title(c, &stone->part);
    ts_caution caution = {.limit = "stone held",
                          .part = title,
                          .has_least = true,
                          .least = {1000000},
                          .unit = "",
                          .source = "the sheet"};
    caution.sentence =
        ts_arena_format(c->arena,
                        "%s: its setting is %s, and no head or bezel of the sheet holds "
                        "it. %s",
                        title, ts_list_word(TS_LIST_SETTING, stone->setting), TS_ASK_BENCH);
    caution.whence = ts_whence_of(c, &stone->part, TS_FIELD_STONE_SETTING, "the sheet");
    ts_caution_add(c, &caution);
}

/* ---- height ---- */

static void check_height(ts_counting *c)
{
    const ts_heights *height = &c->geometry->height;

    if (!height->known) {
        return;
    }
    bool by_bezel = height->holder.kind == TS_PART_BEZEL;
    const ts_ring *ring = &c->design->ring[0];
    ts_check check = {.who = TS_CAUTION_WEAR,
                      .limit = "total height",
                      .subject = wear_of(c),
                      .part = ts_design_part(c->design, height->holder),
                      .title = "ring",
                      .field = by_bezel ? TS_FIELD_BEZEL_HEIGHT : TS_FIELD_HEAD_CULET_CLEARANCE,
                      .measured = ts_weigh_measure(c, height->total_mm, "the height"),
                      .defers = ASK_WEARER};
    ts_caution_check(c, &check);
    if (ring->height_limit.e6 == 0 || check.measured.e6 <= ring->height_limit.e6) {
        return;
    }
    ts_caution caution = {.who = TS_CAUTION_WEAR,
                          .limit = "height limit",
                          .part = "ring",
                          .measured = check.measured,
                          .has_most = true,
                          .most = ring->height_limit,
                          .unit = "mm",
                          .source = "the sheet"};
    caution.sentence = ts_arena_format(
        c->arena, "ring: its height is %s mm; the wearer's limit is %s mm (the sheet). %s",
        shown(c, check.measured), ts_count_text(c, ring->height_limit), ASK_WEARER);
    caution.whence = ts_whence_of(c, &ring->part, TS_FIELD_RING_HEIGHT_LIMIT, "the sheet");
    ts_caution_add(c, &caution);
}

/* ---- metal and law ---- */

static void check_nickel(ts_counting *c)
{
    for (int i = 0; i < c->out->metal_count; i++) {
        const ts_metal_need *metal = &c->out->metals[i];
        ts_check check = {.who = TS_CAUTION_WEAR,
                          .limit = "nickel",
                          .what = "nickel content",
                          .part = &c->design->ring[0].part,
                          .title = metal->alloy,
                          .field = TS_FIELD_RING_ALLOY,
                          .measured = metal->row->fineness[TS_METAL_NICKEL],
                          .defers = "Whether it is released a test tells; the law of the place "
                                    "decides."};
        if (c->design->ring_count > 0) {
            ts_caution_check(c, &check);
        }
    }
}

/* From the exempt weight on (`least`, inclusive), all metal of the piece together. */
static void check_hallmark(ts_counting *c)
{
    ts_dec whole = {0};
    bool said[TS_METAL_COUNT] = {false};

    for (int i = 0; i < c->out->metal_count; i++) {
        whole = ts_weigh_sum(c, whole, c->out->metals[i].whole_g);
    }
    for (int i = 0; i < c->out->metal_count && c->design->commission_count > 0; i++) {
        const ts_metal_need *metal = &c->out->metals[i];
        const ts_commission *commission = &c->design->commission[0];
        ts_metal_kind kind = ts_alloy_main(metal->row);
        const ts_limit_row *row =
            ts_book_limit(ts_limits_of(c), "hallmark weight",
                          ts_list_word(TS_LIST_METAL, (int)kind), commission->region, NULL, c->on);
        if (said[kind] || row == NULL || !ts_book_given(&row->head, "least") ||
            whole.e6 < row->least.e6) {
            continue;
        }
        said[kind] = true;
        ts_caution caution = {.limit = "hallmark weight",
                              .part = ts_list_word(TS_LIST_METAL, (int)kind),
                              .measured = whole,
                              .has_least = true,
                              .least = row->least,
                              .unit = row->unit,
                              .source = row->source};
        caution.sentence = ts_arena_format(
            c->arena,
            "%s: the piece's metal weighs %s g; from %s g on a hallmark may be required "
            "(%s). %s",
            caution.part, shown(c, whole), ts_count_text(c, row->least), row->source, ASK_OFFICE);
        caution.whence =
            ts_whence_of(c, &commission->part, TS_FIELD_COMMISSION_REGION, row->source);
        ts_caution_add(c, &caution);
    }
}

/* A mesh read in the wrong unit weighs thousands of times what its parts measure. */
static void check_mesh(ts_counting *c, int index)
{
    const ts_mesh *mesh = &c->design->mesh[index];
    const ts_alloy_row *row =
        ts_book_alloy(c->book, ts_design_alloy(c->design, mesh->alloy), c->on);

    if (row == NULL) {
        return;
    }
    const double told_g = ts_dec_double(ts_count_mesh_g(c, index, row));
    const double estimate_g = ts_dec_double(ts_count_estimate_g(c, index, row->density));
    if (!(told_g > 0.0) || !(estimate_g > 0.0)) {
        return;
    }
    ts_check check = {.who = TS_CAUTION_MAKING,
                      .limit = "mesh weight",
                      .what = "its weight, of what the parts it replaces measure,",
                      .part = &mesh->part,
                      .title = ts_count_title(c, &mesh->part),
                      .field = TS_FIELD_MESH_UNIT,
                      .measured = ts_weigh_measure(c, 100.0 * told_g / estimate_g, "a share"),
                      .defers = "Is the unit the one it was drawn in? " TS_ASK_BENCH};
    ts_caution_check(c, &check);
}

void ts_count_cautions(ts_counting *c)
{
    const ts_design *d = c->design;

    check_shank(c);
    for (int i = 0; i < d->row_count; i++) {
        check_row(c, i);
    }
    for (int i = 0; i < d->head_count; i++) {
        check_head(c, i);
    }
    for (int i = 0; i < d->bezel_count; i++) {
        check_bezel(c, i);
    }
    for (int i = 0; i < d->halo_count; i++) {
        check_halo(c, i);
    }
    for (int i = 0; i < d->stone_count; i++) {
        check_held(c, i);
    }
    for (int i = 0; i < d->mesh_count; i++) {
        check_mesh(c, i);
    }
    check_height(c);
    check_nickel(c);
    check_hallmark(c);
}
