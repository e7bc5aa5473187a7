#include "papers/png.h"

#include "papers/deflate.h"

#include <string.h>

/* ISO/IEC 15948 (PNG), one way through it: sixteen greys, two dots a byte, each line as its
 * difference to the one above (filter 2), so that whatever stands upright is a run of zeros.
 * Sixteen greys hold the shades of a drawing and the edges of its lines; they halve the
 * bytes that are packed here and once more by the workbook. */

enum { FILTER_UP = 2, CRC_ROWS = 256 };

static void put_big(unsigned char *to, uint32_t value)
{
    for (int i = 0; i < 4; i++) {
        to[i] = (unsigned char)(value >> (24 - 8 * i));
    }
}

/* Check sum of a chunk: CRC-32 of ISO 3309, as annex D of the standard has it, four bytes a
 * step: row k has what a byte comes to with k bytes after it. */
static uint32_t crc_of(const unsigned char *bytes, size_t length)
{
    uint32_t rows[4][CRC_ROWS];
    uint32_t crc = 0xffffffffu;
    size_t i = 0;
    for (uint32_t n = 0; n < CRC_ROWS; n++) {
        rows[0][n] = n;
        for (int k = 0; k < 8; k++) {
            rows[0][n] = (rows[0][n] & 1u) != 0 ? 0xedb88320u ^ (rows[0][n] >> 1) : rows[0][n] >> 1;
        }
    }
    for (size_t n = 0; n < (size_t)3 * CRC_ROWS; n++) {
        uint32_t last = rows[n / CRC_ROWS][n % CRC_ROWS];
        rows[n / CRC_ROWS + 1][n % CRC_ROWS] = rows[0][last & 0xffu] ^ (last >> 8);
    }
    for (; i + 4 <= length; i += 4) {
        crc ^= (uint32_t)bytes[i] | (uint32_t)bytes[i + 1] << 8 | (uint32_t)bytes[i + 2] << 16 |
               (uint32_t)bytes[i + 3] << 24;
        crc = rows[3][crc & 0xffu] ^ rows[2][crc >> 8 & 0xffu] ^ rows[1][crc >> 16 & 0xffu] ^
              rows[0][crc >> 24];
    }
    for (; i < length; i++) {
        crc = rows[0][(crc ^ bytes[i]) & 0xffu] ^ (crc >> 8);
    }
    return ~crc;
}

static void put_chunk(ts_bytes *to, const char *type, const void *data, size_t length)
{
    unsigned char number[4];
    put_big(number, (uint32_t)length);
    ts_bytes_add(to, (const char *)number, sizeof number);
    size_t begins = to->length;
    ts_bytes_add(to, type, 4);
    if (length > 0) {
        ts_bytes_add(to, data, length);
    }
    put_big(number, crc_of((const unsigned char *)to->at + begins, length + 4));
    ts_bytes_add(to, (const char *)number, sizeof number);
}

/* Two dots in sixteen greys each, to the nearest. */
static unsigned char pair(const unsigned char *dots, int count)
{
    unsigned left = (dots[0] + 8u) / 17u;
    unsigned right = count > 1 ? (dots[1] + 8u) / 17u : 0;
    return (unsigned char)(left << 4 | right);
}

/* The line of `dots` less the one of `above`, which `pairs` holds in its sixteen greys and
 * holds of `dots` thereafter; most of a drawing has eight dots alike. The line is zero where
 * this leaves it. */
static void put_line(unsigned char *line, unsigned char *pairs, const unsigned char *dots,
                     const unsigned char *above, int width)
{
    for (int x = 0; x < width;) {
        uint64_t here, there;
        if (width - x >= 8) {
            memcpy(&here, dots + x, sizeof here);
            memcpy(&there, above + x, sizeof there);
            if (here == there) {
                x += 8;
                continue;
            }
        }
        for (int end = x + 8; x < end && x < width; x += 2) {
            unsigned char now = pair(dots + x, width - x);
            line[x / 2] = (unsigned char)(now - pairs[x / 2]);
            pairs[x / 2] = now;
        }
    }
}

void ts_png_write(ts_bytes *to, const ts_greys *greys)
{
    static const char mark[] = {(char)0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    unsigned char head[13] = {[8] = 4}; /* bits a dot; grey, packed, filtered, not interlaced */
    unsigned char resolution[9] = {[8] = 1}; /* to the metre */
    const size_t width = (size_t)greys->width, bytes = (width + 1) / 2 + 1;
    unsigned char *line = ts_arena_alloc(to->arena, bytes, 1);
    unsigned char *pairs = ts_arena_alloc(to->arena, bytes, 1);
    const unsigned char *above = ts_arena_alloc(to->arena, width + 1, 1);
    ts_bytes packed = {.arena = to->arena};

    ts_deflate *stream = ts_deflate_new(&packed);
    for (int y = 0; y < greys->height; y++) {
        const unsigned char *dots = greys->at + (size_t)y * (size_t)greys->stride;
        memset(line, 0, bytes);
        line[0] = FILTER_UP;
        if (memcmp(dots, above, width) != 0) {
            put_line(line + 1, pairs, dots, above, greys->width);
        }
        ts_deflate_add(stream, line, bytes);
        above = dots;
    }
    ts_deflate_end(stream);
    put_big(head, (uint32_t)greys->width);
    put_big(head + 4, (uint32_t)greys->height);
    put_big(resolution, greys->dots_per_metre);
    put_big(resolution + 4, greys->dots_per_metre);
    ts_bytes_add(to, mark, sizeof mark);
    put_chunk(to, "IHDR", head, sizeof head);
    put_chunk(to, "pHYs", resolution, sizeof resolution);
    put_chunk(to, "IDAT", packed.at, packed.length);
    put_chunk(to, "IEND", NULL, 0);
}

/* ---- reading its size ---- */

static double big_endian(const unsigned char *at)
{
    return (double)((uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3]);
}

bool ts_png_size_of(ts_png_size *out, const unsigned char *png, size_t length)
{
    enum { SIZE_AT = 16, HEAD = 24, TYPE_AT = 37, DATA_AT = 41, UNIT_AT = 49, END = 50 };
    if (length < HEAD) {
        return false;
    }
    const bool says = length >= END && memcmp(png + TYPE_AT, "pHYs", 4) == 0 && png[UNIT_AT] == 1;
    for (int way = 0; way < 2; way++) {
        out->dots[way] = big_endian(png + SIZE_AT + (ptrdiff_t)4 * way);
        out->dpi[way] = says ? big_endian(png + DATA_AT + (ptrdiff_t)4 * way) * 0.0254 : 96;
    }
    return out->dots[0] >= 1 && out->dots[1] >= 1;
}
