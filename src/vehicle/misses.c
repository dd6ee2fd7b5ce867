/* How far off a program of splay fixed beforehand goes when thrust or mass are not as told. */
#include "vehicle/lift.h"

#include <math.h>

/* Flies the control up to burnout; stops at the first contact with the ground. */
static void fly_fixed(const struct sm_profile *p, const struct sm_flight_state *start,
                      const struct sm_switches *control, struct sm_lift_miss *miss)
{
    enum { STEPS = 400, HALVINGS = 50 };
    struct sm_flight_state before = *start, at = *start;
    const double burnout = sm_profile_burnout(p);
    for (int i = 1; i <= STEPS; i++) {
        sm_reach_fly(p, start, control, start->t + (burnout - start->t) * i / STEPS, &at);
        if (before.h > 0.0 && at.h <= 0.0) {
            double a = before.t, b = at.t;
            for (int k = 0; k < HALVINGS; k++) {
                sm_reach_fly(p, start, control, 0.5 * (a + b), &at);
                if (at.h > 0.0)
                    a = at.t;
                else
                    b = at.t;
            }
            miss->contact_time = at.t;
            miss->contact_speed = -at.v;
            return;
        }
        before = at;
    }
    miss->height_left = at.h;
    miss->speed_left = at.v;
}

enum sm_status sm_lift_fill_misses(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    const struct sm_landing_window *window = &s->lift.windows[0];
    const double mass = t->mass * s->lift.figures.release_mass;
    const struct {
        const char *what;
        struct sm_vehicle_change change;
    } cases[SM_LIFT_MISSES] = {{"thrust one deviation more", {.thrust = t->thrust}},
                               {"thrust one deviation less", {.thrust = -t->thrust}},
                               {"mass one deviation more", {.mass = mass}},
                               {"mass one deviation less", {.mass = -mass}}};
    struct sm_switches control = {SM_ABSENT, SM_ABSENT};
    for (size_t i = 0; i < window->n; i++)
        if (window->time[i] <= window->highest_time)
            control = (struct sm_switches){window->splay_from[i], window->splay_to[i]};
    for (size_t i = 0; i < SM_LIFT_MISSES; i++) {
        struct sm_profile p;
        struct sm_flight_state start = s->start;
        s->lift.misses[i] = (struct sm_lift_miss){cases[i].what, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT};
        if (window->n == 0 || !(fabs(cases[i].change.thrust) > 0.0 || fabs(cases[i].change.mass) > 0.0))
            continue;
        SM_TRY(sm_thrust_profile(s->vehicle, s->runs, &cases[i].change, &s->arena, &p, err));
        start.t = sm_lift_off_time(&p, s->lift.figures.release_time);
        if (!isnan(start.t))
            fly_fixed(&p, &start, &control, &s->lift.misses[i]);
    }
    return SM_OK;
}
