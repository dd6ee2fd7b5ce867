/* Outlines of what can be reached, and of from where a landing still can. */
#include "vehicle/lift.h"
#include "vehicle/outline.h"
#include "vehicle/tube.h"

#include <math.h>

/* One of the four bounds: flown is NULL without drag and ramps. */
struct bounds {
    const struct sm_profile *profile;
    const struct sm_flight_state *start;
    const struct sm_flight_model *flown;
};

static void choose(const struct sm_lift_study *s, size_t i, struct bounds *b)
{
    const int keeps = i == SM_LIFT_RESERVE || i == SM_LIFT_DRAG_RESERVE;
    const struct sm_flight_model *flown = keeps ? &s->flown_reserve : &s->flown;
    b->profile = keeps ? &s->reserve : &s->bare;
    b->start = keeps ? &s->start_reserve : &s->start;
    b->flown = i >= SM_LIFT_DRAG ? flown : NULL;
}

static enum sm_status keep(struct sm_lift_study *s, double t, const struct sm_outline *o,
                           struct sm_lift_set *set, struct sm_error *err)
{
    double *all = sm_arena_alloc(&s->arena, 3 * SM_OUTLINE_POINTS, sizeof *all);
    if (!all)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < o->n; i++) {
        all[i] = o->at[i];
        all[SM_OUTLINE_POINTS + i] = o->low[i];
        all[2 * SM_OUTLINE_POINTS + i] = o->high[i];
    }
    *set = (struct sm_lift_set){
        .time = t, .n = o->n, .at = all, .low = all + SM_OUTLINE_POINTS, .high = all + 2 * SM_OUTLINE_POINTS};
    return SM_OK;
}

static void reachable(const struct bounds *b, double t, struct sm_outline *o)
{
    double slowest, fastest;
    o->n = 0;
    if (!(t > b->start->t)) /* or it never lifts off */
        return;
    if (b->flown) {
        sm_outline_reachable(b->flown, b->start, t, o);
        return;
    }
    sm_reach_speeds(b->profile, b->start, t, &slowest, &fastest);
    for (int i = 0; i < SM_OUTLINE_POINTS; i++) {
        const double v = slowest + (fastest - slowest) * i / (SM_OUTLINE_POINTS - 1);
        double low, high;
        if (!sm_reach_heights(b->profile, b->start, t, v, &low, &high) || high < 0.0)
            continue;
        o->at[o->n] = v;
        o->low[o->n] = fmax(low, 0.0);
        o->high[o->n++] = high;
    }
}

static void tube_at(const struct bounds *b, double limit, double t, struct sm_outline *o)
{
    const struct sm_tube tube = {b->profile, limit, 1.0};
    o->n = 0;
    if (b->flown) {
        sm_outline_tube(b->flown, limit, t, sm_tube_latest(&tube, t), o);
        return;
    }
    const double top = sm_tube_top(&tube, t);
    for (int i = 0; i < SM_OUTLINE_POINTS; i++) {
        o->at[o->n] = top * i / (SM_OUTLINE_POINTS - 1);
        if (sm_tube_speeds(&tube, t, o->at[o->n], &o->low[o->n], &o->high[o->n]))
            o->n++;
    }
}

static void hover(const struct bounds *b, double t, double *low, double *high)
{
    *low = *high = SM_ABSENT;
    if (!(t > b->start->t))
        return;
    const int can = b->flown ? sm_outline_hover(b->flown, b->start, t, low, high)
                             : sm_reach_heights(b->profile, b->start, t, 0.0, low, high);
    if (can && *high >= 0.0)
        *low = fmax(*low, 0.0);
    else
        *low = *high = SM_ABSENT;
}

static enum sm_status fill_hover(struct sm_lift_study *s, double end, struct sm_error *err)
{
    enum { COLUMNS = 1 + 2 * SM_LIFT_BOUNDS };
    struct sm_lift_hover_set *set = &s->lift.hover;
    double *column[COLUMNS];
    for (size_t k = 0; k < COLUMNS; k++) {
        column[k] = sm_arena_alloc(&s->arena, SM_LIFT_HOVERS, sizeof **column);
        if (!column[k])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    set->time = column[0];
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        struct bounds b;
        choose(s, k, &b);
        set->low[k] = column[1 + 2 * k];
        set->high[k] = column[2 + 2 * k];
        for (size_t i = 0; i < SM_LIFT_HOVERS; i++) {
            column[0][i] = s->start.t + (end - s->start.t) * (double)i / (SM_LIFT_HOVERS - 1);
            hover(&b, column[0][i], &column[1 + 2 * k][i], &column[2 + 2 * k][i]);
        }
    }
    return SM_OK;
}

enum sm_status sm_lift_fill_sets(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift *lift = &s->lift;
    const double end = sm_profile_burnout(&s->bare), limit = s->vehicle->spec.landing.speed_limit;
    struct sm_outline o;
    if (!lift->has_throttle)
        return SM_OK;
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        struct bounds b;
        choose(s, k, &b);
        for (size_t i = 0; i < SM_LIFT_SETS; i++) {
            const double t = s->start.t + (end - s->start.t) * (double)(i + 1) / (SM_LIFT_SETS + 1);
            reachable(&b, t, &o);
            SM_TRY(keep(s, t, &o, &lift->reachable[k][i], err));
            tube_at(&b, limit, t, &o);
            SM_TRY(keep(s, t, &o, &lift->tube[k][i], err));
        }
    }
    lift->n_sets = SM_LIFT_SETS;
    return fill_hover(s, end, err);
}
