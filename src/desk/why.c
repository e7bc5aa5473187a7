#include "desk/commission.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>
#include <tallystone/costing/insight.h>

#include <string.h>

/* `why`: the chain of one amount, or of every one where none is named. */

#define BREAK_EVEN "break-even" /* of every metal; of one: "break-even of gold" */

static size_t number_in(const char *text)
{
    size_t number = 0;
    for (const char *at = text; *at != '\0'; at++) {
        if (*at < '0' || *at > '9' || number > 100000) {
            return 0;
        }
        number = number * 10 + (size_t)(*at - '0');
    }
    return number;
}

/* The amount asked for, or NULL after a fault; the first `numbered` go by their numbers, too.
 * Totals win over lines of one name. */
static const ts_amount_named *find(const ts_request *request, const ts_amount_named *list,
                                   size_t count, size_t numbered, const char *item)
{
    size_t number = number_in(item);
    if (number > 0 && number <= numbered) {
        return &list[number - 1];
    }
    const char **names = TS_ARRAY(request->arena, const char *, count);
    for (size_t i = count; i > 0; i--) {
        names[i - 1] = list[i - 1].name;
        if (ts_text_same(list[i - 1].name, item)) {
            return &list[i - 1];
        }
    }
    int near = ts_nearest(item, names, count);
    ts_diag_add(request->diag, TS_FAULT_NAME_UNKNOWN, NULL,
                "there is no amount \"%s\"; a line's number (1 to %zu), its item, or a total such "
                "as net, tax, total, margin or break-even is expected",
                ts_text_show(request->arena, item, 60), numbered);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", names[near]);
    }
    return NULL;
}

static void tell(const ts_request *request, const ts_step *steps, size_t count,
                 const ts_costing *costing, bool header)
{
    enum { STEP, WHAT, VALUE, UNIT, FORMULA, ORIGIN };
    ts_table *table = ts_table_new(request->arena, TS_TABLE_WHY, costing->exponent);
    for (size_t i = 0; i < count; i++) {
        ts_cell *row = ts_table_row(table, false);
        row[STEP] = ts_cell_number((ts_dec){(int64_t)steps[i].number * 1000000});
        row[WHAT] = ts_cell_text(steps[i].what);
        row[VALUE] = ts_cell_word(steps[i].value);
        row[UNIT] = ts_cell_word(steps[i].unit);
        row[FORMULA] = ts_cell_word(steps[i].formula);
        row[ORIGIN] = ts_cell_text(steps[i].origin);
    }
    if (request->csv) {
        ts_table_csv(table, request->result, header);
    } else {
        ts_table_print(table, request->result, &request->screen);
    }
}

static void tell_amount(const ts_request *request, const ts_amount_named *one,
                        const ts_costing *costing, bool header)
{
    const ts_step *steps = NULL;
    const size_t count = ts_chain_of(&steps, request->arena, one->figure);
    tell(request, steps, count, costing, header);
}

/* ---- the break-even ---- */

/* Of all metals, or of the one that is named. */
static ts_status tell_break_evens(const ts_request *request, const ts_costing *costing,
                                  const char *name)
{
    const ts_break_even *list = NULL;
    const size_t count = ts_break_evens_of(&list, request->arena, costing);
    bool told = false;
    for (size_t i = 0; i < count; i++) {
        const ts_step *steps = NULL;
        const size_t step_count = ts_break_even_chain(&steps, request->arena, costing, &list[i]);
        if (!ts_text_same(name, BREAK_EVEN) && !ts_text_same(name, steps[0].what)) {
            continue;
        }
        if (!request->csv && ts_text_same(name, BREAK_EVEN)) {
            fprintf(request->result, "%s%s\n", told ? "\n" : "", steps[0].what);
        }
        tell(request, steps, step_count, costing, !told);
        told = true;
    }
    if (!told) {
        ts_diag_add(request->diag, TS_FAULT_NAME_UNKNOWN, NULL, "there is no %s: %s", name,
                    costing->has_floor
                        ? "the price does not rest on that metal's market price"
                        : "policy.csv has no floor of the margin in force, which a metal's price "
                          "could make it miss");
        return TS_FAULTY;
    }
    return TS_OK;
}

/* The one that is named: of the numbered amounts, the margin, or a break-even. */
static ts_status tell_one(const ts_request *request, const ts_costing *costing,
                          const ts_amount_named *numbered, size_t count)
{
    ts_amount_named *list = TS_ARRAY(request->arena, ts_amount_named, count + TS_METAL_COUNT + 2);
    const ts_amount_named margin = {"margin", ts_margin_figure(request->arena, costing)};
    memcpy(list, numbered, count * sizeof *list);
    size_t all = count;
    list[all] = margin;
    all += margin.figure != NULL;
    list[all++].name = BREAK_EVEN;
    for (int metal = TS_METAL_GOLD; metal <= TS_METAL_SILVER; metal++) {
        list[all++].name = ts_arena_format(request->arena, "%s of %s", BREAK_EVEN,
                                           ts_list_word(TS_LIST_METAL, metal));
    }
    const ts_amount_named *asked = find(request, list, all, count, request->operands[1]);
    if (asked == NULL) {
        return TS_FAULTY;
    }
    if (asked->figure == NULL) {
        return tell_break_evens(request, costing, asked->name);
    }
    tell_amount(request, asked, costing, true);
    return TS_OK;
}

ts_status ts_errand_why(const ts_request *request)
{
    ts_commission_run run;
    int option = 0;
    ts_status status = ts_commission_asked(&run, &option, request, TS_DEPTH_COSTING);
    if (status != TS_OK) {
        return status;
    }
    const ts_amount_named *list = NULL;
    const ts_costing *costing = run.options[option].costing;
    size_t count = ts_amounts_of(&list, request->arena, costing);
    if (request->operand_count == 2) {
        return tell_one(request, costing, list, count);
    }
    for (size_t i = 0; i < count; i++) {
        if (!request->csv) {
            fprintf(request->result, "%s%zu  %s\n", i > 0 ? "\n" : "", i + 1, list[i].name);
        }
        tell_amount(request, &list[i], costing, i == 0);
    }
    return TS_OK;
}
