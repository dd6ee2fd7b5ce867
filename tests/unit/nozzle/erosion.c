/* A wall that wears: its speed, and a jet through a throat that is no longer the first one. */
#include <criterion/criterion.h>
#include <math.h>

#include "nozzle/isentropic.h"
#include "nozzle/nozzle.h"

Test(erosion, speed_is_the_given_power_of_pressure)
{
    /* 0.1 mm/s at 7 MPa with exponent 0.8 is 0.1 * 2^0.8 = 0.174110 mm/s at 14 MPa: arithmetic. */
    const struct sm_wear wear = {.rate = 1e-4, .at = 7e6, .exponent = 0.8};
    double slope;
    cr_expect_float_eq(sm_wear_speed(&wear, 7e6, NULL), 1e-4, 1e-19);
    cr_expect_float_eq(sm_wear_speed(&wear, 14e6, &slope), 1.7411011265922482e-4, 1e-18);
    const double up = sm_wear_speed(&wear, 14e6 * (1.0 + 1e-5), NULL);
    const double down = sm_wear_speed(&wear, 14e6 * (1.0 - 1e-5), NULL);
    cr_expect_float_eq(slope, (up - down) / (2e-5 * 14e6),
                       1e-8 * slope); /* central difference, h^2 = 1e-10 */
}

Test(erosion, a_wall_without_a_rate_stands_still)
{
    const struct sm_wear none = {.rate = SM_ABSENT, .at = SM_ABSENT, .exponent = 0.8};
    double slope = 1.0;
    cr_expect_eq(sm_wear_speed(&none, 1e6, &slope), 0.0);
    cr_expect_eq(slope, 0.0);
}

static struct sm_jet jet_through(double throat, double exit, double ambient)
{
    const struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = exit, .half_angle = 0.2, .thrust_efficiency = 0.97};
    struct sm_jet jet;
    cr_assert_eq(sm_jet_init(&jet, &nozzle, throat, 1.2, 1500.0, 9.46e5, ambient, NULL), SM_OK);
    return jet;
}

Test(erosion, a_resized_jet_is_the_jet_of_that_size)
{
    const double first = 0.25 * M_PI * 1e-4;
    for (double factor = 0.3; factor < 8.9; factor *= 1.4) {
        struct sm_jet resized = jet_through(first, 0.03, 101325.0);
        const struct sm_jet fresh = jet_through(factor * first, 0.03, 101325.0);
        sm_jet_resize(&resized, factor * first);
        cr_expect_float_eq(resized.attached_pressure, fresh.attached_pressure,
                           1e-14 * fresh.attached_pressure);
        for (double p = 1.05e5; p < 2e7; p *= 1.7) {
            double a, b;
            cr_expect_float_eq(sm_jet_thrust(&resized, p, &a, NULL), sm_jet_thrust(&fresh, p, &b, NULL),
                               1e-13 * p * first);
            cr_expect_float_eq(a, b, 1e-13 * first);
            cr_expect_float_eq(sm_jet_mass_flow(&resized, p, NULL), sm_jet_mass_flow(&fresh, p, NULL), 1e-17);
        }
    }
}

/* Against the isentropic thrust coefficient at the new area ratio, itself tested by published tables. */
Test(erosion, thrust_follows_the_new_area_ratio)
{
    const double first = 0.25 * M_PI * 1e-4, pc = 5e6;
    const struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = 0.03, .thrust_efficiency = 1.0};
    struct sm_jet jet;
    cr_assert_eq(sm_jet_init(&jet, &nozzle, first, 1.2, 1500.0, 9.46e5, 101325.0, NULL), SM_OK);
    for (int i = -3; i <= 10; i++) {
        const double area = first * (1.0 + 0.1 * i);
        double cf;
        sm_jet_resize(&jet, area);
        cr_assert_eq(sm_flow_thrust_coefficient(1.2, 9.0 * first / area, pc, 101325.0, &cf, NULL), SM_OK);
        cr_expect_float_eq(sm_jet_thrust(&jet, pc, NULL, NULL), cf * pc * area, 1e-12 * pc * area);
    }
}

Test(erosion, without_a_cone_the_exit_wears_with_the_throat)
{
    const double first = 0.25 * M_PI * 1e-4;
    struct sm_jet jet = jet_through(first, 0.01, 0.0);
    sm_jet_resize(&jet, 2.0 * first);
    cr_expect_float_eq(jet.exit_area, 2.0 * first, 1e-20);
    cr_expect_eq(jet.lambda_exit, 1.0);
}
