/*
 * One-dimensional isentropic flow of a perfect gas.
 *
 * With k = (gamma - 1)/2 and s = ln M, the area relation reads
 *
 *     ln(A/A*) = -s + E ln(1 + q (M^2 - 1)),   E = (gamma + 1)/(2 (gamma - 1)),  q = (gamma - 1)/(gamma + 1),
 *
 * which keeps its digits near the throat (expm1 and log1p) and is convex in s with its minimum at s = 0, so
 * that Newton's method from any start on the right side of the throat cannot miss.
 *
 * Reference: NACA Report 1135, Equations, Tables, and Charts for Compressible Flow (1953).
 */
#include "nozzle/isentropic.h"

#include <float.h>
#include <math.h>

/* Newton steps at most. From the starts below 7 were the most, over gamma 1.01 to 1.67 and area ratios to
 * 1e6. */
enum { MAX_STEPS = 60 };

double sm_flow_pressure_ratio(double gamma, double mach)
{
    const double k = 0.5 * (gamma - 1.0);
    return exp(-gamma / (gamma - 1.0) * log1p(k * mach * mach));
}

double sm_flow_critical_ratio(double gamma)
{
    return sm_flow_pressure_ratio(gamma, 1.0);
}

/* ln(A/A*) at s = ln M, and its slope. */
static double log_area(double gamma, double s, double *slope)
{
    const double k = 0.5 * (gamma - 1.0), power = (gamma + 1.0) / (2.0 * (gamma - 1.0));
    const double above = expm1(2.0 * s); /* M^2 - 1 */
    *slope = above / (1.0 + k * (1.0 + above));
    return power * log1p((gamma - 1.0) / (gamma + 1.0) * above) - s;
}

double sm_flow_area_ratio(double gamma, double mach)
{
    double slope;
    return exp(log_area(gamma, log(mach), &slope));
}

enum sm_status sm_flow_mach(double gamma, double area_ratio, int supersonic, double *mach,
                            struct sm_error *err)
{
    if (!(gamma > 1.0 && gamma < 2.0))
        return sm_fail(err, SM_E_RANGE, "gamma %g must lie between 1 and 2", gamma);
    if (!(area_ratio >= 1.0 && area_ratio <= DBL_MAX))
        return sm_fail(err, SM_E_RANGE, "area ratio %g must be 1 or more", area_ratio);
    const double target = log1p(area_ratio - 1.0);
    /* Near the throat ln(A/A*) is 2 s^2/(gamma + 1); far upstream M falls as the area grows. */
    const double near = sqrt(0.5 * (gamma + 1.0) * target);
    double s = supersonic ? near : -fmax(near, target);
    if (target == 0.0)
        s = 0.0;
    for (int i = 0; i < MAX_STEPS && s != 0.0; i++) {
        double slope;
        const double step = (log_area(gamma, s, &slope) - target) / slope;
        s -= step;
        /* The next step would be about step^2 / s, lost in the rounding. */
        if (fabs(step) <= 1e-9 * fabs(s) + 2.0 * DBL_EPSILON) {
            *mach = exp(s);
            return SM_OK;
        }
    }
    if (s != 0.0)
        return sm_fail(err, SM_E_INTERNAL, "no Mach number found for gamma %g, area ratio %g", gamma,
                       area_ratio);
    *mach = 1.0;
    return SM_OK;
}

enum sm_status sm_flow_thrust_coefficient(double gamma, double eps, double pc, double pa, double *cf,
                                          struct sm_error *err)
{
    if (!(pc > 0.0 && pa >= 0.0))
        return sm_fail(err, SM_E_RANGE, "chamber pressure %g Pa must be above 0, ambient %g Pa not below it",
                       pc, pa);
    double mach;
    SM_TRY(sm_flow_mach(gamma, eps, 1, &mach, err));
    const double ratio = sm_flow_pressure_ratio(gamma, mach);
    /* At the exit, momentum flow mdot v = gamma M^2 p A. */
    *cf = eps * (ratio * (1.0 + gamma * mach * mach) - pa / pc);
    return SM_OK;
}
