#include "desk/variants.h"

#include <tallystone/base/csvout.h>
#include <tallystone/base/text.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/quantities/quantities.h>

#include <string.h>

/* One row of variants through every room, and its line of the answer. A row that cannot be
 * made answers with its first fault; the next row knows nothing of it. Scratch memory is
 * rewound after each row, so a million rows take no more than one. */

#define MESH_MOST_BYTES ((size_t)512 << 20)
#define ROW_MOST (2 * (size_t)TS_CSV_MOST_CELL + 8192) /* a name and a message, quoted */
#define MESSAGE_MOST 2000

/* ---- the answer ---- */

static void put(ts_variant_worker *worker, const char *text, size_t length)
{
    memcpy(worker->out + worker->out_length, text, length);
    worker->out_length += length;
}

static void put_plain(ts_variant_worker *worker, const char *text)
{
    put(worker, text, strlen(text));
}

/* The rule of csvout.h, into the worker's buffer. */
static void put_text(ts_variant_worker *worker, const char *text)
{
    worker->out_length +=
        ts_csv_text_into(worker->out + worker->out_length, TS_BLOCK_OUT - worker->out_length, text);
}

static char *put_dec(char *at, ts_dec value)
{
    at = ts_dec_put(at, value);
    *at++ = ',';
    return at;
}

static char *put_money(char *at, ts_money value, int exponent)
{
    at = ts_money_put(at, value, exponent);
    *at++ = ',';
    return at;
}

static void put_figures(ts_variant_worker *worker, const ts_variant_row *row)
{
    const ts_brief *brief = &row->brief;
    char *at = worker->out + worker->out_length;
    at = put_dec(at, row->metal_g);
    at = put_dec(at, (ts_dec){row->stones * 1000000});
    at = put_dec(at, row->stones_ct);
    at = put_dec(at, brief->minutes);
    at = put_money(at, brief->cost, brief->exponent);
    at = put_money(at, brief->net, brief->exponent);
    at = put_money(at, brief->tax, brief->exponent);
    at = put_money(at, brief->total, brief->exponent);
    at = brief->has_margin ? ts_dec_put(at, brief->margin_pct) : at;
    *at++ = ',';
    *at++ = '\n';
    worker->out_length = (size_t)(at - worker->out);
}

static void put_row(ts_variant_worker *worker, const ts_variant_row *row)
{
    if (TS_BLOCK_OUT - worker->out_length < 2 * ROW_MOST) {
        ts_stream_write(worker);
    }
    put_text(worker, row->name);
    if (!row->priced) {
        put_plain(worker, ",fault,,,,,,,,,,");
        put_text(worker, row->message);
        put(worker, "\n", 1);
        return;
    }
    put_plain(worker, ",priced,");
    put_figures(worker, row);
}

/* ---- figures ---- */

static bool sum_metal(ts_variant_row *row, const ts_quantities *needs)
{
    for (int i = 0; i < needs->metal_count; i++) {
        if (!ts_dec_add(&row->metal_g, row->metal_g, needs->metals[i].whole_g)) {
            return false;
        }
    }
    return true;
}

static bool add_stones(ts_variant_row *row, int count, ts_dec carat_each)
{
    int64_t carats = 0;
    row->stones += count;
    return !__builtin_mul_overflow(carat_each.e6, count, &carats) &&
           ts_dec_add(&row->stones_ct, row->stones_ct, (ts_dec){carats});
}

static bool sum_stones(ts_variant_row *row, const ts_quantities *needs)
{
    bool well = true;
    for (int i = 0; i < needs->melee_count; i++) {
        well = well && add_stones(row, needs->melee[i].set, needs->melee[i].step->carat_each);
    }
    for (int i = 0; i < needs->stone_count; i++) {
        well = well && add_stones(row, needs->stones[i].count, needs->stones[i].carats);
    }
    return well;
}

static bool fill(ts_variant_row *row, const ts_quantities *needs)
{
    row->day = needs->terms.as_of;
    return sum_metal(row, needs) && sum_stones(row, needs);
}

/* ---- rooms ---- */

static ts_status read_meshes(const ts_variant_worker *worker, ts_arena *arena, ts_design *design)
{
    const ts_stream *stream = worker->stream;
    ts_status status = TS_OK;
    for (int i = 0; i < design->mesh_count; i++) {
        ts_mesh *mesh = &design->mesh[i];
        for (int k = 0; k < stream->mesh_count && mesh->bytes == NULL; k++) {
            if (strcmp(stream->meshes[k].name, mesh->file) == 0) {
                mesh->bytes = stream->meshes[k].bytes;
                mesh->length = stream->meshes[k].length;
            }
        }
        if (mesh->bytes == NULL) {
            const ts_place at = {.file = NULL};
            char *bytes = NULL;
            ts_status read = ts_file_read_beside(&bytes, &mesh->length, arena,
                                                 ts_file_folder(arena, stream->sheet_path),
                                                 mesh->file, MESH_MOST_BYTES, &at, worker->diag);
            mesh->bytes = bytes;
            status = ts_status_worse(status, read);
        }
    }
    return status;
}

/* A row that is over when the next one comes: what recurs in it is remembered. */
static ts_status measure_passing(const ts_variant_worker *worker, ts_built *out)
{
    ts_status status = ts_geometry_figures_of(&out->geometry, worker->memory, worker->scratch,
                                              out->design, worker->diag);
    if (status == TS_OK) {
        status = ts_recurring_quantities_of(&out->needs, worker->recurring, worker->scratch,
                                            out->design, out->geometry, worker->diag);
    }
    return status;
}

/* A row that stays: memories lend what they hold for one row only. */
static ts_status measure_staying(const ts_variant_worker *worker, ts_built *out, ts_arena *arena)
{
    ts_status status = ts_geometry_of(&out->geometry, arena, out->design, worker->diag);
    if (status == TS_OK) {
        status = ts_quantities_bare_of(&out->needs, arena, out->design, out->geometry,
                                       worker->stream->book, worker->diag);
    }
    return status;
}

/* A row whole, up to bare quantities. */
static ts_status build_whole(void *ctx, ts_built *out, ts_variant *variant, ts_arena *arena,
                             const char *const *cells)
{
    const ts_variant_worker *worker = ctx;
    const ts_stream *stream = worker->stream;
    ts_status status = ts_variant_design(&out->design, variant, arena, cells, stream->book,
                                         stream->request->as_of, worker->diag);
    if (status == TS_OK) {
        status = read_meshes(worker, arena, out->design);
    }
    if (status == TS_OK) {
        status = arena == worker->scratch ? measure_passing(worker, out)
                                          : measure_staying(worker, out, arena);
    }
    return status;
}

static ts_status run_rooms(const ts_variant_worker *worker, ts_variant_row *row,
                           const char *const *cells)
{
    ts_quantities *needs = NULL;
    ts_status status = ts_banded_needs(&needs, worker->banded, worker->variant, worker->scratch,
                                       cells, worker->diag);
    if (status == TS_OK) {
        status =
            ts_recipes_price(&row->brief, worker->recipes, worker->scratch, needs, worker->diag);
    }
    if (status == TS_OK && !fill(row, needs)) {
        status = TS_OVERFLOW;
    }
    return status;
}

static void answer(ts_variant_worker *worker, ts_variant_row *row)
{
    worker->rows++;
    worker->faults += !row->priced;
    if (worker->best != NULL) {
        if (row->priced) {
            ts_best_offer(worker->best, row, worker->block, worker->rows);
        }
    } else {
        put_row(worker, row);
    }
}

static const char *first_fault(const ts_variant_worker *worker, ts_status status)
{
    const char *sentence = ts_diag_first(worker->diag);
    if (sentence != NULL) {
        return ts_text_show(worker->scratch, sentence, MESSAGE_MOST);
    }
    return status == TS_OVERFLOW ? "a figure left the range of exact arithmetic"
                                 : "the row could not be priced";
}

/* The record as a row of the header's cells; false with `why` where it is none. */
static bool judge_record(ts_variant_worker *worker, ts_record_kind kind, const char **why)
{
    ts_csv_record *record = &worker->record;
    const size_t cells = ts_variant_cells(worker->stream->columns);
    *why = record->why;
    for (size_t i = record->count; i < cells; i++) {
        record->cells[i] = "";
    }
    if (kind == TS_RECORD_ROW && record->filled > cells) {
        *why = ts_arena_format(worker->scratch,
                               "\"%s\" stands in column %zu; the header names %zu columns",
                               ts_text_show(worker->scratch, record->cells[record->filled - 1], 40),
                               record->filled, cells);
    }
    return *why == NULL;
}

static void price_line(ts_variant_worker *worker, char *line, size_t length)
{
    const ts_record_kind kind =
        ts_csv_record_read(&worker->record, line, length, worker->stream->separator);
    ts_variant_row row = {.message = NULL};
    if (kind == TS_RECORD_NOTHING) {
        return;
    }
    ts_diag_clear(worker->diag);
    if (judge_record(worker, kind, &row.message)) {
        const ts_status status = run_rooms(worker, &row, worker->record.cells);
        row.priced = status == TS_OK;
        row.message = row.priced ? NULL : first_fault(worker, status);
    }
    row.name = worker->record.cells[ts_variant_name_cell(worker->stream->columns)];
    answer(worker, &row);
    ts_arena_rewind(worker->scratch, worker->mark);
}

void ts_variant_worker_block(ts_variant_worker *worker, size_t length)
{
    char *at = worker->in;
    char *end = at + length;
    while (at < end) {
        char *feed = memchr(at, '\n', (size_t)(end - at));
        char *stop = feed == NULL ? end : feed;
        price_line(worker, at, (size_t)(stop - at));
        at = stop + 1;
    }
}

ts_variant_worker *ts_variant_worker_new(ts_arena *arena, ts_stream *stream)
{
    const ts_request *request = stream->request;
    ts_variant_worker *worker = TS_NEW(arena, ts_variant_worker);
    worker->stream = stream;
    worker->kept = ts_arena_new(request->no_memory, request->no_memory_ctx);
    worker->scratch = ts_arena_new(request->no_memory, request->no_memory_ctx);
    worker->diag = ts_diag_new(worker->scratch);
    worker->variant = ts_variant_new(worker->kept, stream->columns);
    worker->recipes = ts_recipes_new(worker->kept, stream->book, stream->lasting,
                                     request->no_memory, request->no_memory_ctx);
    ts_variant_remember(worker->variant, worker->kept, request->no_memory, request->no_memory_ctx);
    worker->memory = ts_geometry_memory_new(worker->kept);
    worker->recurring = ts_recurring_new(worker->kept, stream->book);
    worker->banded =
        ts_banded_new(worker->kept, stream->columns, request->no_memory, request->no_memory_ctx);
    ts_banded_builds(worker->banded, build_whole, worker);
    worker->in = ts_arena_alloc(worker->kept, TS_CSV_BLOCK + 1, 1);
    worker->out = ts_arena_alloc(worker->kept, TS_BLOCK_OUT, 1);
    if (stream->by != TS_BEST_NONE) {
        worker->best = ts_best_new(worker->kept, stream->by, stream->most);
    }
    worker->mark = ts_arena_mark_of(worker->scratch);
    return worker;
}

void ts_variant_worker_free(ts_variant_worker *worker)
{
    ts_recipes_free(worker->recipes);
    ts_banded_free(worker->banded);
    ts_variant_free(worker->variant);
    ts_arena_free(worker->kept);
    ts_arena_free(worker->scratch);
}
