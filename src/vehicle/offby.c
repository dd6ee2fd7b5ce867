/*
 * A plan flown on a vehicle that is not as told: as a fixed program of time, planned anew knowing the true remaining curve, and
 * planned anew on the curve as told; and how near each comes to the edge of the tube.
 */
#include "vehicle/lift.h"
#include "vehicle/tube.h"

#include <math.h>

/* ---- the plan ---- */

/* What a flight plans with: bare bounds and those with the reserve kept. */
struct bounds {
    const struct sm_profile *bare, *reserve;
};

struct plan {
    int keeps_reserve;
    double contact;              /* [s] */
    struct sm_switches switches; /* of full, least, full */
};

/* The highest flight to a contact at T with a speed upwards of v. */
static int plan_to(const struct sm_profile *p, const struct sm_flight_state *at, double T, double v,
                   struct sm_switches *switches)
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    static const double whisker = 1e-8; /* of rounding, for a flight along an edge [m] */
    struct sm_flight_state top;
    double low, high, lowest;
    if (!sm_reach_heights(p, at, T, v, &low, &high) || low > whisker || high < -whisker ||
        !sm_reach_highest(p, at, T, 0.0, v, switches))
        return 0;
    sm_reach_extremes(p, at, switches, T, &top, &lowest);
    return lowest >= buried;
}

/* A plan to a contact as near the wanted one as can be. */
static int plan_near(const struct sm_profile *p, const struct sm_flight_state *at, double wanted, double v,
                     struct sm_switches *switches)
{
    static const double finest = 0.005,
                        growth = 1.35; /* shares of what is left, in a row that soon spans it all [1] */
    const double end = sm_profile_burnout(p), soonest = at->t + 1e-3;
    const double middle = fmin(fmax(wanted, soonest), end), left = end - at->t;
    if (left <= 0.0)
        return 0;
    if (plan_to(p, at, middle, v, switches))
        return 1;
    for (double d = finest * left; d < left; d *= growth) {
        if (middle - d > soonest && plan_to(p, at, middle - d, v, switches))
            return 1;
        if (middle + d < end && plan_to(p, at, middle + d, v, switches))
            return 1;
    }
    return 0;
}

/* Contact speeds to plan for, as shares of the legs' limit: half of it, for a contact at no speed at all would be missed by the
 * least error, and one at the limit has no margin [1]. */
static const double contact_shares[] = {0.5, 0.75, 1.0, 0.25, 0.0};

/* Plans within the reserve, else with all there is; where no landing is left, full thrust if it comes down too fast, else
 * least. */
static void replan(const struct bounds *known, const struct sm_flight_state *at, double limit,
                   struct plan *plan)
{
    const struct sm_tube tube = {known->bare, limit, 1.0};
    double slowest, fastest;
    for (size_t i = 0; i < SM_COUNT(contact_shares); i++)
        for (int k = 0; k < 2; k++) {
            plan->keeps_reserve = k == 0;
            if (plan_near(k == 0 ? known->reserve : known->bare, at, plan->contact,
                          -contact_shares[i] * limit, &plan->switches))
                return;
        }
    if (sm_tube_speeds(&tube, at->t, at->h, &slowest, &fastest) && at->v < slowest)
        plan->switches = (struct sm_switches){SM_INF, SM_INF};
    else if (at->h > sm_tube_top(&tube, at->t))
        plan->switches = (struct sm_switches){at->t, SM_INF};
}

/* What the plan is flown on, and from where. */
static const struct sm_profile *profile_of(const struct sm_lift_study *s, const struct plan *plan)
{
    return plan->keeps_reserve ? &s->reserve : &s->bare;
}

static const struct sm_flight_state *start_of(const struct sm_lift_study *s, const struct plan *plan)
{
    return plan->keeps_reserve ? &s->start_reserve : &s->start;
}

static void choose_plan(const struct sm_lift_study *s, struct plan *plan)
{
    const struct sm_landing_window *window = &s->lift.windows[s->lift.windows[1].n > 0 ? 1 : 0];
    const double limit = s->vehicle->spec.landing.speed_limit;
    plan->keeps_reserve = window == &s->lift.windows[1];
    plan->contact = window->time[window->n / 2];
    for (size_t i = 0; i < SM_COUNT(contact_shares); i++)
        if (plan_to(profile_of(s, plan), start_of(s, plan), plan->contact, -contact_shares[i] * limit,
                    &plan->switches))
            return;
    plan->switches = (struct sm_switches){window->splay_from[window->n / 2], window->splay_to[window->n / 2]};
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

/* Between two instants of a flight. Returned: 1 if it touched the ground. */
static int fly_leg(const struct sm_profile *p, const struct sm_switches *control, const struct sm_tube *tube,
                   double until, struct sm_flight_state *at, struct sm_lift_end *end)
{
    enum { STEPS = 6, HALVINGS = 50 };
    const struct sm_flight_state start = *at;
    struct sm_flight_state before = start;
    for (int i = 1; i <= STEPS; i++, before = *at) {
        sm_reach_fly(p, &start, control, start.t + (until - start.t) * i / STEPS, at);
        if (at->h <= 0.0 && at->v <= 0.0) {
            double a = before.t, b = at->t;
            for (int k = 0; k < HALVINGS; k++) {
                sm_reach_fly(p, &start, control, 0.5 * (a + b), at);
                if (at->h > 0.0)
                    a = at->t;
                else
                    b = at->t;
            }
            end->contact_time = at->t;
            end->contact_speed = -at->v;
            return 1;
        }
        judge(tube, at, 0, end);
    }
    return 0;
}

/* Up to contact or burnout. known NULL: the plan is kept. */
static void fly(const struct sm_lift_study *s, const struct bounds *flown, const struct bounds *known,
                const struct sm_flight_state *start, const struct plan *first, struct sm_lift_end *end)
{
    const struct sm_vehicle_landing *landing = &s->vehicle->spec.landing;
    const struct sm_tube tube = {flown->bare, landing->speed_limit, 1.0};
    const double burnout = sm_profile_burnout(flown->bare);
    struct plan plan = *first;
    struct sm_flight_state at = *start;
    while (at.t < burnout) {
        if (known && at.t > start->t)
            replan(known, &at, landing->speed_limit, &plan);
        judge(&tube, &at, 1, end);
        if (fly_leg(plan.keeps_reserve ? flown->reserve : flown->bare, &plan.switches, &tube,
                    fmin(at.t + landing->replan_every, burnout), &at, end))
            return;
    }
    end->height_left = at.h;
    end->speed_left = at.v;
}

static const struct sm_lift_end nothing_yet = {SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT,
                                               SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT, SM_ABSENT};

static enum sm_status fly_changed(struct sm_lift_study *s, const char *what,
                                  const struct sm_vehicle_change *change, const struct plan *plan,
                                  struct sm_error *err)
{
    struct sm_vehicle_change reserved = *change;
    struct sm_profile bare, reserve;
    struct sm_flight_state start = s->start;
    struct sm_lift_off_by *out = &s->lift.off_by[s->lift.n_off_by];
    reserved.reserve = s->vehicle->spec.landing.reserve;
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, change, &s->arena, &bare, err));
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, &reserved, &s->arena, &reserve, err));
    const struct bounds truth = {&bare, &reserve}, told = {&s->bare, &s->reserve};
    const struct bounds *const known[SM_LIFT_WAYS] = {NULL, &truth, &told};
    start.t = sm_lift_off_time(plan->keeps_reserve ? &reserve : &bare, s->lift.figures.release_time);
    if (isnan(start.t))
        return SM_OK; /* it does not lift at all: the corner tells */
    out->what = what;
    for (size_t i = 0; i < SM_LIFT_WAYS; i++) {
        out->ways[i] = nothing_yet;
        fly(s, &truth, known[i], &start, plan, &out->ways[i]);
    }
    s->lift.n_off_by++;
    return SM_OK;
}

enum sm_status sm_lift_fill_off_by(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    const double mass = t->mass * s->lift.figures.release_mass;
    const struct {
        const char *what;
        struct sm_vehicle_change change;
        double size; /* of its deviation [unit of what is changed] */
    } cases[SM_LIFT_CASES] = {
        {"as told", {.thrust = 0.0}, 1.0},
        {"thrust one deviation more", {.thrust = t->thrust}, t->thrust},
        {"thrust one deviation less", {.thrust = -t->thrust}, t->thrust},
        {"burn one deviation longer", {.burn_time = t->burn_time}, t->burn_time},
        {"burn one deviation shorter", {.burn_time = -t->burn_time}, t->burn_time},
        {"mass one deviation more", {.mass = mass}, mass},
        {"mass one deviation less", {.mass = -mass}, mass},
        {"ignition one deviation later", {.delays = 1.0}, groups[0].ignition_delay_tolerance},
        {"ignition one deviation sooner", {.delays = -1.0}, groups[0].ignition_delay_tolerance},
    };
    const struct plan plan = {.keeps_reserve = s->lift.plan_keeps_reserve,
                              .contact = s->lift.plan_contact,
                              .switches = {s->lift.plan_splay_from, s->lift.plan_splay_to}};
    s->lift.replan_every = s->vehicle->spec.landing.replan_every;
    for (size_t i = 0; i < SM_LIFT_CASES && s->lift.plan.n > 0; i++)
        if (cases[i].size > 0.0)
            SM_TRY(fly_changed(s, cases[i].what, &cases[i].change, &plan, err));
    return SM_OK;
}

/* ---- the plan as told ---- */

enum { COLUMNS = 7, POINTS = 101 };

enum sm_status sm_lift_fill_plan(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift *lift = &s->lift;
    struct sm_lift_flight *f = &lift->plan;
    const struct sm_tube tube = {&s->bare, s->vehicle->spec.landing.speed_limit, 1.0};
    struct plan plan;
    lift->plan_contact = lift->plan_splay_from = lift->plan_splay_to = SM_ABSENT;
    if (lift->windows[0].n == 0)
        return SM_OK;
    double *column[COLUMNS], *all = sm_arena_alloc(&s->arena, (size_t)COLUMNS * POINTS, sizeof *all);
    if (!all)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < COLUMNS; k++)
        column[k] = all + k * POINTS;
    choose_plan(s, &plan);
    lift->plan_keeps_reserve = plan.keeps_reserve;
    lift->plan_contact = plan.contact;
    lift->plan_splay_from = plan.switches.off;
    lift->plan_splay_to = plan.switches.on;
    const struct sm_flight_state *start = start_of(s, &plan);
    for (size_t i = 0; i < POINTS; i++) {
        struct sm_flight_state at;
        const double t = start->t + (plan.contact - start->t) * (double)i / (POINTS - 1);
        sm_reach_fly(profile_of(s, &plan), start, &plan.switches, t, &at);
        at.h = fmax(at.h, 0.0);
        column[0][i] = t;
        column[1][i] = at.h;
        column[2][i] = at.v;
        for (size_t k = 3; k < COLUMNS; k++)
            column[k][i] = SM_ABSENT;
        (void)sm_tube_heights(&tube, t, at.v, &column[3][i], &column[4][i]);
        (void)sm_tube_speeds(&tube, t, at.h, &column[5][i], &column[6][i]);
    }
    *f = (struct sm_lift_flight){POINTS,    column[0], column[1], column[2],
                                 column[3], column[4], column[5], column[6]};
    return SM_OK;
}
