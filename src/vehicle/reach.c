#include "vehicle/reach.h"

#include "num/bracket.h"

#include <math.h>

/* Integrals between two times. */
static void between(const struct sm_profile *p, double a, double b, struct sm_profile_sums *out)
{
    struct sm_profile_sums from;
    sm_profile_sums(p, a, &from);
    sm_profile_sums(p, b, out);
    out->speed -= from.speed;
    out->moment -= from.moment;
    out->spread -= from.spread;
    out->spread_moment -= from.spread_moment;
}

/* Full thrust all the way: v = v0 + int a - g tau, h = h0 + v0 tau + int (T - t) a dt - g tau^2 / 2. The integrals from the start
 * to T go to *s. */
static void fly_full(const struct sm_profile *p, const struct sm_flight_state *start, double T,
                     struct sm_flight_state *end, struct sm_profile_sums *s)
{
    const double tau = T - start->t;
    between(p, start->t, T, s);
    end->t = T;
    end->v = start->v + s->speed - p->gravity * tau;
    end->h = start->h + start->v * tau + T * s->speed - s->moment - 0.5 * p->gravity * tau * tau;
}

void sm_reach_fly(const struct sm_profile *p, const struct sm_flight_state *start,
                  const struct sm_switches *control, double T, struct sm_flight_state *end)
{
    const double off = fmin(fmax(control->off, start->t), T), on = fmin(fmax(control->on, off), T);
    struct sm_profile_sums s;
    fly_full(p, start, T, end, &s);
    between(p, off, on, &s);
    end->v -= s.spread;
    end->h -= T * s.spread - s.spread_moment;
}

void sm_reach_speeds(const struct sm_profile *p, const struct sm_flight_state *start, double T,
                     double *slowest, double *fastest)
{
    struct sm_flight_state end;
    struct sm_profile_sums s;
    fly_full(p, start, T, &end, &s);
    *fastest = end.v;
    *slowest = end.v - s.spread;
}

/* A whisker of rounding, relative to the speeds at hand, still counts as reachable [m/s]. */
static const double speed_slack = 1e-12;

/* Flights to T with one speed there: all that differs between them is when they lose speed. */
struct losing {
    const struct sm_profile *profile;
    double T, loss;     /* [s], speed to be lost against full thrust [m/s] */
    double full;        /* height at T under full thrust [m] */
    double first, last; /* earliest and latest time at which thrust can go least [s] */
    double height;      /* wanted [m] */
};

/* Returned: 0 if v can't be had at T. */
static int prepare(const struct sm_profile *p, const struct sm_flight_state *start, double T, double v,
                   struct losing *l)
{
    struct sm_flight_state end;
    struct sm_profile_sums s;
    fly_full(p, start, T, &end, &s);
    const double fastest = end.v, slowest = end.v - s.spread;
    const double slack = speed_slack * (1.0 + fabs(slowest) + fabs(fastest));
    if (v < slowest - slack || v > fastest + slack)
        return 0;
    *l = (struct losing){.profile = p, .T = T, .full = end.h, .first = start->t};
    l->loss = fmin(fmax(fastest - v, 0.0), fastest - slowest);
    sm_profile_sums(p, T, &s);
    l->last = sm_profile_when_spread(p, s.spread - l->loss, start->t, T);
    return 1;
}

/* Height at T if thrust goes least at off; *on: when it must come back to full, if not NULL. */
static double height_after(const struct losing *l, double off, double *on)
{
    struct sm_profile_sums from, to;
    sm_profile_sums(l->profile, off, &from);
    const double back = sm_profile_when_spread(l->profile, from.spread + l->loss, off, l->T);
    sm_profile_sums(l->profile, back, &to);
    if (on)
        *on = back;
    return l->full - l->T * (to.spread - from.spread) + to.spread_moment - from.spread_moment;
}

int sm_reach_heights(const struct sm_profile *p, const struct sm_flight_state *start, double T, double v,
                     double *lowest, double *highest)
{
    struct losing l;
    if (!prepare(p, start, T, v, &l))
        return 0;
    /* Losing speed early costs height, losing it late does not. */
    *lowest = height_after(&l, l.first, NULL);
    *highest = height_after(&l, l.last, NULL);
    return 1;
}

static double height_over(const void *user, double off)
{
    const struct losing *l = user;
    return height_after(l, off, NULL) - l->height;
}

int sm_reach_highest(const struct sm_profile *p, const struct sm_flight_state *start, double T, double h,
                     double v, struct sm_switches *control)
{
    struct losing l;
    if (!prepare(p, start, T, v, &l))
        return 0;
    const double lowest = height_after(&l, l.first, NULL), highest = height_after(&l, l.last, NULL);
    const double slack = 1e-9 * (1.0 + fabs(lowest) + fabs(highest));
    if (h < lowest - slack || h > highest + slack)
        return 0;
    l.height = h;
    control->off = sm_bracket_root(height_over, &l, l.first, l.last);
    (void)height_after(&l, control->off, &control->on);
    return 1;
}

/* One flight, with the integrals at its start and switches. */
struct flown {
    const struct sm_profile *profile;
    struct sm_flight_state start;
    double off, on; /* [s] */
    struct sm_profile_sums at_start, at_off, at_on;
    double sign; /* -1 to look for a summit, 1 for a lowest point [1] */
};

/* As sm_reach_fly, with one look into the integrals. */
static void state_at(const struct flown *f, double t, struct sm_flight_state *at)
{
    const double tau = t - f->start.t, g = f->profile->gravity;
    struct sm_profile_sums now;
    sm_profile_sums(f->profile, t, &now);
    const struct sm_profile_sums *end = t < f->on ? &now : &f->at_on;
    const double speed = now.speed - f->at_start.speed, moment = now.moment - f->at_start.moment;
    const double lost = t > f->off ? end->spread - f->at_off.spread : 0.0,
                 lost_moment = t > f->off ? end->spread_moment - f->at_off.spread_moment : 0.0;
    at->t = t;
    at->v = f->start.v + speed - g * tau - lost;
    at->h = f->start.h + f->start.v * tau + t * (speed - lost) - (moment - lost_moment) - 0.5 * g * tau * tau;
}

static double speed_at(const void *user, double t)
{
    const struct flown *f = user;
    struct sm_flight_state at;
    state_at(f, t, &at);
    return f->sign * at.v;
}

void sm_reach_extremes(const struct sm_profile *p, const struct sm_flight_state *start,
                       const struct sm_switches *control, double T, struct sm_flight_state *apogee,
                       double *lowest)
{
    /* A leg of one throttle turns more than once only where thrust swings about the weight: there it is looked at closely. */
    enum { CLOSELY = 24, LEGS = 3 };
    struct flown f = {.profile = p, .start = *start};
    f.off = fmin(fmax(control->off, start->t), T);
    f.on = fmin(fmax(control->on, f.off), T);
    sm_profile_sums(p, start->t, &f.at_start);
    sm_profile_sums(p, f.off, &f.at_off);
    sm_profile_sums(p, f.on, &f.at_on);
    const double ends[LEGS + 1] = {start->t, f.off, f.on, T};
    struct sm_flight_state at, before = *start;
    *apogee = *start;
    *lowest = SM_INF;
    for (int leg = 0; leg < LEGS; leg++) {
        const int steps = sm_profile_is_one_sided(p, leg != 1, ends[leg], ends[leg + 1]) ? 1 : CLOSELY;
        for (int i = 1; i <= steps && ends[leg + 1] > ends[leg]; i++, before = at) {
            /* Close together at first, not to miss a dip after lift-off. */
            const double share = (double)i / steps;
            state_at(&f, ends[leg] + (ends[leg + 1] - ends[leg]) * share * share, &at);
            if (before.v * at.v < 0.0) {
                struct sm_flight_state turn;
                f.sign = before.v > 0.0 ? -1.0 : 1.0;
                state_at(&f, sm_bracket_root(speed_at, &f, before.t, at.t), &turn);
                *apogee = turn.h > apogee->h ? turn : *apogee;
                *lowest = fmin(*lowest, turn.h);
            }
            *apogee = at.h > apogee->h ? at : *apogee;
            *lowest = fmin(*lowest, at.h);
        }
    }
}

/* The highest flight to a contact at that speed, if there is one that stays above ground. */
static int lands_at(const struct sm_profile *p, const struct sm_flight_state *start, double T, double speed)
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    struct sm_switches control;
    struct sm_flight_state apogee;
    double lowest;
    if (!sm_reach_highest(p, start, T, 0.0, -speed, &control))
        return 0;
    sm_reach_extremes(p, start, &control, T, &apogee, &lowest);
    return lowest >= buried;
}

int sm_reach_lands(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit,
                   double *contact)
{
    enum { SPEEDS = 8, HALVINGS = 10 }; /* to a ten-thousandth of the limit */
    for (int i = 0; i <= SPEEDS; i++) {
        double b = limit * i / SPEEDS, a = limit * (i - 1) / SPEEDS;
        if (!lands_at(p, start, T, b))
            continue;
        for (int k = 0; k < HALVINGS && i > 0 && contact; k++) {
            const double middle = 0.5 * (a + b);
            if (lands_at(p, start, T, middle))
                b = middle;
            else
                a = middle;
        }
        if (contact)
            *contact = b;
        return 1;
    }
    return 0;
}
