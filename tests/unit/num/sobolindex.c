/* Sensitivity indices, points and percentiles against published and exact values. */
#include <criterion/criterion.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "num/parallel.h"
#include "num/percentile.h"
#include "num/points.h"
#include "num/sobolindex.h"

static const double pi = 3.14159265358979323846;

static void ishigami(void *user, int worker, size_t count, const double *u, double *out)
{
    (void)user;
    (void)worker;
    for (size_t i = 0; i < count; i++, u += 3) {
        const double x1 = pi * (2.0 * u[0] - 1.0), x2 = pi * (2.0 * u[1] - 1.0), x3 = pi * (2.0 * u[2] - 1.0);
        out[i] = sin(x1) + 7.0 * pow(sin(x2), 2.0) + 0.1 * pow(x3, 4.0) * sin(x1);
    }
}

/* Indices 0.3139, 0.4424, 0; totals 0.5576, 0.4424, 0.2437 for a = 7, b = 0.1.
 * Reference: T. Ishigami, T. Homma, Proc. ISUMA'90, IEEE, 1990, 398; values as in A. Saltelli, K. Chan, E. Scott, Sensitivity
 * Analysis, Wiley 2000 (from memory), and by the closed form V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V13 = b^2 pi^8 8/225. */
Test(sobolindex, of_ishigami_are_those_published)
{
    const double first[] = {0.3139, 0.4424, 0.0}, total[] = {0.5576, 0.4424, 0.2437};
    const struct sm_sobol_study study = {.n = 8192, .d = 3, .k = 1, .seed = 3, .model = ishigami};
    struct sm_sobol_index index[3];
    size_t used;
    cr_assert_eq(sm_sobol_indices(&study, index, &used, NULL), SM_OK);
    cr_expect_eq(used, 8192 * 5);
    for (int i = 0; i < 3; i++) {
        cr_expect(fabs(index[i].first - first[i]) < 4.0 * index[i].first_error + 1e-4, "first %d: %g", i,
                  index[i].first);
        cr_expect(fabs(index[i].total - total[i]) < 4.0 * index[i].total_error + 1e-4, "total %d: %g", i,
                  index[i].total);
        cr_expect(fabs(index[i].first - first[i]) < 0.01 && fabs(index[i].total - total[i]) < 0.01,
                  "points this even do better than independent ones: %g, %g", index[i].first, index[i].total);
    }
}

static const double g_weights[] = {0.0, 1.0, 4.5, 9.0};

static void g_function(void *user, int worker, size_t count, const double *u, double *out)
{
    (void)user;
    (void)worker;
    for (size_t k = 0; k < count; k++) {
        out[k] = 1.0;
        for (size_t i = 0; i < 4; i++)
            out[k] *= (fabs(4.0 * u[4 * k + i] - 2.0) + g_weights[i]) / (1.0 + g_weights[i]);
    }
}

/* V_i = 1/(3 (1 + a_i)^2), V = prod (1 + V_i) - 1, total V_i prod_{j != i} (1 + V_j).
 * Reference: A. Saltelli, I. Sobol', Reliab. Eng. Syst. Saf. 50 (1995) 225. */
Test(sobolindex, of_the_g_function_are_the_closed_form)
{
    const struct sm_sobol_study study = {.n = 8192, .d = 4, .k = 1, .seed = 5, .model = g_function};
    struct sm_sobol_index index[4];
    double product = 1.0;
    size_t used;
    cr_assert_eq(sm_sobol_indices(&study, index, &used, NULL), SM_OK);
    for (int i = 0; i < 4; i++)
        product *= 1.0 + 1.0 / (3.0 * pow(1.0 + g_weights[i], 2.0));
    for (int i = 0; i < 4; i++) {
        const double v = 1.0 / (3.0 * pow(1.0 + g_weights[i], 2.0));
        cr_expect_float_eq(index[i].first, v / (product - 1.0), 0.01);
        cr_expect_float_eq(index[i].total, v * product / (1.0 + v) / (product - 1.0), 0.01);
    }
}

/* The same bits from any number of threads. */
Test(sobolindex, do_not_depend_on_threads)
{
    struct sm_sobol_index one[3], many[3];
    struct sm_sobol_study study = {.n = 256, .d = 3, .k = 1, .seed = 3, .threads = 1, .model = ishigami};
    size_t used;
    cr_assert_eq(sm_sobol_indices(&study, one, &used, NULL), SM_OK);
    study.threads = 8;
    cr_assert_eq(sm_sobol_indices(&study, many, &used, NULL), SM_OK);
    for (int i = 0; i < 3; i++)
        cr_expect(one[i].first == many[i].first && one[i].total == many[i].total);
}

/* ---- points ---- */

/* Each of n = 2^m equal strata of every column holds one point: of Sobol points with a digital shift by their being nets in
 * one dimension, of a Latin hypercube by its making. */
static void expect_strata(size_t n, size_t d, int is_latin)
{
    double *u = malloc(n * d * sizeof *u);
    unsigned char *seen = calloc(n, 1);
    cr_assert(u && seen);
    cr_assert_eq(sm_points(n, d, 11, is_latin, u, NULL), SM_OK);
    for (size_t j = 0; j < d; j++) {
        size_t held = 0;
        for (size_t i = 0; i < n; i++) {
            const double x = u[j * n + i];
            cr_assert(x > 0.0 && x < 1.0);
            seen[(size_t)(x * (double)n)] = (unsigned char)(j + 1);
        }
        for (size_t i = 0; i < n; i++)
            held += seen[i] == (unsigned char)(j + 1);
        /* GSL's sequence leaves out the origin, so that of Sobol's net one stratum is met twice and one not at all. */
        cr_expect(held >= n - 1, "column %zu: %zu of %zu strata", j, held, n);
    }
    free(u);
    free(seen);
}

Test(points, fill_every_column_evenly)
{
    expect_strata(1024, 41, 0); /* one more than Sobol points are known for */
    expect_strata(1024, 41, 1);
    expect_strata(1000, 3, 1);
}

Test(points, of_a_column_do_not_depend_on_the_others)
{
    enum { N = 64 };
    static double few[2 * N], many[45 * N];
    cr_assert_eq(sm_points(N, 2, 7, 0, few, NULL), SM_OK);
    cr_assert_eq(sm_points(N, 45, 7, 0, many, NULL), SM_OK);
    for (size_t i = 0; i < 2 * N; i++)
        cr_expect(few[i] == many[i]);
}

/* ---- percentiles ---- */

/* The rank p (n + 1) of n uniform samples has the mean p exactly, and the order statistic of rank r has the variance
 * r (n + 1 - r) / ((n + 1)^2 (n + 2)): H. David, H. Nagaraja, Order Statistics, 2003, sec. 2.2 and 3.1. */
Test(percentile, has_the_mean_and_the_error_of_order_statistics)
{
    enum { N = 99, TRIALS = 4000 };
    static const double shares[] = {0.16, 0.5, 0.84}; /* whole ranks of 100 */
    for (size_t s = 0; s < SM_COUNT(shares); s++) {
        const double p = shares[s], rank = p * (N + 1);
        const double sigma = sqrt(rank * (N + 1 - rank) / ((double)(N + 1) * (N + 1) * (N + 2)));
        double sum = 0.0, squares = 0.0, told = 0.0, x[N];
        for (uint64_t t = 0; t < TRIALS; t++) {
            double error;
            for (uint64_t i = 0; i < N; i++)
                x[i] = ldexp((double)(sm_random(t, i) >> 11), -53);
            sm_sort(x, N);
            const double value = sm_percentile(x, N, p, &error);
            sum += value;
            squares += (value - p) * (value - p);
            told += error;
        }
        cr_expect(fabs(sum / TRIALS - p) < 4.0 * sigma / sqrt(TRIALS), "mean at %g: %g", p, sum / TRIALS);
        cr_expect(fabs(sqrt(squares / TRIALS) / sigma - 1.0) < 4.0 / sqrt(2.0 * TRIALS), "scatter at %g", p);
        /* The error told is right on average to a twentieth: with 99 samples it is itself an estimate. */
        cr_expect(fabs(told / TRIALS / sigma - 1.0) < 0.05, "error told at %g: %g of %g", p, told / TRIALS,
                  sigma);
    }
}

/* Where a rank of the error lies beyond the samples it is still that of the same variance, within what a one-sided distance can
 * tell; where the percentile's own rank does, none is told. */
Test(percentile, has_an_error_near_the_ends_and_none_beyond_them)
{
    enum { N = 60, TRIALS = 4000 };
    const double p = 0.025, rank = p * (N + 1);
    const double sigma = sqrt(rank * (N + 1 - rank) / ((double)(N + 1) * (N + 1) * (N + 2)));
    double told = 0.0, x[N], error;
    for (uint64_t t = 0; t < TRIALS; t++) {
        for (uint64_t i = 0; i < N; i++)
            x[i] = ldexp((double)(sm_random(t, i) >> 11), -53);
        sm_sort(x, N);
        sm_percentile(x, N, p, &error);
        told += error / TRIALS;
    }
    cr_expect(told > 0.9 * sigma && told < 1.3 * sigma, "%g of %g", told, sigma);
    sm_percentile(x, 38, p, &error); /* rank 0.975 */
    cr_expect(isnan(error));
    sm_percentile(x, 39, p, &error);
    cr_expect(error > 0.0);
}

/* Found by partial ordering, they are those of the sorted samples to the bit: for few and many, with ties and with all alike. */
Test(percentile, of_unsorted_samples_is_that_of_sorted_ones)
{
    static const double shares[] = {0.0, 0.025, 0.16, 0.5, 0.505, 0.84, 0.975, 1.0};
    static const size_t counts[] = {1, 2, 3, 7, 100, 5000};
    static double x[5000], sorted[5000];
    double out[SM_COUNT(shares)];
    for (size_t c = 0; c < SM_COUNT(counts); c++)
        for (int steps = 1; steps < 5000; steps *= 17) {
            for (size_t i = 0; i < counts[c]; i++)
                sorted[i] = x[i] = (double)(sm_random(c, i) % (uint64_t)steps);
            sm_sort(sorted, counts[c]);
            sm_percentiles(x, counts[c], shares, SM_COUNT(shares), out);
            for (size_t k = 0; k < SM_COUNT(shares); k++)
                cr_expect(out[k] == sm_percentile(sorted, counts[c], shares[k], NULL), "%zu samples, %g",
                          counts[c], shares[k]);
        }
}

/* ---- threads ---- */

struct counts {
    int done[500];
    size_t until;
};

static void count(void *user, int worker, size_t i)
{
    struct counts *c = user;
    (void)worker;
    c->done[i]++;
}

static int stop_at(void *user, double fraction)
{
    return fraction >= *(const double *)user;
}

Test(parallel, does_every_round_once_or_stops)
{
    static struct counts c;
    double half = 0.5;
    const struct sm_progress progress = {.step = stop_at, .user = &half};
    cr_assert_eq(sm_parallel_for(500, 4, count, &c, NULL), 500);
    for (int i = 0; i < 500; i++)
        cr_expect_eq(c.done[i], 1);
    cr_expect_eq(sm_parallel_for(500, 1, count, &c, &progress), 250);
}

static void no_answer(void *user, int worker, size_t count, const double *u, double *out)
{
    (void)user, (void)worker, (void)u;
    for (size_t i = 0; i < count; i++)
        out[i] = SM_NAN;
}

Test(sobolindex, refuses_what_has_no_answer)
{
    struct sm_sobol_index index[3];
    struct sm_error err = {0};
    size_t used;
    struct sm_sobol_study study = {.n = 16, .d = 3, .k = 1, .seed = 3, .model = no_answer};
    cr_expect_eq(sm_sobol_indices(&study, index, &used, &err), SM_E_NUMERIC);
    cr_expect(strstr(err.message, "fewer than two points"), "%s", err.message);
    study.n = 1;
    cr_expect_eq(sm_sobol_indices(&study, index, &used, &err), SM_E_RANGE);
    cr_expect(strstr(err.message, "a study of 1 points"), "%s", err.message);
}
