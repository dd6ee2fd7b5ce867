/*
 * Burning-rate laws that step, against GSL on the same law with the step spread out. A step down holds the pressure: as the
 * spread shrinks, the smooth problem's answer goes to that of the sliding mode (A. F. Filippov, Differential Equations with
 * Discontinuous Righthand Sides, 1988, ch. 2). A step up gives two pressures at which the chamber may rest: the one that
 * continues the past counts, so pressure climbs and falls at different burning areas. All motors are invented.
 */
#include "bench_motor.h"
#include "plainchamber.h"

#include <stdio.h>

/* A bore that widens through what a step down by a tenth at 2 MPa can hold. */
static const struct plain_chamber held = {.outer = 18e-3,
                                          .bore = 9e-3,
                                          .length = 150e-3,
                                          .count = 1,
                                          .density = 1700.0,
                                          .law = {{2e6, 6.5e-3, 0.3}, {9e6, 5.85e-3, 0.3}},
                                          .n_segments = 2,
                                          .gamma = 1.2,
                                          .flame = 2000.0,
                                          .molar = 24e-3,
                                          .efficiency = 1.0,
                                          .throat = 10.9e-3,
                                          .exit = 18e-3,
                                          .angle = 0.2,
                                          .zeta = 1.0,
                                          .ambient = 101325.0,
                                          .start = 1.2e6,
                                          .spread = 0.0,
                                          .free = 600e-6};

static struct sm_motor *load_plain(const struct plain_chamber *c)
{
    char text[4096];
    plain_write(c, NULL, text, sizeof text);
    return load_text(text, NULL, 0);
}

Test(steps, a_held_pressure_is_the_limit_of_a_smooth_law)
{
    static const double smears[] = {1e-2, 1e-3, 1e-4};
    struct sm_motor *motor = load_plain(&held);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    double rested = 0.0, before = 1.0;
    for (size_t i = 1; i < r->series.n; i++)
        if (r->series.pressure[i] == 2e6 && r->series.pressure[i - 1] == 2e6)
            rested += r->series.time[i] - r->series.time[i - 1];
    cr_expect(rested > 0.1 * r->thrust.burn_time, "rested for %g s", rested);
    for (size_t i = 0; i < SM_COUNT(smears); i++) {
        struct plain_chamber c = held;
        struct plain_totals totals;
        c.smear = smears[i];
        plain_march(&c, &totals);
        const double off = relative(r->thrust.total_impulse, totals.impulse);
        /* The smooth law rests off the joint by up to half of the spread, for an eighth of the burn; impulse hardly depends on the
         * pressure at which gas is let out, so a share of some thousandths of that is left. */
        cr_expect(off < 0.005 * smears[i], "spread over %g: impulse off by %g", smears[i], off);
        cr_expect(off < 0.15 * before, "no tenth of the last: %g after %g", off, before);
        before = off;
    }
    sm_result_free(r);
    sm_motor_free(motor);
}

/* Four tubes of neutral-ended length: burning area rises by an eighth and comes back. */
static const struct plain_chamber hump = {.outer = 25e-3,
                                          .bore = 10e-3,
                                          .length = 85e-3,
                                          .count = 2,
                                          .ends = 1,
                                          .density = 1700.0,
                                          .law = {{2e6, 5.2e-3, 0.3}, {9e6, 5.72e-3, 0.3}},
                                          .n_segments = 2,
                                          .gamma = 1.2,
                                          .flame = 2000.0,
                                          .molar = 24e-3,
                                          .efficiency = 1.0,
                                          .throat = 0.0,
                                          .exit = 24e-3,
                                          .angle = 0.2,
                                          .zeta = 1.0,
                                          .ambient = 101325.0,
                                          .start = 0.5e6,
                                          .spread = 0.0,
                                          .free = 150e-6};

/* Pressure at which one segment's gas equals what flows out, choked: the fixed point of a closed form. */
static double rest_of(const struct plain_chamber *c, int segment, double w)
{
    const double throat = 0.25 * 3.14159265358979323846 * c->throat * c->throat;
    const struct plain_segment *s = &c->law[segment];
    double p = 2e6;
    for (int i = 0; i < 100; i++) {
        const double made =
            (c->density - p / plain_rt(c)) * plain_area(c, w) * s->rate * pow(1e-6, s->exponent);
        p = pow(made * plain_cstar(c) / throat, 1.0 / (1.0 - s->exponent));
    }
    return p;
}

static double pressure_at_web(const struct sm_result *r, double w)
{
    return sm_curve_at(r->series.web, r->series.pressure, r->series.n, w);
}

static void climbs_and_stays(enum sm_model model, double slack)
{
    struct plain_chamber c = hump;
    const double web = plain_web(&c), early = 0.05 * web, late = 0.95 * web;
    /* Throat so that the lower branch starts at 0.95 of the step's pressure: the hump then passes it, and the end lies above
     * where the upper branch would end, at 1/1.1 of the area at which the lower one does. */
    c.throat = 12e-3;
    while (rest_of(&c, 0, 0.0) > 0.95 * 2e6)
        c.throat *= 1.0001;
    while (rest_of(&c, 0, 0.0) < 0.95 * 2e6)
        c.throat /= 1.0001;
    cr_assert(rest_of(&c, 0, 0.5 * web) > 2e6 && rest_of(&c, 1, web) > 2e6);
    struct sm_motor *motor = load_plain(&c);
    struct sm_result *r = run_motor(motor, model, 1e-6);
    cr_expect(relative(pressure_at_web(r, early), rest_of(&c, 0, early)) < slack, "early %g, lower branch %g",
              pressure_at_web(r, early), rest_of(&c, 0, early));
    cr_expect(relative(pressure_at_web(r, late), rest_of(&c, 1, late)) < slack, "late %g, upper branch %g",
              pressure_at_web(r, late), rest_of(&c, 1, late));
    sm_result_free(r);
    sm_motor_free(motor);
    c.start = 4e6; /* lit from above, it is on the upper branch from the start */
    motor = load_plain(&c);
    r = run_motor(motor, model, 1e-6);
    cr_expect(relative(pressure_at_web(r, early), rest_of(&c, 1, early)) < slack, "early %g, upper branch %g",
              pressure_at_web(r, early), rest_of(&c, 1, early));
    cr_expect(relative(pressure_at_web(r, late), rest_of(&c, 1, late)) < slack);
    cr_expect(r->statistics.steps < 5000, "%zu steps", r->statistics.steps);
    sm_result_free(r);
    sm_motor_free(motor);
}

static const struct sm_warning_found *warning_of(const struct sm_result *r, const char *code)
{
    for (size_t i = 0; i < r->n_warnings; i++)
        if (strcmp(r->warnings[i].code, code) == 0)
            return &r->warnings[i];
    return NULL;
}

/* The warning knows of both pressures where the closed forms have both, and of none with one law throughout. */
Test(steps, two_possible_pressures_are_reported)
{
    struct plain_chamber c = hump;
    c.throat = 12e-3;
    while (rest_of(&c, 0, 0.0) > 0.95 * 2e6)
        c.throat *= 1.0001;
    struct sm_motor *motor = load_plain(&c);
    struct sm_result *r = run_whole(motor);
    const struct sm_warning_found *found = warning_of(r, "several-pressures");
    double low, high, t;
    cr_assert_not_null(found);
    const char *at = strstr(found->text, "as at ");
    cr_assert_eq(sscanf(at, "as at %lf s at %lf or %lf MPa", &t, &low, &high), 3, "%s", found->text);
    const double w = sm_curve_at(r->series.time, r->series.web, r->series.n, t);
    /* three digits are printed */
    cr_expect(relative(1e6 * low, rest_of(&c, 0, w)) < 6e-3, "%g, closed form %g", low, rest_of(&c, 0, w));
    cr_expect(relative(1e6 * high, rest_of(&c, 1, w)) < 6e-3, "%g, closed form %g", high, rest_of(&c, 1, w));
    sm_result_free(r);
    sm_motor_free(motor);
    c.law[1].rate = c.law[0].rate;
    motor = load_plain(&c);
    r = run_whole(motor);
    cr_expect_null(warning_of(r, "several-pressures"));
    sm_result_free(r);
    sm_motor_free(motor);
}

/* Whatever the model; an end burner has no port, so it is the same chamber in each. Rates of 3 p^0.3 and 4.5 p^0.4 (mm/s, MPa) that
 * meet at 3 MPa: with the area and throat here p = (rho c* K a)^(1/(1-n)) is below the joint by the first and above by the
 * second. */
Test(steps, two_possible_pressures_are_reported_by_every_model)
{
    static const struct sm_override o[] = {
        {"propellant.burn_rate", "[{\"from\":\"0.3 MPa\",\"to\":\"3 MPa\",\"rate\":\"3 mm/s\",\"at\":\"1 "
                                 "MPa\",\"exponent\":0.3},{\"from\":\"3 MPa\",\"to\":\"15 "
                                 "MPa\",\"rate\":\"4.5 mm/s\",\"at\":\"1 MPa\",\"exponent\":0.4}]"}};
    static const enum sm_model models[] = {SM_MODEL_TRANSIENT, SM_MODEL_EQUILIBRIUM, SM_MODEL_AXIAL};
    struct sm_motor *motor = load_text(end_burner_text, o, 1);
    for (size_t i = 0; i < SM_COUNT(models); i++) {
        const struct sm_run_options options = {.model = models[i], .accuracy = 1e-3};
        struct sm_result *r = NULL;
        double low, high, t, near;
        cr_assert_eq(sm_simulate(motor, &options, NULL, &r, NULL), SM_OK);
        const struct sm_warning_found *found = warning_of(r, "several-pressures");
        cr_assert_not_null(found);
        cr_assert_eq(sscanf(strstr(found->text, "as at "), "as at %lf s at %lf or %lf MPa", &t, &low, &high),
                     3);
        cr_assert_eq(sscanf(strstr(found->text, "is near "), "is near %lf MPa", &near), 1);
        const double k = motor->spec.propellant.density * motor->gas.cstar * r->chamber.kn_initial * 1e-3;
        /* the gas that fills the burned volume takes up to a hundredth, to the power 1/(1-n) */
        cr_expect(relative(1e6 * low, pow(k * 3.0 * pow(1e-6, 0.3), 1.0 / 0.7)) < 0.02, "%g", low);
        cr_expect(relative(1e6 * high, pow(k * 4.5 * pow(1e-6, 0.4), 1.0 / 0.6)) < 0.02, "%g", high);
        cr_expect(near == low && relative(r->chamber.pressure_average, 1e6 * low) < 0.02);
        sm_result_free(r);
    }
    sm_motor_free(motor);
}

Test(steps, of_two_pressures_the_one_that_continues_the_past_counts)
{
    climbs_and_stays(SM_MODEL_EQUILIBRIUM, 1e-6);
    /* The chamber lags its rest by tau / (1 - n), here 10 ms, times the rate at which that moves, 0.3 of it a second near the
     * end: 3e-3. */
    climbs_and_stays(SM_MODEL_TRANSIENT, 5e-3);
}
