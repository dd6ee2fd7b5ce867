/*
 * Flights without drag: what can be reached, and from where a soft landing still can.
 *
 * With thrust along the axis between least and full, both known functions of time, the set of heights and speeds that can
 * be reached at one time is convex, and its edges are flown by controls that switch once: full then least (highest for
 * its speed) or least then full (lowest). A flight that lands at a given time and goes highest is full, least, full.
 * Reference: time-optimal control of a double integrator with bounded control, e.g. A. E. Bryson, Y.-C. Ho, Applied Optimal
 * Control (from memory, edition not at hand).
 */
#ifndef SM_VEHICLE_REACH_H
#define SM_VEHICLE_REACH_H

#include "vehicle/profile.h"

/* Where a flight starts. */
struct sm_flight_state {
    double t, h, v; /* [s], height over the ground [m], upwards [m/s] */
};

/* Thrust is full but for [off, on], where it is least [s]. */
struct sm_switches {
    double off, on; /* [s] */
};

/* Height and speed at time T >= start's under a control of full, least, full. */
void sm_reach_fly(const struct sm_profile *p, const struct sm_flight_state *start,
                  const struct sm_switches *control, double T, struct sm_flight_state *end);

/* Speeds that can be reached at T: from all least to all full [m/s]. */
void sm_reach_speeds(const struct sm_profile *p, const struct sm_flight_state *start, double T,
                     double *slowest, double *fastest);

/* Heights that can be reached at T with speed v [m]. Returned: 0 if v can't be reached. The ground is not looked at. */
int sm_reach_heights(const struct sm_profile *p, const struct sm_flight_state *start, double T, double v,
                     double *lowest, double *highest);

/* The control of full, least, full that ends at T with height h and speed v: the highest flight that does so.
 * Returned: 0 if there is none. */
int sm_reach_highest(const struct sm_profile *p, const struct sm_flight_state *start, double T, double h,
                     double v, struct sm_switches *control);

/* Highest point of a flight up to T, and lowest height after it has left its start. */
void sm_reach_extremes(const struct sm_profile *p, const struct sm_flight_state *start,
                       const struct sm_switches *control, double T, struct sm_flight_state *apogee,
                       double *lowest);

/* Is there a control that touches the ground at T with a speed of at most limit downwards [m/s], and is never below ground
 * before? The contact speed found, nearest to zero, goes to *contact if not NULL. */
int sm_reach_lands(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit,
                   double *contact);

#endif
