#include "book/auditing.h"

#include <tallystone/base/text.h>

#include "book/bookrows.h"

#include <string.h>

/* Metals on the day: prices that are old or leap, densities that physics does not know.
 *
 * A density is held against the rule of mixtures (volumes add). Books name the precious
 * metals and nickel; what is left of the thousand is base metal, or in platinum and
 * palladium alloys also a metal of their group, so it is let be anything between the
 * lightest and the heaviest of these. Densities in g/cm3: gold 19.32, silver 10.49, copper
 * 8.96 (public metals page, table of approximate specific gravities); platinum 21.45,
 * palladium 12.02 (several public pages); nickel 8.90, zinc 7.13, iridium 22.56 (CRC
 * Handbook, from memory). */

#define MILLION ((int64_t)1000000)
#define THOUSAND_E6 (1000 * MILLION)

typedef struct density {
    ts_metal_kind metal;
    int64_t e2; /* hundredths of a g/cm3 */
} density;

static const density densities[] = {
    {TS_METAL_GOLD, 1932},   {TS_METAL_PLATINUM, 2145}, {TS_METAL_PALLADIUM, 1202},
    {TS_METAL_SILVER, 1049}, {TS_METAL_NICKEL, 890},
};

#define LIGHTEST_E2 713  /* zinc */
#define BASE_E2 896      /* copper */
#define HEAVIEST_E2 2256 /* iridium */

/* Density in millionths of a g/cm3 where the rest of the thousand is of `rest_e2`. */
static int64_t mixture_e6(const ts_alloy_row *row, int64_t rest_e2)
{
    int64_t rest = THOUSAND_E6;
    int64_t volume = 0; /* of a kilogram, in millionths of a cm3 */

    for (size_t i = 0; i < TS_COUNT_OF(densities); i++) {
        const int64_t part = row->fineness[densities[i].metal].e6;

        rest -= part;
        volume += part * 100 / densities[i].e2;
    }
    volume += rest * 100 / rest_e2;
    return THOUSAND_E6 * MILLION / volume;
}

static void audit_density(const ts_auditing *a, const ts_alloy_row *row)
{
    const ts_metal_kind sold_as = ts_alloy_main(row);
    const bool grouped = sold_as == TS_METAL_PLATINUM || sold_as == TS_METAL_PALLADIUM;
    const int64_t least = mixture_e6(row, LIGHTEST_E2);
    const int64_t most = mixture_e6(row, grouped ? HEAVIEST_E2 : BASE_E2);
    char stated[TS_DECIMAL_TEXT];
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    if (row->density.e6 >= least / 10 * 9 && row->density.e6 <= most / 10 * 11) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "density",
                 ts_arena_format(
                     a->arena,
                     "a density of %s g/cm3 is more than 10 %% off what the metals of "
                     "\"%s\" give: %s to %s by the rule of mixtures",
                     ts_dec_text(stated, row->density), ts_text_show(a->arena, row->alloy, 60),
                     ts_dec_fixed(from, (ts_dec){least}, 2), ts_dec_fixed(to, (ts_dec){most}, 2)));
}

/* ---- age ---- */

static const ts_policy_row *stale_rule(const ts_auditing *a, const char *subject)
{
    return ts_book_policy(a->book, TS_RULE_STALE, subject, a->on);
}

/* Days that a row is older than the rule lets it be; 0 where it is not, or has no day. */
static int age_over(const ts_auditing *a, const ts_book_row *row, const ts_policy_row *rule)
{
    if (rule == NULL || !ts_date_given(row->from)) {
        return 0;
    }
    const int64_t age = (int64_t)a->on.days - row->from.days;
    return age > rule->amount.value.e6 / MILLION ? (int)age : 0;
}

static void add_stale(const ts_auditing *a, const ts_book_row *row, const char *what,
                      const ts_policy_row *rule, int age)
{
    ts_audit_add(a, TS_FAULT_BOOK_STALE, row, "from",
                 ts_arena_format(a->arena,
                                 "%s is %d days old on the pricing date; the policy lets it be %d",
                                 what, age, (int)(rule->amount.value.e6 / MILLION)));
}

/* A rate each way is a buying and a selling rate: what goes there and back keeps its worth to
 * a twentieth (common practice). */
static void audit_there_and_back(const ts_auditing *a, const ts_rate_row *row)
{
    bool inverse = false;
    const ts_rate_row *back = ts_book_rate(a->book, row->in, row->currency, a->on, &inverse);
    char text[TS_DECIMAL_TEXT];
    ts_dec kept = {0};

    if (back == NULL || back == row || back->head.line > row->head.line ||
        !ts_div_round(&kept.e6, (ts_i128)row->rate.e6 * back->rate.e6, MILLION, TS_HALF_AWAY) ||
        (kept.e6 >= MILLION / 20 * 19 && kept.e6 <= MILLION / 20 * 21)) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, &row->head, "rate",
                 ts_arena_format(a->arena,
                                 "1 %s turned into %s here and back by line %d comes to %s %s; "
                                 "about 1 is expected",
                                 row->currency, row->in, back->head.line, ts_dec_text(text, kept),
                                 row->currency));
}

static void audit_rates(const ts_auditing *a)
{
    const ts_policy_row *rule = stale_rule(a, "rates");
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_RATES, a->on);

    for (const ts_book_row *at; (at = ts_book_walk_next(&walk)) != NULL;) {
        const ts_rate_row *row = ts_book_typed(at);
        const int age = age_over(a, at, rule);

        if (age > 0) {
            add_stale(a, at,
                      ts_arena_format(a->arena, "the rate of %s in %s", row->currency, row->in),
                      rule, age);
        }
        audit_there_and_back(a, row);
    }
}

/* ---- jumps ---- */

/* The row that was in force the day before this one began. */
static const ts_metal_row *row_before(const ts_auditing *a, const ts_metal_row *row)
{
    if (!ts_date_given(row->head.from)) {
        return NULL;
    }
    return ts_book_metal(a->book, (ts_metal_kind)row->metal, ts_date_plus(row->head.from, -1));
}

/* Grams of a unit of weight, in tens of micrograms: a troy ounce is 31.1034768 g. */
static int64_t grams_e7(int32_t per)
{
    if (per == TS_PER_WEIGHT_TROY_OUNCE) {
        return 311034768;
    }
    return per == TS_PER_WEIGHT_KILOGRAM ? 10000000000 : 10000000;
}

/* What a price was in the currency of the one after it, by the rate of the day that began; false
 * where none turns it. */
static bool price_in(int64_t *out_e6, const ts_book *book, const ts_metal_row *was,
                     const ts_metal_row *now)
{
    const char *was_in = was->currency == NULL ? book->currency : was->currency;
    const char *now_in = now->currency == NULL ? book->currency : now->currency;
    bool inverse = false;

    *out_e6 = was->price.e6;
    if (strcmp(was_in, now_in) == 0) {
        return true;
    }
    const ts_rate_row *rate = ts_book_rate(book, was_in, now_in, now->head.from, &inverse);
    if (rate == NULL) {
        return false;
    }
    return inverse
               ? ts_div_round(out_e6, (ts_i128)was->price.e6 * MILLION, rate->rate.e6, TS_HALF_AWAY)
               : ts_div_round(out_e6, (ts_i128)was->price.e6 * rate->rate.e6, MILLION,
                              TS_HALF_AWAY);
}

/* Change from one price to the next in millionths of a per cent; false where the two are
 * in currencies that no rate turns, or the change is past all counting. */
static bool change_of(ts_dec *out, const ts_book *book, const ts_metal_row *was,
                      const ts_metal_row *now)
{
    int64_t was_e6 = 0;

    if (!price_in(&was_e6, book, was, now) || was_e6 == 0) {
        return false;
    }
    const ts_i128 before = (ts_i128)was_e6 * grams_e7(now->per);
    const ts_i128 after = (ts_i128)now->price.e6 * grams_e7(was->per);
    /* the price before is at most 10^19 millionths, the one after 10^13, grams are 10^10: the
     * difference holds 10^29, and a hundred million times as much 10^37 of 10^38 */
    return ts_div_round(&out->e6, (after - before) * 100 * MILLION, before, TS_HALF_AWAY);
}

static void audit_jump(const ts_auditing *a, const ts_metal_row *row, const char *metal)
{
    const ts_metal_row *was = row_before(a, row);
    const ts_policy_row *rule = ts_book_policy(a->book, TS_RULE_PLAUSIBLE, metal, a->on);
    ts_dec change = {0};

    if (rule == NULL) {
        rule = ts_book_policy(a->book, TS_RULE_PLAUSIBLE, "metal", a->on);
    }
    if (rule == NULL || was == NULL || !change_of(&change, a->book, was, row)) {
        return;
    }
    const ts_dec size = {change.e6 < 0 ? -change.e6 : change.e6};
    char moved[TS_DECIMAL_TEXT];
    char most[TS_DECIMAL_TEXT];
    if (size.e6 > rule->amount.value.e6) {
        ts_audit_add(a, TS_FAULT_BOOK_JUMP, &row->head, "price",
                     ts_arena_format(a->arena,
                                     "the price of %s %s by %s %% from line %d; the policy finds "
                                     "%s %% plausible",
                                     metal, change.e6 < 0 ? "fell" : "rose",
                                     ts_dec_fixed(moved, size, 1), was->head.line,
                                     ts_dec_text(most, rule->amount.value)));
    }
}

/* One metal's price in force: its age and its leap. */
static void audit_price(const ts_auditing *a, ts_metal_kind metal)
{
    const ts_policy_row *rule = stale_rule(a, "metals");
    const ts_metal_row *row = ts_book_metal(a->book, metal, a->on);
    const char *word = ts_list_word(TS_LIST_METAL, (int)metal);

    if (row == NULL) {
        return;
    }
    const int age = age_over(a, &row->head, rule);
    if (age > 0) {
        add_stale(a, &row->head, ts_arena_format(a->arena, "the price of %s", word), rule, age);
    }
    audit_jump(a, row, word);
}

void ts_book_audit_metal(const ts_book *book, ts_metal_kind metal, ts_date on, ts_arena *arena,
                         ts_diag *diag)
{
    const ts_auditing a = {book, on, arena, diag};

    audit_price(&a, metal);
}

void ts_audit_metals(const ts_auditing *a)
{
    for (int metal = 1; metal < TS_METAL_COUNT; metal++) {
        audit_price(a, (ts_metal_kind)metal);
    }
    audit_rates(a);
    ts_book_walk walk = ts_book_walk_all(a->book, TS_BOOK_ALLOYS, a->on);
    for (const ts_book_row *row; (row = ts_book_walk_next(&walk)) != NULL;) {
        audit_density(a, ts_book_typed(row));
    }
}
