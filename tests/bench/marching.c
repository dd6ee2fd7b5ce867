/*
 * A finocyl's areas at 200 distances burned, by slices and by patches, against fast marching on a cube of nodes by scikit-fmm
 * and fronts taken from it in tetrahedra; and distances at all nodes of such a cube, exact ones against marched ones. Fast
 * marching solves a harder task than is asked of it here: speeds that differ from place to place. Errors of areas are shares of
 * the first area, against patches of 256 cells to the radius; those of distances are in steps of the cube.
 *
 *     bench_marching SOURCE_FOLDER
 */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "bench/finned.h"
#include "bench/stopwatch.h"
#include "grain/fill.h"
#include "grain/nearest.h"
#include "grain/patches.h"
#include "grain/shape.h"
#include "num/parallel.h"

static double worst(const double *area, const double *exact)
{
    double most = 0.0;
    for (int i = 0; i < FINNED_LEVELS; i++)
        most = fmax(most, fabs(area[i] - exact[i]) / exact[0]);
    return most;
}

/* ---- cubes of distances ---- */

/* From -1 to 1 across and from 0 to 2 along, z the fastest. */
struct cube {
    int nodes;
    double step; /* [m] */
    double *d;   /* [m] */
    const struct sm_tree *tree;
};

static struct cube new_cube(int nodes)
{
    struct cube c = {.nodes = nodes, .step = 2.0 / (nodes - 1)};
    const size_t n = (size_t)nodes * (size_t)nodes * (size_t)nodes;
    c.d = malloc(n * sizeof *c.d);
    if (!c.d)
        abort();
    memset(c.d, 0, n * sizeof *c.d); /* touched, so that nobody's time has the system's in it */
    return c;
}

static size_t count(const struct cube *c)
{
    return (size_t)c->nodes * (size_t)c->nodes * (size_t)c->nodes;
}

static struct sm_net net_of(const struct cube *c)
{
    const size_t n = (size_t)c->nodes;
    return (struct sm_net){{-1.0, -1.0, 0.0}, {c->step, c->step, c->step}, {n, n, n}};
}

static void facets_layer(void *user, int worker, size_t i)
{
    (void)worker;
    const struct cube *c = user;
    const size_t n = (size_t)c->nodes;
    struct sm_nearest at = {.triangle = 0};
    for (size_t j = 0; j < n; j++)
        for (size_t k = 0; k < n; k++) {
            const struct sm_vertex p = {-1.0 + (double)i * c->step, -1.0 + (double)j * c->step,
                                        (double)k * c->step};
            sm_tree_nearest(c->tree, p, at.triangle, &at);
            c->d[(i * n + j) * n + k] = at.distance;
        }
}

static double time_facets(struct cube *c, int threads)
{
    const double start = stopwatch_now();
    sm_parallel_for((size_t)c->nodes, threads, facets_layer, c, NULL);
    return stopwatch_now() - start;
}

/* Distances from the nearest solid or burning end; in floats and in doubles. Least times of some runs [s]. */
static void time_fills(struct cube *c, const struct sm_patcher *patcher, int threads, float *floats,
                       double *in_floats, double *in_doubles)
{
    enum { RUNS = 9 };
    const struct sm_net net = net_of(c);
    *in_floats = *in_doubles = INFINITY;
    for (int i = 0; i < RUNS; i++) {
        const double start = stopwatch_now();
        sm_fill_floats(patcher, &net, threads, sm_lane_set_best(), floats);
        const double middle = stopwatch_now();
        sm_fill_doubles(patcher, &net, threads, sm_lane_set_best(), c->d);
        *in_floats = fmin(*in_floats, middle - start);
        *in_doubles = fmin(*in_doubles, stopwatch_now() - middle);
    }
}

/* ---- fronts in tetrahedra ---- */

struct node {
    double p[3], inside, d; /* [m] */
};

static struct node between(const struct node *a, const struct node *b, double t)
{
    struct node m = {.inside = a->inside + t * (b->inside - a->inside)};
    for (int k = 0; k < 3; k++)
        m.p[k] = a->p[k] + t * (b->p[k] - a->p[k]);
    return m;
}

/* A polygon's area where it is inside the grain. */
static double area_inside(const struct node *v, int n)
{
    struct node out[8];
    int m = 0;
    double sum = 0.0;
    for (int i = 0; i < n; i++) {
        const struct node *a = &v[i], *b = &v[(i + 1) % n];
        if (a->inside >= 0.0)
            out[m++] = *a;
        if ((a->inside >= 0.0) != (b->inside >= 0.0))
            out[m++] = between(a, b, a->inside / (a->inside - b->inside));
    }
    for (int i = 2; i < m; i++) {
        double u[3], w[3];
        for (int k = 0; k < 3; k++) {
            u[k] = out[i - 1].p[k] - out[0].p[k];
            w[k] = out[i].p[k] - out[0].p[k];
        }
        const double x = u[1] * w[2] - u[2] * w[1], y = u[2] * w[0] - u[0] * w[2],
                     z = u[0] * w[1] - u[1] * w[0];
        sum += 0.5 * sqrt(x * x + y * y + z * z);
    }
    return sum;
}

static double front_in(const struct node *t[4], double w)
{
    const struct node *in[4], *out[4];
    struct node v[4];
    int n_in = 0, n_out = 0;
    for (int i = 0; i < 4; i++) {
        if (t[i]->d < w)
            in[n_in++] = t[i];
        else
            out[n_out++] = t[i];
    }
    if (n_in == 0 || n_out == 0)
        return 0.0;
#define CROSSING(a, b) between(a, b, (w - (a)->d) / ((b)->d - (a)->d))
    if (n_in == 2) {
        v[0] = CROSSING(in[0], out[0]);
        v[1] = CROSSING(in[0], out[1]);
        v[2] = CROSSING(in[1], out[1]);
        v[3] = CROSSING(in[1], out[0]);
        return area_inside(v, 4);
    }
    for (int i = 0; i < 3; i++)
        v[i] = n_in == 1 ? CROSSING(in[0], out[i]) : CROSSING(in[i], out[0]);
#undef CROSSING
    return area_inside(v, 3);
}

static void add_box(const struct cube *c, int i, int j, int k, double *area)
{
    static const int tets[6][4] = {{0, 1, 3, 7}, {0, 1, 5, 7}, {0, 2, 3, 7},
                                   {0, 2, 6, 7}, {0, 4, 5, 7}, {0, 4, 6, 7}};
    const int n = c->nodes;
    struct node v[8];
    double least = INFINITY, most = -INFINITY;
    for (int q = 0; q < 8; q++) {
        const int at[3] = {i + (q & 1), j + (q >> 1 & 1), k + (q >> 2)};
        v[q].d = c->d[((size_t)at[0] * (size_t)n + (size_t)at[1]) * (size_t)n + (size_t)at[2]];
        least = fmin(least, v[q].d);
        most = fmax(most, v[q].d);
        v[q].p[0] = -1.0 + at[0] * c->step;
        v[q].p[1] = -1.0 + at[1] * c->step;
        v[q].p[2] = at[2] * c->step;
        v[q].inside = 1.0 - sqrt(v[q].p[0] * v[q].p[0] + v[q].p[1] * v[q].p[1]);
    }
    const int first = (int)fmax(ceil(least / finned_web * FINNED_LEVELS - 0.5), 0.0),
              last = (int)fmin(floor(most / finned_web * FINNED_LEVELS - 0.5), FINNED_LEVELS - 1);
    for (int l = first; l <= last; l++)
        for (int t = 0; t < 6; t++) {
            const struct node *corners[4] = {&v[tets[t][0]], &v[tets[t][1]], &v[tets[t][2]], &v[tets[t][3]]};
            area[l] += front_in(corners, finned_level(l));
        }
}

static double time_fronts(const struct cube *c, double *area)
{
    const double start = stopwatch_now();
    for (int l = 0; l < FINNED_LEVELS; l++)
        area[l] = 0.0;
    for (int i = 0; i + 1 < c->nodes; i++)
        for (int j = 0; j + 1 < c->nodes; j++)
            for (int k = 0; k + 1 < c->nodes; k++)
                add_box(c, i, j, k, area);
    return stopwatch_now() - start;
}

/* ---- scikit-fmm ---- */

static bool put_cube(const char *name, const struct cube *c)
{
    FILE *file = fopen(name, "wb");
    const bool is_good = file && fwrite(c->d, sizeof *c->d, count(c), file) == count(c);
    return file && fclose(file) == 0 && is_good;
}

static bool get_cube(const char *name, struct cube *c)
{
    FILE *file = fopen(name, "rb");
    const bool is_good = file && fread(c->d, sizeof *c->d, count(c), file) == count(c);
    if (file)
        fclose(file);
    return is_good;
}

/* Marches from exact values; they are taken in, and the marched ones put out. Returned: its own time [s], or NaN. */
static double march(const char *folder, const struct cube *exact, int order, struct cube *out)
{
    char name[] = "/tmp/marchingXXXXXX", back[64], command[2048];
    const int file = mkstemp(name);
    double time = NAN;
    if (file < 0)
        return NAN;
    close(file);
    snprintf(back, sizeof back, "%s.out", name);
    snprintf(command, sizeof command,
             "${PYTHON:-python3} '%s/tests/bench/marching.py' '%s' %d %.17g %d '%s' 2>/dev/null", folder,
             name, exact->nodes, exact->step, order, back);
    if (put_cube(name, exact)) {
        FILE *from = popen(command, "r");
        if (from && fscanf(from, "%lf", &time) != 1)
            time = NAN;
        if (from && pclose(from) != 0)
            time = NAN;
        if (!isnan(time) && !get_cube(back, out))
            time = NAN;
    }
    remove(name);
    remove(back);
    return time;
}

/* Of distances, in steps, where the front has not gone out. */
static void distance_errors(const struct cube *c, const struct cube *exact, double *most, double *rms)
{
    double sum = 0.0;
    size_t n = 0;
    *most = 0.0;
    for (size_t i = 0; i < count(c); i++)
        if (exact->d[i] > 0.0 && exact->d[i] < finned_web) {
            const double e = (c->d[i] - exact->d[i]) / c->step;
            *most = fmax(*most, fabs(e));
            sum += e * e;
            n++;
        }
    *rms = sqrt(sum / (double)n);
}

/* ---- what is set side by side ---- */

static void row(const char *what, double time, double base, double error)
{
    printf("%-40s %10.2f ms", what, 1e3 * time);
    if (!isnan(base))
        printf(" %8.0f x", base / time);
    printf("  error %.1e\n", error);
}

static void compare_slices(struct finned *way, double base, const double *exact)
{
    static const struct {
        const char *name;
        void (*run)(struct finned *f);
    } ways[] = {{"slices", finned_by_slices}, {"slices, few points", finned_by_few_points}};
    for (size_t k = 0; k < sizeof ways / sizeof *ways; k++)
        for (way->threads = 1; way->threads <= 2; way->threads++) {
            char name[64];
            snprintf(name, sizeof name, "%s, %d thread%s", ways[k].name, way->threads,
                     way->threads > 1 ? "s" : "");
            const double time = finned_median(way, ways[k].run);
            row(name, time, base, worst(way->area, exact));
        }
}

/* Returned: how long marching in order 2 took at 128^3 nodes [s]; NaN without scikit-fmm. */
static double compare_areas(struct sm_arena *arena, struct finned *way, const char *folder)
{
    static double exact[FINNED_LEVELS], marched[FINNED_LEVELS];
    finned_set_cells(arena, way, 256);
    finned_by_patches(way);
    memcpy(exact, way->area, sizeof exact);
    struct cube true_cube = new_cube(128), cube = new_cube(128);
    const struct sm_net net = net_of(&true_cube);
    sm_fill_doubles(&way->patcher, &net, 1, sm_lane_set_best(), true_cube.d);
    const double field = march(folder, &true_cube, 2, &cube);
    double base = NAN;
    if (isnan(field)) {
        puts("scikit-fmm is not there: python3-scikit-fmm, with PYTHON=/usr/bin/python3 if another one comes "
             "first");
    } else {
        const double fronts = time_fronts(&cube, marched);
        base = field + fronts;
        printf("scikit-fmm, order 2, 128^3 nodes: %.0f ms for distances, %.0f ms for fronts in tetrahedra\n",
               1e3 * field, 1e3 * fronts);
        row("both", base, base, worst(marched, exact));
    }
    compare_slices(way, base, exact);
    static const int cells[] = {10, 12, 16, 32, 64};
    for (size_t c = 0; c < sizeof cells / sizeof *cells; c++) {
        double times[2], area[FINNED_LEVELS];
        char name[64];
        finned_set_cells(arena, way, cells[c]);
        for (way->threads = 1; way->threads <= 2; way->threads++) {
            times[way->threads - 1] = finned_median(way, finned_by_patches);
            snprintf(name, sizeof name, "patches, %d cells, %d thread%s", cells[c], way->threads,
                     way->threads > 1 ? "s" : "");
            row(name, times[way->threads - 1], base, worst(way->area, exact));
            if (way->threads == 1)
                memcpy(area, way->area, sizeof area);
        }
        printf("  two threads take the time of one by %.2f x, areas alike to error %.0e\n",
               times[0] / times[1], worst(way->area, area));
    }
    free(cube.d);
    free(true_cube.d);
    return field;
}

/* A ball of radius 0.3 in the cube's middle, of some four thousand facets. */
static void ball(struct sm_arena *arena, struct sm_triangles *out)
{
    enum { RINGS = 32, AROUND = 64 };
    out->n = 0;
    out->corners = sm_arena_alloc(arena, (size_t)3 * 2 * RINGS * AROUND, sizeof *out->corners);
    if (!out->corners)
        abort();
    for (int i = 0; i < RINGS; i++)
        for (int j = 0; j < AROUND; j++) {
            struct sm_vertex v[4];
            for (int q = 0; q < 4; q++) {
                const double a = M_PI * (i + (q & 1)) / RINGS, b = 2.0 * M_PI * (j + (q >> 1)) / AROUND;
                v[q] = (struct sm_vertex){0.3 * sin(a) * cos(b), 0.3 * sin(a) * sin(b), 1.0 + 0.3 * cos(a)};
            }
            const struct sm_vertex *const order[6] = {&v[0], &v[1], &v[3], &v[0], &v[3], &v[2]};
            for (int f = 0; f < 2; f++) {
                if ((f == 0 && i + 1 == RINGS) || (f == 1 && i == 0))
                    continue;
                for (int q = 0; q < 3; q++)
                    out->corners[3 * out->n + (size_t)q] = *order[3 * f + q];
                out->n++;
            }
        }
}

/* Some nodes' distances against those from all facets one by one, in steps. */
static double facets_error(struct sm_arena *arena, const struct cube *c, const struct sm_triangles *all)
{
    enum { LOOKS = 100 };
    double most = 0.0;
    struct sm_triangles *one = sm_arena_alloc(arena, all->n, sizeof *one);
    struct sm_tree *trees = sm_arena_alloc(arena, all->n, sizeof *trees);
    for (size_t f = 0; f < all->n; f++) {
        one[f] = (struct sm_triangles){.corners = all->corners + 3 * f, .n = 1};
        if (sm_tree_init(arena, &one[f], &trees[f], NULL) != SM_OK)
            abort();
    }
    for (size_t i = 0; i < LOOKS; i++) {
        const size_t at = count(c) / LOOKS * i, n = (size_t)c->nodes;
        const struct sm_vertex p = {-1.0 + (double)(at / n / n) * c->step,
                                    -1.0 + (double)(at / n % n) * c->step, (double)(at % n) * c->step};
        double least = INFINITY;
        for (size_t f = 0; f < all->n; f++) {
            struct sm_nearest near = {.triangle = 0};
            sm_tree_nearest(&trees[f], p, 0, &near);
            least = fmin(least, near.distance);
        }
        most = fmax(most, fabs(c->d[at] - least) / c->step);
    }
    return most;
}

/* Some nodes' distances against those of each by itself, in steps. */
static double fill_error(const struct cube *c, const struct sm_patcher *patcher, const float *floats)
{
    enum { APART = 97 };
    const size_t n = (size_t)c->nodes;
    double most = 0.0;
    for (size_t at = 0; at < count(c); at += APART) {
        const struct sm_triple p = {-1.0 + (double)(at / n / n) * c->step,
                                    -1.0 + (double)(at / n % n) * c->step, (double)(at % n) * c->step};
        const double d = floats ? (double)floats[at] : c->d[at];
        most = fmax(most, fabs(d - sm_patcher_distance(patcher, p)) / c->step);
    }
    return most;
}

/* As long as it takes to write so many bytes, by the quickest of some runs [s]. */
static double time_memset(void *block, size_t size)
{
    enum { RUNS = 9 };
    double least = INFINITY;
    for (int i = 0; i < RUNS; i++) {
        const double start = stopwatch_now();
        memset(block, i, size);
        least = fmin(least, stopwatch_now() - start);
    }
    return least;
}

static void compare_fills(const struct finned *way, const char *folder)
{
    enum { NODES = 256 };
    struct cube exact = new_cube(NODES), cube = new_cube(NODES);
    float *floats = malloc(count(&exact) * sizeof *floats);
    double fills[2][2], most, rms, march_time[2];
    if (!floats)
        abort();
    const double floors[2] = {time_memset(floats, count(&exact) * sizeof *floats),
                              time_memset(exact.d, count(&exact) * sizeof *exact.d)};
    for (int threads = 1; threads <= 2; threads++)
        time_fills(&exact, &way->patcher, threads, floats, &fills[threads - 1][0], &fills[threads - 1][1]);
    printf(
        "distances at %d^3 nodes; errors in steps; filling the block by memset: %.1f ms in floats, %.1f in "
        "doubles\n",
        NODES, 1e3 * floors[0], 1e3 * floors[1]);
    for (int order = 1; order <= 2; order++) {
        march_time[order - 1] = march(folder, &exact, order, &cube);
        if (isnan(march_time[order - 1]))
            continue;
        distance_errors(&cube, &exact, &most, &rms);
        printf("scikit-fmm, order %d, one thread            %10.0f ms            error %.1e, rms %.1e\n",
               order, 1e3 * march_time[order - 1], most, rms);
    }
    const double errors[2] = {fill_error(&exact, &way->patcher, floats),
                              fill_error(&exact, &way->patcher, NULL)};
    for (int kind = 0; kind < 2; kind++)
        for (int threads = 1; threads <= 2; threads++) {
            char name[64];
            snprintf(name, sizeof name, "exact, in %s, %d thread%s", kind ? "doubles" : "floats", threads,
                     threads > 1 ? "s" : "");
            row(name, fills[threads - 1][kind], march_time[1], errors[kind]);
        }
    printf("  two threads take %.1f times as long as memset in floats, %.1f in doubles\n",
           fills[1][0] / floors[0], fills[1][1] / floors[1]);
    free(floats);
    free(cube.d);
    free(exact.d);
}

/* The mesh's at fewer nodes, for the nearest of facets takes a microsecond to find. */
static void compare_facets(struct sm_arena *arena, double marched)
{
    struct cube cube = new_cube(128);
    struct sm_triangles facets;
    struct sm_tree tree;
    ball(arena, &facets);
    if (sm_tree_init(arena, &facets, &tree, NULL) != SM_OK)
        abort();
    cube.tree = &tree;
    for (int threads = 1; threads <= 2; threads++) {
        char name[64];
        const double time = time_facets(&cube, threads);
        snprintf(name, sizeof name, "128^3, ball of %zu facets, %d thread%s", facets.n, threads,
                 threads > 1 ? "s" : "");
        row(name, time, marched, facets_error(arena, &cube, &facets));
    }
    free(cube.d);
}

int main(int argc, char **argv)
{
    static struct finned way;
    struct sm_arena arena;
    if (argc != 2) {
        fputs("usage: bench_marching SOURCE_FOLDER\n", stderr);
        return 2;
    }
    setvbuf(stdout, NULL, _IOLBF, 0); /* what was said stands, whatever comes */
    sm_arena_init(&arena, NULL);
    finned_make(&arena, &way);
    printf("%d levels\n", FINNED_LEVELS);
    const double marched = compare_areas(&arena, &way, argv[1]);
    compare_fills(&way, argv[1]);
    compare_facets(&arena, marched);
    sm_arena_release(&arena);
    return 0;
}
