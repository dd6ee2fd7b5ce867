/*
 * Statistics against published examples: NIST/SEMATECH e-Handbook of Statistical Methods (www.itl.nist.gov/div898/handbook),
 * read earlier and quoted from memory where so marked, and tables of quantiles in any textbook of statistics.
 */
#include "num/stats.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

static int ascending(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Uniform in [0, 1): the numbers only need to be many and different. L'Ecuyer, Math. Comp. 68 (1999) 249, table 2. */
static double next(unsigned long *state)
{
    *state = *state * 3935559000370003845UL + 2691343689449507681UL;
    return (double)(*state >> 11) / 9007199254740992.0;
}

/* The median is by definition what sorting puts in the middle. */
Test(stats, median_is_what_sorting_gives)
{
    unsigned long state = 1;
    for (size_t n = 1; n < 60; n++)
        for (int levels = 1; levels < 30; levels += 7) { /* few levels: many ties */
            double a[60], b[60];
            for (size_t i = 0; i < n; i++)
                a[i] = b[i] = floor(next(&state) * levels);
            qsort(b, n, sizeof *b, ascending);
            cr_assert_eq(sm_stats_median(a, n), 0.5 * (b[(n - 1) / 2] + b[n / 2]));
        }
}

/* 1.4826: the normal quantile of 3/4 is 0.67449 (any table). */
Test(stats, scatter_of_a_normal_sample)
{
    enum { N = 20001 };
    static double x[N];
    for (size_t i = 0; i < N; i++)
        x[i] = 3.0 + 2.0 * sm_stats_normal_quantile(((double)i + 0.5) / N);
    for (size_t i = 0; i < N / 10; i++)
        x[i * 7] +=
            1e6; /* a tenth gone astray does little: the quantile moves to that of 0.75 / 0.9 at the most */
    const double scatter = sm_stats_scatter(x, N, 3.0);
    cr_expect(scatter > 2.0 && scatter < 2.0 * 0.967 / 0.674, "%g", scatter);
}

Test(stats, quantiles)
{
    /* Student 0.975 at 1, 10, infinity; chi squared 0.95 at 1 and 10; normal 0.975: any table. */
    cr_expect_float_eq(sm_stats_student_quantile(0.975, 1.0), 12.706, 5e-4);
    cr_expect_float_eq(sm_stats_student_quantile(0.975, 10.0), 2.228, 5e-4);
    cr_expect_float_eq(sm_stats_student_quantile(0.975, 1e6), 1.960, 5e-4);
    cr_expect_float_eq(sm_stats_chi_squared_quantile(0.95, 1.0), 3.841, 5e-4);
    cr_expect_float_eq(sm_stats_chi_squared_quantile(0.95, 10.0), 18.307, 5e-4);
    cr_expect_float_eq(sm_stats_chi_squared_above(18.307, 10.0), 0.05, 5e-6);
    cr_expect_float_eq(sm_stats_normal_quantile(0.975), 1.959964, 5e-7);
    cr_expect_float_eq(sm_stats_normal_below(-1.959964), 0.025, 5e-8);
    cr_expect(isnan(sm_stats_normal_quantile(1.0)) && isnan(sm_stats_student_quantile(0.5, 0.0)));
}

/* 43 samples, 90 % of the population at 99 %: 2.217, the e-Handbook's example 7.2.6.3 (read). Exact factors for 95 % at
 * 95 %: 9.916 for 3 samples, 4.414 for 6 (C. Eisenhart et al., Techniques of Statistical Analysis, 1947, table 2.1; from
 * memory), which Howe's formula meets to 1 %. */
Test(stats, tolerance_factor)
{
    cr_expect_float_eq(sm_stats_tolerance_factor(43, 0.90, 0.99), 2.217, 0.0005);
    cr_expect_float_eq(sm_stats_tolerance_factor(6, 0.95, 0.95), 4.414, 0.01 * 4.414);
    cr_expect_float_eq(sm_stats_tolerance_factor(3, 0.95, 0.95), 9.916, 0.01 * 9.916);
    cr_expect(isnan(sm_stats_tolerance_factor(1, 0.95, 0.95)));
}

/* Eight mass-spectrometer readings of Tietjen and Moore; e-Handbook 1.3.5.17.1: mean 203.68, deviation 16.97, G = 2.4687;
 * critical value 2.032 one-sided at 0.05, which is that of a two-sided test at 0.10 (from memory). */
Test(stats, grubbs)
{
    const double x[] = {199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57};
    size_t place;
    double statistic, critical;
    cr_assert(sm_stats_grubbs(x, SM_COUNT(x), 0.10, &place, &statistic, &critical));
    cr_expect_eq(place, 7u);
    cr_expect_float_eq(statistic, 2.4687, 1e-4);
    cr_expect_float_eq(critical, 2.032, 1e-3);
    const double same[] = {1.0, 1.0, 1.0};
    cr_expect_not(sm_stats_grubbs(same, 3, 0.05, &place, &statistic, &critical));
}

/* A straight line is found exactly; slope and scatter of four points by hand: y = 1, 3, 2, 4 at 0..3 has slope 0.8, mean
 * 2.5, residuals -0.3, 0.9, -0.9, 0.3. */
Test(stats, line)
{
    const double t[] = {0.0, 1.0, 2.0, 3.0}, y[] = {1.0, 3.0, 2.0, 4.0}, same[] = {1.0, 1.0, 1.0, 1.0};
    struct sm_stats_line line;
    cr_assert(sm_stats_line_fit(t, y, 4, &line));
    cr_expect_float_eq(line.slope, 0.8, 1e-15);
    cr_expect_float_eq(line.at_middle, 2.5, 1e-15);
    cr_expect_float_eq(line.deviation, sqrt(1.8 / 2.0), 1e-15);
    cr_expect_not(sm_stats_line_fit(same, y, 4, &line));
    cr_expect_not(sm_stats_line_fit(t, y, 2, &line));
}

/* A first-order autoregression with factor a has 1 + 2 sum a^k = (1 + a) / (1 - a): closed form. */
Test(stats, correlation_length)
{
    enum { N = 40000 };
    static double y[N];
    const double factors[] = {0.0, 0.5, 0.9};
    for (size_t k = 0; k < SM_COUNT(factors); k++) {
        unsigned long state = 7;
        double last = 0.0;
        for (size_t i = 0; i < N; i++)
            y[i] = last =
                factors[k] * last + sm_stats_normal_quantile(0.5 / N + next(&state) * (1.0 - 1.0 / N));
        const double expected = (1.0 + factors[k]) / (1.0 - factors[k]);
        /* The scatter of such an estimate is about sqrt(20 length / N) of it: 4 % at the longest; thrice that. */
        cr_expect_float_eq(sm_stats_correlation_length(y, N), expected, 0.2 * expected, "%g: %g", factors[k],
                           sm_stats_correlation_length(y, N));
    }
}

/* e-Handbook 1.3.5.13's formulas by hand: + + - - + + has 3 runs of 4 and 2 signs: expected 16/6 + 1 = 11/3, variance
 * 16 (16 - 6) / (36 * 5) = 8/9. Durbin and Watson of alternating signs: 4 (n - 1) / n. */
Test(stats, residual_tests)
{
    const double y[] = {1.0, 2.0, -1.0, -1.0, 0.5, 3.0}, up[] = {1.0, 1.0}, saw[] = {1.0, -1.0, 1.0, -1.0};
    cr_expect_float_eq(sm_stats_runs(y, 6), (3.0 - 11.0 / 3.0) / sqrt(8.0 / 9.0), 1e-12);
    cr_expect(sm_stats_runs(up, 2) == -SM_INF);
    cr_expect_float_eq(sm_stats_durbin_watson(saw, 4), 3.0, 1e-15);
}
