#include <tallystone/base/text.h>
#include <tallystone/costing/costing.h>

#include <string.h>

/* How one option differs from the first, by section, and which rows a figure rests on. */

static bool money_of(ts_money *out, const ts_figure *figure, int exponent)
{
    out->minor = 0;
    return figure == NULL || ts_figure_money(out, figure, exponent);
}

static bool difference(ts_money *out, const ts_figure *first, const ts_figure *other, int exponent)
{
    ts_money a, b;
    return money_of(&a, first, exponent) && money_of(&b, other, exponent) &&
           ts_money_sub(out, b, a);
}

bool ts_costing_difference(ts_difference *out, const ts_costing *first, const ts_costing *other)
{
    int exponent = first->exponent;
    ts_difference d = {0};
    ts_money left;
    if (!difference(&d.total, first->total, other->total, exponent) ||
        !difference(&d.tax, first->tax, other->tax, exponent) ||
        !ts_money_sub(&left, d.total, d.tax)) {
        return false;
    }
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        if (!difference(&d.section[s], first->section_price[s], other->section_price[s],
                        exponent) ||
            !ts_money_sub(&left, left, d.section[s])) {
            return false;
        }
    }
    d.adjustments = left;
    *out = d;
    return true;
}

/* The rows met so far, in their order; each of them is put into words once. */
typedef struct origin {
    ts_arena *arena;
    const ts_figure **met;
    size_t count, room;
} origin;

static bool has_row(const origin *o, const ts_figure *figure)
{
    for (size_t i = 0; i < o->count; i++) {
        const ts_figure *met = o->met[i];
        if (met == figure || (met->line == figure->line && strcmp(met->file, figure->file) == 0)) {
            return true;
        }
    }
    return false;
}

static void walk(origin *o, const ts_figure *figure)
{
    if (figure == NULL) {
        return;
    }
    if (figure->file != NULL && figure->line > 0 && !has_row(o, figure)) {
        o->met = ts_arena_grow(o->arena, o->met, o->count, &o->room, sizeof *o->met);
        o->met[o->count++] = figure;
    }
    for (int i = 0; i < figure->arg_count; i++) {
        walk(o, figure->args[i]);
    }
}

const char *ts_figure_origin(ts_arena *arena, const ts_figure *const *figures, int count)
{
    origin o = {.arena = arena};
    const char *text = "";
    for (int i = 0; i < count; i++) {
        walk(&o, figures[i]);
    }
    for (size_t i = 0; i < o.count; i++) {
        text = ts_arena_format(arena, "%s%s%s:%d", text, i == 0 ? "" : " ", o.met[i]->file,
                               o.met[i]->line);
    }
    return text;
}
