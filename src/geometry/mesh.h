/* The volume of a casting model: an STL file, text or binary, already in memory.
 *
 * What comes out is either a volume that can be trusted or one reason why not. A mesh is
 * measured only where every edge that one facet runs along in one direction is run along
 * by another in the other: then, and only then, the signed sum is the volume, wherever
 * the origin lies. */
#ifndef TS_GEOMETRY_MESH_H
#define TS_GEOMETRY_MESH_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/base/arena.h>

#define TS_MESH_BYTES_MOST ((size_t)512 << 20)
#define TS_MESH_FACETS_MOST 5000000L
#define TS_MESH_HOLLOWS_MOST 1000L
#define TS_MESH_WORD_BYTES 40
#define TS_MESH_SENTENCE_BYTES 512 /* bytes that hold any sentence of a mesh */

/* Why a mesh is refused. The comment names the members of the result that say more;
 * facets and lines count from 1. */
typedef enum ts_mesh_reason {
    TS_MESH_NONE,           /* it is not: volume_mm3 holds */
    TS_MESH_TOO_LARGE,      /* more than 512 MiB */
    TS_MESH_EMPTY,          /* no bytes */
    TS_MESH_NOT_STL,        /* text that does not begin with `solid` */
    TS_MESH_HEADER_ONLY,    /* ends inside the 84 bytes before the first facet: held bytes */
    TS_MESH_NO_FACETS,      /* well formed, but nothing in it */
    TS_MESH_FACETS_MISSING, /* binary: promised, held (whole ones) */
    TS_MESH_FACETS_EXTRA,   /* binary: promised, held */
    TS_MESH_TOO_MANY,       /* more than 5 million facets */
    TS_MESH_CUT_SHORT,      /* text that ends inside a facet: facet, line; facets are whole */
    TS_MESH_WORD,           /* text: line, word, expected */
    TS_MESH_COMMA,          /* text: a number with a comma: line, word */
    TS_MESH_CORNERS,        /* text: a facet without exactly three corners: line, corners */
    TS_MESH_NOT_FINITE,     /* a coordinate that is no finite number: facet; text: line, word */
    TS_MESH_OPEN,           /* edges of one facet alone: open_edges, at_mm, to_mm */
    TS_MESH_CROWDED,        /* edges of three facets, or five: the same */
    TS_MESH_DISAGREE,       /* neighbours that turn opposite sides outwards: the same */
    TS_MESH_SHELL_TURNED,   /* one of several bodies is inside out: shells, at_mm */
    TS_MESH_HOLLOWS,        /* more than 1,000 shells inside others */
    TS_MESH_FLAT,           /* closed, but encloses nothing */
    TS_MESH_REASON_COUNT
} ts_mesh_reason;

/* Members that do not belong to the reason are zero, NULL or "". */
typedef struct ts_mesh_result {
    ts_mesh_reason reason;
    double volume_mm3;            /* positive; 0 where refused */
    double low_mm[3], high_mm[3]; /* the box round all facets that have an area */
    long facets;                  /* whole ones in the file */
    long flat_facets;             /* of these: without area, so without effect */
    bool is_text;
    /* Notes: no ground to refuse, but to be said (ts_mesh_note). */
    bool inverted;       /* wholly inside out; volume_mm3 is of the mesh turned */
    bool lacks_endsolid; /* text whose last line is missing */
    size_t stray_bytes;  /* behind the last facet or `endsolid`, not read */
    long shells;         /* surfaces that share no edge */
    long hollows;        /* of these: facing inwards inside another, so taken off */
    double hollow_mm3;   /* what they take off, positive */
    /* What a refusal has to show. */
    unsigned long promised, held;
    long open_edges;           /* edges not matched, all three kinds together */
    long crowded_edges;        /* of these: an odd number of facets, three or more */
    long turned_edges;         /* of these: an even number, but not as many each way */
    double at_mm[3], to_mm[3]; /* the ends of one edge of the reason's kind */
    long facet;
    long line;
    long corners;
    const char *expected;          /* static text */
    char word[TS_MESH_WORD_BYTES]; /* as it stands in the file, other than ASCII as \xNN */
} ts_mesh_result;

/* Reads, judges and measures `length` bytes of STL.
 *   mm_per_unit  what one step in the file is: 1, or 25.4 for inches; finite, > 0
 *   scratch      working memory, given back before the return; about 60 bytes a facet,
 *                72 more for text. None is taken before the file's own count was judged.
 *   returns      out->reason
 *   source       STL as its makers described it in 1989 (80 bytes of header, a count, 50
 *                bytes a facet; or the words solid, facet, outer loop, vertex); volume by
 *                the divergence theorem, sum of a.(b x c)/6, about the first corner;
 *                check values in tests/reference/meshes.csv
 * Coordinates of a binary file are its float32, of a text file doubles; corners are one
 * where all three coordinates are equal as numbers (-0 is 0). No tolerance welds them. */
ts_mesh_reason ts_mesh_measure(ts_mesh_result *out, ts_arena *scratch, const char *bytes,
                               size_t length, double mm_per_unit);

/* The sentence of a refusal, complete, without a full stop; "" where there is none.
 * `size` bytes at most, NUL-terminated (TS_MESH_SENTENCE_BYTES hold any). */
void ts_mesh_sentence(const ts_mesh_result *result, char *buffer, size_t size);
/* The n-th note, from 0; false behind the last. The note on `inverted`, where there is
 * one, comes first. */
bool ts_mesh_note(const ts_mesh_result *result, int n, char *buffer, size_t size);

#endif
