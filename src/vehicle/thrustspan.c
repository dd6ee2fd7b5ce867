#include "vehicle/thrustspan.h"

#include <math.h>
#include <stdlib.h>

static const double pi = 3.14159265358979323846;
static const double least_room =
    1.02; /* most over least steady thrust: into less no motor can well be sized [1] */

/* ---- instants ---- */

static double last_burn_out(const struct sm_asked *w, const struct sm_asked_flight *f)
{
    return fmax(f->burn_out, w->n_events > 0 ? w->events[w->n_events - 1] : 0.0);
}

struct sm_asked_instant sm_asked_when(const struct sm_asked *w, const struct sm_asked_flight *f, double t)
{
    struct sm_asked_instant at = {.t = t, .mass = w->dry_mass};
    struct sm_profile_at held;
    at.flies = t >= w->lift_off && t <= f->contact;
    if (at.flies) {
        const struct sm_instant now = sm_wished_when(&f->wished, t - w->lift_off);
        at.height = now.height;
        at.speed = now.speed;
        at.acceleration = now.acceleration;
    }
    if (w->held) {
        sm_profile_eval(w->held, t, &held);
        at.full = held.full;
        at.least = held.least;
        at.mass = held.mass;
    }
    at.left = fmax(f->burn_out - fmax(t, w->ignition), 0.0);
    at.burns = t >= w->up && t <= f->burn_out;
    return at;
}

static int in_order(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* Both sides of an instant at which something jumps. */
static void put_both(double at, double beside, double *t, size_t *n, size_t most)
{
    if (*n + 2 > most)
        return;
    t[(*n)++] = at - beside;
    t[(*n)++] = at + beside;
}

static void put_evenly(double from, double to, int parts, double *t, size_t *n, size_t most)
{
    for (int i = 1; i < parts && *n < most && to > from; i++)
        t[(*n)++] = from + (to - from) * i / parts;
}

size_t sm_asked_times(const struct sm_asked *w, const struct sm_asked_flight *f, int parts, double apart,
                      double *t, size_t most)
{
    static const double nothing = 1e-9; /* next to nothing moves in it [s] */
    const double beside = fmax(0.51 * apart, nothing);
    const double first = fmin(w->ignition, w->lift_off);
    double begun = w->lift_off;
    const double last = last_burn_out(w, f);
    size_t n = 0, kept = 0;
    put_both(begun, beside, t, &n, most);
    for (int i = 0; i < SM_WISHED_PARTS; i++) {
        const double whole = sm_wished_length(&f->wished, i);
        put_evenly(begun, begun + whole, parts, t, &n, most);
        begun += whole;
        put_both(begun, beside, t, &n, most);
    }
    put_both(w->ignition - beside, beside, t, &n, most); /* the instant itself, and one before */
    t[n - 1] = w->ignition;
    put_both(w->up, beside, t, &n, most);
    put_both(f->burn_out, beside, t, &n, most);
    put_evenly(f->contact, last, parts, t, &n, most);
    for (size_t i = 0; i < w->n_events && n < most; i++)
        t[n++] = w->events[i];
    qsort(t, n, sizeof *t, in_order);
    for (size_t i = 0; i < n; i++)
        if (t[i] >= first && (kept == 0 || t[i] - t[kept - 1] >= apart))
            t[kept++] = t[i];
    return kept;
}

/* ---- what a steady thrust may be ---- */

/* Keeps slope F >= value. */
static void keep(struct sm_thrust_span *span, double slope, double value)
{
    if (slope > 0.0)
        span->least = fmax(span->least, value / slope);
    else if (slope < 0.0)
        span->most = fmin(span->most, value / slope);
    else if (value > 0.0)
        span->most = -SM_INF;
}

static void keep_instant(const struct sm_asked *w, const struct sm_asked_instant *at,
                         struct sm_thrust_span *span)
{
    const double n = w->group->count, felt = w->gravity + at->acceleration;
    const double carried = at->left * felt / w->exhaust;
    const double taken = at->mass * felt + w->drag * at->speed * fabs(at->speed);
    const double full = at->burns ? w->splaying.full : 0.0, least = at->burns ? w->splaying.least : 0.0;
    if (at->flies)
        keep(span, n * (full - carried), taken - at->full);
    keep(span, -n * (least - carried), at->least - taken);
    /* Until it is up its thrust may be anything up to that. */
    if (!at->burns && at->left > 0.0 && at->t >= w->ignition)
        keep(span, -n * (w->splaying.least - carried), at->least - taken);
}

enum { STEPS = 8 }; /* instants looked at in each part: with drag, extremes may lie within */
enum { TIMES = 2 * SM_WISHED_PARTS * (STEPS + 2) + SM_ASKED_EVENTS };

static struct sm_thrust_span span_of(const struct sm_asked *w, const struct sm_asked_flight *f)
{
    double t[TIMES];
    struct sm_thrust_span span = {0.0, SM_INF};
    const size_t n = sm_asked_times(w, f, STEPS, 0.0, t, TIMES);
    for (size_t i = 0; i < n; i++) {
        const struct sm_asked_instant at = sm_asked_when(w, f, t[i]);
        if (t[i] >= w->lift_off)
            keep_instant(w, &at, &span);
    }
    struct sm_asked_instant landed = sm_asked_when(w, f, f->contact);
    landed.flies = 0; /* it must not rise again */
    landed.acceleration = landed.speed = 0.0;
    keep_instant(w, &landed, &span);
    return span;
}

/*
 * How long splay needs for a change of acceleration at t. Each throttle goes the same share of its range of cosines, as half a cosine
 * of time: from a cosine u + d to u in r its splay turns at (pi/r) sqrt(d / (1 + u + d)) at most, for the rate
 * is greatest where splay is least (derived here).
 */
static double ramp_at(const struct sm_asked *w, const struct sm_asked_flight *f, double thrust, double t,
                      double change)
{
    const struct sm_asked_instant at = sm_asked_when(w, f, t);
    const double n = w->group->count, own = w->splaying.full - w->splaying.least;
    const double range = n * thrust * own + at.full - at.least;
    const double axial = change * (at.mass + n * thrust * at.left / w->exhaust);
    const double share = range > 0.0 ? fmin(axial / range, 1.0) : 1.0;
    double longest = 0.0;
    for (size_t i = 0; i <= w->n_others; i++) {
        const struct sm_splaying *s = i < w->n_others ? &w->others[i] : &w->splaying;
        const double d = share * (s->full - s->least);
        longest = fmax(longest, pi / s->rate * sqrt(d / (1.0 + s->least + d)));
    }
    return longest;
}

static int make_flight(const struct sm_asked *w, double a, double turn, double ease,
                       struct sm_asked_flight *f)
{
    if (!sm_wished_make(w->height, w->hover, a, turn, ease, &f->wished))
        return 0;
    f->contact = w->lift_off + sm_wished_whole(&f->wished);
    f->burn_out =
        w->ignition + (isnan(w->burn) ? (1.0 + w->spare) * fmax(f->contact - w->ignition, 0.0) : w->burn);
    return 1;
}

/* Ramps are reckoned with the least thrust that would do if splay took no time: with more of it they are shorter, and the flight
 * with ramps, which is longer, takes more. */
int sm_asked_fly(const struct sm_asked *w, double a, struct sm_asked_flight *f, struct sm_thrust_span *span)
{
    *span = (struct sm_thrust_span){SM_INF, -SM_INF};
    if (!make_flight(w, a, 0.0, 0.0, f))
        return 0;
    const struct sm_thrust_span at_once = span_of(w, f);
    if (!(at_once.least < SM_INF && at_once.most >= at_once.least))
        return 0;
    const double up = w->lift_off + f->wished.steady, up_there = up + f->wished.steady;
    const double down = f->contact - f->wished.steady, leaves = up_there + w->hover;
    const double turn =
        fmax(ramp_at(w, f, at_once.least, up, 2.0 * a), ramp_at(w, f, at_once.least, down, 2.0 * a));
    const double ease =
        fmax(ramp_at(w, f, at_once.least, up_there, a), ramp_at(w, f, at_once.least, leaves, a));
    if (!make_flight(w, a, turn, ease, f))
        return 0;
    *span = span_of(w, f);
    return span->most >= span->least;
}

double sm_asked_choose(const struct sm_asked *w)
{
    enum { TRIED = 160 };
    static const double gentlest = 0.002, hardest = 0.95; /* of gravity [1] */
    const double g = w->gravity, asked = (w->ratio - 1.0) * g;
    double first = 0.0, last = 0.0, roomy = 0.0, most_room = 0.0;
    for (int i = 0; i < (isnan(w->ratio) ? TRIED : 1); i++) {
        const double a =
            isnan(w->ratio) ? g * gentlest * pow(hardest / gentlest, (double)i / (TRIED - 1)) : asked;
        struct sm_asked_flight f;
        struct sm_thrust_span span;
        if (!sm_asked_fly(w, a, &f, &span) || !(span.most >= least_room * span.least) || span.most == SM_INF)
            continue;
        first = first > 0.0 ? first : a;
        last = a;
        roomy = span.most > most_room * span.least ? a : roomy;
        most_room = fmax(most_room, span.most / span.least);
    }
    struct sm_asked_flight f;
    struct sm_thrust_span span;
    const double middle = 0.5 * (first + last);
    /* Beside motors that come and go, what leaves room need not hang together. */
    return w->is_roomy || !sm_asked_fly(w, middle, &f, &span) ? roomy : middle;
}
