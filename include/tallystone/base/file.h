/* Files: read within limits, written whole or not at all. */
#ifndef TS_BASE_FILE_H
#define TS_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/status.h>

/* Reads a regular file of at most `most` bytes ("-": standard input) into the arena,
 * NUL-terminated. Says why not in `diag`: TS_MISSING (not there, a folder, a link's
 * loop), TS_FAULTY (too large), TS_IO. */
ts_status ts_file_read(char **out, size_t *length, ts_arena *arena, const char *path, size_t most,
                       ts_diag *diag) TS_MUST_USE;
/* The same for a file that a file names: a plain name in `folder`, a regular file, no
 * link. The sentence is put at `at`. */
ts_status ts_file_read_beside(char **out, size_t *length, ts_arena *arena, const char *folder,
                              const char *name, size_t most, const ts_place *at,
                              ts_diag *diag) TS_MUST_USE;
/* Opens a regular file of any size, to be read in pieces; the caller closes *fd. */
ts_status ts_file_open(int *fd, int64_t *size, ts_arena *arena, const char *path,
                       ts_diag *diag) TS_MUST_USE;
/* Opens a staged file to be written; the caller closes it. NULL where it cannot be; want of
 * memory gives up. */
FILE *ts_file_create(const ts_arena *arena, const char *path);
/* True for a plain name: no '/', not "." or "..", not empty, no leading '-'. */
bool ts_file_plain_name(const char *name);

/* The folder that a path lies in: "." where it names none. Into the arena. */
const char *ts_file_folder(ts_arena *arena, const char *path);

/* Outputs that appear whole or not at all: files are written inside a new 0700 folder
 * beside their place under umask 077, flushed, and renamed all together at the end.
 * Never through a link, never over anything but a regular file (TS_CANNOT_CREATE). */
typedef struct ts_outbox ts_outbox;

/* Makes `folder` where it is missing (parents too) and a staging folder in it. */
ts_status ts_outbox_open(ts_outbox **out, ts_arena *arena, const char *folder,
                         ts_diag *diag) TS_MUST_USE;
/* From here on all that is staged becomes one folder FOLDER/NAME, 0700, renamed into place whole.
 * A folder that stands there already is refused at the commit (an empty one is not), or with
 * `replace` changes places with the new one in one step and is removed. */
ts_status ts_outbox_whole(ts_outbox *box, const char *name, bool replace,
                          ts_diag *diag) TS_MUST_USE;
/* Path of a staged file that becomes FOLDER/NAME (NAME may hold one '/': `studio/x.xlsx`;
 * that folder is made 0700). `shared` files get 0644 less the caller's umask, others 0600. */
ts_status ts_outbox_file(const char **path, ts_outbox *box, const char *name, bool shared,
                         ts_diag *diag) TS_MUST_USE;
/* Flushes and renames every staged file, then removes the staging folder. */
ts_status ts_outbox_commit(ts_outbox *box, ts_diag *diag) TS_MUST_USE;
/* Removes what was staged; nothing appears. Accepts NULL and committed boxes. Safe to
 * call from a no-memory handler: allocates nothing. */
void ts_outbox_drop(ts_outbox *box);

#endif
