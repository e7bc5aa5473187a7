#include "desk/release.h"

#include "desk/drivers.h"

#include <tallystone/papers/workbook.h>

/* Papers are staged together and appear together. The logo and the terms are files that
 * studio.csv names: plain names inside the books' folder. */

#define LOGO_MOST_BYTES ((size_t)2 << 20)
#define TERMS_MOST_BYTES ((size_t)80000)

static ts_status read_studio_files(ts_commission_paper *paper, const ts_request *request,
                                   ts_date on)
{
    const ts_book *book = paper->book;
    const char *logo = ts_book_studio(book, "logo", on);
    const char *terms = ts_book_studio(book, "terms", on);
    ts_place at = {.file = "studio.csv"};
    ts_status status = TS_OK;
    char *bytes = NULL;
    size_t length = 0;
    if (logo != NULL && logo[0] != '\0') {
        status = ts_file_read_beside(&bytes, &length, request->arena, book->folder, logo,
                                     LOGO_MOST_BYTES, &at, request->diag);
        paper->logo = bytes;
        paper->logo_length = length;
    }
    if (status == TS_OK && terms != NULL && terms[0] != '\0') {
        status = ts_file_read_beside(&bytes, &length, request->arena, book->folder, terms,
                                     TERMS_MOST_BYTES, &at, request->diag);
        paper->terms = bytes;
    }
    return status;
}

static ts_status stage(const ts_request *request, const ts_commission_paper *paper,
                       const char *quote, const char *margin)
{
    ts_outbox *box = *request->outbox;
    const char *path = NULL;
    ts_status status = ts_outbox_file(&path, box, quote, true, request->diag);
    if (status == TS_OK) {
        status = ts_quote_write(path, request->arena, paper, request->diag);
    }
    if (status == TS_OK) {
        status = ts_outbox_file(&path, box, margin, false, request->diag);
    }
    if (status == TS_OK) {
        status = ts_margin_write(path, request->arena, paper, request->diag);
    }
    return status;
}

ts_status ts_release_draft(const ts_request *request, const ts_commission_run *run,
                           const char *name)
{
    const ts_costing *options[TS_MOST_OPTIONS + 1] = {run->options[0].costing};
    ts_drawing_ask drawings[TS_MOST_OPTIONS + 1];
    const ts_book *book = options[0]->book;
    for (int i = 0; i < run->option_count; i++) {
        options[i] = run->options[i].costing;
        drawings[i] = (ts_drawing_ask){.design = run->options[i].design,
                                       .geometry = run->options[i].geometry,
                                       .quantities = run->options[i].quantities,
                                       .kind = TS_DRAWING_SHEET,
                                       .draft = true};
    }
    ts_commission_paper paper = {.options = options,
                                 .option_count = run->option_count,
                                 .book = book,
                                 .draft = true,
                                 .drawings = drawings};
    ts_status status = read_studio_files(&paper, request, options[0]->needs->terms.as_of);
    if (status != TS_OK) {
        return status;
    }
    ts_driver *drivers = NULL;
    paper.driver_count = ts_drivers_of(&drivers, request->arena, &run->options[0], paper.book);
    paper.drivers = drivers;
    const char *quote = ts_arena_format(request->arena, "%s-draft-quote.xlsx", name);
    const char *margin = ts_arena_format(request->arena, "studio/%s-draft-margin.xlsx", name);
    status = ts_outbox_open(request->outbox, request->arena, request->out, request->diag);
    if (status == TS_OK) {
        status = stage(request, &paper, quote, margin);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    if (status == TS_OK) {
        fprintf(request->said, "%s/%s for the client, %s/%s for you\n", request->out, quote,
                request->out, margin);
    }
    return status;
}
