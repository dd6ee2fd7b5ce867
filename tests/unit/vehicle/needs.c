/*
 * What a wished flight needs, against the equations of motion integrated by GSL (Runge and Kutta, Prince and Dormand, 1e-10), and
 * against the sets of what can be reached and of from where a landing exists, which know nothing of wishes.
 */
#include "vehicle/needs.h"
#include "vehicle/tube.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

enum { COUNT = 3, KNOTS = 2 };
static const double g = 9.80665, exhaust = 1800.0, pi = 3.14159265358979323846;

/* A vehicle and the burn of a motor, as far as needs look at them. */
struct set_up {
    struct sm_arena arena;
    struct sm_motor_group group;
    struct sm_vehicle vehicle;
    double time[KNOTS], thrust[KNOTS]; /* [s], [N] */
    struct sm_result burn;
    struct sm_needs_wish wish;
};

static void set_up(struct set_up *s, double drag_area)
{
    *s = (struct set_up){
        .group = {.count = COUNT, .ring_radius = 0.07, .tilt_limit = 55.0 * pi / 180.0},
        .time = {0.0, 5.0},
        .thrust = {13.0, 13.0},
        .wish = {.hover_height = 6.0,
                 .hover_time = 6.0,
                 .reserve = 0.08,
                 .lift_ratio = (double)NAN,
                 .burn_time = (double)NAN},
    };
    s->vehicle.spec = (struct sm_vehicle_spec){
        .name = "invented",
        .body.dry_mass = 3.6,
        .motors = {.items = &s->group, .n = 1},
        .aerodynamics = {.area = drag_area, .drag_coefficient = 0.7},
        .site.gravity = g,
        .landing = {.speed_limit = 1.0, .reserve = 0.08},
    };
    s->burn.thrust.exhaust_velocity = exhaust;
    s->burn.thrust.specific_impulse = exhaust / 9.80665;
    s->burn.thrust.initial = 13.0;
    s->burn.series = (struct sm_series){.n = KNOTS, .time = s->time, .thrust = s->thrust};
    sm_arena_init(&s->arena, NULL);
}

static void reckon(struct set_up *s, struct sm_needs *n)
{
    struct sm_error err = {0};
    const struct sm_result *const runs[] = {&s->burn};
    cr_assert(sm_needs_reckon(&s->vehicle, runs, 0, &s->wish, &s->arena, n, &err) == SM_OK, "%s",
              err.message);
}

/* Shares of thrust along the axis, from the definition of the reserve. */
static void shares(double *least, double *full)
{
    const double all = cos(55.0 * pi / 180.0);
    *full = 1.0 - 0.08 * (1.0 - all);
    *least = all + 0.08 * (1.0 - all);
}

struct flown {
    double thrust, drag, target; /* steady, of one motor [N]; [kg/m]; acceleration of this leg [m/s2] */
};

static double share_needed(const struct flown *f, double speed, double mass)
{
    return (mass * (g + f->target) + f->drag * speed * fabs(speed)) / (COUNT * f->thrust);
}

/* y: height, speed, mass. The splay follows the flight; the mass follows the thrust. */
static int motion(double t, const double y[], double dydt[], void *user)
{
    const struct flown *f = user;
    (void)t;
    dydt[0] = y[1];
    dydt[1] = (COUNT * f->thrust * share_needed(f, y[1], y[2]) - f->drag * y[1] * fabs(y[1])) / y[2] - g;
    dydt[2] = -COUNT * f->thrust / exhaust;
    return GSL_SUCCESS;
}

/* Flies all legs at a steady thrust; the least and greatest share of it that this took. */
static void fly(const struct sm_needs *n, double thrust, double drag, double *least, double *greatest)
{
    static const double signs[SM_NEEDS_LEGS] = {1.0, -1.0, 0.0, -1.0, 1.0};
    enum { STEPS = 40 };
    struct flown f = {thrust, drag, 0.0};
    gsl_odeiv2_system system = {motion, NULL, 3, &f};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-10, 1e-10);
    double t = n->begin[0];
    double y[3] = {0.0, 0.0, 3.6 + COUNT * thrust * (n->begin[SM_NEEDS_LEGS] - t) / exhaust};
    *least = 2.0;
    *greatest = 0.0;
    for (int leg = 0; leg < SM_NEEDS_LEGS; leg++)
        for (int i = 0; i <= STEPS; i++) {
            const double until = n->begin[leg] + (n->begin[leg + 1] - n->begin[leg]) * i / STEPS;
            f.target = signs[leg] * n->acceleration;
            gsl_odeiv2_driver_reset(driver);
            cr_assert(until <= t || gsl_odeiv2_driver_apply(driver, &t, until, y) == GSL_SUCCESS);
            *least = fmin(*least, share_needed(&f, y[1], y[2]));
            *greatest = fmax(*greatest, share_needed(&f, y[1], y[2]));
            if (leg == 2)
                cr_expect(fabs(y[0] - 6.0) < 1e-7 && fabs(y[1]) < 1e-7, "hovers at %g with %g", y[0], y[1]);
        }
    cr_expect(fabs(y[0]) < 1e-6 && fabs(y[1]) < 1e-7, "touches at %g with %g", y[0], y[1]);
    cr_expect(fabs(y[2] - 3.6) < 1e-9, "all propellant is burned at contact");
    gsl_odeiv2_driver_free(driver);
}

Test(needs, steady_thrusts_within_what_is_told_fly_it_and_those_beyond_do_not)
{
    static const double areas[] = {0.0, 0.05}; /* [m2] */
    for (int i = 0; i < 2; i++) {
        struct set_up s;
        struct sm_needs n;
        double low, high, least, full;
        set_up(&s, areas[i]);
        reckon(&s, &n);
        shares(&least, &full);
        /* 1.225 kg/m3 at sea level: U.S. Standard Atmosphere, 1976 */
        const double drag = 0.5 * 1.225 * 0.7 * areas[i], slack = 1e-6;
        fly(&n, n.thrust_least, drag, &low, &high);
        cr_expect(fabs(high - full) < slack && low > least, "least: %g, not %g", high, full);
        fly(&n, n.thrust, drag, &low, &high);
        cr_expect(high < full && low > least);
        fly(&n, n.thrust_most, drag, &low, &high);
        cr_expect(high < full && low > least - slack);
        fly(&n, 0.995 * n.thrust_least, drag, &low, &high);
        cr_expect(high > full + slack, "less than the least would do");
        /* At the most something holds it: on the way down, or the weight of the empty vehicle. */
        fly(&n, 1.005 * n.thrust_most, drag, &low, &high);
        cr_expect(low < least || least * COUNT * 1.005 * n.thrust_most > 3.6 * g);
        sm_arena_release(&s.arena);
    }
}

Test(needs, band_holds_the_steady_thrust_and_is_the_weight_while_it_hovers)
{
    struct set_up s;
    struct sm_needs n;
    double least, full;
    size_t hovering = 0;
    set_up(&s, 0.02);
    reckon(&s, &n);
    shares(&least, &full);
    for (size_t i = 0; i < n.n; i++) {
        cr_expect(i == 0 || n.time[i] > n.time[i - 1]);
        cr_expect(isnan(n.least[i]) || n.least[i] < n.thrust);
        cr_expect(n.most[i] > n.thrust);
        if (fabs(n.height[i] - 6.0) < 1e-9 && n.time[i] > n.begin[2] + 0.1 && n.time[i] < n.begin[3] - 0.1) {
            hovering++;
            cr_expect(fabs(COUNT * n.least[i] * full - n.mass[i] * g) < 1e-9);
            cr_expect(fabs(COUNT * n.most[i] * least - n.mass[i] * g) < 1e-9);
        }
    }
    cr_expect(hovering > 0);
    sm_arena_release(&s.arena);
}

/* Thrust and mass of a steady burn, as the sets see them. */
static void profile_of(const struct sm_needs *n, double thrust, struct sm_arena *arena, struct sm_profile *p)
{
    enum { MANY = 30 };
    const double end = n->begin[SM_NEEDS_LEGS], from = n->begin[0];
    double least, full, **columns[] = {&p->t, &p->thrust, &p->full, &p->least, &p->mass};
    shares(&least, &full);
    *p = (struct sm_profile){.n = MANY, .gravity = g};
    for (size_t i = 0; i < SM_COUNT(columns); i++)
        cr_assert_not_null(*columns[i] = sm_arena_alloc(arena, MANY, sizeof(double)));
    for (size_t i = 0; i < MANY; i++) {
        p->t[i] = from + (end - from) * (double)i / (MANY - 1);
        p->thrust[i] = COUNT * thrust;
        p->full[i] = full * p->thrust[i];
        p->least[i] = least * p->thrust[i];
        p->mass[i] = 3.6 + COUNT * thrust * (end - p->t[i]) / exhaust;
    }
    cr_assert(sm_profile_integrate(p, arena, NULL) == SM_OK);
}

Test(needs, sets_agree_that_it_comes_there_and_lands_from_there)
{
    struct set_up s;
    struct sm_needs n;
    set_up(&s, 0.0);
    reckon(&s, &n);
    for (int i = 0; i <= 2; i++) {
        const double thrust = n.thrust_least + (n.thrust_most - n.thrust_least) * i / 2;
        struct sm_profile p;
        double low, high;
        profile_of(&n, thrust, &s.arena, &p);
        const struct sm_flight_state start = {n.begin[0], 0.0, 0.0}, last = {n.begin[3], 6.0, 0.0};
        const struct sm_tube tube = {&p, 1.0, 1.0};
        cr_assert(sm_reach_heights(&p, &start, n.begin[2], 0.0, &low, &high));
        cr_expect(low <= 6.0 && high >= 6.0, "%g to %g", low, high);
        cr_expect(sm_tube_holds(&tube, &last));
    }
    sm_arena_release(&s.arena);
}

Test(needs, longest_hover_and_least_splay_limit_are_the_last_that_work)
{
    struct set_up s;
    struct sm_needs n, other;
    struct sm_error err = {0};
    const struct sm_result *const runs[] = {&s.burn};
    set_up(&s, 0.02);
    reckon(&s, &n);
    s.wish.hover_time = 0.99 * n.longest_hover;
    reckon(&s, &other);
    cr_expect(other.thrust_most / other.thrust_least < 1.03, "hardly any room is left");
    s.wish.hover_time = 1.01 * n.longest_hover;
    cr_expect(sm_needs_reckon(&s.vehicle, runs, 0, &s.wish, &s.arena, &other, &err) == SM_E_PHYSICS);
    s.wish.hover_time = 6.0;
    s.group.tilt_limit = 1.001 * n.least_splay_limit;
    reckon(&s, &other);
    s.group.tilt_limit = 0.999 * n.least_splay_limit;
    cr_expect(sm_needs_reckon(&s.vehicle, runs, 0, &s.wish, &s.arena, &other, &err) == SM_E_PHYSICS);
    sm_arena_release(&s.arena);
}

/* ---- splay that takes its time, and other motors beside those that are to be designed ---- */

enum { HELD_COUNT = 2 };
static const double held_thrust = 4.0, held_burn = 60.0, held_propellant = 0.12; /* [N], [s], [kg] */

/* The wished acceleration from what is told of the flight: half cosines of time where splay turns. */
static double wished_acceleration(const struct sm_needs *n, double t)
{
    const double r = n->turn_time, q = n->ease_time, a = n->acceleration, *b = n->begin;
    const double end = b[SM_NEEDS_LEGS];
    const double back = t > 0.5 * (b[2] + b[3]) ? b[0] + end - t : t; /* down is up run backwards */
    if (back < b[1] - 0.5 * r)
        return a;
    if (back < b[1] + 0.5 * r)
        return a * cos(pi * (back - b[1] + 0.5 * r) / r);
    if (back < b[2] - q)
        return -a;
    return back < b[2] ? -0.5 * a * (1.0 + cos(pi * (back - b[2] + q) / q)) : 0.0;
}

struct beside {
    const struct sm_needs *n;
    double thrust, drag; /* of one motor of ours [N]; [kg/m] */
};

/* y: height, speed, mass of our propellant. */
static int motion_beside(double t, const double y[], double dydt[], void *user)
{
    const struct beside *f = user;
    dydt[0] = y[1];
    dydt[1] = wished_acceleration(f->n, t);
    dydt[2] = -COUNT * f->thrust / exhaust;
    return GSL_SUCCESS;
}

/* The share of all ranges of cosines by which thrust is held back, and the splay of a throttle then. */
static double held_back(const struct beside *f, double t, const double y[], double cosines[2][2])
{
    const double mass = 3.0 + y[2] + HELD_COUNT * held_propellant * (1.0 - t / held_burn);
    const double axial = mass * (g + wished_acceleration(f->n, t)) + f->drag * y[1] * fabs(y[1]);
    const double ours = COUNT * f->thrust, held = HELD_COUNT * held_thrust;
    const double full = ours * cosines[0][0] + held * cosines[1][0];
    return (full - axial) / (full - ours * cosines[0][1] - held * cosines[1][1]);
}

/* Flies it at a steady thrust: the least and the greatest share, and how much faster than it can each throttle turns, at most. */
static void fly_beside(const struct beside *f, double cosines[2][2], const double rates[2], double *least,
                       double *greatest, double *haste)
{
    static const double dt = 2e-3; /* [s] */
    const double begins = f->n->begin[0], ends = f->n->begin[SM_NEEDS_LEGS];
    gsl_odeiv2_system system = {motion_beside, NULL, 3, (void *)(uintptr_t)f};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-10, 1e-10);
    double t = begins, y[3] = {0.0, 0.0, COUNT * f->thrust * (ends - begins) / exhaust},
           before[2] = {(double)NAN, (double)NAN};
    *least = *greatest = held_back(f, t, y, cosines);
    *haste = 0.0;
    const int steps = (int)((ends - begins) / dt);
    for (int i = 1; i <= steps; i++) {
        cr_assert(gsl_odeiv2_driver_apply(driver, &t, begins + (ends - begins) * i / steps, y) ==
                  GSL_SUCCESS);
        const double share = held_back(f, t, y, cosines);
        *least = fmin(*least, share);
        *greatest = fmax(*greatest, share);
        for (int k = 0; k < 2; k++) {
            const double splay = acos(cosines[k][0] - share * (cosines[k][0] - cosines[k][1]));
            if (!isnan(before[k]))
                *haste = fmax(*haste, fabs(splay - before[k]) * steps / (ends - begins) / rates[k]);
            before[k] = splay;
        }
    }
    cr_expect(fabs(y[0]) < 1e-5 && fabs(y[1]) < 1e-6, "touches at %g with %g", y[0], y[1]);
    gsl_odeiv2_driver_free(driver);
}

Test(needs, beside_held_motors_slow_splay_follows_the_flight_at_any_steady_thrust_told)
{
    struct set_up s;
    struct sm_needs n;
    struct sm_error err = {0};
    set_up(&s, 0.02);
    double held_time[KNOTS] = {0.0, held_burn}, thrust[KNOTS] = {held_thrust, held_thrust},
           propellant[KNOTS] = {held_propellant, 0.0};
    struct sm_result held = {
        .thrust.initial = held_thrust,
        .series = {.n = KNOTS, .time = held_time, .thrust = thrust, .propellant_mass = propellant}};
    struct sm_motor_group groups[] = {s.group, s.group};
    groups[0].tilt_time = 1.2;
    groups[1].name = "held";
    groups[1].count = HELD_COUNT;
    groups[1].tilt_limit = 40.0 * pi / 180.0;
    groups[1].tilt_time = 1.0;
    s.vehicle.spec.motors.items = groups;
    s.vehicle.spec.motors.n = 2;
    s.vehicle.spec.body.dry_mass = 3.0;
    const struct sm_result *const runs[] = {&s.burn, &held};
    cr_assert(sm_needs_reckon(&s.vehicle, runs, 0, &s.wish, &s.arena, &n, &err) == SM_OK, "%s", err.message);
    /* Cosines at least and most splay with the reserve kept, and rates, from their definitions. */
    double cosines[2][2], rates[2];
    for (int k = 0; k < 2; k++) {
        const double all = cos(groups[k].tilt_limit);
        cosines[k][0] = 1.0 - 0.08 * (1.0 - all);
        cosines[k][1] = all + 0.08 * (1.0 - all);
        rates[k] = groups[k].tilt_limit / groups[k].tilt_time;
    }
    const double drag = 0.5 * 1.225 * 0.7 * 0.02,
                 slack = 1e-6; /* 1.225 kg/m3: U.S. Standard Atmosphere, 1976 */
    double low, high, haste, hastiest = 0.0;
    for (int i = 0; i <= 2; i++) {
        const struct beside f = {&n, n.thrust_least + (n.thrust_most - n.thrust_least) * i / 2, drag};
        fly_beside(&f, cosines, rates, &low, &high, &haste);
        /* With drag the worst instant lies between those looked at, eight in each part. */
        cr_expect(low > -2e-4 && high < 1.0 + 2e-4, "%g to %g", low, high);
        cr_expect(haste < 1.02, "splay would have to turn %g times as fast as it can", haste);
        hastiest = fmax(hastiest, haste);
    }
    cr_expect(hastiest > 0.5, "ramps are much longer than splay needs: %g", hastiest);
    const struct beside weaker = {&n, 0.995 * n.thrust_least, drag};
    fly_beside(&weaker, cosines, rates, &low, &high, &haste);
    cr_expect(low < -slack, "less than the least would do");
    sm_arena_release(&s.arena);
}

Test(needs, late_and_short_burns_are_looked_at_where_they_are)
{
    struct set_up s;
    struct sm_needs n;
    struct sm_error err = {0};
    set_up(&s, 0.0);
    double held_time[KNOTS] = {0.0, held_burn}, thrust[KNOTS] = {16.0, 16.0}, propellant[KNOTS] = {0.1, 0.0};
    struct sm_result held = {
        .thrust.initial = 16.0,
        .series = {.n = KNOTS, .time = held_time, .thrust = thrust, .propellant_mass = propellant}};
    struct sm_motor_group groups[] = {s.group, {.name = "boost", .count = 2}};
    s.vehicle.spec.motors.items = groups;
    s.vehicle.spec.motors.n = 2;
    const struct sm_result *const runs[] = {&held, &s.burn};
    s.wish.burn_time = 2.0;
    /* Boosters without a throttle of their own, that burn for two seconds, help three motors that can stand still alone. */
    cr_assert(sm_needs_reckon(&s.vehicle, runs, 1, &s.wish, &s.arena, &n, &err) == SM_OK, "%s", err.message);
    cr_expect(isnan(n.splay_limit) && isnan(n.least_splay_limit));
    for (size_t i = 0; i < n.n; i++) {
        cr_expect(n.time[i] < 2.0 + 1e-3 || isnan(n.least[i]), "wants thrust at %g s", n.time[i]);
        cr_expect(!(n.most[i] < 0.0), "at %g s", n.time[i]);
    }
    /* Lit in flight: before, the others fly it alone, and the band begins at its ignition. */
    groups[1].ignite_at = 3.0;
    cr_assert(sm_needs_reckon(&s.vehicle, runs, 1, &s.wish, &s.arena, &n, &err) == SM_OK, "%s", err.message);
    cr_expect(n.time[0] < -2.0 && isnan(n.most[0]) && n.begin[0] < -2.0);
    /* Without them at all it can't. */
    held.series.thrust[0] = held.series.thrust[1] = held.thrust.initial = 9.0;
    cr_expect(sm_needs_reckon(&s.vehicle, runs, 1, &s.wish, &s.arena, &n, &err) == SM_E_PHYSICS);
    sm_arena_release(&s.arena);
}

static void expect_refused(struct set_up *s, struct sm_needs_wish wish, const char *says)
{
    const struct sm_result *const runs[] = {&s->burn};
    struct sm_error err = {0};
    struct sm_needs n;
    const enum sm_status status = sm_needs_reckon(&s->vehicle, runs, 0, &wish, &s->arena, &n, &err);
    cr_expect(status == SM_E_RANGE && strstr(err.message, says), "%s, not %s", err.message, says);
}

Test(needs, wishes_out_of_range_and_groups_that_are_not_there_are_refused)
{
    struct set_up s;
    size_t group;
    struct sm_error err = {0};
    set_up(&s, 0.0);
    struct sm_needs_wish wish = s.wish;
    wish.hover_height = 0.0;
    expect_refused(&s, wish, "the hover height is 0 m");
    wish = s.wish;
    wish.hover_time = -1.0;
    expect_refused(&s, wish, "the hover time is -1 s");
    wish = s.wish;
    wish.reserve = 0.5;
    expect_refused(&s, wish, "the reserve is 0.5");
    wish = s.wish;
    wish.lift_ratio = 2.0;
    expect_refused(&s, wish, "the thrust to weight at lift-off is 2");
    wish = s.wish;
    wish.burn_time = 0.0;
    expect_refused(&s, wish, "the burn time is 0 s");
    s.group.name = "hover";
    cr_expect(sm_needs_group(&s.vehicle, NULL, &group, &err) == SM_OK && group == 0);
    cr_expect(sm_needs_group(&s.vehicle, "hover", &group, &err) == SM_OK && group == 0);
    cr_expect(sm_needs_group(&s.vehicle, "0", &group, &err) == SM_OK && group == 0);
    cr_expect(sm_needs_group(&s.vehicle, "boost", &group, &err) == SM_E_FIELD);
    sm_arena_release(&s.arena);
}
