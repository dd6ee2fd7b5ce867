/*
 * A plan flown on a vehicle that is not as told: as a fixed program of time, planned anew knowing the true remaining curve, and
 * planned anew on the curve as told; and how near each comes to the edge of the tube.
 */
#include "num/bracket.h"
#include "vehicle/drawncurves.h"
#include "vehicle/lift.h"
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

static const double most_thrust = 0.5; /* margin of thrust that is looked at [1] */

static void least(double value, double t, double *kept, double *when)
{
    if (!(value >= *kept)) {
        *kept = value;
        *when = t;
    }
}

/* Distance of one state to the edge. */
static void judge(const struct sm_tube *tube, const struct sm_flight_state *at, int with_thrust,
                  struct sm_lift_end *end)
{
    double low, high, slowest, fastest;
    double height = 0.0, speed = 0.0;
    const struct sm_flight_state above = {at->t, fmax(at->h, 0.0), at->v}; /* rounding at contact */
    const int inside = sm_tube_holds(tube, &above);
    if (inside && sm_tube_speeds(tube, above.t, above.h, &slowest, &fastest))
        speed = fmax(fmin(above.v - slowest, fastest - above.v), 0.0);
    if (inside && sm_tube_heights(tube, above.t, above.v, &low, &high)) /* the ground itself is no edge */
        height = fmax(low > 0.0 ? fmin(above.h - low, high - above.h) : high - above.h, 0.0);
    least(height, at->t, &end->margin_height, &end->margin_height_time);
    least(speed, at->t, &end->margin_speed, &end->margin_speed_time);
    if (with_thrust || !inside)
        least(inside ? sm_tube_thrust_margin(tube, &above, most_thrust) : 0.0, at->t, &end->margin_thrust,
              &end->margin_thrust_time);
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

static double depth(const void *user, double t)
{
    struct sm_flight_state at;
    fly_to(user, t, &at);
    return -at.h;
}

/* Between two instants of a flight. tube NULL: no margins. Returned: 1 if it touched the ground. */
static int fly_leg(const struct leg *leg, const struct sm_tube *tube, double until,
                   struct sm_flight_state *at, struct sm_lift_end *end)
{
    enum { STEPS = 6 };
    const double from = leg->start->t;
    double before = from;
    for (int i = 1; i <= STEPS; i++, before = at->t) {
        fly_to(leg, from + (until - from) * i / STEPS, at);
        if (at->h <= 0.0 && at->v <= 0.0) {
            fly_to(leg, sm_bracket_root(depth, leg, before, at->t), at);
            end->contact_time = at->t;
            end->contact_speed = -at->v;
            return 1;
        }
        if (tube)
            judge(tube, at, 0, end);
    }
    return 0;
}

/* Up to contact or burnout. known NULL: the plan is kept. */
static void fly(const struct sm_lift_study *s, const struct bounds *flown, const struct bounds *known,
                const struct sm_flight_state *start, const struct plan *first, int has_margins,
                struct sm_lift_end *end)
{
    const struct sm_vehicle_landing *landing = &s->vehicle->spec.landing;
    const struct sm_tube tube = {flown->bare->profile, landing->speed_limit, 1.0};
    const double burnout = sm_profile_burnout(flown->bare->profile);
    struct plan plan = *first;
    struct sm_flight_state at = *start;
    struct splay splay;
    /* At least splay as it lifts off. */
    splay_at(first->keeps_reserve ? flown->reserve : flown->bare, &(struct sm_switches){SM_INF, SM_INF},
             start->t, &splay);
    while (at.t < burnout) {
        struct sm_flight_model model;
        if (known && at.t > start->t)
            replan(known, &splay, &at, landing->speed_limit, &plan);
        if (has_margins)
            judge(&tube, &at, 1, end);
        begin_splayed(plan.keeps_reserve ? flown->reserve : flown->bare, &splay, at.t, &model);
        const struct sm_flight_state now = at;
        const struct sm_switches control = from_now(&plan.switches, at.t);
        const struct leg leg = {&model, &now, &control};
        const double until = fmin(at.t + landing->replan_every, burnout);
        if (fly_leg(&leg, has_margins ? &tube : NULL, until, &at, end))
            return;
        splay_at(&model, &control, until, &splay);
    }
    end->height_left = at.h;
    end->speed_left = at.v;
}

static const struct sm_lift_end nothing_yet = {SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT,
                                               SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT};

enum sm_status sm_lift_fly_ways(const struct sm_lift_study *s, const struct sm_lift_differing *d,
                                struct sm_arena *arena, struct sm_lift_end ends[SM_LIFT_WAYS], int *lifts,
                                struct sm_error *err)
{
    const struct plan plan = {.keeps_reserve = s->lift.plan_keeps_reserve,
                              .contact = s->lift.plan_contact,
                              .speed = -s->lift.plan_speed,
                              .switches = {s->lift.plan_splay_from, s->lift.plan_splay_to}};
    struct sm_vehicle_change reserved = d->change;
    struct sm_profile bare, reserve;
    struct sm_flight_model flown, flown_reserve;
    struct sm_flight_state start = s->start;
    reserved.reserve = s->vehicle->spec.landing.reserve;
    SM_TRY(sm_thrust_profile(s->vehicle, d->runs, &d->change, arena, &bare, err));
    SM_TRY(sm_thrust_profile(s->vehicle, d->runs, &reserved, arena, &reserve, err));
    SM_TRY(sm_lift_flown_model(s->vehicle, d->runs, &bare, &d->change, arena, &flown, err));
    SM_TRY(sm_lift_flown_model(s->vehicle, d->runs, &reserve, &reserved, arena, &flown_reserve, err));
    const struct bounds truth = {&flown, &flown_reserve}, told = {&s->flown, &s->flown_reserve};
    const struct bounds *const known[SM_LIFT_WAYS] = {NULL, &truth, &told};
    start.t = sm_lift_off_time(plan.keeps_reserve ? &reserve : &bare, s->lift.figures.release_time);
    *lifts = !isnan(start.t);
    for (size_t i = 0; i < SM_LIFT_WAYS && *lifts; i++) {
        ends[i] = nothing_yet;
        fly(s, &truth, known[i], &start, &plan, d->has_margins, &ends[i]);
    }
    return SM_OK;
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
    double thrust, burn_time;
    if (s->lift.plan.n == 0)
        return SM_OK;
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
        {"ignition one deviation later", {.delays = 1.0}, groups[0].ignition_delay_tolerance},
        {"ignition one deviation sooner", {.delays = -1.0}, groups[0].ignition_delay_tolerance},
    };
    s->lift.replan_every = s->vehicle->spec.landing.replan_every;
    for (size_t i = 0; i < SM_LIFT_CASES; i++) {
        struct sm_lift_off_by *out = &s->lift.off_by[s->lift.n_off_by];
        const struct sm_lift_differing d = {s->runs, cases[i].change, 1};
        int lifts = 0;
        if (cases[i].size > 0.0)
            SM_TRY(sm_lift_fly_ways(s, &d, &s->arena, out->ways, &lifts, err));
        if (!lifts) /* not asked for, or the corner tells */
            continue;
        out->what = cases[i].what;
        s->lift.n_off_by++;
    }
    return SM_OK;
}

/* ---- the plan as told ---- */

enum { COLUMNS = 7, HELD = 2, FLIGHT = 101, AFTER = 41, POINTS = HELD + FLIGHT + AFTER };

static void put_point(double *const column[COLUMNS], enum sm_lift_phase *phases, size_t i,
                      enum sm_lift_phase phase, const struct sm_flight_state *at)
{
    phases[i] = phase;
    column[0][i] = at->t;
    column[1][i] = fmax(at->h, 0.0);
    column[2][i] = at->v;
    for (size_t k = 3; k < COLUMNS; k++)
        column[k][i] = SM_ABSENT;
}

/* Held, in flight, and after contact up to burnout. */
static void fly_phases(const struct sm_lift_study *s, const struct plan *plan, double *const column[COLUMNS],
                       enum sm_lift_phase *phases)
{
    const struct sm_tube tube = {&s->bare, s->vehicle->spec.landing.speed_limit, 1.0};
    const struct sm_flight_state *start = start_of(s, plan);
    const struct leg leg = {model_of(s, plan), start, &plan->switches};
    struct sm_touchdown down;
    struct sm_flight_state at = {0};
    for (size_t i = 0; i < HELD; i++) {
        at.t = start->t * (double)i / (HELD - 1);
        put_point(column, phases, i, SM_LIFT_HELD, &at);
    }
    for (size_t i = 0; i < FLIGHT; i++) {
        const size_t row = HELD + i;
        fly_to(&leg, start->t + (plan->contact - start->t) * (double)i / (FLIGHT - 1), &at);
        put_point(column, phases, row, SM_LIFT_FLYING, &at);
        (void)sm_tube_heights(&tube, at.t, at.v, &column[3][row], &column[4][row]);
        (void)sm_tube_speeds(&tube, at.t, column[1][row], &column[5][row], &column[6][row]);
    }
    sm_touchdown_begin(leg.model, leg.control, plan->contact, 0.0, &down);
    const double end = sm_profile_burnout(leg.model->profile);
    for (size_t i = 0; i < AFTER; i++) {
        /* Close together at first, where it may hop. */
        const double share = (double)i / (AFTER - 1);
        sm_touchdown_go_on(&down, plan->contact + (end - plan->contact) * share * share);
        put_point(column, phases, HELD + FLIGHT + i, SM_LIFT_AFTER_CONTACT, &down.at);
    }
}

enum sm_status sm_lift_fill_plan(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift *lift = &s->lift;
    struct plan plan;
    lift->plan_contact = lift->plan_speed = lift->plan_splay_from = lift->plan_splay_to = SM_ABSENT;
    if (lift->windows[SM_LIFT_DRAG].n + lift->windows[SM_LIFT_DRAG_RESERVE].n == 0)
        return SM_OK;
    double *column[COLUMNS], *all = sm_arena_alloc(&s->arena, (size_t)COLUMNS * POINTS, sizeof *all);
    enum sm_lift_phase *phases = sm_arena_alloc(&s->arena, POINTS, sizeof *phases);
    if (!all || !phases)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < COLUMNS; k++)
        column[k] = all + k * POINTS;
    choose_plan(s, &plan);
    lift->plan_keeps_reserve = plan.keeps_reserve;
    lift->plan_contact = plan.contact;
    lift->plan_speed = -plan.speed;
    lift->plan_splay_from = plan.switches.off;
    lift->plan_splay_to = plan.switches.on;
    fly_phases(s, &plan, column, phases);
    lift->plan = (struct sm_lift_flight){.n = POINTS,
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
    static const char *const names[SM_LIFT_PHASES] = {"held", "flight", "after contact"};
    return phase < SM_LIFT_PHASES ? names[phase] : NULL;
}
