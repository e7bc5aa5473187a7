#include "papers/press.h"

#include <tallystone/base/reserve.h>

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* The side of the door that lies in the program: every function of the press once more, under its
 * own name, which finds the press and calls it there. The C library keeps count of what is
 * loaded, so that nothing is remembered here: asking again costs little beside a paper. Tests are
 * linked with the press itself and without this file. */

#define PRESS "tallystone-papers.so"
/* Where `make install` puts it, seen from the program's folder. */
#ifndef TS_PRESS_BESIDE
#define TS_PRESS_BESIDE "../lib/tallystone"
#endif

/* The press, open for reading: beside the program where it was built, else where it is installed.
 * The program's own place, not a list of folders that an environment names. -1: there is none. */
static int open_press(const char **path, ts_arena *arena)
{
    enum { MOST = 4096 };
    static const char *const folders[] = {"", TS_PRESS_BESIDE "/"};
    char *program = ts_arena_alloc(arena, MOST, 1);
    const ssize_t length = readlink("/proc/self/exe", program, MOST - 1);
    int found = -1;
    program[length > 0 ? length : 0] = '\0';
    char *slash = strrchr(program, '/');
    if (slash == NULL) {
        return -1;
    }
    slash[1] = '\0';
    for (size_t i = 0; i < sizeof folders / sizeof folders[0] && found < 0; i++) {
        *path = ts_arena_format(arena, "%s%s" PRESS, program, folders[i]);
        found = open(*path, O_RDONLY | O_CLOEXEC);
    }
    return found;
}

static const ts_press *refuse(ts_diag *diag, const char *why)
{
    ts_diag_add(diag, TS_FAULT_PROGRAM, NULL,
                "the part of the program that makes papers, " PRESS ", %s; it stands in the "
                "program's folder or in " TS_PRESS_BESIDE " seen from there, as `make install` "
                "puts it",
                why);
    return NULL;
}

/* Loading asks for room, too, and what it answers does not tell the want of it from a library
 * that is not there. So as much as all of them take, untouched, is set aside beside the reserve
 * that they work with, and given back at once. */
static void make_sure_of_room(const ts_arena *arena, int press)
{
    enum { LIBRARIES_BYTES = 20 << 20 };
    void *room = mmap(NULL, LIBRARIES_BYTES, PROT_NONE, MAP_PRIVATE, press, 0);
    if (room == MAP_FAILED && errno == ENOMEM) {
        ts_arena_exhausted(arena);
    }
    ts_reserve(arena);
    if (room != MAP_FAILED) {
        munmap(room, LIBRARIES_BYTES);
    }
}

static void *load_press(ts_arena *arena, ts_diag *diag)
{
    const char *path = NULL;
    const int press = open_press(&path, arena);
    if (press < 0) {
        refuse(diag, "is not there");
        return NULL;
    }
    void *loaded = dlopen(path, RTLD_NOW | RTLD_LOCAL | RTLD_NOLOAD);
    if (loaded == NULL) {
        make_sure_of_room(arena, press);
        loaded = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    }
    if (loaded == NULL) {
        const char *why = dlerror();
        refuse(diag, ts_arena_format(arena, "cannot be loaded (%s)", why == NULL ? "" : why));
    }
    close(press);
    return loaded;
}

static const ts_press *press_of(ts_arena *arena, ts_diag *diag)
{
    void *loaded = load_press(arena, diag);
    if (loaded == NULL) {
        return NULL;
    }
    const ts_press *press = dlsym(loaded, "ts_press_here");
    if (press == NULL || strcmp(press->mark, TS_PRESS_MARK) != 0) {
        return refuse(diag, "is of another build than the program");
    }
    return press;
}

ts_status ts_quote_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                         ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->quote(path, arena, paper, diag);
}

ts_status ts_margin_write(const char *path, ts_arena *arena, const ts_commission_paper *paper,
                          ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->margin(path, arena, paper, diag);
}

ts_status ts_order_write(const char *path, ts_arena *arena, const ts_order *order, ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->order(path, arena, order, diag);
}

ts_status ts_best_write(const char *path, ts_arena *arena, const ts_table *table, const char *title,
                        ts_date day, ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->best(path, arena, table, title, day, diag);
}

ts_status ts_quotation_write(FILE *to, ts_arena *arena, const ts_commission_paper *paper,
                             ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->quotation(to, arena, paper, diag);
}

ts_status ts_picture_read(ts_picture *out, ts_arena *arena, const char *png, size_t length,
                          ts_diag *diag)
{
    const ts_press *press = press_of(arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->picture(out, arena, png, length, diag);
}

ts_status ts_paint(ts_bytes *to, const ts_drawing *drawing, ts_drawing_form form, ts_diag *diag)
{
    const ts_press *press = press_of(to->arena, diag);
    return press == NULL ? TS_UNAVAILABLE : press->paint(to, drawing, form, diag);
}
