/* A halo round a pear, closed up evenly, twice: by the rows of the program, and by the plain way
 * of doing it, two bisections one inside the other.
 *
 *     rows ROUNDS      prints a line for each round: microseconds a halo, program and plain
 *
 * Before anything is timed both must agree on the count, and on the chord to 1e-6 mm. The plain
 * way knows nothing of the program: the parallel of a pear is four arcs, a place on it its run. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "geometry/outline.h"
#include "geometry/rows.h"

#define PI 3.14159265358979323846
#define LENGTH_MM 14.0
#define WIDTH_MM 9.0
#define OFFSET_MM 0.7
#define STONE_MM 0.8
#define SPACING_MM 0.05
#define PROGRAM_TIMES 2000
#define PLAIN_TIMES 20

/* ---- the plain way ---- */

typedef struct arc {
    double x_mm, y_mm, radius_mm, start_rad, sweep_rad;
} arc;

typedef struct curve {
    arc arcs[4];
    double whole_mm;
} curve;

/* From the tip down the left flank, round the back, up the right flank, about the tip. */
static curve parallel_of_pear(void)
{
    double rise_mm = LENGTH_MM - WIDTH_MM / 2.0, low_mm = WIDTH_MM / 2.0 - LENGTH_MM / 2.0;
    double flank_mm = (WIDTH_MM * WIDTH_MM / 4.0 + rise_mm * rise_mm) / WIDTH_MM;
    double middle_mm = flank_mm - WIDTH_MM / 2.0;
    double turn_rad = atan2(rise_mm, middle_mm); /* of a flank, from its foot to the tip */
    curve c = {.arcs = {
                   {0.0, LENGTH_MM / 2.0, OFFSET_MM, PI / 2.0, PI / 2.0 - turn_rad},
                   {middle_mm, low_mm, flank_mm + OFFSET_MM, PI - turn_rad, turn_rad},
                   {0.0, low_mm, WIDTH_MM / 2.0 + OFFSET_MM, PI, PI},
                   {-middle_mm, low_mm, flank_mm + OFFSET_MM, 0.0, turn_rad},
               }};

    for (int i = 0; i < 4; i++) {
        c.whole_mm += c.arcs[i].radius_mm * c.arcs[i].sweep_rad;
    }
    c.whole_mm += OFFSET_MM * (PI / 2.0 - turn_rad); /* back about the tip to the start */
    return c;
}

static void place(const curve *c, double run_mm, double *x_mm, double *y_mm)
{
    double rest_mm = fmod(run_mm, c->whole_mm);
    arc a = {0.0, LENGTH_MM / 2.0, OFFSET_MM, c->arcs[3].sweep_rad, 0.0};

    for (int i = 0; i < 4; i++) {
        double long_mm = c->arcs[i].radius_mm * c->arcs[i].sweep_rad;
        if (rest_mm < long_mm) {
            a = c->arcs[i];
            break;
        }
        rest_mm -= long_mm;
    }
    double angle_rad = a.start_rad + rest_mm / a.radius_mm;
    *x_mm = a.x_mm + a.radius_mm * cos(angle_rad);
    *y_mm = a.y_mm + a.radius_mm * sin(angle_rad);
}

/* The run of the place a chord further on: bisected between the chord and three of it. */
static double step(const curve *c, double run_mm, double chord_mm)
{
    double x_mm, y_mm, low_mm = run_mm, high_mm = run_mm + 3.0 * chord_mm;

    place(c, run_mm, &x_mm, &y_mm);
    for (int i = 0; i < 45; i++) {
        double middle_mm = 0.5 * (low_mm + high_mm), u_mm, v_mm;
        place(c, middle_mm, &u_mm, &v_mm);
        if (hypot(u_mm - x_mm, v_mm - y_mm) < chord_mm) {
            low_mm = middle_mm;
        } else {
            high_mm = middle_mm;
        }
    }
    return 0.5 * (low_mm + high_mm);
}

/* The chord of which `count` close the curve. */
static double close_up(const curve *c, int count)
{
    double low_mm = 0.5 * c->whole_mm / count, high_mm = c->whole_mm / count;

    for (int i = 0; i < 40; i++) {
        double chord_mm = 0.5 * (low_mm + high_mm), run_mm = 0.0;
        for (int k = 0; k < count; k++) {
            run_mm = step(c, run_mm, chord_mm);
        }
        if (run_mm < c->whole_mm) {
            low_mm = chord_mm;
        } else {
            high_mm = chord_mm;
        }
    }
    return 0.5 * (low_mm + high_mm);
}

static int plain_halo(double *chord_mm)
{
    curve c = parallel_of_pear();
    int count = (int)floor(c.whole_mm / (STONE_MM + SPACING_MM)) + 1;

    do {
        count--;
        *chord_mm = close_up(&c, count);
    } while (count > 3 && *chord_mm < STONE_MM + SPACING_MM);
    return count;
}

/* ---- the program's ---- */

static int program_halo(double *chord_mm)
{
    ts_closed_ask ask = {.offset_mm = OFFSET_MM,
                         .diameter_mm = STONE_MM,
                         .spacing_mm = SPACING_MM,
                         .multiple = 1,
                         .start = TS_POINT_STONE};
    ts_outline outline;
    ts_closed_row row;

    if (!ts_outline_of(&outline, TS_SHAPE_PEAR, LENGTH_MM, WIDTH_MM, 0.0) ||
        !ts_closed_row_of(&row, &outline, &ask)) {
        return 0;
    }
    *chord_mm = row.chord_mm;
    return row.count;
}

static double us_each(int (*halo)(double *), int times)
{
    struct timespec begin, end;
    double chord_mm;
    int count = 0;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &begin);
    for (int i = 0; i < times; i++) {
        count += halo(&chord_mm);
    }
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &end);
    if (count == 0) {
        fprintf(stderr, "no halo was made\n");
    }
    return ((double)(end.tv_sec - begin.tv_sec) * 1e6 +
            (double)(end.tv_nsec - begin.tv_nsec) / 1e3) /
           times;
}

int main(int argc, char **argv)
{
    int rounds = argc > 1 ? atoi(argv[1]) : 9;
    double program_mm = 0.0, plain_mm = 0.0;
    int program = program_halo(&program_mm), plain = plain_halo(&plain_mm);

    if (program != plain || !(fabs(program_mm - plain_mm) < 1e-6)) {
        fprintf(stderr, "the halos differ: %d stones at %.9f mm, and %d at %.9f mm\n", program,
                program_mm, plain, plain_mm);
        return 1;
    }
    printf("# %d stones at %.9f mm\n", program, program_mm);
    for (int i = 0; i < rounds; i++) {
        double one_us = us_each(program_halo, PROGRAM_TIMES);
        printf("%.3f %.3f\n", one_us, us_each(plain_halo, PLAIN_TIMES));
    }
    return 0;
}
