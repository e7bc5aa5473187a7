#include "geometry/measuring.h"

#include <math.h>

/* The shank of a design: its stations, the bore it is bent to, its volume.
 *
 * A sheet gives top and base whole and, between them, whatever changes where: a station that
 * names no width or thickness lies on the straight line between its neighbours that do; one
 * that names no profile is left to the blend of those that do (shank.h). */

#define PI 3.14159265358979323846

static double radians(ts_dec degrees)
{
    return ts_dec_double(degrees) * PI / 180.0;
}

/* Fills in what stations lack, along the angle. `has` is by station. */
static void fill_between(ts_station *stations, const bool *has, int count, bool is_width)
{
    for (int i = 1, last = 0; i < count; i++) {
        if (!has[i]) {
            continue;
        }
        for (int k = last + 1; k < i; k++) {
            double share = (stations[k].angle_rad - stations[last].angle_rad) /
                           (stations[i].angle_rad - stations[last].angle_rad);
            if (is_width) {
                stations[k].width_mm = stations[last].width_mm +
                                       share * (stations[i].width_mm - stations[last].width_mm);
            } else {
                stations[k].thickness_mm =
                    stations[last].thickness_mm +
                    share * (stations[i].thickness_mm - stations[last].thickness_mm);
            }
        }
        last = i;
    }
}

static ts_station end_station(double angle_rad, ts_dec width, ts_dec thickness, int32_t profile)
{
    return (ts_station){angle_rad, ts_dec_double(width), ts_dec_double(thickness),
                        (ts_profile)profile};
}

static int gather_stations(ts_station *stations, const ts_shank *shank)
{
    bool has_width[TS_MOST_STATIONS + 2] = {false};
    bool has_thickness[TS_MOST_STATIONS + 2] = {false};
    int count = 0;

    stations[count] = end_station(0.0, shank->width_top, shank->thickness_top, shank->profile_top);
    has_width[count] = has_thickness[count] = true;
    count++;
    for (int i = 0; i < shank->station_count; i++) {
        const ts_station_row *row = &shank->stations[i];
        double angle_rad = radians(row->angle);
        if (!(angle_rad > stations[count - 1].angle_rad && angle_rad < PI)) {
            continue;
        }
        stations[count] = end_station(angle_rad, row->width, row->thickness, row->profile);
        has_width[count] = row->has_width;
        has_thickness[count] = row->has_thickness;
        count++;
    }
    stations[count] =
        end_station(PI, shank->width_base, shank->thickness_base, shank->profile_base);
    has_width[count] = has_thickness[count] = true;
    count++;
    fill_between(stations, has_width, count, true);
    fill_between(stations, has_thickness, count, false);
    return count;
}

/* Highest metal of the shank over the finger's top line: at the top, or at the edges of the
 * open arc, where it also lies lower by the finger's curve. */
static double top_mm(const ts_band *band)
{
    double open_rad = band->open_rad / 2.0;
    double outside_mm = band->bore_radius_mm + ts_band_height_mm(band, open_rad, 0.0);

    return fmax(0.0, outside_mm * cos(open_rad) - band->bore_radius_mm);
}

void ts_band_measure(ts_measuring *m)
{
    const ts_shank *shank = m->design->shank;

    if (m->design->shank_count == 0 || !(m->out->bore_mm > 0.0)) {
        return;
    }
    ts_station *stations = TS_ARRAY(m->arena, ts_station, (size_t)shank->station_count + 2);
    m->band = (ts_band){.bore_radius_mm = m->out->bore_mm / 2.0,
                        .wall_mm = ts_dec_double(shank->wall),
                        .open_rad = radians(shank->open),
                        .stations = stations,
                        .count = gather_stations(stations, shank)};
    m->has_band = true;
    m->out->shank_mm3 = ts_band_volume_mm3(&m->band);
}

void ts_band_top_measure(ts_measuring *m)
{
    if (m->has_band) {
        m->shank_top_mm = top_mm(&m->band);
    }
}
