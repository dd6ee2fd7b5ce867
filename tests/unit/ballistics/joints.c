/*
 * Burning-rate laws of several segments whose rates step where they join. The segments are those of R. Nakka, Experimental
 * Rocketry Web Site, burning-rate pages (from memory). What the pressure does at a joint follows from the balance alone
 * (A. F. Filippov, Differential Equations with Discontinuous Righthand Sides, 1988).
 */
#include "bench_motor.h"

static const double pi = 3.14159265358979323846;

static struct sm_motor *sugar(const char *propellant, const char *throat)
{
    const struct sm_override change[] = {{"propellant", propellant},
                                         {"nozzle.throat_diameter", throat},
                                         {"conditions.ambient_pressure", "101325 Pa"}};
    return load_text(tubes_text, change, SM_COUNT(change));
}

Test(joints, laws_with_steps_march_without_chatter)
{
    /* Enough throats for the plateau to fall near every joint. */
    static const char *const throats[] = {"7.5 mm", "8 mm",  "8.5 mm", "9 mm",
                                          "10 mm",  "11 mm", "12 mm",  "14 mm"};
    static const char *const propellants[] = {"kndx", "knsb"};
    for (size_t i = 0; i < SM_COUNT(propellants); i++)
        for (size_t j = 0; j < SM_COUNT(throats); j++) {
            struct sm_motor *motor = sugar(propellants[i], throats[j]);
            struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
            /* A smooth law takes some 400 steps at this accuracy; chatter would take as many as are allowed. */
            cr_expect(r->statistics.steps < 2000, "%s, %s: %zu steps", propellants[i], throats[j],
                      r->statistics.steps);
            cr_expect(r->statistics.rejected < r->statistics.steps / 2 + 20);
            cr_expect(r->complete && r->statistics.mass_residual < 1e-9);
            sm_result_free(r);
            sm_motor_free(motor);
        }
}

/* An end burner of a law that falls by a tenth at 2 MPa, with the throat between what the two rates would need: the pressure
 * can but rest on the joint. */
static const struct sm_override falling[] = {
    {"propellant",
     "{\"format\":\"slowmatch-propellant/1\",\"name\":\"step\",\"density\":\"1700 kg/m3\",\"burn_rate\":["
     "{\"from\":\"0.1 MPa\",\"to\":\"2 MPa\",\"rate\":\"8 mm/s\",\"at\":\"2 MPa\",\"exponent\":0.4},"
     "{\"from\":\"2 MPa\",\"to\":\"9 MPa\",\"rate\":\"7.2 mm/s\",\"at\":\"2 MPa\",\"exponent\":0.4}],"
     "\"gamma\":1.2,\"characteristic_velocity\":\"1400 m/s\","
     "\"source\":\"invented\",\"standing\":\"invented\"}"},
    {"nozzle.throat_diameter", "2.75 mm"},
    {"nozzle.exit_diameter", "5 mm"}};

static void rests(enum sm_model model)
{
    struct sm_motor *motor = load_text(end_burner_text, falling, SM_COUNT(falling));
    struct sm_result *r = run_motor(motor, model, 1e-5);
    const struct sm_series *s = &r->series;
    const double throat = 0.25 * pi * 2.75e-3 * 2.75e-3, area = 0.25 * pi * 29e-3 * 29e-3;
    /* The rate that keeps the gas made equal to the gas let out. */
    const double rate = 2e6 * throat / motor->gas.cstar / ((1700.0 - 2e6 / motor->gas.rt) * area);
    cr_assert(rate > 7.2e-3 && rate < 8e-3, "%g m/s is between the two rates", rate);
    double rested = 0.0, burned = 0.0;
    for (size_t i = 1; i < s->n; i++)
        if (s->pressure[i] == 2e6 && s->pressure[i - 1] == 2e6 && s->burn_area[i] > 0.0) {
            rested += s->time[i] - s->time[i - 1];
            burned += s->web[i] - s->web[i - 1];
        }
    cr_expect(rested > 0.9 * r->thrust.burn_time, "rested %g s of %g s", rested, r->thrust.burn_time);
    cr_expect(relative(burned / rested, rate) < 1e-5, "burned at %g m/s, balance says %g", burned / rested,
              rate);
    cr_expect(r->statistics.steps < 2000);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(joints, pressure_rests_exactly_on_a_falling_step)
{
    rests(SM_MODEL_TRANSIENT);
    rests(SM_MODEL_EQUILIBRIUM);
}

/* In the axial model every station has the two sides joined over a thousandth of the pressure, so that it rests within that of
 * the joint, and burns as long as the lumped chamber. */
Test(joints, the_axial_model_rests_where_the_lumped_chamber_does)
{
    struct sm_motor *motor = load_text(end_burner_text, falling, SM_COUNT(falling));
    struct sm_result *axial = run_motor(motor, SM_MODEL_AXIAL, 1e-4);
    struct sm_result *lumped = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &axial->series;
    double rested = 0.0;
    for (size_t i = 1; i < s->n; i++)
        if (relative(s->pressure[i], 2e6) <= 1e-3 && relative(s->pressure[i - 1], 2e6) <= 1e-3)
            rested += s->time[i] - s->time[i - 1];
    cr_expect(rested > 0.9 * axial->thrust.burn_time, "rested %g s of %g s", rested, axial->thrust.burn_time);
    cr_expect(relative(axial->thrust.burn_time, lumped->thrust.burn_time) < 1e-3, "%g s, %g s",
              axial->thrust.burn_time, lumped->thrust.burn_time);
    cr_expect(relative(axial->thrust.total_impulse, lumped->thrust.total_impulse) < 1e-3);
    sm_result_free(axial);
    sm_result_free(lumped);
    sm_motor_free(motor);
}

Test(joints, a_cored_grain_rests_for_a_while_and_goes_on)
{
    /* The burning area grows through what the joint can take: below it, on it, above it. */
    static const struct sm_override bore[] = {
        {"propellant",
         "{\"format\":\"slowmatch-propellant/1\",\"name\":\"step\",\"density\":\"1700 kg/m3\",\"burn_rate\":["
         "{\"from\":\"0.1 MPa\",\"to\":\"2 MPa\",\"rate\":\"8 mm/s\",\"at\":\"2 MPa\",\"exponent\":0.3},"
         "{\"from\":\"2 MPa\",\"to\":\"9 MPa\",\"rate\":\"7.2 mm/s\",\"at\":\"2 MPa\",\"exponent\":0.3}],"
         "\"gamma\":1.2,\"characteristic_velocity\":\"1400 m/s\","
         "\"source\":\"invented\",\"standing\":\"invented\"}"},
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"14 mm\","
                   "\"length\":\"200 mm\",\"burning\":[\"bore\"]}]"},
        {"nozzle.throat_diameter", "12 mm"},
        {"nozzle.exit_diameter", "20 mm"},
        {"ignition.pressure", "0.5 MPa"}};
    struct sm_motor *motor = load_text(tubes_text, bore, SM_COUNT(bore));
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &r->series;
    int below = 0, on = 0, above = 0;
    for (size_t i = 0; i < s->n && s->burn_area[i] > 0.0; i++) {
        below += s->pressure[i] < 1.99e6;
        on += s->pressure[i] == 2e6;
        above += s->pressure[i] > 2.01e6;
    }
    cr_expect(below > 1 && on > 1 && above > 1, "%d rows below, %d on, %d above", below, on, above);
    cr_expect(r->statistics.mass_residual < 1e-9);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(joints, an_exponent_of_one_is_refused_with_its_reason)
{
    static const char *const exponents[] = {"1", "1.3"};
    for (size_t i = 0; i < SM_COUNT(exponents); i++) {
        const struct sm_override change[] = {falling[0], {"propellant.burn_rate.1.exponent", exponents[i]}};
        struct sm_motor *motor = NULL;
        struct sm_diag diag = {0};
        const struct sm_load_options options = {.overrides = change, .n_overrides = 2};
        const enum sm_status status =
            sm_motor_parse(end_burner_text, strlen(end_burner_text), "test", &options, NULL, &motor, &diag);
        cr_expect(status == SM_E_RANGE, "status %d", status);
        cr_expect(motor == NULL);
        cr_assert(diag.n > 0);
        cr_expect(strstr(diag.items[0].message, "must be below 1: from 1 on, a rise of pressure"), "%s",
                  diag.items[0].message);
        cr_expect_str_eq(diag.items[0].at.path, "/propellant/burn_rate/1/exponent");
        sm_diag_release(&diag);
    }
}
