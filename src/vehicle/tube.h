/*
 * The tube of flights that can still land: heights and speeds at each time from which a landing exists, without drag.
 *
 * At one time the set is bounded by flights that touch the ground at the legs' limit: the fastest down is flown at full thrust
 * throughout, the fastest up at least thrust and then full, to the latest contact that helps. Both are sums of the profile's
 * integrals. Least thrust is taken to be under the weight; where it is not, the set may be smaller (see sm_tube_holds).
 */
#ifndef SM_VEHICLE_TUBE_H
#define SM_VEHICLE_TUBE_H

#include "vehicle/reach.h"

struct sm_tube {
    const struct sm_profile *profile;
    double limit; /* speed of contact, downwards [m/s] */
    double scale; /* of thrust, full and least [1] */
};

/* Speeds at time t and height h from which a landing exists [m/s]. Returned: 0 if there are none. */
int sm_tube_speeds(const struct sm_tube *tube, double t, double h, double *slowest, double *fastest);

/* Heights, likewise, of speed v [m]. */
int sm_tube_heights(const struct sm_tube *tube, double t, double v, double *lowest, double *highest);

/* The greatest height at t from which a landing exists [m]. */
double sm_tube_top(const struct sm_tube *tube, double t);

/* The latest contact that still adds height: after the last time at which full thrust holds the weight, a fall within the legs'
 * limit [s]. */
double sm_tube_latest(const struct sm_tube *tube, double t);

/* Does a landing exist from there? */
int sm_tube_holds(const struct sm_tube *tube, const struct sm_flight_state *at);

/* Share of thrust, more or less from then on, with which a landing still exists; at most most [1]. */
double sm_tube_thrust_margin(const struct sm_tube *tube, const struct sm_flight_state *at, double most);

#endif
