/* Roots known in closed form, by the functions' own inverses. */
#include "num/bracket.h"

#include <criterion/criterion.h>
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
