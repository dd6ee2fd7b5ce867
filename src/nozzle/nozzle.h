/* Mass flow and thrust of a conical nozzle: choked, unchoked, attached or separated. */
#ifndef SM_NOZZLE_NOZZLE_H
#define SM_NOZZLE_NOZZLE_H

#include "base/fail.h"
#include "nozzle/erosion.h"
#include "slowmatch/param.h"

/* As a file gives it. */
struct sm_nozzle {
    double throat_diameter;       /* [m] */
    double exit_diameter;         /* [m] */
    double half_angle;            /* of the exit cone [rad] */
    double thrust_efficiency;     /* zeta_F [1] */
    double discharge_coefficient; /* stream's area at the throat over the throat's own [1] */
    double gamma;                 /* of the expanding gas; SM_ABSENT: the chamber's [1] */
    double closure_pressure;      /* at which a closure opens; SM_ABSENT: none [Pa] */
    struct sm_wear erosion, deposit;
};
extern const struct sm_param sm_nozzle_params[];
extern const size_t sm_n_nozzle_params;
enum sm_status sm_nozzle_check(const struct sm_nozzle *nozzle, struct sm_error *err) SM_MUST_CHECK;

enum sm_flow { SM_FLOW_NONE, SM_FLOW_UNCHOKED, SM_FLOW_SEPARATED, SM_FLOW_ATTACHED };

/* A nozzle with its gas at one ambient pressure, ready for the inner loop. Fields may be read, not written.
 */
struct sm_jet {
    double gamma, cstar, rt;        /* [1], [m/s], [J/kg] */
    double throat_area, exit_area;  /* [m2] */
    double lambda_exit, efficiency; /* divergence factor at the exit, zeta_F [1] */
    double lambda_cone;             /* divergence factor of the cone, had it any length [1] */
    int has_cone;                   /* else the exit is the throat, and wears with it */
    double ambient;                 /* [Pa] */
    double exit_mach, exit_ratio;   /* attached: exit Mach number [1], exit over chamber pressure [1] */
    double choking_pressure;        /* chamber pressure above which the throat is choked [Pa] */
    double attached_pressure;       /* chamber pressure above which the cone flows full [Pa] */
    double thrust_slope;            /* dF/dP while attached [m2]: F = thrust_slope P - ambient exit_area */
    double fold_mach, fold_balance; /* for the search of the place of separation: see nozzle.c [1] */
};

/*
 * Given: gas as gamma, cstar, rt of the propellant's struct sm_gas (with another gamma, rt such that cstar = sqrt(rt) /
 * Gamma holds still); ambient pressure [Pa] >= 0 (0: vacuum,
 * where the flow is choked and attached at any P > 0); throat_area [m2], which may differ from the nozzle's
 * as it erodes. Status: SM_E_RANGE for a value that is not physical; SM_E_GEOMETRY for a throat wider than
 * the exit.
 */
enum sm_status sm_jet_init(struct sm_jet *jet, const struct sm_nozzle *nozzle, double throat_area,
                           double gamma, double cstar, double rt, double ambient,
                           struct sm_error *err) SM_MUST_CHECK;

/* The same jet through a throat of another area [m2], as it wears. One as wide as the exit or wider has no cone left; so
 * has, whatever the throat, a nozzle that had none at first. */
void sm_jet_resize(struct sm_jet *jet, double throat_area);

/* Mass flow out [kg/s] at chamber pressure P [Pa] and its slope [kg/s/Pa]; nothing flows at P <= ambient.
 * slope may be NULL. The flow starts as the root of P - ambient: its slope grows without bound as P falls to
 * ambient. Value and slope are continuous at choking. */
double sm_jet_mass_flow(const struct sm_jet *jet, double pressure, double *slope);

/* Thrust [N] and its slope [N/Pa] at chamber pressure P [Pa]; slope and flow may be NULL.
 * F = zeta (lambda mdot v_e + p_e A_e) - p_a A_e with the place where the flow leaves the wall in the exit's
 * stead when it separates. Not below zero: see the notes in nozzle.c. Continuous to 1 %; the slope steps
 * between regimes. */
double sm_jet_thrust(const struct sm_jet *jet, double pressure, double *slope, enum sm_flow *flow);

/* Thrust while the cone does not flow full, in parts that depend on gamma and P over ambient alone, so that a table of them
 * serves many nozzles: F = p_a A_t (zeta (parts[0] - fall parts[1]) - parts[2]), or 0 where that is below it. At P [Pa] above
 * ambient; parts [1]. Without ambient pressure there is no such thrust. */
void sm_jet_parts(const struct sm_jet *jet, double pressure, double parts[3]);

/* fall in that sum: loss of the divergence factor an area ratio of the cone [1]. */
double sm_jet_fall(const struct sm_jet *jet);

/* Which regime holds at P [Pa]. */
enum sm_flow sm_jet_flow(const struct sm_jet *jet, double pressure);

/* Exit diameter [m] at which the flow would just stay attached at chamber pressure P [Pa], for advice: the
 * throat's where it is unchoked, infinite in vacuum. */
double sm_jet_fitting_exit(const struct sm_jet *jet, double pressure);

#endif
