/* Flow along a port against closed forms of gas dynamics. Reference for them all: A. H. Shapiro, The Dynamics and
 * Thermodynamics of Compressible Fluid Flow, vol. 1, Ronald Press 1953, ch. 4 to 8, influence coefficients (from memory). */
#include <criterion/criterion.h>
#include <math.h>

#include "ballistics/portflow.h"

static const struct sm_port_gas gas = {1.22, 7.3e5};
static const double area = 1e-4; /* [m2] */

static double stretch(double mach)
{
    return 1.0 + 0.5 * (gas.gamma - 1.0) * mach * mach;
}

static double mach_of(const struct sm_port_state *state)
{
    struct sm_port_point point;
    cr_assert(sm_port_at(&gas, state, &point), "it chokes");
    return sm_port_mach(&gas, &point);
}

/* A state of Mach number M at static pressure p. */
static struct sm_port_state state_at(double mach, double pressure)
{
    const double speed = mach * sqrt(gas.gamma * gas.rt / stretch(mach));
    const double flow = pressure * area * gas.gamma * mach * mach / speed;
    return (struct sm_port_state){flow, pressure * area * (1.0 + gas.gamma * mach * mach), area};
}

/* Simple mass addition at right angles, constant area and total temperature: p / p_head = 1 / (1 + gamma M^2) and the mass
 * flow goes as M sqrt(1 + (gamma - 1) M^2 / 2) / (1 + gamma M^2). Both algebraic, so to rounding. */
Test(portflow, mass_addition)
{
    enum { STEPS = 1000 };
    const double head = 6e6;
    struct sm_port_state s = {0.0, head * area, area};
    const double most = 0.995 * head * area / sqrt(gas.rt * 2.0 * (gas.gamma + 1.0) / gas.gamma);
    double first = 0.0;
    for (int i = 1; i <= STEPS; i++) {
        struct sm_port_point point;
        sm_port_feed(&s, most / STEPS, 0.0);
        cr_assert(sm_port_at(&gas, &s, &point));
        const double m = sm_port_mach(&gas, &point), shape = m * sqrt(stretch(m)) / (1.0 + gas.gamma * m * m);
        cr_expect_float_eq(point.pressure * (1.0 + gas.gamma * m * m) / head, 1.0, 1e-12);
        first = i == 1 ? s.flow / shape : first;
        cr_expect_float_eq(s.flow / shape / first, 1.0, 1e-9, "M %.4f", m);
    }
    cr_expect(mach_of(&s) > 0.8);
    sm_port_feed(&s, 0.01 * most, 0.0);
    struct sm_port_point point;
    cr_expect_not(sm_port_at(&gas, &s, &point), "past Mach 1 there is no steady flow");
}

/* Friction alone: 4 f L / D from M to 1 is (1 - M^2) / (gamma M^2) + (gamma + 1) / (2 gamma) ln(...). The midpoint rule of the
 * march in 4000 cells from M = 0.2 to about 0.6 errs by 1e-7 of it. */
static double fanno(double m)
{
    const double g = gas.gamma;
    return (1.0 - m * m) / (g * m * m) + (g + 1.0) / (2.0 * g) * log((g + 1.0) * m * m / (2.0 * stretch(m)));
}

Test(portflow, friction)
{
    enum { STEPS = 4000 };
    const double friction = 0.004, diameter = sqrt(4.0 * area / M_PI);
    const double length = diameter / (4.0 * friction) * (fanno(0.2) - fanno(0.6));
    struct sm_port_state s = state_at(0.2, 5e6);
    const double wetted = M_PI * diameter * length / STEPS;
    for (int i = 0; i < STEPS; i++) {
        struct sm_port_point point;
        struct sm_port_state middle = s;
        cr_assert(sm_port_at(&gas, &s, &point));
        sm_port_feed(&middle, 0.0, sm_port_drag(&s, &point, friction, 0.5 * wetted));
        cr_assert(sm_port_at(&gas, &middle, &point));
        sm_port_feed(&s, 0.0, sm_port_drag(&middle, &point, friction, wetted));
    }
    cr_expect_float_eq(mach_of(&s), 0.6, 1e-6, "%.9f", mach_of(&s));
}

/* Isentropic change of area: A M (1 + (gamma - 1) M^2 / 2)^(-(gamma + 1) / (2 (gamma - 1))) holds still. */
static double narrowness(const struct sm_port_state *s)
{
    const double m = mach_of(s);
    return s->area * m * pow(stretch(m), -0.5 * (gas.gamma + 1.0) / (gas.gamma - 1.0));
}

Test(portflow, gentle_and_sudden_narrowing)
{
    enum { STEPS = 2000 };
    const double before_mach = 0.3;
    struct sm_port_state slow = state_at(before_mach, 5e6), wide = slow;
    const double before = narrowness(&slow), to = 0.7 * area;
    for (int i = 1; i <= STEPS; i++)
        cr_assert(sm_port_turn(&gas, &slow, area + (to - area) * i / STEPS));
    cr_expect_float_eq(narrowness(&slow) / before, 1.0, 1e-6);
    cr_assert(sm_port_turn(&gas, &wide, to));
    cr_expect_float_eq(narrowness(&wide) / before, 1.0, 1e-12);
    cr_expect_float_eq(mach_of(&slow) / mach_of(&wide), 1.0, 1e-6);
    cr_expect_not(sm_port_turn(&gas, &wide, 0.4 * area), "less than its sonic section");
    cr_expect_float_eq(wide.area, to, 1e-18);
}

/* A sudden widening at low speed loses (u1 - u2)^2 / 2 of head (Borda and Carnot, incompressible): at Mach 0.02 the gas is
 * that to M^2, 4e-4. */
Test(portflow, sudden_widening)
{
    struct sm_port_state s = state_at(0.02, 5e6);
    struct sm_port_point before, after;
    cr_assert(sm_port_at(&gas, &s, &before));
    const double density = s.flow / (s.area * before.speed);
    cr_assert(sm_port_turn(&gas, &s, 3.0 * area));
    cr_assert(sm_port_at(&gas, &s, &after));
    const double lost = sm_port_total(&gas, &before) - sm_port_total(&gas, &after);
    const double slower = before.speed - after.speed;
    cr_expect_float_eq(lost / (0.5 * density * slower * slower), 1.0, 2e-3, "%.6f",
                       lost / (0.5 * density * slower * slower));
}

/* Gas that runs to the head end is a mirror of gas that runs from it. */
Test(portflow, backwards)
{
    struct sm_port_state s = state_at(0.2, 5e6), back = s;
    struct sm_port_point a, b;
    back.flow = -back.flow;
    cr_assert(sm_port_at(&gas, &s, &a) && sm_port_at(&gas, &back, &b));
    cr_expect(a.speed == -b.speed && a.pressure == b.pressure);
}
