#include "cli/commands.h"
#include "cli/manual.h"
#include "desk/following.h"

#include <tallystone/base/text.h>
#include <tallystone/book/book.h>
#include <tallystone/design/design.h>
#include <tallystone/words/words.h>

#include <string.h>

/* Help on all of a kind: what parts there are, what units, what may follow in a quote's life.
 * Each list is read off the table that the program itself goes by. */

#define WIDTH 80
#define INDENT 20

/* A word and what is said of it, broken between words before a screen's edge. */
static void row(FILE *to, const char *word, const char *says)
{
    size_t column = INDENT;
    fprintf(to, "  %s", word);
    if (*says != '\0') { /* after a long word on a line of its own */
        const int left = INDENT - 2 - (int)strlen(word);
        fprintf(to, "%s%*s", left > 0 ? "" : "\n", left > 0 ? left : INDENT, "");
    }
    while (*says != '\0') {
        const size_t length = strcspn(says, " ");
        if (column > INDENT && column + 1 + length > WIDTH) {
            fprintf(to, "\n%*s", INDENT, "");
            column = INDENT;
        }
        column += (size_t)fprintf(to, "%s%.*s", column > INDENT ? " " : "", (int)length, says);
        says += length + (says[length] == ' ');
    }
    fputc('\n', to);
}

static void print_parts(FILE *to, ts_arena *arena)
{
    (void)arena;
    fputs("parts of a design sheet; `tallystone help PART` tells its measures:\n", to);
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        row(to, ts_part_word((ts_part_kind)kind), ts_part_says((ts_part_kind)kind));
    }
}

static void print_books(FILE *to, ts_arena *arena)
{
    (void)arena;
    fputs("files of a folder of price books; `tallystone help FILE` tells its columns:\n", to);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        row(to, ts_book_file_name((ts_book_file)file), ts_book_file_says((ts_book_file)file));
    }
}

static void print_list(FILE *to, ts_list list, const char *title)
{
    size_t count = 0;
    const char *const *words = ts_list_words(list, &count);
    fprintf(to, "%s:\n", title);
    for (size_t i = 1; i < count; i++) {
        row(to, words[i], ts_list_says(list, (int)i));
    }
}

static void print_words(FILE *to, ts_arena *arena)
{
    (void)arena;
    print_list(to, TS_LIST_SHAPE, "shapes of stones");
    print_list(to, TS_LIST_PROFILE, "\nprofiles of a shank");
    print_list(to, TS_LIST_SETTING, "\nsettings");
    print_list(to, TS_LIST_SPECIES, "\nspecies");
    print_list(to, TS_LIST_SIZE, "\nring sizes, as the unit of `size`");
}

static void print_units(FILE *to, ts_arena *arena)
{
    (void)arena;
    fputs("units that a value may have:\n", to);
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        char value[64];
        row(to, ts_unit_word((ts_unit)i), ts_unit_value(value, sizeof value, (ts_unit)i));
    }
}

static void print_states(FILE *to, ts_arena *arena)
{
    fputs("states of a quote, and what may follow:\n", to);
    for (int i = 0; i < ts_following_count(); i++) {
        const ts_following one = ts_following_of(arena, i);
        row(to, one.state, one.may);
    }
}

static void print_faults(FILE *to, ts_arena *arena)
{
    (void)arena;
    fputs("words of faults, as they stand in brackets:\n", to);
    for (int i = 1; i < TS_FAULT_COUNT; i++) {
        row(to, ts_fault_word((ts_fault)i), ts_fault_says((ts_fault)i));
    }
}

static void print_formulas(FILE *to, ts_arena *arena)
{
    static const struct {
        const char *form, *says;
    } forms[] = {
        {"#4", "the value of step 4"},
        {"round(#4, 2)", "to two decimals; a half away from zero, or to even, as the policy says"},
        {"ceiling(#4)", "up to a whole number"},
        {"step(#4, #5)", "up to a multiple of #5"},
        {"max(#4, #5)", "the larger; min the smaller"},
        {"share(#4: #5, #6: 2, 2)",
         "#4 shared in proportion to #5 and #6; the second share, to two decimals: each is cut off "
         "there, and the coins left over go one by one to those of which most was cut off, of "
         "like ones to the earlier"},
        {"last(#2, #3: #4, #5, 0.01)",
         "of a break-even: from today's price #5 on by steps of 0.01, the last at which the "
         "margin #2 keeps the floor #3; first: the first that does. #4 is that price; "
         "what follows a colon: where it would be without roundings"},
    };
    (void)arena;
    fputs("formulas of a chain, as `tallystone why` tells it:\n", to);
    for (size_t i = 0; i < TS_COUNT_OF(forms); i++) {
        row(to, forms[i].form, forms[i].says);
    }
}

static void print_manual(FILE *to, ts_arena *arena)
{
    ts_manual_print(to, arena, TS_VERSION);
}

typedef struct topic {
    const char *word;
    void (*print)(FILE *to, ts_arena *arena);
} topic;

static const topic topics[] = {
    {"parts", print_parts},       {"books", print_books},   {"words", print_words},
    {"units", print_units},       {"states", print_states}, {"faults", print_faults},
    {"formulas", print_formulas}, {"manual", print_manual},
};

bool ts_help_topic(FILE *to, const char *word, ts_arena *arena)
{
    for (size_t i = 0; i < TS_COUNT_OF(topics); i++) {
        if (ts_text_same(topics[i].word, word)) {
            topics[i].print(to, arena);
            return true;
        }
    }
    return false;
}

const char *ts_help_topics(ts_arena *arena)
{
    const char *list = topics[0].word;
    for (size_t i = 1; i < TS_COUNT_OF(topics); i++) {
        list = ts_arena_format(arena, "%s%s%s", list, i + 1 < TS_COUNT_OF(topics) ? ", " : " or ",
                               topics[i].word);
    }
    return list;
}

void ts_help_book_more(FILE *to, ts_book_file file, ts_arena *arena)
{
    if (file == TS_BOOK_STUDIO) {
        size_t count = 0;
        const char *const *fields = ts_book_studio_fields(&count);
        fputs("\nfields:\n", to);
        for (size_t i = 0; i < count; i++) {
            const bool is_paper = strcmp(fields[i], "paper") == 0;
            char words[160] = "";
            if (is_paper || strcmp(fields[i], "quote detail") == 0) {
                ts_list_sentence(is_paper ? TS_LIST_PAPER : TS_LIST_DETAIL, words, sizeof words);
            }
            row(to, fields[i], words);
        }
    } else if (file == TS_BOOK_POLICY) {
        fputs("\nrules:\n", to);
        for (int i = 1; i < TS_RULE_COUNT; i++) {
            const ts_rule_help help = ts_book_rule_help(arena, (ts_rule)i);
            row(to, ts_list_word(TS_LIST_RULE, i), help.means);
            row(to, "", ts_arena_format(arena, "subject: %s", help.subject));
            row(to, "", ts_arena_format(arena, "value: %s", help.value));
        }
    }
}
