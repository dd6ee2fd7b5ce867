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

#include "bench/finned.h"
#include "bench/stopwatch.h"
#include "grain/shape.h"

static void by_slices_table(struct finned *way)
{
    struct sm_arena arena;
    struct sm_geometry g;
    sm_arena_init(&arena, NULL);
    if (sm_spliced_geometry(&arena, &way->grain, &g, NULL) != SM_OK)
        abort();
    for (int i = 0; i < FINNED_LEVELS; i++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&g, finned_level(i), &at);
        way->area[i] = -at.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

static void row(const char *name, double time, double base, const struct finned *way, const double *exact)
{
    double most = 0.0, sum = 0.0;
    for (int i = 0; i < FINNED_LEVELS; i++) {
        const double error = fabs(way->area[i] - exact[i]) / exact[0];
        most = fmax(most, error);
        sum += error * error;
    }
    printf("%-36s %9.2f ms %8.2f x   error, of the first area: most %.1e, rms %.1e\n", name, 1e3 * time,
           base / time, most, sqrt(sum / FINNED_LEVELS));
}

int main(void)
{
    static struct finned way;
    static double exact[FINNED_LEVELS];
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    finned_make(&arena, &way);
    finned_set_cells(&arena, &way, 256);
    finned_by_patches(&way);
    memcpy(exact, way.area, sizeof exact);
    printf("%d levels; reference: patches of 256 cells to the radius; times against the first row\n",
           FINNED_LEVELS);
    const double base = finned_median(&way, finned_by_slices);
    row("slices, 200 levels in lanes", base, base, &way, exact);
    row("the same, few points along the axis", finned_median(&way, finned_by_few_points), base, &way, exact);
    way.threads = 2;
    const double shared = finned_median(&way, finned_by_slices);
    row("slices, 200 levels in lanes, 2 threads", shared, base, &way, exact);
    const double few = finned_median(&way, finned_by_few_points);
    row("the same, few points, 2 threads", few, base, &way, exact);
    way.threads = 1;
    row("slices, each level for itself", finned_median(&way, finned_by_slices_alone), base, &way, exact);
    row("slices, table of ten integrals", finned_median(&way, by_slices_table), base, &way, exact);
    static const int cells[] = {10, 12, 16, 32, 64};
    for (size_t c = 0; c < sizeof cells / sizeof *cells; c++)
        for (way.threads = 1; way.threads <= 2; way.threads++) {
            char name[64];
            finned_set_cells(&arena, &way, cells[c]);
            snprintf(name, sizeof name, "patches, %d cells, %d thread%s", cells[c], way.threads,
                     way.threads > 1 ? "s" : "");
            const double time = finned_median(&way, finned_by_patches);
            row(name, time, base, &way, exact);
        }
    sm_arena_release(&arena);
    return 0;
}
