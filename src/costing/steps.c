#include <tallystone/costing/steps.h>

#include <string.h>

/* A figure's tree told as numbered steps. What is rounded, shared, summed, or stands in a
 * book is a step of its own; products and quotients stand inside the step that rounds
 * them, as they do in a person's calculator. */

typedef struct teller {
    ts_arena *arena;
    const ts_figure **figures; /* step N tells figures[N - first] */
    size_t first;
    size_t count;
    size_t room;
} teller;

static bool own_step(const ts_figure *figure)
{
    switch (figure->op) {
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
    case TS_OP_ROUND:
    case TS_OP_CEILING:
    case TS_OP_STEP:
    case TS_OP_SHARE:
        return true;
    case TS_OP_SUM:
    case TS_OP_SUB:
    case TS_OP_MAX:
    case TS_OP_MIN: {
        ts_dec exact;
        return figure->unit[0] != '\0' && strcmp(figure->unit, "%") != 0 &&
               ts_figure_dec(&exact, figure);
    }
    case TS_OP_CONSTANT:
    case TS_OP_MUL:
    case TS_OP_DIV:
        return false;
    }
    return false;
}

/* The number of a figure's step; it gets one where it has none yet. */
static size_t number_of(teller *t, const ts_figure *figure)
{
    for (size_t i = 0; i < t->count; i++) {
        if (t->figures[i] == figure) {
            return i + t->first;
        }
    }
    t->figures = ts_arena_grow(t->arena, t->figures, t->count, &t->room, sizeof *t->figures);
    t->figures[t->count++] = figure;
    return t->count - 1 + t->first;
}

static const char *expression(teller *t, const ts_figure *figure);

/* An argument: a step's number, or an expression of its own, in brackets where it is a
 * sum inside a product or a quotient inside either. */
static const char *argument(teller *t, const ts_figure *figure, ts_op outer, bool first)
{
    if (own_step(figure)) {
        return ts_arena_format(t->arena, "#%zu", number_of(t, figure));
    }
    const char *inner = expression(t, figure);
    bool product = outer == TS_OP_MUL || outer == TS_OP_DIV;
    bool sum = figure->op == TS_OP_SUM || figure->op == TS_OP_SUB;
    bool quotient = figure->op == TS_OP_MUL || figure->op == TS_OP_DIV;
    bool brackets = (product && sum) || (product && quotient && !first) ||
                    (outer == TS_OP_SUB && sum && !first);
    return brackets ? ts_arena_format(t->arena, "(%s)", inner) : inner;
}

static const char *joined(teller *t, const ts_figure *figure, const char *sign, ts_op outer)
{
    const char *text = argument(t, figure->args[0], outer, true);
    for (int i = 1; i < figure->arg_count; i++) {
        text = ts_arena_format(t->arena, "%s%s%s", text, sign,
                               argument(t, figure->args[i], outer, false));
    }
    return text;
}

static const char *called(teller *t, const char *name, const ts_figure *figure)
{
    return ts_arena_format(t->arena, "%s(%s)", name, joined(t, figure, ", ", TS_OP_MAX));
}

static const char *shared(teller *t, const ts_figure *figure)
{
    const char *weights = argument(t, figure->args[1], TS_OP_MAX, true);
    for (int i = 2; i < figure->arg_count; i++) {
        weights = ts_arena_format(t->arena, "%s, %s", weights,
                                  argument(t, figure->args[i], TS_OP_MAX, true));
    }
    return ts_arena_format(t->arena, "share(%s: %s: %d, %d)",
                           argument(t, figure->args[0], TS_OP_MAX, true), weights,
                           figure->index + 1, figure->places);
}

static const char *expression(teller *t, const ts_figure *figure)
{
    char text[TS_DECIMAL_TEXT];
    bool exact;
    switch (figure->op) {
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
        return "";
    case TS_OP_CONSTANT:
        return ts_arena_text(t->arena, ts_figure_text(text, figure, &exact));
    case TS_OP_SUM:
        return joined(t, figure, " + ", TS_OP_SUM);
    case TS_OP_SUB:
        return joined(t, figure, " - ", TS_OP_SUB);
    case TS_OP_MUL:
        return joined(t, figure, " \xc3\x97 ", TS_OP_MUL);
    case TS_OP_DIV:
        return joined(t, figure, " / ", TS_OP_DIV);
    case TS_OP_ROUND:
        return ts_arena_format(t->arena, "round(%s, %d)",
                               argument(t, figure->args[0], TS_OP_MAX, true), figure->places);
    case TS_OP_CEILING:
        return called(t, "ceiling", figure);
    case TS_OP_STEP:
        return called(t, "step", figure);
    case TS_OP_MAX:
        return called(t, "max", figure);
    case TS_OP_MIN:
        return called(t, "min", figure);
    case TS_OP_SHARE:
        return shared(t, figure);
    }
    return "";
}

static const char *origin_of(ts_arena *arena, const ts_figure *figure)
{
    const char *more = figure->column != NULL ? figure->column : figure->says;
    if (figure->file == NULL || figure->line == 0) {
        return more == NULL ? "" : more;
    }
    return ts_arena_format(arena, "%s:%d%s%s", figure->file, figure->line, more == NULL ? "" : " ",
                           more == NULL ? "" : more);
}

size_t ts_chain_from(const ts_step **out, ts_arena *arena, const ts_figure *const *figures,
                     size_t count, size_t first)
{
    teller t = {.arena = arena, .first = first};
    ts_step *steps = NULL;
    size_t room = 0;
    for (size_t i = 0; i < count; i++) {
        number_of(&t, figures[i]);
    }
    for (size_t i = 0; i < t.count; i++) {
        char text[TS_DECIMAL_TEXT];
        bool exact;
        const ts_figure *told = t.figures[i];
        steps = ts_arena_grow(arena, steps, i, &room, sizeof *steps);
        const char *value = ts_figure_text(text, told, &exact);
        steps[i] = (ts_step){.number = (int)(i + first),
                             .what = told->name,
                             .value = ts_arena_format(arena, "%s%s", exact ? "" : "about ", value),
                             .unit = told->unit,
                             .formula = expression(&t, told),
                             .origin = origin_of(arena, told)};
    }
    *out = steps;
    return t.count;
}

size_t ts_chain_of(const ts_step **out, ts_arena *arena, const ts_figure *figure)
{
    return ts_chain_from(out, arena, &figure, 1, 1);
}

/* ---- what can be asked for ---- */

#define MOST_TOTALS 16

size_t ts_amounts_of(const ts_amount_named **out, ts_arena *arena, const ts_costing *c)
{
    const ts_amount_named totals[] = {
        {"cost", c->cost},         {"lines", c->lines_price},
        {"discount", c->discount}, {"surcharge", c->surcharge},
        {"minimum", c->minimum},   {"rounding", c->net_rounding},
        {"net", c->net},           {"tax", c->tax},
        {"total", c->total},       {"rounding of total", c->total_rounding},
        {"trade-in", c->trade_in}, {"to pay", c->to_pay},
    };
    size_t most = (size_t)(c->line_count + c->trade_in_count + c->stage_count) + MOST_TOTALS;
    ts_amount_named *list = TS_ARRAY(arena, ts_amount_named, most);
    size_t count = 0;
    for (int i = 0; i < c->line_count; i++) {
        list[count++] = (ts_amount_named){c->lines[i].item, c->lines[i].price};
    }
    for (int i = 0; i < c->trade_in_count; i++) {
        list[count++] = (ts_amount_named){c->trade_ins[i].item, c->trade_ins[i].amount};
    }
    for (size_t i = 0; i < sizeof totals / sizeof totals[0]; i++) {
        if (totals[i].figure != NULL) {
            list[count++] = totals[i];
        }
    }
    for (int i = 0; i < c->stage_count; i++) {
        list[count++] = (ts_amount_named){c->stages[i].name, c->stages[i].amount};
    }
    *out = list;
    return count;
}

const ts_figure *ts_income_figure(ts_arena *arena, const ts_costing *c)
{
    return c->surcharge == NULL ? c->net
                                : ts_figure_two(arena, TS_OP_SUB, "net less surcharge", c->currency,
                                                c->net, c->surcharge);
}

const ts_figure *ts_margin_figure(ts_arena *arena, const ts_costing *c)
{
    return c->has_margin ? ts_margin_figure_on(arena, c, ts_income_figure(arena, c)) : NULL;
}

const ts_figure *ts_margin_figure_on(ts_arena *arena, const ts_costing *c, const ts_figure *income)
{
    const ts_figure *hundred = ts_figure_constant(arena, "per cent", (ts_dec){100000000}, "");
    const ts_figure *left =
        ts_figure_two(arena, TS_OP_SUB, "what is left", c->currency, income, c->cost);
    const ts_figure *part = ts_figure_two(arena, TS_OP_DIV, "part that is left", "", left, income);
    return ts_figure_round(arena, "margin", "%",
                           ts_figure_two(arena, TS_OP_MUL, "margin", "%", part, hundred), 2,
                           TS_HALF_AWAY);
}
