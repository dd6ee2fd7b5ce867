/*
 * How fast and how exact burnback is: tables of area and perimeter at 200 distances burned against GEOS's buffers, and whole
 * grain tables, all in one run, with the error beside every time. Machines differ; ratios are what counts. GEOS does more
 * than is asked of it here: any polygons, no arcs.
 *
 *     bench_geometry
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench/stopwatch.h"
#include "geometry_geos.h"
#include "grain/prism.h"
#include "grain/shape.h"

enum { LEVELS = 200, RUNS = 301 };

struct table {
    double area[LEVELS], perimeter[LEVELS]; /* [m2], [m] */
};

/* Median time from an outline to a table [s]. */
static double time_ours(const struct sm_section *section, const double *w, struct table *out)
{
    static double times[RUNS];
    for (int i = 0; i < RUNS; i++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        struct sm_burning_section b;
        const double start = stopwatch_now();
        if (sm_section_burn(&arena, section, &b, NULL) != SM_OK)
            abort();
        sm_section_table(&b, w, LEVELS, out->area, out->perimeter);
        times[i] = stopwatch_now() - start;
        sm_arena_release(&arena);
    }
    return stopwatch_median(times, RUNS);
}

static double time_geos(const struct sm_section *whole, int pieces, const double *w, struct table *out)
{
    const double start = stopwatch_now();
    struct geos_section *s = geos_section_new(whole, pieces);
    for (int k = 0; k < LEVELS; k++)
        geos_section_burn(s, w[k], &out->area[k], &out->perimeter[k]);
    geos_section_free(s);
    return stopwatch_now() - start;
}

static double worst(const struct table *a, const struct table *b, double radius)
{
    double d = 0.0;
    for (int k = 0; k < LEVELS; k++)
        d = fmax(d, fabs(a->perimeter[k] - b->perimeter[k]) / (2.0 * M_PI * radius));
    return d;
}

static void row(const char *name, const char *way, double time, double geos, double error)
{
    printf("%-14s %-28s %12.1f us %10.0f x  error %.1e\n", name, way, 1e6 * time, geos / time, error);
}

/* reference: exact perimeters, or NULL: those of the half-sector are taken, whose error is then that against the whole. */
static void compare(const char *name, const struct sm_section *section, double web,
                    const struct table *reference)
{
    static double w[LEVELS];
    static struct table half, all, geos;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int k = 0; k < LEVELS; k++)
        w[k] = web * (k + 0.5) / LEVELS;
    const struct sm_section whole = geos_whole(&arena, section);
    const double t_half = time_ours(section, w, &half), t_all = time_ours(&whole, w, &all);
    const double t_geos = time_geos(&whole, 64, w, &geos);
    const struct table *exact = reference ? reference : &half;
    row(name, "GEOS, 64 pieces a quarter", t_geos, t_geos, worst(&geos, exact, section->radius));
    row(name, "trimmer, whole outline", t_all, t_geos, worst(&all, exact, section->radius));
    row(name, "trimmer, half-sector", t_half, t_geos,
        worst(&half, reference ? exact : &all, section->radius));
    sm_arena_release(&arena);
}

/* Half a sector of a star of n points with fillets of radius f about centres at l, half angle h; see the tests of stars for
 * the closed form of its perimeter. */
static void star(void)
{
    enum { N = 6 };
    const double l = 0.7, f = 0.03, h = 33.0 * M_PI / 180, s = M_PI / N, web = 1.0 - l - f,
                 way = M_PI + s - h;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_section section = {.radius = 1.0, .sectors = N};
    sm_contour_init(&section.contour, &arena);
    const double x = l + f * sin(way), y = -f * cos(way);
    const double t = (x * sin(s) - y * cos(s)) / sin(h);
    sm_contour_start(&section.contour, l + f, 0.0);
    sm_contour_arc(&section.contour, x, y, l, 0.0, 1);
    sm_contour_line(&section.contour, x + t * cos(way), y + t * sin(way));
    static struct table exact;
    for (int k = 0; k < LEVELS; k++) {
        const double r = web * (k + 0.5) / LEVELS + f, reach = l * sin(s);
        exact.perimeter[k] = 2 * N *
                             (r <= reach / cos(h) ? reach / sin(h) + r * (M_PI_2 + s - h - 1 / tan(h))
                                                  : r * (s + asin(reach / r)));
    }
    compare("star", &section, web, &exact);
    sm_arena_release(&arena);
}

static void slotted_tube(void)
{
    const double bore = 0.35, half = 0.06, tip = 0.70, s = M_PI / 6, mouth = sqrt(bore * bore - half * half);
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_section section = {.radius = 1.0, .sectors = 6};
    sm_contour_init(&section.contour, &arena);
    sm_contour_start(&section.contour, tip + half, 0.0);
    sm_contour_arc(&section.contour, tip, half, tip, 0.0, 1);
    sm_contour_line(&section.contour, mouth, half);
    sm_contour_arc(&section.contour, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
    compare("slotted tube", &section, 0.40, NULL);
    sm_arena_release(&arena);
}

static void offset_bore(void)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_section section = {.radius = 1.0, .sectors = 1};
    sm_contour_init(&section.contour, &arena);
    sm_contour_start(&section.contour, 0.55, 0.0);
    sm_contour_arc(&section.contour, -0.05, 0.0, 0.25, 0.0, 1);
    static struct table exact;
    const double web = 0.94;
    for (int k = 0; k < LEVELS;
         k++) { /* part of a circle of radius r within the wall: two circles' common chord */
        const double r = 0.3 + web * (k + 0.5) / LEVELS, c = (1.0 - 0.0625 - r * r) / (2 * 0.25 * r);
        exact.perimeter[k] = 2 * r * (c >= 1.0 ? M_PI : M_PI - acos(c));
    }
    compare("offset bore", &section, web, &exact);
    sm_arena_release(&arena);
}

/* A grain's whole table, all ten integrals to 1e-9 of the area. */
static void grain_table(const char *name, struct sm_section *section)
{
    static double times[RUNS];
    struct sm_geometry g;
    for (int i = 0; i < RUNS; i++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        const double start = stopwatch_now();
        if (sm_prism_geometry(&arena, section, 5.0, SM_FACE_BORE | SM_FACE_FORE_END, &g, NULL) != SM_OK)
            abort();
        times[i] = stopwatch_now() - start;
        sm_arena_release(&arena);
    }
    printf("%-14s %-28s %12.1f us %22s %.1e, %zu pieces\n", name, "table of ten integrals",
           1e6 * stopwatch_median(times, RUNS), "error", g.accuracy, g.n_pieces);
}

int main(void)
{
    printf("%d distances burned; error: largest of the perimeter, as a share of the circumference\n", LEVELS);
    star();
    slotted_tube();
    offset_bore();
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_section section = {.radius = 1.0, .sectors = 1};
    sm_contour_init(&section.contour, &arena);
    sm_contour_start(&section.contour, 0.55, 0.0);
    sm_contour_arc(&section.contour, -0.05, 0.0, 0.25, 0.0, 1);
    grain_table("offset bore", &section);
    sm_arena_release(&arena);
    return 0;
}
