/* Roots known in closed form, by the functions' own inverses. */
#include "num/bracket.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>

static int calls;

static double cube(const void *user, double x)
{
    calls++;
    return x * x * x - *(const double *)user;
}

static double steep(const void *user, double x)
{
    calls++;
    return exp(40.0 * (x - *(const double *)user)) - 1.0;
}

static double jump(const void *user, double x)
{
    calls++;
    return x < *(const double *)user ? -1.0 : 2.0;
}

Test(bracket, finds_roots_to_rounding)
{
    const double two = 2.0, third = 1.0 / 3.0;
    cr_expect(fabs(sm_bracket_root(cube, &two, -3.0, 10.0) - cbrt(2.0)) < 1e-15);
    calls = 0;
    cr_expect(fabs(sm_bracket_root(cube, &two, 1.0, 2.0) - cbrt(2.0)) < 1e-15);
    cr_expect(calls < 15, "%d calls", calls);
    cr_expect(fabs(sm_bracket_root(steep, &third, 0.0, 3.0) - third) < 1e-15);
    cr_expect(fabs(sm_bracket_root(jump, &third, 0.0, 3.0) - third) < 1e-15);
}

Test(bracket, gives_the_nearer_end_where_there_is_no_root)
{
    const double two = 2.0;
    cr_expect(!(sm_bracket_root(cube, &two, 1.5, 2.0) > 1.5) &&
              !(sm_bracket_root(cube, &two, 0.0, 1.0) < 1.0));
}

/* ---- beside GSL's Brent ---- */

static double wave(const void *user, double x)
{
    calls++;
    return sin(x) - *(const double *)user;
}

struct problem {
    double (*f)(const void *user, double x);
    double value; /* [1] */
};

static double as_gsl(double x, void *params)
{
    const struct problem *p = params;
    return p->f(&p->value, x);
}

/* The same roots, in no more calls over all. GSL's stops where its bracket is rounding wide, as ours does. */
Test(bracket, agrees_with_brent)
{
    static const struct {
        struct problem problem;
        double a, b;
    } rows[] = {{{cube, 2.0}, 1.0, 2.0},  {{cube, 2.0}, -3.0, 10.0},  {{cube, 1e-9}, -1.0, 2.0},
                {{steep, 0.3}, 0.0, 3.0}, {{steep, 0.3}, 0.29, 0.31}, {{wave, 0.5}, -1.5, 1.5},
                {{wave, 0.99}, 0.0, 1.57}};
    int ours = 0, theirs = 0;
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct problem problem = rows[i].problem;
        gsl_function f = {as_gsl, &problem};
        calls = 0;
        const double root = sm_bracket_root(problem.f, &problem.value, rows[i].a, rows[i].b);
        ours += calls;
        calls = 0;
        cr_assert_eq(gsl_root_fsolver_set(solver, &f, rows[i].a, rows[i].b), GSL_SUCCESS);
        for (int k = 0; k < 200; k++) {
            gsl_root_fsolver_iterate(solver);
            if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver), gsl_root_fsolver_x_upper(solver),
                                       0.0, 1e-15) == GSL_SUCCESS)
                break;
        }
        theirs += calls;
        cr_expect(fabs(root - gsl_root_fsolver_root(solver)) <= 1e-14 * fmax(1.0, fabs(root)),
                  "%zu: %.17g, %.17g", i, root, gsl_root_fsolver_root(solver));
    }
    gsl_root_fsolver_free(solver);
    cr_expect(ours <= theirs, "%d calls, GSL's %d", ours, theirs);
}
