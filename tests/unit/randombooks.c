#include "randombooks.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/file.h>

/* Every kind of rule comes up: markup, margin and cost; tiers, marginal and whole; names
 * narrower than sections; overhead on sections and by the hour; contingency; minimum,
 * steps and surcharge; both ways of rounding; services of every kind; taxes that differ by
 * section and service and that old metal reduces or not. All figures are drawn. */

#define MOST ((size_t)1 << 20)

typedef struct writer {
    ts_arena *arena;
    uint64_t state;
    const char *text;
} writer;

/* splitmix64, by its published constants (public domain) */
uint64_t random_bits(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);

    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

int random_below(uint64_t *state, int count)
{
    return (int)(random_bits(state) % (uint64_t)count);
}

bool random_once_in(uint64_t *state, int count)
{
    return random_below(state, count) == 0;
}

static int below(writer *w, int count)
{
    return random_below(&w->state, count);
}

static void row(writer *w, const char *line)
{
    w->text = ts_arena_format(w->arena, "%s%s\n", w->text, line);
}

/* A number below `whole` with up to `places` decimals. */
static const char *number(writer *w, int whole, int places)
{
    static const int powers[] = {1, 10, 100, 1000, 10000, 100000, 1000000};
    const int kept = below(w, places + 1);

    return kept == 0 ? ts_arena_format(w->arena, "%d", below(w, whole))
                     : ts_arena_format(w->arena, "%d.%0*d", below(w, whole), kept,
                                       below(w, powers[kept]));
}

/* ---- policy ---- */

static void price_rule(writer *w, const char *subject, const char *above)
{
    switch (below(w, 4)) {
    case 0:
        row(w, ts_arena_format(w->arena, "at cost,%s,%s,,", subject, above));
        break;
    case 1:
        row(w, ts_arena_format(w->arena, "margin,%s,%s,%s,%%", subject, above, number(w, 80, 3)));
        break;
    default:
        row(w, ts_arena_format(w->arena, "markup,%s,%s,%s,%%", subject, above, number(w, 250, 4)));
    }
}

static void price_rules(writer *w, const char *subject)
{
    int above = 0;

    price_rule(w, subject, "");
    for (int tiers = below(w, 4); tiers > 1; tiers--) {
        above += 20 + below(w, 900);
        price_rule(w, subject, ts_arena_format(w->arena, "%d.%02d", above, below(w, 100)));
    }
}

static void sections(writer *w)
{
    static const char *const names[] = {"metal",    "melee",       "stones",  "labour",
                                        "overhead", "contingency", "services"};

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        price_rules(w, names[i]);
        if (below(w, 2) == 0) {
            row(w, ts_arena_format(w->arena, "tiers,%s,,%s,", names[i],
                                   below(w, 2) == 0 ? "whole" : "marginal"));
        }
        if (i < 4 && below(w, 3) == 0) {
            row(w, ts_arena_format(w->arena, "overhead,%s,,%s,%%", names[i], number(w, 30, 2)));
        }
        if (i < 5 && below(w, 5) == 0) {
            row(w, ts_arena_format(w->arena, "contingency,%s,,%s,%%", names[i], number(w, 9, 2)));
        }
    }
    static const char *const narrow[] = {"750 yellow",         "setter",        "caster",
                                         "natural melee G-VS", "design rounds", "insured carriage"};
    for (size_t i = 0; i < sizeof narrow / sizeof narrow[0]; i++) {
        if (below(w, 3) == 0) {
            price_rule(w, narrow[i], "");
        }
    }
}

static void whole_price(writer *w)
{
    if (below(w, 2) == 0) {
        row(w, ts_arena_format(w->arena, "overhead,hour,,%s,USD", number(w, 40, 3)));
    }
    if (below(w, 2) == 0) {
        row(w, ts_arena_format(w->arena, "contingency,cost,,%s,%%", number(w, 7, 3)));
    }
    if (below(w, 2) == 0) {
        row(w, ts_arena_format(w->arena, "minimum,net,,%d,USD", 100 + below(w, 9000)));
    }
    if (below(w, 2) == 0) {
        row(w, ts_arena_format(w->arena, "round up,net,,%d,", 1 + below(w, 50)));
    }
    if (below(w, 3) == 0) {
        row(w, ts_arena_format(w->arena, "round up,total,,%s,", below(w, 2) == 0 ? "0.05" : "1"));
    }
    row(w, ts_arena_format(w->arena, "surcharge,card,,%s,%%", number(w, 6, 3)));
    row(w, ts_arena_format(w->arena, "spares,melee,,%s,%%", number(w, 12, 2)));
    row(w, ts_arena_format(w->arena, "payment,deposit,,%d,%%", below(w, 60)));
    if (below(w, 2) == 0) {
        row(w, ts_arena_format(w->arena, "payment,casting,,%d,USD", 1 + below(w, 2000)));
    }
    row(w, "payment,delivery,,,");
    row(w, "floor,margin,,30,%");
    row(w, "valid,quote,,21,days");
    row(w, ts_arena_format(w->arena, "rounding,half,,%s,",
                           below(w, 2) == 0 ? "to even" : "away from zero"));
}

/* ---- services and taxes ---- */

static void services(writer *w)
{
    static const struct {
        const char *name, *applies;
    } rows[] = {{"design rounds", "always"},
                {"insured carriage", "always"},
                {"receiving of stones", "client stone"},
                {"cover of client stones", "client stone"},
                {"sourcing", "studio stone"},
                {"plating", "750 yellow"},
                {"laboratory report", "asked"},
                {"assay and hallmark", "asked"},
                {"further round", "offered"}};
    static const char *const bases[] = {"each", "percent of price", "percent of client stones",
                                        "percent of value"};

    row(w, "service,applies,basis,price,minimum,currency");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *basis = bases[below(w, 4)];
        const bool each = basis == bases[0];

        row(w,
            ts_arena_format(w->arena, "%s,%s,%s,%s,%s,%s", rows[i].name, rows[i].applies, basis,
                            number(w, each ? 200 : 4, 3), below(w, 2) == 0 ? number(w, 90, 2) : "",
                            below(w, 4) == 0 ? "EUR" : ""));
    }
}

static void tax(writer *w, const char *category)
{
    row(w, ts_arena_format(w->arena, "state,%s,%s,sales tax,delivery,%s", category,
                           number(w, 25, 3), below(w, 2) == 0 ? "reduces" : ""));
    if (below(w, 4) == 0) {
        row(w, ts_arena_format(w->arena, "state,%s,%s,county tax,delivery,%s", category,
                               number(w, 5, 2), below(w, 2) == 0 ? "reduces" : ""));
    }
}

static void taxes(writer *w)
{
    static const char *const some[] = {"metal", "labour", "services", "insured carriage", "stones"};

    row(w, "region,category,rate,name,due,trade-in");
    tax(w, "all");
    for (size_t i = 0; i < sizeof some / sizeof some[0]; i++) {
        if (below(w, 3) == 0) {
            tax(w, some[i]);
        }
    }
}

/* ---- the folder ---- */

static const char *drawn(writer *w, ts_book_file file)
{
    w->text = "";
    if (file == TS_BOOK_POLICY) {
        row(w, "rule,subject,above,value,unit");
        sections(w);
        whole_price(w);
    } else if (file == TS_BOOK_SERVICES) {
        services(w);
    } else if (file == TS_BOOK_TAXES) {
        taxes(w);
    }
    return w->text;
}

const ts_book *random_books(ts_arena *arena, uint64_t seed)
{
    writer w = {.arena = arena, .state = seed};
    ts_book_text texts[TS_BOOK_FILE_COUNT] = {{NULL, 0}};
    ts_diag *diag = ts_diag_new(arena);
    const ts_book *book = NULL;

    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *text = drawn(&w, (ts_book_file)file);
        char *bytes = NULL;
        const char *path =
            ts_arena_format(arena, "pricebooks/%s", ts_book_file_name((ts_book_file)file));
        size_t length = strlen(text);

        if (length == 0 && ts_file_read(&bytes, &length, arena, path, MOST, diag) == TS_OK) {
            text = bytes;
        }
        texts[file] = (ts_book_text){text, length};
    }
    if (ts_book_parse(&book, arena, "drawn", texts, diag) != TS_OK) {
        ts_diag_print(diag, stderr, false, false);
        fail_msg("the drawn books have faults");
    }
    return book;
}
