/*
 * Bodies of revolution: areas at 200 distances burned by the trimmer on the meridian against a plain net of exact distances,
 * from which fronts are taken by straight lines in triangles. Errors are shares of the largest area: of a tube against its
 * closed form; of an end burner with a recess, the net's against the trimmer, and the trimmer's by the port's volume in closed
 * form.
 *
 *     bench_revolved
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench/stopwatch.h"
#include "grain/meridian.h"
#include "grain/shape.h"

enum { LEVELS = 200, RUNS = 51 };

/* A grain of radius 1 and length 2, and its voids as lines of the meridian. */
struct body {
    const char *name;
    double line[4][4]; /* z and r of both ends [m] */
    int n;
    int (*is_void)(double z, double r);
    double web;         /* that levels are spread over [m] */
    double port_volume; /* [m3] */
    struct sm_meridian meridian;
};

static double level(const struct body *b, int i)
{
    return b->web * (i + 0.5) / LEVELS;
}

/* ---- the trimmer ---- */

static void by_trimmer(const struct body *b, double *area)
{
    struct sm_arena arena;
    struct sm_burning_meridian m;
    struct sm_geometry_knot knot;
    size_t stage = 0;
    sm_arena_init(&arena, NULL);
    if (sm_meridian_burn(&arena, &b->meridian, &m, NULL) != SM_OK)
        abort();
    for (int i = 0; i < LEVELS; i++) {
        const double w = level(b, i);
        while (stage + 1 < m.stages.n && w > m.stages.items[stage].w1)
            stage++;
        sm_meridian_knot(&m, stage, w, &knot);
        area[i] = -knot.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

static double volume_error(const struct body *b)
{
    struct sm_arena arena;
    struct sm_burning_meridian m;
    struct sm_geometry_knot knot;
    sm_arena_init(&arena, NULL);
    if (sm_meridian_burn(&arena, &b->meridian, &m, NULL) != SM_OK)
        abort();
    sm_meridian_knot(&m, 0, 0.0, &knot);
    sm_arena_release(&arena);
    return fabs(knot.value[SM_VOLUME] / (2.0 * M_PI - b->port_volume) - 1.0);
}

/* ---- the net ---- */

static double distance_of(const struct body *b, double z, double r)
{
    double least = INFINITY;
    for (int i = 0; i < b->n; i++) {
        const double *l = b->line[i], dz = l[2] - l[0], dr = l[3] - l[1];
        const double t = ((z - l[0]) * dz + (r - l[1]) * dr) / (dz * dz + dr * dr),
                     s = fmin(fmax(t, 0.0), 1.0);
        const double ez = z - l[0] - s * dz, er = r - l[1] - s * dr;
        least = fmin(least, ez * ez + er * er);
    }
    return b->is_void(z, r) ? -sqrt(least) : sqrt(least);
}

/* Area swept by the line on which the distance is w in a triangle of the meridian. */
static double swept(const double z[3], const double r[3], const double d[3], double w)
{
    double at[2][2];
    int n = 0;
    for (int i = 0; i < 3; i++) {
        const int j = (i + 1) % 3;
        if ((d[i] < w) == (d[j] < w) || n == 2)
            continue;
        const double x = (w - d[i]) / (d[j] - d[i]);
        at[n][0] = z[i] + x * (z[j] - z[i]);
        at[n++][1] = r[i] + x * (r[j] - r[i]);
    }
    return n == 2 ? M_PI * (at[0][1] + at[1][1]) * hypot(at[1][0] - at[0][0], at[1][1] - at[0][1]) : 0.0;
}

static void add_cell(const struct body *b, double z, double r, double h, const double d[4], double *area)
{
    const double least = fmin(fmin(d[0], d[1]), fmin(d[2], d[3])),
                 most = fmax(fmax(d[0], d[1]), fmax(d[2], d[3]));
    const int first = (int)fmax(ceil(least / b->web * LEVELS - 0.5), 0.0),
              last = (int)fmin(floor(most / b->web * LEVELS - 0.5), LEVELS - 1);
    const double z1[3] = {z, z + h, z + h}, r1[3] = {r, r, r + h}, d1[3] = {d[0], d[1], d[2]};
    const double z2[3] = {z, z + h, z}, r2[3] = {r, r + h, r + h}, d2[3] = {d[0], d[2], d[3]};
    for (int i = first; i <= last; i++)
        area[i] += swept(z1, r1, d1, level(b, i)) + swept(z2, r2, d2, level(b, i));
}

static void by_net(const struct body *b, int cells, double *area)
{
    const int nz = 2 * cells + 1, nr = cells + 1;
    const double h = 1.0 / cells;
    double *d = malloc((size_t)nz * (size_t)nr * sizeof *d);
    if (!d)
        abort();
    for (int i = 0; i < LEVELS; i++)
        area[i] = 0.0;
    for (int i = 0; i < nz; i++)
        for (int j = 0; j < nr; j++)
            d[i * nr + j] = distance_of(b, i * h, j * h);
    for (int i = 0; i + 1 < nz; i++)
        for (int j = 0; j + 1 < nr; j++) {
            const double *at = d + i * nr + j, corners[4] = {at[0], at[nr], at[nr + 1], at[1]};
            add_cell(b, i * h, j * h, h, corners, area);
        }
    free(d);
}

/* ---- both ---- */

static void row(const struct body *b, const char *way, double time, double base, double error)
{
    printf("%-28s %-22s %9.1f us %9.0f x  error %.1e\n", b->name, way, 1e6 * time, base / time, error);
}

static double worst(const double *a, const double *exact)
{
    double most = 0.0, largest = 0.0;
    for (int i = 0; i < LEVELS; i++) {
        most = fmax(most, fabs(a[i] - exact[i]));
        largest = fmax(largest, exact[i]);
    }
    return most / largest;
}

static double median_of(const struct body *b, double *area)
{
    static double times[RUNS];
    for (int i = 0; i < RUNS; i++) {
        const double start = stopwatch_now();
        by_trimmer(b, area);
        times[i] = stopwatch_now() - start;
    }
    return stopwatch_median(times, RUNS);
}

static void compare(const struct body *b, const double *closed_form)
{
    static double trimmed[LEVELS], net[LEVELS];
    const double time = median_of(b, trimmed), *exact = closed_form ? closed_form : trimmed;
    double times[2], errors[2];
    for (int k = 0; k < 2; k++) {
        const double start = stopwatch_now();
        by_net(b, k == 0 ? 128 : 512, net);
        times[k] = stopwatch_now() - start;
        errors[k] = worst(net, exact);
    }
    const double base = times[1];
    row(b, "net, 128 to the radius", times[0], base, errors[0]);
    row(b, "net, 512 to the radius", base, base, errors[1]);
    row(b, "trimmer", time, base, closed_form ? worst(trimmed, exact) : volume_error(b));
}

static int tube_void(double z, double r)
{
    return z < 0.0 || z > 2.0 || r < 0.35;
}

static int recess_void(double z, double r)
{
    return z > 2.0 || (z > 1.7 && r < 0.2) || (z > 1.3 && z <= 1.7 && r < 0.5 * (z - 1.3));
}

int main(void)
{
    static double closed[LEVELS];
    struct sm_arena arena;
    struct body tube = {
        "tube, both ends burning",
        {{0.0, 0.35, 2.0, 0.35}, {0.0, 0.35, 0.0, 1.0}, {2.0, 0.35, 2.0, 1.0}},
        3,
        tube_void,
        0.65,
        2.0 * M_PI * 0.35 * 0.35,
        {.length = 2.0, .radius = 1.0, .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END}};
    struct body burner = {"end burner with a recess",
                          {{2.0, 0.2, 1.7, 0.2}, {1.7, 0.2, 1.3, 0.0}, {2.0, 0.2, 2.0, 1.0}},
                          3,
                          recess_void,
                          1.6,
                          M_PI * 0.04 * (0.3 + 0.4 / 3.0),
                          {.length = 2.0, .radius = 1.0, .burning = SM_FACE_BORE | SM_FACE_AFT_END}};
    sm_arena_init(&arena, NULL);
    sm_contour_init(&tube.meridian.bore, &arena);
    sm_contour_start(&tube.meridian.bore, 2.0, 0.35);
    sm_contour_line(&tube.meridian.bore, 0.0, 0.35);
    sm_contour_init(&burner.meridian.bore, &arena);
    sm_contour_start(&burner.meridian.bore, 2.0, 0.2);
    sm_contour_line(&burner.meridian.bore, 1.7, 0.2);
    sm_contour_line(&burner.meridian.bore, 1.3, 0.0);
    for (int i = 0; i < LEVELS; i++) {
        const double w = level(&tube, i), r = 0.35 + w;
        closed[i] = 2.0 * M_PI * r * (2.0 - 2.0 * w) + 2.0 * M_PI * (1.0 - r * r);
    }
    printf(
        "%d levels, all ten integrals by the trimmer, the area alone by the net; times against 512 cells\n",
        LEVELS);
    compare(&tube, closed);
    compare(&burner, NULL);
    sm_arena_release(&arena);
    return 0;
}
