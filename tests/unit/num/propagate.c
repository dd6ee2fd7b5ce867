/*
 * Propagation of uncertainty against JCGM 100:2008 (GUM), examples H.1 and H.2. Both from memory; that H.2's observations
 * give the printed means, and those the printed results, says that they were remembered right.
 */
#include "num/propagate.h"
#include "num/stats.h"

#include <criterion/criterion.h>
#include <math.h>

/* H.1: length of an end gauge, l = ls + d - ls (da (th_m + D) + as dt) with as and da the coefficient of expansion and its
 * difference, th_m the bench's temperature off 20 degC, D its swing and dt the difference of temperatures [nm, degC]. */
static enum sm_status gauge(void *user, const double *x, double *y, struct sm_error *err)
{
    (void)user;
    (void)err;
    y[0] = x[0] + x[1] - x[0] * (x[2] * (x[3] + x[4]) + x[5] * x[6]);
    return SM_OK;
}

Test(propagate, gum_h1)
{
    /* Table H.1: u(ls) = 25 nm; u(d) = 9.7 nm; u(da) = 0.58e-6; u(th_m) = 0.2, u(D) = 0.35 degC; u(as) = 1.2e-6; u(dt) =
     * 0.029 degC. */
    const double x[] = {50000623.0, 215.0, 0.0, -0.1, 0.0, 11.5e-6, 0.0};
    const double u[] = {25.0, 9.7, 0.58e-6, 0.2, 0.35, 1.2e-6, 0.029};
    double covariance[49] = {0.0}, y[1], yy[1], slopes[7];
    struct sm_arena arena;
    struct sm_error err;
    for (int i = 0; i < 7; i++)
        covariance[i * 8] = u[i] * u[i];
    const struct sm_propagation p = {
        .n_inputs = 7, .n_outputs = 1, .inputs = x, .covariance = covariance, .model = gauge};
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_propagate(&p, &arena, y, yy, slopes, &err), SM_OK);
    cr_expect_float_eq(y[0], 50000838.0, 0.5);
    cr_expect_float_eq(sqrt(yy[0]), 32.0, 0.5, "%g", sqrt(yy[0])); /* printed: 32 nm */
    cr_expect_float_eq(fabs(slopes[2]) * u[2], 2.9, 0.05);         /* printed: 2.9 nm */
    cr_expect_float_eq(fabs(slopes[6]) * u[6], 16.6, 0.1);         /* printed: 16.6 nm */
    sm_arena_release(&arena);
}

/* H.2: resistance, reactance and impedance from voltage [V], current [A] and phase [rad]. */
static enum sm_status impedance(void *user, const double *x, double *y, struct sm_error *err)
{
    (void)user;
    (void)err;
    y[0] = x[0] / x[1] * cos(x[2]);
    y[1] = x[0] / x[1] * sin(x[2]);
    y[2] = x[0] / x[1];
    return SM_OK;
}

Test(propagate, gum_h2)
{
    enum { SETS = 5 };
    static const double seen[3][SETS] = {{5.007, 4.994, 5.005, 4.990, 4.999},
                                         {19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
                                         {1.0456, 1.0438, 1.0468, 1.0428, 1.0433}};
    double x[3], xx[9], y[3], yy[9], slopes[9];
    struct sm_arena arena;
    struct sm_error err;
    for (int a = 0; a < 3; a++)
        x[a] = sm_stats_mean(seen[a], SETS);
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++) {
            xx[a * 3 + b] = 0.0;
            for (int i = 0; i < SETS; i++)
                xx[a * 3 + b] += (seen[a][i] - x[a]) * (seen[b][i] - x[b]) / (SETS * (SETS - 1));
        }
    cr_expect_float_eq(x[2], 1.04446, 5e-6);                      /* printed means */
    cr_expect_float_eq(xx[2] / sqrt(xx[0] * xx[8]), 0.86, 0.005); /* printed correlation of V and phase */
    const struct sm_propagation p = {
        .n_inputs = 3, .n_outputs = 3, .inputs = x, .covariance = xx, .model = impedance};
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_propagate(&p, &arena, y, yy, slopes, &err), SM_OK);
    const double value[] = {127.732, 219.847, 254.260}, u[] = {0.071, 0.295, 0.236}; /* table H.4 */
    for (int a = 0; a < 3; a++) {
        cr_expect_float_eq(y[a], value[a], 5e-4, "%.6g", y[a]);
        cr_expect_float_eq(sqrt(yy[a * 4]), u[a], 1e-3, "%.4g", sqrt(yy[a * 4]));
    }
    cr_expect_float_eq(yy[1] / sqrt(yy[0] * yy[4]), -0.588, 2e-3); /* R and X */
    cr_expect_float_eq(yy[2] / sqrt(yy[0] * yy[8]), -0.485, 2e-3); /* R and Z */
    cr_expect_float_eq(yy[5] / sqrt(yy[4] * yy[8]), 0.993, 2e-3);  /* X and Z */
    sm_arena_release(&arena);
}
