/* A motor given by its bare curve: no chamber is reckoned. */
#include "ballistics/result.h"

#include <math.h>

/* Thrust brought from the pressure of the test to that around the motor: exact while the nozzle flows full,
 * since dF/dp_a = -A_e. Only rows with thrust are changed, or a motor would push before it is lit. */
static double corrected(const struct sm_motor *motor, double thrust)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    if (isnan(bare->exit_diameter) || !(thrust > 0.0))
        return thrust;
    const double exit_area = 0.25 * 3.14159265358979323846 * bare->exit_diameter * bare->exit_diameter;
    return fmax(0.0, thrust + (bare->test_ambient_pressure - motor->ambient) * exit_area);
}

/* Propellant as a uniform cylinder that thins along its whole length, so its centre stays and its inertias
 * fall with its mass. What stays behind balances the empty motor's centre of mass. */
static void bodies(const struct sm_bare_curve *bare, struct sm_body *propellant, struct sm_body *empty)
{
    const double middle = 0.5 * bare->length;
    const double loaded = isnan(bare->center_of_mass_loaded) ? middle : bare->center_of_mass_loaded;
    const double burned = isnan(bare->center_of_mass_empty) ? loaded : bare->center_of_mass_empty;
    const double m = bare->propellant_mass, m_empty = bare->loaded_mass - m;
    const double radius2 = 0.25 * bare->diameter * bare->diameter, along = bare->length * bare->length / 12.0;
    *propellant = (struct sm_body){
        .mass = m,
        .center_of_mass = (bare->loaded_mass * loaded - m_empty * burned) / m,
        .inertia_axial = 0.5 * m * radius2,
        .inertia_transverse = m * (0.25 * radius2 + along),
    };
    *empty = (struct sm_body){
        /* a thin tube of the motor's own size */
        .mass = m_empty,
        .center_of_mass = burned,
        .inertia_axial = m_empty * radius2,
        .inertia_transverse = m_empty * (0.5 * radius2 + along),
    };
}

static void shrink(const struct sm_body *full, double share, struct sm_body *out)
{
    *out = (struct sm_body){
        .mass = full->mass * share,
        .center_of_mass = full->center_of_mass,
        .inertia_axial = full->inertia_axial * share,
        .inertia_transverse = full->inertia_transverse * share,
    };
}

/* What becomes of the curve's times and thrusts by scale and temperature. */
struct scales {
    double time;   /* [1] */
    double thrust; /* [1] */
    double delay;  /* [s] */
};

/* Hotter grains burn faster at the same impulse: thrust grows as exp(coefficient (T - T_test)), time falls by the same factor.
 * Reference: the temperature sensitivity of pressure, pi_K, as Sutton and Biblarz, Rocket Propulsion Elements, ch. 12, define
 * it, applied to thrust. */
static struct scales scales_of(const struct sm_bare_curve *bare, double temperature)
{
    const double hot = exp(bare->temperature_coefficient * (temperature - bare->test_temperature));
    return (struct scales){
        .time = bare->time_scale / (bare->thrust_scale * hot),
        .thrust = bare->impulse_scale * bare->thrust_scale * hot,
        .delay = bare->ignition_delay,
    };
}

static void fill(const struct sm_motor *motor, const struct scales *scales, double impulse, size_t first,
                 struct sm_series *s)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    const struct sm_curve *curve = &bare->curve;
    const double velocity = impulse / bare->propellant_mass;
    struct sm_body full, empty, propellant;
    bodies(bare, &full, &empty);
    double spent = 0.0; /* [N s] */
    if (first > 0)
        sm_series_body(s, 0, &full, &empty); /* a row of nothing at time zero */
    for (size_t i = 0; i < curve->n; i++) {
        const size_t row = first + i;
        const double thrust = scales->thrust * curve->thrust[i];
        if (i > 0)
            spent += 0.5 * scales->thrust * scales->time * (curve->thrust[i] + curve->thrust[i - 1]) *
                     (curve->time[i] - curve->time[i - 1]);
        s->time[row] = scales->delay + scales->time * curve->time[i];
        s->thrust[row] = corrected(motor, thrust);
        s->mass_flow[row] = fmax(0.0, thrust) / velocity;
        shrink(&full, fmin(1.0, fmax(0.0, 1.0 - spent / impulse)), &propellant);
        sm_series_body(s, row, &propellant, &empty);
    }
}

enum sm_status sm_run_bare_curve(const struct sm_motor *motor, double temperature, struct sm_run *run,
                                 struct sm_error *err)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    const struct sm_curve *curve = &bare->curve;
    struct sm_result *result = &run->result;
    const struct scales scales = scales_of(bare, temperature);
    const size_t first = scales.delay > 0.0;
    const double impulse =
        scales.thrust * scales.time *
        sm_curve_integral(curve->time, curve->thrust, curve->n, curve->time[0], curve->time[curve->n - 1]);
    if (!(impulse > 0.0))
        return sm_fail(err, SM_E_INTERNAL, "a curve without impulse was let in");
    result->is_curve = true;
    result->altitude_corrected = !isnan(bare->exit_diameter);
    result->loaded_mass = bare->loaded_mass;
    SM_TRY(sm_series_init(&result->series, curve->n + first, 0, 1, &run->arena, err));
    fill(motor, &scales, impulse, first, &result->series);
    result->complete = true;
    return sm_result_summarize(motor, NULL, SM_ABSENT, run, err);
}
