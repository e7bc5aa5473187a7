#include <tallystone/base/file.h>

#include <tallystone/base/text.h>

#include "base/trouble.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Reading. The kind and the size of a file are known from its open descriptor before any
 * memory is taken, so nothing can be exchanged in between; it is opened without blocking,
 * so that a pipe put in its place makes no program wait for ever. */

enum { SHOWN = 200, FIRST_CHUNK = 16 << 10 };

typedef struct request {
    const char *name; /* as it is shown */
    size_t most;
    const ts_place *at; /* of the cell that names the file, or NULL */
    ts_diag *diag;
    ts_arena *arena;
} request;

const char *ts_trouble_text(char *buffer, int error)
{
    if (strerror_r(error, buffer, TS_TROUBLE_TEXT) != 0) {
        snprintf(buffer, TS_TROUBLE_TEXT, "error %d", error);
    }
    return buffer;
}

/* The prefix of the line names a file that the user named; one named by a cell is named
 * in the sentence. */
static ts_status refuse(const request *what, ts_fault code, ts_status status, const char *why)
{
    if (what->at != NULL) {
        const char *shown = ts_text_show(what->arena, what->name, SHOWN);
        ts_diag_add(what->diag, code, what->at, "\"%s\" %s", shown, why);
        return status;
    }
    const ts_place at = {.file = what->name};
    ts_diag_add(what->diag, code, &at, "%s %s", code == TS_FAULT_NOT_A_FILE ? "this" : "the file",
                why);
    return status;
}

static ts_status refuse_error(const request *what, int error)
{
    char text[TS_TROUBLE_TEXT];
    if (error == ENOENT || error == ENOTDIR) {
        return refuse(what, TS_FAULT_NOT_FOUND, TS_MISSING, "is not there");
    }
    const char *why =
        ts_arena_format(what->arena, "cannot be read: %s", ts_trouble_text(text, error));
    return refuse(what, TS_FAULT_NOT_FOUND, error == EIO ? TS_IO : TS_MISSING, why);
}

static ts_status refuse_size(const request *what)
{
    const char *unit = what->most >= (1u << 20) ? "MiB" : "bytes";
    const size_t count = what->most >= (1u << 20) ? what->most >> 20 : what->most;
    const char *why =
        ts_arena_format(what->arena, "is larger than the %zu %s that are read", count, unit);
    return refuse(what, TS_FAULT_TOO_LARGE, TS_FAULTY, why);
}

/* Reads to the end of the file, at most one byte past the limit: a file may grow while
 * it is read, and a stream has no size. */
static ts_status read_all(const request *what, int fd, size_t expected, char **out, size_t *length)
{
    size_t room = expected + 1;
    size_t used = 0;
    char *text = ts_arena_alloc(what->arena, room, 1);
    for (;;) {
        const ssize_t got = read(fd, text + used, room - used);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return refuse_error(what, errno);
        }
        used += (size_t)got;
        if (used > what->most) {
            return refuse_size(what);
        }
        if (got == 0) {
            break;
        }
        if (used == room) { /* one byte stays for the NUL */
            const size_t wider = room > what->most / 2 ? what->most + 2 : room * 2;
            char *moved = ts_arena_alloc(what->arena, wider, 1);
            memcpy(moved, text, used);
            text = moved;
            room = wider;
        }
    }
    text[used] = '\0';
    *out = text;
    *length = used;
    return TS_OK;
}

static ts_status judge_kind(const request *what, int fd, struct stat *about)
{
    if (fstat(fd, about) != 0) {
        return refuse_error(what, errno);
    }
    if (!S_ISREG(about->st_mode)) {
        return refuse(what, TS_FAULT_NOT_A_FILE, TS_MISSING,
                      S_ISDIR(about->st_mode) ? "is a folder; a file is read"
                                              : "is no regular file; only such are read");
    }
    return TS_OK;
}

static ts_status read_regular(const request *what, int fd, char **out, size_t *length)
{
    struct stat about;
    const ts_status kind = judge_kind(what, fd, &about);
    if (kind != TS_OK) {
        return kind;
    }
    if (about.st_size < 0 || (uintmax_t)about.st_size > what->most) {
        return refuse_size(what);
    }
    return read_all(what, fd, (size_t)about.st_size + 1, out, length);
}

ts_status ts_file_read(char **out, size_t *length, ts_arena *arena, const char *path, size_t most,
                       ts_diag *diag)
{
    const bool standard = strcmp(path, "-") == 0;
    const request what = {standard ? "(standard input)" : path, most, NULL, diag, arena};
    *out = NULL;
    *length = 0;
    if (standard) {
        return read_all(&what, STDIN_FILENO, FIRST_CHUNK, out, length);
    }
    const int fd = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) {
        return refuse_error(&what, errno);
    }
    const ts_status status = read_regular(&what, fd, out, length);
    close(fd);
    return status;
}

ts_status ts_file_open(int *fd, int64_t *size, ts_arena *arena, const char *path, ts_diag *diag)
{
    const request what = {path, 0, NULL, diag, arena};
    struct stat about;
    *fd = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (*fd < 0) {
        return refuse_error(&what, errno);
    }
    const ts_status kind = judge_kind(&what, *fd, &about);
    if (kind != TS_OK) {
        close(*fd);
        *fd = -1;
        return kind;
    }
    *size = about.st_size;
    return TS_OK;
}

FILE *ts_file_create(const ts_arena *arena, const char *path)
{
    FILE *to = fopen(path, "wb");
    if (to == NULL && errno == ENOMEM) {
        ts_arena_exhausted(arena);
    }
    return to;
}

bool ts_file_plain_name(const char *name)
{
    return name != NULL && name[0] != '\0' && name[0] != '-' && strchr(name, '/') == NULL &&
           strcmp(name, ".") != 0 && strcmp(name, "..") != 0;
}

/* ts_file_read with the folder and the place. NOLINTNEXTLINE(readability-function-size) */
ts_status ts_file_read_beside(char **out, size_t *length, ts_arena *arena, const char *folder,
                              const char *name, size_t most, const ts_place *at, ts_diag *diag)
{
    const request what = {name, most, at, diag, arena};
    *out = NULL;
    *length = 0;
    if (!ts_file_plain_name(name)) {
        return refuse(&what, TS_FAULT_NOT_A_FILE, TS_FAULTY,
                      "is no plain file name; the file must lie in the same folder");
    }
    const char *path = ts_arena_format(arena, "%s/%s", folder, name);
    const int fd = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC | O_NOFOLLOW);
    if (fd < 0 && errno == ELOOP) {
        return refuse(&what, TS_FAULT_NOT_A_FILE, TS_MISSING,
                      "is a link; the file itself must lie in the same folder");
    }
    if (fd < 0) {
        return refuse_error(&what, errno);
    }
    const ts_status status = read_regular(&what, fd, out, length);
    close(fd);
    return status;
}

const char *ts_file_folder(ts_arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL) {
        return ".";
    }
    return slash == path ? "/" : ts_arena_copy(arena, path, (size_t)(slash - path));
}
