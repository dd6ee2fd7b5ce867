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

static void fill(const struct sm_motor *motor, double impulse, struct sm_series *s)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    const struct sm_curve *curve = &bare->curve;
    const double velocity = impulse / bare->propellant_mass;
    struct sm_body full, empty, propellant;
    bodies(bare, &full, &empty);
    double spent = 0.0; /* [N s] */
    for (size_t i = 0; i < curve->n; i++) {
        if (i > 0)
            spent += 0.5 * (curve->thrust[i] + curve->thrust[i - 1]) * (curve->time[i] - curve->time[i - 1]);
        s->time[i] = curve->time[i];
        s->thrust[i] = corrected(motor, curve->thrust[i]);
        s->mass_flow[i] = fmax(0.0, curve->thrust[i]) / velocity;
        shrink(&full, fmin(1.0, fmax(0.0, 1.0 - spent / impulse)), &propellant);
        sm_series_body(s, i, &propellant, &empty);
    }
}

enum sm_status sm_run_bare_curve(const struct sm_motor *motor, struct sm_run *run, struct sm_error *err)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    const struct sm_curve *curve = &bare->curve;
    struct sm_result *result = &run->result;
    const double impulse =
        sm_curve_integral(curve->time, curve->thrust, curve->n, curve->time[0], curve->time[curve->n - 1]);
    if (!(impulse > 0.0))
        return sm_at(err, sm_fail(err, SM_E_RANGE, "the curve has no impulse"), "/curve/thrust");
    result->is_curve = true;
    result->altitude_corrected = !isnan(bare->exit_diameter);
    result->loaded_mass = bare->loaded_mass;
    SM_TRY(sm_series_init(&result->series, curve->n, 0, 1, &run->arena, err));
    fill(motor, impulse, &result->series);
    result->complete = true;
    return sm_result_summarize(motor, NULL, SM_ABSENT, run, err);
}
