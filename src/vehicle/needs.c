#include "vehicle/needs.h"

#include "atmos/atmos.h"
#include "base/text.h"
#include "vehicle/thrust.h"
#include "vehicle/thrustspan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double right_angle = 1.57079632679489662;

/* ---- what is asked ---- */

/* At another splay limit than the group's own, its rate stays. */
static struct sm_splaying splaying_of(const struct sm_motor_group *group, double least_splay, double limit,
                                      double reserve)
{
    double low, high;
    sm_group_splay(group, least_splay, &low, &high);
    if (!sm_group_has_throttle(group))
        return (struct sm_splaying){cos(group->cant), cos(group->cant), SM_INF};
    const double rate = group->tilt_time > 0.0 ? (high - low) / group->tilt_time : SM_INF;
    high = fmax(limit, low);
    const double kept = reserve * (cos(low) - cos(high));
    return (struct sm_splaying){cos(low) - kept, cos(high) + kept, rate};
}

static double own_limit(const struct sm_motor_group *group, double least_splay)
{
    double low, high;
    sm_group_splay(group, least_splay, &low, &high);
    return high;
}

/* When a burn like this one is up for certain: twice the time in which its ignition rise is over, for another motor's may take
 * longer [s]. */
static double rise_of(const struct sm_result *burn)
{
    static const double up = 0.99, spare = 2.0, shortest = 0.1; /* [1], [1], [s] */
    const struct sm_series *s = &burn->series;
    size_t i = 0;
    while (i + 1 < s->n && s->thrust[i] < up * burn->thrust.initial)
        i++;
    return fmax(spare * s->time[i], shortest);
}

static double ignition_of(const struct sm_motor_group *group)
{
    return group->ignite_at + group->ignition_delay;
}

/* The groups lit first lift it off, once all of them are up. */
static double lift_off_of(const struct sm_vehicle *vehicle, const struct sm_result *const *runs)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    double first = SM_INF, up = 0.0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        first = fmin(first, groups[i].ignite_at);
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        if (groups[i].ignite_at <= first)
            up = fmax(up, ignition_of(&groups[i]) + rise_of(runs[i]));
    return up;
}

static int in_order(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* When the thrust of another group changes: at both its ends, and evenly between. */
static void add_events(struct sm_asked *w, const struct sm_motor_group *group, const struct sm_series *s)
{
    enum { BETWEEN = 16 };
    static const double beside = 1e-6; /* a curve may jump at its ends [s] */
    const double begins = ignition_of(group) + s->time[0], ends = ignition_of(group) + s->time[s->n - 1];
    for (int i = 0; i <= BETWEEN && w->n_events + 3 < SM_ASKED_EVENTS; i++) {
        const double t = begins + (ends - begins) * i / BETWEEN;
        w->events[w->n_events++] = i == 0 ? t - beside : t;
        if (i == 0 || i == BETWEEN)
            w->events[w->n_events++] = i == 0 ? t : t + beside;
    }
}

/* Thrust and mass of all groups but one. */
static enum sm_status hold_others(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                  size_t group, struct sm_arena *arena, struct sm_profile *held,
                                  struct sm_asked *w, struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    const size_t n = vehicle->spec.motors.n;
    const double least_splay = vehicle->spec.landing.least_splay;
    const struct sm_vehicle_change change = {.reserve = w->reserve};
    struct sm_vehicle others = {.spec = vehicle->spec};
    struct sm_motor_group *kept = sm_arena_alloc(arena, n, sizeof *kept);
    const struct sm_result **burns = sm_arena_alloc(arena, n, sizeof *burns);
    if (!kept || !burns)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    others.spec.motors.items = kept;
    others.spec.motors.n = 0;
    for (size_t i = 0; i < n; i++) {
        if (i == group)
            continue;
        burns[others.spec.motors.n] = runs[i];
        kept[others.spec.motors.n++] = groups[i];
        add_events(w, &groups[i], &runs[i]->series);
        if (sm_group_has_throttle(&groups[i]))
            w->others[w->n_others++] =
                splaying_of(&groups[i], least_splay, own_limit(&groups[i], least_splay), w->reserve);
    }
    qsort(w->events, w->n_events, sizeof *w->events, in_order);
    if (others.spec.motors.n == 0)
        return SM_OK;
    w->held = held;
    return sm_thrust_profile(&others, burns, &change, arena, held, err);
}

/* ---- what there is to spare ---- */

/* The longest hover at that height [s]; negative if it can't get there and back at all. */
static double longest_hover(const struct sm_asked *w)
{
    enum { HALVINGS = 40 };
    struct sm_asked other = *w;
    double can = 0.0, cannot = 1e5;
    other.hover = 0.0;
    if (!(sm_asked_choose(&other) > 0.0))
        return -1.0;
    for (int i = 0; i < HALVINGS; i++) {
        other.hover = 0.5 * (can + cannot);
        if (sm_asked_choose(&other) > 0.0)
            can = other.hover;
        else
            cannot = other.hover;
    }
    return can;
}

/* The least splay limit of the group with which it could be flown [rad]; absent if none. */
static double least_limit(const struct sm_asked *w, double least_splay)
{
    enum { HALVINGS = 30 };
    struct sm_asked other = *w;
    double cannot, can;
    if (!sm_group_has_throttle(w->group))
        return SM_ABSENT;
    sm_group_splay(w->group, least_splay, &cannot, &can);
    can = right_angle;
    other.splaying = splaying_of(w->group, least_splay, can, w->reserve);
    if (!(sm_asked_choose(&other) > 0.0))
        return SM_ABSENT;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (can + cannot);
        other.splaying = splaying_of(w->group, least_splay, middle, w->reserve);
        if (sm_asked_choose(&other) > 0.0)
            can = middle;
        else
            cannot = middle;
    }
    return can;
}

static const double degrees = 57.2957795130823209;

/* No steady thrust will do: what would. */
static enum sm_status say_why(const struct sm_asked *w, double least_splay, struct sm_error *err)
{
    struct sm_asked at_once = *w;
    at_once.splaying.rate = SM_INF;
    for (size_t i = 0; i < w->n_others; i++)
        at_once.others[i].rate = SM_INF;
    if (sm_asked_choose(&at_once) > 0.0)
        return sm_fail(
            err, SM_E_PHYSICS,
            "splay is too slow for a flight to %.4g m and %.4g s of hover: it could be flown if the "
            "motors turned at once; less tilt_time, or another height or time, would do",
            w->height, w->hover);
    const double longest = longest_hover(w), limit = least_limit(w, least_splay);
    char other[96] = "no splay limit would do for it";
    if (!isnan(limit))
        sm_text_format(other, sizeof other, "a splay limit of %.3g deg would do", limit * degrees);
    if (longest > 0.0)
        return sm_fail(
            err, SM_E_PHYSICS,
            "no steady thrust%s hovers at %.4g m for %.4g s with a reserve of %.3g: %s; %.3g s of hover "
            "would do; %s",
            w->held ? " beside the other motors" : "", w->height, w->hover, w->reserve,
            w->held ? "splay can't take up what weight and thrust change by"
                    : "more weight burns away than splay can take up",
            longest, other);
    if (w->held)
        return sm_fail(
            err, SM_E_PHYSICS,
            "no steady thrust beside the other motors flies to %.4g m and back with a reserve of %.3g: "
            "splay has too little a range, or the others can't fly it alone while these do not burn; %s",
            w->height, w->reserve, other);
    return sm_fail(err, SM_E_PHYSICS,
                   "no steady thrust flies to %.4g m and back with a reserve of %.3g: splay leaves %.3g to "
                   "%.3g of it, too little a range from lift-off to contact; %s",
                   w->height, w->reserve, w->splaying.least, w->splaying.full, other);
}

/* ---- checks ---- */

static const char *name_of(const struct sm_motor_group *group)
{
    return group->name ? group->name : "";
}

static enum sm_status say_which(const struct sm_vehicle *vehicle, struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    char list[160] = "";
    size_t used = 0;
    for (size_t i = 0; i < vehicle->spec.motors.n && used + 1 < sizeof list; i++)
        used += (size_t)sm_text_format(list + used, sizeof list - used, "%s%zu%s%.30s", i > 0 ? ", " : "", i,
                                       groups[i].name ? " or " : "", name_of(&groups[i]));
    return sm_at(err,
                 sm_fail(err, SM_E_FIELD,
                         "it has %zu groups of motors: say which is to be designed (%s); the others are "
                         "taken as they are",
                         vehicle->spec.motors.n, list),
                 "/motors");
}

enum sm_status sm_needs_group(const struct sm_vehicle *vehicle, const char *wanted, size_t *group,
                              struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    const size_t n = vehicle->spec.motors.n;
    *group = 0;
    if (!wanted)
        return n == 1 ? SM_OK : say_which(vehicle, err);
    for (*group = 0; *group < n; ++*group) {
        char place[8];
        sm_text_format(place, sizeof place, "%zu", *group);
        if (strcmp(place, wanted) == 0 || strcmp(name_of(&groups[*group]), wanted) == 0)
            return SM_OK;
    }
    return n == 1 ? sm_at(err,
                          sm_fail(err, SM_E_FIELD, "there is no group '%.60s' of motors; its only one is 0",
                                  wanted),
                          "/motors")
                  : say_which(vehicle, err);
}

static enum sm_status check_throttle(const struct sm_vehicle *vehicle, struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        if (sm_group_has_throttle(&groups[i]))
            return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_FIELD,
                         "these motors are no throttle: that takes two or more off the axis, with a "
                         "ring_radius and a tilt_limit"),
                 "/motors/0");
}

static enum sm_status check_wish(const struct sm_asked *w, struct sm_error *err)
{
    static const double most_reserve = 0.45; /* as in vehicle files: at half nothing would be left [1] */
    static const double most_height = 1e4, most_hover = 1e4; /* [m], [s] */
    if (!(w->height > 0.0 && w->height <= most_height))
        return sm_fail(err, SM_E_RANGE, "the hover height is %.6g m; it must be above 0, up to %g m",
                       w->height, most_height);
    if (!(w->hover >= 0.0 && w->hover <= most_hover))
        return sm_fail(err, SM_E_RANGE, "the hover time is %.6g s; it must be from 0 to %g s", w->hover,
                       most_hover);
    if (!(w->reserve >= 0.0 && w->reserve <= most_reserve))
        return sm_fail(err, SM_E_RANGE,
                       "the reserve is %.6g; it is a share of the range of throttle kept at both its ends, "
                       "from 0 to %g",
                       w->reserve, most_reserve);
    if (!isnan(w->ratio) && !(w->ratio > 1.0 && w->ratio < 2.0))
        return sm_fail(err, SM_E_RANGE,
                       "the thrust to weight at lift-off is %.6g; it must be over 1, or it does not lift, "
                       "and under 2, for it slows down as it speeds up, and not faster than it falls",
                       w->ratio);
    if (!isnan(w->burn) && !(w->burn > 0.0 && w->burn <= most_hover))
        return sm_fail(err, SM_E_RANGE, "the burn time is %.6g s; it must be above 0, up to %g s", w->burn,
                       most_hover);
    return SM_OK;
}

/* ---- the band ---- */

enum { PARTS = 8, POINTS = 2 * SM_WISHED_PARTS * (PARTS + 2) + SM_ASKED_EVENTS };
struct band {
    double *time, *least, *most; /* [s], [N], [N] */
    double *height, *speed;      /* [m], [m/s] */
    double *mass;                /* [kg] */
};

/* An instant's row; without a least thrust on the ground, where the weight alone bounds the most, and where the others do it alone. */
static void put_row(const struct sm_asked *w, const struct sm_asked_instant *at, double thrust, size_t i,
                    struct band *band)
{
    const double n = w->group->count, mass = at->mass + n * thrust * at->left / w->exhaust;
    const double axial = mass * (w->gravity + at->acceleration) + w->drag * at->speed * fabs(at->speed);
    const double least = (axial - at->full) / (n * w->splaying.full);
    band->time[i] = at->t - w->ignition;
    band->least[i] = at->flies && at->burns && least > 0.0 ? least : SM_ABSENT;
    band->most[i] = at->t < w->ignition ? SM_ABSENT : (axial - at->least) / (n * w->splaying.least);
    band->height[i] = at->height;
    band->speed[i] = at->speed;
    band->mass[i] = mass;
}

static size_t fill_band(const struct sm_asked *w, const struct sm_asked_flight *f, double thrust,
                        struct band *band)
{
    static const double jump = 1e-3; /* between rows, for times must rise [s] */
    static const double tail = 0.2;  /* of the flight: how long it is looked to after contact [1] */
    double t[POINTS];
    size_t n = sm_asked_times(w, f, PARTS, jump, t, POINTS - 1);
    const double last = fmax(f->contact, f->burn_out) + fmax(1.0, tail * sm_wished_whole(&f->wished));
    if (t[n - 1] + jump < last)
        t[n++] = last;
    for (size_t i = 0; i < n; i++) {
        const struct sm_asked_instant at = sm_asked_when(w, f, t[i]);
        put_row(w, &at, thrust, i, band);
    }
    return n;
}

static enum sm_status make_band(struct sm_arena *arena, struct band *band, struct sm_error *err)
{
    double **columns[] = {&band->time, &band->least, &band->most, &band->height, &band->speed, &band->mass};
    for (size_t i = 0; i < SM_COUNT(columns); i++) {
        *columns[i] = sm_arena_alloc(arena, POINTS, sizeof(double));
        if (!*columns[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    return SM_OK;
}

/* Legs end where speed is greatest or none. */
static void keep_flight(const struct sm_asked *w, const struct sm_asked_flight *f, struct sm_needs *out)
{
    const struct sm_wished *wished = &f->wished;
    const double begun = w->lift_off - w->ignition, half = 0.5 * wished->turn;
    out->begin[0] = begun;
    out->begin[1] = begun + wished->begins[1].t + half;
    out->begin[2] = begun + wished->begins[4].t;
    out->begin[3] = begun + wished->begins[5].t;
    out->begin[4] = begun + wished->begins[7].t + half;
    out->begin[SM_NEEDS_LEGS] = f->contact - w->ignition;
    out->turn_time = wished->turn;
    out->ease_time = wished->ease;
    out->acceleration = wished->acceleration;
    out->wish.hover_height = w->height;
    out->wish.hover_time = w->hover;
    out->wish.reserve = w->reserve;
    out->wish.lift_ratio = 1.0 + wished->acceleration / w->gravity;
    out->wish.burn_time = f->burn_out - w->ignition;
    const struct sm_asked_instant at = sm_asked_when(w, f, w->lift_off);
    out->propellant_mass = out->thrust * out->wish.burn_time / w->exhaust;
    out->release_mass = at.mass + w->group->count * out->thrust * at.left / w->exhaust;
}

static enum sm_status fill(const struct sm_asked *w, double least_splay, struct sm_arena *arena,
                           struct sm_needs *out, struct sm_error *err)
{
    struct band band = {0};
    struct sm_asked_flight flight;
    struct sm_thrust_span span;
    const double a = sm_asked_choose(w);
    if (!(a > 0.0) || !sm_asked_fly(w, a, &flight, &span))
        return say_why(w, least_splay, err);
    out->splay_limit = sm_group_has_throttle(w->group) ? own_limit(w->group, least_splay) : SM_ABSENT;
    out->thrust_least = span.least;
    out->thrust_most = span.most;
    out->thrust = 0.5 * (out->thrust_least + out->thrust_most);
    keep_flight(w, &flight, out);
    out->least_splay_limit = least_limit(w, least_splay);
    out->longest_hover = longest_hover(w);
    SM_TRY(make_band(arena, &band, err));
    out->n = fill_band(w, &flight, out->thrust, &band);
    out->time = band.time;
    out->least = band.least;
    out->most = band.most;
    out->height = band.height;
    out->speed = band.speed;
    out->mass = band.mass;
    return SM_OK;
}

enum sm_status sm_needs_reckon(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                               size_t group, const struct sm_needs_wish *wish, struct sm_arena *arena,
                               struct sm_needs *needs, struct sm_error *err)
{
    static const double spare = 0.1; /* of the burn: motors that stray are to burn up to contact too [1] */
    const struct sm_vehicle_spec *spec = &vehicle->spec;
    const struct sm_motor_group *own = (const struct sm_motor_group *)spec->motors.items + group;
    const double least_splay = spec->landing.least_splay;
    struct sm_profile held;
    struct sm_air air;
    SM_TRY(check_throttle(vehicle, err));
    for (size_t i = 0; i < spec->motors.n; i++)
        if (((const struct sm_motor_group *)spec->motors.items)[i].ignite_height > 0.0)
            return sm_at(
                err,
                sm_fail(err, SM_E_PHYSICS,
                        "what a flight needs is reckoned from the ground up, with all motors lit at times: "
                        "give these a time of ignition"),
                "/motors/%zu/ignite_at", i);
    SM_TRY(sm_air_at(spec->site.altitude, &air, err));
    struct sm_asked w = {
        .group = own,
        .dry_mass = spec->body.dry_mass,
        .gravity = spec->site.gravity,
        .drag = 0.5 * air.density * spec->aerodynamics.drag_coefficient * spec->aerodynamics.area,
        .exhaust = runs[group]->thrust.exhaust_velocity,
        .ignition = ignition_of(own),
        .up = ignition_of(own) + rise_of(runs[group]),
        .lift_off = lift_off_of(vehicle, runs),
        .burn = wish->burn_time,
        .spare = wish->is_robust ? spare : 0.0,
        .height = wish->hover_height,
        .hover = wish->hover_time,
        .reserve = isnan(wish->reserve) ? spec->landing.reserve : wish->reserve,
        .ratio = wish->lift_ratio,
        .is_roomy = wish->is_robust,
    };
    SM_TRY(check_wish(&w, err));
    w.splaying = splaying_of(own, least_splay, own_limit(own, least_splay), w.reserve);
    SM_TRY(hold_others(vehicle, runs, group, arena, &held, &w, err));
    *needs = (struct sm_needs){.vehicle = spec->name,
                               .wish = *wish,
                               .group = group,
                               .group_name = own->name,
                               .n_groups = spec->motors.n,
                               .count = own->count,
                               .gravity = w.gravity,
                               .specific_impulse = runs[group]->thrust.specific_impulse};
    return fill(&w, least_splay, arena, needs, err);
}
