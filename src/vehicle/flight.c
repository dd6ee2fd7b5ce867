#include "vehicle/flight.h"

#include <math.h>

/* Of a smooth stretch, and while splay changes: the error of a flight is then far below a micrometre. Ramps are walked in so many
 * steps at least. */
static const double longest_step = 0.045, longest_ramping = 0.025; /* [s] */
enum { STEPS_OF_RAMP = 8 };

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

/* A group whose splay changes through a stretch. */
struct ramping {
    const struct sm_flight_group *group;
    double low, range;          /* cosine of least splay, and what most splay takes off it [1] */
    double spread, spread_rise; /* at the knot, and over its interval [N] */
};

/* One interval within which thrust and mass are straight lines and the control is smooth: groups that are not on their way count in
 * thrust already. */
struct stretch {
    double t0, t1;         /* [s] */
    double knot, per_time; /* the profile's that it begins at or after [s]; one over its interval [1/s] */
    double thrust, thrust_rise;        /* at the knot, and over its interval [N] */
    double mass, mass_rise;            /* likewise [kg] */
    const struct sm_switches *control; /* borrowed */
    size_t n;
    struct ramping ramping[SM_FLIGHT_GROUPS];
};

static void add_group(const struct sm_flight_model *m, size_t i, size_t k, struct stretch *s)
{
    const struct sm_flight_group *g = &m->groups[i];
    const double w = way(g, m->since, s->control, 0.5 * (s->t0 + s->t1)), scale = 1.0 + m->more;
    const double spread = scale * g->spread[k], rise = scale * g->spread[k + 1] - spread;
    if (w >= 1.0) {
        s->thrust -= spread;
        s->thrust_rise -= rise;
    } else if (w > 0.0) {
        const double low = cos(g->low);
        s->ramping[s->n++] = (struct ramping){g, low, low - cos(g->high), spread, rise};
    }
}

static void begin_stretch(const struct sm_flight_model *m, const struct sm_switches *control, size_t k,
                          double t0, double t1, struct stretch *s)
{
    const struct sm_profile *p = m->profile;
    const double width = p->t[k + 1] - p->t[k];
    s->t0 = t0;
    s->t1 = t1;
    s->knot = p->t[k];
    s->per_time = 1.0 / width;
    s->thrust = (1.0 + m->more) * p->full[k];
    s->thrust_rise = (1.0 + m->more) * p->full[k + 1] - s->thrust;
    s->mass = p->mass[k];
    s->mass_rise = p->mass[k + 1] - p->mass[k];
    s->control = control;
    s->n = 0;
    for (size_t i = 0; i < m->n; i++)
        add_group(m, i, k, s);
}

static double acceleration(const struct sm_flight_model *m, const struct stretch *s, double t, double v)
{
    double x = (t - s->knot) * s->per_time;
    x = x > 1.0 ? 1.0 : x < 0.0 ? 0.0 : x; /* held after the last knot */
    double thrust = s->thrust + x * s->thrust_rise;
    for (size_t i = 0; i < s->n; i++) {
        const struct ramping *r = &s->ramping[i];
        const struct sm_flight_group *g = r->group;
        const double splay = g->low + way(g, m->since, s->control, t) * (g->high - g->low);
        thrust -= (r->low - cos(splay)) / r->range * (r->spread + x * r->spread_rise);
    }
    return (thrust - m->drag * v * fabs(v)) / (s->mass + x * s->mass_rise) - m->profile->gravity;
}

static double line(const double *column, size_t knot, double x)
{
    return column[knot] + x * (column[knot + 1] - column[knot]);
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
    return (1.0 + m->more) * thrust;
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

/* The longest step between two corners that follow each other, a before b or after it. */
static double step_between(const struct sm_flight_model *m, const struct sm_switches *c, double a, double b)
{
    double longest = longest_step;
    for (size_t i = 0; i < m->n; i++) {
        const double ramp = m->groups[i].ramp, w = way(&m->groups[i], m->since, c, 0.5 * (a + b));
        if (w > 0.0 && w < 1.0)
            longest = fmin(longest, fmin(longest_ramping, ramp / STEPS_OF_RAMP));
    }
    return longest;
}

/* The first of the fewest equal steps from a to b that are no longer than told. */
static double first_of_equal(double a, double b, double longest)
{
    const double steps = ceil(fabs(b - a) / longest);
    return steps > 1.0 ? a + (b - a) / steps : b;
}

void sm_flight_fly(const struct sm_flight_model *m, const struct sm_flight_state *start,
                   const struct sm_switches *control, double T, struct sm_flight_state *end,
                   struct sm_flight_extremes *extremes)
{
    const struct sm_profile *p = m->profile;
    struct sm_flight_state at = *start;
    size_t knot = sm_profile_find(p, start->t);
    double corner = next_corner(m, control, at.t, T, 1.0);
    double longest = step_between(m, control, at.t, corner);
    *extremes = (struct sm_flight_extremes){start->h, SM_INF};
    while (at.t < T) {
        while (knot + 2 < p->n && p->t[knot + 1] <= at.t)
            knot++;
        if (at.t >= corner) {
            corner = next_corner(m, control, at.t, T, 1.0);
            longest = step_between(m, control, at.t, corner);
        }
        struct stretch s;
        const double next = p->t[knot + 1];
        const double t1 = first_of_equal(at.t, next > at.t && next < corner ? next : corner, longest);
        const struct sm_flight_state before = at;
        begin_stretch(m, control, knot, at.t, t1, &s);
        step(m, &s, &at, t1);
        if (before.v > 0.0 && at.v < 0.0) /* the summit of a parabola with the speeds at both ends */
            extremes->highest = fmax(extremes->highest, before.h + 0.5 * before.v * before.v *
                                                                       (at.t - before.t) / (before.v - at.v));
        if (before.v < 0.0 && at.v > 0.0) /* likewise */
            extremes->lowest = fmin(extremes->lowest, before.h + 0.5 * before.v * before.v *
                                                                     (at.t - before.t) / (before.v - at.v));
        extremes->highest = at.h > extremes->highest ? at.h : extremes->highest;
        extremes->lowest = at.h < extremes->lowest ? at.h : extremes->lowest;
    }
    *end = at;
}

void sm_flight_back(const struct sm_flight_model *m, const struct sm_flight_state *end,
                    const struct sm_switches *control, double t, struct sm_flight_state *at)
{
    const struct sm_profile *p = m->profile;
    size_t knot = sm_profile_find(p, end->t);
    double corner = next_corner(m, control, end->t, t, -1.0);
    double longest = step_between(m, control, corner, end->t);
    *at = *end;
    while (at->t > t) {
        while (knot > 0 && p->t[knot] >= at->t)
            knot--;
        if (at->t <= corner) {
            corner = next_corner(m, control, at->t, t, -1.0);
            longest = step_between(m, control, corner, at->t);
        }
        struct stretch s;
        const double next = p->t[knot];
        const double t0 = first_of_equal(at->t, next < at->t && next > corner ? next : corner, longest);
        begin_stretch(m, control, knot, t0, at->t, &s);
        step(m, &s, at, t0);
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

/* A flight in pieces, so that only what comes after a switch need be flown again for another switch. */
struct pieces {
    struct sm_flight_state at_off, at_on, end;
};

static void fly_pieces(const struct sm_flight_model *m, const struct sm_flight_state *start,
                       const struct sm_switches *c, double T, double ease, struct pieces *p)
{
    struct sm_flight_extremes passed;
    sm_flight_fly(m, start, c, fmin(c->off, T - ease), &p->at_off, &passed);
    sm_flight_fly(m, &p->at_off, c, fmin(c->on, T - ease), &p->at_on, &passed);
    sm_flight_fly_eased(m, &p->at_on, c, T, ease, &p->end, &passed);
}

/* How the end changes with each switch. */
struct slopes {
    double h_off, h_on; /* of its height [m/s] */
    double v_off, v_on; /* of its speed [m/s2] */
};

static void find_slopes(const struct sm_flight_model *m, const struct sm_switches *c, double T, double ease,
                        const struct pieces *p, struct slopes *out)
{
    static const double nudge = 1e-5; /* [s] */
    const struct sm_switches by_off = {c->off + nudge, c->on}, by_on = {c->off, c->on + nudge};
    struct sm_flight_state off, on;
    struct sm_flight_extremes passed;
    sm_flight_fly_eased(m, &p->at_off, &by_off, T, ease, &off, &passed);
    sm_flight_fly_eased(m, &p->at_on, &by_on, T, ease, &on, &passed);
    *out = (struct slopes){(off.h - p->end.h) / nudge, (on.h - p->end.h) / nudge, (off.v - p->end.v) / nudge,
                           (on.v - p->end.v) / nudge};
}

int sm_flight_land_eased(const struct sm_flight_model *m, const struct sm_flight_state *start, double T,
                         double v, double ease, struct sm_switches *control)
{
    enum { TRIES = 20, FREE = 4, PATIENCE = 3 };
    static const double close_height = 1e-7, close_speed = 1e-7; /* [m], [m/s] */
    static const double quick = 0.1,
                        slow = 0.9; /* of what is left, after a try: slopes still good; hopeless [1] */
    struct sm_switches c = *control;
    struct slopes s = {0};
    double left = SM_INF;
    int stuck = 0;
    for (int k = 0; k < TRIES; k++) {
        struct pieces p;
        fly_pieces(m, start, &c, T, ease, &p);
        const double dh = p.end.h, dv = p.end.v - v, now = fabs(dh) + fabs(dv);
        if (fabs(dh) < close_height && fabs(dv) < close_speed) {
            *control = c;
            return 1;
        }
        if (k >= FREE && now > slow * left && ++stuck > PATIENCE)
            return 0;
        if (k == 0 || now > quick * left)
            find_slopes(m, &c, T, ease, &p, &s);
        left = now;
        const double det = s.h_off * s.v_on - s.h_on * s.v_off;
        if (!(fabs(det) > 0.0))
            return 0;
        c.off = fmin(fmax(c.off - (dh * s.v_on - s.h_on * dv) / det, start->t), T);
        c.on = fmin(fmax(c.on - (s.h_off * dv - dh * s.v_off) / det, c.off), T);
    }
    return 0;
}

int sm_flight_land_next(const struct sm_flight_model *m, const struct sm_flight_state *start, double T,
                        double v, struct sm_flight_landed *before, struct sm_switches *control)
{
    int found = sm_flight_land(m, start, T, v, control);
    if (!found && !isnan(before->T)) {
        /* Everything at the same share of the flight. */
        const double share = (T - start->t) / (before->T - start->t);
        *control = (struct sm_switches){start->t + share * (before->control.off - start->t),
                                        start->t + share * (before->control.on - start->t)};
        found = sm_flight_land(m, start, T, v, control);
    }
    if (found)
        *before = (struct sm_flight_landed){T, *control};
    return found;
}
