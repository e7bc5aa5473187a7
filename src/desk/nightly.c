#include "desk/issuing.h"

#include <tallystone/base/csvout.h>
#include <tallystone/base/file.h>
#include <tallystone/base/text.h>
#include <tallystone/register/reprice.h>

#include <stdlib.h>
#include <string.h>

/* `reprice`: every open quote against the books of the day. What needs a person comes first
 * and with its next command, in lines that fit a mail's body; files are written whole. */

enum { LINE_MOST = 72, REFERENCE_MOST = 40 };

typedef struct nightly {
    const ts_request *request;
    ts_arena *keep;
    const ts_book *book;
    ts_date on;
    ts_repricing answer;
    const char *summary;
    size_t asking; /* options that need a person */
    size_t faults;
} nightly;

static bool needs_person(const ts_repriced *one)
{
    return one->is == TS_REPRICE_FAULT || one->is == TS_REPRICE_BELOW ||
           one->is == TS_REPRICE_BEYOND || one->is == TS_REPRICE_EXPIRED;
}

/* ---- CSV ---- */

static void put_money(ts_csv_out *out, bool there, int64_t minor, int exponent)
{
    char text[TS_DECIMAL_TEXT];
    ts_csv_plain(out, there ? ts_money_text(text, (ts_money){minor}, exponent) : "");
}

/* The moves in words: "metal +12.30, rates -1.10". */
static const char *moves_text(const nightly *n, const ts_repriced *one)
{
    char text[TS_DECIMAL_TEXT];
    const char *said = "";
    for (int i = 0; i < TS_MOVE_COUNT; i++) {
        if (one->moves[i] != 0) {
            said = ts_arena_format(n->keep, "%s%s%s %s%s", said, said[0] ? ", " : "",
                                   ts_move_word((ts_move)i), one->moves[i] > 0 ? "+" : "",
                                   ts_money_text(text, (ts_money){one->moves[i]}, one->exponent));
        }
    }
    return said;
}

static const char *why_of(const nightly *n, const ts_repriced *one)
{
    char day[TS_DATE_TEXT];
    if (one->is == TS_REPRICE_EXPIRED) {
        return ts_arena_format(n->keep, "valid until %s", ts_date_text(day, one->valid_until));
    }
    return one->why[0] != '\0' ? one->why : moves_text(n, one);
}

static void write_csv(const nightly *n, FILE *to)
{
    char number[TS_DECIMAL_TEXT];
    ts_csv_out out = {.to = to};
    fputs("reference,revision,option,class,was,now,difference,margin,why,currency,metal,stones,"
          "labour,services,rates\n",
          to);
    for (size_t i = 0; i < n->answer.count; i++) {
        const ts_repriced *one = &n->answer.all[i];
        const int64_t moved = one->now.minor - one->was.minor;
        ts_csv_text(&out, one->reference);
        put_money(&out, true, one->revision, 0);
        ts_csv_text(&out, one->name);
        ts_csv_plain(&out, ts_reprice_word(one->is));
        put_money(&out, true, one->was.minor, one->exponent);
        put_money(&out, one->has_now, one->now.minor, one->exponent);
        put_money(&out, one->has_now, moved, one->exponent);
        ts_csv_plain(&out,
                     one->has_now && one->has_margin ? ts_dec_text(number, one->margin_pct) : "");
        ts_csv_text(&out, why_of(n, one));
        ts_csv_plain(&out, one->currency);
        for (int k = 0; k < TS_MOVE_COUNT; k++) {
            put_money(&out, one->has_now, one->moves[k], one->exponent);
        }
        ts_csv_end(&out);
    }
}

static void write_exposure(const nightly *n, FILE *to)
{
    char number[TS_DECIMAL_TEXT];
    ts_csv_out out = {.to = to};
    fputs("reference,revision,option,item,quantity,unit,was,now,difference,currency\n", to);
    for (size_t i = 0; i < n->answer.exposed_count; i++) {
        const ts_exposed *one = &n->answer.exposed[i];
        ts_csv_text(&out, one->reference);
        ts_csv_plain(&out, ts_arena_format(n->keep, "%d", one->revision));
        ts_csv_text(&out, one->option);
        ts_csv_text(&out, one->item);
        ts_csv_plain(&out, ts_dec_text(number, one->quantity));
        ts_csv_plain(&out, one->unit);
        put_money(&out, true, one->was.minor, one->exponent);
        put_money(&out, one->has_now, one->now.minor, one->exponent);
        put_money(&out, one->has_now, one->now.minor - one->was.minor, one->exponent);
        ts_csv_plain(&out, one->currency);
        ts_csv_end(&out);
    }
}

/* ---- the text ---- */

/* Words in lines of at most LINE_MOST columns, two blanks in front. A longer word is let be
 * where it is a command's, else cut. */
static void put_wrapped(FILE *to, ts_arena *arena, const char *text)
{
    int used = 0;
    for (const char *at = text; *at != '\0';) {
        const size_t length = strcspn(at, " ");
        const char *word = ts_text_show(arena, ts_arena_copy(arena, at, length), LINE_MOST - 2);
        const int width = ts_text_width(word);
        if (used > 0 && used + 1 + width > LINE_MOST) {
            fputc('\n', to);
            used = 0;
        }
        fprintf(to, "%s%s", used == 0 ? "  " : " ", word);
        used += used == 0 ? 2 + width : 1 + width;
        at += length;
        at += strspn(at, " ");
    }
    fputc('\n', to);
}

static const char *next_of(const nightly *n, const ts_repriced *one)
{
    const char *ref = ts_text_word(n->keep, one->reference);
    if (one->is == TS_REPRICE_FAULT) {
        return "tallystone check";
    }
    if (one->is == TS_REPRICE_EXPIRED) {
        return ts_arena_format(n->keep, "tallystone decline %s", ref);
    }
    return ts_arena_format(n->keep, "tallystone revise %s SHEET --out DIR", ref);
}

static void put_entry(const nightly *n, FILE *to, const ts_repriced *one)
{
    char was[TS_DECIMAL_TEXT], now[TS_DECIMAL_TEXT], margin[TS_DECIMAL_TEXT];
    fprintf(to, "%s: %s-r%d, %s\n", ts_reprice_word(one->is),
            ts_text_show(n->keep, one->reference, REFERENCE_MOST), one->revision,
            ts_text_show(n->keep, one->name, 12));
    if (one->has_now) {
        put_wrapped(
            to, n->keep,
            ts_arena_format(n->keep, "%s -> %s %s, margin %s %%",
                            ts_money_text(was, one->was, one->exponent),
                            ts_money_text(now, one->now, one->exponent), one->currency,
                            one->has_margin ? ts_dec_fixed(margin, one->margin_pct, 2) : "none"));
    }
    const char *why = why_of(n, one);
    if (why[0] != '\0') {
        put_wrapped(to, n->keep, why);
    }
    put_wrapped(to, n->keep, next_of(n, one));
}

static void write_text(const nightly *n, FILE *to)
{
    static const ts_reprice_class order[] = {TS_REPRICE_FAULT, TS_REPRICE_BELOW, TS_REPRICE_BEYOND,
                                             TS_REPRICE_EXPIRED};
    fprintf(to, "%s\n", n->summary);
    for (size_t k = 0; k < TS_COUNT_OF(order); k++) {
        for (size_t i = 0; i < n->answer.count; i++) {
            if (n->answer.all[i].is == order[k]) {
                fputc('\n', to);
                put_entry(n, to, &n->answer.all[i]);
            }
        }
    }
}

static const char *summary_of(nightly *n)
{
    char day[TS_DATE_TEXT];
    size_t open = 0;
    for (size_t i = 0; i < n->answer.count; i++) {
        const ts_repriced *one = &n->answer.all[i];
        open += one->option == 0;
        n->asking += needs_person(one);
        n->faults += one->is == TS_REPRICE_FAULT;
    }
    return ts_arena_format(n->keep,
                           "reprice %s: %zu open quote%s, %zu of %zu prices need%s a person",
                           ts_date_text(day, n->on), open, open == 1 ? "" : "s", n->asking,
                           n->answer.count, n->asking == 1 ? "s" : "");
}

/* ---- files ---- */

typedef void write_fn(const nightly *n, FILE *to);

static ts_status write_file(const nightly *n, const char *what, const char *ending, write_fn *write)
{
    char day[TS_DATE_TEXT];
    const char *path = NULL;
    const ts_request *request = n->request;
    const char *name = ts_arena_format(n->keep, "%s-%s.%s", what, ts_date_text(day, n->on), ending);
    const ts_status status = ts_outbox_file(&path, *request->outbox, name, false, request->diag);
    if (status != TS_OK) {
        return status;
    }
    FILE *to = ts_file_create(request->arena, path);
    if (to != NULL) {
        write(n, to);
    }
    const bool whole = to != NULL && ferror(to) == 0;
    if (to == NULL || fclose(to) != 0 || !whole) {
        ts_diag_add(request->diag, TS_FAULT_OUTPUT, NULL, "%s cannot be written", name);
        return TS_IO;
    }
    return TS_OK;
}

static ts_status write_files(const nightly *n)
{
    const ts_request *request = n->request;
    if (request->out == NULL) {
        return TS_OK;
    }
    ts_status status = ts_outbox_open(request->outbox, request->arena, request->out, request->diag);
    if (status == TS_OK) {
        status = write_file(n, "reprice", "csv", write_csv);
    }
    if (status == TS_OK) {
        status = write_file(n, "reprice", "txt", write_text);
    }
    if (status == TS_OK) {
        status = write_file(n, "exposure", "csv", write_exposure);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

/* ---- the run ---- */

static ts_status outcome(const nightly *n)
{
    if (n->faults > 0) {
        return TS_FAULTY;
    }
    return n->request->event.exit_code && n->asking > 0 ? TS_ATTENTION : TS_OK;
}

static void say(const nightly *n)
{
    if (n->request->csv) {
        write_csv(n, n->request->result);
    } else if (!n->request->event.quiet || n->asking > 0) {
        write_text(n, n->request->result);
    }
}

static ts_status reprice(nightly *n)
{
    ts_register *reg = NULL;
    const ts_request *request = n->request;
    ts_status status = ts_register_open(&reg, request->arena, ts_desk_register_path(request),
                                        TS_REGISTER_READ, request->diag);
    if (status == TS_OK) {
        status = ts_register_reprice(&n->answer, n->keep, reg, n->book, n->on);
    }
    ts_register_close(reg);
    if (status == TS_OK) {
        n->summary = summary_of(n);
        status = write_files(n);
    }
    if (status == TS_OK) {
        say(n);
        status = outcome(n);
    }
    return status;
}

/* `register --status` tells how it ended. Held by another program, that is no reason to undo
 * what was done: it is said, and the run ends as one that should be tried again. */
static ts_status remember(const nightly *n, ts_status ended)
{
    char day[TS_DATE_TEXT];
    ts_register *reg = NULL;
    const ts_request *request = n->request;
    ts_status status = ts_register_open(&reg, request->arena, ts_desk_register_path(request),
                                        TS_REGISTER_WRITE, request->diag);
    if (status == TS_OK) {
        const ts_ran ran = {.day = ts_date_text(day, n->on),
                            .status = ts_status_exit(ended),
                            .books = n->answer.books == NULL ? "" : n->answer.books,
                            .said = n->summary};
        ts_register_set_ran(reg, &ran);
        status = ts_register_commit(reg);
    }
    ts_register_close(reg);
    return ts_status_worse(ended, status);
}

ts_status ts_errand_reprice(const ts_request *request)
{
    nightly n = {.request = request,
                 .on = ts_date_given(request->as_of) ? request->as_of : ts_date_today(),
                 .summary = "the books have faults"};
    ts_register *reg = NULL;
    /* a register that is not there is said before the books are read */
    ts_status status = ts_register_open(&reg, request->arena, ts_desk_register_path(request),
                                        TS_REGISTER_READ, request->diag);
    ts_register_close(reg);
    if (status != TS_OK) {
        return status;
    }
    n.keep = ts_arena_new(request->no_memory, request->no_memory_ctx);
    status = ts_book_load(&n.book, request->arena, request->books, request->diag);
    if (status == TS_OK) {
        status = reprice(&n);
    }
    status = remember(&n, status);
    ts_arena_free(n.keep);
    return status;
}
