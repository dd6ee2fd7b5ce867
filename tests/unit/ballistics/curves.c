/* Motors given by their bare curve, and hardware given by its parts: closed forms of any mechanics text. */
#include "bench_motor.h"

/* A trapezoid: 0 to 20 N in 1 s, level for 2 s, down in 1 s: 60 N s. */
static const char curve_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"bought\",\"curve\":{"
    "\"time\":{\"unit\":\"ms\",\"values\":[0,1000,3000,4000]},\"thrust\":{\"unit\":\"N\",\"values\":[0,20,20,"
    "0]},"
    "\"loaded_mass\":\"100 g\",\"propellant_mass\":\"40 g\",\"length\":\"120 mm\",\"diameter\":\"30 mm\","
    "\"center_of_mass_loaded\":\"62 mm\",\"center_of_mass_empty\":\"70 mm\",\"exit_diameter\":\"10 "
    "mm\",\"delay\":\"5 s\"}}";

Test(curves, a_trapezoid_has_its_impulse_and_class)
{
    struct sm_motor *motor = load_text(curve_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 0.0);
    cr_expect(relative(r->thrust.total_impulse, 60.0) < 1e-12);
    cr_expect(relative(r->thrust.burn_time, 3.9) < 1e-12, "5 %% is crossed 50 ms from each end");
    cr_expect(relative(r->thrust.specific_impulse, 60.0 / (0.04 * 9.80665)) < 1e-12);
    cr_expect_str_eq(r->designation, "F15-5");
    cr_expect(r->is_curve && r->altitude_corrected && isnan(r->chamber.pressure_maximum));
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(curves, mass_leaves_as_impulse_is_spent_and_balances)
{
    struct sm_motor *motor = load_text(curve_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 0.0);
    const struct sm_series *s = &r->series;
    cr_expect(relative(s->motor_mass[0], 0.1) < 1e-12 && relative(s->motor_mass[3], 0.06) < 1e-12);
    cr_expect(relative(s->propellant_mass[1], 0.04 * (1.0 - 10.0 / 60.0)) < 1e-12,
              "10 of 60 N s are spent by 1 s");
    cr_expect(relative(s->motor_center_of_mass[0], 0.062) < 1e-12 &&
              relative(s->motor_center_of_mass[3], 0.070) < 1e-12);
    cr_expect(relative(s->mass_flow[1], 20.0 / 1500.0) < 1e-12, "thrust over 60 N s / 40 g");
    for (size_t i = 0; i < s->n; i++)
        cr_expect(s->motor_inertia_axial[i] > 0.0 && s->motor_inertia_transverse[i] > 0.0);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(curves, a_vacuum_adds_ambient_pressure_times_exit_area)
{
    static const struct sm_override vacuum[] = {{"conditions", "{\"ambient_pressure\":\"0 Pa\"}"}};
    struct sm_motor *motor = load_text(curve_text, vacuum, 1);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 0.0);
    const double more = 101325.0 * 0.25 * 3.14159265358979323846 * 0.01 * 0.01;
    cr_expect(relative(r->series.thrust[1], 20.0 + more) < 1e-12);
    cr_expect(r->series.thrust[0] == 0.0, "no thrust before it is lit");
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(curves, hardware_parts_add_up_as_cylinders_do)
{
    static const struct sm_override parts[] = {
        {"hardware", "{\"parts\":[{\"form\":\"tube\",\"mass\":\"200 g\",\"at\":\"100 mm\",\"length\":\"200 "
                     "mm\",\"outer_diameter\":\"40 mm\","
                     "\"inner_diameter\":\"30 mm\"},{\"mass\":\"100 g\",\"at\":\"250 mm\"}]}"}};
    struct sm_motor *motor = load_text(tubes_text, parts, 1);
    const double axial = 0.5 * 0.2 * (0.02 * 0.02 + 0.015 * 0.015);
    const double own = 0.2 * ((0.02 * 0.02 + 0.015 * 0.015) / 4.0 + 0.2 * 0.2 / 12.0);
    const double apart = 0.2 * 0.1 / 0.3 * 0.15 * 0.15; /* reduced mass times distance squared */
    cr_expect(relative(motor->hardware.mass, 0.3) < 1e-12);
    cr_expect(relative(motor->hardware.center_of_mass, 0.15) < 1e-12);
    cr_expect(relative(motor->hardware.inertia_axial, axial) < 1e-12);
    cr_expect(relative(motor->hardware.inertia_transverse, own + apart) < 1e-12);
    sm_motor_free(motor);
}
