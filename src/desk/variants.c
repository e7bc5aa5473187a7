#include "desk/variants.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>
#include <tallystone/papers/best.h>

#include <errno.h>
#include <string.h>

/* `variants`: reads books, sheet and header once, then streams. Books, a sheet or a header
 * with a fault stop everything before a byte is written; a row at fault answers for itself. */

#define BOOK_MOST_BYTES ((size_t)16 << 20)
#define MESH_MOST_BYTES ((size_t)512 << 20)

static const char header[] =
    "variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message\n";

/* ---- what is read once ---- */

static void keep_meshes(ts_stream *stream, ts_design *design, ts_diag *silent)
{
    ts_arena *arena = stream->request->arena;
    ts_mesh_file *meshes = TS_ARRAY(arena, ts_mesh_file, (size_t)design->mesh_count + 1);
    for (int i = 0; i < design->mesh_count; i++) {
        ts_mesh *mesh = &design->mesh[i];
        const ts_place at = {.file = NULL};
        char *bytes = NULL;
        if (ts_file_read_beside(&bytes, &mesh->length, arena,
                                ts_file_folder(arena, stream->sheet_path), mesh->file,
                                MESH_MOST_BYTES, &at, silent) == TS_OK) {
            mesh->bytes = bytes;
            meshes[stream->mesh_count++] =
                (ts_mesh_file){ts_arena_text(arena, mesh->file), bytes, mesh->length};
        }
    }
    stream->meshes = meshes;
}

/* Warnings of the books are said once, for the sheet itself; its own faults are not said,
 * for a row may mend them. Its meshes are read once. */
static void try_sheet(ts_stream *stream)
{
    const ts_request *request = stream->request;
    ts_arena *arena = ts_arena_new(request->no_memory, request->no_memory_ctx);
    ts_diag *silent = ts_diag_new(arena);
    ts_design *design = NULL;
    ts_geometry *geometry = NULL;
    ts_quantities *needs = NULL;
    ts_costing *costing = NULL;
    ts_status status =
        ts_design_of(&design, arena, stream->sheet, 0, stream->book, request->as_of, silent);
    if (status == TS_OK) {
        keep_meshes(stream, design, silent);
        status = ts_geometry_of(&geometry, arena, design, silent);
    }
    if (status == TS_OK) {
        status = ts_quantities_bare_of(&needs, arena, design, geometry, stream->book, silent);
    }
    if (status == TS_OK) {
        status = ts_costing_of(&costing, arena, needs, stream->book, silent);
    }
    if (status == TS_OK) { /* again, for its warnings alone */
        status = ts_costing_of(&costing, arena, needs, stream->book, request->diag);
    }
    (void)status; /* the rows are judged one by one */
    ts_arena_free(arena);
}

/* The books, the sheet, the header; TS_OK where rows can be priced. */
static ts_status prepare(ts_stream *stream, ts_sheet **sheet)
{
    const ts_request *request = stream->request;
    ts_diag *diag = request->diag;
    const char *table = request->operand_count > 1 ? request->operands[1] : NULL;
    ts_status status = ts_book_load(&stream->book, stream->read, request->books, diag);
    ts_status read = ts_sheet_read(sheet, stream->read, stream->sheet_path, diag);
    status = ts_status_worse(status, read);
    ts_status opened =
        ts_csv_lines_open(&stream->lines, request->arena, table, "variant", request->shard, diag);
    status = ts_status_worse(status, opened);
    if (stream->lines == NULL || *sheet == NULL) {
        return status;
    }
    stream->sheet = *sheet;
    const ts_csv *head = ts_csv_lines_head(stream->lines);
    stream->separator = head->separator;
    ts_status bound = ts_variant_columns_of(&stream->columns, request->arena, *sheet, head, diag);
    return ts_status_worse(status, bound);
}

/* ---- the trailer ---- */

static void add_file(ts_sha256 *sha, const ts_request *request, const char *path, const char *name)
{
    char *bytes = NULL;
    char digest[TS_SHA256_TEXT];
    size_t length = 0;
    ts_diag *silent = ts_diag_new(request->arena);
    const ts_status status =
        ts_file_read(&bytes, &length, request->arena, path, BOOK_MOST_BYTES, silent);
    const char *line =
        ts_arena_format(request->arena, "%s %s\n",
                        status == TS_OK ? ts_sha256_of(digest, bytes, length) : "-", name);
    ts_sha256_add(sha, line, strlen(line));
}

/* One digest of all books: of a line a file, `DIGEST NAME`, in the order of the tables. */
static const char *books_digest(char *text, const ts_request *request)
{
    ts_sha256 sha;
    ts_sha256_init(&sha);
    for (int file = 0; file < TS_BOOK_FILE_COUNT; file++) {
        const char *name = ts_book_file_name((ts_book_file)file);
        add_file(&sha, request, ts_arena_format(request->arena, "%s/%s", request->books, name),
                 name);
    }
    return ts_sha256_text(&sha, text);
}

static void say_trailer(const ts_stream *stream)
{
    const ts_request *request = stream->request;
    char digest[TS_SHA256_TEXT];
    if (request->shard.count > 1) {
        fprintf(request->said, "tallystone: shard %d/%d, %llu variants, %llu at fault, books %s\n",
                request->shard.index, request->shard.count, (unsigned long long)stream->rows,
                (unsigned long long)stream->faults, books_digest(digest, request));
    } else if (stream->faults > 0) {
        fprintf(request->said,
                "tallystone: %llu of %llu variants cannot be priced as they stand; `message` "
                "says why\n",
                (unsigned long long)stream->faults, (unsigned long long)stream->rows);
    }
}

/* ---- the best ---- */

static void best_row(ts_table *table, const ts_variant_row *one)
{
    ts_cell *row = ts_table_row(table, false);
    row[0] = ts_cell_text(one->name);
    row[1] = ts_cell_word("priced");
    row[2] = ts_cell_number(one->metal_g);
    row[3] = ts_cell_number((ts_dec){one->stones * 1000000});
    row[4] = ts_cell_number(one->stones_ct);
    const ts_brief *brief = &one->brief;
    row[5] = ts_cell_number(brief->minutes);
    row[6] = ts_cell_money_of(brief->cost, brief->exponent);
    row[7] = ts_cell_money_of(brief->net, brief->exponent);
    row[8] = ts_cell_money_of(brief->tax, brief->exponent);
    row[9] = ts_cell_money_of(brief->total, brief->exponent);
    row[10] = brief->has_margin ? ts_cell_number(brief->margin_pct) : ts_cell_word(NULL);
}

static ts_status write_best(const ts_stream *stream, const ts_table *table, ts_date day)
{
    static const char *const words[] = {"", "margin", "total", "metal"};
    const ts_request *request = stream->request;
    const char *slash = strrchr(request->out, '/');
    const char *path = NULL;
    const char *title =
        ts_arena_format(request->arena, "The %zu best of %llu variants by %s", table->row_count,
                        (unsigned long long)stream->rows, words[stream->by]);
    ts_status status = ts_outbox_open(request->outbox, request->arena,
                                      ts_file_folder(request->arena, request->out), request->diag);
    if (status == TS_OK) {
        status = ts_outbox_file(&path, *request->outbox, slash == NULL ? request->out : slash + 1,
                                false, request->diag);
    }
    if (status == TS_OK) {
        status = ts_best_write(path, request->arena, table, title, day, request->diag);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

static ts_status say_best(const ts_stream *stream, const ts_best *best)
{
    const ts_request *request = stream->request;
    const int exponent = best->count > 0 ? best->rows[0].row.brief.exponent : 2;
    ts_table *table = ts_table_new(request->arena, TS_TABLE_VARIANTS, exponent);
    for (size_t i = 0; i < best->count; i++) {
        best_row(table, &best->rows[i].row);
    }
    if (request->out != NULL && best->count > 0) {
        return write_best(stream, table, best->rows[0].row.day);
    }
    if (request->csv) {
        ts_table_csv(table, request->result, true);
    } else if (best->count > 0) {
        ts_table_print(table, request->result, &request->screen);
    }
    return TS_OK;
}

/* ---- the errand ---- */

static ts_status refuse_writing(const ts_stream *stream)
{
    if (stream->written_error != EPIPE) {
        ts_diag_add(stream->request->diag, TS_FAULT_OUTPUT, NULL,
                    "standard output cannot be written: %s", strerror(stream->written_error));
    }
    return TS_IO;
}

static ts_status run(ts_stream *stream)
{
    const ts_request *request = stream->request;
    if (request->shard.index == 1 && stream->by == TS_BEST_NONE) {
        fputs(header, request->result);
    }
    if (fflush(request->result) != 0) {
        stream->written_error = errno;
        return refuse_writing(stream);
    }
    const ts_best *best = ts_stream_run(stream, request->jobs);
    if (stream->written_error != 0) {
        return refuse_writing(stream);
    }
    ts_status said = TS_OK;
    if (best != NULL && stream->status == TS_OK) {
        said = say_best(stream, best);
    }
    say_trailer(stream);
    return ts_status_worse(ts_status_worse(said, stream->status),
                           stream->faults > 0 ? TS_FAULTY : TS_OK);
}

static bool ends_as_workbook(const char *path)
{
    const size_t length = strlen(path);
    return length > 5 && path[length - 6] != '/' && ts_text_same(path + length - 5, ".xlsx");
}

/* What options and operands cannot be together. */
static const char *usage_of(const ts_request *request)
{
    const bool streamed = request->operand_count < 2 || strcmp(request->operands[1], "-") == 0;
    if (streamed && strcmp(request->operands[0], "-") == 0) {
        return "the sheet and the variants cannot both be read from standard input";
    }
    if (streamed && request->shard.count > 1) {
        return "--shard cuts a file; name VARIANTS";
    }
    if (request->best > 0 && request->shard.count > 1) {
        return "--best needs the whole table; leave --shard out";
    }
    if ((request->best > 0) != (request->best_by != TS_BEST_NONE)) {
        return "--best N and --by margin, total or metal go together";
    }
    if (request->out != NULL && (request->best == 0 || !ends_as_workbook(request->out))) {
        return "--out takes the workbook of --best, a name that ends in .xlsx";
    }
    return NULL;
}

ts_status ts_errand_variants(const ts_request *request)
{
    const char *wrong = usage_of(request);
    if (wrong != NULL) {
        fprintf(request->said, "tallystone: `variants`: %s\n", wrong);
        return TS_STATUS_COUNT;
    }
    ts_stream stream = {
        .request = request,
        .sheet_path = request->operands[0],
        .by = request->best == 0 ? TS_BEST_NONE : request->best_by,
        .most = (size_t)request->best,
        .read = ts_arena_new(request->no_memory, request->no_memory_ctx),
    };
    stream.lasting[0] = stream.read;
    ts_sheet *sheet = NULL;
    ts_status status = prepare(&stream, &sheet);
    if (status == TS_OK) {
        try_sheet(&stream);
        status = run(&stream);
    }
    ts_csv_lines_close(stream.lines);
    ts_arena_free(stream.read);
    return status;
}
