#include <tallystone/costing/insight.h>

#include "costing/slope.h"

#include <string.h>

/* The break-even price told as steps. Nothing here decides: the option is costed anew at the
 * price that was found, and its own trees are told, with the market price tried in the place of
 * the book's. */

enum { MARGIN = 1, FLOOR, TRIED, TODAY, LINES, MOST }; /* in the order of the steps; 0: price */

typedef struct chain {
    ts_arena *arena;
    const ts_break_even *one;
    const ts_costing *costing; /* at the price */
    const ts_figure *income;
    const ts_figure *figures[MOST];
} chain;

/* The leaf of the market price: in the place of the books' cell, which holds today's. */
static const ts_figure *tried(const chain *c, const ts_figure *figure)
{
    if (figure->op == TS_OP_BOOK) {
        return figure->line == c->one->market->line &&
                       strcmp(figure->file, c->one->market->file) == 0
                   ? figure
                   : NULL;
    }
    const ts_figure *found = NULL;
    for (int i = 0; i < figure->arg_count && found == NULL; i++) {
        found = tried(c, figure->args[i]);
    }
    return found;
}

static const ts_figure *relabelled(const chain *c, const ts_figure *leaf)
{
    ts_figure *own = (ts_figure *)leaf; /* made for this chain alone */
    own->op = TS_OP_QUANTITY;
    own->says =
        ts_arena_format(c->arena, "tried in place of %s:%d %s", own->file, own->line, own->column);
    own->name = ts_arena_format(c->arena, "%s, tried", own->name);
    own->file = own->column = NULL;
    own->line = 0;
    return own;
}

static const ts_figure *constant(const chain *c, int64_t e6)
{
    return ts_figure_constant(c->arena, "so much", (ts_dec){e6}, "");
}

static const ts_figure *two(const chain *c, ts_op op, const ts_figure *a, const ts_figure *b)
{
    return ts_figure_two(c->arena, op, "", "", a, b);
}

static const ts_figure *rounded(const chain *c, const char *name, const ts_figure *of)
{
    return ts_figure_round(c->arena, name, c->costing->currency, of, 6, c->costing->rounding);
}

/* The power of ten below the price: what is rounded to six decimals is then fine enough. */
static int64_t so_much(ts_dec price)
{
    int64_t e6 = 1;
    while (e6 * 10 <= price.e6) {
        e6 *= 10;
    }
    return e6;
}

/* What may be cost of each unit of net: one less the least margin that is printed as the floor,
 * half of a hundredth of a per cent under it. */
static const ts_figure *left_for_cost(const chain *c)
{
    const ts_figure *least = c->figures[FLOOR];
    if (c->costing->floor_pct.e6 % 10000 != 0) {
        least = ts_figure_two(c->arena, TS_OP_STEP, "floor as it is printed", "%", least,
                              constant(c, 10000));
    }
    const ts_figure *hundred = constant(c, 100000000);
    least = two(c, TS_OP_SUB, least, constant(c, 5000));
    return two(c, TS_OP_DIV, two(c, TS_OP_SUB, hundred, least), hundred);
}

/* Where the lines of net and cost meet the floor: the price, and what is over the floor there
 * by what more of price takes of it. NULL where they run side by side. */
static const ts_figure *lines_meet(const chain *c)
{
    char text[TS_DECIMAL_TEXT];
    const int64_t by = so_much(c->one->price);
    ts_slopes s = {.arena = c->arena,
                   .leaf = c->figures[TRIED],
                   .by = constant(c, by),
                   .mode = c->costing->rounding};
    s.by_words = ts_arena_format(c->arena, "%s %s a %s", ts_dec_text(text, (ts_dec){by}),
                                 c->one->market->unit, c->one->per);
    const ts_figure *of_income = ts_slope_of(&s, c->income),
                    *of_cost = ts_slope_of(&s, c->costing->cost);
    if (of_cost == NULL || s.overflowed) {
        return NULL;
    }
    const char *more = s.by_words;
    const ts_figure *part = left_for_cost(c);
    const ts_figure *over =
        rounded(c, "over the floor at this price",
                two(c, TS_OP_SUB, two(c, TS_OP_MUL, c->income, part), c->costing->cost));
    const ts_figure *cost_up =
        rounded(c, ts_arena_format(c->arena, "what %s more adds to the cost", more), of_cost);
    const ts_figure *income_up =
        rounded(c, ts_arena_format(c->arena, "what %s more adds to net", more),
                of_income == NULL ? constant(c, 0) : of_income);
    const ts_figure *takes =
        rounded(c, ts_arena_format(c->arena, "what %s more takes of it", more),
                two(c, TS_OP_SUB, cost_up, two(c, TS_OP_MUL, income_up, part)));
    if (takes == NULL || takes->value.num == 0) {
        return NULL;
    }
    const ts_figure *bears = two(c, TS_OP_MUL, two(c, TS_OP_DIV, over, takes), constant(c, by));
    return ts_figure_round(c->arena, "where the lines of net and cost meet the floor",
                           c->one->market->unit, two(c, TS_OP_SUM, c->figures[TRIED], bears),
                           c->one->places, c->costing->rounding);
}

static ts_step head_of(const chain *c)
{
    char price[TS_DECIMAL_TEXT], beyond[TS_DECIMAL_TEXT], step[TS_DECIMAL_TEXT];
    const ts_break_even *one = c->one;
    const char *metal = ts_list_word(TS_LIST_METAL, (int)one->metal);
    ts_step head = {.number = 1,
                    .what = ts_arena_format(c->arena, "break-even of %s", metal),
                    .value = "",
                    .unit = one->market->unit,
                    .formula = ""};
    if (!one->found) {
        head.origin = ts_arena_format(c->arena,
                                      "no price of %s up to a thousand times today's brings the "
                                      "margin to the floor",
                                      metal);
        return head;
    }
    const bool rising = one->above == one->kept;
    head.value = ts_arena_text(c->arena, ts_dec_text(price, one->price));
    head.formula = ts_arena_format(
        c->arena, "%s(#%d, #%d: #%d, #%d, %s%s%s)", one->kept ? "last" : "first", MARGIN + 1,
        FLOOR + 1, TRIED + 1, TODAY + 1, rising ? "" : "-", ts_dec_text(step, one->step),
        c->figures[LINES] == NULL ? "" : ts_arena_format(c->arena, ": #%d", LINES + 1));
    head.origin = ts_arena_format(
        c->arena, "%s price from today's on at which the floor is met; at %s it is missed",
        one->kept ? "last" : "first", ts_dec_text(beyond, one->beyond));
    return head;
}

/* What the steps after the first tell; false where exact arithmetic holds no such price. */
static bool cost_anew(chain *c, const ts_costing *costing)
{
    const ts_break_even *one = c->one;
    ts_costing *anew = NULL;
    const ts_book *book =
        ts_book_changed(c->arena, costing->book, &one->row->head, "price", one->price);
    if (ts_costing_of(&anew, c->arena, costing->needs, book, ts_diag_new(c->arena)) != TS_OK) {
        return false;
    }
    const ts_figure *leaf = tried(c, anew->cost);
    leaf = leaf != NULL ? leaf : tried(c, anew->net); /* old metal alone, by way of the fee */
    if (leaf == NULL || !anew->has_margin) {
        return false;
    }
    c->costing = anew;
    c->income = ts_income_figure(c->arena, anew);
    c->figures[MARGIN] = ts_margin_figure_on(c->arena, anew, c->income);
    c->figures[FLOOR] =
        ts_figure_book(c->arena, "floor", anew->floor_pct, "%", ts_book_file_name(TS_BOOK_POLICY),
                       anew->floor_row->head.line, "value");
    c->figures[TRIED] = relabelled(c, leaf);
    c->figures[TODAY] = one->market;
    c->figures[LINES] = lines_meet(c);
    return true;
}

size_t ts_break_even_chain(const ts_step **out, ts_arena *arena, const ts_costing *costing,
                           const ts_break_even *one)
{
    chain c = {.arena = arena, .one = one};
    const ts_step *rest = NULL;
    size_t count = 0;
    if (one->found && cost_anew(&c, costing)) {
        const size_t roots = c.figures[LINES] == NULL ? LINES - 1 : LINES;
        count = ts_chain_from(&rest, arena, c.figures + 1, roots, 2);
    }
    ts_step *steps = TS_ARRAY(arena, ts_step, count + 1);
    steps[0] = head_of(&c);
    for (size_t i = 0; i < count; i++) {
        steps[i + 1] = rest[i];
    }
    *out = steps;
    return count + 1;
}
