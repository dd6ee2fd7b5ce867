/*
 * Margins to the tube: with next to no drag against the switching curve of a body under constant acceleration either way (a parabola,
 * e.g. Bryson and Ho, Applied Optimal Control, from memory, edition not at hand); with drag and ramps against outlines that are flown
 * by themselves, and against whether the tube of another thrust still holds the state.
 */
#include "vehicle/margins.h"
#include "steady.h"
#include "vehicle/outline.h"

#include <criterion/criterion.h>
#include <math.h>

static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3, g = 9.80665,
                    every = 0.5;

static void fill(struct steady *v, const struct sm_flight_model *model, double limit, struct sm_margins *m)
{
    cr_assert(sm_margins_fill(model, limit, 0.0, every, &v->arena, m, NULL) == SM_OK);
}

/* The instant number of a time that is one of planning anew. */
static size_t number(double t)
{
    return (size_t)lround(t / every) * SM_MARGIN_STEPS;
}

Test(margins, of_constant_accelerations_are_those_of_the_parabola)
{
    struct steady v;
    struct sm_margins m;
    const double limit = 1.0, A = thrust / release - g;
    steady_set_up(&v, thrust, 0.0, pi / 3.0);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = 1e-12, .n = 1, .groups = {{.spread = v.spread, .high = pi / 3.0}}};
    fill(&v, &model, limit, &m);
    static const double states[][3] = {
        {9.0, 5.0, -3.0}, {4.0, 2.0, -1.7}, {11.5, 1.2, -1.8}, {13.0, 0.3, -0.9}};
    for (size_t i = 0; i < SM_COUNT(states); i++) {
        const struct sm_flight_state at = {states[i][0], states[i][1], states[i][2]};
        const struct sm_margin out = sm_margins_at(&m, number(at.t), &at, 1);
        const double under = at.h - fmax(at.v * at.v - limit * limit, 0.0) / (2.0 * A);
        const double slower = at.v + sqrt(limit * limit + 2.0 * A * at.h);
        /* It stops within h while k F / m - g >= (v^2 - limit^2) / 2h. */
        const double less = 1.0 - (g + 0.5 * (at.v * at.v - limit * limit) / at.h) * release / thrust;
        cr_assert(out.is_inside, "%zu", i);
        if (at.v < -limit) {
            cr_expect(fabs(out.height - under) < 1e-3, "%zu: %g m, not %g m", i, out.height, under);
            cr_expect(fabs(out.thrust - less) < 0.01 * less, "%zu: %g, not %g", i, out.thrust, less);
        }
        cr_expect(out.speed < slower + 1e-3, "%zu: %g m/s, %g m/s", i, out.speed, slower);
    }
    const struct sm_flight_state at = {9.0, 5.0, -3.0}; /* nearest to the edge below */
    cr_expect(fabs(sm_margins_at(&m, number(9.0), &at, 0).speed - (sqrt(1.0 + 10.0 * A) - 3.0)) < 1e-3);
    const struct sm_flight_state outside = {9.0, 5.0, -4.6};
    cr_expect(!sm_margins_at(&m, number(9.0), &outside, 1).is_inside);
    sm_arena_release(&v.arena);
}

static struct sm_flight_model flown(struct steady *v)
{
    steady_set_up(v, thrust, 0.196, 0.25 * pi);
    return (struct sm_flight_model){.profile = &v->profile,
                                    .drag = 0.02,
                                    .n = 1,
                                    .groups = {{.spread = v->spread, .high = 0.25 * pi, .ramp = 0.4}}};
}

Test(margins, with_drag_and_ramps_they_reach_to_the_outlines_edge)
{
    struct steady v;
    struct sm_margins m;
    struct sm_outline o;
    const double limit = 1.0;
    const struct sm_flight_model model = flown(&v);
    fill(&v, &model, limit, &m);
    for (double t = 0.5; t < 11.0; t += 2.5) {
        sm_outline_tube(&model, limit, t, burn, &o);
        cr_assert(o.n > 6, "%zu points at %g s", o.n, t);
        for (size_t i = 1; i + 3 < o.n; i += 3) {
            const struct sm_flight_state low = {t, o.at[i], o.low[i] + 0.01},
                                         high = {t, o.at[i], o.high[i] - 0.01};
            if (o.high[i] - o.low[i] < 0.05 || o.low[i] < -20.0) /* no flight is so fast */
                continue;
            cr_expect(fabs(sm_margins_at(&m, number(t), &low, 0).speed - 0.01) < 1e-3, "%g s, %g m: %g m/s",
                      t, o.at[i], sm_margins_at(&m, number(t), &low, 0).speed);
            cr_expect(fabs(sm_margins_at(&m, number(t), &high, 0).speed - 0.01) < 1e-3, "%g s, %g m: %g m/s",
                      t, o.at[i], sm_margins_at(&m, number(t), &high, 0).speed);
        }
    }
    sm_arena_release(&v.arena);
}

Test(margins, of_a_flight_that_lands_are_never_nothing)
{
    /* Full thrust down to a contact at half of the limit, seen at every instant: no closer to the edge in height than at that contact's
     * parabola, were there no drag; and some thrust is to spare. */
    struct steady v;
    struct sm_margins m;
    const struct sm_flight_model model = flown(&v);
    const struct sm_switches none = {SM_INF, SM_INF};
    struct sm_flight_state at = {11.0, 0.0, -0.5};
    fill(&v, &model, 1.0, &m);
    const double A = thrust / 2.14 - g; /* about, while it brakes */
    for (size_t i = number(11.0); i-- > number(7.5);) {
        sm_flight_back(&model, &at, &none, m.t[i], &at);
        const struct sm_margin out = sm_margins_at(&m, i, &at, i % SM_MARGIN_STEPS == 0);
        cr_assert(out.is_inside && out.speed > 0.02 && (i % SM_MARGIN_STEPS != 0 || out.thrust > 0.001),
                  "%g s: %d, %g m/s, %g, at %g m, %g m/s", m.t[i], out.is_inside, out.speed, out.thrust, at.h,
                  at.v);
        cr_assert(at.v > -1.0 || fabs(out.height * 2.0 * A / 0.75 - 1.0) < 0.25, "%g s: %g m", m.t[i],
                  out.height);
    }
    sm_arena_release(&v.arena);
}

Test(margins, of_thrust_end_where_the_tube_of_that_thrust_ends)
{
    struct steady v;
    struct sm_margins m, other;
    struct sm_flight_model model = flown(&v);
    fill(&v, &model, 1.0, &m);
    static const double states[][3] = {{3.0, 6.0, 3.5}, {8.0, 9.0, -2.5}, {10.0, 3.0, -2.2}};
    for (size_t i = 0; i < SM_COUNT(states); i++) {
        const struct sm_flight_state at = {states[i][0], states[i][1], states[i][2]};
        const double margin = sm_margins_at(&m, number(at.t), &at, 1).thrust;
        int holds[2][2]; /* just within and just beyond, less and more */
        cr_assert(margin > 0.005 && margin < 0.49, "%g", margin);
        for (int beyond = 0; beyond < 2; beyond++)
            for (int sign = 0; sign < 2; sign++) {
                struct sm_flight_model scaled = model;
                scaled.more = (sign ? 1.0 : -1.0) * margin * (beyond ? 1.02 : 0.98);
                fill(&v, &scaled, 1.0, &other);
                holds[beyond][sign] = sm_margins_at(&other, number(at.t), &at, 0).is_inside;
            }
        cr_expect(holds[0][0] && holds[0][1] && !(holds[1][0] && holds[1][1]), "%zu: at %g", i, margin);
    }
    sm_arena_release(&v.arena);
}

Test(margins, without_drag_and_ramps_they_are_the_closed_form)
{
    struct steady v;
    struct sm_margins m;
    double slowest, fastest;
    steady_set_up(&v, thrust, 0.196, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    fill(&v, &model, 1.0, &m);
    const struct sm_tube tube = {&v.profile, 1.0, 1.0};
    const struct sm_flight_state at = {8.0, 9.0, -2.5};
    cr_assert(!m.is_flown && sm_tube_speeds(&tube, at.t, at.h, &slowest, &fastest));
    const struct sm_margin out = sm_margins_at(&m, number(at.t), &at, 1);
    cr_expect(fabs(out.speed - fmin(at.v - slowest, fastest - at.v)) < 1e-12);
    cr_expect(fabs(out.thrust - sm_tube_thrust_margin(&tube, &at, 0.5)) < 1e-12);
    sm_arena_release(&v.arena);
}
