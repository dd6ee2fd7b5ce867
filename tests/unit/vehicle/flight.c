/* Integrated flights against closed forms: the drag-free sums, a fall with drag (any mechanics text), and the instant that
 * stands for a ramp (an integral done by hand, no source); and against GSL's Prince-Dormand integrator at 1e-12. */
#include "vehicle/flight.h"

#include <criterion/criterion.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>

enum { KNOTS = 28 };
static const double pi = 3.14159265358979323846;

struct vehicle {
    struct sm_arena arena;
    double t[KNOTS], thrust[KNOTS], least[KNOTS], spread[KNOTS], mass[KNOTS]; /* [s], [N], [N], [N], [kg] */
    struct sm_profile profile;
};

static void set_up(struct vehicle *v, double thrust, double burned, double limit)
{
    sm_arena_init(&v->arena, NULL);
    for (int i = 0; i < KNOTS; i++) {
        const double share = (double)i / (KNOTS - 1);
        v->t[i] = 13.5 * share;
        v->thrust[i] = thrust;
        v->least[i] = thrust * cos(limit);
        v->spread[i] = thrust - v->least[i];
        v->mass[i] = 2.3 - burned * share;
    }
    v->profile = (struct sm_profile){.n = KNOTS,
                                     .t = v->t,
                                     .thrust = v->thrust,
                                     .full = v->thrust,
                                     .least = v->least,
                                     .mass = v->mass,
                                     .gravity = 9.80665};
    cr_assert(sm_profile_integrate(&v->profile, &v->arena, NULL) == SM_OK);
}

Test(flight, without_drag_and_ramps_it_meets_the_sums)
{
    struct vehicle v;
    struct sm_flight_state a, b;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    const struct sm_switches control = {3.217, 9.713};
    set_up(&v, 26.0, 0.196, 0.25 * pi);
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
    struct vehicle v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    const struct sm_switches none = {SM_INF, SM_INF};
    const double k = 0.05, V = sqrt(2.3 * 9.80665 / k), T = 8.0, x = 9.80665 * T / V;
    set_up(&v, 0.0, 0.0, 0.25 * pi);
    const struct sm_flight_model model = {.profile = &v.profile, .drag = k};
    sm_flight_fly(&model, &start, &none, T, &end, &extremes);
    cr_expect(fabs(end.v + V * tanh(x)) < 1e-7, "%g", end.v + V * tanh(x));
    cr_expect(fabs(end.h + V * V / 9.80665 * log(cosh(x))) < 1e-6, "%g", end.h);
    sm_arena_release(&v.arena);
}

Test(flight, a_ramp_costs_the_speed_of_an_instant_switch_within_it)
{
    /* Of constant thrust: the switch at (sin d / d - cos d) / (1 - cos d) of the ramp through d. */
    struct vehicle v;
    struct sm_flight_state ramped, at_once;
    struct sm_flight_extremes extremes;
    const double d = pi / 3.0, ramp = 0.7, share = (sin(d) / d - cos(d)) / (1.0 - cos(d));
    const struct sm_flight_state start = {0};
    const struct sm_switches slow = {4.0, SM_INF}, instant = {4.0 + share * ramp, SM_INF};
    set_up(&v, 26.0, 0.0, d);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{v.spread, 0.0, d, ramp}}};
    sm_flight_fly(&model, &start, &slow, 6.0, &ramped, &extremes);
    sm_reach_fly(&v.profile, &start, &instant, 6.0, &at_once);
    cr_expect(fabs(ramped.v - at_once.v) < 1e-6, "%g", ramped.v - at_once.v);
    sm_arena_release(&v.arena);
}

Test(flight, lands_with_drag_and_ramps)
{
    struct vehicle v;
    struct sm_flight_state end;
    struct sm_flight_extremes extremes;
    const struct sm_flight_state start = {0};
    struct sm_switches control;
    set_up(&v, 26.0, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = 0.004, .n = 1, .groups = {{v.spread, 0.0, 0.25 * pi, 0.3}}};
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
    struct vehicle v;
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
    set_up(&v, 26.0, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = f.drag, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    sm_flight_fly(&model, &start, &control, 13.0, &end, &extremes);
    cr_expect(fabs(end.h - y[0]) < 1e-7 && fabs(end.v - y[1]) < 1e-7, "%g m, %g m/s", end.h - y[0],
              end.v - y[1]);
    sm_arena_release(&v.arena);
}
