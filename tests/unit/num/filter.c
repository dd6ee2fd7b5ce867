/*
 * The low-pass against its design formula: the Fourier transform of its response to one impulse must be Butterworth's gain,
 * and real, for what has no phase shifts nothing in time.
 */
#include "num/filter.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

enum { N = 4001, MIDDLE = 2000 };

static void filtered(const struct sm_filter *f, const double *x, double *y)
{
    double *room = malloc((N + 2 * sm_filter_reach(f)) * sizeof *room);
    cr_assert_not_null(room);
    sm_filter_apply(f, x, N, room, y);
    free(room);
}

Test(filter, has_butterworths_gain_and_no_phase)
{
    static double x[N], y[N];
    const double cutoffs[] = {0.01, 0.05, 0.2, 0.4};
    x[MIDDLE] = 1.0;
    for (size_t k = 0; k < SM_COUNT(cutoffs); k++) {
        struct sm_filter f;
        struct sm_error err;
        cr_assert_eq(sm_filter_design(cutoffs[k], &f, &err), SM_OK);
        filtered(&f, x, y);
        for (double at = 0.0; at <= 0.5; at += 0.0125) {
            double real = 0.0, imaginary = 0.0;
            for (int i = 0; i < N; i++) {
                real += y[i] * cos(2.0 * 3.14159265358979323846 * at * (i - MIDDLE));
                imaginary += y[i] * sin(2.0 * 3.14159265358979323846 * at * (i - MIDDLE));
            }
            /* |H|^2 of each pass, from its own definition: 1 / (1 + (W / W1)^4), W = tan(pi f), W1 such that both passes
             * together are 1 / sqrt 2 at the cut-off. */
            const double w = tan(3.14159265358979323846 * at) / tan(3.14159265358979323846 * cutoffs[k]);
            const double gain = 1.0 / (1.0 + (sqrt(2.0) - 1.0) * w * w * w * w);
            cr_expect_float_eq(real, gain, 1e-9, "cut-off %g at %g: %.12g, not %.12g", cutoffs[k], at, real,
                               gain);
            cr_expect_float_eq(imaginary, 0.0, 1e-9);
            cr_expect_float_eq(sm_filter_gain(&f, at), gain, 1e-12);
        }
        cr_expect_float_eq(sm_filter_gain(&f, cutoffs[k]), sqrt(0.5), 1e-12);
    }
}

/* A response of gain 1 at rest keeps the area under a curve that starts and ends at rest. */
Test(filter, keeps_the_area)
{
    static double x[N], y[N];
    double before = 0.0, after = 0.0;
    struct sm_filter f;
    struct sm_error err;
    for (int i = 1000; i < 3000; i++)
        before += x[i] = 100.0 + 5.0 * sin(0.7 * i);
    cr_assert_eq(sm_filter_design(0.02, &f, &err), SM_OK);
    filtered(&f, x, y);
    for (int i = 0; i < N; i++)
        after += y[i];
    cr_expect_float_eq(after / before, 1.0, 1e-10, "%.15g", after / before);
}

/* Straight lines pass unchanged up to both ends, since the turned-over continuation is the same line. */
Test(filter, lets_a_straight_line_pass)
{
    static double x[N], y[N];
    struct sm_filter f;
    struct sm_error err;
    for (int i = 0; i < N; i++)
        x[i] = 3.0 - 0.01 * i;
    cr_assert_eq(sm_filter_design(0.02, &f, &err), SM_OK);
    filtered(&f, x, y);
    for (int i = 0; i < N; i++)
        cr_assert_float_eq(y[i], x[i], 1e-4, "%d: %g, not %g", i, y[i], x[i]);
}

Test(filter, refuses_cutoffs_out_of_range)
{
    const double bad[] = {0.0, -0.1, 0.5, 2.0, SM_NAN};
    for (size_t k = 0; k < SM_COUNT(bad); k++) {
        struct sm_filter f;
        struct sm_error err;
        cr_expect_eq(sm_filter_design(bad[k], &f, &err), SM_E_RANGE);
    }
}

/* Short records are no trouble: one sample, and fewer than the filter reaches. */
Test(filter, takes_short_records)
{
    const double x[] = {1.0, 2.0, 4.0};
    struct sm_filter f;
    struct sm_error err;
    cr_assert_eq(sm_filter_design(0.01, &f, &err), SM_OK);
    double *room = malloc((3 + 2 * sm_filter_reach(&f)) * sizeof *room), y[3];
    cr_assert_not_null(room);
    for (size_t n = 1; n <= 3; n++) {
        sm_filter_apply(&f, x, n, room, y);
        for (size_t i = 0; i < n; i++)
            cr_expect(isfinite(y[i]) && y[i] > -10.0 && y[i] < 10.0);
    }
    free(room);
}
