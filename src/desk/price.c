#include "desk/commission.h"
#include "desk/release.h"

#include <tallystone/base/text.h>
#include <tallystone/costing/insight.h>
#include <tallystone/papers/cash.h>

#include <string.h>
#include <sys/stat.h>

/* `price`: every sheet priced, its papers written, and a summary said. A bad sheet is
 * named and the rest are done; bad books stop everything. */

#define MANY 20 /* sheets beyond which a terminal shows how far it is */

/* A sheet's place in the run: what is known of it before and after its turn. */
typedef struct priced {
    ts_status status;
    const char *file_name; /* of its papers, where they were asked for */
    char *text;            /* of a sheet that can be read only once; NULL: the path is read */
    size_t length;
} priced;

typedef struct pricing {
    const ts_request *request;
    const ts_book *book;
    priced *all;
    ts_status books;
    ts_table *summary;
    bool has_header; /* the CSV's header was written */
    ts_logo logo;
} pricing;

/* The commission in hand, in an arena of its own that its request names too. */
typedef struct turn {
    ts_request request;
    ts_commission_run run;
} turn;

static const ts_costing *first_of(const turn *now)
{
    return now->run.options[0].costing;
}

static void say_lines(const ts_request *request, const turn *one)
{
    const ts_costing *costing = first_of(one);
    const ts_terms *terms = &costing->needs->terms;
    fprintf(request->result, "%s  %s\n", ts_text_show(request->arena, terms->reference, 64),
            ts_text_show(request->arena, terms->title, 90));
    ts_table *table = ts_table_new(request->arena, TS_TABLE_PRICE, costing->exponent);
    ts_price_rows(table, costing, false);
    ts_table_print(table, request->result, &request->screen);
    fputc('\n', request->result);
}

static void say_break_evens(const ts_request *request, const ts_costing *costing)
{
    const ts_break_even *list = NULL;
    size_t count = ts_break_evens_of(&list, request->arena, costing);
    char price[TS_DECIMAL_TEXT], now[TS_DECIMAL_TEXT], floor[TS_DECIMAL_TEXT];
    bool exact;
    for (size_t i = 0; i < count; i++) {
        const ts_break_even *one = &list[i];
        const char *metal = ts_list_word(TS_LIST_METAL, (int)one->metal);
        ts_dec_text(floor, costing->floor_pct);
        if (!one->found) {
            fprintf(request->result,
                    "No price of %s alone brings the margin to the floor of %s %%.\n", metal,
                    floor);
            continue;
        }
        fprintf(request->result,
                "The margin meets the floor of %s %% with %s at %s %s a %s (now %s).\n", floor,
                metal, ts_dec_fixed(price, one->price, one->places), one->market->unit, one->per,
                ts_figure_text(now, one->market, &exact));
    }
}

/* What the owner learns beyond the price, in sentences. */
static void say_insight(const ts_request *request, const ts_costing *costing)
{
    char day[32];
    say_break_evens(request, costing);
    ts_range range = ts_range_of(request->arena, costing, TS_RANGE_DRAWS, TS_RANGE_SEED);
    if (range.known) {
        fprintf(
            request->result,
            "While the price stands, the margin lies between %.1f and %.1f %% in eight cases of "
            "ten.\n",
            range.low_pct, range.high_pct);
    }
    fprintf(request->result, "%s\n", ts_cash_words(request->arena, costing));
    ts_ready ready = ts_ready_of(costing);
    if (ready.known) {
        fprintf(request->result, "Ready at the earliest in %d week%s, by %s.\n", ready.weeks,
                ready.weeks == 1 ? "" : "s", ts_date_words(day, ready.by));
    }
    fputc('\n', request->result);
}

static void say_part(const ts_request *request, const char *word, ts_money amount, int exponent)
{
    char text[TS_DECIMAL_TEXT];
    if (amount.minor != 0) {
        fprintf(request->result, "%s %s%s", word, amount.minor > 0 ? "+" : "",
                ts_money_text(text, amount, exponent));
    }
}

/* Why an option costs more or less than the first: the parts add up to the cent. */
static void say_difference(const ts_request *request, const ts_costing *first,
                           const ts_costing *other)
{
    ts_difference difference;
    const ts_terms *terms = &other->needs->terms;
    int exponent = first->exponent;
    if (!ts_costing_difference(&difference, first, other)) {
        return;
    }
    const char *name = terms->option_label != NULL ? terms->option_label : terms->option_name;
    fputs(ts_text_show(request->arena, name, 60), request->result);
    say_part(request, ":", difference.total, exponent);
    fputs(difference.total.minor == 0 ? ": no difference" : ", of it", request->result);
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        say_part(request, ts_arena_format(request->arena, " %s", ts_list_word(TS_LIST_SECTION, s)),
                 difference.section[s], exponent);
    }
    say_part(request, " adjustments", difference.adjustments, exponent);
    say_part(request, " tax", difference.tax, exponent);
    fputc('\n', request->result);
}

static void say_differences(const ts_request *request, const turn *one)
{
    for (int o = 1; o < one->run.option_count; o++) {
        say_difference(request, first_of(one), one->run.options[o].costing);
    }
    if (one->run.option_count > 1) {
        fputc('\n', request->result);
    }
}

static void say_late(const ts_request *request, const ts_commission_run *run, int option)
{
    char day[32], due[32];
    const ts_terms *terms = &run->options[option].costing->needs->terms;
    ts_ready ready = ts_ready_of(run->options[option].costing);
    if (ready.late) {
        fprintf(request->said,
                "%s%s%s: caution: ready at the earliest by %s, after %s, the day the client needs "
                "it\n",
                run->path, option > 0 ? ", option " : "", option > 0 ? terms->option_name : "",
                ts_date_words(day, ready.by), ts_date_words(due, terms->deliver_by));
    }
}

/* Old metal above the price turns the stages round: it is the client who would be paid. */
static void say_owed(const ts_request *request, const ts_commission_run *run, int option)
{
    char text[TS_DECIMAL_TEXT];
    ts_money owed;
    const ts_costing *costing = run->options[option].costing;
    if (ts_figure_money(&owed, costing->to_pay, costing->exponent) && owed.minor < 0) {
        owed.minor = -owed.minor;
        fprintf(request->said,
                "%s%s%s: caution: the old metal comes to %s %s more than the price with tax; the "
                "stages of the quote say when the client is paid that\n",
                run->path, option > 0 ? ", option " : "",
                option > 0 ? costing->needs->terms.option_name : "",
                ts_money_text(text, owed, costing->exponent), costing->currency);
    }
}

static void say_cautions(const ts_request *request, const ts_commission_run *run)
{
    for (int o = 0; o < run->option_count; o++) {
        const ts_quantities *quantities = run->options[o].quantities;
        say_late(request, run, o);
        say_owed(request, run, o);
        for (int i = 0; i < quantities->caution_count; i++) {
            const ts_caution *caution = &quantities->cautions[i];
            bool said = false;
            for (int k = 0; o > 0 && k < run->options[0].quantities->caution_count; k++) {
                said = said || strcmp(run->options[0].quantities->cautions[k].sentence,
                                      caution->sentence) == 0;
            }
            if (!said) {
                fprintf(request->said, "%s%s%s: caution: %s\n", run->path, o > 0 ? ", option " : "",
                        o > 0 ? quantities->terms.option_name : "", caution->sentence);
            }
        }
    }
}

/* ---- one sheet after another ---- */

static bool shows_progress(const pricing *p)
{
    return p->request->progress && p->request->operand_count > MANY;
}

static void wipe_progress(const pricing *p)
{
    if (shows_progress(p)) {
        fputs("\r\033[K", p->request->said);
    }
}

/* A bar on a terminal; what is said wipes it first. */
static void show_progress(const pricing *p, int done)
{
    enum { CELLS = 30 };
    if (!shows_progress(p)) {
        return;
    }
    char bar[CELLS + 1] = {0};
    for (int i = 0; i < CELLS; i++) {
        bar[i] = i < CELLS * done / p->request->operand_count ? '#' : '.';
    }
    fprintf(p->request->said, "\r%s %d of %d sheets", bar, done, p->request->operand_count);
    if (done == p->request->operand_count) {
        wipe_progress(p);
    }
    fflush(p->request->said);
}

static ts_arena *new_arena(const ts_request *request)
{
    return ts_arena_new(request->no_memory, request->no_memory_ctx);
}

/* A commission's rows for the summary, in memory that outlives it. */
static void add_summary(const pricing *p, const turn *now)
{
    ts_arena *arena = p->request->arena;
    for (int o = 0; o < now->run.option_count; o++) {
        ts_summary_row(p->summary, now->run.options[o].costing);
        ts_cell *row = ts_table_at(p->summary, p->summary->row_count - 1);
        for (int c = 0; c < p->summary->column_count; c++) {
            if (row[c].kind == TS_CELL_TEXT || row[c].kind == TS_CELL_WORD) {
                row[c].text = ts_arena_text(arena, row[c].text);
            }
            row[c].figure = NULL;
        }
    }
}

static void write_csv(pricing *p, const turn *now)
{
    ts_table *table = ts_table_new(now->request.arena, TS_TABLE_PRICE, first_of(now)->exponent);
    for (int o = 0; o < now->run.option_count; o++) {
        ts_price_rows(table, now->run.options[o].costing, true);
        if (o > 0) {
            ts_difference_rows(table, first_of(now), now->run.options[o].costing);
        }
    }
    ts_table_csv(table, p->request->result, !p->has_header);
    p->has_header = true;
}

static void say(pricing *p, const turn *now)
{
    const ts_request *request = &now->request;
    if (request->csv) {
        write_csv(p, now);
    } else {
        add_summary(p, now);
    }
    wipe_progress(p);
    if (!request->csv && request->operand_count == 1) {
        say_lines(request, now);
        say_insight(request, first_of(now));
        ts_table_print(p->summary, request->result, &request->screen);
        fputc('\n', request->result);
        say_differences(request, now);
    }
    say_cautions(request, &now->run);
}

static const char *shown_path(const char *path, const priced *one)
{
    return one->text != NULL && strcmp(path, "-") == 0 ? "(standard input)" : path;
}

static void price_one(pricing *p, int number)
{
    priced *one = &p->all[number];
    turn now = {.request = *p->request};
    ts_arena *arena = new_arena(p->request);
    now.request.arena = arena;
    now.request.logo = &p->logo;
    now.run = (ts_commission_run){.path = shown_path(p->request->operands[number], one),
                                  .text = one->text,
                                  .length = one->length};
    ts_status ended = ts_commission_run_on(&now.run, arena, p->book, p->request->as_of,
                                           TS_DEPTH_COSTING, p->request->diag);
    one->status = ts_status_worse(one->status, ended);
    if (one->status == TS_OK && p->books == TS_OK && p->request->out != NULL) {
        const char *name = ts_text_file_name(arena, first_of(&now)->needs->terms.reference);
        wipe_progress(p);
        one->status = ts_release_draft(&now.request, &now.run, name);
    }
    if (one->status == TS_OK && p->books == TS_OK) {
        say(p, &now);
    }
    ts_arena_free(arena);
    show_progress(p, number + 1);
}

/* ---- before the first ---- */

/* The name that a sheet's papers would bear, or NULL where it is too bad to have one. Its
 * faults are for its own turn. */
static const char *name_of(const pricing *p, priced *one, const char *path)
{
    ts_arena *scratch = new_arena(p->request);
    ts_diag *diag = ts_diag_new(scratch);
    ts_sheet *sheet = NULL;
    ts_design *design = NULL;
    const char *name = NULL;
    ts_status status = one->text == NULL
                           ? ts_sheet_read(&sheet, scratch, path, diag)
                           : ts_sheet_parse(&sheet, scratch, path, one->text, one->length, diag);
    if (status == TS_OK) {
        status = ts_design_of(&design, scratch, sheet, 0, p->book, p->request->as_of, diag);
    }
    if (status == TS_OK) {
        name = ts_text_file_name(p->request->arena, design->commission->reference);
    }
    ts_arena_free(scratch);
    return name;
}

/* "A-draft-quote.xlsx", or both names where only capitals tell them apart. */
static const char *both_files(ts_arena *arena, const char *one, const char *other)
{
    return strcmp(one, other) == 0
               ? ts_arena_format(arena, "both write %s-draft-quote.xlsx", one)
               : ts_arena_format(arena,
                                 "write %s-draft-quote.xlsx and %s-draft-quote.xlsx, one file "
                                 "where capitals do not count",
                                 one, other);
}

/* Two references that make one file name, here or on a disk that knows no capitals: neither
 * is written. */
static void judge_names(const pricing *p)
{
    const ts_request *request = p->request;
    priced *all = p->all;
    for (int i = 0; i < request->operand_count; i++) {
        for (int k = 0; k < i; k++) {
            if (all[i].file_name == NULL || all[k].file_name == NULL ||
                !ts_text_same(all[i].file_name, all[k].file_name)) {
                continue;
            }
            ts_diag_add(request->diag, TS_FAULT_REFERENCE_TWICE, NULL,
                        "%s and %s would %s; give one another reference",
                        ts_text_show(request->arena, request->operands[k], 200),
                        ts_text_show(request->arena, request->operands[i], 200),
                        both_files(request->arena, all[k].file_name, all[i].file_name));
            all[i].status = TS_FAULTY;
            all[k].status = TS_FAULTY;
        }
    }
}

/* What can be read only once, standard input and pipes, is read here and kept. */
static ts_status keep_text(const pricing *p, priced *one, const char *path)
{
    struct stat about;
    bool is_pipe = strcmp(path, "-") == 0 || (stat(path, &about) == 0 && S_ISFIFO(about.st_mode));
    if (!is_pipe) {
        return TS_OK;
    }
    return ts_file_read(&one->text, &one->length, p->request->arena, path, TS_CSV_MOST_BYTES,
                        p->request->diag);
}

/* A look at every sheet before the first is priced: papers of one name must not be written,
 * and no sheet's memory outlives its turn. */
static void look_ahead(const pricing *p)
{
    for (int i = 0; i < p->request->operand_count; i++) {
        priced *one = &p->all[i];
        one->status = keep_text(p, one, p->request->operands[i]);
        if (one->status == TS_OK) {
            one->file_name = name_of(p, one, p->request->operands[i]);
        }
    }
    judge_names(p);
}

/* Which sheets came to nothing: their faults may have passed long before. */
static void say_left_out(const pricing *p)
{
    const int count = p->request->operand_count;
    int left = 0;
    for (int i = 0; i < count; i++) {
        left += p->all[i].status != TS_OK;
    }
    if (left == 0) {
        return;
    }
    fprintf(p->request->said, "%d of %d sheets came to no price%s:", left, count,
            p->request->out == NULL ? "" : " and no papers");
    for (int i = 0; i < count; i++) {
        if (p->all[i].status != TS_OK) {
            fprintf(p->request->said, " %s",
                    ts_text_show(p->request->arena, p->request->operands[i], 200));
        }
    }
    fputc('\n', p->request->said);
}

ts_status ts_errand_price(const ts_request *request)
{
    pricing p = {.request = request,
                 .all = TS_ARRAY(request->arena, priced, (size_t)request->operand_count),
                 .summary = ts_table_new(request->arena, TS_TABLE_SUMMARY, 2),
                 .logo = {.arena = request->arena}};
    p.books = ts_book_load(&p.book, request->arena, request->books, request->diag);
    if (p.books == TS_OK && request->out != NULL && request->operand_count > 1) {
        look_ahead(&p);
    }
    ts_status status = p.books;
    for (int i = 0; i < request->operand_count; i++) {
        price_one(&p, i);
        status = ts_status_worse(status, p.all[i].status);
    }
    if (!request->csv && request->operand_count > 1 && p.summary->row_count > 0) {
        ts_table_print(p.summary, request->result, &request->screen);
        fputc('\n', request->result);
    }
    if (p.books == TS_OK && request->operand_count > 1) {
        say_left_out(&p);
    }
    return status;
}
