#include "desk/issuing.h"
#include "desk/release.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include <string.h>

/* `issue` and `revise`: a quote that counts.
 *
 * The order makes it safe to be killed at any moment. First the papers are made in a staging
 * folder and their digests taken; then quote, files, digests and event go into the register in
 * one transaction; only after its commit do the papers come out. Killed before the commit there
 * is nothing but a hidden staging folder; killed after it, the quote is complete and
 * `register --reproduce REF --out DIR` writes the same papers from the register alone, for it
 * keeps the text of sheet and books, the mesh, the logo and the terms. */

/* Everything that the quote was worked out from, as it was read. */
static size_t files_of(ts_kept_file **out, const ts_request *request, const ts_commission_run *run,
                       const ts_release *release)
{
    ts_arena *arena = request->arena;
    const ts_book *book = run->options[0].costing->book;
    ts_kept_file *files = NULL;
    size_t count = 0, room = 0;
#define KEEP(...)                                                                                  \
    files = ts_arena_grow(arena, files, count, &room, sizeof *files);                              \
    files[count++] = (ts_kept_file){__VA_ARGS__}
    KEEP(.role = "sheet", .name = "sheet", .bytes = run->text, .length = run->length);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const ts_csv *csv = book->text[file];
        if (csv != NULL) {
            KEEP(.role = "book", .name = ts_book_file_name((ts_book_file)file), .bytes = csv->text,
                 .length = csv->length);
        }
    }
    for (int o = 0; o < run->option_count; o++) {
        const ts_design *design = run->options[o].design;
        for (int i = 0; i < design->mesh_count; i++) {
            KEEP(.role = "mesh", .name = design->mesh[i].file, .bytes = design->mesh[i].bytes,
                 .length = design->mesh[i].length);
        }
    }
    for (size_t i = 0; i < release->studio_count; i++) {
        KEEP(.role = "studio", .name = release->studio[i].name, .bytes = release->studio[i].bytes,
             .length = release->studio[i].length);
    }
#undef KEEP
    *out = files;
    return count;
}

static bool seal_papers(ts_kept_file *papers, const ts_request *request, const ts_release *release)
{
    char hash[TS_SHA256_TEXT];
    for (int i = 0; i < TS_RELEASE_PAPERS; i++) {
        char *bytes = NULL;
        size_t length = 0;
        if (ts_file_read(&bytes, &length, request->arena, release->paths[i], (size_t)1 << 30,
                         request->diag) != TS_OK) {
            return false;
        }
        papers[i] = (ts_kept_file){
            .role = "paper",
            .name = release->names[i],
            .hash = ts_arena_text(request->arena, ts_sha256_of(hash, bytes, length))};
    }
    return true;
}

/* ---- may it be issued? ---- */

/* What asks for a reason: a margin under the floor, a caution on making. Counts them. */
static int say_reasons(const ts_request *request, const ts_commission_run *run)
{
    char margin[TS_DECIMAL_TEXT], floor[TS_DECIMAL_TEXT];
    int count = 0;
    for (int o = 0; o < run->option_count; o++) {
        const ts_costing *costing = run->options[o].costing;
        const char *name = costing->needs->terms.option_name;
        if (costing->below_floor) {
            count++;
            fprintf(request->said,
                    "%s: option %s: the margin, %s %%, is under the floor of %s %%\n", run->path,
                    name,
                    costing->has_margin ? ts_dec_fixed(margin, costing->margin_pct, 2) : "none",
                    ts_dec_text(floor, costing->floor_pct));
        }
        for (int i = 0; i < costing->needs->caution_count; i++) {
            const ts_caution *caution = &costing->needs->cautions[i];
            if (caution->who == TS_CAUTION_MAKING) {
                count++;
                fprintf(request->said, "%s: option %s: caution: %s\n", run->path, name,
                        caution->sentence);
            }
        }
    }
    return count;
}

static ts_status judge_reasons(const ts_request *request, const ts_commission_run *run)
{
    const int count = say_reasons(request, run);
    if (count == 0 || request->event.reason != NULL) {
        return TS_OK;
    }
    ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                "%d thing%s above ask%s to be mended, or to be accepted with --reason TEXT, which "
                "is recorded; nothing was issued",
                count, count == 1 ? "" : "s", count == 1 ? "s" : "");
    return TS_REFUSED;
}

static ts_status judge_sheet(const ts_request *request, const ts_commission_run *run, ts_date day)
{
    char until[32], on[32];
    const ts_costing *costing = run->options[0].costing;
    const ts_terms *terms = &costing->needs->terms;
    if (costing->valid_until.days < day.days) {
        ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                    "%s would be valid until %s, before %s, the day it is issued; give the sheet "
                    "that day as its date, or a later `valid until`",
                    ts_text_show(request->arena, terms->reference, 64),
                    ts_date_words(until, costing->valid_until), ts_date_words(on, day));
        return TS_REFUSED;
    }
    const char *dash = strrchr(terms->reference, '-');
    if (dash != NULL && (dash[1] == 'r' || dash[1] == 'R') && dash[2] >= '0' && dash[2] <= '9' &&
        strspn(dash + 2, "0123456789") == strlen(dash + 2)) {
        ts_diag_add(
            request->diag, TS_FAULT_EVENT_VALUE, NULL,
            "the reference %s ends like a revision; %s is expected, the register counts "
            "revisions itself",
            ts_text_show(request->arena, terms->reference, 64),
            ts_arena_copy(request->arena, terms->reference, (size_t)(dash - terms->reference)));
        return TS_FAULTY;
    }
    return TS_OK;
}

static ts_status judge_same(const ts_request *request, ts_register *reg, const char *reference)
{
    ts_life life;
    int revision = 0;
    const ts_status status = ts_register_find(&life, &revision, reg, request->operands[0]);
    if (status != TS_OK) {
        return status;
    }
    if (strcmp(life.quotes[0].reference, reference) != 0) {
        ts_diag_add(request->diag, TS_FAULT_EVENT_VALUE, NULL,
                    "the sheet's reference is %s; a revision of %s keeps its reference",
                    ts_text_show(request->arena, reference, 64),
                    ts_text_show(request->arena, life.quotes[0].reference, 64));
        return TS_FAULTY;
    }
    if (revision > 0 && revision < life.count) {
        ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                    "r%d has been followed by r%d; a revision follows the newest", revision,
                    life.count);
        return TS_REFUSED;
    }
    return TS_OK;
}

/* ---- doing it ---- */

static ts_status write_all(const ts_request *request, const ts_commission_run *run,
                           ts_register *reg, ts_issue *issue, int revision)
{
    ts_release release;
    ts_kept_file *files = NULL;
    ts_kept_file *papers = TS_ARRAY(request->arena, ts_kept_file, TS_RELEASE_PAPERS);
    const ts_costing **options = TS_ARRAY(request->arena, const ts_costing *, TS_MOST_OPTIONS + 1);
    for (int i = 0; i < run->option_count; i++) {
        options[i] = run->options[i].costing;
    }
    ts_status status = ts_release_stage(&release, request, run, issue->file_name, revision);
    if (status != TS_OK || !seal_papers(papers, request, &release)) {
        return status == TS_OK ? TS_IO : status;
    }
    issue->options = options;
    issue->option_count = run->option_count;
    issue->file_count = files_of(&files, request, run, &release);
    issue->files = files;
    issue->papers = papers;
    issue->paper_count = TS_RELEASE_PAPERS;
    status = ts_register_issue(reg, issue);
    if (status == TS_OK) {
        status = ts_register_commit(reg);
    }
    if (status != TS_OK) {
        return status;
    }
    status = ts_outbox_commit(*request->outbox, request->diag);
    if (status != TS_OK) {
        fprintf(request->said,
                "tallystone: %s-r%d is issued and in the register, but its papers did not come "
                "out; write them with `tallystone register --reproduce %s-r%d --out DIR`\n",
                options[0]->needs->terms.reference, revision,
                ts_text_word(request->arena, options[0]->needs->terms.reference), revision);
    }
    return status;
}

static void say_issued(const ts_request *request, const ts_issue *issue, const char *reference,
                       int revision)
{
    fprintf(request->result, "%s-r%d\n", ts_text_show(request->arena, reference, 64), revision);
    fprintf(request->said,
            "%s/%s-r%d-quote.xlsx for the client, %s/studio/%s-r%d-margin.xlsx for you. When the "
            "client answers: tallystone accept %s\n",
            request->out, issue->file_name, revision, request->out, issue->file_name, revision,
            ts_text_word(request->arena, reference));
}

static ts_status issue_by(const ts_request *request, const ts_commission_run *run, ts_register *reg,
                          ts_issue *issue)
{
    const char *reference = run->options[0].costing->needs->terms.reference;
    int revision = 1;
    ts_status status = TS_OK;
    if (reg != NULL && issue->is_revision) {
        status = judge_same(request, reg, reference);
    }
    if (reg != NULL && status == TS_OK) {
        status = ts_register_next_revision(&revision, reg, reference, issue->file_name,
                                           issue->is_revision, issue->day);
    }
    if (status == TS_OK && request->event.dry_run) {
        fprintf(request->result, "%s-r%d would be issued\n",
                ts_text_show(request->arena, reference, 64), revision);
        return TS_OK;
    }
    if (status == TS_OK) {
        status = write_all(request, run, reg, issue, revision);
    }
    if (status == TS_OK) {
        say_issued(request, issue, reference, revision);
    }
    return status;
}

static ts_status run_sheet(ts_commission_run *run, const ts_request *request, const char *path)
{
    const ts_book *book = NULL;
    char *text = NULL;
    *run = (ts_commission_run){.path = strcmp(path, "-") == 0 ? "(standard input)" : path};
    const ts_status books = ts_book_load(&book, request->arena, request->books, request->diag);
    const ts_status read =
        ts_file_read(&text, &run->length, request->arena, path, TS_CSV_MOST_BYTES, request->diag);
    if (read != TS_OK) {
        return ts_status_worse(books, read);
    }
    run->text = text;
    const ts_status ended = ts_commission_run_on(run, request->arena, book, request->as_of,
                                                 TS_DEPTH_COSTING, request->diag);
    return ts_status_worse(books, ended);
}

static ts_status issue_sheet(const ts_request *request, const char *path, bool is_revision)
{
    ts_commission_run run;
    ts_date day;
    ts_register *reg = NULL;
    if (request->out == NULL && !request->event.dry_run) {
        return ts_desk_refuse(request, is_revision ? "revise" : "issue",
                              "--out DIR is missing: the folder for the papers");
    }
    ts_status status = ts_desk_day(&day, request);
    status = ts_status_worse(status, ts_desk_texts(request));
    status = ts_status_worse(status, run_sheet(&run, request, path));
    if (status == TS_OK) {
        status = judge_sheet(request, &run, day);
    }
    if (status == TS_OK) {
        status = judge_reasons(request, &run);
    }
    if (status != TS_OK) {
        return status;
    }
    for (int i = 0; i < run.option_count; i++) {
        ts_register_say_moved(request->arena, run.options[i].costing, day, request->diag);
    }
    const char *reference = run.options[0].costing->needs->terms.reference;
    ts_issue issue = {.file_name = ts_text_file_name(request->arena, reference),
                      .sheet = run.path,
                      .program = request->program,
                      .day = day,
                      .reason = request->event.reason,
                      .who = request->who,
                      .is_revision = is_revision};
    status = ts_desk_register(&reg, request,
                              is_revision              ? TS_REGISTER_WRITE
                              : request->event.dry_run ? TS_REGISTER_READ
                                                       : TS_REGISTER_MAKE);
    if (status == TS_OK) {
        status = issue_by(request, &run, reg, &issue);
    }
    ts_register_close(reg);
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

ts_status ts_errand_issue(const ts_request *request)
{
    return issue_sheet(request, request->operands[0], false);
}

ts_status ts_errand_revise(const ts_request *request)
{
    return issue_sheet(request, request->operands[1], true);
}
