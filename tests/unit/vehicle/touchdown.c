/*
 * After contact, of constant thrust and mass in closed form (done by hand, no published source): splay grows evenly from none to d
 * in the time r, so that thrust along the axis is F cos(d t / r), and with k = d / r
 *     v = F / (m k) sin(k t) - g t,  h = F / (m k^2) (1 - cos(k t)) - g t^2 / 2;
 * and the times at which thrust at most splay is the weight of a mass that falls evenly.
 */
#include "vehicle/touchdown.h"
#include "steady.h"

#include <criterion/criterion.h>
#include <math.h>

static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3, g = 9.80665;

static const struct sm_switches none = {SM_INF, SM_INF};

/* Height after t of growing splay [m]; the speed goes to *v. */
static double grown(double d, double r, double t, double *v)
{
    const double k = d / r, a = thrust / release;
    *v = a / k * sin(k * t) - g * t;
    return a / (k * k) * (1.0 - cos(k * t)) - 0.5 * g * t * t;
}

Test(touchdown, hops_while_splay_grows)
{
    static const double rows[][2] = {{45.0, 0.3}, {45.0, 1.2}, {60.0, 0.5}, {75.0, 2.5}}; /* [deg], [s] */
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct steady v;
        struct sm_touchdown down;
        const double d = rows[i][0] * pi / 180.0, r = rows[i][1], T = 5.0;
        steady_set_up(&v, thrust, 0.0, d);
        const struct sm_flight_model model = {
            .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = d, .ramp = r}}};
        sm_touchdown_begin(&model, &none, T, 0.0, &down);
        sm_touchdown_finish(&down);
        /* Highest where v is nil: while splay grows, or after that, falling with A. */
        const double A = g - thrust * cos(d) / release;
        double a = 1e-3, b = r, speed, top = grown(d, r, r, &speed), fall;
        if (speed > 0.0)
            top += 0.5 * speed * speed / A;
        for (int k = 0; k < 60 && speed <= 0.0; k++) {
            const double middle = 0.5 * (a + b);
            double now;
            top = grown(d, r, middle, &now);
            if (now > 0.0)
                a = middle;
            else
                b = middle;
        }
        /* A summit is that of a parabola over 10 ms: off by the change of acceleration, 20 m/s3, times their cube. */
        cr_expect(fabs(down.rise - top) < 2e-5, "%g deg, %g s: %g m, not %g m", rows[i][0], r, down.rise,
                  top);
        /* Down again while splay still grows, or later under constant acceleration. */
        const double h = grown(d, r, r, &speed);
        if (h > 0.0) {
            fall = sqrt(speed * speed + 2.0 * A * h);
            cr_expect(fabs(down.down - T - r - (speed + fall) / A) < 1e-6, "%g s", down.down);
        } else {
            a = b;
            b = r;
            for (int k = 0; k < 60; k++) {
                const double middle = 0.5 * (a + b);
                if (grown(d, r, middle, &speed) > 0.0)
                    a = middle;
                else
                    b = middle;
            }
            fall = -speed;
            cr_expect(fabs(down.down - T - a) < 1e-6, "%g s", down.down);
        }
        cr_expect(fabs(down.rise_speed - fall) < 1e-6, "%g deg, %g s: %g m/s, not %g m/s", rows[i][0], r,
                  down.rise_speed, fall);
        sm_arena_release(&v.arena);
    }
}

Test(touchdown, stays_down_when_splay_is_at_once)
{
    struct steady v;
    struct sm_touchdown down;
    steady_set_up(&v, thrust, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    sm_touchdown_begin(&model, &none, 5.0, 0.0, &down);
    sm_touchdown_finish(&down);
    cr_expect(!(down.rise > 0.0) && !(down.rise_speed > 0.0) && isnan(down.down));
    sm_arena_release(&v.arena);
}

Test(touchdown, lifts_off_again_where_least_thrust_comes_to_exceed_the_weight)
{
    /* F cos(limit) = m(t) g; it then rises to burnout by the rocket equation, and falls. */
    struct steady v;
    struct sm_touchdown down;
    double when;
    const double limit = 35.0 * pi / 180.0, burned = 0.196, c = burned / burn, least = thrust * cos(limit);
    const double exact = (release - least / g) / c, end_mass = release - burned;
    steady_set_up(&v, thrust, burned, limit);
    /* It burns to the end, so nothing before that stays down. */
    cr_expect(sm_touchdown_settled(&v.profile) == v.t[STEADY_KNOTS - 1]);
    const double ratio = sm_touchdown_ratio(&v.profile, 2.0, &when);
    cr_expect(fabs(ratio - least / (end_mass * g)) < 1e-12 && when == burn, "%g at %g s", ratio, when);
    /* Thrust that ends short of that instant, and some knots with none. */
    for (int i = 0; i < STEADY_KNOTS; i++)
        if (v.t[i] > 13.0)
            v.thrust[i] = v.least[i] = v.spread[i] = 0.0;
    cr_expect(sm_touchdown_settled(&v.profile) > exact);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = limit}}};
    sm_touchdown_begin(&model, &none, 5.0, 0.0, &down);
    sm_touchdown_go_on(&down, 12.5);
    const double mass = release - c * 12.5, m0 = least / g, tau = 12.5 - exact;
    const double v_exact = least / c * log(m0 / mass) - g * tau;
    const double h_exact = least / c * (tau - mass / c * log(m0 / mass)) - 0.5 * g * tau * tau;
    /* It is looked at every 10 ms whether it rises. */
    cr_expect(fabs(down.at.v - v_exact) < 0.01 * v_exact && fabs(down.at.h - h_exact) < 0.02 * h_exact,
              "%g m, %g m/s, not %g m, %g m/s", down.at.h, down.at.v, h_exact, v_exact);
    sm_arena_release(&v.arena);
}

Test(touchdown, settles_where_least_thrust_falls_under_the_weight)
{
    /* Thrust falls evenly from F to nothing over the burn, mass stays: least thrust is the weight at t = T (1 - m g / least). */
    struct steady v;
    double when;
    steady_set_up(&v, 40.0, 0.0, 30.0 * pi / 180.0);
    for (int i = 0; i < STEADY_KNOTS; i++)
        v.least[i] *= 1.0 - v.t[i] / burn;
    const double exact = burn * (1.0 - release * g / (40.0 * cos(pi / 6.0)));
    cr_expect(fabs(sm_touchdown_settled(&v.profile) - exact) < 1e-12, "%g s, not %g s",
              sm_touchdown_settled(&v.profile), exact);
    cr_expect(fabs(sm_touchdown_ratio(&v.profile, exact, &when) - 1.0) < 1e-12 && when == exact);
    sm_arena_release(&v.arena);
}

Test(touchdown, eased_down_it_arrives_with_thrust_equal_to_the_weight)
{
    struct steady v;
    struct sm_touchdown down;
    struct sm_switches control = {4.2, 8.9};
    struct sm_flight_state end;
    struct sm_flight_extremes passed;
    const struct sm_flight_state start = {0};
    const double d = 0.25 * pi, r = 0.6, T = 12.0, mass = release - 0.196 * T / burn;
    steady_set_up(&v, thrust, 0.196, d);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = 0.004, .n = 1, .groups = {{.spread = v.spread, .high = d, .ramp = r}}};
    /* Splayed by acos(m g / F), at an even rate. */
    const double ease = sm_touchdown_ease(&model, T), exact = r * acos(mass * g / thrust) / d;
    cr_expect(fabs(ease - exact) < 1e-9, "%g s, not %g s", ease, exact);
    cr_assert(sm_flight_land_eased(&model, &start, T, 0.0, ease, &control));
    sm_flight_fly_eased(&model, &start, &control, T, ease, &end, &passed);
    cr_expect(fabs(end.h) < 1e-6 && fabs(end.v) < 1e-6 && passed.highest > 5.0, "%g m, %g m/s", end.h, end.v);
    sm_touchdown_begin(&model, &control, T, ease, &down);
    cr_expect(fabs(sm_flight_thrust(&down.model, &down.control, T) - mass * g) < 1e-6);
    sm_touchdown_finish(&down);
    cr_expect(!(down.rise > 0.0), "%g m", down.rise);
    sm_arena_release(&v.arena);
}

Test(touchdown, no_ease_where_none_is_needed_or_none_helps)
{
    struct steady v;
    steady_set_up(&v, thrust, 0.196, 30.0 * pi / 180.0);
    struct sm_flight_model model = {.profile = &v.profile,
                                    .n = 1,
                                    .groups = {{.spread = v.spread, .high = 30.0 * pi / 180.0, .ramp = 0.5}}};
    cr_expect(isnan(sm_touchdown_ease(&model, 13.0)), "least thrust exceeds the weight");
    model.groups[0].ramp = 0.0;
    cr_expect(sm_touchdown_ease(&model, 0.1) == 0.0, "splay at once");
    sm_arena_release(&v.arena);
    steady_set_up(&v, 20.0, 0.196, 30.0 * pi / 180.0);
    model.groups[0].ramp = 0.5;
    cr_expect(sm_touchdown_ease(&model, 1.0) == 0.0, "under the weight as it is");
    sm_arena_release(&v.arena);
}

Test(touchdown, a_flight_carried_on_is_the_same_flight)
{
    /* Cut in the middle of every ramp, and in pieces of a second. */
    struct steady v;
    struct sm_flight_state whole, at = {0};
    struct sm_flight_extremes passed;
    const struct sm_flight_state start = {0};
    const struct sm_switches control = {3.4, 3.9};
    steady_set_up(&v, thrust, 0.196, 0.25 * pi);
    struct sm_flight_model model = {.profile = &v.profile,
                                    .drag = 0.01,
                                    .n = 1,
                                    .groups = {{.spread = v.spread, .high = 0.25 * pi, .ramp = 0.8}}};
    sm_flight_fly(&model, &start, &control, 9.0, &whole, &passed);
    static const double cuts[] = {1.0, 3.4, 3.6, 3.9, 4.1, 4.35, 5.0, 9.0};
    struct sm_switches rest = control;
    for (size_t i = 0; i < SM_COUNT(cuts); i++) {
        const struct sm_flight_model before = model;
        sm_flight_fly(&before, &at, &rest, cuts[i], &at, &passed);
        sm_flight_carry_on(&before, &rest, cuts[i], &model);
        rest = control.on <= cuts[i] ? none : (struct sm_switches){fmax(control.off, cuts[i]), control.on};
    }
    cr_expect(fabs(at.h - whole.h) < 1e-9 && fabs(at.v - whole.v) < 1e-9, "%g m, %g m/s", at.h - whole.h,
              at.v - whole.v);
    sm_arena_release(&v.arena);
}
