#include "desk/variants.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include "desk/commission.h"

#include <errno.h>
#include <string.h>

/* `variants`: reads books, sheet and header once, then streams. Books, a sheet or a header
 * with a fault stop everything before a byte is written; a row at fault answers for itself. */

#define BOOK_MOST_BYTES ((size_t)16 << 20)
#define MESH_MOST_BYTES ((size_t)512 << 20)

static const char header[] =
    "variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message\n";

/* ---- what is read once ---- */

/* Warnings of the books are said once, for the sheet itself; its own faults are not said,
 * for a row may mend them. Its meshes are read once. */
static void try_sheet(ts_stream *stream)
{
    const ts_request *request = stream->request;
    ts_diag *silent = ts_diag_new(request->arena);
    ts_commission_run run;
    ts_status status = ts_commission_of(&run, request->arena, stream->sheet_path, stream->book,
                                        request->as_of, TS_DEPTH_COSTING, silent);
    if (run.options[0].costing != NULL) {
        ts_costing *again = NULL;
        status = ts_costing_of(&again, request->arena, run.options[0].quantities, stream->book,
                               request->diag);
    }
    (void)status; /* the rows are judged one by one */
    const ts_design *design = run.sheet == NULL ? NULL : run.options[0].design;
    if (design == NULL || design->mesh_count == 0) {
        return;
    }
    ts_mesh_file *meshes =
        TS_ARRAY(request->arena, ts_mesh_file, (size_t)design->mesh_count);
    for (int i = 0; i < design->mesh_count; i++) {
        if (design->mesh[i].bytes != NULL) {
            meshes[stream->mesh_count++] = (ts_mesh_file){
                design->mesh[i].file, design->mesh[i].bytes, design->mesh[i].length};
        }
    }
    stream->meshes = meshes;
}

/* The books, the sheet, the header; TS_OK where rows can be priced. */
static ts_status prepare(ts_stream *stream, ts_sheet **sheet)
{
    const ts_request *request = stream->request;
    ts_diag *diag = request->diag;
    const char *table = request->operand_count > 1 ? request->operands[1] : NULL;
    ts_status status = ts_book_load(&stream->book, request->arena, request->books, diag);
    ts_status read = ts_sheet_read(sheet, request->arena, stream->sheet_path, diag);
    status = ts_status_worse(status, read);
    ts_status opened =
        ts_csv_lines_open(&stream->lines, request->arena, table, request->shard, diag);
    status = ts_status_worse(status, opened);
    if (stream->lines == NULL || *sheet == NULL) {
        return status;
    }
    stream->sheet = *sheet;
    const ts_csv *head = ts_csv_lines_head(stream->lines);
    stream->separator = head->separator;
    ts_status bound =
        ts_variant_columns_of(&stream->columns, request->arena, *sheet, head, diag);
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
    const char *line = ts_arena_format(request->arena, "%s %s\n",
                                       status == TS_OK ? ts_sha256_of(digest, bytes, length) : "-",
                                       name);
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
    row[5] = ts_cell_number(one->minutes);
    row[6] = ts_cell_money_of(one->cost, one->exponent);
    row[7] = ts_cell_money_of(one->net, one->exponent);
    row[8] = ts_cell_money_of(one->tax, one->exponent);
    row[9] = ts_cell_money_of(one->total, one->exponent);
    row[10] = one->has_margin ? ts_cell_number(one->margin_pct) : ts_cell_word(NULL);
}

static void say_best(const ts_request *request, const ts_best *best)
{
    const int exponent = best->count > 0 ? best->rows[0].row.exponent : 2;
    ts_table *table = ts_table_new(request->arena, TS_TABLE_VARIANTS, exponent);
    for (size_t i = 0; i < best->count; i++) {
        best_row(table, &best->rows[i].row);
    }
    if (request->csv) {
        ts_table_csv(table, request->result, true);
    } else {
        ts_table_print(table, request->result, &request->screen);
    }
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
    if (best != NULL && stream->status == TS_OK) {
        say_best(request, best);
    }
    say_trailer(stream);
    return ts_status_worse(stream->status, stream->faults > 0 ? TS_FAULTY : TS_OK);
}

/* What options and operands cannot be together. */
static const char *usage_of(const ts_request *request)
{
    const bool streamed =
        request->operand_count < 2 || strcmp(request->operands[1], "-") == 0;
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
    };
    ts_sheet *sheet = NULL;
    ts_status status = prepare(&stream, &sheet);
    if (status == TS_OK) {
        try_sheet(&stream);
        status = run(&stream);
    }
    ts_csv_lines_close(stream.lines);
    return status;
}
