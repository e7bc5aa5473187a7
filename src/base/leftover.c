#include "base/leftover.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* A run that is killed cannot remove its staging folder; the next one that writes into the
 * same place does. Whether a folder is still in use is not guessed from its age: who uses one
 * holds a lock on it, which the kernel gives up with the program. */

static int open_folder(int at, const char *name)
{
    return openat(at, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
}

bool ts_leftover_hold(int *fd, const char *staging)
{
    struct stat held, there;
    *fd = open_folder(AT_FDCWD, staging);
    if (*fd < 0 || flock(*fd, LOCK_EX) != 0) {
        return *fd >= 0;
    }
    /* between its making and the lock a sweep may have taken it for a leftover */
    if (fstat(*fd, &held) == 0 && stat(staging, &there) == 0 && held.st_ino == there.st_ino &&
        held.st_dev == there.st_dev) {
        return true;
    }
    close(*fd);
    *fd = -1;
    errno = ENOENT;
    return false;
}

static bool is_staging(const char *name)
{
    const size_t head = strlen(TS_STAGING_NAME);
    return strncmp(name, TS_STAGING_NAME, head) == 0 && strlen(name) == head + 6;
}

/* What a folder holds: files, and folders of an output that is one, which hold folders of their
 * own; deeper none was ever made. NOLINTNEXTLINE(misc-no-recursion) */
static void empty(int fd, int deep)
{
    const int own = dup(fd); /* closedir takes it along */
    DIR *list = own < 0 ? NULL : fdopendir(own);
    if (list == NULL) {
        if (own >= 0) {
            close(own);
        }
        return;
    }
    for (struct dirent *one = readdir(list); one != NULL; one = readdir(list)) {
        if (strcmp(one->d_name, ".") == 0 || strcmp(one->d_name, "..") == 0 ||
            unlinkat(fd, one->d_name, 0) == 0 || deep == 0) {
            continue;
        }
        const int inner = open_folder(fd, one->d_name);
        if (inner >= 0) {
            empty(inner, deep - 1);
            close(inner);
            unlinkat(fd, one->d_name, AT_REMOVEDIR);
        }
    }
    closedir(list);
}

static void sweep_one(int folder, const char *name)
{
    struct stat about;
    const int fd = open_folder(folder, name);
    if (fd < 0) {
        return;
    }
    if (fstat(fd, &about) == 0 && about.st_uid == geteuid() && flock(fd, LOCK_EX | LOCK_NB) == 0) {
        empty(fd, 2);
        unlinkat(folder, name, AT_REMOVEDIR);
    }
    close(fd);
}

void ts_leftover_sweep(const char *folder)
{
    DIR *list = opendir(folder);
    if (list == NULL) {
        return;
    }
    for (struct dirent *one = readdir(list); one != NULL; one = readdir(list)) {
        if (is_staging(one->d_name)) {
            sweep_one(dirfd(list), one->d_name);
        }
    }
    closedir(list);
}
