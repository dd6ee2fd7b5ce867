/*
 * A vehicle as data: what a file says, and the runs of its motors.
 *
 * Frame: places from the nose towards the tail.
 */
#ifndef SM_VEHICLE_VEHICLE_H
#define SM_VEHICLE_VEHICLE_H

#include "motor/motor.h"
#include "slowmatch/lift.h"

struct sm_vehicle_body {
    double dry_mass; /* without propellant, with the motors' cases [kg] */
};

/* Motors of one kind, lit together; splayed alike. */
struct sm_motor_group {
    const char *motor; /* file, from the vehicle file's folder */
    int count;
    double ring_radius;              /* from the axis; 0: on it [m] */
    double cant;                     /* fixed, outwards [rad] */
    double tilt_limit;               /* either way from the cant [rad] */
    double tilt_time;                /* from least to most splay; 0: at once [s] */
    double ignite_at;                /* after the first ignition command [s] */
    double ignition_delay;           /* from command to the start of the curve [s] */
    double ignition_delay_tolerance; /* one standard deviation [s] */
};

struct sm_vehicle_air {
    double area;             /* that drag is reckoned with; 0: no drag [m2] */
    double drag_coefficient; /* [1] */
};

struct sm_vehicle_site {
    double altitude; /* of the ground, for the air's density [m] */
    double gravity;  /* [m/s2] */
};

struct sm_vehicle_launch {
    double release_thrust; /* that each motor lit at the start must exceed; 0: let go at once [N] */
    double abort_after;    /* if that is not so by then [s] */
    double rail_length;    /* 0: none [m] */
};

struct sm_vehicle_landing {
    double speed_limit; /* of the legs [m/s] */
    double reserve;     /* of the range of throttle, kept at both ends [1] */
    double replan_every; /* time between the instants at which a flight is planned anew [s] */
    double least_splay; /* that plans keep, for there is no steering by splay at none [rad] */
};

struct sm_vehicle_tolerances {
    double thrust; /* one standard deviation, as a share [1] */
    double cold;   /* share of thrust lost at the coldest [1] */
    double mass;   /* one standard deviation, as a share [1] */
    double burn_time; /* one standard deviation, as a share, impulse kept [1] */
};

struct sm_vehicle_spec {
    const char *name;
    struct sm_vehicle_body body;
    struct sm_list motors; /* of struct sm_motor_group */
    struct sm_vehicle_air aerodynamics;
    struct sm_vehicle_site site;
    struct sm_vehicle_launch launch;
    struct sm_vehicle_landing landing;
    struct sm_vehicle_tolerances tolerances;
};

struct sm_vehicle {
    struct sm_arena arena;
    struct sm_vehicle_spec spec;
    struct sm_motor **motors; /* one a group, owned */
    const char *path;         /* of its file */
    const char *folder;       /* of its file, "" for the current one */
};

extern const struct sm_param sm_vehicle_params[];
extern const size_t sm_n_vehicle_params;

/* What the rows can't see. Status: SM_E_RANGE, SM_E_GEOMETRY, with the pointer. */
enum sm_status sm_vehicle_check(const struct sm_vehicle *vehicle, struct sm_error *err) SM_MUST_CHECK;

/* Splay of a group [rad]: the least and the most angle from the axis. */
void sm_group_splay(const struct sm_motor_group *group, double least_splay, double *low, double *high);

/* Can splay change this group's thrust along the axis without pushing sideways? */
int sm_group_has_throttle(const struct sm_motor_group *group);

#endif
