#include "vehicle/lighting.h"

#include "num/bracket.h"
#include "vehicle/lift.h"

#include <math.h>

static const struct sm_switches unsplayed = {SM_INF, SM_INF};

/* What is lit so far: one time a group, NaN if not yet. */
struct lit_so_far {
    const struct sm_vehicle *vehicle;
    const struct sm_result *const *runs;
    struct sm_vehicle_change change; /* nothing kept back */
    double lit[SM_FLIGHT_GROUPS];    /* [s] */
};

static const struct sm_motor_group *groups_of(const struct sm_vehicle *vehicle)
{
    return vehicle->spec.motors.items;
}

/* The vehicle with its groups lit at those times. Only those lit are among its motors; the rest is dead weight. */
static enum sm_status light(const struct lit_so_far *l, struct sm_arena *arena, struct sm_vehicle **vehicle,
                            const struct sm_result ***runs, struct sm_error *err)
{
    const size_t n = l->vehicle->spec.motors.n;
    struct sm_motor_group *groups = sm_arena_alloc(arena, n, sizeof *groups);
    *vehicle = sm_arena_alloc(arena, 1, sizeof **vehicle);
    *runs = sm_arena_alloc(arena, n, sizeof **runs);
    if (!groups || !*vehicle || !*runs)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    **vehicle = *l->vehicle;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        const struct sm_motor_group *g = &groups_of(l->vehicle)[i];
        if (isnan(l->lit[i])) {
            (*vehicle)->spec.body.dry_mass += g->count * l->runs[i]->series.propellant_mass[0];
            continue;
        }
        groups[kept] = *g;
        groups[kept].ignite_at = l->lit[i];
        groups[kept].ignite_height = SM_ABSENT;
        (*runs)[kept++] = l->runs[i];
    }
    (*vehicle)->spec.motors = (struct sm_list){groups, kept};
    return SM_OK;
}

/* How it flies on those lit so far; the first time also what lifts it. */
static enum sm_status prepare(const struct lit_so_far *l, struct sm_arena *arena, struct sm_profile *profile,
                              struct sm_flight_model *model, struct sm_lighting *out, struct sm_error *err)
{
    struct sm_vehicle *vehicle;
    const struct sm_result **runs;
    SM_TRY(light(l, arena, &vehicle, &runs, err));
    if (out->n == 0) {
        size_t kept = 0;
        out->lifting = vehicle;
        out->lifting_runs = runs;
        for (size_t i = 0; i < l->vehicle->spec.motors.n; i++)
            if (!isnan(l->lit[i]))
                out->place[kept++] = i;
    }
    SM_TRY(sm_thrust_profile(vehicle, runs, &l->change, arena, profile, err));
    return sm_lift_flown_model(vehicle, runs, profile, &l->change, arena, model, err);
}

/* The group not yet lit whose height is greatest; the vehicle's number of groups if there is none. */
static size_t next_to_light(const struct lit_so_far *l)
{
    const size_t n = l->vehicle->spec.motors.n;
    size_t next = n;
    for (size_t i = 0; i < n; i++)
        if (isnan(l->lit[i]) &&
            (next == n || groups_of(l->vehicle)[i].ignite_height > groups_of(l->vehicle)[next].ignite_height))
            next = i;
    return next;
}

/* ---- falling through a height ---- */

struct falling {
    const struct sm_flight_model *model;
    struct sm_flight_state from;
    double height; /* [m] */
};

static void fly_to(const struct falling *f, double t, struct sm_flight_state *at, double *highest)
{
    struct sm_flight_extremes passed;
    sm_flight_fly(f->model, &f->from, &unsplayed, t, at, &passed);
    *highest = passed.highest;
}

static double below(const void *user, double t)
{
    const struct falling *f = user;
    struct sm_flight_state at;
    double highest;
    fly_to(f, t, &at, &highest);
    return f->height - at.h;
}

static double sinking(const void *user, double t)
{
    const struct falling *f = user;
    struct sm_flight_state at;
    double highest;
    fly_to(f, t, &at, &highest);
    return -at.v;
}

/* From f->from on: the state as it falls through f->height, or on the ground. Returned: 0 if it comes to the ground first. */
static int fall_through(struct falling *f, struct sm_flight_state *at, double *highest)
{
    static const double look = 0.25; /* it turns once at most between two looks [s] */
    for (;; f->from = *at) {
        double passed;
        const double until = f->from.t + look;
        fly_to(f, until, at, &passed);
        *highest = fmax(*highest, passed);
        const int is_through = at->h < f->height && passed >= f->height;
        if (!is_through && (at->h > 0.0 || at->v >= 0.0))
            continue;
        f->height = is_through ? f->height : 0.0;
        const double above =
            f->from.h >= f->height ? f->from.t : sm_bracket_root(sinking, f, f->from.t, until);
        fly_to(f, sm_bracket_root(below, f, above, until), at, &passed);
        return is_through;
    }
}

/* Lights one group after the other; stops at one that never comes. */
static enum sm_status light_in_turn(struct lit_so_far *l, double release, struct sm_arena *arena,
                                    struct sm_lighting *out, struct sm_error *err)
{
    const size_t n = l->vehicle->spec.motors.n;
    struct sm_flight_state at = {0};
    for (size_t i = next_to_light(l); i < n; i = next_to_light(l)) {
        struct sm_lighting_leg *leg = &out->legs[out->n];
        const double height = groups_of(l->vehicle)[i].ignite_height;
        struct sm_profile *profile = sm_arena_alloc(arena, 1, sizeof *profile);
        if (!profile)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        SM_TRY(prepare(l, arena, profile, &leg->model, out, err));
        if (out->n == 0) {
            out->before = *profile;
            at.t = sm_lift_off_time(profile, release);
            out->lift_off = at;
        }
        leg->from = at;
        leg->group = out->missed = i;
        out->n++;
        out->start.t = SM_ABSENT;
        if (isnan(at.t)) {
            out->end = at;
            return SM_OK;
        }
        struct falling f = {&leg->model, at, height};
        /* Two groups at one height are lit together. */
        if (!(out->n > 1 && height >= groups_of(l->vehicle)[out->legs[out->n - 2].group].ignite_height) &&
            !fall_through(&f, &at, &out->highest)) {
            out->end = at;
            return SM_OK;
        }
        leg->to = out->start = at;
        l->lit[i] = at.t;
    }
    return SM_OK;
}

enum sm_status sm_lighting_find(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                const struct sm_vehicle_change *change, double release,
                                struct sm_arena *arena, struct sm_lighting *out, struct sm_error *err)
{
    struct lit_so_far l = {.vehicle = vehicle, .runs = runs, .change = *change};
    size_t at_heights = 0;
    l.change.reserve = l.change.splay_limit = 0.0;
    *out = (struct sm_lighting){.vehicle = vehicle, .lifting = vehicle, .lifting_runs = runs};
    for (size_t i = 0; i < vehicle->spec.motors.n; i++) {
        out->place[i] = i;
        const struct sm_motor_group *g = &groups_of(vehicle)[i];
        l.lit[i] = sm_group_waits_for_height(g) ? SM_ABSENT : g->ignite_at;
        at_heights += isnan(l.lit[i]) ? 1 : 0;
    }
    if (at_heights == 0)
        return SM_OK;
    SM_TRY(light_in_turn(&l, release, arena, out, err));
    struct sm_vehicle *lit;
    const struct sm_result **same;
    SM_TRY(light(&l, arena, &lit, &same, err));
    out->vehicle = lit;
    return SM_OK;
}

struct sm_flight_state sm_lighting_start(const struct sm_lighting *lighting, const struct sm_profile *profile,
                                         double release)
{
    const struct sm_flight_state from_ground = {.t = sm_lift_off_time(profile, release)};
    return lighting->n > 0 ? lighting->start : from_ground;
}

enum sm_status sm_lighting_check(const struct sm_lighting *lighting, struct sm_error *err)
{
    if (lighting->n == 0 || !isnan(lighting->start.t) || isnan(lighting->lift_off.t))
        return SM_OK;
    return sm_fail(
        err, SM_E_PHYSICS,
        "the motors of /motors/%zu are never lit: on those lit before it comes up to %.4g m, and is on "
        "the ground again at %.4g s with %.3g m/s; a height below that would do",
        lighting->missed, lighting->highest, lighting->end.t, -lighting->end.v);
}

enum sm_status sm_lighting_check_height(const struct sm_lighting *lighting, const struct sm_flight_model *lit,
                                        struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &lighting->vehicle->spec;
    const struct sm_motor_group *groups = spec->motors.items;
    if (lighting->n == 0)
        return SM_OK;
    const size_t last = lighting->legs[lighting->n - 1].group;
    struct falling f = {lit, lighting->start, 0.0};
    struct sm_flight_state at;
    double highest, burns = SM_INF; /* [m]; when the first of those lit last burns [s] */
    for (size_t i = 0; i < spec->motors.n; i++)
        if (groups[i].ignite_at >= groups[last].ignite_at)
            burns = fmin(burns, groups[i].ignite_at + groups[i].ignition_delay);
    fly_to(&f, burns, &at, &highest);
    if (at.h > 0.0)
        return SM_OK;
    fly_to(&f, sm_bracket_root(below, &f, f.from.t, burns), &at, &highest);
    return sm_fail(
        err, SM_E_PHYSICS,
        "lit at %.4g m on the way down, the motors of /motors/%zu would burn from %.4g s on, but by "
        "then it is on the ground: at %.4g s, with %.3g m/s; light them higher up, or with less delay",
        lighting->start.h, last, burns, at.t, -at.v);
}
