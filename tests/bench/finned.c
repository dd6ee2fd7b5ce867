#include "bench/finned.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "bench/stopwatch.h"
#include "grain/shape.h"
#include "num/parallel.h"

static const double bore = 0.35, half = 0.06, tip = 0.76, joint = 0.9;
static const unsigned burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END;
const double finned_length = 2.0, finned_web = 0.643;

double finned_level(int i)
{
    return finned_web * (i + 0.5) / FINNED_LEVELS;
}

static void draw(struct sm_contour *c, bool has_fins)
{
    const double s = M_PI / FINNED_FINS, mouth = sqrt(bore * bore - half * half);
    sm_contour_start(c, has_fins ? tip : bore, 0.0);
    if (has_fins) {
        sm_contour_line(c, tip, half);
        sm_contour_line(c, mouth, half);
    }
    sm_contour_arc(c, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
}

void finned_make(struct sm_arena *arena, struct finned *out)
{
    out->items[0] = (struct sm_splice){.z1 = joint};
    out->items[1] = (struct sm_splice){.z0 = joint, .z1 = finned_length};
    for (int i = 0; i < 2; i++) {
        sm_contour_init(&out->items[i].contour, arena);
        draw(&out->items[i].contour, i == 0);
    }
    out->grain = (struct sm_spliced){out->items, 2, FINNED_FINS, 1.0, burning};
    out->threads = 1;
    out->voids[0] = (struct sm_void){
        .solid = {.form = SM_SOLID_CONE, .a = bore, .b = bore, .c = finned_length}, .count = 1};
    out->voids[1] = (struct sm_void){.solid = {.form = SM_SOLID_BOX,
                                               .at = {0.5 * tip, 0.0, 0.5 * joint},
                                               .a = 0.5 * tip,
                                               .b = half,
                                               .c = 0.5 * joint},
                                     .count = FINNED_FINS};
    for (int i = 0; i < 2; i++)
        sm_solid_aim(&out->voids[i].solid, 0.0, 0.0, 0.0);
}

void finned_set_cells(struct sm_arena *arena, struct finned *f, int cells)
{
    f->port = (struct sm_voids){f->voids, 2, 1.0, finned_length, burning, cells};
    if (sm_patcher_init(arena, &f->port, &f->patcher, NULL) != SM_OK)
        abort();
}

/* Levels that are cut one after another: more would leave one of two threads idle at the end, fewer find what they have in common
 * more often. */
enum { RUN = 70, MOST_THREADS = 2 };

struct lanes {
    struct finned *finned;
    const int *points; /* NULL: as many as there are of themselves */
    struct sm_slicer slicers[MOST_THREADS];
    struct sm_arena arenas[MOST_THREADS];
    bool is_ready[MOST_THREADS];
};

/* In the thread that uses it. */
static void make_ready(struct lanes *lanes, int worker)
{
    struct sm_slicer *slicer = &lanes->slicers[worker];
    sm_arena_init(&lanes->arenas[worker], NULL);
    if (sm_slicer_init(&lanes->arenas[worker], &lanes->finned->grain, slicer, NULL) != SM_OK)
        abort();
    for (int i = 0; lanes->points && i < SM_SLICE_RULES; i++)
        if (sm_gauss_make(lanes->points[i], &slicer->gauss[i]) != SM_OK)
            abort();
    lanes->is_ready[worker] = true;
}

static void one_run(void *user, int worker, size_t i)
{
    struct lanes *lanes = user;
    double w[FINNED_LEVELS];
    const int most = lanes->finned->threads > 1 ? RUN : FINNED_LEVELS, first = (int)i * most,
              n = first + most < FINNED_LEVELS ? most : FINNED_LEVELS - first;
    if (!lanes->is_ready[worker])
        make_ready(lanes, worker);
    for (int k = 0; k < n; k++)
        w[k] = finned_level(first + k);
    if (sm_slicer_areas(&lanes->slicers[worker], w, (size_t)n, lanes->finned->area + first, NULL) != SM_OK)
        abort();
}

static void in_lanes(struct finned *f, const int *points)
{
    struct lanes lanes = {.finned = f, .points = points};
    sm_parallel_for(f->threads > 1 ? (FINNED_LEVELS + RUN - 1) / RUN : 1, f->threads, one_run, &lanes, NULL);
    for (int t = 0; t < MOST_THREADS; t++)
        if (lanes.is_ready[t])
            sm_arena_release(&lanes.arenas[t]);
}

void finned_by_slices(struct finned *f)
{
    in_lanes(f, NULL);
}

void finned_by_few_points(struct finned *f)
{
    static const int points[SM_SLICE_RULES] = {4, 3, 2};
    in_lanes(f, points);
}

void finned_by_slices_alone(struct finned *f)
{
    struct sm_arena arena;
    struct sm_slicer slicer;
    struct sm_geometry_knot knot;
    sm_arena_init(&arena, NULL);
    if (sm_slicer_init(&arena, &f->grain, &slicer, NULL) != SM_OK)
        abort();
    for (int i = 0; i < FINNED_LEVELS; i++) {
        if (sm_slicer_knot(&slicer, finned_level(i), &knot, NULL) != SM_OK)
            abort();
        f->area[i] = -knot.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

enum { TOGETHER = 4 }; /* threads that write side by side wait for each other */

static void one_level(void *user, int worker, size_t i)
{
    (void)worker;
    struct finned *f = user;
    struct sm_patch_sums sums;
    for (size_t k = TOGETHER * i; k < TOGETHER * (i + 1); k++) {
        sm_patcher_level(&f->patcher, finned_level((int)k), &sums);
        f->area[k] = sums.front[SM_VOLUME];
    }
}

void finned_by_patches(struct finned *f)
{
    sm_parallel_for(FINNED_LEVELS / TOGETHER, f->threads, one_level, f, NULL);
}

double finned_median(struct finned *f, void (*run)(struct finned *f))
{
    enum { LEAST = 9, MOST = 500 };
    const double enough =
        0.3; /* so that what takes less than a millisecond is not timed while threads wake up [s] */
    double times[MOST], all = 0.0;
    size_t n = 0;
    while (n < LEAST || (n < MOST && all < enough)) {
        const double start = stopwatch_now();
        run(f);
        times[n] = stopwatch_now() - start;
        all += times[n++];
    }
    return stopwatch_median(times, n);
}
