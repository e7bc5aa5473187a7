/* Staging folders that a killed run left behind. */
#ifndef TS_BASE_LEFTOVER_H
#define TS_BASE_LEFTOVER_H

#include <stdbool.h>

/* How a staging folder is called: six characters of mkdtemp follow. */
#define TS_STAGING_NAME ".tallystone-"

/* Holds a staging folder as in use for as long as the descriptor *fd stays open (closing it
 * ends that, and so does the end of the program, however it comes). False with an errno
 * where it could not be opened, ENOENT where it was swept up before it could be held; *fd is
 * then -1. Where the file system knows no locks
 * nothing is held, and nothing is swept either. */
bool ts_leftover_hold(int *fd, const char *staging);
/* Removes the staging folders in `folder` that are the caller's own and that no program holds. */
void ts_leftover_sweep(const char *folder);

#endif
