#include "papers/press.h"

#include <tallystone/base/reserve.h>

#include <dlfcn.h>
#include <errno.h>
#include <string.h>
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

/* The path of the press: beside the program where it was built, else where it is installed. The
 * program's own place, not a list of folders that an environment names. NULL: there is none. */
static const char *press_path(ts_arena *arena)
{
    enum { MOST = 4096 };
    static const char *const folders[] = {"", TS_PRESS_BESIDE "/"};
    char *program = ts_arena_alloc(arena, MOST, 1);
    const ssize_t length = readlink("/proc/self/exe", program, MOST - 1);
    if (length <= 0) {
        return NULL;
    }
    program[length] = '\0';
    char *slash = strrchr(program, '/');
    if (slash == NULL) {
        return NULL;
    }
    slash[1] = '\0';
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++) {
        const char *path = ts_arena_format(arena, "%s%s" PRESS, program, folders[i]);
        if (access(path, F_OK) == 0) {
            return path;
        }
    }
    return NULL;
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

/* Loading, too, asks for memory, and says in words alone that there was none. */
static void look_for_want(const ts_arena *arena, const char *why)
{
    if (why == NULL || strstr(why, strerror(ENOMEM)) != NULL || strcmp(why, "out of memory") == 0) {
        ts_arena_exhausted(arena);
    }
}

static const ts_press *press_of(ts_arena *arena, ts_diag *diag)
{
    const char *path = press_path(arena);
    if (path == NULL) {
        return refuse(diag, "is not there");
    }
    ts_reserve(arena);
    void *loaded = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    if (loaded == NULL) {
        const char *why = dlerror();
        look_for_want(arena, why);
        return refuse(diag, ts_arena_format(arena, "cannot be loaded (%s)", why));
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
