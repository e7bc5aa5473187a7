#include "geometry/meshread.h"

#include <float.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "geometry/meshnumber.h"

/* STL has no mark that tells its two forms apart: binary headers may begin with "solid"
 * too. But a binary file of up to 5 million facets has a zero in its count, and no text has
 * one, so a zero near the start decides. The count in the file is believed only against its
 * length, so that no number in a file can ask for memory. */

#define HEADER_BYTES 84 /* 80 of anything, 4 of count */
#define COUNT_AT 80
#define FACET_BYTES 50 /* normal, three corners, two bytes of attributes */
#define CORNERS_AT 12
#define LOOKED_AT 1024
#define AHEAD 2048           /* bytes; fetched while those before are worked on */
#define TEXT_FACET_BYTES 200 /* few programs write less; then the room grows */

typedef struct text {
    const unsigned char *start;
    const unsigned char *at;
    const unsigned char *end;
    ts_mesh_result *out;
} text;

typedef struct word {
    const unsigned char *from;
    size_t length; /* 0: the text has ended */
} word;

static uint32_t little_endian(const unsigned char *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 |
           (uint32_t)bytes[3] << 24;
}

static bool is_blank(unsigned char byte)
{
    return byte == ' ' || (byte >= '\t' && byte <= '\r');
}

/* --- words ------------------------------------------------------------------------- */

static word next_word(text *t)
{
    while (t->at < t->end && is_blank(*t->at)) {
        t->at++;
    }
    const unsigned char *from = t->at;
    while (t->at < t->end && !is_blank(*t->at)) {
        t->at++;
    }
    return (word){from, (size_t)(t->at - from)};
}

static void skip_line(text *t)
{
    while (t->at < t->end && *t->at != '\n' && *t->at != '\r') {
        t->at++;
    }
}

static unsigned char lower(unsigned char byte)
{
    return byte >= 'A' && byte <= 'Z' ? (unsigned char)(byte + ('a' - 'A')) : byte;
}

/* `known` is in lower case; the file may write it in any. */
static bool begins(const unsigned char *at, size_t length, const char *known)
{
    const size_t n = strlen(known);
    if (length < n) {
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        if (lower(at[i]) != (unsigned char)known[i]) {
            return false;
        }
    }
    return true;
}

static bool same(word w, const char *known)
{
    return w.length == strlen(known) && begins(w.from, w.length, known);
}

static long line_of(const text *t, const unsigned char *at)
{
    long line = 1;
    for (const unsigned char *c = t->start; c < at; c++) {
        if (*c == '\n' || (*c == '\r' && (c + 1 == t->end || c[1] != '\n'))) {
            line++;
        }
    }
    return line;
}

/* --- refusing ---------------------------------------------------------------------- */

static void keep_word(ts_mesh_result *out, word w)
{
    size_t used = 0;
    for (size_t i = 0; i < w.length; i++) {
        const bool plain = w.from[i] > ' ' && w.from[i] < 0x7f;
        if (used + 4 + 4 > sizeof out->word) { /* the longest byte, then dots and the end */
            memcpy(out->word + used, "...", 4);
            return;
        }
        if (plain) {
            out->word[used++] = (char)w.from[i];
        } else {
            snprintf(out->word + used, 5, "\\x%02X", w.from[i]);
            used += 4;
        }
    }
    out->word[used] = '\0';
}

static ts_mesh_reason refuse(const text *t, ts_mesh_reason why, word w)
{
    t->out->line = line_of(t, w.from);
    keep_word(t->out, w);
    return why;
}

static ts_mesh_reason refuse_end(const text *t)
{
    t->out->line = line_of(t, t->end);
    t->out->facet = t->out->facets + 1;
    return TS_MESH_CUT_SHORT;
}

/* A word that the end of the file breaks off is no wrong word: the file was cut short. */
static ts_mesh_reason refuse_word(const text *t, word w, const char *expected)
{
    if (w.from + w.length == t->end) {
        return refuse_end(t);
    }
    t->out->expected = expected;
    return refuse(t, TS_MESH_WORD, w);
}

/* --- text -------------------------------------------------------------------------- */

static ts_mesh_reason expect(text *t, const char *known)
{
    const word w = next_word(t);
    return same(w, known) ? TS_MESH_NONE : refuse_word(t, w, known);
}

/* A loop that ended after `corners` corners, or had one more than three: counts the rest. */
static ts_mesh_reason refuse_loop(text *t, word at, long corners)
{
    if (corners > 3) {
        for (word w = next_word(t); w.length > 0 && !same(w, "endloop"); w = next_word(t)) {
            corners += same(w, "vertex");
        }
    }
    t->out->corners = corners;
    t->out->facet = t->out->facets + 1;
    return refuse(t, TS_MESH_CORNERS, at);
}

static ts_mesh_reason read_coordinates(text *t, double *corner)
{
    for (int axis = 0; axis < 3; axis++) {
        const word w = next_word(t);
        switch (ts_coordinate_read(&corner[axis], w.from, w.length)) {
        case TS_COORDINATE_OK:
            break;
        case TS_COORDINATE_BAD:
            return refuse_word(t, w, "a number");
        case TS_COORDINATE_COMMA:
            return refuse(t, TS_MESH_COMMA, w);
        case TS_COORDINATE_NOT_FINITE:
            t->out->facet = t->out->facets + 1;
            return refuse(t, TS_MESH_NOT_FINITE, w);
        }
    }
    return TS_MESH_NONE;
}

/* What follows the word `facet`. The normal is skipped unread: the order of the corners
 * says the same, and programs write nan there for facets without area. */
static ts_mesh_reason read_facet(text *t, ts_facet *facet)
{
    ts_mesh_reason why = expect(t, "normal");
    for (int i = 0; i < 3; i++) {
        (void)next_word(t);
    }
    why = why != TS_MESH_NONE ? why : expect(t, "outer");
    why = why != TS_MESH_NONE ? why : expect(t, "loop");
    for (int i = 0; i < 3 && why == TS_MESH_NONE; i++) {
        const word w = next_word(t);
        if (same(w, "endloop")) {
            return refuse_loop(t, w, i);
        }
        if (!same(w, "vertex")) {
            return refuse_word(t, w, "vertex");
        }
        why = read_coordinates(t, facet->corner[i]);
    }
    if (why != TS_MESH_NONE) {
        return why;
    }
    const word w = next_word(t);
    if (same(w, "vertex")) {
        return refuse_loop(t, w, 4);
    }
    return same(w, "endloop") ? expect(t, "endfacet") : refuse_word(t, w, "endloop");
}

/* Something other than `solid` behind an `endsolid`: stray bytes, unless a facet stands
 * among them, which would be metal left out. */
static ts_mesh_reason judge_stray(const text *t, word w)
{
    for (const unsigned char *c = w.from; c < t->end; c++) {
        if ((*c == 'f' || *c == 'F') && begins(c, (size_t)(t->end - c), "facet")) {
            return refuse_word(t, w, "solid");
        }
    }
    t->out->stray_bytes = (size_t)(t->end - w.from);
    return TS_MESH_NONE;
}

/* "endsol" and then nothing: all facets are whole. */
static bool is_broken_end(const text *t, word w)
{
    static const char end[] = "endsolid";
    if (t->at != t->end || w.length >= sizeof end - 1) {
        return false;
    }
    for (size_t i = 0; i < w.length; i++) {
        if (lower(w.from[i]) != (unsigned char)end[i]) {
            return false;
        }
    }
    return true;
}

static ts_mesh_reason add_facet(text *t, ts_facets *facets, size_t *room, ts_arena *arena)
{
    if (t->out->facets == TS_MESH_FACETS_MOST) {
        return TS_MESH_TOO_MANY;
    }
    facets->text = ts_arena_grow(arena, facets->text, facets->count, room, sizeof *facets->text);
    const ts_mesh_reason why = read_facet(t, &facets->text[facets->count]);
    if (why == TS_MESH_NONE) {
        facets->count++;
        t->out->facets++;
    }
    return why;
}

/* `at` stands behind the first `solid`. */
static ts_mesh_reason read_text(text *t, ts_facets *facets, ts_arena *arena)
{
    size_t room = (size_t)(t->end - t->at) / TEXT_FACET_BYTES + 1;
    bool is_inside = true;
    ts_mesh_reason why = TS_MESH_NONE;

    t->out->is_text = true;
    facets->text = ts_arena_alloc(arena, room, sizeof *facets->text);
    skip_line(t);
    while (why == TS_MESH_NONE) {
        const word w = next_word(t);
        if (w.length == 0 || (is_inside && is_broken_end(t, w))) {
            t->out->lacks_endsolid = t->out->lacks_endsolid || is_inside;
            break;
        }
        if (is_inside && same(w, "facet")) {
            why = add_facet(t, facets, &room, arena);
        } else if (same(w, "solid")) {
            t->out->lacks_endsolid = t->out->lacks_endsolid || is_inside;
            is_inside = true;
            skip_line(t);
        } else if (!is_inside) {
            why = judge_stray(t, w);
            break;
        } else if (same(w, "endsolid")) {
            is_inside = false;
            skip_line(t);
        } else {
            why = refuse_word(t, w, "facet");
        }
    }
    return why == TS_MESH_NONE && facets->count == 0 ? TS_MESH_NO_FACETS : why;
}

/* --- binary ------------------------------------------------------------------------ */

static ts_mesh_reason read_binary(ts_facets *facets, ts_mesh_result *out,
                                  const unsigned char *bytes, size_t length)
{
    if (length < HEADER_BYTES) {
        out->held = (unsigned long)length;
        return TS_MESH_HEADER_ONLY;
    }
    const size_t rest = length - HEADER_BYTES;
    const size_t held = rest / FACET_BYTES;
    const uint32_t promised = little_endian(bytes + COUNT_AT);
    if (promised == held && held > 0 && held <= (size_t)TS_MESH_FACETS_MOST) {
        facets->binary = bytes;
        facets->count = held;
        out->facets = (long)held;
        out->stray_bytes = rest % FACET_BYTES;
        return TS_MESH_NONE;
    }
    if (promised == 0 && held == 0) {
        return TS_MESH_NO_FACETS;
    }
    out->promised = promised;
    out->held = (unsigned long)held;
    if (promised == held) {
        return TS_MESH_TOO_MANY;
    }
    return promised > held ? TS_MESH_FACETS_MISSING : TS_MESH_FACETS_EXTRA;
}

/* --- which of the two -------------------------------------------------------------- */

static bool has_zero(const unsigned char *bytes, size_t length)
{
    return memchr(bytes, '\0', length < LOOKED_AT ? length : LOOKED_AT) != NULL;
}

ts_mesh_reason ts_facets_read(ts_facets *facets, ts_mesh_result *out, ts_arena *arena,
                              const unsigned char *bytes, size_t length)
{
    *facets = (ts_facets){0};
    if (length > TS_MESH_BYTES_MOST) {
        return TS_MESH_TOO_LARGE;
    }
    if (length == 0) {
        return TS_MESH_EMPTY;
    }
    if (has_zero(bytes, length)) {
        return read_binary(facets, out, bytes, length);
    }
    text t = {bytes, bytes, bytes + length, out};
    if (begins(bytes, length, "\xef\xbb\xbf")) {
        t.at += 3;
    }
    const word first = next_word(&t);
    if (!begins(first.from, first.length, "solid")) {
        return TS_MESH_NOT_STL;
    }
    return read_text(&t, facets, arena);
}

/* Corner after corner. Where the machine's own order is the file's, all are fetched at once. */
static void decode(ts_facet *facet, const unsigned char *bytes)
{
    float values[9];
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    memcpy(values, bytes, sizeof values);
#else
    for (int i = 0; i < 9; i++) {
        const uint32_t bits = little_endian(bytes + 4 * i);
        memcpy(&values[i], &bits, sizeof bits);
    }
#endif
    for (int i = 0; i < 9; i++) {
        facet->corner[i / 3][i % 3] = (double)values[i];
    }
}

_Static_assert(FLT_MANT_DIG == 24 && FLT_MAX_EXP == 128 && sizeof(float) == 4,
               "a binary mesh holds IEC 60559 single precision");

const ts_facet *ts_facets_block(const ts_facets *facets, size_t first, ts_facet *buffer,
                                size_t *count)
{
    const size_t left = facets->count - first;
    *count = left < TS_FACET_BLOCK ? left : TS_FACET_BLOCK;
    if (facets->binary == NULL) {
        return facets->text + first;
    }
    const unsigned char *from = facets->binary + HEADER_BYTES + first * FACET_BYTES + CORNERS_AT;
    for (size_t i = 0; i < *count; i++, from += FACET_BYTES) {
        __builtin_prefetch(from + AHEAD);
        decode(&buffer[i], from);
    }
    return buffer;
}
