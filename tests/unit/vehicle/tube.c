/*
 * The tube of flights that can still land, against closed forms: the switching curve of a body under constant acceleration either
 * way (minimum-time soft landing of a double integrator, e.g. Bryson and Ho, Applied Optimal Control, from memory, edition not at
 * hand), and flights under arbitrary throttle, integrated in closed form here (rocket equation; no published source).
 */
#include "vehicle/tube.h"
#include "draw.h"
#include "steady.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdint.h>

static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3, g = 9.80665;

Test(tube, of_constant_accelerations_is_bounded_by_parabolas)
{
    /* Down at v needs v^2 / 2A of height to stop. Up at v, at least thrust it falls with B and must be caught: with B sigma of
     * speed lost by sigma, A (tau - sigma) = B sigma - v, and the heights of both parts cancel h. */
    struct steady v;
    double slowest, fastest, lowest, highest;
    steady_set_up(&v, thrust, 0.0, pi / 3.0);
    const double A = thrust / release - g, B = g - thrust * cos(pi / 3.0) / release, t = 6.0, tau = burn - t,
                 h = 5.0;
    const struct sm_tube tube = {&v.profile, 0.0, 1.0};
    cr_assert(sm_tube_speeds(&tube, t, h, &slowest, &fastest));
    cr_expect(fabs(slowest + sqrt(2.0 * A * h)) < 1e-8, "%g", slowest + sqrt(2.0 * A * h));
    const double sigma =
        tau * sqrt((A - 2.0 * h / (tau * tau)) / (A + B)); /* h = A tau^2 / 2 - (A + B) sigma^2 / 2 */
    cr_expect(fabs(fastest - ((A + B) * sigma - A * tau)) < 1e-8, "%g",
              fastest - ((A + B) * sigma - A * tau));
    cr_expect(fabs(sm_tube_top(&tube, t) - 0.5 * A * tau * tau) < 1e-8);
    cr_assert(sm_tube_heights(&tube, t, -3.0, &lowest, &highest));
    cr_expect(fabs(lowest - 4.5 / A) < 1e-7, "%g", lowest - 4.5 / A);
    cr_assert(sm_tube_heights(&tube, t, fastest, &lowest, &highest));
    cr_expect(fabs(highest - h) < 1e-6 && lowest >= 0.0, "%g", highest - h);
    sm_arena_release(&v.arena);
}

Test(tube, thrust_margin_is_that_of_the_stopping_parabola)
{
    /* It stops from v within h while k F / m - g >= v^2 / 2h. */
    struct steady v;
    steady_set_up(&v, thrust, 0.0, pi / 3.0);
    const struct sm_tube tube = {&v.profile, 0.0, 1.0};
    const struct sm_flight_state at = {9.0, 5.0, -3.0};
    const double k = (g + 9.0 / 10.0) * release / thrust;
    const double margin = sm_tube_thrust_margin(&tube, &at, 0.5);
    cr_expect(fabs(margin - (1.0 - k)) < 2e-4, "%g, not %g", margin, 1.0 - k);
    sm_arena_release(&v.arena);
}

/* One piece of a flight, backwards: thrust u of the whole from from to end->t. Mass falls evenly by c a second.
 * int F / m dt and int s F / m ds in closed form. */
static struct sm_flight_state back(const struct sm_flight_state *end, double from, double u, double c)
{
    const double ma = release - c * from, mb = release - c * end->t, tau = end->t - from;
    const double sum = u * thrust / c * log(ma / mb);
    const double moment = u * thrust / (c * c) * (release * log(ma / mb) - (ma - mb));
    const double v = end->v - sum + g * tau;
    return (struct sm_flight_state){from, end->h - v * tau - (end->t * sum - moment) + 0.5 * g * tau * tau,
                                    v};
}

/* Is the piece above ground between its ends, as far as 20 points can tell? */
static int is_above(const struct sm_flight_state *end, double from, double u, double c)
{
    for (int i = 1; i < 20; i++) {
        const struct sm_flight_state at = back(end, end->t - (end->t - from) * i / 20.0, u, c);
        if (at.h < 1e-3 && i > 1)
            return 0;
    }
    return 1;
}

Test(tube, holds_every_flight_that_lands_and_nothing_just_outside_lands)
{
    enum { FLIGHTS = 10000, PIECES = 6 };
    struct steady v;
    uint64_t seed = 8;
    int n = 0;
    const double burned = 0.196, c = burned / burn, limit = 1.0, low = cos(0.25 * pi);
    steady_set_up(&v, thrust, burned, 0.25 * pi);
    const struct sm_tube tube = {&v.profile, limit, 1.0};
    for (int i = 0; i < FLIGHTS; i++) {
        struct sm_flight_state at = {burn * (0.2 + 0.8 * draw_uniform(&seed, 0.0, 1.0)), 0.0,
                                     -limit * draw_uniform(&seed, 0.0, 1.0)};
        for (int k = 0; k < PIECES; k++) {
            const double from = at.t - draw_uniform(&seed, 0.0, 1.0) * at.t / 3.0,
                         u = low + (1.0 - low) * floor(3.0 * draw_uniform(&seed, 0.0, 1.0)) / 2.0;
            const struct sm_flight_state before = back(&at, from, u, c);
            if (before.h < 0.0 || !is_above(&at, from, u, c))
                break;
            cr_assert(sm_tube_holds(&tube, &before), "flight %d: %g m, %g m/s at %g s", i, before.h, before.v,
                      from);
            at = before;
            n++;
        }
    }
    cr_expect(n > FLIGHTS, "only %d states", n);
    for (int i = 0; i < 60; i++) {
        double slowest, fastest, contact;
        const double t = 1.0 + 11.0 * draw_uniform(&seed, 0.0, 1.0),
                     h = sm_tube_top(&tube, t) * draw_uniform(&seed, 0.0, 1.0);
        cr_assert(sm_tube_speeds(&tube, t, h, &slowest, &fastest));
        const struct sm_flight_state outside[] = {{t, h, slowest - 0.01}, {t, h, fastest + 0.01}};
        for (int k = 0; k < 2; k++)
            for (int j = 1; j <= 40; j++)
                cr_assert(
                    !sm_reach_lands(&v.profile, &outside[k], t + (burn - t) * j / 40.0, limit, &contact),
                    "%g m, %g m/s at %g s", h, outside[k].v, t);
    }
    sm_arena_release(&v.arena);
}
