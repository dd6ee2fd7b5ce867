/* The nozzle: mass flow, thrust, separation and the laws they must keep. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "nozzle/isentropic.h"
#include "nozzle/nozzle.h"
#include "propellant/propellant.h"
#include "reference/reference.h"

#define SEA_LEVEL 101325.0
#define CSTAR     1500.0
#define THROAT    0.01 /* diameter [m] */

/* A jet of exit over throat area eps, half angle in degrees. */
static struct sm_jet jet_of(double gamma, double eps, double angle, double efficiency, double ambient)
{
    const double function = sm_gas_vandenkerckhove(gamma);
    const struct sm_nozzle nozzle = {.throat_diameter = THROAT,
                                     .exit_diameter = THROAT * sqrt(eps),
                                     .half_angle = angle * M_PI / 180.0,
                                     .thrust_efficiency = efficiency};
    struct sm_jet jet;
    struct sm_error err;
    const enum sm_status status = sm_jet_init(&jet, &nozzle, 0.25 * M_PI * THROAT * THROAT, gamma, CSTAR,
                                              CSTAR * function * CSTAR * function, ambient, &err);
    cr_assert_eq(status, SM_OK, "%s", err.message);
    return jet;
}

static double thrust(const struct sm_jet *jet, double pressure)
{
    return sm_jet_thrust(jet, pressure, NULL, NULL);
}

Test(jet, rows_are_within_their_own_bounds)
{
    for (size_t i = 0; i < sm_n_nozzle_params; i++) {
        const struct sm_param *row = &sm_nozzle_params[i];
        cr_expect(row->kind == SM_RECORD || row->min < row->max, "%s", row->name);
        cr_expect(row->help[0], "%s", row->name);
        cr_expect(!isfinite(row->fallback) || (row->fallback >= row->min && row->fallback <= row->max), "%s",
                  row->name);
    }
}

Test(jet, check_names_the_value_at_fault)
{
    struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = 0.01, .half_angle = 0.26, .thrust_efficiency = 1.0};
    struct sm_error err;
    cr_expect_eq(sm_nozzle_check(&nozzle, &err), SM_OK);
    nozzle.exit_diameter = 0.0099;
    cr_expect_eq(sm_nozzle_check(&nozzle, &err), SM_E_GEOMETRY);
    cr_expect_str_eq(err.at.path, "/exit_diameter");
    nozzle.exit_diameter = 1.0; /* a hundred times the throat */
    cr_expect_eq(sm_nozzle_check(&nozzle, &err), SM_E_RANGE);
    cr_expect_str_eq(err.at.path, "/exit_diameter");
}

Test(jet, init_refuses_a_throat_wider_than_the_exit)
{
    const struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = 0.02, .thrust_efficiency = 1.0};
    struct sm_jet jet;
    struct sm_error err;
    cr_expect_eq(sm_jet_init(&jet, &nozzle, 4e-4, 1.2, 1500.0, 9e5, 0.0, &err), SM_E_GEOMETRY);
    cr_expect_eq(sm_jet_init(&jet, &nozzle, 0.0, 1.2, 1500.0, 9e5, 0.0, &err), SM_E_RANGE);
    cr_expect_eq(sm_jet_init(&jet, &nozzle, 1e-4, 1.2, 1500.0, 9e5, -1.0, &err), SM_E_RANGE);
}

/* Without losses and attached, F = CF P A_t with the published CF. */
Test(jet, published_thrust_coefficients)
{
    struct ref_table *t = ref_read("thrust-coefficient.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double pc = ref_number(t, i, "pc"),
                     pa = ref_has(t, i, "pa") ? ref_number(t, i, "pa") : SEA_LEVEL;
        const struct sm_jet jet = jet_of(ref_number(t, i, "gamma"), ref_number(t, i, "eps"), 0.0, 1.0, pa);
        cr_assert_eq(sm_jet_flow(&jet, pc), SM_FLOW_ATTACHED);
        ref_expect(t, i, "cf", thrust(&jet, pc) / (pc * jet.throat_area));
        ref_expect(t, i, "exit_mach", jet.exit_mach);
    }
    free(t);
}

/* The divergence factor takes from the momentum alone, the efficiency from momentum and exit pressure,
 * neither from the ambient pressure. */
Test(jet, losses)
{
    struct ref_table *t = ref_read("divergence.csv");
    const double pc = 7e6, gamma = 1.18, eps = 8.0;
    const struct sm_jet ideal = jet_of(gamma, eps, 0.0, 1.0, SEA_LEVEL);
    const double ambient = SEA_LEVEL * ideal.exit_area;
    const double pressure_part = ideal.exit_ratio * pc * ideal.exit_area;
    const double momentum = thrust(&ideal, pc) + ambient - pressure_part;
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct sm_jet jet = jet_of(gamma, eps, ref_number(t, i, "half_angle"), 0.92, SEA_LEVEL);
        ref_expect(t, i, "factor", ((thrust(&jet, pc) + ambient) / 0.92 - pressure_part) / momentum);
    }
    free(t);
}

/* Exactly, with every loss on, as long as the cone flows full. */
Test(jet, ambient_pressure_acts_on_the_exit_area)
{
    const struct sm_jet vacuum = jet_of(1.2, 6.0, 15.0, 0.9, 0.0),
                        sea = jet_of(1.2, 6.0, 15.0, 0.9, SEA_LEVEL);
    const struct sm_jet high = jet_of(1.2, 6.0, 15.0, 0.9, 22632.1);
    for (double p = sea.attached_pressure; p < 2e7; p *= 1.3) {
        cr_expect_float_eq(thrust(&vacuum, p) - thrust(&sea, p), SEA_LEVEL * sea.exit_area,
                           1e-14 * thrust(&vacuum, p));
        cr_expect_float_eq(thrust(&high, p) - thrust(&sea, p), (SEA_LEVEL - 22632.1) * sea.exit_area,
                           1e-14 * thrust(&vacuum, p));
    }
}

Test(jet, vacuum)
{
    const struct sm_jet jet = jet_of(1.2, 9.0, 15.0, 0.95, 0.0);
    enum sm_flow flow;
    double slope;
    cr_expect_eq(sm_jet_thrust(&jet, 0.0, &slope, &flow), 0.0);
    cr_expect_eq(flow, SM_FLOW_NONE);
    cr_expect_eq(sm_jet_mass_flow(&jet, 0.0, NULL), 0.0);
    for (double p = 1e-3; p < 1e8; p *= 10.0) {
        cr_expect_eq(sm_jet_thrust(&jet, p, &slope, &flow), jet.thrust_slope * p);
        cr_expect_eq(flow, SM_FLOW_ATTACHED);
        cr_expect_eq(slope, jet.thrust_slope);
        cr_expect_float_eq(sm_jet_mass_flow(&jet, p, &slope), p * jet.throat_area / CSTAR, 1e-15 * p);
        cr_expect_float_eq(slope, jet.throat_area / CSTAR, 1e-20);
    }
    cr_expect(isinf(sm_jet_fitting_exit(&jet, 1e6)));
}

/* The textbook form of subsonic and choked discharge: St Venant and Wantzel, as in NACA Report 1135. */
static double discharge(double gamma, double rt, double area, double pressure, double ambient)
{
    const double critical = pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0));
    const double ratio = fmax(ambient / pressure, critical);
    return area * pressure *
           sqrt(2.0 * gamma / ((gamma - 1.0) * rt) *
                (pow(ratio, 2.0 / gamma) - pow(ratio, (gamma + 1.0) / gamma)));
}

Test(jet, mass_flow)
{
    for (double gamma = 1.05; gamma < 1.5; gamma += 0.1) {
        const struct sm_jet jet = jet_of(gamma, 4.0, 15.0, 0.95, SEA_LEVEL);
        cr_expect_eq(sm_jet_mass_flow(&jet, SEA_LEVEL, NULL), 0.0);
        cr_expect_eq(sm_jet_mass_flow(&jet, 0.5 * SEA_LEVEL, NULL), 0.0);
        for (double p = 1.01 * SEA_LEVEL; p < 1e7; p *= 1.07) {
            double slope;
            const double flow = sm_jet_mass_flow(&jet, p, &slope);
            /* the textbook form loses digits near p = p_a, by the difference of its two powers */
            cr_expect_float_eq(flow, discharge(gamma, jet.rt, jet.throat_area, p, SEA_LEVEL), 1e-12 * flow);
            const double h = 1e-5 * p;
            const double numeric =
                (sm_jet_mass_flow(&jet, p + h, NULL) - sm_jet_mass_flow(&jet, p - h, NULL)) / (2.0 * h);
            /* central difference: h^2 f'''/6, worst at p = 1.01 p_a where f ~ sqrt(p - p_a): (1e-5/1e-2)^2/8
             */
            if (fabs(p / jet.choking_pressure - 1.0) > 2e-5)
                cr_expect_float_eq(slope, numeric, 2e-7 * slope, "p/p_a %g: %.12g %.12g", p / SEA_LEVEL,
                                   slope, numeric);
        }
    }
}

/* Value and slope of the mass flow pass choking without a step. */
Test(jet, mass_flow_through_choking)
{
    const struct sm_jet jet = jet_of(1.18, 4.0, 15.0, 0.95, SEA_LEVEL);
    double below, above;
    const double p = jet.choking_pressure;
    const double f0 = sm_jet_mass_flow(&jet, p * (1.0 - 1e-12), &below),
                 f1 = sm_jet_mass_flow(&jet, p, &above);
    cr_expect_float_eq(f0, f1, 1e-11 * f1);
    cr_expect_float_eq(below, above, 1e-11 * above);
}

/* ---- separation, against a plain search of our own here ---- */

static double schmucker(double mach)
{
    return pow(1.88 * mach - 1.0, -0.64);
}

/* D. Davis, PROPULSION - A Rocket Propulsion Engineering Course, module 3: 33.0 kPa at Mach 3.604, sea level.
 */
Test(jet, schmucker_as_published)
{
    cr_expect_float_eq(1e-3 * SEA_LEVEL * schmucker(3.604), 33.0, 0.05);
}

/* Does the stream at Mach number m press more than it must to stay on the wall? By the textbook forms. */
static int stays(double gamma, double m, double pressure, double ambient)
{
    const double p = pressure * pow(1.0 + 0.5 * (gamma - 1.0) * m * m, -gamma / (gamma - 1.0));
    const double need = m > 2.0 / 1.88 ? fmin(1.0, fmax(0.4, schmucker(m))) : 1.0;
    return p >= ambient * need;
}

/* Largest Mach number up to the exit at which the stream is just at the limit: walks up from the exit in
 * small steps, then halves. */
static double separation_by_search(double gamma, double exit_mach, double pressure, double ambient)
{
    const double step = 2e-4; /* far under the 0.03 by which the roots at the fold differ */
    double hi = exit_mach;
    while (hi > 1.0 && !stays(gamma, hi - step, pressure, ambient))
        hi -= step;
    double lo = hi - step;
    for (int i = 0; i < 60; i++) {
        const double mid = 0.5 * (lo + hi);
        if (stays(gamma, mid, pressure, ambient))
            lo = mid;
        else
            hi = mid;
    }
    return fmax(1.0, lo);
}

/* Thrust of a stream that leaves the wall at Mach number m, from momentum and pressure in the textbook forms.
 */
static double thrust_at(const struct sm_jet *jet, double gamma, double m, double pressure, double ambient)
{
    const double heat = 1.0 + 0.5 * (gamma - 1.0) * m * m;
    const double area =
        pow(2.0 / (gamma + 1.0) * heat, (gamma + 1.0) / (2.0 * (gamma - 1.0))) / m; /* over the throat's */
    const double p = pressure * pow(heat, -gamma / (gamma - 1.0));
    const double flow = pressure * jet->throat_area / jet->cstar, speed = m * sqrt(gamma * jet->rt / heat);
    const double eps = jet->exit_area / jet->throat_area;
    const double lambda = 1.0 - (1.0 - jet->lambda_exit) * (area - 1.0) / (eps - 1.0);
    return jet->efficiency * (lambda * flow * speed + p * area * jet->throat_area) -
           ambient * area * jet->throat_area;
}

static void expect_separation(const struct sm_jet *jet, double pressure)
{
    const double m = separation_by_search(jet->gamma, jet->exit_mach, pressure, SEA_LEVEL);
    const double expected = thrust_at(jet, jet->gamma, m, pressure, SEA_LEVEL);
    enum sm_flow flow;
    const double got = sm_jet_thrust(jet, pressure, NULL, &flow);
    cr_expect_eq(flow, SM_FLOW_SEPARATED);
    cr_expect_float_eq(got, expected, 1e-10 * expected, "gamma %g eps %g p/p_a %.9g: %.15g, search %.15g",
                       jet->gamma, jet->exit_area / jet->throat_area, pressure / SEA_LEVEL, got, expected);
}

/* Cones that end before the fold of the balance, on it and past it. */
Test(jet, separation)
{
    static const double gammas[] = {1.05, 1.131, 1.2, 1.4, 1.6},
                        areas[] = {1.002, 1.004, 1.0055, 1.02, 1.6, 4.0, 12.0, 40.0};
    for (size_t i = 0; i < SM_COUNT(gammas); i++)
        for (size_t j = 0; j < SM_COUNT(areas); j++) {
            const struct sm_jet jet = jet_of(gammas[i], areas[j], 15.0, 0.95, SEA_LEVEL);
            const double step = areas[j] < 1.05 ? 1.009 : 1.083;
            for (double p = 1.0001 * jet.choking_pressure; p < jet.attached_pressure; p *= step)
                expect_separation(&jet, p);
            expect_separation(&jet, jet.attached_pressure * (1.0 - 1e-4));
        }
}

/* The pressure at the exit is the limit's at the pressure from which the cone flows full. */
Test(jet, attached_pressure)
{
    for (double eps = 1.05; eps < 60.0; eps *= 1.3) {
        const struct sm_jet jet = jet_of(1.2, eps, 15.0, 0.95, SEA_LEVEL);
        cr_expect(stays(1.2, jet.exit_mach, jet.attached_pressure * (1.0 + 1e-9), SEA_LEVEL), "eps %g", eps);
        cr_expect_not(stays(1.2, jet.exit_mach, jet.attached_pressure * (1.0 - 1e-9), SEA_LEVEL), "eps %g",
                      eps);
    }
    /* Summerfield: 0.4 of the ambient pressure at the exit of a wide cone */
    const struct sm_jet wide = jet_of(1.2, 16.0, 15.0, 0.95, SEA_LEVEL);
    cr_expect_float_eq(wide.exit_ratio * wide.attached_pressure, 0.4 * SEA_LEVEL, 1e-12 * SEA_LEVEL);
}

Test(jet, fitting_exit)
{
    const struct sm_jet jet = jet_of(1.18, 9.0, 15.0, 0.95, SEA_LEVEL);
    for (double p = 3e5; p < 2e7; p *= 1.21) {
        const double exit = sm_jet_fitting_exit(&jet, p);
        const struct sm_jet fitted = jet_of(1.18, exit * exit / (THROAT * THROAT), 15.0, 0.95, SEA_LEVEL);
        cr_expect_float_eq(fitted.attached_pressure, p, 1e-12 * p, "p %g", p);
    }
    cr_expect_float_eq(sm_jet_fitting_exit(&jet, 1.2e5), THROAT, 1e-15); /* unchoked: no cone */
}

/* ---- laws ---- */

/* Relative step of thrust at pressure p. */
static double step_at(const struct sm_jet *jet, double p)
{
    const double below = thrust(jet, p * (1.0 - 1e-9)), above = thrust(jet, p * (1.0 + 1e-9));
    return fabs(above - below) / above;
}

/* Through choking, the fold and separation thrust is continuous to 1 %; at choking and separation far better.
 */
Test(jet, thrust_is_continuous)
{
    for (double gamma = 1.05; gamma < 1.5; gamma += 0.05)
        for (double eps = 1.1; eps < 60.0; eps *= 1.4)
            for (double angle = 0.0; angle <= 30.0; angle += 7.5)
                for (double efficiency = 0.8; efficiency <= 1.0; efficiency += 0.1) {
                    const struct sm_jet jet = jet_of(gamma, eps, angle, efficiency, SEA_LEVEL);
                    cr_expect_lt(step_at(&jet, jet.choking_pressure), 1e-7);
                    cr_expect_lt(step_at(&jet, jet.attached_pressure), 1e-7);
                    cr_expect_lt(step_at(&jet, SEA_LEVEL * jet.fold_balance), 0.01);
                }
    const struct sm_jet bare = jet_of(1.2, 1.0, 15.0, 0.9, SEA_LEVEL);
    cr_expect_lt(step_at(&bare, bare.choking_pressure), 1e-7);
}

/* On a fine grid no step hides elsewhere: between points 1e-4 of pressure apart thrust changes by no more
 * than eight times the whole thrust's share, but at the fold. */
Test(jet, thrust_has_no_other_steps_and_rises)
{
    for (double eps = 1.1; eps < 30.0; eps *= 2.9) {
        const struct sm_jet jet = jet_of(1.2, eps, 15.0, 0.95, SEA_LEVEL);
        double last = 0.0;
        for (double p = SEA_LEVEL; p < 1.5 * jet.attached_pressure; p *= 1.0001) {
            const double now = thrust(&jet, p), change = now - last;
            const double stream = now + SEA_LEVEL * jet.throat_area;
            const int is_fold = fabs(p / (SEA_LEVEL * jet.fold_balance) - 1.0) < 2e-4;
            cr_expect(now >= 0.0);
            cr_expect(change >= -(is_fold ? 0.002 : 0.0) * stream, "eps %g p/p_a %g falls by %g", eps,
                      p / SEA_LEVEL, -change / stream);
            cr_expect(fabs(change) <= (is_fold ? 0.01 : 8e-4) * stream, "eps %g p/p_a %g", eps,
                      p / SEA_LEVEL);
            last = now;
        }
    }
}

Test(jet, thrust_slopes)
{
    for (double gamma = 1.05; gamma < 1.5; gamma += 0.1)
        for (double eps = 1.3; eps < 40.0; eps *= 1.9) {
            const struct sm_jet jet = jet_of(gamma, eps, 15.0, 0.9, SEA_LEVEL);
            const double kinks[] = {jet.choking_pressure, jet.attached_pressure,
                                    SEA_LEVEL * jet.fold_balance};
            enum sm_flow flow = SM_FLOW_NONE;
            for (double p = 1.02 * SEA_LEVEL; flow != SM_FLOW_ATTACHED; p *= 1.021) {
                double slope;
                sm_jet_thrust(&jet, p, &slope, &flow);
                const double h = 1e-5 * p;
                int is_near = thrust(&jet, p - h) == 0.0; /* where thrust starts */
                for (size_t i = 0; i < SM_COUNT(kinks); i++)
                    is_near |= fabs(p / kinks[i] - 1.0) < 5e-3;
                /* where phi meets its floor or leaves 1 the slope steps too: both sides differ there */
                const double left = (thrust(&jet, p) - thrust(&jet, p - h)) / h;
                const double right = (thrust(&jet, p + h) - thrust(&jet, p)) / h;
                is_near |= fabs(left - right) > 1e-3 * fabs(slope);
                /* central difference: h^2 f'''/6, with f''' ~ f'/p^2 times 1e2 near the fold, and 1e-16 F/h
                 */
                if (!is_near)
                    cr_expect_float_eq(slope, 0.5 * (left + right), 1e-7 * slope,
                                       "gamma %g eps %g p/p_a %g: %.12g, %.12g", gamma, eps, p / SEA_LEVEL,
                                       slope, 0.5 * (left + right));
            }
        }
}

/* In every regime, whatever the losses. */
Test(jet, vacuum_thrust_is_never_below_sea_level)
{
    for (double eps = 1.0; eps < 60.0; eps *= 1.5)
        for (double efficiency = 0.7; efficiency <= 1.0; efficiency += 0.1) {
            const struct sm_jet vacuum = jet_of(1.2, eps, 15.0, efficiency, 0.0);
            const struct sm_jet sea = jet_of(1.2, eps, 15.0, efficiency, SEA_LEVEL);
            for (double p = SEA_LEVEL; p < 1e7; p *= 1.05)
                cr_expect(thrust(&vacuum, p) >= thrust(&sea, p), "eps %g p %g", eps, p);
        }
}

/* Just above the ambient pressure the formula would give a suction; there thrust is zero, and it starts where
 * the stream's thrust outweighs the loss: gamma M^2 = (1 - zeta)/zeta. */
Test(jet, no_thrust_below_zero)
{
    const double zeta = 0.95, gamma = 1.2;
    const struct sm_jet jet = jet_of(gamma, 4.0, 15.0, zeta, SEA_LEVEL);
    const double m2 = (1.0 - zeta) / (zeta * gamma);
    const double start = SEA_LEVEL * pow(1.0 + 0.5 * (gamma - 1.0) * m2, gamma / (gamma - 1.0));
    double slope;
    enum sm_flow flow;
    cr_expect_eq(sm_jet_thrust(&jet, start * (1.0 - 1e-9), &slope, &flow), 0.0);
    cr_expect_eq(slope, 0.0);
    cr_expect_eq(flow, SM_FLOW_UNCHOKED);
    cr_expect_gt(thrust(&jet, start * (1.0 + 1e-9)), 0.0);
    cr_expect_lt(start, 1.03 * SEA_LEVEL);
    cr_expect_eq(sm_jet_thrust(&jet, SEA_LEVEL, &slope, &flow), 0.0);
    cr_expect_eq(flow, SM_FLOW_NONE);
}

/* A throat as wide as the exit, but for rounding, has no cone to diverge in. */
Test(jet, no_cone)
{
    const struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = 0.01, .half_angle = 0.3, .thrust_efficiency = 1.0};
    struct sm_jet jet;
    for (int i = -3; i <= 3; i++) {
        const double area = 0.25 * M_PI * 1e-4 * (1.0 + 2.3e-16 * i);
        cr_assert_eq(sm_jet_init(&jet, &nozzle, area, 1.2, 1500.0, 9e5, SEA_LEVEL, NULL), SM_OK);
        cr_expect_eq(jet.lambda_exit, 1.0);
    }
}

/* A throat that has worn wider within the same exit. */
Test(jet, worn_throat)
{
    const struct sm_nozzle nozzle = {
        .throat_diameter = 0.01, .exit_diameter = 0.03, .half_angle = 0.0, .thrust_efficiency = 1.0};
    const double function = sm_gas_vandenkerckhove(1.2), area = 1.06 * 0.25 * M_PI * 1e-4, pc = 4e6;
    struct sm_jet jet;
    double cf;
    cr_assert_eq(
        sm_jet_init(&jet, &nozzle, area, 1.2, CSTAR, CSTAR * CSTAR * function * function, SEA_LEVEL, NULL),
        SM_OK);
    cr_assert_eq(sm_flow_thrust_coefficient(1.2, 9.0 / 1.06, pc, SEA_LEVEL, &cf, NULL), SM_OK);
    cr_expect_float_eq(thrust(&jet, pc), cf * pc * area, 1e-12 * pc * area);
    cr_expect_float_eq(sm_jet_mass_flow(&jet, pc, NULL), pc * area / CSTAR, 1e-15 * pc * area);
}
