#include "papers/ledger.h"
#include "papers/xlsx.h"

#include <tallystone/base/text.h>

#include <string.h>

/* From a figure's tree to the text of a formula. Two laws: a formula rounds where the
 * engine rounds and nowhere else, and a recalculation by another program finds the same
 * figure. Binary arithmetic is kept from tipping a figure over an edge by rounding to nine
 * decimals before anything is taken up to a whole. */

/* How tightly a text binds, for brackets. */
enum { ADDED = 1, MULTIPLIED, WHOLE };

#define MOST_TERMS 6    /* of a sum written with plus signs */
#define LONG_TEXT 400   /* beyond this a part gets a cell of its own */
#define SHARED_LEAVES 3 /* a part used twice gets one if it is not smaller than this */

static const char *refer(ts_ledger *ledger, const ts_figure *figure, int level);
static const char *expand(ts_ledger *ledger, const ts_figure *figure, int *level);
static void terms(ts_ledger *ledger, const char **out, const ts_figure *figure, bool minus);

static const char *bracketed(ts_ledger *ledger, const char *text, int has, int wants)
{
    return has < wants ? ts_arena_format(ledger->arena, "(%s)", text) : text;
}

static const char *number(ts_ledger *ledger, const ts_figure *figure)
{
    char text[TS_DECIMAL_TEXT];
    bool exact;
    return ts_arena_text(ledger->arena, ts_figure_text(text, figure, &exact));
}

static const char *cell_of(ts_ledger *ledger, const ts_ledger_place *place)
{
    char cell[24];
    return ts_arena_format(ledger->arena, "%s%s", ledger->on_lines ? "" : "Lines!",
                           ts_xlsx_cell(cell, place->row, place->column, false));
}

static bool is_leaf(const ts_figure *figure)
{
    return figure->op == TS_OP_BOOK || figure->op == TS_OP_QUANTITY;
}

static bool shares_with_none(const ts_figure *figure)
{
    return figure->op == TS_OP_SHARE && figure->arg_count == 2;
}

/* What the figure's formula would name: cells, and leaves other than plain numbers. */
static int leaves(ts_ledger *ledger, const ts_figure *figure)
{
    if (figure->op == TS_OP_CONSTANT) {
        return 0;
    }
    if (figure->arg_count == 0 || ts_ledger_find(ledger, figure) != NULL ||
        ts_ledger_at(ledger, figure)->name != NULL) {
        return 1;
    }
    int count = 0;
    for (int i = 0; i < figure->arg_count; i++) {
        count += leaves(ledger, figure->args[i]);
    }
    return count;
}

/* A sum of one, a share with nobody else: the figure behind it. */
static const ts_figure *behind(ts_ledger *ledger, const ts_figure *figure)
{
    while (((figure->op == TS_OP_SUM && figure->arg_count == 1) || shares_with_none(figure)) &&
           ts_ledger_find(ledger, figure) == NULL) {
        figure = figure->args[0];
    }
    return figure;
}

static bool wants_cell(ts_ledger *ledger, const ts_figure *figure)
{
    if (figure->op == TS_OP_SHARE) {
        return !shares_with_none(figure);
    }
    bool shared = ts_ledger_at(ledger, figure)->parents > 1;
    if (figure->op == TS_OP_ROUND) {
        int count = leaves(ledger, figure);
        return count >= SHARED_LEAVES || (shared && count > 1);
    }
    return shared && leaves(ledger, figure) >= SHARED_LEAVES;
}

/* ---- sums ---- */

static void add_text(ts_ledger *ledger, const char **out, const char *text, bool minus)
{
    bool begins = (*out)[0] == '\0';
    if (minus) {
        bool simple = text[0] != '-';
        *out = ts_arena_format(ledger->arena, simple ? "%s-%s" : "%s-(%s)", *out, text);
    } else {
        *out = ts_arena_format(ledger->arena, "%s%s%s", *out, begins || text[0] == '-' ? "" : "+",
                               text);
    }
}

/* Cells under one another become a range. */
static const char *list_of(ts_ledger *ledger, const ts_figure *figure)
{
    const char *out = "";
    for (int i = 0; i < figure->arg_count;) {
        const ts_ledger_place *first = ts_ledger_find(ledger, figure->args[i]);
        int run = 1;
        while (first != NULL && !first->negative && i + run < figure->arg_count) {
            const ts_ledger_place *next = ts_ledger_find(ledger, figure->args[i + run]);
            if (next == NULL || next->negative || next->column != first->column ||
                next->row != first->row + run) {
                break;
            }
            run++;
        }
        const char *text = refer(ledger, figure->args[i], ADDED);
        if (run > 1) {
            char cell[24];
            text = ts_arena_format(ledger->arena, "%s:%s", text,
                                   ts_xlsx_cell(cell, first->row + run - 1, first->column, false));
        }
        out = ts_text_joined(ledger->arena, out, ",", text);
        i += run;
    }
    return out;
}

static bool is_zero(const ts_figure *figure)
{
    return figure->op == TS_OP_CONSTANT && figure->value.num == 0;
}

/* The terms of a sum or difference itself, its own cell left aside. */
static void own_terms(ts_ledger *ledger, const char **out, const ts_figure *figure, bool minus)
{
    if (figure->op == TS_OP_SUM && figure->arg_count > MOST_TERMS) {
        add_text(ledger, out, ts_arena_format(ledger->arena, "SUM(%s)", list_of(ledger, figure)),
                 minus);
        return;
    }
    for (int i = 0; i < figure->arg_count; i++) {
        bool taken_off = figure->op == TS_OP_SUB && i > 0;
        terms(ledger, out, figure->args[i], minus != taken_off);
    }
}

static void terms(ts_ledger *ledger, const char **out, const ts_figure *figure, bool minus)
{
    figure = behind(ledger, figure);
    if (is_zero(figure)) {
        return;
    }
    const ts_ledger_place *place = ts_ledger_find(ledger, figure);
    if (place != NULL) {
        add_text(ledger, out, cell_of(ledger, place), minus != place->negative);
        return;
    }
    bool additive = figure->op == TS_OP_SUM || figure->op == TS_OP_SUB;
    if (additive && ts_ledger_at(ledger, figure)->name == NULL && !wants_cell(ledger, figure)) {
        own_terms(ledger, out, figure, minus);
        return;
    }
    add_text(ledger, out, refer(ledger, figure, MULTIPLIED), minus);
}

/* ---- the other operations ---- */

/* Half to even: a tie goes to the even neighbour. Source: IEEE 754, roundTiesToEven, on
 * the decimal value; a tie is told from its neighbours within 1E-7 of a unit. */
static const char *to_even(ts_ledger *ledger, const char *x, int places)
{
    const char *units = ts_arena_format(ledger->arena, "%s*1E%d", x, places);
    return ts_arena_format(ledger->arena,
                           "IF(ABS(MOD(%s,1)-0.5)<1E-7,2*ROUND(%s/2,0)/1E%d,ROUND(%s,%d))", units,
                           units, places, x, places);
}

static const char *make_work(ts_ledger *ledger, const ts_figure *figure);

static const char *rounded(ts_ledger *ledger, const ts_figure *figure)
{
    const ts_figure *of = figure->args[0];
    if (ledger->mode != TS_HALF_EVEN) {
        return ts_arena_format(ledger->arena, "ROUND(%s,%d)", refer(ledger, of, ADDED),
                               figure->places);
    }
    bool has_cell =
        is_leaf(of) || ts_ledger_find(ledger, of) != NULL || ts_ledger_at(ledger, of)->name != NULL;
    const char *x = has_cell ? refer(ledger, of, WHOLE) : make_work(ledger, of);
    return to_even(ledger, x, figure->places);
}

static const char *listed(ts_ledger *ledger, const ts_figure *figure, const char *function)
{
    return ts_arena_format(ledger->arena, "%s(%s)", function, list_of(ledger, figure));
}

static const char *product(ts_ledger *ledger, const ts_figure *figure)
{
    const char *out = "";
    for (int i = 0; i < figure->arg_count; i++) {
        out = ts_text_joined(ledger->arena, out, "*", refer(ledger, figure->args[i], MULTIPLIED));
    }
    return out;
}

/* A figure's formula from its arguments, whatever cell it may have. */
static const char *expand(ts_ledger *ledger, const ts_figure *figure, int *level)
{
    const char *out = "";
    *level = WHOLE;
    switch (figure->op) {
    case TS_OP_BOOK:
    case TS_OP_QUANTITY:
        return ts_ledger_leaf_name(ledger, figure);
    case TS_OP_CONSTANT:
        return number(ledger, figure);
    case TS_OP_SUM:
    case TS_OP_SUB:
        *level = ADDED;
        own_terms(ledger, &out, figure, false);
        return out[0] == '\0' ? "0" : out;
    case TS_OP_MUL:
        *level = MULTIPLIED;
        return product(ledger, figure);
    case TS_OP_DIV:
        *level = MULTIPLIED;
        out = refer(ledger, figure->args[0], MULTIPLIED);
        return ts_arena_format(ledger->arena, "%s/%s", out, refer(ledger, figure->args[1], WHOLE));
    case TS_OP_ROUND:
        return rounded(ledger, figure);
    case TS_OP_CEILING:
        /* counts of things: never below nothing */
        return ts_arena_format(ledger->arena, "ROUNDUP(ROUND(%s,9),0)",
                               refer(ledger, figure->args[0], ADDED));
    case TS_OP_STEP:
        *level = ADDED;
        out = refer(ledger, figure->args[1], WHOLE);
        return ts_arena_format(ledger->arena, "-INT(-ROUND(%s/%s,9))*%s",
                               refer(ledger, figure->args[0], MULTIPLIED), out, out);
    case TS_OP_MAX:
        return listed(ledger, figure, "MAX");
    case TS_OP_MIN:
        return listed(ledger, figure, "MIN");
    case TS_OP_SHARE:
        return refer(ledger, shares_with_none(figure) ? figure->args[0] : figure, WHOLE);
    }
    return "0";
}

/* ---- cells of Workings ---- */

/* One share of a block by largest remainder, ties to the earlier: costing.md, ts_split. */
typedef struct block {
    const ts_figure *figure; /* any share of it */
    const char *total;
    int first, last; /* rows */
} block;

static const char *at(ts_ledger *ledger, int column, int row)
{
    char cell[24];
    return ts_arena_text(ledger->arena, ts_xlsx_cell(cell, row, column, false));
}

static const char *column_of(ts_ledger *ledger, const block *b, int column)
{
    char first[24], last[24];
    return ts_arena_format(ledger->arena, "%s:%s", ts_xlsx_cell(first, b->first, column, true),
                           ts_xlsx_cell(last, b->last, column, true));
}

static bool scaled(int64_t *out, ts_ratio value, int64_t by, ts_rounding mode)
{
    ts_ratio product_of;
    return ts_ratio_mul(&product_of, value, (ts_ratio){by, 1}) &&
           ts_div_round(out, product_of.num, product_of.den, mode);
}

static ts_ratio sum_of_weights(const ts_figure *figure)
{
    ts_ratio sum = {0, 1};
    for (int i = 1; i < figure->arg_count; i++) {
        ts_ratio more;
        if (ts_ratio_add(&more, sum, figure->args[i]->value)) {
            sum = more;
        }
    }
    return sum;
}

/* The values that the block's formulas give, for the file's cache. */
static void share_values(ts_ledger_work *work, const ts_figure *figure, int index)
{
    enum { FINE = 100000000 };
    const ts_figure *weight = figure->args[index + 1];
    ts_ratio sum = sum_of_weights(figure), total = figure->args[0]->value, part = {0, 1};
    int64_t minor = 1, units, fine;
    for (int i = 0; i < figure->places; i++) {
        minor *= 10;
    }
    total.num = total.num < 0 ? -total.num : total.num;
    work->weight_value = weight->value;
    work->part_value = work->whole_value = work->rest_value = (ts_ratio){0, 1};
    if (sum.num == 0 || !ts_ratio_mul(&part, total, (ts_ratio){minor, 1}) ||
        !ts_ratio_mul(&part, part, weight->value) || !ts_ratio_div(&part, part, sum) ||
        !scaled(&fine, part, FINE, TS_HALF_AWAY)) {
        return;
    }
    units = fine / FINE;
    work->part_value = (ts_ratio){fine, FINE};
    work->whole_value = (ts_ratio){units, 1};
    work->rest_value = (ts_ratio){fine - units * FINE, FINE};
}

static const char *share_formula(ts_ledger *ledger, const block *b, int row)
{
    ts_arena *arena = ledger->arena;
    const char *weights = column_of(ledger, b, TS_WORK_WEIGHT);
    const char *wholes = column_of(ledger, b, TS_WORK_WHOLE);
    const char *rests = column_of(ledger, b, TS_WORK_REST);
    const char *rest = at(ledger, TS_WORK_REST, row);
    const char *above = ts_arena_format(arena, "%s:%s", at(ledger, TS_WORK_REST, b->first), rest);
    int places = b->figure->places;
    const char *rank = ts_arena_format(arena, "SUMPRODUCT((%s>%s)*1)+SUMPRODUCT((%s=%s)*1)", rests,
                                       rest, above, rest);
    const char *left =
        ts_arena_format(arena, "ROUND(ABS(%s)*1E%d,0)-SUM(%s)", b->total, places, wholes);
    return ts_arena_format(arena, "=IF(SUM(%s)=0,%s,SIGN(%s)*(%s+IF(%s<=%s,1,0))/1E%d)", weights,
                           row == b->first ? b->total : "0", b->total,
                           at(ledger, TS_WORK_WHOLE, row), rank, left, places);
}

static void fill_share(ts_ledger *ledger, ts_ledger_work *work, const block *b, const char *weight)
{
    ts_arena *arena = ledger->arena;
    int row = work->row;
    const char *weights = column_of(ledger, b, TS_WORK_WEIGHT);
    work->share = true;
    work->weight = ts_arena_format(arena, "=%s", weight);
    work->part =
        ts_arena_format(arena, "=IF(SUM(%s)=0,0,ROUND(ABS(%s)*1E%d*%s/SUM(%s),8))", weights,
                        b->total, b->figure->places, at(ledger, TS_WORK_WEIGHT, row), weights);
    work->whole = ts_arena_format(arena, "=INT(%s)", at(ledger, TS_WORK_PART, row));
    work->rest = ts_arena_format(arena, "=ROUND(%s-%s,8)", at(ledger, TS_WORK_PART, row),
                                 at(ledger, TS_WORK_WHOLE, row));
    work->formula = share_formula(ledger, b, row);
}

/* Is there a block of the same total and weights already? Its name for this index. */
static const char *find_share(ts_ledger *ledger, const ts_figure *figure)
{
    return ts_ledger_at(ledger, figure)->name;
}

static const ts_figure *sibling(ts_ledger *ledger, const ts_figure *figure, int index)
{
    if (index == figure->index) {
        return figure;
    }
    return ts_figure_share(ledger->arena, figure->args[index + 1]->name, figure->unit,
                           figure->args[0], figure->args + 1, figure->arg_count - 1, index,
                           figure->places);
}

static const char *make_shares(ts_ledger *ledger, const ts_figure *figure)
{
    int count = figure->arg_count - 1;
    const char **weights = TS_ARRAY(ledger->arena, const char *, (size_t)count);
    block b = {.figure = figure, .total = refer(ledger, figure->args[0], WHOLE)};
    for (int i = 0; i < count; i++) {
        weights[i] = refer(ledger, figure->args[i + 1], ADDED);
    }
    b.first = ledger->next_row;
    b.last = b.first + count - 1;
    for (int i = 0; i < count; i++) {
        const ts_figure *share = sibling(ledger, figure, i);
        if (share == NULL) {
            return "0";
        }
        ts_ledger_work *work = ts_ledger_work_add(ledger, share);
        work->what = ts_arena_format(ledger->arena, "%s, share of %s", figure->args[0]->name,
                                     figure->args[i + 1]->name);
        work->name = ts_ledger_name(
            ledger, ts_arena_format(ledger->arena, "share %s", figure->args[i + 1]->name));
        fill_share(ledger, work, &b, weights[i]);
        share_values(work, figure, i);
        ts_ledger_at(ledger, share)->name = work->name;
    }
    return find_share(ledger, figure);
}

static const char *make_work(ts_ledger *ledger, const ts_figure *figure)
{
    int level;
    bool on_lines = ledger->on_lines;
    ledger->on_lines = false;
    const char *name;
    if (figure->op == TS_OP_SHARE) {
        name = make_shares(ledger, figure);
    } else {
        const char *formula = expand(ledger, figure, &level);
        ts_ledger_work *work = ts_ledger_work_add(ledger, figure);
        work->formula = ts_arena_format(ledger->arena, "=%s", formula);
        work->name = ts_ledger_name(ledger, figure->name);
        name = work->name;
        ts_ledger_at(ledger, figure)->name = name;
    }
    ledger->on_lines = on_lines;
    return name;
}

/* ---- a figure inside another's formula ---- */

static const char *refer(ts_ledger *ledger, const ts_figure *figure, int level)
{
    figure = behind(ledger, figure);
    const ts_ledger_place *place = ts_ledger_find(ledger, figure);
    if (place != NULL) {
        const char *cell = cell_of(ledger, place);
        return place->negative
                   ? bracketed(ledger, ts_arena_format(ledger->arena, "-%s", cell), ADDED, level)
                   : cell;
    }
    if (figure->op == TS_OP_CONSTANT) {
        return bracketed(ledger, number(ledger, figure), figure->value.num < 0 ? ADDED : WHOLE,
                         level);
    }
    if (is_leaf(figure)) {
        return ts_ledger_leaf_name(ledger, figure);
    }
    const char *name = ts_ledger_at(ledger, figure)->name;
    if (name != NULL) {
        return name;
    }
    if (wants_cell(ledger, figure)) {
        return make_work(ledger, figure);
    }
    int has;
    const char *text = expand(ledger, figure, &has);
    return strlen(text) > LONG_TEXT ? make_work(ledger, figure)
                                    : bracketed(ledger, text, has, level);
}

const char *ts_ledger_formula(ts_ledger *ledger, const ts_figure *figure, bool negative)
{
    int level;
    ledger->on_lines = true;
    const char *name = ts_ledger_at(ledger, figure)->name;
    if (figure->op == TS_OP_SUM || figure->op == TS_OP_SUB) {
        const char *out = "";
        own_terms(ledger, &out, figure, negative);
        return ts_arena_format(ledger->arena, "=%s", out[0] == '\0' ? "0" : out);
    }
    if (figure->op == TS_OP_SHARE && !shares_with_none(figure) && name == NULL) {
        name = make_work(ledger, figure);
    }
    const char *text = name != NULL ? name : expand(ledger, figure, &level);
    bool brackets = negative && text[0] == '-';
    return ts_arena_format(ledger->arena, brackets ? "=%s(%s)" : "=%s%s", negative ? "-" : "",
                           text);
}

const char *ts_ledger_elsewhere(ts_ledger *ledger, const ts_figure *figure)
{
    ledger->on_lines = false;
    return ts_arena_format(ledger->arena, "=%s", refer(ledger, figure, ADDED));
}

const char *ts_ledger_call(ts_ledger *ledger, const ts_figure *figure, bool on_lines)
{
    ledger->on_lines = on_lines;
    return refer(ledger, figure, WHOLE);
}
