/* First and last contact of windows with drag and the time that splay takes, where the flights between are not wanted. */
#include "vehicle/lift.h"
#include "vehicle/touchdown.h"

#include <math.h>

/* Contacts are sought between lift-off and burnout. */
struct sought {
    const struct sm_flight_model *model;
    const struct sm_flight_state *start;
    double limit, burnout, settled; /* of the legs [m/s]; [s]; contacts from when on stay down [s] */
    struct sm_flight_landed before; /* the last that was found */
};

/* Touched down so, does it stay down, or come down within the legs' limit? */
static int stays(const struct sought *w, const struct sm_switches *control, double T)
{
    struct sm_touchdown down;
    sm_touchdown_begin(w->model, control, T, 0.0, &down);
    sm_touchdown_finish(&down);
    return down.rise_speed <= w->limit;
}

/* The highest flight to a contact at T with the first speed at which there is one: how high, 0 if there is none [m]. */
static double highest_to(struct sought *w, double T)
{
    enum { SPEEDS = 4 };
    static const double buried = -1e-6, least = 0.01; /* as in the landing windows [m] */
    for (int i = 0; i <= SPEEDS && T >= w->settled; i++) {
        const double speed = w->limit * i / SPEEDS;
        struct sm_switches control = w->before.control;
        struct sm_flight_state end;
        struct sm_flight_extremes passed;
        if (!sm_reach_highest(w->model->profile, w->start, T, 0.0, -speed, &control) && isnan(w->before.T))
            continue;
        if (!sm_flight_land_next(w->model, w->start, T, -speed, &w->before, &control))
            continue;
        sm_flight_fly(w->model, w->start, &control, T, &end, &passed);
        if (passed.lowest < buried || passed.highest < least)
            continue;
        if (stays(w, &control, T))
            return passed.highest;
        double eased[3];
        sm_lift_ease_down(w->model, w->start, T, speed, w->limit, &control, eased);
        return isnan(eased[2]) ? 0.0 : eased[2];
    }
    return 0.0;
}

static double contact(const struct sought *w, size_t i, size_t n)
{
    return w->start->t + (w->burnout - w->start->t) * (double)(i + 1) / (double)n;
}

/* Between a contact that can be and one that can't, to a thirtieth of the scan's step; *highest of what is found. */
static double edge_of(struct sought *w, double can, double cannot, double *highest)
{
    enum { HALVINGS = 5 };
    for (int k = 0; k < HALVINGS; k++) {
        const double middle = 0.5 * (can + cannot), height = highest_to(w, middle);
        *highest = fmax(*highest, height);
        if (height > 0.0)
            can = middle;
        else
            cannot = middle;
    }
    return can;
}

int sm_lift_flown_ends(const struct sm_flight_model *model, const struct sm_flight_state *start, double limit,
                       size_t n, double *first, double *last, double *highest)
{
    struct sought w = {model,
                       start,
                       limit,
                       sm_profile_burnout(model->profile),
                       sm_touchdown_settled(model->profile),
                       {.T = SM_ABSENT}};
    size_t from = n, to = 0;
    double best = 0.0;
    *first = *last = *highest = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        const double height = highest_to(&w, contact(&w, i, n));
        if (height > 0.0) {
            from = from < n ? from : i;
            to = i;
        }
        best = fmax(best, height);
    }
    if (from == n)
        return 0;
    *first = edge_of(&w, contact(&w, from, n), from > 0 ? contact(&w, from - 1, n) : start->t, &best);
    *last = contact(&w, to, n);
    if (to + 1 < n)
        *last = edge_of(&w, *last, contact(&w, to + 1, n), &best);
    *highest = best;
    return 1;
}
