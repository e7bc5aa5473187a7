#include <tallystone/base/file.h>
#include <tallystone/costing/insight.h>
#include <tallystone/quantities/quantities.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheetcase.h"

/* Break-even prices against the engine itself: the piece is costed anew with one cell of the
 * books changed, and its own verdict on the floor is read. At the price found it must be the
 * one, a step beyond it the other, and at no price between today's and this may it change:
 * a walk from today's outward, which ends in a bisection, finds none nearer. All policies
 * here are invented. */

typedef struct kind_of_book {
    const char *name;
    const char *sheet;         /* of demo/ */
    const char *sheet_without; /* rows taken out and put in, as in sheetcase.h */
    const char *sheet_with;
    const char *policy_without;
    const char *policy_with;
    const char *metals; /* rows instead of those of the metals named; NULL: the shipped ones */
} kind_of_book;

#define NO_FLOOR "floor,\n"
#define NO_METAL "markup,metal\nfloor,\n"
#define RUPIAH "USD,IDR,16000,,,\n" /* added to the rates; made up, as they are */
#define SALE "commission,pays by,card,,\n"

static const kind_of_book kinds[] = {
    {"steps of 5, minimum far below", "halo.csv", NULL, NULL, NO_FLOOR, "floor,margin,,36,%\n",
     NULL},
    {"no step", "halo.csv", NULL, NULL, "round up\nfloor,\n", "floor,margin,,36.25,%\n", NULL},
    {"steps of 250", "halo.csv", NULL, NULL, "round up\nfloor,\n",
     "round up,net,,250,USD\nfloor,margin,,37,%\n", NULL},
    {"steps of the total", "halo.csv", NULL, NULL, "round up\nfloor,\n",
     "round up,total,,100,USD\nfloor,margin,,36,%\n", NULL},
    {"steps of both", "eternity.csv", NULL, NULL, "round up\nfloor,\n",
     "round up,net,,20,USD\nround up,total,,50,USD\nfloor,margin,,36,%\n", NULL},
    {"whole tiers of metal", "halo.csv", NULL, NULL, NO_METAL,
     "markup,metal,,60,%\nmarkup,metal,1000,45,%\nmarkup,metal,1200,22,%\n"
     "tiers,metal,,whole,\nfloor,margin,,37,%\n",
     NULL},
    {"whole tiers that lift it again", "halo.csv", NULL, NULL, NO_METAL,
     "markup,metal,,40,%\nmarkup,metal,900,20,%\nmarkup,metal,1500,90,%\n"
     "tiers,metal,,whole,\nfloor,margin,,39,%\n",
     NULL},
    {"marginal tiers of metal", "eternity.csv", NULL, NULL, NO_METAL,
     "markup,metal,,60,%\nmarkup,metal,700,30,%\nmarkup,metal,1400,5,%\n"
     "tiers,metal,,marginal,\nfloor,margin,,37,%\n",
     NULL},
    {"a margin, and metal at cost over a line", "halo.csv", NULL, NULL, NO_METAL,
     "margin,metal,,35,%\nat cost,metal,800,,\ntiers,metal,,marginal,\nfloor,margin,,33.333333,%\n",
     NULL},
    {"a minimum that stops biting", "halo.csv", NULL, NULL, "minimum\nfloor,\n",
     "minimum,net,,4000,USD\nfloor,margin,,40,%\n", NULL},
    {"a minimum that bites throughout", "eternity.csv", NULL, NULL, "minimum\nfloor,\n",
     "minimum,net,,9000,USD\nfloor,margin,,36,%\n", NULL},
    {"a discount in per cent", "halo.csv", NULL, "commission,discount,7.5,%,\n", NO_FLOOR,
     "floor,margin,,33,%\n", NULL},
    {"a discount in money", "halo.csv", NULL, "commission,discount,180,USD,\n", NO_FLOOR,
     "floor,margin,,33,%\n", NULL},
    {"paid by card", "halo.csv", "commission,pays by\n", SALE, NO_FLOOR, "floor,margin,,36,%\n",
     NULL},
    {"by card, a minimum and a step", "halo.csv", "commission,pays by\n", SALE,
     "minimum\nround up\nfloor,\n",
     "minimum,net,,3600,USD\nround up,net,,25,USD\nfloor,margin,,35,%\n", NULL},
    {"by card, old metal lessens the tax", "halo.csv", "commission,pays by\ntrade-in\n",
     SALE "trade-in old,alloy,585 yellow,,\ntrade-in old,weight,4.2,g,\n", NO_FLOOR,
     "floor,margin,,36,%\n", NULL},
    {"old metal worth more than the piece", "halo.csv", "commission,pays by\ntrade-in\n",
     SALE "trade-in old,alloy,585 yellow,,\ntrade-in old,weight,52,g,\n", NO_FLOOR,
     "floor,margin,,36.5,%\n", NULL},
    {"half to even", "eternity.csv", NULL, NULL, "rounding,half\nfloor,\n",
     "rounding,half,,to even,\nfloor,margin,,35.5,%\n", NULL},
    {"a quote in yen", "halo.csv", "commission,currency\n", "commission,currency,JPY,,\n",
     "rounding,half\nround up\nfloor,\n",
     "rounding,half,,to even,\nround up,net,,1000,\nfloor,margin,,36,%\n", NULL},
    {"a quote in dinars, metals by gram and kilogram", "halo.csv", "commission,currency\n",
     "commission,currency,KWD,,\n", "round up\nfloor,\n",
     "round up,net,,0.25,\nfloor,margin,,36,%\n",
     "gold,39.7,KWD,gram,,\nsilver,462.5,KWD,kilogram,,\nplatinum,1487.5,USD,troy ounce,,\n"
     "palladium,1218,USD,troy ounce,,\n"},
    {"large amounts in small steps", "eternity.csv", "commission,currency\n",
     "commission,currency,IDR,,\n", "round up\nfloor,\n",
     "round up,net,,0.05,\nfloor,margin,,36.74,%\n", NULL},
    {"two metals in one piece", "halo.csv", NULL, "head centre,alloy,platinum 950,,\n",
     NO_METAL "markup,platinum 950\n",
     "markup,metal,,8,%\nmarkup,platinum 950,,12,%\nfloor,margin,,30,%\n", NULL},
    {"the floor missed today", "halo.csv", NULL, NULL, NO_FLOOR, "floor,margin,,38,%\n", NULL},
    {"the floor never met", "halo.csv", NULL, NULL, NO_FLOOR, "floor,margin,,75,%\n", NULL},
    {"never under the floor", "halo.csv", NULL, NULL, NO_FLOOR, "floor,margin,,20,%\n", NULL},
    {"metal sold at just the floor", "halo.csv", NULL, NULL, NO_METAL,
     "margin,metal,,36,%\nfloor,margin,,36,%\n", NULL},
    {"overhead and contingency on metal, services on the price", "halo.csv", NULL, NULL,
     NO_METAL "overhead\ncontingency\n",
     "markup,metal,,45,%\noverhead,metal,,7,%\noverhead,labour,,20,%\ncontingency,metal,,9,%\n"
     "floor,margin,,35,%\n",
     NULL},
};

#define KINDS (sizeof kinds / sizeof kinds[0])

typedef struct priced_kind {
    sheet_run run;
    const ts_quantities *needs;
    const kind_of_book *kind;
} priced_kind;

/* The text of a file with lines that begin so taken out and others put at its end. */
static char *edited(ts_arena *arena, const char *path, const char *without, const char *with)
{
    char *text = NULL;
    size_t length = 0;
    assert_int_equal(ts_file_read(&text, &length, arena, path, 1 << 24, ts_diag_new(arena)), TS_OK);
    char *out = ts_arena_alloc(arena, length + strlen(with) + 2, 1), *to = out;
    for (const char *line = text; *line != '\0';) {
        const size_t size = strcspn(line, "\n") + 1;
        bool taken = false;
        for (const char *word = without; *word != '\0'; word += strcspn(word, "\n") + 1) {
            taken = taken || strncmp(line, word, strcspn(word, "\n")) == 0;
        }
        memcpy(to, line, size);
        to += taken ? 0 : size;
        line += size;
    }
    strcpy(to, with);
    return out;
}

static const ts_book *book_of(ts_arena *arena, const kind_of_book *kind)
{
    ts_book_text texts[TS_BOOK_FILE_COUNT];
    const ts_book *book = NULL;
    ts_diag *diag = ts_diag_new(arena);
    for (int i = 0; i < TS_BOOK_FILE_COUNT; i++) {
        const char *name = ts_book_file_name((ts_book_file)i);
        const char *without = "", *with = "";
        if (i == TS_BOOK_POLICY) {
            without = kind->policy_without;
            with = kind->policy_with;
        } else if (i == TS_BOOK_RATES) {
            with = RUPIAH;
        } else if (i == TS_BOOK_METALS && kind->metals != NULL) {
            without = "gold\nsilver\nplatinum\npalladium\n";
            with = kind->metals;
        }
        texts[i].text = edited(arena, ts_arena_format(arena, "pricebooks/%s", name), without, with);
        texts[i].length = strlen(texts[i].text);
    }
    if (ts_book_parse(&book, arena, "pricebooks", texts, diag) != TS_OK) {
        ts_diag_print(diag, stderr, false, false);
        fail_msg("%s: the books have faults", kind->name);
    }
    return book;
}

static priced_kind open_kind(const kind_of_book *kind)
{
    priced_kind p = {.kind = kind};
    ts_geometry *geometry = NULL;
    ts_quantities *needs = NULL;
    sheet_run_open(&p.run, false);
    p.run.book = book_of(p.run.arena, kind);
    char *sheet = edited(p.run.arena, ts_arena_format(p.run.arena, "demo/%s", kind->sheet), "", "");
    sheet_run_read(&p.run, sheet, kind->sheet_without, kind->sheet_with);
    ts_design *design = sheet_run_design(&p.run, 0);
    if (design == NULL) {
        fail_msg("%s: %s", kind->name, sheet_run_said(&p.run));
    }
    assert_int_equal(ts_geometry_of(&geometry, p.run.arena, design, p.run.diag), TS_OK);
    assert_int_equal(
        ts_quantities_of(&needs, p.run.arena, design, geometry, p.run.book, p.run.diag), TS_OK);
    p.needs = needs;
    return p;
}

/* Does the engine keep to the floor with this metal at this price? The books are frozen for
 * everybody but this test, which moves one cell and puts it back. */
static bool is_kept(const priced_kind *p, const ts_metal_row *row, int64_t e6)
{
    ts_arena *arena = ts_arena_beside(p->run.arena);
    ts_costing *costing = NULL;
    int64_t *cell = (int64_t *)(uintptr_t)&row->price.e6;
    const int64_t own = *cell;
    *cell = e6;
    const ts_status status =
        ts_costing_of(&costing, arena, p->needs, p->run.book, ts_diag_new(arena));
    *cell = own;
    assert_int_equal(status, TS_OK);
    const bool kept = !costing->below_floor;
    ts_arena_free(arena);
    return kept;
}

static int64_t unit_of(const ts_break_even *one)
{
    return one->places == 2 ? 10000 : one->places == 4 ? 100 : 1;
}

/* A walk from today's price away, each time by a two-hundredth, to the first price at which the
 * verdict is another, then halved: the last at which it is as today. `to` is the end. */
static int64_t bisected(const priced_kind *p, const ts_break_even *one, int64_t to)
{
    const int64_t unit = unit_of(one), today = one->row->price.e6;
    int64_t near = today / unit * unit, far = near;
    while (is_kept(p, one->row, far) == one->kept) {
        if (far == to) {
            return to;
        }
        const int64_t stride = (far / 200 / unit + 1) * unit * (to < today ? -1 : 1);
        near = far;
        far = llabs(to - far) < llabs(stride) ? to : far + stride;
    }
    while (llabs(far - near) > unit) {
        const int64_t middle = near + (far - near) / unit / 2 * unit;
        *(is_kept(p, one->row, middle) == one->kept ? &near : &far) = middle;
    }
    return near;
}

/* The last price as today, of two that lie beside each other. */
static void hold_found(const priced_kind *p, const ts_break_even *one)
{
    const int64_t unit = unit_of(one), price = one->price.e6, beyond = one->beyond.e6;
    const char *name = p->kind->name;
    if (!is_kept(p, one->row, price) || is_kept(p, one->row, beyond)) {
        fail_msg("%s: at %.6f the engine %s, at %.6f it %s", name, (double)price / 1e6,
                 is_kept(p, one->row, price) ? "keeps the floor" : "misses it",
                 (double)beyond / 1e6, is_kept(p, one->row, beyond) ? "keeps it" : "misses it");
    }
    const int64_t same = one->kept ? price : beyond, other = one->kept ? beyond : price;
    assert_true(llabs(price - beyond) <= unit && price != beyond && other % unit == 0);
    assert_int_equal(one->above, beyond > price);
    const int64_t back = other > same ? -unit : unit;
    for (int64_t k = 0, at = same; k < 300 && (at - one->row->price.e6) * back < 0; k++) {
        if (is_kept(p, one->row, at) != one->kept) {
            fail_msg("%s: nearer than %.6f lies %.6f", name, (double)same / 1e6, (double)at / 1e6);
        }
        at += back;
    }
    const int64_t by_hand = bisected(p, one, other);
    if (llabs(by_hand - same) >= unit) {
        fail_msg("%s: %.6f, by bisection %.6f", name, (double)same / 1e6, (double)by_hand / 1e6);
    }
}

/* From one step to a thousand times today's price, in a hundred strides. */
static void hold_none(const priced_kind *p, const ts_break_even *one)
{
    const int64_t unit = unit_of(one);
    const double today = (double)one->row->price.e6, least = log((double)unit / today);
    for (int i = 0; i <= 100; i++) {
        const double at = today * exp(least + (log(1000.0) - least) * i / 100.0);
        const int64_t e6 = ((int64_t)at / unit + (i == 0)) * unit;
        if (is_kept(p, one->row, e6 < unit ? unit : e6) != one->kept) {
            fail_msg("%s: none is found, and at %.6f the verdict is another", p->kind->name,
                     (double)e6 / 1e6);
        }
    }
}

static void it_is_where_bisection_of_the_engine_ends(void **state)
{
    (void)state;
    int found = 0, above = 0, missed = 0, none = 0;
    for (size_t i = 0; i < KINDS; i++) {
        priced_kind p = open_kind(&kinds[i]);
        ts_costing *costing = NULL;
        const ts_break_even *list = NULL;
        assert_int_equal(ts_costing_of(&costing, p.run.arena, p.needs, p.run.book, p.run.diag),
                         TS_OK);
        const size_t count = ts_break_evens_of(&list, p.run.arena, costing);
        assert_true(count >= 1);
        for (size_t k = 0; k < count; k++) {
            assert_int_equal(list[k].kept, !costing->below_floor);
            (list[k].found ? hold_found : hold_none)(&p, &list[k]);
            found += list[k].found;
            above += list[k].found && list[k].above;
            missed += list[k].found && !list[k].kept;
            none += !list[k].found;
        }
        sheet_run_close(&p.run);
    }
    /* the kinds have something of everything */
    assert_true(found >= 20 && above >= 10 && missed >= 2 && none >= 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_where_bisection_of_the_engine_ends),
    };
    return cmocka_run_group_tests_name("break-even", tests, NULL, NULL);
}
