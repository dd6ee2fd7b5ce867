#include "vehicle/flight.h"

#include <math.h>

static const double longest_step =
    0.02; /* of a smooth stretch; its error is then far below a micrometre [s] */

/* Share of the way from least to most splay at t [1]. */
static double way(const struct sm_flight_model *m, const struct sm_switches *c, double t)
{
    if (t < c->off)
        return 0.0;
    if (!(m->ramp > 0.0))
        return t < c->on ? 1.0 : 0.0;
    const double up = fmin((fmin(t, c->on) - c->off) / m->ramp, 1.0);
    return t < c->on ? up : fmax(up - (t - c->on) / m->ramp, 0.0);
}

/* Share of the range of throttle that is taken off at t [1]. */
static double taken_off(const struct sm_flight_model *m, const struct sm_switches *c, double t)
{
    const double w = way(m, c, t), range = cos(m->low) - cos(m->high);
    return w <= 0.0 || w >= 1.0 ? fmin(fmax(w, 0.0), 1.0)
                                : (cos(m->low) - cos(m->low + w * (m->high - m->low))) / range;
}

/* One interval within which thrust and mass are straight lines and the control is smooth. */
struct stretch {
    double t0, t1;                     /* [s] */
    struct sm_profile_at a, b;         /* at its ends */
    const struct sm_switches *control; /* borrowed */
};

static double acceleration(const struct sm_flight_model *m, const struct stretch *s, double t, double v)
{
    const double x = (t - s->t0) / (s->t1 - s->t0);
    const double full = s->a.full + x * (s->b.full - s->a.full),
                 least = s->a.least + x * (s->b.least - s->a.least);
    const double mass = s->a.mass + x * (s->b.mass - s->a.mass);
    /* A jump of the control stands at the ends of stretches, so it is asked for just inside. */
    const double inside = s->t0 + fmin(fmax(x, 1e-9), 1.0 - 1e-9) * (s->t1 - s->t0);
    const double off = taken_off(m, s->control, inside);
    return (full - off * (full - least) - m->drag * v * fabs(v)) / mass - m->profile->gravity;
}

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

/* The nearest corner of control or profile after t, at most T. */
static double next_corner(const struct sm_flight_model *m, const struct sm_switches *c, size_t knot, double t,
                          double T)
{
    const double corners[] = {c->off, c->off + m->ramp, c->on, c->on + m->ramp,
                              c->on + fmin(m->ramp, c->on - c->off)};
    double next = fmin(T, t + longest_step);
    for (size_t i = 0; i < SM_COUNT(corners); i++)
        if (corners[i] > t)
            next = fmin(next, corners[i]);
    return knot < m->profile->n ? fmin(next, m->profile->t[knot]) : next;
}

void sm_flight_fly(const struct sm_flight_model *m, const struct sm_flight_state *start,
                   const struct sm_switches *control, double T, struct sm_flight_state *end,
                   struct sm_flight_extremes *extremes)
{
    const struct sm_profile *p = m->profile;
    struct sm_flight_state at = *start;
    size_t knot = 0;
    *extremes = (struct sm_flight_extremes){start->h, SM_INF};
    while (at.t < T) {
        struct stretch s = {.t0 = at.t, .control = control};
        while (knot < p->n && p->t[knot] <= at.t)
            knot++;
        s.t1 = next_corner(m, control, knot, at.t, T);
        sm_profile_eval(p, s.t0, &s.a);
        sm_profile_eval(p, s.t1, &s.b);
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

int sm_flight_land(const struct sm_flight_model *m, const struct sm_flight_state *start, double T, double v,
                   struct sm_switches *control)
{
    enum { TRIES = 40 };
    static const double close_height = 1e-7, close_speed = 1e-7, nudge = 1e-5; /* [m], [m/s], [s] */
    struct sm_switches c = *control;
    struct sm_flight_extremes way_there;
    for (int k = 0; k < TRIES; k++) {
        struct sm_flight_state end, off, on;
        const struct sm_switches by_off = {c.off + nudge, c.on}, by_on = {c.off, c.on + nudge};
        sm_flight_fly(m, start, &c, T, &end, &way_there);
        const double dh = end.h, dv = end.v - v;
        if (fabs(dh) < close_height && fabs(dv) < close_speed) {
            *control = c;
            return 1;
        }
        sm_flight_fly(m, start, &by_off, T, &off, &way_there);
        sm_flight_fly(m, start, &by_on, T, &on, &way_there);
        const double a = (off.h - end.h) / nudge, b = (on.h - end.h) / nudge;
        const double d = (off.v - end.v) / nudge, e = (on.v - end.v) / nudge, det = a * e - b * d;
        if (!(fabs(det) > 0.0))
            return 0;
        c.off = fmax(c.off - (dh * e - b * dv) / det, start->t);
        c.on = fmin(fmax(c.on - (a * dv - dh * d) / det, c.off), T);
    }
    return 0;
}
