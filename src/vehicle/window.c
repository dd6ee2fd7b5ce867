/* Landing windows: contact times at which a landing exists, and the highest flight to each. */
#include "vehicle/lift.h"

#include <math.h>

/* Contact time i of n, from lift-off to burnout, both apart from the first. */
static double contact_time(const struct sm_profile *p, const struct sm_flight_state *start, size_t i,
                           size_t n)
{
    return start->t + (sm_profile_burnout(p) - start->t) * (double)(i + 1) / (double)n;
}

/* Highest flight to a contact at T with the softest contact there is. Returned: 0 if there is none. */
static int highest_to(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit,
                      double *contact, struct sm_switches *control, double *apogee)
{
    struct sm_flight_state top;
    double lowest;
    if (!sm_reach_lands(p, start, T, limit, contact) ||
        !sm_reach_highest(p, start, T, 0.0, -*contact, control))
        return 0;
    sm_reach_extremes(p, start, control, T, &top, &lowest);
    *apogee = top.h;
    return 1;
}

double sm_lift_highest(const struct sm_profile *p, const struct sm_flight_state *start, double limit,
                       size_t n)
{
    double best = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        struct sm_switches control;
        double contact, apogee;
        if (highest_to(p, start, contact_time(p, start, i, n), limit, &contact, &control, &apogee))
            best = fmax(best, apogee);
    }
    return best;
}

enum sm_status sm_lift_fill_window(struct sm_lift_study *s, const struct sm_profile *p, size_t n,
                                   struct sm_landing_window *window, struct sm_error *err)
{
    enum { COLUMNS = 5 };
    double *column[COLUMNS];
    for (size_t i = 0; i < COLUMNS; i++) {
        column[i] = sm_arena_alloc(&s->arena, n, sizeof(double));
        if (!column[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    window->time = column[0];
    window->contact_speed = column[1];
    window->apogee = column[2];
    window->splay_from = column[3];
    window->splay_to = column[4];
    window->highest = window->highest_time = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        struct sm_switches control;
        double contact, apogee;
        const double T = contact_time(p, &s->start, i, n);
        if (!highest_to(p, &s->start, T, s->vehicle->spec.landing.speed_limit, &contact, &control, &apogee))
            continue;
        const double row[COLUMNS] = {T, contact, apogee, control.off, control.on};
        for (size_t k = 0; k < COLUMNS; k++)
            column[k][window->n] = row[k];
        window->n++;
        if (!(apogee <= window->highest)) {
            window->highest = apogee;
            window->highest_time = T;
        }
    }
    return SM_OK;
}
