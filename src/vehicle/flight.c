#include "vehicle/flight.h"

#include <math.h>

static const double longest_step =
    0.03; /* of a smooth stretch; its error is then far below a micrometre [s] */

/* How far a group would be splayed at t if it went on to least splay from the flight's start, in time of its ramp [s]. */
static double left_of_lead(const struct sm_flight_group *g, double since, double t)
{
    return g->lead > 0.0 ? fmax(g->lead - fmax(t - since, 0.0), 0.0) : 0.0;
}

/* Share of the way from least to most splay at t [1]. */
static double way(const struct sm_flight_group *g, double since, const struct sm_switches *c, double t)
{
    if (!(g->ramp > 0.0))
        return t >= c->off && t < c->on ? 1.0 : 0.0;
    if (t < c->off)
        return left_of_lead(g, since, t) / g->ramp;
    const double up = fmin(left_of_lead(g, since, c->off) + fmin(t, c->on) - c->off, g->ramp);
    return (t < c->on ? up : fmax(up - (t - c->on), 0.0)) / g->ramp;
}

/* Share of its spread that a group takes off at t [1]. */
static double taken_off(const struct sm_flight_group *g, double since, const struct sm_switches *c, double t)
{
    const double w = way(g, since, c, t);
    return w <= 0.0 || w >= 1.0
               ? fmin(fmax(w, 0.0), 1.0)
               : (cos(g->low) - cos(g->low + w * (g->high - g->low))) / (cos(g->low) - cos(g->high));
}

void sm_flight_carry_on(const struct sm_flight_model *m, const struct sm_switches *control, double t,
                        struct sm_flight_model *rest)
{
    *rest = *m;
    rest->since = t;
    for (size_t i = 0; i < m->n; i++)
        rest->groups[i].lead = way(&m->groups[i], m->since, control, t) * m->groups[i].ramp;
}

/* One interval within which thrust and mass are straight lines and the control is smooth. */
struct stretch {
    double t0, t1;                     /* [s] */
    size_t knot;                       /* the profile's that it begins at or after */
    const struct sm_switches *control; /* borrowed */
};

static double line(const double *column, size_t knot, double x)
{
    return column[knot] + x * (column[knot + 1] - column[knot]);
}

static double acceleration(const struct sm_flight_model *m, const struct stretch *s, double t, double v)
{
    const struct sm_profile *p = m->profile;
    const double width = p->t[s->knot + 1] - p->t[s->knot];
    const double x = width > 0.0 ? fmin(fmax((t - p->t[s->knot]) / width, 0.0), 1.0) : 1.0;
    /* A jump of the control stands at the ends of stretches, so it is asked for just inside. */
    const double hair = 1e-9 * (s->t1 - s->t0), inside = fmin(fmax(t, s->t0 + hair), s->t1 - hair);
    double thrust = line(p->full, s->knot, x);
    for (size_t i = 0; i < m->n; i++) {
        const double share = taken_off(&m->groups[i], m->since, s->control, inside);
        if (share > 0.0)
            thrust -= share * line(m->groups[i].spread, s->knot, x);
    }
    return (thrust - m->drag * v * fabs(v)) / line(p->mass, s->knot, x) - p->gravity;
}

double sm_flight_thrust(const struct sm_flight_model *m, const struct sm_switches *control, double t)
{
    const struct sm_profile *p = m->profile;
    const size_t knot = sm_profile_find(p, t);
    const double width = p->t[knot + 1] - p->t[knot];
    const double x = width > 0.0 ? fmin(fmax((t - p->t[knot]) / width, 0.0), 1.0) : 1.0;
    double thrust = line(p->full, knot, x);
    for (size_t i = 0; i < m->n; i++)
        thrust -= taken_off(&m->groups[i], m->since, control, t) * line(m->groups[i].spread, knot, x);
    return thrust;
}

/* To t1, the stretch's later end, or its earlier one if that lies back. */
static void step(const struct sm_flight_model *m, const struct stretch *s, struct sm_flight_state *at,
                 double t1)
{
    const double dt = t1 - at->t, tm = at->t + 0.5 * dt, v = at->v;
    const double k1 = acceleration(m, s, at->t, v), k2 = acceleration(m, s, tm, v + 0.5 * dt * k1);
    const double k3 = acceleration(m, s, tm, v + 0.5 * dt * k2), k4 = acceleration(m, s, t1, v + dt * k3);
    at->h += dt * v + dt * dt * (k1 + k2 + k3) / 6.0;
    at->v += dt * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
    at->t = t1;
}

enum { CORNERS = 6 };
static void corners_of(const struct sm_flight_group *g, double since, const struct sm_switches *c,
                       double corner[CORNERS])
{
    const double up = g->ramp - left_of_lead(g, since, c->off); /* from off to most splay */
    corner[0] = c->off;
    corner[1] = c->off + up;
    corner[2] = c->on;
    corner[3] = c->on + g->ramp;
    corner[4] = c->on + fmin(g->ramp, c->on - c->off + g->ramp - up);
    corner[5] = since + g->lead;
}

/* The nearest corner of the control after t, at most limit; sign -1: before t, at least limit. */
static double next_corner(const struct sm_flight_model *m, const struct sm_switches *c, double t,
                          double limit, double sign)
{
    double next = sign * limit;
    for (size_t i = 0; i < m->n; i++) {
        double corner[CORNERS];
        corners_of(&m->groups[i], m->since, c, corner);
        for (size_t k = 0; k < CORNERS; k++)
            if (sign * corner[k] > sign * t)
                next = fmin(next, sign * corner[k]);
    }
    return sign * next;
}

void sm_flight_fly(const struct sm_flight_model *m, const struct sm_flight_state *start,
                   const struct sm_switches *control, double T, struct sm_flight_state *end,
                   struct sm_flight_extremes *extremes)
{
    const struct sm_profile *p = m->profile;
    struct sm_flight_state at = *start;
    size_t knot = sm_profile_find(p, start->t);
    double corner = next_corner(m, control, at.t, T, 1.0);
    *extremes = (struct sm_flight_extremes){start->h, SM_INF};
    while (at.t < T) {
        while (knot + 2 < p->n && p->t[knot + 1] <= at.t)
            knot++;
        if (at.t >= corner)
            corner = next_corner(m, control, at.t, T, 1.0);
        struct stretch s = {
            .t0 = at.t, .t1 = fmin(corner, at.t + longest_step), .knot = knot, .control = control};
        if (p->t[knot + 1] > at.t)
            s.t1 = fmin(s.t1, p->t[knot + 1]);
        const struct sm_flight_state before = at;
        step(m, &s, &at, s.t1);
        if (before.v > 0.0 && at.v < 0.0) /* the summit of a parabola with the speeds at both ends */
            extremes->highest = fmax(extremes->highest, before.h + 0.5 * before.v * before.v *
                                                                       (at.t - before.t) / (before.v - at.v));
        extremes->highest = fmax(extremes->highest, at.h);
        extremes->lowest = fmin(extremes->lowest, at.h);
    }
    *end = at;
}

void sm_flight_back(const struct sm_flight_model *m, const struct sm_flight_state *end,
                    const struct sm_switches *control, double t, struct sm_flight_state *at)
{
    const struct sm_profile *p = m->profile;
    size_t knot = sm_profile_find(p, end->t);
    double corner = next_corner(m, control, end->t, t, -1.0);
    *at = *end;
    while (at->t > t) {
        while (knot > 0 && p->t[knot] >= at->t)
            knot--;
        if (at->t <= corner)
            corner = next_corner(m, control, at->t, t, -1.0);
        struct stretch s = {
            .t0 = fmax(corner, at->t - longest_step), .t1 = at->t, .knot = knot, .control = control};
        if (p->t[knot] < at->t)
            s.t0 = fmax(s.t0, p->t[knot]);
        step(m, &s, at, s.t0);
    }
}

void sm_flight_fly_eased(const struct sm_flight_model *m, const struct sm_flight_state *start,
                         const struct sm_switches *control, double T, double ease,
                         struct sm_flight_state *end, struct sm_flight_extremes *extremes)
{
    const double from = fmax(T - ease, start->t);
    const struct sm_switches to_most = {from, SM_INF};
    struct sm_flight_state then;
    struct sm_flight_model rest;
    struct sm_flight_extremes before;
    if (!(ease > 0.0)) {
        sm_flight_fly(m, start, control, T, end, extremes);
        return;
    }
    sm_flight_fly(m, start, control, from, &then, &before);
    sm_flight_carry_on(m, control, from, &rest);
    sm_flight_fly(&rest, &then, &to_most, T, end, extremes);
    extremes->highest = fmax(extremes->highest, before.highest);
    extremes->lowest = fmin(extremes->lowest, before.lowest);
}

int sm_flight_land(const struct sm_flight_model *m, const struct sm_flight_state *start, double T, double v,
                   struct sm_switches *control)
{
    return sm_flight_land_eased(m, start, T, v, 0.0, control);
}

int sm_flight_land_eased(const struct sm_flight_model *m, const struct sm_flight_state *start, double T,
                         double v, double ease, struct sm_switches *control)
{
    enum { TRIES = 15 }; /* it converges within eight, or not at all */
    static const double close_height = 1e-7, close_speed = 1e-7, nudge = 1e-5; /* [m], [m/s], [s] */
    struct sm_switches c = *control;
    struct sm_flight_extremes way_there;
    for (int k = 0; k < TRIES; k++) {
        struct sm_flight_state end, off, on;
        const struct sm_switches by_off = {c.off + nudge, c.on}, by_on = {c.off, c.on + nudge};
        sm_flight_fly_eased(m, start, &c, T, ease, &end, &way_there);
        const double dh = end.h, dv = end.v - v;
        if (fabs(dh) < close_height && fabs(dv) < close_speed) {
            *control = c;
            return 1;
        }
        sm_flight_fly_eased(m, start, &by_off, T, ease, &off, &way_there);
        sm_flight_fly_eased(m, start, &by_on, T, ease, &on, &way_there);
        const double a = (off.h - end.h) / nudge, b = (on.h - end.h) / nudge;
        const double d = (off.v - end.v) / nudge, e = (on.v - end.v) / nudge, det = a * e - b * d;
        if (!(fabs(det) > 0.0))
            return 0;
        c.off = fmax(c.off - (dh * e - b * dv) / det, start->t);
        c.on = fmin(fmax(c.on - (a * dv - dh * d) / det, c.off), T);
    }
    return 0;
}
