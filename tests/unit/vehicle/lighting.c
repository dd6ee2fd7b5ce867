/*
 * Motors lit at a height: against closed forms of a climb under constant thrust, a coast and a fall, without drag (a projectile) and with
 * drag of the square of speed (hyperbolic and circular functions, any mechanics text; e.g. the terminal speed is sqrt(m g / k)).
 */
#include "vehicle/lighting.h"
#include "draw.h"
#include "vehicle/lift.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const double g = 9.80665, dry = 2.0, force = 40.0, burn = 3.0, delay = 0.2;

/* A lifting motor and two more, each of constant thrust; the others' propellant is dead weight until they are lit. */
struct rig {
    struct sm_arena arena;
    struct sm_motor_group groups[3];
    double time[2], thrust[3][2], left[3][2]; /* [s], [N], [kg] */
    struct sm_result results[3];
    const struct sm_result *runs[3];
    struct sm_vehicle vehicle;
};

static void set_up(struct rig *r, size_t n, double drag_area)
{
    memset(r, 0, sizeof *r);
    sm_arena_init(&r->arena, NULL);
    r->time[1] = burn;
    for (size_t i = 0; i < n; i++) {
        r->groups[i] =
            (struct sm_motor_group){.count = 1, .ignite_height = SM_ABSENT, .ignition_delay = delay};
        r->thrust[i][0] = r->thrust[i][1] = i == 0 ? force : 1e-9;
        r->results[i].series = (struct sm_series){
            .n = 2, .time = r->time, .thrust = r->thrust[i], .propellant_mass = r->left[i]};
        r->runs[i] = &r->results[i];
    }
    r->vehicle.spec = (struct sm_vehicle_spec){.body = {.dry_mass = dry},
                                               .motors = {r->groups, n},
                                               .site = {.gravity = g},
                                               .aerodynamics = {.area = drag_area, .drag_coefficient = 1.0}};
}

static void find(struct rig *r, const struct sm_vehicle_change *change, struct sm_lighting *out)
{
    static const struct sm_vehicle_change none;
    cr_assert(sm_lighting_find(&r->vehicle, r->runs, change ? change : &none, 0.0, &r->arena, out, NULL) ==
              SM_OK);
}

/* When a vehicle of mass m falls through h, without drag; *v then. */
static double when(double m, double h, double *v)
{
    const double a = force / m - g, up = a * burn, summit = 0.5 * a * burn * burn + 0.5 * up * up / g;
    *v = -sqrt(2.0 * g * (summit - h));
    return delay + burn + (up - *v) / g;
}

Test(lighting, without_drag_it_falls_as_a_projectile)
{
    static const double heights[] = {60.0, 10.0, 0.1, 93.0};
    for (size_t i = 0; i < SM_COUNT(heights); i++) {
        struct rig r;
        struct sm_lighting out;
        double v;
        set_up(&r, 2, 0.0);
        r.groups[1].ignite_height = heights[i];
        find(&r, NULL, &out);
        const double t = when(dry, heights[i], &v);
        cr_assert(out.n == 1 && out.legs[0].group == 1);
        cr_expect(fabs(out.lift_off.t - delay) < 1e-8, "%g", out.lift_off.t);
        cr_expect(fabs(out.start.t - t) < 1e-7, "%g m: %g s", heights[i], out.start.t - t);
        cr_expect(fabs(out.start.h - heights[i]) < 1e-6 && fabs(out.start.v - v) < 1e-6, "%g m, %g m/s",
                  out.start.h - heights[i], out.start.v - v);
        const struct sm_motor_group *lit = out.vehicle->spec.motors.items;
        cr_expect(isnan(lit[1].ignite_height) && fabs(lit[1].ignite_at - out.start.t) < 1e-12);
        sm_arena_release(&r.arena);
    }
}

Test(lighting, with_drag_it_falls_by_hyperbolic_functions)
{
    /* Up: V_p tanh(a t / V_p) under thrust, V_p^2 = a m / k; V^2 / 2g ln(1 + v^2 / V^2) further without it, V^2 = g m / k, in
     * V / g arctan(v / V); and down x in V / g arcosh(exp(g x / V^2)). k = density area / 2, of the standard atmosphere at sea level,
     * 1.225 kg/m3 (U.S. Standard Atmosphere 1976). */
    struct rig r;
    struct sm_lighting out;
    const double area = 0.02, k = 0.5 * 1.225 * area, h = 31.0;
    set_up(&r, 2, area);
    r.groups[1].ignite_height = h;
    find(&r, NULL, &out);
    const double a = force / dry - g, Vp = sqrt(a * dry / k), V = sqrt(g * dry / k);
    const double up = Vp * tanh(a * burn / Vp), climbed = Vp * Vp / a * log(cosh(a * burn / Vp));
    const double summit = climbed + 0.5 * V * V / g * log(1.0 + up * up / (V * V));
    const double fall = V / g * acosh(exp(g * (summit - h) / (V * V)));
    const double t = delay + burn + V / g * atan(up / V) + fall;
    /* 1.225 is rounded: to a few in 1e5. */
    cr_expect(fabs(out.highest - summit) < 2e-3, "%g m", out.highest - summit);
    cr_expect(fabs(out.start.t - t) < 1e-4, "%g s", out.start.t - t);
    cr_expect(fabs(out.start.v + V * tanh(g * fall / V)) < 1e-3, "%g m/s",
              out.start.v + V * tanh(g * fall / V));
    sm_arena_release(&r.arena);
}

Test(lighting, what_is_not_lit_is_dead_weight)
{
    struct rig r;
    struct sm_lighting out;
    double v;
    set_up(&r, 2, 0.0);
    r.groups[1].ignite_height = 20.0;
    r.groups[1].count = 2;
    r.left[1][0] = 0.15;
    find(&r, NULL, &out);
    const double t = when(dry + 0.3, 20.0, &v);
    cr_expect(fabs(out.start.t - t) < 1e-7 && fabs(out.start.v - v) < 1e-6, "%g s, %g m/s", out.start.t - t,
              out.start.v - v);
    sm_arena_release(&r.arena);
}

Test(lighting, a_vehicle_that_differs_finds_its_own_instant)
{
    /* One deviation of delay is so much later; a mass that differs flies by its own closed form; a reserve is not kept. */
    struct rig r;
    struct sm_lighting told, late, heavy;
    double v;
    set_up(&r, 2, 0.0);
    r.groups[0].ignition_delay_tolerance = 0.03;
    r.groups[1].ignition_delay_tolerance = 0.5;
    r.groups[1].ignite_height = 44.0;
    find(&r, NULL, &told);
    find(&r, &(struct sm_vehicle_change){.delays = 2.0, .reserve = 0.3}, &late);
    find(&r, &(struct sm_vehicle_change){.mass = 0.1}, &heavy);
    cr_expect(fabs(late.start.t - told.start.t - 0.06) < 1e-7, "%g", late.start.t - told.start.t);
    cr_expect(fabs(late.start.v - told.start.v) < 1e-7);
    cr_expect(fabs(heavy.start.t - when(dry + 0.1, 44.0, &v)) < 1e-7);
    sm_arena_release(&r.arena);
}

Test(lighting, one_after_the_other_from_the_highest_down)
{
    struct rig r;
    struct sm_lighting out;
    double v;
    set_up(&r, 3, 0.0);
    r.groups[1].ignite_height = 20.0;
    r.groups[2].ignite_height = 70.0;
    find(&r, NULL, &out); /* the thrust of these two is next to nothing */
    cr_assert(out.n == 2 && out.legs[0].group == 2 && out.legs[1].group == 1);
    cr_expect(fabs(out.legs[0].to.t - when(dry, 70.0, &v)) < 1e-7);
    cr_expect(fabs(out.start.t - when(dry, 20.0, &v)) < 1e-6, "%g", out.start.t - when(dry, 20.0, &v));
    r.groups[2].ignite_height = 20.0; /* together */
    find(&r, NULL, &out);
    cr_expect(out.n == 2 && out.legs[1].to.t == out.legs[0].to.t);
    sm_arena_release(&r.arena);
}

Test(lighting, a_motor_lit_on_the_way_slows_the_fall_to_the_next)
{
    /* From 70 m on it falls with g less 10 N over its mass. */
    struct rig r;
    struct sm_lighting out;
    double v;
    set_up(&r, 3, 0.0);
    r.groups[1].ignite_height = 60.0;
    r.groups[2].ignite_height = 70.0;
    r.groups[2].ignition_delay = 0.0;
    r.thrust[2][0] = r.thrust[2][1] = 10.0;
    find(&r, NULL, &out);
    const double t = when(dry, 70.0, &v), a = g - 10.0 / dry;
    const double fall = (v + sqrt(v * v + 2.0 * a * 10.0)) / a;
    cr_expect(fabs(out.start.t - t - fall) < 1e-6, "%g", out.start.t - t - fall);
    cr_expect(fabs(out.start.v - v + a * fall) < 1e-6);
    sm_arena_release(&r.arena);
}

Test(lighting, a_height_that_is_never_reached_is_refused_with_the_summit)
{
    struct rig r;
    struct sm_lighting out;
    struct sm_error err = {0};
    double v;
    set_up(&r, 2, 0.0);
    r.groups[1].ignite_height = 93.6;
    find(&r, NULL, &out);
    const double a = force / dry - g, summit = 0.5 * a * burn * burn * (1.0 + a / g);
    cr_assert(out.n == 1 && isnan(out.start.t));
    cr_expect(fabs(out.highest - summit) < 1e-6, "%g", out.highest - summit);
    cr_expect(fabs(out.end.t - when(dry, 0.0, &v)) < 1e-6 && fabs(out.end.v - v) < 1e-6);
    cr_expect(sm_lighting_check(&out, &err) == SM_E_PHYSICS && strstr(err.message, "93.55 m"), "%s",
              err.message);
    sm_arena_release(&r.arena);
}

Test(lighting, thrust_that_begins_on_the_ground_is_refused)
{
    struct rig r;
    struct sm_lighting out;
    struct sm_profile p;
    struct sm_error err = {0};
    double v, v0;
    static const struct sm_vehicle_change none;
    set_up(&r, 2, 0.0);
    r.groups[1].ignite_height = 20.0;
    r.groups[1].ignition_delay = 1.0; /* from there to the ground it takes half a second */
    find(&r, NULL, &out);
    cr_assert(sm_lighting_check(&out, NULL) == SM_OK);
    cr_assert(sm_thrust_profile(out.vehicle, r.runs, &none, &r.arena, &p, NULL) == SM_OK);
    struct sm_flight_model model = {.profile = &p};
    cr_expect(when(dry, 0.0, &v0) < when(dry, 20.0, &v) + 1.0);
    cr_expect(sm_lighting_check_height(&out, &model, &err) == SM_E_PHYSICS &&
                  strstr(err.message, "on the ground"),
              "%s", err.message);
    r.groups[1].ignition_delay = 0.1;
    find(&r, NULL, &out);
    cr_assert(sm_thrust_profile(out.vehicle, r.runs, &none, &r.arena, &p, NULL) == SM_OK);
    cr_expect(sm_lighting_check_height(&out, &model, &err) == SM_OK);
    sm_arena_release(&r.arena);
}

Test(lighting, motors_lit_at_times_change_nothing)
{
    struct rig r;
    struct sm_lighting out;
    set_up(&r, 2, 0.0);
    r.groups[1].ignite_at = 2.0;
    find(&r, NULL, &out);
    cr_expect(out.n == 0 && out.vehicle == &r.vehicle && sm_lighting_check(&out, NULL) == SM_OK);
    sm_arena_release(&r.arena);
}

Test(lighting, thrust_lasts_to_its_last_instant_whenever_it_is_lit)
{
    /* Times that are added up are rounded: a curve that ends above zero must not lose its end by it. */
    struct rig r;
    struct sm_profile p;
    static const struct sm_vehicle_change none;
    set_up(&r, 2, 0.0);
    r.thrust[1][0] = r.thrust[1][1] = 30.0;
    for (int i = 0; i < 200; i++) {
        struct sm_profile_at at;
        r.groups[1].ignite_at = 7.0 + 0.0137 * i;
        cr_assert(sm_thrust_profile(&r.vehicle, r.runs, &none, &r.arena, &p, NULL) == SM_OK);
        sm_profile_eval(&p, r.groups[1].ignite_at + delay + 0.5 * burn, &at);
        cr_assert(fabs(at.full - 30.0) < 1e-9, "lit at %g s: %g N", r.groups[1].ignite_at, at.full);
    }
    sm_arena_release(&r.arena);
}
