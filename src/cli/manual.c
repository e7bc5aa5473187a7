#include "cli/manual.h"

#include "cli/commands.h"
#include "desk/following.h"

#include <tallystone/base/text.h>
#include <tallystone/book/book.h>
#include <tallystone/design/design.h>
#include <tallystone/words/words.h>

#include <string.h>

/* The manual in man(7): paragraphs with tags, nothing that an old pager cannot show. */

/* ---- writing ---- */

/* Text as it is: a backslash, a hyphen that is typed and a control character at the margin would
 * mean something to the formatter. */
static void put(FILE *to, const char *text)
{
    if (*text == '.' || *text == '\'') {
        fputs("\\&", to);
    }
    for (; *text != '\0'; text++) {
        if (*text == '\\') {
            fputs("\\e", to);
        } else if (*text == '-') {
            fputs("\\-", to);
        } else if (*text != '`') {
            fputc(*text, to);
        }
    }
}

static void head(FILE *to, const char *title)
{
    fprintf(to, ".SH \"%s\"\n", title);
}

static void part_head(FILE *to, const char *title)
{
    fputs(".SS \"", to);
    put(to, title);
    fputs("\"\n", to);
}

static void paragraph(FILE *to, const char *text)
{
    fputs(".PP\n", to);
    put(to, text);
    fputc('\n', to);
}

static void tag(FILE *to, const char *word, const char *more)
{
    fputs(".TP\n\\fB", to);
    put(to, word);
    fputs("\\fR", to);
    if (more[0] != '\0') {
        fputs(" \\fI", to);
        put(to, more);
        fputs("\\fR", to);
    }
    fputc('\n', to);
}

static void line(FILE *to, const char *text)
{
    put(to, text);
    fputc('\n', to);
}

static void screen(FILE *to, const char *const *lines, size_t count)
{
    fputs(".PP\n.nf\n.RS 4\n", to);
    for (size_t i = 0; i < count; i++) {
        line(to, lines[i]);
    }
    fputs(".RE\n.fi\n", to);
}

/* ---- commands ---- */

static void command_options(FILE *to, ts_arena *arena, ts_command_id id)
{
    for (int i = 1; i < TS_OPTION_COUNT; i++) {
        const ts_option_row *option = ts_option_row_of((ts_option_id)i);
        if (ts_command_takes(id, (ts_option_id)i)) {
            tag(to, ts_arena_format(arena, "--%s", option->word), option->value);
            line(to, option->says);
        }
    }
}

static void commands(FILE *to, ts_arena *arena)
{
    head(to, "COMMANDS");
    for (int i = 1; i < TS_COMMAND_COUNT; i++) {
        const ts_command *row = ts_command_row((ts_command_id)i);
        const char *examples[16];
        part_head(to, ts_arena_format(arena, "%s %s", row->word, row->operands));
        line(to, row->says);
        const size_t count = ts_command_examples(examples, TS_COUNT_OF(examples), (ts_command_id)i);
        if (count > 0) {
            screen(to, examples, count);
        }
        command_options(to, arena, (ts_command_id)i);
    }
}

/* ---- sheets and books ---- */

static void field(FILE *to, ts_arena *arena, const ts_field *one)
{
    char words[512] = "";
    const char *unit = ts_kind_unit(one->kind);
    if (one->kind == TS_KIND_WORD) {
        ts_list_sentence(one->list, words, sizeof words);
    }
    const bool ranged = one->least[0] != '\0' && one->kind != TS_KIND_AMOUNT;
    tag(to, one->word, "");
    line(to,
         ts_arena_format(
             arena, "%s; %s%s%s, %s", one->says, words[0] != '\0' ? words : ts_kind_says(one->kind),
             !ranged ? ""
                     : ts_arena_format(arena, ", %s to %s%s%s", one->least, one->most,
                                       unit[0] ? " " : "", unit),
             one->dflt[0] == '\0' ? "" : ts_arena_format(arena, "; %s if not said", one->dflt),
             ts_field_need(one)));
}

static void sheets(FILE *to, ts_arena *arena)
{
    head(to, "DESIGN SHEETS");
    paragraph(to,
              "A sheet is a CSV file with the columns part, measure, value, unit and note. Each "
              "row gives one measurement of one part, in any order; a part of which there may be "
              "several has a name behind its kind (halo top). Rows whose part begins with # are "
              "remarks. A row `option NAME,PART/MEASURE,VALUE` replaces a measurement in that "
              "option alone; `option NAME,PART,none` leaves a part out.");
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        size_t count = 0;
        const ts_field *fields = ts_part_fields((ts_part_kind)kind, &count);
        part_head(to, ts_part_word((ts_part_kind)kind));
        line(to, ts_part_says((ts_part_kind)kind));
        for (size_t i = 0; i < count; i++) {
            field(to, arena, &fields[i]);
        }
    }
}

static void books(FILE *to, ts_arena *arena)
{
    head(to, "PRICE BOOKS");
    paragraph(to,
              "A folder of CSV files. Every row may begin (`from`) and end (`until`) on a day; "
              "the row in force on the day of the sheet is used. Nothing is ever overwritten: a "
              "new price is a new row.");
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        size_t count = 0;
        const ts_field *fields = ts_book_fields((ts_book_file)file, &count);
        part_head(to, ts_book_file_name((ts_book_file)file));
        line(to, ts_book_file_says((ts_book_file)file));
        for (size_t i = 0; i < count; i++) {
            field(to, arena, &fields[i]);
        }
    }
}

/* ---- words ---- */

static void word_list(FILE *to, ts_list list, const char *title)
{
    size_t count = 0;
    const char *const *words = ts_list_words(list, &count);
    part_head(to, title);
    for (size_t i = 1; i < count; i++) {
        tag(to, words[i], "");
        line(to, ts_list_says(list, (int)i));
    }
}

static void units(FILE *to)
{
    part_head(to, "Units");
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        char value[64];
        tag(to, ts_unit_word((ts_unit)i), "");
        line(to, ts_unit_value(value, sizeof value, (ts_unit)i));
    }
}

static void words(FILE *to)
{
    head(to, "WORDS");
    word_list(to, TS_LIST_SHAPE, "Shapes");
    word_list(to, TS_LIST_PROFILE, "Profiles of a shank");
    word_list(to, TS_LIST_SETTING, "Settings");
    word_list(to, TS_LIST_SPECIES, "Species");
    word_list(to, TS_LIST_SIZE, "Ring sizes");
    units(to);
}

/* ---- the register ---- */

static void life(FILE *to, ts_arena *arena)
{
    head(to, "LIFE OF A QUOTE");
    paragraph(to, "What was issued never changes; what happened to it is kept event by event, each "
                  "sealed by the one before. What may follow what:");
    for (int i = 0; i < ts_following_count(); i++) {
        const ts_following row = ts_following_of(arena, i);
        tag(to, row.state, "");
        line(to, row.may);
    }
}

static void nightly(FILE *to)
{
    static const char *const cron[] = {
        "30 2 * * 1-6 cd \"$HOME/studio\" && tallystone reprice --quiet --exit-code --out reports"};
    static const char *const timer[] = {
        "cp tallystone-reprice*.service tallystone-reprice.timer ~/.config/systemd/user/",
        "systemctl --user enable --now tallystone-reprice.timer",
        "loginctl enable-linger",
    };
    head(to, "EVERY NIGHT");
    paragraph(to,
              "`reprice` looks at every open quote that a changed price touches. With --quiet it "
              "says nothing where nothing needs a person; with --exit-code it then ends with 1. "
              "As a line of cron, which mails what is said:");
    screen(to, cron, TS_COUNT_OF(cron));
    paragraph(to, "Or as units of systemd, which the folder scripts holds; the last line lets them "
                  "run while nobody is logged in, and tallystone-reprice-failed.service says what "
                  "to look at when a night did not end well:");
    screen(to, timer, TS_COUNT_OF(timer));
}

static void spread(FILE *to)
{
    static const char *const parallel[] = {
        "parallel -k tallystone variants ring.csv season.csv --shard {}/8 ::: 1 2 3 4 5 6 7 8 "
        "> priced.csv"};
    static const char *const slurm[] = {
        "#!/bin/sh", "#SBATCH --array=1-64", "part=$(printf 'part-%02d' \"$SLURM_ARRAY_TASK_ID\")",
        ("tallystone variants ring.csv season.csv --shard \"$SLURM_ARRAY_TASK_ID/64\" "
         "> \"$part.csv\" 2> \"$part.log\"")};
    head(to, "A CATALOGUE OVER MANY PROCESSES");
    paragraph(to,
              "A table of variants is cut into parts that, put together in order, are the bytes "
              "of the whole. On one machine --jobs does it; over several programs GNU parallel:");
    screen(to, parallel, TS_COUNT_OF(parallel));
    paragraph(to,
              "On a cluster, an array of Slurm; afterwards cat part-*.csv, and of the lines that "
              "name the books in part-*.log there must be one kind:");
    screen(to, slurm, TS_COUNT_OF(slurm));
}

/* ---- faults, ends ---- */

static void faults(FILE *to)
{
    head(to, "FAULTS");
    paragraph(to,
              "A fault stands as FILE:LINE:COLUMN: SENTENCE [WORD]. All of them come out in one "
              "run. The words:");
    for (int i = 1; i < TS_FAULT_COUNT; i++) {
        tag(to, ts_fault_word((ts_fault)i), "");
        line(to, ts_fault_says((ts_fault)i));
    }
}

static void ends(FILE *to)
{
    size_t count = 0;
    const ts_exit_row *rows = ts_exit_rows(&count);
    head(to, "EXIT STATUS");
    for (size_t i = 0; i < count; i++) {
        tag(to, rows[i].code, "");
        line(to, rows[i].says);
    }
}

void ts_manual_print(FILE *to, ts_arena *arena, const char *version)
{
    fprintf(to, ".TH TALLYSTONE 1 \"\" \"tallystone %s\" \"batch costing and quoting\"\n", version);
    head(to, "NAME");
    line(to, "tallystone - batch costing and quoting for a custom-jewellery studio");
    head(to, "SYNOPSIS");
    fputs("\\fBtallystone\\fR \\fICOMMAND\\fR [\\fIOPTION\\fR...] [\\fIOPERAND\\fR...]\n", to);
    head(to, "DESCRIPTION");
    paragraph(to,
              "Reads a ring laid out in measurements and a folder of price books, works out what "
              "the piece takes, what it costs and what to ask, and writes the client's quote, "
              "the owner's margin sheet, the drawing and the orders. Money is exact decimal. "
              "Weights before casting are estimates; cautions name a usual limit and never "
              "block: a qualified bench, the assay office and local law decide.");
    commands(to, arena);
    sheets(to, arena);
    books(to, arena);
    words(to);
    life(to, arena);
    nightly(to);
    spread(to);
    faults(to);
    ends(to);
}
