/* From the runs of a vehicle's motors to its thrust and mass against time. */
#ifndef SM_VEHICLE_THRUST_H
#define SM_VEHICLE_THRUST_H

#include "vehicle/profile.h"
#include "vehicle/vehicle.h"

/* How a vehicle may differ from what its file says; all zeros: as it says. */
struct sm_vehicle_change {
    double thrust;    /* share added to every motor's thrust [1] */
    double mass;      /* added to the dry mass [kg] */
    double burn_time; /* share added to every motor's burn time, its impulse kept [1] */
    double delays;    /* standard deviations of ignition delay by which every group starts later [1] */
    double late;      /* how much later one motor of late_group starts than told [s] */
    size_t late_group;
    double reserve;     /* share of the range of throttle left out at both ends [1] */
    double splay_limit; /* in place of each throttling group's own most splay; 0: its own [rad] */
};

/*
 * Given: runs[i], result of group i's motor.
 * Returned: *profile with its integrals, in the arena. Status: SM_E_NOMEM.
 */
enum sm_status sm_thrust_profile(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                 const struct sm_vehicle_change *change, struct sm_arena *arena,
                                 struct sm_profile *profile, struct sm_error *err) SM_MUST_CHECK;

/* What most splay takes off the thrust along the axis of group i, at the knots of such a profile; in the arena [N].
 * Status: SM_E_NOMEM. */
enum sm_status sm_thrust_spread(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                const struct sm_vehicle_change *change, const struct sm_profile *profile,
                                size_t i, struct sm_arena *arena, double **spread,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
