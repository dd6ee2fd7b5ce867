#include "vehicle/needs.h"

#include "atmos/atmos.h"
#include "base/text.h"

#include <math.h>

static const double right_angle = 1.57079632679489662;
static const double least_room =
    1.02; /* most over least steady thrust: into less no motor can well be sized [1] */

struct wished {
    const struct sm_motor_group *group;
    double least_splay; /* [rad] */
    double dry_mass;    /* [kg] */
    double gravity;     /* [m/s2] */
    double drag;        /* force over speed squared [kg/m] */
    double exhaust;     /* velocity [m/s] */
    double lift_off;    /* after ignition [s] */
    double height;      /* [m] */
    double hover;       /* [s] */
    double reserve;     /* [1] */
    double ratio;       /* thrust over weight at lift-off; absent: to be chosen [1] */
};

/* Shares of thrust along the axis at least and at most splay, with the reserve kept [1]. */
struct throttle {
    double full, least; /* [1] */
};

static struct throttle throttle_of(const struct wished *w, double splay_limit)
{
    double low, high;
    sm_group_splay(w->group, w->least_splay, &low, &high);
    high = fmax(splay_limit, low);
    const double kept = w->reserve * (cos(low) - cos(high));
    return (struct throttle){cos(low) - kept, cos(high) + kept};
}

/* One instant of the flight. */
struct instant {
    double t;            /* after ignition [s] */
    double left;         /* to contact [s] */
    double height;       /* [m] */
    double speed;        /* upwards [m/s] */
    double acceleration; /* [m/s2] */
};

/* Upwards is 1. */
static const double signs[SM_NEEDS_LEGS] = {1.0, -1.0, 0.0, -1.0, 1.0};

static double length_of_leg(const struct wished *w, int leg, double a)
{
    return signs[leg] == 0.0 ? w->hover : sqrt(w->height / a);
}

/* At a share of a leg, under an acceleration of a. */
static struct instant instant_of(const struct wished *w, double a, int leg, double share)
{
    struct instant at = {.t = w->lift_off};
    for (int i = 0; i < SM_NEEDS_LEGS; i++) {
        const double whole = length_of_leg(w, i, a);
        const double dt = i < leg ? whole : i == leg ? share * whole : 0.0, now = signs[i] * a;
        at.height += at.speed * dt + 0.5 * now * dt * dt;
        at.speed += now * dt;
        at.t += dt;
        at.left += whole - dt;
        at.acceleration = i == leg ? now : at.acceleration;
    }
    return at;
}

/* The steady thrust of one motor that gives just what an instant takes, at a share of it along the axis: dry mass and
 * propellant left both count. Infinite if propellant outweighs what it lifts [N]. */
static double steady_for(const struct wished *w, const struct instant *at, double share)
{
    const double n = w->group->count, felt = w->gravity + at->acceleration;
    const double holds = share - at->left * felt / w->exhaust;
    const double needed = w->dry_mass * felt + w->drag * at->speed * fabs(at->speed);
    return holds > 0.0 ? needed / (n * holds) : SM_INF;
}

enum { STEPS = 8 }; /* instants looked at in each leg: with drag, extremes may lie within */

/* What a steady thrust may be [N]. */
static void steady_bounds(const struct wished *w, const struct throttle *k, double a, double *least,
                          double *most)
{
    const struct instant landed = {0};
    *least = 0.0;
    *most = steady_for(w, &landed, k->least); /* it must not rise again */
    for (int leg = 0; leg < SM_NEEDS_LEGS; leg++)
        for (int i = 0; i <= STEPS; i++) {
            const struct instant at = instant_of(w, a, leg, (double)i / STEPS);
            *least = fmax(*least, steady_for(w, &at, k->full));
            *most = fmin(*most, steady_for(w, &at, k->least));
        }
}

static int has_room(const struct wished *w, const struct throttle *k, double a)
{
    double least, most;
    steady_bounds(w, k, a, &least, &most);
    return most >= least_room * least && most < SM_INF;
}

/* The acceleration to fly with: as wished, or in the middle of those that leave room. 0 if there is none [m/s2]. */
static double choose_acceleration(const struct wished *w, const struct throttle *k)
{
    enum { TRIED = 160 };
    static const double gentlest = 0.002, hardest = 0.95; /* of gravity [1] */
    double first = 0.0, last = 0.0;
    if (!isnan(w->ratio))
        return has_room(w, k, (w->ratio - 1.0) * w->gravity) ? (w->ratio - 1.0) * w->gravity : 0.0;
    for (int i = 0; i < TRIED; i++) {
        const double a = w->gravity * gentlest * pow(hardest / gentlest, (double)i / (TRIED - 1));
        if (!has_room(w, k, a))
            continue;
        first = first > 0.0 ? first : a;
        last = a;
    }
    return 0.5 * (first + last);
}

/* The longest hover at that height [s]; negative if it can't get there and back at all. */
static double longest_hover(const struct wished *w, const struct throttle *k)
{
    enum { HALVINGS = 40 };
    struct wished other = *w;
    double can = 0.0, cannot = 1e5;
    other.hover = 0.0;
    if (!(choose_acceleration(&other, k) > 0.0))
        return -1.0;
    for (int i = 0; i < HALVINGS; i++) {
        other.hover = 0.5 * (can + cannot);
        if (choose_acceleration(&other, k) > 0.0)
            can = other.hover;
        else
            cannot = other.hover;
    }
    return can;
}

/* The least splay limit with which it could be flown [rad]; absent if none. */
static double least_limit(const struct wished *w)
{
    enum { HALVINGS = 30 };
    double low, can = right_angle;
    sm_group_splay(w->group, w->least_splay, &low, &can);
    double cannot = low;
    can = right_angle;
    struct throttle k = throttle_of(w, can);
    if (!(choose_acceleration(w, &k) > 0.0))
        return SM_ABSENT;
    for (int i = 0; i < HALVINGS; i++) {
        k = throttle_of(w, 0.5 * (can + cannot));
        if (choose_acceleration(w, &k) > 0.0)
            can = 0.5 * (can + cannot);
        else
            cannot = 0.5 * (can + cannot);
    }
    return can;
}

static const double degrees = 57.2957795130823209;

/* No steady thrust will do: what would. */
static enum sm_status say_why(const struct wished *w, const struct throttle *k, struct sm_error *err)
{
    const double longest = longest_hover(w, k), limit = least_limit(w);
    char other[96] = "no splay limit would do for it";
    if (!isnan(limit))
        sm_text_format(other, sizeof other, "a splay limit of %.3g deg would do", limit * degrees);
    if (longest > 0.0)
        return sm_fail(
            err, SM_E_PHYSICS,
            "no steady thrust hovers at %.4g m for %.4g s with a reserve of %.3g: more weight burns "
            "away than "
            "splay can take up; %.3g s of hover would do; %s",
            w->height, w->hover, w->reserve, longest, other);
    return sm_fail(
        err, SM_E_PHYSICS,
        "no steady thrust flies to %.4g m and back with a reserve of %.3g: splay leaves %.3g to %.3g "
        "of it, too "
        "little a range from lift-off to contact; %s",
        w->height, w->reserve, k->least, k->full, other);
}

/* ---- checks ---- */

static enum sm_status check_vehicle(const struct sm_vehicle *vehicle, struct sm_error *err)
{
    const struct sm_motor_group *group = vehicle->spec.motors.items;
    if (vehicle->spec.motors.n > 1)
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD,
                             "it has %zu groups of motors; what one motor needs is reckoned for vehicles "
                             "with one group",
                             vehicle->spec.motors.n),
                     "/motors");
    if (!sm_group_has_throttle(group))
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD,
                             "these motors are no throttle: that takes two or more off the axis, with a "
                             "ring_radius and a tilt_limit"),
                     "/motors/0");
    return SM_OK;
}

static enum sm_status check_wish(const struct wished *w, struct sm_error *err)
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
    return SM_OK;
}

/* ---- the band ---- */

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

enum { PARTS = 4, POINTS = SM_NEEDS_LEGS * (PARTS + 1) + 4 };
struct band {
    size_t n;
    double *time, *least, *most; /* [s], [N], [N] */
    double *height, *speed;      /* [m], [m/s] */
    double *mass;                /* [kg] */
};

static double mass_at(const struct wished *w, double thrust, double left)
{
    return w->dry_mass + w->group->count * thrust * left / w->exhaust;
}

/* An instant's row; without a least thrust on the ground, where the weight alone bounds the most. */
static void add_row(const struct wished *w, const struct throttle *k, double thrust, const struct instant *at,
                    int flies, struct band *band)
{
    const size_t i = band->n++;
    const double n = w->group->count, mass = mass_at(w, thrust, at->left);
    const double axial = mass * (w->gravity + at->acceleration) + w->drag * at->speed * fabs(at->speed);
    band->time[i] = at->t;
    band->least[i] = flies ? axial / (n * k->full) : SM_ABSENT;
    band->most[i] = axial / (n * k->least);
    band->height[i] = at->height;
    band->speed[i] = at->speed;
    band->mass[i] = mass;
}

static void fill_band(const struct wished *w, const struct throttle *k, double a, double thrust,
                      struct band *band)
{
    static const double jump = 1e-3; /* from one leg to the next, for times must rise [s] */
    static const double tail = 0.2;  /* of the flight: how long it is looked to after contact [1] */
    const struct instant end = instant_of(w, a, SM_NEEDS_LEGS - 1, 1.0);
    struct instant stands = {.left = end.t};
    struct instant rests = {.t = end.t + jump};
    add_row(w, k, thrust, &stands, 0, band);
    stands.t = w->lift_off - jump;
    stands.left = end.t - stands.t;
    add_row(w, k, thrust, &stands, 0, band);
    for (int leg = 0; leg < SM_NEEDS_LEGS; leg++)
        for (int i = 0; i <= PARTS && length_of_leg(w, leg, a) > PARTS * jump; i++) {
            struct instant at = instant_of(w, a, leg, (double)i / PARTS);
            at.t += leg > 0 && i == 0 ? jump : 0.0;
            add_row(w, k, thrust, &at, 1, band);
        }
    add_row(w, k, thrust, &rests, 0, band);
    rests.t += fmax(1.0, tail * end.t);
    add_row(w, k, thrust, &rests, 0, band);
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

static void keep_flight(const struct wished *w, double a, struct sm_needs *out)
{
    for (int leg = 0; leg < SM_NEEDS_LEGS; leg++)
        out->begin[leg] = instant_of(w, a, leg, 0.0).t;
    out->begin[SM_NEEDS_LEGS] = instant_of(w, a, SM_NEEDS_LEGS - 1, 1.0).t;
    out->acceleration = a;
    out->wish = (struct sm_needs_wish){w->height, w->hover, w->reserve, 1.0 + a / w->gravity};
    out->propellant_mass = out->thrust * out->begin[SM_NEEDS_LEGS] / w->exhaust;
    out->release_mass = mass_at(w, out->thrust, out->begin[SM_NEEDS_LEGS] - w->lift_off);
}

static enum sm_status fill(const struct wished *w, struct sm_arena *arena, struct sm_needs *out,
                           struct sm_error *err)
{
    double low;
    struct band band = {0};
    sm_group_splay(w->group, w->least_splay, &low, &out->splay_limit);
    const struct throttle k = throttle_of(w, out->splay_limit);
    const double a = choose_acceleration(w, &k);
    if (!(a > 0.0))
        return say_why(w, &k, err);
    steady_bounds(w, &k, a, &out->thrust_least, &out->thrust_most);
    out->thrust = 0.5 * (out->thrust_least + out->thrust_most);
    keep_flight(w, a, out);
    out->least_splay_limit = least_limit(w);
    out->longest_hover = longest_hover(w, &k);
    SM_TRY(make_band(arena, &band, err));
    fill_band(w, &k, a, out->thrust, &band);
    out->n = band.n;
    out->time = band.time;
    out->least = band.least;
    out->most = band.most;
    out->height = band.height;
    out->speed = band.speed;
    out->mass = band.mass;
    return SM_OK;
}

enum sm_status sm_needs_reckon(const struct sm_vehicle *vehicle, const struct sm_result *burn,
                               const struct sm_needs_wish *wish, struct sm_arena *arena,
                               struct sm_needs *needs, struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &vehicle->spec;
    struct sm_air air;
    SM_TRY(check_vehicle(vehicle, err));
    SM_TRY(sm_air_at(spec->site.altitude, &air, err));
    const struct wished w = {
        .group = spec->motors.items,
        .least_splay = spec->landing.least_splay,
        .dry_mass = spec->body.dry_mass,
        .gravity = spec->site.gravity,
        .drag = 0.5 * air.density * spec->aerodynamics.drag_coefficient * spec->aerodynamics.area,
        .exhaust = burn->thrust.exhaust_velocity,
        .lift_off = rise_of(burn),
        .height = wish->hover_height,
        .hover = wish->hover_time,
        .reserve = isnan(wish->reserve) ? spec->landing.reserve : wish->reserve,
        .ratio = wish->lift_ratio,
    };
    SM_TRY(check_wish(&w, err));
    *needs = (struct sm_needs){.vehicle = spec->name,
                               .count = w.group->count,
                               .gravity = w.gravity,
                               .specific_impulse = burn->thrust.specific_impulse};
    return fill(&w, arena, needs, err);
}
