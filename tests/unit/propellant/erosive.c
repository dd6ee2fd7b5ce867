/*
 * Erosive burning. No published example with numbers could be read, so the implicit form is held against an independent root
 * by GSL's Brent solver, GSL's Lambert function, its limits, and two solutions worked out apart from this program (called
 * regression, since nobody published them).
 */
#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_sf_lambert.h>
#include <math.h>
#include <string.h>

#include "propellant/propellant.h"

static const double none = SM_ABSENT;

static struct sm_erosive absent(void)
{
    return (struct sm_erosive){none, none, none, 53.0, none, none, none, none, none, none, none};
}

/* alpha = 2.0e-5 in SI, as a rate at G = 1000 kg/m2s and D = 20 mm. */
static struct sm_erosive_law law_of(double density)
{
    struct sm_erosive e = absent();
    struct sm_erosive_law law;
    e.flux = 1000.0;
    e.diameter = 0.02;
    e.rate = 2.0e-5 * pow(1000.0, 0.8) * pow(0.02, -0.2);
    cr_assert_eq(sm_erosive_check(&e, none, NULL), SM_OK);
    sm_erosive_init(&law, &e, density, 294.0, none);
    cr_expect_float_eq(law.alpha, 2.0e-5, 1e-18);
    return law;
}

/* P-1770 of open course notes (D. Davis, PROPULSION, module 21) at 7 MPa: 9.8799 mm/s without erosion, 1770 kg/m3. */
Test(erosive, two_solutions_as_worked_out_before)
{
    const struct sm_erosive_law law = law_of(1770.0);
    cr_expect_float_eq(sm_erosive_rate(&law, 9.8799e-3, 500.0, 0.02), 10.724e-3, 1e-6, "regression");
    cr_expect_float_eq(sm_erosive_rate(&law, 9.8799e-3, 1500.0, 0.02), 15.606e-3, 1e-6, "regression");
}

struct balance {
    double r0, flux, diameter, alpha, shield; /* as in the law */
};

static double miss(double r, void *user)
{
    const struct balance *b = user;
    return r - b->r0 - b->alpha * pow(b->flux, 0.8) * pow(b->diameter, -0.2) * exp(-b->shield * r / b->flux);
}

static double root_of(struct balance *b)
{
    gsl_function f = {miss, b};
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    const double most = b->r0 + b->alpha * pow(b->flux, 0.8) * pow(b->diameter, -0.2);
    cr_assert_eq(gsl_root_fsolver_set(solver, &f, 0.0, 1.01 * most), GSL_SUCCESS);
    for (int i = 0; i < 200; i++)
        gsl_root_fsolver_iterate(solver);
    const double root = gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    return root;
}

Test(erosive, the_rate_is_the_only_root)
{
    const struct sm_erosive_law law = law_of(1770.0);
    for (double flux = 20.0; flux < 2e4; flux *= 1.7)
        for (double d = 1e-3; d < 1.0; d *= 4.0)
            for (double r0 = 1e-4; r0 < 0.1; r0 *= 5.0) {
                struct balance b = {r0, flux, d, law.alpha, law.shield};
                const double r = sm_erosive_rate(&law, r0, flux, d);
                cr_expect_float_eq(r, root_of(&b), 1e-12 * r, "G %g, D %g, r0 %g", flux, d, r0);
                cr_expect(r >= r0);
                const double q = law.shield / flux;
                const double w =
                    gsl_sf_lambert_W0(q * law.alpha * pow(flux, 0.8) * pow(d, -0.2) * exp(-q * r0));
                cr_expect_float_eq(r - r0, w / q, 1e-13 * r);
                /* What is added is the same from any guess; its last step is of the order of the cube of 3e-5. */
                const double bare = sm_erosive_bare(&law, flux, pow(flux * d, -0.2));
                for (double guess = 0.0; guess < 0.2; guess = 3.0 * guess + 1e-5)
                    cr_expect_float_eq(r0 + sm_erosive_added(&law, r0, flux, bare, guess), r, 1e-12 * r,
                                       "from %g", guess);
            }
}

Test(erosive, limits_and_trends)
{
    const struct sm_erosive_law law = law_of(1770.0);
    const double r0 = 8e-3;
    cr_expect_eq(sm_erosive_rate(&law, r0, 0.0, 0.02), r0);
    cr_expect_float_eq(sm_erosive_rate(&law, r0, 1e-3, 0.02), r0, 1e-15);
    double last = r0;
    for (double flux = 100.0; flux < 1e5; flux *= 1.5) {
        const double r = sm_erosive_rate(&law, r0, flux, 0.02);
        cr_expect(r >= last, "falls at %g", flux);
        last = r;
        cr_expect(sm_erosive_rate(&law, r0, flux, 0.04) <= r);
    }
    /* at great flux nothing shields the wall any more: beta rho r / G goes as G^-0.2, and is 0.004 here */
    const double bare = law.alpha * pow(1e15, 0.8) * pow(0.02, -0.2);
    cr_expect_float_eq(sm_erosive_rate(&law, r0, 1e15, 0.02), r0 + bare, 5e-3 * bare);
}

/* The constant by the gas, from its formula by hand: c_p 2000, mu 8e-5, Pr 0.7, T_f 2800, T_s 900, c_s 1300, T_p 300, 1700
 * kg/m3: 0.0288 * 2000 * 0.1515717 * 1.2684343 * 1900 / (1700 * 1300 * 600) = 1.586787e-5. */
Test(erosive, the_constant_follows_from_the_gas)
{
    struct sm_erosive e = absent();
    struct sm_erosive_law law;
    e.gas_specific_heat = 2000.0;
    e.viscosity = 8e-5;
    e.prandtl = 0.7;
    e.surface_temperature = 900.0;
    e.solid_specific_heat = 1300.0;
    cr_assert_eq(sm_erosive_check(&e, 2800.0, NULL), SM_OK);
    sm_erosive_init(&law, &e, 1700.0, 300.0, 2800.0);
    cr_expect_float_eq(law.alpha, 1.586787e-5, 1e-11, "%.9g", law.alpha);
    cr_expect_eq(law.shield, 53.0 * 1700.0);
}

Test(erosive, a_threshold_is_a_straight_line_above_it)
{
    struct sm_erosive e = absent();
    struct sm_erosive_law law;
    e.threshold = 700.0;
    e.gain = 5e-6;
    cr_assert_eq(sm_erosive_check(&e, none, NULL), SM_OK);
    sm_erosive_init(&law, &e, 1700.0, 300.0, none);
    cr_expect_eq(sm_erosive_rate(&law, 6e-3, 650.0, 0.01), 6e-3);
    cr_expect_float_eq(sm_erosive_rate(&law, 6e-3, 1000.0, 0.01), 7.5e-3, 1e-17);
}

Test(erosive, without_constants_there_is_none)
{
    const struct sm_erosive e = absent();
    struct sm_erosive_law law;
    cr_assert_eq(sm_erosive_check(&e, none, NULL), SM_OK);
    sm_erosive_init(&law, &e, 1700.0, 300.0, none);
    cr_expect_eq(law.form, SM_EROSIVE_NONE);
    cr_expect_eq(sm_erosive_rate(&law, 6e-3, 5000.0, 0.01), 6e-3);
}

static void refuse(const struct sm_erosive *e, double flame, const char *pointer, const char *words)
{
    struct sm_error err = {0};
    cr_expect_neq(sm_erosive_check(e, flame, &err), SM_OK);
    cr_expect_str_eq(err.at.path, pointer);
    cr_expect(strstr(err.message, words), "%s", err.message);
}

Test(erosive, what_is_missing_or_given_twice_is_told)
{
    struct sm_erosive e = absent();
    e.rate = 1e-3;
    refuse(&e, none, "/flux", "flux is missing");
    e.flux = 1000.0;
    e.diameter = 0.02;
    e.threshold = 500.0;
    refuse(&e, none, "/gain", "gain is missing");
    e.gain = 1e-6;
    refuse(&e, none, "/threshold", "one way");
    e = absent();
    e.gas_specific_heat = 2000.0;
    e.viscosity = 8e-5;
    e.prandtl = 0.7;
    e.solid_specific_heat = 1300.0;
    refuse(&e, 2500.0, "/surface_temperature", "missing");
    e.surface_temperature = 900.0;
    refuse(&e, none, "/viscosity", "flame_temperature");
    refuse(&e, 800.0, "/surface_temperature", "not cooler");
}
