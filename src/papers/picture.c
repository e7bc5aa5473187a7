#include <tallystone/papers/picture.h>

#include <stdbool.h>
#include <string.h>

#include <cairo.h>

/* Why this file exists: a logo may carry texts, places and dates of its making. Only its
 * pixels are let into a client's paper. */

#define MOST_SIDE 4000

typedef struct source {
    const char *at;
    size_t left;
} source;

static cairo_status_t give(void *closure, unsigned char *to, unsigned length)
{
    source *from = closure;
    if (length > from->left) {
        return CAIRO_STATUS_READ_ERROR;
    }
    memcpy(to, from->at, length);
    from->at += length;
    from->left -= length;
    return CAIRO_STATUS_SUCCESS;
}

typedef struct sink {
    ts_arena *arena;
    unsigned char *bytes;
    size_t length, room;
} sink;

static cairo_status_t take(void *closure, const unsigned char *from, unsigned length)
{
    sink *to = closure;
    if (to->length + length > to->room) {
        size_t room = (to->length + length) * 2 + 4096;
        unsigned char *bytes = ts_arena_alloc(to->arena, room, 1);
        if (to->length > 0) {
            memcpy(bytes, to->bytes, to->length);
        }
        to->bytes = bytes;
        to->room = room;
    }
    memcpy(to->bytes + to->length, from, length);
    to->length += length;
    return CAIRO_STATUS_SUCCESS;
}

/* Width and height stand in the first chunk (ISO/IEC 15948, 11.2.2): judged before any
 * pixel is decoded. */
static bool small_enough(const char *png, size_t length)
{
    static const unsigned char mark[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    if (length < 24 || memcmp(png, mark, sizeof mark) != 0) {
        return false;
    }
    unsigned long sides[2] = {0, 0};
    for (int i = 0; i < 8; i++) {
        sides[i / 4] = sides[i / 4] << 8 | (unsigned char)png[16 + i];
    }
    return sides[0] > 0 && sides[1] > 0 && sides[0] <= MOST_SIDE && sides[1] <= MOST_SIDE;
}

ts_status ts_picture_read(ts_picture *out, ts_arena *arena, const char *png, size_t length,
                          ts_diag *diag)
{
    if (!small_enough(png, length)) {
        ts_diag_add(diag, TS_FAULT_NOT_A_FILE, NULL,
                    "the logo is no PNG of at most %d pixels a side", MOST_SIDE);
        return TS_FAULTY;
    }
    source from = {png, length};
    sink to = {.arena = arena};
    cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(give, &from);
    cairo_status_t read = cairo_surface_status(surface);
    cairo_status_t written = CAIRO_STATUS_READ_ERROR;
    if (read == CAIRO_STATUS_SUCCESS) {
        out->width_px = cairo_image_surface_get_width(surface);
        out->height_px = cairo_image_surface_get_height(surface);
        written = cairo_surface_write_to_png_stream(surface, take, &to);
    }
    cairo_surface_destroy(surface);
    if (read == CAIRO_STATUS_NO_MEMORY || written == CAIRO_STATUS_NO_MEMORY) {
        ts_arena_exhausted(arena);
    }
    if (read != CAIRO_STATUS_SUCCESS || written != CAIRO_STATUS_SUCCESS) {
        ts_diag_add(diag, TS_FAULT_NOT_A_FILE, NULL, "the logo cannot be read as PNG: %s",
                    cairo_status_to_string(read != CAIRO_STATUS_SUCCESS ? read : written));
        return TS_FAULTY;
    }
    out->png = to.bytes;
    out->length = to.length;
    return TS_OK;
}
