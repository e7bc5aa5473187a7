#include "book/auditing.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <stdlib.h>
#include <string.h>

/* The names that a row may answer to: closed words, names of a file, words of the moment.
 * What answers to none of them can never apply, and is said with the nearest that does. */

#define MOST_SUGGESTED 200 /* as many warnings as are printed */

void ts_names_words(ts_names *n, const char *const *words, size_t count, bool sorted)
{
    n->words[n->count] = words;
    n->sorted[n->count] = sorted;
    n->counts[n->count++] = count;
}

void ts_names_list(ts_names *n, ts_list list)
{
    size_t count = 0;
    const char *const *words = ts_list_words(list, &count);

    ts_names_words(n, words, count, false);
}

void ts_names_file(ts_names *n, const ts_auditing *a, ts_book_file file)
{
    const char *const *names = NULL;
    const size_t count = ts_book_names(&names, a->arena, a->book, file);

    ts_names_words(n, names, count, true);
}

static int by_text(const void *one, const void *other)
{
    return strcmp(*(const char *const *)one, *(const char *const *)other);
}

static bool is_in_group(const ts_names *n, size_t group, const char *name)
{
    const char *const *words = n->words[group];

    if (n->sorted[group]) {
        return bsearch(&name, words, n->counts[group], sizeof *words, by_text) != NULL;
    }
    for (size_t i = 0; i < n->counts[group]; i++) {
        if (words[i] != NULL && ts_text_same(words[i], name)) {
            return true;
        }
    }
    return false;
}

bool ts_names_has(const ts_names *n, const char *name)
{
    for (size_t group = 0; group < n->count; group++) {
        if (is_in_group(n, group, name)) {
            return true;
        }
    }
    return false;
}

void ts_audit_name(const ts_auditing *a, const ts_names *n, const ts_book_row *row,
                   const char *column, const char *name, const char *what)
{
    if (name[0] == '\0' || ts_names_has(n, name)) {
        return;
    }
    ts_audit_add(a, TS_FAULT_BOOK_ODD, row, column,
                 ts_arena_format(a->arena, "\"%s\" is no %s, so this row can never apply",
                                 ts_text_show(a->arena, name, 60), what));
    for (size_t g = 0; g < n->count && ts_diag_warnings(a->diag) <= MOST_SUGGESTED; g++) {
        const int nearest = ts_nearest(name, n->words[g], n->counts[g]);

        if (nearest >= 0) {
            ts_diag_hint(a->diag, "did you mean \"%s\"?", n->words[g][nearest]);
            return;
        }
    }
}

size_t ts_names_distinct(const char **names, size_t count)
{
    size_t kept = 0;

    qsort(names, count, sizeof *names, by_text);
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || strcmp(names[i], names[kept - 1]) != 0) {
            names[kept++] = names[i];
        }
    }
    return kept;
}
