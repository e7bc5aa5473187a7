/* Folded text byte by byte, where a copy of it is not wanted. */
#ifndef TS_BASE_FOLD_PRIVATE_H
#define TS_BASE_FOLD_PRIVATE_H

/* `text` past the blanks that begin it. */
const char *ts_fold_start(const char *text);

/* The next byte of the folded text (ASCII lower case, a run of blanks as one space, none
 * at the end), 0 at its end; moves *at past what it stands for. *at must have gone
 * through ts_fold_start. */
char ts_fold_next(const char **at);

#endif
