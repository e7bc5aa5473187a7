#include "papers/paint.h"
#include "papers/svg.h"

#include <tallystone/base/file.h>
#include <tallystone/base/text.h>

#include <stdio.h>
#include <string.h>

/* The forms of a drawing as bytes: SVG by our own writer, PNG and PDF painted from the same
 * marks. */

ts_drawing_form ts_drawing_form_of(const char *path)
{
    static const char *const endings[TS_DRAWING_FORM_COUNT] = {
        [TS_DRAWING_SVG] = ".svg", [TS_DRAWING_PNG] = ".png", [TS_DRAWING_PDF] = ".pdf"};
    size_t length = strlen(path);

    for (int i = 1; i < TS_DRAWING_FORM_COUNT && length > 4; i++) {
        if (ts_text_same(path + length - 4, endings[i])) {
            return (ts_drawing_form)i;
        }
    }
    return TS_DRAWING_FORM_NONE;
}

ts_status ts_drawing_bytes(const char **bytes, size_t *length, ts_arena *arena,
                           const ts_drawing *drawing, ts_drawing_form form, ts_diag *diag)
{
    ts_bytes to = {.arena = arena};
    ts_status status = TS_OK;

    switch (form) {
    case TS_DRAWING_PNG:
    case TS_DRAWING_PDF:
        status = ts_paint(&to, drawing, form, diag);
        break;
    case TS_DRAWING_SVG:
    case TS_DRAWING_FORM_NONE:
    case TS_DRAWING_FORM_COUNT:
        ts_svg_write(&to, drawing);
        break;
    }
    *bytes = to.at;
    *length = to.length;
    return status;
}

ts_status ts_drawing_write(const char *path, ts_arena *arena, const ts_drawing *drawing,
                           ts_drawing_form form, ts_diag *diag)
{
    const char *bytes = NULL;
    size_t length = 0;
    ts_status status = ts_drawing_bytes(&bytes, &length, arena, drawing, form, diag);

    if (status != TS_OK) {
        return status;
    }
    FILE *file = ts_file_create(arena, path);
    bool is_whole = file != NULL && fwrite(bytes, 1, length, file) == length;
    if (file != NULL) {
        is_whole = fclose(file) == 0 && is_whole;
    }
    if (!is_whole) {
        ts_diag_add(diag, TS_FAULT_OUTPUT, NULL,
                    "the drawing could not be written: the disk is full or refuses");
        return TS_IO;
    }
    return TS_OK;
}

bool ts_drawing_png(ts_drawing_picture *out, ts_arena *arena, const ts_drawing *drawing,
                    ts_diag *diag)
{
    const char *bytes = NULL;

    if (ts_drawing_bytes(&bytes, &out->length, arena, drawing, TS_DRAWING_PNG, diag) != TS_OK) {
        return false;
    }
    out->png = (const unsigned char *)bytes;
    out->width_mm = drawing->width_mm;
    out->height_mm = drawing->height_mm;
    out->says = drawing->says;
    return true;
}
