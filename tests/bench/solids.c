/*
 * Burnback in space: the area of one finocyl at 200 distances burned by slices and by patches, on one thread and on two, in
 * one run, with the error beside every time. The reference is patches of 256 cells to the radius, good to some 1e-5. Machines differ; ratios are what counts.
 *
 *     bench_solids
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "grain/shape.h"
#include "grain/slices.h"
#include "num/parallel.h"

/* Six square-tipped fins in 45 % of the length, both ends burning. */
enum { LEVELS = 200, FINS = 6, RUNS = 9 };
static const double bore = 0.35, half = 0.06, tip = 0.76, joint = 0.9, length = 2.0, web = 0.643;
static const unsigned burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double level(int i)
{
    return web * (i + 0.5) / LEVELS;
}

static void draw(struct sm_contour *c, bool has_fins)
{
    const double s = M_PI / FINS, mouth = sqrt(bore * bore - half * half);
    sm_contour_start(c, has_fins ? tip : bore, 0.0);
    if (has_fins) {
        sm_contour_line(c, tip, half);
        sm_contour_line(c, mouth, half);
    }
    sm_contour_arc(c, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
}

static struct sm_spliced sliced(struct sm_arena *arena, struct sm_splice items[2])
{
    items[0] = (struct sm_splice){.z1 = joint};
    items[1] = (struct sm_splice){.z0 = joint, .z1 = length};
    for (int i = 0; i < 2; i++) {
        sm_contour_init(&items[i].contour, arena);
        draw(&items[i].contour, i == 0);
    }
    return (struct sm_spliced){items, 2, FINS, 1.0, burning};
}

static void put_voids(struct sm_void v[2])
{
    v[0] = (struct sm_void){.solid = {.form = SM_SOLID_CONE, .a = bore, .b = bore, .c = length}, .count = 1};
    v[1] = (struct sm_void){.solid = {.form = SM_SOLID_BOX,
                                      .at = {0.5 * tip, 0.0, 0.5 * joint},
                                      .a = 0.5 * tip,
                                      .b = half,
                                      .c = 0.5 * joint},
                            .count = FINS};
    sm_solid_aim(&v[0].solid, 0.0, 0.0, 0.0);
    sm_solid_aim(&v[1].solid, 0.0, 0.0, 0.0);
}

/* ---- ways, each filling all levels ---- */

struct way {
    struct sm_spliced grain;
    struct sm_patcher patcher;
    int threads;
    double area[LEVELS]; /* [m2] */
};

static void by_slices(struct way *way)
{
    struct sm_arena arena;
    struct sm_slicer slicer;
    struct sm_geometry_knot knot;
    sm_arena_init(&arena, NULL);
    if (sm_slicer_init(&arena, &way->grain, &slicer, NULL) != SM_OK)
        abort();
    for (int i = 0; i < LEVELS; i++) {
        if (sm_slicer_knot(&slicer, level(i), &knot, NULL) != SM_OK)
            abort();
        way->area[i] = -knot.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

static void by_slices_table(struct way *way)
{
    struct sm_arena arena;
    struct sm_geometry g;
    sm_arena_init(&arena, NULL);
    if (sm_spliced_geometry(&arena, &way->grain, &g, NULL) != SM_OK)
        abort();
    for (int i = 0; i < LEVELS; i++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&g, level(i), &at);
        way->area[i] = -at.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

static void one_level(void *user, int worker, size_t i)
{
    (void)worker;
    struct way *way = user;
    struct sm_patch_sums sums;
    sm_patcher_level(&way->patcher, level((int)i), &sums);
    way->area[i] = sums.front[SM_VOLUME];
}

static void by_patches(struct way *way)
{
    sm_parallel_for(LEVELS, way->threads, one_level, way, NULL);
}

/* Median time of some runs [s]. */
static double clock_way(struct way *way, void (*run)(struct way *))
{
    double times[RUNS];
    for (int i = 0; i < RUNS; i++) {
        const double start = now();
        run(way);
        times[i] = now() - start;
    }
    qsort(times, RUNS, sizeof *times, by_size);
    return times[RUNS / 2];
}

static void row(const char *name, double time, double base, const struct way *way, const double *exact)
{
    double most = 0.0, sum = 0.0;
    for (int i = 0; i < LEVELS; i++) {
        const double error = fabs(way->area[i] - exact[i]) / exact[0];
        most = fmax(most, error);
        sum += error * error;
    }
    printf("%-34s %9.2f ms %8.2f x   error, of the first area: most %.1e, rms %.1e\n", name, 1e3 * time,
           base / time, most, sqrt(sum / LEVELS));
}

int main(void)
{
    static struct way way;
    static double exact[LEVELS];
    static struct sm_void v[2];
    struct sm_splice items[2];
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    way.grain = sliced(&arena, items);
    put_voids(v);
    const struct sm_voids reference = {v, 2, 1.0, length, burning, 256};
    if (sm_patcher_init(&arena, &reference, &way.patcher, NULL) != SM_OK)
        abort();
    by_patches(&way);
    memcpy(exact, way.area, sizeof exact);
    printf("%d levels; reference: patches of 256 cells to the radius; times against the first row\n", LEVELS);
    const double base = clock_way(&way, by_slices);
    row("slices, every level", base, base, &way, exact);
    row("slices, table of ten integrals", clock_way(&way, by_slices_table), base, &way, exact);
    for (int fineness = 16; fineness <= 64; fineness *= 2)
        for (way.threads = 1; way.threads <= 2; way.threads++) {
            const struct sm_voids voids = {v, 2, 1.0, length, burning, fineness};
            char name[64];
            if (sm_patcher_init(&arena, &voids, &way.patcher, NULL) != SM_OK)
                abort();
            snprintf(name, sizeof name, "patches, %d cells, %d thread%s", fineness, way.threads,
                     way.threads > 1 ? "s" : "");
            const double time = clock_way(&way, by_patches);
            row(name, time, base, &way, exact);
        }
    sm_arena_release(&arena);
    return 0;
}
