#include "desk/again.h"
#include "desk/exporting.h"

#include <tallystone/base/text.h>
#include <tallystone/papers/quotation.h>

#include <assert.h>
#include <string.h>

/* quotes/REFERENCE-rN.xml: the quote worked out anew from what the register kept, as --reproduce
 * does, so that it holds what the client's paper holds, to the word. A program that would price
 * it otherwise than the one that issued it says so and writes nothing. */

static const char *terms_of(const ts_costing *costing, const ts_kept_file *files, size_t count)
{
    const char *name = ts_book_studio(costing->book, "terms", costing->needs->terms.as_of);
    for (size_t i = 0; i < count && name != NULL; i++) {
        if (strcmp(files[i].role, "studio") == 0 && strcmp(files[i].name, name) == 0) {
            return files[i].bytes;
        }
    }
    return NULL;
}

static bool is_as_issued(const ts_commission_run *run, const ts_quote *quote)
{
    bool same = run->option_count == quote->option_count;
    for (int i = 0; same && i < run->option_count; i++) {
        const ts_costing *costing = run->options[i].costing;
        ts_money total, to_pay;
        same = costing != NULL && ts_figure_money(&total, costing->total, costing->exponent) &&
               ts_figure_money(&to_pay, costing->to_pay, costing->exponent) &&
               total.minor == quote->options[i].total.minor &&
               to_pay.minor == quote->options[i].to_pay.minor;
    }
    return same;
}

static ts_status write_paper(ts_export *x, ts_arena *arena, const ts_quote *quote,
                             const ts_commission_paper *paper)
{
    char *bytes = NULL;
    size_t length = 0;
    ts_export_file file;
    const char *name =
        ts_arena_format(x->keep, "quotes/%s-r%d.xml", quote->file_name, quote->revision);
    ts_status status = ts_export_open(&file, x->request, name);
    if (status != TS_OK) {
        return status;
    }
    status = ts_quotation_write(file.to, arena, paper, x->request->diag);
    const ts_status closed = ts_export_close(&file, x->request);
    status = ts_status_worse(status, closed);
    if (status == TS_OK) {
        status = ts_file_read(&bytes, &length, arena, file.path, (size_t)1 << 30, x->request->diag);
    }
    if (status != TS_OK) {
        return status;
    }
    ts_sha256_of(file.hash, bytes, length);
    file.rows = 1;
    ts_export_add(&file, quote->options[0].to_pay.minor, quote->exponent);
    x->papers =
        ts_arena_grow(x->keep, x->papers, x->paper_count, &x->paper_room, sizeof *x->papers);
    x->papers[x->paper_count++] = file;
    return TS_OK;
}

static ts_status make_paper(ts_export *x, ts_arena *arena, const ts_quote *quote, ts_diag *diag)
{
    ts_commission_run run;
    const ts_costing *options[TS_MOST_OPTIONS + 1];
    const ts_kept_file *files = NULL;
    size_t count = 0;
    ts_status status = ts_register_files(&files, &count, x->reg, quote->id);
    if (status != TS_OK) {
        return status;
    }
    status = ts_commission_again(&run, arena, quote, files, count, diag);
    if (status != TS_OK || !is_as_issued(&run, quote)) {
        const char *why = ts_diag_first(diag);
        ts_diag_add(x->request->diag, TS_FAULT_REGISTER, NULL,
                    "%s-r%d does not come out as it was issued: this program works otherwise than "
                    "the one that issued it%s%s",
                    ts_text_show(x->keep, quote->reference, 64), quote->revision,
                    why == NULL ? "" : ": ", why == NULL ? "" : why);
        return TS_FAULTY;
    }
    assert(run.option_count > 0 && run.option_count <= TS_MOST_OPTIONS + 1);
    for (int i = 0; i < run.option_count; i++) {
        options[i] = run.options[i].costing;
    }
    const ts_commission_paper paper = {.options = options,
                                       .option_count = run.option_count,
                                       .book = options[0]->book,
                                       .revision = quote->revision,
                                       .terms = terms_of(options[0], files, count)};
    return write_paper(x, arena, quote, &paper);
}

ts_status ts_export_paper(ts_export *x, const ts_quote *quote)
{
    ts_arena *arena = ts_arena_new(x->request->no_memory, x->request->no_memory_ctx);
    const ts_status status = make_paper(x, arena, quote, ts_diag_new(arena));
    ts_arena_free(arena);
    return status;
}
