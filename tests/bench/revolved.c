/*
 * Bodies of revolution: areas at 200 distances burned by the trimmer on the meridian against a plain net of exact distances,
 * from which fronts are taken by straight lines in triangles. Both reckon the burning area alone; what all ten integrals with
 * their two derivatives, and a grain's whole table, take by the trimmer stands beside that. Errors are shares of the largest
 * area: of a tube against its closed form; of an end burner with a recess, the net's against the trimmer, and the trimmer's by
 * the integral of its areas, which is the grain's volume in closed form, or by how far both ways to them disagree.
 *
 *     bench_revolved
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench/stopwatch.h"
#include "grain/meridian.h"
#include "grain/shape.h"
#include "num/gauss.h"

enum { LEVELS = 200, RUNS = 201, NET_RUNS = 25, LINES = 3 };

/* A grain of radius 1 and length 2, and its voids as lines of the meridian. */
struct body {
    const char *name;
    double line[LINES][4];           /* z and r of both ends [m] */
    double (*void_radius)(double z); /* the void lies within it [m] */
    double web;                      /* that levels are spread over [m] */
    double volume;                   /* of propellant [m3] */
    struct sm_meridian meridian;
};

static double level(const struct body *b, int i)
{
    return b->web * (i + 0.5) / LEVELS;
}

/* ---- the trimmer ---- */

static void burn(struct sm_arena *arena, const struct body *b, struct sm_burning_meridian *m)
{
    sm_arena_init(arena, NULL);
    if (sm_meridian_burn(arena, &b->meridian, m, NULL) != SM_OK)
        abort();
}

static void areas_alone(const struct body *b, double *area)
{
    struct sm_arena arena;
    struct sm_burning_meridian m;
    double w[LEVELS];
    burn(&arena, b, &m);
    for (int i = 0; i < LEVELS; i++)
        w[i] = level(b, i);
    if (sm_meridian_areas(&arena, &m, w, LEVELS, area, NULL) != SM_OK)
        abort();
    sm_arena_release(&arena);
}

static void all_integrals(const struct body *b, double *area)
{
    struct sm_arena arena;
    struct sm_burning_meridian m;
    struct sm_geometry_knot knot;
    size_t stage = 0;
    burn(&arena, b, &m);
    for (int i = 0; i < LEVELS; i++) {
        const double w = level(b, i);
        while (stage + 1 < m.stages.n && w > m.stages.items[stage].w1)
            stage++;
        sm_meridian_knot(&m, stage, w, &knot);
        area[i] = -knot.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

static void whole_table(const struct body *b, double *area)
{
    struct sm_arena arena;
    struct sm_geometry g;
    sm_arena_init(&arena, NULL);
    if (sm_meridian_geometry(&arena, &b->meridian, &g, NULL) != SM_OK)
        abort();
    for (int i = 0; i < LEVELS; i++) {
        struct sm_geometry_at at;
        sm_geometry_eval(&g, level(b, i), &at);
        area[i] = -at.slope[SM_VOLUME];
    }
    sm_arena_release(&arena);
}

/* How far the integral of the areas misses the volume. Next to an event an area may go like a root, so places crowd there. */
static double volume_error(const struct body *b)
{
    struct sm_arena arena;
    struct sm_burning_meridian m;
    struct sm_gauss gauss;
    double sum = 0.0;
    burn(&arena, b, &m);
    if (sm_gauss_make(SM_MOST_GAUSS, &gauss) != SM_OK)
        abort();
    for (size_t k = 0; k < m.stages.n; k++) {
        const double from = m.stages.items[k].w0, span = m.stages.items[k].w1 - from;
        double w[SM_MOST_GAUSS], area[SM_MOST_GAUSS];
        for (int i = 0; i < gauss.n; i++)
            w[i] = from + span * gauss.place[i] * gauss.place[i] * (3.0 - 2.0 * gauss.place[i]);
        if (sm_meridian_areas(&arena, &m, w, (size_t)gauss.n, area, NULL) != SM_OK)
            abort();
        for (int i = 0; i < gauss.n; i++)
            sum += span * gauss.share[i] * 6.0 * gauss.place[i] * (1.0 - gauss.place[i]) * area[i];
    }
    sm_arena_release(&arena);
    return fabs(sum / b->volume - 1.0);
}

/* ---- the net ---- */

/* Distances along one line of places, all at z: loops that a compiler makes vectors of. */
static void fill_row(const struct body *b, double z, double h, int n, double *d)
{
    const double bore = b->void_radius(z);
    for (int j = 0; j < n; j++)
        d[j] = SM_INF;
    for (int i = 0; i < LINES; i++) {
        const double *l = b->line[i], dz = l[2] - l[0], dr = l[3] - l[1], scale = 1.0 / (dz * dz + dr * dr);
        for (int j = 0; j < n; j++) {
            const double r = j * h, t = ((z - l[0]) * dz + (r - l[1]) * dr) * scale, up = t > 0.0 ? t : 0.0,
                         s = up < 1.0 ? up : 1.0;
            const double ez = z - l[0] - s * dz, er = r - l[1] - s * dr, square = ez * ez + er * er;
            d[j] = square < d[j] ? square : d[j];
        }
    }
    for (int j = 0; j < n; j++) {
        const double root = sqrt(d[j]);
        d[j] = j * h < bore ? -root : root;
    }
}

/* Area swept by the line on which the distance is w in a triangle of the meridian: from the corner that lies alone on its side of
 * it, over the two sides that meet there. */
static double swept(const double z[3], const double r[3], const double d[3], double w)
{
    static const int alone[8] = {-1, 0, 1, 2, 2, 1, 0, -1};
    const int a = alone[(d[0] < w) + 2 * (d[1] < w) + 4 * (d[2] < w)];
    if (a < 0)
        return 0.0;
    const int b = a < 2 ? a + 1 : 0, c = b < 2 ? b + 1 : 0;
    const double x = (w - d[a]) / (d[b] - d[a]), y = (w - d[a]) / (d[c] - d[a]);
    const double dz = x * (z[b] - z[a]) - y * (z[c] - z[a]), rx = x * (r[b] - r[a]), ry = y * (r[c] - r[a]);
    return M_PI * (2.0 * r[a] + rx + ry) * sqrt(dz * dz + (rx - ry) * (rx - ry));
}

static void add_cell(const struct body *b, double z, double r, double h, const double d[4], double *area)
{
    const double low = d[0] < d[1] ? d[0] : d[1], lower = d[2] < d[3] ? d[2] : d[3];
    const double high = d[0] > d[1] ? d[0] : d[1], higher = d[2] > d[3] ? d[2] : d[3];
    const double least = low < lower ? low : lower, most = high > higher ? high : higher;
    const double scale = LEVELS / b->web;
    const int first = least > 0.0 ? (int)(least * scale + 0.5) : 0, beyond = (int)(most * scale + 0.5),
              end = beyond < LEVELS ? beyond : LEVELS;
    const double z1[3] = {z, z + h, z + h}, r1[3] = {r, r, r + h}, d1[3] = {d[0], d[1], d[2]};
    const double z2[3] = {z, z + h, z}, r2[3] = {r, r + h, r + h}, d2[3] = {d[0], d[2], d[3]};
    for (int i = first; i < end; i++)
        area[i] += swept(z1, r1, d1, level(b, i)) + swept(z2, r2, d2, level(b, i));
}

/* Two rows of the net at a time, which stay in the processor's nearest memory. */
static void by_net(const struct body *b, int cells, double *area)
{
    const int nz = 2 * cells + 1, nr = cells + 1;
    const double h = 1.0 / cells;
    double *rows = malloc(2 * (size_t)nr * sizeof *rows);
    if (!rows)
        abort();
    double *before = rows, *now = rows + nr;
    for (int i = 0; i < LEVELS; i++)
        area[i] = 0.0;
    fill_row(b, 0.0, h, nr, before);
    for (int i = 1; i < nz; i++) {
        fill_row(b, i * h, h, nr, now);
        for (int j = 0; j + 1 < nr; j++) {
            const double corners[4] = {before[j], now[j], now[j + 1], before[j + 1]};
            add_cell(b, (i - 1) * h, j * h, h, corners, area);
        }
        double *swap = before;
        before = now;
        now = swap;
    }
    free(rows);
}

/* ---- both ---- */

static void row(const struct body *b, const char *way, double time, double base, double error)
{
    printf("%-26s %-28s %9.1f us %8.0f x  error %.1e\n", b->name, way, 1e6 * time, base / time, error);
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

/* The least of the runs: what else the machine does falls on the long ones. */
static double least_of(void (*way)(const struct body *, double *), const struct body *b, double *area)
{
    double least = SM_INF;
    for (int i = 0; i < RUNS; i++) {
        const double start = stopwatch_now();
        way(b, area);
        least = fmin(least, stopwatch_now() - start);
    }
    return least;
}

static double least_net(const struct body *b, int cells, double *area)
{
    double least = SM_INF;
    for (int i = 0; i < NET_RUNS; i++) {
        const double start = stopwatch_now();
        by_net(b, cells, area);
        least = fmin(least, stopwatch_now() - start);
    }
    return least;
}

static void compare(const struct body *b, const double *closed_form)
{
    static double alone[LEVELS], all[LEVELS], table[LEVELS], coarse[LEVELS], fine[LEVELS];
    const double slow = least_net(b, 128, coarse), base = least_net(b, 512, fine);
    const double t_alone = least_of(areas_alone, b, alone), t_all = least_of(all_integrals, b, all),
                 t_table = least_of(whole_table, b, table);
    const double *exact = closed_form ? closed_form : all, by_volume = closed_form ? 0.0 : volume_error(b);
    row(b, "net, 128 to the radius", slow, base, worst(coarse, exact));
    row(b, "net, 512 to the radius", base, base, worst(fine, exact));
    row(b, "trimmer, area alone", t_alone, base, fmax(worst(alone, exact), by_volume));
    row(b, "trimmer, all ten integrals", t_all, base,
        fmax(worst(all, closed_form ? exact : alone), by_volume));
    row(b, "trimmer, table of all", t_table, base, worst(table, exact));
}

static double tube_void(double z)
{
    return z < 0.0 || z > 2.0 ? SM_INF : 0.35;
}

static double recess_void(double z)
{
    return z > 2.0 ? SM_INF : z > 1.7 ? 0.2 : z > 1.3 ? 0.5 * (z - 1.3) : 0.0;
}

int main(void)
{
    static double closed[LEVELS];
    struct sm_arena arena;
    struct body tube = {
        "tube, both ends burning",
        {{0.0, 0.35, 2.0, 0.35}, {0.0, 0.35, 0.0, 1.0}, {2.0, 0.35, 2.0, 1.0}},
        tube_void,
        0.65,
        2.0 * M_PI * (1.0 - 0.35 * 0.35),
        {.length = 2.0, .radius = 1.0, .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END}};
    struct body burner = {"end burner with a recess",
                          {{2.0, 0.2, 1.7, 0.2}, {1.7, 0.2, 1.3, 0.0}, {2.0, 0.2, 2.0, 1.0}},
                          recess_void,
                          1.6,
                          2.0 * M_PI - M_PI * 0.04 * (0.3 + 0.4 / 3.0),
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
    printf("%d levels; times against the net of 512 cells, which reckons the area alone\n", LEVELS);
    compare(&tube, closed);
    compare(&burner, NULL);
    sm_arena_release(&arena);
    return 0;
}
