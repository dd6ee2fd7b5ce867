#include "vehicle/tube.h"

#include "num/bracket.h"

#include <math.h>

/* Height and speed at t of the flight that touches down at T: least thrust up to off, then full.
 * v(t) = -limit - int a + g (T - t), h(t) = limit (T - t) + int (s - t) a ds - g (T - t)^2 / 2. */
static void back_from(const struct sm_tube *tube, double t, double off, double T, struct sm_flight_state *at)
{
    const struct sm_profile *p = tube->profile;
    struct sm_profile_sums now, then, end;
    const double tau = T - t;
    sm_profile_sums(p, t, &now);
    sm_profile_sums(p, off, &then);
    sm_profile_sums(p, T, &end);
    const double lost = then.spread - now.spread, lost_moment = then.spread_moment - now.spread_moment;
    const double speed = end.speed - now.speed - lost, moment = end.moment - now.moment - lost_moment;
    at->t = t;
    at->v = -tube->limit - tube->scale * speed + p->gravity * tau;
    at->h = tube->limit * tau + tube->scale * (moment - t * speed) - 0.5 * p->gravity * tau * tau;
}

/* What is sought by the end of least thrust, or of the whole flight. */
struct sought {
    const struct sm_tube *tube;
    double t, T;   /* looked from, and contact [s] */
    double wanted; /* height [m] or speed [m/s] */
};

static double height_by_contact(const void *user, double T)
{
    const struct sought *s = user;
    struct sm_flight_state at;
    back_from(s->tube, s->t, s->t, T, &at);
    return at.h - s->wanted;
}

static double speed_by_contact(const void *user, double T)
{
    const struct sought *s = user;
    struct sm_flight_state at;
    back_from(s->tube, s->t, s->t, T, &at);
    return s->wanted - at.v;
}

static double height_by_off(const void *user, double off)
{
    const struct sought *s = user;
    struct sm_flight_state at;
    back_from(s->tube, s->t, off, s->T, &at);
    return s->wanted - at.h;
}

static double speed_by_off(const void *user, double off)
{
    const struct sought *s = user;
    struct sm_flight_state at;
    back_from(s->tube, s->t, off, s->T, &at);
    return at.v - s->wanted;
}

/* How fast the height of the full flight to T grows with T [m/s]. */
static double gain(const struct sm_tube *tube, double t, double T)
{
    struct sm_profile_at p;
    sm_profile_eval(tube->profile, T, &p);
    return tube->limit + (T - t) * (tube->scale * p.full / p.mass - tube->profile->gravity);
}

static double no_gain(const void *user, double T)
{
    const struct sought *s = user;
    return -gain(s->tube, s->t, T);
}

double sm_tube_latest(const struct sm_tube *tube, double t)
{
    const struct sm_profile *p = tube->profile;
    double a = t, b = sm_profile_burnout(p);
    for (size_t i = p->n; i-- > 0 && p->t[i] > t;)
        if (tube->scale * p->full[i] >= p->mass[i] * p->gravity) {
            a = p->t[i];
            break;
        }
    if (a >= b || gain(tube, t, b) >= 0.0)
        return fmax(b, t);
    const struct sought s = {tube, t, b, 0.0};
    return sm_bracket_root(no_gain, &s, a, b);
}

double sm_tube_top(const struct sm_tube *tube, double t)
{
    struct sm_flight_state at;
    back_from(tube, t, t, sm_tube_latest(tube, t), &at);
    return fmax(at.h, 0.0);
}

int sm_tube_speeds(const struct sm_tube *tube, double t, double h, double *slowest, double *fastest)
{
    const double last = sm_tube_latest(tube, t);
    struct sm_flight_state at;
    back_from(tube, t, t, last, &at);
    if (h < 0.0 || h > at.h || !(last > t))
        return 0;
    const struct sought sought = {tube, t, last, h};
    /* A later contact of the full flight is from higher up. */
    back_from(tube, t, t, sm_bracket_root(height_by_contact, &sought, t, last), &at);
    *slowest = at.v;
    back_from(tube, t, last, last, &at);
    if (at.h > h) { /* least thrust throughout comes down within the limit: the last contact is then softer */
        *fastest = at.v + fmin((at.h - h) / (last - t), tube->limit);
        return 1;
    }
    /* A later end of least thrust is from lower down. */
    back_from(tube, t, sm_bracket_root(height_by_off, &sought, t, last), last, &at);
    *fastest = at.v;
    return 1;
}

int sm_tube_heights(const struct sm_tube *tube, double t, double v, double *lowest, double *highest)
{
    const double last = sm_tube_latest(tube, t);
    struct sm_flight_state all_full, all_least, at = {0};
    back_from(tube, t, t, last, &all_full);
    back_from(tube, t, last, last, &all_least);
    if (v < all_full.v || v > all_least.v + tube->limit || !(last > t))
        return 0;
    *lowest = 0.0;
    if (v > all_least.v) { /* down at least thrust throughout, to a softer contact */
        *highest = all_least.h - (v - all_least.v) * (last - t);
        return *highest >= 0.0;
    }
    const struct sought sought = {tube, t, last, v};
    if (v < -tube->limit) {
        back_from(tube, t, t, sm_bracket_root(speed_by_contact, &sought, t, last), &at);
        *lowest = at.h;
    }
    back_from(tube, t, sm_bracket_root(speed_by_off, &sought, t, last), last, &at);
    *highest = at.h;
    return *highest >= *lowest;
}

/* A whisker of rounding still counts as inside [m/s]. */
static const double slack = 1e-9;

int sm_tube_holds(const struct sm_tube *tube, const struct sm_flight_state *at)
{
    double slowest, fastest;
    return sm_tube_speeds(tube, at->t, at->h, &slowest, &fastest) && at->v >= slowest - slack &&
           at->v <= fastest + slack;
}

/* The same to one side: sign -1 for less thrust, 1 for more. */
static double margin_to(const struct sm_tube *tube, const struct sm_flight_state *at, double sign,
                        double most)
{
    static const double close = 1e-4; /* of thrust: far below what anybody knows of a curve [1] */
    struct sm_tube other = *tube;
    double a = 0.0, b = most;
    other.scale = tube->scale * (1.0 + sign * most);
    if (sm_tube_holds(&other, at))
        return most;
    while (b - a > close) {
        const double middle = 0.5 * (a + b);
        other.scale = tube->scale * (1.0 + sign * middle);
        if (sm_tube_holds(&other, at))
            a = middle;
        else
            b = middle;
    }
    return a;
}

double sm_tube_thrust_margin(const struct sm_tube *tube, const struct sm_flight_state *at, double most)
{
    if (!sm_tube_holds(tube, at))
        return 0.0;
    const double less = margin_to(tube, at, -1.0, most);
    return less > 0.0 ? margin_to(tube, at, 1.0, less) : 0.0;
}
