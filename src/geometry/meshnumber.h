/* Coordinates as text meshes write them. */
#ifndef TS_GEOMETRY_MESHNUMBER_H
#define TS_GEOMETRY_MESHNUMBER_H

#include <stddef.h>

typedef enum ts_coordinate_fault {
    TS_COORDINATE_OK,
    TS_COORDINATE_BAD,        /* no number at all */
    TS_COORDINATE_COMMA,      /* a comma stands in it */
    TS_COORDINATE_NOT_FINITE, /* nan, inf, or more than float32 can hold */
} ts_coordinate_fault;

/* Reads the word text[0..length): sign, digits, point, exponent. Two ways of writing one
 * decimal (of up to 19 significant digits; later ones are dropped) give the same double,
 * so corners meet. It is the nearest one for up to 15 digits with at most 22 decimals and
 * a size below 1e37, within 4 units in the last place else. Independent of the locale. */
ts_coordinate_fault ts_coordinate_read(double *out, const unsigned char *text, size_t length);

#endif
