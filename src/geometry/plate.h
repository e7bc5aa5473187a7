/* A halo: a closed row of melee and the metal that carries it.
 *
 *   facing up, cut across                      facing out
 *
 *        stone   gap    d   rim                        back  face
 *       ------)|<--->|<--->|<->|                         |    |
 *             |+-----\     /---+ ---                 --- +----+
 *        girdle|      \___/    |  thickness          rim |    |
 *             |+---------------+ ---                 --- +   <|  stones' girdles: a crown
 *             ^ or `inner rim` inside the stones      d  |   <|  height inside the face
 *                                                    --- +   <|
 *                                                    rim |    |
 *                                                    --- +----+
 *                                                        thickness
 * Metal facing up: (area inside the outer edge - area inside the inner edge) x thickness.
 * Facing out: (area inside the face - area inside the back) x (diameter + 2 rim). Both less
 * the seats, and less what they share with the claws and the bezel of the held stone. `drop`
 * leads from that stone's girdle down to the top of metal that faces up, and to the middle of
 * a wall that faces out. */
#ifndef TS_GEOMETRY_PLATE_H
#define TS_GEOMETRY_PLATE_H

#include "geometry/outline.h"

/* Volume of a plate between two parallels of an outline; false with *bad_mm, the
 * offset that failed, where one of them cannot be drawn. */
bool ts_plate_mm3(double *volume_mm3, double *bad_mm, const ts_outline *outline, double inner_mm,
                  double outer_mm, double thickness_mm);

#endif
