/*
 * Flights without drag on two motors of 13 N for 13.5 s with 98 g of propellant each, on a vehicle of 2.3 kg at release, tilt
 * without delay. Highest flights that touch down softly at burnout, from an independent closed-form integration (rocket
 * equation with gravity loss; no published source).
 */
#include "vehicle/reach.h"
#include "steady.h"

#include <criterion/criterion.h>
#include <math.h>

static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3,
                    propellant = 0.196;

Test(reach, full_thrust_obeys_the_rocket_equation)
{
    /* v = c ln(m0 / m) - g t with c = F t / propellant. */
    struct steady v;
    steady_set_up(&v, thrust, propellant, 40.0 * pi / 180.0);
    double slowest, fastest;
    const struct sm_flight_state start = {0};
    sm_reach_speeds(&v.profile, &start, burn, &slowest, &fastest);
    const double c = thrust * burn / propellant;
    const double full = c * log(release / (release - propellant)) - 9.80665 * burn;
    const double least = c * cos(40.0 * pi / 180.0) * log(release / (release - propellant)) - 9.80665 * burn;
    cr_expect(fabs(fastest - full) < 1e-9 && fabs(slowest - least) < 1e-9, "%g %g", fastest - full,
              slowest - least);
    sm_arena_release(&v.arena);
}

Test(reach, highest_soft_landings_meet_the_worked_figures)
{
    static const double rows[][2] = {{40.0, 12.186}, {45.0, 18.775}, {60.0, 29.682}}; /* tilt limit, apogee */
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct steady v;
        struct sm_switches control;
        struct sm_flight_state end, apogee;
        const struct sm_flight_state start = {0};
        double lowest;
        steady_set_up(&v, thrust, propellant, rows[i][0] * pi / 180.0);
        cr_assert(sm_reach_highest(&v.profile, &start, burn, 0.0, 0.0, &control));
        sm_reach_fly(&v.profile, &start, &control, burn, &end);
        sm_reach_extremes(&v.profile, &start, &control, burn, &apogee, &lowest);
        cr_expect(fabs(end.h) < 1e-9 && fabs(end.v) < 1e-9, "lands at %g m, %g m/s", end.h, end.v);
        cr_expect(fabs(apogee.h / rows[i][1] - 1.0) < 1e-4, "%g degrees: %g m", rows[i][0], apogee.h);
        cr_expect(lowest > -1e-9, "never below ground");
        sm_arena_release(&v.arena);
    }
}

Test(reach, too_little_tilt_cannot_come_down_at_burnout)
{
    struct steady v;
    struct sm_switches control;
    const struct sm_flight_state start = {0};
    steady_set_up(&v, thrust, propellant, 30.0 * pi / 180.0);
    cr_expect(!sm_reach_highest(&v.profile, &start, burn, 0.0, 0.0, &control));
    sm_arena_release(&v.arena);
}

Test(reach, no_control_leaves_the_reachable_set)
{
    /* Ten thousand controls that switch twice at arbitrary times stay between the edges flown by one switch. */
    struct steady v;
    const struct sm_flight_state start = {0};
    steady_set_up(&v, thrust, propellant, 45.0 * pi / 180.0);
    for (int i = 0; i < 10000; i++) {
        const double off = burn * ((i * 37) % 9973) / 9973.0,
                     T = 1.0 + (burn - 1.0) * ((i * 61) % 9967) / 9967.0;
        const struct sm_switches control = {off, off + burn * ((i * 17) % 9949) / 9949.0};
        struct sm_flight_state end;
        double lowest, highest;
        sm_reach_fly(&v.profile, &start, &control, T, &end);
        cr_assert(sm_reach_heights(&v.profile, &start, T, end.v, &lowest, &highest), "speed %g at %g s",
                  end.v, T);
        cr_expect(end.h >= lowest - 1e-6 && end.h <= highest + 1e-6, "%g not in %g to %g", end.h, lowest,
                  highest);
    }
    sm_arena_release(&v.arena);
}

/* Thrust and mass that stay, at 60 degrees. */
static void set_up_constant(struct steady *v, double *up, double *down)
{
    steady_set_up(v, thrust, propellant, 60.0 * pi / 180.0);
    for (int i = 0; i < STEADY_KNOTS; i++)
        v->mass[i] = release;
    cr_assert(sm_profile_integrate(&v->profile, &v->arena, NULL) == SM_OK);
    *up = thrust / release - 9.80665;
    *down = 9.80665 - thrust * cos(pi / 3.0) / release;
}

Test(reach, constant_thrust_lands_soonest_by_one_switch)
{
    /* From rest at h, falling with B and stopping with A: h = B a^2 / 2 (1 + B / A), after a (1 + B / A) in all. */
    struct steady v;
    struct sm_switches control;
    double A, B, contact;
    set_up_constant(&v, &A, &B);
    const double h = 9.0, fall = sqrt(2.0 * h / (B * (1.0 + B / A))), whole = fall * (1.0 + B / A);
    const struct sm_flight_state start = {1.0, h, 0.0};
    cr_expect(!sm_reach_lands(&v.profile, &start, 1.0 + whole - 1e-4, 0.0, &contact));
    cr_expect(sm_reach_lands(&v.profile, &start, 1.0 + whole + 1e-9, 0.0, &contact));
    cr_assert(sm_reach_highest(&v.profile, &start, 1.0 + whole + 1e-9, 0.0, 0.0, &control));
    cr_expect(control.off - 1.0 < 1e-3 && fabs(control.on - 1.0 - fall) < 1e-3, "%g s, %g s not %g s",
              control.off, control.on, 1.0 + fall);
    sm_arena_release(&v.arena);
}

Test(reach, constant_thrust_goes_highest_by_two_switches)
{
    /* Least thrust for q = A T / (A + B), full for s = B T / (A + B) in all; the first part p of it from h = 0 at the end:
     * A (2 p s - s^2) / 2 + A p q - B q^2 / 2 = 0. */
    struct steady v;
    struct sm_switches control;
    struct sm_flight_state apogee;
    double A, B, lowest;
    set_up_constant(&v, &A, &B);
    const struct sm_flight_state start = {0};
    const double T = 11.0, q = A * T / (A + B), s = B * T / (A + B);
    const double p = (A * s * s + B * q * q) / (2.0 * A * (s + q));
    cr_assert(sm_reach_highest(&v.profile, &start, T, 0.0, 0.0, &control));
    sm_reach_extremes(&v.profile, &start, &control, T, &apogee, &lowest);
    cr_expect(fabs(control.off - p) < 1e-9 && fabs(control.on - p - q) < 1e-9, "%g s, %g s", control.off - p,
              control.on - p - q);
    cr_expect(fabs(apogee.h - 0.5 * A * p * p * (1.0 + A / B)) < 1e-9, "%g m", apogee.h);
    sm_arena_release(&v.arena);
}
