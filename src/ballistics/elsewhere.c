#include "ballistics/elsewhere.h"
#include "ballistics/chamber.h"

#include <math.h>

int sm_thrust_varies(const struct sm_motor *motor)
{
    return !motor->spec.is_curve || !isnan(motor->spec.bare.exit_diameter);
}

/* dF/dp_a = -A_e while the nozzle flows full; only rows with thrust are changed, as in the run itself. */
static void shift_curve(const struct sm_motor *motor, const struct sm_result *result, double ambient,
                        double *thrust)
{
    const double d = motor->spec.bare.exit_diameter, area = isnan(d) ? 0.0 : 0.25 * M_PI * d * d;
    const struct sm_bare_curve *bare = &motor->spec.bare;
    for (size_t i = 0; i < result->series.n; i++) {
        const double given = bare->curve.thrust[i];
        thrust[i] = given > 0.0 ? fmax(0.0, given + (bare->test_ambient_pressure - ambient) * area)
                                : fmax(0.0, given);
    }
}

enum sm_status sm_thrust_elsewhere(const struct sm_motor *motor, const struct sm_result *result,
                                   double ambient, struct sm_arena *arena, double *thrust,
                                   struct sm_error *err)
{
    struct sm_motor there = *motor; /* the same motor, its parts shared */
    struct sm_chamber chamber;
    const struct sm_series *s = &result->series;
    if (!(ambient >= 0.0))
        return sm_fail(err, SM_E_RANGE, "an ambient pressure of %.6g Pa is below zero", ambient);
    if (motor->spec.is_curve) {
        shift_curve(motor, result, ambient, thrust);
        return SM_OK;
    }
    there.ambient = ambient;
    SM_TRY(
        sm_chamber_init(&chamber, &there, motor->spec.conditions.grain_temperature, SM_ABSENT, arena, err));
    for (size_t i = 0; i < s->n; i++) {
        struct sm_jet room;
        const struct sm_jet *jet =
            sm_chamber_jet(&chamber, 0.5 * s->throat_diameter[i] - chamber.throat_radius, &room);
        const int is_closed = !(s->mass_flow[i] > 0.0) && s->pressure[i] > motor->ambient;
        const double pressure = s->pressure_nozzle ? s->pressure_nozzle[i] : s->pressure[i];
        thrust[i] = is_closed ? 0.0 : sm_jet_thrust(jet, pressure, NULL, NULL);
    }
    return SM_OK;
}
