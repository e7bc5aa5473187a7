#include <stdio.h>
#include <string.h>

#include <tallystone/base/decimal.h>

#include "geometry/mesh.h"

/* What a mesh's result says to the person who exported it: what is wrong, where, what
 * would be right. Places are in mm with three decimals, which is finer than any printer
 * of wax, and are written by the decimal printer, so no locale can turn the point into a
 * comma. A facet's number is its place in the file, from 1. */

#define PLACES 3
#define POINT_BYTES ((size_t)3 * (TS_DECIMAL_TEXT + 2))

static const char *number_text(char *buffer, double value, int places)
{
    ts_dec exact;
    return ts_dec_from_double(&exact, value) ? ts_dec_fixed(buffer, exact, places)
                                             : "over 1000000000000";
}

static const char *point_text(char *buffer, const double point_mm[3])
{
    char axis[3][TS_DECIMAL_TEXT];
    snprintf(buffer, POINT_BYTES, "(%s, %s, %s)", number_text(axis[0], point_mm[0], PLACES),
             number_text(axis[1], point_mm[1], PLACES), number_text(axis[2], point_mm[2], PLACES));
    return buffer;
}

static void say_counts(const ts_mesh_result *r, char *buffer, size_t size)
{
    if (r->reason == TS_MESH_FACETS_MISSING) {
        snprintf(buffer, size,
                 "the mesh file promises %lu facets and holds %lu, so it was cut short or damaged; "
                 "export or copy it again",
                 r->promised, r->held);
    } else {
        snprintf(buffer, size,
                 "the mesh file promises %lu facets and holds %lu, so some would be left out; "
                 "export it again",
                 r->promised, r->held);
    }
}

static void say_edges(const ts_mesh_result *r, const char *what, char *buffer, size_t size)
{
    char at[POINT_BYTES];
    char to[POINT_BYTES];
    snprintf(buffer, size,
             "%s %ld edge%s, one of them from %s to %s mm; mend the model there "
             "and export it again",
             what, r->open_edges, r->open_edges == 1 ? "" : "s", point_text(at, r->at_mm),
             point_text(to, r->to_mm));
}

static void say_shell(const ts_mesh_result *r, char *buffer, size_t size)
{
    char at[POINT_BYTES];
    snprintf(buffer, size,
             "of the mesh's %ld bodies the one at %s mm is inside out and is no hollow of another; "
             "turn its facets in the model and export it again",
             r->shells, point_text(at, r->at_mm));
}

static void say_not_finite(const ts_mesh_result *r, char *buffer, size_t size)
{
    if (r->is_text) {
        snprintf(buffer, size,
                 "line %ld of the mesh: facet %ld has the coordinate \"%s\", which is no finite "
                 "number; export the model again",
                 r->line, r->facet, r->word);
    } else {
        snprintf(buffer, size,
                 "facet %ld of the mesh has a coordinate that is no finite number; export the "
                 "model again",
                 r->facet);
    }
}

static void say_word(const ts_mesh_result *r, char *buffer, size_t size)
{
    const char *quote = strchr(r->expected, ' ') == NULL ? "\"" : "";
    snprintf(buffer, size, "line %ld of the mesh has \"%s\" where %s%s%s is expected", r->line,
             r->word, quote, r->expected, quote);
}

/* Reasons of a whole file, which no number makes clearer. */
static const char *const plain[TS_MESH_REASON_COUNT] = {
    [TS_MESH_NONE] = "",
    [TS_MESH_TOO_LARGE] = "the mesh file is larger than 512 MiB, the most that is read; export it "
                          "with fewer facets",
    [TS_MESH_EMPTY] = "the mesh file is empty; export the model again",
    [TS_MESH_NOT_STL] = "the mesh file is no STL: as text it would begin with \"solid\"; export "
                        "the model as STL",
    [TS_MESH_NO_FACETS] = "the mesh file holds no facets; export the model again with its solids "
                          "chosen",
    [TS_MESH_TOO_MANY] = "the mesh has more than 5000000 facets, the most that is read; export it "
                         "with fewer",
    [TS_MESH_HOLLOWS] = "the mesh has more than 1000 hollows, the most that is judged; export its "
                        "bodies as one solid",
    [TS_MESH_FLAT] = "the mesh encloses no volume: its facets have no thickness between them; "
                     "export a solid",
};

static void say_text(const ts_mesh_result *r, char *buffer, size_t size)
{
    if (r->reason == TS_MESH_CUT_SHORT) {
        snprintf(buffer, size,
                 "the mesh file ends on line %ld inside facet %ld, so it was cut short (%ld whole "
                 "facets are there); export or copy it again",
                 r->line, r->facet, r->facets);
    } else if (r->reason == TS_MESH_COMMA) {
        snprintf(buffer, size,
                 "line %ld of the mesh has a comma in \"%s\"; a mesh takes a decimal point and "
                 "blanks between numbers",
                 r->line, r->word);
    } else {
        snprintf(buffer, size,
                 "line %ld of the mesh: facet %ld has %ld corner%s, and a facet takes exactly 3; "
                 "export the model as triangles",
                 r->line, r->facet, r->corners, r->corners == 1 ? "" : "s");
    }
}

void ts_mesh_sentence(const ts_mesh_result *result, char *buffer, size_t size)
{
    switch (result->reason) {
    case TS_MESH_HEADER_ONLY:
        snprintf(buffer, size,
                 "the mesh file ends after %lu bytes, before its first facet (a binary STL begins "
                 "with 84 bytes of header); export or copy it again",
                 result->held);
        return;
    case TS_MESH_FACETS_MISSING:
    case TS_MESH_FACETS_EXTRA:
        say_counts(result, buffer, size);
        return;
    case TS_MESH_CUT_SHORT:
    case TS_MESH_COMMA:
    case TS_MESH_CORNERS:
        say_text(result, buffer, size);
        return;
    case TS_MESH_WORD:
        say_word(result, buffer, size);
        return;
    case TS_MESH_NOT_FINITE:
        say_not_finite(result, buffer, size);
        return;
    case TS_MESH_OPEN:
        say_edges(result, "the mesh is not closed: no second facet fits at", buffer, size);
        return;
    case TS_MESH_CROWDED:
        say_edges(result, "more facets meet than fit together (a fin, or a facet twice) at", buffer,
                  size);
        return;
    case TS_MESH_DISAGREE:
        say_edges(result, "the facets disagree about which side is outside at", buffer, size);
        return;
    case TS_MESH_SHELL_TURNED:
        say_shell(result, buffer, size);
        return;
    case TS_MESH_NONE:
    case TS_MESH_TOO_LARGE:
    case TS_MESH_EMPTY:
    case TS_MESH_NOT_STL:
    case TS_MESH_NO_FACETS:
    case TS_MESH_TOO_MANY:
    case TS_MESH_HOLLOWS:
    case TS_MESH_FLAT:
        snprintf(buffer, size, "%s", plain[result->reason]);
        return;
    case TS_MESH_REASON_COUNT:
        break;
    }
    snprintf(buffer, size, "%s", "");
}

bool ts_mesh_note(const ts_mesh_result *result, int n, char *buffer, size_t size)
{
    char volume[TS_DECIMAL_TEXT];
    if (result->inverted && n-- == 0) {
        snprintf(buffer, size, "the mesh was wholly inside out and has been turned");
        return true;
    }
    if (result->hollows > 0 && n-- == 0) {
        snprintf(buffer, size,
                 "%ld of the mesh's %ld shells face%s inwards and count%s as hollow, %s mm3 less",
                 result->hollows, result->shells, result->hollows == 1 ? "s" : "",
                 result->hollows == 1 ? "s" : "", number_text(volume, result->hollow_mm3, PLACES));
        return true;
    }
    if (result->lacks_endsolid && n-- == 0) {
        snprintf(buffer, size, "a last line \"endsolid\" is missing; all facets are whole");
        return true;
    }
    if (result->stray_bytes > 0 && n-- == 0) {
        snprintf(buffer, size, "%zu bytes behind the last facet were not read",
                 result->stray_bytes);
        return true;
    }
    return false;
}
