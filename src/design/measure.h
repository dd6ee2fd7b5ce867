/* Figures of a motor that may be wanted, limited or traded, and how they are taken from its burn. */
#ifndef SM_DESIGN_MEASURE_H
#define SM_DESIGN_MEASURE_H

#include "motor/motor.h"
#include "slowmatch/design.h"

/* ROW(code, name, label, dimension, which way is better, what it is) */
#define SM_MEASURE_LIST(ROW)                                                                                 \
    ROW(SM_F_BURN_TIME, burn_time, "burn time", SM_DIM_TIME, 1, "from first to last 5 % of maximum thrust")  \
    ROW(SM_F_AVERAGE_THRUST, average_thrust, "average thrust", SM_DIM_FORCE, 1,                              \
        "total impulse over burn time")                                                                      \
    ROW(SM_F_MAXIMUM_THRUST, maximum_thrust, "maximum thrust", SM_DIM_FORCE, -1, "largest thrust")           \
    ROW(SM_F_THRUST_RELEASE, thrust_at_release, "thrust at release", SM_DIM_FORCE, 1,                        \
        "at release_time, or at the top of the ignition rise if that is not given")                          \
    ROW(SM_F_THRUST_BURNOUT, thrust_at_burnout, "thrust at burnout", SM_DIM_FORCE, 1,                        \
        "when the web proper is burned through")                                                             \
    ROW(SM_F_TOTAL_IMPULSE, total_impulse, "total impulse", SM_DIM_IMPULSE, 1, "integral of thrust")         \
    ROW(SM_F_SPECIFIC_IMPULSE, specific_impulse, "specific impulse", SM_DIM_TIME, 1,                         \
        "total impulse over the propellant's weight")                                                        \
    ROW(SM_F_PEAK, peak_pressure, "peak pressure", SM_DIM_PRESSURE, -1, "at the motor's grain temperature")  \
    ROW(SM_F_PEAK_HOT, peak_pressure_hot, "peak pressure, hot", SM_DIM_PRESSURE, -1,                         \
        "at conditions.hottest_temperature of the motor")                                                    \
    ROW(SM_F_AVERAGE_PRESSURE, average_pressure, "average pressure", SM_DIM_PRESSURE, -1,                    \
        "over the burn time")                                                                                \
    ROW(SM_F_BURST_MARGIN, burst_margin, "burst margin", SM_DIM_NONE, 1,                                     \
        "burst pressure of the case over peak_pressure_hot")                                                 \
    ROW(SM_F_KN_INITIAL, kn_initial, "initial Kn", SM_DIM_NONE, -1,                                          \
        "burning area over throat area at first")                                                            \
    ROW(SM_F_KN_MAXIMUM, kn_maximum, "maximum Kn", SM_DIM_NONE, -1, "largest burning area over throat area") \
    ROW(SM_F_PORT_TO_THROAT, port_to_throat, "port to throat", SM_DIM_NONE, 1,                               \
        "port area at the aft end of the last cored grain over throat area")                                 \
    ROW(SM_F_MASS_FLUX, mass_flux, "mass flux", SM_DIM_MASS_FLUX, -1, "largest, there")                      \
    ROW(SM_F_NEUTRALITY, neutrality, "neutrality", SM_DIM_NONE, -1, "largest over mean burning area")        \
    ROW(SM_F_SLIVERS, slivers, "slivers", SM_DIM_NONE, -1,                                                   \
        "share of propellant left when the web is burned")                                                   \
    ROW(SM_F_FILLING, filling, "filling", SM_DIM_NONE, 1, "propellant volume over the case's")               \
    ROW(SM_F_PROPELLANT_MASS, propellant_mass, "propellant", SM_DIM_MASS, -1, "mass of the propellant")      \
    ROW(SM_F_LOADED_MASS, loaded_mass, "loaded mass", SM_DIM_MASS, -1, "with the motor file's hardware")     \
    ROW(SM_F_WEB, web, "web", SM_DIM_LENGTH, -1, "thickest web")                                             \
    ROW(SM_F_LENGTH, length, "length of grains", SM_DIM_LENGTH, -1,                                          \
        "of all grains with the gaps between them")

#define SM_MEASURE_ENUM(code, name, label, dim, sense, help) code,
enum sm_measure { SM_MEASURE_LIST(SM_MEASURE_ENUM) SM_N_MEASURES };
#undef SM_MEASURE_ENUM

/*
 * All figures that one burn gives; those of the hot burn are left as they are.
 *
 * Given: release, time of release [s], or absent.
 * Returned: figures[SM_N_MEASURES], SI; absent where the motor has none.
 */
void sm_measure_burn(const struct sm_motor *motor, const struct sm_result *result, double release,
                     double *figures);

/* A value as people write it, with digits and a unit in which it is short: "3.5 MPa". */
enum { SM_MEASURE_TEXT = 48 };
const char *sm_measure_text(char buf[SM_MEASURE_TEXT], enum sm_dim dim, double si, int digits);
/* That unit, and what one of it is [SI unit of dim]. */
const char *sm_measure_unit(enum sm_dim dim, double *scale);

#endif
