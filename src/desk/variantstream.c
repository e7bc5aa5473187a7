#include "desk/variants.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

/* Blocks of rows over workers. Blocks are taken in order under a lock and numbered; each
 * worker writes its answers when its block's turn comes, so the bytes are those of one
 * worker alone. A worker whose buffer is full waits for its turn in the middle of a block:
 * memory stays what it is however many rows fail with long sentences. */

/* ---- writing ---- */

static int write_all(int fd, const char *bytes, size_t length)
{
    while (length > 0) {
        const ssize_t done = write(fd, bytes, length);
        if (done < 0 && errno == EINTR) {
            continue;
        }
        if (done < 0) {
            return errno;
        }
        bytes += done;
        length -= (size_t)done;
    }
    return 0;
}

void ts_stream_write(ts_variant_worker *worker)
{
    ts_stream *stream = worker->stream;
    pthread_mutex_lock(&stream->lock);
    while (stream->turn != worker->block && !stream->stopped) {
        pthread_cond_wait(&stream->turned, &stream->lock);
    }
    const bool mine = !stream->stopped;
    pthread_mutex_unlock(&stream->lock);
    /* only the worker whose turn it is comes here: the others read on meanwhile */
    const int error =
        mine ? write_all(fileno(stream->request->result), worker->out, worker->out_length) : 0;
    worker->out_length = 0;
    if (error != 0) {
        pthread_mutex_lock(&stream->lock);
        stream->stopped = true;
        stream->written_error = error;
        pthread_cond_broadcast(&stream->turned);
        pthread_mutex_unlock(&stream->lock);
    }
}

static void end_turn(ts_variant_worker *worker)
{
    ts_stream *stream = worker->stream;
    ts_stream_write(worker);
    pthread_mutex_lock(&stream->lock);
    stream->turn = stream->stopped ? stream->turn : worker->block + 1;
    stream->rows += worker->rows;
    stream->faults += worker->faults;
    worker->rows = 0;
    worker->faults = 0;
    pthread_cond_broadcast(&stream->turned);
    pthread_mutex_unlock(&stream->lock);
}

/* ---- reading ---- */

static void show_progress(const ts_stream *stream)
{
    const ts_request *request = stream->request;
    int64_t done = 0, all = 0;
    if (!request->progress || isatty(fileno(request->result))) {
        return;
    }
    if (ts_csv_lines_progress(stream->lines, &done, &all)) {
        fprintf(request->said, "\r%d %% ", (int)(100 * (double)done / (double)all));
    } else {
        fprintf(request->said, "\r%llu rows ", (unsigned long long)stream->rows);
    }
    fflush(request->said);
}

/* The next block and its number; 0 bytes where there is no more. */
static size_t take_block(ts_variant_worker *worker)
{
    ts_stream *stream = worker->stream;
    size_t length = 0;
    pthread_mutex_lock(&stream->lock);
    if (!stream->stopped && stream->status == TS_OK) {
        stream->status =
            ts_csv_lines_next(stream->lines, worker->in, &length, stream->request->diag);
        length = stream->status == TS_OK ? length : 0;
    }
    if (length > 0) {
        worker->block = stream->blocks++;
        show_progress(stream);
    }
    pthread_mutex_unlock(&stream->lock);
    return length;
}

static void *work(void *of)
{
    ts_variant_worker *worker = of;
    for (size_t length = take_block(worker); length > 0; length = take_block(worker)) {
        ts_variant_worker_block(worker, length);
        end_turn(worker);
    }
    return NULL;
}

/* ---- all workers ---- */

static void merge(ts_best *all, const ts_best *some)
{
    for (size_t i = 0; i < some->count; i++) {
        ts_best_offer(all, &some->rows[i].row, some->rows[i].block, some->rows[i].at);
    }
}

const ts_best *ts_stream_run(ts_stream *stream, int jobs)
{
    ts_arena *arena = stream->request->arena;
    ts_variant_worker **workers = TS_ARRAY(arena, ts_variant_worker *, (size_t)jobs);
    pthread_t *threads = TS_ARRAY(arena, pthread_t, (size_t)jobs);
    ts_best *best =
        stream->by == TS_BEST_NONE ? NULL : ts_best_new(arena, stream->by, stream->most);
    int started = 1;
    pthread_mutex_init(&stream->lock, NULL);
    pthread_cond_init(&stream->turned, NULL);
    for (int i = 0; i < jobs; i++) {
        workers[i] = ts_variant_worker_new(arena, stream);
    }
    while (started < jobs && pthread_create(&threads[started], NULL, work, workers[started]) == 0) {
        started++; /* where the system gives no more threads, fewer do the work */
    }
    work(workers[0]);
    for (int i = 1; i < started; i++) {
        pthread_join(threads[i], NULL);
    }
    for (int i = 0; i < jobs; i++) {
        if (best != NULL) {
            merge(best, workers[i]->best);
        }
        ts_variant_worker_free(workers[i]);
    }
    pthread_cond_destroy(&stream->turned);
    pthread_mutex_destroy(&stream->lock);
    if (stream->request->progress && !isatty(fileno(stream->request->result))) {
        fputs("\r\033[K", stream->request->said);
    }
    return best;
}
