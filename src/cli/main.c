#include "cli/commands.h"
#include "cli/screen.h"

#include <tallystone/base/text.h>

#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <malloc.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sysexits.h>
#include <unistd.h>

/* The program: finds the errand that a word names, runs it, says its faults once, and
 * ends with a code of sysexits.h. */

/* What must be put in order when memory runs out. */
typedef struct last_will {
    ts_outbox *outbox;
} last_will;

static void no_memory(void *ctx)
{
    last_will *will = ctx;
    ts_outbox_drop(will->outbox);
    static const char sentence[] =
        "tallystone: there is not enough memory: the work broke off, nothing is half written\n";
    if (write(STDERR_FILENO, sentence, sizeof sentence - 1) < 0) {
        _exit(EX_OSERR);
    }
    _exit(EX_OSERR);
}

static bool wants_colour(int fd)
{
    const char *no = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    return isatty(fd) && (no == NULL || no[0] == '\0') && term != NULL && strcmp(term, "dumb") != 0;
}

/* Columns of the terminal behind a stream, at most the hundred that is comfortable to read;
 * 0 where there is none. */
static int columns_of(int fd)
{
    struct winsize size;
    if (isatty(fd) && ioctl(fd, TIOCGWINSZ, &size) == 0 && size.ws_col >= 40) {
        return size.ws_col > 100 ? 100 : size.ws_col;
    }
    return 0;
}

static int screen_width(void)
{
    int columns = columns_of(STDOUT_FILENO);
    return columns > 0 ? columns : 100;
}

/* A write past a limit or into a closed pipe is answered by its error, not by a signal. Ctrl-C
 * ends the program where it is: what was staged shows nowhere, and the next run there removes it.
 */
static void quiet_signals(void)
{
    struct sigaction ignore = {.sa_handler = SIG_IGN};
    sigaction(SIGPIPE, &ignore, NULL);
    sigaction(SIGXFSZ, &ignore, NULL);
}

/* Whose name an event bears: the login name, else the number of the user. */
static const char *who_runs(ts_arena *arena)
{
    const char *name = getenv("LOGNAME");
    if (name == NULL || name[0] == '\0') {
        name = getenv("USER");
    }
    if (name == NULL || name[0] == '\0') {
        return ts_arena_format(arena, "user %ld", (long)getuid());
    }
    return ts_text_show(arena, name, 64);
}

/* Without the first two the C library gives memory back at each free and fetches it again: most
 * of the time of a run over many sheets. Larger pieces than the second come and go singly. What it
 * fetches ahead it writes zeros over, page by page, where a zeroed piece begins there: little. */
static void keep_memory(void)
{
#ifdef __GLIBC__
    mallopt(M_TRIM_THRESHOLD, 64 << 20);
    mallopt(M_MMAP_THRESHOLD, 32 << 20);
    mallopt(M_TOP_PAD, 16 << 10);
#endif
}

static ts_request request_of(ts_arena *arena, last_will *will)
{
    bool utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    return (ts_request){
        .books = "pricebooks",
        .as_of = TS_DATE_NONE,
        .shard = {1, 1},
        .jobs = 1,
        .result = stdout,
        .said = stderr,
        .screen = {screen_width(), wants_colour(STDOUT_FILENO), utf8},
        .progress = isatty(STDERR_FILENO) != 0,
        .arena = arena,
        .diag = ts_diag_new(arena),
        .outbox = &will->outbox,
        .no_memory = no_memory,
        .no_memory_ctx = will,
        .event = {.on = TS_DATE_NONE, .from = TS_DATE_NONE, .to = TS_DATE_NONE},
        .who = who_runs(arena),
        .program = TS_VERSION,
    };
}

static ts_status help(const ts_request *request)
{
    if (request->operand_count == 0) {
        ts_help_overview(request->result);
        return TS_OK;
    }
    if (ts_help_word(request->result, request->operands[0], request->arena)) {
        return TS_OK;
    }
    fprintf(request->said,
            "tallystone: there is no help on \"%s\": a command, a part of a sheet, a "
            "book or a fault's [word] is expected; or %s\n",
            ts_text_show(request->arena, request->operands[0], 60), ts_help_topics(request->arena));
    return TS_STATUS_COUNT; /* a slip of usage */
}

static ts_status run(const ts_request *request, ts_command_id command)
{
    switch (command) {
    case TS_COMMAND_NEW:
        return ts_errand_new(request);
    case TS_COMMAND_CHECK:
        return ts_errand_check(request);
    case TS_COMMAND_QUANTITIES:
        return ts_errand_quantities(request);
    case TS_COMMAND_PRICE:
        return ts_errand_price(request);
    case TS_COMMAND_WHY:
        return ts_errand_why(request);
    case TS_COMMAND_DRAW:
        return ts_errand_draw(request);
    case TS_COMMAND_ORDER:
        return ts_errand_order(request);
    case TS_COMMAND_VARIANTS:
        return ts_errand_variants(request);
    case TS_COMMAND_ISSUE:
        return ts_errand_issue(request);
    case TS_COMMAND_REVISE:
        return ts_errand_revise(request);
    case TS_COMMAND_ACCEPT:
        return ts_errand_accept(request);
    case TS_COMMAND_DECLINE:
        return ts_errand_decline(request);
    case TS_COMMAND_PAID:
        return ts_errand_paid(request);
    case TS_COMMAND_REFUND:
        return ts_errand_refund(request);
    case TS_COMMAND_CREDIT:
        return ts_errand_credit(request);
    case TS_COMMAND_BOUGHT:
        return ts_errand_bought(request);
    case TS_COMMAND_DELIVER:
        return ts_errand_deliver(request);
    case TS_COMMAND_CANCEL:
        return ts_errand_cancel(request);
    case TS_COMMAND_VOID:
        return ts_errand_void(request);
    case TS_COMMAND_REGISTER:
        return ts_errand_register(request);
    case TS_COMMAND_REPRICE:
        return ts_errand_reprice(request);
    case TS_COMMAND_EXPORT:
        return ts_errand_export(request);
    case TS_COMMAND_HELP:
        return help(request);
    case TS_COMMAND_NONE:
    case TS_COMMAND_COUNT:
        break;
    }
    return TS_STATUS_COUNT;
}

/* What an errand prints is fitted to the terminal: not what programs read, nor what comes in a
 * stream that may be longer than memory. */
static void begin_screens(ts_request *request, ts_screening screens[2], ts_command_id command)
{
    enum { MANY = 20 }; /* sheets: their progress is shown as it goes */
    bool ascii = !request->screen.unicode, streams = command == TS_COMMAND_VARIANTS;
    bool read_by_programs = request->csv || streams || command == TS_COMMAND_NEW; /* a path */
    ts_screening_begin(&screens[0], stdout, request->no_memory, request->no_memory_ctx);
    ts_screening_begin(&screens[1], stderr, request->no_memory, request->no_memory_ctx);
    ts_screening_fit(&screens[0], read_by_programs ? 0 : columns_of(STDOUT_FILENO),
                     ascii && !read_by_programs);
    streams = streams || (request->progress && request->operand_count > MANY);
    ts_screening_fit(&screens[1], streams ? 0 : columns_of(STDERR_FILENO), ascii && !streams);
    ts_diag_columns(request->diag, columns_of(STDERR_FILENO));
    request->result = screens[0].from;
    request->said = screens[1].from;
}

static void end_screens(ts_request *request, ts_screening screens[2])
{
    for (int i = 0; i < 2; i++) {
        ts_screening_end(&screens[i]);
    }
    request->result = stdout;
    request->said = stderr;
}

/* Says the faults and how it ended; checks that the result was really written. */
static int finish(ts_request *request, ts_screening screens[2], ts_status status)
{
    bool unicode = request->screen.unicode;
    ts_diag_print(request->diag, request->said, wants_colour(STDERR_FILENO), unicode);
    end_screens(request, screens);
    if (fflush(request->result) != 0 || ferror(request->result)) {
        if (errno != EPIPE && status != TS_IO) { /* else it has been said */
            fprintf(request->said, "tallystone: standard output cannot be written: %s\n",
                    strerror(errno));
        }
        return EX_IOERR;
    }
    return status == TS_STATUS_COUNT ? EX_USAGE : ts_status_exit(status);
}

static int serve(ts_request *request, int argc, char **argv)
{
    bool want_help = false;
    ts_screening screens[2];
    begin_screens(request, screens, TS_COMMAND_NONE);
    if (argc < 2 || strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        ts_help_overview(argc < 2 ? request->said : request->result);
        return finish(request, screens, argc < 2 ? TS_STATUS_COUNT : TS_OK);
    }
    if (strcmp(argv[1], "--version") == 0) {
        fputs("tallystone " TS_VERSION "\n", request->result);
        return finish(request, screens, TS_OK);
    }
    ts_command_id command = ts_command_read(request, &want_help, argc, argv);
    if (command == TS_COMMAND_NONE) {
        return finish(request, screens, TS_STATUS_COUNT);
    }
    if (want_help) {
        ts_help_command(request->result, command);
        return finish(request, screens, TS_OK);
    }
    end_screens(request, screens);
    begin_screens(request, screens, command); /* now it is known what is asked for */
    return finish(request, screens, run(request, command));
}

int main(int argc, char **argv)
{
    last_will will = {NULL};
    setlocale(LC_CTYPE, "");
    quiet_signals();
    keep_memory();
    ts_arena *arena = ts_arena_new(no_memory, &will);
    ts_request request = request_of(arena, &will);
    int code = serve(&request, argc, argv);
    ts_arena_free(arena);
    return code;
}
