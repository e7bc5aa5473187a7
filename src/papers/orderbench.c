#include "papers/ordering.h"

#include <tallystone/base/text.h>

/* Work by craft and commission, as the bench plans it: what is due first comes first, its
 * operations in the order of labour.csv; each craft goes through it at its minutes a week, and
 * every row says the week in which it is done. Crafts are taken one by one: none waits for another
 * here, so a week is the earliest that there are hands for it. What is bought by the piece has no
 * minutes, only a count. */

enum {
    CRAFT,
    REFERENCE,
    OPERATION,
    WHERE,
    BENCH_COUNT,
    MINUTES,
    CUMULATED,
    WEEK,
    WEEK_FROM,
    DELIVER_BY,
    LATE
};

#define MOST_WEEKS 5200 /* a hundred years */

typedef struct plan {
    ts_ordering *o;
    ts_table *table;
    const char *const *crafts;
    size_t craft_count;
    int *queue; /* commissions, the first due first */
    ts_dec cumulated;
} plan;

static void add_craft(const char **crafts, size_t *count, const char *craft)
{
    for (size_t i = 0; i < *count; i++) {
        if (ts_text_same(crafts[i], craft)) {
            return;
        }
    }
    crafts[(*count)++] = craft;
}

/* All crafts, in the order of crafts.csv; then those that only labour.csv knows. */
static void gather_crafts(plan *p)
{
    ts_ordering *o = p->o;
    const ts_book *book = o->commissions[0]->book;
    size_t most = book->crafts.count + book->labour.count;
    const char **crafts = TS_ARRAY(o->arena, const char *, most + 1);
    for (size_t i = 0; i < book->crafts.count; i++) {
        add_craft(crafts, &p->craft_count, book->crafts.at[i].craft);
    }
    for (size_t i = 0; i < book->labour.count; i++) {
        add_craft(crafts, &p->craft_count, book->labour.at[i].craft);
    }
    p->crafts = crafts;
}

static bool is_due_before(const ts_terms *one, const ts_terms *other)
{
    return ts_date_given(one->deliver_by) &&
           (!ts_date_given(other->deliver_by) || one->deliver_by.days < other->deliver_by.days);
}

static void queue_up(plan *p)
{
    ts_ordering *o = p->o;
    p->queue = TS_ARRAY(o->arena, int, (size_t)o->count + 1);
    for (int i = 0; i < o->count; i++) {
        int at = i;
        for (; at > 0 && is_due_before(ts_order_terms(o, i), ts_order_terms(o, p->queue[at - 1]));
             at--) {
            p->queue[at] = p->queue[at - 1];
        }
        p->queue[at] = i;
    }
}

static void put_week(const plan *p, ts_cell *row, const ts_terms *terms, const ts_craft_row *craft)
{
    int64_t week;
    if (craft == NULL || craft->minutes_per_week.e6 <= 0 ||
        !ts_div_round(&week, p->cumulated.e6, craft->minutes_per_week.e6, TS_ROUND_UP) ||
        week > MOST_WEEKS) {
        return;
    }
    week = week < 1 ? 1 : week;
    ts_date from = ts_date_plus(p->o->from, (int32_t)(week - 1) * 7);
    row[WEEK] = ts_order_count(week);
    row[WEEK_FROM] = ts_cell_date(from);
    if (ts_date_given(terms->deliver_by) && from.days + 6 > terms->deliver_by.days) {
        row[LATE] = ts_cell_word("late");
    }
}

static void put_line(plan *p, int commission, const ts_line *line, const ts_craft_row *craft,
                     bool ruled)
{
    ts_ordering *o = p->o;
    const ts_costing *c = o->commissions[commission];
    const ts_terms *terms = &c->needs->terms;
    const ts_work_need *need = &c->needs->works[line->need];
    ts_cell *row = ts_table_row(p->table, ruled);
    row[CRAFT] = ts_cell_text(line->craft);
    row[REFERENCE] = ts_cell_text(terms->reference);
    row[OPERATION] = ts_cell_text(line->item);
    row[WHERE] = ts_cell_word(line->own_labour ? "own bench" : "outside");
    row[DELIVER_BY] = ts_cell_date(terms->deliver_by);
    if (!need->has_minutes) {
        row[BENCH_COUNT] = ts_order_count(need->count);
    }
    if (line->minutes == NULL) {
        return;
    }
    ts_dec minutes = {0};
    o->is_past = !ts_ratio_dec(&minutes, line->minutes->value, c->rounding) || o->is_past;
    p->cumulated = ts_order_sum(o, p->cumulated, minutes);
    row[MINUTES] = ts_cell_number(minutes);
    row[CUMULATED] = ts_cell_number(p->cumulated);
    put_week(p, row, terms, craft);
}

/* Where an operation first stands in labour.csv: its rows are in the order of work. */
static size_t step_of(const ts_costing *c, const ts_line *line)
{
    const char *operation = c->needs->works[line->need].operation;
    size_t step = 0;
    while (step < c->book->labour.count &&
           !ts_text_same(c->book->labour.at[step].operation, operation)) {
        step++;
    }
    return step;
}

/* A craft's lines of a commission in the order of work; returns how many. */
static int lines_in_order(const plan *p, const ts_costing *c, const char *craft,
                          const ts_line ***lines)
{
    int count = 0;
    *lines = TS_ARRAY(p->o->arena, const ts_line *, (size_t)c->line_count + 1);
    for (int i = 0; i < c->line_count; i++) {
        const ts_line *line = &c->lines[i];
        if (line->craft == NULL || !ts_text_same(line->craft, craft)) {
            continue;
        }
        int at = count++;
        for (; at > 0 && step_of(c, (*lines)[at - 1]) > step_of(c, line); at--) {
            (*lines)[at] = (*lines)[at - 1];
        }
        (*lines)[at] = line;
    }
    return count;
}

static void put_craft(plan *p, const char *craft)
{
    ts_ordering *o = p->o;
    const ts_craft_row *row = ts_book_craft(o->commissions[0]->book, craft, o->as_of);
    bool is_first = true;
    p->cumulated = (ts_dec){0};
    for (int k = 0; k < o->count; k++) {
        const ts_costing *c = o->commissions[p->queue[k]];
        const ts_line **lines = NULL;
        int count = lines_in_order(p, c, craft, &lines);
        for (int i = 0; i < count; i++) {
            put_line(p, p->queue[k], lines[i], row, is_first && p->table->row_count > 0);
            is_first = false;
        }
    }
}

ts_table *ts_order_bench(ts_ordering *o)
{
    plan p = {.o = o, .table = ts_table_new(o->arena, TS_TABLE_BENCH, o->commissions[0]->exponent)};
    gather_crafts(&p);
    queue_up(&p);
    for (size_t i = 0; i < p.craft_count; i++) {
        put_craft(&p, p.crafts[i]);
    }
    return p.table;
}
