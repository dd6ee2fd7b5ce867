/*
 * How fast a chamber comes to rest. Filling time L* / (c* Gamma^2), and the time in which a small disturbance of pressure
 * dies, 1 / (1 - n) times that: D. Davis, PROPULSION: A Rocket Propulsion Engineering Course, module 20, key: L* 1.5 m,
 * c* 1500 m/s, gamma 1.18 give 2.407 ms, and 3.702 ms with n = 0.35.
 */
#include "bench_motor.h"

#include <stdio.h>

static const char chamber_text[] =
    "{\"format\":\"slowmatch-motor/"
    "1\",\"name\":\"chamber\",\"propellant\":{\"format\":\"slowmatch-propellant/1\","
    "\"name\":\"g\",\"density\":\"1750 kg/m3\",\"burn_rate\":[{\"from\":\"0.1 MPa\",\"to\":\"20 "
    "MPa\",\"rate\":\"4.03 mm/s\","
    "\"at\":\"1 MPa\",\"exponent\":0.35}],\"gamma\":1.18,\"characteristic_velocity\":\"1500 "
    "m/s\",\"source\":\"course\","
    "\"standing\":\"published\"},"
    /* throat so that Kn is 300, and 1.5 m times its area of gas space */
    "\"case\":{\"bore\":\"50 mm\",\"length\":\"100 mm\",\"free_volume\":\"9.81748 cm3\"},"
    "\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":\"50 mm\",\"length\":\"50 mm\"}],"
    "\"nozzle\":{\"throat_diameter\":\"2.886751 mm\",\"exit_diameter\":\"6 mm\"},"
    "\"ignition\":{\"pressure\":\"5 MPa\",\"spread_time\":\"0 s\"},\"conditions\":{\"ambient_pressure\":\"0 "
    "Pa\"}}";

Test(filling, a_disturbance_dies_in_its_published_time)
{
    const double published = 3.7024e-3;
    struct sm_motor *motor = load_text(chamber_text, NULL, 0);
    struct sm_result *rest = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    const double level = rest->series.pressure[0];
    cr_expect(relative(rest->chamber.kn_initial, 300.0) < 1e-5);
    char start[64];
    snprintf(start, sizeof start, "%.10g Pa", 1.01 * level);
    const struct sm_override disturbed[] = {{"ignition.pressure", start}};
    struct sm_motor *moved = load_text(chamber_text, disturbed, 1);
    struct sm_result *r = run_motor(moved, SM_MODEL_TRANSIENT, 1e-7);
    /* Over one such time the gas space grows by 0.6 %, and the disturbance is not infinitely small: 2 % covers both. */
    const double left = sm_curve_at(r->series.time, r->series.pressure, r->series.n, published) - level;
    cr_expect(relative(-published / log(left / (0.01 * level)), published) < 0.02, "dies in %g s",
              -published / log(left / (0.01 * level)));
    sm_result_free(r);
    sm_result_free(rest);
    sm_motor_free(moved);
    sm_motor_free(motor);
}
