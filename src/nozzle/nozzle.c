/*
 * Mass flow and thrust of a conical nozzle.
 *
 * Symbols: P chamber pressure, p_a ambient pressure, x = P/p_a, M Mach number, A area, A_t throat, A_e exit,
 * k = (gamma - 1)/2. In an isentropic stream the momentum flow is mdot v = gamma M^2 p A.
 *
 * Thrust, in every regime, is
 *
 *     F = zeta (lambda mdot v + p A) - p_a A
 *
 * at the place where the stream leaves the wall: the exit while attached, further up when separated, the
 * throat when unchoked. The wall beyond feels p_a on both sides. So dF/dp_a = -A_e exactly while attached.
 *
 * Separation. The stream leaves the wall where its pressure has fallen to p_s = p_a phi(M),
 * phi = min(1, max(0.4, (1.88 M - 1)^-0.64)). With g(M) = phi(M) p_0/p(M) that is g(M) = x, the largest root
 * up to the exit's Mach number. Where phi is 1 (up to M = 2/1.88) or 0.4, g rises. Between, d ln g/dM has the
 * sign of a quadratic in M that has one positive root, the fold: so g falls a little from M = 2/1.88 to the
 * fold (near M = 1.09, if the fold comes later) and rises from there on. This makes the search short and
 * certain: with x at or above g(fold) the largest root lies between the fold and the exit, else below
 * M = 2/1.88, where the stream leaves at p_a and the root is a formula.
 *
 * Where x passes g(fold) the place of separation jumps over the stretch in which g falls, within A/A_t = 1.003
 * to 1.010, and thrust falls by a few thousandths as P rises: by under 1 % for area ratios from 1.1 and half
 * angles up to 30 deg (tested). A cone cut off within that stretch steps by up to its divergence loss.
 *
 * Thrust below zero. zeta takes its share of all the stream's thrust, the part that only balances p_a on the
 * throat included. Just above x = 1, where that is nearly all of it, the formula gives down to -(1 - zeta)
 * p_a A_t: a suction that no motor shows. There thrust is taken as zero. With zeta = 0.95 this ends at x
 * = 1.03, far below choking, and F stays continuous. Scaling only the excess, zeta mdot v, would avoid it but
 * would break continuity at choking.
 *
 * Reference: M. Summerfield, C. R. Foster, W. C. Swan, Flow Separation in Overexpanded Supersonic Exhaust
 * Nozzles, Jet Propulsion 24 (1954) 319, for the 0.4; R. H. Schmucker, NASA TM-77396 (1984), for the form
 * above it (both as textbooks quote them).
 */
#include "nozzle/nozzle.h"

#include <math.h>
#include <stddef.h>

#include "nozzle/isentropic.h"

/* Constants of phi [1]. */
#define SCHMUCKER_SLOPE    1.88
#define SCHMUCKER_EXPONENT 0.64
#define SUMMERFIELD        0.4

/* A larger exit over throat area is taken for a slip of unit [1]; large vacuum nozzles have some hundreds. */
#define LARGEST_AREA_RATIO 1000.0

/* Equal diameters may come out of unit conversion and squaring this far apart [1]. */
#define AREA_SLACK 1e-12

#define QUANTITY(field, d, lo, hi, def, text)                                                                \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_##d, .offset = offsetof(struct sm_nozzle, field), \
        .min = lo, .max = hi, .fallback = def, .help = text                                                  \
    }

const struct sm_param sm_nozzle_params[] = {
    QUANTITY(throat_diameter, LENGTH, 1e-4, 2.0, SM_REQUIRED, "diameter of the throat before the burn"),
    QUANTITY(exit_diameter, LENGTH, 1e-4, 10.0, SM_REQUIRED,
             "diameter of the exit; the throat's for a nozzle without a cone"),
    QUANTITY(half_angle, ANGLE, 0.0, 45.0 * M_PI / 180.0, 15.0 * M_PI / 180.0, "half angle of the exit cone"),
    /* 0.92 to 0.99 are usual [D. Davis, PROPULSION, module 3]; the default is the middle, rounded down. */
    QUANTITY(thrust_efficiency, NONE, 0.5, 1.0, 0.95,
             "delivered over ideal thrust of the stream, besides the cone's divergence"),
    QUANTITY(discharge_coefficient, NONE, 0.5, 1.0, 1.0,
             "area of the stream at the throat over the throat's own; below 1 for a sharp-edged entrance"),
    QUANTITY(gamma, NONE, 1.01, 1.67, SM_OPTIONAL,
             "ratio of specific heats of the expanding gas; the propellant's if not given"),
    QUANTITY(closure_pressure, PRESSURE, 1e3, 1e8, SM_OPTIONAL,
             "chamber pressure that opens a closure of the nozzle; none if not given"),
    {.name = "erosion",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_nozzle, erosion),
     .rows = sm_wear_params,
     .n_rows = SM_N_WEAR_PARAMS,
     .fallback = SM_OPTIONAL,
     .help = "wear of the throat's wall, rate * (pressure / at)^exponent; none if not given"},
    {.name = "deposit",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_nozzle, deposit),
     .rows = sm_wear_params,
     .n_rows = SM_N_WEAR_PARAMS,
     .fallback = SM_OPTIONAL,
     .help = "slag that settles on the throat's wall, rate * (pressure / at)^exponent; none if not given"},
};
const size_t sm_n_nozzle_params = SM_COUNT(sm_nozzle_params);

static double circle(double diameter)
{
    return 0.25 * M_PI * diameter * diameter;
}

enum sm_status sm_nozzle_check(const struct sm_nozzle *nozzle, struct sm_error *err)
{
    const double eps = circle(nozzle->exit_diameter) / circle(nozzle->throat_diameter);
    if (eps < 1.0 - AREA_SLACK)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY,
                             "exit_diameter %.4g mm is smaller than throat_diameter %.4g mm",
                             1e3 * nozzle->exit_diameter, 1e3 * nozzle->throat_diameter),
                     "/exit_diameter");
    if (eps > LARGEST_AREA_RATIO)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE,
                             "exit over throat area is %.4g, more than any nozzle's (%g): look at the units",
                             eps, LARGEST_AREA_RATIO),
                     "/exit_diameter");
    return SM_OK;
}

/* ---- separation ---- */

/* phi(M), and d ln phi/dM. */
static double separation_ratio(double mach, double *log_slope)
{
    const double base = SCHMUCKER_SLOPE * mach - 1.0;
    const double phi = base > 1.0 ? pow(base, -SCHMUCKER_EXPONENT) : 1.0;
    const int is_between = base > 1.0 && phi > SUMMERFIELD;
    *log_slope = is_between ? -SCHMUCKER_EXPONENT * SCHMUCKER_SLOPE / base : 0.0;
    return fmax(phi, SUMMERFIELD);
}

/* ln g(M), and d ln g/dM. */
static double log_balance(double gamma, double mach, double *slope)
{
    const double k = 0.5 * (gamma - 1.0);
    double phi_slope;
    const double phi = separation_ratio(mach, &phi_slope);
    *slope = gamma * mach / (1.0 + k * mach * mach) + phi_slope;
    return gamma / (gamma - 1.0) * log1p(k * mach * mach) + log(phi);
}

static double balance(double gamma, double mach)
{
    double slope;
    return exp(log_balance(gamma, mach, &slope));
}

/* Mach number past which g only rises: the positive root of
 * (1.88 gamma - 1.2032 k) M^2 - gamma M - 1.2032 = 0, or where phi leaves 1 if that is later. */
static double fold_mach(double gamma)
{
    const double k = 0.5 * (gamma - 1.0), c = SCHMUCKER_SLOPE * SCHMUCKER_EXPONENT;
    const double a = SCHMUCKER_SLOPE * gamma - c * k;
    const double root = (gamma + sqrt(gamma * gamma + 4.0 * a * c)) / (2.0 * a);
    return fmax(root, 2.0 / SCHMUCKER_SLOPE);
}

/* Mach number at which the stream's pressure is p_0 / x. */
static double mach_at_expansion(double gamma, double x)
{
    return sqrt(expm1((gamma - 1.0) / gamma * log(x)) / (0.5 * (gamma - 1.0)));
}

/* Root of g(M) = x between lo and hi, where g rises and g(lo) <= x <= g(hi): Newton's method, halving where
 * it would leave the bracket. */
static double rising_root(double gamma, double x, double lo, double hi)
{
    enum {
        MAX_STEPS = 60
    }; /* 9 at most from 0.1 % above the fold on; at it, a double root, the error but halves */
    const double target = log(x);
    double mach = 0.5 * (lo + hi);
    for (int i = 0; i < MAX_STEPS; i++) {
        double slope;
        const double miss = log_balance(gamma, mach, &slope) - target;
        if (miss > 0.0)
            hi = mach;
        else
            lo = mach;
        double next = mach - miss / slope;
        if (!(next >= lo && next <= hi))
            next = 0.5 * (lo + hi);
        const double step = fabs(next - mach);
        mach = next;
        /* The next Newton step would be some step^2 over the slope, which is lost in the rounding. */
        if (step <= 1e-10)
            break;
    }
    return mach;
}

/* Largest root of g(M) = x for a cone of any length; x at or above g(1). */
static double separation_mach(double gamma, double fold, double fold_balance, double x)
{
    /* phi reaches its floor at this Mach number; past it the root is a formula. */
    const double floor_mach = (1.0 + pow(SUMMERFIELD, -1.0 / SCHMUCKER_EXPONENT)) / SCHMUCKER_SLOPE;
    const double at_floor = mach_at_expansion(gamma, x / SUMMERFIELD);
    if (x < fold_balance)
        return mach_at_expansion(gamma, x);
    if (at_floor >= floor_mach)
        return at_floor;
    return rising_root(gamma, x, fold, floor_mach);
}

/* ---- the stream at a place ---- */

/* zeta (lambda mdot v + p A) at Mach number M, over P A_t [1], with A over A_t and their slopes against M. */
struct place {
    double area, area_slope;     /* A/A_t and d(A/A_t)/dM [1] */
    double stream, stream_slope; /* [1] */
};

double sm_jet_fall(const struct sm_jet *jet)
{
    const double eps = jet->exit_area / jet->throat_area;
    return eps > 1.0 ? (1.0 - jet->lambda_exit) / (eps - 1.0) : 0.0;
}

static void place_at(const struct sm_jet *jet, double mach, struct place *out)
{
    const double gamma = jet->gamma, m2 = mach * mach, heat = 1.0 + 0.5 * (gamma - 1.0) * m2;
    const double area = sm_flow_area_ratio(gamma, mach), pressure = sm_flow_pressure_ratio(gamma, mach);
    const double log_area = (m2 - 1.0) / (mach * heat); /* d ln A/dM */
    const double fall = sm_jet_fall(jet);
    const double lambda = 1.0 - fall * (area - 1.0), push = pressure * area;
    const double momentum = gamma * m2 * push;

    out->area = area;
    out->area_slope = area * log_area;
    out->stream = jet->efficiency * (lambda * momentum + push);
    /* d ln v/dM = 1/(M heat), d ln p/dM = -gamma M/heat */
    out->stream_slope =
        jet->efficiency * (lambda * momentum / (mach * heat) - fall * out->area_slope * momentum +
                           push * (log_area - gamma * mach / heat));
}

static void fill_throat(struct sm_jet *jet, double throat_area, double exit_mach)
{
    const double eps = fmax(1.0, jet->exit_area / throat_area);
    jet->throat_area = throat_area;
    jet->exit_area = eps * throat_area;
    jet->lambda_exit = eps > 1.0 + AREA_SLACK ? jet->lambda_cone : 1.0; /* without a cone nothing diverges */
    jet->exit_mach = exit_mach;
    jet->exit_ratio = sm_flow_pressure_ratio(jet->gamma, exit_mach);
    jet->attached_pressure = jet->ambient * balance(jet->gamma, exit_mach);
    struct place exit;
    place_at(jet, exit_mach, &exit);
    jet->thrust_slope = exit.stream * throat_area;
}

enum sm_status sm_jet_init(struct sm_jet *jet, const struct sm_nozzle *nozzle, double throat_area,
                           double gamma, double cstar, double rt, double ambient, struct sm_error *err)
{
    const int has_cone = circle(nozzle->exit_diameter) > circle(nozzle->throat_diameter) * (1.0 + AREA_SLACK);
    const double exit_area =
        has_cone ? circle(nozzle->exit_diameter) : fmin(circle(nozzle->exit_diameter), throat_area);
    if (!(throat_area > 0.0 && cstar > 0.0 && rt > 0.0 && ambient >= 0.0))
        return sm_fail(err, SM_E_RANGE,
                       "throat area, characteristic velocity and RT must be above 0, "
                       "ambient pressure not below it");
    if (!(throat_area <= exit_area * (1.0 + AREA_SLACK)))
        return sm_fail(err, SM_E_GEOMETRY, "the throat of %.4g mm2 is wider than the exit of %.4g mm2",
                       1e6 * throat_area, 1e6 * exit_area);
    double mach;
    SM_TRY(sm_flow_mach(gamma, fmax(1.0, exit_area / throat_area), 1, &mach, err));
    *jet = (struct sm_jet){
        .gamma = gamma,
        .cstar = cstar,
        .rt = rt,
        .exit_area = exit_area,
        .has_cone = has_cone,
        .lambda_cone = 0.5 * (1.0 + cos(nozzle->half_angle)),
        .efficiency = nozzle->thrust_efficiency,
        .ambient = ambient,
        .choking_pressure = ambient / sm_flow_critical_ratio(gamma),
        .fold_mach = fold_mach(gamma),
    };
    jet->fold_balance = balance(gamma, jet->fold_mach);
    fill_throat(jet, throat_area, mach);
    return SM_OK;
}

void sm_jet_resize(struct sm_jet *jet, double throat_area)
{
    double mach = 1.0;
    if (!jet->has_cone)
        jet->exit_area = throat_area;
    /* Area ratios of 1 and more always have a root; without one the throat would be taken as the exit. */
    if (sm_flow_mach(jet->gamma, fmax(1.0, jet->exit_area / throat_area), 1, &mach, NULL) != SM_OK)
        mach = 1.0;
    fill_throat(jet, throat_area, mach);
}

/* ---- unchoked: the jet leaves the throat at p_a ---- */

/* M^2 and p_0/p to the power (gamma - 1)/gamma, for P > p_a; good to all digits near P = p_a. */
static double subsonic(const struct sm_jet *jet, double pressure, double *heat)
{
    const double power = (jet->gamma - 1.0) / jet->gamma;
    const double excess = expm1(power * log1p((pressure - jet->ambient) / jet->ambient));
    *heat = 1.0 + excess;
    return excess / (0.5 * (jet->gamma - 1.0));
}

static double unchoked_flow(const struct sm_jet *jet, double pressure, double *slope)
{
    double heat;
    const double m2 = subsonic(jet, pressure, &heat);
    const double flow = jet->ambient * jet->throat_area * sqrt(m2 * heat * jet->gamma / jet->rt);
    if (slope)
        *slope = flow * (2.0 * heat - 1.0) / (jet->gamma * pressure * m2);
    return flow;
}

static double unchoked_thrust(const struct sm_jet *jet, double pressure, double *slope)
{
    double heat;
    const double m2 = subsonic(jet, pressure, &heat);
    const double push = jet->ambient * jet->throat_area;
    const double thrust = push * (jet->efficiency * jet->gamma * m2 - (1.0 - jet->efficiency));
    const int is_thrust = thrust > 0.0;
    if (slope)
        *slope = is_thrust ? jet->efficiency * push * 2.0 * heat / pressure : 0.0;
    return is_thrust ? thrust : 0.0;
}

/* Where the flow leaves the wall of a choked cone. One that ends before the fold has only the lower branch. */
static double mach_of_leaving(const struct sm_jet *jet, double x)
{
    const double limit = jet->exit_mach > jet->fold_mach ? jet->fold_balance : SM_INF;
    return separation_mach(jet->gamma, jet->fold_mach, limit, x);
}

static double separated_thrust(const struct sm_jet *jet, double pressure, double *slope)
{
    const double gamma = jet->gamma, x = pressure / jet->ambient;
    const double mach = mach_of_leaving(jet, x);
    struct place here;
    place_at(jet, mach, &here);
    if (slope) {
        double steepness; /* d ln g/dM, so that dM/dP = 1/(P steepness) */
        log_balance(gamma, mach, &steepness);
        const double along = here.stream_slope - here.area_slope / x;
        *slope = jet->throat_area * (here.stream + along / steepness);
    }
    return jet->throat_area * (pressure * here.stream - jet->ambient * here.area);
}

/* ---- what the inner loop calls ---- */

enum sm_flow sm_jet_flow(const struct sm_jet *jet, double pressure)
{
    if (!(pressure > jet->ambient))
        return SM_FLOW_NONE;
    if (pressure >= jet->attached_pressure)
        return SM_FLOW_ATTACHED;
    return pressure >= jet->choking_pressure ? SM_FLOW_SEPARATED : SM_FLOW_UNCHOKED;
}

double sm_jet_mass_flow(const struct sm_jet *jet, double pressure, double *slope)
{
    if (pressure > jet->ambient && pressure >= jet->choking_pressure) {
        const double per_pressure = jet->throat_area / jet->cstar;
        if (slope)
            *slope = per_pressure;
        return per_pressure * pressure;
    }
    if (pressure > jet->ambient)
        return unchoked_flow(jet, pressure, slope);
    if (slope)
        *slope = 0.0;
    return 0.0;
}

double sm_jet_thrust(const struct sm_jet *jet, double pressure, double *slope, enum sm_flow *flow)
{
    const enum sm_flow regime = sm_jet_flow(jet, pressure);
    double thrust = 0.0, steep = 0.0;
    if (regime == SM_FLOW_ATTACHED) {
        steep = jet->thrust_slope;
        thrust = steep * pressure - jet->ambient * jet->exit_area;
    } else if (regime == SM_FLOW_SEPARATED) {
        thrust = separated_thrust(jet, pressure, slope ? &steep : NULL);
    } else if (regime == SM_FLOW_UNCHOKED) {
        thrust = unchoked_thrust(jet, pressure, slope ? &steep : NULL);
    }
    if (slope)
        *slope = steep;
    if (flow)
        *flow = regime;
    return thrust;
}

void sm_jet_parts(const struct sm_jet *jet, double pressure, double parts[3])
{
    if (pressure < jet->choking_pressure) {
        double heat;
        parts[0] = 1.0 + jet->gamma * subsonic(jet, pressure, &heat);
        parts[1] = 0.0;
        parts[2] = 1.0;
        return;
    }
    const double x = pressure / jet->ambient, mach = mach_of_leaving(jet, x);
    const double area = sm_flow_area_ratio(jet->gamma, mach);
    const double push = sm_flow_pressure_ratio(jet->gamma, mach) * area;
    const double momentum = jet->gamma * mach * mach * push;
    parts[0] = x * (momentum + push);
    parts[1] = x * (area - 1.0) * momentum;
    parts[2] = area;
}

double sm_jet_fitting_exit(const struct sm_jet *jet, double pressure)
{
    if (jet->ambient == 0.0)
        return SM_INF;
    double mach = 1.0;
    if (pressure > jet->choking_pressure)
        mach = separation_mach(jet->gamma, jet->fold_mach, jet->fold_balance, pressure / jet->ambient);
    return sqrt(jet->throat_area * sm_flow_area_ratio(jet->gamma, mach) / (0.25 * M_PI));
}
