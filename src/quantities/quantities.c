#include <tallystone/quantities/quantities.h>

#include "quantities/counting.h"
#include "quantities/recur.h"

#include <stdarg.h>
#include <stdio.h>

/* From a measured design to what it takes: weighed, counted, cautioned, listed. */

#define Z_LETTER 25
#define SENTENCE_BYTES 256

const char *ts_count_title(const ts_counting *c, const ts_part *part)
{
    return ts_part_title(c->arena, part);
}

const char *ts_count_item(const ts_counting *c, const ts_part *part)
{
    return ts_text_empty(part->label) ? ts_part_title(c->arena, part) : part->label;
}

const char *ts_count_text(const ts_counting *c, ts_dec value)
{
    char text[TS_DECIMAL_TEXT];

    return ts_arena_text(c->arena, ts_dec_text(text, value));
}

const char *ts_count_says(const ts_counting *c, const char *format, ...)
{
    char text[SENTENCE_BYTES];
    va_list values;

    if (c->is_bare) {
        return NULL;
    }
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    return ts_arena_text(c->arena, text);
}

const char *ts_count_times(const ts_counting *c, const ts_part *part, int count)
{
    return c->is_bare ? NULL : ts_arena_format(c->arena, "%s %d", ts_count_title(c, part), count);
}

const char *ts_count_also(const ts_counting *c, const char *one, const char *other)
{
    return c->is_bare ? NULL : ts_arena_format(c->arena, "%s + %s", one, other);
}

ts_whence ts_whence_of(const ts_counting *c, const ts_part *part, ts_field_id field,
                       const char *says)
{
    return (ts_whence){.file = c->file, .line = ts_part_line(part, field), .says = says};
}

const char *ts_count_main_metal(const ts_counting *c, const char *alloy)
{
    const ts_alloy_row *row = alloy != NULL ? ts_book_alloy(c->book, alloy, c->on) : NULL;

    return row == NULL ? NULL : ts_list_word(TS_LIST_METAL, (int)ts_alloy_main(row));
}

ts_dec ts_count_stone_size(ts_counting *c, int index)
{
    const ts_stone_shape *shape = &c->geometry->stones[index];
    bool is_round = c->design->stone[index].shape == TS_SHAPE_ROUND;
    double size_mm = is_round ? 0.5 * (shape->length_mm + shape->width_mm) : shape->width_mm;

    return ts_weigh_measure(c, size_mm, "a stone's size");
}

int ts_count_centre(const ts_counting *c)
{
    if (c->geometry->height.known) {
        return c->geometry->height.stone;
    }
    for (int i = 0; i < c->design->stone_count; i++) {
        if (c->design->stone[i].beside_ref.kind == TS_PART_NONE) {
            return i;
        }
    }
    return -1;
}

/* ---- what was agreed ---- */

/* "L 1/2", "Z+2": letters count from A = 0, halves are .5. */
static const char *letter_text(const ts_counting *c, ts_dec number)
{
    int64_t letter = number.e6 / 1000000;
    const char *half = number.e6 % 1000000 != 0 ? " 1/2" : "";

    if (letter > Z_LETTER) {
        return ts_arena_format(c->arena, "Z+%d%s", (int)(letter - Z_LETTER), half);
    }
    return ts_arena_format(c->arena, "%c%s", (char)('A' + letter), half);
}

static const char *size_text(const ts_counting *c, ts_ring_size size)
{
    const char *system = ts_list_word(TS_LIST_SIZE, (int)size.system);

    switch (size.system) {
    case TS_SIZE_UK:
        return ts_arena_format(c->arena, "%s %s", system, letter_text(c, size.number));
    case TS_SIZE_DIAMETER:
    case TS_SIZE_CIRCUMFERENCE:
        return ts_arena_format(c->arena, "%s %s", ts_count_text(c, size.number), system);
    case TS_SIZE_US:
    case TS_SIZE_EU:
    case TS_SIZE_CH:
    case TS_SIZE_JP:
        return ts_arena_format(c->arena, "%s %s", system, ts_count_text(c, size.number));
    case TS_SIZE_NONE:
    case TS_SIZE_COUNT:
        break;
    }
    return NULL;
}

static const char *or_null(const char *text)
{
    return ts_text_empty(text) ? NULL : text;
}

static const char *from_to(const ts_counting *c, ts_dec one, ts_dec other)
{
    char first[TS_DECIMAL_TEXT], last[TS_DECIMAL_TEXT];

    ts_dec_fixed(first, one, 2);
    return one.e6 == other.e6
               ? ts_arena_text(c->arena, first)
               : ts_arena_format(c->arena, "%s to %s", first, ts_dec_fixed(last, other, 2));
}

/* "knife edge to half round, top to base 2.20 to 2.40 mm wide, 1.80 to 1.70 mm thick" */
static const char *band_text(const ts_counting *c, const ts_shank *shank)
{
    const char *top = ts_list_word(TS_LIST_PROFILE, shank->profile_top);
    const char *base = ts_list_word(TS_LIST_PROFILE, shank->profile_base);
    bool even = shank->profile_top == shank->profile_base &&
                shank->width_top.e6 == shank->width_base.e6 &&
                shank->thickness_top.e6 == shank->thickness_base.e6;

    if (shank->profile_top != shank->profile_base) {
        top = ts_arena_format(c->arena, "%s to %s", top, base);
    }
    return ts_arena_format(c->arena, "%s,%s %s\u00a0mm wide, %s\u00a0mm thick", top,
                           even ? "" : " top to base",
                           from_to(c, shank->width_top, shank->width_base),
                           from_to(c, shank->thickness_top, shank->thickness_base));
}

static void fill_terms(ts_counting *c)
{
    const ts_design *d = c->design;
    ts_terms *terms = &c->out->terms;

    *terms = (ts_terms){.exponent = d->exponent,
                        .as_of = d->as_of,
                        .date = TS_DATE_NONE,
                        .deliver_by = TS_DATE_NONE,
                        .valid_until = TS_DATE_NONE,
                        .option_name = d->option_name,
                        .option_label = or_null(d->option_label),
                        .sheet_file = c->file};
    if (d->commission_count > 0) {
        const ts_commission *of = &d->commission[0];
        terms->reference = of->reference;
        terms->title = of->title;
        terms->client = of->client;
        terms->currency = of->currency;
        terms->date = of->date;
        terms->deliver_by =
            ts_part_has(&of->part, TS_FIELD_COMMISSION_DELIVER_BY) ? of->deliver_by : TS_DATE_NONE;
        terms->valid_until = ts_part_has(&of->part, TS_FIELD_COMMISSION_VALID_UNTIL)
                                 ? of->valid_until
                                 : TS_DATE_NONE;
        terms->region = of->region;
        terms->discount = of->discount;
        terms->pays_by = or_null(of->pays_by);
        terms->discount_line = ts_part_line(&of->part, TS_FIELD_COMMISSION_DISCOUNT);
    }
    if (d->shank_count > 0 && !c->is_bare) {
        terms->band_text = band_text(c, &d->shank[0]);
    }
    if (d->ring_count > 0) {
        terms->alloy = d->ring[0].alloy;
        terms->size_text = c->is_bare ? NULL : size_text(c, d->ring[0].size);
        terms->finish = or_null(d->ring[0].finish);
        terms->inscription = or_null(d->ring[0].inscription);
    }
}

static void count_services(ts_counting *c)
{
    ts_quantities *out = c->out;

    out->services = TS_ARRAY(c->arena, ts_service_need, (size_t)c->design->service_count + 1);
    for (int i = 0; i < c->design->service_count; i++) {
        const ts_service *asked = &c->design->service[i];
        out->services[out->service_count++] = (ts_service_need){
            .service = asked->service,
            .count = asked->count,
            .has_amount = ts_part_has(&asked->part, TS_FIELD_SERVICE_AMOUNT),
            .amount = asked->amount,
            .whence = ts_whence_of(c, &asked->part, TS_FIELD_SERVICE_SERVICE, NULL),
            .count_line = ts_part_line(&asked->part, TS_FIELD_SERVICE_COUNT),
            .amount_line = ts_part_line(&asked->part, TS_FIELD_SERVICE_AMOUNT)};
    }
}

static ts_status count(ts_counting *c, ts_recurring *recurring, ts_quantities **out)
{
    size_t mark = ts_diag_mark(c->diag);

    c->out = TS_NEW(c->arena, ts_quantities);
    c->on = c->design->as_of;
    c->file = ts_sheet_file(c->design->sheet);
    fill_terms(c);
    ts_count_metal(c);
    const bool is_known = recurring != NULL && ts_recurring_find(recurring, c);
    if (!is_known) {
        ts_count_melee(c);
    }
    ts_count_stones(c);
    if (!is_known) {
        ts_count_operations(c);
    }
    if (!is_known && recurring != NULL && ts_diag_errors_since(c->diag, mark) == 0) {
        ts_recurring_keep(recurring, c);
    }
    count_services(c);
    if (!c->is_bare) {
        ts_count_cautions(c);
        ts_count_harmony(c);
        ts_count_facts(c);
    }
    *out = c->out;
    return ts_diag_errors_since(c->diag, mark) > 0 ? TS_FAULTY : TS_OK;
}

ts_status ts_quantities_of(ts_quantities **out, ts_arena *arena, const ts_design *design,
                           const ts_geometry *geometry, const ts_book *book, ts_diag *diag)
{
    ts_counting c = {
        .arena = arena, .design = design, .geometry = geometry, .book = book, .diag = diag};

    return count(&c, NULL, out);
}

ts_status ts_quantities_bare_of(ts_quantities **out, ts_arena *arena, const ts_design *design,
                                const ts_geometry *geometry, const ts_book *book, ts_diag *diag)
{
    ts_counting c = {.arena = arena,
                     .design = design,
                     .geometry = geometry,
                     .book = book,
                     .diag = diag,
                     .is_bare = true};

    return count(&c, NULL, out);
}

ts_status ts_recurring_quantities_of(ts_quantities **out, ts_recurring *recurring, ts_arena *arena,
                                     const ts_design *design, const ts_geometry *geometry,
                                     ts_diag *diag)
{
    ts_counting c = {.arena = arena,
                     .design = design,
                     .geometry = geometry,
                     .book = ts_recurring_book(recurring),
                     .diag = diag,
                     .is_bare = true};

    return count(&c, recurring, out);
}
