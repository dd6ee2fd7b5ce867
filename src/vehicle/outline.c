#include "vehicle/outline.h"

#include "num/bracket.h"
#include "vehicle/edge.h"

#include <math.h>

enum { N = SM_OUTLINE_POINTS, FINE = 2 * N - 1 }; /* finer where it is interpolated */

static const struct sm_switches all_full = {SM_INF, SM_INF};

/* ---- what can be reached ---- */

/* Full, then least from off on: the upper edge; from the slowest to the fastest. */
static void upper_edge(const struct sm_flight_model *m, const struct sm_flight_state *start, double t,
                       struct sm_edge *edge)
{
    struct sm_flight_state at = *start, end;
    struct sm_flight_extremes passed;
    edge->n = 0;
    for (int i = 0; i < N; i++) {
        const double off = start->t + (t - start->t) * i / (N - 1);
        const struct sm_switches control = {off, SM_INF};
        sm_flight_fly(m, &at, &all_full, off, &at, &passed);
        sm_flight_fly(m, &at, &control, t, &end, &passed);
        sm_edge_add(edge, end.v, end.h);
    }
}

/* Least, then full from on on: the lower edge, likewise. */
static void lower_edge(const struct sm_flight_model *m, const struct sm_flight_state *start, double t,
                       struct sm_edge *edge)
{
    struct sm_flight_state end[FINE], at = *start;
    struct sm_flight_extremes passed;
    const struct sm_switches all_least = {start->t, SM_INF};
    for (int i = 0; i < FINE; i++) {
        const double on = start->t + (t - start->t) * i / (FINE - 1);
        const struct sm_switches control = {start->t, on};
        sm_flight_fly(m, &at, &all_least, on, &at, &passed);
        sm_flight_fly(m, &at, &control, t, &end[i], &passed);
    }
    edge->n = 0;
    for (int i = FINE; i-- > 0;)
        sm_edge_add(edge, end[i].v, end[i].h);
}

static double edge_height(const void *user, double v)
{
    return sm_edge_at(user, v);
}

void sm_outline_reachable(const struct sm_flight_model *m, const struct sm_flight_state *start, double t,
                          struct sm_outline *out)
{
    struct sm_edge upper, lower;
    upper_edge(m, start, t, &upper);
    lower_edge(m, start, t, &lower);
    out->n = 0;
    for (size_t i = 0; i < upper.n; i++) {
        if (upper.y[i] < 0.0 && !(i + 1 < upper.n && upper.y[i + 1] > 0.0))
            continue;
        /* Where the edge comes up through the ground, the corner. */
        const double v =
            upper.y[i] < 0.0 ? sm_bracket_root(edge_height, &upper, upper.x[i], upper.x[i + 1]) : upper.x[i];
        out->at[out->n] = v;
        out->high[out->n] = fmax(upper.y[i], 0.0);
        out->low[out->n] = fmin(fmax(sm_edge_at(&lower, v), 0.0), out->high[out->n]);
        out->n++;
    }
}

struct stopping {
    const struct sm_flight_model *model;
    const struct sm_flight_state *start;
    double t; /* [s] */
    int is_upper;
};

static void stop_by(const struct stopping *s, double at, struct sm_flight_state *end)
{
    struct sm_flight_extremes passed;
    const struct sm_switches control = {s->is_upper ? at : s->start->t, s->is_upper ? SM_INF : at};
    sm_flight_fly(s->model, s->start, &control, s->t, end, &passed);
}

static double speed_then(const void *user, double at)
{
    const struct stopping *s = user;
    struct sm_flight_state end;
    stop_by(s, at, &end);
    return s->is_upper ? end.v : -end.v;
}

int sm_outline_hover(const struct sm_flight_model *m, const struct sm_flight_state *start, double t,
                     double *lowest, double *highest)
{
    struct stopping s = {m, start, t, 1};
    struct sm_flight_state full, least, end;
    stop_by(&s, t, &full);
    stop_by(&s, start->t, &least);
    if (full.v < 0.0 || least.v > 0.0)
        return 0;
    stop_by(&s, sm_bracket_root(speed_then, &s, start->t, t), &end);
    if (end.h < 0.0)
        return 0;
    *highest = end.h;
    s.is_upper = 0;
    stop_by(&s, sm_bracket_root(speed_then, &s, start->t, t), &end);
    *lowest = fmax(end.h, 0.0);
    return 1;
}

/* ---- the tube ---- */

/* Full thrust to contacts up to the last: the fastest down, by height. */
static void stopping_edge(const struct sm_flight_model *m, double limit, double t, double last,
                          struct sm_edge *edge)
{
    edge->n = 0;
    for (int i = 0; i < FINE; i++) {
        const struct sm_flight_state contact = {t + (last - t) * i / (FINE - 1), 0.0, -limit};
        struct sm_flight_state at;
        sm_flight_back(m, &contact, &all_full, t, &at);
        sm_edge_add(edge, at.h, at.v);
    }
}

/* Least thrust up to on, then full to the last contact: the fastest up, from the highest down. */
static void falling_edge(const struct sm_flight_model *m, double limit, double t, double last,
                         struct sm_flight_state at[N])
{
    struct sm_flight_state contact = {last, 0.0, -limit};
    for (int i = N; i-- > 0;) {
        const double on = t + (last - t) * i / (N - 1);
        const struct sm_switches control = {-SM_INF, on};
        sm_flight_back(m, &contact, &control, t, &at[i]);
    }
}

struct softer {
    const struct sm_flight_model *model;
    double t, last; /* [s] */
};

static double height_from(const void *user, double speed)
{
    const struct softer *s = user;
    const struct sm_flight_state contact = {s->last, 0.0, speed};
    const struct sm_switches all_least = {-SM_INF, s->last};
    struct sm_flight_state at;
    sm_flight_back(s->model, &contact, &all_least, s->t, &at);
    return -at.h;
}

static void add_row(struct sm_outline *out, const struct sm_edge *stopping, double h, double fastest)
{
    out->at[out->n] = h;
    out->low[out->n] = fmin(sm_edge_at(stopping, h), fastest);
    out->high[out->n++] = fastest;
}

void sm_outline_tube(const struct sm_flight_model *m, double limit, double t, double last,
                     struct sm_outline *out)
{
    struct sm_flight_state fall[N];
    struct sm_edge stopping, falling;
    out->n = 0;
    if (!(last > t))
        return;
    stopping_edge(m, limit, t, last, &stopping);
    falling_edge(m, limit, t, last, fall);
    if (fall[N - 1].h >
        0.0) { /* least thrust throughout comes down within the limit: so it may be softer still */
        const struct softer soft = {m, t, last};
        const struct sm_flight_state contact = {last, 0.0, sm_bracket_root(height_from, &soft, -limit, 0.0)};
        const struct sm_switches all_least = {-SM_INF, last};
        sm_flight_back(m, &contact, &all_least, t, &fall[N - 1]);
        fall[N - 1].h = fmax(fall[N - 1].h, 0.0);
    }
    falling.n = 0;
    for (int i = N; i-- > 0;)
        sm_edge_add(&falling, fall[i].h, fall[i].v);
    if (falling.n > 1 && falling.x[0] < 0.0 && falling.x[falling.n - 1] > 0.0)
        add_row(out, &stopping, 0.0, sm_edge_at(&falling, 0.0));
    for (size_t i = 0; i < falling.n && out->n < N; i++)
        if (falling.x[i] >= 0.0)
            add_row(out, &stopping, falling.x[i], falling.y[i]);
}
