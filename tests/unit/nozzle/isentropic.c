/* Isentropic relations against printed tables and an independent 50-digit computation. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>

#include "nozzle/isentropic.h"
#include "reference/reference.h"

static double mach_of(double gamma, double area_ratio, int supersonic)
{
    double mach = 0.0;
    struct sm_error err;
    cr_assert_eq(sm_flow_mach(gamma, area_ratio, supersonic, &mach, &err), SM_OK, "%s", err.message);
    return mach;
}

Test(isentropic, printed_tables)
{
    struct ref_table *t = ref_read("isentropic-tables.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double gamma = ref_number(t, i, "gamma"), mach = ref_number(t, i, "mach");
        ref_expect(t, i, "pressure_ratio", sm_flow_pressure_ratio(gamma, mach));
        ref_expect(t, i, "area_ratio", sm_flow_area_ratio(gamma, mach));
    }
    free(t);
}

Test(isentropic, ratios_to_all_digits)
{
    struct ref_table *t = ref_read("isentropic-ratios.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double gamma = ref_number(t, i, "gamma"), mach = ref_number(t, i, "mach");
        ref_expect(t, i, "pressure_ratio", sm_flow_pressure_ratio(gamma, mach));
        ref_expect(t, i, "area_ratio", sm_flow_area_ratio(gamma, mach));
        if (mach == 1.0)
            ref_expect(t, i, "pressure_ratio", sm_flow_critical_ratio(gamma));
    }
    free(t);
}

Test(isentropic, mach_to_all_digits)
{
    struct ref_table *t = ref_read("isentropic-mach.csv");
    for (size_t i = 0; i < t->n_rows; i++)
        ref_expect(t, i, "mach",
                   mach_of(ref_number(t, i, "gamma"), ref_number(t, i, "area_ratio"),
                           ref_number(t, i, "supersonic") > 0.0));
    free(t);
}

Test(isentropic, mach_in_a_grain_port)
{
    struct ref_table *t = ref_read("port-mach.csv");
    for (size_t i = 0; i < t->n_rows; i++)
        ref_expect(t, i, "mach", mach_of(ref_number(t, i, "gamma"), ref_number(t, i, "area_ratio"), 0));
    free(t);
}

/* The two branches meet at the throat, from a hair above it too. */
Test(isentropic, throat)
{
    for (double gamma = 1.01; gamma < 1.68; gamma += 0.06) {
        cr_expect_eq(mach_of(gamma, 1.0, 0), 1.0);
        cr_expect_eq(mach_of(gamma, 1.0, 1), 1.0);
        const double above = mach_of(gamma, 1.0 + 1e-15, 1), below = mach_of(gamma, 1.0 + 1e-15, 0);
        cr_expect(above > 1.0 && above < 1.0 + 1e-6 && below < 1.0 && below > 1.0 - 1e-6, "%.17g %.17g",
                  above, below);
    }
}

/* Over the whole range that the program may meet, the answer gives back the area ratio. */
Test(isentropic, there_and_back)
{
    for (double gamma = 1.01; gamma < 1.68; gamma += 0.022)
        for (double area = 1.0; area < 2e6; area *= 1.7)
            for (int supersonic = 0; supersonic < 2; supersonic++) {
                const double back = sm_flow_area_ratio(gamma, mach_of(gamma, area, supersonic));
                /* d ln A/d ln M is at most 200 in this range; times 1e-14 */
                cr_expect(fabs(back / area - 1.0) < 2e-12, "gamma %g area %g: back %.17g", gamma, area, back);
            }
}

Test(isentropic, published_thrust_coefficients)
{
    struct ref_table *t = ref_read("thrust-coefficient.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double gamma = ref_number(t, i, "gamma"), eps = ref_number(t, i, "eps"),
                     pc = ref_number(t, i, "pc");
        const double pa = ref_has(t, i, "pa") ? ref_number(t, i, "pa") : 101325.0;
        double cf, vacuum;
        cr_assert_eq(sm_flow_thrust_coefficient(gamma, eps, pc, pa, &cf, NULL), SM_OK);
        ref_expect(t, i, "cf", cf);
        ref_expect(t, i, "exit_mach", mach_of(gamma, eps, 1));
        /* identity: the ambient pressure acts on the exit alone */
        cr_assert_eq(sm_flow_thrust_coefficient(gamma, eps, pc, 0.0, &vacuum, NULL), SM_OK);
        cr_expect_float_eq(vacuum - cf, eps * pa / pc, 1e-15 * vacuum * 4.0);
    }
    free(t);
}

Test(isentropic, published_exit_pressures)
{
    struct ref_table *t = ref_read("exit-pressure.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double gamma = ref_number(t, i, "gamma");
        const double mach = mach_of(gamma, ref_number(t, i, "eps"), 1);
        ref_expect(t, i, "exit_ratio", sm_flow_pressure_ratio(gamma, mach));
    }
    free(t);
}

Test(isentropic, vacuum_thrust_to_all_digits)
{
    struct ref_table *t = ref_read("thrust-coefficient-vacuum.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        double cf;
        cr_assert_eq(sm_flow_thrust_coefficient(ref_number(t, i, "gamma"), ref_number(t, i, "eps"), 1e6, 0.0,
                                                &cf, NULL),
                     SM_OK);
        ref_expect(t, i, "cf", cf);
    }
    free(t);
}

Test(isentropic, refuses_what_is_not_physical)
{
    double x = 7.0;
    struct sm_error err;
    cr_expect_eq(sm_flow_mach(1.2, 0.999, 1, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_mach(1.0, 2.0, 1, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_mach(1.2, (double)NAN, 1, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_mach(1.2, (double)INFINITY, 1, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_thrust_coefficient(1.2, 0.5, 1e6, 0.0, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_thrust_coefficient(1.2, 4.0, 0.0, 0.0, &x, &err), SM_E_RANGE);
    cr_expect_eq(sm_flow_thrust_coefficient(1.2, 4.0, 1e6, -1.0, &x, &err), SM_E_RANGE);
    cr_expect_eq(x, 7.0, "output touched on failure");
}
