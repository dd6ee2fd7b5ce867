#include "vehicle/margins.h"

#include "num/bracket.h"
#include "vehicle/edge.h"

#include <math.h>

static const struct sm_switches all_full = {SM_INF, SM_INF};

/* Thrust that is looked at besides that of the vehicle: none, then less, then more of it [1]. */
enum { SIDE = SM_MARGIN_SHARES / 2 };
static const double shares[SIDE] = {0.01, 0.02, 0.04, 0.06, 0.09, 0.13, 0.2, 0.3, 0.5};

static double share_of(size_t k)
{
    return k == 0 ? 0.0 : k <= SIDE ? -shares[k - 1] : shares[k - 1 - SIDE];
}

/* ---- filling ---- */

/* What one table is made of. */
struct sweep {
    const struct sm_flight_model *model;
    const double *t; /* every stride-th of them counts [s] */
    size_t n, stride;
    double limit, last, ramp; /* [m/s]; latest contact that helps, longest ramp [s] */
};

static double instant(const struct sweep *w, size_t i)
{
    return w->t[i * w->stride];
}

/* Place k of n from the first instant to the last contact, close together at its end [s]. */
static double place(const struct sweep *w, size_t k, size_t n)
{
    const double left = 1.0 - (double)k / (double)(n - 1);
    return w->last - (w->last - w->t[0]) * left * left;
}

/* One flight backwards from *at, kept at the instants before `until`. */
static void keep_flight(const struct sweep *w, const struct sm_switches *control, double until,
                        struct sm_flight_state at, struct sm_margin_flights *out)
{
    double *h = out->h + out->n * out->n_times, *v = out->v + out->n * out->n_times;
    for (size_t i = w->n; i-- > 0;) {
        h[i] = v[i] = SM_ABSENT;
        if (instant(w, i) > until)
            continue;
        sm_flight_back(w->model, &at, control, instant(w, i), &at);
        h[i] = at.h;
        v[i] = at.v;
    }
    out->n++;
}

static void keep_stopping(const struct sweep *w, size_t n, struct sm_margin_table *out)
{
    for (size_t k = 0; k < n; k++) {
        const struct sm_flight_state contact = {place(w, k, n), 0.0, -w->limit};
        out->contact[k] = contact.t;
        keep_flight(w, &all_full, contact.t, contact, &out->stopping);
    }
}

/* Down at least thrust throughout, to softer contacts: the fastest up of all. */
enum { SOFTER = 4 };
static void keep_softer(const struct sweep *w, struct sm_margin_table *out)
{
    const struct sm_switches all_least = {-SM_INF, w->last};
    for (size_t k = 0; k < SOFTER; k++) {
        const double harder = (double)k / SOFTER; /* share of the limit [1] */
        const struct sm_flight_state contact = {w->last, 0.0, -w->limit * harder};
        out->on[k] = w->last + (1.0 - harder) * (w->last - w->t[0]) / SOFTER;
        keep_flight(w, &all_least, w->last, contact, &out->falling);
    }
}

/* The flight of full thrust to the last contact is common to all others from the end of their ramp on. */
static void keep_falling(const struct sweep *w, size_t n, struct sm_margin_table *out)
{
    struct sm_flight_state common = {w->last, 0.0, -w->limit};
    for (size_t k = n; k-- > 0;) {
        const struct sm_switches control = {-SM_INF, place(w, k, n)};
        sm_flight_back(w->model, &common, &all_full, fmin(control.on + w->ramp, w->last), &common);
        out->on[out->falling.n] = control.on;
        keep_flight(w, &control, control.on, common, &out->falling);
    }
}

/* Its highest points, one at each instant: full thrust is commanded just then. */
static void keep_tops(const struct sweep *w, struct sm_margin_flights *out)
{
    struct sm_flight_state common = {w->last, 0.0, -w->limit}, at;
    double *h = out->h + out->n * out->n_times, *v = out->v + out->n * out->n_times;
    for (size_t i = w->n; i-- > 0;) {
        const struct sm_switches control = {-SM_INF, instant(w, i)};
        h[i] = v[i] = SM_ABSENT;
        if (control.on >= w->last)
            continue;
        sm_flight_back(w->model, &common, &all_full, fmin(control.on + w->ramp, w->last), &common);
        sm_flight_back(w->model, &common, &control, control.on, &at);
        h[i] = at.h;
        v[i] = at.v;
    }
    out->n++;
}

static enum sm_status make_flights(size_t n, size_t n_times, struct sm_arena *arena,
                                   struct sm_margin_flights *out, struct sm_error *err)
{
    *out = (struct sm_margin_flights){.n_times = n_times};
    out->h = sm_arena_alloc(arena, n * n_times, sizeof *out->h);
    out->v = sm_arena_alloc(arena, n * n_times, sizeof *out->v);
    return out->h && out->v ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* Fewer flights where only shares of thrust are wanted. */
static enum sm_status fill_table(struct sm_margins *m, size_t k, struct sm_arena *arena, struct sm_error *err)
{
    const size_t stops = k == 0 ? SM_MARGIN_FLIGHTS : 25, falls = k == 0 ? 49 : 17;
    struct sm_flight_model model = *m->model;
    struct sm_margin_table *table = &m->table[k];
    struct sweep w = {&model, m->t, m->n, 1, m->limit, 0.0, 0.0};
    if (k > 0) {
        w.stride = SM_MARGIN_STEPS;
        w.n = (m->n - 1) / SM_MARGIN_STEPS + 1;
    }
    model.more = (1.0 + m->model->more) * (1.0 + share_of(k)) - 1.0;
    const struct sm_tube tube = {model.profile, m->limit, 1.0 + model.more};
    w.last = sm_tube_latest(&tube, m->t[0]);
    for (size_t i = 0; i < model.n; i++)
        w.ramp = fmax(w.ramp, model.groups[i].ramp);
    SM_TRY(make_flights(stops, w.n, arena, &table->stopping, err));
    SM_TRY(make_flights(SOFTER + falls + 1, w.n, arena, &table->falling, err));
    keep_stopping(&w, stops, table);
    keep_softer(&w, table);
    keep_falling(&w, falls, table);
    keep_tops(&w, &table->falling);
    return SM_OK;
}

/* The instants at which a flight is looked at, and their number. */
static size_t list_instants(double start, double every, double burnout, double *t)
{
    size_t n = 1;
    double at = start;
    if (t)
        t[0] = start;
    while (at < burnout) {
        const double until = fmin(at + every, burnout);
        for (size_t k = 1; k <= SM_MARGIN_STEPS; k++, n++)
            if (t)
                t[n] = at + (until - at) * (double)k / SM_MARGIN_STEPS;
        at = until;
    }
    return n;
}

enum sm_status sm_margins_fill(const struct sm_flight_model *model, double limit, double start, double every,
                               struct sm_arena *arena, struct sm_margins *m, struct sm_error *err)
{
    const double burnout = sm_profile_burnout(model->profile);
    *m = (struct sm_margins){.model = model,
                             .limit = limit,
                             .tube = {model->profile, limit, 1.0 + model->more},
                             .is_flown = model->drag > 0.0,
                             .n = list_instants(start, every, burnout, NULL)};
    for (size_t i = 0; i < model->n; i++)
        m->is_flown = m->is_flown || model->groups[i].ramp > 0.0;
    if (!m->is_flown)
        return SM_OK;
    m->t = sm_arena_alloc(arena, m->n, sizeof *m->t);
    if (!m->t)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    (void)list_instants(start, every, burnout, m->t);
    for (size_t k = 0; k < SM_MARGIN_SHARES; k++)
        SM_TRY(fill_table(m, k, arena, err));
    return SM_OK;
}

/* ---- looking ---- */

/* An edge at one instant by the time that its flights differ by: of contact, or at which full thrust is commanded. */
struct curve {
    struct sm_edge h, v;
};

/* Drag goes as the square of speed far below the speed of sound alone; backwards in time speeds above grow without bound [m/s]. */
static const double fastest_known = 200.0;

static void add(struct curve *c, double by, const struct sm_margin_flights *f, size_t k, size_t i)
{
    if (!(fabs(f->v[k * f->n_times + i]) < fastest_known))
        return;
    sm_edge_add(&c->h, by, f->h[k * f->n_times + i]);
    sm_edge_add(&c->v, by, f->v[k * f->n_times + i]);
}

/* From the ground up. */
static void gather_stopping(const struct sm_margin_table *t, double now, size_t i, double limit,
                            struct curve *c)
{
    const struct sm_margin_flights *f = &t->stopping;
    c->h.n = c->v.n = 0;
    sm_edge_add(&c->h, now, 0.0);
    sm_edge_add(&c->v, now, -limit);
    for (size_t k = 0; k < f->n; k++)
        add(c, t->contact[k], f, k, i);
}

/* From the top down; softer contacts follow as if they were later. */
static void gather_falling(const struct sm_margin_table *t, double now, size_t i, struct curve *c)
{
    const struct sm_margin_flights *f = &t->falling;
    c->h.n = c->v.n = 0;
    add(c, now, f, f->n - 1, i);
    for (size_t k = f->n - 1; k-- > 0;)
        add(c, t->on[k], f, k, i);
}

struct crossing {
    const struct sm_edge *edge;
    double value, sign; /* 1: it rises [1] */
};

static double over(const void *user, double x)
{
    const struct crossing *c = user;
    return c->sign * (sm_edge_at(c->edge, x) - c->value);
}

/* Where an edge comes to a value, as far as its end, or `beyond` spans of it beyond. */
static double where(const struct sm_edge *e, double value, double beyond)
{
    const double first = e->x[0], last = e->x[e->n - 1];
    const struct crossing c = {e, value, e->y[e->n - 1] > e->y[0] ? 1.0 : -1.0};
    const int is_beyond = beyond > 0.0 && over(&c, last) < 0.0;
    return sm_bracket_root(over, &c, is_beyond ? last : first,
                           is_beyond ? last + beyond * (last - first) : last);
}

/* A whisker of rounding still counts as inside [m/s]. */
static const double slack = 1e-9;

static struct sm_margin in_closed_form(const struct sm_tube *tube, const struct sm_flight_state *at,
                                       int with_thrust)
{
    double low, high, slowest, fastest;
    struct sm_margin m = {.is_inside = sm_tube_holds(tube, at)};
    if (m.is_inside && sm_tube_speeds(tube, at->t, at->h, &slowest, &fastest))
        m.speed = fmax(fmin(at->v - slowest, fastest - at->v), 0.0);
    if (m.is_inside && sm_tube_heights(tube, at->t, at->v, &low, &high))
        m.height = fmax(low > 0.0 ? fmin(at->h - low, high - at->h) : high - at->h, 0.0);
    if (m.is_inside && with_thrust)
        m.thrust = sm_tube_thrust_margin(tube, at, shares[SIDE - 1]);
    return m;
}

/* Heights of the edges under and over a speed at one thrust, if need be a little beyond their ends: without an edge under it 0; where no
 * flight stops from so fast down, or none lands from so fast up, SM_INF under and 0 over [m]. */
static void edges_at(const struct sm_margins *m, size_t k, size_t i, double v, double *under, double *over_it)
{
    static const double beyond = 0.5, near = 1e-6; /* spans [1]; [m/s] */
    const double now = k == 0 ? m->t[i] : m->t[i * SM_MARGIN_STEPS];
    struct curve c;
    *under = *over_it = 0.0;
    if (v < -m->limit) {
        gather_stopping(&m->table[k], now, i, m->limit, &c);
        const double by = c.h.n > 1 ? where(&c.v, v, beyond) : SM_ABSENT;
        *under = fabs(sm_edge_at(&c.v, by) - v) < near ? fmax(sm_edge_at(&c.h, by), 0.0) : SM_INF;
    }
    gather_falling(&m->table[k], now, i, &c);
    if (c.h.n < 2)
        return;
    if (v < c.v.y[0]) /* faster down than its top: on to that of the stopping flights */
        *over_it = c.h.y[0];
    else
        *over_it = sm_edge_at(&c.h, where(&c.v, v, 0.0));
}

/* Where a row of values that begins at or above zero at x[0] first falls below it; x[n - 1] if it never does. By the parabola
 * through three of them. */
static double falls_below(const double *x, const double *y, size_t n)
{
    for (size_t k = 1; k < n; k++) {
        if (y[k] >= 0.0)
            continue;
        struct sm_edge e = {.n = 0};
        const size_t from = k > 1 ? k - 2 : 0;
        double a = x[k - 1], b = x[k];
        for (size_t i = from; i < from + 3 && i < n; i++)
            sm_edge_add(&e, x[i], y[i]);
        for (int halvings = 0; halvings < 30; halvings++) {
            const double middle = 0.5 * (a + b);
            if (sm_edge_at(&e, middle) >= 0.0)
                a = middle;
            else
                b = middle;
        }
        return a;
    }
    return x[n - 1];
}

/* One over the height from which it stops goes evenly with thrust, where accelerations are constant: it is what is looked at below. */
static double thrust_margin(const struct sm_margins *m, size_t i, const struct sm_flight_state *at)
{
    double margin = shares[SIDE - 1], x[SIDE + 1] = {0.0};
    for (size_t side = 0; side < 2; side++) {
        double below[SIDE + 1], above[SIDE + 1];
        for (size_t k = 0; k <= SIDE; k++) {
            double under, over_it;
            x[k] = k > 0 ? shares[k - 1] : 0.0;
            edges_at(m, k > 0 ? k + side * SIDE : 0, k > 0 ? i / SM_MARGIN_STEPS : i, at->v, &under,
                     &over_it);
            below[k] = at->v < -m->limit ? 1.0 / fmax(under, 1e-9) - 1.0 / fmax(at->h, 1e-9) : 1.0;
            above[k] = over_it - at->h;
        }
        margin = fmin(margin, fmin(falls_below(x, below, SIDE + 1), falls_below(x, above, SIDE + 1)));
    }
    return margin;
}

struct sm_margin sm_margins_at(const struct sm_margins *m, size_t i, const struct sm_flight_state *at,
                               int with_thrust)
{
    struct sm_margin out = {0};
    struct curve stopping, falling;
    if (!m->is_flown)
        return in_closed_form(&m->tube, at, with_thrust);
    gather_stopping(&m->table[0], m->t[i], i, m->limit, &stopping);
    gather_falling(&m->table[0], m->t[i], i, &falling);
    if (falling.h.n < 2 || at->h > falling.h.y[0])
        return out;
    const double slowest = sm_edge_at(&stopping.v, where(&stopping.h, at->h, 0.0)),
                 fastest = sm_edge_at(&falling.v, where(&falling.h, at->h, 0.0));
    out.is_inside = at->v >= slowest - slack && at->v <= fastest + slack;
    if (!out.is_inside)
        return out;
    out.speed = fmax(fmin(at->v - slowest, fastest - at->v), 0.0);
    double under, over_it;
    edges_at(m, 0, i, at->v, &under, &over_it);
    out.height = fmax(under > 0.0 ? fmin(at->h - under, over_it - at->h) : over_it - at->h, 0.0);
    if (with_thrust)
        out.thrust = thrust_margin(m, i, at);
    return out;
}
