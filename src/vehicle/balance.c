/* Motors that stand off the axis by themselves: the moment that is left of them. */
#include "curve/curve.h"
#include "vehicle/lift.h"

#include <math.h>

static int stands_alone(const struct sm_motor_group *g)
{
    return g->count == 1 && g->ring_radius > 0.0;
}

/* Arm of the thrust about the vehicle's centre of mass, outwards [m]. */
static double arm_of(const struct sm_motor_group *g, double center_of_mass)
{
    const double lever = g->pivot - center_of_mass;
    return isnan(lever) ? g->ring_radius : g->ring_radius * cos(g->cant) - lever * sin(g->cant);
}

static double thrust_of(const struct sm_motor_group *g, const struct sm_series *s, double t)
{
    const double own = t - g->ignite_at - g->ignition_delay;
    return own >= s->time[0] && own <= s->time[s->n - 1] ? sm_curve_at(s->time, s->thrust, s->n, own) : 0.0;
}

struct sm_lift_unbalanced sm_lift_find_unbalanced(const struct sm_lift_study *s)
{
    static const double balanced = 0.01; /* share of what one of them gives: less is none [1] */
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    const struct sm_lift_turning *turning = &s->lift.turning;
    const size_t n = s->vehicle->spec.motors.n;
    struct sm_lift_unbalanced out = {.group = n};
    for (size_t i = 0; i < s->bare.n; i++) {
        const double t = s->bare.t[i];
        const double center =
            turning->n > 0 ? sm_curve_at(turning->time, turning->center_of_mass, turning->n, t) : SM_ABSENT;
        double y = 0.0, z = 0.0, whole = 0.0; /* [N m] */
        for (size_t k = 0; k < n; k++) {
            if (!stands_alone(&groups[k]))
                continue;
            out.group = out.group < n ? out.group : k;
            const double thrust = thrust_of(&groups[k], &s->runs[k]->series, t);
            const double moment = thrust * arm_of(&groups[k], center);
            y += moment * cos(groups[k].azimuth);
            z += moment * sin(groups[k].azimuth);
            whole = fmax(whole, thrust * groups[k].ring_radius);
        }
        if (hypot(y, z) > out.moment && hypot(y, z) > balanced * whole) {
            out.moment = hypot(y, z);
            out.time = t;
        }
    }
    return out;
}
