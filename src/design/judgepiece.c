#include "design/build.h"

#include <tallystone/base/file.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* Rules across the measures of the rest: the commission's days and money, the shank, parts
 * in metal, meshes, what is asked for and what is traded in.
 *
 * The range of the inside diameter is judged in geometry, which knows ring sizes in mm. */

static bool has(const ts_part *part, ts_field_id field)
{
    return ts_part_has(part, field);
}

static bool sound(const ts_part *part, ts_field_id field)
{
    return ts_build_sound(part, field);
}

/* ---- money ---- */

void ts_amount_settle(const ts_build *b, ts_amount *amount)
{
    if (amount->of != TS_AMOUNT_MONEY && amount->of != TS_AMOUNT_EACH &&
        amount->of != TS_AMOUNT_PER_CT) {
        return;
    }
    if (amount->currency == NULL && b->design->commission_count > 0) {
        amount->currency = b->design->commission[0].currency;
    }
}

static const char *unit_said(const ts_amount *amount)
{
    switch (amount->of) {
    case TS_AMOUNT_EACH:
        return "each";
    case TS_AMOUNT_PER_CT:
        return "per ct";
    case TS_AMOUNT_PERCENT:
        return "%";
    case TS_AMOUNT_DAYS:
        return "days";
    case TS_AMOUNT_MONEY:
        return amount->currency != NULL ? amount->currency : "money";
    case TS_AMOUNT_NONE:
        break;
    }
    return "";
}

void ts_amount_refuse(const ts_build *b, const ts_part *part, ts_field_id field,
                      const ts_amount *amount, const char *expected)
{
    const ts_sheet_row *row = part->rows[ts_field_position(field)];
    const char *word = ts_field_of(field)->word;
    const bool bare = amount->of == TS_AMOUNT_NONE;
    const ts_place place = ts_sheet_place(b->sheet, b->arena, row->row, TS_COLUMN_UNIT);

    if (bare) {
        ts_diag_add(b->diag, TS_FAULT_UNIT_MISSING, &place,
                    "%s: \"%s\" has no unit; %s is expected", ts_build_title(b, part), word,
                    expected);
        return;
    }
    ts_diag_add(b->diag, TS_FAULT_UNIT_WRONG, &place,
                "%s: \"%s\" is not counted in %s; %s is expected", ts_build_title(b, part), word,
                unit_said(amount), expected);
}

/* A sum of money: plain, or with a currency. */
static void judge_sum(const ts_build *b, const ts_part *part, ts_field_id field, ts_amount *amount)
{
    if (!ts_build_has(part, field)) {
        return;
    }
    if (amount->of != TS_AMOUNT_NONE && amount->of != TS_AMOUNT_MONEY) {
        ts_amount_refuse(b, part, field, amount, "a currency code, or none");
        return;
    }
    amount->of = TS_AMOUNT_MONEY;
    ts_amount_settle(b, amount);
}

/* ---- commission ---- */

static void judge_discount(const ts_build *b, ts_commission *commission)
{
    static const int64_t all = INT64_C(100000000);
    const ts_part *part = &commission->part;
    char text[TS_DECIMAL_TEXT];

    if (!ts_build_has(part, TS_FIELD_COMMISSION_DISCOUNT)) {
        return;
    }
    if (commission->discount.of == TS_AMOUNT_PERCENT) {
        if (commission->discount.value.e6 > all) {
            ts_build_fault(b, TS_FAULT_RANGE, part, TS_FIELD_COMMISSION_DISCOUNT,
                           "a discount of %s %% is out of range; from 0 to 100 %% is expected",
                           ts_dec_text(text, commission->discount.value));
        }
        return;
    }
    if (commission->discount.of > TS_AMOUNT_MONEY) {
        ts_amount_refuse(b, part, TS_FIELD_COMMISSION_DISCOUNT, &commission->discount,
                         "% or a currency code");
        return;
    }
    judge_sum(b, part, TS_FIELD_COMMISSION_DISCOUNT, &commission->discount);
}

/* A day that lies before the quote's own. */
static void judge_day(const ts_build *b, const ts_commission *commission, ts_field_id field,
                      ts_date day)
{
    const ts_part *part = &commission->part;
    char said[TS_DATE_TEXT];
    char date[TS_DATE_TEXT];

    if (!ts_build_has(part, field) || !ts_build_has(part, TS_FIELD_COMMISSION_DATE) ||
        day.days >= commission->date.days) {
        return;
    }
    ts_build_fault(
        b, TS_FAULT_MEASURE_CLASH, part, ts_build_later(part, TS_FIELD_COMMISSION_DATE, field),
        "\"%s\", %s, lies before the quote's date, %s; that day or a later one is "
        "expected",
        ts_field_of(field)->word, ts_date_text(said, day), ts_date_text(date, commission->date));
}

static void judge_commission(const ts_build *b, ts_commission *commission)
{
    judge_day(b, commission, TS_FIELD_COMMISSION_DELIVER_BY, commission->deliver_by);
    judge_day(b, commission, TS_FIELD_COMMISSION_VALID_UNTIL, commission->valid_until);
    judge_discount(b, commission);
}

/* ---- shank ---- */

/* The thinnest place of the shank that is given: the row of it where it is a station's. */
static ts_field_id thinnest(const ts_shank *shank, ts_dec *least, const ts_sheet_row **station)
{
    ts_field_id field = TS_FIELD_COUNT;

    *station = NULL;
    if (ts_build_has(&shank->part, TS_FIELD_SHANK_THICKNESS_TOP)) {
        field = TS_FIELD_SHANK_THICKNESS_TOP;
        *least = shank->thickness_top;
    }
    if (ts_build_has(&shank->part, TS_FIELD_SHANK_THICKNESS_BASE) &&
        (field == TS_FIELD_COUNT || shank->thickness_base.e6 < least->e6)) {
        field = TS_FIELD_SHANK_THICKNESS_BASE;
        *least = shank->thickness_base;
    }
    for (int i = 0; i < shank->station_count && field != TS_FIELD_COUNT; i++) {
        if (shank->stations[i].has_thickness && shank->stations[i].thickness.e6 < least->e6) {
            *least = shank->stations[i].thickness;
            *station = shank->stations[i].row;
        }
    }
    return field;
}

static bool has_side(int32_t profile)
{
    return profile == TS_PROFILE_KNIFE_EDGE || profile == TS_PROFILE_HALF_ROUND;
}

/* True where a profile of the shank has a straight side; the others take no notice of one. */
static bool uses_wall(const ts_shank *shank)
{
    bool uses = has_side(shank->profile_top) || has_side(shank->profile_base);

    for (int i = 0; i < shank->station_count; i++) {
        uses = uses || has_side(shank->stations[i].profile);
    }
    return uses;
}

void ts_judge_shank(const ts_build *b, const ts_shank *shank)
{
    const ts_part *part = &shank->part;
    const ts_sheet_row *station = NULL;
    ts_dec least = {0};
    char wall[TS_DECIMAL_TEXT];
    char thin[TS_DECIMAL_TEXT];

    if (!ts_build_has(part, TS_FIELD_SHANK_WALL)) {
        return;
    }
    const ts_field_id field = thinnest(shank, &least, &station);
    if (field == TS_FIELD_COUNT || shank->wall.e6 <= least.e6 || !uses_wall(shank)) {
        return;
    }
    const ts_field_id later =
        station != NULL ? TS_FIELD_SHANK_WALL : ts_build_later(part, TS_FIELD_SHANK_WALL, field);
    ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, later,
                   "shank: a wall of %s mm is higher than the shank is thick, %s mm at its "
                   "thinnest; at most that is expected",
                   ts_dec_text(wall, shank->wall), ts_dec_text(thin, least));
}

/* ---- metal and meshes ---- */

static void judge_metal(const ts_build *b, ts_metal *metal)
{
    const ts_part *part = &metal->part;

    ts_judge_one_of(b, part, TS_FIELD_METAL_VOLUME, TS_FIELD_METAL_WEIGHT);
    if (!ts_build_has(part, TS_FIELD_METAL_PRICE)) {
        return;
    }
    if (metal->price.of > TS_AMOUNT_EACH) {
        ts_amount_refuse(b, part, TS_FIELD_METAL_PRICE, &metal->price, "each, or a currency code");
        return;
    }
    metal->price.of = TS_AMOUNT_EACH;
    ts_amount_settle(b, &metal->price);
}

/* True where an earlier mesh replaces it already. */
static const ts_mesh *other_mesh(const ts_design *design, int mesh, ts_ref part)
{
    for (int i = 0; i < mesh; i++) {
        const ts_mesh *other = &design->mesh[i];

        for (int j = 0; j < other->replaced_count; j++) {
            if (other->replaced[j].kind == part.kind && other->replaced[j].index == part.index) {
                return other;
            }
        }
        if (other->replaces_all) {
            return other;
        }
    }
    return NULL;
}

static void judge_mesh(const ts_build *b, int index)
{
    const ts_design *design = b->design;
    const ts_mesh *mesh = &design->mesh[index];
    const ts_part *part = &mesh->part;

    if (ts_build_has(part, TS_FIELD_MESH_FILE) && !ts_file_plain_name(mesh->file)) {
        ts_build_fault(b, TS_FAULT_NOT_A_FILE, part, TS_FIELD_MESH_FILE,
                       "%s: \"%s\" is no plain file name; the file must lie in the sheet's folder",
                       ts_build_title(b, part), ts_sheet_shown(b->arena, mesh->file));
    }
    if (mesh->replaces_all && index > 0) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, TS_FIELD_MESH_REPLACES,
                       "%s replaces all parts, and so nothing is left for %s to replace; name the "
                       "parts of each mesh",
                       ts_build_title(b, part), ts_build_title(b, &design->mesh[0].part));
        return;
    }
    for (int i = 0; i < mesh->replaced_count; i++) {
        const ts_mesh *other = other_mesh(design, index, mesh->replaced[i]);

        if (other != NULL) {
            ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, TS_FIELD_MESH_REPLACES,
                           "%s: %s is replaced by %s already; each part is expected in one mesh",
                           ts_build_title(b, part),
                           ts_build_title(b, ts_design_part(design, mesh->replaced[i])),
                           ts_build_title(b, &other->part));
        }
    }
}

/* ---- what is asked for and traded in ---- */

static void judge_service(const ts_build *b, ts_service *service)
{
    const ts_part *part = &service->part;

    if (has(part, TS_FIELD_SERVICE_COUNT) && has(part, TS_FIELD_SERVICE_AMOUNT)) {
        ts_judge_one_of(b, part, TS_FIELD_SERVICE_COUNT, TS_FIELD_SERVICE_AMOUNT);
    }
    if (!has(part, TS_FIELD_SERVICE_COUNT)) {
        service->count = 1;
    }
    judge_sum(b, part, TS_FIELD_SERVICE_AMOUNT, &service->amount);
}

static bool is_alloy(const ts_design *design, const char *own, const char *alloy)
{
    const char *of = ts_design_alloy(design, own);

    return of != NULL && strcmp(of, alloy) == 0;
}

/* True where any part in metal is of the alloy. */
static bool occurs(const ts_design *design, const char *alloy)
{
    bool found = false;

/* clang-format off */
#define OCCURS(member) \
    for (int i = 0; i < design->member##_count; i++) \
        found = found || is_alloy(design, design->member[i].alloy, alloy)
    OCCURS(shank);
    OCCURS(head);
    OCCURS(bezel);
    OCCURS(halo);
    OCCURS(metal);
    OCCURS(mesh);
#undef OCCURS
    /* clang-format on */
    return found;
}

static void judge_trade_in(const ts_build *b, const ts_trade_in *trade_in)
{
    const ts_part *part = &trade_in->part;

    if (!ts_build_has(part, TS_FIELD_TRADE_IN_USE) || trade_in->use != TS_USE_PIECE ||
        !ts_build_has(part, TS_FIELD_TRADE_IN_ALLOY) || b->design->ring_count == 0 ||
        !sound(&b->design->ring[0].part, TS_FIELD_RING_ALLOY) ||
        occurs(b->design, trade_in->alloy)) {
        return;
    }
    ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                   ts_build_later(part, TS_FIELD_TRADE_IN_ALLOY, TS_FIELD_TRADE_IN_USE),
                   "%s: no part of the piece is of %s, so it can't be used in it; `credit` is "
                   "expected, or a part of that alloy",
                   ts_build_title(b, part), ts_sheet_shown(b->arena, trade_in->alloy));
}

void ts_judge_piece(ts_build *b)
{
    const ts_design *design = b->design;

    for (int i = 0; i < design->commission_count; i++) {
        judge_commission(b, &design->commission[i]);
    }
    for (int i = 0; i < design->ring_count && design->shank_count > 0; i++) {
        ts_build_missing(b, &design->ring[i].part, TS_FIELD_RING_SIZE, ": a shank goes round it");
    }
    for (int i = 0; i < design->shank_count; i++) {
        ts_judge_shank(b, &design->shank[i]);
    }
    for (int i = 0; i < design->metal_count; i++) {
        judge_metal(b, &design->metal[i]);
    }
    for (int i = 0; i < design->mesh_count; i++) {
        judge_mesh(b, i);
    }
    for (int i = 0; i < design->work_count; i++) {
        ts_judge_one_of(b, &design->work[i].part, TS_FIELD_WORK_COUNT, TS_FIELD_WORK_MINUTES);
    }
    for (int i = 0; i < design->service_count; i++) {
        judge_service(b, &design->service[i]);
    }
    for (int i = 0; i < design->trade_in_count; i++) {
        judge_trade_in(b, &design->trade_in[i]);
    }
}
