#include "desk/issuing.h"

#include <tallystone/base/file.h>
#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>
#include <tallystone/design/design.h>

#include <string.h>
#include <sys/stat.h>

/* `new`: a complete starter sheet, written where nothing is lost by it. */

static bool write_text(const ts_arena *arena, const char *path, const char *text)
{
    FILE *to = ts_file_create(arena, path);
    if (to == NULL) {
        return false;
    }
    bool fine = fputs(text, to) >= 0;
    return fclose(to) == 0 && fine;
}

static ts_status unknown_kind(const ts_request *request)
{
    size_t count = 0;
    const char *const *kinds = ts_starter_kinds(&count);
    int near = ts_nearest(request->like, kinds, count);
    char list[256] = "";
    for (size_t i = 0; i < count; i++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s\"%s\"",
                 i == 0 ? "" : (i + 1 == count ? " or " : ", "), kinds[i]);
    }
    ts_diag_add(request->diag, TS_FAULT_WORD_UNKNOWN, NULL,
                "there is no starter sheet of the kind \"%s\"; %s is expected",
                ts_text_show(request->arena, request->like, 60), list);
    if (near >= 0) {
        ts_diag_hint(request->diag, "did you mean \"%s\"?", kinds[near]);
    }
    return TS_FAULTY;
}

/* NAME may carry a folder and ".csv"; the reference is what lies between. */
static const char *reference_of(ts_arena *arena, const char *name)
{
    const char *slash = strrchr(name, '/');
    const char *base = slash == NULL ? name : slash + 1;
    size_t length = strlen(base);
    if (length > 4 && strcmp(base + length - 4, ".csv") == 0) {
        length -= 4;
    }
    return ts_text_file_name(arena, ts_arena_copy(arena, base, length));
}

/* "", ".", "..", "-" and a folder's name with its slash name no sheet. */
static bool names_nothing(const char *name)
{
    const char *slash = strrchr(name, '/');
    const char *base = slash == NULL ? name : slash + 1;
    return base[strspn(base, ".- ")] == '\0';
}

static ts_status write_sheet(const ts_request *request, const char *folder, const char *file,
                             const char *text)
{
    const char *path = NULL;
    ts_status status = ts_outbox_open(request->outbox, request->arena, folder, request->diag);
    if (status == TS_OK) {
        status = ts_outbox_file(&path, *request->outbox, file, true, request->diag);
    }
    if (status == TS_OK && !write_text(request->arena, path, text)) {
        ts_diag_add(request->diag, TS_FAULT_OUTPUT, NULL, "%s/%s cannot be written", folder, file);
        status = TS_IO;
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    return status;
}

ts_status ts_errand_new(const ts_request *request)
{
    ts_arena *arena = request->arena;
    const char *name = request->operands[0];
    if (names_nothing(name)) {
        return ts_desk_refuse(
            request, "new",
            ts_arena_format(arena, "\"%s\" names no sheet; my-ring or sheets/my-ring would",
                            ts_text_show(arena, name, 60)));
    }
    const char *kind = request->like == NULL ? "solitaire" : request->like;
    const char *reference = reference_of(arena, name);
    const char *text = ts_starter_sheet(arena, kind, reference, ts_date_today());
    if (text == NULL) {
        return unknown_kind(request);
    }
    const char *folder = ts_file_folder(arena, name);
    const char *file = ts_arena_format(arena, "%s.csv", reference);
    const char *path =
        strcmp(folder, ".") == 0
            ? file
            : ts_arena_format(arena, "%s%s%s", folder, strcmp(folder, "/") == 0 ? "" : "/", file);
    struct stat there;
    if (lstat(path, &there) == 0) {
        ts_diag_add(request->diag, TS_FAULT_OUTPUT, NULL,
                    "%s is there already and is left as it is; give the new sheet another name",
                    ts_text_show(arena, path, 200));
        return TS_CANNOT_CREATE;
    }
    ts_status status = write_sheet(request, folder, file, text);
    if (status == TS_OK) {
        fprintf(request->result, "%s\n", path);
        fprintf(request->said, "%s %s to measure and change. Next: tallystone price %s\n",
                strchr("aeiou", kind[0]) != NULL ? "An" : "A", kind, ts_text_word(arena, path));
    }
    return status;
}
