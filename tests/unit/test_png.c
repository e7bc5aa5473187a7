/* Pictures in greys, read back by another program's reader: the one behind cairo. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <cairo.h>

#include "papers/png.h"

enum { MOST_BYTES = 700 * 700 };

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

/* The nearest of sixteen greys, 0, 17, 34 ... 255. */
static int nearest(int grey)
{
    int best = 0;
    for (int level = 17; level <= 255; level += 17) {
        int far = grey > level ? grey - level : level - grey;
        int was = grey > best ? grey - best : best - grey;
        best = far < was ? level : best;
    }
    return best;
}

static void assert_reads_back(const unsigned char *dots, int width, int height, int stride)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_bytes png = {.arena = arena};
    const ts_greys greys = {dots, width, height, stride, 11811};
    ts_png_write(&png, &greys);
    source from = {png.at, png.length};
    cairo_surface_t *read = cairo_image_surface_create_from_png_stream(give, &from);
    assert_int_equal(cairo_surface_status(read), CAIRO_STATUS_SUCCESS);
    assert_int_equal(from.left, 0);
    assert_int_equal(cairo_image_surface_get_width(read), width);
    assert_int_equal(cairo_image_surface_get_height(read), height);
    const unsigned char *at = cairo_image_surface_get_data(read);
    int step = cairo_image_surface_get_stride(read);
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            uint32_t dot;
            memcpy(&dot, at + (size_t)y * (size_t)step + 4 * (size_t)x, sizeof dot);
            uint32_t level = (uint32_t)nearest(dots[y * stride + x]);
            assert_int_equal(dot & 0xffffffu, level << 16 | level << 8 | level);
        }
    }
    cairo_surface_destroy(read);
    ts_arena_free(arena);
}

static uint32_t next_random(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return *state >> 8;
}

static void every_grey_becomes_the_nearest_of_sixteen(void **state)
{
    (void)state;
    unsigned char dots[256];
    for (int i = 0; i < 256; i++) {
        dots[i] = (unsigned char)i;
    }
    assert_reads_back(dots, 256, 1, 256);
    assert_reads_back(dots, 1, 256, 1);
    assert_reads_back(dots, 16, 16, 16);
}

static void every_small_size_reads_back(void **state)
{
    (void)state;
    static unsigned char dots[40 * 64];
    uint32_t seed = 1;
    for (size_t i = 0; i < sizeof dots; i++) {
        dots[i] = next_random(&seed) % 3 == 0 ? 0 : 255;
    }
    for (int width = 1; width <= 40; width++) {
        for (int height = 1; height <= 4; height++) {
            assert_reads_back(dots, width, height, 64);
        }
    }
}

/* Runs of every length that a token can say, and some beyond. */
static void runs_of_every_length_read_back(void **state)
{
    (void)state;
    static unsigned char dots[600 * 600];
    for (int y = 0; y < 600; y++) {
        for (int x = 0; x < 600; x++) {
            const int grey = x < y ? 17 * (y % 16) : 255;
            dots[y * 600 + x] = (unsigned char)grey;
        }
    }
    assert_reads_back(dots, 600, 600, 600);
}

static void noise_of_several_blocks_reads_back(void **state)
{
    (void)state;
    static unsigned char dots[MOST_BYTES];
    uint32_t seed = 7;
    for (size_t i = 0; i < sizeof dots; i++) {
        dots[i] = (unsigned char)next_random(&seed);
    }
    assert_reads_back(dots, 700, 700, 700);
}

/* Pairs of dots, each more often than the two rarer ones together: the code that fits best has
 * words of seventeen bits, where fifteen are allowed. One line, so that no filter changes it;
 * no two alike side by side, so that there are no runs. */
static void very_uneven_greys_read_back(void **state)
{
    (void)state;
    enum { KINDS = 17, PAIRS = 10926 };
    static unsigned char dots[2 * PAIRS];
    size_t often[KINDS] = {1, 2}, place = 0;
    for (int kind = 2; kind < KINDS; kind++) {
        often[kind] = often[kind - 1] + often[kind - 2] + 1;
    }
    for (int kind = KINDS - 1; kind >= 0; kind--) {
        for (size_t i = 0; i < often[kind]; i++) {
            dots[2 * place] = (unsigned char)(17 * (kind * 13 >> 4));
            dots[2 * place + 1] = (unsigned char)(17 * (kind * 13 & 15));
            place = place + 2 < PAIRS || place % 2 == 1 ? place + 2 : 1;
        }
    }
    assert_reads_back(dots, 2 * PAIRS, 1, 2 * PAIRS);
}

static void one_white_page_is_small(void **state)
{
    (void)state;
    static unsigned char dots[MOST_BYTES];
    memset(dots, 255, sizeof dots);
    assert_reads_back(dots, 700, 700, 700);
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_bytes png = {.arena = arena};
    const ts_greys greys = {dots, 700, 700, 700, 11811};
    ts_png_write(&png, &greys);
    assert_true(png.length < 3000);
    ts_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_grey_becomes_the_nearest_of_sixteen),
        cmocka_unit_test(every_small_size_reads_back),
        cmocka_unit_test(runs_of_every_length_read_back),
        cmocka_unit_test(noise_of_several_blocks_reads_back),
        cmocka_unit_test(very_uneven_greys_read_back),
        cmocka_unit_test(one_white_page_is_small),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
