#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "randombooks.h"
#include "randomsheet.h"

#include <tallystone/base/file.h>
#include <tallystone/costing/recipe.h>
#include <tallystone/geometry/geometry.h>

/* A replayed price is the price: quantities of many pieces are priced over and over with
 * other amounts, currencies, terms and shapes, under books that are drawn, once by recipe
 * and once through the trees. SEED draws others. */

#define SEED UINT64_C(20261125)
#define BOOKS 60
#define ROUNDS 120 /* of one piece under one set of books */
#define MOST_PIECES 24

static struct {
    ts_arena *arena;
    uint64_t state;
    ts_quantities *pieces[MOST_PIECES];
    int piece_count;
    uint64_t priced, replayed, faulty, made, refused;
    uint64_t surcharged, reduced, stepped, negative;
} all;

static uint64_t seed(void)
{
    const char *text = getenv("SEED");
    return text == NULL ? SEED : strtoull(text, NULL, 10);
}

static bool once_in(int count)
{
    return random_once_in(&all.state, count);
}

/* ---- pieces ---- */

static void add_piece(ts_sheet *sheet, int option)
{
    const ts_book *book = random_books(all.arena, seed());
    ts_diag *diag = ts_diag_new(all.arena);
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *needs = NULL;

    if (all.piece_count < MOST_PIECES &&
        ts_design_of(&design, all.arena, sheet, option, book, TS_DATE_NONE, diag) == TS_OK &&
        ts_geometry_of(&geometry, all.arena, design, diag) == TS_OK &&
        ts_quantities_bare_of(&needs, all.arena, design, geometry, book, diag) == TS_OK) {
        all.pieces[all.piece_count++] = needs;
    }
}

static void add_sheet(const char *path)
{
    ts_diag *diag = ts_diag_new(all.arena);
    ts_sheet *sheet = NULL;

    assert_int_equal(ts_sheet_read(&sheet, all.arena, path, diag), TS_OK);
    for (int option = 0; option <= ts_sheet_options(sheet); option++) {
        add_piece(sheet, option);
    }
}

static int set_up(void **state)
{
    (void)state;
    all.arena = ts_arena_new(NULL, NULL);
    all.state = seed();
    add_sheet("demo/halo.csv");
    add_sheet("demo/three-stone.csv");
    add_sheet("demo/eternity.csv");
    assert_in_range(all.piece_count, 3, MOST_PIECES);
    for (uint64_t i = 0; all.piece_count < MOST_PIECES && i < 200; i++) {
        ts_diag *diag = ts_diag_new(all.arena);
        ts_sheet *sheet = NULL;
        const char *text = random_sheet(all.arena, seed() + i);

        if (ts_sheet_parse(&sheet, all.arena, "random.csv", text, strlen(text), diag) == TS_OK) {
            add_piece(sheet, 0);
        }
    }
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    ts_arena_free(all.arena);
    return 0;
}

/* ---- drawing ---- */

static ts_dec amount(ts_dec was)
{
    switch (random_below(&all.state, 40)) {
    case 0:
        return (ts_dec){0};
    case 1:
        return (ts_dec){was.e6 * 1000};
    case 2:
        return (ts_dec){1 + random_below(&all.state, 9)};
    case 3:
        return (ts_dec){(int64_t)random_below(&all.state, 500) * 1000000};
    case 4:
        return was;
    default:
        return (ts_dec){was.e6 / 1000 * (300 + random_below(&all.state, 1500)) +
                        random_below(&all.state, 100000)};
    }
}

static int count(int was)
{
    return once_in(30) ? random_below(&all.state, 400)
                       : 1 + (was * (30 + random_below(&all.state, 150))) / 100;
}

static void *copied(ts_arena *arena, const void *from, int many, size_t size)
{
    char *copy = ts_arena_alloc(arena, (size_t)many + 1, size);
    if (many > 0) {
        memcpy(copy, from, (size_t)many * size);
    }
    return copy;
}

/* Text of a row stands elsewhere in each: what lasts must not be told by its place. */
static const char *moved(ts_arena *arena, const char *text)
{
    return text == NULL || once_in(2) ? text : ts_arena_text(arena, text);
}

static void draw_lists(ts_arena *arena, ts_quantities *q)
{
#define COPY(list, many) q->list = copied(arena, q->list, q->many, sizeof *q->list)
    COPY(metals, metal_count);
    COPY(bought, bought_count);
    COPY(melee, melee_count);
    COPY(stones, stone_count);
    COPY(works, work_count);
    COPY(services, service_count);
    COPY(trade_ins, trade_in_count);
#undef COPY
    for (int i = 0; i < q->metal_count; i++) {
        q->metals[i].finished_g = amount(q->metals[i].finished_g);
    }
    for (int i = 0; i < q->bought_count; i++) {
        q->bought[i].price.value = amount(q->bought[i].price.value);
        q->bought[i].count = count(q->bought[i].count);
    }
    for (int i = 0; i < q->melee_count; i++) {
        q->melee[i].set = count(q->melee[i].set);
    }
    for (int i = 0; i < q->stone_count; i++) {
        ts_stone_need *stone = &q->stones[i];
        stone->count = count(stone->count);
        stone->carats = amount(stone->carats);
        stone->price.value = amount(stone->price.value);
        stone->declared.value = amount(stone->declared.value);
        stone->client = once_in(40) ? !stone->client : stone->client;
        stone->name = moved(arena, stone->name);
    }
    for (int i = 0; i < q->work_count; i++) {
        ts_work_need *work = &q->works[i];
        work->count = count(work->count);
        work->minutes = amount(work->minutes);
        work->size_mm.e6 += once_in(4) ? random_below(&all.state, 900000) - 450000 : 0;
        work->client = once_in(60) ? !work->client : work->client;
        work->operation = moved(arena, work->operation);
        work->alloy = moved(arena, work->alloy);
        work->species = moved(arena, work->species);
    }
    for (int i = 0; i < q->service_count; i++) {
        q->services[i].amount.value = amount(q->services[i].amount.value);
        q->services[i].count = count(q->services[i].count);
        q->services[i].service = moved(arena, q->services[i].service);
    }
    for (int i = 0; i < q->trade_in_count; i++) {
        q->trade_ins[i].weight_g = amount(q->trade_ins[i].weight_g);
    }
}

/* ---- terms ---- */

/* What stays from row to row of one table, for the most part. */
static void draw_terms(ts_quantities *q)
{
    static const struct {
        const char *currency;
        int exponent;
    } currencies[] = {{"USD", 2}, {"EUR", 2}, {"JPY", 0}, {"KWD", 3}};
    const int which = once_in(2) ? 0 : random_below(&all.state, 4);
    ts_terms *terms = &q->terms;

    terms->currency = currencies[which].currency;
    terms->exponent = currencies[which].exponent;
    terms->region = "state";
    terms->pays_by = once_in(2) ? "card" : NULL;
    terms->discount = (ts_amount){.of = TS_AMOUNT_NONE};
    if (once_in(2)) {
        terms->discount.of = once_in(2) ? TS_AMOUNT_PERCENT : TS_AMOUNT_MONEY;
        terms->discount.value.e6 =
            (1 + random_below(&all.state, once_in(3) ? 12000 : 30)) * INT64_C(500000);
        terms->discount.currency =
            terms->discount.of == TS_AMOUNT_MONEY && once_in(2) ? "EUR" : NULL;
    }
}

/* A service that the sheet asks for, and old metal, where the piece has none. */
static void draw_asked(ts_arena *arena, const ts_book *book, ts_quantities *q)
{
    if (q->service_count == 0 && once_in(2)) {
        q->services = TS_ARRAY(arena, ts_service_need, 1);
        q->services[0] = (ts_service_need){.service = "laboratory report",
                                           .count = 1,
                                           .has_amount = once_in(2),
                                           .amount = {{120000000}, TS_AMOUNT_MONEY, NULL}};
        q->service_count = 1;
    }
    if (q->trade_in_count == 0 && once_in(2)) {
        q->trade_ins = TS_ARRAY(arena, ts_trade_in_need, 1);
        q->trade_ins[0] =
            (ts_trade_in_need){.item = "old chain",
                               .alloy = "750 yellow",
                               .row = ts_book_alloy(book, "750 yellow", q->terms.as_of),
                               .weight_g = {5000000}};
        q->trade_in_count = 1;
    }
}

/* Rows that the quantities point to are those of other books: the same in these. */
static bool bind(const ts_book *book, ts_quantities *q)
{
    bool found = true;

    for (int i = 0; i < q->metal_count; i++) {
        q->metals[i].row = ts_book_alloy(book, q->metals[i].alloy, q->terms.as_of);
        found = found && q->metals[i].row != NULL;
    }
    for (int i = 0; i < q->melee_count; i++) {
        q->melee[i].step =
            ts_book_melee(book, q->melee[i].lot, q->melee[i].diameter_mm, q->terms.as_of);
        found = found && q->melee[i].step != NULL;
    }
    for (int i = 0; i < q->stone_count; i++) {
        ts_stone_need *stone = &q->stones[i];
        if (stone->offer != NULL) {
            stone->offer = ts_book_offer(book, stone->offer->lot, stone->carats, q->terms.as_of);
        }
        if (stone->offer == NULL && !stone->client && stone->price.of == TS_AMOUNT_NONE) {
            stone->price = (ts_amount){{450000000}, TS_AMOUNT_PER_CT, once_in(2) ? "EUR" : NULL};
            stone->melee = NULL;
        }
    }
    for (int i = 0; i < q->trade_in_count; i++) {
        q->trade_ins[i].row = ts_book_alloy(book, q->trade_ins[i].alloy, q->terms.as_of);
        found = found && q->trade_ins[i].row != NULL;
    }
    return found;
}

/* ---- comparing ---- */

static void assert_same(const ts_brief *one, const ts_brief *other)
{
    assert_int_equal(one->exponent, other->exponent);
    assert_int_equal(one->cost.minor, other->cost.minor);
    assert_int_equal(one->net.minor, other->net.minor);
    assert_int_equal(one->tax.minor, other->tax.minor);
    assert_int_equal(one->total.minor, other->total.minor);
    assert_int_equal(one->has_margin, other->has_margin);
    assert_int_equal(one->margin_pct.e6, other->margin_pct.e6);
    assert_int_equal(one->minutes.e6, other->minutes.e6);
}

static void note(const ts_costing *costing)
{
    all.surcharged += costing->surcharge != NULL;
    all.reduced += costing->trade_in != NULL;
    all.stepped += costing->net_rounding != NULL;
    all.negative += costing->net->value.num < 0;
}

static void compare(ts_recipes *recipes, const ts_book *book, const ts_quantities *q)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_costing *costing = NULL;
    ts_brief by_recipe = {0}, by_trees = {0};
    const uint64_t before = ts_recipes_counts(recipes).replayed;
    const ts_status one = ts_recipes_price(&by_recipe, recipes, arena, q, diag);
    ts_status other = ts_costing_of(&costing, arena, q, book, ts_diag_new(arena));

    if (other == TS_OK && !ts_brief_of(&by_trees, costing)) {
        other = TS_OVERFLOW;
    }
    assert_int_equal(one, other);
    if (one == TS_OK) {
        assert_same(&by_recipe, &by_trees);
    }
    if (ts_recipes_counts(recipes).replayed > before) {
        note(costing);
    }
    all.faulty += one != TS_OK;
    ts_arena_free(arena);
}

static void price_piece(const ts_book *book, ts_recipes *recipes, const ts_quantities *piece)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_quantities like = *piece;

    draw_terms(&like);
    draw_asked(arena, book, &like);
    for (int i = 0; i < ROUNDS; i++) {
        const ts_arena_mark mark = ts_arena_mark_of(arena);
        ts_quantities row = like;

        draw_lists(arena, &row);
        if (once_in(20)) {
            draw_terms(&row);
        }
        row.terms.discount.value =
            once_in(10) ? amount(row.terms.discount.value) : row.terms.discount.value;
        if (bind(book, &row)) {
            compare(recipes, book, &row);
        }
        ts_arena_rewind(arena, mark);
    }
    ts_arena_free(arena);
}

static void a_replayed_price_is_the_price(void **state)
{
    (void)state;
    for (uint64_t i = 0; i < BOOKS; i++) {
        ts_arena *arena = ts_arena_new(NULL, NULL);
        const ts_book *book = random_books(arena, seed() + i);
        const ts_arena *const lasting[] = {arena, NULL};
        ts_arena *own = ts_arena_new(NULL, NULL);
        ts_recipes *recipes = ts_recipes_new(own, book, lasting, NULL, NULL);

        for (int k = 0; k < 3; k++) {
            price_piece(book, recipes, all.pieces[random_below(&all.state, all.piece_count)]);
        }
        const ts_recipe_counts counts = ts_recipes_counts(recipes);
        all.priced += counts.priced;
        all.replayed += counts.replayed;
        all.made += counts.made;
        all.refused += counts.refused;
        ts_recipes_free(recipes);
        ts_arena_free(own);
        ts_arena_free(arena);
    }
    print_message(
        "%llu priced, %llu replayed by %llu recipes (%llu with a surcharge, %llu with old "
        "metal, %llu stepped up, %llu with a net below nothing), %llu refused, %llu at "
        "fault\n",
        (unsigned long long)all.priced, (unsigned long long)all.replayed,
        (unsigned long long)all.made, (unsigned long long)all.surcharged,
        (unsigned long long)all.reduced, (unsigned long long)all.stepped,
        (unsigned long long)all.negative, (unsigned long long)all.refused,
        (unsigned long long)all.faulty);
    assert_true(all.replayed * 3 > all.priced);
    assert_true(all.surcharged > 100 && all.reduced > 100 && all.stepped > 100 &&
                all.negative > 10);
    assert_true(all.refused * 20 < all.made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_replayed_price_is_the_price)};
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
