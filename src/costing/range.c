#include <tallystone/costing/insight.h>

#include "costing/moved.h"

#include <math.h>
#include <string.h>

/* How sure the margin is, and when the piece can be ready.
 *
 * The quoted price stands; what the studio pays may move. Metal prices move as a random
 * walk whose steps are those of the books' own rows; an estimated weight is off by its
 * estimate's spread. Both are drawn from normal laws with a fixed seed. */

#define MOST_MOVING 64

typedef struct moving {
    int at;       /* position of the leaf */
    double sigma; /* relative */
    bool log;     /* a price moves by a factor e^x, a weight by 1 + x */
} moving;

/* splitmix64; source: Steele, Lea, Flood, "Fast splittable pseudorandom number
 * generators", 2014, as published in the public domain. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = (*state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* A standard normal draw by the polar method (Marsaglia and Bray, 1964); the second of
 * each pair is not kept, so that draws do not hang on what came before. */
static double normal(uint64_t *state)
{
    for (int i = 0; i < 1000; i++) {
        double u = 2.0 * (double)(next_random(state) >> 11) / 9007199254740992.0 - 1.0;
        double v = 2.0 * (double)(next_random(state) >> 11) / 9007199254740992.0 - 1.0;
        double s = u * u + v * v;
        if (s > 0.0 && s < 1.0) {
            return u * sqrt(-2.0 * log(s) / s);
        }
    }
    return 0.0;
}

/* Spread a day of the logarithm of a metal's price, from its rows begun by the day; 0
 * with fewer than three. */
static double daily_sigma(const ts_costing *costing, int32_t metal)
{
    const ts_book *book = costing->book;
    double sum = 0.0, days = 0.0, last = 0.0;
    int32_t last_day = 0;
    int steps = 0;
    for (size_t i = 0; i < book->metals.count; i++) {
        const ts_metal_row *row = &book->metals.at[i];
        if (row->metal != metal || !ts_date_given(row->head.from) ||
            row->head.from.days > costing->needs->terms.as_of.days) {
            continue;
        }
        double price = ts_dec_double(row->price);
        if (last > 0.0 && row->head.from.days > last_day) {
            double move = log(price / last);
            sum += move * move;
            days += row->head.from.days - last_day;
            steps++;
        }
        last = price;
        last_day = row->head.from.days;
    }
    return steps >= 2 && days > 0.0 ? sqrt(sum / days) : 0.0;
}

static double metal_sigma(const ts_costing *costing, const ts_figure *leaf)
{
    const ts_metal_row *row = ts_flat_market(costing, leaf);
    const double open = costing->valid_until.days - costing->needs->terms.as_of.days;
    return row != NULL && open > 0.0 ? daily_sigma(costing, row->metal) * sqrt(open) : 0.0;
}

/* The spread is the 5th to 95th percentile: 1.645 standard deviations either way. */
static double weight_sigma(const ts_costing *costing, const ts_figure *leaf)
{
    for (int i = 0; leaf->op == TS_OP_QUANTITY && i < costing->needs->stone_count; i++) {
        const ts_stone_need *need = &costing->needs->stones[i];
        if (!need->weight_stated && !need->client && strcmp(leaf->unit, "ct") == 0 &&
            leaf->line == need->whence.line) {
            return ts_dec_double(need->spread_pct) / 100.0 / 1.645;
        }
    }
    return 0.0;
}

static int gather(moving *list, const ts_flat *flat, const ts_costing *costing)
{
    int count = 0;
    for (int i = 0; i < flat->count && count < MOST_MOVING; i++) {
        double metal = metal_sigma(costing, flat->figures[i]);
        double weight = weight_sigma(costing, flat->figures[i]);
        if (metal > 0.0 || weight > 0.0) {
            list[count++] = (moving){i, metal > 0.0 ? metal : weight, metal > 0.0};
        }
    }
    return count;
}

static double margin_of(double income, double cost)
{
    return 100.0 * (income - cost) / income;
}

/* Of the trees only what the cost has from leaves that move is worked out at each draw. */
static void follow(ts_arena *scratch, ts_flat *flat, const moving *list, int count)
{
    bool *moves = TS_ARRAY(scratch, bool, (size_t)flat->count);
    for (int i = 0; i < count; i++) {
        moves[list[i].at] = true;
    }
    ts_flat_follow(flat, moves);
    int kept = 0;
    bool *wanted = TS_ARRAY(scratch, bool, (size_t)flat->count);
    wanted[flat->cost] = true;
    for (int i = flat->count - 1; i >= 0; i--) {
        for (int k = 0; wanted[i] && k < flat->figures[i]->arg_count; k++) {
            wanted[flat->args[flat->first_arg[i] + k]] = true;
        }
    }
    for (int n = 0; n < flat->work_count; n++) {
        if (wanted[flat->works[n]]) {
            flat->works[kept++] = flat->works[n];
        }
    }
    flat->work_count = kept;
}

/* First order: the moves are independent, so their effects on the cost add in squares. */
static double closed_sigma(ts_flat *flat, const moving *list, int count, double income)
{
    double squares = 0.0;
    double cost = flat->values[flat->cost];
    for (int i = 0; i < count; i++) {
        double own = flat->values[list[i].at];
        flat->values[list[i].at] = own * (1.0 + 1e-4);
        ts_flat_work(flat);
        double slope = (flat->values[flat->cost] - cost) / 1e-4;
        flat->values[list[i].at] = own;
        squares += slope * slope * list[i].sigma * list[i].sigma;
    }
    ts_flat_work(flat);
    return 100.0 * sqrt(squares) / income;
}

/* What stands at `rank` from below once the list is in order; puts it there, and nothing
 * larger before it. Source: C. A. R. Hoare, "Algorithm 65: Find", 1961. */
static double at_rank(double *list, int count, int rank)
{
    int low = 0, high = count - 1;
    while (low < high) {
        const double pivot = list[rank];
        int i = low, k = high;
        while (i <= k) {
            while (list[i] < pivot) {
                i++;
            }
            while (pivot < list[k]) {
                k--;
            }
            if (i <= k) {
                const double passed = list[i];
                list[i++] = list[k];
                list[k--] = passed;
            }
        }
        low = k < rank ? i : low;
        high = rank < i ? k : high;
    }
    return list[rank];
}

ts_range ts_range_of(ts_arena *scratch, const ts_costing *costing, int draws, uint64_t seed)
{
    moving list[MOST_MOVING];
    ts_range range = {.draws = draws, .seed = seed};
    ts_flat *flat = ts_flat_of(scratch, costing);
    int count = gather(list, flat, costing);
    /* as quoted, every rounding and step included: that is what stands */
    double income = ts_flat_exact(costing->net) - ts_flat_exact(costing->surcharge);
    if (count == 0 || draws < 10 || !(income > 0.0)) {
        return range;
    }
    follow(scratch, flat, list, count);
    range.sigma_pct = closed_sigma(flat, list, count, income);
    double *margins = TS_ARRAY(scratch, double, (size_t)draws);
    double floor = costing->has_floor ? ts_dec_double(costing->floor_pct) : -1e300;
    int under = 0;
    double own[MOST_MOVING];
    for (int i = 0; i < count; i++) {
        own[i] = flat->values[list[i].at];
    }
    ts_flat_row *values = ts_flat_abreast(scratch, flat);
    for (int d = 0; d < draws; d += TS_FLAT_ABREAST) {
        int abreast = draws - d < TS_FLAT_ABREAST ? draws - d : TS_FLAT_ABREAST;
        for (int k = 0; k < abreast; k++) {
            for (int i = 0; i < count; i++) {
                double x = list[i].sigma * normal(&seed);
                values[list[i].at][k] = own[i] * (list[i].log ? exp(x) : fmax(1.0 + x, 0.0));
            }
        }
        ts_flat_work_abreast(flat, values);
        for (int k = 0; k < abreast; k++) {
            margins[d + k] = margin_of(income, values[flat->cost][k]);
            under += margins[d + k] < floor;
        }
    }
    range.known = true;
    range.low_pct = at_rank(margins, draws, draws / 10);
    range.middle_pct = at_rank(margins, draws, draws / 2);
    range.high_pct = at_rank(margins, draws, draws - 1 - draws / 10);
    range.under_floor = (double)under / draws;
    return range;
}

/* ---- ready ---- */

/* Millionths of a week that a craft's planned minutes fill; -1 where it says no capacity. */
static int64_t weeks_of(const ts_costing *costing, const char *craft)
{
    const ts_craft_row *row = ts_book_craft(costing->book, craft, costing->needs->terms.as_of);
    int64_t minutes = 0, weeks;
    for (int i = 0; i < costing->line_count; i++) {
        const ts_line *line = &costing->lines[i];
        ts_dec own;
        if (line->own_labour && strcmp(line->craft, craft) == 0 &&
            ts_figure_dec(&own, line->minutes)) {
            minutes += own.e6;
        }
    }
    if (row == NULL || row->minutes_per_week.e6 == 0 ||
        !ts_div_round(&weeks, (ts_i128)minutes * 1000000, row->minutes_per_week.e6, TS_ROUND_UP)) {
        return -1;
    }
    return weeks;
}

static bool seen_before(const ts_costing *costing, int line)
{
    for (int i = 0; i < line; i++) {
        if (costing->lines[i].own_labour &&
            strcmp(costing->lines[i].craft, costing->lines[line].craft) == 0) {
            return true;
        }
    }
    return false;
}

ts_ready ts_ready_of(const ts_costing *costing)
{
    ts_ready ready = {.known = true};
    int64_t sum = 0, most = 0;
    for (int i = 0; i < costing->line_count; i++) {
        const ts_line *line = &costing->lines[i];
        if (!line->own_labour || seen_before(costing, i)) {
            continue;
        }
        int64_t weeks = weeks_of(costing, line->craft);
        if (weeks < 0) {
            return (ts_ready){.known = false};
        }
        sum += weeks;
        if (weeks > most) {
            most = weeks;
            ready.slowest = line->craft;
        }
    }
    const ts_terms *terms = &costing->needs->terms;
    ready.weeks = (int)((sum + 999999) / 1000000);
    ready.by = ts_date_plus(terms->date, ready.weeks * 7);
    ready.late = ts_date_given(terms->deliver_by) && ready.by.days > terms->deliver_by.days;
    return ready;
}
