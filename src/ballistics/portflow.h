/*
 * Steady flow along a port: one dimension, a perfect gas of constant total temperature, fed from its wall.
 *
 * A state is the mass flow mdot, the momentum function F = p A + mdot u and the section A. With T0 constant F / mdot is a
 * quadratic of the speed alone,
 *
 *     (gamma + 1) / (2 gamma) u^2 - (F / mdot) u + R T0 = 0,
 *
 * whose smaller root is the subsonic speed; it has none where the flow chokes. Gas that leaves the wall brings no momentum
 * along the axis, so mass adds to mdot and leaves F as it is; a pressed wall adds p dA to F, and friction takes from it.
 *
 * Reference: A. H. Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, Ronald Press 1953, ch. 8,
 * generalized one-dimensional flow (from memory). Derived in docs/theory.md.
 */
#ifndef SM_BALLISTICS_PORTFLOW_H
#define SM_BALLISTICS_PORTFLOW_H

#include <math.h>

struct sm_port_gas {
    double gamma; /* [1] */
    double rt;    /* R T0 [J/kg] */
};

struct sm_port_state {
    double flow; /* mdot, towards the nozzle; may be negative [kg/s] */
    double push; /* F [N] */
    double area; /* A [m2] */
};

/* What follows from a state. */
struct sm_port_point {
    double pressure; /* static [Pa] */
    double speed;    /* [m/s] */
};

/* Returned: 1, or 0 if there is no subsonic flow of such mass and momentum: it is choked. */
static inline int sm_port_at(const struct sm_port_gas *gas, const struct sm_port_state *state,
                             struct sm_port_point *out)
{
    *out = (struct sm_port_point){.pressure = state->push / state->area};
    if (state->flow == 0.0)
        return 1;
    const double lead = (gas->gamma + 1.0) / gas->gamma, ratio = state->push / fabs(state->flow);
    const double inside = ratio * ratio - 2.0 * lead * gas->rt;
    if (!(inside > 0.0))
        return 0;
    /* The smaller root without the difference of two near values. */
    const double speed = 2.0 * gas->rt / (ratio + sqrt(inside));
    out->speed = copysign(speed, state->flow);
    out->pressure = (state->push - fabs(state->flow) * speed) / state->area;
    return 1;
}

/* Adds half a cell or a whole one: mass [kg/s] from the wall, and drag [N] by friction. */
static inline void sm_port_feed(struct sm_port_state *state, double mass, double drag)
{
    state->flow += mass;
    state->push -= drag;
}

/*
 * Carries a state on to another section [m2], without mass: along a wall that widens or narrows by less than a tenth with the
 * mean of both pressures on it; over a sudden widening with the pressure before it on the step (Borda and Carnot); into a
 * narrower port without loss. Returned: 1, or 0 if it chokes, with the state as it was.
 */
int sm_port_turn(const struct sm_port_gas *gas, struct sm_port_state *state, double area);

/* Drag [N] of a wall of this wetted area [m2] with Fanning's factor f [1]: f rho u^2 / 2 times the area. */
double sm_port_drag(const struct sm_port_state *state, const struct sm_port_point *point, double friction,
                    double wetted);

/* Mach number [1]. */
double sm_port_mach(const struct sm_port_gas *gas, const struct sm_port_point *point);

/* Stagnation pressure [Pa]. */
double sm_port_total(const struct sm_port_gas *gas, const struct sm_port_point *point);

#endif
