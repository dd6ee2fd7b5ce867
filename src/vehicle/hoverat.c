/* The longest hover at one height: how soon it can be there, how long weight can be held, how long a landing still exists. */
#include "vehicle/lift.h"
#include "vehicle/outline.h"
#include "vehicle/tube.h"

#include <math.h>

/* One of the four bounds: flown is NULL without drag and ramps. */
struct bounds {
    const struct sm_profile *profile;
    const struct sm_flight_state *start;
    const struct sm_flight_model *flown;
    double limit;  /* of the legs [m/s] */
    double height; /* [m] */
};

/* Can it have come to a stand there by t? */
static int can_be_there(const struct bounds *b, double t)
{
    double low, high;
    if (!(t > b->start->t))
        return 0;
    const int can = b->flown ? sm_outline_hover(b->flown, b->start, t, &low, &high)
                             : sm_reach_heights(b->profile, b->start, t, 0.0, &low, &high);
    return can && b->height >= low && b->height <= high;
}

/* Does the tube's outline hold a stand at that height? */
static int holds(const struct sm_outline *o, double height)
{
    for (size_t i = 1; i < o->n; i++)
        if (height >= o->at[i - 1] && height <= o->at[i]) {
            const double width = o->at[i] - o->at[i - 1];
            const double x = width > 0.0 ? (height - o->at[i - 1]) / width : 0.0;
            return o->low[i - 1] + x * (o->low[i] - o->low[i - 1]) <= 0.0 &&
                   o->high[i - 1] + x * (o->high[i] - o->high[i - 1]) >= 0.0;
        }
    return 0;
}

/* Does a landing exist from a stand there at t? */
static int can_land(const struct bounds *b, double t)
{
    const struct sm_tube tube = {b->profile, b->limit, 1.0};
    const struct sm_flight_state stands = {t, b->height, 0.0};
    struct sm_outline o;
    if (!b->flown)
        return sm_tube_holds(&tube, &stands);
    sm_outline_tube(b->flown, b->limit, t, sm_tube_latest(&tube, t), &o);
    return holds(&o, b->height);
}

/* Between a time at which it can and one at which it can't. */
static double edge(const struct bounds *b, int (*can)(const struct bounds *b, double t), double yes,
                   double no)
{
    enum { HALVINGS = 14 };
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (yes + no);
        if (can(b, middle))
            yes = middle;
        else
            no = middle;
    }
    return yes;
}

enum { LOOKS = 24 };

static double look_at(double from, double to, int i)
{
    return from + (to - from) * i / LOOKS;
}

/* The first time from which it can be there, and the last at which a landing still exists. Returned: 0 if there is none. */
static int find_ends(const struct bounds *b, double end, double *from, double *to)
{
    const double start = b->start->t;
    int i = 1, k = LOOKS;
    while (i <= LOOKS && !can_be_there(b, look_at(start, end, i)))
        i++;
    if (i > LOOKS)
        return 0;
    *from = edge(b, can_be_there, look_at(start, end, i), look_at(start, end, i - 1));
    while (k >= 0 && look_at(start, end, k) > *from && !can_land(b, look_at(start, end, k)))
        k--;
    if (k >= 0 && look_at(start, end, k) > *from)
        *to = k < LOOKS ? edge(b, can_land, look_at(start, end, k), look_at(start, end, k + 1)) : end;
    else if (can_land(b, *from))
        *to = edge(b, can_land, *from, look_at(start, end, k + 1));
    else
        return 0;
    return 1;
}

/* Of the time from a to b, that from which on weight is held to its end. */
static void hold_weight(const struct sm_profile *p, double a, double b, double *from, double *to)
{
    double first = a;
    *from = *to = SM_ABSENT;
    for (size_t i = 0; i <= p->n; i++) {
        struct sm_profile_at at;
        const double t = i < p->n ? fmin(fmax(p->t[i], a), b) : b;
        sm_profile_eval(p, t, &at);
        const double weight = at.mass * p->gravity;
        const int is_held = at.full >= weight && at.least <= weight;
        if (is_held && !(*to - *from >= t - first)) {
            *from = first;
            *to = t;
        }
        first = is_held ? first : t;
    }
}

static void fill_one(const struct bounds *b, double end, double *from, double *to)
{
    double a, z;
    *from = *to = SM_ABSENT;
    if (isnan(b->start->t) || !find_ends(b, end, &a, &z))
        return;
    hold_weight(b->profile, a, z, from, to);
    if (!isnan(*from) && (!(*to > *from) || !can_be_there(b, *from) || !can_land(b, *to)))
        *from = *to = SM_ABSENT;
}

void sm_lift_fill_hover_at(struct sm_lift_study *s, const struct sm_lift_options *options)
{
    struct sm_lift_hover_at *out = &s->lift.hover_at;
    const double end = sm_profile_burnout(&s->bare);
    *out = (struct sm_lift_hover_at){.height = SM_ABSENT};
    if (options && options->hover_height > 0.0)
        out->height = options->hover_height;
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        const int keeps = k == SM_LIFT_RESERVE || k == SM_LIFT_DRAG_RESERVE;
        const struct sm_flight_model *flown = keeps ? &s->flown_reserve : &s->flown;
        const struct bounds b = {.profile = keeps ? &s->reserve : &s->bare,
                                 .start = keeps ? &s->start_reserve : &s->start,
                                 .flown = k >= SM_LIFT_DRAG ? flown : NULL,
                                 .limit = s->vehicle->spec.landing.speed_limit,
                                 .height = out->height};
        out->from[k] = out->to[k] = SM_ABSENT;
        if (s->lift.has_throttle && !isnan(out->height))
            fill_one(&b, end, &out->from[k], &out->to[k]);
    }
}
