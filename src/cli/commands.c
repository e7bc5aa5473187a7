#include "cli/commands.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <string.h>

/* Reading the command line by its tables: options may stand before or after operands,
 * `--` ends them, `-` is an operand. A slip is answered in at most three lines. */

enum { MOST_SHARDS = 100000, MOST_JOBS = 64, MOST_BEST = 10000 };

static const ts_command command_rows[TS_COMMAND_COUNT] = {
#define COMMAND(id, word, least, most, operands, says)                                             \
    [TS_COMMAND_##id] = {word, least, most, operands, says},
#include "cli/commands.def"
};

static const ts_option_row option_rows[TS_OPTION_COUNT] = {
#define OPTION(id, word, value, says) [TS_OPTION_##id] = {word, value, says},
#include "cli/commands.def"
};

static const bool takes[TS_COMMAND_COUNT][TS_OPTION_COUNT] = {
#define TAKES(command, option) [TS_COMMAND_##command][TS_OPTION_##option] = true,
#include "cli/commands.def"
};

const ts_command *ts_command_row(ts_command_id id)
{
    return &command_rows[id];
}

const ts_option_row *ts_option_row_of(ts_option_id id)
{
    return &option_rows[id];
}

bool ts_command_takes(ts_command_id command, ts_option_id option)
{
    return takes[command][option];
}

typedef struct reader {
    ts_request *request;
    ts_command_id command;
    bool *want_help;
    int argc;
    char **argv;
    int at;
    const char **operands;
    const char *given[TS_OPTION_COUNT]; /* what each option met was followed by */
} reader;

static const char *shown(const reader *r, const char *text)
{
    return ts_text_show(r->request->arena, text, 60);
}

static ts_command_id find_command(const reader *r, const char *word)
{
    const char *words[TS_COMMAND_COUNT] = {0};
    for (int i = 1; i < TS_COMMAND_COUNT; i++) {
        words[i] = command_rows[i].word;
        if (strcmp(words[i], word) == 0) {
            return (ts_command_id)i;
        }
    }
    FILE *said = r->request->said;
    int near = ts_nearest(word, words, TS_COMMAND_COUNT);
    fprintf(said, "tallystone: there is no command \"%s\"", shown(r, word));
    if (near > 0) {
        fprintf(said, "; did you mean \"%s\"?", words[near]);
    }
    fputs("\n`tallystone --help` lists the commands.\n", said);
    return TS_COMMAND_NONE;
}

static ts_option_id find_option(const reader *r, const char *word)
{
    const char *words[TS_OPTION_COUNT] = {0};
    for (int i = 1; i < TS_OPTION_COUNT; i++) {
        words[i] = takes[r->command][i] ? option_rows[i].word : NULL;
        if (words[i] != NULL && strcmp(words[i], word) == 0) {
            return (ts_option_id)i;
        }
    }
    FILE *said = r->request->said;
    const char *command = command_rows[r->command].word;
    int near = ts_nearest(word, words, TS_OPTION_COUNT);
    fprintf(said, "tallystone: `%s` has no option --%s", command, shown(r, word));
    if (near > 0) {
        fprintf(said, "; did you mean --%s?", words[near]);
    }
    fprintf(said, "\n`tallystone %s --help` lists its options.\n", command);
    return TS_OPTION_NONE;
}

/* A whole number from `least` to `most` that is all there is up to `end`. */
static bool read_number(int *out, const char *text, const char *end, int least, int most)
{
    long value = 0;
    const char *at = text;
    while (at < end && *at >= '0' && *at <= '9' && value <= most) {
        value = value * 10 + (*at++ - '0');
    }
    *out = (int)value;
    return at == end && at > text && value >= least && value <= most;
}

static bool refuse_value(const reader *r, const char *word, const char *takes_what,
                         const char *value)
{
    fprintf(r->request->said, "tallystone: --%s takes %s, not \"%s\"\n", word, takes_what,
            shown(r, value));
    return false;
}

static bool store_shard(const reader *r, const char *value)
{
    const char *slash = strchr(value, '/');
    ts_shard *shard = &r->request->shard;
    const bool read =
        slash != NULL &&
        read_number(&shard->count, slash + 1, value + strlen(value), 1, MOST_SHARDS) &&
        read_number(&shard->index, value, slash, 1, shard->count);
    return read || refuse_value(r, "shard", "I/N, I from 1 to N, N at most 100000", value);
}

static bool store_by(const reader *r, const char *value)
{
    static const char *const words[] = {NULL, "margin", "total", "metal"};
    for (int i = 1; i < (int)TS_COUNT_OF(words); i++) {
        if (ts_text_same(value, words[i])) {
            r->request->best_by = (ts_best_by)i;
            return true;
        }
    }
    return refuse_value(r, "by", "margin, total or metal", value);
}

static bool read_day(const reader *r, ts_date *out, ts_option_id option, const char *value)
{
    if (ts_date_read(out, value)) {
        return true;
    }
    fprintf(r->request->said,
            "tallystone: --%s takes a day as YYYY-MM-DD that is in the calendar, not \"%s\"\n",
            option_rows[option].word, shown(r, value));
    return false;
}

/* NOLINTNEXTLINE(readability-function-size): one short case an option */
static bool store(reader *r, ts_option_id option, const char *value)
{
    ts_request *request = r->request;
    switch (option) {
    case TS_OPTION_BOOKS:
        request->books = value;
        return true;
    case TS_OPTION_OUT:
    case TS_OPTION_OUT_FILE:
    case TS_OPTION_OUT_BOOK:
    case TS_OPTION_OUT_NIGHT:
    case TS_OPTION_OUT_EXPORT:
        request->out = value;
        return true;
    case TS_OPTION_LIKE:
        request->like = value;
        return true;
    case TS_OPTION_OPTION:
    case TS_OPTION_ACCEPTED:
        request->option = value;
        return true;
    case TS_OPTION_TABLE:
        request->table = value;
        return true;
    case TS_OPTION_CSV:
        request->csv = true;
        return true;
    case TS_OPTION_SHARD:
        return store_shard(r, value);
    case TS_OPTION_JOBS:
        return read_number(&request->jobs, value, value + strlen(value), 1, MOST_JOBS) ||
               refuse_value(r, "jobs", "a number from 1 to 64", value);
    case TS_OPTION_BEST:
        return read_number(&request->best, value, value + strlen(value), 1, MOST_BEST) ||
               refuse_value(r, "best", "a number from 1 to 10000", value);
    case TS_OPTION_BY:
        return store_by(r, value);
    case TS_OPTION_HELP:
        *r->want_help = true;
        return true;
    case TS_OPTION_AS_OF:
    case TS_OPTION_AS_OF_DAY:
        return read_day(r, &request->as_of, option, value);
    case TS_OPTION_ON:
        return read_day(r, &request->event.on, option, value);
    case TS_OPTION_REGISTER:
        request->event.register_file = value;
        return true;
    case TS_OPTION_REASON:
        request->event.reason = value;
        return true;
    case TS_OPTION_PAID_BY:
        request->event.by = value;
        return true;
    case TS_OPTION_STAGE:
        request->event.stage = value;
        return true;
    case TS_OPTION_RECEIPT:
        request->event.receipt = value;
        return true;
    case TS_OPTION_KEEP:
        request->event.keep = value;
        return true;
    case TS_OPTION_AGAIN:
        request->event.again = true;
        return true;
    case TS_OPTION_DRY_RUN:
        request->event.dry_run = true;
        return true;
    case TS_OPTION_FROM:
        return read_day(r, &request->event.from, option, value);
    case TS_OPTION_TO:
        return read_day(r, &request->event.to, option, value);
    case TS_OPTION_REPLACE:
        request->event.replace = true;
        return true;
    case TS_OPTION_CLOSE:
        request->event.close = true;
        return true;
    case TS_OPTION_QUIET:
        request->event.quiet = true;
        return true;
    case TS_OPTION_EXIT_CODE:
        request->event.exit_code = true;
        return true;
    case TS_OPTION_VERIFY:
        request->event.verify = true;
        return true;
    case TS_OPTION_STATUS:
        request->event.status = true;
        return true;
    case TS_OPTION_BACKUP:
        request->event.backup = value;
        return true;
    case TS_OPTION_REPRODUCE:
        request->event.reproduce = value;
        return true;
    case TS_OPTION_NONE:
    case TS_OPTION_COUNT:
        break;
    }
    return false;
}

/* One option, with its value in the same word after `=` or in the next. */
static bool read_option(reader *r, const char *text)
{
    ts_arena *arena = r->request->arena;
    const char *equals = strchr(text, '=');
    const char *word = equals == NULL ? text : ts_arena_copy(arena, text, (size_t)(equals - text));
    ts_option_id option = find_option(r, word);
    if (option == TS_OPTION_NONE) {
        return false;
    }
    bool wants = option_rows[option].value[0] != '\0';
    if (!wants && equals != NULL) {
        fprintf(r->request->said, "tallystone: --%s takes no value\n", word);
        return false;
    }
    const char *value = equals == NULL ? NULL : equals + 1;
    if (wants && value == NULL && r->at < r->argc) {
        value = r->argv[r->at++];
    }
    if (wants && (value == NULL || value[0] == '\0')) {
        fprintf(r->request->said, "tallystone: --%s must be followed by %s\n", word,
                option_rows[option].value);
        return false;
    }
    value = value == NULL ? "" : value;
    if (r->given[option] != NULL && strcmp(r->given[option], value) != 0) {
        fprintf(r->request->said,
                "tallystone: --%s is given twice, as \"%s\" and as \"%s\"; once is expected\n",
                word, shown(r, r->given[option]), shown(r, value));
        return false;
    }
    r->given[option] = value;
    return store(r, option, value);
}

static bool read_words(reader *r)
{
    bool options = true;
    while (r->at < r->argc && !*r->want_help) {
        const char *word = r->argv[r->at++];
        if (options && strcmp(word, "--") == 0) {
            options = false;
        } else if (options && strcmp(word, "-h") == 0) {
            *r->want_help = true;
        } else if (options && word[0] == '-' && word[1] == '-') {
            if (!read_option(r, word + 2)) {
                return false;
            }
        } else if (options && word[0] == '-' && word[1] != '\0') {
            fprintf(r->request->said, "tallystone: there is no option %s; options begin with --\n",
                    shown(r, word));
            return false;
        } else {
            r->operands[r->request->operand_count++] = word;
        }
    }
    return true;
}

static bool judge_operands(const reader *r)
{
    const ts_command *row = &command_rows[r->command];
    int count = r->request->operand_count;
    if (*r->want_help || (count >= row->least && (row->most < 0 || count <= row->most))) {
        return true;
    }
    if (count < row->least) {
        fprintf(r->request->said, "tallystone: `%s`: %s is missing\n", row->word, row->operands);
    } else {
        fprintf(r->request->said, "tallystone: `%s`: \"%s\" is one word too many; it takes %s\n",
                row->word, shown(r, r->operands[row->most]),
                row->most == 0 ? "options alone" : row->operands);
    }
    fprintf(r->request->said, "`tallystone %s --help` shows how it is used.\n", row->word);
    return false;
}

ts_command_id ts_command_read(ts_request *request, bool *want_help, int argc, char **argv)
{
    reader r = {.request = request, .want_help = want_help, .argc = argc, .argv = argv, .at = 2};
    *want_help = false;
    r.operands = TS_ARRAY(request->arena, const char *, (size_t)argc + 1);
    request->operands = r.operands;
    r.command = find_command(&r, argv[1]);
    if (r.command == TS_COMMAND_NONE || !read_words(&r) || !judge_operands(&r)) {
        return TS_COMMAND_NONE;
    }
    return r.command;
}
