/*
 * Whole burns at sea level, from ignition through separation and unchoking to the end of the tail, against the same
 * equations written again (plainchamber.h) and integrated by GSL. Propellant numbers stand here as the files have them.
 */
#include "bench_motor.h"
#include "plainchamber.h"

/* Invented numbers, those of the example propellant. */
static const struct plain_chamber end_burner = {.outer = 14.5e-3,
                                                .length = 88e-3,
                                                .density = 1680.0,
                                                .law = {{8e6, 4.1e-3, 0.42}},
                                                .n_segments = 1,
                                                .gamma = 1.22,
                                                .flame = 2300.0,
                                                .molar = 23.5e-3,
                                                .efficiency = 0.95,
                                                .throat = 2e-3,
                                                .exit = 4e-3,
                                                .angle = 0.2617993877991494,
                                                .zeta = 0.95,
                                                .ambient = 101325.0,
                                                .start = 0.6e6,
                                                .spread = 0.02,
                                                .free = 30e-6};

/* A wide cone, from which the flow comes loose long before the tail is over. */
static const struct plain_chamber tubes = {.outer = 18e-3,
                                           .bore = 10e-3,
                                           .length = 44e-3,
                                           .count = 4,
                                           .ends = 1,
                                           .density = 1680.0,
                                           .law = {{8e6, 4.1e-3, 0.42}},
                                           .n_segments = 1,
                                           .gamma = 1.22,
                                           .flame = 2300.0,
                                           .molar = 23.5e-3,
                                           .efficiency = 0.95,
                                           .throat = 9e-3,
                                           .exit = 27e-3,
                                           .angle = 0.2617993877991494,
                                           .zeta = 0.9,
                                           .ambient = 101325.0,
                                           .start = 0.5e6,
                                           .spread = 0.015,
                                           .free = 120e-6};

/* R. Nakka, Experimental Rocketry Web Site, burning-rate pages (from memory): a plateau with an exponent below zero. */
static const struct plain_chamber sugar_tubes = {.outer = 20e-3,
                                                 .bore = 8e-3,
                                                 .length = 60e-3,
                                                 .count = 3,
                                                 .ends = 1,
                                                 .density = 1841.0,
                                                 .law = {{0.807e6, 10.708e-3, 0.625},
                                                         {1.503e6, 8.763e-3, -0.314},
                                                         {3.792e6, 7.852e-3, -0.013},
                                                         {7.033e6, 3.907e-3, 0.535},
                                                         {10.67e6, 9.653e-3, 0.064}},
                                                 .n_segments = 5,
                                                 .gamma = 1.136,
                                                 .flame = 1600.0,
                                                 .molar = 39.9e-3,
                                                 .efficiency = 0.98,
                                                 .throat = 12.5e-3,
                                                 .exit = 25e-3,
                                                 .angle = 0.2617993877991494,
                                                 .zeta = 0.95,
                                                 .ambient = 101325.0,
                                                 .start = 1.6e6,
                                                 .spread = 0.0,
                                                 .free = 150e-6};

static void compare(const struct plain_chamber *c, const char *propellant)
{
    char text[2048];
    struct plain_totals totals;
    plain_write(c, propellant, text, sizeof text);
    plain_march(c, &totals);
    struct sm_motor *motor = load_text(text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    cr_expect(relative(motor->propellant_mass, plain_mass(c)) < 1e-12);
    cr_expect(relative(motor->gas.cstar, plain_cstar(c)) < 1e-12);
    cr_expect(relative(r->thrust.total_impulse, totals.impulse) < 1e-6, "%s: impulse %.12g against %.12g",
              propellant, r->thrust.total_impulse, totals.impulse);
    cr_expect(relative(r->chamber.pressure_maximum, totals.peak) < 1e-6, "%s: peak %.12g against %.12g",
              propellant, r->chamber.pressure_maximum, totals.peak);
    /* every row of the series obeys the plain nozzle, and the mass flow too */
    for (size_t i = 0; i < r->series.n; i += 7) {
        const double p = r->series.pressure[i], most = r->thrust.maximum;
        cr_expect(fabs(r->series.thrust[i] - plain_thrust(c, p)) < 1e-9 * most, "thrust at %.9g Pa", p);
        cr_expect(relative(r->series.mass_flow[i], plain_mass_flow(c, p)) < 1e-9, "mass flow at %.9g Pa", p);
    }
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(sealevel, an_end_burner_agrees_with_gsl_to_its_end)
{
    compare(&end_burner, "demo-slow-composite");
}

Test(sealevel, tubes_with_a_wide_cone_agree_with_gsl_to_their_end)
{
    compare(&tubes, "demo-slow-composite");
}

Test(sealevel, a_sugar_plateau_agrees_with_gsl_to_its_end)
{
    compare(&sugar_tubes, "knsb");
}
