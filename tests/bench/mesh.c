/* The volume of a binary STL file, twice: by the program's mesh reader, which tells whether it
 * may be trusted, and by the plain loop that believes every facet.
 *
 *     mesh make FILE       writes a torus of a million facets
 *     mesh program FILE    prints its volume
 *     mesh plain FILE      likewise */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <tallystone/base/arena.h>

#include "geometry/mesh.h"

#define PI 3.14159265358979323846
#define ROUND 1000 /* facets are twice ROUND x ACROSS */
#define ACROSS 500
#define FACETS_A_BLOCK 20000

static int refuse(const char *why)
{
    fprintf(stderr, "mesh: %s\n", why);
    return 1;
}

static void corner(float *out, int i, int k)
{
    double a_rad = 2.0 * PI * (i % ROUND) / ROUND, b_rad = 2.0 * PI * (k % ACROSS) / ACROSS;
    double radius_mm = 9.0 + cos(b_rad);

    out[0] = (float)(radius_mm * cos(a_rad));
    out[1] = (float)(radius_mm * sin(a_rad));
    out[2] = (float)sin(b_rad);
}

/* admesh goes by the normals in the file. */
static void put_normal(unsigned char *record, const float *c)
{
    double u[3], v[3], n[3];
    float normal[3];

    for (int i = 0; i < 3; i++) {
        u[i] = (double)c[3 + i] - (double)c[i];
        v[i] = (double)c[6 + i] - (double)c[i];
    }
    for (int i = 0; i < 3; i++) {
        n[i] = u[(i + 1) % 3] * v[(i + 2) % 3] - u[(i + 2) % 3] * v[(i + 1) % 3];
    }
    double long_mm2 = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
    for (int i = 0; i < 3; i++) {
        normal[i] = (float)(n[i] / long_mm2);
    }
    memcpy(record, normal, sizeof normal);
}

static void put_facet(FILE *to, const int at[3][2])
{
    unsigned char record[50] = {0};
    float corners[9];

    for (int i = 0; i < 3; i++) {
        corner(corners + 3 * i, at[i][0], at[i][1]);
    }
    put_normal(record, corners);
    memcpy(record + 12, corners, sizeof corners);
    fwrite(record, sizeof record, 1, to);
}

static int make(const char *path)
{
    FILE *to = fopen(path, "wb");
    char header[80] = "a torus";
    uint32_t facets = 2 * ROUND * ACROSS;

    if (to == NULL) {
        return refuse("cannot write");
    }
    fwrite(header, sizeof header, 1, to);
    fwrite(&facets, sizeof facets, 1, to);
    for (int i = 0; i < ROUND; i++) {
        for (int k = 0; k < ACROSS; k++) {
            put_facet(to, (const int[3][2]){{i, k}, {i + 1, k}, {i + 1, k + 1}});
            put_facet(to, (const int[3][2]){{i, k}, {i + 1, k + 1}, {i, k + 1}});
        }
    }
    return fclose(to) == 0 ? 0 : refuse("cannot write");
}

static double sum_of(FILE *from)
{
    static unsigned char block[50 * FACETS_A_BLOCK];
    double sum_mm3 = 0.0;
    size_t got = fread(block, 84, 1, from);

    while (got > 0 && (got = fread(block, 50, FACETS_A_BLOCK, from)) > 0) {
        for (size_t i = 0; i < got; i++) {
            float c[9];
            memcpy(c, block + 50 * i + 12, sizeof c);
            double ax = (double)c[0], ay = (double)c[1], az = (double)c[2];
            double bx = (double)c[3], by = (double)c[4], bz = (double)c[5];
            double cx = (double)c[6], cy = (double)c[7], cz = (double)c[8];
            sum_mm3 +=
                ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
        }
    }
    return sum_mm3 / 6.0;
}

static int plain(const char *path)
{
    FILE *from = fopen(path, "rb");

    if (from == NULL) {
        return refuse("cannot read");
    }
    printf("%.6f\n", sum_of(from));
    fclose(from);
    return 0;
}

/* The whole file into the arena; NULL where it cannot be read. */
static char *whole(ts_arena *arena, const char *path, size_t *length)
{
    FILE *from = fopen(path, "rb");
    char *bytes = NULL;
    long end = -1;

    if (from == NULL) {
        return NULL;
    }
    if (fseek(from, 0, SEEK_END) == 0) {
        end = ftell(from);
    }
    if (end > 0) {
        rewind(from);
        *length = (size_t)end;
        bytes = ts_arena_alloc(arena, *length, 1);
        bytes = fread(bytes, *length, 1, from) == 1 ? bytes : NULL;
    }
    fclose(from);
    return bytes;
}

static int program(const char *path)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_mesh_result result = {.reason = TS_MESH_EMPTY};
    size_t length = 0;
    char *bytes = whole(arena, path, &length);

    if (bytes != NULL && ts_mesh_measure(&result, arena, bytes, length, 1.0) == TS_MESH_NONE) {
        printf("%.6f\n", result.volume_mm3);
    }
    ts_arena_free(arena);
    return result.reason == TS_MESH_NONE ? 0 : refuse("the program refuses the mesh");
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "make") == 0) {
        return make(argv[2]);
    }
    if (argc == 3 && strcmp(argv[1], "program") == 0) {
        return program(argv[2]);
    }
    if (argc == 3 && strcmp(argv[1], "plain") == 0) {
        return plain(argv[2]);
    }
    return refuse("make, program or plain, and a file");
}
