#include "solid.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Meshes come from formulas, in doubles, and become files by a writer of their own: the
 * reader under test has no hand in what it is given. The binary writer rounds to float32;
 * the text writer keeps all digits of a double. */

#define PI 3.14159265358979323846

void *mesh_grown(void *memory, size_t bytes)
{
    void *more = realloc(memory, bytes);
    if (more == NULL) {
        fail_msg("no memory for a test mesh");
    }
    return more;
}

void solid_add(solid *s, const double *a, const double *b, const double *c)
{
    if (s->count == s->room) {
        s->room = s->room == 0 ? 64 : s->room * 2;
        s->facets = mesh_grown(s->facets, s->room * sizeof *s->facets);
    }
    memcpy(s->facets[s->count][0], a, sizeof(double[3]));
    memcpy(s->facets[s->count][1], b, sizeof(double[3]));
    memcpy(s->facets[s->count][2], c, sizeof(double[3]));
    s->count++;
}

void solid_drop(solid *s)
{
    free(s->facets);
    *s = (solid){0};
}

void solid_turn_inside_out(solid *s, size_t from, size_t to)
{
    for (size_t i = from; i < to; i++) {
        double corner[3];
        memcpy(corner, s->facets[i][1], sizeof corner);
        memcpy(s->facets[i][1], s->facets[i][2], sizeof corner);
        memcpy(s->facets[i][2], corner, sizeof corner);
    }
}

static void torus_point(double *point, double ring_mm, double tube_mm, double around, double across)
{
    point[0] = (ring_mm + tube_mm * cos(across)) * cos(around);
    point[1] = (ring_mm + tube_mm * cos(across)) * sin(around);
    point[2] = tube_mm * sin(across);
}

void solid_add_torus(solid *s, double ring_mm, double tube_mm, size_t around, size_t across)
{
    for (size_t i = 0; i < around; i++) {
        const double a[2] = {2 * PI * (double)i / (double)around,
                             2 * PI * (double)((i + 1) % around) / (double)around};
        for (size_t j = 0; j < across; j++) {
            const double b[2] = {2 * PI * (double)j / (double)across,
                                 2 * PI * (double)((j + 1) % across) / (double)across};
            double corner[2][2][3];
            for (int k = 0; k < 4; k++) {
                torus_point(corner[k / 2][k % 2], ring_mm, tube_mm, a[k / 2], b[k % 2]);
            }
            solid_add(s, corner[0][0], corner[1][0], corner[1][1]);
            solid_add(s, corner[0][0], corner[1][1], corner[0][1]);
        }
    }
}

/* Twelve facets, outwards, the lower corner at `at`. */
void solid_add_box(solid *s, const double *at, double x, double y, double z)
{
    static const int faces[12][3] = {{0, 1, 3}, {0, 3, 2}, {4, 6, 7}, {4, 7, 5},
                                     {0, 4, 5}, {0, 5, 1}, {2, 3, 7}, {2, 7, 6},
                                     {0, 2, 6}, {0, 6, 4}, {1, 5, 7}, {1, 7, 3}};
    double corner[8][3];
    for (int i = 0; i < 8; i++) {
        corner[i][0] = at[0] + ((i & 4) != 0 ? x : 0.0);
        corner[i][1] = at[1] + ((i & 2) != 0 ? y : 0.0);
        corner[i][2] = at[2] + ((i & 1) != 0 ? z : 0.0);
    }
    for (int i = 0; i < 12; i++) {
        solid_add(s, corner[faces[i][0]], corner[faces[i][1]], corner[faces[i][2]]);
    }
}

void mesh_put_count(char *at, uint32_t bits)
{
    for (int i = 0; i < 4; i++) {
        at[i] = (char)(bits >> (8 * i) & 0xff);
    }
}

file solid_binary(const solid *s)
{
    file f = {NULL, BINARY_BYTES(s->count)};
    f.bytes = mesh_grown(NULL, f.length);
    memset(f.bytes, 0, f.length);
    mesh_put_count(f.bytes + 80, (uint32_t)s->count);
    for (size_t i = 0; i < s->count; i++) {
        for (size_t k = 0; k < 9; k++) {
            const float value = (float)s->facets[i][k / 3][k % 3];
            uint32_t bits = 0;
            memcpy(&bits, &value, sizeof bits);
            mesh_put_count(f.bytes + 84 + 50 * i + 12 + 4 * k, bits);
        }
    }
    return f;
}

/* Seventeen digits carry a double through unchanged but for its last bit. */
file solid_text(const solid *s)
{
    const size_t room = 64 + s->count * 400;
    file f = {mesh_grown(NULL, room), 0};
    f.length = (size_t)snprintf(f.bytes, room, "solid made here\n");
    for (size_t i = 0; i < s->count; i++) {
        f.length += (size_t)snprintf(f.bytes + f.length, room - f.length,
                                     "facet normal 0 0 0\n outer loop\n");
        for (int corner = 0; corner < 3; corner++) {
            const double *c = s->facets[i][corner];
            f.length += (size_t)snprintf(f.bytes + f.length, room - f.length,
                                         "  vertex %.17g %.17g %.17g\n", c[0], c[1], c[2]);
        }
        f.length += (size_t)snprintf(f.bytes + f.length, room - f.length, " endloop\nendfacet\n");
    }
    f.length += (size_t)snprintf(f.bytes + f.length, room - f.length, "endsolid made here\n");
    return f;
}

void solid_move(solid *s, double x_mm, double y_mm, double z_mm)
{
    for (size_t i = 0; i < 3 * s->count; i++) {
        s->facets[i / 3][i % 3][0] += x_mm;
        s->facets[i / 3][i % 3][1] += y_mm;
        s->facets[i / 3][i % 3][2] += z_mm;
    }
}

/* About two axes, one after the other. */
void solid_turn(solid *s, double one_rad, double other_rad)
{
    for (size_t i = 0; i < 3 * s->count; i++) {
        double *p = s->facets[i / 3][i % 3];
        const double x = p[0] * cos(one_rad) - p[1] * sin(one_rad);
        const double y = p[0] * sin(one_rad) + p[1] * cos(one_rad);
        const double z = p[2];
        p[0] = x;
        p[1] = y * cos(other_rad) - z * sin(other_rad);
        p[2] = y * sin(other_rad) + z * cos(other_rad);
    }
}

ts_mesh_result mesh_measured(const char *bytes, size_t length, double mm_per_unit)
{
    ts_mesh_result result;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    const ts_mesh_reason reason = ts_mesh_measure(&result, arena, bytes, length, mm_per_unit);
    assert_int_equal(reason, result.reason);
    ts_arena_free(arena);
    return result;
}

ts_mesh_result mesh_measured_file(file f, double mm_per_unit)
{
    const ts_mesh_result result = mesh_measured(f.bytes, f.length, mm_per_unit);
    free(f.bytes);
    return result;
}

ts_mesh_result mesh_measured_text(const char *text)
{
    return mesh_measured(text, strlen(text), 1.0);
}

void mesh_expect_close(double got, double want, double relative)
{
    if (!(fabs(got - want) <= relative * fabs(want))) {
        fail_msg("got %.17g, want %.17g within %g of it", got, want, relative);
    }
}
