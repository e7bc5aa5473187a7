#include "costing/form.h"

/* Fractions do the work: every factor is a ts_ratio in lowest terms, whose own operations
 * know when they leave 128 bits. Forms are made once a recipe, never once a row. */

#define MOST (((ts_i128)1 << 126) - 1)

static ts_i128 size_of(ts_i128 value)
{
    return value < 0 ? -value : value;
}

/* Nearly all are narrow, and their product fits without a look at it. */
bool ts_wide_times(ts_i128 *out, ts_i128 a, ts_i128 b)
{
    const bool narrow = (int64_t)a == a && (int64_t)b == b;
    if (!narrow && b != 0 && size_of(a) > MOST / size_of(b)) {
        return false;
    }
    *out = a * b;
    return true;
}

bool ts_wide_plus(ts_i128 *out, ts_i128 a, ts_i128 b)
{
    if (size_of(a) > MOST || size_of(b) > MOST) {
        return false;
    }
    *out = a + b;
    return true;
}

ts_form ts_form_constant(ts_ratio value)
{
    return (ts_form){.constant = value};
}

ts_form ts_form_number(ts_arena *arena, int number, ts_ratio factor)
{
    ts_form_term *term = TS_NEW(arena, ts_form_term);
    *term = (ts_form_term){factor, number, TS_FORM_ONE};
    return (ts_form){.constant = {0, 1}, .terms = term, .count = 1};
}

bool ts_form_is_number(const ts_form *form)
{
    return form->count == 1 && form->terms[0].b == TS_FORM_ONE && form->constant.num == 0;
}

/* Adds a term to those of the same numbers, or as one more. */
static bool gather(ts_form_term *terms, int *count, const ts_form_term *term)
{
    for (int i = 0; i < *count; i++) {
        if (terms[i].a == term->a && terms[i].b == term->b) {
            return ts_ratio_add(&terms[i].factor, terms[i].factor, term->factor);
        }
    }
    terms[(*count)++] = *term;
    return true;
}

bool ts_form_add(ts_form *out, ts_arena *arena, const ts_form *one, const ts_form *other)
{
    const size_t most = (size_t)(one->count + other->count) + 1;
    ts_form_term *terms = TS_ARRAY(arena, ts_form_term, most);
    int count = 0, kept = 0;
    ts_form sum = {.terms = terms};
    bool well = ts_ratio_add(&sum.constant, one->constant, other->constant);
    for (int i = 0; i < one->count; i++) {
        terms[count++] = one->terms[i];
    }
    for (int i = 0; well && i < other->count; i++) {
        well = gather(terms, &count, &other->terms[i]);
    }
    for (int i = 0; i < count; i++) {
        if (terms[i].factor.num != 0) {
            terms[kept++] = terms[i];
        }
    }
    sum.count = kept;
    *out = sum;
    return well;
}

bool ts_form_scale(ts_form *out, ts_arena *arena, const ts_form *of, ts_ratio by)
{
    ts_form_term *terms = TS_ARRAY(arena, ts_form_term, (size_t)of->count + 1);
    ts_form scaled = {.terms = terms, .count = by.num == 0 ? 0 : of->count};
    bool well = ts_ratio_mul(&scaled.constant, of->constant, by);
    for (int i = 0; well && i < scaled.count; i++) {
        terms[i] = of->terms[i];
        well = ts_ratio_mul(&terms[i].factor, of->terms[i].factor, by);
    }
    *out = scaled;
    return well;
}

bool ts_form_times(ts_form *out, ts_arena *arena, const ts_form *one, const ts_form *other)
{
    if (!ts_form_is_number(one) || !ts_form_is_number(other)) {
        return false;
    }
    ts_form_term *term = TS_NEW(arena, ts_form_term);
    const int a = one->terms[0].a, b = other->terms[0].a;
    *term = (ts_form_term){.a = a < b ? a : b, .b = a < b ? b : a};
    *out = (ts_form){.constant = {0, 1}, .terms = term, .count = 1};
    return ts_ratio_mul(&term->factor, one->terms[0].factor, other->terms[0].factor);
}

/* The least common multiple of two denominators. */
static bool common(ts_i128 *den, ts_i128 with)
{
    ts_ratio lowest;
    if (*den % with == 0) {
        return true;
    }
    return ts_ratio_of(&lowest, *den, with) && ts_wide_times(den, *den, lowest.den);
}

static bool grow(ts_i128 *bound, ts_i128 factor, int64_t a, int64_t b)
{
    ts_i128 size = factor < 0 ? -factor : factor;
    return ts_wide_times(&size, size, a) && ts_wide_times(&size, size, b) &&
           ts_wide_plus(bound, *bound, size);
}

bool ts_form_over(ts_form_whole *out, ts_arena *arena, const ts_form *form, const int64_t *bounds)
{
    ts_form_whole whole = {.den = form->constant.den,
                           .factors = TS_ARRAY(arena, ts_i128, (size_t)form->count + 1)};
    bool well = true;
    for (int i = 0; well && i < form->count; i++) {
        well = common(&whole.den, form->terms[i].factor.den);
    }
    well = well &&
           ts_wide_times(&whole.constant, form->constant.num, whole.den / form->constant.den) &&
           grow(&whole.bound, whole.constant, 1, 1);
    for (int i = 0; well && i < form->count; i++) {
        const ts_form_term *term = &form->terms[i];
        const int64_t other = term->b == TS_FORM_ONE ? 1 : bounds[term->b];
        well = ts_wide_times(&whole.factors[i], term->factor.num, whole.den / term->factor.den) &&
               grow(&whole.bound, whole.factors[i], bounds[term->a], other);
    }
    *out = whole;
    return well;
}
