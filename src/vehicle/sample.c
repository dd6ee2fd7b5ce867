/* Vehicles drawn from the tolerances, the landing window of each, and how the plan ends on the first of them. */
#include "num/parallel.h"
#include "num/percentile.h"
#include "num/points.h"
#include "num/stats.h"
#include "vehicle/drawncurves.h"
#include "vehicle/lift.h"

#include <math.h>
#include <stddef.h>

/* Thrust, burn time, mass, delay. Flights are dearer than windows without drag, so that fewer are flown. */
enum { ERRORS = 4, WAYS = SM_LIFT_BOUNDS, CONTACTS = 12, FLOWN = 100 };

/* What is kept of one vehicle. */
struct drawn {
    double first[WAYS], last[WAYS]; /* contact; SM_ABSENT if nothing lands [s] */
    double highest[WAYS];           /* [m] */
    int plan_within[SM_LIFT_WAYS], is_short_of_memory;
};

struct sampling {
    const struct sm_lift_study *study;
    const struct sm_allocator *allocator;
    size_t n;
    const double *u;               /* n of each error [1] */
    struct sm_drawn_curves curves; /* none: thrust and burn time stray as the vehicle file says */
    struct drawn *drawn;
};

static struct sm_vehicle_change change_of(const struct sampling *a, size_t i)
{
    const struct sm_lift_study *s = a->study;
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    const double scaled = a->curves.n > 0 ? 0.0 : 1.0; /* a drawn curve has it all */
    double z[ERRORS];
    for (size_t k = 0; k < ERRORS; k++)
        z[k] = sm_stats_normal_quantile(a->u[k * a->n + i]);
    return (struct sm_vehicle_change){.thrust = scaled * z[0] * t->thrust,
                                      .burn_time = scaled * z[1] * t->burn_time,
                                      .mass = z[2] * t->mass * s->lift.figures.release_mass,
                                      .delays = z[3]};
}

static enum sm_status fly_one(const struct sm_lift_study *s, const struct sm_lift_differing *d,
                              struct sm_arena *arena, struct drawn *drawn)
{
    struct sm_lift_off_by flown;
    int lifts = 0;
    SM_TRY(sm_lift_fly_ways(s, d, arena, &flown, &lifts, NULL));
    for (size_t k = 0; k < SM_LIFT_WAYS && lifts; k++) /* false where it has not touched down */
        drawn->plan_within[k] = flown.ways[k].contact_speed <= s->vehicle->spec.landing.speed_limit;
    return SM_OK;
}

/* Without drag and with splay at once; with both if it is flown. */
static enum sm_status find_windows(const struct sm_lift_study *s, const struct sm_lift_differing *differing,
                                   int is_flown, struct sm_arena *arena, struct drawn *d)
{
    const double limit = s->vehicle->spec.landing.speed_limit, release = s->lift.figures.release_time;
    struct sm_lighting lighting;
    SM_TRY(sm_lighting_find(s->told, differing->runs, &differing->change, release, arena, &lighting, NULL));
    for (size_t k = SM_LIFT_BARE; k <= SM_LIFT_RESERVE; k++) {
        const size_t flown = k + SM_LIFT_DRAG;
        struct sm_profile p;
        struct sm_flight_model model;
        struct sm_vehicle_change change = differing->change;
        if (lighting.n > 0 && isnan(lighting.start.t)) /* never lit */
            break;
        change.reserve = k == SM_LIFT_BARE ? 0.0 : s->vehicle->spec.landing.reserve;
        SM_TRY(sm_thrust_profile(lighting.vehicle, differing->runs, &change, arena, &p, NULL));
        const struct sm_flight_state start = sm_lighting_start(&lighting, &p, release);
        if (isnan(start.t))
            continue;
        (void)sm_lift_window_ends(&p, &start, limit, CONTACTS, &d->first[k], &d->last[k], &d->highest[k]);
        if (!is_flown)
            continue;
        SM_TRY(sm_lift_flown_model(lighting.vehicle, differing->runs, &p, &change, arena, &model, NULL));
        (void)sm_lift_flown_ends(&model, &start, limit, CONTACTS, &d->first[flown], &d->last[flown],
                                 &d->highest[flown]);
    }
    return SM_OK;
}

static enum sm_status draw_one(const struct sampling *a, struct sm_arena *arena, size_t i, struct drawn *d)
{
    const struct sm_lift_study *s = a->study;
    struct sm_result curves[SM_DRAWN_GROUPS] = {0};
    const struct sm_result *runs[SM_DRAWN_GROUPS];
    struct sm_lift_differing differing = {.runs = s->runs, .change = change_of(a, i)};
    int is_possible = 1;
    for (size_t k = 0; k < WAYS; k++)
        d->first[k] = d->last[k] = d->highest[k] = SM_ABSENT;
    if (a->curves.n > 0) {
        SM_TRY(sm_drawn_curves_take(&a->curves, s->runs, i, arena, curves, &is_possible, NULL));
        for (size_t g = 0; g < SM_DRAWN_GROUPS; g++)
            runs[g] = &curves[g];
        differing.runs = runs;
    }
    if (is_possible)
        SM_TRY(find_windows(s, &differing, i < FLOWN, arena, d));
    if (i < FLOWN && is_possible && s->lift.plan.n > 0)
        return fly_one(s, &differing, arena, d);
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
    out->n_flown = a->n < FLOWN ? a->n : FLOWN;
    for (size_t k = 0; k < WAYS; k++) {
        const size_t n = k >= SM_LIFT_DRAG ? out->n_flown : a->n;
        size_t lands = 0;
        for (size_t i = 0; i < n; i++)
            lands += isnan(a->drawn[i].first[k]) ? 0 : 1;
        out->lands[k] = (double)lands / (double)n;
        reckon(a, offsetof(struct drawn, first) + k * sizeof(double), room, out->first[k]);
        reckon(a, offsetof(struct drawn, last) + k * sizeof(double), room, out->last[k]);
        reckon(a, offsetof(struct drawn, highest) + k * sizeof(double), room, out->highest[k]);
    }
    for (size_t k = 0; k < SM_LIFT_WAYS; k++) {
        size_t within = 0;
        for (size_t i = 0; i < out->n_flown; i++)
            within += a->drawn[i].plan_within[k] ? 1 : 0;
        out->plan_within[k] = (double)within / (double)out->n_flown;
    }
}

/* Whose tolerances curves are drawn from: the motor files' where they state any, as they know most; else the vehicle file's; and
 * where no file states any, what is usual. */
static enum sm_status draw_curves(struct sm_lift_study *s, const struct sm_lift_options *options,
                                  struct sampling *a, struct sm_error *err)
{
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    int is_stated;
    SM_TRY(sm_drawn_is_stated(s->vehicle, &is_stated, err));
    if (!is_stated && (t->thrust > 0.0 || t->burn_time > 0.0)) {
        s->lift.sampled.curves = "thrust and burn time stray by the vehicle file's tolerances";
        return SM_OK;
    }
    s->lift.sampled.curves =
        is_stated
            ? "thrust curves are drawn by a spread from the motor files' tolerances, not the vehicle's"
            : "no file states how far thrust strays, so curves are drawn by a spread from what is usual";
    return sm_drawn_curves_init(s->vehicle, options->samples, options->seed, options->threads, a->allocator,
                                &a->curves, err);
}

static enum sm_status draw_all(struct sm_lift_study *s, const struct sm_lift_options *options,
                               const struct sm_context *context, struct sampling *a, double *room,
                               struct sm_error *err)
{
    SM_TRY(draw_curves(s, options, a, err));
    if (sm_parallel_for(a->n, options->threads, draw_round, a, context ? &context->progress : NULL) < a->n)
        return sm_fail(err, SM_E_CANCELLED, "stopped on request");
    for (size_t i = 0; i < a->n; i++)
        if (a->drawn[i].is_short_of_memory)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    reckon_all(a, room, &s->lift.sampled);
    s->lift.sampled.n = a->n;
    s->lift.sampled.seed = options->seed;
    return SM_OK;
}

/* Do mass or ignition delay stray besides thrust? */
static int has_other_errors(const struct sm_vehicle *vehicle)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    int has = vehicle->spec.tolerances.mass > 0.0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        has = has || groups[i].ignition_delay_tolerance > 0.0;
    return has;
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
    s->lift.sampled.strays_otherwise = has_other_errors(s->vehicle);
    SM_TRY(sm_points(n, ERRORS, options->seed, 0, u, err));
    const enum sm_status status = draw_all(s, options, context, &a, room, err);
    sm_drawn_curves_release(&a.curves);
    return status;
}
