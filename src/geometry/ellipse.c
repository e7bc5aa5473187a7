#include "geometry/ellipse.h"

#include <math.h>

/* The perimeter of an oval's parallel needs the arc length of an ellipse, whole and in parts.
 *
 * A quadrature would need ever more nodes as the oval grows slimmer; Carlson's duplication
 * takes a handful of steps at any slimness. The series that end it, and the bounds that say
 * when, are those of the paper named in the header. */

#define PI 3.14159265358979323846
#define STEPS_MOST 40
#define SHARP 1e-16 /* relative error asked of the series */
#define NARROWINGS_MOST 64

static double largest(double a, double b, double c)
{
    return fmax(fabs(a), fmax(fabs(b), fabs(c)));
}

static double carlson_rf(double x, double y, double z)
{
    double mean = (x + y + z) / 3.0;
    double spread = pow(3.0 * SHARP, -1.0 / 6.0) * largest(mean - x, mean - y, mean - z);
    double a = (mean - x), b = (mean - y);

    for (int step = 0; step < STEPS_MOST && spread > mean; step++) {
        double lambda = sqrt(x) * sqrt(y) + sqrt(x) * sqrt(z) + sqrt(y) * sqrt(z);
        x = (x + lambda) / 4.0;
        y = (y + lambda) / 4.0;
        z = (z + lambda) / 4.0;
        mean = (mean + lambda) / 4.0;
        spread /= 4.0;
        a /= 4.0;
        b /= 4.0;
    }
    a /= mean;
    b /= mean;
    double c = -a - b;
    double e2 = a * b - c * c;
    double e3 = a * b * c;
    return (1.0 - e2 / 10.0 + e3 / 14.0 + e2 * e2 / 24.0 - 3.0 * e2 * e3 / 44.0) / sqrt(mean);
}

static double carlson_rd(double x, double y, double z)
{
    double mean = (x + y + 3.0 * z) / 5.0;
    double spread = pow(SHARP / 4.0, -1.0 / 6.0) * largest(mean - x, mean - y, mean - z);
    double a = mean - x, b = mean - y;
    double sum = 0.0, scale = 1.0;

    for (int step = 0; step < STEPS_MOST && spread > mean; step++) {
        double lambda = sqrt(x) * sqrt(y) + sqrt(x) * sqrt(z) + sqrt(y) * sqrt(z);
        sum += scale / (sqrt(z) * (z + lambda));
        scale /= 4.0;
        x = (x + lambda) / 4.0;
        y = (y + lambda) / 4.0;
        z = (z + lambda) / 4.0;
        mean = (mean + lambda) / 4.0;
        spread /= 4.0;
        a /= 4.0;
        b /= 4.0;
    }
    a /= mean;
    b /= mean;
    double c = -(a + b) / 3.0;
    double ab = a * b, cc = c * c;
    double e2 = ab - 6.0 * cc;
    double e3 = (3.0 * ab - 8.0 * cc) * c;
    double e4 = 3.0 * (ab - cc) * cc;
    double e5 = ab * cc * c;
    double series = 1.0 - 3.0 * e2 / 14.0 + e3 / 6.0 + 9.0 * e2 * e2 / 88.0 - 3.0 * e4 / 22.0 -
                    9.0 * e2 * e3 / 52.0 + 3.0 * e5 / 26.0;
    return scale * series / (mean * sqrt(mean)) + 3.0 * sum;
}

/* From t = 0 to t within a quarter turn: half_length E(t | 1 - (w/l)^2). */
static double quarter_arc(double half_width_mm, double half_length_mm, double t_rad)
{
    double ratio = half_width_mm / half_length_mm;
    double sine = sin(t_rad), cosine = cos(t_rad);
    double root = cosine * cosine + ratio * ratio * sine * sine;
    double modulus = (1.0 - ratio) * (1.0 + ratio);

    return half_length_mm *
           (sine * carlson_rf(cosine * cosine, root, 1.0) -
            modulus / 3.0 * sine * sine * sine * carlson_rd(cosine * cosine, root, 1.0));
}

double ts_ellipse_arc_mm(double half_width_mm, double half_length_mm, double t_rad)
{
    double half_turns = round(t_rad / PI);
    double rest_rad = t_rad - half_turns * PI;
    double arc_mm = quarter_arc(half_width_mm, half_length_mm, rest_rad);

    if (half_turns != 0.0) {
        arc_mm += 2.0 * half_turns * quarter_arc(half_width_mm, half_length_mm, PI / 2.0);
    }
    return arc_mm;
}

double ts_ellipse_normal_rad(double half_width_mm, double half_length_mm, double t_rad)
{
    double sine = sin(t_rad), cosine = cos(t_rad);

    return t_rad + atan2((half_width_mm - half_length_mm) * sine * cosine,
                         half_length_mm * cosine * cosine + half_width_mm * sine * sine);
}

/* (E - p) . E' grows through zero at the foot. At the quarter's ends it is -l y and w x; on an
 * axis one of them is zero, and then its sign beside the end decides, so the ends themselves are
 * never asked. Newton inside the bracket. */
double ts_ellipse_foot_rad(double half_width_mm, double half_length_mm, double x_mm, double y_mm)
{
    double w_mm = half_width_mm, l_mm = half_length_mm;
    double longer_mm2 = (l_mm - w_mm) * (l_mm + w_mm);
    double low_rad = 0.0, high_rad = PI / 2.0;
    double t_rad = PI / 4.0;

    for (int i = 0; i < NARROWINGS_MOST && high_rad - low_rad > 1e-15; i++) {
        double sine = sin(t_rad), cosine = cos(t_rad);
        double value = longer_mm2 * sine * cosine + w_mm * x_mm * sine - l_mm * y_mm * cosine;
        double slope = longer_mm2 * (cosine - sine) * (cosine + sine) + w_mm * x_mm * cosine +
                       l_mm * y_mm * sine;
        double next_rad = t_rad - value / slope;
        if (value < 0.0) {
            low_rad = t_rad;
        } else {
            high_rad = t_rad;
        }
        if (i % 4 == 3 || !(next_rad > low_rad && next_rad < high_rad)) {
            next_rad = 0.5 * (low_rad + high_rad);
        } else if (fabs(next_rad - t_rad) < 1e-12) {
            return next_rad;
        }
        t_rad = next_rad;
    }
    return t_rad;
}
