#include "desk/drivers.h"

#include <tallystone/base/text.h>

#include <math.h>
#include <string.h>

/* A measurement is moved where it is kept in the design, the piece is measured, weighed
 * and costed anew in scratch memory, and the measurement put back. One that cannot be
 * made a tenth smaller or larger says so by NaN. */

typedef struct mover {
    const ts_option *option;
    const ts_book *book;
    ts_arena *arena;
    ts_arena *scratch; /* empty between two prices */
    ts_driver *list;
    size_t count;
    size_t room;
} mover;

static bool is_measurement(const ts_field *field)
{
    switch (field->kind) {
    case TS_KIND_LENGTH:
    case TS_KIND_FIT:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
        return true;
    case TS_KIND_NONE:
    case TS_KIND_PERCENT:
    case TS_KIND_NUMBER:
    case TS_KIND_COUNT:
    case TS_KIND_AMOUNT:
    case TS_KIND_SIZE:
    case TS_KIND_WORD:
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
    case TS_KIND_DATE:
    case TS_KIND_CURRENCY:
    case TS_KIND_COUNT_OF:
        break;
    }
    return false;
}

static double margin_anew(const mover *m)
{
    ts_arena *scratch = m->scratch;
    ts_arena_mark mark = ts_arena_mark_of(scratch);
    ts_diag *diag = ts_diag_new(scratch);
    ts_geometry *geometry = NULL;
    ts_quantities *quantities = NULL;
    ts_costing *costing = NULL;
    double margin = (double)NAN;
    ts_status status = ts_geometry_of(&geometry, scratch, m->option->design, diag);
    if (status == TS_OK) {
        status = ts_quantities_of(&quantities, scratch, m->option->design, geometry, m->book, diag);
    }
    if (status == TS_OK) {
        status = ts_costing_of(&costing, scratch, quantities, m->book, diag);
    }
    if (status == TS_OK) {
        margin = ts_margin_moved(scratch, costing, NULL, 0.0);
    }
    ts_arena_rewind(scratch, mark);
    return margin;
}

/* What the sheet's reader would refuse is not made either. */
static double margin_with(const mover *m, const ts_field *field, ts_dec *value, int tenths)
{
    ts_dec own = *value;
    ts_dec moved = {0};
    double margin = (double)NAN;
    if (ts_div_round(&moved.e6, (ts_i128)own.e6 * tenths, 10, TS_HALF_AWAY) &&
        ts_field_holds(field, moved)) {
        *value = moved;
        margin = margin_anew(m);
        *value = own;
    }
    return margin;
}

static void move_field(mover *m, const ts_part *part, char *object, ts_field_id id, double margin)
{
    char number[TS_DECIMAL_TEXT];
    size_t count = 0;
    const ts_field *field = &ts_part_fields(part->kind, &count)[ts_field_position(id)];
    ts_dec *value = (ts_dec *)(void *)(object + field->offset);
    if (value->e6 == 0) {
        return;
    }
    ts_driver driver = {
        .name = ts_arena_format(m->arena, "%s, %s", ts_part_title(m->arena, part), field->word),
        .origin = ts_arena_format(m->arena, "%s:%d", ts_sheet_file(m->option->design->sheet),
                                  ts_part_line(part, id)),
        .value = ts_arena_format(m->arena, "%s %s", ts_dec_text(number, *value),
                                 ts_kind_unit(field->kind)),
        .less_pct = margin_with(m, field, value, 9),
        .more_pct = margin_with(m, field, value, 11),
    };
    if (!isnan(driver.less_pct) && !isnan(driver.more_pct) &&
        fabs(driver.less_pct - margin) < 1e-9 && fabs(driver.more_pct - margin) < 1e-9) {
        return;
    }
    m->list = ts_arena_grow(m->arena, m->list, m->count, &m->room, sizeof *m->list);
    m->list[m->count++] = driver;
}

/* The first measure of a kind of part: fields.def lists the parts in their order. */
static ts_field_id first_field(ts_part_kind kind)
{
    int parts = 0;
    for (int id = 0; id < TS_FIELD_COUNT; id++) {
        parts += ts_field_position((ts_field_id)id) == 0;
        if (parts == (int)kind) {
            return (ts_field_id)id;
        }
    }
    return TS_FIELD_COUNT;
}

static void move_part(mover *m, ts_part *part, double margin)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(part->kind, &count);
    int first = (int)first_field(part->kind);
    for (size_t i = 0; i < count; i++) {
        ts_field_id id = (ts_field_id)(first + (int)i);
        if (is_measurement(&fields[i]) && ts_part_has(part, id)) {
            move_field(m, part, (char *)part, id, margin);
        }
    }
}

size_t ts_drivers_of(ts_driver **out, ts_arena *arena, const ts_option *option, const ts_book *book)
{
    ts_driver *rates = NULL;
    ts_design *design = option->design;
    size_t rate_count = ts_rate_drivers_of(&rates, arena, option->costing);
    double margin = ts_margin_moved(arena, option->costing, NULL, 0.0);
    mover m = {.option = option, .book = book, .arena = arena, .scratch = ts_arena_beside(arena)};
#define PART(id, word, type, member, naming, says)                                                 \
    for (int i = 0; i < design->member##_count; i++) {                                             \
        move_part(&m, &design->member[i].part, margin);                                            \
    }
#include <tallystone/design/parts.def>
#undef PART
    ts_arena_free(m.scratch);
    ts_driver *all = TS_ARRAY(arena, ts_driver, rate_count + m.count + 1);
    for (size_t i = 0; i < rate_count; i++) {
        all[i] = rates[i];
    }
    for (size_t i = 0; i < m.count; i++) {
        all[rate_count + i] = m.list[i];
    }
    ts_drivers_sort(all, rate_count + m.count, margin);
    *out = all;
    return rate_count + m.count;
}
