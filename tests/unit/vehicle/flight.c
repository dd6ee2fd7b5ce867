/* Integrated flights against closed forms: the drag-free sums, a fall with drag (any mechanics text), and the instant that
 * stands for a ramp (an integral done by hand, no source); and against GSL's Prince-Dormand integrator at 1e-12. */
#include "vehicle/flight.h"
#include "steady.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>

static const double pi = 3.14159265358979323846;

Test(flight, without_drag_and_ramps_it_meets_the_sums)
{
    struct steady v;
    struct sm_flight_state a, b;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    const struct sm_switches control = {3.217, 9.713};
    steady_set_up(&v, 26.0, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    sm_flight_fly(&model, &start, &control, 13.1, &a, &extremes);
    sm_reach_fly(&v.profile, &start, &control, 13.1, &b);
    cr_expect(fabs(a.h - b.h) < 1e-8 && fabs(a.v - b.v) < 1e-8, "%g m, %g m/s", a.h - b.h, a.v - b.v);
    sm_arena_release(&v.arena);
}

Test(flight, a_fall_with_drag_tends_to_its_terminal_speed)
{
    /* v = -V tanh(g t / V), fallen V^2 / g ln cosh(g t / V), V^2 = m g / k. */
    struct steady v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    const struct sm_switches none = {SM_INF, SM_INF};
    const double k = 0.05, V = sqrt(2.3 * 9.80665 / k), T = 8.0, x = 9.80665 * T / V;
    steady_set_up(&v, 0.0, 0.0, 0.25 * pi);
    const struct sm_flight_model model = {.profile = &v.profile, .drag = k};
    sm_flight_fly(&model, &start, &none, T, &end, &extremes);
    cr_expect(fabs(end.v + V * tanh(x)) < 1e-7, "%g", end.v + V * tanh(x));
    cr_expect(fabs(end.h + V * V / 9.80665 * log(cosh(x))) < 1e-6, "%g", end.h);
    sm_arena_release(&v.arena);
}

Test(flight, a_ramp_costs_the_speed_of_an_instant_switch_within_it)
{
    /* Of constant thrust: the switch at (sin d / d - cos d) / (1 - cos d) of the ramp through d. */
    struct steady v;
    struct sm_flight_state ramped, at_once;
    struct sm_flight_extremes extremes;
    const double d = pi / 3.0, ramp = 0.7, share = (sin(d) / d - cos(d)) / (1.0 - cos(d));
    const struct sm_flight_state start = {0};
    const struct sm_switches slow = {4.0, SM_INF}, instant = {4.0 + share * ramp, SM_INF};
    steady_set_up(&v, 26.0, 0.0, d);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = d, .ramp = ramp}}};
    sm_flight_fly(&model, &start, &slow, 6.0, &ramped, &extremes);
    sm_reach_fly(&v.profile, &start, &instant, 6.0, &at_once);
    cr_expect(fabs(ramped.v - at_once.v) < 1e-6, "%g", ramped.v - at_once.v);
    sm_arena_release(&v.arena);
}

Test(flight, lands_with_drag_and_ramps)
{
    struct steady v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    struct sm_switches control;
    steady_set_up(&v, 26.0, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {.profile = &v.profile,
                                          .drag = 0.004,
                                          .n = 1,
                                          .groups = {{.spread = v.spread, .high = 0.25 * pi, .ramp = 0.3}}};
    cr_assert(sm_reach_highest(&v.profile, &start, 12.0, 0.0, 0.0, &control));
    cr_assert(sm_flight_land(&model, &start, 12.0, 0.0, &control));
    sm_flight_fly(&model, &start, &control, 12.0, &end, &extremes);
    cr_expect(fabs(end.h) < 1e-6 && fabs(end.v) < 1e-6 && extremes.highest > 5.0, "%g m, %g m/s", end.h,
              end.v);
    sm_arena_release(&v.arena);
}

/* Full thrust, then all of the range of throttle taken off at once, with drag. */
struct fall {
    double drag;  /* [kg/m] */
    double share; /* of full thrust [1] */
};

static int slope(double t, const double y[], double dy[], void *user)
{
    const struct fall *f = user;
    dy[0] = y[1];
    dy[1] = (26.0 * f->share - f->drag * y[1] * fabs(y[1])) / (2.3 - 0.196 * t / 13.5) - 9.80665;
    return GSL_SUCCESS;
}

Test(flight, with_drag_it_meets_another_integrator)
{
    struct steady v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    struct fall f = {.drag = 0.02, .share = 1.0};
    const struct sm_flight_state start = {0};
    const struct sm_switches control = {4.3, 9.1};
    const double until[] = {4.3, 9.1, 13.0}, share[] = {1.0, sqrt(0.5), 1.0};
    double t = 0.0, y[2] = {0.0, 0.0};
    gsl_odeiv2_system system = {slope, NULL, 2, &f};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-12, 1e-12);
    for (int i = 0; i < 3; i++) {
        f.share = share[i];
        gsl_odeiv2_driver_reset(driver);
        cr_assert(gsl_odeiv2_driver_apply(driver, &t, until[i], y) == GSL_SUCCESS);
    }
    gsl_odeiv2_driver_free(driver);
    steady_set_up(&v, 26.0, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = f.drag, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    sm_flight_fly(&model, &start, &control, 13.0, &end, &extremes);
    cr_expect(fabs(end.h - y[0]) < 1e-7 && fabs(end.v - y[1]) < 1e-7, "%g m, %g m/s", end.h - y[0],
              end.v - y[1]);
    sm_arena_release(&v.arena);
}

Test(flight, without_thrust_or_drag_it_is_a_projectile)
{
    struct steady v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {1.0, 3.0, 12.0};
    const struct sm_switches none = {SM_INF, SM_INF};
    steady_set_up(&v, 0.0, 0.0, 0.25 * pi);
    const struct sm_flight_model model = {.profile = &v.profile};
    sm_flight_fly(&model, &start, &none, 5.0, &end, &extremes);
    cr_expect(fabs(end.v - (12.0 - 4.0 * 9.80665)) < 1e-12 &&
              fabs(end.h - (3.0 + 48.0 - 8.0 * 9.80665)) < 1e-11);
    cr_expect(fabs(extremes.highest - (3.0 + 72.0 / 9.80665)) < 1e-9, "%g", extremes.highest);
    sm_flight_back(&model, &end, &none, 1.0, &end);
    cr_expect(fabs(end.h - 3.0) < 1e-11 && fabs(end.v - 12.0) < 1e-12, "back to %g m, %g m/s", end.h, end.v);
    sm_arena_release(&v.arena);
}

Test(flight, energy_and_impulse_balance)
{
    /* Per mass: d(v^2 / 2 + g h) = (thrust - drag) / m v dt and dv + g dt = (thrust - drag) / m dt, by Simpson's rule over the
     * flight, with a ramp. */
    enum { STEPS = 2600 };
    struct steady v;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    const struct sm_switches control = {3.0, 8.0};
    const double drag = 0.02, limit = 0.25 * pi, ramp = 0.5, dt = 13.0 / STEPS;
    struct sm_flight_state at = {0};
    double work = 0.0, impulse = 0.0;
    steady_set_up(&v, 26.0, 0.196, limit);
    const struct sm_flight_model model = {.profile = &v.profile,
                                          .drag = drag,
                                          .n = 1,
                                          .groups = {{.spread = v.spread, .high = limit, .ramp = ramp}}};
    for (int i = 0; i <= STEPS; i++) {
        const double t = dt * i, weight = dt / 3.0 * (i == 0 || i == STEPS ? 1.0 : i % 2 ? 4.0 : 2.0);
        sm_flight_fly(&model, &start, &control, t, &at, &extremes);
        const double up = fmin(fmax((t - control.off) / ramp, 0.0), 1.0),
                     splay = limit * (up - fmin(fmax((t - control.on) / ramp, 0.0), 1.0));
        const double a = (26.0 * cos(splay) - drag * at.v * fabs(at.v)) / (2.3 - 0.196 * t / 13.5);
        work += weight * a * at.v;
        impulse += weight * a;
    }
    cr_expect(fabs(0.5 * at.v * at.v + 9.80665 * at.h - work) < 1e-6, "%g J/kg",
              0.5 * at.v * at.v + 9.80665 * at.h - work);
    cr_expect(fabs(at.v + 9.80665 * 13.0 - impulse) < 1e-6, "%g m/s", at.v + 9.80665 * 13.0 - impulse);
    sm_arena_release(&v.arena);
}

Test(flight, groups_ramp_each_in_its_own_time)
{
    /* Two groups of constant thrust: each costs its own spread from its own equivalent instant on. */
    struct steady v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    double some[STEADY_KNOTS], rest[STEADY_KNOTS]; /* [N] */
    const struct sm_flight_state start = {0};
    const struct sm_switches off = {4.0, SM_INF};
    const double T = 6.0, d[2] = {0.25 * pi, pi / 3.0}, ramp[2] = {0.4, 0.9}, force[2] = {10.0, 16.0};
    double v_end = (26.0 / 2.3 - 9.80665) * T;
    steady_set_up(&v, 26.0, 0.0, 0.0);
    for (int i = 0; i < STEADY_KNOTS; i++) {
        some[i] = force[0] * (1.0 - cos(d[0]));
        rest[i] = force[1] * (1.0 - cos(d[1]));
    }
    for (int i = 0; i < 2; i++)
        v_end -= force[i] * (1.0 - cos(d[i])) / 2.3 *
                 (T - off.off - ramp[i] * (sin(d[i]) / d[i] - cos(d[i])) / (1.0 - cos(d[i])));
    const struct sm_flight_model model = {.profile = &v.profile,
                                          .n = 2,
                                          .groups = {{.spread = some, .high = d[0], .ramp = ramp[0]},
                                                     {.spread = rest, .high = d[1], .ramp = ramp[1]}}};
    sm_flight_fly(&model, &start, &off, T, &end, &extremes);
    cr_expect(fabs(end.v - v_end) < 1e-6, "%g", end.v - v_end);
    sm_arena_release(&v.arena);
}
