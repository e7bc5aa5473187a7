#include <tallystone/costing/insight.h>

#include <tallystone/base/text.h>

/* What must be bought before each payment stage, against what has been paid by then.
 *
 *     stages      deposit        casting             delivery
 *     bought              stones         metal, the rest
 *
 * Nothing is bought before the first stage is paid, for work begins then; stones come next,
 * since the piece is made to their measure; what a piece is cast of, and what is done to it
 * out of the house, waits for a stage named `casting`, where there is one (common practice).
 * Else a single stage is the last: all is bought before it. */

#define CASTING "casting"

/* The stage that is paid before a line is bought; -1 where none is. */
static int waits_for(const ts_costing *c, ts_section section)
{
    const bool stones = section == TS_SECTION_MELEE || section == TS_SECTION_STONES;
    for (int i = 0; i < c->stage_count && !stones; i++) {
        if (ts_text_same(c->stages[i].name, CASTING)) {
            return i;
        }
    }
    return c->stage_count > 1 ? 0 : -1;
}

/* Own labour, overhead and contingency are no bills of others. */
static bool is_bought(const ts_line *line)
{
    return !line->own_labour && line->section != TS_SECTION_OVERHEAD &&
           line->section != TS_SECTION_CONTINGENCY;
}

static bool bought_before(ts_money *out, const ts_costing *c, int stage)
{
    *out = (ts_money){0};
    for (int i = 0; i < c->line_count; i++) {
        const ts_line *line = &c->lines[i];
        ts_money cost;
        if (is_bought(line) && waits_for(c, line->section) < stage &&
            (!ts_figure_money(&cost, line->cost, c->exponent) || !ts_money_add(out, *out, cost))) {
            return false;
        }
    }
    return true;
}

size_t ts_cash_of(const ts_cash **out, ts_arena *arena, const ts_costing *costing)
{
    ts_cash *list = TS_ARRAY(arena, ts_cash, (size_t)costing->stage_count + 1);
    ts_money paid = {0};
    size_t count = 0;
    *out = list;
    for (int i = 0; i < costing->stage_count; i++) {
        const ts_stage *stage = &costing->stages[i];
        ts_cash *cash = &list[count];
        ts_money amount;
        *cash = (ts_cash){.stage = stage->name, .paid = paid};
        if (!bought_before(&cash->bought, costing, i) ||
            !ts_money_sub(&cash->left, paid, cash->bought) ||
            !ts_figure_money(&amount, stage->amount, costing->exponent) ||
            !ts_money_add(&paid, paid, amount)) {
            return count;
        }
        count++;
    }
    return count;
}
