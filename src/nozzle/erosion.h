/* A throat's wall that wears away, or that slag settles on. */
#ifndef SM_NOZZLE_EROSION_H
#define SM_NOZZLE_EROSION_H

#include "base/fail.h"
#include "slowmatch/param.h"

/* Speed of the throat's wall, rate (P / at)^exponent once the onset has passed. As a file gives it; rate is absent if the
 * wall stands still. */
struct sm_wear {
    double rate;     /* of the wall, along the radius, at the pressure `at` [m/s] */
    double at;       /* [Pa] */
    double exponent; /* [1] */
    double onset;    /* after ignition, until which nothing happens [s] */
};
enum { SM_N_WEAR_PARAMS = 4 };
extern const struct sm_param sm_wear_params[SM_N_WEAR_PARAMS];

/* Speed [m/s] and its slope [m/s/Pa] at chamber pressure P > 0 [Pa], onset apart; 0 if the rate is absent. slope may be
 * NULL. Reference: a power of pressure is the usual correlation of convective (turbulent, 0.8) and chemical wear, e.g. from
 * memory of Sutton and Biblarz, Rocket Propulsion Elements, ch. 15. */
double sm_wear_speed(const struct sm_wear *wear, double pressure, double *slope);

#endif
