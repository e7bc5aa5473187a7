#include "desk/exporting.h"

#include <tallystone/base/csvout.h>
#include <tallystone/base/file.h>
#include <tallystone/base/text.h>

#include <inttypes.h>
#include <string.h>

/* A file of the export, hashed while it is written. Rows are put together in memory first, for
 * most of them wait until they can be put in order. */

enum { FINEST = 4 }; /* decimals of the finest currency */

/* ---- a row ---- */

static void make_room(ts_export_row *row, size_t more)
{
    while (row->used + more > row->room) {
        const size_t wider = row->room == 0 ? 256 : 2 * row->room;
        char *moved = ts_arena_alloc(row->arena, wider, 1);
        if (row->used > 0) {
            memcpy(moved, row->text, row->used);
        }
        row->text = moved;
        row->room = wider;
    }
}

static void part(ts_export_row *row)
{
    if (row->used > 0) {
        row->text[row->used++] = ',';
    } else if (row->text == NULL) {
        make_room(row, 1);
    }
}

void ts_export_cell(ts_export_row *row, const char *text)
{
    text = text == NULL ? "" : text;
    const size_t most = 2 * strlen(text) + 3;
    make_room(row, most + 1);
    part(row);
    row->used += ts_csv_text_into(row->text + row->used, most, text);
}

void ts_export_plain(ts_export_row *row, const char *text)
{
    const size_t length = strlen(text);
    make_room(row, length + 1);
    part(row);
    memcpy(row->text + row->used, text, length);
    row->used += length;
}

void ts_export_money(ts_export_row *row, int64_t minor, int exponent)
{
    char text[TS_DECIMAL_TEXT];
    ts_export_plain(row, ts_money_text(text, (ts_money){minor}, exponent));
}

void ts_export_day(ts_export_row *row, ts_date day)
{
    char text[TS_DATE_TEXT];
    ts_export_plain(row, ts_date_given(day) ? ts_date_text(text, day) : "");
}

const char *ts_export_end(ts_export_row *row)
{
    make_room(row, 2);
    row->text[row->used++] = '\n';
    row->text[row->used] = '\0';
    return row->text;
}

/* ---- a file ---- */

static ts_status refuse(const ts_export_file *file, const ts_request *request)
{
    ts_diag_add(request->diag, TS_FAULT_OUTPUT, NULL, "%s cannot be written", file->name);
    return TS_IO;
}

ts_status ts_export_open(ts_export_file *file, const ts_request *request, const char *name)
{
    *file = (ts_export_file){.name = name};
    ts_sha256_init(&file->sha);
    const ts_status status =
        ts_outbox_file(&file->path, *request->outbox, name, false, request->diag);
    if (status == TS_OK) {
        file->to = ts_file_create(request->arena, file->path);
    }
    return status == TS_OK && file->to == NULL ? refuse(file, request) : status;
}

void ts_export_put(ts_export_file *file, const char *text)
{
    fputs(text, file->to);
    ts_sha256_add(&file->sha, text, strlen(text));
}

void ts_export_add(ts_export_file *file, int64_t minor, int exponent)
{
    ts_i128 amount = minor;
    for (int i = exponent; i < FINEST; i++) {
        amount *= 10;
    }
    file->sum += amount;
    file->decimals = exponent > file->decimals ? exponent : file->decimals;
}

ts_status ts_export_close(ts_export_file *file, const ts_request *request)
{
    if (file->to == NULL) {
        return TS_OK;
    }
    const bool whole = ferror(file->to) == 0;
    const bool closed = fclose(file->to) == 0;
    file->to = NULL;
    ts_sha256_text(&file->sha, file->hash);
    return whole && closed ? TS_OK : refuse(file, request);
}

bool ts_export_sum(char *text, const ts_export_file *file)
{
    ts_i128 amount = file->sum;
    for (int i = file->decimals; i < FINEST; i++) {
        amount /= 10;
    }
    if (amount > INT64_MAX || amount < -INT64_MAX) {
        return false;
    }
    ts_money_text(text, (ts_money){(int64_t)amount}, file->decimals);
    return true;
}

/* ---- what the parts share ---- */

void ts_export_keep(ts_export *x, ts_export_list *list, const ts_event *event, const char *text)
{
    list->at = ts_arena_grow(x->keep, list->at, list->count, &list->room, sizeof *list->at);
    const size_t order = list->count++;
    list->at[order] = (ts_export_kept){event->id, order, event->day, text};
}

const char *ts_export_event_id(ts_arena *arena, int64_t event)
{
    return ts_arena_format(arena, "e%" PRId64, event);
}

const char *ts_export_quote_id(ts_arena *arena, const ts_quote *quote)
{
    return ts_arena_format(arena, "q%" PRId64, quote->id);
}
