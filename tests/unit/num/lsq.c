/* Bounds, rank, robust covariance: what the certified sets do not show. */
#include "num/lsq.h"
#include "num/stats.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { N = 400 };

static double seen[N];

/* y = a + b t + c exp(-t), t = 0..4 */
static int three(void *user, const double *x, double *r)
{
    (void)user;
    for (int i = 0; i < N; i++) {
        const double t = 0.01 * i;
        r[i] = x[0] + x[1] * t + x[2] * exp(-t) - seen[i];
    }
    return 1;
}

/* Where the free optimum lies outside, the bounded one of a convex problem lies on the bound. */
Test(lsq, keeps_its_bounds)
{
    const double low[] = {-SM_INF, -SM_INF, 0.0}, high[] = {SM_INF, 0.2, 10.0}, start[] = {0.0, 0.0, 1.0};
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    for (int i = 0; i < N; i++)
        seen[i] = 1.0 + 0.5 * 0.01 * i + 2.0 * exp(-0.01 * i);
    const struct sm_lsq_problem p = {
        .n_params = 3, .n_residuals = N, .residuals = three, .low = low, .high = high};
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_lsq_fit(&p, start, &arena, &fit, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(fit.x[1], 0.2, 1e-6, "%.9g", fit.x[1]);
    const struct sm_lsq_problem free_one = {.n_params = 3, .n_residuals = N, .residuals = three};
    cr_assert_eq(sm_lsq_fit(&free_one, start, &arena, &fit, &err), SM_OK);
    cr_expect_float_eq(fit.x[1], 0.5, 1e-10); /* what the samples were made with */
    sm_arena_release(&arena);
}

static int twin(void *user, const double *x, double *r)
{
    (void)user;
    for (int i = 0; i < N; i++)
        r[i] = (x[0] + x[1]) * i - seen[i];
    return 1;
}

/* Only the sum of the two is seen: the direction least seen is their difference. */
Test(lsq, says_what_it_cannot_tell_apart)
{
    const double start[] = {1.0, 2.0};
    double inverse[4], condition, worst[2];
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    for (int i = 0; i < N; i++)
        seen[i] = 5.0 * i;
    const struct sm_lsq_problem p = {.n_params = 2, .n_residuals = N, .residuals = twin, .tolerance = 1e-6};
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_lsq_fit(&p, start, &arena, &fit, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(fit.x[0] + fit.x[1], 5.0, 1e-6);
    cr_expect_eq(sm_lsq_covariance(fit.jacobian, N, 2, &arena, inverse, &condition, worst, &err),
                 SM_E_NUMERIC);
    cr_expect(condition > 1e6);
    cr_expect_float_eq(fabs(worst[0] - worst[1]), sqrt(2.0), 1e-6);
    sm_arena_release(&arena);
}

static int root(void *user, const double *x, double *r)
{
    (void)user;
    if (x[0] < 0.0)
        return 0;
    r[0] = sqrt(x[0]) - 0.5;
    r[1] = 0.0;
    return 1;
}

/* No answer below zero: the search goes round, and a start there is refused. */
Test(lsq, goes_round_where_there_is_no_answer)
{
    double start[] = {9.0};
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    const struct sm_lsq_problem p = {.n_params = 1, .n_residuals = 2, .residuals = root};
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_lsq_fit(&p, start, &arena, &fit, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(fit.x[0], 0.25, 1e-9);
    start[0] = -1.0;
    cr_expect_eq(sm_lsq_fit(&p, start, &arena, &fit, &err), SM_E_NUMERIC);
    sm_arena_release(&arena);
}

Test(lsq, refuses_what_it_cannot_do)
{
    const double start[] = {1.0, 2.0, 3.0}, low[] = {0.0, 0.0, 4.0}, high[] = {2.0, 2.0, 5.0},
                 wrong[] = {2.0, -1.0, 5.0};
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    sm_arena_init(&arena, NULL);
    const struct sm_lsq_problem few = {.n_params = 3, .n_residuals = 2, .residuals = three};
    cr_expect_eq(sm_lsq_fit(&few, start, &arena, &fit, &err), SM_E_RANGE);
    const struct sm_lsq_problem outside = {
        .n_params = 3, .n_residuals = N, .residuals = three, .low = low, .high = high};
    cr_expect_eq(sm_lsq_fit(&outside, start, &arena, &fit, &err), SM_E_RANGE);
    const struct sm_lsq_problem crossed = {
        .n_params = 3, .n_residuals = N, .residuals = three, .low = low, .high = wrong};
    cr_expect_eq(sm_lsq_fit(&crossed, start, &arena, &fit, &err), SM_E_RANGE);
    sm_arena_release(&arena);
}

/*
 * The mean of a first-order autoregression with factor a: its variance is s^2/n (1 + a)/(1 - a), a closed form, where
 * independence would give s^2/n. With lags enough the robust covariance must come near, and with none it must not.
 */
Test(lsq, robust_covariance_sees_correlation)
{
    enum { M = 20000 };
    static double jac[M], r[M];
    const double a = 0.8;
    unsigned long state = 11;
    double last = 0.0, power = 0.0, inverse = 1.0 / M, robust, plain;
    const size_t end = M;
    struct sm_arena arena;
    struct sm_error err;
    for (int i = 0; i < M; i++) {
        state = state * 3935559000370003845UL + 2691343689449507681UL;
        const double p = 0.5 / M + (double)(state >> 11) / 9007199254740992.0 * (1.0 - 1.0 / M);
        r[i] = last = a * last + sm_stats_normal_quantile(p);
        jac[i] = 1.0;
        power += r[i] * r[i] / M;
    }
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_lsq_robust(jac, r, M, 1, &inverse, &end, 1, 100, &arena, &robust, &err), SM_OK);
    cr_assert_eq(sm_lsq_robust(jac, r, M, 1, &inverse, &end, 1, 0, &arena, &plain, &err), SM_OK);
    const double expected = power / M * (1.0 + a) / (1.0 - a);
    /* Bartlett's weights at 100 lags cost about 4 %; the scatter is sqrt(4/3 100 / 20000), 8 %: thrice both. */
    cr_expect_float_eq(robust, expected, 0.3 * expected, "%g, not %g", robust, expected);
    cr_expect_float_eq(plain, power / M, 1e-3 * power / M);
    sm_arena_release(&arena);
}

/* An answer at the start alone: the search stays there, and there is no slope. */
static int only_once(void *user, const double *x, double *r)
{
    int *n = user;
    for (int i = 0; i < 3; i++)
        r[i] = x[0] - i;
    return (*n)++ == 0;
}

Test(lsq, says_that_there_is_no_slope)
{
    int n = 0;
    const double start[] = {5.0};
    const struct sm_lsq_problem p = {.n_params = 1, .n_residuals = 3, .residuals = only_once, .user = &n};
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    sm_arena_init(&arena, NULL);
    cr_expect_eq(sm_lsq_fit(&p, start, &arena, &fit, &err), SM_E_NUMERIC);
    cr_expect(strstr(err.message, "can't start"), "%s", err.message);
    sm_arena_release(&arena);
}

/* y = exp(-x t): slopes are told a few times only, so that the search, or the last steps after it, come to a point without. */
static int decay(void *user, const double *x, double *r)
{
    (void)user;
    for (int i = 0; i < 5; i++)
        r[i] = exp(-x[0] * i) - 1.0 / (1.0 + i);
    return 1;
}

static int slopes_while_they_last(void *user, const double *x, double *jac)
{
    int *left = user;
    for (int i = 0; i < 5; i++)
        jac[i] = -i * exp(-x[0] * i);
    return (*left)-- > 0;
}

Test(lsq, says_where_slopes_end)
{
    static const char *const words[] = {"can't start", "the least-squares search failed",
                                        "there is no slope where the least-squares search ended"};
    int met[3] = {0};
    const double start[] = {3.0};
    enum sm_status status = SM_E_NUMERIC;
    for (int n = 0; status != SM_OK && n < 1000; n++) {
        int left = n;
        const struct sm_lsq_problem p = {.n_params = 1,
                                         .n_residuals = 5,
                                         .residuals = decay,
                                         .jacobian = slopes_while_they_last,
                                         .user = &left};
        struct sm_arena arena;
        struct sm_lsq_fit fit;
        struct sm_error err = {0};
        sm_arena_init(&arena, NULL);
        status = sm_lsq_fit(&p, start, &arena, &fit, &err);
        cr_expect(status == SM_OK || status == SM_E_NUMERIC, "%d: %s", n, err.message);
        for (int k = 0; k < 3; k++)
            met[k] += strstr(err.message, words[k]) != NULL;
        sm_arena_release(&arena);
    }
    cr_expect_eq(status, SM_OK);
    for (int k = 0; k < 3; k++)
        cr_expect(met[k] > 0, "%s", words[k]);
}
