#include "ballistics/portflow.h"

#include <math.h>

double sm_port_mach(const struct sm_port_gas *gas, const struct sm_port_point *point)
{
    const double square = point->speed * point->speed, g = gas->gamma;
    return sqrt(square / (g * gas->rt - 0.5 * (g - 1.0) * square)); /* T = T0 - u^2 / (2 c_p) */
}

double sm_port_total(const struct sm_port_gas *gas, const struct sm_port_point *point)
{
    const double g = gas->gamma, mach = sm_port_mach(gas, point);
    return point->pressure * pow(1.0 + 0.5 * (g - 1.0) * mach * mach, g / (g - 1.0));
}

double sm_port_drag(const struct sm_port_state *state, const struct sm_port_point *point, double friction,
                    double wetted)
{
    return 0.5 * friction * state->flow * point->speed / state->area * wetted; /* rho u = mdot / A */
}

/* With the mean of both pressures on the wall, the later one by its slope dp/dA = rho u^2 / ((1 - M^2) A): what is left out is
 * of third order in the change. */
static int turn_gently(const struct sm_port_gas *gas, struct sm_port_state *state, double area)
{
    struct sm_port_point before;
    if (!sm_port_at(gas, state, &before))
        return 0;
    const double change = area - state->area, square = before.speed * before.speed, g = gas->gamma;
    const double sound = g * gas->rt - 0.5 * (g - 1.0) * square;
    const double slope = state->flow * before.speed * sound / ((sound - square) * state->area * state->area);
    state->push += (before.pressure + 0.5 * slope * change) * change;
    state->area = area;
    return 1;
}

/* Without loss: the stagnation pressure holds. Newton's method for M from below, where the flow is concave in it. */
static int turn_smoothly(const struct sm_port_gas *gas, struct sm_port_state *state, double area)
{
    const double g = gas->gamma, half = 0.5 * (g - 1.0), power = -0.5 * (g + 1.0) / (g - 1.0);
    struct sm_port_point before;
    if (!sm_port_at(gas, state, &before))
        return 0;
    const double total = sm_port_total(gas, &before);
    const double wanted = fabs(state->flow) * sqrt(gas->rt / g) / (area * total);
    if (wanted >= pow(1.0 + half, power))
        return 0;
    double mach = wanted;
    for (int i = 0; i < 50; i++) {
        const double square = mach * mach, grown = pow(1.0 + half * square, power);
        const double step = (wanted - mach * grown) * (1.0 + half * square) / (grown * (1.0 - square));
        mach += step;
        if (fabs(step) <= 1e-15 * mach)
            break;
    }
    const double pressure = total * pow(1.0 + half * mach * mach, -g / (g - 1.0));
    state->push = pressure * area * (1.0 + g * mach * mach);
    state->area = area;
    return 1;
}

int sm_port_turn(const struct sm_port_gas *gas, struct sm_port_state *state, double area)
{
    /* Where a widening counts as sudden. At a tenth the loss is (1 - 1/1.1)^2, 0.8 % of the dynamic pressure, so that it
     * matters little on which side a wall falls. */
    static const double sudden = 0.1;
    const double change = area / state->area - 1.0;
    struct sm_port_point before;
    if (change == 0.0)
        return 1;
    if (state->flow == 0.0) {
        state->push *= 1.0 + change;
        state->area = area;
        return 1;
    }
    if (fabs(change) < sudden)
        return turn_gently(gas, state, area);
    if (change < 0.0 || state->flow < 0.0)
        return turn_smoothly(gas, state, area);
    if (!sm_port_at(gas, state, &before))
        return 0;
    state->push += before.pressure * (area - state->area);
    state->area = area;
    return 1;
}
