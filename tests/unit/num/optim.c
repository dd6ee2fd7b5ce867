/*
 * The searching driver against functions and problems with known optima.
 *
 * The functions are those of NLopt's own test program, test/testfuncs.c of NLopt 2.7, with its bounds and minima; HS71 is
 * problem 71 of W. Hock and K. Schittkowski, Test Examples for Nonlinear Programming Codes, 1981; the problem with two cubic
 * limits is that of NLopt's tutorial (all from memory, each minimum put into its function here to check).
 */
#include <criterion/criterion.h>
#include <math.h>

#include "num/optim.h"

static const double pi = 3.14159265358979323846;

struct function {
    const char *name;
    size_t n;
    double low[10], high[10];
    double minimum; /* [1] */
    double (*f)(const double *x);
};

static double rosenbrock(const double *x)
{
    return 100.0 * pow(x[1] - x[0] * x[0], 2.0) + pow(1.0 - x[0], 2.0);
}

static double mccormick(const double *x)
{
    return sin(x[0] + x[1]) + pow(x[0] - x[1], 2.0) - 1.5 * x[0] + 2.5 * x[1] + 1.0;
}

static double box_betts(const double *x)
{
    double sum = 0.0;
    for (int i = 1; i <= 10; i++) {
        const double g = exp(-0.1 * i * x[0]) - exp(-0.1 * i * x[1]) - (exp(-0.1 * i) - exp(-i)) * x[2];
        sum += g * g;
    }
    return sum;
}

static double paviani(const double *x)
{
    double sum = 0.0, product = 1.0;
    for (int i = 0; i < 10; i++) {
        sum += pow(log(x[i] - 2.0), 2.0) + pow(log(10.0 - x[i]), 2.0);
        product *= x[i];
    }
    return sum - pow(product, 0.2);
}

static double goldstein_price(const double *x)
{
    const double a = x[0], b = x[1];
    return (1.0 +
            pow(a + b + 1.0, 2.0) * (19.0 - 14.0 * a + 3.0 * a * a - 14.0 * b + 6.0 * a * b + 3.0 * b * b)) *
           (30.0 + pow(2.0 * a - 3.0 * b, 2.0) *
                       (18.0 - 32.0 * a + 12.0 * a * a + 48.0 * b - 36.0 * a * b + 27.0 * b * b));
}

static double shekel(const double *x)
{
    static const double a[10][4] = {{4, 4, 4, 4}, {1, 1, 1, 1}, {8, 8, 8, 8}, {6, 6, 6, 6}, {3, 7, 3, 7},
                                    {2, 9, 2, 9}, {5, 5, 3, 3}, {8, 1, 8, 1}, {6, 2, 6, 2}, {7, 3.6, 7, 3.6}};
    static const double c[10] = {.1, .2, .2, .4, .4, .6, .3, .7, .5, .5};
    double sum = 0.0;
    for (int i = 0; i < 10; i++) {
        double d = c[i];
        for (int k = 0; k < 4; k++)
            d += pow(x[k] - a[i][k], 2.0);
        sum -= 1.0 / d;
    }
    return sum;
}

static double six_hump_camel(const double *x)
{
    const double a = x[0] * x[0], b = x[1] * x[1];
    return (4.0 - 2.1 * a + a * a / 3.0) * a + x[0] * x[1] + (4.0 * b - 4.0) * b;
}

static double branin(const double *x)
{
    const double a = 1.0 - 2.0 * x[1] + 0.05 * sin(4.0 * pi * x[1]) - x[0];
    const double b = x[1] - 0.5 * sin(2.0 * pi * x[0]);
    return a * a + b * b;
}

static double shubert(const double *x)
{
    double sum = 0.0;
    for (int j = 1; j <= 5; j++)
        for (int i = 0; i < 2; i++)
            sum -= j * sin((j + 1) * x[i] + j);
    return sum;
}

static const struct function functions[] = {
    {"rosenbrock", 2, {-2, -2}, {2, 2}, 0.0, rosenbrock},
    {"mccormick", 2, {-1.5, -3}, {4, 4}, -1.913222954981, mccormick},
    {"box betts", 3, {0.9, 9, 0.9}, {1.2, 11.2, 1.2}, 0.0, box_betts},
    {"paviani",
     10,
     {2.001, 2.001, 2.001, 2.001, 2.001, 2.001, 2.001, 2.001, 2.001, 2.001},
     {9.999, 9.999, 9.999, 9.999, 9.999, 9.999, 9.999, 9.999, 9.999, 9.999},
     -45.77846970744629,
     paviani},
    {"goldstein price", 2, {-2, -2}, {2, 2}, 3.0, goldstein_price},
    {"shekel", 4, {0, 0, 0, 0}, {10, 10, 10, 10}, -10.5364098166920, shekel},
    {"six-hump camel", 2, {-5, -5}, {5, 5}, -1.031628453489877, six_hump_camel},
    {"branin", 2, {-10, -10}, {10, 10}, 0.0, branin},
    {"shubert", 2, {-10, -10}, {10, 10}, -24.06249888, shubert},
};

static enum sm_optim_answer look(void *user, const double *x, double *goal, double *limits)
{
    const struct function *f = user;
    (void)limits;
    *goal = f->f(x);
    return SM_OPTIM_GOOD;
}

/* Within 1e-4 of the minimum, absolute for minima of zero: what is asked of a sizing is far less. */
Test(optim, finds_the_minima_of_nlopts_test_functions)
{
    for (size_t k = 0; k < sizeof functions / sizeof functions[0]; k++) {
        struct function f = functions[k];
        struct sm_optim_variable v[10];
        struct sm_optim_result r;
        struct sm_error err = {0};
        for (size_t i = 0; i < f.n; i++)
            v[i] = (struct sm_optim_variable){f.low[i], f.high[i], 0};
        const struct sm_optim_problem problem = {.variables = v, .n = f.n, .eval = look, .user = &f};
        for (uint64_t seed = 1; seed <= 3; seed++) {
            const struct sm_optim_options o = {.seed = seed, .restarts = 4, .tolerance = 1e-9};
            cr_assert_eq(sm_optim_search(&problem, NULL, &o, &r, &err), SM_OK, "%s", err.message);
            cr_expect(fabs(r.goal - f.minimum) < 1e-4 * fmax(1.0, fabs(f.minimum)),
                      "%s, seed %d: %.9g, not %.9g", f.name, (int)seed, r.goal, f.minimum);
            cr_expect(r.agreeing >= 1 && r.agreeing <= r.searches);
        }
    }
}

/* min sqrt(y) with y >= (2 x)^3 and y >= (1 - x)^3: 0.5443310539518174 at (1/3, 8/27). */
static enum sm_optim_answer cubic(void *user, const double *x, double *goal, double *limits)
{
    (void)user;
    *goal = sqrt(x[1]);
    limits[0] = pow(2.0 * x[0], 3.0) - x[1];
    limits[1] = pow(1.0 - x[0], 3.0) - x[1];
    return SM_OPTIM_GOOD;
}

static enum sm_optim_answer hs71(void *user, const double *x, double *goal, double *limits)
{
    double squares = 0.0;
    (void)user;
    for (int i = 0; i < 4; i++)
        squares += x[i] * x[i];
    *goal = x[0] * x[3] * (x[0] + x[1] + x[2]) + x[2];
    limits[0] = (25.0 - x[0] * x[1] * x[2] * x[3]) / 25.0;
    limits[1] = (squares - 40.0) / 40.0;
    limits[2] = (40.0 - squares) / 40.0;
    return SM_OPTIM_GOOD;
}

Test(optim, keeps_limits_and_meets_the_published_optimum)
{
    static const struct sm_optim_variable two[] = {{-10, 10, 0}, {0, 100, 0}};
    static const struct sm_optim_variable four[] = {{1, 5, 0}, {1, 5, 0}, {1, 5, 0}, {1, 5, 0}};
    struct sm_optim_result r;
    struct sm_error err = {0};
    const struct sm_optim_problem a = {.variables = two, .n = 2, .m = 2, .eval = cubic};
    const struct sm_optim_problem b = {.variables = four, .n = 4, .m = 3, .eval = hs71};
    const struct sm_optim_options o = {.seed = 1, .restarts = 2, .tolerance = 1e-6};
    cr_assert_eq(sm_optim_search(&a, NULL, &o, &r, &err), SM_OK, "%s", err.message);
    cr_expect(r.violation <= 0.0 && fabs(r.goal - 0.5443310539518174) < 1e-4, "%.9g", r.goal);
    cr_expect(fabs(r.x[0] - 1.0 / 3.0) < 1e-3 && fabs(r.x[1] - 8.0 / 27.0) < 1e-3, "%g %g", r.x[0], r.x[1]);
    cr_assert_eq(sm_optim_search(&b, NULL, &o, &r, &err), SM_OK, "%s", err.message);
    cr_expect(r.violation <= 0.0 && fabs(r.goal / 17.0140173 - 1.0) < 1e-4, "%.9g", r.goal);
}

/* Two whole numbers and one that is not: against every pair of them, the third then in closed form. The limit is
 * i k + x >= 11.5, the goal (i - 3.4)^2 + (k - 2.6)^2 + x with 0 <= x <= 2. */
static enum sm_optim_answer mixed(void *user, const double *x, double *goal, double *limits)
{
    (void)user;
    *goal = pow(x[0] - 3.4, 2.0) + pow(x[1] - 2.6, 2.0) + x[2];
    limits[0] = 11.5 - x[0] * x[1] - x[2];
    return floor(x[0]) < x[0] || floor(x[1]) < x[1] ? SM_OPTIM_NO_SUCH_POINT : SM_OPTIM_GOOD;
}

Test(optim, of_whole_numbers_is_the_best_of_all)
{
    static const struct sm_optim_variable v[] = {{1, 9, 1}, {1, 9, 1}, {0, 2, 0}};
    struct sm_optim_result r;
    struct sm_error err = {0};
    double best = SM_INF;
    for (int i = 1; i <= 9; i++)
        for (int k = 1; k <= 9; k++) {
            const double x = fmax(0.0, 11.5 - i * k);
            if (x <= 2.0)
                best = fmin(best, pow(i - 3.4, 2.0) + pow(k - 2.6, 2.0) + x);
        }
    const struct sm_optim_problem p = {.variables = v, .n = 3, .m = 1, .eval = mixed};
    const struct sm_optim_options o = {.seed = 1, .restarts = 2, .tolerance = 1e-6};
    cr_assert_eq(sm_optim_search(&p, NULL, &o, &r, &err), SM_OK, "%s", err.message);
    cr_expect(fabs(r.goal - best) < 1e-4, "%g, not %g", r.goal, best);
}

static enum sm_optim_answer impossible(void *user, const double *x, double *goal, double *limits)
{
    int *left = user;
    *goal = x[0];
    limits[0] = 1.0 + x[0];
    return left && --*left < 0 ? SM_OPTIM_STOP : SM_OPTIM_GOOD;
}

Test(optim, tells_the_nearest_where_no_point_keeps_the_limits_and_stops_when_told)
{
    static const struct sm_optim_variable v[] = {{0, 1, 0}};
    struct sm_optim_result r;
    struct sm_error err = {0};
    struct sm_optim_problem p = {.variables = v, .n = 1, .m = 1, .eval = impossible};
    const struct sm_optim_options o = {.seed = 1, .restarts = 1, .tolerance = 1e-6};
    cr_assert_eq(sm_optim_search(&p, NULL, &o, &r, &err), SM_OK, "%s", err.message);
    cr_expect(r.found && fabs(r.violation - 1.0) < 1e-6, "%g", r.violation);
    for (int after = 0; after < 200; after += 13) {
        int left = after;
        p.user = &left;
        const enum sm_status status = sm_optim_search(&p, NULL, &o, &r, &err);
        cr_expect(status == SM_E_CANCELLED || left >= 0, "after %d: %d", after, (int)status);
    }
}
