#include "vehicle/touchdown.h"

#include "num/bracket.h"

#include <math.h>

double sm_touchdown_settled(const struct sm_profile *p)
{
    for (size_t i = p->n - 1; i-- > 0;) {
        const double before = p->least[i] - p->mass[i] * p->gravity,
                     after = p->least[i + 1] - p->mass[i + 1] * p->gravity;
        if (after > 0.0) /* to the end, or by a jump */
            return p->t[i + 1];
        if (before > 0.0) /* a straight line between knots */
            return p->t[i] + (p->t[i + 1] - p->t[i]) * before / (before - after);
    }
    return p->t[0];
}

double sm_touchdown_ratio(const struct sm_profile *p, double t, double *when)
{
    struct sm_profile_at at;
    sm_profile_eval(p, t, &at);
    double greatest = at.least / (at.mass * p->gravity);
    *when = t;
    /* Of two straight lines the quotient has no maximum between knots. */
    for (size_t i = 0; i < p->n; i++) {
        const double ratio = p->least[i] / (p->mass[i] * p->gravity);
        if (p->t[i] > t && ratio > greatest) {
            greatest = ratio;
            *when = p->t[i];
        }
    }
    return greatest;
}

void sm_touchdown_begin(const struct sm_flight_model *model, const struct sm_switches *control, double T,
                        double ease, struct sm_touchdown *out)
{
    *out = (struct sm_touchdown){.control = {T, SM_INF},
                                 .at = {T, 0.0, 0.0},
                                 .settled = sm_touchdown_settled(model->profile),
                                 .down = SM_ABSENT};
    sm_flight_carry_on(model, control, T - ease, &out->model);
    if (ease > 0.0) {
        const struct sm_flight_model then = out->model;
        const struct sm_switches growing = {T - ease, SM_INF};
        sm_flight_carry_on(&then, &growing, T, &out->model);
    }
}

/* Longest time between two looks at whether it rises or is down; the hop's summit is then right to a few micrometres [s]. */
static const double look = 0.01;

static int would_rise(const struct sm_touchdown *d)
{
    struct sm_profile_at p;
    const double whisker = 1e-9; /* of rounding, of the weight [1] */
    sm_profile_eval(d->model.profile, d->at.t, &p);
    return sm_flight_thrust(&d->model, &d->control, d->at.t) >
           p.mass * d->model.profile->gravity * (1.0 + whisker);
}

static double depth(const void *user, double t)
{
    const struct sm_touchdown *d = user;
    struct sm_flight_state end;
    struct sm_flight_extremes passed;
    sm_flight_fly(&d->model, &d->at, &d->control, t, &end, &passed);
    return -end.h;
}

/* In the air up to t, or down before. */
static void fly_on(struct sm_touchdown *d, double t)
{
    static const double shortest = 1e-6; /* of a hop, so that it goes on [s] */
    struct sm_flight_state end;
    struct sm_flight_extremes passed;
    sm_flight_fly(&d->model, &d->at, &d->control, t, &end, &passed);
    d->rise = fmax(d->rise, passed.highest);
    if (end.h > 0.0 || end.v >= 0.0) {
        d->at = end;
        return;
    }
    sm_flight_fly(&d->model, &d->at, &d->control, sm_bracket_root(depth, d, fmin(d->at.t + shortest, t), t),
                  &end, &passed);
    d->rise_speed = fmax(d->rise_speed, -end.v);
    d->down = end.t;
    d->at = (struct sm_flight_state){end.t, 0.0, 0.0};
    d->is_up = 0;
}

void sm_touchdown_go_on(struct sm_touchdown *d, double t)
{
    while (d->at.t < t) {
        const double next = fmin(d->at.t + look, t);
        d->is_up = d->is_up || would_rise(d);
        if (d->is_up)
            fly_on(d, next);
        else
            d->at.t = next;
    }
}

void sm_touchdown_finish(struct sm_touchdown *d)
{
    double quiet = d->at.t; /* from then on splay is at its most, and holds it down */
    for (size_t i = 0; i < d->model.n; i++)
        quiet = fmax(quiet, d->control.off + d->model.groups[i].ramp);
    quiet = fmax(quiet, d->settled);
    while (d->at.t < quiet || d->is_up)
        sm_touchdown_go_on(d, d->at.t < quiet ? fmin(d->at.t + look, quiet) : d->at.t + look);
}

/* ---- arriving with thrust equal to the weight ---- */

struct easing {
    const struct sm_flight_model *model;
    double T, weight; /* [s], [N] */
};

static double under_weight(const void *user, double ease)
{
    const struct easing *e = user;
    const struct sm_switches growing = {e->T - ease, SM_INF};
    return e->weight - sm_flight_thrust(e->model, &growing, e->T);
}

double sm_touchdown_ease(const struct sm_flight_model *model, double T)
{
    struct sm_profile_at p;
    struct sm_flight_model unsplayed = *model;
    double longest = 0.0;
    for (size_t i = 0; i < model->n; i++) {
        unsplayed.groups[i].lead = 0.0;
        longest = fmax(longest, model->groups[i].ramp);
    }
    sm_profile_eval(model->profile, T, &p);
    const struct easing e = {&unsplayed, T, p.mass * model->profile->gravity};
    if (p.full <= e.weight)
        return 0.0;
    if (p.least > e.weight)
        return SM_ABSENT;
    return longest > 0.0 ? sm_bracket_root(under_weight, &e, 0.0, longest) : 0.0;
}
