#include "desk/commission.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <string.h>

/* The pipeline for one sheet. Each room starts only where the one before it found no
 * fault; options go on on their own. */

#define MESH_MOST_BYTES ((size_t)512 << 20)

/* A mesh that the register kept; false where it kept none of the name. */
static bool take_kept(ts_mesh *mesh, const ts_commission_run *run)
{
    for (size_t i = 0; i < run->kept_count; i++) {
        const ts_kept_file *file = &run->kept[i];
        if (strcmp(file->role, "mesh") == 0 && strcmp(file->name, mesh->file) == 0) {
            mesh->bytes = file->bytes;
            mesh->length = file->length;
            return true;
        }
    }
    return false;
}

/* Meshes lie beside their sheet; a sheet from standard input has the working folder. */
static ts_status read_meshes(ts_design *design, ts_arena *arena, const ts_commission_run *run,
                             ts_diag *diag)
{
    ts_status status = TS_OK;
    for (int i = 0; i < design->mesh_count; i++) {
        ts_mesh *mesh = &design->mesh[i];
        ts_place at = ts_part_place(design, arena, &mesh->part, TS_FIELD_MESH_FILE);
        char *bytes = NULL;
        if (take_kept(mesh, run)) {
            continue;
        }
        ts_status read =
            ts_file_read_beside(&bytes, &mesh->length, arena, ts_file_folder(arena, run->path),
                                mesh->file, MESH_MOST_BYTES, &at, diag);
        mesh->bytes = bytes;
        status = ts_status_worse(status, read);
    }
    return status;
}

/* NOLINTNEXTLINE(readability-function-size): it passes on what every room needs */
static ts_status run_option(ts_option *option, ts_arena *arena, const ts_commission_run *run,
                            int index, const ts_book *book, ts_date as_of, ts_depth depth,
                            ts_diag *diag)
{
    ts_status status = ts_design_of(&option->design, arena, run->sheet, index, book, as_of, diag);
    if (status != TS_OK || book == NULL) {
        return status;
    }
    status = read_meshes(option->design, arena, run, diag);
    if (status == TS_OK) {
        status = ts_geometry_of(&option->geometry, arena, option->design, diag);
    }
    if (status == TS_OK) {
        status = ts_quantities_of(&option->quantities, arena, option->design, option->geometry,
                                  book, diag);
    }
    if (status == TS_OK && depth == TS_DEPTH_COSTING) {
        status = ts_costing_of(&option->costing, arena, option->quantities, book, diag);
    }
    return status;
}

typedef struct line_finder {
    const ts_sheet *sheet;
    ts_arena *arena;
} line_finder;

static ts_place find_line(void *ctx, int line)
{
    const line_finder *finder = ctx;
    return ts_sheet_place_of_line(finder->sheet, finder->arena, line);
}

/* NOLINTNEXTLINE(readability-function-size): the same */
ts_status ts_commission_of(ts_commission_run *out, ts_arena *arena, const char *path,
                           const ts_book *book, ts_date as_of, ts_depth depth, ts_diag *diag)
{
    *out = (ts_commission_run){.path = path};
    return ts_commission_run_on(out, arena, book, as_of, depth, diag);
}

ts_status ts_commission_run_on(ts_commission_run *out, ts_arena *arena, const ts_book *book,
                               ts_date as_of, ts_depth depth, ts_diag *diag)
{
    ts_status status = out->text == NULL ? ts_sheet_read(&out->sheet, arena, out->path, diag)
                                         : ts_sheet_parse(&out->sheet, arena, out->path, out->text,
                                                          out->length, diag);
    if (out->sheet == NULL) {
        return status;
    }
    out->option_count = 1 + ts_sheet_options(out->sheet);
    for (int i = 0; i < out->option_count; i++) {
        ts_status ended = run_option(&out->options[i], arena, out, i, book, as_of, depth, diag);
        status = ts_status_worse(status, ended);
    }
    line_finder finder = {out->sheet, arena};
    ts_diag_complete(diag, ts_sheet_file(out->sheet), find_line, &finder);
    return status;
}

/* The position of the option asked for, or -1 after a fault that suggests the nearest. */
static int find_option(const ts_request *request, const ts_commission_run *run)
{
    const char *names[TS_MOST_OPTIONS + 1] = {0};
    if (request->option == NULL) {
        return 0;
    }
    for (int i = 0; i < run->option_count; i++) {
        const ts_design *design = run->options[i].design;
        names[i] = design == NULL ? NULL : design->option_name;
        if (names[i] != NULL && ts_text_same(names[i], request->option)) {
            return i;
        }
    }
    int near = ts_nearest(request->option, names, (size_t)run->option_count);
    const char *list = "";
    for (int i = 0; i < run->option_count; i++) {
        list = ts_text_joined(request->arena, list, ", ", names[i] == NULL ? "?" : names[i]);
    }
    ts_diag_add(request->diag, TS_FAULT_NAME_UNKNOWN, NULL, "%s has no option \"%s\"; it has %s",
                run->path, ts_text_show(request->arena, request->option, 60), list);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", names[near]);
    }
    return -1;
}

ts_status ts_commission_asked(ts_commission_run *out, int *option, const ts_request *request,
                              ts_depth depth)
{
    const ts_book *book = NULL;
    ts_status books = ts_book_load(&book, request->arena, request->books, request->diag);
    ts_status ended = ts_commission_of(out, request->arena, request->operands[0], book,
                                       request->as_of, depth, request->diag);
    ts_status status = ts_status_worse(books, ended);
    if (status != TS_OK) {
        return status;
    }
    *option = find_option(request, out);
    return *option < 0 ? TS_FAULTY : TS_OK;
}
