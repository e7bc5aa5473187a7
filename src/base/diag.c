#include <tallystone/base/diag.h>

#include <tallystone/base/hash.h>
#include <tallystone/base/text.h>

#include "base/window.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* All faults of a run in the order in which they were found; sorting happens at the
 * printing. A fault is the same as another when place, code and sentence are: options
 * of one sheet are judged one by one and meet the same slip each time, while two measures
 * missing of one part stand at one cell and are two faults. Sameness is looked up in
 * chains, since a bad file can hold a hundred thousand faults. */

enum { FEW_CHAINS = 64, MOST_PRINTED = 200, MOST_SENTENCE = 2000 };

typedef struct entry {
    ts_fault code;
    bool has_place;
    ts_place at;
    const char *sentence;
    const char *hint;
    size_t next; /* number of the next entry of its chain, plus one */
} entry;

struct ts_diag {
    ts_arena *arena;
    entry *entries;
    size_t count;
    size_t room;
    size_t errors;
    size_t reported;     /* errors added, those dropped as known ones included */
    int columns;         /* of the terminal; 0: none */
    entry *last;         /* the one a hint belongs to; NULL after a dropped fault */
    ts_place last_place; /* as it is kept; texts NULL: none yet */
    size_t *chains;      /* NULL before the first fault */
    size_t chain_count;
};

typedef struct fault_row {
    const char *word;
    ts_severity severity;
    const char *says;
} fault_row;

static const fault_row fault_rows[TS_FAULT_COUNT] = {
    [TS_FAULT_NONE] = {"", TS_ERROR, ""},
#define FAULT(id, word, severity, says) [TS_FAULT_##id] = {word, TS_##severity, says},
#include <tallystone/base/faults.def>
#undef FAULT
};

ts_diag *ts_diag_new(ts_arena *arena)
{
    ts_diag *diag = TS_NEW(arena, ts_diag);
    diag->arena = arena;
    return diag;
}

static bool same_text(const char *one, const char *other)
{
    return one == other || (one != NULL && other != NULL && strcmp(one, other) == 0);
}

static bool same_fault(const entry *one, const entry *other)
{
    return one->code == other->code && one->at.line == other->at.line &&
           one->at.column == other->at.column && same_text(one->at.file, other->at.file) &&
           strcmp(one->sentence, other->sentence) == 0;
}

static size_t chain_of(const ts_diag *diag, const entry *fresh)
{
    uint64_t hash = ts_hash_word(TS_HASH_NONE, (uint64_t)fresh->code);
    hash = ts_hash_word(hash, (uint64_t)fresh->at.line);
    hash = ts_hash_word(hash, (uint64_t)fresh->at.column);
    hash = ts_hash_text(ts_hash_text(hash, fresh->sentence), fresh->at.file);
    return (size_t)(hash ^ hash >> 32) % diag->chain_count;
}

/* Room for one more fault: where the chains grow long, four times as many are made. Most
 * runs, and most rows of a stream, have no fault and need none. */
static void make_chains(ts_diag *diag)
{
    if (diag->count < 2 * diag->chain_count) {
        return;
    }
    diag->chain_count = diag->chain_count == 0 ? FEW_CHAINS : 4 * diag->chain_count;
    diag->chains = TS_ARRAY(diag->arena, size_t, diag->chain_count);
    for (size_t i = 0; i < diag->count; i++) {
        size_t *chain = &diag->chains[chain_of(diag, &diag->entries[i])];
        diag->entries[i].next = *chain;
        *chain = i + 1;
    }
}

__attribute__((format(printf, 2, 0))) static char *say(ts_arena *arena, const char *format,
                                                       va_list arguments)
{
    assert(format != NULL);
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    const size_t room = length < 0 ? 1 : (size_t)length + 1;
    char *text = ts_arena_alloc(arena, room, 1);
    vsnprintf(text, room, format, again);
    va_end(again);
    /* Callers show the user's words already; what slipped through becomes \xNN here. */
    return ts_text_show(arena, text, MOST_SENTENCE);
}

/* The diag's own copy of a text; the last one's where they are the same, for faults of a
 * bad line come in rows. */
static const char *keep(ts_diag *diag, const char *text, const char *last)
{
    return text == NULL || same_text(text, last) ? (text == NULL ? NULL : last)
                                                 : ts_arena_text(diag->arena, text);
}

/* What a place borrows may be gone when faults are printed. */
static ts_place kept_place(ts_diag *diag, const ts_place *at)
{
    ts_place own = *at;
    own.file = keep(diag, at->file, diag->last_place.file);
    own.heading = keep(diag, at->heading, diag->last_place.heading);
    own.line_text = keep(diag, at->line_text, diag->last_place.line_text);
    diag->last_place = own;
    return own;
}

void ts_diag_add(ts_diag *diag, ts_fault code, const ts_place *at, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    entry fresh = {.code = code, .has_place = at != NULL};
    if (at != NULL) {
        fresh.at = *at;
    }
    fresh.sentence = say(diag->arena, format, arguments);
    va_end(arguments);

    const bool is_error = fault_rows[code].severity == TS_ERROR;
    diag->reported += is_error;
    diag->last = NULL;
    make_chains(diag);
    size_t *chain = &diag->chains[chain_of(diag, &fresh)];
    for (size_t i = *chain; i != 0; i = diag->entries[i - 1].next) {
        if (same_fault(&diag->entries[i - 1], &fresh)) {
            return;
        }
    }
    if (at != NULL) {
        fresh.at = kept_place(diag, at);
    }
    fresh.next = *chain;
    diag->entries =
        ts_arena_grow(diag->arena, diag->entries, diag->count, &diag->room, sizeof *diag->entries);
    diag->last = &diag->entries[diag->count];
    *diag->last = fresh;
    *chain = ++diag->count;
    diag->errors += is_error;
}

void ts_diag_hint(ts_diag *diag, const char *format, ...)
{
    if (diag->last == NULL) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    diag->last->hint = say(diag->arena, format, arguments);
    va_end(arguments);
}

void ts_diag_each(const ts_diag *diag, ts_diag_each_fn *each, void *ctx)
{
    for (size_t i = 0; i < diag->count; i++) {
        const entry *one = &diag->entries[i];
        each(ctx, one->code, &one->at, one->sentence);
    }
}

size_t ts_diag_errors(const ts_diag *diag)
{
    return diag->errors;
}

size_t ts_diag_warnings(const ts_diag *diag)
{
    return diag->count - diag->errors;
}

size_t ts_diag_mark(const ts_diag *diag)
{
    return diag->reported;
}

size_t ts_diag_errors_since(const ts_diag *diag, size_t mark)
{
    return diag->reported - mark;
}

const char *ts_diag_first(const ts_diag *diag)
{
    for (size_t i = 0; i < diag->count; i++) {
        if (fault_rows[diag->entries[i].code].severity == TS_ERROR) {
            return diag->entries[i].sentence;
        }
    }
    return NULL;
}

void ts_diag_clear(ts_diag *diag)
{
    *diag = (ts_diag){.arena = diag->arena, .columns = diag->columns};
}

/* An entry with what the sorting needs; `file` is the rank of its file. */
typedef struct ranked {
    const entry *entry;
    size_t file;
    size_t order;
} ranked;

static int by_number(size_t one, size_t other)
{
    return one < other ? -1 : one > other;
}

void ts_diag_complete(ts_diag *diag, const char *file, ts_place_of_line_fn *find, void *ctx)
{
    for (size_t i = 0; i < diag->count; i++) {
        entry *fault = &diag->entries[i];
        if (fault->has_place && fault->at.line > 0 && fault->at.column == 0 &&
            same_text(fault->at.file, file)) {
            const ts_place found = find(ctx, fault->at.line);
            fault->at = kept_place(diag, &found);
        }
    }
}

static int by_place(const void *left, const void *right)
{
    const ranked *one = left;
    const ranked *other = right;
    int order = by_number(one->file, other->file);
    if (order == 0) {
        order = by_number((size_t)one->entry->at.line, (size_t)other->entry->at.line);
    }
    if (order == 0) {
        order = by_number((size_t)one->entry->at.column, (size_t)other->entry->at.column);
    }
    return order != 0 ? order : by_number(one->order, other->order);
}

/* Gives each entry its file's rank: files come in the order of their first fault. */
static ranked *ranks_of(const ts_diag *diag)
{
    ranked *ranks = TS_ARRAY(diag->arena, ranked, diag->count);
    const char **files = NULL;
    size_t file_count = 0;
    size_t file_room = 0;
    size_t file = 0;
    for (size_t i = 0; i < diag->count; i++) {
        const char *name = diag->entries[i].at.file;
        if (file >= file_count || !same_text(files[file], name)) {
            for (file = 0; file < file_count && !same_text(files[file], name);) {
                file++;
            }
        }
        if (file == file_count) {
            files = ts_arena_grow(diag->arena, files, file_count, &file_room, sizeof *files);
            files[file_count++] = name;
        }
        ranks[i] = (ranked){&diag->entries[i], file, i};
    }
    return ranks;
}

/* Sentences may hold signs beyond ASCII; a plain terminal gets what says the same. */
static void put(ts_arena *arena, FILE *to, const char *text, bool unicode)
{
    fputs(unicode ? text : ts_text_ascii(arena, text), to);
}

static void print_entry(ts_arena *arena, const entry *fault, FILE *to, bool colour, bool unicode,
                        int columns)
{
    const ts_place *at = &fault->at;
    const bool warning = fault_rows[fault->code].severity == TS_WARNING;
    fputs(colour ? "\x1b[1m" : "", to);
    put(arena, to, at->file == NULL ? "tallystone" : ts_text_show(arena, at->file, 4096), unicode);
    if (at->file != NULL && at->line > 0) {
        fprintf(to, at->column > 0 ? ":%d:%d" : ":%d", at->line, at->column);
    }
    fputs(colour ? ":\x1b[0m " : ": ", to);
    if (warning) {
        fputs(colour ? "\x1b[33mwarning:\x1b[0m " : "warning: ", to);
    }
    put(arena, to, fault->sentence, unicode);
    fprintf(to, colour ? " \x1b[2m[%s]\x1b[0m\n" : " [%s]\n", fault_rows[fault->code].word);
    if (fault->has_place) {
        const ts_window window = {colour, unicode, columns};
        ts_window_print(arena, at, to, &window);
    }
    if (fault->hint != NULL) {
        fputs("  ", to);
        put(arena, to, fault->hint, unicode);
        fputc('\n', to);
    }
}

void ts_diag_columns(ts_diag *diag, int columns)
{
    diag->columns = columns;
}

void ts_diag_print(const ts_diag *diag, FILE *to, bool colour, bool unicode)
{
    const ts_arena_mark mark = ts_arena_mark_of(diag->arena);
    if (diag->count > 0) {
        ranked *ranks = ranks_of(diag);
        qsort(ranks, diag->count, sizeof *ranks, by_place);
        for (size_t i = 0; i < diag->count && i < MOST_PRINTED; i++) {
            print_entry(diag->arena, ranks[i].entry, to, colour, unicode, diag->columns);
        }
    }
    if (diag->count > MOST_PRINTED) {
        fprintf(to, "tallystone: and %zu more\n", diag->count - MOST_PRINTED);
    }
    ts_arena_rewind(diag->arena, mark);
}

const char *ts_fault_word(ts_fault code)
{
    return fault_rows[code].word;
}

const char *ts_fault_says(ts_fault code)
{
    return fault_rows[code].says;
}

ts_fault ts_fault_find(const char *word)
{
    for (int code = TS_FAULT_NONE + 1; code < TS_FAULT_COUNT; code++) {
        if (ts_text_same(word, fault_rows[code].word)) {
            return (ts_fault)code;
        }
    }
    return TS_FAULT_NONE;
}

char *ts_cell_name(char *buffer, int row, int cell)
{
    char letters[8];
    size_t used = 0;
    for (int left = cell; left > 0 && used < sizeof letters; left = (left - 1) / 26) {
        letters[used++] = (char)('A' + (left - 1) % 26);
    }
    size_t at = 0;
    while (used > 0) {
        buffer[at++] = letters[--used];
    }
    snprintf(buffer + at, 16 - at, "%d", row);
    return buffer;
}
