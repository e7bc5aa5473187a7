/* A stream of variants: what its reader, its workers and its list of the best share. */
#ifndef TS_DESK_VARIANTS_H
#define TS_DESK_VARIANTS_H

#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/csvlines.h>
#include <tallystone/costing/recipe.h>
#include <tallystone/design/variant.h>
#include <tallystone/geometry/memory.h>
#include <tallystone/quantities/recurring.h>

#include "desk/banded.h"
#include "desk/request.h"

#define TS_BLOCK_OUT ((size_t)128 << 10)

/* What a row comes to. Text lives until the next row. */
typedef struct ts_variant_row {
    const char *name;
    bool priced;
    ts_dec metal_g; /* finished, all alloys, ready-made parts included */
    int64_t stones;
    ts_dec stones_ct;
    ts_brief brief;
    ts_date day; /* of its prices */
    const char *message;
} ts_variant_row;

/* The N best rows so far, best first; ties to the earlier row. */
typedef struct ts_best_row {
    ts_variant_row row;
    int64_t key;        /* the larger the better */
    uint64_t block, at; /* where it stands in the table */
    size_t name_room;
    char *name;
} ts_best_row;

typedef struct ts_best {
    ts_best_by by;
    size_t count, most;
    ts_best_row *rows; /* most + 1 of them */
    ts_arena *arena;
} ts_best;

ts_best *ts_best_new(ts_arena *arena, ts_best_by by, size_t most);
void ts_best_offer(ts_best *best, const ts_variant_row *row, uint64_t block, uint64_t at);

/* A mesh file of the sheet, read once. */
typedef struct ts_mesh_file {
    const char *name;
    const char *bytes;
    size_t length;
} ts_mesh_file;

/* What all workers read. */
typedef struct ts_stream {
    const ts_request *request;
    const char *sheet_path;
    ts_arena *read; /* books and sheet, which stay as they were read */
    const ts_arena *lasting[2];
    const ts_book *book;
    const ts_sheet *sheet;
    const ts_variant_columns *columns;
    const ts_mesh_file *meshes;
    int mesh_count;
    char separator;
    ts_best_by by; /* NONE: every row is written */
    size_t most;

    /* Guarded by `lock`. */
    pthread_mutex_t lock;
    pthread_cond_t turned;
    ts_csv_lines *lines;
    uint64_t blocks; /* handed out */
    uint64_t turn;   /* whose turn it is to write */
    uint64_t rows, faults;
    bool stopped; /* nothing more can be read or written */
    int written_error;
    ts_status status;
} ts_stream;

/* One worker: prices the rows of block after block. */
typedef struct ts_variant_worker {
    ts_stream *stream;
    ts_arena *kept;    /* as long as the worker */
    ts_arena *scratch; /* of one row */
    ts_arena_mark mark;
    ts_diag *diag;
    ts_variant *variant;
    ts_banded *banded;
    ts_recipes *recipes;
    ts_geometry_memory *memory;
    ts_recurring *recurring;
    ts_best *best;
    char *in;
    char *out;
    size_t out_length;
    uint64_t block, rows, faults;
    ts_csv_record record;
} ts_variant_worker;

ts_variant_worker *ts_variant_worker_new(ts_arena *arena, ts_stream *stream);
void ts_variant_worker_free(ts_variant_worker *worker);
/* Prices the worker's block; rows that do not fit its buffer go through ts_stream_write. */
void ts_variant_worker_block(ts_variant_worker *worker, size_t length);

/* Writes what the worker holds once it is its turn. */
void ts_stream_write(ts_variant_worker *worker);
/* Runs the stream with `jobs` workers; the bytes are the same for any number. Answers the
 * merged list of the best where one was asked for. */
const ts_best *ts_stream_run(ts_stream *stream, int jobs);

#endif
