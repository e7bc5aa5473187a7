#include "cli/commands.h"

#include <tallystone/base/text.h>
#include <tallystone/book/book.h>
#include <tallystone/design/design.h>
#include <tallystone/words/words.h>

#include <string.h>

/* Help that derives from the tables: commands, parts, books, faults. */

typedef struct example {
    ts_command_id command;
    const char *line;
} example;

static const example examples[] = {
#define EXAMPLE(id, line) {TS_COMMAND_##id, line},
#include "cli/commands.def"
};

static const ts_exit_row exits[] = {
#define EXIT(code, says) {code, says},
#include "cli/commands.def"
};

const ts_exit_row *ts_exit_rows(size_t *count)
{
    *count = TS_COUNT_OF(exits);
    return exits;
}

size_t ts_command_examples(const char **out, size_t room, ts_command_id id)
{
    size_t count = 0;
    for (size_t i = 0; i < TS_COUNT_OF(examples) && count < room; i++) {
        if (examples[i].command == id) {
            out[count++] = examples[i].line;
        }
    }
    return count;
}

/* One sentence of all, broken before a screen's edge. */
static void print_exits(FILE *to)
{
    size_t column = (size_t)fprintf(to, "\nexit status:");
    for (size_t i = 0; i < TS_COUNT_OF(exits); i++) {
        const size_t more = strlen(exits[i].code) + strlen(exits[i].says) + 3;
        if (column + more > 80) {
            fputc('\n', to);
            column = 0;
        }
        column += (size_t)fprintf(to, "%s%s %s%s", column == 0 ? "" : " ", exits[i].code,
                                  exits[i].says, i + 1 < TS_COUNT_OF(exits) ? "," : "");
    }
    fputc('\n', to);
}

void ts_help_overview(FILE *to)
{
    fputs("tallystone: batch costing and quoting for a custom-jewellery studio\n\n"
          "usage: tallystone COMMAND [OPTION...] [OPERAND...]\n\n",
          to);
    for (int i = 1; i < TS_COMMAND_COUNT; i++) {
        const ts_command *row = ts_command_row((ts_command_id)i);
        fprintf(to, "  %-10s %-17s %s\n", row->word, row->operands, row->says);
    }
    fputs("\nFirst steps:\n"
          "  tallystone new my-ring --like halo     a sheet to fill in\n"
          "  tallystone price my-ring.csv           what it comes to\n"
          "  tallystone price my-ring.csv --out out the client's quote and your margin sheet\n\n"
          "`tallystone COMMAND --help` tells more, `tallystone help halo` what a part measures,\n"
          "`tallystone help parts` (books, words, units, states, faults) what there is.\n",
          to);
}

void ts_help_command(FILE *to, ts_command_id id)
{
    const ts_command *row = ts_command_row(id);
    for (size_t i = 0; i < TS_COUNT_OF(examples); i++) {
        if (examples[i].command == id) {
            fprintf(to, "  %s\n", examples[i].line);
        }
    }
    fprintf(to, "\nusage: tallystone %s [OPTION...] %s\n  %s\n\noptions:\n", row->word,
            row->operands, row->says);
    for (int i = 1; i < TS_OPTION_COUNT; i++) {
        const ts_option_row *option = ts_option_row_of((ts_option_id)i);
        if (ts_command_takes(id, (ts_option_id)i)) {
            fprintf(to, "  --%s %-*s %s\n", option->word, 13 - (int)strlen(option->word),
                    option->value, option->says);
        }
    }
    fputs("\nA sheet named - is read from standard input. What is asked for goes to standard\n"
          "output, everything else to standard error.\n",
          to);
    print_exits(to);
}

const char *ts_field_need(const ts_field *field)
{
    switch (field->need) {
    case TS_NEED_YES:
    case TS_NEED_KEY:
        return "required";
    case TS_NEED_SOME:
        return "where it applies";
    case TS_NEED_NO:
    case TS_NEED_KEY_NO:
        break;
    }
    return field->dflt[0] == '\0' ? "optional" : "default";
}

static void print_field(FILE *to, const ts_field *field)
{
    char text[512] = "";
    if (field->kind == TS_KIND_WORD) {
        ts_list_sentence(field->list, text, sizeof text);
    }
    fprintf(to, "  %-16s %s\n", field->word, field->says);
    fprintf(to, "  %-16s   %s%s%s; %s", "", ts_field_need(field), field->dflt[0] ? " " : "",
            field->dflt, text[0] != '\0' ? text : ts_kind_says(field->kind));
    if (field->least[0] != '\0' && field->kind != TS_KIND_AMOUNT) {
        const char *unit = ts_kind_unit(field->kind);
        fprintf(to, ", %s to %s%s%s", field->least, field->most, unit[0] ? " " : "", unit);
    }
    fputc('\n', to);
}

static bool help_part(FILE *to, const char *word)
{
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        if (!ts_text_same(ts_part_word((ts_part_kind)kind), word)) {
            continue;
        }
        size_t count = 0;
        const ts_field *fields = ts_part_fields((ts_part_kind)kind, &count);
        fprintf(to, "%s: %s\n\nmeasures of the part in a design sheet:\n",
                ts_part_word((ts_part_kind)kind), ts_part_says((ts_part_kind)kind));
        for (size_t i = 0; i < count; i++) {
            print_field(to, &fields[i]);
        }
        return true;
    }
    return false;
}

static bool help_book(FILE *to, const char *word, ts_arena *arena)
{
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *name = ts_book_file_name((ts_book_file)file);
        if (!ts_text_same(name, word) &&
            !ts_text_same(name, ts_arena_format(arena, "%s.csv", word))) {
            continue;
        }
        size_t count = 0;
        const ts_field *fields = ts_book_fields((ts_book_file)file, &count);
        fprintf(to, "%s\n\ncolumns, in any order, and `from`, `until`, `note`:\n", name);
        for (size_t i = 0; i < count; i++) {
            print_field(to, &fields[i]);
        }
        ts_help_book_more(to, (ts_book_file)file, arena);
        return true;
    }
    return false;
}

static bool help_fault(FILE *to, const char *word)
{
    ts_fault fault = ts_fault_find(word);
    if (fault == TS_FAULT_NONE) {
        return false;
    }
    fprintf(to, "%s: %s\n", ts_fault_word(fault), ts_fault_says(fault));
    return true;
}

bool ts_help_word(FILE *to, const char *word, ts_arena *arena)
{
    for (int i = 1; i < TS_COMMAND_COUNT; i++) {
        if (ts_text_same(ts_command_row((ts_command_id)i)->word, word)) {
            ts_help_command(to, (ts_command_id)i);
            return true;
        }
    }
    return help_part(to, word) || help_book(to, word, arena) || help_fault(to, word) ||
           ts_help_topic(to, word, arena);
}
