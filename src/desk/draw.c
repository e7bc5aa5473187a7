#include "desk/commission.h"

#include <tallystone/papers/drawing.h>

#include <string.h>

/* `draw`: the to-scale drawing of the sheet itself or of one option, in the form that the
 * file's ending names; whole or not at all. */

/* Said for a slip of the command line: exit 64. */
static ts_status refuse(const ts_request *request, const char *sentence)
{
    fprintf(request->said, "tallystone: `draw`: %s\n", sentence);
    return TS_STATUS_COUNT;
}

static const char *folder_of(ts_arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL) {
        return ".";
    }
    return slash == path ? "/" : ts_arena_copy(arena, path, (size_t)(slash - path));
}

static const char *name_in(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

static ts_status release(const ts_request *request, const ts_drawing *drawing, ts_drawing_form form)
{
    const char *path = NULL;
    ts_status status = ts_outbox_open(request->outbox, request->arena,
                                      folder_of(request->arena, request->out), request->diag);
    if (status == TS_OK) {
        status =
            ts_outbox_file(&path, *request->outbox, name_in(request->out), true, request->diag);
    }
    if (status == TS_OK) {
        status = ts_drawing_write(path, request->arena, drawing, form, request->diag);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

static ts_status draw(const ts_request *request, const ts_option *option, ts_drawing_form form)
{
    ts_drawing_ask ask = {.design = option->design,
                          .geometry = option->geometry,
                          .quantities = option->quantities,
                          .kind = TS_DRAWING_SHEET,
                          .draft = true};
    const ts_drawing *drawing = ts_drawing_of(request->arena, &ask);
    double width_mm = 0.0, height_mm = 0.0;

    ts_status status = release(request, drawing, form);
    if (status == TS_OK) {
        ts_drawing_size(drawing, &width_mm, &height_mm);
        fprintf(request->said, "%s: %.0f by %.0f mm; print it at 100 %%\n", request->out, width_mm,
                height_mm);
    }
    return status;
}

ts_status ts_errand_draw(const ts_request *request)
{
    ts_commission_run run;

    if (request->out == NULL) {
        return refuse(request, "--out FILE is missing; a name ending in .svg, .png or .pdf is "
                               "expected");
    }
    ts_drawing_form form = ts_drawing_form_of(request->out);
    if (form == TS_DRAWING_FORM_NONE) {
        return refuse(request, "the file that --out names must end in .svg, .png or .pdf");
    }
    int option = 0;
    ts_status status = ts_commission_asked(&run, &option, request, TS_DEPTH_QUANTITIES);
    if (status != TS_OK) {
        return status;
    }
    return draw(request, &run.options[option], form);
}
