#include "desk/release.h"

#include "desk/drivers.h"

#include <tallystone/papers/workbook.h>

#include <string.h>

/* Papers are staged together and appear together. The logo and the terms are files that
 * studio.csv names: plain names inside the books' folder. */

typedef struct releasing {
    const ts_request *request;
    const ts_commission_run *run;
    ts_release *release;
    ts_commission_paper paper;
} releasing;

/* A file that studio.csv names: from the register's own, else from the books' folder. */
static ts_status read_studio_file(const ts_kept_file **out, releasing *r, const char *field,
                                  size_t most)
{
    const ts_commission_run *run = r->run;
    const ts_date on = run->options[0].costing->needs->terms.as_of;
    const ts_book *book = r->paper.book;
    const ts_studio_row *row = ts_book_studio_row(book, field, on);
    ts_kept_file *file = &r->release->studio[r->release->studio_count];
    char *bytes = NULL;
    *out = NULL;
    if (row == NULL) {
        return TS_OK;
    }
    const char *name = row->value;
    *out = file;
    *file = (ts_kept_file){.role = "studio", .name = name};
    r->release->studio_count++;
    for (size_t i = 0; i < run->kept_count; i++) {
        if (strcmp(run->kept[i].role, "studio") == 0 && strcmp(run->kept[i].name, name) == 0) {
            file->bytes = run->kept[i].bytes;
            file->length = run->kept[i].length;
            return TS_OK;
        }
    }
    const ts_place at = ts_book_place(book, r->request->arena, &row->head, "value");
    const ts_status status = ts_file_read_beside(&bytes, &file->length, r->request->arena,
                                                 book->folder, name, most, &at, r->request->diag);
    file->bytes = bytes;
    return status;
}

/* The logo's pixels: those of the last commission where it has the same file. */
static ts_status read_logo(releasing *r, const ts_kept_file *file)
{
    ts_logo *last = r->request->logo;
    ts_logo own = {.arena = r->request->arena};
    ts_logo *logo = last != NULL ? last : &own;
    if (logo->bytes == NULL || logo->length != file->length ||
        memcmp(logo->bytes, file->bytes, file->length) != 0) {
        const ts_status status = ts_picture_read(&logo->picture, logo->arena, file->bytes,
                                                 file->length, r->request->diag);
        if (status != TS_OK) {
            logo->bytes = NULL;
            return status;
        }
        logo->bytes = ts_arena_copy(logo->arena, file->bytes, file->length);
        logo->length = file->length;
    }
    ts_picture *picture = TS_NEW(r->request->arena, ts_picture);
    *picture = logo->picture;
    r->paper.logo = picture;
    return TS_OK;
}

static ts_status read_studio_files(releasing *r)
{
    const ts_kept_file *logo = NULL, *terms = NULL;
    ts_status status = read_studio_file(&logo, r, "logo", TS_LOGO_MOST_BYTES);
    if (status == TS_OK) {
        status = read_studio_file(&terms, r, "terms", TS_TERMS_MOST_BYTES);
    }
    if (status == TS_OK && logo != NULL) {
        status = read_logo(r, logo);
    }
    r->paper.terms = terms == NULL ? NULL : terms->bytes;
    return status;
}

static ts_status stage(releasing *r)
{
    const ts_request *request = r->request;
    ts_outbox *box = *request->outbox;
    const char **paths = r->release->paths;
    ts_status status = ts_outbox_file(&paths[0], box, r->release->names[0], true, request->diag);
    if (status == TS_OK) {
        status = ts_quote_write(paths[0], request->arena, &r->paper, request->diag);
    }
    if (status == TS_OK) {
        status = ts_outbox_file(&paths[1], box, r->release->names[1], false, request->diag);
    }
    if (status == TS_OK) {
        status = ts_margin_write(paths[1], request->arena, &r->paper, request->diag);
    }
    return status;
}

ts_status ts_release_stage(ts_release *release, const ts_request *request,
                           const ts_commission_run *run, const char *name, int revision)
{
    const ts_costing *options[TS_MOST_OPTIONS + 1] = {run->options[0].costing};
    ts_drawing_ask drawings[TS_MOST_OPTIONS + 1];
    const bool draft = revision == 0;
    for (int i = 0; i < run->option_count; i++) {
        options[i] = run->options[i].costing;
        drawings[i] = (ts_drawing_ask){.design = run->options[i].design,
                                       .geometry = run->options[i].geometry,
                                       .quantities = run->options[i].quantities,
                                       .kind = TS_DRAWING_SHEET,
                                       .draft = draft};
    }
    *release = (ts_release){.studio_count = 0};
    releasing r = {.request = request,
                   .run = run,
                   .release = release,
                   .paper = {.options = options,
                             .option_count = run->option_count,
                             .book = options[0]->book,
                             .draft = draft,
                             .revision = revision,
                             .drawings = drawings}};
    ts_status status = read_studio_files(&r);
    if (status != TS_OK) {
        return status;
    }
    ts_driver *drivers = NULL;
    r.paper.driver_count = ts_drivers_of(&drivers, request->arena, &run->options[0], r.paper.book);
    r.paper.drivers = drivers;
    const char *tag = draft ? "draft" : ts_arena_format(request->arena, "r%d", revision);
    release->names[0] = ts_arena_format(request->arena, "%s-%s-quote.xlsx", name, tag);
    release->names[1] = ts_arena_format(request->arena, "studio/%s-%s-margin.xlsx", name, tag);
    status = ts_outbox_open(request->outbox, request->arena, request->out, request->diag);
    return status == TS_OK ? stage(&r) : status;
}

ts_status ts_release_draft(const ts_request *request, const ts_commission_run *run,
                           const char *name)
{
    ts_release release;
    ts_status status = ts_release_stage(&release, request, run, name, 0);
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    if (status == TS_OK) {
        fprintf(request->said, "%s/%s for the client, %s/%s for you\n", request->out,
                release.names[0], request->out, release.names[1]);
    }
    return status;
}
