#include "num/sobolindex.h"

#include <math.h>
#include <stdlib.h>

#include "num/parallel.h"
#include "num/points.h"
#include "num/stats.h"

enum { MAX_INPUTS = 128 };

/* Values of the model: f[(row * n + point) * k + output]; row 0 at A, 1 at B, 2 + i at A with B's input i. */
struct table {
    const struct sm_sobol_study *study;
    const double *u; /* 2 d columns of n [1] */
    double *f;       /* [unit of the output] */
};

static void fill_batch(void *user, int worker, size_t batch)
{
    const struct table *t = user;
    const struct sm_sobol_study *s = t->study;
    const size_t first = batch * SM_SOBOL_BATCH, left = s->n * (s->d + 2) - first;
    const size_t count = left < SM_SOBOL_BATCH ? left : SM_SOBOL_BATCH;
    double u[SM_SOBOL_BATCH * MAX_INPUTS];
    for (size_t i = 0; i < count; i++) {
        const size_t row = (first + i) / s->n, point = (first + i) % s->n;
        for (size_t j = 0; j < s->d; j++) {
            const int of_b = row == 1 || row == 2 + j;
            u[i * s->d + j] = t->u[((of_b ? s->d : 0) + j) * s->n + point];
        }
    }
    s->model(s->user, worker, count, u, t->f + first * s->k);
}

static double value(const struct table *t, size_t row, size_t point, size_t output)
{
    return t->f[(row * t->study->n + point) * t->study->k + output];
}

/* Points at which output j has an answer in every row. */
static size_t collect(const struct table *t, size_t j, size_t *points)
{
    size_t n = 0;
    for (size_t p = 0; p < t->study->n; p++) {
        int is_whole = 1;
        for (size_t row = 0; row < t->study->d + 2; row++)
            is_whole = is_whole && isfinite(value(t, row, p, j));
        if (is_whole)
            points[n++] = p;
    }
    return n;
}

static void index_of(const struct table *t, size_t i, size_t j, const size_t *points, size_t n, double *room,
                     double mean, double variance, struct sm_sobol_index *out)
{
    const double scale = 1.0 / (variance * sqrt((double)n));
    for (size_t p = 0; p < n; p++) {
        const double b = value(t, 1, points[p], j) - mean;
        room[p] = b * (value(t, 2 + i, points[p], j) - value(t, 0, points[p], j));
    }
    out->first = sm_stats_mean(room, n) / variance;
    out->first_error = sm_stats_deviation(room, n) * scale;
    for (size_t p = 0; p < n; p++)
        room[p] = 0.5 * pow(value(t, 0, points[p], j) - value(t, 2 + i, points[p], j), 2.0);
    out->total = sm_stats_mean(room, n) / variance;
    out->total_error = sm_stats_deviation(room, n) * scale;
}

static enum sm_status reckon(const struct table *t, size_t *points, double *room, struct sm_sobol_index *out,
                             struct sm_error *err)
{
    const struct sm_sobol_study *s = t->study;
    for (size_t j = 0; j < s->k; j++) {
        const size_t n = collect(t, j, points);
        if (n < 2)
            return sm_fail(err, SM_E_NUMERIC,
                           "fewer than two points have an answer with every input changed");
        for (size_t p = 0; p < n; p++) {
            room[p] = value(t, 0, points[p], j);
            room[n + p] = value(t, 1, points[p], j);
        }
        const double mean = sm_stats_mean(room, 2 * n), deviation = sm_stats_deviation(room, 2 * n);
        const int varies = deviation > 1e-12 * fabs(mean); /* above rounding */
        for (size_t i = 0; i < s->d; i++) {
            struct sm_sobol_index *index = &out[i * s->k + j];
            *index = (struct sm_sobol_index){SM_NAN, SM_NAN, SM_NAN, SM_NAN};
            if (varies)
                index_of(t, i, j, points, n, room, mean, deviation * deviation, index);
        }
    }
    return SM_OK;
}

static size_t count_answers(const struct table *t)
{
    const size_t rounds = t->study->n * (t->study->d + 2);
    size_t n = 0;
    for (size_t r = 0; r < rounds; r++)
        n += isfinite(t->f[r * t->study->k]) ? 1 : 0;
    return n;
}

enum sm_status sm_sobol_indices(const struct sm_sobol_study *study, struct sm_sobol_index *out,
                                size_t *n_used, struct sm_error *err)
{
    const size_t n = study->n, d = study->d, rounds = n * (d + 2);
    const size_t batches = (rounds + SM_SOBOL_BATCH - 1) / SM_SOBOL_BATCH;
    if (d < 1 || d > MAX_INPUTS || n < 2)
        return sm_fail(err, SM_E_RANGE, "a study of %zu points and %zu inputs", n, d);
    double *u = malloc(2 * d * n * sizeof *u), *f = malloc(rounds * study->k * sizeof *f);
    double *room = malloc(2 * n * sizeof *room);
    size_t *points = malloc(n * sizeof *points);
    const struct table table = {study, u, f};
    enum sm_status status = u && f && room && points ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = sm_points(n, 2 * d, study->seed, study->is_latin, u, err);
    if (status == SM_OK && sm_parallel_for(batches, study->threads, fill_batch, (void *)(uintptr_t)&table,
                                           study->progress) < batches)
        status = sm_fail(err, SM_E_CANCELLED, "stopped");
    if (status == SM_OK) {
        *n_used = count_answers(&table);
        status = reckon(&table, points, room, out, err);
    }
    free(u);
    free(f);
    free(room);
    free(points);
    return status;
}
