/* renameat2: no POSIX function exchanges two names */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier) */

#include <tallystone/base/file.h>

#include <tallystone/base/text.h>

#include "base/trouble.h"

#include <assert.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Writing. Papers are made in a folder of their own, 0700, inside the folder they are
 * meant for (the same file system, so a rename suffices), and come out together: all
 * that can fail (disk full, targets that may not be replaced) is tried before the first
 * rename, and should a rename fail still, those before it are taken back. What stood at
 * a target is kept as a second name in the staging folder until the last rename is done.
 *
 * All names are laid out before a file is made, so ts_outbox_drop needs no memory and may
 * be called at any moment, also by the handler of an arena that has run out of it. */

enum { SHOWN = 200 };

typedef struct staged {
    const char *path;   /* in the staging folder, where it is written */
    const char *kept;   /* there too: what stood at the target before */
    const char *target; /* where it belongs */
    const char *sub;    /* the folder between, or NULL */
    bool shared;
    bool has_kept;
    bool sub_made;
} staged;

struct ts_outbox {
    ts_arena *arena;
    const char *folder;
    char *staging;
    bool has_staging;
    char **made; /* folders made on the way, outermost first */
    size_t made_count;
    staged *files;
    size_t count;
    size_t room;
    mode_t shared_mode; /* 0644 less the caller's umask */
    const char *whole;  /* where the one folder belongs that all files become; NULL: none */
    const char *tree;   /* it in the staging folder */
    bool replaces;
};

static ts_status status_of(int error)
{
    switch (error) {
    case ENOSPC:
    case EDQUOT:
    case EFBIG:
    case EIO:
        return TS_IO;
    default:
        return TS_CANNOT_CREATE;
    }
}

static ts_status refuse(ts_outbox *box, ts_diag *diag, const char *path, const char *why)
{
    const char *shown = ts_text_show(box->arena, path, SHOWN);
    ts_diag_add(diag, TS_FAULT_OUTPUT, NULL, "\"%s\" cannot be written: %s", shown, why);
    return TS_CANNOT_CREATE;
}

static ts_status refuse_error(ts_outbox *box, ts_diag *diag, const char *path, int error)
{
    char text[TS_TROUBLE_TEXT];
    refuse(box, diag, path, ts_trouble_text(text, error));
    return status_of(error);
}

/* Makes `folder` and what is missing above it; 0, or the errno. */
static int make_folders(ts_outbox *box, char *folder)
{
    int trouble = 0; /* the first: those that follow only follow from it */
    char end = '/';
    for (char *at = folder + 1; end != '\0'; at++) {
        if (*at != '/' && *at != '\0') {
            continue;
        }
        end = *at;
        *at = '\0';
        if (mkdir(folder, 0777) == 0) {
            memcpy(box->made[box->made_count++], folder, strlen(folder) + 1);
        } else if (errno != EEXIST && errno != EISDIR && trouble == 0) {
            trouble = errno;
        }
        *at = end;
    }
    struct stat about;
    if (stat(folder, &about) != 0) {
        return trouble != 0 ? trouble : errno;
    }
    return S_ISDIR(about.st_mode) ? 0 : ENOTDIR;
}

/* What the umask leaves of 0644, learnt from a file: asking for it would change it. */
static int learn_shared_mode(ts_outbox *box, const char *probe)
{
    struct stat about;
    const int fd = open(probe, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0644);
    if (fd < 0) {
        return errno;
    }
    const int error = fstat(fd, &about) == 0 ? 0 : errno;
    box->shared_mode = error == 0 ? (about.st_mode & 0644) | 0600 : 0600;
    close(fd);
    unlink(probe);
    return error;
}

static size_t count_of(const char *text, char sought)
{
    size_t count = 0;
    for (; *text != '\0'; text++) {
        count += *text == sought;
    }
    return count;
}

ts_status ts_outbox_open(ts_outbox **out, ts_arena *arena, const char *folder, ts_diag *diag)
{
    ts_outbox *box = TS_NEW(arena, ts_outbox);
    *out = box;
    box->arena = arena;
    box->folder = ts_arena_text(arena, *folder == '\0' ? "." : folder);
    char *walked = ts_arena_text(arena, box->folder);
    const size_t levels = count_of(walked, '/') + 1;
    box->made = TS_ARRAY(arena, char *, levels);
    for (size_t i = 0; i < levels; i++) {
        box->made[i] = ts_arena_alloc(arena, strlen(walked) + 1, 1);
    }
    box->staging = ts_arena_format(arena, "%s/.tallystone-XXXXXX", box->folder);
    char *probe = ts_arena_format(arena, "%s/mode", box->staging);

    int error = make_folders(box, walked);
    if (error == 0) {
        box->has_staging = mkdtemp(box->staging) != NULL;
        error = box->has_staging ? 0 : errno;
    }
    if (error == 0) {
        memcpy(probe, box->staging, strlen(box->staging));
        error = learn_shared_mode(box, probe);
    }
    if (error != 0) {
        ts_outbox_drop(box);
        return refuse_error(box, diag, box->folder, error);
    }
    return TS_OK;
}

/* Why a target may not be written, or NULL. */
static const char *objection(const staged *file)
{
    struct stat about;
    if (file->sub != NULL && lstat(file->sub, &about) == 0 && !S_ISDIR(about.st_mode)) {
        return "a file or a link stands where its folder should be";
    }
    if (lstat(file->target, &about) != 0) {
        return NULL;
    }
    if (S_ISLNK(about.st_mode)) {
        return "a link stands there";
    }
    if (S_ISDIR(about.st_mode)) {
        return "a folder stands there";
    }
    return S_ISREG(about.st_mode) ? NULL : "something other than a file stands there";
}

static bool name_can_stand(const char *name)
{
    const char *slash = strchr(name, '/');
    const char *last = slash == NULL ? name : slash + 1;
    return name[0] != '\0' && name[0] != '.' && name[0] != '-' && name[0] != '/' &&
           ts_file_plain_name(last);
}

ts_status ts_outbox_whole(ts_outbox *box, const char *name, bool replace, ts_diag *diag)
{
    box->whole = ts_arena_format(box->arena, "%s/%s", box->folder, name);
    box->tree = ts_arena_format(box->arena, "%s/whole", box->staging);
    box->replaces = replace;
    if (mkdir(box->tree, 0700) != 0) {
        return refuse_error(box, diag, box->whole, errno);
    }
    return TS_OK;
}

/* A file of the one folder: it lies in its place there from the beginning. */
static int place_in_tree(ts_outbox *box, staged *file, const char *name, const char *slash)
{
    file->target = ts_arena_format(box->arena, "%s/%s", box->whole, name);
    file->path = ts_arena_format(box->arena, "%s/%s", box->tree, name);
    file->sub = NULL;
    if (slash != NULL) {
        file->sub = ts_arena_format(box->arena, "%s/%.*s", box->tree, (int)(slash - name), name);
        return mkdir(file->sub, 0700) == 0 || errno == EEXIST ? 0 : errno;
    }
    return 0;
}

ts_status ts_outbox_file(const char **path, ts_outbox *box, const char *name, bool shared,
                         ts_diag *diag)
{
    staged file = {.shared = shared};
    const char *slash = strchr(name, '/');
    const char *last = slash == NULL ? name : slash + 1;
    *path = NULL;
    file.target = ts_arena_format(box->arena, "%s/%s", box->folder, name);
    if (slash != NULL) {
        const char *sub = ts_arena_copy(box->arena, name, (size_t)(slash - name));
        file.sub = ts_arena_format(box->arena, "%s/%s", box->folder, sub);
    }
    file.path = ts_arena_format(box->arena, "%s/%zu-%s", box->staging, box->count, last);
    file.kept = ts_arena_format(box->arena, "%s/kept-%zu", box->staging, box->count);
    box->files = ts_arena_grow(box->arena, box->files, box->count, &box->room, sizeof *box->files);

    const char *why = name_can_stand(name) ? NULL : "its name is no plain file name";
    if (why == NULL && box->whole != NULL) {
        const int error = place_in_tree(box, &file, name, slash);
        if (error != 0) {
            return refuse_error(box, diag, file.target, error);
        }
    }
    why = why == NULL && box->whole == NULL ? objection(&file) : why;
    for (size_t i = 0; i < box->count && why == NULL; i++) {
        why = strcmp(box->files[i].target, file.target) == 0 ? "two papers have this name" : NULL;
    }
    if (why != NULL) {
        return refuse(box, diag, file.target, why);
    }
    const int fd = open(file.path, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        return refuse_error(box, diag, file.target, errno);
    }
    close(fd);
    box->files[box->count++] = file;
    *path = file.path;
    return TS_OK;
}

/* Sets the mode of a staged file and sends it to the disk; 0, or the errno. */
static int settle(const ts_outbox *box, const staged *file)
{
    struct stat about;
    const int fd = open(file->path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0) {
        return errno;
    }
    int error = fstat(fd, &about) != 0 ? errno : S_ISREG(about.st_mode) ? 0 : EINVAL;
    if (error == 0 && fchmod(fd, file->shared ? box->shared_mode : 0600) != 0) {
        error = errno;
    }
    if (error == 0 && fsync(fd) != 0) {
        error = errno;
    }
    close(fd);
    return error;
}

static int sync_folder(const char *folder)
{
    const int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) {
        return errno;
    }
    /* some file systems know no fsync of a folder; their renames are safe without */
    const int error = fsync(fd) == 0 || errno == EINVAL ? 0 : errno;
    close(fd);
    return error;
}

/* Puts a staged file in its place, keeping what stood there; 0, or the errno. */
static int bring_out(staged *file)
{
    if (file->sub != NULL) {
        file->sub_made = mkdir(file->sub, 0700) == 0;
        if (!file->sub_made && errno != EEXIST) {
            return errno;
        }
    }
    /* where a file system knows no second names, a failure later leaves the new file */
    file->has_kept = link(file->target, file->kept) == 0;
    return rename(file->path, file->target) == 0 ? 0 : errno;
}

/* Undoes the first `count` renames, and the folders made for `tried` files. */
static void take_back(ts_outbox *box, size_t count, size_t tried)
{
    for (size_t i = tried; i-- > 0;) {
        staged *file = &box->files[i];
        if (i < count && file->has_kept) {
            rename(file->kept, file->target);
            file->has_kept = false;
        } else if (i < count) {
            unlink(file->target);
        }
        if (file->sub_made) {
            rmdir(file->sub);
        }
    }
}

/* Tries what can fail before anything appears. */
static ts_status prepare(ts_outbox *box, ts_diag *diag)
{
    for (size_t i = 0; i < box->count; i++) {
        const staged *file = &box->files[i];
        const char *why = objection(file);
        if (why != NULL) {
            return refuse(box, diag, file->target, why);
        }
        const int error = settle(box, file);
        if (error != 0) {
            return refuse_error(box, diag, file->target, error);
        }
    }
    return TS_OK;
}

/* ---- one folder ---- */

/* Removes a folder of files and of folders of files; what cannot be removed stays. */
static void remove_tree(int at, const char *name, int depth)
{
    const int fd = openat(at, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    DIR *list = fd < 0 ? NULL : fdopendir(fd);
    if (list == NULL) {
        return;
    }
    for (struct dirent *one = readdir(list); one != NULL; one = readdir(list)) {
        if (strcmp(one->d_name, ".") != 0 && strcmp(one->d_name, "..") != 0 &&
            unlinkat(fd, one->d_name, 0) != 0 && depth > 0) {
            remove_tree(fd, one->d_name, depth - 1);
        }
    }
    closedir(list);
    unlinkat(at, name, AT_REMOVEDIR);
}

/* Two names change places in one step, so that one of them is there at every moment; where a
 * file system cannot, what stood there moves aside first. 0, or the errno. */
static int swap_folders(const ts_outbox *box)
{
    if (renameat2(AT_FDCWD, box->tree, AT_FDCWD, box->whole, RENAME_EXCHANGE) == 0) {
        return 0;
    }
    if (errno != EINVAL && errno != ENOSYS) {
        return errno;
    }
    char *aside = ts_arena_format(box->arena, "%s/aside", box->staging);
    if (rename(box->whole, aside) != 0) {
        return errno;
    }
    if (rename(box->tree, box->whole) != 0) {
        const int error = errno;
        return rename(aside, box->whole) == 0 ? error : errno;
    }
    return rename(aside, box->tree) == 0 ? 0 : errno;
}

static int settle_tree(const ts_outbox *box)
{
    int error = 0;
    const char *last = "";
    for (size_t i = 0; i < box->count && error == 0; i++) {
        error = settle(box, &box->files[i]);
    }
    for (size_t i = 0; i < box->count && error == 0; i++) {
        const char *sub = box->files[i].sub;
        if (sub != NULL && strcmp(sub, last) != 0) {
            error = sync_folder(sub);
            last = sub;
        }
    }
    return error == 0 ? sync_folder(box->tree) : error;
}

static ts_status commit_whole(ts_outbox *box, ts_diag *diag)
{
    struct stat about;
    int error = settle_tree(box);
    const bool stands = lstat(box->whole, &about) == 0;
    if (stands && !S_ISDIR(about.st_mode)) {
        ts_outbox_drop(box);
        return refuse(box, diag, box->whole, "something other than a folder stands there");
    }
    if (error == 0 && stands && box->replaces) {
        error = swap_folders(box);
    } else if (error == 0) {
        error = rename(box->tree, box->whole) == 0 ? 0 : errno;
    }
    if (error == 0) {
        box->count = 0; /* they are in their place */
        error = sync_folder(box->folder);
        remove_tree(AT_FDCWD, box->tree, 1);
        box->made_count = 0;
    }
    ts_outbox_drop(box);
    return error == 0 ? TS_OK : refuse_error(box, diag, box->whole, error);
}

ts_status ts_outbox_commit(ts_outbox *box, ts_diag *diag)
{
    assert(box->has_staging);
    if (box->whole != NULL) {
        return commit_whole(box, diag);
    }
    const ts_status ready = prepare(box, diag);
    if (ready != TS_OK) {
        ts_outbox_drop(box);
        return ready;
    }
    for (size_t i = 0; i < box->count; i++) {
        const int error = bring_out(&box->files[i]);
        if (error != 0) {
            take_back(box, i, i + 1);
            ts_outbox_drop(box);
            return refuse_error(box, diag, box->files[i].target, error);
        }
    }
    int error = 0;
    for (size_t i = 0; i < box->count && error == 0; i++) {
        error = box->files[i].sub == NULL ? 0 : sync_folder(box->files[i].sub);
    }
    error = error == 0 ? sync_folder(box->folder) : error;
    if (error != 0) {
        take_back(box, box->count, box->count);
        ts_outbox_drop(box);
        return refuse_error(box, diag, box->folder, error);
    }
    box->made_count = 0; /* the folders stay */
    ts_outbox_drop(box);
    return TS_OK;
}

void ts_outbox_drop(ts_outbox *box)
{
    if (box == NULL) {
        return;
    }
    for (size_t i = 0; i < box->count && box->has_staging; i++) {
        unlink(box->files[i].path);
        if (box->files[i].has_kept) {
            unlink(box->files[i].kept);
        }
        if (box->whole != NULL && box->files[i].sub != NULL) {
            rmdir(box->files[i].sub); /* goes with the last of its files */
        }
    }
    if (box->has_staging && box->whole != NULL) {
        rmdir(box->tree);
    }
    if (box->has_staging) {
        rmdir(box->staging);
    }
    box->has_staging = false;
    while (box->made_count > 0) {
        rmdir(box->made[--box->made_count]);
    }
}
