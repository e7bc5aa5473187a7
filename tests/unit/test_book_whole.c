/* The price books that ship: every alloy, style and size of the vocabulary can be priced, and each
 * file says that it is invented. Then the same is asked of copies from which a row was taken. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/file.h>
#include <tallystone/base/text.h>
#include <tallystone/book/book.h>

#include "bookfolder.h"

#define FOLDER "pricebooks"
#define MOST ((size_t)16 << 20)

typedef struct shipped {
    ts_arena *arena;
    ts_book_text texts[TS_BOOK_FILE_COUNT];
    const ts_book *book;
    ts_date on;
    char gap[200]; /* the first thing that cannot be priced; "" for none */
} shipped;

static void parse(shipped *s)
{
    ts_diag *diag = ts_diag_new(s->arena);

    if (ts_book_parse(&s->book, s->arena, FOLDER, s->texts, diag) != TS_OK) {
        ts_diag_print(diag, stdout, false, true);
        fail_msg("the books that ship do not load");
    }
}

static void open_shipped(shipped *s)
{
    *s = (shipped){.arena = ts_arena_new(NULL, NULL), .on = bookfolder_day("2026-11-25")};
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *path =
            ts_arena_format(s->arena, FOLDER "/%s", ts_book_file_name((ts_book_file)file));
        char *text = NULL;
        size_t length = 0;

        assert_int_equal(TS_OK,
                         ts_file_read(&text, &length, s->arena, path, MOST, ts_diag_new(s->arena)));
        s->texts[file] = (ts_book_text){text, length};
    }
    parse(s);
}

/* A copy without one line of one file, in the arena of the whole. */
static shipped without(const shipped *s, ts_book_file file, int line)
{
    shipped copy = *s;
    const char *from = s->texts[file].text;

    for (int i = 1; i < line; i++) {
        from = strchr(from, '\n') + 1;
    }
    const char *to = strchr(from, '\n') + 1;
    const size_t before = (size_t)(from - s->texts[file].text);
    const size_t after = strlen(to);
    char *text = ts_arena_alloc(s->arena, before + after + 1, 1);
    memcpy(text, s->texts[file].text, before);
    memcpy(text + before, to, after + 1);
    copy.texts[file] = (ts_book_text){text, before + after};
    copy.gap[0] = '\0';
    parse(&copy);
    return copy;
}

/* ---- labour ---- */

static void ask(shipped *s, const ts_labour_key *key)
{
    const ts_labour_row *tie = NULL;
    const ts_labour_row *row = ts_book_labour(s->book, key, s->on, &tie);

    if (s->gap[0] == '\0' &&
        (row == NULL || tie != NULL || ts_book_craft(s->book, row->craft, s->on) == NULL)) {
        snprintf(s->gap, sizeof s->gap, "%s in %s, %s %s, %g mm", key->operation, key->alloy,
                 key->client ? "a client's" : "a", key->shape == NULL ? "piece" : key->shape,
                 (double)key->size_mm.e6 / 1e6);
    }
}

/* Every shape of a few species, the studio's and the client's, in sizes from 0.5 to 60 mm. */
static void ask_setting(shipped *s, ts_labour_key key, int shapes)
{
    for (int i = 0; i <= 120; i++) {
        key.has_size = true;
        key.size_mm.e6 = i == 120 ? 60000000 : 500000 + i * (int64_t)495000;
        for (int shape = 1; shape <= shapes; shape++) {
            key.shape = ts_list_word(TS_LIST_SHAPE, shape);
            key.species = i % 2 == 0 ? "diamond" : "emerald";
            key.client = false;
            ask(s, &key);
            key.client = true;
            ask(s, &key);
        }
    }
}

/* All operations that geometry counts; `only` one of them, or all where it is NULL. */
static void ask_labour(shipped *s, const ts_alloy_row *alloy, const char *only, int shapes)
{
    static const char *const plain[] = {"cast", "join", "unset"};
    ts_labour_key key = {.alloy = alloy->alloy,
                         .main_metal = ts_list_word(TS_LIST_METAL, (int)ts_alloy_main(alloy))};

    for (int setting = 1; setting < TS_SETTING_COUNT; setting++) {
        key.operation = ts_arena_format(s->arena, "set %s", ts_list_word(TS_LIST_SETTING, setting));
        if (only == NULL || strcmp(only, key.operation) == 0) {
            ask_setting(s, key, shapes);
        }
    }
    for (int style = 1; style < TS_CLAW_COUNT; style++) {
        key.operation =
            ts_arena_format(s->arena, "form %s claw", ts_list_word(TS_LIST_CLAW, style));
        ask(s, &key);
    }
    for (size_t i = 0; i < TS_COUNT_OF(plain); i++) {
        key.operation = plain[i];
        ask(s, &key);
    }
}

static void ask_work(shipped *s, const char *only, int shapes)
{
    for (size_t i = 0; i < s->book->alloys.count; i++) {
        const ts_alloy_row *alloy = &s->book->alloys.at[i];

        if (ts_book_current(s->book, &alloy->head, s->on)) {
            ask_labour(s, alloy, only, shapes);
        }
    }
}

/* ---- metals and stones ---- */

/* Each metal that is sold has a price and an alloy whose main metal it is. */
static void ask_metals(shipped *s)
{
    for (int metal = TS_METAL_GOLD; metal <= TS_METAL_SILVER; metal++) {
        bool has_alloy = false;

        for (size_t i = 0; i < s->book->alloys.count; i++) {
            const ts_alloy_row *row = &s->book->alloys.at[i];
            has_alloy = has_alloy || (ts_book_in_force(&row->head, s->on) &&
                                      ts_alloy_main(row) == (ts_metal_kind)metal);
        }
        if (!has_alloy || ts_book_metal(s->book, (ts_metal_kind)metal, s->on) == NULL) {
            snprintf(s->gap, sizeof s->gap, "%s", ts_list_word(TS_LIST_METAL, metal));
        }
    }
}

/* Every lot of melee holds every size from 0.5 to 4.1 mm. */
static void ask_melee(shipped *s)
{
    const char *const *lots = NULL;
    const size_t count = ts_book_names(&lots, s->arena, s->book, TS_BOOK_MELEE);

    for (size_t i = 0; i < count; i++) {
        for (int64_t size_e6 = 500000; size_e6 < 4100000; size_e6 += 10000) {
            if (ts_book_melee(s->book, lots[i], (ts_dec){size_e6}, s->on) == NULL) {
                snprintf(s->gap, sizeof s->gap, "%s of %g mm", lots[i], (double)size_e6 / 1e6);
            }
        }
    }
}

/* Is a diamond of a shape, origin and weight on offer? */
static bool is_offered(const shipped *s, int shape, int origin, ts_dec carats)
{
    for (size_t i = 0; i < s->book->offers.count; i++) {
        const ts_offer_row *row = &s->book->offers.at[i];

        if (row->shape == shape && row->origin == origin && strcmp(row->species, "diamond") == 0 &&
            row->from_ct.e6 <= carats.e6 && carats.e6 < row->to_ct.e6 &&
            ts_book_in_force(&row->head, s->on)) {
            return true;
        }
    }
    return false;
}

/* Every shape, natural and laboratory-grown, from 0.01 to 10 ct. */
static void ask_offers(shipped *s)
{
    for (int shape = 1; shape < TS_SHAPE_COUNT; shape++) {
        for (int origin = 1; origin < TS_ORIGIN_COUNT; origin++) {
            for (int64_t e6 = 10000; e6 < 10000000; e6 += e6 < 1000000 ? 10000 : 100000) {
                if (!is_offered(s, shape, origin, (ts_dec){e6})) {
                    snprintf(s->gap, sizeof s->gap, "%s of %g ct",
                             ts_list_word(TS_LIST_SHAPE, shape), (double)e6 / 1e6);
                }
            }
        }
    }
}

/* ---- tests ---- */

static void every_alloy_style_and_size_is_priced(void **state)
{
    (void)state;
    shipped s;

    open_shipped(&s);
    ask_work(&s, NULL, TS_SHAPE_COUNT - 1);
    ask_metals(&s);
    ask_melee(&s);
    ask_offers(&s);
    assert_string_equal("", s.gap);
    ts_arena_free(s.arena);
}

/* A row that no narrower or wider one stands in for is missed. */
static void a_row_of_labour_that_is_taken_away_is_missed(void **state)
{
    (void)state;
    shipped s;
    int tried = 0;

    open_shipped(&s);
    for (size_t i = 0; i < s.book->labour.count; i++) {
        const ts_labour_row *row = &s.book->labour.at[i];
        const bool is_set = ts_text_after_word(row->operation, "set") != NULL;

        if (is_set && row->metal[0] == '\0' && row->stone[0] == '\0') {
            const ts_arena_mark mark = ts_arena_mark_of(s.arena);
            shipped less = without(&s, TS_BOOK_LABOUR, row->head.line);

            ask_work(&less, row->operation, 1);
            if (less.gap[0] == '\0') {
                fail_msg("labour.csv:%d is not missed", row->head.line);
            }
            tried++;
            ts_arena_rewind(s.arena, mark);
        }
    }
    assert_in_range(tried, 30, 100);
    ts_arena_free(s.arena);
}

/* On a day before the second price lists: later an older row would stand in. */
static void a_step_of_melee_or_of_an_offer_that_is_taken_away_is_missed(void **state)
{
    (void)state;
    shipped s;
    int tried = 0;

    open_shipped(&s);
    s.on = bookfolder_day("2026-06-15");
    for (size_t i = 0; i < s.book->melee.count + s.book->offers.count; i++) {
        const bool is_melee = i < s.book->melee.count;
        const ts_book_row *row =
            is_melee ? &s.book->melee.at[i].head : &s.book->offers.at[i - s.book->melee.count].head;
        const ts_offer_row *offer = (const ts_offer_row *)(const void *)row;
        const bool is_diamond = is_melee || (strcmp(offer->species, "diamond") == 0 &&
                                             strstr(offer->lot, "single") == NULL);

        if (is_diamond && ts_book_current(s.book, row, s.on)) {
            const ts_arena_mark mark = ts_arena_mark_of(s.arena);
            shipped less = without(&s, is_melee ? TS_BOOK_MELEE : TS_BOOK_STONES, row->line);

            if (is_melee) {
                ask_melee(&less);
            } else {
                ask_offers(&less);
            }
            if (less.gap[0] == '\0') {
                fail_msg("%s:%d is not missed", ts_book_file_name(row->file), row->line);
            }
            tried++;
            ts_arena_rewind(s.arena, mark);
        }
    }
    assert_in_range(tried, 200, 600);
    ts_arena_free(s.arena);
}

static void the_first_row_of_every_book_says_that_it_is_invented(void **state)
{
    (void)state;
    shipped s;

    open_shipped(&s);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *line = strchr(s.texts[file].text, '\n') + 1;
        const char *said = strstr(line, "invented for demonstration");

        if (said == NULL || said > strchr(line, '\n')) {
            fail_msg("the first row of %s does not say it", ts_book_file_name((ts_book_file)file));
        }
    }
    ts_arena_free(s.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_alloy_style_and_size_is_priced),
        cmocka_unit_test(a_row_of_labour_that_is_taken_away_is_missed),
        cmocka_unit_test(a_step_of_melee_or_of_an_offer_that_is_taken_away_is_missed),
        cmocka_unit_test(the_first_row_of_every_book_says_that_it_is_invented),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
