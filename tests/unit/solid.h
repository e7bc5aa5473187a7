/* Meshes for tests: made here, written as files, measured. A failure fails the running
 * cmocka test. */
#ifndef TS_TESTS_SOLID_H
#define TS_TESTS_SOLID_H

#include <stddef.h>
#include <stdint.h>

#include "geometry/mesh.h"

#define BINARY_BYTES(facets) ((size_t)84 + 50 * (facets))

/* Facets as they are added; {0} is an empty one, solid_drop frees it and empties it. */
typedef struct solid {
    double (*facets)[3][3];
    size_t count;
    size_t room;
} solid;

/* Bytes of a file, on the heap. */
typedef struct file {
    char *bytes;
    size_t length;
} file;

void solid_add(solid *s, const double *a, const double *b, const double *c);
void solid_drop(solid *s);
/* Turns the facets from..to (not included) the other way round. */
void solid_turn_inside_out(solid *s, size_t from, size_t to);
/* A torus about the z axis, outwards. */
void solid_add_torus(solid *s, double ring_mm, double tube_mm, size_t around, size_t across);
/* Twelve facets, outwards, the lower corner at `at`. */
void solid_add_box(solid *s, const double *at, double x, double y, double z);
void solid_move(solid *s, double x_mm, double y_mm, double z_mm);
/* About the z axis, then about the x axis. */
void solid_turn(solid *s, double one_rad, double other_rad);

file solid_binary(const solid *s);
file solid_text(const solid *s);

ts_mesh_result mesh_measured(const char *bytes, size_t length, double mm_per_unit);
/* Frees the file's bytes. */
ts_mesh_result mesh_measured_file(file f, double mm_per_unit);
ts_mesh_result mesh_measured_text(const char *text);

void mesh_expect_close(double got, double want, double relative);
void *mesh_grown(void *memory, size_t bytes);
/* Four bytes, lowest first: a binary file's count, or a float32. */
void mesh_put_count(char *at, uint32_t bits);

#endif
