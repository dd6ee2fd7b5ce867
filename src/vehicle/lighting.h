/*
 * Motors that are lit at a height, as the vehicle falls through it: when that is, by the flight of those lit before.
 *
 * Until the last of them is lit the vehicle flies at least splay, whatever reserve is kept later, and with drag. From then on thrust
 * and mass are known functions of time again.
 */
#ifndef SM_VEHICLE_LIGHTING_H
#define SM_VEHICLE_LIGHTING_H

#include "vehicle/flight.h"
#include "vehicle/thrust.h"

/* The flight between two ignitions. */
struct sm_lighting_leg {
    struct sm_flight_model model; /* of the motors lit before */
    struct sm_flight_state from, to;
    size_t group; /* lit at its end */
};

struct sm_lighting {
    const struct sm_vehicle
        *vehicle; /* all of its motors lit at times; the one given if none is lit at a height */
    size_t n;     /* groups lit at heights */
    struct sm_lighting_leg legs[SM_FLIGHT_GROUPS];
    /* What lifts it: the motors lit at times alone, the others being dead weight; without any such the same as above. */
    const struct sm_vehicle *lifting;
    const struct sm_result *const *lifting_runs;
    size_t place[SM_FLIGHT_GROUPS]; /* of each of its groups in the file */
    /* If n > 0: */
    struct sm_profile before;        /* of the motors lit at times alone */
    struct sm_flight_state lift_off; /* on those; time SM_ABSENT: it does not lift */
    struct sm_flight_state start;    /* at the last ignition; time SM_ABSENT if it never comes */
    struct sm_flight_state end;      /* of a flight on which one never comes: on the ground */
    size_t missed;                   /* whose ignition that is */
    double highest;                  /* of the flight so far [m] */
};

/*
 * Given: runs, one a group; change (its reserve and limit don't count here); release [s].
 * Returned: *out, in the arena. What never comes is no failure.
 * Status: SM_E_NOMEM.
 */
enum sm_status sm_lighting_find(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                const struct sm_vehicle_change *change, double release,
                                struct sm_arena *arena, struct sm_lighting *out,
                                struct sm_error *err) SM_MUST_CHECK;

/* From where the flights of a profile are studied: the last ignition, or else lift-off; time SM_ABSENT if that never comes. */
struct sm_flight_state sm_lighting_start(const struct sm_lighting *lighting, const struct sm_profile *profile,
                                         double release);

/* Does every ignition come? Status: SM_E_PHYSICS with how high it flies; SM_OK too where it does not even lift off. */
enum sm_status sm_lighting_check(const struct sm_lighting *lighting, struct sm_error *err) SM_MUST_CHECK;

/* Does it still fly when the motors lit last begin to burn? Given: lit, on all motors. Status: SM_E_PHYSICS. */
enum sm_status sm_lighting_check_height(const struct sm_lighting *lighting, const struct sm_flight_model *lit,
                                        struct sm_error *err) SM_MUST_CHECK;

#endif
