/* The volume of a binary STL file, twice: by the program's mesh reader, which tells whether it
 * may be trusted, and by the plain loop that believes every facet.
 *
 *     mesh make FILE FACETS    writes a torus of so many facets (a multiple of 2,000)
 *     mesh volume FILE         prints its volume as the program reads and adds it up
 *     mesh program FILE        the same, and judged closed as the program judges it
 *     mesh edges FILE          microseconds of processor time for the judging alone
 *     mesh plain FILE          the volume by the plain loop */
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/file.h>

#include "geometry/mesh.h"
#include "geometry/meshedges.h"
#include "geometry/meshread.h"
#include "geometry/meshsum.h"

#define PI 3.14159265358979323846
#define ROUND 1000 /* facets are twice ROUND x across */
#define FACETS_A_BLOCK 20000

static int refuse(const char *why)
{
    fprintf(stderr, "mesh: %s\n", why);
    return 1;
}

static void corner(float *out, int i, int k, int across)
{
    double a_rad = 2.0 * PI * (i % ROUND) / ROUND, b_rad = 2.0 * PI * (k % across) / across;
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

static void put_facet(FILE *to, int across, const int at[3][2])
{
    unsigned char record[50] = {0};
    float corners[9];

    for (int i = 0; i < 3; i++) {
        corner(corners + 3 * i, at[i][0], at[i][1], across);
    }
    put_normal(record, corners);
    memcpy(record + 12, corners, sizeof corners);
    fwrite(record, sizeof record, 1, to);
}

static int make(const char *path, int across)
{
    FILE *to = fopen(path, "wb");
    char header[80] = "a torus";
    uint32_t facets = 2 * ROUND * (uint32_t)across;

    if (to == NULL || across < 3) {
        return refuse("cannot write");
    }
    fwrite(header, sizeof header, 1, to);
    fwrite(&facets, sizeof facets, 1, to);
    for (int i = 0; i < ROUND; i++) {
        for (int k = 0; k < across; k++) {
            put_facet(to, across, (const int[3][2]){{i, k}, {i + 1, k}, {i + 1, k + 1}});
            put_facet(to, across, (const int[3][2]){{i, k}, {i + 1, k + 1}, {i, k + 1}});
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

/* The file as the desk reads it. */
static bool read_facets(ts_facets *facets, ts_arena *arena, const char *path)
{
    ts_diag *diag = ts_diag_new(arena);
    ts_mesh_result result = {.reason = TS_MESH_NONE};
    char *bytes = NULL;
    size_t length = 0;

    return ts_file_read(&bytes, &length, arena, path, TS_MESH_BYTES_MOST, diag) == TS_OK &&
           ts_facets_read(facets, &result, arena, (const unsigned char *)bytes, length) ==
               TS_MESH_NONE;
}

static int volume(const char *path)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_facets facets;
    ts_mesh_sum sum;
    bool done =
        read_facets(&facets, arena, path) && ts_mesh_sum_of(&sum, arena, &facets) == TS_MESH_NONE;

    if (done) {
        printf("%.6f\n", sum.volume);
    }
    ts_arena_free(arena);
    return done ? 0 : refuse("the program refuses the mesh");
}

static int edges(const char *path)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_mesh_result result = {.reason = TS_MESH_NONE};
    ts_facets facets;
    ts_mesh_sum sum;
    ts_edges matched;
    bool done =
        read_facets(&facets, arena, path) && ts_mesh_sum_of(&sum, arena, &facets) == TS_MESH_NONE;

    if (done) {
        clock_t begun = clock();
        done = ts_edges_match(&matched, &result, arena, &facets, sum.is_flat) == TS_MESH_NONE &&
               ts_shells_judge(&matched, &result, arena, sum.volume) == TS_MESH_NONE;
        printf("%.0f\n", 1e6 * (double)(clock() - begun) / CLOCKS_PER_SEC);
    }
    ts_arena_free(arena);
    return done ? 0 : refuse("the program refuses the mesh");
}

static int program(const char *path)
{
    ts_arena *arena = ts_arena_new(NULL, NULL);
    ts_diag *diag = ts_diag_new(arena);
    ts_mesh_result result = {.reason = TS_MESH_EMPTY};
    char *bytes = NULL;
    size_t length = 0;

    if (ts_file_read(&bytes, &length, arena, path, TS_MESH_BYTES_MOST, diag) == TS_OK &&
        ts_mesh_measure(&result, arena, bytes, length, 1.0) == TS_MESH_NONE) {
        printf("%.6f\n", result.volume_mm3);
    }
    ts_arena_free(arena);
    return result.reason == TS_MESH_NONE ? 0 : refuse("the program refuses the mesh");
}

int main(int argc, char **argv)
{
    static const struct {
        const char *name;
        int (*run)(const char *path);
    } sides[] = {{"volume", volume}, {"edges", edges}, {"program", program}, {"plain", plain}};

    if (argc == 4 && strcmp(argv[1], "make") == 0) {
        return make(argv[2], (int)(strtol(argv[3], NULL, 10) / (2L * ROUND)));
    }
    for (size_t i = 0; argc == 3 && i < sizeof sides / sizeof sides[0]; i++) {
        if (strcmp(argv[1], sides[i].name) == 0) {
            return sides[i].run(argv[2]);
        }
    }
    return refuse("make, volume, edges, program or plain, and a file");
}
