/*
 * Erosive burning: what gas that rushes past adds to the burning rate.
 *
 * Two forms. By heat transfer, implicit in the rate since the gas that leaves the wall shields it:
 *
 *     r = r0 + alpha G^0.8 D^-0.2 exp(-beta rho_p r / G)
 *
 * Reference: J. M. Lenoir, G. Robillard, A Mathematical Method to Predict the Effects of Erosive Burning in Solid-Propellant
 * Rockets, 6th Symposium (International) on Combustion, 1957, p. 663 (from memory; the form as in open course notes, D. Davis,
 * PROPULSION, module 20). They took the distance from the head end for the length D; the port's hydraulic diameter, as here,
 * is a later usage that fits pipes. By a threshold:
 *
 *     r = r0 + k max(0, G - G_0)
 */
#ifndef SM_PROPELLANT_EROSIVE_H
#define SM_PROPELLANT_EROSIVE_H

#include "base/fail.h"
#include "slowmatch/param.h"

/* As a file gives it; what is not given is SM_ABSENT. The heat transfer's constant is given either by a rate at a flux and a
 * diameter, or by the gas. */
struct sm_erosive {
    double rate;                /* alpha G^0.8 D^-0.2 at the flux and diameter beside [m/s] */
    double flux;                /* [kg m-2 s-1] */
    double diameter;            /* [m] */
    double blowing;             /* beta [1] */
    double viscosity;           /* of the gas [Pa s] */
    double prandtl;             /* of the gas [1] */
    double gas_specific_heat;   /* [J kg-1 K-1] */
    double solid_specific_heat; /* [J kg-1 K-1] */
    double surface_temperature; /* of the burning propellant [K] */
    double threshold;           /* G_0 [kg m-2 s-1] */
    double gain;                /* k [m3/kg] */
};
enum { SM_N_EROSIVE_PARAMS = 11 };
extern const struct sm_param sm_erosive_params[SM_N_EROSIVE_PARAMS];

/* Says what is missing, or given twice; flame_temperature may be absent. The error's pointer is that of the value at fault,
 * below the record's own. */
enum sm_status sm_erosive_check(const struct sm_erosive *erosive, double flame_temperature,
                                struct sm_error *err) SM_MUST_CHECK;

enum sm_erosive_form { SM_EROSIVE_NONE, SM_EROSIVE_HEAT, SM_EROSIVE_THRESHOLD };

/* Ready for the inner loop. */
struct sm_erosive_law {
    enum sm_erosive_form form;
    double alpha;           /* [m2.8 kg-0.8 s-0.2] */
    double shield;          /* beta rho_p [kg/m3] */
    double threshold, gain; /* [kg m-2 s-1], [m3/kg] */
};

/*
 * Given: what the file says, checked; density [kg/m3] and temperature [K] of the grain, flame temperature [K].
 * Reference for the constant by the gas: alpha = 0.0288 c_p mu^0.2 Pr^(-2/3) (T_f - T_s) / (rho_p c_s (T_s - T_p)), turbulent
 * heat transfer to a flat plate (from memory of Lenoir and Robillard).
 */
void sm_erosive_init(struct sm_erosive_law *law, const struct sm_erosive *erosive, double density,
                     double temperature, double flame_temperature);

/* The rate [m/s] with r0 [m/s] by pressure alone, mass flux G >= 0 [kg m-2 s-1] and hydraulic diameter D > 0 [m]. Never below
 * r0. Of the implicit form there is just one root, since its two sides go opposite ways with r. */
double sm_erosive_rate(const struct sm_erosive_law *law, double r0, double flux, double diameter);

/* What the implicit form would add if nothing shielded the wall [m/s]: alpha G^0.8 D^-0.2, with crossed = (G D)^-0.2 in SI. */
static inline double sm_erosive_bare(const struct sm_erosive_law *law, double flux, double crossed)
{
    return law->alpha * flux * crossed;
}

/* What the implicit form adds to r0 [m/s], from a guess [m/s] of any quality: the quicker the better it is. G > 0. */
double sm_erosive_added(const struct sm_erosive_law *law, double r0, double flux, double bare, double guess);

#endif
