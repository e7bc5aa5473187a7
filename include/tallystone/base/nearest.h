/* The nearest known word: "did you mean ...". */
#ifndef TS_BASE_NEAREST_H
#define TS_BASE_NEAREST_H

#include <stddef.h>

/* Index of the word nearest to `typed` among `count` words (NULL entries are passed
 * over), or -1 where none is near: an edit distance (neighbouring letters swapped count
 * one) of at most a third of the longer word, at least 1; a prefix of three letters or
 * more counts as near. Compared folded. */
int ts_nearest(const char *typed, const char *const *words, size_t count);

#endif
