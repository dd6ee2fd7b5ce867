/* Outlines of what can be reached, and from where a landing still can. */
#include "vehicle/lift.h"
#include "vehicle/tube.h"

enum { POINTS = 33 };

struct outline {
    double *at, *low, *high; /* [unit of the set] */
};

static enum sm_status begin(struct sm_lift_study *s, double t, struct sm_lift_set *set, struct outline *o,
                            struct sm_error *err)
{
    double *all = sm_arena_alloc(&s->arena, 3 * POINTS, sizeof *all);
    if (!all)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    *o = (struct outline){all, all + POINTS, all + 2 * POINTS};
    *set = (struct sm_lift_set){.time = t, .at = o->at, .low = o->low, .high = o->high};
    return SM_OK;
}

static enum sm_status fill_reachable(struct sm_lift_study *s, double t, struct sm_lift_set *set,
                                     struct sm_error *err)
{
    struct outline o = {0};
    double slowest, fastest;
    SM_TRY(begin(s, t, set, &o, err));
    sm_reach_speeds(&s->bare, &s->start, t, &slowest, &fastest);
    for (int i = 0; i < POINTS; i++) {
        const double v = slowest + (fastest - slowest) * i / (POINTS - 1);
        double low, high;
        if (!sm_reach_heights(&s->bare, &s->start, t, v, &low, &high) || high < 0.0)
            continue;
        o.at[set->n] = v;
        o.low[set->n] = low < 0.0 ? 0.0 : low;
        o.high[set->n++] = high;
    }
    return SM_OK;
}

static enum sm_status fill_tube(struct sm_lift_study *s, const struct sm_profile *p, double t,
                                struct sm_lift_set *set, struct sm_error *err)
{
    const struct sm_tube tube = {p, s->vehicle->spec.landing.speed_limit, 1.0};
    const double top = sm_tube_top(&tube, t);
    struct outline o = {0};
    SM_TRY(begin(s, t, set, &o, err));
    for (int i = 0; i < POINTS; i++) {
        const double h = top * i / (POINTS - 1);
        if (!sm_tube_speeds(&tube, t, h, &o.low[set->n], &o.high[set->n]))
            continue;
        o.at[set->n++] = h;
    }
    return SM_OK;
}

enum sm_status sm_lift_fill_sets(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift *lift = &s->lift;
    const double end = sm_profile_burnout(&s->bare);
    for (size_t i = 0; i < SM_LIFT_SETS && lift->has_throttle; i++) {
        const double t = s->start.t + (end - s->start.t) * (double)(i + 1) / (SM_LIFT_SETS + 1);
        SM_TRY(fill_reachable(s, t, &lift->reachable[i], err));
        SM_TRY(fill_tube(s, &s->bare, t, &lift->tube[i], err));
        SM_TRY(fill_tube(s, &s->reserve, t, &lift->tube_reserve[i], err));
        lift->n_sets = i + 1;
    }
    return SM_OK;
}
