#include "desk/exporting.h"

#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* What changed since an export was written, by ids, so that a bookkeeper need not compare files.
 * Only looked for where something differs; the whole of a file is then in memory. */

enum { NAMED = 20, MOST_BYTES = 1 << 30 };

typedef struct record {
    const char *id, *text;
    size_t id_length, length;
} record;

typedef struct records {
    record *at;
    size_t count, room;
} records;

typedef struct telling {
    ts_arena *arena;
    const char *text;
    size_t count;
} telling;

/* A record ends at a line feed outside quotation marks. */
static records records_of(ts_arena *arena, const char *text, size_t length)
{
    records out = {0};
    bool quoted = false;
    for (size_t i = 0, start = 0; i < length; i++) {
        quoted = text[i] == '"' ? !quoted : quoted;
        if (text[i] != '\n' || quoted) {
            continue;
        }
        const size_t whole = i - start;
        const char *comma = memchr(text + start, ',', whole);
        out.at = ts_arena_grow(arena, out.at, out.count, &out.room, sizeof *out.at);
        out.at[out.count++] =
            (record){text + start, text + start,
                     comma == NULL ? whole : (size_t)(comma - (text + start)), whole};
        start = i + 1;
    }
    return out;
}

static int compare_ids(const record *left, const record *right)
{
    const size_t shorter = left->id_length < right->id_length ? left->id_length : right->id_length;
    const int order = memcmp(left->id, right->id, shorter);
    return order != 0 ? order
                      : (left->id_length > right->id_length) - (left->id_length < right->id_length);
}

static int by_id(const void *one, const void *other)
{
    return compare_ids(one, other);
}

static void tell(telling *t, const char *what, const char *how)
{
    if (t->count++ < NAMED) {
        t->text = ts_arena_format(t->arena, "%s%s%s%s", t->text, t->text[0] == '\0' ? "" : ", ",
                                  ts_text_show(t->arena, what, 100), how);
    }
}

static void tell_record(telling *t, const char *file, const record *one, const char *how)
{
    const char *id = ts_arena_copy(t->arena, one->id, one->id_length);
    tell(t, ts_arena_format(t->arena, "%s %s", file, id), how);
}

static void tell_records(telling *t, const char *file, records before, records now)
{
    size_t i = 0, k = 0;
    if (before.count > 1) {
        qsort(before.at, before.count, sizeof *before.at, by_id);
    }
    if (now.count > 1) {
        qsort(now.at, now.count, sizeof *now.at, by_id);
    }
    while (i < before.count || k < now.count) {
        const int order = i == before.count ? 1
                          : k == now.count  ? -1
                                            : compare_ids(&before.at[i], &now.at[k]);
        if (order < 0) {
            tell_record(t, file, &before.at[i], " (gone)");
        } else if (order > 0) {
            tell_record(t, file, &now.at[k], " (new)");
        } else if (before.at[i].length != now.at[k].length ||
                   memcmp(before.at[i].text, now.at[k].text, now.at[k].length) != 0) {
            tell_record(t, file, &now.at[k], " (changed)");
        }
        i += order <= 0;
        k += order >= 0;
    }
}

/* Compares one file; answers whether it differs. */
static ts_status compare(bool *differs, telling *t, const ts_export *x, const ts_export_file *file,
                         const char *folder)
{
    char *before = NULL, *now = NULL;
    size_t before_length = 0, now_length = 0;
    ts_diag *quiet = ts_diag_new(t->arena);
    const char *path = ts_arena_format(t->arena, "%s/%s", folder, file->name);
    const ts_status status =
        ts_file_read(&now, &now_length, t->arena, file->path, MOST_BYTES, x->request->diag);
    if (status != TS_OK) {
        return status;
    }
    if (ts_file_read(&before, &before_length, t->arena, path, MOST_BYTES, quiet) != TS_OK) {
        *differs = true;
        tell(t, file->name, " (new)");
        return TS_OK;
    }
    if (before_length == now_length && memcmp(before, now, now_length) == 0) {
        return TS_OK;
    }
    *differs = true;
    const size_t length = strlen(file->name);
    if (length > 4 && strcmp(file->name + length - 4, ".csv") == 0) {
        tell_records(t, file->name, records_of(t->arena, before, before_length),
                     records_of(t->arena, now, now_length));
    } else {
        tell(t, file->name, " (changed)");
    }
    return TS_OK;
}

ts_status ts_export_differ(const char **what, const ts_export *x, const ts_export_file *manifest,
                           const char *folder)
{
    bool differs = false, sealed_otherwise = false;
    telling t = {.arena = ts_arena_new(x->request->no_memory, x->request->no_memory_ctx),
                 .text = ""};
    telling none = {.arena = t.arena, .text = ""};
    ts_status status = TS_OK;
    for (int i = 0; i < TS_EXPORT_TABLES && status == TS_OK; i++) {
        status = compare(&differs, &t, x, &x->tables[i], folder);
    }
    for (size_t i = 0; i < x->paper_count && status == TS_OK; i++) {
        status = compare(&differs, &t, x, &x->papers[i], folder);
    }
    if (status == TS_OK) {
        status = compare(&sealed_otherwise, &none, x, manifest, folder);
    }
    if (!differs && sealed_otherwise) {
        t.text = "the manifest alone, by the register head: something was written since that is "
                 "dated before the period";
    }
    *what = t.text[0] == '\0' ? NULL : ts_arena_text(x->keep, t.text);
    if (t.count > NAMED) {
        *what = ts_arena_format(x->keep, "%s and %zu more", *what, t.count - NAMED);
    }
    ts_arena_free(t.arena);
    return status;
}
