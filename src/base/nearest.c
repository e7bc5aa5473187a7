#include <tallystone/base/nearest.h>

#include "base/fold.h"
#include "base/utf8.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

/* "Did you mean ...": the distance is that of restricted Damerau and Levenshtein (letters
 * put in, left out, exchanged, and two neighbours swapped, each once), which covers the
 * usual slips of typing. Words longer than any of ours are near nothing, so a cell full
 * of text costs no time. */

enum { LONGEST = 64 };

typedef struct letters {
    uint32_t at[LONGEST];
    size_t count; /* 0: no word, or one too long to be near anything */
} letters;

static letters letters_of(const char *text)
{
    letters word = {.count = 0};
    char folded[LONGEST + 1];
    size_t bytes = 0;
    const char *from = ts_fold_start(text);
    for (char c = ts_fold_next(&from); c != '\0'; c = ts_fold_next(&from)) {
        if (bytes == LONGEST) {
            return word;
        }
        folded[bytes++] = c;
    }
    for (size_t at = 0; at < bytes;) {
        at += ts_utf8_next(&word.at[word.count++], folded + at, bytes - at);
    }
    return word;
}

static size_t least(size_t one, size_t other)
{
    return one < other ? one : other;
}

/* Row i of the table holds the distances between the first i letters of `one` and each
 * beginning of `other`; three rows are enough. */
static size_t distance(const letters *one, const letters *other)
{
    size_t rows[3][LONGEST + 1];
    for (size_t j = 0; j <= other->count; j++) {
        rows[0][j] = j;
    }
    for (size_t i = 1; i <= one->count; i++) {
        size_t *row = rows[i % 3];
        const size_t *above = rows[(i + 2) % 3];
        const size_t *two_above = rows[(i + 1) % 3];
        row[0] = i;
        for (size_t j = 1; j <= other->count; j++) {
            const bool same = one->at[i - 1] == other->at[j - 1];
            row[j] = least(least(above[j], row[j - 1]) + 1, above[j - 1] + (same ? 0 : 1));
            if (i > 1 && j > 1 && one->at[i - 1] == other->at[j - 2] &&
                one->at[i - 2] == other->at[j - 1]) {
                row[j] = least(row[j], two_above[j - 2] + 1);
            }
        }
    }
    return rows[one->count % 3][other->count];
}

static bool begins(const letters *word, const letters *prefix)
{
    return prefix->count >= 3 && prefix->count < word->count &&
           memcmp(word->at, prefix->at, prefix->count * sizeof prefix->at[0]) == 0;
}

/* How far `typed` is from `word`; SIZE_MAX where it is not near. */
static size_t score(const letters *typed, const letters *word)
{
    const size_t longer = typed->count > word->count ? typed->count : word->count;
    const size_t shorter = least(typed->count, word->count);
    const size_t most = longer / 3 < 1 ? 1 : longer / 3;
    if (begins(word, typed)) {
        return 1;
    }
    if (shorter == 0 || longer - shorter > most) {
        return SIZE_MAX;
    }
    const size_t edits = distance(typed, word);
    /* one letter for another single letter leaves nothing in common */
    return edits <= most && edits < longer ? edits : SIZE_MAX;
}

int ts_nearest(const char *typed, const char *const *words, size_t count)
{
    if (typed == NULL) {
        return -1;
    }
    const letters from = letters_of(typed);
    size_t best_score = SIZE_MAX;
    int best = -1;
    for (size_t i = 0; from.count > 0 && i < count; i++) {
        if (words[i] == NULL) {
            continue;
        }
        const letters to = letters_of(words[i]);
        const size_t near = score(&from, &to);
        if (near < best_score) {
            best_score = near;
            best = (int)i;
        }
    }
    return best;
}
