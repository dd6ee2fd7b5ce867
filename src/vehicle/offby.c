/*
 * A plan flown on a vehicle that is not as told: as a fixed program of time, planned anew knowing the true remaining curve, and
 * planned anew on the curve as told; and how near each comes to the edge of the tube.
 */
#include "num/bracket.h"
#include "vehicle/drawncurves.h"
#include "vehicle/lift.h"
#include "vehicle/margins.h"
#include "vehicle/touchdown.h"
#include "vehicle/tube.h"

#include <math.h>

/* ---- the plan ---- */

/* What a flight plans with, or flies on: bare bounds and those with the reserve kept, with drag and the time that splay takes. */
struct bounds {
    const struct sm_flight_model *bare, *reserve;
};

struct plan {
    int keeps_reserve;
    double contact, speed;       /* [s], upwards [m/s] */
    struct sm_switches switches; /* of full, least, full */
};

/* How the groups are splayed at one time, whatever their bounds. */
struct splay {
    double angle[SM_FLIGHT_GROUPS]; /* [rad] */
};

/* The model of a flight that begins at t so splayed. */
static void begin_splayed(const struct sm_flight_model *m, const struct splay *splay, double t,
                          struct sm_flight_model *out)
{
    *out = *m;
    out->since = t;
    for (size_t i = 0; i < m->n; i++) {
        struct sm_flight_group *g = &out->groups[i];
        const double range = g->high - g->low;
        g->lead = range > 0.0 ? g->ramp * fmin(fmax((splay->angle[i] - g->low) / range, 0.0), 1.0) : 0.0;
    }
}

static void splay_at(const struct sm_flight_model *m, const struct sm_switches *control, double t,
                     struct splay *splay)
{
    struct sm_flight_model then;
    sm_flight_carry_on(m, control, t, &then);
    for (size_t i = 0; i < m->n; i++) {
        const struct sm_flight_group *g = &then.groups[i];
        splay->angle[i] = g->low + (g->ramp > 0.0 ? g->lead / g->ramp * (g->high - g->low) : 0.0);
    }
}

/* A control as it stands at t: what of it is past has been done. */
static struct sm_switches from_now(const struct sm_switches *c, double t)
{
    return (struct sm_switches){fmax(c->off, t), fmax(fmax(c->on, c->off), t)};
}

/* The highest flight to a contact at T with a speed upwards of v. */
static int plan_to(const struct sm_profile *p, const struct sm_flight_state *at, double T, double v,
                   struct sm_switches *switches)
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    static const double whisker = 1e-8; /* of rounding, for a flight along an edge [m] */
    struct sm_flight_state top;
    double low, high, lowest;
    if (T < sm_touchdown_settled(p) || !sm_reach_heights(p, at, T, v, &low, &high) || low > whisker ||
        high < -whisker || !sm_reach_highest(p, at, T, 0.0, v, switches))
        return 0;
    sm_reach_extremes(p, at, switches, T, &top, &lowest);
    return lowest >= buried;
}

/* A plan, without drag and with splay at once, to a contact as near the wanted one as can be. */
static int plan_near(const struct sm_profile *p, const struct sm_flight_state *at, double *contact, double v,
                     struct sm_switches *switches)
{
    static const double finest = 0.005,
                        growth = 1.35; /* shares of what is left, in a row that soon spans it all [1] */
    const double end = sm_profile_burnout(p), soonest = at->t + 1e-3;
    const double middle = fmin(fmax(*contact, soonest), end), left = end - at->t;
    if (left <= 0.0)
        return 0;
    for (double d = 0.0; d<left; d = d> 0.0 ? d * growth : finest * left)
        for (int sign = -1; sign <= 1; sign += 2) {
            const double T = middle + sign * d;
            if (T < soonest || T > end || !plan_to(p, at, T, v, switches))
                continue;
            *contact = T;
            return 1;
        }
    return 0;
}

/* Contact speeds to plan for, as shares of the legs' limit: half of it, for a contact at no speed at all would be missed by the
 * least error, and one at the limit has no margin [1]. */
static const double contact_shares[] = {0.5, 0.75, 1.0, 0.25, 0.0};

/* The same with drag and the time that splay takes, solved from a control near it. Returned: 0 if it is not found. */
static int solve_flown(const struct sm_flight_model *m, const struct sm_flight_state *at, double T, double v,
                       struct sm_switches *switches)
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    struct sm_switches c = from_now(switches, at->t);
    struct sm_flight_state end;
    struct sm_flight_extremes passed;
    if (!(T > at->t) || !sm_flight_land(m, at, T, v, &c))
        return 0;
    sm_flight_fly(m, at, &c, T, &end, &passed);
    if (passed.lowest < buried)
        return 0;
    *switches = c;
    return 1;
}

/* Switches begun earlier by what half a ramp costs, as an instant switch would stand in its middle. */
static struct sm_switches begun_earlier(const struct sm_flight_model *m, const struct sm_switches *c,
                                        double t)
{
    double ramp = 0.0;
    for (size_t i = 0; i < m->n; i++)
        ramp = fmax(ramp, m->groups[i].ramp);
    const struct sm_switches earlier = {c->off - 0.5 * ramp, c->on - 0.5 * ramp};
    return from_now(&earlier, t);
}

/* Keeps to contact, speed and bounds of the plan if it can; else plans within the reserve, else with all there is, for contacts as
 * near as can be; where no landing is left, full thrust if it comes down too fast, else least. */
static void replan(const struct bounds *known, const struct splay *splay, const struct sm_flight_state *at,
                   double limit, struct plan *plan)
{
    const struct sm_tube tube = {known->bare->profile, limit, 1.0};
    double slowest, fastest;
    struct sm_flight_model model[2];
    begin_splayed(known->bare, splay, at->t, &model[0]);
    begin_splayed(known->reserve, splay, at->t, &model[1]);
    if (solve_flown(&model[plan->keeps_reserve], at, plan->contact, plan->speed, &plan->switches))
        return;
    struct plan nearest = {.contact = SM_ABSENT};
    for (size_t i = 0; i < SM_COUNT(contact_shares); i++)
        for (int k = 1; k >= 0; k--) {
            struct plan p = {k, plan->contact, -contact_shares[i] * limit, plan->switches};
            if (!plan_near(model[k].profile, at, &p.contact, p.speed, &p.switches))
                continue;
            p.switches = begun_earlier(&model[k], &p.switches, at->t);
            nearest = isnan(nearest.contact) ? p : nearest;
            if (solve_flown(&model[k], at, p.contact, p.speed, &p.switches)) {
                *plan = p;
                return;
            }
        }
    if (!isnan(nearest.contact))
        *plan = nearest;
    else if (sm_tube_speeds(&tube, at->t, at->h, &slowest, &fastest) && at->v < slowest)
        plan->switches = (struct sm_switches){SM_INF, SM_INF};
    else if (at->h > sm_tube_top(&tube, at->t))
        plan->switches = (struct sm_switches){at->t, SM_INF};
}

/* What the plan is flown on, and from where. */
static const struct sm_flight_model *model_of(const struct sm_lift_study *s, const struct plan *plan)
{
    return plan->keeps_reserve ? &s->flown_reserve : &s->flown;
}

static const struct sm_flight_state *start_of(const struct sm_lift_study *s, const struct plan *plan)
{
    return plan->keeps_reserve ? &s->start_reserve : &s->start;
}

/* To the contact in the middle of the window with drag and the time that splay takes. */
static void choose_plan(const struct sm_lift_study *s, struct plan *plan)
{
    const size_t k = s->lift.windows[SM_LIFT_DRAG_RESERVE].n > 0 ? SM_LIFT_DRAG_RESERVE : SM_LIFT_DRAG;
    const struct sm_landing_window *window = &s->lift.windows[k];
    const double limit = s->vehicle->spec.landing.speed_limit;
    const size_t middle = window->n / 2;
    *plan = (struct plan){k == SM_LIFT_DRAG_RESERVE,
                          window->time[middle],
                          -window->contact_speed[middle],
                          {window->splay_from[middle], window->splay_to[middle]}};
    for (size_t i = 0; i < SM_COUNT(contact_shares); i++) {
        struct sm_switches c = plan->switches;
        if (!solve_flown(model_of(s, plan), start_of(s, plan), plan->contact, -contact_shares[i] * limit, &c))
            continue;
        plan->speed = -contact_shares[i] * limit;
        plan->switches = c;
        return;
    }
}

/* ---- margins ---- */

static void least(double value, double t, double *kept, double *when)
{
    if (!(value >= *kept)) {
        *kept = value;
        *when = t;
    }
}

/* Distance of one state to the edge at instant i. */
static void judge(const struct sm_margins *margins, size_t i, const struct sm_flight_state *at,
                  int with_thrust, struct sm_lift_end *end)
{
    const struct sm_flight_state above = {at->t, fmax(at->h, 0.0), at->v}; /* rounding at contact */
    const struct sm_margin m = sm_margins_at(margins, i, &above, with_thrust);
    least(m.height, at->t, &end->margin_height, &end->margin_height_time);
    least(m.speed, at->t, &end->margin_speed, &end->margin_speed_time);
    if (with_thrust || !m.is_inside)
        least(m.thrust, at->t, &end->margin_thrust, &end->margin_thrust_time);
}

/* ---- flights ---- */

struct leg {
    const struct sm_flight_model *model;
    const struct sm_flight_state *start;
    const struct sm_switches *control;
};

static void fly_to(const struct leg *leg, double t, struct sm_flight_state *at)
{
    struct sm_flight_extremes passed;
    sm_flight_fly(leg->model, leg->start, leg->control, t, at, &passed);
}

static double climb(const void *user, double t)
{
    struct sm_flight_state at;
    fly_to(user, t, &at);
    return at.v;
}

/* Between two looks, the first of which it is above ground at: does it touch the ground? *by: at or before then [s]. */
static int touches(const struct leg *leg, const struct sm_flight_state *was, const struct sm_flight_state *is,
                   double *by)
{
    static const double touching = 1e-6; /* so low is down [m] */
    struct sm_flight_state lowest;
    *by = is->t;
    if (is->h <= 0.0 && is->v <= 0.0)
        return 1;
    if (!(was->v < 0.0 && is->v > 0.0)) /* strong motors take it up again at once */
        return 0;
    *by = sm_bracket_root(climb, leg, was->t, is->t);
    fly_to(leg, *by, &lowest);
    return lowest.h <= touching;
}

static double depth(const void *user, double t)
{
    struct sm_flight_state at;
    fly_to(user, t, &at);
    return -at.h;
}

/* Points of a flight at even times, and its last one. */
enum { PATH = 101, PATH_COLUMNS = 4 };
struct path {
    size_t n;
    double from, to;              /* [s] */
    double *column[PATH_COLUMNS]; /* time [s], height [m], speed [m/s], throttle [1] */
};

static void put_point(struct path *path, const struct leg *leg, const struct sm_flight_state *at)
{
    struct sm_profile_at p;
    sm_profile_eval(leg->model->profile, at->t, &p);
    path->column[0][path->n] = at->t;
    path->column[1][path->n] = fmax(at->h, 0.0);
    path->column[2][path->n] = at->v;
    path->column[3][path->n++] =
        p.thrust > 0.0 ? sm_flight_thrust(leg->model, leg->control, at->t) / p.thrust : SM_ABSENT;
}

/* Those up to the end of a leg; that end itself if it is the last. */
static void put_leg(struct path *path, const struct leg *leg, const struct sm_flight_state *end, int is_last)
{
    while (path->n < PATH) {
        struct sm_flight_state at;
        const double t = path->from + (path->to - path->from) * (double)path->n / (PATH - 1);
        if (t >= end->t)
            break;
        fly_to(leg, t, &at);
        put_point(path, leg, &at);
    }
    if (is_last)
        put_point(path, leg, end);
}

/* What is kept of a flight besides its end; each NULL if it is not wanted. */
struct wanted {
    const struct sm_margins *margins;
    struct path *path;
};

/* Between two instants of a flight, the first of them number i. Returned: 1 if it touched the ground. */
static int fly_leg(const struct leg *leg, const struct sm_margins *margins, size_t i, double until,
                   struct sm_flight_state *at, struct sm_lift_end *end)
{
    const double from = leg->start->t;
    for (size_t k = 1; k <= SM_MARGIN_STEPS; k++) {
        const struct sm_flight_state was = *at;
        double by;
        fly_to(leg, from + (until - from) * (double)k / SM_MARGIN_STEPS, at);
        if (touches(leg, &was, at, &by)) {
            fly_to(leg, sm_bracket_root(depth, leg, was.t, by), at);
            end->contact_time = at->t;
            end->contact_speed = -at->v;
            return 1;
        }
        if (margins)
            judge(margins, i + k, at, 0, end);
    }
    return 0;
}

/* Up to contact or burnout. known NULL: the plan is kept. */
static void fly(const struct sm_lift_study *s, const struct bounds *flown, const struct bounds *known,
                const struct sm_flight_state *start, const struct plan *first, const struct wanted *wanted,
                struct sm_lift_end *end)
{
    const struct sm_vehicle_landing *landing = &s->vehicle->spec.landing;
    const double burnout = sm_profile_burnout(flown->bare->profile);
    struct plan plan = *first;
    struct sm_flight_state at = *start;
    struct splay splay;
    /* At least splay as it lifts off. */
    splay_at(first->keeps_reserve ? flown->reserve : flown->bare, &(struct sm_switches){SM_INF, SM_INF},
             start->t, &splay);
    for (size_t i = 0; at.t < burnout; i += SM_MARGIN_STEPS) {
        struct sm_flight_model model;
        if (known && at.t > start->t)
            replan(known, &splay, &at, landing->speed_limit, &plan);
        if (wanted->margins)
            judge(wanted->margins, i, &at, 1, end);
        begin_splayed(plan.keeps_reserve ? flown->reserve : flown->bare, &splay, at.t, &model);
        const struct sm_flight_state now = at;
        const struct sm_switches control = from_now(&plan.switches, at.t);
        const struct leg leg = {&model, &now, &control};
        const double until = fmin(at.t + landing->replan_every, burnout);
        const int is_down = fly_leg(&leg, wanted->margins, i, until, &at, end);
        if (wanted->path)
            put_leg(wanted->path, &leg, &at, is_down || at.t >= burnout);
        if (is_down)
            return;
        splay_at(&model, &control, until, &splay);
    }
    end->height_left = at.h;
    end->speed_left = at.v;
}

static const struct sm_lift_end nothing_yet = {SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT,
                                               SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT};

/* A vehicle as it is, or as it is thought to be. */
struct version {
    struct sm_profile bare, reserve;
    struct sm_flight_model flown, flown_reserve;
};

static enum sm_status make_version(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                   const struct sm_vehicle_change *change, struct sm_arena *arena,
                                   struct version *v, struct sm_error *err)
{
    struct sm_vehicle_change reserved = *change;
    reserved.reserve = vehicle->spec.landing.reserve;
    SM_TRY(sm_thrust_profile(vehicle, runs, change, arena, &v->bare, err));
    SM_TRY(sm_thrust_profile(vehicle, runs, &reserved, arena, &v->reserve, err));
    SM_TRY(sm_lift_flown_model(vehicle, runs, &v->bare, change, arena, &v->flown, err));
    return sm_lift_flown_model(vehicle, runs, &v->reserve, &reserved, arena, &v->flown_reserve, err);
}

/* The motors to be lit at a height are not: it comes down on those lit before. */
static void never_lit(const struct sm_lighting *lighting, struct sm_lift_end ends[SM_LIFT_WAYS])
{
    const struct sm_flight_state *at = &lighting->end;
    for (size_t i = 0; i < SM_LIFT_WAYS; i++)
        ends[i] = (struct sm_lift_end){.contact_time = at->t,
                                       .contact_speed = -at->v,
                                       .height_left = SM_ABSENT,
                                       .speed_left = SM_ABSENT,
                                       .margin_height_time = at->t,
                                       .margin_speed_time = at->t,
                                       .margin_thrust_time = at->t};
}

static enum sm_status make_paths(struct sm_arena *arena, double from, double to,
                                 struct path paths[SM_LIFT_WAYS], struct sm_error *err)
{
    for (size_t i = 0; i < SM_LIFT_WAYS; i++) {
        double *all = sm_arena_alloc(arena, (size_t)PATH_COLUMNS * (PATH + 1), sizeof *all);
        if (!all)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        paths[i] = (struct path){.from = from, .to = to};
        for (size_t k = 0; k < PATH_COLUMNS; k++)
            paths[i].column[k] = all + k * (PATH + 1);
    }
    return SM_OK;
}

static void name_paths(const struct path paths[SM_LIFT_WAYS], struct sm_lift_path out[SM_LIFT_WAYS])
{
    for (size_t i = 0; i < SM_LIFT_WAYS; i++)
        out[i] = (struct sm_lift_path){.n = paths[i].n,
                                       .time = paths[i].column[0],
                                       .height = paths[i].column[1],
                                       .speed = paths[i].column[2],
                                       .throttle = paths[i].column[3]};
}

/* The plan, counted from the last ignition at a height if there is one. */
static struct plan plan_from(const struct sm_lift_study *s, const struct sm_flight_state *start)
{
    const double later = s->lighting.n > 0 ? start->t - s->start.t : 0.0;
    return (struct plan){.keeps_reserve = s->lift.plan_keeps_reserve,
                         .contact = s->lift.plan_contact + later,
                         .speed = -s->lift.plan_speed,
                         .switches = {s->lift.plan_splay_from + later, s->lift.plan_splay_to + later}};
}

enum sm_status sm_lift_fly_ways(const struct sm_lift_study *s, const struct sm_lift_differing *d,
                                struct sm_arena *arena, struct sm_lift_off_by *out, int *lifts,
                                struct sm_error *err)
{
    static const struct sm_vehicle_change as_told;
    const double release = s->lift.figures.release_time;
    struct sm_lighting lighting;
    struct version truth, thought;
    struct bounds told = {&s->flown, &s->flown_reserve};
    struct sm_margins margins;
    struct path paths[SM_LIFT_WAYS];
    SM_TRY(sm_lighting_find(s->told, d->runs, &d->change, release, arena, &lighting, err));
    *lifts = 1;
    if (lighting.n > 0 && isnan(lighting.start.t)) {
        *lifts = !isnan(lighting.end.t);
        never_lit(&lighting, out->ways);
        return SM_OK;
    }
    SM_TRY(make_version(lighting.vehicle, d->runs, &d->change, arena, &truth, err));
    if (lighting.n > 0) { /* it knows when they were lit */
        SM_TRY(make_version(lighting.vehicle, s->runs, &as_told, arena, &thought, err));
        told = (struct bounds){&thought.flown, &thought.flown_reserve};
    }
    const struct bounds flown = {&truth.flown, &truth.flown_reserve};
    const struct bounds *const known[SM_LIFT_WAYS] = {NULL, &flown, &told};
    const struct sm_flight_state start =
        sm_lighting_start(&lighting, s->lift.plan_keeps_reserve ? &truth.reserve : &truth.bare, release);
    const struct plan plan = plan_from(s, &start);
    *lifts = !isnan(start.t);
    if (d->is_detailed && *lifts) {
        const struct sm_vehicle_landing *landing = &s->vehicle->spec.landing;
        SM_TRY(make_paths(arena, start.t, sm_profile_burnout(&truth.bare), paths, err));
        SM_TRY(sm_margins_fill(&truth.flown, landing->speed_limit, start.t, landing->replan_every, arena,
                               &margins, err));
    }
    for (size_t i = 0; i < SM_LIFT_WAYS && *lifts; i++) {
        const struct wanted wanted = {d->is_detailed ? &margins : NULL, d->is_detailed ? &paths[i] : NULL};
        out->ways[i] = nothing_yet;
        fly(s, &flown, known[i], &start, &plan, &wanted, &out->ways[i]);
    }
    if (d->is_detailed && *lifts)
        name_paths(paths, out->paths);
    return SM_OK;
}

const char *sm_lift_way_name(enum sm_lift_way way)
{
    static const char *const names[SM_LIFT_WAYS] = {"fixed", "replanned", "replanned_as_told"};
    return way < SM_LIFT_WAYS ? names[way] : NULL;
}

/* Deviations of thrust and of burn time, as shares: the vehicle file's, or else those of the motors of the first group. */
static enum sm_status find_deviations(struct sm_lift_study *s, const struct sm_context *context,
                                      double *thrust, double *burn_time, struct sm_error *err)
{
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    *thrust = t->thrust;
    *burn_time = t->burn_time;
    s->lift.off_by_from = "the vehicle file's tolerances";
    if (t->thrust > 0.0 || t->burn_time > 0.0)
        return SM_OK;
    return sm_drawn_deviations(s->vehicle->motors[0], context, thrust, burn_time, &s->lift.off_by_from, err);
}

enum sm_status sm_lift_fill_off_by(struct sm_lift_study *s, const struct sm_context *context,
                                   struct sm_error *err)
{
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    const double mass = s->vehicle->spec.tolerances.mass * s->lift.figures.release_mass;
    double thrust, burn_time, delay = 0.0;
    if (s->lift.plan.n == 0)
        return SM_OK;
    for (size_t i = 0; i < s->vehicle->spec.motors.n; i++)
        delay = fmax(groups[i].ignition_delay_tolerance, delay);
    SM_TRY(find_deviations(s, context, &thrust, &burn_time, err));
    const struct {
        const char *what;
        struct sm_vehicle_change change;
        double size; /* of its deviation [unit of what is changed] */
    } cases[SM_LIFT_CASES] = {
        {"as told", {.thrust = 0.0}, 1.0},
        {"thrust one deviation more", {.thrust = thrust}, thrust},
        {"thrust one deviation less", {.thrust = -thrust}, thrust},
        {"burn one deviation longer", {.burn_time = burn_time}, burn_time},
        {"burn one deviation shorter", {.burn_time = -burn_time}, burn_time},
        {"mass one deviation more", {.mass = mass}, mass},
        {"mass one deviation less", {.mass = -mass}, mass},
        {"ignition one deviation later", {.delays = 1.0}, delay},
        {"ignition one deviation sooner", {.delays = -1.0}, delay},
    };
    s->lift.replan_every = s->vehicle->spec.landing.replan_every;
    for (size_t i = 0; i < SM_LIFT_CASES; i++) {
        struct sm_lift_off_by *out = &s->lift.off_by[s->lift.n_off_by];
        const struct sm_lift_differing d = {s->runs, cases[i].change, 1};
        int lifts = 0;
        if (cases[i].size > 0.0)
            SM_TRY(sm_lift_fly_ways(s, &d, &s->arena, out, &lifts, err));
        if (!lifts) /* not asked for, or the corner tells */
            continue;
        out->what = cases[i].what;
        s->lift.n_off_by++;
    }
    return SM_OK;
}

/* ---- the plan as told ---- */

enum { COLUMNS = 7, HELD = 2, TO_IGNITION = 41, FLIGHT = 101, AFTER = 41 };

static void put_row(double *const column[COLUMNS], enum sm_lift_phase *phases, size_t i,
                    enum sm_lift_phase phase, const struct sm_flight_state *at)
{
    phases[i] = phase;
    column[0][i] = at->t;
    column[1][i] = fmax(at->h, 0.0);
    column[2][i] = at->v;
    for (size_t k = 3; k < COLUMNS; k++)
        column[k][i] = SM_ABSENT;
}

/* From lift-off to the last ignition at a height. */
static void fly_to_ignition(const struct sm_lift_study *s, double *const column[COLUMNS],
                            enum sm_lift_phase *phases)
{
    const struct sm_lighting *l = &s->lighting;
    const double from = l->lift_off.t, to = l->start.t;
    struct sm_flight_state at;
    size_t k = 0;
    for (size_t i = 0; i < TO_IGNITION; i++) {
        const double t = from + (to - from) * (double)i / (TO_IGNITION - 1);
        while (k + 1 < l->n && l->legs[k].to.t <= t)
            k++;
        const struct leg leg = {&l->legs[k].model, &l->legs[k].from, &(struct sm_switches){SM_INF, SM_INF}};
        fly_to(&leg, t, &at);
        put_row(column, phases, HELD + i, SM_LIFT_TO_IGNITION, &at);
    }
}

/* Held, in flight, and after contact up to burnout. Returned: points. */
static size_t fly_phases(const struct sm_lift_study *s, const struct plan *plan,
                         double *const column[COLUMNS], enum sm_lift_phase *phases)
{
    const struct sm_tube tube = {&s->bare, s->vehicle->spec.landing.speed_limit, 1.0};
    const struct sm_flight_state *start = start_of(s, plan);
    const struct leg leg = {model_of(s, plan), start, &plan->switches};
    const double lift_off = s->lighting.n > 0 ? s->lift_off.t : start->t;
    struct sm_touchdown down;
    struct sm_flight_state at = {0};
    size_t n = HELD;
    for (size_t i = 0; i < HELD; i++) {
        at.t = lift_off * (double)i / (HELD - 1);
        put_row(column, phases, i, SM_LIFT_HELD, &at);
    }
    if (s->lighting.n > 0) {
        fly_to_ignition(s, column, phases);
        n += TO_IGNITION;
    }
    for (size_t i = 0; i < FLIGHT; i++) {
        const size_t row = n++;
        fly_to(&leg, start->t + (plan->contact - start->t) * (double)i / (FLIGHT - 1), &at);
        put_row(column, phases, row, SM_LIFT_FLYING, &at);
        (void)sm_tube_heights(&tube, at.t, at.v, &column[3][row], &column[4][row]);
        (void)sm_tube_speeds(&tube, at.t, column[1][row], &column[5][row], &column[6][row]);
    }
    sm_touchdown_begin(leg.model, leg.control, plan->contact, 0.0, &down);
    const double end = sm_profile_burnout(leg.model->profile);
    for (size_t i = 0; i < AFTER; i++) {
        /* Close together at first, where it may hop. */
        const double share = (double)i / (AFTER - 1);
        sm_touchdown_go_on(&down, plan->contact + (end - plan->contact) * share * share);
        put_row(column, phases, n++, SM_LIFT_AFTER_CONTACT, &down.at);
    }
    return n;
}

enum sm_status sm_lift_fill_plan(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift *lift = &s->lift;
    struct plan plan;
    lift->plan_contact = lift->plan_speed = lift->plan_splay_from = lift->plan_splay_to = SM_ABSENT;
    if (lift->windows[SM_LIFT_DRAG].n + lift->windows[SM_LIFT_DRAG_RESERVE].n == 0)
        return SM_OK;
    const size_t most = HELD + TO_IGNITION + FLIGHT + AFTER;
    double *column[COLUMNS], *all = sm_arena_alloc(&s->arena, COLUMNS * most, sizeof *all);
    enum sm_lift_phase *phases = sm_arena_alloc(&s->arena, most, sizeof *phases);
    if (!all || !phases)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < COLUMNS; k++)
        column[k] = all + k * most;
    choose_plan(s, &plan);
    lift->plan_keeps_reserve = plan.keeps_reserve;
    lift->plan_contact = plan.contact;
    lift->plan_speed = -plan.speed;
    lift->plan_splay_from = plan.switches.off;
    lift->plan_splay_to = plan.switches.on;
    const size_t n = fly_phases(s, &plan, column, phases);
    lift->plan = (struct sm_lift_flight){.n = n,
                                         .phase = phases,
                                         .time = column[0],
                                         .height = column[1],
                                         .speed = column[2],
                                         .height_low = column[3],
                                         .height_high = column[4],
                                         .speed_low = column[5],
                                         .speed_high = column[6]};
    return SM_OK;
}

const char *sm_lift_phase_name(enum sm_lift_phase phase)
{
    static const char *const names[SM_LIFT_PHASES] = {"held", "to ignition", "flight", "after contact"};
    return phase < SM_LIFT_PHASES ? names[phase] : NULL;
}
