/* Vehicles drawn from the tolerances, and the landing window of each. */
#include "num/bracket.h"
#include "num/parallel.h"
#include "num/percentile.h"
#include "num/points.h"
#include "num/stats.h"
#include "vehicle/lift.h"

#include <math.h>
#include <stddef.h>

enum { ERRORS = 4, WAYS = 2, CONTACTS = 12 }; /* thrust, burn time, mass, delay; bare, reserve */

/* What is kept of one vehicle. */
struct drawn {
    double first[WAYS], last[WAYS]; /* contact; SM_ABSENT if nothing lands [s] */
    double highest[WAYS];           /* [m] */
    int plan_within, is_short_of_memory;
};

struct sampling {
    const struct sm_lift_study *study;
    const struct sm_allocator *allocator;
    size_t n;
    const double *u; /* n of each error [1] */
    struct drawn *drawn;
};

/* Has the plan, as a fixed program of time, touched the ground within the legs' limit? */
struct falling {
    const struct sm_profile *profile;
    const struct sm_flight_state *start;
    const struct sm_switches *control;
};

static double depth(const void *user, double t)
{
    const struct falling *f = user;
    struct sm_flight_state at;
    sm_reach_fly(f->profile, f->start, f->control, t, &at);
    return -at.h;
}

static int plan_lands(const struct sm_lift_study *s, const struct sm_profile *p,
                      const struct sm_flight_state *start)
{
    enum { STEPS = 256 };
    const struct sm_switches control = {s->lift.plan_splay_from, s->lift.plan_splay_to};
    const struct falling f = {p, start, &control};
    const double end = sm_profile_burnout(p);
    double before = start->t;
    for (int i = 1; i <= STEPS && !isnan(s->lift.plan_contact); i++) {
        const double t = start->t + (end - start->t) * i / STEPS;
        struct sm_flight_state at;
        sm_reach_fly(p, start, &control, t, &at);
        if (at.h <= 0.0 && at.v < 0.0) {
            sm_reach_fly(p, start, &control, sm_bracket_root(depth, &f, before, t), &at);
            return at.v >= -s->vehicle->spec.landing.speed_limit;
        }
        before = t;
    }
    return 0;
}

static enum sm_status draw_one(const struct sampling *a, struct sm_arena *arena, size_t i, struct drawn *d)
{
    const struct sm_lift_study *s = a->study;
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    double z[ERRORS];
    for (size_t k = 0; k < ERRORS; k++)
        z[k] = sm_stats_normal_quantile(a->u[k * a->n + i]);
    struct sm_vehicle_change change = {.thrust = z[0] * t->thrust,
                                       .burn_time = z[1] * t->burn_time,
                                       .mass = z[2] * t->mass * s->lift.figures.release_mass,
                                       .delays = z[3]};
    for (size_t k = 0; k < WAYS; k++) {
        struct sm_profile p;
        struct sm_flight_state start = {0};
        change.reserve = k == 0 ? 0.0 : s->vehicle->spec.landing.reserve;
        d->first[k] = d->last[k] = d->highest[k] = SM_ABSENT;
        SM_TRY(sm_thrust_profile(s->vehicle, s->runs, &change, arena, &p, NULL));
        start.t = sm_lift_off_time(&p, s->lift.figures.release_time);
        if (isnan(start.t))
            continue;
        (void)sm_lift_window_ends(&p, &start, s->vehicle->spec.landing.speed_limit, CONTACTS, &d->first[k],
                                  &d->last[k], &d->highest[k]);
        if ((k == 1) == s->lift.plan_keeps_reserve)
            d->plan_within = plan_lands(s, &p, &start);
    }
    return SM_OK;
}

static void draw_round(void *user, int worker, size_t i)
{
    const struct sampling *a = user;
    struct sm_arena arena;
    (void)worker;
    sm_arena_init(&arena, a->allocator);
    a->drawn[i].is_short_of_memory = draw_one(a, &arena, i, &a->drawn[i]) != SM_OK;
    sm_arena_release(&arena);
}

/* Percentiles of those that are there. */
static void reckon(const struct sampling *a, size_t offset, double *room, double out[SM_LIFT_PERCENTILES])
{
    static const double shares[SM_LIFT_PERCENTILES] = {0.05, 0.5, 0.95};
    size_t m = 0;
    for (size_t i = 0; i < a->n; i++) {
        const double value = *(const double *)(const void *)((const char *)&a->drawn[i] + offset);
        if (!isnan(value))
            room[m++] = value;
    }
    sm_sort(room, m);
    for (size_t k = 0; k < SM_LIFT_PERCENTILES; k++)
        out[k] = m > 0 ? sm_percentile(room, m, shares[k], NULL) : SM_ABSENT;
}

static void reckon_all(const struct sampling *a, double *room, struct sm_lift_sampled *out)
{
    size_t within = 0;
    for (size_t k = 0; k < WAYS; k++) {
        size_t lands = 0;
        for (size_t i = 0; i < a->n; i++)
            lands += isnan(a->drawn[i].first[k]) ? 0 : 1;
        out->lands[k] = (double)lands / (double)a->n;
        reckon(a, offsetof(struct drawn, first) + k * sizeof(double), room, out->first[k]);
        reckon(a, offsetof(struct drawn, last) + k * sizeof(double), room, out->last[k]);
        reckon(a, offsetof(struct drawn, highest) + k * sizeof(double), room, out->highest[k]);
    }
    for (size_t i = 0; i < a->n; i++)
        within += a->drawn[i].plan_within ? 1 : 0;
    out->plan_within = (double)within / (double)a->n;
}

enum sm_status sm_lift_fill_sampled(struct sm_lift_study *s, const struct sm_lift_options *options,
                                    const struct sm_context *context, struct sm_error *err)
{
    const size_t n = options ? options->samples : 0;
    if (n == 0 || !s->lift.has_throttle)
        return SM_OK;
    double *u = sm_arena_alloc(&s->arena, ERRORS * n, sizeof *u),
           *room = sm_arena_alloc(&s->arena, n, sizeof *room);
    struct sampling a = {.study = s,
                         .allocator = context ? context->allocator : NULL,
                         .n = n,
                         .u = u,
                         .drawn = sm_arena_alloc(&s->arena, n, sizeof *a.drawn)};
    if (!u || !room || !a.drawn)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_points(n, ERRORS, options->seed, 0, u, err));
    if (sm_parallel_for(n, options->threads, draw_round, &a, context ? &context->progress : NULL) < n)
        return sm_fail(err, SM_E_CANCELLED, "stopped on request");
    for (size_t i = 0; i < n; i++)
        if (a.drawn[i].is_short_of_memory)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    reckon_all(&a, room, &s->lift.sampled);
    s->lift.sampled.n = n;
    s->lift.sampled.seed = options->seed;
    return SM_OK;
}
