/* Landing windows: contact times at which a landing exists, and the highest flight to each. */
#include "vehicle/lift.h"

#include "atmos/atmos.h"

#include <math.h>

/* Contact time i of n, from lift-off to burnout, both apart from the first. */
static double contact_time(const struct sm_profile *p, const struct sm_flight_state *start, size_t i,
                           size_t n)
{
    return start->t + (sm_profile_burnout(p) - start->t) * (double)(i + 1) / (double)n;
}

/* A hop that legs give by themselves is no flight [m]. */
static const double least_flight = 0.01;

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
    return top.h - start->h >= least_flight;
}

/* The highest flight to a contact at T with the first speed at which there is one: apogee, or below least_flight if there is
 * none [m]. */
static double any_to(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit)
{
    enum { SPEEDS = 4 };
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    for (int i = 0; i <= SPEEDS; i++) {
        struct sm_switches control;
        struct sm_flight_state top;
        double lowest;
        if (!sm_reach_highest(p, start, T, 0.0, -limit * i / SPEEDS, &control))
            continue;
        sm_reach_extremes(p, start, &control, T, &top, &lowest);
        if (lowest >= buried)
            return top.h - start->h;
    }
    return 0.0;
}

/* Between a contact that can be and one that can't, to a hundredth of the scan's step. */
static double edge_of(const struct sm_profile *p, const struct sm_flight_state *start, double limit,
                      double can, double cannot)
{
    enum { HALVINGS = 7 };
    for (int k = 0; k < HALVINGS; k++) {
        const double middle = 0.5 * (can + cannot);
        if (any_to(p, start, middle, limit) >= least_flight)
            can = middle;
        else
            cannot = middle;
    }
    return can;
}

int sm_lift_window_ends(const struct sm_profile *p, const struct sm_flight_state *start, double limit,
                        size_t n, double *first, double *last, double *highest)
{
    size_t from = n, to = 0, best_at = 0;
    struct sm_switches control;
    double contact, apogee, best = 0.0;
    *first = *last = *highest = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        apogee = any_to(p, start, contact_time(p, start, i, n), limit);
        if (apogee < least_flight)
            continue;
        from = from < n ? from : i;
        to = i;
        if (apogee > best)
            best_at = i;
        best = fmax(best, apogee);
    }
    if (from == n)
        return 0;
    *first = edge_of(p, start, limit, contact_time(p, start, from, n),
                     from > 0 ? contact_time(p, start, from - 1, n) : start->t);
    *last = contact_time(p, start, to, n);
    if (to + 1 < n)
        *last = edge_of(p, start, limit, *last, contact_time(p, start, to + 1, n));
    /* A softer contact can move the best by one. */
    for (size_t i = best_at > 0 ? best_at - 1 : best_at; i <= best_at + 1 && i < n; i++)
        if (highest_to(p, start, contact_time(p, start, i, n), limit, &contact, &control, &apogee))
            *highest = fmax(apogee, *highest);
    if (to + 1 < n && highest_to(p, start, *last, limit, &contact, &control, &apogee))
        *highest = fmax(apogee, *highest);
    return 1;
}

enum { COLUMNS = 5 }; /* contact time, speed, apogee, splay from and to */

static enum sm_status make_columns(struct sm_lift_study *s, size_t n, double *column[COLUMNS],
                                   struct sm_landing_window *window, struct sm_error *err)
{
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
    return SM_OK;
}

static void add_row(struct sm_landing_window *window, double *column[COLUMNS], const double *row)
{
    for (size_t k = 0; k < COLUMNS; k++)
        column[k][window->n] = row[k];
    window->n++;
    if (!(row[2] <= window->highest)) {
        window->highest = row[2];
        window->highest_time = row[0];
    }
}

enum sm_status sm_lift_fill_window(struct sm_lift_study *s, const struct sm_profile *p,
                                   const struct sm_flight_state *start, size_t n,
                                   struct sm_landing_window *window, struct sm_error *err)
{
    double *column[COLUMNS];
    SM_TRY(make_columns(s, n, column, window, err));
    window->highest = window->highest_time = SM_ABSENT;
    for (size_t i = 0; i < n && !isnan(start->t); i++) {
        struct sm_switches control;
        double contact, apogee;
        const double T = contact_time(p, start, i, n);
        if (!highest_to(p, start, T, s->vehicle->spec.landing.speed_limit, &contact, &control, &apogee))
            continue;
        add_row(window, column, (const double[COLUMNS]){T, contact, apogee, control.off, control.on});
    }
    return SM_OK;
}

/* A reserve at both ends of the range of throttle, as angles: the ramp between them is shorter. */
static void keep_reserve(double reserve, struct sm_flight_group *g)
{
    const double low = cos(g->low), high = cos(g->high), whole = g->high - g->low;
    g->low = acos(low - reserve * (low - high));
    g->high = acos(high + reserve * (low - high));
    g->ramp *= whole > 0.0 ? (g->high - g->low) / whole : 0.0;
}

enum sm_status sm_lift_flown_model(struct sm_lift_study *s, const struct sm_profile *p,
                                   const struct sm_vehicle_change *change, struct sm_flight_model *model,
                                   struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &s->vehicle->spec;
    const struct sm_motor_group *groups = spec->motors.items;
    struct sm_air air;
    SM_TRY(sm_air_at(spec->site.altitude, &air, err));
    *model = (struct sm_flight_model){
        .profile = p,
        .drag = 0.5 * air.density * spec->aerodynamics.drag_coefficient * spec->aerodynamics.area,
    };
    for (size_t i = 0; i < spec->motors.n && model->n < SM_FLIGHT_GROUPS; i++) {
        struct sm_flight_group *g = &model->groups[model->n];
        double *spread;
        if (!sm_group_has_throttle(&groups[i]))
            continue;
        SM_TRY(sm_thrust_spread(s->vehicle, s->runs, change, p, i, &s->arena, &spread, err));
        sm_group_splay(&groups[i], spec->landing.least_splay, &g->low, &g->high);
        g->spread = spread;
        g->ramp = groups[i].tilt_time;
        keep_reserve(change->reserve, g);
        model->n++;
    }
    return SM_OK;
}

enum sm_status sm_lift_fill_flown(struct sm_lift_study *s, const struct sm_flight_model *model,
                                  const struct sm_flight_state *start,
                                  const struct sm_landing_window *without, struct sm_landing_window *window,
                                  struct sm_error *err)
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    double *column[COLUMNS];
    SM_TRY(make_columns(s, without->n, column, window, err));
    for (size_t i = 0; i < without->n; i++) {
        struct sm_switches control = {without->splay_from[i], without->splay_to[i]};
        struct sm_flight_state end;
        struct sm_flight_extremes extremes;
        const double T = without->time[i], contact = without->contact_speed[i];
        if (!sm_flight_land(model, start, T, -contact, &control))
            continue;
        sm_flight_fly(model, start, &control, T, &end, &extremes);
        if (extremes.lowest >= buried)
            add_row(window, column,
                    (const double[COLUMNS]){T, contact, extremes.highest, control.off, control.on});
    }
    return SM_OK;
}
