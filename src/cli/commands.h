/* The commands and options of the command line, as tables. */
#ifndef TS_CLI_COMMANDS_H
#define TS_CLI_COMMANDS_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/words/field.h>

#include "desk/request.h"

#ifndef TS_VERSION
#define TS_VERSION "0.1.0"
#endif

typedef enum ts_command_id {
    TS_COMMAND_NONE,
#define COMMAND(id, word, least, most, operands, says) TS_COMMAND_##id,
#include "cli/commands.def"
    TS_COMMAND_COUNT
} ts_command_id;

typedef enum ts_option_id {
    TS_OPTION_NONE,
#define OPTION(id, word, value, says) TS_OPTION_##id,
#include "cli/commands.def"
    TS_OPTION_COUNT
} ts_option_id;

typedef struct ts_command {
    const char *word;
    int least, most;
    const char *operands;
    const char *says;
} ts_command;

typedef struct ts_option_row {
    const char *word;
    const char *value;
    const char *says;
} ts_option_row;

const ts_command *ts_command_row(ts_command_id id);
const ts_option_row *ts_option_row_of(ts_option_id id);
typedef struct ts_exit_row {
    const char *code;
    const char *says;
} ts_exit_row;

/* How the program ends, by code. */
const ts_exit_row *ts_exit_rows(size_t *count);
/* A command's examples, at most `room`; answers how many. */
size_t ts_command_examples(const char **out, size_t room, ts_command_id id);
/* "required", "where it applies", "optional" or "default". */
const char *ts_field_need(const ts_field *field);
bool ts_command_takes(ts_command_id command, ts_option_id option);

/* Reads the command line into a request. Answers the command, or TS_COMMAND_NONE after
 * saying on `request->said` what was wrong with it (exit 64). `want_help`: --help or -h
 * was given; the rest of the line is then not judged. */
ts_command_id ts_command_read(ts_request *request, bool *want_help, int argc, char **argv);

/* The overview, a command's help, and the help on a word of the vocabulary. */
void ts_help_overview(FILE *to);
void ts_help_command(FILE *to, ts_command_id id);
/* False where the word names nothing. */
bool ts_help_word(FILE *to, const char *word, ts_arena *arena);
/* What a book's help says beyond its columns: the fields of studio.csv, the rules of policy.csv. */
void ts_help_book_more(FILE *to, ts_book_file file, ts_arena *arena);
/* Help on all of a kind at once: parts, books, words, units, states, faults, manual. False
 * where it is none of them. */
bool ts_help_topic(FILE *to, const char *word, ts_arena *arena);
/* "parts, books, ... or manual", for the one who asked in vain. */
const char *ts_help_topics(ts_arena *arena);

#endif
