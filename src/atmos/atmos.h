/* US Standard Atmosphere 1976. */
#ifndef SM_ATMOS_ATMOS_H
#define SM_ATMOS_ATMOS_H

#include "base/fail.h"

struct sm_air {
    double pressure;    /* [Pa] */
    double temperature; /* kinetic, below 86 km [K] */
    double density;     /* [kg/m3] */
};

/*
 * Given: geometric altitude above mean sea level [m], -5000 to 86000.
 * Status: SM_E_RANGE outside that.
 * Reference: U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562.
 */
enum sm_status sm_air_at(double altitude, struct sm_air *air, struct sm_error *err) SM_MUST_CHECK;

/* The same by geopotential altitude [m], as the standard's layers are given. */
enum sm_status sm_air_at_geopotential(double altitude, struct sm_air *air, struct sm_error *err) SM_MUST_CHECK;

#endif
