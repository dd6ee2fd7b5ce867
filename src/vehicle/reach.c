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

/* Full thrust all the way: v = v0 + int a - g tau, h = h0 + v0 tau + int (T - t) a dt - g tau^2 / 2. */
static void fly_full(const struct sm_profile *p, const struct sm_flight_state *start, double T,
                     struct sm_flight_state *end)
{
    struct sm_profile_sums s;
    const double tau = T - start->t;
    between(p, start->t, T, &s);
    end->t = T;
    end->v = start->v + s.speed - p->gravity * tau;
    end->h = start->h + start->v * tau + T * s.speed - s.moment - 0.5 * p->gravity * tau * tau;
}

void sm_reach_fly(const struct sm_profile *p, const struct sm_flight_state *start,
                  const struct sm_switches *control, double T, struct sm_flight_state *end)
{
    const double off = fmin(fmax(control->off, start->t), T), on = fmin(fmax(control->on, off), T);
    struct sm_profile_sums s;
    fly_full(p, start, T, end);
    between(p, off, on, &s);
    end->v -= s.spread;
    end->h -= T * s.spread - s.spread_moment;
}

void sm_reach_speeds(const struct sm_profile *p, const struct sm_flight_state *start, double T,
                     double *slowest, double *fastest)
{
    struct sm_flight_state end;
    struct sm_profile_sums s;
    fly_full(p, start, T, &end);
    between(p, start->t, T, &s);
    *fastest = end.v;
    *slowest = end.v - s.spread;
}

/* Where thrust must come back to full if it goes least at off, so that the speed lost by it is loss [m/s]. */
static double back_on(const struct sm_profile *p, double off, double loss, double T)
{
    struct sm_profile_sums s;
    sm_profile_sums(p, off, &s);
    return sm_profile_when_spread(p, s.spread + loss, off, T);
}

/* Latest time at which thrust can go least, to stay so to T, and lose so much speed. */
static double latest_off(const struct sm_profile *p, const struct sm_flight_state *start, double loss,
                         double T)
{
    struct sm_profile_sums s;
    sm_profile_sums(p, T, &s);
    return sm_profile_when_spread(p, s.spread - loss, start->t, T);
}

/* A whisker of rounding, relative to the speeds at hand, still counts as reachable [m/s]. */
static const double speed_slack = 1e-12;

/* Speed to be lost against full thrust to have v at T. Returned: 0 if it can't be. */
static int loss_for(const struct sm_profile *p, const struct sm_flight_state *start, double T, double v,
                    double *loss)
{
    double slowest, fastest;
    sm_reach_speeds(p, start, T, &slowest, &fastest);
    const double slack = speed_slack * (1.0 + fabs(slowest) + fabs(fastest));
    *loss = fmin(fmax(fastest - v, 0.0), fastest - slowest);
    return v >= slowest - slack && v <= fastest + slack;
}

static double height_after(const struct sm_profile *p, const struct sm_flight_state *start, double off,
                           double loss, double T)
{
    struct sm_flight_state end;
    const struct sm_switches control = {off, back_on(p, off, loss, T)};
    sm_reach_fly(p, start, &control, T, &end);
    return end.h;
}

int sm_reach_heights(const struct sm_profile *p, const struct sm_flight_state *start, double T, double v,
                     double *lowest, double *highest)
{
    double loss;
    if (!loss_for(p, start, T, v, &loss))
        return 0;
    /* Losing speed early costs height, losing it late does not. */
    *lowest = height_after(p, start, start->t, loss, T);
    *highest = height_after(p, start, latest_off(p, start, loss, T), loss, T);
    return 1;
}

struct wanted_height {
    const struct sm_profile *profile;
    const struct sm_flight_state *start;
    double loss, T, height; /* [m/s], [s], [m] */
};

static double height_over(const void *user, double off)
{
    const struct wanted_height *w = user;
    return height_after(w->profile, w->start, off, w->loss, w->T) - w->height;
}

int sm_reach_highest(const struct sm_profile *p, const struct sm_flight_state *start, double T, double h,
                     double v, struct sm_switches *control)
{
    double loss, lowest, highest;
    if (!loss_for(p, start, T, v, &loss) || !sm_reach_heights(p, start, T, v, &lowest, &highest))
        return 0;
    const double slack = 1e-9 * (1.0 + fabs(lowest) + fabs(highest));
    if (h < lowest - slack || h > highest + slack)
        return 0;
    const struct wanted_height wanted = {p, start, loss, T, h};
    control->off = sm_bracket_root(height_over, &wanted, start->t, latest_off(p, start, loss, T));
    control->on = back_on(p, control->off, loss, T);
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
    /* A leg of one throttle turns more than once only where thrust swings about the weight. */
    enum { STEPS = 24, LEGS = 3 };
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
    for (int leg = 0; leg < LEGS; leg++)
        for (int i = 1; i <= STEPS && ends[leg + 1] > ends[leg]; i++, before = at) {
            /* Close together at first, not to miss a dip after lift-off. */
            const double share = (double)i / STEPS;
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
