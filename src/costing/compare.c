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

typedef struct origin {
    ts_arena *arena;
    const char *text;
} origin;

static bool has_word(const char *text, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = text; (at = strstr(at, word)) != NULL; at += length) {
        bool begins = at == text || at[-1] == ' ';
        bool ends = at[length] == '\0' || at[length] == ' ';
        if (begins && ends) {
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
    if (figure->file != NULL && figure->line > 0) {
        const char *word = ts_arena_format(o->arena, "%s:%d", figure->file, figure->line);
        if (!has_word(o->text, word)) {
            o->text = o->text[0] == '\0' ? word : ts_arena_format(o->arena, "%s %s", o->text, word);
        }
    }
    for (int i = 0; i < figure->arg_count; i++) {
        walk(o, figure->args[i]);
    }
}

const char *ts_figure_origin(ts_arena *arena, const ts_figure *const *figures, int count)
{
    origin o = {arena, ""};
    for (int i = 0; i < count; i++) {
        walk(&o, figures[i]);
    }
    return o.text;
}
