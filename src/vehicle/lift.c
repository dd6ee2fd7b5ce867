/* The study as one call. */
#include "vehicle/lift.h"

#include "base/text.h"

#include <math.h>

enum { CONTACTS = 64, CONTACTS_IN_TABLES = 16 };

/* The most splay that all throttles have [rad]; absent if they differ. */
static double common_limit(const struct sm_vehicle_spec *spec)
{
    const struct sm_motor_group *groups = spec->motors.items;
    double limit = SM_ABSENT, low, high;
    int differs = 0;
    for (size_t i = 0; i < spec->motors.n; i++) {
        if (!sm_group_has_throttle(&groups[i]))
            continue;
        sm_group_splay(&groups[i], spec->landing.least_splay, &low, &high);
        differs = differs || fabs(high - limit) > 0.0;
        limit = high;
    }
    return differs ? SM_ABSENT : limit;
}

static void judge_throttle(struct sm_lift_study *s)
{
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    size_t motors = 0;
    for (size_t i = 0; i < s->vehicle->spec.motors.n; i++) {
        s->lift.has_throttle = s->lift.has_throttle || sm_group_has_throttle(&groups[i]);
        motors += (size_t)groups[i].count;
    }
    if (s->lift.has_throttle)
        return;
    s->lift.no_throttle = motors == 1 ? "one motor alone can't be splayed: tilting it pushes sideways, so "
                                        "there is no throttle and no window"
                                      : "no group has two motors or more off the axis with a tilt_limit, so "
                                        "there is no throttle and no window";
}

static enum sm_status fill_series(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_profile *p = &s->bare;
    struct sm_lift_series *out = &s->lift.series;
    double *weight = sm_arena_alloc(&s->arena, p->n, sizeof *weight),
           *ratio = sm_arena_alloc(&s->arena, p->n, sizeof *ratio);
    double *low = sm_arena_alloc(&s->arena, p->n, sizeof *low),
           *high = sm_arena_alloc(&s->arena, p->n, sizeof *high);
    if (!weight || !ratio || !low || !high)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < p->n; i++) {
        weight[i] = p->mass[i] * p->gravity;
        ratio[i] = p->full[i] / weight[i];
        low[i] = high[i] = SM_ABSENT;
        if (p->t[i] > s->start.t && sm_reach_heights(p, &s->start, p->t[i], 0.0, &low[i], &high[i])) {
            /* Between the ground and the highest, hence nothing if the highest is below ground. */
            low[i] = high[i] < 0.0 ? SM_ABSENT : fmax(low[i], 0.0);
            high[i] = high[i] < 0.0 ? SM_ABSENT : high[i];
        }
    }
    out->n = p->n;
    out->time = p->t;
    out->thrust = p->thrust;
    out->full = p->full;
    out->least = p->least;
    out->mass = p->mass;
    out->weight = weight;
    out->ratio = ratio;
    out->hover_low = low;
    out->hover_high = high;
    return SM_OK;
}

/* Hover and landing of a vehicle like this one but for one change: bare, then with the reserve kept. */
static enum sm_status study_changed(struct sm_lift_study *s, struct sm_vehicle_change change,
                                    struct sm_lift_row *row, struct sm_error *err)
{
    const double release = s->lift.figures.release_time, limit = s->vehicle->spec.landing.speed_limit;
    struct sm_lighting lighting;
    row->down_from = SM_ABSENT;
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++)
        row->first[k] = row->last[k] = row->highest[k] = SM_ABSENT;
    SM_TRY(sm_lighting_find(s->told, s->runs, &change, release, &s->arena, &lighting, err));
    for (size_t k = SM_LIFT_BARE; k <= SM_LIFT_RESERVE; k++) {
        const size_t flown = k + SM_LIFT_DRAG;
        struct sm_profile p;
        struct sm_flight_model model;
        double from, to;
        row->hover[k] = 0.0;
        if (lighting.n > 0 && isnan(lighting.start.t)) /* never lit */
            continue;
        change.reserve = k == SM_LIFT_RESERVE ? s->vehicle->spec.landing.reserve : 0.0;
        SM_TRY(sm_thrust_profile(lighting.vehicle, s->runs, &change, &s->arena, &p, err));
        row->down_from = k == SM_LIFT_BARE ? sm_lift_down_from(&p, lighting.n > 0 ? lighting.start.t : p.t[0])
                                           : row->down_from;
        const struct sm_flight_state start = sm_lighting_start(&lighting, &p, release);
        if (isnan(start.t))
            continue;
        row->hover[k] = sm_lift_hover(&p, start.t, &from, &to);
        if (!s->lift.has_throttle)
            continue;
        (void)sm_lift_window_ends(&p, &start, limit, CONTACTS_IN_TABLES, &row->first[k], &row->last[k],
                                  &row->highest[k]);
        SM_TRY(sm_lift_flown_model(lighting.vehicle, s->runs, &p, &change, &s->arena, &model, err));
        (void)sm_lift_flown_ends(&model, &start, limit, CONTACTS_IN_TABLES, &row->first[flown],
                                 &row->last[flown], &row->highest[flown]);
    }
    return SM_OK;
}

static enum sm_status fill_tables(struct sm_lift_study *s, struct sm_error *err)
{
    static const double lightest = 0.8, heaviest = 1.2, degree = 0.0174532925199432958;
    struct sm_lift *lift = &s->lift;
    const double mass = lift->figures.release_mass;
    for (size_t i = 0; i < SM_LIFT_MASSES; i++) {
        lift->masses[i] = mass * (lightest + (heaviest - lightest) * (double)i / (SM_LIFT_MASSES - 1));
        const struct sm_vehicle_change change = {.mass = lift->masses[i] - mass};
        SM_TRY(study_changed(s, change, &lift->by_mass[i], err));
    }
    for (size_t i = 0; i < SM_LIFT_LIMITS; i++) {
        lift->limits[i] = (15.0 + 5.0 * (double)i) * degree;
        const struct sm_vehicle_change change = {.splay_limit = lift->limits[i]};
        SM_TRY(study_changed(s, change, &lift->by_limit[i], err));
    }
    return SM_OK;
}

/* What is lit when, from where flights are studied, and how they go. */
static enum sm_status begin(struct sm_lift_study *s, const struct sm_vehicle_change *as_told,
                            const struct sm_vehicle_change *reserved, struct sm_error *err)
{
    double *release = &s->lift.figures.release_time;
    SM_TRY(sm_lift_release(s->told, s->runs, as_told, release, err));
    SM_TRY(sm_lighting_find(s->told, s->runs, as_told, *release, &s->arena, &s->lighting, err));
    SM_TRY(sm_lighting_check(&s->lighting, err));
    s->vehicle = s->lighting.vehicle;
    s->lifting = s->lighting.n > 0 ? &s->lighting.before : &s->bare;
    if (s->lighting.n > 0 && isnan(s->lighting.lift_off.t)) { /* the figures tell why */
        s->bare = s->lighting.before;
        s->lift_off.t = SM_ABSENT;
        return SM_OK;
    }
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, as_told, &s->arena, &s->bare, err));
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, reserved, &s->arena, &s->reserve, err));
    s->start = sm_lighting_start(&s->lighting, &s->bare, *release);
    s->start_reserve = sm_lighting_start(&s->lighting, &s->reserve, *release);
    s->lift_off = s->lighting.n > 0 ? s->lighting.lift_off : s->start;
    SM_TRY(sm_lift_flown_model(s->vehicle, s->runs, &s->bare, as_told, &s->arena, &s->flown, err));
    return sm_lift_flown_model(s->vehicle, s->runs, &s->reserve, reserved, &s->arena, &s->flown_reserve, err);
}

static enum sm_status name_ignitions(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    const size_t n = s->lighting.n;
    struct sm_lift_ignition *out = sm_arena_alloc(&s->arena, n, sizeof *out);
    if (!out)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        const struct sm_lighting_leg *leg = &s->lighting.legs[i];
        out[i] = (struct sm_lift_ignition){.group = leg->group,
                                           .height = leg->to.h,
                                           .time = leg->to.t,
                                           .speed = leg->to.v,
                                           .burns_from = leg->to.t + groups[leg->group].ignition_delay};
    }
    s->lift.ignitions = out;
    s->lift.n_ignitions = n;
    s->lift.steering = n > 0 ? "Until then it flies at least splay, with nothing kept back, and with drag; "
                               "what is told of hover, windows, sets and tube begins there."
                             : NULL;
    s->lift.ignition_highest = n > 0 ? s->lighting.highest : SM_ABSENT;
    return SM_OK;
}

static enum sm_status study(struct sm_lift_study *s, const struct sm_lift_options *options,
                            const struct sm_context *context, struct sm_error *err)
{
    static const struct sm_vehicle_change as_told;
    const struct sm_vehicle_change reserved = {.reserve = s->vehicle->spec.landing.reserve};
    SM_TRY(begin(s, &as_told, &reserved, err));
    judge_throttle(s);
    SM_TRY(sm_lift_fill_figures(s, err));
    SM_TRY(fill_series(s, err));
    SM_TRY(sm_lift_fill_turning(s, err));
    SM_TRY(sm_lighting_check_height(&s->lighting, &s->flown, err));
    SM_TRY(name_ignitions(s, err));
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++)
        s->lift.windows[i] =
            (struct sm_landing_window){.highest = SM_ABSENT, .highest_time = SM_ABSENT, .settled = SM_ABSENT};
    if (s->lift.has_throttle) {
        SM_TRY(sm_lift_fill_window(s, &s->bare, &s->start, CONTACTS, &s->lift.windows[0], err));
        SM_TRY(sm_lift_fill_window(s, &s->reserve, &s->start_reserve, CONTACTS, &s->lift.windows[1], err));
        SM_TRY(sm_lift_fill_flown(s, &s->flown, &s->start, &s->lift.windows[SM_LIFT_BARE], CONTACTS,
                                  &s->lift.windows[SM_LIFT_DRAG], &s->lift.touchdown[0], err));
        SM_TRY(sm_lift_fill_flown(s, &s->flown_reserve, &s->start_reserve, &s->lift.windows[SM_LIFT_RESERVE],
                                  CONTACTS, &s->lift.windows[SM_LIFT_DRAG_RESERVE], &s->lift.touchdown[1],
                                  err));
    }
    SM_TRY(fill_tables(s, err));
    SM_TRY(sm_lift_fill_sets(s, err));
    sm_lift_fill_hover_at(s, options);
    SM_TRY(sm_lift_fill_plan(s, err));
    SM_TRY(sm_lift_fill_off_by(s, context, err));
    SM_TRY(sm_lift_fill_sampled(s, options, context, err));
    return sm_lift_fill_warnings(s, err);
}

static enum sm_status burn_all(struct sm_lift_study *s, struct sm_result **runs,
                               const struct sm_context *context, struct sm_error *err)
{
    for (size_t i = 0; i < s->vehicle->spec.motors.n; i++) {
        const enum sm_status status = sm_simulate(s->vehicle->motors[i], NULL, context, &runs[i], err);
        if (status != SM_OK)
            return sm_while(err, status, "burning the motor of /motors/%zu", i);
        if (!runs[i]->complete)
            return sm_fail(err, SM_E_CANCELLED, "stopped on request");
    }
    return SM_OK;
}

enum sm_status sm_lift_study(const struct sm_vehicle *vehicle, const struct sm_lift_options *options,
                             const struct sm_context *context, struct sm_lift **lift, struct sm_error *err)
{
    struct sm_arena arena;
    const size_t n = vehicle->spec.motors.n;
    *lift = NULL;
    sm_arena_init(&arena, context ? context->allocator : NULL);
    struct sm_lift_study *s = sm_arena_alloc(&arena, 1, sizeof *s);
    struct sm_result **runs = sm_arena_alloc(&arena, n, sizeof *runs);
    if (!s || !runs) {
        sm_arena_release(&arena);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    s->arena = arena;
    s->told = s->vehicle = vehicle;
    s->runs = (const struct sm_result *const *)runs;
    s->lift.vehicle = vehicle->spec.name;
    s->lift.speed_limit = vehicle->spec.landing.speed_limit;
    s->lift.reserve = vehicle->spec.landing.reserve;
    s->lift.splay_limit = common_limit(&vehicle->spec);
    enum sm_status status = burn_all(s, runs, context, err);
    if (status == SM_OK)
        status = study(s, options, context, err);
    for (size_t i = 0; i < n; i++)
        sm_result_free(runs[i]);
    s->runs = NULL;
    if (status == SM_OK)
        *lift = &s->lift;
    else
        sm_lift_free(&s->lift);
    return status;
}

const char *sm_lift_bounds_name(enum sm_lift_bounds bounds)
{
    static const char *const names[SM_LIFT_BOUNDS] = {"bare", "reserve", "drag", "drag_reserve"};
    return bounds < SM_LIFT_BOUNDS ? names[bounds] : NULL;
}

void sm_lift_free(struct sm_lift *lift)
{
    if (!lift)
        return;
    struct sm_arena arena =
        ((struct sm_lift_study *)(void *)lift)->arena; /* the study lives in its own arena */
    sm_arena_release(&arena);
}

size_t sm_lift_touch_within(const struct sm_lift *lift, enum sm_lift_way way)
{
    static const double met = 1.0 + 1e-6; /* contact is found to less than that [1] */
    size_t n = 0;
    for (size_t i = 1; i < lift->n_off_by; i++)
        n += lift->off_by[i].ways[way].contact_speed <= met * lift->speed_limit;
    return n;
}

/* ---- figures by place ---- */

#define FIGURE(start, name, d, text, remark)                                                                 \
    {                                                                                                        \
        .group = start, .key = #name, .label = text, .dim = d, .note = remark,                               \
        .offset = offsetof(struct sm_lift_figures, name), .is_velocity = d == SM_DIM_SPEED                   \
    }
static const struct sm_lift_figure figures[] = {
    FIGURE("lift-off", release_time, SM_DIM_TIME, "let go at", "after the first ignition command"),
    FIGURE(NULL, release_mass, SM_DIM_MASS, "mass", "then, the motors' cases in dry_mass"),
    FIGURE(NULL, release_ratio, SM_DIM_NONE, "thrust to weight", "then"),
    FIGURE(NULL, greatest_ratio, SM_DIM_NONE, "thrust to weight", "at its greatest"),
    FIGURE(NULL, mass_for_no_lift, SM_DIM_MASS, "too heavy from", "at release; it then never lifts"),
    FIGURE("leaving the ground, or its rail", rail_time, SM_DIM_TIME, "after", "from lift-off"),
    FIGURE(NULL, rail_speed, SM_DIM_SPEED, "speed", NULL),
    FIGURE(NULL, rail_thrust, SM_DIM_FORCE, "thrust", NULL),
    FIGURE(NULL, rail_ratio, SM_DIM_NONE, "thrust to weight", "codes commonly ask for 3, from memory"),
    FIGURE("the same in the worst corner", corner_time, SM_DIM_TIME, "after", "from lift-off"),
    FIGURE(NULL, corner_speed, SM_DIM_SPEED, "speed", NULL),
    FIGURE(NULL, corner_thrust, SM_DIM_FORCE, "thrust", NULL),
    FIGURE(NULL, corner_ratio, SM_DIM_NONE, "thrust to weight", NULL),
    FIGURE("flown straight up, without splay and drag", straight_apogee, SM_DIM_LENGTH, "apogee", NULL),
    FIGURE(NULL, burnout_time, SM_DIM_TIME, "burnout", "after the first ignition command"),
    FIGURE(NULL, straight_delay, SM_DIM_TIME, "from it to apogee", NULL),
    FIGURE(NULL, velocity_ideal, SM_DIM_SPEED, "ideal velocity", "of thrust over mass alone"),
    FIGURE(NULL, velocity_gravity, SM_DIM_SPEED, "lost to gravity", "from lift-off to burnout"),
    FIGURE("hover", hover_time, SM_DIM_TIME, "weight can be held", "in all"),
    FIGURE(NULL, hover_from, SM_DIM_TIME, "from", NULL),
    FIGURE(NULL, hover_to, SM_DIM_TIME, "to", NULL),
    FIGURE(NULL, hover_tilt_first, SM_DIM_ANGLE, "splay for it", "at the first of these times"),
    FIGURE(NULL, hover_tilt_last, SM_DIM_ANGLE, "splay for it", "at the last of them"),
    FIGURE(NULL, least_limit, SM_DIM_ANGLE, "splay limit, least",
           "for a landing: thrust never over the weight"),
    FIGURE(NULL, least_limit_reserved, SM_DIM_ANGLE, "splay limit, least", "with the reserve kept"),
    FIGURE(NULL, down_from, SM_DIM_TIME, "stays down from", "touched down before, it lifts off again"),
};

size_t sm_lift_figure_list(const struct sm_lift_figure **list)
{
    *list = figures;
    return SM_COUNT(figures);
}
