#include "costing/pricing.h"

/* Lines of what the studio buys: metal, melee, feature stones. Each reads quantity ×
 * unit cost = cost, so that a person with a calculator finds the same cents. */

ts_line *ts_line_add(ts_pricing *p, ts_section section, ts_line_kind kind, const char *item,
                     const char *key)
{
    ts_costing *out = p->out;
    out->lines = ts_arena_grow(p->arena, out->lines, (size_t)out->line_count, &p->line_room,
                               sizeof *out->lines);
    ts_line *line = &out->lines[out->line_count++];
    *line = (ts_line){.section = section, .kind = kind, .item = item, .key = key, .need = -1};
    return line;
}

void ts_line_cost(ts_pricing *p, ts_line *line, const ts_figure *quantity, const char *unit,
                  const ts_figure *unit_cost)
{
    line->quantity = quantity;
    line->unit = unit;
    line->unit_cost = unit_cost;
    const ts_figure *product =
        ts_figure_two(p->arena, TS_OP_MUL, line->item, p->currency, quantity, unit_cost);
    line->cost = ts_round_money(p, line->item, product);
}

const ts_figure *ts_lines_sum(ts_pricing *p, ts_section section, bool prices, const char *name)
{
    const ts_costing *out = p->out;
    const ts_figure **args = TS_ARRAY(p->arena, const ts_figure *, (size_t)out->line_count + 1);
    int count = 0;
    for (int i = 0; i < out->line_count; i++) {
        const ts_line *line = &out->lines[i];
        if (section == TS_SECTION_NONE || line->section == section) {
            args[count++] = prices ? line->price : line->cost;
        }
    }
    if (count == 0) {
        return ts_zero(p, name);
    }
    return ts_figure_of(p->arena, TS_OP_SUM, name, p->currency, args, count);
}

/* ---- metal ---- */

static void metal_lines(ts_pricing *p, const ts_metal_need *need, int index)
{
    const ts_alloy_row *alloy = need->row;
    if (need->finished_g.e6 == 0) {
        return; /* in ready-made parts alone, or all of it the client's old metal */
    }
    const ts_figure *finished = ts_rate_taken(
        p, TS_TAKEN_METAL_FINISHED, index,
        ts_arena_format(p->arena, "finished weight of %s", need->alloy), "g", need->whence);
    const ts_figure *loss =
        ts_rate_cell(p, ts_arena_format(p->arena, "finishing loss of %s", need->alloy),
                     alloy->finishing_loss, "%", &alloy->head, "finishing loss");
    const char *name = ts_arena_format(p->arena, "%s with finishing loss", need->alloy);
    const ts_figure *lost = ts_percent_of(p, name, finished, loss);
    const ts_figure *weight =
        ts_figure_round(p->arena, name, "g",
                        ts_figure_two(p->arena, TS_OP_SUM, name, "g", finished, lost), 6, p->mode);
    const ts_figure *fine = ts_rate_fine_value(p, alloy);
    if (!ts_pricing_fine(p, fine, alloy->name)) {
        return;
    }
    ts_line *line = ts_line_add(p, TS_SECTION_METAL, TS_LINE_METAL, alloy->name, need->alloy);
    line->need = index;
    const ts_figure *rate = ts_rate_alloy(p, alloy, fine);
    ts_line_cost(p, line, weight, "g", rate);
    if (alloy->sprue.e6 == 0) {
        return;
    }
    const char *item = ts_arena_format(p->arena, "%s, sprue", alloy->name);
    const ts_figure *part = ts_rate_cell(p, ts_arena_format(p->arena, "sprue of %s", need->alloy),
                                         alloy->sprue, "%", &alloy->head, "sprue");
    const ts_figure *sprue =
        ts_figure_round(p->arena, item, "g", ts_percent_of(p, item, weight, part), 6, p->mode);
    const ts_figure *recovery =
        ts_rate_cell(p, ts_arena_format(p->arena, "recovery of %s", need->alloy), alloy->recovery,
                     "%", &alloy->head, "recovery");
    name = ts_arena_format(p->arena, "rate of %s less recovery", need->alloy);
    const ts_figure *net =
        ts_figure_round(p->arena, name, p->currency,
                        ts_figure_two(p->arena, TS_OP_SUB, name, p->currency, rate,
                                      ts_percent_of(p, "what the refiner pays", fine, recovery)),
                        6, p->mode);
    line = ts_line_add(p, TS_SECTION_METAL, TS_LINE_SPRUE, item, need->alloy);
    line->need = index;
    ts_line_cost(p, line, sprue, "g", net);
}

void ts_lines_of_metal(ts_pricing *p)
{
    for (int i = 0; i < p->needs->metal_count; i++) {
        metal_lines(p, &p->needs->metals[i], i);
    }
    for (int i = 0; i < p->needs->bought_count; i++) {
        const ts_bought_need *need = &p->needs->bought[i];
        const ts_figure *price = ts_rate_sheet(p, TS_TAKEN_BOUGHT_PRICE, i,
                                               ts_arena_format(p->arena, "price of %s", need->item),
                                               need->price, need->whence);
        const ts_figure *count = ts_rate_taken(
            p, TS_TAKEN_BOUGHT_COUNT, i, ts_arena_format(p->arena, "count of %s", need->item),
            "each", ts_rate_counted(need->whence.file, need->count_line));
        ts_line *line = ts_line_add(p, TS_SECTION_METAL, TS_LINE_BOUGHT, need->item, need->alloy);
        line->need = i;
        ts_line_cost(p, line, count, "each", price);
    }
}

/* ---- melee ---- */

static const ts_policy_row *spares_rule(const ts_pricing *p, const char *lot)
{
    const ts_policy_row *row = ts_book_policy(p->book, TS_RULE_SPARES, lot, p->on);
    return row != NULL ? row : ts_book_policy(p->book, TS_RULE_SPARES, "melee", p->on);
}

static const ts_figure *with_spares(ts_pricing *p, const ts_melee_need *need, const ts_figure *set,
                                    const char *item)
{
    const ts_policy_row *rule = spares_rule(p, need->lot);
    if (rule == NULL) {
        ts_diag_add(p->diag, TS_FAULT_POLICY, NULL,
                    "policy.csv has no `spares` rule for melee or for the lot %s", need->lot);
        return NULL;
    }
    const ts_figure *part =
        ts_rate_cell(p, ts_arena_format(p->arena, "spares of %s", need->step->spelt),
                     rule->amount.value, "%", &rule->head, "value");
    const char *name = ts_arena_format(p->arena, "spares, %s", item);
    const ts_figure *unrounded = ts_percent_of(p, name, set, part);
    const ts_figure *spares = ts_figure_of(p->arena, TS_OP_CEILING, name, "stones", &unrounded, 1);
    return ts_figure_two(p->arena, TS_OP_SUM, ts_arena_format(p->arena, "set and spares, %s", item),
                         "stones", set, spares);
}

static void melee_line(ts_pricing *p, const ts_melee_need *need, int index)
{
    char size[TS_DECIMAL_TEXT];
    const ts_melee_row *step = need->step;
    const char *item = ts_arena_format(p->arena, "%s %s mm", step->spelt,
                                       ts_dec_fixed(size, need->diameter_mm, 2));
    const ts_figure *set =
        ts_rate_taken(p, TS_TAKEN_MELEE_SET, index,
                      ts_arena_format(p->arena, "stones set, %s", item), "stones", need->whence);
    if (need->client) {
        ts_line *line = ts_line_add(p, TS_SECTION_MELEE, TS_LINE_MELEE, item, need->lot);
        line->need = index;
        line->client_supplied = true;
        ts_line_cost(p, line, set, "stones", ts_zero(p, "supplied by the client"));
        return;
    }
    const ts_figure *quantity = with_spares(p, need, set, item);
    const ts_figure *each = ts_rate_cell(p, ts_arena_format(p->arena, "carats each, %s", item),
                                         step->carat_each, "ct", &step->head, "carat each");
    const ts_figure *carat = ts_rate_cell(
        p, ts_arena_format(p->arena, "price a carat, %s", item), step->price_per_ct,
        step->currency == NULL ? p->book->currency : step->currency, &step->head, "price per ct");
    carat = ts_rate_convert(p, carat, step->currency, &step->head);
    if (!ts_pricing_fine(p, quantity, item) || !ts_pricing_fine(p, carat, item)) {
        return;
    }
    const char *name = ts_arena_format(p->arena, "price of a stone, %s", item);
    const ts_figure *unit_cost = ts_figure_round(
        p->arena, name, p->currency,
        ts_figure_two(p->arena, TS_OP_MUL, name, p->currency, each, carat), 6, p->mode);
    ts_line *line = ts_line_add(p, TS_SECTION_MELEE, TS_LINE_MELEE, item, need->lot);
    line->need = index;
    ts_line_cost(p, line, quantity, "stones", unit_cost);
}

void ts_lines_of_melee(ts_pricing *p)
{
    for (int i = 0; i < p->needs->melee_count; i++) {
        melee_line(p, &p->needs->melee[i], i);
    }
}

/* ---- feature stones ---- */

/* Price of one stone: each, or weight × price a carat rounded to the minor unit. */
static const ts_figure *stone_price(ts_pricing *p, const ts_stone_need *need, int index)
{
    const char *name = ts_arena_format(p->arena, "price of %s", need->item);
    const ts_figure *carat = NULL;
    const ts_whence priced = {.file = need->whence.file, .line = need->price_line};
    ts_whence weighed = need->whence;
    if (need->price.of == TS_AMOUNT_EACH) {
        return ts_rate_sheet(p, TS_TAKEN_STONE_PRICE, index, name, need->price, priced);
    }
    if (need->price.of == TS_AMOUNT_PER_CT) {
        carat = ts_rate_sheet(p, TS_TAKEN_STONE_PRICE, index,
                              ts_arena_format(p->arena, "price a carat of %s", need->item),
                              need->price, priced);
    } else {
        const ts_book_row *row = need->offer != NULL ? &need->offer->head : &need->melee->head;
        const char *currency = need->offer != NULL ? need->offer->currency : need->melee->currency;
        bool each = need->offer != NULL && ts_book_given(row, "price each");
        ts_dec value = each                  ? need->offer->price_each
                       : need->offer != NULL ? need->offer->price_per_ct
                                             : need->melee->price_per_ct;
        carat = ts_rate_cell(
            p, each ? name : ts_arena_format(p->arena, "price a carat of %s", need->item), value,
            currency == NULL ? p->book->currency : currency, row,
            each ? "price each" : "price per ct");
        carat = ts_rate_convert(p, carat, currency, row);
        if (each) {
            return carat;
        }
    }
    weighed.says = need->weight_stated ? "as stated" : "estimated from its measurements";
    const ts_figure *weight =
        ts_rate_taken(p, TS_TAKEN_STONE_CARATS, index,
                      ts_arena_format(p->arena, "weight of %s", need->item), "ct", weighed);
    return ts_round_money(p, name,
                          ts_figure_two(p->arena, TS_OP_MUL, name, p->currency, weight, carat));
}

void ts_lines_of_stones(ts_pricing *p)
{
    for (int i = 0; i < p->needs->stone_count; i++) {
        const ts_stone_need *need = &p->needs->stones[i];
        const ts_figure *unit_cost =
            need->client ? ts_zero(p, "supplied by the client") : stone_price(p, need, i);
        if (!ts_pricing_fine(p, unit_cost, need->item)) {
            continue;
        }
        const ts_figure *count = ts_rate_taken(
            p, TS_TAKEN_STONE_COUNT, i, ts_arena_format(p->arena, "count of %s", need->item),
            "stones", ts_rate_counted(need->whence.file, need->count_line));
        const char *key = need->offer != NULL   ? need->offer->lot
                          : need->melee != NULL ? need->melee->lot
                                                : need->name;
        ts_line *line = ts_line_add(p, TS_SECTION_STONES, TS_LINE_STONE, need->item, key);
        line->need = i;
        line->client_supplied = need->client;
        ts_line_cost(p, line, count, "stones", unit_cost);
    }
}
