/*
 * How long tables of fronts in boxes take, and how far they are off: a ball's mesh and a bore under a sleeve, both with closed
 * forms. Errors are root mean squares of the area over the burn, shares of the largest; ratios of time and error from row to
 * row are what counts.
 *
 *     bench_fronts
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench/stopwatch.h"
#include "grain/geodesic.h"
#include "grain/meshport.h"
#include "grain/shape.h"

enum { LEVELS = 400, RINGS = 95, AROUND = 192 };

static double area_at(const struct sm_geometry *g, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return -at.slope[SM_VOLUME];
}

/* Against an area known from w = 0 to end. */
static void row(const char *name, int boxes, double time, const struct sm_geometry *g,
                double (*exact)(double w), double end)
{
    double sum = 0.0, worst = 0.0, largest = 0.0;
    for (int i = 0; i < LEVELS; i++)
        largest = fmax(largest, exact(end * (i + 0.5) / LEVELS));
    for (int i = 0; i < LEVELS; i++) {
        const double w = end * (i + 0.5) / LEVELS, d = (area_at(g, w) - exact(w)) / largest;
        sum += d * d / LEVELS;
        worst = fmax(worst, fabs(d));
    }
    printf("%-24s %4d boxes %9.1f ms  error %.1e, %.1e at most; said %.1e\n", name, boxes, 1e3 * time,
           sqrt(sum), worst, g->accuracy);
}

/* ---- a ball of radius 0.3 in a cylinder of radius 1 ---- */

static double ball_area(double w)
{
    return 4.0 * M_PI * (0.3 + w) * (0.3 + w);
}

static void ball(struct sm_arena *arena, struct sm_meshport *port)
{
    struct sm_vertex *v = sm_arena_alloc(arena, RINGS * AROUND + 2, sizeof *v);
    struct sm_facet *f = sm_arena_alloc(arena, 2 * RINGS * AROUND, sizeof *f);
    size_t n = 0;
    if (!v || !f)
        abort();
    v[0] = (struct sm_vertex){0.0, 0.0, 0.7};
    v[1] = (struct sm_vertex){0.0, 0.0, 1.3};
    for (int k = 0; k < RINGS; k++)
        for (int i = 0; i < AROUND; i++) {
            const double a = M_PI * (k + 1) / (RINGS + 1), b = 2.0 * M_PI * i / AROUND;
            const int low = 2 + k * AROUND + i, next = 2 + k * AROUND + (i + 1) % AROUND;
            v[low] = (struct sm_vertex){0.3 * sin(a) * cos(b), 0.3 * sin(a) * sin(b), 1.0 - 0.3 * cos(a)};
            if (k == 0)
                f[n++] = (struct sm_facet){0, next, low};
            if (k + 1 == RINGS) {
                f[n++] = (struct sm_facet){1, low, next};
                continue;
            }
            f[n++] = (struct sm_facet){low, next, next + AROUND};
            f[n++] = (struct sm_facet){low, next + AROUND, low + AROUND};
        }
    *port = (struct sm_meshport){.vertices = {v, RINGS * AROUND + 2}, .facets = {f, n}};
}

static void bench_ball(void)
{
    struct sm_arena arena;
    struct sm_meshport port;
    sm_arena_init(&arena, NULL);
    ball(&arena, &port);
    for (port.resolution = 16; port.resolution <= 64; port.resolution *= 2) {
        struct sm_geometry g;
        const double start = stopwatch_now();
        if (sm_meshport_geometry(&arena, &port, 1.0, 2.0, SM_FACE_BORE, &g, NULL) != SM_OK)
            abort();
        row("ball, 36000 facets", port.resolution, stopwatch_now() - start, &g, ball_area, 0.69);
    }
    sm_arena_release(&arena);
}

/* ---- a bore of radius 0.3 to z = 2, a step to 0.4 and the bore behind it under a sleeve ---- */

static double sleeve_area(double w)
{
    const double q = fmax(w - 0.1, 0.0);
    return 2.0 * M_PI * (0.3 + w) * 2.0 + 2.0 * M_PI * (0.4 * q * M_PI / 2.0 + q * q);
}

static void bench_sleeve(void)
{
    static const struct sm_sleeve sleeve = {2.0, 3.0};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_meridian m = {.length = 3.0,
                            .radius = 1.0,
                            .burning = SM_FACE_BORE,
                            .sleeves = &sleeve,
                            .n_sleeves = 1,
                            .is_geodesic = true};
    sm_contour_init(&m.bore, &arena);
    sm_contour_start(&m.bore, 3.0, 0.4);
    sm_contour_line(&m.bore, 2.0, 0.4);
    sm_contour_line(&m.bore, 2.0, 0.3);
    sm_contour_line(&m.bore, 0.0, 0.3);
    for (int boxes = 64; boxes <= 512; boxes *= 2) {
        struct sm_geometry g;
        const double start = stopwatch_now();
        if (sm_geodesic_geometry(&arena, &m, boxes, &g, NULL) != SM_OK)
            abort();
        row("sleeve, round its edge", boxes, stopwatch_now() - start, &g, sleeve_area, 0.59);
    }
    sm_arena_release(&arena);
}

int main(void)
{
    bench_ball();
    bench_sleeve();
    return 0;
}
