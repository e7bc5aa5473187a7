#include "geometry/measuring.h"

/* A bezel: a band of metal along the outline of the stone.
 *
 *         wall            Between the girdle and its parallel at `wall`, so high as `height`:
 *        |<-->|           (area within the parallel - area of the outline) x height.
 *        +----+ ---       Round a circle of diameter D that is the ring-shaped cylinder
 *        |    |  height   pi ((D/2 + wall)^2 - (D/2)^2) height.
 *   girdle    | ---       What presses over the stone is part of the height. */

void ts_bezel_measure(ts_measuring *m, int index)
{
    const ts_bezel *bezel = &m->design->bezel[index];
    ts_bezel_shape *shape = &m->out->bezels[index];
    ts_outline outside;

    if (bezel->holds_ref.kind != TS_PART_STONE) {
        return;
    }
    const ts_outline *girdle = &m->outlines[bezel->holds_ref.index];
    shape->copies = m->design->stone[bezel->holds_ref.index].copies;
    if (girdle->count == 0) {
        return;
    }
    if (bezel->wall.e6 == 0) {
        ts_measuring_refuse(m, &bezel->part, TS_FIELD_BEZEL_WALL,
                            ts_arena_format(m->arena,
                                            "%s: a wall of 0 mm is no metal and holds no stone; "
                                            "a thickness above that is expected",
                                            ts_measuring_title(m, &bezel->part)));
        return;
    }
    if (!ts_outline_parallel(&outside, girdle, ts_dec_double(bezel->wall))) {
        ts_measuring_refuse(m, &bezel->part, TS_FIELD_BEZEL_WALL,
                            ts_arena_format(m->arena,
                                            "%s: no band of %s mm can be drawn round this stone",
                                            ts_measuring_title(m, &bezel->part),
                                            ts_measuring_mm(m, ts_dec_double(bezel->wall))));
        return;
    }
    shape->volume_mm3 = (ts_outline_area_mm2(&outside) - ts_outline_area_mm2(girdle)) *
                        ts_dec_double(bezel->height);
}
